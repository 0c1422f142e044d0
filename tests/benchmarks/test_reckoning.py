"""How often one repaint, one second and one press ask the clocks, and how far a press reaches.

These are counts and the same on any machine: the sooner they grow, the sooner it is seen. Run
shows four windows, a job of four hundred sections and a film in hand.
"""

from __future__ import annotations

import sys
from collections.abc import Awaitable, Callable
from pathlib import Path
from types import FrameType
from typing import Any

import pytest
from textual._compositor import Compositor, ReflowResult
from textual.geometry import Size
from textual.widget import Widget

from cartclock.engine.facts.rows import Evidence
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.log import Head, Log
from tests.kit.busy import FILMS, POLISH, WINDOWS, lay_films, take_up
from tests.kit.stage import LARGE, START_US, Play, played

ROOT = Path(__file__).parents[2]
OURS = tuple(f"{ROOT / folder}/" for folder in ("engine", "tui"))
# What was reached, which is what was aimed at: 1 for each of the first three, and 25 until a press
# is durable.
READS_MOST = {"repaint": 0, "second": 1, "press": 1}
# Until the row is on the disk; and with the picture that follows, which says all there is to say,
# of promises and of calls that are to be answered, too, and for which the rest of every open job is
# played forward by what its plan says that each section weighs and with the rests of the rolling
# hour, so that the head can say when it will be done; what is told of new photos among it.
FILES_MOST = {"durable": 25, "painted": 118}


class Counted(HandClock):
    """A clock that knows how often it was read."""

    def __init__(self) -> None:
        super().__init__(START_US)
        self.reads = 0

    def read(self) -> Evidence:
        """The two clocks."""
        self.reads += 1
        return super().read()


async def at_work(play: Play) -> None:
    """All windows run, and the worker polishes."""
    lay_films(play.bench, play.clock)
    take_up(play.bench, "polish")
    await play.wind(5)
    assert len(play.glance.faces) >= WINDOWS


async def reads(clock: Counted, act: Callable[[], Awaitable[None]]) -> int:
    """How often the clocks were read while that was done and drawn."""
    before = clock.reads
    await act()
    return clock.reads - before


async def test_the_clocks_are_asked_no_more_often(tmp_path: Path) -> None:
    clock = Counted()
    async with played(tmp_path, (POLISH, FILMS), size=LARGE, clock=clock) as play:
        await at_work(play)

        async def repaint() -> None:
            play.app.repaint()
            await play.settle()

        async def second() -> None:
            clock.wind(1)
            play.app.tick()
            await play.settle()

        async def press() -> None:
            await play.press("space")
            assert play.kinds[-1] == "WorkStarted"

        found = {
            "repaint": await reads(clock, repaint),
            "second": await reads(clock, second),
            "press": await reads(clock, press),
        }
    assert {what: n for what, n in found.items() if n > READS_MOST[what]} == {}, found


async def test_a_second_lays_nothing_out_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The library divides the screen anew for one part alone, which costs more than the clocks."""
    divided: list[int] = []
    reflow = Compositor.reflow

    def counted(compositor: Compositor, parent: Widget, size: Size) -> ReflowResult:
        divided.append(1)
        return reflow(compositor, parent, size)

    clock = HandClock(START_US)
    work = (POLISH, FILMS)
    async with played(tmp_path, work, size=LARGE, clock=clock, every_picture=True) as play:
        await at_work(play)
        # What was answered stands for some seconds; then nothing but the clocks goes on.
        await play.wind(60)
        monkeypatch.setattr(Compositor, "reflow", counted)
        for _ in range(5):
            clock.wind(1)
            play.app.tick()
            await play.settle()
        assert not divided
        play.app.screen.refresh(layout=True)
        await play.settle()
    assert divided


async def test_a_press_enters_no_more_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    entered: set[str] = set()
    found: dict[str, list[str]] = {}

    def entering(frame: FrameType, event: str, _given: object) -> None:
        if event == "call" and frame.f_code.co_filename.startswith(OURS):
            entered.add(frame.f_code.co_filename)

    def so_far(what: str) -> None:
        found[what] = sorted(str(Path(file).relative_to(ROOT)) for file in entered)

    append = Log.append

    def durable(log: Log, *args: Any, **kept: Any) -> Head:
        head = append(log, *args, **kept)
        so_far("durable")
        return head

    monkeypatch.setattr(Log, "append", durable)
    async with played(tmp_path, (POLISH, FILMS), size=LARGE) as play:
        await at_work(play)
        before = sys.getprofile()
        sys.setprofile(entering)
        try:
            await play.press("space")
            assert play.picture.height
        finally:
            sys.setprofile(before)
        so_far("painted")
        assert play.kinds[-1] == "WorkStarted"
    assert found["durable"]
    more = {what: names for what, names in found.items() if len(names) > FILES_MOST[what]}
    assert more == {}, {what: len(names) for what, names in found.items()}
