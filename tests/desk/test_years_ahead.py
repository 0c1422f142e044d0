"""Days behind 2038, when seconds since 1970 no longer fit into 32 bits, and further on: the same
lengths, the right dates, every paper, and commands under a clock that says so."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

import tests.kit.month
from cartclock.engine.dates import instant, local
from cartclock.engine.desk.copies import Copies, forms
from cartclock.engine.desk.shop import Shop
from cartclock.engine.paper.papers import PAPERS
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.log import Log
from cartclock.engine.store.settings import Settings
from tests.kit.day import Day, flashing
from tests.kit.disk import COMPILER, compiled
from tests.kit.month import Month
from tests.kit.reckoner import SECOND_US
from tests.kit.terminal import terminal
from tests.store.test_month import proved

ROOT = Path(__file__).parents[2]
# What is met in the midst of a day's work, seconds since 1970, and so long before it begins.
MET_S = {
    "the end of 31 bits": 2**31,
    "the end of 32 bits": 2**32,
    "29 February 2040": round(datetime(2040, 2, 29, tzinfo=UTC).timestamp()),
    "no 29 February 2100": round(datetime(2100, 3, 1, tzinfo=UTC).timestamp()),
    "the year 9000": round(datetime(9000, 1, 1, tzinfo=UTC).timestamp()),
}
BEFORE_S = 20 * 60
DAYS = ("the end of 31 bits",)
days = pytest.mark.parametrize(
    "met_s",
    [
        pytest.param(met_s, id=day, marks=() if day in DAYS else pytest.mark.long)
        for day, met_s in MET_S.items()
    ],
)


@days
def test_a_day_in_which_all_goes_wrong(
    met_s: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its hours are those of the second reckoner, and `check-log` finds nothing."""
    monkeypatch.setattr(tests.kit.month, "BEGINS_US", (met_s - BEFORE_S) * SECOND_US)
    month = Month(tmp_path, 1, seed=5, every=4)
    rows = month.bench.log.all_rows()
    assert rows[0].at_us < met_s * SECOND_US < rows[-1].at_us
    presses, faults = proved(month)
    assert presses > 10 and faults > 1


@pytest.mark.parametrize(
    "met_s",
    [
        pytest.param(2**31, id="2038"),
        pytest.param(MET_S["no 29 February 2100"], id="2100", marks=pytest.mark.long),
    ],
)
def test_every_paper_has_the_dates_of_its_days(
    met_s: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tests.kit.month, "BEGINS_US", (met_s - BEFORE_S) * SECOND_US)
    bench = Month(tmp_path, 1, seed=6, every=1000).bench
    now_us = bench.now_us
    copies = Copies(Shop(bench.log), Settings(zone="UTC"), tmp_path, lambda: now_us)
    # By the calendar of the standard library; the day is the same in UTC as the clock says.
    began = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=met_s - BEFORE_S)
    for document in PAPERS:
        handle = f"{began:%Y-%m-%d}" if PAPERS[document].of == "day" else "1"
        for form in forms(document):
            made = copies.copy(document, handle, form)
            assert made, (document, form)
            if form == "json":
                assert json.loads(made)
            if form == "text":
                years = {began.year, (began + timedelta(days=1)).year}
                assert any(str(year) in made.decode() for year in years), document
    record = copies.copy("record", "1", "text").decode()
    assert f"{began.day} {began:%b} {began:%Y}" in record
    bench.close()


# Directive 2000/84/EC: the last Sundays of March and October at 01:00 UTC. 15 U.S.C. 260a: the
# second Sunday of March and the first of November at 02:00 by the clock. Sundays by the calendar
# of the standard library.
CHANGES = [
    ("Europe/Berlin", datetime(2038, 3, 28, 1, tzinfo=UTC), 1, 2),
    ("Europe/Berlin", datetime(2038, 10, 31, 1, tzinfo=UTC), 2, 1),
    ("Europe/Berlin", datetime(2061, 3, 27, 1, tzinfo=UTC), 1, 2),
    ("America/New_York", datetime(2038, 3, 14, 7, tzinfo=UTC), -5, -4),
    ("America/New_York", datetime(2038, 11, 7, 6, tzinfo=UTC), -4, -5),
    ("America/New_York", datetime(2061, 11, 6, 6, tzinfo=UTC), -4, -5),
]


@pytest.mark.parametrize(
    ("zone", "at", "before", "after"),
    CHANGES,
    ids=[
        f"{'Directive 2000/84/EC' if '/B' in zone else '15 U.S.C. 260a'} {zone} {at:%Y-%m}"
        for zone, at, _before, _after in CHANGES
    ],
)
def test_clocks_change_behind_2038(zone: str, at: datetime, before: int, after: int) -> None:
    assert at.weekday() == 6
    at_us = round(at.timestamp()) * SECOND_US
    for shift_s, hours in ((-1, before), (0, after)):
        there = local(at_us + shift_s * SECOND_US, zone)
        assert there.utcoffset() == timedelta(hours=hours)
    noon = f"{at:%Y-%m-%d} 12:00"
    assert local(instant(noon, zone), zone).utcoffset() == timedelta(hours=after)


# What a board may say after its battery was empty, or whose seconds have run over.
WRONG_S = {"1901": -(2**31), "1969": -1, "1970": 0, "2038": 2**31, "2106": 2**32, "2242": 2**33}


@pytest.mark.parametrize("wall_s", WRONG_S.values(), ids=WRONG_S)
def test_a_boot_in_another_age_asks_for_the_time(wall_s: int, tmp_path: Path) -> None:
    day = Day(tmp_path)
    window = flashing(day)
    pressed_us = day.bench.rows[-1].at_us
    day.bench.beat()
    last_us = day.bench.now_us
    day.clock = HandClock(wall_s * SECOND_US, "boot-2")
    again = day.again()
    again.wake()
    assert again.time_unsure and pressed_us <= again.now_us <= last_us
    day.clock.wind(30)
    again.say_time(last_us + 30 * SECOND_US)
    assert not again.time_unsure
    assert again.jobs[day.job].running == [window]
    assert day.whole()
    again.close()


@pytest.mark.parametrize("step_s", [2**31, -(2**31), 2**32, -(2**32)])
def test_a_clock_that_runs_over_moves_no_length(step_s: int, tmp_path: Path) -> None:
    day = Day(tmp_path)
    day.bench.tick()
    window = flashing(day)
    now_us = day.bench.now_us
    day.clock.set_wall(step_s)
    assert day.bench.now_us == now_us
    day.clock.wind(60)
    day.bench.tick()
    day.bench.beat()
    assert day.bench.jobs[day.job].running == [window]
    assert day.bench.now_us == now_us + 60 * SECOND_US
    assert day.whole()
    day.bench.close()


# What each of several commands says, and its exit code.
COMMANDS = """
import json, sys
from click.testing import CliRunner
from cartclock.tui.commands.group import commands
done = [CliRunner().invoke(commands, line.split()) for line in sys.argv[1:]]
print(json.dumps([(one.exit_code, one.stdout + one.stderr) for one in done]))
"""


@pytest.mark.skipif(
    COMPILER is None or sys.platform != "linux", reason="no compiler for the clock of tests/kit"
)
def test_the_program_under_a_clock_of_2040(tmp_path: Path) -> None:
    """The screens and the commands as processes, the clock of libc fourteen years ahead."""
    wall = compiled(tmp_path, "wall")
    to_s = round(datetime(2040, 6, 1, 8, tzinfo=UTC).timestamp())
    now_s = datetime.now(UTC).timestamp()
    home = tmp_path / "home"
    home.mkdir()
    env = {"LD_PRELOAD": str(wall), "CARTCLOCK_WALL_S": str(round(to_s - now_s)), "TZ": "UTC"}
    with terminal(home, env=env) as child:
        child.wait_for("quit")
        child.answer("\x1b", "SPACE clocks you on")
        child.answer("i", "SPACE")
        child.answer(" ", "T shows what waits")
        assert child.kill(signal.SIGTERM) == 128 + signal.SIGTERM
    with Log.open(home / "log.db") as log:
        (row,) = log.all_rows()
    assert f"{local(row.at_us, 'UTC'):%Y-%m-%d}" == "2040-06-01"

    copy = str(tmp_path / "copy.db")
    lines = ("now", "day 2040-06-01", "check-log", f"backup {copy}", f"restore {copy}")
    done = subprocess.run(
        [sys.executable, "-c", COMMANDS, *lines],
        cwd=ROOT,
        env={**os.environ, **env, "CARTCLOCK_HOME": str(home)},
        capture_output=True,
        text=True,
        check=True,
    )
    said = json.loads(done.stdout)
    assert [code for code, _text in said] == [0] * len(lines), said
    _now, day, checked, _copied, restored = (text for _code, text in said)
    assert "1 Jun 2040" in day and "every link holds" in checked and "2040-06-01" in restored
