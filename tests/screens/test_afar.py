"""What is read from three metres: digits and word in millimetres, the field, how often it changes.

A 14-inch screen of 16:9 is 174 mm high (14 in x 25.4 mm x 9 / sqrt(16^2 + 9^2)), and the program
fills it. NUREG-0700 (Rev. 3, character size; read second-hand): 20 minutes of arc preferred,
16 the least. 20 minutes of arc are 17.5 mm at 3 m.
"""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import pytest
from msgspec.structs import replace
from rich.style import Style
from textual.geometry import Region

from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.plan.plan import Work
from cartclock.engine.store.settings import Settings
from cartclock.tui.themes import THEMES
from cartclock.tui.widgets.face import Face
from tests.kit.plans import COAT, POLISH, WIPE
from tests.kit.stage import HOME, LARGE, Play, played
from tests.screens.test_run import STATES

SCREEN_MM = 14 * 25.4 * 9 / math.hypot(16, 9)
DISTANCE_MM = 3000.0
ARCMIN = 20.0
HIGH_MM = 2 * DISTANCE_MM * math.tan(math.radians(ARCMIN / 60) / 2)
LEAST_MM = 2 * DISTANCE_MM * math.tan(math.radians(16 / 60) / 2)
HUGE = (200, 50)
AFAR = (HOME, LARGE, HUGE)


def shown(play: Play) -> list[Face]:
    return [face for face in play.screen.query(Face) if face.display]


def inked_mm(lines: tuple[str, ...], rows: int) -> float:
    """Height of what is drawn, half rows counted as such."""
    tops = [2 * y + (0 if "▀" in line or "█" in line else 1) for y, line in enumerate(lines)
            if line.strip()]  # fmt: skip
    ends = [2 * y + (2 if "▄" in line or "█" in line else 1) for y, line in enumerate(lines)
            if line.strip()]  # fmt: skip
    return (max(ends) - min(tops)) / 2 * SCREEN_MM / rows if tops else 0.0


def heights(play: Play) -> tuple[list[float], list[float]]:
    """Of every clock the height of its digits and of its large word, in mm."""
    rows = play.app.size.height
    faces = shown(play)
    digits = [inked_mm(face.picture.digits, rows) for face in faces]
    words = [inked_mm(face.picture.large, rows) for face in faces]
    return digits, words


def digits_at(play: Play) -> list[tuple[Region, int, tuple[str, ...]]]:
    """Of every clock where it stands, from which of its rows on it has digits, and these."""
    return [(f.region, len(f.picture.large), f.picture.digits) for f in shown(play)]


def test_the_figures_of_the_source() -> None:
    assert pytest.approx(174.3, abs=0.1) == SCREEN_MM
    assert pytest.approx(17.5, abs=0.05) == HIGH_MM


async def reaches_afar(play: Play, clocks: int, digits_too: bool = True) -> None:
    """Digits and word of so many clocks, at every size."""
    for size in AFAR:
        await play.resize(size)
        digits, words = heights(play)
        assert len(digits) == clocks, size
        assert not digits_too or min(digits) >= HIGH_MM, size
        # 20 minutes of arc up to 40 rows, 17.43 mm at 50.
        assert min(words) >= (HIGH_MM if size != HUGE else LEAST_MM), size


@pytest.mark.parametrize("state", STATES)
async def test_digits_and_word_reach_20_minutes_of_arc_at_3_m_nureg_0700(
    tmp_path: Path, state: str
) -> None:
    reach, _words, fields = STATES[state]
    async with played(tmp_path, (COAT,)) as play:
        await reach(play)
        await reaches_afar(play, len(fields), digits_too=state != "off")


async def test_two_clocks_of_a_wave_reach_it_with_a_reading_a_tool_and_other_windows(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, (COAT, WIPE)) as play:
        await play.press("r", "2", "6", "down", "5", "0", "down", "2", "6", "space", "esc")
        for section in ("bonnet left", "bonnet right", "roof"):
            await play.choose(f"apply {section}")
            await play.press("space")
            await play.wind(30)
        assert len(play.glance.windows) == 1
        await reaches_afar(play, 2)
        for size in AFAR:
            await play.resize(size)
            assert min(play.digits()) >= 9, size


async def test_the_rest_that_is_called_reaches_it(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,)) as play:
        await play.press("r", "3", "3", "down", "4", "5", "space", "esc", "esc", "space")
        for _ in range(70):
            await play.wind(60)
            if play.glance.faces[0].word == "REST NOW":
                break
        assert play.glance.faces[0].word == "REST NOW"
        await reaches_afar(play, len(play.glance.faces))


@pytest.mark.parametrize("size", [HOME, LARGE], ids=["80x24", "120x40"])
async def test_the_line_that_answers_moves_no_digit(tmp_path: Path, size: tuple[int, int]) -> None:
    async with played(tmp_path, (COAT,), size=size) as play:
        await STATES["one_window"][0](play)
        before = digits_at(play)
        for said in ("", "short", "a long answer that takes more than one line " * 3):
            play.app.say(said)
            await play.settle()
            assert digits_at(play) == before


# The field.


def grounds(play: Play, face: Face) -> set[str]:
    """Every ground colour within a face."""
    region = face.region
    found = set()
    for strip in play.screen._compositor.render_strips()[region.y : region.bottom]:
        for segment in strip.crop(region.x, region.right):
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
        ("break_over", "rest-ink"),
    ],
)
async def test_ready_and_late_change_the_whole_field(
    tmp_path: Path, theme: str, state: str, token: str
) -> None:
    colour = next(one for one in THEMES if one.name == theme).variables[token].lower()
    async with played(tmp_path, (COAT,), settings=Settings(theme=theme)) as play:
        await STATES[state][0](play)
        (face,) = shown(play)
        # All of it, from edge to edge, and most of the screen.
        assert grounds(play, face) == {colour}
        assert face.region.width == 80
        assert face.region.height >= 13


async def test_a_field_changes_at_most_once_a_second_and_never_by_itself(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await STATES["one_window"][0](play)
        fields = []
        # From before the window opens until well after it closed, four looks a second.
        for _ in range(4 * 330):
            play.clock.wind(0.25)
            play.app.look_again()
            play.screen.paint()
            (face,) = shown(play)
            fields.append((play.bench.now_us, next(iter({"wait", "ready", "late"} & face.classes))))
        changes = [now for before, now in pairwise(fields) if now[1] != before[1]]
        assert [one for _at, one in changes] == ["ready", "late"]
        assert changes[1][0] - changes[0][0] >= SECOND_US


async def test_the_large_word_is_the_work(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await STATES["ready"][0](play)
        (face,) = shown(play)
        assert face.word == "LEVEL"
        await play.wind(300)
        assert face.word == "LATE: LEVEL"
        await play.press("space")
        assert face.word == "LEVEL"
        await play.press("b", "r")
        assert face.word == "BREAK"


async def test_a_list_takes_the_large_word_and_leaves_the_digits(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await STATES["two_windows"][0](play)
        await play.press("x")
        assert all(not face.picture.large for face in shown(play))
        assert min(play.digits()) >= 3
        await play.press("esc")
        assert all(face.picture.large for face in shown(play))


async def test_a_word_of_another_script_stays_small(tmp_path: Path) -> None:
    wash = replace(WIPE, steps=(Work("洗う", 5.0),))
    async with played(tmp_path, (wash,)) as play:
        await play.press("space")
        await play.wind(5)
        (face,) = shown(play)
        assert face.picture.large == ()
        assert "洗う   whole car" in play.text
        assert min(play.digits()) >= 9
