"""The file beside the log: thrown away at will, never in the way, never wrong."""

from __future__ import annotations

import os
import random
import sqlite3
import stat
from collections.abc import Collection, Iterator
from contextlib import closing, suppress
from pathlib import Path

import pytest

from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.shift import Hands
from cartclock.engine.rules import packs, rules
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.history import path_beside
from cartclock.engine.store.library import Library
from cartclock.engine.store.log import Log
from cartclock.engine.store.views import VIEWS
from cartclock.engine.store.views.products import PRODUCTS
from cartclock.engine.trouble import Asks, Refused
from tests.kit.day import PLANS, START_US, Day
from tests.kit.viewed import anew, answers_are_right, kept, make_all
from tests.kit.worked import Worked


@pytest.fixture
def day(tmp_path: Path) -> Iterator[Day]:
    """Two jobs, some of the work of each done, a pack on the cart."""
    day = Day(tmp_path)
    day.open_job(1)
    day.bench.do(packs.open_pack, ev.PackOpened("coat", 30.0, lot="A17"))
    for _ in range(6):
        press(day)
    yield day
    day.bench.close()


def press(day: Day) -> None:
    """The next piece of work where there is one; then a minute goes by."""
    found = [move for move in day.bench.moves() if move.act == "take up"]
    if found:
        day.bench.do(rules.take_up, found[0])
    else:
        day.bench.do(rules.note_shift, ev.DrinkTaken(250))
    day.clock.wind(60)


def asked(day: Day, query: str) -> list[tuple[object, ...]]:
    """What stands in the file."""
    with closing(sqlite3.connect(path_beside(day.path))) as db:
        return db.execute(query).fetchall()


def changed(day: Day, statement: str) -> None:
    """The file as somebody else left it; no program has it open."""
    day.bench.close()
    with closing(sqlite3.connect(path_beside(day.path))) as db, db:
        db.execute(statement)


def right(library: Library, day: Day) -> None:
    """Nothing is left to be made, and every line and answer is that of the whole log."""
    rows = day.bench.log.all_rows()
    assert library.left() == 0
    assert kept(library) == anew(rows, day.bench.log)
    answers_are_right(library, day.bench.log, rows)


# What it costs.


@pytest.mark.parametrize("shifts_first", [False, True])
def test_a_job_of_two_workers_is_read_once_when_all_is_made_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, shifts_first: bool
) -> None:
    bench = Worked(tmp_path, "maintenance_wash", "hatchback", hands=2, seed=1).bench
    library = Library(bench.log, VIEWS, kept="memory")
    assert library.left("job") == 1 and library.left("shift") == 2
    read: list[object] = []
    rows_of = Log.rows_of

    def counted(log: Log, *args: Collection[str]) -> list[Row]:
        read.append(args)
        return rows_of(log, *args)

    with monkeypatch.context() as patched:
        patched.setattr(Log, "rows_of", counted)
        if shifts_first:
            todo = library.history.todo
            patched.setattr(library.history, "todo", lambda count: todo(count)[::-1])
        while library.slice(0.0):
            pass
    assert len(read) == 1
    assert kept(library) == anew(bench.log.all_rows(), bench.log)
    library.close()
    bench.close()


def test_a_press_writes_nothing_to_the_file(day: Day) -> None:
    day.bench.library.settle()
    with closing(sqlite3.connect(path_beside(day.path))) as db:
        before = db.execute("PRAGMA data_version").fetchone()
        for _ in range(3):
            press(day)
            right(day.bench.library, day)
        assert db.execute("PRAGMA data_version").fetchone() == before
        day.bench.library.settle()
        assert db.execute("PRAGMA data_version").fetchone() != before


def test_it_is_written_after_a_shift_or_a_job_ended_and_not_by_other_presses(day: Day) -> None:
    library = day.bench.library
    library.settle()
    reach = library.history.reach
    press(day)
    library.tend(1)
    assert library.history.reach == reach
    over = dict.fromkeys(("unfinished", "not_looked"), "enough for a test")
    day.bench.do(rules.close_job, day.job, over)
    assert library.history.reach == reach
    library.tend(1)
    assert library.history.reach == day.bench.log.head.seq
    day.bench.do(rules.clock_off)
    library.tend(1)
    assert library.history.reach == day.bench.log.head.seq


def test_an_answer_about_a_stretch_changes_what_was_told_of_it(day: Day) -> None:
    library = day.bench.library
    library.settle()
    right(library, day)
    shift = day.bench.shift()
    assert shift is not None
    worked = [span for span in shift.spans if isinstance(span.doing, Hands)]
    for span in worked:
        day.bench.do(rules.judge_gap, span.start_us, span.end_us, "off")
        right(library, day)
    assert worked


def test_settling_when_nothing_was_written_writes_nothing(day: Day) -> None:
    day.bench.library.settle()
    with closing(sqlite3.connect(path_beside(day.path))) as db:
        before = db.execute("PRAGMA data_version").fetchone()
        assert day.bench.library.settle()
        assert db.execute("PRAGMA data_version").fetchone() == before


def test_another_program_that_holds_the_file_puts_off_and_holds_nothing_up(day: Day) -> None:
    day.bench.library.history.rows("PRAGMA busy_timeout = 0")
    with closing(sqlite3.connect(path_beside(day.path), isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        assert not day.bench.library.settle()
        right(day.bench.library, day)
        other.execute("ROLLBACK")
    assert day.bench.library.settle()
    right(day.bench.library, day)


# Whose it is.


def test_it_is_for_its_owners_eyes_whatever_the_umask(tmp_path: Path) -> None:
    before = os.umask(0)
    try:
        day = Day(tmp_path)
        day.bench.library.settle()
        modes = {
            path.name: stat.S_IMODE(path.stat().st_mode) for path in tmp_path.glob("history.db*")
        }
    finally:
        os.umask(before)
    assert modes == dict.fromkeys(("history.db", "history.db-wal", "history.db-shm"), 0o600)
    day.bench.close()


def test_a_log_of_another_name_has_a_file_of_its_own(tmp_path: Path) -> None:
    assert path_beside(tmp_path / "log.db") == tmp_path / "history.db"
    assert path_beside(tmp_path / "old.db") == tmp_path / "old-history.db"


def test_what_is_not_ours_is_left_alone(day: Day) -> None:
    day.bench.close()
    path = path_beside(day.path)
    for end in ("", "-wal", "-shm"):
        path.with_name(path.name + end).unlink(missing_ok=True)
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("CREATE TABLE visits (place TEXT)")
        db.execute("INSERT INTO visits VALUES ('meadow')")
    library = day.again().library
    assert library.history.in_memory
    make_all(library)
    right(library, day)
    assert asked(day, "SELECT * FROM visits") == [("meadow",)]


def test_where_no_file_can_be_made_it_is_kept_in_memory(day: Day) -> None:
    day.bench.close()
    path = path_beside(day.path)
    for end in ("", "-wal", "-shm"):
        path.with_name(path.name + end).unlink(missing_ok=True)
    path.mkdir()
    library = day.again().library
    assert library.history.in_memory
    assert PRODUCTS.known(library) is None
    make_all(library)
    right(library, day)
    press(day)
    right(library, day)
    assert library.settle()
    right(library, day)


# When it does not fit.


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE made SET version = version + 1 WHERE view = 'lessons'",
        "DELETE FROM made WHERE view = 'films'",
        "INSERT INTO made VALUES ('of a newer version', 1)",
        "UPDATE reach SET digest = 'another'",
        "UPDATE reach SET seq = seq + 1",
        "UPDATE reach SET seq = seq - 1",
        "UPDATE reach SET origin = 'another cart'",
        "DELETE FROM reach",
        "DROP TABLE made",
    ],
)
def test_a_file_that_does_not_fit_is_thrown_away(day: Day, statement: str) -> None:
    day.bench.library.settle()
    changed(day, statement)
    library = day.again().library
    assert not library.history.in_memory
    assert library.left("job") == 2
    make_all(library)
    right(library, day)


def test_a_backup_put_back_is_another_log(day: Day) -> None:
    day.bench.log.backup(day.path.with_name("backup"))
    press(day)
    day.bench.library.settle()
    day.bench.close()
    for end in ("", "-wal", "-shm"):
        day.path.with_name(day.path.name + end).unlink(missing_ok=True)
    day.path.with_name("backup").rename(day.path)
    bench = day.again()
    assert bench.library.left("job") == 2
    make_all(bench.library)
    right(bench.library, day)


def test_a_damaged_file_is_moved_away_and_made_anew(day: Day) -> None:
    day.bench.library.settle()
    day.bench.close()
    path = path_beside(day.path)
    path.write_bytes(b"no database" * 1000)
    library = day.again().library
    assert not library.history.in_memory
    assert path.with_name("history.db.damaged").read_bytes()[:11] == b"no database"
    make_all(library)
    right(library, day)


def test_a_file_that_breaks_while_it_is_read_is_given_up(day: Day) -> None:
    day.bench.library.settle()
    day.bench.library.history.rows("DROP TABLE used_product")
    assert day.bench.library.rows("SELECT * FROM used_product") == []
    assert day.bench.known_products is None
    make_all(day.bench.library)
    assert day.bench.library.history.in_memory
    right(day.bench.library, day)


# In slices.


def test_parts_are_made_newest_first_one_by_one_and_a_cut_slice_costs_itself(day: Day) -> None:
    newest = day.open_job(2)
    day.bench.close()
    path_beside(day.path).unlink()
    library = day.again().library
    assert [library.left(of) for of in ("job", "shift", "product")] == [3, 1, 1]
    assert library.slice(0) == 4
    assert asked(day, "SELECT id FROM job_line") == [(newest,)]
    # The program ends: what was made stays made.
    library = day.again().library
    assert library.left() == 4
    make_all(library)
    right(library, day)


def test_what_is_pressed_between_two_slices_is_in_no_part_twice(day: Day) -> None:
    day.bench.close()
    path_beside(day.path).unlink()
    library = day.again().library
    while library.left():
        press(day)
        library.slice(0)
    right(library, day)


# With another program.


def test_parts_older_than_what_another_wrote_are_not_written_over_it(
    day: Day, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The other presses and settles between the reckoning of the parts and their writing."""
    library = day.bench.library
    library.settle()
    press(day)
    write = library.history.write

    def overtaken(*args: object) -> bool:
        monkeypatch.undo()
        with closing(Bench.open(day.path, day.clock, "me", day.entropy)) as other:
            other.do(rules.take_up, next(m for m in other.moves() if m.act == "take up"))
            other.do(rules.note_shift, ev.DrinkTaken(250))
            assert other.library.settle()
        return write(*args)  # type: ignore[arg-type]  # as it was called

    monkeypatch.setattr(library.history, "write", overtaken)
    assert not library.settle()
    day.bench._caught_up()
    right(library, day)
    assert library.settle()
    right(library, day)


def test_a_part_made_of_fewer_rows_than_the_file_reaches_is_not_written(day: Day) -> None:
    """The other begins the file anew as of rows this program has not looked at."""
    with closing(Bench.open(day.path, day.clock, "me", day.entropy)) as other:
        for _ in range(3):
            other.do(rules.note_shift, ev.DrinkTaken(250))
            other.do(rules.take_up, next(m for m in other.moves() if m.act == "take up"))
            day.clock.wind(60)
        other.library.history.close()
        path_beside(day.path).unlink()
        Library(other.log, VIEWS).history.close()
    behind = Library(day.bench.log, VIEWS)
    assert behind.left() > 0
    assert behind.slice(1) == behind.left() > 0
    behind.history.close()
    library = day.again().library
    make_all(library)
    right(library, day)


def test_a_newer_version_that_made_the_file_its_own_is_left_alone(day: Day) -> None:
    day.bench.library.settle()
    with closing(sqlite3.connect(path_beside(day.path))) as newer, newer:
        newer.execute("UPDATE made SET version = version + 1")
        newer.execute("DROP TABLE film_line")
    press(day)
    make_all(day.bench.library)
    right(day.bench.library, day)
    assert day.bench.library.history.in_memory
    assert asked(day, "SELECT min(version) FROM made") == [(2,)]


@pytest.mark.parametrize("seed", range(3))
def test_two_programs_live_on_one_log(tmp_path: Path, seed: int) -> None:
    live(tmp_path, seed, 50)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(8))
def test_two_programs_live_on_one_log_for_long(tmp_path: Path, seed: int) -> None:
    live(tmp_path, 1000 + seed, 160)


def live(folder: Path, seed: int, steps: int) -> None:
    """Two programs press, correct, settle and slice in turns; each answers as anew."""
    chance, clock = random.Random(seed), HandClock(START_US)
    benches = [Bench.open(folder / "log.db", clock, worker) for worker in ("me", "helper")]
    benches[0].do(
        rules.open_job, benches[0].new_id(), ev.JobOpened(PLANS[0], "", 1, "green estate")
    )
    for bench in benches:
        with suppress(Refused):
            bench.do(rules.clock_on, ev.ClockedOn("carport"))
    for _ in range(steps):
        bench = chance.choice(benches)
        clock.wind(chance.randint(1, 90))
        with suppress(Asks, Refused):
            turn(bench, chance)
        if bench.log.refresh() != benches[0].log.head or bench.rows[-1].seq != bench.log.head.seq:
            # What the other wrote is folded, as a press would.
            bench._caught_up()
        rows = bench.log.all_rows()
        assert kept(bench.library) == anew(rows, bench.log)
    for bench in benches:
        bench.close()


def turn(bench: Bench, chance: random.Random) -> None:
    """One thing a worker or the program does."""
    match chance.randrange(14):
        case 0:
            bench.undo()
        case 1:
            bench.do_as(bench.worker, chance.randint(1, 200) * 1_000_000, rules.note_shift,
                        ev.ReadingTaken(air_c=float(chance.randint(10, 30))))  # fmt: skip
        case 2:
            rows = [row for row in bench.rows if row.by == "worker" and row.corrects is None]
            bench.strike(chance.choice(rows[-30:]).press)
        case 3 | 4:
            bench.library.settle()
        case 5:
            bench.library.slice(0)
        case 6:
            bench.do(rules.clock_off)
        case 7:
            bench.do(rules.clock_on, ev.ClockedOn("carport"))
        case _:
            moves = bench.moves()
            if moves:
                bench.do(rules.take_up, moves[chance.randrange(min(2, len(moves)))])
