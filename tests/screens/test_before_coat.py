"""The page before a coat, on the screen: read to its end, left, over a restart, beside a caller.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.films.gate import GATE
from cartclock.engine.now.before_coat import EYES
from cartclock.engine.products.reminders import BeforeWork
from cartclock.engine.rules import packs, rules
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.settings import Settings
from tests.kit.plans import GATED
from tests.kit.stage import HOME, SMALL, START_US, compare_sizes, played, whole

FINE = ev.ReadingTaken(air_c=22.0, rh=50.0, panel_c=22.0)
WITH_PAGE = Settings(reminders=BeforeWork(products=False))


async def test_the_page_is_read_with_one_press_and_never_twice(tmp_path: Path) -> None:
    clock = HandClock(START_US)
    async with played(tmp_path, (GATED,), clock=clock, settings=WITH_PAGE) as play:
        play.bench.do(rules.note_shift, FINE)
        play.bench.do(packs.open_pack, ev.PackOpened("coat", 50.0, "ml"))
        await play.wind(600)
        before = play.kinds
        await play.press("space")
        assert play.sheet.title == "Before Coat, layer 1 of 2. All there?"
        assert play.spoken[-1] == EYES
        assert play.spoken[0].startswith("Rest: none, clocked on")
        await compare_sizes("before_coat", play)
        # A wrong key, a caller, esc: nothing is written and the page stays, or waits for SPACE.
        await play.press("%")
        assert play.sheet.is_open
        await play.press("c")
        assert play.called == "caller"
        await play.press("esc")
        assert play.sheet.title.startswith("Before Coat")
        await play.press("esc")
        assert (play.kinds, play.sheet.is_open) == (before, False)
        await play.press("space")
    async with played(tmp_path, clock=clock, settings=WITH_PAGE, seed="again") as play:
        assert play.sheet.title.startswith("Before Coat")
        await play.press("space")
        assert play.kinds == [*before, "BeforeCoatRead", "WorkStarted"]
        read = play.bench.rows[-2].event
        assert isinstance(read, ev.BeforeCoatRead)
        assert len(read.said) == 4 and read.said[3].startswith("Gate: panel")
        await play.press("backspace", "space")
        assert play.kinds[-1] == "WorkStarted"
        assert play.odd() == []


async def test_what_tells_against_it_comes_first_and_the_gate_asks_behind_it(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, (GATED,), size=SMALL, settings=WITH_PAGE) as play:
        await play.press("space")
        assert play.spoken[0].startswith("Gate: no reading that holds")
        assert whole(play) == []
        await play.press("space")
        assert play.kinds[-1] == "BeforeCoatRead"
        assert "no verdict" in play.sheet.title
        await play.press("down", "down", "down", "space")
        started = play.bench.rows[-1].event
        assert isinstance(started, ev.WorkStarted) and set(started.over) == {GATE}


async def test_what_it_misses_is_noted_over_it(tmp_path: Path) -> None:
    async with played(tmp_path, (GATED,), size=SMALL, settings=WITH_PAGE) as play:
        await play.press("space")
        assert play.spoken[0].startswith("Gate: no reading that holds")
        before = play.kinds
        # Left without one the page stands as it was.
        await play.press("r")
        assert play.sheet.title == "Reading"
        await play.press("esc")
        assert play.spoken[0].startswith("Gate: no reading that holds")
        await play.press("r", "2", "2", "down", "5", "0", "down", "2", "2", "space")
        assert play.kinds == [*before, "ReadingTaken"]
        assert play.sheet.title == "Before Coat, layer 1 of 2. All there?"
        assert any(line.startswith("Gate: panel") for line in play.spoken)
        await play.press("k", "space", "o")
        assert (play.kinds[-1], play.called) == ("DrinkTaken", "products")
        await play.press("u")
        assert play.sheet.title.startswith("Before Coat")
        assert whole(play) == []
        await play.press("space")
        assert play.kinds[-2:] == ["BeforeCoatRead", "WorkStarted"]


async def test_a_list_that_another_screen_opens_over_it_does_not_lose_it(tmp_path: Path) -> None:
    async with played(tmp_path, (GATED,), settings=WITH_PAGE) as play:
        await play.press("space", "t", "r")
        assert play.sheet.title == "Reading"
        await play.press("esc")
        assert play.sheet.title.startswith("Before Coat")
        await play.press("esc")
        assert (play.sheet.is_open, play.bench.log.asked()) == (False, None)


async def test_a_call_that_begins_over_it_leaves_it(tmp_path: Path) -> None:
    async with played(tmp_path, (GATED,), settings=WITH_PAGE) as play:
        play.bench.do(rules.note_shift, FINE)
        await play.press("space", "c", "p")
        assert (play.called, play.kinds[-1], play.sheet.is_open) == (
            "run", "OtherWorkStarted", False
        )  # fmt: skip
        assert play.bench.log.asked() is None
        assert "phone" in play.notice
        await play.press("space")
        assert play.sheet.title.startswith("Before Coat")


async def test_a_break_over_it_leaves_it(tmp_path: Path) -> None:
    async with played(tmp_path, (GATED,), settings=WITH_PAGE) as play:
        play.bench.do(rules.note_shift, FINE)
        await play.press("space", "b", "r")
        assert (play.kinds[-1], play.sheet.is_open) == ("BreakTaken", False)
        assert play.bench.log.asked() is None
        assert "BREAK" in [face.word for face in play.glance.faces]
        await play.press("space", "space")
        assert play.sheet.title.startswith("Before Coat")


@pytest.mark.parametrize("size", [HOME])
async def test_it_can_be_left_off(tmp_path: Path, size: tuple[int, int]) -> None:
    off = Settings(reminders=BeforeWork(before_coat=False))
    async with played(tmp_path, (GATED,), size=size, settings=off) as play:
        play.bench.do(rules.note_shift, FINE)
        await play.press("space")
        assert play.kinds[-1] == "WorkStarted"
