"""Sending to a shop on a real PostgreSQL: each row once, the very rows, and what is refused."""

from __future__ import annotations

import hashlib
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import msgspec
import psycopg
import pytest

from cartclock.engine.joined.faults import Parted, ShopFault
from cartclock.engine.joined.link import linked
from cartclock.engine.joined.sending import Sent, send
from cartclock.engine.store import codec
from cartclock.engine.store.log import Log
from cartclock.engine.trouble import Refused
from tests.joined.conftest import Cart, Carts

PROGRAM = "0"


def sent(cart: Cart, log: Log | None = None) -> Sent:
    """Sends the log of a cart, or a copy of it with the password beside it."""
    log = log or cart.day.bench.log
    with linked(cart.joined, log.path) as line:
        return send(log, line, PROGRAM)


def worked(cart: Cart, presses: int) -> None:
    """So many presses more; what is waited for meanwhile opens."""
    while presses:
        try:
            cart.day.take(60)
        except Refused:
            cart.day.clock.wind(60)
            continue
        presses -= 1


def stored(log: Log) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(log.path)) as db:
        return db.execute(f"SELECT {', '.join(codec.COLUMNS)} FROM rows ORDER BY seq").fetchall()


def count(owner: psycopg.Connection, cart: Cart) -> tuple[int, int]:
    """Rows of a cart at the shop, and the number of the newest."""
    found = owner.execute(
        "SELECT count(*), max(seq) FROM cartclock.rows WHERE origin = %s",
        (cart.day.bench.log.origin,),
    ).fetchone()
    assert found is not None
    return found[0], found[1]


def test_sent_twice_is_there_once_and_more_rows_are_added(
    cart: Carts, owner: psycopg.Connection
) -> None:
    one = cart("north")
    worked(one, 4)
    first = sent(one)
    rows = one.day.bench.log.head.seq + 1
    assert (first.head, first.rows) == (rows - 1, rows)
    assert first.figures == 2
    again = sent(one)
    assert (again.head, again.rows, again.figures) == (rows - 1, 0, 0)
    worked(one, 3)
    assert sent(one).rows == one.day.bench.log.head.seq + 1 - rows
    assert count(owner, one) == (one.day.bench.log.head.seq + 1, one.day.bench.log.head.seq)


def test_the_shop_holds_the_very_rows(cart: Carts, owner: psycopg.Connection) -> None:
    one = cart("north")
    worked(one, 5)
    sent(one)
    there = owner.execute(
        "SELECT origin::text, seq, press, shift::text, job::text, worker, kind, v, at_us,"
        " entered_us, wall_us, boot, tick_us, sure::int, by, body, encode(digest, 'hex')"
        " FROM cartclock.rows WHERE origin = %s ORDER BY seq",
        (one.day.bench.log.origin,),
    ).fetchall()
    assert there == [(*line[:16], line[17]) for line in stored(one.day.bench.log)]


@pytest.mark.parametrize("most", [1, 3, 10_000])
def test_in_however_many_statements(
    cart: Carts, owner: psycopg.Connection, monkeypatch: pytest.MonkeyPatch, most: int
) -> None:
    monkeypatch.setattr("cartclock.engine.joined.sending.MOST_ROWS", most)
    one = cart("north")
    worked(one, 4)
    heard: list[int] = []
    with linked(one.joined, one.day.path) as line:
        send(one.day.bench.log, line, PROGRAM, heard.append)
    rows = one.day.bench.log.head.seq + 1
    # The figures say once more that no row is left.
    assert [*dict.fromkeys(heard)] == [*range(rows, 0, -most), 0]
    assert count(owner, one) == (rows, rows - 1)


def test_own_rows_come_back_as_they_were(cart: Carts) -> None:
    one = cart("north")
    worked(one, 5)
    sent(one)
    with linked(one.joined, one.day.path) as line:
        back = line.execute(
            "SELECT * FROM cartclock.pull_own_1(%s, 2, 1000)", (one.day.bench.log.origin,)
        ).fetchall()
    assert [
        (*msgspec.json.decode(text), digest) for text, digest in back
    ] == [line for line in stored(one.day.bench.log) if line[1] > 2]  # fmt: skip
    for text, digest in back:
        assert hashlib.sha256(text.encode()).hexdigest() == digest


# What is refused.


def copied(cart: Cart, folder: Path) -> Log:
    """A copy of the cart's log as it is now, that can be sent as well."""
    folder.mkdir()
    to = folder / "log.db"
    cart.day.bench.log.backup(to)
    cart.log_in(to)
    return Log.open(to)


def grown(log: Log, rows: int, salt: int) -> None:
    """Writes a log on by rows that follow on each other, as another program might."""
    last = stored(log)[-1]
    lines = []
    for at in range(rows):
        seq = int(str(last[1])) + 1
        line = (*last[:1], seq, seq, None, None, *last[5:6], "DrinkTaken", 1, *last[8:15],
                f'{{"ml":{salt + at}}}', last[17])  # fmt: skip
        last = (*line, codec.digest(line))
        lines.append(last)
    with closing(sqlite3.connect(log.path)) as db, db:
        db.executemany(f"INSERT INTO rows VALUES ({', '.join('?' * 18)})", lines)
    log.refresh()


def test_an_older_copy_is_told_of_and_nothing_is_sent(
    cart: Carts, owner: psycopg.Connection, tmp_path: Path
) -> None:
    one = cart("north")
    worked(one, 2)
    with copied(one, tmp_path / "older") as older:
        worked(one, 3)
        sent(one)
        before = count(owner, one)
        with pytest.raises(Parted, match="an older copy was put back"):
            sent(one, older)
        assert count(owner, one) == before


def test_a_parted_log_is_refused_and_both_digests_are_named(
    cart: Carts, owner: psycopg.Connection, tmp_path: Path
) -> None:
    one = cart("north")
    worked(one, 2)
    with copied(one, tmp_path / "other") as other:
        parted_at = other.head.seq + 1
        worked(one, 3)
        grown(other, 12, 200)
        sent(one)
        before = count(owner, one)
        with pytest.raises(Parted):
            sent(one, other)
        # Sent past the cart's own look, the shop refuses it as well.
        with linked(one.joined, other.path) as line, pytest.raises(psycopg.Error) as refused:
            lines = stored(other)[parted_at:]
            texts = "\n".join(codec.digested(line[:-1]).decode() for line in lines)
            line.execute("SELECT cartclock.push_1(%s, %s, 0, '0')", (other.origin, texts))
        assert refused.value.sqlstate == "CC004"
        mine, theirs = (str(stored(log)[parted_at][17]) for log in (one.day.bench.log, other))
        assert f"row {parted_at} is {mine} at the shop and {theirs}" in str(refused.value)
        assert count(owner, one) == before


@pytest.mark.parametrize(
    ("change", "state", "says"),
    [
        (lambda lines: lines[3:], "CC002", "rows 0 to 2 are missing"),
        (lambda lines: [*lines[:2], *lines[3:]], "CC002", "row 3 stands where row 2 is due"),
        (
            lambda lines: [*lines[:2], (*lines[2][:15], '{"why":"x"}', *lines[2][16:]), lines[3]],
            "CC003",
            "row 3 does not follow",
        ),
        (
            lambda lines: [("0" * 8 + str(lines[0][0])[8:], *lines[0][1:])],
            "CC001",
            "row 0 is of log",
        ),
    ],
    ids=["a hole in front", "a hole", "a changed row", "of another log"],
)
def test_what_does_not_follow_on_is_refused_whole(
    cart: Carts, owner: psycopg.Connection, change, state: str, says: str
) -> None:
    one = cart("north")
    worked(one, 3)
    log = one.day.bench.log
    texts = "\n".join(codec.digested(line[:-1]).decode() for line in change(stored(log)))
    with linked(one.joined, log.path) as line, pytest.raises(psycopg.Error) as refused:
        line.execute("SELECT cartclock.push_1(%s, %s, 0, '0')", (log.origin, texts))
    assert refused.value.sqlstate == state
    assert says in str(refused.value)
    assert count(owner, one) == (0, None)


@pytest.mark.parametrize("text", ["7", "{}", "[]", "[null,-1]", '["x",null]', "not JSON", "\n"])
def test_what_is_no_row_is_refused(cart: Carts, owner: psycopg.Connection, text: str) -> None:
    one = cart("north")
    sent(one)
    before = count(owner, one)
    log = one.day.bench.log
    whole = codec.digested(stored(log)[0][:-1]).decode()
    with linked(one.joined, log.path) as line:
        for lines in (text, f"{whole}\n{text}", f"{text}\n{whole}"):
            with pytest.raises(psycopg.Error):
                line.execute("SELECT cartclock.push_1(%s, %s, 0, '0')", (log.origin, lines))
    assert count(owner, one) == before


def test_of_rows_that_are_there_in_part_the_rest_is_added(
    cart: Carts, owner: psycopg.Connection
) -> None:
    one = cart("north")
    worked(one, 3)
    log = one.day.bench.log
    texts = [codec.digested(line[:-1]).decode() for line in stored(log)]
    with linked(one.joined, log.path) as line:

        def push(some: list[str]) -> tuple[int, int]:
            found = line.execute(
                "SELECT head_seq, added FROM cartclock.push_1(%s, %s, 0, '0')",
                (log.origin, "\n".join(some)),
            ).fetchone()
            assert found is not None
            return found[0], found[1]

        assert push(texts[:1]) == (0, 1)
        assert push(texts[:4]) == (3, 3)
        assert push(texts[2:6]) == (5, 2)
        assert push(texts[1:3]) == (5, 0)
    assert count(owner, one) == (6, 5)
    assert sent(one).rows == len(texts) - 6


def test_what_is_behind_a_refused_statement_is_refused_as_well(
    cart: Carts, owner: psycopg.Connection, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("cartclock.engine.joined.sending.MOST_ROWS", 2)
    one = cart("north")
    worked(one, 5)
    log = one.day.bench.log
    with closing(sqlite3.connect(log.path)) as db, db:
        # A row of the second statement, whose digest no longer follows from it.
        for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'"):
            db.execute(f'DROP TRIGGER "{name}"')
        db.execute("UPDATE rows SET worker = 'another' WHERE seq = 2")
    with pytest.raises(ShopFault, match="row 3 does not follow on the row before it"):
        sent(one)
    assert count(owner, one) == (2, 1)


def test_a_cart_writes_no_other_cart_and_no_table(cart: Carts, owner: psycopg.Connection) -> None:
    one, other = cart("north"), cart("north")
    sent(one)
    with (
        pytest.raises(ShopFault, match=r"does not take it from this cart: log .* is of cart"),
        linked(other.joined, other.day.path) as line,
    ):
        line.execute("SELECT cartclock.push_1(%s, '', 0, '0')", (one.day.bench.log.origin,))
    for statement in (
        "DELETE FROM cartclock.rows",
        "UPDATE cartclock.heads SET seq = 0",
        "INSERT INTO cartclock.told SELECT * FROM cartclock.told",
        "SELECT * FROM cartclock.carts",
        "SELECT cartclock.wipe('north', '{}')",
    ):
        with linked(one.joined, one.day.path) as line, pytest.raises(psycopg.Error) as refused:
            line.execute(statement.encode())
        assert refused.value.sqlstate == "42501", statement
    # The owner's own mistake does not change a row either.
    with pytest.raises(psycopg.Error, match="never changed or deleted") as refused:
        owner.execute("DELETE FROM cartclock.rows")
    assert refused.value.sqlstate == "CC005"


def test_nothing_of_another_shop_is_seen(cart: Carts) -> None:
    one, other = cart("north"), cart("south")
    worked(one, 2)
    sent(one)
    sent(other)
    for table in ("rows", "heads", "told", "job_line", "shift_line", "open_jobs", "carts_heard"):
        with linked(other.joined, other.day.path) as line:
            shops = line.execute(f"SELECT DISTINCT shop FROM cartclock.{table}".encode())
            assert shops.fetchall() == [("south",)], table


def test_strange_letters_arrive_with_their_digests(cart: Carts, owner: psycopg.Connection) -> None:
    one = cart("north")
    odd = ['\x01\b\f\n\r\t"\\/\x7f\x85\u2028', "\U0001f600 \u0627\u0644 e\u0301", "\ufffe\uffff"]
    log = one.day.bench.log
    with closing(sqlite3.connect(log.path, isolation_level=None)) as db:
        for text in odd:
            last = stored(log)[-1]
            seq = int(str(last[1])) + 1
            body = msgspec.json.encode({"why": text + "\0"}).decode()
            line = (last[0], seq, seq, None, None, text, "FromTheFuture", 7, *last[8:11], text,
                    *last[12:15], body, last[17])  # fmt: skip
            db.execute(
                f"INSERT INTO rows VALUES ({', '.join('?' * 18)})", (*line, codec.digest(line))
            )
    log.refresh()
    sent(one)
    there = owner.execute(
        "SELECT worker, body, encode(digest, 'hex') FROM cartclock.rows WHERE origin = %s"
        " ORDER BY seq DESC LIMIT 3",
        (log.origin,),
    ).fetchall()
    assert there[::-1] == [(line[5], line[15], line[17]) for line in stored(log)[-3:]]


def test_no_server_and_a_wrong_password_are_told(cart: Carts, tmp_path: Path) -> None:
    one = cart("north")
    nowhere = msgspec.structs.replace(one.joined, server="127.0.0.1:1")
    with (
        pytest.raises(ShopFault, match="the line to it did not come about or broke"),
        linked(nowhere, one.day.path),
    ):
        pass
    log = tmp_path / "elsewhere" / "log.db"
    log.parent.mkdir()
    shutil.copy(one.day.path, log)
    # Without a password beside it.
    with (
        pytest.raises(ShopFault, match="Nothing was sent to the shop"),
        linked(one.joined, log),
    ):
        pass
