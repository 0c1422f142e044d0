"""`cartclock history`, `cartclock rebuild-history`, and the owner's own door to the same file."""

from __future__ import annotations

import csv
import io
import json
import re
import shlex
import sqlite3
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from msgspec.structs import replace

from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.plan.plan import Work
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.history import path_beside
from cartclock.engine.store.library import Library
from cartclock.engine.store.plan_file.reader import read_plan
from cartclock.engine.times import Length
from cartclock.tui.commands import progress
from cartclock.tui.commands.group import commands
from cartclock.tui.commands.history import _lines
from cartclock.tui.pages.history import NO_JOB
from tests.kit.day import PLANS, Day

Run = Callable[..., Result]
PAGE = Path(__file__).parents[2] / "tui/commands/COMMANDS.md"
FRONT_PAGE = Path(__file__).parents[2] / "README.md"


@pytest.fixture
def day(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Day:
    """One job with a plate and a price, worked and closed; then an open one without."""
    monkeypatch.setenv("CARTCLOCK_HOME", str(tmp_path))
    day = Day(tmp_path)
    bench = day.bench
    bench.do(rules.note_job, day.job, ev.NoteWritten(bench.seal("swirls on the tailgate")))
    bench.do(rules.note_job, day.job, ev.AgreementNoted(bench.seal("clay"), "20.00"))
    for _ in range(3):
        day.take(600)
    bench.do(rules.close_job, day.job, {"unfinished": "enough for a test"})
    priced = ev.JobOpened(PLANS[1], "", 2, "white van, long name of a customer's own", price="60")
    bench.do(rules.open_job, bench.new_id(), replace(priced, zone="Asia/Tokyo"))
    bench.close()
    return day


@pytest.fixture
def run(day: Day) -> Run:
    return lambda *words: CliRunner().invoke(commands, words)


def numbers(done: Result) -> list[str]:
    assert done.exit_code == 0, done.stderr
    return [line.split()[0] for line in done.stdout.splitlines()[1:]]


def test_jobs_stand_newest_first_and_are_found(run: Run) -> None:
    assert numbers(run("history")) == ["2", "1"]
    assert numbers(run("history", "--most", "1")) == ["2"]
    assert numbers(run("history", "tailg", "green")) == ["1"]
    assert numbers(run("history", "--state", "open")) == ["2"]
    for name in ("me", "Me", "ME"):
        assert numbers(run("history", "--worker", name)) == ["1"]
    assert run("history", "--worker", "m").exit_code == 1
    assert numbers(run("history", "--plan", PLANS[0].name)) == ["1"]
    assert all(len(line) <= 110 for line in run("history").stdout.splitlines())
    # The second was opened at another date where its customer lives, or at the same.
    days = {line.split()[0]: line.split()[1] for line in run("history").stdout.splitlines()[1:]}
    assert numbers(run("history", "--from", days["1"], "--to", days["1"]))[-1] == "1"
    assert run("history", "--to", "2001-01-01").exit_code == 1
    # A month among the words is one, as on the screen.
    assert "1" in numbers(run("history", days["1"][:7], "tailg"))
    assert run("history", "tailg", "sep", "2001").exit_code == 1


def test_what_is_not_there_and_what_is_no_date_is_said(run: Run) -> None:
    none = run("history", "submarine")
    assert (none.exit_code, none.stdout) == (1, "") and "No job is like that" in none.stderr
    for words in (("--from", "24.10.2026"), ("--to", "20261024"), ("--csv", "rows")):
        bad = run("history", *words)
        assert (bad.exit_code, bad.stdout) == (2, ""), words
    assert run("history", "green", "--csv", "job_line").exit_code == 2
    assert run("history", "submarine", "--json").stdout == "[]\n"


def test_a_log_without_a_job_is_no_search_that_failed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CARTCLOCK_HOME", str(tmp_path))
    Bench.open(tmp_path / "log.db", HandClock(0), "me").close()
    for words in ((), ("submarine",), ("--state", "open")):
        done = CliRunner().invoke(commands, ["history", *words])
        assert (done.exit_code, done.stdout, done.stderr) == (0, f"{NO_JOB}\n", "")
        as_json = CliRunner().invoke(commands, ["history", *words, "--json"])
        assert (as_json.exit_code, as_json.stdout) == (0, "[]\n")


def test_json_says_what_the_lines_say(run: Run) -> None:
    second, first = json.loads(run("history", "--json").stdout)
    assert (first["line"]["number"], first["line"]["price"], first["money_an_hour"]) == (
        1,
        None,
        None,
    )
    assert first["line"]["extras"] == 2000
    assert first["own_us"] == first["line"]["hands_us"] + first["stood_us"] + first["other_us"] > 0
    assert (second["line"]["price"], second["money_an_hour"]) == (6000, None)


def test_a_table_goes_out_as_csv_and_no_sealed_text_with_one(day: Day, run: Run) -> None:
    rows = list(csv.DictReader(io.StringIO(run("history", "--csv", "job_line").stdout)))
    assert sorted(row["number"] for row in rows) == ["1", "2"]
    said = run("history", "--csv", "?").stderr
    tables = re.findall(r"[a-z_]+_line|lot\b", said)
    assert {"job_line", "stage_line", "use_line", "shift_line", "film_line"} <= set(tables)
    assert run("history", "--csv", "said").exit_code == 2
    for table in tables:
        done = run("history", "--csv", table)
        assert done.exit_code == 0
        assert "tailgate" not in done.stdout


def test_it_is_made_anew(day: Day, run: Run) -> None:
    assert numbers(run("history")) == ["2", "1"]
    path = path_beside(day.path)
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("UPDATE job_line SET vehicle = 'a lie'")
    assert "a lie" in run("history").stdout
    done = run("rebuild-history")
    assert (done.exit_code, done.stdout) == (0, "3 jobs, shifts and products read anew.\n")
    assert "a lie" not in run("history").stdout
    before = day.path.read_bytes()
    assert run("rebuild-history").exit_code == 0
    assert day.path.read_bytes() == before


def test_how_far_it_is_is_said_on_a_terminal_after_a_second(
    day: Day, run: Run, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    told: list[float] = []

    class Slow:
        def __enter__(self) -> Callable[[str, float], None]:
            return lambda _what, part: told.append(part)

        def __exit__(self, *_why: object) -> None: ...

    monkeypatch.setattr("cartclock.tui.commands.history.progress", Slow)
    monkeypatch.setattr("cartclock.tui.commands.history._SLICE_S", 0.0)
    assert run("rebuild-history").exit_code == 0
    assert told == sorted(told) and len(told) == 3 and told[0] == 0.0
    # And what is told stands on stderr, from the second second on.
    shown = io.StringIO()
    shown.isatty = lambda: True  # type: ignore[method-assign]  # a terminal that keeps what it shows
    times = iter((0.0, 0.5, 1.6))
    monkeypatch.setattr(progress.time, "monotonic", lambda: next(times))
    monkeypatch.setattr(sys, "stderr", shown)
    with progress.progress() as say:
        say("Reading the log", 0.2)
        say("Reading the log", 0.4)
    assert "20%" not in shown.getvalue() and "Reading the log: 40%" in shown.getvalue()


def test_what_another_program_holds_is_said(
    day: Day, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert run("history").exit_code == 0
    with closing(sqlite3.connect(path_beside(day.path), isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        held = run("rebuild-history")
        assert (held.exit_code, held.stdout) == (1, "") and "Another program" in held.stderr
        # What is read only needs nobody's leave.
        assert numbers(run("history")) == ["2", "1"]
    monkeypatch.setattr(Library, "begin_anew", lambda _library: False)
    assert run("rebuild-history").exit_code == 1


def _asked_of_the_file(page: Path) -> str:
    """The one example of a page."""
    text = page.read_text(encoding="utf-8")
    (line,) = re.findall(r"`sqlite-utils (history\.db .*?)`", text)
    return str(line)


def test_the_owners_own_door_opens(day: Day, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    from sqlite_utils.cli import cli

    assert run("history").exit_code == 0
    monkeypatch.chdir(day.path.parent)
    done = CliRunner().invoke(cli, shlex.split(_asked_of_the_file(FRONT_PAGE)))
    assert done.exit_code == 0, done.output
    asked = [row["vehicle"] for row in json.loads(done.stdout)]
    assert len(asked) == 2 and "bottle green estate" in asked
    done = CliRunner().invoke(cli, shlex.split(_asked_of_the_file(PAGE)))
    assert done.exit_code == 0, done.output
    assert {row["plan"]: row["jobs"] for row in json.loads(done.stdout)} == {
        PLANS[0].name: 1,
        PLANS[1].name: 1,
    }
    found = CliRunner().invoke(cli, ["search", "history.db", "said", "tailgate"])
    assert found.exit_code == 0, found.output
    assert len(json.loads(found.stdout)) == 1 and "swirls" in found.stdout
    # The file is still the program's own.
    assert numbers(run("history")) == ["2", "1"]


def test_a_plan_learns_and_no_file_is_written_over(day: Day, run: Run, tmp_path: Path) -> None:
    text = (
        f'format = 1\nname = "{PLANS[0].name}"\n[[stage]]\nname = "Fallout"\norder = "all"\n'
        'sections = ["left", "right", "front"]\n'
        '[[stage.step]]\nwork = "spray"\nminutes = 1   # a guess\n'
        '[[stage.step]]\nwork = "rinse"\nover = "all"\nminutes = 2\n'
    )
    mine, new = tmp_path / "mine.toml", tmp_path / "new.toml"
    mine.write_text(text, encoding="utf-8")
    # Two of three sections were finished on that day: too few.
    assert "no minutes and no weights that its jobs" in run("learn", str(mine)).stdout
    bench = day.again()
    job = bench.new_id()
    bench.do(rules.open_job, job, ev.JobOpened(PLANS[0], "", 3, "red coupe"))
    for _ in range(3):
        moves = [move for move in bench.moves() if (move.job, move.say) == (job, "spray")]
        bench.do(rules.take_up, moves[0])
        day.clock.wind(600)
    bench.do(rules.take_break, "rest", None, True)
    bench.close()
    said = run("learn", str(mine))
    assert said.stdout == (
        "Fallout, spray: 1 min a section planned, 10.0 taken (eight times in ten 7.9 to 12.7;"
        " 5 measured in 2 jobs, few): take 10\n"
    )
    assert run("learn", str(mine), "--worker", "helper").stdout.endswith("bear out.\n")
    assert run("learn", str(mine), "--out", str(new)).exit_code == 0
    assert new.read_text(encoding="utf-8") == text.replace("minutes = 1 ", "minutes = 10 ")
    again = run("learn", str(mine), "--out", str(new))
    assert again.exit_code == 1 and "is there already" in again.stderr
    assert mine.read_text(encoding="utf-8") == text


def test_a_plan_learns_what_its_sections_weigh(day: Day, run: Run, tmp_path: Path) -> None:
    mine, new = tmp_path / "mine.toml", tmp_path / "new.toml"
    text = (
        f'format = 1\nname = "{PLANS[0].name}"\n[[stage]]\nname = "Fallout"\norder = "all"\n'
        'sections = ["left", "right", "front"]\n[[stage.step]]\nwork = "spray"\nminutes = 2\n'
    )
    mine.write_text(text, encoding="utf-8")
    bench = day.again()
    for number in range(6):
        job = bench.new_id()
        bench.do(rules.open_job, job, ev.JobOpened(PLANS[0], "", 3 + number, "red coupe"))
        for minutes in (8, 2, 2):
            moves = [move for move in bench.moves() if (move.job, move.say) == (job, "spray")]
            bench.do(rules.take_up, moves[0])
            day.clock.wind(minutes * 60)
        bench.do(rules.take_break, "rest", None, True)
    bench.close()
    said = run("learn", str(mine), "--out", str(new)).stdout.splitlines()
    assert said[0].startswith("Fallout: take weights, in brackets the plan's: left 1.")
    made = read_plan(new.read_text(encoding="utf-8"), "new.toml").stages[0]
    assert made.weight_of("left") / made.weight_of("right") == pytest.approx(4.0, rel=0.3)
    # Weights and minutes together give the time that it took.
    spray = made.steps[0]
    assert isinstance(spray, Work)
    assert made.minutes_of(spray, made.sections) == pytest.approx(12.0, rel=0.15)
    assert "weights" not in run("learn", str(new)).stdout.partition("and no weights")[0]


def test_money_an_hour_stands_beside_the_hours_it_is_reckoned_on(day: Day, run: Run) -> None:
    bench = day.again()
    found = Shop(bench.log, library=bench.library).past.jobs()
    bench.close()
    # Half a minute is said as the record says it: one more.
    hands = Length(634 * 60_000_000 + 58_000_000)
    line = replace(found[0].line, state="closed", price=48000, extras=0, hands_us=hands)
    one = replace(found[0], line=line, stood_us=Length(20 * 60_000_000), other_us=Length(4_000_000))
    head, told = _lines([one], 108)
    assert " ".join(head.split()).endswith("hands planned price all work an hour")
    assert told.split()[-3:] == ["480.00", "10:55", "43.97"] and " 10:35 " in told


@pytest.mark.parametrize("wide", [108, 80, 79, 68, 67, 40])
def test_a_row_fits_the_terminal(day: Day, run: Run, wide: int) -> None:
    bench = day.again()
    found = Shop(bench.log, library=bench.library).past.jobs()
    bench.close()
    lines = _lines(found, wide)
    assert all(len(line) <= wide for line in lines)
    assert [line.split()[0] for line in lines] == ["job", "2", "1"]
    assert lines[0].split()[-1] == (["an", "hour"][-1] if wide >= 68 else "hands")
    assert ("plan" in lines[0].split()) == (wide >= 80)
    assert "20" in lines[1] and "white" in lines[1]
