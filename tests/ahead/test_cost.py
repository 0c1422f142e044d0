"""What a finish costs a processor: at a press, and at the repaints until the next one."""

from __future__ import annotations

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


def test_a_vehicle_behind_costs_a_press_next_to_nothing_while_nobody_waits_for_long() -> None:
    name, behind = "one_step_correction_and_coat", "decontamination_and_sealant"
    front, second = (Real(read_plan(with_body(starter(one), "van"), one)) for one in (name, behind))
    jobs = {"job-1": front.job, "job-2": replace(second.job, id="job-2")}

    def press(*among: str) -> None:
        of = Foreseen({id_: jobs[id_] for id_ in among}, front.shift)
        Foresight(lambda: of).at(front.now_us).ready_us("job-1")

    # 1.15 was reached; played to its end, the second made it 1.9.
    assert ratio(lambda: press("job-1", "job-2"), lambda: press("job-1"), 9) < 1.45
