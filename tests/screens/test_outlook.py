"""Outlook: what is left by the plan's minutes, stage by stage, and the windows on the same scale.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

from pathlib import Path

from cartclock.engine.facts.rows import MINUTE_US
from cartclock.tui.face.page import Cells, Page, Reach
from cartclock.tui.keys import KEYS, on_screen
from cartclock.tui.pages.outlook import NOTE
from cartclock.tui.screens.outlook import OutlookScreen
from tests.kit.page import page_of, read
from tests.kit.plans import COAT, POLISH, WIPE
from tests.kit.stage import compare_sizes, played


def stretches(page: Page) -> dict[str, tuple[float, float]]:
    """First text of a row -> minutes from the beginning of the scale to where its strip opens
    and closes.
    """
    found = {}
    for row in page.rows:
        if isinstance(row, Cells) and isinstance(row.cells[-1], Reach):
            reach = row.cells[-1]
            closes = reach.end if reach.closes is None else reach.closes
            ends = ((at - reach.start) / MINUTE_US for at in (reach.opens, closes))
            found[str(row.cells[0])] = (next(ends), next(ends))
    return found


async def test_what_is_left_stands_stage_by_stage_by_the_plans_minutes(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, POLISH, COAT)) as play:
        await play.press("t", "d")
        assert play.called == "outlook"
        assert NOTE in read(play)
        # 5 min; twice 20 and 10; of a coat one panel takes 4.5 in each of two layers, with a
        # minute of flash before the work goes on, and an hour between the layers.
        assert stretches(page_of(play)) == {
            "Wipe": (0, 5),
            "Polish": (5, 65),
            "Coat": (65, 65 + 2 * 5.5 + 60),
        }
        assert "27 min, 1 h 11 min with its waits" in read(play)
        assert "About 16:29 by the plan's minutes" in read(play)
        await compare_sizes("outlook", play)
        # What is done is not ahead.
        await play.press("u", "space")
        await play.wind(300)
        await play.press("space", "t", "d")
        assert "Wipe" not in stretches(page_of(play))
        await play.press("esc")
        assert play.called == "today"


async def test_long_windows_stand_on_the_same_scale(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.wind(600)
        await play.press("p", "space", "down", "down", "down", "space", "1", "0", "space", "t", "d")
        found = stretches(page_of(play))
        opens, closes = found["Coat, 3 sections: layer 2"]
        # Laid over the last ten minutes: an hour after the first, a day after the last.
        assert 50 < opens < 60
        assert closes > opens + 20 * 60


async def test_without_an_open_job_it_says_so(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        await play.press("d")
        assert read(play) == "No job is open: + on Today opens one."


def test_every_key_of_the_screen_has_a_meaning_there() -> None:
    for key in on_screen(KEYS, "outlook"):
        assert hasattr(OutlookScreen, f"press_{key.id}"), key.id
