"""What a vehicle that comes again brings with it: its visits, what is on it, what it is owed.

Made from the records of its newest visits; older ones are only counted and named. No price, no
name and no telephone number is in it: it is read while somebody stands beside the screen.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

from msgspec import Struct

from cartclock.engine.after.dues import Due, due_end_us
from cartclock.engine.dates import instant
from cartclock.engine.history.job_lines import JobLine
from cartclock.engine.letters import plate_letters
from cartclock.engine.record.customer import FilmLaid, Visit, customer_sheet
from cartclock.engine.record.record import Record, kept
from cartclock.engine.times import Instant
from cartclock.engine.vehicle.vehicle import Damage, PanelPaint


class CardFilm(Struct, frozen=True):
    """A film that was laid and that nothing in the log took off again; `number`: of its job."""

    number: int
    film: FilmLaid


class CardCare(Struct, frozen=True):
    """Something that the customer was told and that is not over.

    Fields:
        number: of the job.
        say: what was told.
        due: the end that is still to come, or the beginning.
        at_us: when that is.
    """

    number: int
    say: str
    due: Due
    at_us: Instant


class CardVisit(Struct, frozen=True):
    """A visit that was told. `state`: to come, or its day is over and the vehicle was not here
    since then; `number`: of the job; `at_us`: its instant, or the end of its day.
    """

    number: int
    visit: Visit
    at_us: Instant
    state: Literal["to come", "over"]


class CardPaint(Struct, frozen=True):
    """What was read last on a panel; `number`: of the job, `at_us`: when the job was opened."""

    number: int
    at_us: Instant
    paint: PanelPaint


class CardDamage(Struct, frozen=True):
    """Damage found; `number`: of the job. The words that somebody wrote of it are left out."""

    number: int
    damage: Damage


class VehicleCard(Struct, frozen=True):
    """The card.

    Fields:
        vehicle: as it is called in its newest job.
        plate: "" if not taken or forgotten.
        by_plate: True if all visits have that plate; False: some are known by the vehicle's
            name alone.
        zone: of the newest job.
        visits: (id, line) of every visit, the newest first.
        read: how many of them, from the newest, the rest of the card was made of.
        films, paints, damages: see there; the newest job first.
        cares, booked: by when they are due.
    """

    vehicle: str
    plate: str
    by_plate: bool
    zone: str
    visits: tuple[tuple[str, JobLine], ...]
    read: int
    films: tuple[CardFilm, ...]
    cares: tuple[CardCare, ...]
    booked: tuple[CardVisit, ...]
    paints: tuple[CardPaint, ...]
    damages: tuple[CardDamage, ...]


def vehicle_card(
    visits: Sequence[tuple[str, JobLine]],
    records: Sequence[Record],
    now_us: Instant,
    plate: str = "",
) -> VehicleCard:
    """The card.

    Args:
        visits: (id, line) of jobs on one vehicle, the newest first, at least one.
        records: of the newest of them, as they stand at `now_us`, at least one.
        plate: that is asked for; "": that of the newest which has one. A job with another plate
            is another vehicle's, and its line is left out.
    """
    asked = plate_letters(plate) or next(filter(None, map(_plate, records)), "")
    others = {one.job for one in records if _plate(one) not in ("", asked)}
    records = [one for one in records if one.job not in others]
    visits = [one for one in visits if one[0] not in others]
    newest = records[0]
    said = next((kept(one.plate) for one in records if _plate(one)), "")
    paints: dict[str, CardPaint] = {}
    damages: dict[tuple[str, str], CardDamage] = {}
    for record in records:
        for paint in record.condition.paints:
            paints.setdefault(paint.panel, CardPaint(record.number, record.opened_us, paint))
        for found in record.condition.damages:
            bare = Damage(found.at_us, found.panel, found.what, "")
            damages.setdefault((found.panel, found.what), CardDamage(record.number, bare))
    return VehicleCard(
        vehicle=newest.vehicle,
        plate=said,
        by_plate=len(visits) == len(records) and all(map(_plate, records)),
        zone=newest.zone,
        visits=tuple(visits),
        read=len(records),
        films=tuple(_films(records)),
        cares=tuple(sorted(_cares(records, now_us), key=lambda one: one.at_us)),
        booked=tuple(
            sorted(_booked(records, visits[0][1].opened_us, now_us), key=lambda one: one.at_us)
        ),
        paints=tuple(paints.values()),
        damages=tuple(damages.values()),
    )


def _plate(record: Record) -> str:
    return plate_letters(kept(record.plate))


def _films(records: Sequence[Record]) -> Iterator[CardFilm]:
    for record in records:
        for film in reversed(customer_sheet(record).laid):
            yield CardFilm(record.number, film)


def _cares(records: Sequence[Record], now_us: Instant) -> Iterator[CardCare]:
    for record in records:
        for care in record.cares:
            if care.visit:
                continue
            ahead = [due for due in care.dues if due_end_us(due, record.zone) > now_us]
            if ahead:
                first = min(ahead, key=lambda due: due_end_us(due, record.zone))
                yield CardCare(record.number, care.say, first, due_end_us(first, record.zone))


def _booked(records: Sequence[Record], newest_us: Instant, now_us: Instant) -> Iterator[CardVisit]:
    """Those over and not done, as far as the log knows, and those to come."""
    for record in records:
        for visit in customer_sheet(record).visits:
            at_us = visit.at_us
            if at_us is None:
                at_us = instant(f"{visit.day} 23:59", record.zone)
            if at_us > now_us:
                yield CardVisit(record.number, visit, at_us, "to come")
            elif at_us > newest_us:
                yield CardVisit(record.number, visit, at_us, "over")
