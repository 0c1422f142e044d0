"""What is read from three metres: digits and word in millimetres, the field, how often it changes.

How high is high enough: `tests/kit/afar.py`. Every state of Run is looked at for that by
`tests/screens/test_run.py`, which has come to it anyway.
"""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import pytest
from msgspec.structs import replace
from rich.style import Style

from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.plan.plan import Work
from cartclock.engine.store.settings import Settings
from cartclock.tui.face.run_layout import layout
from cartclock.tui.themes import THEMES
from tests.kit.afar import AFAR, BLOCKS, DISTANCE_MM, HIGH_MM, LEAST_MM, SCREEN_MM, heights, reaches
from tests.kit.plans import COAT, POLISH, WIPE
from tests.kit.run_states import STATES
from tests.kit.stage import HOME, LARGE, SMALL, Play, played

DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"


def large(play: Play) -> list[str]:
    """The rows of the large letters and digits."""
    picture = play.picture
    place = layout(picture.width, picture.height)
    return picture.lines[place.name_top : place.digits_top + -(-place.digits // 2)]


def test_the_figures_of_the_source() -> None:
    assert pytest.approx(174.3, abs=0.1) == SCREEN_MM
    assert pytest.approx(17.5, abs=0.05) == HIGH_MM


def told(points: int, size: tuple[int, int]) -> str:
    """A height as DEVELOPERS.md tells it: mm, share of the screen, minutes of arc at 3 m."""
    high = points / 2 * SCREEN_MM / size[1]
    arc = math.degrees(2 * math.atan(high / 2 / DISTANCE_MM)) * 60
    return f"{high:.0f} mm, {high / SCREEN_MM:.0%}".replace("%", " %") + f", {arc:.0f}'"


def test_the_table_of_developers_md_is_that_of_the_layouts() -> None:
    places = [(size, layout(*size)) for size in (SMALL, *AFAR)]
    strips = {0: 0, 4: 6, 5: 8, 6: 10}
    rows = {
        "name": [told(place.name, size) for size, place in places],
        "digits": [told(place.digits, size) for size, place in places],
        "word": [told(place.word, size) if place.word else "a line of text"
                 for size, place in places],
        "second figure": [told(place.figure, size) if place.figure else "none"
                          for size, place in places],
        "strip": [told(strips[place.strip], size) if place.strip else "a line of text"
                  for size, place in places],
    }  # fmt: skip
    text = DEVELOPERS.read_text(encoding="utf-8")
    for name, cells in rows.items():
        assert f"| {name} | {' | '.join(cells)} |" in text, name


async def reaches_afar(play: Play) -> None:
    """Name, digits, the word beside them and the strip, at every size."""
    for size in AFAR:
        await play.resize(size)
        reaches(play.picture, play.glance.faces)


async def test_a_name_of_another_script_is_text_and_its_digits_reach_it(tmp_path: Path) -> None:
    shown = STATES["no_large_form"]
    async with played(tmp_path, *shown.jobs) as play:
        await shown.reach(play)
        for size in AFAR:
            await play.resize(size)
            assert heights(play.picture, play.picture.height).name == 0.0
            assert heights(play.picture, play.picture.height).digits >= HIGH_MM, size


async def test_the_second_figure_reaches_16_minutes_of_arc_at_3_m_nureg_0700(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await STATES["ready"].reach(play)
        for size in AFAR:
            await play.resize(size)
            assert heights(play.picture, play.picture.height).second >= LEAST_MM, size


async def test_a_wave_reaches_it_with_a_reading_a_tool_and_other_windows(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT, WIPE)) as play:
        await play.press("r", "2", "6", "down", "5", "0", "down", "2", "6", "space", "esc")
        for section in ("bonnet left", "bonnet right", "roof"):
            await play.choose(f"apply {section}")
            await play.press("space")
            await play.wind(30)
        assert len(play.glance.faces) == 3
        await reaches_afar(play)


async def test_the_rest_that_is_called_reaches_it(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,)) as play:
        await play.press("r", "3", "3", "down", "4", "5", "space", "esc", "esc", "space")
        await play.wind_to_rest()
        assert play.glance.faces[0].word == "REST NOW"
        await reaches_afar(play)


@pytest.mark.parametrize("size", [HOME, LARGE], ids=["80x24", "120x40"])
async def test_the_line_that_answers_moves_no_digit(tmp_path: Path, size: tuple[int, int]) -> None:
    async with played(tmp_path, (COAT,), size=size) as play:
        await STATES["one_window"].reach(play)
        before = large(play)
        for said in ("", "short", "a long answer that takes more than one line " * 3):
            play.app.say(said)
            await play.settle()
            assert large(play) == before


# The field.


def grounds(play: Play, top: int, end: int) -> set[str]:
    """Every ground colour within these rows."""
    found = set()
    for strip in play.screen._compositor.render_strips()[top:end]:
        for segment in strip:
            style = segment.style or Style()
            assert style.bgcolor is not None
            found.add(style.bgcolor.get_truecolor().hex)
    return found


@pytest.mark.parametrize("theme", ["shade", "sun"])
@pytest.mark.parametrize(
    ("state", "token"),
    [
        ("ready", "ready-field"),
        ("late", "late-field"),
        ("one_window", "wait-field"),
        ("break_over", "cursor-field"),
    ],
)
async def test_ready_and_late_change_the_whole_field(
    tmp_path: Path, theme: str, state: str, token: str
) -> None:
    colour = next(one for one in THEMES if one.name == theme).variables[token].lower()
    async with played(tmp_path, (COAT,), settings=Settings(theme=theme)) as play:
        await STATES[state].reach(play)
        # From edge to edge, and most of the screen.
        assert grounds(play, 1, 19) == {colour}


async def test_a_field_changes_at_most_once_a_second_and_never_by_itself(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await STATES["one_window"].reach(play)
        fields = []
        # From before the window opens until well after it closed, four looks a second.
        for _ in range(4 * 330):
            play.clock.wind(0.25)
            play.app.workplace.look_again()
            play.screen.paint()
            fields.append((play.bench.now_us, play.picture.looks[5][0].ground))
        changes = [now for before, now in pairwise(fields) if now[1] != before[1]]
        assert [one for _at, one in changes] == ["ready", "late"]
        assert changes[1][0] - changes[0][0] >= SECOND_US


async def test_the_word_is_the_work(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await STATES["ready"].reach(play)
        assert play.glance.faces[0].beside == "LEVEL"
        await play.wind(300)
        assert play.glance.faces[0].beside == "LATE"
        await play.press("space")
        assert play.glance.faces[0].beside == "LEVEL"
        # The film in hand is finished, and the break begins.
        await play.press("b", "r", "down", "space")
        assert play.glance.faces[0].beside == "BREAK"


async def test_a_list_leaves_name_and_digits(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await STATES["two_windows"].reach(play)
        await play.press("x")
        assert play.digits() >= 3
        assert any(set(line) & BLOCKS for line in play.picture.lines[1:4])
        await play.press("esc")
        assert play.digits() >= 9


async def test_a_word_of_another_script_stays_small(tmp_path: Path) -> None:
    wash = replace(WIPE, steps=(Work("洗う", 5.0),))
    async with played(tmp_path, (wash,)) as play:
        await play.press("space")
        await play.wind(5)
        assert "洗う" in play.text
        assert play.digits() >= 9
