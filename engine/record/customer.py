"""What a customer takes home: what is on the paint, and what to do until when.

It is made from the record and holds what its reader needs and nothing else: no hours, no
costs, no readings of the heat, no signs of illness, no private note, no reason with which a
rule was overruled.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.after.aftercare import Care
from cartclock.engine.after.dates import ToldDate, date_of
from cartclock.engine.after.dues import Due
from cartclock.engine.dates import local, spoken, spoken_day, up_to_minute
from cartclock.engine.facts.job import JobState
from cartclock.engine.record.coated import Coated, Put, all_lots
from cartclock.engine.record.record import Record, kept
from cartclock.engine.times import Instant
from cartclock.engine.vehicle.covered import Covered
from cartclock.engine.vehicle.incidents import told_incidents
from cartclock.engine.vehicle.vehicle import Damage, PanelPaint, price_of, shows_damage

OpenDay = Callable[[str], str]
"""The first day on which the shop is open from an ISO 8601 date on, as such a date."""


class FilmLaid(Struct, frozen=True):
    """What of one stage stays on the vehicle.

    Fields:
        stage: which.
        products: what was laid, each with the lots of all its layers.
        layers: the most that any section has.
        sections: (section, layers on it), in the order in which they were laid last.
        days: ISO 8601 dates on which it was laid, in order.
    """

    stage: str
    products: tuple[Put, ...]
    layers: int
    sections: tuple[tuple[str, int], ...]
    days: tuple[str, ...]

    @property
    def fewer(self) -> tuple[tuple[str, int], ...]:
        """(section, layers on it) where there are fewer than the most."""
        return tuple(one for one in self.sections if one[1] < self.layers)

    @property
    def lots_text(self) -> str:
        """The lots in words, "lot A1, B2"; "lot not noted and B2" where some of it came from packs
        without a noted one; "" if none was noted at all."""
        lots = dict.fromkeys(lot for put in self.products for lot in put.lots)
        if not lots:
            return ""
        rest = any(put.in_part or not put.lots for put in self.products)
        return f"lot {'not noted and ' if rest else ''}{', '.join(lots)}"


class Statement(Struct, frozen=True):
    """Something found, agreed or declined, in a person's words; `where`: "" if of all of it."""

    at_us: Instant
    where: str
    text: str


class PhotosKept(Struct, frozen=True):
    """Photos of the damage that was found: how many, and the ISO 8601 dates on which they were
    attached, in order. The pictures themselves stay in the shop."""

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
        laid: what stays on the vehicle.
        paints: readings of the panels that were measured before and after the work.
        dates: from when on it may be handed over, touched, get wet and be washed, what is over
            when it leaves left out.
        cares: what to do and until when, what drops out left out, and of each what happened to
            it in the shop; visits only where one of them has no date.
        visits: when to come back.
        damages: what was found, by panel.
        photos: only counted.
        price, price_text: what was agreed, extras with it, as a number or as it was written;
            None and "" if nothing was.
        shape, covers: the body, and which places of it a section or a damage goes over; as in
            the record.
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
    laid: tuple[FilmLaid, ...]
    paints: tuple[PanelPaint, ...]
    dates: tuple[ToldDate, ...]
    cares: tuple[Care, ...]
    visits: tuple[Visit, ...]
    damages: tuple[Damage, ...]
    agreed: tuple[Statement, ...]
    notes: tuple[Statement, ...]
    photos: PhotosKept = PhotosKept(0, ())
    price: Decimal | None = None
    price_text: str = ""
    shape: str = ""
    covers: tuple[Covered, ...] = ()
    handed_to: str = ""


def handed_over_text(sheet: CustomerSheet) -> str:
    """When it was handed over, and to whom if somebody is named; "" while it is here.

    The customer, whose name the sheet begins with, is not named again.
    """
    if sheet.closed_us is None:
        return ""
    to = ""
    if sheet.handed_to:
        to = " to the customer" if sheet.handed_to == sheet.customer else f" to {sheet.handed_to}"
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
    price = price_of(record.price or None)
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
        laid=_laid(record),
        paints=tuple(one for one in known.paints if one.before and one.after),
        dates=tuple(date for date in record.dates if date.at_us is None or date.at_us > leaves_us),
        cares=tuple(
            replace(care, wet=())
            for care in given
            if not care.visit or not care.dues or care.no_day
        ),
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
        price=None if price is None else price + known.extras_total,
        price_text=record.price if price is None else "",
        shape=record.shape,
        covers=record.covers,
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


def _photos(record: Record) -> PhotosKept:
    panels = {one.panel for one in record.condition.damages}
    files = record.condition.files
    times = sorted(one.at_us for one in files if any(shows_damage(one, at) for at in panels))
    days = dict.fromkeys(_date(at_us, record.zone) for at_us in times)
    return PhotosKept(len(times), tuple(days))


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


# What stays.


def _laid(record: Record) -> tuple[FilmLaid, ...]:
    groups: dict[tuple[str, tuple[str, ...]], list[tuple[str, list[Coated]]]] = {}
    for stage, section in dict.fromkeys((one.stage, one.section) for one in record.coated):
        on = _on(one for one in record.coated if (one.stage, one.section) == (stage, section))
        if on:
            names = dict.fromkeys(put.product for one in on for put in one.products)
            groups.setdefault((stage, tuple(names)), []).append((section, on))
    found = []
    for (stage, _products), parts in groups.items():
        parts.sort(key=lambda part: part[1][-1].first_us)
        films = [one for _section, on in parts for one in on]
        found.append(
            FilmLaid(
                stage=stage,
                products=_together(films),
                layers=max(len(on) for _section, on in parts),
                sections=tuple((section, len(on)) for section, on in parts),
                days=tuple(sorted({_date(one.first_us, record.zone) for one in films})),
            )
        )
    return tuple(found)


def _on(films: Iterable[Coated]) -> list[Coated]:
    """The layers that are on a section, the lowest first.

    Where it was done again from some layer on, that one and all above it were taken off first:
    what is under them stays.
    """
    on: list[Coated] = []
    for one in sorted(films, key=lambda film: (film.pass_, film.layer)):
        if one.last_us is not None and one.products:
            on = [under for under in on if under.layer < one.layer]
            on.append(one)
    return on


def _together(films: Iterable[Coated]) -> tuple[Put, ...]:
    """The products of several layers, each once with all its lots."""
    in_order = sorted(films, key=lambda film: film.first_us)
    return all_lots(put for one in in_order for put in one.products)


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
