"""What was noted, overruled and put right, and what the clocks did: one list in order of time."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby

from cartclock.engine.dates import spoken
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.words import in_both
from cartclock.engine.figures.air import TemperatureUnit
from cartclock.engine.paper.chapters.dated import put_dated
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.said import hour, short_day, short_moment, stretch
from cartclock.engine.record.record import Record
from cartclock.engine.record.trail import Trail
from cartclock.engine.times import Instant

# No customer wants to know who drank when, and nobody needs to be told that.
_OF_THE_SHOP = ("amended", "before the coat", "fresh", "opened again", "plan")
_WRITTEN = ("note", "file", "paper", *_OF_THE_SHOP)
_Told = tuple[int, str, str]
"""When, what kind, and in words."""


def put_notes(medium: Medium, record: Record, unit: TemperatureUnit = "C") -> None:
    """The chapter; that nothing was overruled or put right is said.

    unit: of temperatures; what the program said in C has it beside, what a person wrote has not.
    """
    medium.heading("Notes, overruled, put right, clocks")
    told = [
        *_noted(record, unit),
        *_fresh(record),
        *_overruled(record.trail, unit),
        *_righted(record, unit),
        *_clocks(record, unit),
    ]
    if not told:
        medium.words("Nothing.")
        return
    entries = _at_once(sorted(told, key=lambda one: one[0]), record.zone)
    put_dated(
        medium, [(Instant(at_us), (kind, text)) for at_us, kind, text in entries], record.zone
    )


def _at_once(told: Iterable[_Told], zone: str) -> Iterable[_Told]:
    """In order of time; what was said of the job within one minute is one entry."""
    for (kind, _minute), alike in groupby(
        told, key=lambda one: (one[1], short_moment(Instant(one[0]), zone))
    ):
        if kind != "amended":
            yield from alike
            continue
        first, *others = alike
        yield first[0], kind, "; ".join((first[2], *(text for _at_us, _kind, text in others)))


def _noted(record: Record, unit: TemperatureUnit) -> Iterable[_Told]:
    for noted in record.noted:
        # What was found, read and agreed has a chapter of its own, what was fresh a line a day.
        if noted.kind in _WRITTEN and noted.kind != "fresh":
            where = f"{noted.where}: " if noted.where else ""
            private = " (private)" if noted.private and noted.kind not in _OF_THE_SHOP else ""
            text = in_both(noted.text, unit) if noted.kind == "before the coat" else noted.text
            yield noted.at_us, noted.kind, f"{where}{text}{private}"


def _fresh(record: Record) -> Iterable[_Told]:
    """Pads and towels: those of one name that were changed alike on one day are one entry."""
    alike: dict[tuple[str, str, str], list[Instant]] = {}
    for noted in record.noted:
        if noted.kind == "fresh":
            day = short_day(noted.at_us, record.zone)
            alike.setdefault((day, noted.where, noted.text), []).append(noted.at_us)
    for (_day, where, text), (first_us, *others) in alike.items():
        again = ", ".join(hour(at_us, record.zone) for at_us in others)
        yield first_us, "fresh", f"{where}: {text}" + (f"; again {again}" if again else "")


def _overruled(trail: Trail, unit: TemperatureUnit) -> Iterable[_Told]:
    for one in trail.overruled:
        why = one.why or "no reason given"
        yield (
            one.at_us,
            "overruled",
            f"{in_both(one.what, unit)}; {one.rule.replace('_', ' ')}: {why}",
        )


def _righted(record: Record, unit: TemperatureUnit) -> Iterable[_Told]:
    zone = record.zone
    for fix in record.trail.corrections:
        to = "" if fix.to_us is None else f" to {spoken(fix.to_us, zone)}"
        why = f"; {fix.why}" if fix.why else ""
        later = "" if fix.stands else "; this was struck later"
        said = f"{in_both(fix.what, unit)}, written for {short_moment(fix.was_us, zone)}"
        yield fix.entered_us, fix.kind, f"{said}{to}{why}{later}"
    for late in record.trail.late:
        more = f" and {late.rows - 1} more" if late.rows > 1 else ""
        yield (
            late.entered_us,
            "entered late",
            f"for {short_moment(late.at_us, zone)}: {in_both(late.what, unit)}{more}",
        )


def _clocks(record: Record, unit: TemperatureUnit) -> Iterable[_Told]:
    trail, zone = record.trail, record.zone
    for gap in trail.gaps:
        said = f"the program did not run: {stretch(gap.from_us, gap.to_us, zone)}"
        yield gap.from_us, "clock", said
    for step in trail.steps:
        by = f"{step.by_us / SECOND_US:+.0f} s"
        yield step.at_us, "clock", f"the wall clock was set by {by}; no length moved"
    for one in trail.unsure:
        yield one.at_us, "clock", f"time not sure: {in_both(one.what, unit)}"
    for at_us in trail.told_time_us:
        yield at_us, "clock", "the worker said what time it is"
    for odd in trail.aside:
        yield odd.at_us, "set aside", f"{in_both(odd.what, unit)}; {odd.why}"
