"""What the jobs of a log taught: read once, right after every press, over all jobs of the cart."""

from __future__ import annotations

from pathlib import Path
from statistics import geometric_mean

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.hours.usual import StepKey, Usual
from cartclock.engine.rules import rules
from cartclock.engine.store.library import Library
from cartclock.engine.store.log import Log
from cartclock.engine.store.views import VIEWS
from cartclock.engine.store.views.lessons import LESSONS, MOST_USUAL_JOBS
from tests.kit.day import Day
from tests.kit.viewed import make_all

SPRAY: StepKey = ("Fallout", "spray", 0)


def spray(day: Day, *seconds: float) -> list[int]:
    """Sprays sections one after the other, each so long; the presses. Then a break."""
    presses = []
    for one in seconds:
        move = next(m for m in day.bench.moves() if (m.act, m.say) == ("take up", "spray"))
        presses.append(day.bench.do(rules.take_up, move).press)
        day.clock.wind(one)
    day.bench.do(rules.take_break, "rest", None, True)
    return presses


def mean(*seconds: float) -> Usual:
    """What these measured ones say."""
    return Usual(pytest.approx(geometric_mean(seconds)), len(seconds))


def usual(day: Day, worker: str = "me") -> Usual | None:
    """As a log read anew says, and one that was kept: they agree."""
    kept = LESSONS.usual(day.bench.library, worker, SPRAY)
    fresh = Library(day.bench.log, VIEWS)
    make_all(fresh)
    assert kept == LESSONS.usual(fresh, worker, SPRAY)
    return kept


def test_it_grows_with_the_work_and_shrinks_with_an_undo(tmp_path: Path) -> None:
    day = Day(tmp_path)
    assert usual(day) is None
    spray(day, 50, 70)
    assert usual(day) is None
    spray(day, 60)
    assert usual(day) == mean(50, 70, 60)
    assert usual(day, "helper") is None
    # What the file says is not what is so after the undo, and does not count beside it.
    day.bench.library.settle()
    day.bench.undo()
    assert usual(day) is None
    day.bench.restore(max(row.press for row in day.bench.rows if row.kind == "StepFinished"))
    assert usual(day) == mean(50, 70, 60)


def test_a_press_moved_and_a_gap_that_was_a_meal_change_it(tmp_path: Path) -> None:
    day = Day(tmp_path)
    presses = spray(day, 50, 70, 60)
    assert usual(day) == mean(50, 70, 60)
    second = next(row.at_us for row in day.bench.rows if row.press == presses[1])
    day.bench.move(presses[1], second - 45_000_000)
    assert usual(day) == mean(5, 115, 60)
    third = next(row.at_us for row in day.bench.rows if row.press == presses[2])
    day.bench.move(presses[2], third - 105_000_000)
    assert usual(day) == mean(5, 10, 165)
    last = day.bench.now_us
    day.bench.do(rules.judge_gap, last - 160_000_000, last, "meal")
    assert usual(day) == mean(5, 10, 5)


def test_jobs_closed_long_ago_count_after_a_restart(tmp_path: Path) -> None:
    day = Day(tmp_path)
    spray(day, 50, 70, 60)
    day.bench.do(rules.close_job, day.job, {"unfinished": "enough for a test"})
    day.bench.do(rules.clock_off)
    day.again()
    assert day.job not in day.bench.jobs or day.bench.jobs[day.job].state == "closed"
    day.bench.do(rules.clock_on, ev.ClockedOn("carport"))
    day.open_job(0)
    assert usual(day) == mean(50, 70, 60)
    spray(day, 200)
    assert usual(day) == mean(50, 70, 60, 200)


def test_work_of_jobs_behind_the_newest_does_not_count(tmp_path: Path) -> None:
    day = Day(tmp_path)
    for number in range(MOST_USUAL_JOBS + 2):
        job = day.open_job(0) if number else day.job
        spray(day, *((50.0, 70.0, 60.0) if number < 2 else (100.0,)))
        if number == MOST_USUAL_JOBS + 1:
            # What the file says of the newest job is not what it is now; it counts once.
            day.bench.library.settle()
        day.bench.do(rules.close_job, job, {"unfinished": "enough for a test"})
        if number == MOST_USUAL_JOBS + 1:
            assert LESSONS.usual(day.bench.library, "me", SPRAY) == mean(*[100.0] * MOST_USUAL_JOBS)
    assert usual(day) == mean(*[100.0] * MOST_USUAL_JOBS)


def test_a_press_that_measures_nothing_reads_no_job(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    day = Day(tmp_path)
    spray(day, 50, 70, 60)
    kept = Library(day.bench.log, VIEWS)
    assert LESSONS.usual(kept, "me", SPRAY) == mean(50, 70, 60)
    day.bench.do(rules.note_shift, ev.DrinkTaken(240))

    def read(*_args: object) -> None:
        raise AssertionError("nothing need be read")

    monkeypatch.setattr(Log, "rows_of", read)
    assert LESSONS.usual(kept, "me", SPRAY) == mean(50, 70, 60)
    monkeypatch.undo()
    day.take(10)
    day.take(0)
    assert LESSONS.usual(kept, "me", SPRAY) == usual(day)
