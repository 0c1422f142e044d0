"""What stands beside a log of its sending to the shop: how far it is there, when that was said
last, and what came back. Written by who sends, read by the screens, which wait for nobody.
"""

from __future__ import annotations

import time
from pathlib import Path

import msgspec
from msgspec import Struct

from cartclock.engine.dates import spoken_near
from cartclock.engine.joined.handed import GivenThere, TakenElsewhere
from cartclock.engine.store.plain_text import plain_text
from cartclock.engine.store.whole_file import replaced_file
from cartclock.engine.times import Instant, Length
from cartclock.engine.trouble import PlanFault

UNHEARD_US = Length(600_000_000)
"""Behind the last attempt for so long rows that wait are told of, whatever came of it. Our own
judgement: ten times what lies between two attempts."""

_encode = msgspec.json.Encoder(order="sorted").encode


class ElsewhereJob(Struct, frozen=True):
    """A job that is open on another cart of the shop.

    Fields:
        cart: its login there.
        number, vehicle, plan: as they are on that cart.
        done, sections: how many sections are done or left out, and how many there are.
        stage, section, closes_us: the window that closes first; None where none runs.
        as_of_us: when that cart was heard.
    """

    cart: str
    number: int
    vehicle: str
    plan: str
    done: int
    sections: int
    stage: str | None
    section: str | None
    closes_us: Instant | None
    as_of_us: Instant


class Carried(Struct, frozen=True):
    """How it stands with the sending of a log.

    Fields:
        seq: the newest row that the shop is known to have, -1 for none.
        sent_us: when that was said; None: never. By the clock of this computer.
        tried_us: when it was last attempted.
        failed: whether that came to nothing.
        parted: whether it did because the shop has other rows of the log.
        open_jobs: those of the other carts, as of `sent_us`.
        taken: jobs of this log that another cart has taken since, as of `sent_us`.
        given: jobs that other carts gave away and this one may take, as of `sent_us`.
    """

    seq: int = -1
    sent_us: Instant | None = None
    tried_us: Instant = Instant(0)
    failed: bool = False
    parted: bool = False
    open_jobs: tuple[ElsewhereJob, ...] = ()
    taken: tuple[TakenElsewhere, ...] = ()
    given: tuple[GivenThere, ...] = ()


def carried_file(log: Path) -> Path:
    """Where it stands, as JSON."""
    return log.with_name("shop-sent.json")


def carried(log: Path) -> Carried | None:
    """How it stands with the sending of the log there; None if nothing is known of it."""
    try:
        return msgspec.json.decode(plain_text(carried_file(log)), type=Carried)
    except (OSError, UnicodeDecodeError, msgspec.DecodeError, PlanFault):
        return None


def note_carried(log: Path, said: Carried) -> None:
    """Writes down how it stands. Raises OSError."""
    replaced_file(carried_file(log), _encode(said) + b"\n")


def note_sent(
    log: Path,
    seq: int,
    open_jobs: tuple[ElsewhereJob, ...],
    taken: tuple[TakenElsewhere, ...] = (),
    given: tuple[GivenThere, ...] = (),
) -> None:
    """Writes down that the shop has a log up to this row. Raises OSError."""
    now_us = Instant(time.time_ns() // 1000)
    note_carried(log, Carried(seq, now_us, now_us, open_jobs=open_jobs, taken=taken, given=given))


def unsent_text(said: Carried | None, newest: int, now_us: Instant, zone: str) -> str:
    """What there is to say of rows that were not sent, a sentence or two; "" while all is sent or
    will be by itself in a moment.

    newest: number of the log's newest row, -1 for none.
    """
    waits = 0 if said is None else newest - said.seq
    if said is None or waits <= 0:
        return ""
    if not said.failed and now_us <= said.tried_us + UNHEARD_US:
        return ""
    rows = "1 row waits" if waits == 1 else f"{waits} rows wait"
    since = "Not sent yet"
    if said.sent_us is not None:
        since = f"Not sent since {spoken_near(said.sent_us, now_us, zone)}"
    parted = " Log and shop have parted: cartclock shop check." if said.parted else ""
    return f"{since}; {rows}; all is on this cart.{parted}"
