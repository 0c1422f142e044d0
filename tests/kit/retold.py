"""What the record of a job has to say, told once more of the rows alone.

Shares no code with the folds or the record: hours come from `tests.kit.reckoner`, the rest from
going through the rows in the order in which they happened. Of section to section only what no
rule decides: who touched it first and last, which steps were done, what was asked of a film and
when it was taken, what was booked, drunk, read, and which breaks there were.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from typing import Any

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Row
from cartclock.engine.record.record import Record
from tests.kit.reckoner import SECOND_US, Bucket, happened, reckoned


class Retold(Struct):
    """A job as its record must tell it; times in microseconds.

    Fields:
        opened_us, closed_us: None while open.
        clock: shift -> when it began and ended.
        seconds: by bucket, all its shifts together.
        breaks: shift -> what, from, to, in order.
        applied: (stage, section, pass, layer) -> first touch, last touch, how many steps.
        windows: stage, section, pass, layer of what follows, last touch, opens, closes, ended.
        used: product -> amount.
        drunk: shift -> millilitres.
        readings: when, air, humidity; of its shifts.
    """

    opened_us: int = 0
    closed_us: int | None = None
    clock: dict[str, tuple[int, int]] = {}
    seconds: dict[Bucket, int] = {}
    breaks: dict[str, list[tuple[str, int, int]]] = {}
    applied: dict[tuple[str, str, int, int], tuple[int, int, int]] = {}
    windows: list[tuple[Any, ...]] = []
    used: dict[str, float] = {}
    drunk: dict[str, int] = {}
    readings: list[tuple[int, float | None, float | None]] = []


def retold(rows: Sequence[Row], job: str) -> Retold:
    """What the rows of a log say of a closed job whose shifts are over.

    rows: the whole log, corrections included.
    """
    lines = happened(rows)
    found = Retold()
    shifts = {row.shift for _at, row in lines if row.job == job and row.kind == "WorkStarted"}
    touched: dict[tuple[str, str], int] = {}
    waiting: dict[tuple[str, str], list[Any]] = {}
    used: Counter[str] = Counter()
    for at_us, row in lines:
        if row.shift in shifts:
            _of_shift(found, at_us, row)
        if row.job != job:
            continue
        match row.event:
            case ev.JobOpened():
                found.opened_us = at_us
                after = {stage.name: _after(stage.steps) for stage in row.event.plan.stages}
            case ev.JobClosed():
                found.closed_us = at_us
            case ev.WorkStarted(stage, names):
                for name in names:
                    touched.setdefault((stage, name), at_us)
                    if (stage, name) in waiting:
                        found.windows.append((*waiting.pop((stage, name)), at_us))
            case ev.StepFinished(stage, names, turn, marks):
                for name in names:
                    first_us = touched.pop((stage, name), at_us)
                    key = (stage, name, turn.pass_, turn.layer)
                    begun_us, _last_us, steps = found.applied.get(key, (first_us, 0, 0))
                    found.applied[key] = (min(begun_us, first_us), at_us, steps + 1)
                    if marks is None:
                        continue
                    gap = turn.step == after[stage][-1]
                    opens_us = at_us + marks.opens_s * SECOND_US
                    closes_us = (at_us if gap else first_us) + marks.closes_s * SECOND_US
                    layer = turn.layer + gap
                    waiting[stage, name] = [
                        stage, name, turn.pass_, layer, at_us, opens_us, closes_us
                    ]  # fmt: skip
            case ev.MarksRevised(stage, names, _turn, marks):
                raise ValueError("marks that were revised are not told here")
            case ev.ProductUsed(amounts=amounts):
                used.update(amounts)
            case ev.UseCorrected(product, by):
                used[product] += by  # type: ignore[assignment]  # amounts are no whole numbers
    found.windows += [(*one, None) for one in waiting.values()]
    found.windows.sort(key=lambda one: (one[4], one[1]))
    found.used = dict(used)
    seconds: Counter[Bucket] = Counter()
    for shift, (_on_us, off_us) in found.clock.items():
        seconds.update(reckoned(rows, shift, off_us, leaps=True))
    found.seconds = dict(seconds)
    return found


def _after(steps: Sequence[Any]) -> list[int]:
    """The places of the work steps among the steps of a stage."""
    return [at for at, step in enumerate(steps) if type(step).__name__ == "Work"]


def _of_shift(found: Retold, at_us: int, row: Row) -> None:
    shift = row.shift
    match row.event:
        case ev.ClockedOn():
            found.clock[shift] = (at_us, at_us)
            found.breaks[shift], found.drunk[shift] = [], 0
        case ev.ClockedOff():
            found.clock[shift] = (found.clock[shift][0], at_us)
        case ev.BreakTaken(what):
            found.breaks[shift].append((what, at_us, at_us))
        case ev.BreakEnded():
            what, from_us, _to_us = found.breaks[shift][-1]
            found.breaks[shift][-1] = (what, from_us, at_us)
        case ev.DrinkTaken(ml):
            found.drunk[shift] += ml
        case ev.ReadingTaken() as reading:
            found.readings.append((at_us, reading.air_c, reading.rh))


def as_recorded(record: Record) -> Retold:
    """The same of a record."""
    clock = {one.shift: (one.on_us, one.end_us) for one in record.accounts}
    seconds: dict[Bucket, int] = defaultdict(int)
    for share in record.shares:
        bucket = (share.kind, share.what, share.job, share.stage)
        seconds[bucket] += share.length_us // SECOND_US
    return Retold(
        opened_us=record.opened_us,
        closed_us=record.closed_us,
        clock=clock,
        seconds=dict(seconds),
        breaks={
            one.shift: [(rest.what, rest.start_us, rest.end_us) for rest in one.breaks]
            for one in record.accounts
        },
        applied={
            (stage.stage, section.section, done.pass_, done.layer): (
                done.first_us, done.last_us, len(done.steps),
            )
            for stage in record.stages
            for section in stage.sections
            for done in section.applied
        },
        windows=sorted(
            (
                (one.stage, one.section, one.pass_, one.layer, one.last_us, one.opens_us,
                 one.closes_us, one.ended_us)
                for one in record.windows
            ),
            key=lambda one: (one[4], one[1]),
        ),
        used={one.product: one.amount for one in record.used},
        drunk={one.shift: one.drinks.ml for one in record.exposures},
        # What was read at the place before, and still held, is named there too.
        readings=[
            (one.at_us, one.reading.air_c, one.reading.rh)
            for one in record.readings
            if any(on_us <= one.at_us <= off_us for on_us, off_us in clock.values())
        ],
    )  # fmt: skip
