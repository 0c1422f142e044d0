"""What comes between a shop and its customer while a vehicle is there, and after.

What is said here in a person's own words is sealed; none of it is on a customer's paper unless
somebody said so.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from cartclock.engine.facts.sealed import Sealed
from cartclock.engine.times import Instant

# A version is one more with every word: an older program sets aside what it does not know.
IncidentKind = Literal[
    "spill",
    "dropped clay",
    "burnt edge",
    "broken part",
    "complaint",
    "something else",
]
"""What goes wrong on a vehicle, in words of the trade; common practice, no source."""


class IncidentNoted(Struct, frozen=True):
    """Something went wrong on a panel."""

    panel: str
    what: IncidentKind


class IncidentAmended(Struct, frozen=True):
    """More of an incident, by the press that noted it; None: as it was.

    Fields:
        press, origin: that press (sequence number of its first row); "" for the row's own origin.
        words: what happened.
        done: what was done about it.
        told: True if the customer's sheet says it.
        photo: digest of an attached file that shows it.
    """

    press: int
    words: Sealed | None = None
    done: Sealed | None = None
    told: bool | None = None
    photo: str | None = None
    origin: str = ""


class CallBackPromised(Struct, frozen=True):
    """Somebody is to be called back about the job at `at_us`; `who`: name or number."""

    at_us: Instant
    who: Sealed | None = None


class CallBackMoved(Struct, frozen=True):
    """A call back, by the press that promised it, is at another time; `origin` as above."""

    press: int
    at_us: Instant
    origin: str = ""


class CallBackEnded(Struct, frozen=True):
    """A call back, by the press that promised it, was made or will not be; `origin` as above."""

    press: int
    how: Literal["called", "let go"]
    origin: str = ""


class KeysTaken(Struct, frozen=True):
    """Somebody took the keys and the vehicle with them; a later one covers an earlier one."""

    who: Sealed


PaidHow = Literal["cash", "card", "transfer", "later"]
"""How a job is paid, in words of the trade; "later": it is owed. Common practice, no source."""


class PaymentNoted(Struct, frozen=True):
    """How the job is paid; a later one covers an earlier one."""

    how: PaidHow


class PromiseTold(Struct, frozen=True):
    """Who was told of the promise of a job; at the row's time.

    Fields:
        cause: it was moved, or it can be kept no longer.
        promised_us: what was promised by then; None: nothing any more.
        who: who was told; None: nobody is, and it is not asked again.
    """

    cause: Literal["moved", "not kept"]
    promised_us: Instant | None = None
    who: Sealed | None = None

    @property
    def cause_text(self) -> str:
        """The cause in words."""
        return "moved" if self.cause == "moved" else "can be kept no longer"
