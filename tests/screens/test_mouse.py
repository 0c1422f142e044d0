"""The mouse: off unless asked for, for lines of lists only, and nothing that keys cannot do."""

from __future__ import annotations

import re
import signal
import sys
from pathlib import Path

import pytest
from textual import events

from tests.kit.plans import COAT, WIPE
from tests.kit.stage import Play, played
from tests.kit.terminal import terminal

pytestmark = pytest.mark.waits

ON_PTY = pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such terminals")
# xterm ctlseqs, DEC private modes: 9 and 1000 to 1003 report a mouse, 1005, 1006, 1015 and 1016
# say how; from memory.
MOUSE = re.compile(rb"\x1b\[\?(9|100[0-36]|1005|1015|1016)h")
MOTION = (b"\x1b[?1003h", b"\x1b[?1002h")


async def click(play: Play, y: int, x: int = 5) -> None:
    """Presses the button and lets it go."""
    for made in (events.MouseDown, events.MouseUp):
        play.app.post_message(
            made(None, x, y, 0, 0, 1, False, False, False, screen_x=x, screen_y=y)
        )
        await play.settle()


def row_of(play: Play, text: str) -> int:
    """The row in which a text stands, the last one if there are several."""
    return max(y for y, line in enumerate(play.lines) if text in line)


async def test_a_click_chooses_a_line_of_a_list_and_a_second_one_presses_it(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("b")
        before, line = play.kinds, play.spoken[1]
        await click(play, row_of(play, line))
        assert play.sheet._at == 1
        assert play.kinds == before
        await click(play, row_of(play, line))
        assert play.kinds != before
        # The same by keys.
        written = play.kinds[len(before) :]
    async with played(tmp_path / "keys", (COAT,)) as play:
        await play.press("b", "down")
        before = play.kinds
        await play.press("space")
        assert play.kinds[len(before) :] == written


async def test_a_click_chooses_an_entry_of_a_page_and_a_second_one_opens_it(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, (WIPE,), (COAT,)) as play:
        await play.press("t")
        entries = [y for y in range(24) if play.screen.view.entry_at(y) == 1]  # type: ignore[attr-defined]  # Today has one
        await click(play, entries[0])
        assert play.screen.at == 1  # type: ignore[attr-defined]  # Today has one
        assert not play.sheet.is_open
        await click(play, entries[0])
        assert play.sheet.is_open
        by_click = (play.sheet.title, play.spoken)
        await play.press("esc", "space")
        assert (play.sheet.title, play.spoken) == by_click


@pytest.mark.parametrize("key", ["t", "p", "l", "o", "e", "?"])
async def test_every_row_shows_the_entry_that_a_click_there_chooses(
    tmp_path: Path, key: str
) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("space", key)
        view = play.screen.view  # type: ignore[attr-defined]  # every page has one
        for size in ((80, 24), (40, 12)):
            await play.resize(size)
            for y in range(size[1]):
                found = view.entry_at(y)
                if found is None:
                    continue
                await click(play, y)
                assert play.screen.at == found  # type: ignore[attr-defined]  # every page has one
                assert any(line.startswith(">") for line in play.lines)
                await play.press("esc" if play.sheet.is_open else "up")


async def test_a_click_on_run_presses_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        before = play.kinds
        for y in (0, 5, 12, 18, 23):
            for _ in range(3):
                await click(play, y)
            assert play.kinds == before, y
            assert not play.sheet.is_open, y


async def test_a_click_beside_the_lines_and_into_a_text_chooses_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("b")
        at, before = play.sheet._at, play.kinds
        for y in (0, 23):
            await click(play, y)
        assert (play.sheet._at, play.kinds, play.sheet.is_open) == (at, before, True)
        await play.press("esc")
        play.sheet.open_text("A note", before.append)
        await play.settle()
        assert play.sheet.is_text
        for y in range(24):
            await click(play, y)
        assert play.sheet.is_text
        assert play.kinds == before


async def test_two_lists_in_a_row_are_not_pressed_by_one_bounce(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        play.fingers.step = 0.1
        await play.press("b")
        before = play.kinds
        y = row_of(play, play.spoken[0])
        await click(play, y)
        once = play.kinds
        assert once != before
        await play.press("b")
        await click(play, row_of(play, play.spoken[0]))
        assert play.kinds == once


@ON_PTY
@pytest.mark.parametrize(
    ("term", "words", "asked"),
    [
        ("xterm-256color", (), False),
        ("xterm-256color", ("--mouse",), True),
        ("tmux-256color", ("--mouse",), True),
        ("linux", ("--mouse",), False),
        ("vt100", ("--mouse",), False),
    ],
)
def test_a_terminal_is_asked_for_buttons_only_and_only_if_that_is_asked_for(
    term: str, words: tuple[str, ...], asked: bool, tmp_path: Path
) -> None:
    command = ("-m", "cartclock.tui.cli", *words)
    with terminal(tmp_path, *command, env={"TERM": term}, warm=True) as child:
        child.wait_for("quit")
        child.kill(signal.SIGTERM)
        assert (MOUSE.search(child.wrote) is not None) is asked
        assert not any(mode in child.wrote for mode in MOTION)
        for mode in (b"1000", b"1006"):
            last = child.wrote.rfind(b"\x1b[?" + mode)
            assert (last >= 0) is asked
            assert not asked or child.wrote[last:].startswith(b"\x1b[?" + mode + b"l")


@ON_PTY
def test_reports_that_nobody_asked_for_press_nothing(tmp_path: Path) -> None:
    with terminal(tmp_path, warm=True) as child:
        child.wait_for("quit")
        for y in range(1, 25):
            child.send(f"\x1b[<0;5;{y}M\x1b[<0;5;{y}m" * 2)
        child.pause(0.5)
        # A list that a click had opened would take the escape.
        child.answer("\x1b", "SPACE clocks you on")
        child.kill(signal.SIGTERM)
