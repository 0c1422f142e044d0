"""A vehicle on which several jobs were worked side by side: one is the whole, the others are parts
of it (`PartSaid`), each on a cart of its own and with stages of its own.

Nothing is reckoned anew here: each part's record says what is true of it, and what is told of the
vehicle is these put together. Hours stay with who worked them, on which cart, for which part.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import chain
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.after.dates import MAY, ToldDate
from cartclock.engine.facts.job import Job, JobState
from cartclock.engine.record.customer import CustomerSheet, customer_sheet
from cartclock.engine.record.record import Record
from cartclock.engine.times import Instant, Length
from cartclock.engine.vehicle.vehicle import VehicleRecord


class WorkerHours(Struct, frozen=True):
    """What one worker did for one part from one cart; of a shift only what went to the part.

    Fields:
        worker, cart: who, and from which cart; two of one name on two carts are two.
        job: id of the part.
        hands_us: hands on it, microseconds.
        waits_us: standing by its windows.
        other_us: other work for it.
    """

    worker: str
    cart: str
    job: str
    hands_us: Length
    waits_us: Length
    other_us: Length

    @property
    def all_us(self) -> Length:
        """All of it, microseconds."""
        return Length(self.hands_us + self.waits_us + self.other_us)


class SectionDone(Struct, frozen=True):
    """What was done on a section in one pass of one layer, and by whom.

    Fields:
        first_us, last_us: first and last touch.
        job, number: the part.
        stage, section: where.
        pass_, layer, layers: which of how many.
        by: (worker, cart) of each who finished a step of it.
    """

    first_us: Instant
    last_us: Instant
    job: str
    number: int
    stage: str
    section: str
    pass_: int
    layer: int
    layers: int
    by: tuple[tuple[str, str], ...]


class VehiclePart(Struct, frozen=True):
    """A part that is told.

    Fields:
        job, number, plan, state: which job.
        cart: that has it, or had it last.
        own: True if it is this cart's.
        as_of_us: until when it is told: of another cart's job that of the file it came with.
        opened_us, closed_us: None for the close while it is open.
        record: all that is true of it.
    """

    job: str
    number: int
    plan: str
    state: JobState
    cart: str
    own: bool
    as_of_us: Instant
    opened_us: Instant
    closed_us: Instant | None
    record: Record

    @property
    def may_be_behind(self) -> bool:
        """True of a part that was still open on another cart when it was told of."""
        return not self.own and self.state != "closed"


class WholeVehicle(Struct, frozen=True):
    """A vehicle with all its parts.

    Fields:
        vehicle, plate, zone: of the whole; times are told in `zone`.
        now_us: when it was put together.
        parts: the whole in front, then by their opening.
        not_told: ids of parts of which nothing is here.
        sections: of all parts, in order of time.
        hours: by part, worker and cart, in order of first appearance.
    """

    vehicle: str
    plate: str
    zone: str
    now_us: Instant
    parts: tuple[VehiclePart, ...]
    not_told: tuple[str, ...]
    sections: tuple[SectionDone, ...]
    hours: tuple[WorkerHours, ...]

    @property
    def whole(self) -> bool:
        """True if every part is told to its end."""
        return not self.not_told and all(part.state == "closed" for part in self.parts)


Carts = Mapping[str, str]
"""Identity of a cart -> how it is called on paper."""


def worked(record: Record, shift_carts: Mapping[str, str], carts: Carts) -> tuple[WorkerHours, ...]:
    """The hours of one part.

    shift_carts: shift -> identity of the cart it was worked on.
    """
    sums: dict[tuple[str, str], dict[str, int]] = {}
    for account in record.accounts:
        who = account.worker, carts[shift_carts[account.shift]]
        for share in account.shares:
            if share.job == record.job:
                kinds = sums.setdefault(who, {})
                kinds[share.kind] = kinds.get(share.kind, 0) + share.length_us
    return tuple(
        WorkerHours(
            worker,
            cart,
            record.job,
            Length(kinds.get("hands", 0)),
            Length(kinds.get("standing by", 0)),
            Length(sum(us for kind, us in kinds.items() if kind not in ("hands", "standing by"))),
        )
        for (worker, cart), kinds in sums.items()
    )


def sections_done(job: Job, record: Record, carts: Carts) -> tuple[SectionDone, ...]:
    """Everything finished on the sections of one part."""
    by: dict[tuple[str, str, int, int], dict[tuple[str, str], None]] = {}
    for stint in job.stints:
        key = stint.stage, stint.section, stint.turn.pass_, stint.turn.layer
        by.setdefault(key, {})[stint.worker, carts[stint.press.origin]] = None
    return tuple(
        SectionDone(
            first_us=one.first_us,
            last_us=one.last_us,
            job=record.job,
            number=record.number,
            stage=stage.stage,
            section=section.section,
            pass_=one.pass_,
            layer=one.layer,
            layers=stage.layers,
            by=tuple(by[stage.stage, section.section, one.pass_, one.layer]),
        )
        for stage in record.stages
        for section in stage.sections
        for one in section.applied
    )


def joined_sheet(whole: WholeVehicle) -> CustomerSheet:
    """The customer's paper of the vehicle: what all parts laid, and of every date the last."""
    return customer_sheet(_as_one(whole))


def last_dates(records: Iterable[Record]) -> tuple[ToldDate, ...]:
    """Of each kind of date the latest of any part; one that is not known yet is later than all."""
    found: dict[str, ToldDate] = {}
    for one in chain.from_iterable(record.dates for record in records):
        before = found.get(one.about)
        if before is None or (
            before.at_us is not None and (one.at_us is None or one.at_us > before.at_us)
        ):
            found[one.about] = one
    return tuple(found[about] for about in MAY if about in found)


def _as_one(whole: WholeVehicle) -> Record:
    """The records as if they were one job's, for what is told of the vehicle and not of hours."""
    records = _told_apart([part.record for part in whole.parts])
    first = records[0]
    closed = [record.closed_us for record in records]
    ends = [us for us in closed if us is not None]
    done = whole.whole
    return replace(
        first,
        plan=", ".join(dict.fromkeys(record.plan for record in records)),
        state="closed" if done else "open",
        closed_us=max(ends) if done else None,
        now_us=whole.now_us,
        promised_us=max((us for r in records if (us := r.promised_us) is not None), default=None),
        stages=_every(records, "stages"),
        windows=_every(records, "windows"),
        coated=_every(records, "coated"),
        cares=_every(records, "cares"),
        noted=tuple(sorted(_every(records, "noted"), key=lambda one: one.at_us)),
        incidents=_every(records, "incidents"),
        covers=tuple(dict.fromkeys(_every(records, "covers"))),
        shape=next((record.shape for record in records if record.shape), ""),
        condition=VehicleRecord(
            **{
                name: tuple(
                    dict.fromkeys(one for r in records for one in getattr(r.condition, name))
                )
                for name in VehicleRecord.__struct_fields__
            }
        ),
        dates=last_dates(records),
    )


def _every(records: Sequence[Record], field: str) -> tuple[Any, ...]:
    return tuple(one for record in records for one in getattr(record, field))


def _told_apart(records: Sequence[Record]) -> list[Record]:
    """A stage of a later part that goes over a section under a name that an earlier one has for its
    own is named with its job: they are two, not one that was laid twice."""
    taken: set[tuple[str, str]] = set()
    found = []
    for record in records:
        own = {(stage.stage, s.section) for stage in record.stages for s in stage.sections}
        if taken & own:
            record = _renamed(record)
        taken |= own
        found.append(record)
    return found


def _renamed(record: Record) -> Record:
    def named(stage: str) -> str:
        return f"{stage} (job {record.number})" if stage else ""

    return replace(
        record,
        stages=tuple(replace(one, stage=named(one.stage)) for one in record.stages),
        windows=tuple(replace(one, stage=named(one.stage)) for one in record.windows),
        coated=tuple(replace(one, stage=named(one.stage)) for one in record.coated),
        dates=tuple(replace(one, stage=named(one.stage)) for one in record.dates),
    )
