"""The terminal before the screen library has it: nothing typed is lost, and it is given back."""

from __future__ import annotations

import signal
import sys
from pathlib import Path

import pytest

from tests.kit.screen import Screen
from tests.kit.terminal import Terminal, terminal

pytestmark = [
    pytest.mark.waits,
    pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such terminals"),
]

HELD = """
import re, sys, time
from cartclock.tui.terminal.raw import RawTerminal
def held():
    return RawTerminal(sys.__stdin__.fileno(), sys.__stderr__.fileno())
PICTURE = ["\\x1b[1;38;2;255;255;255;48;2;20;20;20mwhite van\\x1b[0;7m  ", "\\x1b[1mPOLISH"]
with held() as raw:
    raw.show(PICTURE)
    DO
print("over")
"""
# A small program on the library, which says which keys came to it.
LIBRARY = """
import asyncio
    from textual.app import App
    from cartclock.tui.terminal.driver import terminal_driver
    class Heard(App):
        heard = ""
        def on_key(self, event):
            self.heard += event.character or ""
            if event.character == "q":
                self.exit(self.heard)
    FIRST
    print("heard", Heard(driver_class=terminal_driver(raw)).run(mouse=False), "to the end")
"""
WAITS = "print('\\nheld'); time.sleep(30)"


def script(do: str) -> tuple[str, str]:
    return "-c", HELD.replace("DO", do.strip())


def library(first: str) -> tuple[str, str]:
    return script(LIBRARY.replace("FIRST", first))


def given_back(child: Terminal) -> bool:
    """The main screen is there with a cursor and wrapped lines, and the modes are the old ones."""
    wrote = bytes(child.wrote)
    left = wrote.find(b"\x1b[?1049l")
    return (
        wrote.count(b"\x1b[?1049h") == wrote.count(b"\x1b[?1049l") == 1
        and all(
            wrote.rfind(on) > wrote.rfind(off) for on, off in ((b"?25h", b"?25l"), (b"?7h", b"?7l"))
        )
        and left > wrote.find(b"\x1b[?1049h")
        and child.modes() == child.plain
    )


def test_a_picture_stands_from_its_first_row_and_the_terminal_is_given_back(tmp_path: Path) -> None:
    with terminal(tmp_path, *script(WAITS.replace("30", "1"))) as child:
        shown = child.wait_for("held")
        screen = Screen()
        screen.take(bytes(child.wrote[:shown]).decode())
        assert [line.rstrip() for line in screen.lines()[:2]] == ["white van", "POLISH"]
        assert b"\x1b[0m\x1b[1;38;2;255;255;255;48;2;20;20;20mwhite van\x1b[0;7m  " in child.wrote
        assert child.modes() != child.plain
        child.wait_for("over")
        assert child.ended() == 0
        assert given_back(child)


def test_keys_do_nothing_by_themselves_while_it_is_held(tmp_path: Path) -> None:
    with terminal(tmp_path, *script(WAITS.replace("30", "0.5"))) as child:
        child.wait_for("held")
        child.send("\x03\x1a\x11typed")
        child.wait_for("over")
        assert child.ended() == 0
        assert b"typed" not in child.wrote


def test_a_fault_leaves_the_terminal_whole_and_is_told_on_the_main_screen(tmp_path: Path) -> None:
    with terminal(tmp_path, *script("raise ValueError('on purpose')")) as child:
        assert child.ended() == 1
        assert given_back(child)
        assert child.wrote.index(b"on purpose") > child.wrote.index(b"\x1b[?1049l")


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
def test_a_signal_leaves_the_terminal_whole(number: signal.Signals, tmp_path: Path) -> None:
    with terminal(tmp_path, *script(WAITS)) as child:
        child.wait_for("held")
        assert child.kill(number) == -number
        assert given_back(child)
        assert b"Traceback" not in child.wrote


def test_a_fault_of_the_library_before_it_has_the_terminal_leaves_it_whole(tmp_path: Path) -> None:
    with terminal(
        tmp_path, *library("Heard.CSS = 'no { style'; Heard.heard = '-'"), warm=True
    ) as child:
        child.wait_for("over")
        assert child.ended() == 0
        assert given_back(child)


def test_the_library_takes_over_the_picture_and_gives_back_what_was_there_before(
    tmp_path: Path,
) -> None:
    with terminal(tmp_path, *library("Heard.heard = ''"), warm=True) as child:
        child.wait_for(b"\x1b[>")
        # It was taken once and not wiped: what the library writes stands over it.
        assert child.wrote.count(b"\x1b[?1049h") == 1
        child.answer("q", "heard q to the end")
        child.wait_for("over")
        assert child.ended() == 0
        assert given_back(child)


def test_no_key_is_lost_from_before_the_picture_to_the_library(tmp_path: Path) -> None:
    asked = "raw.ask('\\x1b]11;?\\x07'); print('held'); print('ground', raw.answer(ANSWER, 10))"
    first = f"from cartclock.tui.terminal.ground import ANSWER; {asked}; time.sleep(0.5)"
    # Before the program is there, while it is asked, behind the answer, and while it imports.
    with terminal(tmp_path, *library(first), warm=True) as child:
        child.send("ab")
        child.wait_for("held")
        child.send("cd\x1b]11;rgb:0000/0000/0000\x07ef")
        child.wait_for("ground b'\\x1b]11;rgb:0000/0000/0000\\x07'")
        child.send("gh")
        child.wait_for(b"\x1b[>")
        child.send("ijq")
        child.wait_for("heard abcdefghijq to the end")
        assert child.ended() == 0


def test_a_terminal_that_answers_nothing_is_not_waited_for(tmp_path: Path) -> None:
    do = "raw.ask('\\x1b]11;?\\x07'); print(raw.answer(re.compile(b'never'), 0.2), raw.typed)"
    with terminal(tmp_path, *script(do)) as child:
        child.send("ab")
        child.wait_for("b'' b'ab'")
        assert child.ended() == 0
