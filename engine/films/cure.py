"""The long windows: gaps between layers, cures, and second looks, over all open jobs by time.

A gap runs between two layers, a cure from the last touch of the last one, a second look is due
some minutes after it. All of them are derived from the log; an answer in the log makes a look
go away, and a section that was laid anew is looked at anew and cures anew.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import zip_longest
from typing import Literal

from msgspec import Struct

from cartclock.engine.dates import age_said, spoken, spoken_near, up_to_minute
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.layers import OnTop, layer_text, on_top
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import SECOND_US, Window, WindowState
from cartclock.engine.facts.shift import Shift
from cartclock.engine.facts.words import place_text
from cartclock.engine.hours.account import TakenReading, readings, served
from cartclock.engine.plan.plan import Check, HighSpot, Stage
from cartclock.engine.times import Instant


class Curing(Struct, frozen=True):
    """How long one section must be left alone.

    Fields:
        stage, section: where.
        pass_: which time it was laid; 2 and more: laid anew.
        last_us: its last touch.
        until_us: end of the ordinary cure.
        cold_until_us: end of the cure in the cold; None if the cold makes no difference.
        below_c: under this air or panel temperature the cold holds; None: it never does.
        reading: the first one under `below_c` that stood during the ordinary cure, else the
            newest that stood; None if none did.
        stretched: True if `reading` is under `below_c`.
        example: True while the numbers are the starter's.
    """

    stage: str
    section: str
    pass_: int
    last_us: Instant
    until_us: Instant
    cold_until_us: Instant | None
    below_c: float | None
    reading: TakenReading | None
    stretched: bool
    example: bool

    @property
    def cured_us(self) -> Instant:
        """Cured not before this; where no reading stood, the later of the two ends."""
        if self.cold_until_us is None:
            return self.until_us
        if self.stretched or self.reading is None:
            return max(self.until_us, self.cold_until_us)
        return self.until_us


def curings(job: Job, stage_name: str, taken: Sequence[TakenReading]) -> tuple[Curing, ...]:
    """The cure of every section of a stage that is over with something on it.

    taken: the readings in order of time. A reading stands until the next one with a
    temperature of air or panel. KeyError if the job has no such stage.
    """
    stage = job.stage(stage_name)
    if stage.cure is None:
        return ()
    known = [one for one in taken if coldest_c(one) is not None]
    newest = {s.section: s for s in job.stints if s.stage == stage_name}
    found = []
    for section in job.of(stage_name):
        last_us = section.finished_us
        if last_us is None or not (section.over or job.state == "closed"):
            continue
        laid = newest.get(section.name)
        cure = stage.cure if laid is None else job.stage_of(laid).cure
        if cure is None:
            continue
        until_us = Instant(last_us + cure.at_least_s * SECOND_US)
        cold = cure.below_c is not None and cure.then_s is not None
        reading, stretched = _stood(known, last_us, until_us, cure.below_c if cold else None)
        found.append(
            Curing(
                stage=stage_name,
                section=section.name,
                pass_=1 if laid is None else laid.turn.pass_,
                last_us=last_us,
                until_us=until_us,
                cold_until_us=Instant(last_us + (cure.then_s or 0) * SECOND_US) if cold else None,
                below_c=cure.below_c,
                reading=reading,
                stretched=stretched,
                example=cure.example,
            )
        )
    return tuple(found)


def _stood(
    known: Sequence[TakenReading], from_us: int, to_us: int, below_c: float | None
) -> tuple[TakenReading | None, bool]:
    """The reading that decides over a cure between two times, and whether it is a cold one.

    known: the readings with a temperature, in order of time.
    """
    stood = [
        one
        for one, after in zip_longest(known, known[1:])
        if one.at_us < to_us and (after is None or after.at_us > from_us)
    ]
    for one in stood:
        if below_c is not None and (coldest_c(one) or 0.0) < below_c:
            return one, True
    return (stood[-1] if stood else None), False


def coldest_c(one: TakenReading) -> float | None:
    """The lower of air and panel, C; None if neither was read."""
    read = [c for c in (one.reading.air_c, one.reading.panel_c) if c is not None]
    return min(read, default=None)


def degrees_text(one: TakenReading, below_c: float | None = None) -> str:
    """Air and panel of a reading in words; with `below_c` only what is under it."""
    named = (("air", one.reading.air_c), ("panel", one.reading.panel_c))
    return ", ".join(
        f"{name} {c:g} C" for name, c in named if c is not None and (below_c is None or c < below_c)
    )


class SecondLook(Struct, frozen=True):
    """A second look that nobody has taken yet.

    Fields:
        job, stage: where.
        sections: what one look covers; those answered already are left out.
        layer, layers: which layer of how many is looked at.
        say: what to do, as the plan says it.
        first_us, last_us: the earliest and the latest last touch among the sections.
        opens_us, closes_us: the marks of all that the look covered at first.
    """

    job: str
    stage: str
    sections: tuple[str, ...]
    layer: int
    layers: int
    say: str
    first_us: Instant
    last_us: Instant
    opens_us: Instant
    closes_us: Instant

    def state(self, now_us: Instant) -> WindowState:
        """WAIT before it opens, LATE from `closes` on, READY between."""
        if now_us >= self.closes_us:
            return "LATE"
        return "READY" if now_us >= self.opens_us else "WAIT"


def looks(job: Job) -> tuple[SecondLook, ...]:
    """The looks of a job that are still to be taken, waiting ones included, by their closing.

    Each layer is looked at while it lies open: the next one covers it.
    """
    found = []
    for stage in job.stages if job.state == "open" else ():
        if stage.check is None:
            continue
        taken = _checked(job, stage.name)
        for group, check in _together(job, stage, stage.check):
            left = [
                one for one in group if taken.get(one.section, one.touched_us - 1) < one.touched_us
            ]
            if left:
                found.append(
                    SecondLook(
                        job=job.id,
                        stage=stage.name,
                        sections=tuple(one.section for one in left),
                        layer=left[0].layer,
                        layers=stage.layers,
                        say=check.say,
                        first_us=left[0].touched_us,
                        last_us=left[-1].touched_us,
                        opens_us=Instant(group[-1].touched_us + check.after_s * SECOND_US),
                        closes_us=Instant(group[0].touched_us + check.closes_s * SECOND_US),
                    )
                )
    return tuple(sorted(found, key=lambda look: (look.closes_us, look.stage, look.sections)))


def _checked(job: Job, stage: str) -> dict[str, int]:
    """Section -> when it was looked at last."""
    return {
        name: row.at_us
        for row in job.facts
        if isinstance(row.event, ev.SectionChecked) and row.event.stage == stage
        for name in row.event.sections
    }


def _together(job: Job, stage: Stage, now: Check) -> list[tuple[list[OnTop], Check]]:
    """The layers that lie open, those of one look together, in order of time, each with the check
    that stood when they were laid; `now`: the one that stands.

    One look keeps at least half of its window, and nothing joins it once it is open: what was
    laid too far apart is looked at apart. Our own judgement.
    """
    groups: dict[tuple[str, int, int], list[list[OnTop]]] = {}
    checks: list[tuple[list[OnTop], Check]] = []
    for one in sorted(on_top(job, stage), key=lambda one: one.touched_us):
        check = job.stage_at(stage.name, one.version).check or now
        width_us = (check.closes_s - check.after_s) * SECOND_US
        here = groups.setdefault((_covered(one, check), one.layer, one.version), [])
        apart_us = one.touched_us - here[-1][0].touched_us if here else 0
        joins = apart_us == 0 or (2 * apart_us <= width_us and apart_us < check.after_s * SECOND_US)
        if here and joins:
            here[-1].append(one)
        else:
            here.append([one])
            checks.append((here[-1], check))
    return checks


def _covered(one: OnTop, check: Check) -> str:
    match check.per:
        case "section":
            return one.section
        case "panel":
            return one.panel
        case "stage":
            return ""


def high_spot_remedy(stage: Stage, age_us: int) -> HighSpot | None:
    """What to do about a high spot of that age; None if nothing is said.

    A remedy holds while the age is under its `until`.
    """
    for spot in stage.high_spot:
        if spot.until_s is None or age_us < spot.until_s * SECOND_US:
            return spot
    return None


class Long(Struct, frozen=True):
    """One long window in the queue.

    Fields:
        kind: gap, cure or check.
        job, stage, sections: where.
        state: WAIT, READY or LATE; a cure is READY once it is over.
        at_us: the mark that comes next, or the last one that passed.
        about: the window itself; of several cures that of the section that is cured last.
        apart: True of a cure if other sections of its stage were laid another time round.
    """

    kind: Literal["gap", "cure", "check"]
    job: str
    stage: str
    sections: tuple[str, ...]
    state: WindowState
    at_us: Instant
    about: Window | Curing | SecondLook
    apart: bool = False


def queue(
    jobs: Mapping[str, Job], shifts: Mapping[str, Shift], now_us: Instant
) -> tuple[Long, ...]:
    """Every long window of the open jobs at `now_us`, the earliest next mark first.

    shifts: at least those in which the jobs were worked; their readings decide over the cures.
    """
    found: list[Long] = []
    for job in jobs.values():
        if job.state != "open":
            continue
        for window in job.running:
            if window.kind == "gap":
                state = window.state(now_us)
                at_us = window.opens_us if state == "WAIT" else window.closes_us
                where = (window.section,)
                found.append(Long("gap", job.id, window.stage, where, state, at_us, window))
        if any(stage.cure is not None for stage in job.stages):
            worked = [shift for shift in shifts.values() if job.id in served(shift, now_us)]
            found += _cures(job, readings(worked), now_us)
        for look in looks(job):
            state = look.state(now_us)
            at_us = look.opens_us if state == "WAIT" else look.closes_us
            found.append(Long("check", job.id, look.stage, look.sections, state, at_us, look))
    numbers = {job.id: job.opened.number for job in jobs.values()}
    return tuple(sorted(found, key=lambda w: (w.at_us, numbers[w.job], w.stage, w.sections)))


def _cures(job: Job, taken: Sequence[TakenReading], now_us: Instant) -> list[Long]:
    found = []
    for stage in job.stages:
        passes: dict[int, list[Curing]] = {}
        for curing in curings(job, stage.name, taken):
            passes.setdefault(curing.pass_, []).append(curing)
        for group in passes.values():
            last = max(group, key=lambda c: (c.cured_us, c.last_us))
            found.append(
                Long(
                    kind="cure",
                    job=job.id,
                    stage=stage.name,
                    sections=tuple(c.section for c in group),
                    state="WAIT" if now_us < last.cured_us else "READY",
                    at_us=last.cured_us,
                    about=last,
                    apart=len(passes) > 1,
                )
            )
    return found


def long_parts(one: Long, job: Job, now_us: Instant) -> tuple[str, str, str]:
    """A long window in words, its times on the clock of the job's zone: where and what, what
    joins, when.
    """
    zone = job.opened.zone
    match one.about:
        case Window() as window:
            said = {"WAIT": "opens", "READY": "closes", "LATE": "closed"}[one.state]
            at_us = up_to_minute(one.at_us) if one.state == "WAIT" else one.at_us
            where = f"{one.stage}, {window.section}: layer {window.turn.layer}"
            return where, " ", f"{said} {spoken(at_us, zone)}"
        case Curing() as curing:
            return _cure_parts(one, curing, job, now_us, zone)
        case SecondLook() as look:
            closes = spoken_near(look.closes_us, now_us, zone)
            if one.state == "WAIT":
                opens = spoken_near(up_to_minute(look.opens_us), now_us, zone)
                return f"{one.stage}: {_act(job, look)}", " ", f"from {opens} to {closes}"
            ends = f"until {closes}" if one.state == "READY" else f"late since {closes}"
            if one.state == "LATE" and look.layer < look.layers:
                ends += f", can be seen until layer {look.layer + 1} covers it"
            return f"{one.stage}: {look_text(job, look, now_us)}", ", ", ends


def long_text(one: Long, job: Job, now_us: Instant) -> str:
    """`long_parts` in one line."""
    return "".join(long_parts(one, job, now_us))


def _cure_parts(
    one: Long, curing: Curing, job: Job, now_us: Instant, zone: str
) -> tuple[str, str, str]:
    where = one.stage
    if one.apart:
        anew = ", laid anew" if curing.pass_ > 1 else ""
        where += f", {place_text(job, one.stage, one.sections)}{anew}"
    until = spoken(up_to_minute(one.at_us), zone)
    said = f"leave alone until {until}" if one.state == "WAIT" else f"cured since {until}"
    why = ""
    if curing.stretched and curing.reading is not None:
        when = spoken_near(curing.reading.at_us, now_us, zone)
        cold = degrees_text(curing.reading, curing.below_c)
        why = f", cold: {cold} at {when}"
    elif curing.reading is None and curing.below_c is not None:
        why = ", no reading: as if cold"
    return where, ": ", f"{said}{why}"


def _act(job: Job, look: SecondLook) -> str:
    """What to do where: "light over roof"; a plan that says "it" means the sections."""
    where = place_text(job, look.stage, look.sections)
    if look.say.endswith(" it"):
        return f"{look.say.removesuffix('it')}{where}"
    return f"{look.say}: {where}"


def age_text(first_us: int, last_us: int, now_us: Instant) -> str:
    """How long ago the last touches were, the youngest first: "18-24 min", "24 min", "3 h"."""
    young, old = ((now_us - us) // MINUTE_US for us in (last_us, first_us))
    ends = dict.fromkeys(age_said(minutes) for minutes in (young, old))
    if old != young and age_said(old) == f"{old} min":
        return f"{young}-{old} min"
    return " to ".join(ends)


def look_text(job: Job, look: SecondLook, now_us: Instant) -> str:
    """A look in few words: "light over roof, layer 1 of 2, laid 18-24 min ago"."""
    ago = f"laid {age_text(look.first_us, look.last_us, now_us)} ago"
    said = (_act(job, look), layer_text(look.layer, look.layers), ago)
    return ", ".join(part for part in said if part)


def due(jobs: Mapping[str, Job], now_us: Instant) -> tuple[SecondLook, ...]:
    """The looks of all open jobs that are due now or late, by their closing."""
    found = [look for job in jobs.values() for look in looks(job) if look.opens_us <= now_us]
    return tuple(sorted(found, key=lambda look: (look.closes_us, look.job, look.stage)))


def look_sentences(jobs: Mapping[str, Job], now_us: Instant, late: bool = False) -> tuple[str, ...]:
    """One sentence on the looks that are due, or on those that are late; empty if none is."""
    found = [look for look in due(jobs, now_us) if (look.state(now_us) == "LATE") is late]
    if not found:
        return ()
    more = f"; {len(found) - 1} more" if len(found) > 1 else ""
    said = look_text(jobs[found[0].job], found[0], now_us)
    return (f"Look again (Z): {said}{', late' if late else ''}{more}.",)


def look_states(
    jobs: Mapping[str, Job], now_us: Instant
) -> tuple[tuple[str, Literal["wait", "ready"]], ...]:
    """Key and field of every section that waits for its look: each rings once, when it is due."""
    return tuple(
        (
            f"check/{look.job}/{look.stage}/{name}/{look.closes_us}",
            "wait" if now_us < look.opens_us else "ready",
        )
        for job in jobs.values()
        for look in looks(job)
        for name in look.sections
    )
