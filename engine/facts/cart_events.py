"""What belongs to no shift and no job: packs on the cart, jobs of other carts, and corrections of
any press."""

from __future__ import annotations

from msgspec import Struct

from cartclock.engine.facts.imported import ImportedRows
from cartclock.engine.facts.sealed import Words
from cartclock.engine.times import Instant, Length


class PackOpened(Struct, frozen=True):
    """A new pack of a product on the cart.

    Fields:
        product: the id that plans give it.
        content, unit: what a full pack holds, > 0; ml, g, drops or each.
        lot: as printed on the pack; "" if not noted.
        expires: last day of use as printed, ISO 8601 date; "" if not noted.
        price: of the pack, decimal text, currency from settings; None if not noted.
        name: what the bottle is called; "" if as in the plan.
    """

    product: str
    content: float
    unit: str = "ml"
    lot: str = ""
    expires: str = ""
    price: str | None = None
    name: str = ""


class PackWeighed(Struct, frozen=True):
    """What is left of a product, in its unit."""

    product: str
    left: float


class JobImported(Struct, frozen=True):
    """A job of another cart came in, with all that its record is made of; a later one of the same
    job covers an earlier one.

    Fields:
        job: its id.
        number, vehicle, opened_us, closed_us: as its rows say; `closed_us` None while open.
        as_of_us: job time of the export, by the clock of the cart that made it; what is told of
            the job is told as of then.
        parts: its rows, by the log they were written to.
    """

    job: str
    number: int
    vehicle: str
    opened_us: Instant
    closed_us: Instant | None
    as_of_us: Instant
    parts: tuple[ImportedRows, ...]


# Corrections: nothing is edited; a later event takes back, restores or moves a press. Which one
# is said by its number and its `origin`, "" for the row's own: `Row.corrects` is the one reader.


class PressStruck(Struct, frozen=True):
    """A press (sequence number of its first row) does not stand."""

    press: int
    why: Words = ""
    origin: str = ""


class PressRestored(Struct, frozen=True):
    """A struck press stands again."""

    press: int
    origin: str = ""


class PressMoved(Struct, frozen=True):
    """A press happened at another time: its first row at `to_us`, the others as far behind."""

    press: int
    to_us: Instant
    origin: str = ""


class TimeCorrected(Struct, frozen=True):
    """Job time was wrong from a press on: what was written since happened by `by_us` later, or
    earlier where that is negative.

    Fields:
        press: sequence number of its first row, the first that was wrong.
        from_us: when that press was, as it was known until now.
        by_us: microseconds, not 0.
        until: sequence number of the first row behind it whose time was right again; None: all up
            to this one was wrong, and job time goes on from the right one.
    """

    press: int
    from_us: Instant
    by_us: Length
    until: int | None = None
