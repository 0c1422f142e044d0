"""Charts: one at a time, of what was chosen, and the same as a table."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.tui.face.chart import Plane
from cartclock.tui.face.page import Heading
from cartclock.tui.screens.charts import NOTHING_TO_CHOOSE, ChartsScreen
from tests.kit.page import page_of, read
from tests.kit.plans import FALLOUT, POLISH, WIPE, opening
from tests.kit.stage import PLAIN, START_US, Play, compare_sizes, played

SETTINGS = replace(PLAIN, currency="EUR")


async def close_first(play: Play, minutes: float) -> None:
    """Wipes job 1 for so many minutes and hands it over."""
    await play.choose("wipe")
    await play.press("space")
    await play.wind(60 * minutes)
    await play.press("space", "t", "up", "up", "space", "down", "space")


def heading(play: Play) -> str:
    """What the chart on top is of."""
    row = page_of(play).fixed[0]
    assert isinstance(row, Heading)
    return row.text


async def test_a_closed_job_stands_against_its_plan(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    second = replace(opening(WIPE, number=2), vehicle="chalk white van", price="60")
    first = replace(opening(WIPE, number=1), price="50")
    async with played(tmp_path, first, second, settings=SETTINGS) as play:
        await play.press("p", "tab")
        assert play.called == "charts"
        assert "No finished stage of this yet." in read(play)
        await play.press("esc", "u")
        await close_first(play, 8)
        await play.press("p", "tab")
        assert page_of(play).name == "Against plan"
        assert "Wipe   5 min   8 min   +3 min   1" in read(play)
        await compare_sizes("charts", play)
        # What is told of a part of the jobs says so.
        with monkeypatch.context() as patch:
            patch.setattr(play.bench.library, "left", lambda _of=None, _since_us=None: 7)
            play.app.repaint()
            await play.settle()
            assert "1 of 6, 7 still to be read" in play.text
        # One job with a price is no chart yet.
        await play.press("space")
        assert "One job so far: 375 EUR an hour." in read(play)
        await play.press("f")
        assert play.notice == NOTHING_TO_CHOOSE
        await play.press("backspace")
        assert page_of(play).name == "Against plan"


async def test_quick_presses_turn_the_charts_each(tmp_path: Path) -> None:
    """Nothing is written by them, so that none has to be meant twice."""
    async with played(tmp_path, on=False) as play:
        await play.press("h", "tab")
        play.fingers.step = 0.2
        names = []
        for key in ("space", "space", "space", "backspace", "backspace"):
            await play.press(key)
            names.append(page_of(play).said)
        assert names == ["2 of 6", "3 of 6", "4 of 6", "3 of 6", "2 of 6"]


async def test_every_chart_without_anything_is_a_sentence(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        await play.press("h", "tab")
        assert isinstance(play.screen, ChartsScreen)
        names = []
        for _ in range(7):
            for _as_table in (False, True):
                page = page_of(play)
                assert page.chart is None
                assert len(page.rows) == 1
                await play.press("v")
            names.append(page.name)
            await play.press("space")
        assert names[0] == names[6]
        assert len(set(names)) == 6
        assert play.odd() == []


async def test_what_a_chart_is_of_is_chosen_from_a_list(tmp_path: Path) -> None:
    quick = replace(opening(WIPE, number=2), vehicle="van")
    quick = replace(quick, plan=replace(quick.plan, name="quick"))
    async with played(tmp_path, opening(WIPE, number=1), quick) as play:
        await close_first(play, 8)
        # With the last press on job 1 the second was taken up.
        await play.press("u")
        await play.wind(540)
        await play.press("space", "t", "up", "up", "space", "down", "space")
        await play.press("p", "tab", "f")
        assert sorted(play.spoken) == ["quick", "tiny"]
        await play.press("down", "space")
        other = heading(play)
        await play.press("f", "space")
        assert {other, heading(play)} == {"quick", "tiny"}
        # What was chosen stays with its chart.
        chosen = heading(play)
        await play.press("space", "backspace")
        assert heading(play) == chosen


async def test_films_are_asked_for_and_products_are_counted(tmp_path: Path) -> None:
    async with played(tmp_path, (FALLOUT,)) as play:
        await play.choose("spray")
        await play.press("space")
        await play.wind(90)
        await play.press("space", "p", "tab", "backspace", "backspace")
        assert heading(play) == "Iron fallout remover"
        assert "in 1 job." in read(play)
        await play.press("v")
        assert "Sep 2026" in read(play)
        await play.press("backspace", "backspace")
        assert "W on Run marks one" in read(play)


async def test_tab_leads_there_from_history_and_esc_back(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("t", "h", "tab")
        assert play.called == "charts"
        await play.press("esc")
        assert play.called == "history"


async def test_how_the_finish_was_told_is_one_key_behind_outlook(tmp_path: Path) -> None:
    promised = replace(opening(WIPE, POLISH, number=1), promised_us=START_US + 4 * 3600 * 10**6)
    async with played(tmp_path, promised) as play:
        await play.press("p", "d")
        await play.wind(5)
        await play.press("v")
        assert play.called == "charts"
        assert page_of(play).name == "Ready as told"
        assert "Told once: ready about 15:" in read(play)
        await play.press("esc", "u", "space")
        # The wipe takes an hour instead of five minutes.
        await play.wind(3600)
        await play.press("space", "p", "d", "v")
        chart = page_of(play).chart
        assert isinstance(chart, Plane)
        assert chart.band is not None
        late, expected = chart.band.high, chart.series[0].points
        assert len(expected) > 4
        assert expected[-1][1] > expected[0][1] + 30
        assert all(x == at for (x, _y), (at, _by) in zip(expected, late, strict=True))
        assert all(y <= by for (_x, y), (_at, by) in zip(expected, late, strict=True))
        assert chart.level is not None
        await compare_sizes("charts_told", play)
        await play.press("v")
        assert "promised" in read(play)
        await play.press("esc")
        assert play.called == "outlook"
