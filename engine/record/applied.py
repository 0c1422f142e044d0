"""What was done to a vehicle: work on each section, windows asked and taken, products used."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Literal

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_play import in_play
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.job_events import Found
from cartclock.engine.facts.layers import layer_text
from cartclock.engine.facts.rows import MINUTE_US, Row
from cartclock.engine.facts.section import (
    SECOND_US,
    SectionState,
    Stint,
    Window,
    WindowKind,
    ends_layer,
    work_of,
)
from cartclock.engine.films.wet import water_remedy
from cartclock.engine.plan.plan import Stage, Unit, Wait, Work
from cartclock.engine.times import Instant, Length

NEVER_TAKEN = "never taken up"
"""What a paper says of a window that was left."""


class Asked(Struct, frozen=True):
    """A window: what was asked of the worker and what became of it.

    Fields:
        stage, section, pass_, layer: whose film; of a gap the layer that goes on after it.
        kind: dwell, flash or gap.
        last_us: last touch, when the window began.
        opens_us, due_us, closes_us: the marks as instants; due is when it was expected, None for
            a film that was looked at without an expectation.
        revised: True if the marks were changed while it ran.
        seen_us: when the film was seen ready; None if not watched.
        ended_us: when it was taken up or left out; None if it was not.
        outcome: how it ended; that it runs, a film while it is in play; or that it was left.
        off_us: taken up so much too early or too late; running so long past its close; else 0.
        example: True if the plan's numbers were the starter's and not the pack's.
        off_by_us: the mark by which a labelled flash was to be off, as instant; else None.
    """

    stage: str
    section: str
    pass_: int
    layer: int
    kind: WindowKind
    last_us: Instant
    opens_us: Instant
    due_us: Instant | None
    closes_us: Instant
    revised: bool
    seen_us: Instant | None
    ended_us: Instant | None
    outcome: Literal["early", "in the window", "late", "running", "left", "left out"]
    off_us: Length
    example: bool
    off_by_us: Instant | None = None

    def told_us(self, from_us: Instant, to_us: Instant) -> Length:
        """From one of its instants to another as papers tell it; under 0 if `to_us` comes first.

        Each instant is cut to its second, of a gap to its minute, and only then subtracted, so
        that the figures that stand beside each other agree.
        """
        unit_us = MINUTE_US if self.kind == "gap" else SECOND_US
        return Length((to_us // unit_us - from_us // unit_us) * unit_us)

    @property
    def told_off_us(self) -> Length:
        """`off_us` as papers tell it."""
        if self.ended_us is not None and self.outcome == "early":
            return self.told_us(self.ended_us, self.opens_us)
        if self.ended_us is not None and self.outcome == "late":
            return self.told_us(self.closes_us, self.ended_us)
        return self.off_us

    @property
    def told_left_us(self) -> Length | None:
        """What was left to the close when it was taken, as papers tell it; None unless it was
        taken in its window."""
        if self.ended_us is None or self.outcome != "in the window":
            return None
        return self.told_us(self.ended_us, self.closes_us)

    @property
    def told_shut_us(self) -> Length:
        """By how much it closed, counted from the first touch, before it opened, counted from the
        last, as papers tell it; 0 for a window that had a width."""
        return Length(max(0, self.told_us(self.closes_us, self.opens_us)))


class StageAmount(Struct, frozen=True):
    """How much of a product a stage took."""

    stage: str
    amount: float


class UseMended(Struct, frozen=True):
    """A booked amount put right."""

    at_us: Instant
    by: float
    why: str


class Used(Struct, frozen=True):
    """A product's use in all.

    Fields:
        product, name, unit, mix: as in the plan; the id alone if the plan lacks it.
        amount: of the mix as applied, in `unit`, what was put right included.
        stages: booked by stage, in the plan's order; without what was put right.
        mended: what was put right, in order.
    """

    product: str
    name: str
    unit: Unit | Literal[""]
    mix: str
    amount: float
    stages: tuple[StageAmount, ...]
    mended: tuple[UseMended, ...]


class Applied(Struct, frozen=True):
    """What was done on a section in one pass of one layer.

    Fields:
        pass_, layer: which.
        first_us, last_us: first and last touch.
        steps: the work steps finished, in order.
        whole: True if the layer's last step is among them.
        workers: who finished them.
        shared: True if times among them were shared out evenly afterwards.
    """

    pass_: int
    layer: int
    first_us: Instant
    last_us: Instant
    steps: tuple[str, ...]
    whole: bool
    workers: tuple[str, ...]
    shared: bool


class Remark(Struct, frozen=True):
    """Something that happened to a section.

    Fields:
        at_us, what: when, and what.
        why: its reason or remedy; "" if there is none.
        worker: who said so; "" for what nobody said.
    """

    at_us: Instant
    what: Literal["left out", "done again", "cut in two", "water"] | Found
    why: str
    worker: str = ""


class SectionRecord(Struct, frozen=True):
    """A section of a stage: what was applied, and what else happened to it, in order."""

    section: str
    panel: str
    state: SectionState
    applied: tuple[Applied, ...]
    remarks: tuple[Remark, ...]


class StageRecord(Struct, frozen=True):
    """A stage with its sections in working order; split ones stand before their pieces."""

    stage: str
    layers: int
    sections: tuple[SectionRecord, ...]


def asked(job: Job, own: Sequence[Row], now_us: Instant) -> tuple[Asked, ...]:
    """The windows of a job, ended and running, by their beginning.

    A gap that was broken off because its layer was opened again is none of them: what comes next
    waits for the gap that begins when that layer is finished anew.

    own: the job's rows as they are to be believed.
    """
    wet = {(section.stage, section.name) for section in in_play(job, now_us)}
    revised = [row for row in own if isinstance(row.event, ev.MarksRevised)]
    return tuple(
        _asked(
            job,
            window,
            revised,
            now_us,
            # A gap is no film: it stands open as long as its job.
            job.state == "open" if window.kind == "gap" else (window.stage, window.section) in wet,
        )
        for window in job.every_window
        if not _broken_off(job, window)
    )


def _broken_off(job: Job, window: Window) -> bool:
    section = job.sections[window.stage, window.section]
    ended = window.ended_us is not None and not window.taken
    return window.kind == "gap" and ended and section.turn.pass_ > window.turn.pass_


def _asked(
    job: Job, window: Window, revisions: Iterable[Row], now_us: Instant, goes_on: bool
) -> Asked:
    ended_us = window.ended_us
    revised = any(
        isinstance(row.event, ev.MarksRevised)
        and row.event.stage == window.stage
        and window.section in row.event.sections
        and row.event.turn == window.turn
        and window.last_us <= row.at_us
        and (ended_us is None or row.at_us <= ended_us)
        for row in revisions
    )
    outcome: Literal["early", "in the window", "late", "running", "left", "left out"]
    off_us = 0
    if ended_us is None and not goes_on:
        outcome = "left"
    elif ended_us is None:
        outcome, off_us = "running", max(0, now_us - window.closes_us)
    elif not window.taken:
        outcome = "left out"
    elif ended_us >= window.closes_us:
        outcome, off_us = "late", ended_us - window.closes_us
    elif ended_us < window.opens_mark_us:
        outcome, off_us = "early", window.opens_mark_us - ended_us
    else:
        outcome = "in the window"
    return Asked(
        stage=window.stage,
        section=window.section,
        pass_=window.turn.pass_,
        layer=window.turn.layer,
        kind=window.kind,
        last_us=window.last_us,
        opens_us=window.opens_mark_us,
        due_us=window.expected_us,
        closes_us=window.closes_us,
        revised=revised,
        seen_us=window.seen_us,
        ended_us=ended_us,
        outcome=outcome,
        off_us=Length(off_us),
        example=_example(job.stage_of(window), window),
        off_by_us=window.off_by_us,
    )


def _example(stage: Stage, window: Window) -> bool:
    if window.kind == "gap":
        return stage.gap is not None and stage.gap.example
    before = stage.steps[window.turn.step - 1] if window.turn.step else None
    return isinstance(before, Wait) and before.example


def used(job: Job, shifts: Collection[str] | None = None) -> tuple[Used, ...]:
    """The products used, in the plan's order.

    shifts: ids of those whose presses alone count; None for all.
    """
    booked: dict[str, dict[str, list[float]]] = {}
    mended: dict[str, list[UseMended]] = {}
    for row in job.facts:
        if shifts is not None and row.shift not in shifts:
            continue
        match row.event:
            case ev.ProductUsed(stage=stage, amounts=amounts):
                for name, amount in amounts.items():
                    booked.setdefault(name, {}).setdefault(stage, []).append(amount)
            case ev.UseCorrected(name, by, why):
                booked.setdefault(name, {})
                mended.setdefault(name, []).append(UseMended(row.at_us, by, why))
    plan = job.opened.plan
    found = []
    for product_id, by_stage in booked.items():
        product = plan.product(product_id)
        righted = mended.get(product_id, [])
        each = [amount for stage in by_stage.values() for amount in stage]
        found.append(
            Used(
                product=product_id,
                name=product_id if product is None else product.name,
                unit="" if product is None else product.unit,
                mix="" if product is None else product.mix,
                amount=math.fsum([*each, *(one.by for one in righted)]),
                stages=tuple(
                    StageAmount(stage.name, math.fsum(by_stage[stage.name]))
                    for stage in job.stages
                    if stage.name in by_stage
                ),
                mended=tuple(righted),
            )
        )
    order = [product.id for product in plan.products]
    return tuple(sorted(found, key=lambda u: order.index(u.product) if u.product in order else 999))


def stages(job: Job, own: Sequence[Row]) -> tuple[StageRecord, ...]:
    """Every stage with what was done on its sections; `own` as in `asked`."""
    remarks: dict[tuple[str, str], list[Remark]] = {}
    for row in own:
        match row.event:
            case ev.SectionSkipped(stage, sections, why):
                said = Remark(row.at_us, "left out", why, row.worker)
            case ev.SectionReopened(stage, sections, _turn, why):
                said = Remark(row.at_us, "done again", why, row.worker)
            case ev.WaterTouched(stage, sections):
                said = Remark(row.at_us, "water", water_remedy(job, stage), row.worker)
            case ev.SectionChecked(stage, sections, seen, do):
                said = Remark(row.at_us, seen, do, row.worker)
            case ev.SectionSplit(stage, section, into):
                sections = (section,)
                said = Remark(row.at_us, "cut in two", ", ".join(into), row.worker)
            case _:
                continue
        for name in sections:
            remarks.setdefault((stage, name), []).append(said)
    stints: dict[tuple[str, str], list[Stint]] = {}
    for stint in job.stints:
        stints.setdefault((stint.stage, stint.section), []).append(stint)
    for looked in job.stages:
        if looked.check is not None:
            for name, unseen in _unseen(job, looked, stints):
                remarks.setdefault((looked.name, name), []).append(unseen)
    for told in remarks.values():
        told.sort(key=lambda remark: remark.at_us)
    return tuple(
        StageRecord(
            stage.name,
            stage.layers,
            tuple(
                SectionRecord(
                    section=name,
                    panel=job.sections[stage.name, name].panel,
                    state=job.sections[stage.name, name].state,
                    applied=_applied(stage, stints.get((stage.name, name), ())),
                    remarks=tuple(remarks.get((stage.name, name), ())),
                )
                for name in job.order[stage.name]
            ),
        )
        for stage in job.stages
    )


def _unseen(
    job: Job, stage: Stage, stints: Mapping[tuple[str, str], Sequence[Stint]]
) -> list[tuple[str, Remark]]:
    """The layers on which nobody looked before more came on them or the job was closed."""
    seen: dict[str, list[Instant]] = {}
    for row in job.facts:
        if isinstance(row.event, ev.SectionChecked) and row.event.stage == stage.name:
            for name in row.event.sections:
                seen.setdefault(name, []).append(row.at_us)
    found = []
    for name in job.order[stage.name]:
        own = stints.get((stage.name, name), ())
        begun = [stint.first_us for stint in own]
        in_hand_us = job.sections[stage.name, name].first_us
        begun += [] if in_hand_us is None else [in_hand_us]
        for stint in own:
            if not ends_layer(stage, stint.turn):
                continue
            more = [us for us in begun if us >= stint.last_us]
            end_us = min(more) if more else job.closed_us
            looked = any(
                end_us is not None and stint.last_us <= us <= end_us for us in seen.get(name, ())
            )
            if end_us is not None and not looked:
                layer = layer_text(stint.turn.layer, stage.layers)
                why = "more came on it" if more else "the job was closed"
                said = f"{layer}, {why}" if layer else why
                found.append((name, Remark(end_us, "not looked at", said)))
    return found


def _applied(stage: Stage, stints: Sequence[Stint]) -> tuple[Applied, ...]:
    """What these stints of one section put on it."""
    last_step = max(index for index, step in enumerate(stage.steps) if isinstance(step, Work))
    found = []
    for pass_, layer in sorted({(s.turn.pass_, s.turn.layer) for s in stints}):
        same = [s for s in stints if (s.turn.pass_, s.turn.layer) == (pass_, layer)]
        found.append(
            Applied(
                pass_=pass_,
                layer=layer,
                first_us=min(s.first_us for s in same),
                last_us=max(s.last_us for s in same),
                steps=tuple(work_of(stage, s.turn).say for s in same),
                whole=any(s.turn.step == last_step for s in same),
                workers=tuple(dict.fromkeys(s.worker for s in same)),
                shared=any(s.shared for s in same),
            )
        )
    return tuple(found)
