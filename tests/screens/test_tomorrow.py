"""Tomorrow and Estimate: asked for by a list, read as a page, kept as a job."""

from __future__ import annotations

from pathlib import Path

from cartclock.tui.screens.estimate import NO_JOB_ASKED
from cartclock.tui.screens.tomorrow import NO_AIR
from tests.kit.page import read
from tests.kit.plans import COAT
from tests.kit.stage import compare_sizes, played


async def test_a_forecast_is_typed_and_the_decision_stands_on_top(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("p", "d", "m")
        assert play.called == "tomorrow"
        assert read(play) == NO_AIR
        await play.press("space", "f", *"12 20 5", "enter")
        assert read(play).startswith("Start 08:00: done about ")
        assert "The air is never within 3 C of the dew point." in read(play)
        assert "no medical advice" in read(play)
        await compare_sizes("tomorrow", play)
        await play.press("space", "f", *"30 20 5", "enter")
        assert "is above the high" in play.notice


async def test_an_estimate_takes_three_picks_and_is_kept_as_a_job(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("t", "n")
        assert play.called == "estimate"
        await play.press("+")
        assert play.notice == NO_JOB_ASKED
        await play.press("space", "down", "space", "space", "space")
        assert "hours of work, from the plan only." in read(play)
        await compare_sizes("estimate", play)
        await play.press("+")
        assert play.called == "today"
        assert play.sheet.title == "The vehicle in a few words"
        assert play.odd() == []
