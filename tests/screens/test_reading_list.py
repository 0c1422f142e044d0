"""The reading list: as few keys as it takes, and what looks odd asked about before it is kept."""

from __future__ import annotations

import shlex
import sys
from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.events import ReadingTaken
from cartclock.engine.rules import rules
from cartclock.engine.store.settings import Settings
from tests.kit.films import coat
from tests.kit.setting import record_text
from tests.kit.stage import Play, played

STAGE = coat()
# Not hot: nothing is asked about days in the heat.
BEFORE = ReadingTaken(air_c=20.0, rh=48.0, panel_c=21.0)


def newest(play: Play) -> ReadingTaken:
    event = play.bench.rows[-1].event
    assert isinstance(event, ReadingTaken)
    return event


async def counted(play: Play, *keys: str) -> int:
    """Presses keys; how many."""
    await play.press(*keys)
    return len(keys)


@pytest.mark.parametrize("minutes", [23, 65, 240])
async def test_a_reading_in_which_one_figure_changed_takes_four_keys(
    tmp_path: Path, minutes: int
) -> None:
    async with played(tmp_path, (STAGE,)) as play:
        play.bench.do(rules.note_shift, BEFORE)
        await play.wind(minutes * 60)
        assert await counted(play, "r", "2", "2", "space") == 4
        assert newest(play) == replace(BEFORE, air_c=22.0)
        # Half a degree more is three.
        assert await counted(play, "r", "right", "space") == 3
        assert newest(play) == replace(BEFORE, air_c=22.5)
        # All as it was: two.
        assert await counted(play, "r", "space") == 2
        assert newest(play) == replace(BEFORE, air_c=22.5)
        # Every figure anew: as many as typing takes, and the way between the lines.
        keys = ("r", "2", "3", "enter", "4", "5", "enter", "2", "4", "space")
        assert await counted(play, *keys) == 10
        assert newest(play) == ReadingTaken(air_c=23.0, rh=45.0, panel_c=24.0)


@pytest.mark.parametrize("size", [(80, 24), (40, 12), (24, 12)], ids=str)
async def test_the_first_reading_says_how_it_is_written(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with played(tmp_path, (STAGE,), size=size) as play:
        await play.press("r")
        assert play.times_said("space: write") == 1
        assert play.times_said("left, right, 0-9: set") == 1
        assert play.times_said("esc: nothing") == 1


async def test_the_list_opens_with_the_last_figures_and_says_how_old_they_are(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, (STAGE,)) as play:
        await play.press("r")
        assert play.sheet.title == "Reading"
        await play.press("esc")
        play.bench.do(rules.note_shift, BEFORE)
        await play.wind(65 * 60)
        await play.press("r")
        assert play.sheet.title == (
            "Reading. These figures are 65 min old: SPACE confirms what stands"
        )
        assert [line.split()[1:2] for line in play.spoken[1:4]] == [["20"], ["48"], ["21"]]
        # What is changed says what it was.
        await play.press("2", "5")
        assert play.spoken[1].split() == ["air", "25", "C", "(was", "20)"]
        await play.press("backspace")
        assert play.spoken[1].split()[1:] == ["not", "measured", "(was", "20", "C)"]


async def test_figures_of_another_hand_are_offered_with_the_name(tmp_path: Path) -> None:
    async with played(tmp_path, (STAGE,)) as play:
        shift = play.bench.shift()
        assert shift is not None and shift.on is not None
        play.bench.do_as("Ida", 0, rules.clock_on, ev.ClockedOn(shift.on.place))
        play.bench.do_as("Ida", 0, rules.note_shift, BEFORE)
        await play.wind(300)
        await play.press("r")
        assert "5 min old, by Ida:" in play.sheet.title
        await play.press("space")
        assert newest(play) == BEFORE


async def test_a_figure_the_last_reading_did_not_measure_is_named_and_never_confirmed_unseen(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, (STAGE,)) as play:
        play.bench.do(rules.note_shift, BEFORE)
        await play.wind(600)
        play.bench.do(rules.note_shift, ReadingTaken(air_c=21.0, rh=47.0))
        await play.wind(60)
        await play.press("r")
        assert play.spoken[3].split()[1:] == [
            "not", "measured", "(was", "21", "C,", "11", "min", "ago)",
        ]  # fmt: skip
        await play.press("space")
        assert newest(play) == ReadingTaken(air_c=21.0, rh=47.0)
        # It is the line the list opens at: four keys measure the panel beside an air that stands.
        await play.press("r")
        assert await counted(play, "2", "3", "space") == 3
        assert newest(play) == ReadingTaken(air_c=21.0, rh=47.0, panel_c=23.0)


async def test_enter_goes_to_the_next_value_and_round_again(tmp_path: Path) -> None:
    async with played(tmp_path, (STAGE,)) as play:
        await play.press("r")
        chosen = []
        for _ in range(9):
            chosen.append(next(line for line in play.text.splitlines() if "> " in line).split()[1])
            await play.press("enter")
        assert chosen == [
            "air", "humidity", "panel", "globe", "WBGT", "air", "rain", "clothing", "place",
        ]  # fmt: skip
        assert "ReadingTaken" not in play.kinds


async def test_a_value_typed_again_begins_anew(tmp_path: Path) -> None:
    async with played(tmp_path, (STAGE,)) as play:
        # What cannot be stays to be seen, and the next digits are another figure.
        await play.press("r", "2", "4", "0", "space")
        assert "240" in play.text
        await play.press("2", "4", "enter", "5", "5", "up", "2", "5", "space")
        assert newest(play) == ReadingTaken(air_c=25.0, rh=55.0, moving="not said")


async def test_the_way_to_the_forecast_and_back_keeps_the_figures(tmp_path: Path) -> None:
    figures = ("r", "2", "4", "enter", "5", "5")
    async with played(tmp_path, (STAGE,)) as play:
        await play.press(*figures, *["up"] * 3, "space")
        assert play.sheet.title.startswith("Today by the forecast")
        await play.press("1", "9", "enter", "3", "3", "space")
        assert play.kinds[-1] == "DayExpected"
        await play.press("space")
        assert newest(play) == ReadingTaken(air_c=24.0, rh=55.0, moving="not said")
        # Nothing was entered: the forecast is all there is to write.
        await play.press("r", *["up"] * 2, "space", "2", "0", "space")
        assert not play.sheet.is_open
        # Left with esc it is as if nobody had gone there.
        await play.press("r", "2", "6", *["up"] * 2, "space", "escape", "space")
        assert newest(play) == ReadingTaken(air_c=26.0, rh=55.0, moving="not said")


async def test_rain_alone_over_old_figures_measures_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, (STAGE,)) as play:
        play.bench.do(rules.note_shift, BEFORE)
        await play.wind(65 * 60)
        await play.press("r", *["down"] * 6, "2", "0", "space")
        reading = newest(play)
        assert reading == ReadingTaken(rain_at_us=reading.rain_at_us)
        assert reading.rain_at_us is not None


@pytest.mark.parametrize(
    ("minutes", "keys", "measured"),
    [
        (10, (), BEFORE),
        (65, ("up", "up", "up", "up", "up", "up", "2", "2"), replace(BEFORE, air_c=22.0)),
        (65, ("up",) * 7 + ("right",), replace(BEFORE, place="outdoor shade")),
    ],
    ids=["over fresh figures", "with a figure", "with another place"],
)
async def test_rain_beside_what_is_believed_or_entered_keeps_the_figures(
    tmp_path: Path, minutes: int, keys: tuple[str, ...], measured: ReadingTaken
) -> None:
    async with played(tmp_path, (STAGE,)) as play:
        play.bench.do(rules.note_shift, BEFORE)
        await play.wind(minutes * 60)
        await play.press("r", *["down"] * 6, "2", "0", *keys, "space")
        reading = newest(play)
        assert reading.rain_at_us is not None
        assert replace(reading, rain_at_us=None) == measured


# What looks odd.


async def test_what_looks_odd_is_asked_about_and_kept_only_if_insisted(tmp_path: Path) -> None:
    async with played(tmp_path, (STAGE,)) as play:
        await play.press("space")
        play.bench.do(rules.note_shift, BEFORE)
        await play.wind(60)
        before = play.kinds
        await play.press("r", "down", "down", "5", "8", "space")
        assert play.sheet.title == "58 on the panel at 20 in the air, indoors: is it right?"
        assert play.kinds == before
        # Back to the figures: they stand as typed, and the line in doubt is the chosen one.
        await play.press("space")
        assert play.spoken[3].split() == ["panel", "58", "C", "(was", "21)"]
        assert play.kinds == before
        await play.press("backspace", "2", "2", "space")
        assert newest(play) == replace(BEFORE, panel_c=22.0)
        await play.press("r", "down", "down", "5", "8", "space")
        await play.press("down", "space")
        assert newest(play) == replace(BEFORE, panel_c=58.0, confirmed=True)
        record = record_text(Shop(play.bench.log).record("1", play.bench.now_us))
        assert " ".join(record.split()).count("looks odd, asked about and kept") == 1


async def test_it_asks_in_fahrenheit_where_it_is_entered_so(tmp_path: Path) -> None:
    async with played(tmp_path, (STAGE,), settings=Settings(temperature="F")) as play:
        await play.press("r", "7", "9", "enter", "5", "0", "enter", "1", "3", "6", "space")
        assert play.sheet.title == "136 on the panel at 79 in the air, indoors: is it right?"
        await play.press("esc")
        assert "ReadingTaken" not in play.kinds


# An instrument.


def command(*lines: str) -> str:
    return shlex.join([sys.executable, "-c", "\n".join(lines)])


async def test_the_instruments_figures_are_offered_and_confirmed_by_one_key(
    tmp_path: Path,
) -> None:
    prints = command("print('air_c=21.5 rh=44')")
    async with played(tmp_path, (STAGE,), settings=Settings(reading_command=prints)) as play:
        await play.app.workers.wait_for_complete()
        play.bench.do(rules.note_shift, BEFORE)
        await play.press("r", "2", "2")
        await play.app.workers.wait_for_complete()
        await play.settle()
        # What the worker typed stands; the rest is what the instrument says.
        assert play.spoken[1].split() == ["air", "22", "C", "(was", "20)"]
        assert play.spoken[2].split() == ["humidity", "44", "%", "RH", "(was", "48)"]
        await play.press("space")
        assert newest(play) == replace(BEFORE, air_c=22.0, rh=44.0)


async def test_an_instrument_whose_figures_look_odd_writes_nothing_by_itself(
    tmp_path: Path,
) -> None:
    prints = command("print('air_c=26 rh=48 panel_c=58')")
    async with played(tmp_path, (STAGE,), settings=Settings(reading_command=prints)) as play:
        await play.wind(601)
        await play.app.workers.wait_for_complete()
        await play.settle()
        assert "ReadingTaken" not in play.kinds
        said = next(line for line in play.glance.notices if "reading command" in line)
        assert said == (
            "The reading command: 58 on the panel at 26 in the air, indoors: is it right? "
            "R looks at it."
        )
        await play.press("r")
        await play.app.workers.wait_for_complete()
        await play.settle()
        await play.press("space", "down", "space")
        assert newest(play) == ReadingTaken(26, 48, 58, moving="not said", confirmed=True)


async def test_an_instrument_that_fails_leaves_the_list_to_the_hand(tmp_path: Path) -> None:
    broken = command("raise SystemExit(3)")
    async with played(tmp_path, (STAGE,), settings=Settings(reading_command=broken)) as play:
        await play.press("r")
        await play.app.workers.wait_for_complete()
        await play.press("3", "1", "space")
        assert newest(play) == ReadingTaken(air_c=31.0, moving="not said")
