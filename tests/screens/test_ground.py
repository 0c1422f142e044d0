"""The ground on which the terminal writes: asked for, waited for by nobody, no keys."""

from __future__ import annotations

import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.store.settings import Settings
from cartclock.tui.terminal.driver import GroundFound
from cartclock.tui.terminal.ground import (
    ASK,
    BEGUN_S,
    BROKEN_S,
    EXPECTED_S,
    Answer,
    colour,
    is_light,
)
from tests.kit.plans import COAT
from tests.kit.stage import played
from tests.kit.terminal import ROOT, Terminal, terminal

pytestmark = pytest.mark.waits

WHITE = "\x1b]11;rgb:ffff/ffff/ffff\x1b\\"
DARK = "\x1b]11;rgb:1e/1e/2e\x07"
ON_PTY = pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such terminals")
# Blank cells of the two pages in 256 colours: xterm's cube and greys; from memory.
DARK_PAGE, LIGHT_PAGE = b"\x1b[48;5;232m ", b"\x1b[48;5;231m "
# The band of the large key on Run in the light theme.
LIGHT_BAND = b"48;5;254m"


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ("rgb:ffff/ffff/ffff", (255, 255, 255)),
        ("rgb:0000/8080/ffff", (0, 128, 255)),
        ("rgb:f/0/8", (255, 0, 136)),
        ("rgb:1e/1e/2e", (30, 30, 46)),
        ("rgb:fff/000/800", (255, 0, 128)),
        ("rgba:0000/0000/0000/ffff", (0, 0, 0)),
        ("rgb:fffff/0/0", None),
        ("rgb:ff/ff", None),
        ("rgb:gg/00/00", None),
        ("?", None),
        ("", None),
    ],
)
def test_a_colour_is_read_as_x11_writes_it(said: str, found: tuple[int, int, int] | None) -> None:
    assert colour(said) == found


@pytest.mark.parametrize(
    ("ground", "light"),
    [
        ((255, 255, 255), True),
        ((0, 0, 0), False),
        # Black and white are read alike where luminance is the root of 1.05 * 0.05 less 0.05,
        # 0.179: between the greys 117 and 118 (W3C WCAG 2.1, contrast ratio; reckoned by hand).
        ((117, 117, 117), False),
        ((118, 118, 118), True),
        ((253, 246, 227), True),
        ((0, 43, 54), False),
    ],
)
def test_light_is_what_black_is_read_better_on(ground: tuple[int, int, int], light: bool) -> None:
    assert is_light(ground) is light


class Typed:
    """What came out of the sieve, and what was found."""

    def __init__(self, asked: bool = True) -> None:
        self.found: list[bool] = []
        self.keys = ""
        self.now_s = 100.0
        self.answer = Answer(self.found.append)
        if asked:
            self.answer.asked(self.now_s)

    def type(self, text: str, after_s: float = 0.01) -> str:
        self.now_s += after_s
        out = self.answer.sift(text, self.now_s)
        self.keys += out
        return out


def test_unasked_everything_passes_at_once() -> None:
    typed = Typed(asked=False)
    assert typed.type("\x1b") == "\x1b"
    assert typed.type(WHITE) == WHITE
    assert typed.found == []


@pytest.mark.parametrize(("answer", "light"), [(WHITE, True), (DARK, False)])
@pytest.mark.parametrize("at", range(len(WHITE)))
def test_an_answer_in_two_pieces_is_no_keys(answer: str, light: bool, at: int) -> None:
    typed = Typed()
    typed.type("k" + answer[:at])
    typed.type("", 0.05)
    typed.type(answer[at:] + "w")
    assert typed.keys in ("kw", "k\x1bw")
    assert typed.found == [light]
    # A pause right behind its first byte cannot be told from the escape key.
    assert typed.keys == "kw" or at == 1


@given(
    st.lists(st.sampled_from(["k", "\x1b", "\x1b[A", "]", "1", "å", "\x1b[200~x\x1b[201~"])),
    st.lists(st.sampled_from(["k", "\x1b[B", "\x1b", "\r"])),
    st.data(),
)
def test_however_it_is_cut_every_key_passes_and_no_byte_of_the_answer(
    before: list[str], behind: list[str], data: st.DataObject
) -> None:
    keys_before, keys_behind = "".join(before), "".join(behind)
    # An escape that a hand leaves right before the answer ends in it, as with any sequence.
    whole = keys_before + WHITE + keys_behind
    cuts = sorted(data.draw(st.lists(st.integers(0, len(whole)), max_size=6)))
    typed = Typed()
    for begin, end in zip([0, *cuts], [*cuts, len(whole)], strict=True):
        if begin < end:
            typed.type(whole[begin:end])
    for _ in range(3):
        typed.type("", BEGUN_S)
    assert typed.keys == keys_before + keys_behind
    assert typed.found == [True]


@given(st.lists(st.sampled_from(["k", "\x1b", "\x1b]", "\x1b]1", "]11;", "\x1b[A", "x"])))
def test_without_an_answer_no_key_is_lost(given_keys: list[str]) -> None:
    typed = Typed()
    for key in given_keys:
        if (typed.keys + typed.answer._held + key).endswith(("\x1b]11;", "]11;")):
            continue
        typed.type(key)
        typed.type("", 0.15)
    typed.type("", BEGUN_S)
    skipped = [key for key in given_keys if not key.endswith("]11;")]
    assert typed.keys == "".join(skipped)
    assert typed.found == []


def test_a_lone_escape_waits_no_longer_than_a_sequence_and_later_not_at_all() -> None:
    typed = Typed()
    assert typed.type("\x1b") == ""
    assert typed.type("", 0.1) == "\x1b"
    typed.now_s += EXPECTED_S
    assert typed.type("\x1b") == "\x1b"


def test_an_answer_byte_by_byte_with_pauses_is_still_one() -> None:
    typed = Typed()
    for byte in DARK:
        typed.type(byte)
        typed.type("", 0.2)
    # Its first byte cannot be told from the escape key.
    assert typed.keys == "\x1b"
    assert typed.found == [False]


def test_an_answer_that_comes_late_is_still_one() -> None:
    typed = Typed()
    typed.now_s += 3600
    assert typed.type("k") == "k"
    # Its first byte has passed for an escape; the rest is an answer all the same.
    assert typed.type(WHITE[:1]) == "\x1b"
    assert typed.type(WHITE[1:]) == ""
    assert typed.found == [True]


def test_an_answer_without_an_end_swallows_no_key_for_long() -> None:
    typed = Typed()
    assert typed.type("\x1b]11;rgb:ff") == ""
    assert typed.type("", BROKEN_S + 0.1) == ""
    assert typed.type("k") == "k"
    assert typed.found == []


@pytest.mark.parametrize("odd", ["\x1b]11;no colour\x07", "\x1b]11;\x07", "\x1b]11;rgb:1/2\x1b\\"])
def test_an_answer_that_names_no_colour_is_none(odd: str) -> None:
    typed = Typed()
    assert typed.type(f"a{odd}b") == "ab"
    assert typed.found == []


def test_a_key_within_an_answer_is_not_lost() -> None:
    typed = Typed()
    assert typed.type("\x1b]11;rgb:ff\x1b[A") == "\x1b[A"


# On the screens.


async def test_what_the_terminal_says_sets_the_theme(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        play.app._asks_ground = True
        assert play.app.theme == "shade"
        play.app.post_message(GroundFound(light=True))
        await play.settle()
        assert play.app.theme == "sun"


@pytest.mark.parametrize("theme", ["shade", "sun"])
async def test_the_setting_stands_against_the_terminal(tmp_path: Path, theme: str) -> None:
    async with played(tmp_path, (COAT,), settings=Settings(theme=theme)) as play:
        play.app.post_message(GroundFound(light=theme == "shade"))
        await play.settle()
        assert play.app.theme == theme


async def test_a_key_turns_the_theme_on_every_screen_and_stands(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        play.app._asks_ground = True
        for screen in ("u", "t", "p", "l", "e", "o", "?"):
            before = play.app.theme
            await play.press(screen, "*")
            assert play.app.theme != before
            name = play.app.theme
            assert f'theme = "{name}" in the settings keeps it.' in play.notice
            play.app.post_message(GroundFound(light=name == "shade"))
            await play.settle()
            assert play.app.theme == name
            ground = play.app.theme_variables["background"].lower()
            assert play.screen.styles.background.hex.lower() == ground
            # Those in the back are of the same theme when they come to the front.
            await play.press("u")
            assert play.screen.styles.background.hex.lower() == ground


async def test_without_colour_there_is_no_theme_to_turn(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,), colours="none") as play:
        await play.press("*")
        assert play.notice == "Without colour, light and dark are the terminal's own."
        assert play.app.theme == "shade"


# On a terminal.


def asking(child: Terminal) -> None:
    child.wait_for(ASK)


@ON_PTY
@pytest.mark.parametrize("pieces", [[WHITE], [WHITE[:2], WHITE[2:9], WHITE[9:]]], ids=len)
def test_a_light_terminal_gets_the_light_theme(pieces: list[str], tmp_path: Path) -> None:
    with terminal(tmp_path, warm=True) as child:
        asking(child)
        for piece in pieces:
            child.send(piece)
            child.pause(0.02)
        child.wait_for(LIGHT_PAGE)
        child.answer("\x1b", "SPACE clocks you on")
        child.kill(signal.SIGTERM)


@ON_PTY
def test_a_late_answer_turns_what_stands_there_and_presses_no_key(tmp_path: Path) -> None:
    with terminal(tmp_path, warm=True) as child:
        child.wait_for("quit")
        assert DARK_PAGE in child.wrote
        assert LIGHT_PAGE not in child.wrote
        child.answer("\x1b", "SPACE clocks you on")
        child.pause(EXPECTED_S)
        since = len(child.wrote)
        child.send(WHITE[:1])
        child.pause(0.02)
        child.send(WHITE[1:])
        child.wait_for(LIGHT_BAND, since)
        # Of its letters b, f and the digits are keys of Run.
        assert b"minutes ago" not in child.wrote[since:]
        child.kill(signal.SIGTERM)


@ON_PTY
@pytest.mark.parametrize(
    ("env", "settings"),
    [
        ({}, 'theme = "shade"'),
        ({}, 'theme = "sun"'),
        ({"NO_COLOR": "1"}, ""),
    ],
    ids=str,
)
def test_who_needs_no_answer_does_not_ask(
    env: dict[str, str], settings: str, tmp_path: Path
) -> None:
    (tmp_path / "settings.toml").write_text(settings)
    with terminal(tmp_path, env=env, warm=True) as child:
        child.wait_for("quit")
        child.pause(0.3)
        assert ASK.encode() not in child.wrote
        child.kill(signal.SIGTERM)


@ON_PTY
@pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed")
def test_inside_tmux_the_program_starts_and_its_keys_work(tmp_path: Path) -> None:
    """tmux asks the outer terminal itself, or answers nothing."""
    (tmp_path / "settings.toml").touch()

    def tmux(*words: str) -> str:
        done = subprocess.run(
            ["tmux", "-S", str(tmp_path / "socket"), "-f", "/dev/null", *words],
            capture_output=True, text=True, check=False, cwd=ROOT,
            env={"PATH": "/usr/bin:/bin", "CARTCLOCK_HOME": str(tmp_path), "LANG": "C.UTF-8"},
        )  # fmt: skip
        return done.stdout

    def shows(text: str) -> bool:
        for _ in range(100):
            if text in tmux("capture-pane", "-p"):
                return True
            time.sleep(0.1)
        return False

    tmux("new-session", "-d", "-x", "80", "-y", "24", f"{sys.executable} -m cartclock.tui.cli")
    try:
        assert shows("quit")
        tmux("send-keys", "Escape")
        assert shows("SPACE clocks you on")
        tmux("send-keys", "*")
        assert shows("Light ground")
    finally:
        tmux("kill-server")
