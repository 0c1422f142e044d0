"""Hours with windows running, accelerated, in the real app: at their end it holds no more than at
their beginning, but for what was pressed; neither in memory, nor on the disk, nor of handles."""

from __future__ import annotations

import gc
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from resource import getpagesize
from weakref import ReferenceType

import pytest
from msgspec import Struct

from cartclock.engine.facts.events import ClockedOn
from cartclock.engine.facts.move import Move
from cartclock.engine.now.running import running_films
from cartclock.engine.plan.plan import Stage, Wait, Work
from cartclock.engine.rules import rules
from tests.kit.busy import MATE, take_up
from tests.kit.stage import Play, played

HANDLES, PAGES = Path("/proc/self/fd"), Path("/proc/self/statm")
pytestmark = pytest.mark.skipif(not HANDLES.exists(), reason="no /proc to look into")

# Invented round numbers, no source, no advice. Four windows run all the time, and of the others
# one begins or ends each quarter of an hour.
SOAK = Stage(
    "Soak",
    tuple(f"wheel {n}" for n in range(1, 6)),
    (Work("wet", 1.0), Wait("dwell", 108_000, 112_000, 116_000), Work("wipe", 1.0)),
    order="all",
)
FILMS = Stage(
    "Fallout",
    tuple(f"side {n}" for n in range(1, 121)),
    (Work("spray", 1.0), Wait("dwell", 1800, 12000, 14400), Work("rinse", 1.0)),
    order="wave",
)
QUARTER_S = 900
# Help, Today, Plan, Log, Record, Products, Outlook, History, and back to Run.
SCREENS = ("?", "escape", "t", "p", "l", "e", "o", "d", "h", "escape", "u")
# What one row may leave behind: objects in the folds, with what they are made of; bytes in the log
# and its indexes.
OBJECTS_A_ROW, BLOCKS_A_ROW, BYTES_A_ROW = 30, 150, 3_000
# What may differ from one look to the next: less than six hundred ticks that leave one each. What
# is kept of drawn words comes and goes by blocks, so a block a tick is seen in hours only.
OBJECTS, BLOCKS, BYTES = 500, 2_000, 100_000
# What the system gave and was not given back, of all these together.
RESIDENT = 8_000_000


class Held(Struct, frozen=True):
    """What the program holds: objects that may hold others (weak references come and go with what
    keeps a list of them), blocks of memory for whatever there is, bytes that the system gave it,
    handles, bytes in its folder, rows."""

    objects: int
    blocks: int
    resident: int
    handles: int
    bytes: int
    rows: int


def held(play: Play) -> Held:
    gc.collect()
    files = [path for path in play.bench.log.path.parent.rglob("*") if path.is_file()]
    return Held(
        objects=sum(type(one) is not ReferenceType for one in gc.get_objects()),
        blocks=sys.getallocatedblocks(),
        resident=int(PAGES.read_text().split()[1]) * getpagesize(),
        handles=len(list(HANDLES.iterdir())),
        bytes=sum(path.stat().st_size for path in files),
        rows=len(play.bench.rows),
    )


@asynccontextmanager
async def running(folder: Path) -> AsyncIterator[Play]:
    """Four windows that run longer than a day, and who lays them is off the clock again."""
    async with played(folder, (FILMS,), (SOAK,)) as play:
        play.bench.do_as(MATE, 0, rules.clock_on, ClockedOn("carport"))
        for _ in range(5):
            take_up(play.bench, "wet", MATE)
            play.clock.wind(60)
        play.bench.do_as(MATE, 0, rules.take_up, Move("end", why="end"), {})
        play.bench.do_as(
            MATE, 0, rules.clock_off, {"unfinished": "goes on", "window_open": "they are long"}
        )
        yield play


async def quarters(play: Play, count: int, tick_s: int) -> None:
    """Quarters of an hour: a press at the beginning of each, a look at every screen."""
    for _ in range(count):
        await play.press("space")
        await play.press(*SCREENS)
        assert play.called == "run"
        for _ in range(0, QUARTER_S, tick_s):
            play.clock.wind(tick_s)
            play.app.tick()
            play.app._tend()
            await play.settle()


def flat(before: Held, after: Held) -> None:
    rows = after.rows - before.rows
    assert after.handles <= before.handles
    assert after.objects - before.objects < OBJECTS + OBJECTS_A_ROW * rows
    assert after.blocks - before.blocks < BLOCKS + BLOCKS_A_ROW * rows
    assert after.resident - before.resident < RESIDENT
    assert after.bytes - before.bytes < BYTES + BYTES_A_ROW * rows


@pytest.mark.long
async def test_half_an_hour_leaves_nothing_behind(tmp_path: Path) -> None:
    async with running(tmp_path) as play:
        await quarters(play, 2, tick_s=100)
        # What is kept of drawn cells and words is filled at the pace that is measured, and is full
        # behind three of them.
        await quarters(play, 3, tick_s=3)
        before = held(play)
        await quarters(play, 2, tick_s=3)
        flat(before, held(play))
        assert len(running_films(play.bench.jobs, play.bench.now_us)) >= 4


@pytest.mark.long
async def test_a_day_and_a_night_leave_nothing_behind(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    async with running(tmp_path) as play:
        await quarters(play, 4, tick_s=1)
        looks = [held(play)]
        for _ in range(24):
            await quarters(play, 4, tick_s=1)
            looks.append(held(play))
            flat(looks[0], looks[-1])
            assert len(running_films(play.bench.jobs, play.bench.now_us)) >= 4
        with capsys.disabled():
            print("", *looks[::6], sep="\n")  # noqa: T201  the figures are what this long run is for
