"""What a shop says of jobs that go from cart to cart."""

from __future__ import annotations

from msgspec import Struct

from cartclock.engine.times import Instant

NOTHING_GIVEN = "No other cart has given a job away that this one may take."
"""What is said where no job waits to be taken."""


class JobThere(Struct, frozen=True):
    """A job of the shop that can be taken.

    Fields:
        job, number, vehicle: which; the number is that of the cart that has or gave it.
        cart: that cart, by its login.
        given: whether it was given away.
        tenure, origin: in which turn that cart has it, and its identity.
    """

    job: str
    number: int
    vehicle: str
    cart: str
    given: bool
    tenure: int
    origin: str


class GivenThere(Struct, frozen=True):
    """A job of another cart that was given away and waits to be taken.

    Fields:
        job, number, vehicle: which; the number is that of the cart that gave it.
        cart: that cart, by its login.
        given_us: when it was given, by that cart's clock.
    """

    job: str
    number: int
    vehicle: str
    cart: str
    given_us: Instant


class PartThere(Struct, frozen=True):
    """A job on another cart of the shop that is, or was said to be, a part of a vehicle.

    Fields:
        job, number, vehicle: which; the number is that of the cart that opened it.
        cart, origin: of the cart that has it: its login, and its identity.
        heard_us: when that cart was heard, by the shop's clock.
    """

    job: str
    number: int
    vehicle: str
    cart: str
    origin: str
    heard_us: Instant


class TakenElsewhere(Struct, frozen=True):
    """A job that another cart took.

    Fields:
        job: its id.
        tenure: in which turn.
        origin, cart: of that cart.
    """

    job: str
    tenure: int
    origin: str
    cart: str
