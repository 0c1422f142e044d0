"""Whether anything that is waited for grows with the log: a million rows beside eleven thousand.

Both logs are synthetic (`tests.kit.years`) and end with the same jobs. Each figure is the least
processor time of several rounds, taken in turns, so that a busy moment of the machine meets both.

    python -m pytest -m long tests/benchmarks/test_growth.py -s
"""

from __future__ import annotations

import gc
import sys
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from time import process_time

import pytest

from cartclock.engine.dates import local
from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.outlet import Outlet
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import SystemClock
from cartclock.engine.store.settings import Settings
from tests.benchmarks.test_terminal_speed import SHOWS, cpu_s
from tests.kit.busy import FILMS, POLISH, take_up
from tests.kit.day import told
from tests.kit.plans import opening
from tests.kit.terminal import terminal
from tests.kit.years import DAYS, alive, catch_up, years_log

SMALL, LARGE = 11_000, 1_000_000
ROUNDS = 7
SIZE = (120, 40)
LATE_US = 90_000_000
# So much more may anything that is waited for take in the large log.
AIM = 1.3


def test_a_log_of_years_is_one_the_program_could_have_written(tmp_path: Path) -> None:
    assert years_log(tmp_path, 3_000) == pytest.approx(3_000, rel=0.1)
    with Bench.open(tmp_path / "log.db", SystemClock()).log as log:
        assert log.check() == []
        rows, jobs_told = log.all_rows(), log.job_summaries()
        shifts_told = log.shift_summaries()
    jobs, shifts, odd = told(rows)
    assert odd == []
    assert {one.job for one in jobs_told} == jobs.keys()
    assert {one.shift for one in shifts_told} == shifts.keys()
    assert {job.state for job in jobs.values()} == {"closed"}
    assert {row.worker for row in rows} == {"me", "Tomek", "Ines"}
    corrections = sum(isinstance(row.event, ev.CORRECTIONS) for row in rows)
    assert 0.005 < corrections / len(rows) < 0.02


class Grown:
    """One of the two logs, with a job open and the worker at work."""

    def __init__(self, folder: Path, rows: int) -> None:
        self.folder = folder
        self.rows = years_log(folder, rows)
        self.took: dict[str, list[float]] = defaultdict(list)
        alive(folder)
        with self._bench() as bench:
            catch_up(bench)
            self.jobs = len(bench.log.job_summaries())
            bench.do(rules.open_job, bench.new_id(), opening(POLISH, FILMS, number=self.jobs + 1))
            bench.do_as("me", HOUR_US, rules.clock_on, ev.ClockedOn("carport"))
            take_up(bench, "polish")
            self._day = Shop(bench.log).jobs()[-2].opened_us

    @contextmanager
    def _bench(self) -> Iterator[Bench]:
        bench = Bench.open(self.folder / "log.db", SystemClock(), "me")
        try:
            yield bench
        finally:
            bench.close()

    def _time(self, what: str, act: Callable[[], object]) -> None:
        gc.collect()
        gc.disable()
        begun = process_time()
        act()
        self.took[what].append(process_time() - begun)
        gc.enable()

    def round(self) -> None:
        """Everything a worker waits for, once; the program is started anew."""
        opened: list[Bench] = []
        self._time(
            "opening",
            lambda: opened.append(Bench.open(self.folder / "log.db", SystemClock(), "me")),
        )
        (bench,) = opened
        self._time("first press", lambda: take_up(bench, "polish"))
        self._time("press", lambda: take_up(bench, "polish"))
        drink = ev.DrinkTaken(200)
        self._time("late entry", lambda: bench.do_as("me", LATE_US, rules.note_shift, drink))
        self._time("undo", bench.undo)
        shop = Shop(bench.log, library=bench.library)
        self._time("products", shop.stock)
        # The newest closed job, and one of the same make as far back as the log goes.
        newest, old = self.jobs, self.jobs - (self.jobs - 1) // DAYS * DAYS
        for what, document, handle in (
            ("record, newest job", "record", str(newest)),
            ("record, old job", "record", str(old)),
            ("sheet", "sheet", str(newest)),
            ("day", "day", self.date),
        ):
            outlet = Outlet(bench, Shop(bench.log, library=bench.library), Settings(), self.folder)
            self._time(what, lambda o=outlet, d=document, h=handle: o.copy(d, h, "text"))  # type: ignore[misc]  # the loop's own values
        bench.close()

    @property
    def date(self) -> str:
        """The day of the newest closed job."""
        return local(self._day, "UTC").date().isoformat()

    def first_frame(self) -> None:
        """From the start of the interpreter to the first picture."""
        env = {"PYTHONDONTWRITEBYTECODE": "", "PYTHONPYCACHEPREFIX": str(self.folder / "compiled")}
        with terminal(self.folder, size=SIZE, env=env, own=False) as child:
            child.wait_for(SHOWS)
            self.took["first frame"].append(cpu_s(child))


@pytest.mark.long
def test_nothing_waited_for_grows_with_the_log(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    small, large = Grown(tmp_path / "small", SMALL), Grown(tmp_path / "large", LARGE)
    for _ in range(ROUNDS):
        for log in (small, large):
            log.round()
            log.first_frame()
    assert large.took.keys() == small.took.keys()
    ratios = {what: min(took) / min(small.took[what]) for what, took in large.took.items()}
    with capsys.disabled():
        sys.stdout.write(f"\n{large.rows} rows beside {small.rows}, processor, least of {ROUNDS}\n")
        for what, ratio in ratios.items():
            few, many = (min(log.took[what]) * 1000 for log in (small, large))
            sys.stdout.write(
                f"{what:20} {few:9.1f} ms {many:9.1f} ms  ratio {ratio:6.2f} (aim {AIM})\n"
            )
    assert {what: ratio for what, ratio in ratios.items() if ratio > AIM} == {}
