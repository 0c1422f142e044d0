"""A walk over the screens: any key, any time, and never a fall, a dead end or a broken log."""

from __future__ import annotations

import asyncio
import tempfile
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from cartclock.engine.plan.plan import Stage
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.settings import Settings
from cartclock.tui.keys import KEYS
from tests.kit.drawn import drawn
from tests.kit.plans import COAT, FALLOUT, POLISH, WIPE
from tests.kit.stage import START_US, Play, played, whole

# Every key of the program but the one that leaves it, what lists take, and some garbage.
REGISTRY = sorted({name for key in KEYS for name in key.keys if key.id != "quit"})
LISTS = ["f", "h", "m", "p", "s", "c", "e", "o", "w", "j", ".", "-", "5"]
GARBAGE = ["f5", "tab", "shift+tab", "home", "end", "delete", "ctrl+a", "é", "[", "%", "\\"]
# Those that do the work come often, or a walk would only open and close lists.
OFTEN = ["space"] * 8 + ["down"] * 3 + ["escape", "enter", "backspace"]
SECONDS = [1, 20, 61, 130, 400, 4000]
STEP = st.sampled_from([*REGISTRY, *LISTS, *GARBAGE, *OFTEN, *OFTEN, *SECONDS, *SECONDS])
ALONE, TWO = Settings(), Settings(helper="Tomek")
JOBS: list[tuple[Stage, ...]] = [(WIPE, COAT), (FALLOUT, POLISH), ()]


async def get_home(play: Play) -> None:
    """However deep a walk went, esc leads out: of lists, back through a screen, of a question."""
    await play.press(*["escape"] * 4)
    assert play.called == "run"
    assert not play.sheet.is_open
    assert not play.typing


async def check(play: Play) -> None:
    """What holds wherever a walk has come to."""
    assert play.app._exception is None
    assert whole(play) == []
    asked = play.bench.log.asked()
    assert asked is None or play.called != "run" or play.app.run_screen.sheet.is_open


async def walk(
    steps: list[str | int],
    jobs: tuple[Stage, ...],
    size: tuple[int, int],
    dies: bool,
    who: Settings,
) -> None:
    clock = HandClock(START_US)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        openings = [jobs] if jobs else []
        async with played(folder, *openings, size=size, clock=clock, settings=who) as play:
            # The workers clock on first, or most keys would only say that nobody is.
            if not jobs:
                await play.press("escape", "i", "space", *(["space"] if who.helper else []))
            if who.helper:
                await play.press("escape", "i", "down", "space")
            for step in steps:
                if isinstance(step, int):
                    await play.wind(step)
                else:
                    await play.press(step)
                drawn(play.app)
            await check(play)
            if not dies:
                await get_home(play)
                await check(play)
            assert play.odd() == []
            written = play.bench.log.all_rows()
        async with played(
            folder, size=size, clock=clock, seed="again", on=False, settings=who
        ) as play:
            assert play.bench.log.all_rows()[: len(written)] == written
            await get_home(play)
            await play.press("l", "p", "t", "e", "?", "escape", "c", "w", "escape")
            await check(play)
            assert play.odd() == []


STEPS = st.lists(STEP, min_size=10, max_size=60)
WHO = st.sampled_from([ALONE, TWO])
SIZE = st.sampled_from([(80, 24), (40, 12), (120, 40)])


@settings(max_examples=2)
@given(STEPS, st.sampled_from(JOBS), SIZE, st.booleans(), WHO)
@example(["space", 95, "i", "o"], (COAT,), (40, 12), True, ALONE)
@example(["t", "+", "space", "space", "v", "enter", "x", "enter"], (), (80, 24), False, ALONE)
@example(
    ["r", "-", "-", ".", "5", "space", "enter", "9", "9", "space"], (WIPE,), (80, 24), False, ALONE
)
@example(["c", "w", "j", "p", 61, "c", "w", "c", "escape", "c"], (WIPE, COAT), (40, 12), True, TWO)
@example(
    ["space", "enter", 95, "enter", "space", 400, "backspace", "enter", "i", "down", "space"],
    (WIPE, COAT),
    (80, 24),
    True,
    TWO,
)
def test_a_walk_meets_no_fall_and_no_dead_end(
    steps: list[str | int],
    jobs: tuple[Stage, ...],
    size: tuple[int, int],
    dies: bool,
    who: Settings,
) -> None:
    asyncio.run(walk(steps, jobs, size, dies, who))


@pytest.mark.long
@settings(max_examples=300)
@given(st.lists(STEP, min_size=20, max_size=200), st.sampled_from(JOBS), SIZE, st.booleans(), WHO)
def test_a_long_walk_meets_no_fall_and_no_dead_end(
    steps: list[str | int],
    jobs: tuple[Stage, ...],
    size: tuple[int, int],
    dies: bool,
    who: Settings,
) -> None:
    asyncio.run(walk(steps, jobs, size, dies, who))
