"""How much goes to the terminal while clocks run: a cart may stand at the end of a slow line."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from statistics import mean

import pytest
from textual.driver import Driver

from cartclock.engine.plan.plan import Stage
from cartclock.tui.widgets import painted
from tests.kit import stage
from tests.kit.plans import COAT, FALLOUT
from tests.kit.stage import Driven, Play, played
from tests.kit.wired import Counting, painted_anew

# Our own judgement: under a third of what a line of 9600 baud carries in a second (ten bits a
# byte).
BYTES_MOST = 290


class Wired(Driven):
    """The app with a counter where the terminal is."""

    def _build_driver(
        self, headless: bool, inline: bool, mouse: bool, size: tuple[int, int] | None
    ) -> Driver:
        self._driver = Counting(self, size=size)
        # Terminals that can are told where a frame begins and ends.
        self._sync_available = True
        return self._driver


@asynccontextmanager
async def wired(
    monkeypatch: pytest.MonkeyPatch, folder: Path, *jobs: list[Stage], size: tuple[int, int]
) -> AsyncIterator[tuple[Play, Counting]]:
    """The app, and what it writes in true colour."""
    monkeypatch.setenv("COLORTERM", "truecolor")
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setattr(stage, "Driven", Wired)
    # A style remembers how it was written to the terminal of an earlier test.
    painted._style.cache_clear()
    async with played(folder, *jobs, size=size, every_picture=True) as play:
        driver = play.app._driver
        assert isinstance(driver, Counting)
        yield play, driver


async def each_second(play: Play, driver: Counting, seconds: int) -> list[int]:
    """Bytes written in each of so many seconds."""
    found = []
    for _ in range(seconds):
        before = driver.wrote
        await play.wind(1)
        found.append(driver.wrote - before)
    return found


async def two_clocks(play: Play) -> None:
    """One thing in hand and a film beside it, by a reading."""
    await play.choose("spray")
    await play.press("space")
    await play.wind(90)
    await play.press("space")
    await play.wind(21)


def same(play: Play, driver: Counting) -> None:
    """The terminal shows what it would have shown of everything that was written, and what the
    library would paint.
    """
    whole, shown = driver.whole, driver.shown
    assert shown.cells == painted_anew(play.app).cells
    assert shown.lines() == whole.lines()
    assert shown.cells == whole.cells
    assert (shown.y, shown.x) == (whole.y, whole.x)


@pytest.mark.parametrize(
    "size", [(80, 24), pytest.param((40, 12), marks=pytest.mark.long)], ids=["80x24", "40x12"]
)
async def test_a_minute_of_two_clocks(
    size: tuple[int, int], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with wired(monkeypatch, tmp_path, [FALLOUT, COAT], size=size) as (play, driver):
        await two_clocks(play)
        found = await each_second(play, driver, 60)
        # Something was written in every second, or the count says nothing.
        assert min(found) > 20
        assert driver.short >= 60
        assert mean(found) < BYTES_MOST
        same(play, driver)


@pytest.mark.long
@pytest.mark.parametrize("size", [(120, 40), (200, 60)])
async def test_larger_digits_take_a_quarter_of_what_the_library_writes(
    size: tuple[int, int], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with wired(monkeypatch, tmp_path, [FALLOUT, COAT], size=size) as (play, driver):
        await two_clocks(play)
        found = await each_second(play, driver, 20)
        assert min(found) > 20
        same(play, driver)
        # What the library writes where it draws the same seconds itself.
        monkeypatch.setattr(painted.Painted, "_put", lambda _self, _parts: False)
        raw = driver.raw
        await each_second(play, driver, 20)
        assert sum(found) < (driver.raw - raw) / 4


@pytest.mark.long
async def test_the_picture_is_the_same_whatever_happens(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with wired(monkeypatch, tmp_path, [FALLOUT, COAT], size=(80, 24)) as (play, driver):
        await two_clocks(play)
        for key in ["b", "down", "escape", "n", "s", "*", "é", "洗", "車", "enter", "t", "p", "m"]:
            await play.press(key)
            await play.wind(1)
            same(play, driver)
        for key in ["l", "o", "e", "?", "down", "escape", "space", "f", "escape", "w"]:
            await play.press(key)
            same(play, driver)
        assert driver.shown.lines() == play.lines
