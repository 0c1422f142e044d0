"""What is known of a worker from the log, for work ahead."""

from __future__ import annotations

from math import log
from pathlib import Path

import msgspec
import pytest

from cartclock.engine.ahead.played import Weights
from cartclock.engine.ahead.telling import learned_text
from cartclock.engine.desk.learning import Learning
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.films.waves import PLANNED
from cartclock.engine.hours.usual import LEAST_MEASURED
from cartclock.engine.joined.known import ShopKnown, ShopLesson, known_file
from cartclock.engine.rules import rules
from cartclock.engine.store.views.shifts import SHIFTS
from cartclock.engine.times import Instant
from tests.kit.day import Day

DOOR, WING = ("Polish", "door"), ("Polish", "wing")


def polished(day: Day, door_s: float, wing_s: float) -> None:
    """Both panels of the job in hand, the door of two sections; then it is closed."""
    day.take(door_s)
    day.take(wing_s)
    day.bench.do(rules.close_job, day.job)


def known(day: Day, worker: str = "me") -> Weights:
    job = day.bench.jobs[day.job]
    return Learning(day.bench.library, day.path).of(worker, [job]).weights[job.id]


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


def test_what_other_carts_took_is_planned_by_until_there_is_enough_of_ones_own(
    tmp_path: Path,
) -> None:
    day = Day(tmp_path, plan=2)
    (step,) = (
        Learning(day.bench.library, day.path)
        .of("me", [day.bench.jobs[day.job]])
        .beliefs[day.job]
        .keys
    )
    stage, verb, nth = step

    def expected(worker: str = "me") -> tuple[float, str]:
        """Expected over planned length of the next piece, and what that rests on."""
        belief = Learning(day.bench.library, day.path).of(worker, [day.bench.jobs[day.job]])
        found = belief.beliefs[day.job]
        return found.today({}).expected(step), learned_text(found.jobs, found.from_shop)

    by_plan, said = expected()
    assert said == "from the plan only"
    slow = ShopLesson("Jo", stage, verb, nth, 9, log(3 * 180.0), ("north-2",))
    known_file(day.path).write_bytes(msgspec.json.encode(ShopKnown((slow,))))
    # The plan gives a piece 3 minutes, and Jo took 9.
    by_jo, said = expected()
    assert 1.5 * by_plan < by_jo < 3 and said == "from the shop's other carts"
    polished(day, 180, 180)
    day.job = day.open_job(2)
    # The door counts once: two pieces of one's own are too few, four are enough.
    assert LEAST_MEASURED == 3
    both, said = expected()
    assert said == "from 1 job of yours and the shop's other carts"
    polished(day, 180, 180)
    day.job = day.open_job(2)
    own, said = expected()
    assert said == "from 2 jobs of yours" and own < both < by_jo
    assert expected("Ines") == (by_jo, "from the shop's other carts")
    known_file(day.path).unlink()
    assert expected() == (own, said)
    assert expected("Ines") == (by_plan, "from the plan only")


def test_rules_and_screens_go_by_what_a_worker_takes_and_by_the_plan_for_another(
    tmp_path: Path,
) -> None:
    day = Day(tmp_path, plan=2)
    fresh = day.bench.scene().factors(day.job)
    polished(day, 1200, 600)
    day.job = day.open_job(2)
    slow = day.bench.scene().factors(day.job)
    assert slow["Polish", 0] > 1.3 * fresh["Polish", 0]
    moment = day.bench.moment()
    assert slow == moment.scene.factors(day.job) == moment.ahead.factors(day.job)
    assert day.bench.scene("helper").factors(day.job) == PLANNED


@pytest.mark.parametrize("settled", [False, True], ids=["going on", "in the file"])
def test_a_day_that_nobody_clocked_off_ends_where_it_was_told_to(
    tmp_path: Path, settled: bool
) -> None:
    """Three days of eight hours; of each the clock ran on for four more."""
    day = Day(tmp_path, plan=2)
    for _ in range(3):
        from_us = day.bench.now_us
        day.clock.wind(12 * 3600)
        day.bench.do(rules.clock_off)
        told_us = Instant(from_us + 8 * HOUR_US), Instant(from_us + 12 * HOUR_US)
        day.bench.do(rules.judge_gap, *told_us, "off")
        day.clock.wind(12 * 3600)
        day.bench.do(rules.clock_on, ev.ClockedOn())
        if settled:
            day.bench.library.settle()
    begins, ends = SHIFTS.usual_hours(day.bench.library, "me")
    assert begins is not None and ends is not None
    assert (ends.hour - begins.hour) % 24 == 8
