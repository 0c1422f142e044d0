"""Sending a log to the shop: rows it has not, and what the cart's own fold says of them.

Rows go as the very texts over which their digests were reckoned, some thousand in a statement,
and each statement is taken whole or not at all: whatever dies in between, the shop has rows from
0 to some n without a hole, and the next sending goes on behind it.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from typing import TYPE_CHECKING, Any

import msgspec
from msgspec import Struct

from cartclock.engine.joined.bringing import bring_known
from cartclock.engine.joined.faults import Parted
from cartclock.engine.joined.figures import FOLD_VERSION, Figures, every_figure
from cartclock.engine.joined.private import PrivateTold, forget_there, knows_private, tell_private
from cartclock.engine.store.codec import digested
from cartclock.engine.store.log import Head, Log
from cartclock.engine.times import Length

if TYPE_CHECKING:
    import psycopg

MOST_ROWS = 2_000
"""In one statement: three quarters as fast as 5,000, and on a slow line it comes through before it
is given up."""

_MOST_BYTES = 4_000_000

# Figures in one statement.
_MOST_FIGURES = 200

# Hears how many rows are still to be sent, before each statement and about once a second meanwhile.
Told = Callable[[int], None]


class Sent(Struct, frozen=True):
    """What a sending came to.

    Fields:
        head: the newest row the shop has.
        rows: how many it got now.
        figures: of how many jobs and shifts it was told anew.
        skew_us: its clock less this computer's.
        private: what came of the private texts, if they were to be sent.
        forgotten: how many texts it held until now that were forgotten on this cart.
    """

    head: int
    rows: int
    figures: int
    skew_us: Length
    private: PrivateTold = PrivateTold()
    forgotten: int = 0


def send(
    log: Log,
    line: psycopg.Connection,
    program: str,
    told: Told = lambda left: None,
    private: bool = False,
) -> Sent:
    """Sends what the shop has not of a log, has it forget what was forgotten here, and brings what
    other carts taught.

    private: whether private texts are sent as well, where the shop has a place for them.

    Raises Parted where the shop has other rows of it, psycopg.Error as the line does.
    """
    # First, whatever else comes to nothing.
    forgotten = forget_there(log, line)
    skew_us = shop_ahead_us(line)
    head = log.head
    theirs, figures = _theirs(line, log.origin)
    _look_whether_parted(log, head, theirs)
    added, reached = _push(log, line, head, theirs.seq, (skew_us, program), told)
    if not added:
        line.execute(
            "SELECT * FROM cartclock.push_1(%s, '', %s, %s)", (log.origin, skew_us, program)
        )
    told(0)
    said = tell_private(log, line) if private and knows_private(line) else PrivateTold()
    done = Sent(reached, added, _tell(log, line, head, figures, told), skew_us, said, forgotten)
    # A disk without room for it loses nothing: the cart goes by its own.
    with suppress(OSError):
        bring_known(log, line)
    return done


def _push(
    log: Log,
    line: psycopg.Connection,
    head: Head,
    after: int,
    said: tuple[Length, str],
    told: Told,
) -> tuple[int, int]:
    """Sends the rows behind one; how many the shop did not have, and the newest it has."""
    left, added, reached = head.seq - after, 0, after
    if not left:
        return added, reached
    told(left)
    under_way: list[psycopg.Cursor] = []

    def taken() -> None:
        nonlocal added, reached
        found = under_way.pop(0).fetchone()
        assert found is not None  # the function answers with one line
        reached, _digest, more = found
        added += more
        told(left - added)

    # While the shop takes one statement the next is made ready and sent. Each is a transaction of
    # its own: what is behind one that was refused finds a hole before it, and is refused as well.
    with line.pipeline() as pipeline:
        for texts in _statements(log, after, head.seq):
            under_way.append(
                line.execute(
                    "SELECT * FROM cartclock.push_1(%s, %s, %s, %s)",
                    (log.origin, "\n".join(texts), *said),
                )
            )
            pipeline.sync()
            if len(under_way) > 1:
                taken()
        while under_way:
            taken()
    return added, reached


def shop_ahead_us(line: psycopg.Connection) -> Length:
    """The clock of the shop less this computer's."""
    before = time.time()
    found = line.execute("SELECT extract(epoch FROM clock_timestamp())").fetchone()
    assert found is not None  # a function without arguments answers with one line
    return Length(round((float(found[0]) - (before + time.time()) / 2) * 1e6))


def _theirs(line: psycopg.Connection, origin: str) -> tuple[Head, str]:
    """The newest row of a log that the shop has, and the row as of which it has all figures."""
    found = line.execute(
        "SELECT seq, encode(digest, 'hex'), encode(figures, 'hex') FROM cartclock.heads"
        " WHERE origin = %s",
        (origin,),
    ).fetchone()
    return (Head(), "") if found is None else (Head(found[0], found[1]), found[2])


def _look_whether_parted(log: Log, head: Head, theirs: Head) -> None:
    if theirs.seq < 0 or log.holds(theirs.seq, theirs.digest):
        return
    if theirs.seq > head.seq:
        raise Parted(
            f"The shop has {theirs.seq + 1} rows of this log and this cart {head.seq + 1}: an "
            "older copy was put back. cartclock shop pull gets the rest; nothing was sent."
        )
    raise Parted(
        f"This log and what the shop has of it have parted: row {theirs.seq} is {theirs.digest} at "
        "the shop and another one on this cart. Nothing was sent; all is on this cart. cartclock "
        "shop check says from where on."
    )


def _statements(log: Log, after: int, last: int) -> Iterator[list[str]]:
    """The rows behind one, as texts, as many as go together."""
    while after < last:
        # One short read at a time: an open reader keeps the write-ahead file from being emptied.
        texts: list[str] = []
        size = 0
        for stored in log.stored_after(after, min(MOST_ROWS, last - after)):
            text = digested(stored[:-1])
            size += len(text)
            if texts and size > _MOST_BYTES:
                break
            texts.append(text.decode())
        if not texts:
            return
        yield texts
        after += len(texts)


def _tell(log: Log, line: psycopg.Connection, head: Head, as_of: str, told: Told) -> int:
    """Tells the figures that the shop has not or has otherwise; of how many jobs and shifts."""
    # As of which row all of them were told: a sending that died behind its rows is made good.
    if as_of == head.digest:
        return 0
    every = every_figure(log, lambda: told(0))
    mine = {one.id: one.digest for one in every}
    theirs: dict[str, str] = dict(
        line.execute(
            "SELECT subject::text, encode(digest, 'hex') FROM cartclock.told WHERE origin = %s",
            (log.origin,),
        ).fetchall()
    )
    other = [one for one in every if theirs.get(one.id) != mine[one.id]]
    gone = sorted(theirs.keys() - mine.keys())
    for at in range(0, max(1, len(other)), _MOST_FIGURES):
        some = other[at : at + _MOST_FIGURES]
        last = at + _MOST_FIGURES >= len(other)
        told(0)
        line.execute(
            "SELECT cartclock.tell_1(%s, %s, %s, %s::jsonb, %s::uuid[], decode(%s, 'hex'))",
            (
                *(log.origin, FOLD_VERSION, head.seq, _encode([_said(o) for o in some]).decode()),
                *((gone if last else []), (head.digest if last else "")),
            ),
        )
    return len(other)


def _said(one: Figures) -> dict[str, Any]:
    return {"id": one.id, "digest": one.digest, "lines": one.lines}


_encode = msgspec.json.Encoder(order="sorted").encode
