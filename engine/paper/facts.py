"""What a paper may speak of."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Literal

from msgspec import Struct

from cartclock.engine.after.entries import Entry
from cartclock.engine.figures.air import TemperatureUnit
from cartclock.engine.paper.shop_head import NO_SHOP, ShopHead
from cartclock.engine.record.day import Day
from cartclock.engine.record.record import Record
from cartclock.engine.record.revision import Revision
from cartclock.engine.record.whole_vehicle import WholeVehicle
from cartclock.engine.vehicle.plan_view import Driver

if TYPE_CHECKING:
    from cartclock.engine.vehicle.picture import Picture

Size = Literal["A4", "Letter"]


def no_pictures() -> tuple[Picture, ...]:
    """What to load where nothing was attached."""
    return ()


class PaperFacts(Struct, frozen=True):
    """What a paper is made from; of record, day and vehicle the one that its kind needs is there.

    Fields:
        record: of the job; None for a day or a vehicle.
        day: the day; None for a job or a vehicle.
        vehicle: the vehicle with all its parts; None for a job or a day.
        shop: who makes the paper.
        currency: stands behind money; "" for nothing.
        driver: on which side the driver sits, for the drawing of a vehicle; "" if nobody told.
        price: True if the customer's sheet says what was agreed to be paid.
        width: of a line of text in cells, as the medium `Text` takes it; 0: its own.
        round_minutes: step to which clock times of shifts are also shown rounded, one of
            `engine.hours.breaks.ROUNDING_MINUTES`; 0 for not at all.
        size: of the sheet in print.
        unit: of temperatures; forms for programs keep theirs, which stands in the name of a key.
        pictures: reads what was attached.
        revision: which one this is or, for a copy, would be; None for a day, and for a copy of a
            paper of a vehicle.
        issued: False for a copy that is only looked at.
        handed_out: the calendar entries that earlier revisions held.
    """

    record: Record | None = None
    day: Day | None = None
    vehicle: WholeVehicle | None = None
    shop: ShopHead = NO_SHOP
    currency: str = ""
    driver: Driver = ""
    round_minutes: int = 0
    size: Size = "A4"
    unit: TemperatureUnit = "C"
    pictures: Callable[[], tuple[Picture, ...]] = no_pictures
    revision: Revision | None = None
    issued: bool = False
    handed_out: tuple[Entry, ...] = ()
    price: bool = True
    width: int = 0

    @property
    def of_job(self) -> Record:
        """The record; raises ValueError if the paper is of no job."""
        if self.record is None:
            raise ValueError("this paper is of no job")
        return self.record

    @property
    def of_day(self) -> Day:
        """The day; raises ValueError if the paper is of no day."""
        if self.day is None:
            raise ValueError("this paper is of no day")
        return self.day

    @property
    def of_vehicle(self) -> WholeVehicle:
        """The vehicle; raises ValueError if the paper is of none."""
        if self.vehicle is None:
            raise ValueError("this paper is of no vehicle")
        return self.vehicle

    @property
    def out(self) -> Revision | None:
        """The revision that the paper names: a copy that is only looked at names none."""
        return self.revision if self.issued else None
