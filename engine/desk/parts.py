"""The parts of a vehicle, from wherever they are: jobs of this cart, taken over or imported."""

from __future__ import annotations

from cartclock.engine.desk.shop import Shop, Traced
from cartclock.engine.facts import events as ev
from cartclock.engine.joined.carts import carts_called
from cartclock.engine.record.whole_vehicle import (
    SectionDone,
    VehiclePart,
    WholeVehicle,
    WorkerHours,
    sections_done,
    worked,
)
from cartclock.engine.times import Instant

# As many letters of an identity are said.
_SAID = 8


def in_parts(shop: Shop, job: str, now_us: Instant) -> bool:
    """Whether a job is a part of a vehicle, or has parts; also where they are not told here."""
    named = {
        name
        for row in shop.log.parts_said()
        if isinstance(row.event, ev.PartSaid)
        for name in (row.job, row.event.whole)
    }
    # Of most logs and jobs nothing of the kind was ever said.
    if job not in named:
        return False
    whole = whole_vehicle(shop, job, now_us)
    return len(whole.parts) + len(whole.not_told) > 1


def whole_vehicle(shop: Shop, handle: str, now_us: Instant) -> WholeVehicle:
    """The vehicle of a job with all its parts, whichever of them is named.

    Raises Refused like `Shop.find`.
    """
    asked = shop.find(handle).job
    told: dict[str, Traced] = {}

    def look(job: str) -> Traced | None:
        if job not in told and shop.has(job):
            told[job] = shop.traced(job, now_us)
        return told.get(job)

    root, seen = asked, {asked}
    while (found := look(root)) is not None and (above := found.job.whole) and above not in seen:
        seen.add(above)
        root = above
    members = {root}
    said = [
        (row.job, row.event.whole)
        for row in shop.log.parts_said()
        if isinstance(row.event, ev.PartSaid)
    ]
    grown = True
    while grown:
        # One that was said to be a part once may be none by now: its fold says.
        more = {job for job, above in said if above in members} - members
        more = {job for job in more if (one := look(job)) is not None and one.job.whole in members}
        grown = bool(more)
        members |= more
    missing = {job for job in members if look(job) is None}
    mine = shop.log.origin
    carts = _Called(carts_called(shop.log.path))
    order = sorted(members - missing, key=lambda job: (job != root, told[job].job.opened_us, job))
    parts: list[VehiclePart] = []
    sections: list[SectionDone] = []
    hours: list[WorkerHours] = []
    for job in order:
        traced = told[job]
        record, fold = traced.record, traced.job
        given_us = fold.given_us if fold.state == "given" else None
        shifts = {row.shift: row.origin for row in traced.rows if row.shift}
        parts.append(
            VehiclePart(
                job=job,
                number=record.number,
                plan=record.plan,
                state=record.state,
                cart=carts[fold.holder],
                own=fold.holder == mine and given_us is None,
                as_of_us=given_us or record.now_us,
                opened_us=record.opened_us,
                closed_us=record.closed_us,
                record=record,
            )
        )
        sections += sections_done(fold, record, carts)
        hours += worked(record, shifts, carts)
    first = told[order[0]].record
    return WholeVehicle(
        vehicle=first.vehicle,
        plate=first.plate,
        zone=first.zone,
        now_us=now_us,
        parts=tuple(parts),
        not_told=tuple(sorted(missing)),
        sections=tuple(
            sorted(sections, key=lambda one: (one.first_us, one.last_us, one.number, one.section))
        ),
        hours=tuple(hours),
    )


class _Called(dict[str, str]):
    """How carts are called: by the beginning of their identities."""

    def __missing__(self, origin: str) -> str:
        return origin[:_SAID]
