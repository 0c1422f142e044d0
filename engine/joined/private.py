"""Private text at a shop: told if the cart's owner says so, and forgotten there as it is here.

Told are customer, plate, phone, notes and what else is sealed in a job, but no path of a file;
never the words of a worker: reasons, signs of being unwell.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

import msgspec
from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.joined.forgotten import forgotten_here
from cartclock.engine.letters import plate_letters
from cartclock.engine.store import codec
from cartclock.engine.store.log import Log
from cartclock.engine.times import Length

if TYPE_CHECKING:
    import psycopg

# Rows that are looked through for one statement.
_MOST_ROWS = 2_000
# Texts by which a job is found.
_FOUND_BY = ("customer", "plate", "phone")
# Letters and digits that a card is asked by at least, as the shop's function has it.
LEAST_LETTERS = 3
_MOST_CARDS = 20

_KIND, _V, _BODY = (codec.COLUMNS.index(name) for name in ("kind", "v", "body"))
_SEQ, _JOB = (codec.COLUMNS.index(name) for name in ("seq", "job"))


class PrivateTold(Struct, frozen=True):
    """What a sending of private text came to.

    Fields:
        texts: how many were sent.
        barred: those of them that the shop has forgotten and does not take, by reference.
    """

    texts: int = 0
    barred: tuple[str, ...] = ()


class Card(Struct, frozen=True):
    """A job of the shop as its card tells it.

    Fields:
        cart: on which it was worked.
        number, vehicle, plan, day, state, hands_us: as the line of the job has them there.
        private: (what it is, text) in the order said.
    """

    cart: str
    number: int
    vehicle: str
    plan: str
    day: str
    state: str
    hands_us: Length
    private: tuple[tuple[str, str], ...]


def knows_private(line: psycopg.Connection) -> bool:
    """Whether the shop's tables have a place for private text."""
    found = line.execute("SELECT to_regproc('cartclock.tell_private_1') IS NOT NULL").fetchone()
    return bool(found and found[0])


def tell_private(log: Log, line: psycopg.Connection) -> PrivateTold:
    """Tells the shop the private texts of jobs that it was not told yet; psycopg.Error as the line
    raises it."""
    last = log.head.seq
    found = line.execute("SELECT cartclock.private_told_1(%s)", (log.origin,)).fetchone()
    at = -1 if found is None else found[0]
    texts, barred = 0, []
    while at < last:
        rows = log.stored_after(at, min(_MOST_ROWS, last - at))
        if not rows:
            break
        at = rows[-1][_SEQ]
        told = list(_told(log, rows))
        texts += len(told)
        barred += line.execute(
            "SELECT cartclock.tell_private_1(%s, %s, %s::jsonb)::text",
            (log.origin, at, msgspec.json.encode(told).decode()),
        ).fetchall()
    return PrivateTold(texts, tuple(ref for (ref,) in barred))


def _told(log: Log, rows: Sequence[codec.Stored]) -> Iterator[dict[str, Any]]:
    """The private texts of these rows that are held, as the shop takes them."""
    for row in rows:
        if row[_JOB] is None:
            continue
        event = codec.decode(row[_KIND], row[_V], row[_BODY])
        if isinstance(event, ev.FileAttached):
            continue
        for name in codec.sealed_fields(type(event)):
            sealed = getattr(event, name)
            for one in log.private_texts([sealed.ref] if sealed is not None else []):
                what = event.what if isinstance(event, ev.JobAmended) else name
                what = what if what in _FOUND_BY else "note"
                # PostgreSQL holds no NUL in a text: such a one stays on the cart.
                if "\0" not in one.text:
                    yield {
                        "ref": one.ref,
                        "seq": row[_SEQ],
                        "job": row[_JOB],
                        "what": what,
                        "letters": plate_letters(one.text) if what in _FOUND_BY else None,
                        "salt": one.salt.hex(),
                        "text": one.text,
                    }


def forget_there(log: Log, line: psycopg.Connection) -> int:
    """Has the shop forget what was forgotten on this cart, now or ever; how many texts it held.
    Raises StoreFault if it is not known what that is, psycopg.Error as the line does."""
    refs = sorted(forgotten_here(log.path))
    if not refs or not knows_private(line):
        return 0
    found = line.execute("SELECT cartclock.forget_1(%s::uuid[])", (refs,)).fetchone()
    return 0 if found is None else int(found[0])


def forgotten_elsewhere(log: Log, line: psycopg.Connection) -> frozenset[str]:
    """References to private texts that the shop has forgotten and this cart still holds."""
    if not knows_private(line):
        return frozenset()
    there = [ref for (ref,) in line.execute("SELECT cartclock.forgotten_1()::text").fetchall()]
    return frozenset(one.ref for one in log.private_texts(there))


def job_private(
    line: psycopg.Connection, job: str, rows: Sequence[codec.Stored]
) -> tuple[codec.PrivateText, ...]:
    """The private texts of a job that its shop has, of those that these rows speak of."""
    there = line.execute(
        "SELECT to_regprocedure('cartclock.job_private_1(uuid)') IS NOT NULL"
    ).fetchone()
    if there != (True,):
        return ()
    refs = {
        sealed.ref
        for row in rows
        for sealed in codec.seals(codec.decode(row[_KIND], row[_V], row[_BODY]))
    }
    found = line.execute("SELECT * FROM cartclock.job_private_1(%s)", (job,)).fetchall()
    return tuple(
        codec.PrivateText(ref, bytes.fromhex(salt), text)
        for ref, salt, text in found
        if ref in refs
    )


def cards(line: psycopg.Connection, asked: str) -> tuple[Card, ...]:
    """Jobs of the shop of which a customer, plate or phone begins so, the newest first."""
    letters = plate_letters(asked)
    found = line.execute(
        "SELECT * FROM cartclock.cards_1(%s, %s)", (letters, _MOST_CARDS)
    ).fetchall()
    names = Card.__struct_fields__
    return tuple(msgspec.convert(dict(zip(names, one, strict=True)), Card) for one in found)
