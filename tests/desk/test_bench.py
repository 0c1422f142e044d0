"""The bench on a real log: restarts, kills, a second program, a disk that fails."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.shift import Free, Hands, Other
from cartclock.engine.rules import packs, rules
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.log import Log
from cartclock.engine.trouble import StoreFault
from tests.kit.day import START_US, Day, flashing, refused
from tests.kit.reckoner import SECOND_US

MINUTE_US = 60 * SECOND_US
MINUTE = 60
HOUR = 3600
ROOT = Path(__file__).parents[2]


@pytest.fixture
def day(tmp_path: Path) -> Iterator[Day]:
    """A job of fallout remover and coat, nothing done yet."""
    day = Day(tmp_path)
    yield day
    day.bench.close()


# The program ends and comes back.


def test_a_restart_in_the_middle_of_a_flash_leaves_the_window_as_it_was(day: Day) -> None:
    window = flashing(day)
    believed = (dict(day.bench.jobs), dict(day.bench.shifts), day.bench.moves())
    bench = day.again()
    assert (bench.jobs, bench.shifts, bench.moves()) == believed
    day.clock.wind(40)
    assert day.again().wake() == []
    (same,) = day.bench.jobs[day.job].running
    assert same == window
    # Applied for 70 s, taken down 10 s ago and 40 s more: 240 s after the first touch.
    assert same.closes_us - day.bench.now_us == (240 - 70 - 10 - 40) * SECOND_US
    assert [same.state(same.closes_us + late) for late in (-1, 0)] == ["READY", "LATE"]


def test_a_new_boot_in_the_middle_of_a_flash_closes_it_at_the_same_time(day: Day) -> None:
    window = flashing(day)
    day.clock.reboot("boot-2", 100)
    assert day.again().wake() == []
    assert day.bench.jobs[day.job].running == [window]
    assert window.closes_us - day.bench.now_us == (240 - 70 - 10 - 100) * SECOND_US


CHILD = """
import sys
from itertools import cycle
from pathlib import Path
from cartclock.engine.desk.bench import Bench
from cartclock.engine.store.clock import HandClock
from cartclock.engine.rules import rules
from cartclock.engine.facts import events as ev
from tests.kit.day import PLANS, START_US
clock = HandClock(START_US)
bench = Bench.open(Path(sys.argv[1]), clock)
bench.do(rules.open_job, bench.new_id(), ev.JobOpened(PLANS[1], "", 1, "bottle green estate"))
bench.do(rules.clock_on, ev.ClockedOn())
for what in cycle(("phone", "fetching")):
    clock.wind(7)
    print(bench.do(rules.start_other, what).rows[-1].seq, flush=True)
"""


@pytest.mark.parametrize("presses", [1, 20, 150])
def test_what_was_said_to_be_written_is_there_after_a_kill(tmp_path: Path, presses: int) -> None:
    path = tmp_path / "log.db"
    child = subprocess.Popen(
        [sys.executable, "-c", CHILD, str(path)],
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert child.stdout is not None
    with child, child.stdout as said:
        seen = [said.readline() for _ in range(presses)]
        child.send_signal(signal.SIGKILL)
        seen += said.readlines()
    # The last line may be cut off in the middle.
    acknowledged = max(int(line) for line in seen if line.endswith("\n"))
    bench = Bench.open(path, HandClock(START_US + 3 * HOUR * SECOND_US, "boot-2"))
    assert bench.log.head.seq >= acknowledged
    assert bench.log.check() == []
    shift = bench.shift()
    assert shift is not None and isinstance(shift.doing, Other)
    assert bench.wake()[0].rows[0].kind == "GapFound"
    bench.do(rules.clock_off)
    assert bench.shift().odd == []  # type: ignore[union-attr]  # a shift is there
    bench.close()


def test_the_question_on_the_screen_survives(day: Day) -> None:
    day.bench.log.ask('{"ask": "window_open"}')
    assert day.again().log.asked() == '{"ask": "window_open"}'
    day.bench.log.ask(None)
    assert day.again().log.asked() is None


def test_a_private_text_goes_with_its_press_or_not_at_all(day: Day) -> None:
    told = day.bench.do(rules.note_job, day.job, ev.NoteWritten(day.bench.seal("swirls [/x]")))
    kept = day.bench.seal("never pressed")
    note = told.rows[0].event
    assert isinstance(note, ev.NoteWritten)
    assert day.bench.text(kept) == "never pressed"
    assert day.again().text(note.text) == "swirls [/x]"
    assert day.bench.text(kept) == ""


# A second program, and a disk that fails.


def test_a_press_after_another_program_wrote_is_refused_once(day: Day) -> None:
    other = Bench.open(day.path, day.clock)
    other.do(rules.note_shift, ev.DrinkTaken(300))
    for move in other.moves()[:1]:
        other.do(rules.take_up, move)
    rows = other.log.all_rows()
    said = str(refused(lambda: day.bench.do(rules.take_break, "meal")))
    assert said == (
        "Nothing of yours was written; look, then press again. A command in a shell, or a second "
        "cartclock, wrote meanwhile: drank 300 ml; took up: spray left (Fallout)."
    )
    assert day.bench.log.all_rows() == rows
    assert day.bench.shift() == other.shift()
    day.bench.do(rules.take_break, "meal", over={"film_left": "rain"})
    assert "wrote meanwhile" in str(refused(lambda: other.do(rules.put_down)))
    assert other.shift() == day.bench.shift()
    other.close()
    assert day.whole()


def test_what_another_program_wrote_is_named_even_if_it_was_read_meanwhile(day: Day) -> None:
    day.bench.do(rules.close_job, day.job, {"unfinished": "sold"})
    day.bench.do(rules.clock_off)
    note = day.bench.do(rules.note_job, day.job, ev.PaperIssued("record", 1, "")).press
    day.clock.wind(60)
    day.bench.do(rules.clock_on, ev.ClockedOn())
    bench = day.again()
    other = Bench.open(day.path, day.clock)
    other.do(rules.note_shift, ev.DrinkTaken(300))
    other.close()
    assert "meanwhile: drank 300 ml." in str(refused(lambda: bench.strike(note)))


def test_the_machine_too_is_refused_where_another_program_wrote_and_finds_the_gap_later(
    day: Day,
) -> None:
    day.bench.tick()
    other = Bench.open(day.path, day.clock)
    other.do(rules.note_shift, ev.DrinkTaken(300))
    other.close()
    day.clock.wind(HOUR)
    assert "wrote meanwhile" in str(refused(lambda: day.bench.tick()[0]))
    assert [told.rows[0].kind for told in day.bench.tick()] == ["GapFound"]


class Flaky:
    """A connection whose COMMIT reports a fault, before or after doing its work."""

    def __init__(self, db: sqlite3.Connection, does: bool) -> None:
        self.db, self.does = db, does

    def __getattr__(self, name: str) -> Any:
        return getattr(self.db, name)

    def execute(self, query: str, values: Any = ()) -> Any:
        if query == "COMMIT":
            if self.does:
                self.db.execute(query)
            raise sqlite3.OperationalError("disk I/O error")
        return self.db.execute(query, values)


def spoiled(log: Log, does: bool) -> sqlite3.Connection:
    whole = log._db
    log._db = Flaky(whole, does)  # type: ignore[assignment]  # stands in for a connection
    return whole


PRESSES: dict[str, Callable[[Day], Any]] = {
    "break": lambda day: day.bench.do(rules.take_break, "meal", over={"film_left": "rain"}),
    "late": lambda day: day.bench.do_as("me", SECOND_US, rules.put_down),
    "next": lambda day: day.take(),
    "undo": lambda day: day.bench.undo(),
    "gap": lambda day: day.bench.tick()[0],
}


@pytest.mark.parametrize("kind", PRESSES)
def test_a_press_that_the_disk_did_not_take_is_not_believed(day: Day, kind: str) -> None:
    day.bench.tick()
    day.take(60)
    day.clock.wind(4 * MINUTE)
    head, count = day.bench.log.head, len(day.bench.rows)
    whole = spoiled(day.bench.log, does=False)
    with pytest.raises(StoreFault, match=r"^Nothing was written"):
        PRESSES[kind](day)
    day.bench.log._db = whole
    assert (day.bench.log.head, len(day.bench.rows)) == (head, count)
    assert day.whole()
    PRESSES[kind](day)
    assert day.bench.log.head != head
    assert day.whole()


def test_a_private_text_is_kept_until_the_disk_takes_its_press(day: Day) -> None:
    whole = spoiled(day.bench.log, does=False)
    sealed = day.bench.seal("swirls")
    with pytest.raises(StoreFault, match=r"^Nothing was written"):
        day.bench.do(rules.note_job, day.job, ev.NoteWritten(sealed))
    day.bench.log._db = whole
    day.bench.do(rules.note_job, day.job, ev.NoteWritten(sealed))
    assert day.again().text(sealed) == "swirls"


def test_what_is_believed_is_what_is_read_back(day: Day) -> None:
    told = day.bench.do(packs.open_pack, ev.PackOpened("coat", 20))
    (event,) = (row.event for row in told.rows)
    assert isinstance(event, ev.PackOpened) and isinstance(event.content, float)
    assert list(told.rows) == day.bench.log.press_rows(told.press)
    assert repr(told.rows[0]) == repr(day.bench.log.press_rows(told.press)[0])


def test_a_press_that_the_disk_took_after_all_is_believed(day: Day) -> None:
    whole = spoiled(day.bench.log, does=True)
    press = day.take(60)
    day.bench.log._db = whole
    shift = day.bench.shift()
    assert shift is not None and isinstance(shift.doing, Hands)
    assert day.bench.log.head.seq == press.seq
    day.bench.do(rules.put_down)
    assert day.bench.shift().doing == Free()  # type: ignore[union-attr]  # a shift is on
    assert day.whole() and day.bench.log.check() == []
