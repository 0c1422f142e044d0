"""What is signed before the work begins: the vehicle as it came, and what was agreed."""

from __future__ import annotations

from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.record.record import Record, kept
from cartclock.engine.times import Instant
from cartclock.engine.vehicle.vehicle import Damage, Extra, Odometer, price_of


class PanelDamage(Struct, frozen=True):
    """What was found on one panel, in order of time.

    Fields:
        panel: as it was noted.
        found: at least one.
        places: of the vehicle's plan view; () if nothing tells where it lies.
    """

    panel: str
    found: tuple[Damage, ...]
    places: tuple[str, ...] = ()


class ArrivalSheet(Struct, frozen=True):
    """The paper of the hand-over to the shop.

    Fields:
        job, number, vehicle, zone: which job; times are told in `zone`.
        customer, plate: "" if not taken or forgotten.
        opened_us, now_us: when the job was opened, and when the sheet was made.
        promised_us: when it is to be ready; None if nothing was promised.
        odometer: the first look; None if nobody looked.
        damages: by panel, in the order in which one goes round the vehicle.
        work: the plan's name.
        stages: what is to be done, in order.
        price: agreed for it; None if no price was.
        price_text: that price as it was written, where it is no number; "" otherwise.
        extras: what was agreed on top, in order.
        total: price and extras together; None without a price.
        phone: "" if not taken or forgotten.
        shape: body of the vehicle, as in the record.
        photos: how many are attached, those of incidents left out, which came after it.
        low_um, high_um: of the total build read before the work, over all panels; None if no
            panel was read.
    """

    job: str
    number: int
    vehicle: str
    zone: str
    customer: str
    plate: str
    opened_us: Instant
    now_us: Instant
    promised_us: Instant | None
    odometer: Odometer | None
    damages: tuple[PanelDamage, ...]
    work: str
    stages: tuple[str, ...]
    price: Decimal | None
    price_text: str
    extras: tuple[Extra, ...]
    total: Decimal | None
    phone: str = ""
    shape: str = ""
    photos: int = 0
    low_um: float | None = None
    high_um: float | None = None


def arrival_sheet(record: Record) -> ArrivalSheet:
    """The paper of the hand-over, from the job's record."""
    by_panel: dict[str, list[Damage]] = {}
    for one in record.condition.damages:
        by_panel.setdefault(one.panel, []).append(replace(one, note=kept(one.note)))
    price = price_of(record.price or None)
    extras = record.condition.extras
    builds = [one.before for one in record.condition.paints if one.before is not None]
    of_incidents = {photo for one in record.incidents for photo in one.photos}
    return ArrivalSheet(
        job=record.job,
        number=record.number,
        vehicle=record.vehicle,
        zone=record.zone,
        customer=kept(record.customer),
        plate=kept(record.plate),
        phone=kept(record.phone),
        opened_us=record.opened_us,
        now_us=record.now_us,
        promised_us=record.promised_us,
        odometer=next(iter(record.condition.odometers), None),
        damages=tuple(
            PanelDamage(panel, tuple(found), record.places_of(panel))
            for panel, found in by_panel.items()
        ),
        work=record.plan,
        stages=tuple(stage.stage for stage in record.stages),
        price=price,
        price_text=record.price if price is None else "",
        extras=tuple(replace(one, text=kept(one.text)) for one in extras),
        total=None if price is None else price + record.condition.extras_total,
        shape=record.shape,
        photos=sum(
            one.what == "photo" and one.sha256 not in of_incidents for one in record.condition.files
        ),
        low_um=min((b.low_um for b in builds if b.low_um is not None), default=None),
        high_um=max((b.high_um for b in builds if b.high_um is not None), default=None),
    )
