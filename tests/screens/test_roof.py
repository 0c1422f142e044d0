"""A hot roof is the blind spot indoors: asked about at the first hot reading without a globe."""

from __future__ import annotations

from pathlib import Path

import pytest

from cartclock.engine.body.surroundings import HOT_ROOF_C, roof_unseen
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.events import ReadingTaken
from tests.kit.plans import WIPE
from tests.kit.stage import HOME, SMALL, Play, played, whole

QUESTION = "Hot, and no globe was read. Is the roof or the door hot to the hand?"


@pytest.mark.parametrize(
    ("reading", "asks"),
    [
        (ReadingTaken(air_c=28.0, rh=40.0), True),
        (ReadingTaken(air_c=27.9, rh=40.0), False),
        (ReadingTaken(air_c=33.0, rh=40.0, globe_c=35.0), False),
        (ReadingTaken(air_c=33.0, rh=40.0, wbgt_c=26.0), False),
        (ReadingTaken(air_c=33.0, rh=40.0, place="outdoor shade"), False),
        (ReadingTaken(panel_c=50.0), False),
    ],
    ids=str,
)
def test_from_28_c_indoors_without_a_globe_a_roof_is_unseen_our_own_judgement(
    reading: ReadingTaken, asks: bool
) -> None:
    assert roof_unseen(reading) is asks


async def read(play: Play, air: str) -> None:
    await play.press("r", "backspace", *air, "down", "backspace", "4", "0", "space")


def work_minutes(play: Play) -> float:
    play.app.workplace.look_again()
    found = play.app.workplace.body()
    assert found is not None and found.pace.here_minutes is not None
    return found.pace.here_minutes


@pytest.mark.parametrize("size", [HOME, SMALL], ids=str)
async def test_it_is_asked_once_a_shift_and_counts_until_a_globe_is_read(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with played(tmp_path, (WIPE,), size=size) as play:
        await play.press("space")
        await read(play, "34")
        assert play.sheet.title == QUESTION
        assert whole(play) == []
        before = work_minutes(play)
        await play.press("down", "space")
        assert ev.RoofSaid(True) in [row.event for row in play.bench.rows]
        await play.press("esc")
        assert work_minutes(play) < before
        await play.wind(600)
        await read(play, "34")
        assert play.sheet.title != QUESTION


async def test_whoever_does_not_know_says_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("space")
        await read(play, "34")
        assert play.sheet.title == QUESTION
        assert play.spoken[1].startswith(f"yes: {HOT_ROOF_C:g} C more")
        await play.press("esc")
        assert "RoofSaid" not in play.kinds
