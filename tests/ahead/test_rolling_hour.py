"""The rests of the hours ahead, against what Run says of the same shift."""

from __future__ import annotations

import random

import pytest

from cartclock.engine.ahead.heat import heat_expected
from cartclock.engine.ahead.rolling_hour import HeatAhead, RollingHour
from cartclock.engine.body.acclimatization import held
from cartclock.engine.body.budget import LONGEST_REST_US
from cartclock.engine.body.pace import pace
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.plan.plan import Effort, Plan, Stage, Work
from tests.ahead.test_finish import measured as on_shift
from tests.ahead.test_play import Real

EFFORTS: tuple[Effort, ...] = ("light", "moderate", "heavy")
PANELS = tuple(f"panel {number}" for number in range(1, 41))
PLAN = Plan(
    "invented",
    tuple(Stage(effort, PANELS, (Work("work", 10.0),), effort=effort) for effort in EFFORTS),
)
NOON_US = 1_790_000_000_000_000 // (24 * HOUR_US) * 24 * HOUR_US + 12 * HOUR_US


def worked(real: Real, effort: Effort, minutes: float) -> None:
    """The next section of a stage is in hand for so long."""
    name = next(one.name for one in real.job.of(effort) if one.state == "todo")
    real.take(ev.WorkStarted(effort, (name,), real.job.sections[effort, name].turn))
    real.now_us += round(minutes * MINUTE_US)


@pytest.mark.parametrize("wbgt_c", [18.0, 26.5, 28.0, 31.0])
@pytest.mark.parametrize("seed", range(3))
def test_it_calls_what_run_calls(seed: int, wbgt_c: float) -> None:
    rng = random.Random(f"{seed} {wbgt_c}")
    real = Real(PLAN, NOON_US)
    # A meter needs no guard, and what it read is not carried on by the shape of a day.
    reading = ev.ReadingTaken(air_c=wbgt_c + 4.0, rh=45.0, wbgt_c=wbgt_c)
    on_shift(real, reading)
    walked, from_us = None, real.now_us
    told = 0
    for _ in range(25):
        effort = rng.choice(EFFORTS)
        worked(real, effort, rng.uniform(3.0, 25.0))
        on_shift(real, reading)
        jobs = {"job-1": real.job}
        ahead = heat_expected(real.shift, jobs, real.now_us)
        if walked is None:
            walked = RollingHour(HeatAhead(ahead.air_at, ahead.acclimatized))
        walked.worked(from_us, real.now_us - from_us, effort)
        verdict = pace(real.shift, jobs, real.now_us, held(real.shift).acclimatized)
        rests = RollingHour(ahead), walked
        fresh, kept = (one.due(real.now_us, effort, HOUR_US) for one in rests)
        if verdict.grade == "not here":
            # Run sends the worker away; what is ahead goes on in the least pieces.
            assert fresh.rest_us == LONGEST_REST_US
        elif verdict.left_s is None:
            assert fresh is None or fresh.left_us == HOUR_US
        else:
            # What is due within a minute is taken at once.
            left_s = verdict.left_s if verdict.left_s >= 60 else 0
            assert fresh.left_us / SECOND_US == pytest.approx(left_s, abs=1.0)
            # What was asked earlier goes on as it is.
            assert kept.left_us == pytest.approx(fresh.left_us, abs=SECOND_US)
            assert (kept.left_us == 0) == (fresh.left_us == 0)
            if fresh.left_us == 0:
                assert fresh.rest_us == kept.rest_us == verdict.rest_s * SECOND_US
                told += 1
        from_us = real.now_us
        if verdict.left_s == 0 or rng.random() < 0.2:
            real.finish()
            on_shift(real, ev.BreakTaken("rest"))
            real.now_us += max(verdict.rest_s * SECOND_US, 5 * MINUTE_US)
            on_shift(real, ev.BreakEnded())
            walked.rested(from_us, real.now_us - from_us)
            from_us = real.now_us
        else:
            real.finish()
    # Cool enough for anything, warm, and too hot for any work.
    assert bool(told) == (25.0 < wbgt_c < 30.0)
