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
