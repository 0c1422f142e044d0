"""A shift that nobody clocked off is asked about at the next start."""

from __future__ import annotations

from pathlib import Path

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.hours.account import account
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import HandClock
from tests.kit.plans import COAT, POLISH
from tests.kit.stage import SMALL, START_US, played

DAYS_136_S = 136 * 24 * 3600


async def left(tmp_path: Path, clock: HandClock, plan: object = POLISH) -> int:
    """Something is taken in hand, a cup is drunk ten minutes later, and the lid is shut."""
    async with played(tmp_path, (plan,), clock=clock) as play:  # type: ignore[arg-type]  # a stage
        await play.press("space")
        await play.wind(600)
        play.bench.do(rules.note_shift, ev.DrinkTaken(250))
        return play.bench.rows[-1].at_us


@pytest.mark.parametrize("plan", [POLISH, COAT], ids=["no film", "a film in hand"])
async def test_at_the_next_start_it_is_clocked_off_with_its_last_press(
    tmp_path: Path, plan: object
) -> None:
    clock = HandClock(START_US)
    last_us = await left(tmp_path, clock, plan)
    clock.wind(DAYS_136_S)
    async with played(tmp_path, size=SMALL, clock=clock, seed="again") as play:
        assert play.sheet.title.startswith("Nobody clocked off. On the clock since Mon")
        assert play.spoken[0] == "that was the end: clock off then"
        await play.press("space")
        shift = play.bench.shift("me")
        assert shift is not None and shift.off_us == last_us
        assert play.notice.startswith("Clocked off Mon")
        assert play.odd() == []
        found = account(shift, play.bench.jobs, play.bench.now_us)
        assert (found.end_us, found.never_off) == (last_us, False)
        assert play.bench.questions() == ()
    async with played(tmp_path, clock=clock, seed="third") as play:
        assert not play.sheet.is_open


async def test_a_shift_that_goes_on_stays_and_is_asked_about_again_before_clocking_off(
    tmp_path: Path,
) -> None:
    clock = HandClock(START_US)
    await left(tmp_path, clock)
    clock.wind(DAYS_136_S)
    async with played(tmp_path, clock=clock, seed="again") as play:
        await play.press("down", "space")
        assert play.notice == "Still on the clock."
        shift = play.bench.shift("me")
        assert shift is not None and shift.on_clock
        await play.press("i")
        assert play.sheet.title.startswith("Nobody clocked off")


async def test_the_next_morning_is_asked_about_and_a_long_day_is_not(tmp_path: Path) -> None:
    clock = HandClock(START_US)
    await left(tmp_path, clock)
    clock.wind(15 * 3600)
    async with played(tmp_path, clock=clock, seed="again") as play:
        assert not play.sheet.is_open
        assert ev.ClockedOff() not in [row.event for row in play.bench.rows]
