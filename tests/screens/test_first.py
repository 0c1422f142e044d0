"""The first picture: it is what the screen goes on with, and no key is lost between the two."""

from __future__ import annotations

import signal
import sys
from contextlib import closing
from pathlib import Path

import pytest

from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts.events import ClockedOn
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import HandClock, SystemClock
from cartclock.engine.store.log import Log
from cartclock.engine.store.settings import Settings
from cartclock.tui.commands.first import opens_on_run
from cartclock.tui.told.workplace import Workplace
from tests.kit.busy import POLISH, take_up
from tests.kit.plans import opening
from tests.kit.screen import Screen
from tests.kit.stage import START_US
from tests.kit.terminal import Terminal, terminal

ON_PTY = pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such terminals")
# What Run says of its large key.
SHOWS = b"SPACE"
PASTES = b"\x1b[?2004h"
AGO_US = 20 * 60_000_000
# The program at one instant for ever.
STANDING = """
from cartclock.engine.store.clock import SystemClock
read = SystemClock().read()
SystemClock.read = lambda self: read
from cartclock.tui.cli import main
main()
"""
ENVIRONMENTS = {
    "all colours": {"COLORTERM": "truecolor"},
    "256 colours": {},
    "16 colours": {"TERM": "xterm"},
    "no colours": {"NO_COLOR": "1"},
}
# Neither the most colours nor none.
BETWEEN = ("256 colours", "16 colours")
LONG = pytest.mark.long


def at_work(folder: Path, clock: HandClock | None = None) -> HandClock:
    """A worker clocked on twenty minutes ago polishes since ten."""
    if clock is None:
        now = SystemClock().read()
        clock = HandClock(now.wall_us - AGO_US, now.boot, now.tick_us - AGO_US)
    with closing(Bench.open(folder / "log.db", clock)) as bench:
        bench.do(rules.open_job, bench.new_id(), opening(POLISH))
        bench.do(rules.clock_on, ClockedOn("carport"))
        clock.wind(600)
        take_up(bench, "polish")
        clock.wind(600)
    return clock


def screens(child: Terminal, since: int = 0) -> list[Screen]:
    """What the terminal showed of what came behind so many bytes, after each time that it came."""
    found: list[Screen] = []
    for _moment, length in child.came:
        screen = Screen()
        screen.take(child.wrote[since:length].decode(errors="ignore"))
        found.append(screen)
    return found


@ON_PTY
@pytest.mark.parametrize(
    ("size", "env"),
    [
        *(
            pytest.param((80, 24), env, id=name, marks=LONG if name in BETWEEN else ())
            for name, env in ENVIRONMENTS.items()
        ),
        pytest.param((40, 12), {}, id="40x12"),
        pytest.param((20, 6), {}, id="20x6", marks=LONG),
    ],
)
def test_the_screen_goes_on_with_the_first_picture(
    env: dict[str, str], size: tuple[int, int], tmp_path: Path
) -> None:
    at_work(tmp_path)
    with terminal(tmp_path, "-c", STANDING, size=size, env=env) as child:
        # The library asks for pastes when it takes the terminal, and draws.
        taken = child.wait_for(PASTES)
        child.wait_for(SHOWS, taken)
        child.pause(0.3)
        assert child.wrote.count(b"\x1b[?1049h") == 1
        # As it came over the line, in one piece or in several.
        whole = size[0] * size[1]
        first, *later = [screen for screen in screens(child) if len(screen.cells) == whole]
    assert len(later) > 1
    for screen in later:
        assert screen.lines() == first.lines()
        assert screen.cells == first.cells


@ON_PTY
def test_a_key_pressed_at_the_first_picture_counts(tmp_path: Path) -> None:
    at_work(tmp_path)
    with terminal(tmp_path) as child:
        first = child.wait_for(SHOWS)
        assert PASTES not in child.wrote[:first]
        child.send(" ")
        # The second one is in hand, and the third is what SPACE would take up.
        child.wait_for("panel 3", first)
    with Log.open(tmp_path / "log.db") as log:
        assert [row.kind for row in log.all_rows()][-1] == "WorkStarted"


@ON_PTY
def test_a_fault_behind_the_first_picture_leaves_the_terminal_whole(tmp_path: Path) -> None:
    at_work(tmp_path)
    code = (
        "import sys; sys.modules['cartclock.tui.app'] = None; "
        "from cartclock.tui.cli import main; main()"
    )
    with terminal(tmp_path, "-c", code) as child:
        child.wait_for(SHOWS)
        assert child.ended() != 0
        assert child.modes() == child.plain
        wrote = bytes(child.wrote)
        assert wrote.count(b"\x1b[?1049h") == wrote.count(b"\x1b[?1049l") == 1
        assert wrote.rfind(b"\x1b[?25h") > wrote.rfind(b"\x1b[?25l")


@ON_PTY
@pytest.mark.parametrize("behind_s", [0.0, pytest.param(0.1, marks=LONG), 0.3])
def test_a_signal_behind_the_first_picture_gives_the_terminal_back(
    behind_s: float, tmp_path: Path
) -> None:
    at_work(tmp_path)
    with terminal(tmp_path) as child:
        child.wait_for(SHOWS)
        child.pause(behind_s)
        assert child.kill(signal.SIGTERM) in {-signal.SIGTERM, 128 + signal.SIGTERM}
        assert child.modes() == child.plain
        wrote = bytes(child.wrote)
    # In the midst of writing, a part of the picture may be written again before it is left.
    assert wrote.rfind(b"\x1b[?1049l") > wrote.rfind(b"\x1b[?1049h")
    assert wrote.rfind(b"\x1b[?25h") > wrote.rfind(b"\x1b[?25l")


@ON_PTY
def test_another_size_behind_the_first_picture_is_drawn_anew(tmp_path: Path) -> None:
    at_work(tmp_path)
    with terminal(tmp_path) as child:
        child.wait_for(SHOWS)
        child.resize(40, 12)
        taken = child.wait_for(PASTES)
        child.wait_for(SHOWS, taken)
        child.pause(0.3)
        (*_, shown) = screens(child, taken)
    assert {max(numbers) for numbers in zip(*shown.cells, strict=True)} == {11, 39}


def workplace(bench: Bench) -> Workplace:
    return Workplace(bench, Shop(bench.log), Settings())


def test_no_first_picture_where_a_question_or_another_screen_stands_over_it(tmp_path: Path) -> None:
    clock = HandClock(START_US)
    with closing(Bench.open(tmp_path / "log.db", clock)) as bench:
        # Without a job it opens on Today.
        assert not opens_on_run(workplace(bench))
    at_work(tmp_path, clock)
    with closing(Bench.open(tmp_path / "log.db", clock)) as bench:
        assert opens_on_run(workplace(bench))
        bench.log.ask("{}")
        assert not opens_on_run(workplace(bench))
        bench.log.ask(None)
        assert opens_on_run(workplace(bench))
        # A day later nobody has clocked off, which is asked about.
        clock.wind(86_400)
        assert not opens_on_run(workplace(bench))
