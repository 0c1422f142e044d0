"""A cart's own rows given back by its shop, and what is there held against what is here."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import psycopg
import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.joined.faults import Parted, ShopFault
from cartclock.engine.joined.forgotten import note_forgotten
from cartclock.engine.joined.link import linked
from cartclock.engine.joined.membership import membership_file, passfile
from cartclock.engine.joined.pulling import compare, log_to_pull, logs_there, pull_own
from cartclock.engine.joined.sending import send
from cartclock.engine.rules import rules
from cartclock.engine.rules.amending import amend
from cartclock.engine.store import codec
from cartclock.engine.store.log import Log
from cartclock.engine.store.views import VIEWS
from cartclock.engine.store.whole.audit import audit
from cartclock.engine.store.whole.given_back import GivenBack
from cartclock.engine.trouble import Refused, StoreFault
from tests.joined.conftest import Cart, Carts
from tests.joined.test_sending import PROGRAM, copied, grown, sent, stored, worked
from tests.joined.test_shop_command import cartclock, shop


def pulled(cart: Cart, path: Path, named: str = "") -> GivenBack:
    """What `pull_own` gives the log at a path."""
    cart.log_in(path)
    with linked(cart.joined, path) as line:
        if not path.exists():
            return pull_own(path, log_to_pull(line, None, named), line)
        with Log.open(path) as log:
            there = log_to_pull(line, log, named)
        return pull_own(path, there, line)


@pytest.mark.parametrize("most", [3, 2_000])
def test_a_lost_log_comes_back_whole_and_is_worked_on(
    cart: Carts, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, most: int
) -> None:
    monkeypatch.setattr("cartclock.engine.joined.pulling._MOST_ROWS", most)
    one = cart("back")
    worked(one, 6)
    sent(one)
    log = one.day.bench.log
    path = tmp_path / "new" / "log.db"
    path.parent.mkdir()
    done = pulled(one, path)
    assert (done.rows, done.head, done.aside, done.lacks) == (
        log.head.seq + 1, log.head, None, ())  # fmt: skip
    assert [*path.parent.glob("log.db.*")] == []
    with Log.open(path) as back:
        assert (back.origin, stored(back)) == (log.origin, stored(log))
        assert back.job_summaries() == log.job_summaries()
        assert back.shift_summaries() == log.shift_summaries()
    assert audit(path, VIEWS).wrong == ()
    assert pulled(one, path).rows == 0


def test_an_older_copy_gets_what_it_lacks_and_the_copy_is_kept(cart: Carts, tmp_path: Path) -> None:
    one = cart("back")
    worked(one, 2)
    with copied(one, tmp_path / "older") as older:
        path, before = older.path, stored(older)
    worked(one, 4)
    sent(one)
    done = pulled(one, path)
    assert done.rows == one.day.bench.log.head.seq + 1 - len(before)
    assert done.aside is not None
    with Log.open(path) as back, Log.open(done.aside) as aside:
        assert stored(back) == stored(one.day.bench.log)
        assert stored(aside) == before
        # It is sent on as if nothing had been.
        with linked(one.joined, path) as line:
            assert send(back, line, PROGRAM).rows == 0


def test_a_parted_log_is_named_and_never_written_over(cart: Carts, tmp_path: Path) -> None:
    one = cart("back")
    worked(one, 2)
    with copied(one, tmp_path / "other") as other:
        parted_at = other.head.seq + 1
        worked(one, 4)
        # Shorter than what is there: it looks like an older copy.
        grown(other, 2, 200)
        sent(one)
        path, before = other.path, stored(other)
        mine, theirs = (stored(log)[parted_at][17] for log in (other, one.day.bench.log))
        with linked(one.joined, path) as line:
            assert compare(other, line).parted_at == parted_at
    with pytest.raises(Parted, match=f"row {parted_at} is {theirs} at the shop and {mine}"):
        pulled(one, path)
    with Log.open(path) as same:
        assert stored(same) == before
    assert [*path.parent.glob("*.db*aside*")] == []


def test_a_log_that_a_program_has_open_is_left(cart: Carts, tmp_path: Path) -> None:
    one = cart("back")
    worked(one, 2)
    with copied(one, tmp_path / "older") as older:
        worked(one, 1)
        sent(one)
        before = stored(older)
        with _held_open(older.path), pytest.raises(Refused, match="a program has"):
            pulled(one, older.path)
        assert stored(older) == before


@contextmanager
def _held_open(path: Path) -> Iterator[None]:
    """Another process has the log open meanwhile."""
    script = (
        "import sys\nfrom pathlib import Path\nfrom cartclock.engine.store.log import Log\n"
        "with Log.open(Path(sys.argv[1])):\n    print('open', flush=True)\n    sys.stdin.read()\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", script, str(path)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    ) as child:  # fmt: skip
        assert child.stdout is not None and child.stdin is not None
        assert child.stdout.readline() == "open\n"
        yield
        child.stdin.close()


def test_private_texts_come_back_where_the_cart_shares_them(cart: Carts, tmp_path: Path) -> None:
    one = cart("back")
    bench = one.day.bench
    job = next(iter(bench.jobs))
    for what, text in (("customer", "Zephyrine Oddlington"), ("plate", "ODD 17")):
        bench.do(amend, job, ev.JobAmended(what, bench.seal(text)))
    with linked(one.joined, one.day.path) as line:
        send(bench.log, line, PROGRAM, private=True)
    path = tmp_path / "new" / "log.db"
    path.parent.mkdir()
    with Log.open(one.day.path) as log:
        (gone,) = log.refs_saying("ODD 17")
        held = {text.ref: text for text in log.private_texts(log.refs_saying(
            "Zephyrine Oddlington"))}  # fmt: skip
    note_forgotten(path, [gone])
    pulled(one, path)
    with Log.open(path) as back:
        assert {ref: back.private_texts([ref])[0] for ref in held} == held
        assert back.private_text(gone) is None
    assert audit(path, VIEWS).wrong == ()


def test_which_of_two_logs_comes_back_is_named(cart: Carts, tmp_path: Path) -> None:
    one = cart("back")
    sent(one)
    # The same login begins another log.
    with Log.open(tmp_path / "second.db") as second:
        grown_from_nothing(second, one.day.bench.log)
        one.log_in(second.path)
        with linked(one.joined, second.path) as line:
            send(second, line, PROGRAM)
            there = logs_there(line)
        assert [log.origin for log in there] == [second.origin, one.day.bench.log.origin]
        path = tmp_path / "new" / "log.db"
        path.parent.mkdir()
        with pytest.raises(ShopFault, match="The shop has 2 logs of this cart; name one"):
            pulled(one, path)
        assert pulled(one, path, second.origin[:8]).head == second.head


def grown_from_nothing(log: Log, like: Log) -> None:
    """Writes the first row of another log into one, as its own."""
    line = (log.origin, *stored(like)[0][1:17])
    with closing(sqlite3.connect(log.path, isolation_level=None)) as db:
        db.execute(f"INSERT INTO rows VALUES ({', '.join('?' * 18)})", (*line, codec.digest(line)))
    log.refresh()


def test_rows_that_do_not_follow_on_are_not_taken(
    cart: Carts, owner: psycopg.Connection, tmp_path: Path
) -> None:
    one = cart("forged")
    worked(one, 3)
    sent(one)
    log = one.day.bench.log
    with linked(one.joined, log.path) as line:
        assert compare(log, line).same
    # Who owns the server lifts the trigger and writes a body anew.
    with owner.transaction():
        owner.execute("ALTER TABLE cartclock.rows DISABLE TRIGGER rows_never")
        owner.execute(
            "UPDATE cartclock.rows SET body = '{}' WHERE origin = %s AND seq = 4", (log.origin,)
        )
        owner.execute("ALTER TABLE cartclock.rows ENABLE TRIGGER rows_never")
    with linked(one.joined, log.path) as line:
        found = compare(log, line)
    assert (found.same, found.parted_at, found.other) == (False, None, 4)
    path = tmp_path / "new" / "log.db"
    path.parent.mkdir()
    with pytest.raises(StoreFault, match="row 4 of what came does not follow on row 3"):
        pulled(one, path)
    assert not path.exists() and [*path.parent.glob("log.db.*")] == []


def test_figures_that_somebody_changed_are_counted(cart: Carts, owner: psycopg.Connection) -> None:
    one = cart("miscounted")
    worked(one, 2)
    sent(one)
    owner.execute("UPDATE cartclock.told SET digest = 'x' WHERE shop = 'miscounted'")
    with linked(one.joined, one.day.path) as line:
        assert compare(one.day.bench.log, line).figures == 2


def test_nobody_gets_the_rows_of_another_cart(cart: Carts) -> None:
    one, other = cart("north"), cart("north")
    for each in (one, other):
        sent(each)
    with linked(other.joined, other.day.path) as line:
        assert [log.origin for log in logs_there(line)] == [other.day.bench.log.origin]
        for function in ("pull_own_1(%s, -1, 9)", "own_private_1(%s)"):
            asked = f"SELECT count(*) FROM cartclock.{function}"
            assert line.execute(asked.encode(), (one.day.bench.log.origin,)).fetchone() == (0,)


def test_the_commands_give_back_check_and_begin_anew(cart: Carts, tmp_path: Path) -> None:
    one = cart("commanded")
    worked(one, 2)
    home = one.day.path.parent
    (home / "settings.toml").write_text('worker = "Ines"\nzone = "UTC"\n')
    older = tmp_path / "older"
    older.mkdir()
    one.day.bench.log.backup(older / "log.db")
    for file in (membership_file(home / "log.db"), passfile(home / "log.db")):
        shutil.copy2(file, older / file.name)
    shutil.copy2(home / "settings.toml", older / "settings.toml")
    code, said, fault = shop(home, "check")
    assert (code, fault) == (1, "The shop has no row of this log.\n")
    worked(one, 2)
    shop(home, "push")
    rows = one.day.bench.log.head.seq + 1
    same = f"All {rows} rows are at the shop as they are here, and their figures.\n"
    assert shop(home, "check") == (0, same, "")
    code, said, fault = shop(older, "push")
    assert code == 1 and "cartclock shop pull gets the rest" in fault
    code, said, fault = shop(older, "check")
    assert code == 1 and fault.endswith("cartclock shop pull gets the rest.\n")
    code, said, fault = shop(older, "new-log", "--yes")
    assert (code, fault) == (1, "This log and the shop's have not parted: none is begun.\n")
    code, said, fault = shop(older, "pull")
    assert code == 0 and said.endswith(f"Head: {one.day.bench.log.head.digest}\n")
    assert fault.startswith("What was there is kept: ")
    assert shop(older, "pull")[1] == "The shop has no row that is not here.\n"
    assert cartclock(older, "check-log")[0] == 0
    # Two copies of one cart go on.
    with Log.open(older / "log.db") as log:
        grown(log, 3, 500)
    worked(one, 2)
    shop(home, "push")
    code, said, fault = shop(older, "pull")
    assert code == 1 and "cartclock shop new-log begins a new log of this cart" in fault
    code, said, fault = shop(older, "new-log", "--yes")
    assert (code, fault) == (1, "Somebody is on the clock in this log; clock off first.\n")


def test_a_new_log_leaves_the_parted_one_aside_and_prints_its_end(
    cart: Carts, tmp_path: Path
) -> None:
    one = cart("anew")
    worked(one, 2)
    one.day.bench.do(rules.clock_off, {"window_open": "w", "unfinished": "u"})
    (tmp_path / "other").mkdir()
    one.day.bench.log.backup(tmp_path / "other" / "log.db")
    home = tmp_path / "other"
    one.log_in(home / "log.db")
    (home / "settings.toml").write_text('worker = "Ines"\nzone = "UTC"\n')
    worked_on = one.day.bench.log
    grown(worked_on, 2, 300)
    sent(one)
    with Log.open(home / "log.db") as log:
        grown(log, 2, 700)
        old, first = stored(log), log.head.seq - 1
    code, _said, fault = shop(home, "new-log")
    assert code == 1 and fault.endswith("None was begun; --yes does it without a question.\n")
    code, said, fault = shop(home, "new-log", "--yes")
    lines = said.splitlines()
    assert code == 0, fault
    assert [line.split()[:2] for line in lines[:2]] == [
        ["row", f"{first}"],
        ["row", f"{first + 1}"],
    ]
    assert all(line.endswith("DrinkTaken") for line in lines[:2])
    assert "is open there and stays there." in fault
    aside = Path(fault.splitlines()[-1].removeprefix("The old one is kept: "))
    with Log.open(aside) as kept, Log.open(home / "log.db") as new:
        assert stored(kept) == old
        assert (new.head.seq, new.origin != one.day.bench.log.origin) == (-1, True)
    assert lines[2] == f"A new log of this cart has begun: {new.origin}."
