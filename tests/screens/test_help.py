"""Help: every key with what it does, and why it cannot be used now.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from cartclock.engine.store.settings import Settings
from cartclock.tui.keys import KEYS, SCREENS, on_screen
from cartclock.tui.screens.help import HelpScreen
from tests.kit.plans import COAT
from tests.kit.stage import HOME, LARGE, SMALL, Play, compare, played, whole

SIZES = pytest.mark.parametrize("size", [HOME, SMALL, LARGE], ids=["80x24", "40x12", "120x40"])


def lines(play: Play) -> list[str]:
    """Every line of the screen's list."""
    assert isinstance(play.screen, HelpScreen)
    return play.screen.lines()


def folded_out(play: Play) -> str:
    """All lines as one, however they were folded."""
    return " ".join(line.strip() for line in lines(play))


@SIZES
async def test_every_key_and_its_sentence_can_be_read(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with played(tmp_path, (COAT,), size=size) as play:
        await play.press("?")
        assert play.called == "help"
        assert whole(play) == []
        compare("help", play)
        assert max(len(line) for line in lines(play)) <= size[0]
        said = folded_out(play)
        for key in KEYS:
            assert key.help in said, key.id
            assert ", ".join(key.faces) in lines(play), key.id
        for word in ("WAIT", "READY", "LATE", "minutes ago"):
            assert word in said
        seen = {line.strip() for line in play.lines}
        for _ in range(len(lines(play))):
            await play.press("down")
            seen |= {line.strip() for line in play.lines}
        assert [line for line in lines(play) if line.strip() not in seen] == []
        await play.press("esc")
        assert play.called == "run"


async def test_it_says_why_a_key_cannot_be_used_now(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,), on=False) as play:
        await play.press("?")
        off = "Not now: You are not on the clock; I clocks you on."
        assert folded_out(play).count(off) >= 8
        await play.press("esc", "i", "space", "?")
        assert off not in folded_out(play)
        assert "Not now: Nothing is in hand." in folded_out(play)


async def test_it_shows_the_keys_the_worker_has_chosen(tmp_path: Path) -> None:
    settings = Settings(keys={"break": ("f6",)})
    async with played(tmp_path, (COAT,), settings=settings) as play:
        await play.press("?")
        assert "f6" in lines(play)
        assert "B" not in lines(play)
        await play.press("esc", "f6")
        assert play.sheet.title == "Break"


async def test_it_opens_from_every_screen(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        for screen in SCREENS:
            # A sign of being unwell opens the page of advice; D is another key on Run.
            ways = {"advice": ("f", "space"), "outlook": ("p", "d")}
            letters = [key.keys[0] for key in KEYS if key.id == screen]
            await play.press(*ways.get(screen, letters), "?")
            assert play.called == "help", screen
            await play.press("?", "esc")
            assert play.called == ("run" if screen == "help" else screen)
            await play.press("esc", "esc")
            assert play.called == "run", screen


def test_every_key_of_the_screen_has_a_meaning_there() -> None:
    for key in on_screen(KEYS, "help"):
        assert hasattr(HelpScreen, f"press_{key.id}"), key.id
