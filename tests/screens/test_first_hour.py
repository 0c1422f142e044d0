"""The first questions: answered and left out by keys, at every size, and never asked twice."""

from __future__ import annotations

import asyncio
import signal
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from itertools import count
from pathlib import Path
from time import monotonic

import pytest

from cartclock.engine.store.settings import load_settings
from cartclock.tui.pages.settling import QUESTIONS
from cartclock.tui.settling import OF_THE_FILE, Settling, SettlingScreen
from cartclock.tui.terminal.colours import Colours
from tests.kit.stage import key_event, settle
from tests.kit.terminal import ROOT, run, terminal

SIZES = pytest.mark.parametrize("size", [(80, 24), (40, 12), (20, 6)], ids=str)


class Asked:
    """The questions, with what is shown of them."""

    def __init__(self, app: Settling) -> None:
        self.app = app

    @property
    def screen(self) -> SettlingScreen:
        screen = self.app.screen
        assert isinstance(screen, SettlingScreen)
        return screen

    def rows(self) -> list[str]:
        return [strip.text for strip in self.app.screen._compositor.render_strips()]

    async def press(self, *keys: str) -> None:
        for key in keys:
            self.app.post_message(key_event(key))
            await settle(self.app)

    async def enter(self, text: str) -> None:
        await self.press(*text, "enter")

    async def until(self, so: Callable[[], bool]) -> None:
        for _ in range(200):
            if so():
                return
            await asyncio.sleep(0.05)
        raise AssertionError(self.rows())


@asynccontextmanager
async def asked(
    path: Path,
    size: tuple[int, int] = (80, 24),
    offers: bool = True,
    colours: Colours = "many",
    seconds: Callable[[], float] | None = None,
) -> AsyncIterator[Asked]:
    """A clock of its own, in which no key bounces."""
    app = Settling(path, offers, colours, seconds=seconds or count(step=5).__next__)
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        yield Asked(app)


@pytest.mark.parametrize(
    ("size", "colours"),
    [
        ((80, 24), "many"),
        pytest.param((40, 12), "none", marks=pytest.mark.long),
        pytest.param((20, 6), "many", marks=pytest.mark.long),
    ],
    ids=str,
)
async def test_five_answers_by_keys_stand_in_the_settings(
    tmp_path: Path, size: tuple[int, int], colours: Colours
) -> None:
    path = tmp_path / "settings.toml"
    async with asked(path, size, colours=colours) as play:
        await play.enter("Ines")
        assert load_settings(path).worker == "Ines"
        await play.enter("A, B 1, 555 0100")
        await play.press("down", "space")
        await play.press("f")
        await play.press("space")
        await play.enter("8 9")
        assert play.screen.sheet.title == "What now?"
        # Every row is as wide as the terminal, whatever that is.
        assert {len(row) for row in play.rows()} == {size[0]}
        await play.press("j")
    assert play.app.return_value == "job"
    found = load_settings(path)
    assert (found.worker, found.rule_set, found.temperature) == ("Ines", "none", "F")
    assert (found.shop.phone, found.place, found.unheeded) == ("555 0100", (8.0, 9.0), ())


@SIZES
async def test_each_question_is_left_out_by_esc_and_nothing_is_written(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    path = tmp_path / "settings.toml"
    async with asked(path, size) as play:
        for at in range(len(QUESTIONS)):
            assert f"{at + 1} OF 5" in play.rows()[0]
            await play.press("escape")
        assert not any("stands in" in row for row in play.rows())
        await play.press("escape")
    assert play.app.return_value == "look"
    assert not path.exists()


async def test_an_empty_line_leaves_out_as_well(tmp_path: Path) -> None:
    async with asked(tmp_path / "settings.toml") as play:
        await play.press("enter")
        assert "2 OF 5" in play.rows()[0]


async def test_what_cannot_be_is_refused_and_can_be_mended(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    async with asked(path) as play:
        for _ in range(4):
            await play.press("escape")
        await play.enter("Madrit")
        assert play.screen.notice == "Did you mean Europe/Madrid?"
        # It is said of what was entered, and of no other text.
        await play.press("backspace")
        assert play.screen.notice == ""
        await play.press("d")
        assert not any("Did you mean" in row for row in play.rows())
        await play.press("enter")
        assert play.screen.notice == ""
    assert load_settings(path).zone == "Europe/Madrid"


@SIZES
async def test_degrees_stand_whatever_is_left_out_behind_them(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    path = tmp_path / "settings.toml"
    async with asked(path, size) as play:
        for _ in range(3):
            await play.press("escape")
        await play.press("down", "space")
        # They stand as soon as they are taken.
        assert path.read_text() == 'temperature = "F"\n'
        assert play.screen.sheet.title == "What measures air and humidity?"
        await play.press("escape", "escape")
        assert play.screen.answers["measures"] == "F, typed with R"
    assert load_settings(path).temperature == "F"


async def test_what_was_answered_of_an_instrument_outlasts_other_degrees(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    printed = "echo air_c=31.5 rh=44"
    async with asked(path) as play:
        for _ in range(3):
            await play.press("escape")
        await play.press("c", "down", "space")
        await play.enter(printed)
        await play.until(lambda: "5 OF 5" in play.rows()[0])
        await play.press("escape")
        anew = play.screen.sheet.spoken.index("measures: answer it anew")
        await play.press(*["down"] * anew, "space", "f", "escape")
        assert play.screen.answers["measures"] == f"F, printed by {printed}"
        found = load_settings(path)
        assert (found.temperature, found.reading_command) == ("F", printed)
        # By hand takes the line of the command away.
        await play.press(*["down"] * anew, "space", "f", "space")
        assert play.screen.answers["measures"] == "F, typed with R"
    assert path.read_text() == 'temperature = "F"\n'


async def test_a_command_is_tried_before_it_is_settled(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    async with asked(path) as play:
        for _ in range(3):
            await play.press("escape")
        await play.press("c")
        await play.press("down", "space")
        await play.enter("echo air_c=31.5")
        await play.until(lambda: bool(play.screen.notice))
        assert play.screen.notice == "The reading command printed no rh."
        assert load_settings(path).reading_command == ""
        # The line stands as it was typed, to be mended.
        await play.enter(" rh=44")
        await play.until(lambda: "5 OF 5" in play.rows()[0])
        assert play.screen.notice == "It printed air 31.5 C, humidity 44 %."
    assert load_settings(path).reading_command == "echo air_c=31.5 rh=44"


async def test_a_command_that_hangs_is_let_go_by_esc(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    async with asked(path) as play:
        for _ in range(3):
            await play.press("escape")
        await play.press("c")
        await play.press("down", "space")
        await play.enter("sleep 60")
        assert "of at most 20 s" in play.screen.sheet.spoken[0]
        await play.press("escape")
        assert "5 OF 5" in play.rows()[0]
    assert load_settings(path).reading_command == ""


async def test_an_answer_is_changed_at_the_end_and_a_line_of_the_file_is_not(
    tmp_path: Path,
) -> None:
    path = tmp_path / "settings.toml"
    path.write_text('# mine\nworker = "Ana" # me\n[shop]\nname = "B"\n')
    async with asked(path, offers=False) as play:
        assert "3 OF 5" in play.rows()[0]
        await play.press("space")
        await play.press("escape")
        await play.enter("madrid")
        assert play.screen.sheet.spoken[0] == "done"
        assert sum(OF_THE_FILE in row for row in play.rows()) == 2
        await play.press("down", "down", "down", "space")
        assert "5 OF 5" in play.rows()[0]
        await play.enter("1 2")
        await play.press("d")
    found = load_settings(path)
    assert (found.worker, found.place, found.unheeded) == ("Ana", (1.0, 2.0), ())
    text = path.read_text()
    assert '# mine\nworker = "Ana" # me\n' in text
    assert "zone" not in text
    assert '[shop]\nname = "B"\n' in text


async def test_a_key_that_bounces_answers_one_question(tmp_path: Path) -> None:
    async with asked(tmp_path / "settings.toml", seconds=lambda: 0.0) as play:
        await play.enter("Ines")
        await play.press("enter")
        assert "2 OF 5" in play.rows()[0]


@pytest.mark.parametrize("encoding", ["C.UTF-8", pytest.param("C", marks=pytest.mark.long)])
def test_a_first_start_asks_and_what_was_answered_outlasts_a_kill(
    tmp_path: Path, encoding: str
) -> None:
    with terminal(tmp_path, settled=False, env={"LC_ALL": encoding}) as child:
        child.wait_for("Your name")
        child.answer("Ines\r", "parted by commas")
        child.send("The Green")
        child.kill(signal.SIGKILL)
    assert load_settings(tmp_path / "settings.toml").worker == "Ines"
    assert list(tmp_path.iterdir()) == [tmp_path / "settings.toml"]
    # What was left open is not asked again unasked.
    with terminal(tmp_path, settled=False, warm=True) as child:
        child.wait_for("No job yet")


@pytest.mark.long
def test_a_first_start_leads_to_an_open_job_in_under_a_minute_with_a_key_a_second(
    tmp_path: Path,
) -> None:
    pressed = 0
    with terminal(tmp_path, settled=False) as child:
        child.wait_for("Your name")
        begun = monotonic()
        # esc, down and space leave lists; letters are typed as fast as a hand does.
        left = ["\x1b"] * 5
        for key in (*left, "j", "\x1b[B", "\x1b[B", " ", " ", *"green estate", "\r", "\x1b"):
            child.send(key)
            child.pause(0.1 if key.isalpha() and key != "j" else 1.1)
            pressed += 1
        child.wait_for("Job 1 opened")
        took_s = monotonic() - begun
    day = (ROOT / "tui/DAY.md").read_text(encoding="utf-8")
    assert f"a first start until its job is open, {pressed} keys and " in day
    assert took_s < 60


def test_a_signal_gives_the_terminal_back_and_opens_no_log(tmp_path: Path) -> None:
    with terminal(tmp_path, settled=False, warm=True) as child:
        child.wait_for("Your name")
        assert child.kill(signal.SIGTERM) == 128 + signal.SIGTERM
        assert child.modes() == child.plain
    assert not list(tmp_path.iterdir())


def test_nothing_is_asked_without_a_terminal(tmp_path: Path) -> None:
    assert run(tmp_path).returncode == 1
    answer = run(tmp_path, "settings", "--ask")
    assert (answer.returncode, answer.stdout) == (1, "")
    assert "need a terminal" in answer.stderr
    assert not list(tmp_path.iterdir())


def test_settings_ask_says_what_is_wrong_with_the_file(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text("worker =")
    with terminal(tmp_path, "-m", "cartclock.tui.cli", "settings", "--ask") as child:
        child.wait_for("is not TOML")
        assert child.ended() == 1
