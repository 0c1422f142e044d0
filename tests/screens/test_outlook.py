"""Outlook: when it is done, stage by stage, and the windows on the same scale.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

import re
from pathlib import Path

from msgspec.structs import replace

from cartclock.engine.facts.rows import MINUTE_US
from cartclock.tui.face.page import Cells, Large, Page, Reach
from cartclock.tui.keys import KEYS, on_screen
from cartclock.tui.screens.outlook import OutlookScreen
from tests.kit.book import us
from tests.kit.page import page_of, read, said
from tests.kit.plans import COAT, POLISH, WIPE, opening
from tests.kit.stage import PLAIN, compare, compare_sizes, played


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


async def test_a_job_is_told_by_the_clock_of_the_place_it_was_opened_at(tmp_path: Path) -> None:
    far = replace(opening(WIPE, POLISH), zone="Asia/Tokyo", promised_us=us(9000))
    near = replace(opening(WIPE, number=2), vehicle="van")
    settings = replace(PLAIN, zone="UTC")
    async with played(tmp_path, far, near, settings=settings) as play:
        # Beside the clock of the cart its own one is named.
        assert re.search(r"14:13   ready (Tue )?\d\d:\d\d JST", play.text)
        await play.press("t")
        assert play.text.count("JST") == 1
        await play.press("d")
        text = read(play)
        assert text.count("Times of this job are by the clock of Asia/Tokyo.") == 1
        assert "clock of UTC" not in text
        # 14:13 UTC is 23:13 in Tokyo, and a wipe of five minutes is done soon after.
        done = [row.cells[2] for row in page_of(play).rows if isinstance(row, Cells)]
        clocks = [str(word) for word in done if word]
        assert clocks[0].startswith("23:")
        assert clocks[-1].startswith(("14:", "15:", "16:"))
        await play.press("v")
        assert page_of(play).name == "Ready as told"
        assert "about Tue 00:" in read(play)


async def test_when_each_stage_is_done_stands_with_what_lies_in_it(tmp_path: Path) -> None:
    promised = replace(opening(WIPE, POLISH, COAT), promised_us=us(9000))
    async with played(tmp_path, promised) as play:
        await play.press("t", "d")
        assert play.called == "outlook"
        text = read(play)
        # 5 min; twice 20 and 10; 27 on the coat, with an hour between its layers: 16:29 by the
        # plan. What usually comes between makes it later.
        assert "READY 16:55" in [row.text for row in page_of(play).rows if isinstance(row, Large)]
        assert "Ready about 16:55, four times in five by 17:35; from the plan only." in text
        assert "of 10 such days: call now." in text
        found = stretches(page_of(play))
        assert list(found) == ["Wipe", "Polish", "Coat"]
        # One stage begins where the one before ends.
        assert found["Wipe"][0] == 0
        assert found["Wipe"][1] == found["Polish"][0] > 5
        assert found["Polish"][1] == found["Coat"][0] > 65
        assert "gaps" in text
        assert "other work" in text
        assert "without other work: 4 in 5 by" in text
        await compare_sizes("outlook", play)
        # What is done is not ahead, and what took time is named.
        await play.press("u", "space")
        await play.wind(1200)
        await play.press("space", "t", "d")
        assert "Wipe" not in stretches(page_of(play))
        assert "Wipe over its plan 0:15" in read(play)
        await play.press("esc")
        assert play.called == "today"


async def test_a_promise_that_is_past_is_said_to_be_wherever_it_is_judged(tmp_path: Path) -> None:
    promised = replace(opening(WIPE, POLISH), promised_us=us(600))
    async with played(tmp_path, promised) as play:
        await play.wind(660)
        await play.press("t")
        assert "; the promised time is past; from the plan only" in " ".join(said(play))
        await play.press("d")
        assert "The promised time is past: call now." in read(play)
        compare("outlook_past", play)
        await play.press("esc", "g")
        assert "the promised time of 14:23 is past: who was told?" in play.sheet.title


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
