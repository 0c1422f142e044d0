"""Killed in the middle of the hand-over and of the page before a coat: nothing lost or doubled.

The program runs on a real pseudo-terminal and is ended as the kernel ends one, with SIGKILL. What
was written before stays, what was not said is not in the log, and the next start goes on.
"""

from __future__ import annotations

import signal
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts import events as ev
from cartclock.engine.plan.plan import Stage
from cartclock.engine.rules import packs, rules
from cartclock.engine.store.clock import SystemClock
from cartclock.engine.store.log import Log
from tests.kit.plans import GATED, WIPE, opening
from tests.kit.terminal import Terminal, terminal

pytestmark = pytest.mark.waits

NAME = "Ada Example"
# Seconds between the last key and the kill: before, while and after its rows are on the disk.
MOMENTS = [
    pytest.param(seconds, marks=() if seconds == 0.01 else pytest.mark.long)
    for seconds in (0.0, 0.003, 0.01, 0.02, 0.03, 0.05, 0.1)
]


def kinds(folder: Path) -> list[str]:
    """Kinds of the rows of a log whose links hold and of which no row is odd."""
    with Log.open(folder / "log.db") as log:
        assert log.check() == []
    with closing(Bench.open(folder / "log.db", SystemClock())) as bench:
        assert [row for job in bench.jobs.values() for row in job.odd] == []
        return [row.kind for row in bench.log.all_rows()]


def begun(folder: Path, stage: Stage, *more: Callable[[Bench], object]) -> None:
    """A log with a job of this stage, the worker on the clock, and what `more` adds."""
    (folder / "settings.toml").write_text("reminders = { products = false }\n", "utf-8")
    with closing(Bench.open(folder / "log.db", SystemClock())) as bench:
        bench.do(rules.open_job, bench.new_id(), opening(stage))
        bench.do(rules.clock_on, ev.ClockedOn())
        for add in more:
            add(bench)


def private(folder: Path) -> list[str]:
    """The private texts that the log holds."""
    with closing(sqlite3.connect(folder / "log.db")) as base:
        return [text for (text,) in base.execute("SELECT text FROM private")]


# The keys, taken with the close of a job.


def all_done(folder: Path) -> None:
    """All of the plan is done, and nothing is handed over."""

    def next_one(bench: Bench) -> object:
        return bench.do(rules.take_up, bench.moves()[0])

    begun(folder, WIPE, next_one, next_one)


def asked_who(child: Terminal) -> None:
    """The close is written, and it is asked who took the keys."""
    child.wait_for("hand over and close")
    child.answer(" ", "hand it over and close the job?")
    child.answer("k", "who took the keys?")


CLOSED = ["JobOpened", "ClockedOn", "WorkStarted", "StepFinished", "JobClosed"]
WHOLE = [*CLOSED, "PaymentNoted", "KeysTaken"]


@pytest.mark.parametrize(
    "typed",
    [
        pytest.param("", id="asked", marks=pytest.mark.long),
        pytest.param(NAME[:5], id="typing", marks=pytest.mark.long),
        pytest.param(f"{NAME}\r", id="paid"),
    ],
)
def test_killed_before_it_is_said_who_took_the_keys_the_close_alone_is_written(
    typed: str, tmp_path: Path
) -> None:
    all_done(tmp_path)
    with terminal(tmp_path, warm=True) as child:
        asked_who(child)
        if typed:
            child.answer(typed, "paid how?" if typed.endswith("\r") else typed)
        child.kill(signal.SIGKILL)
    assert kinds(tmp_path) == CLOSED
    # What was typed and not said is nowhere.
    assert private(tmp_path) == []
    with terminal(tmp_path, warm=True) as child:
        # Nothing is asked anew, and it can be said on Today.
        child.wait_for("other work")
        child.answer("t", "bottle green")
        child.answer(" ", "who took the keys, paid how")
        child.answer("\x1b[A" * 3, "> who took the keys")
        child.pause(1.0)
        child.answer(" ", "goes on")
        child.answer(f"{NAME}\r", "paid how?")
        child.answer("c", "keys: noted")
    assert kinds(tmp_path) == WHOLE
    assert private(tmp_path) == [NAME]


@pytest.mark.parametrize("moment", MOMENTS)
def test_killed_as_it_is_written_keys_and_payment_are_both_there_or_neither(
    moment: float, tmp_path: Path
) -> None:
    all_done(tmp_path)
    with terminal(tmp_path, warm=True) as child:
        asked_who(child)
        child.answer(f"{NAME}\r", "paid how?")
        child.send("c")
        child.pause(moment)
        child.kill(signal.SIGKILL)
    found = kinds(tmp_path)
    assert found in (CLOSED, WHOLE)
    assert private(tmp_path) == ([NAME] if found == WHOLE else [])


# The page before a coat.


def before_coat(folder: Path) -> None:
    begun(
        folder,
        GATED,
        lambda bench: bench.do(rules.note_shift, ev.ReadingTaken(22.0, 50.0, panel_c=22.0)),
        lambda bench: bench.do(packs.open_pack, ev.PackOpened("coat", 50.0, "ml")),
    )


READY = ["JobOpened", "ClockedOn", "ReadingTaken", "PackOpened"]
READ, LAID = [*READY, "BeforeCoatRead"], [*READY, "BeforeCoatRead", "WorkStarted"]


def test_killed_over_the_page_before_a_coat_it_stands_again_and_is_written_once(
    tmp_path: Path,
) -> None:
    before_coat(tmp_path)
    with terminal(tmp_path, warm=True) as child:
        child.wait_for("apply bonnet left")
        child.answer(" ", "Before Coat, layer 1 of 2. All there?")
        child.kill(signal.SIGKILL)
    assert kinds(tmp_path) == READY
    with terminal(tmp_path, warm=True) as child:
        child.wait_for("Before Coat, layer 1 of 2. All there?")
        child.answer(" ", "Took up")
        child.kill(signal.SIGKILL)
    assert kinds(tmp_path) == LAID


@pytest.mark.parametrize("moment", MOMENTS)
def test_killed_as_the_page_is_read_the_layer_is_begun_once_and_the_page_read_once(
    moment: float, tmp_path: Path
) -> None:
    before_coat(tmp_path)
    with terminal(tmp_path, warm=True) as child:
        child.wait_for("apply bonnet left")
        child.answer(" ", "All there?")
        child.send(" ")
        child.pause(moment)
        child.kill(signal.SIGKILL)
    left = kinds(tmp_path)
    assert left in (READY, READ, LAID)
    with terminal(tmp_path, warm=True) as child:
        child.wait_for(
            "stand by for bonnet left" if left == LAID
            else "All there?" if left == READY else "apply bonnet left"
        )  # fmt: skip
        if left != LAID:
            child.answer(" ", "Took up")
    assert kinds(tmp_path) == LAID
