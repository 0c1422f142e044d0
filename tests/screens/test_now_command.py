"""`cartclock now`: the words of Run outside the screens, beside the program that writes."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts.events import ClockedOn
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import SystemClock
from cartclock.engine.store.log import Log
from cartclock.engine.trouble import StoreFault
from tests.kit.plans import COAT, opening
from tests.kit.terminal import ROOT, run

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows was never tried")
PATIENCE_S = 20.0


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    """A cart with a job, and a worker on the clock, by the machine's own clocks."""
    found = Bench.open(tmp_path / "log.db", SystemClock())
    found.do(rules.open_job, found.new_id(), opening(COAT))
    found.do(rules.clock_on, ClockedOn("", "29 CFR 785", "UTC", "acclimatized"))
    yield found
    found.close()


@contextmanager
def following(folder: Path, *words: str) -> Iterator[subprocess.Popen[str]]:
    """`cartclock now --follow`, its lines in a pipe."""
    child = subprocess.Popen(
        [sys.executable, "-m", "cartclock.tui.cli", "now", "--follow", *words],
        cwd=ROOT,
        env={**os.environ, "CARTCLOCK_HOME": str(folder)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        bufsize=1,
    )
    try:
        yield child
    finally:
        child.kill()
        child.communicate()


def until(child: subprocess.Popen[str], begin: str) -> list[str]:
    """The lines up to one that begins so."""
    assert child.stdout is not None
    found: list[str] = []
    ends_at = time.monotonic() + PATIENCE_S
    while time.monotonic() < ends_at:
        found.append(child.stdout.readline().rstrip("\n"))
        if found[-1].startswith(begin):
            return found
    raise AssertionError(f"{begin!r} never came: {found}")


def test_once_it_says_what_run_says(bench: Bench, tmp_path: Path) -> None:
    done = run(tmp_path, "now")
    assert (done.returncode, done.stderr) == (0, "")
    said = dict(line.split(": ", 1) for line in reversed(done.stdout.splitlines()))
    assert said["state"] == "NOTHING IN HAND"
    assert said["space"].startswith("apply bonnet left")
    assert "\x1b" not in done.stdout


def test_for_a_program_it_is_one_object(bench: Bench, tmp_path: Path) -> None:
    (line,) = run(tmp_path, "now", "--json").stdout.splitlines()
    said = json.loads(line)
    assert said["clocks"][0]["state"] == "NOTHING IN HAND"
    assert set(said) == {
        "at", "vehicle", "stage", "on_the_clock", "clocks", "question", "next", "next_vehicle",
        "notices",
    }  # fmt: skip


def test_a_press_is_told_within_a_second(bench: Bench, tmp_path: Path) -> None:
    with following(tmp_path) as child:
        first = until(child, "on the clock")
        assert "state: NOTHING IN HAND" in first
        (move, *_) = bench.moves()
        pressed_at = time.monotonic()
        bench.do(rules.take_up, move)
        news = until(child, "state: ")
        # The machine may have other work; what is promised is a second.
        assert time.monotonic() - pressed_at < 3.0
        assert news[-1] == "state: APPLY"
        assert until(child, "panel: ")[-1] == "panel: bonnet left"


def test_it_writes_nothing(bench: Bench, tmp_path: Path) -> None:
    rows = bench.log.head
    run(tmp_path, "now")
    assert bench.log.refresh() == rows
    with Log.open(tmp_path / "log.db") as log:
        log.only_read()
        with pytest.raises(StoreFault, match="Nothing was written"):
            log.ask("a question")
        assert log.head == rows


def test_an_interrupt_ends_it_without_a_word(bench: Bench, tmp_path: Path) -> None:
    with following(tmp_path) as child:
        until(child, "on the clock")
        child.send_signal(signal.SIGINT)
        out, err = child.communicate(timeout=PATIENCE_S)
        assert (child.returncode, err) == (0, "")
        assert "Aborted" not in out


def test_a_reader_that_went_away_ends_it(bench: Bench, tmp_path: Path) -> None:
    with following(tmp_path) as child:
        until(child, "on the clock")
        assert child.stdout is not None
        child.stdout.close()
        assert child.wait(PATIENCE_S) == 0
        assert child.stderr is not None
        assert child.stderr.read() == ""


def test_a_log_that_was_replaced_is_said(bench: Bench, tmp_path: Path) -> None:
    with following(tmp_path) as child:
        until(child, "on the clock")
        Log.open(tmp_path / "other.db").close()
        (tmp_path / "other.db").replace(tmp_path / "log.db")
        assert child.wait(PATIENCE_S) == 1
        assert child.stderr is not None
        assert "The file log.db was replaced" in child.stderr.read()


def test_without_a_log_it_says_how_one_begins(tmp_path: Path) -> None:
    done = run(tmp_path, "now", "--follow")
    assert done.returncode == 1
    assert "There is no log yet" in done.stderr
