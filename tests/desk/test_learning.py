"""What is known of a worker from the log, for work ahead."""

from __future__ import annotations

from pathlib import Path

from cartclock.engine.ahead.played import Weights
from cartclock.engine.desk.learning import Learning
from cartclock.engine.rules import rules
from tests.kit.day import Day

DOOR, WING = ("Polish", "door"), ("Polish", "wing")


def polished(day: Day, door_s: float, wing_s: float) -> None:
    """Both panels of the job in hand, the door of two sections; then it is closed."""
    day.take(door_s)
    day.take(wing_s)
    day.bench.do(rules.close_job, day.job)


def known(day: Day, worker: str = "me") -> Weights:
    job = day.bench.jobs[day.job]
    return Learning(day.bench.library).of(worker, [job]).weights[job.id]


def test_panels_weigh_what_they_took_beside_each_other(tmp_path: Path) -> None:
    day = Day(tmp_path, plan=2)
    assert known(day) == {}
    polished(day, 1200, 150)
    day.job = day.open_job(2)
    once = known(day)
    assert once[WING] < 1 < once[DOOR]
    # A section of the door took four times as long as the wing: the more often, the surer.
    polished(day, 1200, 150)
    day.job = day.open_job(2)
    twice = known(day)
    assert once[DOOR] / once[WING] < twice[DOOR] / twice[WING] < 4
    # What is in hand itself teaches nothing of what is left of it, nor another worker's hands.
    day.take(60)
    assert known(day) == twice
    assert known(day, "helper") == {}
