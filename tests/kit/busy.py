"""A log on disk in the middle of a long day, for programs that open it at this very moment."""

from __future__ import annotations

from pathlib import Path

from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts.events import ClockedOn, ReadingTaken
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import Draft
from cartclock.engine.plan.plan import Stage, Wait, Work
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import HandClock, SystemClock
from tests.kit.plans import opening
from tests.kit.stage import seeded
from tests.kit.years import years_log

# All figures are invented round numbers for tests, no source, and no advice.
POLISH = Stage("Polish", tuple(f"panel {n}" for n in range(1, 401)), (Work("polish", 1.0),))
WINDOWS = 4
FINISHED, FINISHED_ROWS = 25, 8_200
# Long enough to run during a whole measurement, and to be READY in none.
FILMS = Stage(
    "Fallout",
    tuple(f"side {n}" for n in range(1, WINDOWS + 2)),
    (Work("spray", 1.0), Wait("dwell", 1800, 2400, 3600), Work("rinse", 1.0)),
    order="all",
)


# Lays the films: who lays one stays by it.
MATE = "Tomek"


def take_up(bench: Bench, say: str, worker: str = "me") -> None:
    """The next work of this name."""
    move = next(m for m in bench.moves(worker) if m.say == say and m.act == "take up")
    bench.do_as(worker, 0, rules.take_up, move, {})


def lay_films(bench: Bench, clock: HandClock, windows: int = WINDOWS) -> None:
    """The mate lays so many films one behind the other, and one more, which has the clock."""
    bench.do_as(MATE, 0, rules.clock_on, ClockedOn("carport"))
    for _ in range(windows + 1):
        take_up(bench, "spray", MATE)
        clock.wind(5)
    bench.do_as(MATE, 0, rules.take_up, Move("end", why="end"), {})


def busy_log(folder: Path, windows: int = WINDOWS, events: int = 600) -> int:
    """Writes a log whose last press was a moment ago, with so many windows running.

    The job of this day stands behind 25 finished ones, as on a cart that is in use.

    Returns:
        How many rows it has, `events` or a few more of them of this day.
    """
    finished = years_log(folder, FINISHED_ROWS)
    now = SystemClock().read()
    length_us = events * 30_000_000
    clock = HandClock(now.wall_us - length_us, now.boot, now.tick_us - length_us)
    bench = Bench.open(folder / "log.db", clock, entropy=seeded("busy"))
    bench.asks_new = False
    number = len(bench.log.job_summaries()) + 1
    assert number == FINISHED + 1
    bench.do(rules.open_job, bench.new_id(), opening(POLISH, FILMS, number=number))
    bench.do(rules.clock_on, ClockedOn("carport"))
    while bench.log.head.seq < finished + events - 4 * windows:
        take_up(bench, "polish")
        clock.wind(20)
        bench.tick()
        bench.beat()
    while (left_s := (now.wall_us - clock.wall_us) / 1_000_000) > 6 * (windows + 1):
        clock.wind(min(100, left_s - 5 * (windows + 1)))
        bench.tick()
        bench.beat()
    bench.machine([Draft(ReadingTaken(air_c=24.0, rh=45.0))], bench.worker)
    lay_films(bench, clock, windows)
    bench.beat()
    found = bench.log.head.seq + 1
    bench.close()
    return found
