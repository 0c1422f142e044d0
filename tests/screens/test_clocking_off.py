"""Clocking off: what is told of the next day, read before the shift ends, and told after it.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

from pathlib import Path

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.plan.plan import Product, Use, Work
from tests.kit.plans import WIPE, opening
from tests.kit.stage import SMALL, START_US, compare_sizes, played, whole

FOAMED = replace(WIPE, name="Foam", steps=(Work("foam", 5.0, (Use("foam", 100.0),)),))
JOB = opening(FOAMED, WIPE)
JOB = replace(
    JOB,
    plan=replace(JOB.plan, products=(Product("foam", "Foam", mix="50:1"),)),
    promised_us=START_US + 27 * 3_600_000_000,
)


async def test_what_waits_is_read_before_the_shift_ends_and_told_after_it(tmp_path: Path) -> None:
    async with played(tmp_path, JOB) as play:
        await play.press("space")
        await play.wind(400)
        await play.press("space", "i")
        assert play.sheet.title == "On the clock for 7 min. Before you go:"
        said = " ".join(play.spoken)
        assert "what is mixed of Foam" in said and "promised Tue 22 Sep 17:13" in said
        await compare_sizes("clock_off", play)
        await play.press("esc")
        assert "ClockedOff" not in play.kinds
        await play.press("i", "space")
        off = play.bench.rows[-1].event
        assert isinstance(off, ev.ClockedOff) and len(off.told) == 2
        assert set(off.told) <= set(play.glance.notices)


async def test_a_small_screen_reads_on_before_space_ends_the_shift(tmp_path: Path) -> None:
    async with played(tmp_path, JOB, size=SMALL) as play:
        await play.press("space")
        await play.wind(400)
        await play.press("space", "i")
        assert whole(play) == []
        await play.press("space")
        assert "ClockedOff" not in play.kinds
        await play.press("o")
        assert play.kinds[-1] == "ClockedOff"


async def test_where_nothing_waits_the_list_is_short(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("i")
        assert play.spoken == ["clock off", "stay on"]
        await play.press("space")
        assert play.bench.rows[-1].event == ev.ClockedOff()
