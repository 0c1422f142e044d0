"""What the film still needs when the hands are off it: recoat, cure, and the aftercare's dates.

A date hangs on the last touch of the work it follows. A section that was done again counts with
its last pass, one that was left out after something had been put on it with that touch, one
that was never touched not at all. Where the anchor is not known yet, no date is given.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.after.dues import Due, dues
from cartclock.engine.after.visits import NEVER_CLOSED, Closed, arranged, no_day_text, own_day
from cartclock.engine.dates import local, spoken
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.section import Window
from cartclock.engine.films.cure import curings
from cartclock.engine.films.wet import water_care, water_remedy, wettings
from cartclock.engine.hours.account import TakenReading
from cartclock.engine.plan.plan import Aftercare, CareAbout
from cartclock.engine.times import Instant

# All of a stage is named section by section up to so many, in sum beyond. Our own judgement.
MOST_NAMES = 3


class LastTouch(Struct, frozen=True):
    """How a stage stands towards what hangs on its end.

    Fields:
        at_us: last touch of all that was worked on; None if nothing was.
        section: where that was; "" if nothing was.
        left: sections that are still to be done.
        left_out: (section, reason) of those left out before anything was put on them.
        untouched: sections that a closed job left undone.
    """

    at_us: Instant | None
    section: str
    left: int
    left_out: tuple[tuple[str, str], ...]
    untouched: tuple[str, ...]


def last_touch(job: Job, stage: str) -> LastTouch:
    """How a stage stands; KeyError if the job has none of that name."""
    sections = job.of(job.stage(stage).name)
    touched = [s for s in sections if s.finished_us is not None]
    last = max(touched, key=lambda s: s.finished_us or 0, default=None)
    unfinished = [s for s in sections if not s.over]
    return LastTouch(
        at_us=None if last is None else last.finished_us,
        section="" if last is None else last.name,
        left=0 if job.state == "closed" else len(unfinished),
        left_out=tuple(
            (s.name, s.why) for s in sections if s.state == "left out" and s.finished_us is None
        ),
        untouched=tuple(s.name for s in unfinished if s.finished_us is None)
        if job.state == "closed"
        else (),
    )


class Care(Struct, frozen=True):
    """One thing the customer is told.

    Fields:
        say, source, if_not, visit: as the plan has them.
        example: True while the time is the starter's and has to be replaced from the pack.
        after: the stage it follows; "" for the job's close.
        state: dated; not yet (its anchor has not happened); drops out (it never will).
        why: without date the reason, as a sentence without full stop; "" if dated.
        anchor_us, anchor_section: what the dates are counted from; None and "" without.
        without: sections of the stage that nothing was put on.
        dues: the dates; empty unless dated.
        wet: what water got on before the end of this time and what to do, in sentences.
        days_known: True of a visit if the shop's closed days were looked at.
        about: what it speaks of: as the plan says, else "water" of the lines that are taken for it.
        no_day: of visits for which no open day was found, a sentence; "" if there are none.
            They are not among the dues.
    """

    say: str
    source: str
    if_not: str
    visit: bool
    example: bool
    after: str
    state: Literal["dated", "not yet", "drops out"]
    why: str
    anchor_us: Instant | None = None
    anchor_section: str = ""
    without: tuple[str, ...] = ()
    dues: tuple[Due, ...] = ()
    wet: tuple[str, ...] = ()
    days_known: bool = False
    no_day: str = ""
    about: CareAbout = ""


def cares(job: Job, closed: Closed = NEVER_CLOSED) -> tuple[Care, ...]:
    """Every aftercare of the job's plan with its dates in the customer's zone.

    closed: when the shop is; visits are moved to its next open day.
    """
    found = [_care(job, item, job.opened.zone, closed) for item in job.opened.plan.aftercare]
    ends = {
        (care.after, due.day): due.say
        for care in found
        for due in care.dues
        if due.kind == "until" and due.day
    }
    return tuple(
        replace(
            care, dues=tuple(_behind(due, ends.get((care.after, due.day), "")) for due in care.dues)
        )
        for care in found
    )


def _behind(due: Due, end: str) -> Due:
    """A beginning on the day with which another line of the aftercare ends is a day later.

    A calendar end holds to the end of its day. end: what that line says; "" for none.
    """
    if due.kind != "from" or not due.day or not end or due.day == date.max.isoformat():
        return due
    day = (date.fromisoformat(due.day) + timedelta(days=1)).isoformat()
    return replace(
        due, day=day, moved_from=due.day, why=f"that day still belongs to: {end}".rstrip(".")
    )


def _care(job: Job, item: Aftercare, zone: str, closed: Closed) -> Care:
    state: Literal["dated", "not yet", "drops out"] = "dated"
    why, section = "", ""
    without: tuple[str, ...] = ()
    anchor_us = job.closed_us
    if not item.after:
        if anchor_us is None:
            state, why = "not yet", "dated when the job is closed"
    elif item.after not in job.order:
        state, why, anchor_us = "drops out", f"the job has no stage {item.after}", None
    else:
        touch = last_touch(job, item.after)
        anchor_us, section = touch.at_us, touch.section
        without = (*(name for name, _why in touch.left_out), *touch.untouched)
        if touch.left:
            noun = "section is" if touch.left == 1 else "sections are"
            state = "not yet"
            why = f"dated when {item.after} is finished; {touch.left} {noun} still to be done"
        elif anchor_us is None:
            state, why = "drops out", _nothing_done(item.after, touch)
    given: tuple[Due, ...] = ()
    if state == "dated" and anchor_us is not None:
        try:
            given = dues(item, anchor_us, zone)
        except ValueError as fault:
            state, why = "drops out", str(fault)
    dated = state == "dated"
    places = [(due, arranged(due, closed, zone)) for due in given]
    given = tuple(moved for _due, moved in places if moved is not None)
    without_day = [own_day(due, zone) for due, moved in places if moved is None]
    return Care(
        say=item.say,
        source=item.source,
        if_not=item.if_not,
        visit=item.visit,
        example=item.source == "example",
        after=item.after,
        state=state,
        why=why,
        anchor_us=anchor_us if dated else None,
        anchor_section=section if dated else "",
        without=without if dated else (),
        dues=given,
        wet=_wet(job, item, given, zone) if state != "drops out" else (),
        days_known=item.visit and closed.known,
        no_day=no_day_text(without_day),
        about="water" if item.after and item in water_care(job, item.after) else item.about,
    )


def _wet(job: Job, item: Aftercare, given: Sequence[Due], zone: str) -> tuple[str, ...]:
    """The water that got on the stage before the end that this aftercare names."""
    if not item.after or item not in water_care(job, item.after):
        return ()
    ends = [due for due in given if due.kind == "until"]
    said = []
    for wetting in wettings(job):
        over = any(
            wetting.at_us >= due.at_us
            if due.at_us is not None
            else local(wetting.at_us, zone).date().isoformat() > due.day
            for due in ends
        )
        if wetting.stage != item.after or over:
            continue
        *date, clock = spoken(wetting.at_us, zone).split(" ", 4)
        then = water_remedy(job, item.after)
        # What the entry says anyway is not said twice.
        then = f" {then}" if then and then != item.if_not else ""
        every = len(wetting.sections) == len(job.of(item.after)) > MOST_NAMES
        names = "all of it" if every else ", ".join(wetting.sections)
        said.append(f"Got wet on {' '.join(date)}, {clock}; {names}.{then}")
    return tuple(said)


def _nothing_done(stage: str, touch: LastTouch) -> str:
    if not touch.left_out:
        return f"nothing of {stage} was done"
    reasons = ", ".join(dict.fromkeys(why for _name, why in touch.left_out if why))
    left_out = f"{stage} was left out" if not touch.untouched else f"nothing of {stage} was done"
    return f"{left_out}: {reasons}" if reasons else left_out


class CureEnd(Struct, frozen=True):
    """How long a coat must be left alone: that of its section which is cured last.

    Fields:
        stage: which coat.
        anchor_us, section: that section's last touch; None and "" if the coat is not finished.
        until_us: end of its ordinary cure; None without anchor.
        cold_until_us: end of its cure in the cold; None without anchor, or if the cold
            makes no difference.
        not_before_us: cured not before this; None without anchor.
        below_c: under this air or panel temperature in C the cold holds; None: it never does.
        stretched: True if a reading under `below_c` stood during the ordinary cure.
        reading: the first such reading, else the newest that stood; None if none stood.
        example: True while the numbers are the starter's.
        why: without anchor the reason; "" otherwise.
    """

    stage: str
    anchor_us: Instant | None
    section: str
    until_us: Instant | None
    cold_until_us: Instant | None
    not_before_us: Instant | None
    below_c: float | None
    stretched: bool
    reading: TakenReading | None
    example: bool
    why: str = ""


def cures(job: Job, taken: Sequence[TakenReading]) -> tuple[CureEnd, ...]:
    """The cure of every stage that has one; `taken` are the readings in order of time."""
    found = []
    for stage in job.stages:
        if stage.cure is None:
            continue
        touch, why = last_touch(job, stage.name), ""
        each = curings(job, stage.name, taken)
        last = max(each, key=lambda c: (c.cured_us, c.last_us), default=None)
        if touch.left:
            noun = "section is" if touch.left == 1 else "sections are"
            last = None
            why = f"dated when {stage.name} is finished; {touch.left} {noun} still to be done"
        elif last is None:
            why = _nothing_done(stage.name, touch)
        found.append(
            CureEnd(
                stage=stage.name,
                anchor_us=None if last is None else last.last_us,
                section="" if last is None else last.section,
                until_us=None if last is None else last.until_us,
                cold_until_us=None if last is None else last.cold_until_us,
                not_before_us=None if last is None else last.cured_us,
                below_c=stage.cure.below_c if last is None else last.below_c,
                stretched=last is not None and last.stretched,
                reading=None if last is None else last.reading,
                example=stage.cure.example if last is None else last.example,
                why=why,
            )
        )
    return tuple(found)


class Recoat(Struct, frozen=True):
    """When the next layer may go on sections that wait for it.

    Fields:
        stage, layer: what is to go on.
        sections: which wait.
        opens_us: the last of them opens.
        closes_us: the first of them closes; before `opens_us` if they lie too far apart.
        example: True while the numbers are the starter's.
    """

    stage: str
    layer: int
    sections: tuple[str, ...]
    opens_us: Instant
    closes_us: Instant
    example: bool


def _example_gap(job: Job, window: Window) -> bool:
    gap = job.stage_of(window).gap
    return gap is not None and gap.example


def recoats(job: Job) -> tuple[Recoat, ...]:
    """The recoat windows that run, by stage and layer."""
    found = []
    for stage in job.stages:
        waiting = [w for w in job.running if w.stage == stage.name and w.kind == "gap"]
        for layer in sorted({w.turn.layer for w in waiting}):
            same = [w for w in waiting if w.turn.layer == layer]
            names = {w.section for w in same}
            found.append(
                Recoat(
                    stage=stage.name,
                    layer=layer,
                    sections=tuple(s.name for s in job.of(stage.name) if s.name in names),
                    opens_us=max(w.opens_us for w in same),
                    closes_us=min(w.closes_us for w in same),
                    example=any(_example_gap(job, window) for window in same),
                )
            )
    return tuple(found)
