"""What a shell can ask before anything else: where things are, which jobs, which settings."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from cartclock.engine.dates import day_of, instant
from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts import events as ev
from cartclock.engine.joined.forgotten import note_forgotten
from cartclock.engine.joined.membership import Joined, join
from cartclock.engine.plan.plan import Plan, Stage, Work
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import HandClock, SystemClock
from cartclock.engine.store.laptop.show_key import show_key
from cartclock.engine.store.settings import Settings, load_settings
from cartclock.engine.store.whole.backups import back_up
from cartclock.tui.commands.completions import SHELLS
from cartclock.tui.commands.door import ASKED
from cartclock.tui.commands.group import commands
from cartclock.tui.commands.unforeseen import told as fault_told
from tests.kit.day import Day
from tests.kit.on_path import cartclock_on_path

PLAN = Plan("Maintenance wash", (Stage("Wash", ("body",), (Work("rinse", 10.0),)),))
VEHICLES = ("bottle green estate", "Élan saloon", "bottle green van [x]")


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder for everything."""
    monkeypatch.setenv("CARTCLOCK_HOME", str(tmp_path / "home"))
    for name in ("XDG_DATA_HOME", "XDG_CONFIG_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name))
    (tmp_path / "home").mkdir()
    return tmp_path / "home"


@pytest.fixture
def three_jobs(home: Path) -> Path:
    """A log with three jobs, the first of them closed."""
    clock = HandClock(instant("2025-10-24 10:00", "UTC"))
    bench = Bench.open(home / "log.db", clock)
    for number, vehicle in enumerate(VEHICLES, 1):
        job = bench.new_id()
        bench.do(rules.open_job, job, ev.JobOpened(PLAN, "", number, vehicle, "UTC"))
        if number == 1:
            bench.do(rules.close_job, job, {"unfinished": "the owner came early"})
        clock.wind(3600)
    bench.close()
    return home


def ran(*words: str) -> Result:
    return CliRunner().invoke(commands, list(words))


def test_jobs_are_listed_by_number_and_found_by_their_vehicle(three_jobs: Path) -> None:
    assert [line.split()[:2] for line in ran("jobs").stdout.splitlines()] == [
        ["1", "closed"],
        ["2", "open"],
        ["3", "open"],
    ]
    assert ran("jobs", "GREEN", "estate").stdout.split() == (
        ["1", "closed", "Fri", "24", "Oct", "2025", "bottle", "green", "estate"]
    )
    # Accents are not asked for.
    (found,) = json.loads(ran("jobs", "--json", "elan").stdout)
    assert (found["number"], found["vehicle"], found["state"]) == (2, VEHICLES[1], "open")
    none = ran("jobs", "tractor")
    assert (none.exit_code, none.stdout) == (1, "") and "cartclock history" in none.stderr


def test_without_a_log_there_is_no_job_and_nothing_is_made(home: Path) -> None:
    assert ran("jobs").exit_code == 1
    assert list(home.iterdir()) == []


def test_the_last_job_and_the_days_near_have_names(three_jobs: Path) -> None:
    assert ran("record", "last").stdout == ran("record", "3").stdout
    today = day_of(SystemClock().read().wall_us, "UTC").isoformat()
    settled = three_jobs / "settings.toml"
    settled.write_text('zone = "UTC"\n')
    assert ran("day", "today").stdout == ran("day", today).stdout
    assert ran("day", "yesterday").exit_code == 0
    assert ran("record", "99").exit_code == 1


def test_where_everything_is(home: Path) -> None:
    told = ran("where").stdout.splitlines()
    *others, manual = told
    assert all(line.endswith("(not there yet)") for line in others)
    assert Path(manual.split(maxsplit=1)[1]).read_text(encoding="utf-8").startswith("# The manual")
    assert ran("new", "--from", "maintenance_wash", "--body", "van", "--keep").exit_code == 0
    assert [path.name for path in (home / "plans").iterdir()] == ["maintenance_wash_van.toml"]
    again = ran("new", "--from", "maintenance_wash", "--body", "van", "--keep")
    assert again.exit_code == 1
    both = ran("new", "--from", "maintenance_wash", "--keep", "--out", "x.toml")
    assert both.exit_code == 2
    plans = next(line for line in ran("where").stdout.splitlines() if line.startswith("plans"))
    assert plans.split() == ["plans", str(home / "plans")]
    assert json.loads(ran("where", "--json").stdout)["plans"] == str(home / "plans")


def test_whatever_a_day_leaves_behind_is_named(home: Path) -> None:
    day = Day(home)
    for _ in range(3):
        day.take(60)
    log = day.bench.log.path
    show_key(log)
    join(Joined("127.0.0.1", "north-1"), "a long one", log)
    note_forgotten(log, ["a reference"])
    assert fault_told(ZeroDivisionError(), log)[0]
    for words in (("settings", "--write"), ("new", "--from", "maintenance_wash", "--keep")):
        assert ran(*words).exit_code == 0
    assert ran("paper", "record", "1", "--folder").exit_code == 0
    assert ran("check-log").exit_code == 0
    assert ran("history").exit_code == 0
    back_up(log, day_of(day.bench.now_us, "UTC").isoformat())
    day.bench.close()
    named = set(json.loads(ran("where", "--json").stdout).values())
    left = {str(path) for path in home.iterdir()}
    assert {
        str(home / name) for name in ("show.key", "shop.pass", "fault.txt", "papers", "history.db")
    } <= left
    # What SQLite has beside a database goes with it.
    assert {path for path in left if not path.endswith(("-wal", "-shm"))} <= named
    assert not any("not there" in line for line in ran("where").stdout.splitlines())


def test_a_settings_file_is_printed_and_written_once_and_settles_nothing(home: Path) -> None:
    assert "## Name under which presses are logged" in ran("settings").stdout
    assert ran("settings", "--write").exit_code == 0
    found = load_settings(home / "settings.toml")
    assert found == Settings(zone=found.zone)
    kept = (home / "settings.toml").read_bytes()
    assert ran("settings", "--write").exit_code == 1
    assert (home / "settings.toml").read_bytes() == kept


def test_a_line_with_a_fault_stops_no_command_and_is_said(three_jobs: Path) -> None:
    (three_jobs / "settings.toml").write_text('theme = "moon"\n')
    found = ran("jobs")
    assert (found.exit_code, len(found.stdout.splitlines())) == (0, 3)
    assert "settings.toml: theme:" in found.stderr and "That line is not heeded." in found.stderr
    (three_jobs / "settings.toml").write_text('zone = "Mars/Olympus"\n')
    assert ran("jobs").exit_code == 2


def asked(words: str, at: int, shell: str = "bash") -> list[str]:
    """What the program answers a shell that asks how the word `at` of a line goes on."""
    done = subprocess.run(
        [sys.executable, "-m", "cartclock"],
        env={**os.environ, ASKED: f"{shell}_complete", "COMP_WORDS": words, "COMP_CWORD": str(at)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stderr == ""
    return done.stdout.split()


def test_a_shell_is_told_how_words_go_on(three_jobs: Path) -> None:
    assert asked("cartclock rec", 1) == []
    assert asked("cartclock his", 1) == ["plain,history"]
    assert asked("cartclock paper record ", 3) == ["plain,last", "plain,3", "plain,2", "plain,1"]
    assert "plain,maintenance_wash" in asked("cartclock new --from ", 3)
    # A log that cannot be read finishes no word, and says nothing into the line.
    (three_jobs / "log.db").write_bytes(b"no log")
    assert asked("cartclock paper record ", 3) == []


@pytest.mark.parametrize("shell", SHELLS)
def test_a_shell_takes_what_it_is_given_and_it_is_written_once(home: Path, shell: str) -> None:
    text = ran("completions", shell).stdout
    written = ran("completions", shell, "--write")
    assert written.exit_code == 0
    path = Path(written.stderr.split("Written to ")[1].split(";")[0])
    assert path.read_text() == text
    assert ran("completions", shell, "--write").exit_code == 2
    if found := shutil.which(shell):
        subprocess.run([found, "-n", str(path)], check=True)


def test_today_says_what_its_screen_shows(three_jobs: Path) -> None:
    told = ran("today").stdout.splitlines()
    assert told[0].endswith("2 open jobs")
    assert [line for line in told if line.startswith(("1 ", "2 ", "3 "))] == [
        "2  Élan saloon",
        "3  bottle green van [x]",
    ]
    assert "  now: Wash" in told
    found = json.loads(ran("today", "--json").stdout)
    assert [(job["number"], job["state"], job["left_min"]) for job in found["jobs"]] == [
        (2, "open", 10),
        (3, "open", 10),
    ]
    assert found["jobs"][0]["stages_left"] == ["Wash"]
    assert found["jobs"][0]["ready"] <= found["jobs"][0]["ready_by"]
    assert (found["on_the_clock"], found["windows"]) == (False, [])


def test_today_without_a_log_makes_none(home: Path) -> None:
    assert ran("today").exit_code == 1
    assert not list(home.iterdir())


# What a key TAB would ask: bash calls its function, fish has a command, zsh is asked whether its
# function is the one of the file, as it is with the settings that it was given.
ASKS = {
    "bash": 'source "$1"; COMP_WORDS=(cartclock paper r); COMP_CWORD=2; '
    '_cartclock_completion cartclock; printf "%s\\n" "${COMPREPLY[@]}"',
    "fish": 'source $argv[1]; complete -C "cartclock paper r"',
    "zsh": "print -r -- ${_comps[cartclock]} record",
}


@pytest.mark.parametrize("shell", SHELLS)
def test_a_real_shell_goes_on_with_a_word(
    three_jobs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, shell: str
) -> None:
    found = shutil.which(shell)
    if found is None:
        pytest.skip(f"{shell} is not installed")
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("ZDOTDIR", raising=False)
    written = ran("completions", shell, "--write").stderr
    path = written.split("Written to ")[1].split(";")[0]
    if shell == "zsh":
        subprocess.run(["sh", "-c", written.split("looks there: ")[1]], check=True)
        Path(path).unlink()
        # What it has been told is not said again.
        assert "looks there" not in ran("completions", shell, "--write").stderr
    words = {"bash": ["--norc", "-c"], "zsh": ["-i", "-c"], "fish": ["-N", "-c"]}[shell]
    behind = [path] if shell == "fish" else [shell, path]
    done = subprocess.run(
        [found, *words, ASKS[shell], *behind],
        env={**os.environ, "PATH": cartclock_on_path(tmp_path)},
        stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip
    # fish says what the command is for, behind a TAB.
    goes_on = done.stdout.split()[:1]
    assert goes_on == (["_cartclock"] if shell == "zsh" else ["record"]), done.stderr


def test_help_and_tab_name_what_there_is() -> None:
    from cartclock.demo_sessions.script import sessions
    from cartclock.engine.plan.shapes import SHAPES

    for command in ("new", "outlook", "estimate", "history"):
        told = " ".join(ran(command, "--help").stdout.split())
        assert ", ".join(SHAPES) in told, command
    assert asked("cartclock new --body s", 3) == ["plain,saloon"]
    told = "".join(ran("demo", "--help").stdout.split())
    assert "|".join(sessions()) in told
    assert asked("cartclock demo dry", 2) == ["plain,dry_heat_estate"]
