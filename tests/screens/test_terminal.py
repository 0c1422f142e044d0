"""The program on a real pseudo-terminal: it gives the terminal back and loses nothing."""

from __future__ import annotations

import asyncio
import os
import random
import re
import selectors
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Thread
from time import monotonic

import pytest
from textual import events
from textual.app import App
from textual.drivers.linux_driver import LinuxDriver
from textual.geometry import Size
from textual.message import Message

import cartclock.tui.terminal.driver
from cartclock.engine.facts.events import ClockedOn
from cartclock.engine.store.log import Log
from cartclock.tui.commands.door import BUG, REFUSED
from cartclock.tui.terminal.driver import CartDriver, sound
from cartclock.tui.terminal.sink import Sink
from cartclock.tui.terminal.title import GIVE_BACK
from cartclock.tui.terminal.wire import Cells
from tests.kit.terminal import PATIENCE_S, Terminal, run, terminal

pytestmark = [
    pytest.mark.waits,
    pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such terminals"),
]

# Main screen, cursor, line wrap, plain keys, no bracketed paste: xterm ctlseqs, DEC private
# modes; kitty keyboard protocol, progressive enhancement.
RESTORES = (b"\x1b[?1049l", b"\x1b[?25h", b"\x1b[?7h", b"\x1b[<u", b"\x1b[?2004l")
# What a hail must not hold: the keys that leave the program, and their letters in a list.
LEAVING = b"qQ\x11\x03"
# The program with a shorter patience, so that a test need not wait for the real one.
HASTY = (
    "import cartclock.tui.terminal.driver; cartclock.tui.terminal.driver.LOOK_S = 0.01; "
    "import textual.constants; textual.constants.ESCAPE_DELAY = 0.01; "
    "cartclock.tui.terminal.driver.PASTE_S = 0.2; "
    "from cartclock.tui.cli import main; main()"
)
SIGNALS = [signal.SIGTERM, signal.SIGHUP, signal.SIGINT]


def clocked_on(child: Terminal) -> None:
    """The worker goes to Run and clocks on."""
    child.wait_for("quit")
    child.answer("\x1b", "SPACE clocks you on")
    child.answer("i", "SPACE")
    child.answer(" ", "T shows what waits")


def restored(child: Terminal) -> bool:
    """Everything the program asked of the terminal was taken back, in the right order."""
    after = child.wrote[child.wrote.rindex(b"\x1b[?1049h") :]
    return all(code in after for code in RESTORES) and child.modes() == child.plain


def rows(folder: Path) -> list[str]:
    """Kinds of the rows in the log, whose links hold."""
    with Log.open(folder / "log.db") as log:
        assert log.check() == []
        return [row.kind for row in log.all_rows()]


@pytest.mark.parametrize("number", SIGNALS)
def test_a_signal_gives_the_terminal_back(number: signal.Signals, tmp_path: Path) -> None:
    with terminal(tmp_path, warm=True) as child:
        clocked_on(child)
        assert child.modes() != child.plain
        assert child.kill(number) == 128 + number
        assert restored(child)
        said = child.wrote[child.wrote.rindex(b"\x1b[?25h") :].decode()
    assert f"Every press it answered is in {tmp_path / 'log.db'}." in said
    assert "Traceback" not in said
    assert rows(tmp_path) == [ClockedOn.__name__]


@pytest.mark.parametrize("apart_s", [0.0, 0.1, 0.3])
def test_three_quick_spaces_turn_three_charts(apart_s: float, tmp_path: Path) -> None:
    with terminal(tmp_path, warm=True) as child:
        child.wait_for("quit")
        child.answer("\x1b", "SPACE clocks you on")
        child.answer("t", "history")
        child.answer("h", "only some")
        child.answer("\t", "No finished stage of this yet")
        for _ in range(3):
            child.send(" ")
            child.pause(apart_s)
        # The fourth of the charts, which is of the heat.
        child.wait_for("HEAT")
        child.pause(0.2)
        assert b"USED BY MONTH" not in child.wrote
        assert child.kill(signal.SIGTERM) == 128 + signal.SIGTERM


def test_what_is_typed_while_it_starts_is_neither_shown_nor_lost(tmp_path: Path) -> None:
    with terminal(tmp_path) as child:
        modes = child.modes()
        while child.modes() == modes:
            assert child.child.poll() is None
        assert not child.wrote
        # From Today, where a first start begins, to Run.
        child.send("\x1b")
        child.wait_for("SPACE clocks you on")
        assert b"^[" not in child.wrote


@pytest.mark.parametrize(
    "seconds",
    [0.1, *(pytest.param(seconds, marks=pytest.mark.long) for seconds in (0.25, 0.32)), 0.4],
)
def test_a_signal_during_the_start_leaves_no_alternate_screen(
    seconds: float, tmp_path: Path
) -> None:
    with terminal(tmp_path) as child:
        child.take(seconds)
        assert child.kill(signal.SIGTERM) in {-signal.SIGTERM, 128 + signal.SIGTERM}
        assert child.wrote.count(b"\x1b[?1049h") == child.wrote.count(b"\x1b[?1049l")
    assert run(tmp_path, "check-log").returncode in {0, 1}


def test_a_closed_window_ends_the_program(tmp_path: Path) -> None:
    with terminal(tmp_path, warm=True) as child:
        clocked_on(child)
        assert child.hang_up() == 128 + signal.SIGHUP
    assert rows(tmp_path) == [ClockedOn.__name__]


def test_a_terminal_that_went_without_a_word_ends_the_program(tmp_path: Path) -> None:
    code = (
        "import signal, cartclock.tui.terminal.signals; "
        "cartclock.tui.terminal.signals.ENDING = (signal.SIGTERM,); "
        "signal.signal(signal.SIGHUP, signal.SIG_IGN); from cartclock.tui.cli import main; main()"
    )
    with terminal(tmp_path, "-c", code, warm=True) as child:
        clocked_on(child)
        assert child.hang_up() == 128 + signal.SIGHUP
    assert rows(tmp_path) == [ClockedOn.__name__]


def test_leaving_asks_on_the_clock_and_one_line_stays_behind(tmp_path: Path) -> None:
    with terminal(tmp_path, warm=True) as child:
        clocked_on(child)
        child.answer("q", "Leave the program?")
        child.send("\x1b[B")
        child.pause(1.2)
        child.send(" ")
        assert child.ended() == 0
        assert restored(child)
        said = child.wrote[child.wrote.rindex(b"\x1b[?25h") :].decode()
    assert re.search(r"On the clock since \d\d:\d\d, nothing in hand\. cartclock goes on", said)
    assert rows(tmp_path) == ["ClockedOn"]


FAULTS = {
    "in a press": "RunScreen.press_put_down = RunScreen.press_drink = lambda self: 1 / 0",
    "in a tick": "CartClock._poll = lambda self: 1 / (self.bench.shift() is None)",
}


@pytest.mark.parametrize("fault", FAULTS.values(), ids=FAULTS)
def test_a_fault_gives_the_terminal_back_and_says_where_the_log_is(
    fault: str, tmp_path: Path
) -> None:
    code = (
        "from cartclock.tui.app import CartClock; from cartclock.tui.screens.run import RunScreen; "
        f"{fault}; from cartclock.tui.cli import main; main()"
    )
    with terminal(tmp_path, "-c", code, warm=True) as child:
        child.wait_for("quit")
        child.answer("\x1b", "SPACE clocks you on")
        child.answer("i", "SPACE")
        child.send(" ")
        if "press" in fault:
            child.wait_for("T shows what waits")
            child.send("k")
        assert child.ended() == BUG
        assert restored(child)
        said = child.wrote[child.wrote.rindex(b"\x1b[?1004l") + 8 :].decode().strip()
    # The title of the window is given back as well; it is no text.
    said = said.removeprefix(f"\x1b]2;\x07{GIVE_BACK}").strip()
    assert said == (
        f"That was a bug of cartclock. Every press it answered is in {tmp_path / 'log.db'}, what "
        f"went wrong in {tmp_path / 'fault.txt'}; start it again and go on."
    )
    assert "ZeroDivisionError" in (tmp_path / "fault.txt").read_text()
    assert rows(tmp_path) == [ClockedOn.__name__]


COLOURS: dict[str, tuple[dict[str, str], str]] = {
    "true colours": ({"COLORTERM": "truecolor"}, r"[34]8;2;\d+;\d+;\d+"),
    "256 colours": ({}, r"[34]8;5;\d+"),
    # ECMA-48 and aixterm: 30-37 and 90-97 for text, 40-47 and 100-107 for its ground.
    "16 colours": ({"TERM": "xterm"}, r"(3|4|9|10)[0-7]"),
    "an empty word for no colour": ({"NO_COLOR": ""}, r"[34]8;5;\d+"),
    # Bold, faint and reverse stay.
    "no colour, true": ({"NO_COLOR": "1", "COLORTERM": "truecolor"}, "7"),
    "no colour, 256": ({"NO_COLOR": "0"}, "7"),
    "no colour, 16": ({"NO_COLOR": "no", "TERM": "linux"}, "7"),
    # The table of terminals says that it has none.
    "a terminal without colours": ({"TERM": "vt100"}, "7"),
}


@pytest.mark.parametrize(("env", "colour"), COLOURS.values(), ids=COLOURS)
def test_colours_are_those_the_terminal_has(
    env: dict[str, str], colour: str, tmp_path: Path
) -> None:
    with terminal(tmp_path, env=env, warm=True) as child:
        clocked_on(child)
        child.kill(signal.SIGTERM)
        wrote = child.wrote.decode()
    codes = [code for code in re.findall(r"\x1b\[([\d;]*)m", wrote) if code not in ("", "0")]
    assert len(codes) > (5 if colour == "7" else 50)
    style = re.compile(rf"(0;)?(1|2|{colour})(;({colour}))*")
    assert [code for code in codes if not style.fullmatch(code)] == []


@pytest.mark.parametrize("term", ["linux", "vt100", "vt220"])
def test_an_old_terminal_is_sent_nothing_it_would_print(term: str, tmp_path: Path) -> None:
    with terminal(tmp_path, env={"TERM": term}, warm=True) as child:
        clocked_on(child)
        child.pause(1.2)
        child.kill(signal.SIGTERM)
        wrote = child.wrote.decode()
    # Cursor, colours and modes; no string, no question, no keyboard of other letters.
    kinds = {re.sub(r"\d+", "0", found) for found in re.findall(r"\x1b[^a-zA-Z]*[a-zA-Z]", wrote)}
    assert {
        kind for kind in kinds if not re.fullmatch(r"\x1b\[(\?0[hl]|[0;]*[HCGm])", kind)
    } == set()


def hail(seed: int, length: int) -> bytes:
    """Any bytes but those that leave the program by its own keys."""
    chance = random.Random(seed)
    return bytes(byte for byte in chance.randbytes(length) if byte not in LEAVING)


STRAY = {
    "the byte 9A": b"\x9a",
    "half a letter": b"\xc3",
    "half a letter, then a key": b"\xe2\x82k\x1b",
    "a surrogate": b"\xed\xa0\x80",
    "a number that is no character": b"\x1b[99999999u\x1b[1114112;1u",
    "half of a pair by its number": b"\x1b[55296u",
    "a broken number": b"\x1b[1:2u\x1b[:;:u\x1b[;;u",
    "a size of nothing": b"\x1b[48;0;0;0;0t",
    "a size beyond reason": b"\x1b[48;99999999;99999999;1;1t",
    "a mouse that nobody asked for": b"\x1b[<0;1;1M\x1b[M\xff\xff\xff",
    "mode reports": b"\x1b[?2048;9$y\x1b[?2026;2$y",
    "a string without an end": b"\x1b]52;c;AAAA",
    "NUL": b"\x00" * 50,
}


def test_stray_bytes_do_not_end_the_program(tmp_path: Path) -> None:
    with terminal(tmp_path, "-c", HASTY, warm=True) as child:
        clocked_on(child)
        for name, stray in STRAY.items():
            child.send(stray)
            for _ in range(2):
                # The first may belong to what the stray bytes began.
                child.pause(0.03)
                child.send("\x1b")
            assert child.child.poll() is None, name
        lasting(child)
        assert rows(tmp_path) == [ClockedOn.__name__]


def test_a_hail_of_bytes_does_not_end_the_program(tmp_path: Path) -> None:
    with terminal(tmp_path, "-c", HASTY, warm=True) as child:
        clocked_on(child)
        for seed in range(3):
            child.send(hail(seed, 700))
            child.pause(0.2)
            assert child.child.poll() is None, seed
        lasting(child)
        assert rows(tmp_path)[0] == ClockedOn.__name__


@pytest.mark.long
def test_a_long_hail_of_bytes_does_not_end_the_program(tmp_path: Path) -> None:
    with terminal(tmp_path) as child:
        clocked_on(child)
        for seed in range(200):
            child.send(hail(1000 + seed, 700))
            child.pause(0.3)
            assert child.child.poll() is None, seed
        # More than a hundred thousand keys, which come faster than they can be answered.
        lasting(child, 3 * PATIENCE_S)
        assert rows(tmp_path)[0] == ClockedOn.__name__


def lasting(child: Terminal, patience_s: float = PATIENCE_S) -> None:
    """Whatever is open is left, a key works as ever, and the program ends in order."""
    ends_at = monotonic() + patience_s
    shown = False
    # What a hail pressed may still be on its way, and a ? on Help is a letter of what is sought.
    while not shown:
        assert monotonic() < ends_at, child.wrote[-600:]
        for _ in range(4):
            child.send("\x1b")
            child.pause(0.1)
        since = len(child.wrote)
        child.send("?")
        child.pause(0.5)
        shown = b"KEYS AND WORDS" in child.wrote[since:]
    assert child.kill(signal.SIGTERM, patience_s) == 128 + signal.SIGTERM


def test_a_paste_whose_end_was_lost_does_not_swallow_every_key(tmp_path: Path) -> None:
    with terminal(tmp_path, "-c", HASTY, warm=True) as child:
        clocked_on(child)
        child.send("\x1b[200~lost")
        child.pause(0.4)
        child.answer("t", "TODAY")
        child.kill(signal.SIGTERM)
    assert rows(tmp_path) == [ClockedOn.__name__]


@pytest.mark.parametrize(
    ("message", "is_sound"),
    [
        (events.Key("a", "a"), True),
        (events.Key("f5", None), True),
        (events.Key("x", "\ud800"), False),
        (events.Resize(Size(80, 24), Size(80, 24)), True),
        (events.Resize(Size(1000, 1000), Size(80, 24)), True),
        (events.Resize(Size(1001, 24), Size(80, 24)), False),
        (events.Resize(Size(80, 0), Size(80, 24)), False),
        (events.Paste("\x00"), True),
    ],
    ids=lambda value: repr(value),
)
def test_what_no_keyboard_sends_is_dropped(message: events.Event, is_sound: bool) -> None:
    assert sound(message) is is_sound


async def test_nobody_looks_for_keys_that_are_not_pressed(monkeypatch: pytest.MonkeyPatch) -> None:
    looked: list[float | None] = []
    heard: list[Message] = []
    select = selectors.SelectSelector.select

    def looks(selector: selectors.SelectSelector, timeout: float | None = None) -> object:
        looked.append(timeout)
        return select(selector, timeout)

    monkeypatch.setattr(selectors.SelectSelector, "select", looks)
    monkeypatch.setattr(CartDriver, "process_message", lambda _self, key: heard.append(key))
    monkeypatch.setattr(cartclock.tui.terminal.driver, "LOOK_S", 0.01)
    monkeypatch.setattr(cartclock.tui.terminal.driver, "QUIET_S", 0.25)
    app: App[None] = App()
    driver = CartDriver(app)
    driver.fileno, keys = os.pipe()
    thread = Thread(target=driver.run_input_thread)
    thread.start()
    try:
        for key in (b"a", b"\x1b"):
            os.write(keys, key)
            ends_at = monotonic() + 10
            while not heard or looked[-1:] != [None]:
                assert monotonic() < ends_at
                await asyncio.sleep(0.01)
            # What was begun was waited for, and then nothing but a key.
            assert 0.01 in looked
            assert len(heard) == 1
            heard.clear()
            looked.clear()
            await asyncio.sleep(0.1)
            assert looked in ([], [None])
    finally:
        driver.exit_event.set()
        thread.join(10)
    assert not thread.is_alive()
    driver.exit_event.clear()
    assert not driver.exit_event.is_set()
    driver.close()
    os.close(keys)
    os.close(driver.fileno)


@contextmanager
def taking(reading: int, taken: bytearray, length: int) -> Iterator[None]:
    """Another thread reads so many bytes meanwhile."""

    def take() -> None:
        while len(taken) < length:
            taken.extend(os.read(reading, 65536))

    thread = Thread(target=take)
    thread.start()
    yield
    thread.join()


def test_a_sink_writes_everything_and_survives_its_terminal() -> None:
    reading, writing = os.pipe()
    sink = Sink(writing)
    assert sink.fileno() == writing
    sink.write("å\ud800")
    sink.flush()
    assert os.read(reading, 100) == "å?".encode()
    os.set_blocking(writing, False)
    taken = bytearray()
    sink.write("x" * 200_000)
    with taking(reading, taken, 200_000):
        sink.flush()
    assert len(taken) == 200_000
    os.close(reading)
    sink.write("gone")
    sink.flush()
    sink.flush()
    os.close(writing)


@pytest.mark.parametrize("whole", [False, True], ids=["as they come", "at once"])
async def test_cells_are_put_as_a_frame_is(whole: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    wrote: list[str] = []
    monkeypatch.setattr(LinuxDriver, "write", lambda _driver, data: wrote.append(data))
    app: App[None] = App()
    # Terminals that can are told where a frame begins and ends.
    app._sync_available = whole
    driver = CartDriver(app)
    assert isinstance(driver, Cells)
    for _ in range(2):
        driver.put([(0, 0, "1", "12:34")])
    # What is short comes in one piece anyway.
    assert wrote == ["\x1b[1m\x1b[H12:34"]
    driver.put([(y, 0, "1", "x" * 80) for y in range(20)])
    begins, ends = ("\x1b[?2026h", "\x1b[?2026l") if whole else ("", "")
    # The colours of the cells before are still in force.
    assert wrote[1].startswith(f"{begins}\x1b[Hx")
    assert wrote[1].endswith(f"x{ends}")


@pytest.mark.parametrize("env", [{"TERM": "dumb"}, {"TERM": "unknown"}, {"TERM": ""}], ids=str)
def test_on_a_dumb_terminal_it_is_said_what_can_be_done_instead(
    env: dict[str, str], tmp_path: Path
) -> None:
    with terminal(tmp_path, env=env) as child:
        modes = child.modes()
        assert child.ended() == REFUSED
        assert child.modes() == modes
        said = child.wrote.decode()
    assert "\x1b" not in said
    for instead in ("cartclock now", "cartclock paper record JOB", "cartclock paper day DATE"):
        assert instead in said
    assert not (tmp_path / "log.db").exists()


def test_without_a_terminal_the_same_is_said(tmp_path: Path) -> None:
    done = run(tmp_path)
    assert (done.returncode, done.stdout) == (REFUSED, "")
    assert "cartclock now --follow" in done.stderr


def test_what_is_drawn_on_must_be_the_terminal(tmp_path: Path) -> None:
    code = (
        "import os; os.dup2(os.open(os.devnull, os.O_WRONLY), 2); "
        "from cartclock.tui.cli import main; main()"
    )
    with terminal(tmp_path, "-c", code) as child:
        assert child.ended() == REFUSED
        assert child.wrote == b""
