"""What a shop says of jobs that go from cart to cart."""

from __future__ import annotations

from msgspec import Struct


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
