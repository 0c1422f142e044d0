"""Private text at a shop: there only if the cart's owner says so, and nothing of it once it was
forgotten, in whatever order things come."""

from __future__ import annotations

import time
from contextlib import suppress
from pathlib import Path
from threading import Thread

import msgspec
import psycopg
import pytest

from cartclock.engine.desk.forgetting import forget, to_forget
from cartclock.engine.desk.holding import give_away, take_from_shop
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.joined.forgotten import forgotten_file, forgotten_here, note_forgotten
from cartclock.engine.joined.holding import HandingShop
from cartclock.engine.joined.link import linked
from cartclock.engine.joined.private import (
    cards,
    forget_there,
    forgotten_elsewhere,
    tell_private,
)
from cartclock.engine.joined.sending import Sent, send
from cartclock.engine.letters import plate_letters
from cartclock.engine.rules import rules
from cartclock.engine.rules.amending import amend
from cartclock.engine.store import codec
from cartclock.engine.trouble import StoreFault
from tests.joined.conftest import Cart, Carts
from tests.joined.test_sending import worked
from tests.kit.postgres import Postgres

NAME, PLATE, PHONE, NOTE = "Zephyrine Oddlington", "QX-77 ZZ", "0990 123", "swirls on the left"
WHY, PHOTO = "ran out of drops", "/photos/quillfeather.jpg"


def sold(
    cart: Cart, name: str = NAME, plate: str = PLATE, phone: str = PHONE, note: str = NOTE
) -> str:
    """A job with everything of a customer on a cart; its id."""
    job = cart.day.open_job(1)
    bench = cart.day.bench
    said: tuple[tuple[ev.Amended, str], ...]
    said = (("customer", name), ("plate", plate), ("phone", phone))
    for what, text in said:
        bench.do(amend, job, ev.JobAmended(what, bench.seal(text)))
    bench.do(rules.note_job, job, ev.NoteWritten(bench.seal(note)))
    bench.do(rules.note_job, job, ev.FileAttached("0" * 64, bench.seal(PHOTO)))
    return job


def sent(cart: Cart, private: bool = True) -> Sent:
    log = cart.day.bench.log
    with linked(cart.joined, log.path) as line:
        return send(log, line, "0", private=private)


def at_shop(owner: psycopg.Connection, cart: Cart) -> dict[str, str]:
    """The texts the shop holds of a cart's log: text -> what it is."""
    return dict(
        owner.execute(
            "SELECT text, what FROM cartclock.private_text WHERE origin = %s AND text IS NOT NULL",
            (cart.day.bench.log.origin,),
        ).fetchall()
    )


def forgotten(cart: Cart, job: str) -> frozenset[str]:
    """Forgets a job's private text on a cart, as its command does."""
    bench = cart.day.bench
    shop = Shop(bench.log, library=bench.library)
    what = to_forget(shop, job, bench.log.path.parent)
    assert forget(shop, what) == []
    return what.refs


def test_nothing_private_is_sent_unless_the_owner_says_so(
    cart: Carts, owner: psycopg.Connection
) -> None:
    one = cart("private")
    # Texts that no other test leaves at the shop.
    said = {
        "Barnaby Quockerwodger": "customer",
        "VJ-31 KK": "plate",
        "0990 777 31": "phone",
        "scuffs behind the sill": "note",
    }
    sold(one, *said)
    assert sent(one, private=False).private.texts == 0
    assert at_shop(owner, one) == {}
    # In no table of the shop, whatever its column is called.
    tables = owner.execute(
        "SELECT table_name FROM information_schema.tables WHERE table_schema = 'cartclock'"
        " AND table_type = 'BASE TABLE' AND table_name !~ '^rows_'"
    ).fetchall()
    for (table,) in tables:
        lines = owner.execute(f"SELECT t::text FROM cartclock.{table} t".encode()).fetchall()
        held = [line for (line,) in lines if any(text in line for text in said)]
        assert held == [], table
    assert sent(one).private.texts == 4
    assert sent(one).private.texts == 0
    assert at_shop(owner, one) == said


def test_what_is_told_is_what_the_log_vouches_for(cart: Carts) -> None:
    one = cart("private")
    sold(one)
    sent(one)
    log = one.day.bench.log
    with linked(one.joined, log.path) as line:
        back = line.execute("SELECT * FROM cartclock.own_private_1(%s)", (log.origin,)).fetchall()
    vouched = {seal.ref: seal.sha256 for row in log.all_rows() for seal in codec.seals(row.event)}
    assert {ref: codec.commitment(bytes.fromhex(salt), text) for ref, salt, text in back} == {
        ref: vouched[ref] for ref, _salt, _text in back
    }
    assert {text for _ref, _salt, text in back} == {NAME, PLATE, PHONE, NOTE}


def test_what_is_forgotten_is_nowhere_at_the_shop_and_stays_so(
    cart: Carts, owner: psycopg.Connection, server: Postgres
) -> None:
    one = cart("private")
    # A name that no other test leaves at the shop.
    name = "Quendalina Vexworth"
    job = sold(one, name)
    sent(one)
    owner.execute("ANALYZE cartclock.private_text")
    log = one.day.bench.log
    held = log.private_texts(_refs(one))
    refs = forgotten(one, job)
    assert forgotten_here(log.path) == refs
    done = sent(one)
    assert (done.forgotten, done.private.texts) == (4, 0)
    assert at_shop(owner, one) == {}
    rest = owner.execute(
        "SELECT origin, seq, job, what, letters, salt, text FROM cartclock.private_text"
        " WHERE shop = 'private' AND ref = ANY (%s)",
        ([*refs],),
    ).fetchall()
    assert rest == [(None,) * 7] * len(refs)
    # A late telling of it, by whatever holds it still, changes nothing and is told of.
    with linked(one.joined, log.path) as line:
        late = line.execute(
            "SELECT cartclock.tell_private_1(%s, 0, %s::jsonb)::text",
            (log.origin, msgspec.json.encode([*map(_as_told, held)]).decode()),
        ).fetchall()
    assert {ref for (ref,) in late} == refs
    assert at_shop(owner, one) == {}
    assert sent(one).forgotten == 0
    # Its letters are in no file of the database once the owner has the table written anew.
    owner.execute("CHECKPOINT")
    assert files_with(server, name)
    owner.execute("VACUUM FULL cartclock.private_text")
    owner.execute("CHECKPOINT")
    assert files_with(server, name) == files_with(server, plate_letters(name)) == []


def files_with(server: Postgres, text: str) -> list[Path]:
    """The files of the server's databases that hold a text."""
    found = []
    for file in (server.data / "base").rglob("*"):
        # What is written anew goes meanwhile.
        with suppress(FileNotFoundError):
            if file.is_file() and text.encode() in file.read_bytes():
                found.append(file)
    return found


def _refs(cart: Cart) -> list[str]:
    rows = cart.day.bench.log.all_rows()
    return [seal.ref for row in rows for seal in codec.seals(row.event)]


def _as_told(held: codec.PrivateText) -> dict[str, str | int]:
    return {"ref": held.ref, "seq": 0, "salt": held.salt.hex(), "text": held.text}


def test_a_telling_and_a_forgetting_at_once_leave_nothing(
    cart: Carts, owner: psycopg.Connection, server: Postgres
) -> None:
    one = cart("private")
    job = sold(one)
    sent(one, private=False)
    log = one.day.bench.log
    refs = _refs(one)
    texts = msgspec.json.encode([_as_told(held) for held in log.private_texts(refs)]).decode()
    forgotten(one, job)
    asked = (
        ("SELECT cartclock.tell_private_1(%s, 0, %s::jsonb)", (log.origin, texts)),
        ("SELECT cartclock.forget_1(%s::uuid[])", (refs,)),
    )
    for first, second in (asked, asked[::-1]):
        with linked(one.joined, log.path) as line, linked(one.joined, log.path) as other:
            with line.transaction():
                line.execute(first[0].encode(), first[1])
                late = Thread(target=other.execute, args=(second[0].encode(), second[1]))
                late.start()
                _wait_for_a_waiting(owner, other)
            late.join(10)
        assert at_shop(owner, one) == {}
        owner.execute("DELETE FROM cartclock.private_text WHERE ref = ANY (%s)", (refs,))


def _wait_for_a_waiting(owner: psycopg.Connection, line: psycopg.Connection) -> None:
    end = time.monotonic() + 10
    asked = "SELECT wait_event_type = 'Lock' FROM pg_stat_activity WHERE pid = %s"
    while owner.execute(asked, (line.info.backend_pid,)).fetchone() != (True,):
        assert time.monotonic() < end
        time.sleep(0.01)


def test_a_server_from_before_the_forgetting_forgets_again(
    cart: Carts, owner: psycopg.Connection
) -> None:
    one = cart("private")
    job = sold(one)
    sent(one)
    before = owner.execute(
        "SELECT * FROM cartclock.private_text WHERE origin = %s", (one.day.bench.log.origin,)
    ).fetchall()
    refs = forgotten(one, job)
    sent(one)
    # As a backup of the server puts it back.
    owner.execute("DELETE FROM cartclock.private_text WHERE ref = ANY (%s)", ([*refs],))
    places = ", ".join(["%s"] * len(before[0]))
    with owner.cursor() as line:
        line.executemany(f"INSERT INTO cartclock.private_text VALUES ({places})", before)
    assert len(at_shop(owner, one)) == 4
    assert sent(one).forgotten == 4
    assert at_shop(owner, one) == {}


def test_another_cart_is_told_and_forgets_what_it_holds(
    cart: Carts, owner: psycopg.Connection, tmp_path: Path
) -> None:
    one, other = cart("private"), cart("private")
    job = sold(one)
    sent(one)
    # The other one came to hold the same texts, as with a job that is carried over.
    texts = one.day.bench.log.private_texts(_refs(one))
    log = other.day.bench.log
    log._db.executemany(
        "INSERT INTO private VALUES (?, ?, ?)", [(p.ref, p.salt, p.text) for p in texts]
    )
    with linked(other.joined, log.path) as line:
        assert forgotten_elsewhere(log, line) == frozenset()
        forgotten(one, job)
        sent(one)
        assert forgotten_elsewhere(log, line) == {held.ref for held in texts}


def test_a_job_that_is_taken_over_brings_its_texts_and_both_carts_forget_them(
    cart: Carts, owner: psycopg.Connection
) -> None:
    one, other = cart("handed private"), cart("handed private")
    job = sold(one)
    give_away(one.day.bench, job)
    sent(one)
    other.day.clock.wind(600)
    sent(other)
    with linked(other.joined, other.day.path) as line:
        take_from_shop(other.day.bench, HandingShop(line), job[:8])
    log = other.day.bench.log
    there = {held.text for held in log.private_texts(at_refs(owner, one))}
    # The path of the photo stays where the photo is.
    assert there == {NAME, PLATE, PHONE, NOTE}
    assert forgotten(other, job) >= set(at_refs(owner, one))
    assert sent(other).forgotten == 4
    assert at_shop(owner, one) == {}
    with linked(one.joined, one.day.path) as line:
        assert len(forgotten_elsewhere(one.day.bench.log, line)) >= 4


def at_refs(owner: psycopg.Connection, cart: Cart) -> list[str]:
    return [
        ref
        for (ref,) in owner.execute(
            "SELECT ref::text FROM cartclock.private_text WHERE origin = %s ORDER BY seq",
            (cart.day.bench.log.origin,),
        )
    ]


def test_a_job_of_a_cart_that_shares_nothing_comes_without_texts(cart: Carts) -> None:
    one, other = cart("handed bare"), cart("handed bare")
    job = sold(one)
    give_away(one.day.bench, job)
    sent(one, private=False)
    other.day.clock.wind(600)
    sent(other)
    with linked(other.joined, other.day.path) as line:
        done = take_from_shop(other.day.bench, HandingShop(line), job[:8])
    assert done.written
    assert other.day.bench.log.private_texts(_refs(one)) == []


def test_nothing_private_of_another_shop_is_found_or_forgotten(
    cart: Carts, owner: psycopg.Connection
) -> None:
    one, other = cart("private"), cart("other private")
    job = sold(one)
    sent(one)
    sent(other)
    note_forgotten(other.day.path, _refs(one))
    with linked(other.joined, other.day.path) as line:
        assert cards(line, PLATE) == ()
        assert forget_there(other.day.bench.log, line) == 0
        for asked, of in (
            ("own_private_1", one.day.bench.log.origin),
            ("job_private_1", job),
        ):
            assert line.execute(
                f"SELECT count(*) FROM cartclock.{asked}(%s)".encode(), (of,)
            ).fetchone() == (0,)
        for table in ("private_text", "private_told"):
            with pytest.raises(psycopg.Error, match="permission denied"):
                line.execute(f"SELECT * FROM cartclock.{table}".encode())
    assert len(at_shop(owner, one)) == 4


def test_a_card_is_found_by_the_beginning_of_name_plate_or_phone(cart: Carts) -> None:
    one, other = cart("cards"), cart("cards")
    opened = sold(one)
    worked(one, 2)
    sent(one)
    sent(other)
    job = one.day.bench.jobs[opened]
    with linked(other.joined, other.day.path) as line:
        for asked in (NAME, "zeph", "QX77zz", "qx 7", "0990-1"):
            (card,) = cards(line, asked)
            assert (card.cart, card.number) == (one.name, job.opened.number), asked
            assert (card.vehicle, card.state) == (job.opened.vehicle, "open")
            assert dict(card.private)["customer"] == NAME
            assert ("note", NOTE) in card.private
        for asked in ("oddl", "QX", "", "%%%", "___", "ze%", "swirls"):
            assert cards(line, asked) == (), asked


def test_who_reads_figures_reads_no_names_unless_that_is_granted(
    cart: Carts, owner: psycopg.Connection, server: Postgres
) -> None:
    one = cart("names")
    sold(one)
    sent(one)
    for role in ("figures-only", "names-too"):
        owner.execute(
            f"CREATE ROLE \"{role}\" LOGIN PASSWORD 'r' IN ROLE cartclock_reader".encode()
        )
        owner.execute("INSERT INTO cartclock.readers VALUES (%s, 'names')", (role,))
    owner.execute('GRANT cartclock_private TO "names-too"')
    asked = b"SELECT shop, what, text FROM cartclock.private_text WHERE text IS NOT NULL"
    where = f"host=127.0.0.1 port={server.port} dbname=shop password=r"
    with (
        psycopg.connect(f"{where} user=figures-only") as line,
        pytest.raises(psycopg.Error, match="permission denied"),
    ):
        line.execute(asked)
    with psycopg.connect(f"{where} user=names-too") as line:
        found = line.execute(asked).fetchall()
    assert ("names", "customer", NAME) in found
    assert {shop for shop, *_rest in found} == {"names"}


def test_tables_without_a_place_for_it_take_the_rows(
    cart: Carts, owner: psycopg.Connection
) -> None:
    one = cart("private")
    forgotten(one, sold(one))
    sold(one)
    owner.execute("ALTER FUNCTION cartclock.tell_private_1 RENAME TO a_later_one")
    try:
        done = sent(one)
    finally:
        owner.execute("ALTER FUNCTION cartclock.a_later_one RENAME TO tell_private_1")
    assert done.head == one.day.bench.log.head.seq
    assert (done.private.texts, done.forgotten) == (0, 0)
    assert sent(one).private.texts == 4


def test_a_list_that_cannot_be_read_stops_the_forgetting(cart: Carts) -> None:
    one = cart("private")
    job = sold(one)
    forgotten_file(one.day.path).write_text("{")
    with pytest.raises(StoreFault, match="does not say what was forgotten"):
        forgotten(one, job)
    assert one.day.bench.log.private_texts(_refs(one))


def test_a_text_that_no_table_can_hold_stays_here(cart: Carts, owner: psycopg.Connection) -> None:
    one = cart("private")
    job = sold(one)
    bench = one.day.bench
    bench.do(rules.note_job, job, ev.NoteWritten(bench.seal("a\0b")))
    with linked(one.joined, one.day.path) as line:
        sent(one, private=False)
        assert tell_private(bench.log, line).texts == 4
    assert "a\0b" not in at_shop(owner, one)


def test_the_list_of_what_was_forgotten_grows_only(tmp_path: Path) -> None:
    log = tmp_path / "log.db"
    for refs in ({"a", "b"}, {"c"}, {"b"}):
        note_forgotten(log, refs)
    assert forgotten_here(log) == {"a", "b", "c"}
