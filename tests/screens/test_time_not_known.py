"""A boot with an earlier wall clock: the time is asked for, and the answer stands."""

from __future__ import annotations

from pathlib import Path

import pytest

from cartclock.engine.dates import local
from tests.kit.plans import WIPE
from tests.kit.stage import played


@pytest.mark.parametrize(
    ("said", "known"), [("18:30", True), ("25:99", False)], ids=["a time", "no time"]
)
async def test_the_worker_says_what_time_it_is(tmp_path: Path, said: str, known: bool) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        play.clock.reboot("boot-2", -7200)
        play.app.workplace.look_again()
        play.app.repaint()
        assert play.bench.time_unsure
        await play.press("g", *said.replace(":", " ").split()[0], "colon", *said[3:], "enter")
        assert play.bench.time_unsure is not known
        if known:
            zone = play.app.settings.zone
            assert f"{local(play.bench.now_us, zone):%H:%M}" == "18:30"


async def test_a_time_far_ahead_is_asked_about_twice(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        before_us = play.bench.now_us
        play.clock.reboot("boot-2", 400 * 24 * 3600)
        play.app.workplace.look_again()
        play.app.repaint()
        assert play.bench.time_unsure and play.bench.now_us == before_us
        # The laptop's own time stands there; it is read in full before it is taken.
        await play.press("g", "enter")
        assert play.bench.time_unsure and "is far ahead. Is it so?" in play.text
        await play.press("enter")
        assert not play.bench.time_unsure
        assert play.bench.now_us - before_us > 399 * 24 * 3600 * 1_000_000
