"""The laptop on the cart: kept awake, its battery, and the title of its window."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest

import cartclock.tui.terminal.awake
from cartclock.engine.now.faces import Face
from cartclock.engine.store.laptop.battery import Battery
from cartclock.tui.terminal.awake import CANNOT, DARK, LID, LID_S, Awake
from cartclock.tui.terminal.title import MOST_LETTERS, NAME, Title, title_text
from tests.kit.plans import WIPE
from tests.kit.stage import Play, played, whole

ROOT = Path(__file__).parents[2]
posix = pytest.mark.skipif(sys.platform == "win32", reason="there is no pseudo terminal")


def until(so: Callable[[], object]) -> None:
    """Waits for another thread; a busy machine may take its time."""
    end = time.monotonic() + 20
    while not so():
        assert time.monotonic() < end, "it never came to be"
        time.sleep(0.01)


async def rings_in(play: Play, seconds: int) -> list[int]:
    """The seconds from now on in which the bell rings."""
    found = []
    for second in range(1, seconds + 1):
        before = play.app.bells
        await play.wind(1)
        found += [second] * (play.app.bells - before)
    return found


# Awake.


def waited(awake: Awake) -> str:
    """The state, once it is known."""
    until(lambda: awake.state != "asking")
    return awake.state


def test_awake_by_what_the_system_offers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("WAKEPY_FAKE_SUCCESS", "1")
    now = 0.0
    awake = Awake(lambda: now)
    assert (awake.state, awake.notices) == ("off", ())
    awake.want(False)
    awake.want(True)
    awake.want(True)
    assert waited(awake) == "screen on"
    assert [thread.name for thread in threading.enumerate()].count("awake") == 1
    # Once, for a while.
    assert awake.notices == (LID,)
    now = LID_S
    assert awake.notices == ()
    awake.want(False)
    assert (awake.state, awake.notices) == ("off", ())
    awake.want(True)
    assert waited(awake) == "screen on"
    assert awake.notices == ()
    awake.close()
    assert "awake" not in [thread.name for thread in threading.enumerate()]


def test_a_laptop_that_cannot_be_kept_awake_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("WAKEPY_FORCE_FAILURE", "1")
    now = 0.0
    awake = Awake(lambda: now)
    awake.want(True)
    assert waited(awake) == "cannot"
    assert awake.notices == (CANNOT, LID)
    now = LID_S
    assert awake.notices == (CANNOT,)
    awake.close()


class Mode:
    """A way to stay awake that takes its time, and may be none."""

    def __init__(self, active: bool, gate: threading.Event | None = None) -> None:
        self.active, self.left, self._gate = active, False, gate

    def __enter__(self) -> Mode:
        if self._gate is not None:
            self._gate.wait(20)
        return self

    def __exit__(self, *_: object) -> None:
        self.left = True


def test_a_dark_screen_is_said_if_only_the_laptop_stays_awake(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    import wakepy

    dark = Mode(True)
    monkeypatch.setattr(wakepy.keep, "presenting", lambda on_fail: Mode(False))
    monkeypatch.setattr(wakepy.keep, "running", lambda on_fail: dark)
    awake = Awake()
    awake.want(True)
    assert waited(awake) == "running"
    assert awake.notices == (DARK, LID)
    assert not dark.left
    awake.close()
    assert dark.left


def test_a_silent_bus_keeps_nobody_waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    import wakepy

    gate, late = threading.Event(), Mode(True)
    late._gate = gate
    monkeypatch.setattr(wakepy.keep, "presenting", lambda on_fail: late)
    monkeypatch.setattr(cartclock.tui.terminal.awake, "CLOSE_S", 0.05)
    awake = Awake()
    begun = time.monotonic()
    awake.want(True)
    assert awake.state == "asking"
    assert awake.notices == ()
    awake.want(False)
    awake.close()
    assert time.monotonic() - begun < 5
    # The answer comes when nobody wants it any more: it is let go again and says nothing.
    gate.set()
    until(lambda: late.left)
    assert awake.state == "off"


def test_whatever_it_raises_the_clocks_go_on(monkeypatch: pytest.MonkeyPatch) -> None:
    import wakepy

    def fails(on_fail: str) -> Mode:
        raise RuntimeError("no bus today")

    monkeypatch.setattr(wakepy.keep, "presenting", fails)
    awake = Awake()
    awake.want(True)
    assert waited(awake) == "cannot"
    awake.close()


async def test_the_screen_says_what_is_so_of_the_laptop(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("WAKEPY_FORCE_FAILURE", "1")
    monkeypatch.setattr("cartclock.tui.app.battery", lambda: None)
    async with played(tmp_path, (WIPE,)) as play:
        play.app.awake = Awake(lambda: 0.0)
        await play.wind(30)
        waited(play.app.awake)
        await play.wind(30)
        assert play.glance.notices[-2:] == (CANNOT, LID)
        assert whole(play) == []
        await play.press("b", "m")
        await play.wind(1)
        assert play.app.awake.state == "off"


# The battery.


async def test_a_battery_is_said_low_and_rings_when_it_is_nearly_empty(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.wind(30)
        play.app.workplace.instrument_trouble = "The reading command failed."
        play.app.battery = Battery(18, True)
        assert await rings_in(play, 5) == []
        assert play.glance.notices == ("The reading command failed.", "battery 18 %: plug in")
        play.app.battery = Battery(7, True)
        assert await rings_in(play, 31) == [1, 2, 3, 31]
        said = ("battery 7 %: plug in now", "The reading command failed.")
        assert play.glance.notices == said
        play.app.battery = Battery(7, False)
        assert await rings_in(play, 60) == []
        assert not any("battery" in notice for notice in play.glance.notices)


async def test_off_the_clock_an_empty_battery_rings_nobody(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,), on=False) as play:
        play.app.battery = Battery(3, True)
        assert await rings_in(play, 3) == []
        assert "battery 3 %: plug in now" in play.glance.notices


async def test_the_battery_is_read_once_a_minute(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("WAKEPY_FAKE_SUCCESS", "1")
    threads: list[str] = []

    def reads() -> Battery:
        threads.append(threading.current_thread().name)
        return Battery(18, True)

    monkeypatch.setattr("cartclock.tui.app.battery", reads)
    async with played(tmp_path, (WIPE,)) as play:
        assert play.app.battery is None
        play.app.awake = Awake()
        for _ in range(13):
            await play.wind(10)
            await play.app.workers.wait_for_complete()
        assert len(threads) == 3
        assert threading.main_thread().name not in threads
        assert "battery 18 %: plug in" in play.glance.notices


# The title of the window.


def test_a_title_is_written_when_it_changed_and_once_a_second() -> None:
    written: list[str] = []
    now = 0.0
    title = Title(written.append, lambda: now)
    title.clear()
    assert written == []
    title.show("0:45 WAIT roof")
    title.show("0:44 WAIT roof")
    assert written == ["\x1b[22;2t\x1b]2;0:45 WAIT roof\x07"]
    now = 1.0
    title.show("0:44 WAIT roof")
    now = 2.0
    title.show("0:44 WAIT roof")
    assert written[1:] == ["\x1b]2;0:44 WAIT roof\x07"]
    title.clear()
    title.clear()
    assert written[2:] == ["\x1b]2;\x07\x1b[23;2t"]


def test_a_title_holds_no_control_characters() -> None:
    written: list[str] = []
    Title(written.append, lambda: 0.0).show("a\x1b]0;b\x07c\x9cd\ne" + "x" * 200)
    (sent,) = written
    inner = sent.removeprefix("\x1b[22;2t\x1b]2;").removesuffix("\x07")
    assert inner.isprintable()
    assert len(inner) == MOST_LETTERS
    assert inner.startswith("a ]0;b c d e")


def test_a_title_is_the_clock_that_hurts_first() -> None:
    wait = Face("WAIT", "0:45", "roof", "", "wait", "a")
    late = Face("LATE", "0:05", "boot", "", "late", "b")
    assert title_text([late, wait]) == "0:05 LATE boot"
    assert title_text([Face("OFF THE CLOCK", "", "", "", "off", "off")]) == NAME
    assert title_text([]) == NAME


async def test_a_headless_screen_has_no_title(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        written: list[str] = []
        play.app._title = Title(written.append, lambda: 0.0)
        await play.wind(5)
        assert written == []


@posix
def test_the_real_program_gives_the_title_back(tmp_path: Path) -> None:
    import pty

    (tmp_path / "settings.toml").touch()
    leader, follower = pty.openpty()
    facts = {"CARTCLOCK_HOME": str(tmp_path), "TERM": "xterm-256color", "WAKEPY_FAKE_SUCCESS": "1"}
    child = subprocess.Popen(
        [sys.executable, "-m", "cartclock.tui.cli"],
        stdin=follower,
        stdout=follower,
        stderr=follower,
        cwd=ROOT,
        env={**os.environ, **facts},
        start_new_session=True,
    )
    os.close(follower)
    held = b""
    end = time.monotonic() + 60
    pressed = False
    while time.monotonic() < end:
        try:
            some = os.read(leader, 65536)
        except OSError:
            break
        if not some:
            break
        held += some
        if b"\x1b]2;cartclock\x07" in held and not pressed:
            pressed = True
            os.write(leader, b"q")
    os.close(leader)
    assert child.wait(20) == 0
    assert b"\x1b[22;2t\x1b]2;cartclock\x07" in held
    assert held.index(b"\x1b]2;\x07\x1b[23;2t") > held.index(b"\x1b]2;cartclock\x07")
