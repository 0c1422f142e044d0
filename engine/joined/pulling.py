"""A cart's own rows given back by its shop, and what is there held against what is here."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import msgspec
from msgspec import Struct

from cartclock.engine.joined.carried import ElsewhereJob
from cartclock.engine.joined.faults import Parted, ShopFault
from cartclock.engine.joined.figures import every_figure
from cartclock.engine.joined.forgotten import forgotten_here
from cartclock.engine.joined.private import knows_private
from cartclock.engine.store import codec
from cartclock.engine.store.chain import Progress, nobody
from cartclock.engine.store.codec import PrivateText
from cartclock.engine.store.log import Head, Log
from cartclock.engine.store.whole.given_back import GivenBack, give_back
from cartclock.engine.times import Instant

if TYPE_CHECKING:
    from pathlib import Path

    import psycopg

# Rows in one answer.
_MOST_ROWS = 2_000
# Of a shop that has more open jobs, those whose windows close first.
_MOST_JOBS = 50


class LogThere(Struct, frozen=True):
    """A log of this cart as its shop has it.

    heard_us: when it was sent from last.
    """

    origin: str
    head: Head
    heard_us: Instant


class Compared(Struct, frozen=True):
    """A log held against what its shop has of it.

    Fields:
        here, there: the newest row on this cart and at the shop.
        parted_at: the first row that is another one there; None if there is none.
        other: a row whose text at the shop is not what its digest there was reckoned over, or is
            another one than here though both digests are the same; None if there is none.
        figures: of how many jobs, shifts and products the shop says something else.
    """

    here: Head
    there: Head
    parted_at: int | None = None
    other: int | None = None
    figures: int = 0

    @property
    def same(self) -> bool:
        """Whether all of this cart's log is there as it is here."""
        return self.here == self.there and self.parted_at is self.other is None and not self.figures


def logs_there(line: psycopg.Connection) -> tuple[LogThere, ...]:
    """The logs of this cart that the shop has, the one heard last in front."""
    if not _knows(line, "my_logs_1()"):
        raise ShopFault(
            "The shop's tables give no rows back yet; its owner runs cartclock shop tables of "
            "this program."
        )
    found = line.execute("SELECT * FROM cartclock.my_logs_1()").fetchall()
    return tuple(
        LogThere(origin, Head(seq, digest), heard_us) for origin, seq, digest, heard_us in found
    )


def _knows(line: psycopg.Connection, function: str) -> bool:
    found = line.execute(
        "SELECT to_regprocedure(%s) IS NOT NULL", (f"cartclock.{function}",)
    ).fetchone()
    return bool(found and found[0])


def log_to_pull(line: psycopg.Connection, log: Log | None, named: str = "") -> LogThere:
    """The log whose rows this cart gets: its own, or where it has no row yet the one there is.

    named: how its origin begins, of a cart that has several there; "" for none.

    Raises ShopFault if there is none, or if there are several and none is named.
    """
    every = logs_there(line)
    wanted = named or (log.origin if log is not None and log.head.seq >= 0 else "")
    fits = [one for one in every if one.origin.startswith(wanted)]
    if len(fits) == 1:
        return fits[0]
    if not fits:
        raise ShopFault("The shop has no row of this log.")
    names = ", ".join(f"{one.origin} ({one.head.seq + 1} rows)" for one in fits)
    raise ShopFault(f"The shop has {len(fits)} logs of this cart; name one with --log: {names}.")


def pull_own(
    path: Path, there: LogThere, line: psycopg.Connection, told: Progress = nobody
) -> GivenBack:
    """Gives the log at `path` the rows that the shop has of it and it has not; what was there is
    moved aside if it gets any.

    Raises Parted where the shop has other rows of it, StoreFault and Refused as `give_back` does,
    psycopg.Error as the line does.
    """
    after = Head()
    if path.exists():
        with Log.open(path) as log:
            if log.head.seq >= 0:
                after = log.head
                if log.origin != there.origin:
                    raise ShopFault(
                        f"The log that is here is {log.origin}, the one at the shop "
                        f"{there.origin}: rows of one are not given to the other."
                    )
                if log.holds(there.head.seq, there.head.digest):
                    return GivenBack(log.head, 0, None, ())
                if (at := _parted_at(log, there, line)) is not None:
                    raise Parted(_parted_said(log, at, _digest_there(line, there.origin, at)))

    def parts() -> Iterator[list[codec.Stored]]:
        at = after.seq
        while at < there.head.seq:
            told("Rows from the shop", (at + 1) / (there.head.seq + 1))
            rows = _rows_there(line, there.origin, at)
            if not rows:
                raise ShopFault(f"The shop says it has row {at + 1} and does not give it.")
            yield rows
            at = rows[-1][1]

    return give_back(path, there.origin, parts(), _private_there(path, line, there.origin), told)


def _rows_there(line: psycopg.Connection, origin: str, after: int) -> list[codec.Stored]:
    """Rows behind one, as stored."""
    found = line.execute(
        "SELECT * FROM cartclock.pull_own_1(%s, %s, %s)", (origin, after, _MOST_ROWS)
    ).fetchall()
    return [(*msgspec.json.decode(text), digest) for text, digest in found]


def _private_there(path: Path, line: psycopg.Connection, origin: str) -> Iterator[PrivateText]:
    """The private texts of a log that the shop has, without those that were forgotten here."""
    if not knows_private(line):
        return
    gone = forgotten_here(path)
    found = line.execute("SELECT * FROM cartclock.own_private_1(%s)", (origin,)).fetchall()
    for ref, salt, text in found:
        if ref not in gone:
            yield PrivateText(ref, bytes.fromhex(salt), text)


def _digest_there(line: psycopg.Connection, origin: str, seq: int) -> str:
    found = line.execute(
        "SELECT digest FROM cartclock.pull_own_1(%s, %s, 1)", (origin, seq - 1)
    ).fetchone()
    return "" if found is None else str(found[0])


def _parted_at(log: Log, there: LogThere, line: psycopg.Connection) -> int | None:
    """The first row that both have and that is not the same; None if there is none.

    A digest takes in the one before it, so once they differ they differ to the end.
    """
    last = min(log.head.seq, there.head.seq)
    if log.holds(last, _digest_there(line, there.origin, last)):
        return None
    same, other = -1, last
    while other - same > 1:
        at = (same + other) // 2
        if log.holds(at, _digest_there(line, there.origin, at)):
            same = at
        else:
            other = at
    return other


def _parted_said(log: Log, at: int, theirs: str) -> str:
    return (
        f"This log and what the shop has of it have parted: row {at} is {theirs} at the shop and "
        f"{log.digest_of(log.origin, at)} on this cart. Nothing was changed on either side; "
        "cartclock shop new-log begins a new log of this cart."
    )


def jobs_elsewhere(line: psycopg.Connection) -> tuple[ElsewhereJob, ...]:
    """Jobs that are open on the other carts of the shop, that whose window closes first in front;
    none where the shop's tables do not tell. psycopg.Error as the line raises it."""
    if not _knows(line, "pull_jobs_1(int)"):
        return ()
    found = line.execute("SELECT * FROM cartclock.pull_jobs_1(%s)", (_MOST_JOBS,)).fetchall()
    names = ElsewhereJob.__struct_fields__
    return tuple(msgspec.convert(dict(zip(names, one, strict=True)), ElsewhereJob) for one in found)


def compare(log: Log, line: psycopg.Connection, told: Progress = nobody) -> Compared:
    """Holds every row of a log against the shop's, and what the shop says of jobs and shifts
    against the cart's own fold. Raises ShopFault if the shop has no row of it."""
    every = {one.origin: one for one in logs_there(line)}
    if log.origin not in every:
        raise ShopFault("The shop has no row of this log.")
    there, here = every[log.origin], log.head
    parted_at = _parted_at(log, there, line)
    last = there.head.seq if parted_at is None else parted_at - 1
    at, other, before = -1, None, ""
    while at < last and other is None:
        told("Rows at the shop", (at + 1) / (last + 1))
        rows = _rows_there(line, log.origin, at)[: last - at]
        if not rows:
            other = at + 1
            break
        mine = {row[1]: row for row in log.stored_after(at, len(rows))}
        for row in rows:
            is_whole = row[1] == at + 1 and row[-2] == before and codec.digest(row[:-1]) == row[-1]
            if not is_whole or mine.get(row[1], row) != row:
                other = at + 1
                break
            at, before = row[1], row[-1]
    figures = 0
    if here == there.head:
        said: dict[str, str] = dict(
            line.execute(
                "SELECT subject::text, encode(digest, 'hex') FROM cartclock.told WHERE origin = %s",
                (log.origin,),
            ).fetchall()
        )
        own = {one.id: one.digest for one in every_figure(log)}
        figures = len({id_ for id_, _digest in said.items() ^ own.items()})
    return Compared(here, there.head, parted_at, other, figures)
