"""What a day planned ahead costs a processor: twelve starts, each with a hot day's rests in it."""

from __future__ import annotations

import sys

import pytest

from cartclock.engine.planning.day_plan import day_plan
from tests.kit.cost import in_loops, processor_s, ratio
from tests.planning.test_day_plan import HABITS, HOT, MILD, hours, job

CORRECTION, LAYERS = "one_step_correction_and_coat", "two_layer_coat_overnight"
# Of a known loop (`tests.kit.cost`): 31 and 33 were reached.
MOST_LOOPS = {CORRECTION: 40, LAYERS: 43}


def test_what_is_not_begun_is_played_once_for_all_starts() -> None:
    ahead = [job(CORRECTION, certain=False)]

    def day(*start_hours: int) -> None:
        day_plan(ahead, hours(MILD), HABITS, start_hours)

    # 2.1 was reached; played from each start, six cost 4.1 times as much as one.
    assert ratio(lambda: day(*range(6, 12)), lambda: day(6), 3) < 2.8


@pytest.mark.long
@pytest.mark.parametrize("name", MOST_LOOPS)
def test_a_hot_day_is_planned_before_an_eye_sees_it(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    ahead = [job(name)]

    def day() -> None:
        day_plan(ahead, hours(HOT), HABITS)

    least_s = min(processor_s(day) for _ in range(20))
    with capsys.disabled():
        sys.stdout.write(
            f"\n{name}, a hot day of twelve starts, processor: {least_s * 1000:.0f} ms\n"
        )
    assert in_loops(day, rounds=20) < MOST_LOOPS[name]
