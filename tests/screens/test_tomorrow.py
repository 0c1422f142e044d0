"""Tomorrow and Estimate: asked for by a list, read as a page, kept as a job."""

from __future__ import annotations

from datetime import time
from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.letters import ELLIPSIS
from cartclock.engine.planning.day_words import DayWords
from cartclock.engine.planning.weather import Weather
from cartclock.engine.store.settings import Settings
from cartclock.tui.face.laying import laid
from cartclock.tui.face.page import Page
from cartclock.tui.pages.tomorrow import tomorrow_page
from cartclock.tui.screens.estimate import NO_JOB_ASKED
from cartclock.tui.screens.tomorrow import NO_AIR
from tests.kit.page import page_of, read
from tests.kit.plans import COAT, GATED, WIPE
from tests.kit.stage import compare_sizes, played
from tests.planning.test_day_plan import HABITS, HOT, MILD, hours, job, planned


async def test_a_forecast_is_typed_and_the_decision_stands_on_top(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("p", "d", "m")
        assert play.called == "tomorrow"
        assert read(play) == NO_AIR
        await play.press("space", "f", *"12 20 5", "enter")
        assert read(play).startswith("Start 08:00: done about ")
        assert "The air is never within 3 C of the dew point." in read(play)
        assert "no medical advice" in read(play)
        await compare_sizes("tomorrow", play)
        await play.press("space", "f", *"30 20 5", "enter")
        assert "is above the high" in play.sheet.says


async def test_without_a_coat_no_column_speaks_of_one(tmp_path: Path) -> None:
    def heads() -> list[str]:
        return [column.head for table in page_of(play).tables for column in table.columns]

    async with played(tmp_path, (WIPE,)) as play:
        await play.press("p", "d", "m", "space", "f", *"12 20 5", "enter")
        assert "No coat in it." in read(play)
        assert not {"coat", "air"} & set(heads())
        # The hours begin with the first in which somebody could.
        assert not [line for line in play.lines if line.split()[:1] == ["00"]]
    (tmp_path / "coat").mkdir()
    async with played(tmp_path / "coat", (GATED,)) as play:
        await play.press("p", "d", "m", "space", "f", *"12 20 5", "enter")
        assert {"coat", "air"} < set(heads())


def words_at(page: Page, width: int) -> list[str]:
    """Every word of a page that is so wide."""
    lines = laid(page, width).lines
    return [word for line in lines for piece in line.pieces for word in piece.text.split()]


@pytest.mark.parametrize("width", [40, 60, 80, 120])
@pytest.mark.parametrize("weather", [HOT, MILD])
def test_no_word_is_broken_that_has_room(weather: Weather, width: int) -> None:
    second = job("one_step_correction_and_coat", certain=False)
    second = replace(second, job=replace(second.job, id="second"))
    for jobs in ([second], [job("two_layer_coat_overnight"), second]):
        found = planned(weather, *jobs, habits=replace(HABITS, ends=time(23)))
        # A stage may be called as long as this.
        longer = tuple(
            replace(run, stage=run.stage.replace("Inspection", "Counter-inspections"))
            for run in found.runs
        )
        for plan in (found, replace(found, runs=longer)):
            made, words = hours(weather), DayWords(hours(weather))
            shown = words_at(tomorrow_page(made, plan, "C"), width)
            worked = " ".join(words.strip(plan, one) for one in made.hours[5:])
            assert set(worked.split()) <= set(shown)
            assert not [word for word in shown if ELLIPSIS in word]
            assert {"hour", "coat", "worked"} <= set(shown)


def test_what_several_jobs_have_in_an_hour_says_each_job_once() -> None:
    second = job("one_step_correction_and_coat")
    second = replace(second, job=replace(second.job, id="second"))
    words = DayWords(hours(MILD))
    found = planned(MILD, job("maintenance_wash"), second)
    strips = [words.strip(found, one) for one in words.hours.hours]
    both = next(strip for strip in strips if "1: " in strip and "2: " in strip)
    assert both.count("1: ") == both.count("2: ") == 1


async def test_in_fahrenheit_it_is_asked_and_told_in_fahrenheit(tmp_path: Path) -> None:
    settings = Settings(temperature="F")
    async with played(tmp_path, (COAT,), settings=settings) as play:
        await play.press("p", "d", "m", "space", "f")
        assert play.sheet.title == "Low, high and dew point in F, like 72 99 66"
        await play.type("54 68 41")
        said = read(play)
        assert "Planning curve 54 to 68 F, dew point 41 F" in said
        assert "The air is never within 5.4 F of the dew point." in said
        hours = [line.split() for line in play.lines if line.split()[:1] == ["05"]]
        assert 54 <= float(hours[0][1]) <= 68
        assert page_of(play).tables[1].columns[1].head == "air F"
        await play.press("space", "f", *"200 300 41", "enter")
        assert play.sheet.says == "air 200 F cannot be."
        await play.press(*["backspace"] * 10, *"70 60 41", "enter")
        assert play.sheet.says == "The low, 70 F, is above the high, 60 F."
        await play.press(*["backspace"] * 10, *"60 70 90", "enter")
        assert play.sheet.says == "The dew point, 90 F, is above the high, 70 F."


async def test_an_estimate_takes_three_picks_and_is_kept_as_a_job(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("t", "n")
        assert play.called == "estimate"
        await play.press("+")
        assert play.notice == NO_JOB_ASKED
        await play.press("space", "down", "space", "space", "space")
        text = read(play)
        assert "55 min to 1 h 15 min of all work, from the plan only." in text
        # What was asked stands on top, and the day once.
        assert play.lines[1].strip() == "Maintenance wash, hatchback"
        assert text.count("22 Sep") == 1
        await compare_sizes("estimate", play)
        await play.press("+")
        assert play.called == "today"
        assert play.sheet.title == "The vehicle in a few words"
        assert play.odd() == []
