"""What is found by words, and that a text which was forgotten has left every file."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from cartclock.engine.desk.past import Past
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.history.answers import Sought
from cartclock.engine.hours.interruptions import Interrupted
from cartclock.engine.rules import amending, arrival, packs, rules
from cartclock.engine.store import codec
from cartclock.engine.store.history import History, path_beside
from cartclock.engine.store.log import Log
from cartclock.engine.store.views import VIEWS
from cartclock.engine.store.views.said import SAID
from cartclock.engine.trouble import StoreFault
from tests.kit.day import PLANS, Day
from tests.kit.viewed import make_all

PLATE, NAME, NOTE = "ZQX-7731", "Łucja Zażółć", "quindecagonal swirls"
# Beginnings, too: an index of words holds the beginnings of words by themselves.
SECRETS = (b"zqx", b"7731", b"zazo", b"quin", "zażół".encode(), PLATE.encode(), NAME.encode())


@pytest.fixture
def day(tmp_path: Path) -> Iterator[Day]:
    """A job with a plate, a name, a note and a reason, worked with one lot; then another."""
    day = Day(tmp_path)
    bench = day.bench
    for what, text in (("plate", PLATE), ("customer", NAME)):
        bench.do(amending.amend, day.job, ev.JobAmended(what, bench.seal(text)))
    bench.do(rules.note_job, day.job, ev.NoteWritten(bench.seal(NOTE)))
    bench.do(arrival.note_vehicle, day.job, ev.DamageNoted("driver door", "scratch"))
    bench.do(packs.open_pack, ev.PackOpened("fallout", 500.0, lot="WI-4A21", name="Fallout"))
    day.clock.wind(60)
    day.take(60)
    bench.do(rules.take_break, "rest", None, True)
    day.clock.wind(60)
    bench.do(packs.open_pack, ev.PackOpened("fallout", 500.0, lot="WI-4B00"))
    yield day
    day.bench.close()


def found(past: Past, words: str) -> list[int]:
    return sorted(one.line.number for one in past.jobs(Sought(words=words)))


def settled(day: Day) -> Past:
    """Asked of the file."""
    day.bench.library.settle()
    assert not day.bench.library.parts(SAID)
    return Shop(day.bench.log, library=day.bench.library).past


@pytest.mark.parametrize("kept", [False, True], ids=["in memory", "in the file"])
def test_jobs_are_found_by_what_is_said_of_them(day: Day, kept: bool) -> None:
    second = day.open_job(1)
    day.bench.do(rules.note_job, second, ev.NoteWritten(day.bench.seal("tar on the sill")))
    day.bench.do(amending.amend, second, ev.JobAmended("plate", day.bench.seal("NÖ34RST")))
    past = settled(day) if kept else Shop(day.bench.log, library=day.bench.library).past
    for words, numbers in {
        "green": [1, 2],
        "GREEN esta": [1, 2],
        "zqx": [1],
        "7731": [1],
        "zqx-77": [1],
        # A plate is typed with blanks and hyphens, or without.
        "zqx7731": [1],
        "ZQX77": [1],
        "zq x77 31 green": [1],
        "qx7731": [],
        "nö-34 rst": [2],
        "green no 34rst": [2],
        "NÖ34": [2],
        "n ö 3 4": [2],
        "no 35": [],
        "zazo": [1],
        # A letter with a stroke through it is one of its own, with an accent it is not.
        "zazol": [],
        "ZAZOŁC": [1],
        "quinde green": [1],
        "tar": [2],
        "tar quinde": [],
        "een": [],
        # Of its panels those with damage, or all jobs would be found by each.
        "driver door": [1],
        "scratch zqx": [1],
        "tailgate": [],
        "wi-4a21": [1],
        # A lot by any part of it, as by the whole.
        "4a21": [1],
        "4A2": [1],
        "wi 4a": [1],
        "a21": [],
        "i4a": [],
        "WI4A": [1],
        "wi-4b": [],
        "-": [],
        '"': [],
        'green"': [1, 2],
        "green NOT": [],
        "open:green": [],
        "*": [],
    }.items():
        assert found(past, words) == numbers, words
    assert found(past, " ") == [1, 2]
    for worker, numbers in {"me": [1], "ME": [1], "m": [], "you": []}.items():
        both = past.jobs(Sought(words="green", worker=worker))
        assert [one.line.number for one in both] == numbers, worker


def test_what_is_said_otherwise_is_not_found_as_it_was(day: Day) -> None:
    past = settled(day)
    bench = day.bench
    bench.do(amending.amend, day.job, ev.JobAmended("plate", bench.seal("NEW 1")))
    assert (found(past, "zqx"), found(past, "new")) == ([], [1])
    past = settled(day)
    assert (found(past, "zqx"), found(past, "new")) == ([], [1])
    bench.undo()
    assert (found(past, "zqx"), found(past, "new")) == ([1], [])


def test_an_empty_log_answers_everything_with_nothing(tmp_path: Path) -> None:
    with Log.open(tmp_path / "log.db") as log:
        shop = Shop(log)
        past = shop.past
        answers = (
            *(past.jobs(), past.jobs(Sought(words="green")), past.money(), past.stages("a plan")),
            *(past.films("me", "coat"), past.heat("me", "2026-01-01", "2026-12-31")),
            *(past.products("2026-01", "2026-12"), past.plans(), shop.lessons("me", "a plan")),
            past.proposed_weights("me", PLANS[0]),
        )
        assert not any(answers)
        assert shop.interrupted("me") == Interrupted(0, 0, 0, 0.0)
        assert past.proposed_minutes("me", PLANS[0]) == ()
        past.forget([])
        shop.library.close()


def letters(day: Day) -> set[bytes]:
    """The secrets that stand in any file beside the log, in capitals or not."""
    bytes_ = b"".join(
        path.read_bytes() for path in sorted(day.path.parent.rglob("*")) if path.is_file()
    )
    lower = bytes_.lower()
    return {secret for secret in SECRETS if secret in bytes_ or secret in lower}


def refs(day: Day) -> list[str]:
    rows = day.bench.log.all_rows()
    return [sealed.ref for row in rows for sealed in codec.seals(row.event)]


@pytest.mark.parametrize("how", ["settled", "pressed since", "changed before", "still to be made"])
def test_a_forgotten_text_leaves_no_letter_in_any_file(day: Day, how: str) -> None:
    bench = day.bench
    if how != "still to be made":
        past = settled(day)
        assert letters(day) >= {b"zqx", b"7731", b"quin"}
    else:
        past = Shop(bench.log).past
    if how == "pressed since":
        bench.do(rules.note_job, day.job, ev.NoteWritten(bench.seal("quindecagonal again")))
    if how == "changed before":
        # The index of words keeps what it held until it is written anew.
        for what in ("plate", "customer"):
            bench.do(amending.amend, day.job, ev.JobAmended(what))
        past = settled(day)
        assert letters(day)
    past.forget(refs(day))
    assert letters(day) == set()
    assert found(past, "zqx") == found(past, "quinde") == found(past, "zazo") == []
    make_all(bench.library)
    bench.library.settle()
    assert letters(day) == set()
    assert found(Shop(bench.log, library=bench.library).past, "green") == [1]
    with closing(sqlite3.connect(path_beside(day.path))) as db:
        (count,) = db.execute("SELECT count(*) FROM words WHERE words MATCH 'green'").fetchone()
        db.execute("INSERT INTO words (words) VALUES ('integrity-check')")
    assert count == 1


def test_what_was_forgotten_is_not_written_again_by_another_program(day: Day) -> None:
    past = settled(day)
    other = Shop(Log.open(day.path))
    day.bench.do(rules.note_job, day.job, ev.NoteWritten(day.bench.seal("one more")))
    # It has made the line of the job of the log as it was, and not written it yet.
    other.log.refresh()
    assert found(other.past, "zqx") == [1]
    past.forget(refs(day))
    other.library.settle()
    other.library.close()
    other.log.close()
    day.bench.log.forget([])
    assert letters(day) == set()


def test_a_file_that_is_held_is_told_of(day: Day) -> None:
    past = settled(day)
    with closing(sqlite3.connect(path_beside(day.path), isolation_level=None)) as reader:
        reader.execute("BEGIN")
        reader.execute("SELECT count(*) FROM said").fetchone()
        with pytest.raises(StoreFault, match="forget it again"):
            past.forget(refs(day))
    past.forget(refs(day))
    assert letters(day) == set()


def test_a_damaged_file_that_was_moved_away_goes_with_the_text(day: Day) -> None:
    past = settled(day)
    damaged = path_beside(day.path).with_name("history.db.damaged")
    damaged.write_bytes(PLATE.encode())
    past.forget(refs(day))
    assert not damaged.exists()
    assert letters(day) == set()


def test_no_question_reads_a_table_from_end_to_end(
    day: Day, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Or it would take longer the longer the log is; in the order of an index it may go, as far
    as it must."""
    shop = Shop(day.bench.log, library=day.bench.library)
    past, plan = settled(day), day.bench.jobs[day.job].opened.plan
    asked: list[tuple[str, tuple[object, ...]]] = []
    rows = History.rows

    def noted(history: History, query: str, *values: object) -> list[tuple[object, ...]]:
        asked.append((query, values))
        return rows(history, query, *values)

    monkeypatch.setattr(History, "rows", noted)
    for sought in (
        Sought(),
        Sought(words="green wi4a"),
        Sought(plan=plan.name, shape="van", state="closed"),
        Sought(shape="van"),
        Sought(state="open"),
        Sought(priced=True),
        Sought(worker="me", from_day="2026-01-01", to_day="2026-12-31"),
    ):
        past.jobs(sought, 20)
    past.money()
    past.stages(plan.name, "van")
    past.films("me", "coat")
    past.heat("me", "2026-01-01", "2026-12-31")
    past.products("2026-01", "2026-12")
    past.proposed_minutes("me", plan)
    past.proposed_weights("me", plan)
    past.count()
    past.plans()
    shop.lessons("me", plan.name)
    shop.interrupted("me")
    shop.usual("me", ("Fallout", "spray", 0))
    db = day.bench.library.history.connection
    plans = [
        line[3]
        for query, values in asked
        if query.startswith("SELECT")
        for line in db.execute(f"EXPLAIN QUERY PLAN {query}", values)
    ]
    tables = {table for view in VIEWS for table in view.tables}
    assert {plan.split()[1] for plan in plans if plan.startswith("SEARCH")} >= {
        *("said", "lot", "lot_part", "drawn", "job_line", "stage_line", "served_line", "use_line"),
        *("shift_line", "film_line", "lesson", "taught", "job_hands"),
    }
    scanned = [plan for plan in plans if plan.startswith("SCAN") and "USING" not in plan]
    assert not [plan for plan in scanned if plan.split()[1] in tables]
