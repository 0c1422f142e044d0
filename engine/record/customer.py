"""What a customer takes home: what was done, what is on the paint, what to do until when.

It is made from the record and holds what its reader needs and nothing else: no hours, no
costs, no readings of the heat, no signs of illness, no private note, no reason with which a
rule was overruled.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.after.aftercare import Care
from cartclock.engine.after.dates import ToldDate, date_of
from cartclock.engine.after.dues import Due
from cartclock.engine.dates import local, spoken, spoken_day, up_to_minute
from cartclock.engine.facts.job import JobState
from cartclock.engine.record.coated import Coated, Put
from cartclock.engine.record.record import Record, kept
from cartclock.engine.times import Instant
from cartclock.engine.vehicle.incidents import told_incidents
from cartclock.engine.vehicle.vehicle import Damage, PanelPaint, shows_damage

OpenDay = Callable[[str], str]
"""The first day on which the shop is open from an ISO 8601 date on, as such a date."""


class WorkDone(Struct, frozen=True):
    """A stage as the customer is told of it.

    Fields:
        stage: its name.
        state: all of it, a part, or nothing was done.
        days: ISO 8601 dates on which it was worked on, in order.
        without: sections left out of a part.
    """

    stage: str
    state: Literal["done", "in part", "not done"]
    days: tuple[str, ...]
    without: tuple[str, ...] = ()


class FilmLaid(Struct, frozen=True):
    """A product that stays on the vehicle.

    Fields:
        stage, layer, layers: which layer of how many.
        products: with their lots.
        day: ISO 8601 date on which it was laid.
        sections: where, in the order laid; `everywhere` if that is all of the stage.
    """

    stage: str
    layer: int
    layers: int
    products: tuple[Put, ...]
    day: str
    sections: tuple[str, ...]
    everywhere: bool


class Statement(Struct, frozen=True):
    """Something found, agreed or declined, in a person's words; `where`: "" if of all of it."""

    at_us: Instant
    where: str
    text: str


class DamagePhotos(Struct, frozen=True):
    """Photos of a panel on which damage was found: how many, and the ISO 8601 dates on which
    they were attached, in order. The pictures themselves stay in the shop."""

    panel: str
    count: int
    days: tuple[str, ...]


class Visit(Struct, frozen=True):
    """When to come back.

    Fields:
        say: what for.
        day: ISO 8601 date; "" if it is an instant.
        at_us: the instant; None if it is a date.
        nth, of: which of how many.
        moved_from: the date by the label, where the shop is closed on it; "" otherwise.
        example: True while the time is the starter's.
    """

    say: str
    day: str
    at_us: Instant | None
    nth: int
    of: int
    moved_from: str = ""
    example: bool = False


class CustomerSheet(Struct, frozen=True):
    """The customer's paper.

    Fields:
        job, number, vehicle, plan, state, zone: as in the record.
        customer, plate: "" if not taken or forgotten.
        opened_us, closed_us: when the vehicle came and was handed over; None while it is here.
        handed_to: who took the keys; "" if nobody is named or forgotten.
        leaves_us: when it leaves: the close, else the time promised or, if that is over, now.
        now_us: when the sheet was made.
        warning: a sentence if it leaves before it may get wet; "" if not. It is line one.
        done: the stages in the order of the plan.
        laid: what stays on the vehicle.
        paints: readings by panel; empty if none were taken.
        dates: from when on it may be handed over, touched and get wet, what is over when it
            leaves left out.
        cares: what to do and until when, visits left out, and what drops out left out.
        visits: when to come back.
        damages: what was found, by panel.
        photos: of the damage, by panel; only counted.
        agreed: what was agreed or declined, without prices.
        notes: what else was written for the customer, and incidents said to be for them.
    """

    job: str
    number: int
    vehicle: str
    plan: str
    state: JobState
    zone: str
    customer: str
    plate: str
    opened_us: Instant
    closed_us: Instant | None
    leaves_us: Instant
    now_us: Instant
    warning: str
    done: tuple[WorkDone, ...]
    laid: tuple[FilmLaid, ...]
    paints: tuple[PanelPaint, ...]
    dates: tuple[ToldDate, ...]
    cares: tuple[Care, ...]
    visits: tuple[Visit, ...]
    damages: tuple[Damage, ...]
    agreed: tuple[Statement, ...]
    notes: tuple[Statement, ...]
    photos: tuple[DamagePhotos, ...] = ()
    handed_to: str = ""


def handed_over_text(sheet: CustomerSheet) -> str:
    """When it was handed over, and to whom if somebody is named; "" while it is here."""
    if sheet.closed_us is None:
        return ""
    to = f" to {sheet.handed_to}" if sheet.handed_to else ""
    return f"{spoken(sheet.closed_us, sheet.zone)}{to}"


def every_day(day: str) -> str:
    """Where it is not known on which days the shop is closed."""
    return day


def customer_sheet(record: Record, open_day: OpenDay = every_day) -> CustomerSheet:
    """The customer's paper of a job.

    open_day: moves a visit that falls on a closed day.
    """
    leaves_us = record.closed_us
    if leaves_us is None:
        leaves_us = max(record.now_us, record.promised_us or record.now_us)
    given = [care for care in record.cares if care.state != "drops out"]
    known = record.condition
    return CustomerSheet(
        job=record.job,
        number=record.number,
        vehicle=record.vehicle,
        plan=record.plan,
        state=record.state,
        zone=record.zone,
        customer=kept(record.customer),
        plate=kept(record.plate),
        opened_us=record.opened_us,
        closed_us=record.closed_us,
        leaves_us=leaves_us,
        now_us=record.now_us,
        warning=_warning(record, leaves_us),
        done=_done(record),
        laid=_laid(record),
        paints=known.paints,
        dates=tuple(date for date in record.dates if date.at_us is None or date.at_us > leaves_us),
        cares=tuple(care for care in given if not care.visit),
        visits=tuple(v for care in given if care.visit for v in _visits(care, open_day)),
        damages=tuple(replace(one, note=kept(one.note)) for one in known.damages),
        agreed=tuple(Statement(one.at_us, "", one.text) for one in known.extras if kept(one.text)),
        notes=tuple(
            Statement(one.at_us, _part(record, one.where), one.text)
            for one in record.noted
            if one.kind == "note" and not one.private and kept(one.text)
        )
        + _incidents(record),
        photos=_photos(record),
        handed_to=kept(record.handed_to),
    )


def _incidents(record: Record) -> tuple[Statement, ...]:
    """Those of which somebody said that the customer is told."""
    told = told_incidents(record.incidents)
    return tuple(Statement(one.at_us, one.panel, one.text) for one in told)


def _part(record: Record, where: str) -> str:
    """The part of the vehicle that a note is about; "" if of all of it. At which stage it was
    written is the shop's.
    """
    for stage in record.stages:
        parts = [section.section for section in stage.sections]
        if where == stage.stage:
            return ""
        for part in parts:
            if where == f"{stage.stage}, {part}":
                return part if len(parts) > 1 else ""
    return where


def _photos(record: Record) -> tuple[DamagePhotos, ...]:
    found = []
    for panel in dict.fromkeys(one.panel for one in record.condition.damages):
        times = [one.at_us for one in record.condition.files if shows_damage(one, panel)]
        if times:
            days = dict.fromkeys(_date(at_us, record.zone) for at_us in sorted(times))
            found.append(DamagePhotos(panel, len(times), tuple(days)))
    return tuple(found)


def _date(at_us: Instant, zone: str) -> str:
    return local(at_us, zone).date().isoformat()


# May it get wet?


def _warning(record: Record, leaves_us: int) -> str:
    """Line one: what must stay dry longer than the vehicle is here."""
    wet = date_of(record.dates, "wet")
    if wet is not None and wet.at_us is None:
        return f"Until when it must stay dry is known when this is finished: {wet.stage}."
    if wet is not None and wet.at_us is not None:
        if wet.at_us <= leaves_us:
            return ""
        example = " (example)" if wet.example else ""
        says = wet.line or f"no water on {wet.stage}."
        return (
            f"It must still stay dry: until {until_text(wet, record.zone)}. "
            f"{says[:1].upper()}{says[1:]}{example}"
        )
    stages = dict.fromkeys(one.stage for one in record.coated)
    return f"How long it must stay dry is not noted: {', '.join(stages)}." if stages else ""


INCLUDED = " (included)"
"""Behind the day of an end that goes by the calendar."""


def until_text(date: ToldDate, zone: str) -> str:
    """The last day of a date by the calendar, else the hour, raised to the next whole minute."""
    if date.day:
        return f"{spoken_day(date.day)}{INCLUDED}"
    return "" if date.at_us is None else spoken(up_to_minute(date.at_us), zone)


def due_text(due: Due, zone: str) -> str:
    """Weekday and date of a due, and the clock time if it has one: "Sun 5 Apr 2026 18:17".

    Beginnings and ends are raised to the next whole minute.
    """
    if due.at_us is not None:
        return spoken(up_to_minute(due.at_us), zone)
    return f"{spoken_day(due.day)}{INCLUDED if due.kind == 'until' else ''}"


# What was done, and what stays.


def _done(record: Record) -> tuple[WorkDone, ...]:
    found = []
    for stage in record.stages:
        there = [section for section in stage.sections if section.state != "cut in two"]
        times = [at for s in there for one in s.applied for at in (one.first_us, one.last_us)]
        left = tuple(s.section for s in there if s.state != "done")
        state: Literal["done", "in part", "not done"] = "in part" if times else "not done"
        found.append(
            WorkDone(
                stage=stage.stage,
                state=state if left else "done",
                days=tuple(sorted({_date(at_us, record.zone) for at_us in times})),
                without=left if times else (),
            )
        )
    return tuple(found)


def _laid(record: Record) -> tuple[FilmLaid, ...]:
    # Of a section that was done again the newest pass is on the vehicle.
    newest: dict[tuple[str, str, int], Coated] = {}
    for one in record.coated:
        key = (one.stage, one.section, one.layer)
        if one.last_us is None or not one.products:
            continue
        if key not in newest or newest[key].pass_ < one.pass_:
            newest[key] = one
    whole = {
        stage.stage: {
            section.section for section in stage.sections if section.state != "cut in two"
        }
        for stage in record.stages
    }
    groups: dict[tuple[str, int, tuple[Put, ...], str], list[Coated]] = {}
    for one in newest.values():
        day = _date(one.first_us, record.zone)
        groups.setdefault((one.stage, one.layer, one.products, day), []).append(one)
    return tuple(
        FilmLaid(
            stage=stage,
            layer=layer,
            layers=same[0].layers,
            products=products,
            day=day,
            sections=tuple(one.section for one in same),
            everywhere=whole[stage] == {one.section for one in same},
        )
        for (stage, layer, products, day), same in groups.items()
    )


def _visits(care: Care, open_day: OpenDay) -> Iterable[Visit]:
    for due in care.dues:
        day = open_day(due.day) if due.day else ""
        yield Visit(
            say=care.say,
            day=day,
            at_us=due.at_us,
            nth=due.nth,
            of=due.of,
            moved_from=due.moved_from or (due.day if day != due.day else ""),
            example=care.example,
        )
