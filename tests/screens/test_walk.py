"""A walk over the screens: any key, any time, and never a fall, a dead end or a broken log."""

from __future__ import annotations

import asyncio
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from engine.clock import HandClock
from engine.job.plan import Stage
from tests.kit.plans import COAT, FALLOUT, POLISH, WIPE
from tests.kit.stage import START_US, Play, played, whole
from tui.keys import KEYS

# Every key of the program but the one that leaves it, what lists take, and some garbage.
REGISTRY = sorted({name for key in KEYS for name in key.keys if key.id != "quit"})
LISTS = ["f", "h", "m", "p", "s", "c", "e", "o", ".", "-", "5"]
GARBAGE = ["f5", "tab", "shift+tab", "home", "end", "delete", "ctrl+a", "é", "[", "%", "\\"]
# Those that do the work come often, or a walk would only open and close lists.
OFTEN = ["space"] * 8 + ["down"] * 3 + ["escape", "enter", "backspace"]
SECONDS = [1, 20, 61, 130, 400, 4000]
STEP = st.sampled_from([*REGISTRY, *LISTS, *GARBAGE, *OFTEN, *OFTEN, *SECONDS, *SECONDS])
JOBS: list[tuple[Stage, ...]] = [(WIPE, COAT), (FALLOUT, POLISH), ()]


async def get_home(play: Play) -> None:
    """However deep a walk went, esc twice is enough."""
    await play.press("escape", "escape")
    assert play.called == "run"
    assert not play.sheet.is_open
    assert not play.typing


async def check(play: Play) -> None:
    """What holds wherever a walk has come to."""
    assert play.app._exception is None
    assert whole(play) == []
    asked = play.bench.log.asked()
    assert (asked is None) or play.app.run_screen.sheet.is_open


async def walk(
    steps: list[str | int], jobs: tuple[Stage, ...], size: tuple[int, int], dies: bool
) -> None:
    clock = HandClock(START_US)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        async with played(folder, *([jobs] if jobs else []), size=size, clock=clock) as play:
            # The worker clocks on first, or most keys would only say that nobody is.
            if not jobs:
                await play.press("escape", "i", "space")
            for step in steps:
                if isinstance(step, int):
                    await play.wind(step)
                else:
                    await play.press(step)
            await check(play)
            if not dies:
                await get_home(play)
                await check(play)
            assert play.odd() == []
            written = play.bench.log.all_rows()
        async with played(folder, size=size, clock=clock, seed="again", on=False) as play:
            assert play.bench.log.all_rows()[: len(written)] == written
            await get_home(play)
            await play.press("l", "p", "t", "e", "?", "escape")
            await check(play)
            assert play.odd() == []


STEPS = st.lists(STEP, min_size=10, max_size=60)
SIZE = st.sampled_from([(80, 24), (40, 12), (120, 40)])
SLOW = (HealthCheck.too_slow, HealthCheck.data_too_large)


@settings(max_examples=4, deadline=None, derandomize=True, suppress_health_check=SLOW)
@given(STEPS, st.sampled_from(JOBS), SIZE, st.booleans())
@example(["space", 95, "i", "o"], (COAT,), (40, 12), True)
@example(["t", "+", "space", "space", "v", "enter", "x", "enter"], (), (80, 24), False)
@example(["r", "-", "-", ".", "5", "space", "enter", "9", "9", "space"], (WIPE,), (80, 24), False)
def test_a_walk_meets_no_fall_and_no_dead_end(
    steps: list[str | int], jobs: tuple[Stage, ...], size: tuple[int, int], dies: bool
) -> None:
    asyncio.run(walk(steps, jobs, size, dies))


@pytest.mark.long
@settings(max_examples=300, deadline=None, suppress_health_check=SLOW)
@given(st.lists(STEP, min_size=20, max_size=200), st.sampled_from(JOBS), SIZE, st.booleans())
def test_a_long_walk_meets_no_fall_and_no_dead_end(
    steps: list[str | int], jobs: tuple[Stage, ...], size: tuple[int, int], dies: bool
) -> None:
    asyncio.run(walk(steps, jobs, size, dies))
