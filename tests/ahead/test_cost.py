"""What a finish costs a processor: at a press, and at the repaints until the next one."""

from __future__ import annotations

import datetime
import random
from statistics import mean

import pytest
from msgspec.structs import replace

from cartclock.engine.ahead.durations import Belief
from cartclock.engine.ahead.foreseen import Foreseen, Foresight, Learned
from cartclock.engine.ahead.job_ahead import steps_of
from cartclock.engine.facts.events import ReadingTaken
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.store.plan_file.reader import read_plan, starter, with_body
from tests.ahead.test_finish import measured as on_shift
from tests.ahead.test_play import Real
from tests.kit.cost import in_loops, ratio
from tests.kit.foretold import Seer
from tests.kit.simulated_day import Day, Worker

# Readings that call rests, by the air and by a meter, up to where the work goes on in quarters of
# an hour. Invented.
HOT = (
    ReadingTaken(air_c=28.0, rh=50.0),
    ReadingTaken(air_c=32.0, rh=50.0),
    ReadingTaken(air_c=34.0, rh=60.0),
    ReadingTaken(air_c=34.0, rh=60.0, wbgt_c=24.0),
    ReadingTaken(air_c=34.0, rh=60.0, wbgt_c=28.0),
    ReadingTaken(air_c=34.0, rh=60.0, wbgt_c=31.0),
)
EVENING = datetime.time(17, 30)


def test_a_press_is_told_in_a_few_milliseconds_and_a_repaint_in_next_to_none() -> None:
    name = "one_step_correction_and_coat"
    real = Real(read_plan(with_body(starter(name), "estate"), name))
    # What was believed before is kept from press to press.
    belief = Belief(steps_of(real.job))
    learned = Learned(beliefs={"job-1": belief})

    def press() -> None:
        of = Foreseen({"job-1": real.job}, real.shift, learned)
        Foresight(lambda: of).at(real.now_us).ready_us("job-1")

    # A loop is 3 to 4 ms of a core. With a whole day ahead a press costs about 0.7 of one, 2.5 ms,
    # half way through 0.55.
    assert in_loops(press) < 1.1
    for _ in range(50):
        real.go_on(real.first_move())
    assert in_loops(press) < 0.85
    kept = Foresight(lambda: Foreseen({"job-1": real.job}, real.shift, learned))
    minute_us = real.now_us - real.now_us % MINUTE_US + MINUTE_US
    kept.at(minute_us).ready_us("job-1")

    def repaints() -> None:
        for second in range(60):
            kept.at(minute_us + second * 1_000_000).ready_us("job-1")

    # A minute of repaints, 0.3 ms each at most.
    assert in_loops(repaints) < 60 * 0.09


def test_days_of_heat_cost_a_press_less_than_an_eye_sees() -> None:
    name = "one_step_correction_and_coat"
    real = Real(read_plan(with_body(starter(name), "estate"), name))
    # By a meter, so that every hour ahead calls rests and none is too hot for work.
    on_shift(real, ReadingTaken(air_c=30.0, rh=50.0, wbgt_c=26.5))

    def press() -> None:
        of = Foreseen({"job-1": real.job}, real.shift)
        Foresight(lambda: of).at(real.now_us).ready_us("job-1")

    # Two days of work and rests, nothing learned: 2.6 loops, 6.3 ms of a core.
    assert in_loops(press) < 4


class HotDay(Day):
    """Days on which it is as hot at any hour."""

    def __init__(self, worker: Worker, reading: ReadingTaken) -> None:
        self.reading = reading
        super().__init__(worker, 0, sleeps_from=EVENING.hour * 60 + EVENING.minute)
        self.hot = True

    def read_air(self) -> None:
        self.read_us = self.now_us
        self.put(self.reading)


def presses_cost(name: str, reading: ReadingTaken, every: int) -> list[float]:
    """What the finish costs at every so many presses of a whole job, by what is known by then: in
    loops.
    """
    day = HotDay(
        Worker(random.Random(1), read_plan(with_body(starter(name), "estate"), name)), reading
    )
    ((id_, job),) = day.jobs.items()
    seer, presses = Seer(EVENING), 0
    found: list[float] = []
    seer.beliefs[job.opened.plan.name] = Belief(steps_of(job))

    def look(day: Day) -> None:
        nonlocal presses
        presses += 1
        if presses % every == 0:
            of = Foreseen(day.jobs, day.shift, seer.learned(day))
            found.append(in_loops(lambda: Foresight(lambda: of).at(day.now_us).ready_us(id_), 3))

    day.look = look
    day.run()
    assert len(day.shifts) > 1
    return found


def test_the_presses_of_a_job_of_four_hot_days_cost_a_few_milliseconds() -> None:
    # Of the hot days looked at the longest, with some thirty hours of rests: 1.15 loops, 2.8 ms of
    # a core; the longest of them 2.2 loops, the mild days 0.75.
    assert mean(presses_cost("two_layer_coat_overnight", HOT[-1], 9)) < 1.9


@pytest.mark.long
@pytest.mark.parametrize("name", ["one_step_correction_and_coat", "two_layer_coat_overnight"])
@pytest.mark.parametrize("reading", HOT)
def test_the_presses_of_any_hot_job_cost_three_milliseconds(
    name: str, reading: ReadingTaken
) -> None:
    # A loop is 2.4 ms of the core on which three were asked for.
    assert mean(presses_cost(name, reading, 3)) * 2.4 < 3


def test_a_vehicle_behind_costs_a_press_next_to_nothing_while_nobody_waits_for_long() -> None:
    name, behind = "one_step_correction_and_coat", "decontamination_and_sealant"
    front, second = (Real(read_plan(with_body(starter(one), "van"), one)) for one in (name, behind))
    jobs = {"job-1": front.job, "job-2": replace(second.job, id="job-2")}

    def press(*among: str) -> None:
        of = Foreseen({id_: jobs[id_] for id_ in among}, front.shift)
        Foresight(lambda: of).at(front.now_us).ready_us("job-1")

    # 1.15 was reached; played to its end, the second made it 1.9.
    assert ratio(lambda: press("job-1", "job-2"), lambda: press("job-1"), 9) < 1.45
