"""Whether a press waits for the backup that is made beside it, of a log of a million rows.

The log is synthetic (`tests.kit.years`). Presses are timed by the clock on the wall, because what
they could wait for is the disk, with nothing else going on and beside a backup in a thread. So
the log lies in /var/tmp, which is no memory (Filesystem Hierarchy Standard 3.0, 5.15).

    python -m pytest -m long tests/benchmarks/test_backup_speed.py -s
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import median, quantiles
from tempfile import TemporaryDirectory
from threading import Thread

import pytest

from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts import events as ev
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import SystemClock
from cartclock.engine.store.whole.backups import back_up
from tests.benchmarks.test_growth import LARGE
from tests.kit.years import alive, catch_up, years_log

# Between two presses, and how many are timed without a backup.
PAUSE_S, ALONE = 0.05, 200
# A press beside a backup takes at most so many times as long, that in the middle and that of which
# one of a hundred is longer: one more program takes its share of cores and disk, and no more.
AIM = 2.0


def timed(bench: Bench, goes_on: Callable[[int], bool]) -> list[float]:
    """Milliseconds of one press after the other, each on the disk."""
    took: list[float] = []
    while goes_on(len(took)):
        begun = time.perf_counter()
        bench.do(rules.note_shift, ev.DrinkTaken(200))
        took.append((time.perf_counter() - begun) * 1000)
        time.sleep(PAUSE_S)
    return took


@pytest.fixture
def on_disk() -> Iterator[Path]:
    """A folder on a disk."""
    with TemporaryDirectory(dir="/var/tmp") as folder:
        yield Path(folder)


@pytest.mark.long
def test_no_press_waits_for_a_backup(on_disk: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = years_log(on_disk, LARGE)
    alive(on_disk)
    bench = Bench.open(on_disk / "log.db", SystemClock(), "me")
    catch_up(bench)
    bench.do(rules.clock_on, ev.ClockedOn("carport"))
    alone = timed(bench, lambda count: count < ALONE)
    made: list[Path] = []
    backup = Thread(target=lambda: made.append(back_up(bench.log.path, "2026-11-28")))
    begun = time.perf_counter()
    backup.start()
    beside = timed(bench, lambda _count: backup.is_alive())
    lasted_s = time.perf_counter() - begun
    alone += timed(bench, lambda count: count < ALONE)
    bench.close()
    assert made and len(beside) > 20
    with capsys.disabled():
        sys.stdout.write(f"\na backup of {rows} rows took {lasted_s:.1f} s; ms of a press\n")
        for what, took in (("alone", alone), ("beside it", beside)):
            late = quantiles(took, n=100)[98]
            sys.stdout.write(
                f"{what:10} {len(took)}: median {median(took):.1f}, one of a hundred {late:.1f}, "
                f"longest {max(took):.1f}\n"
            )
    assert median(beside) < AIM * median(alone)
    assert quantiles(beside, n=100)[98] < AIM * quantiles(alone, n=100)[98]
