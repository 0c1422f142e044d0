"""Charts: a point stands where its scales say, scales are round, and nothing is cut."""

from __future__ import annotations

from datetime import date
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from cartclock.engine.letters import cells
from cartclock.tui.face.axis import even_rows, named_places, rounded_out
from cartclock.tui.face.chart import Axis, Band, Chart, Columns, Kind, Plane, Series, Stack
from cartclock.tui.face.chart_picture import NO_ROOM, _frame, chart_lines
from cartclock.tui.face.laying import UPRIGHT, laid, strip_text
from cartclock.tui.face.page import Apart, Head, Heading, Page
from cartclock.tui.face.page_picture import page_picture
from cartclock.tui.face.tape import CUT

ROOT = Path(__file__).parents[2]


def _text(chart: Chart, width: int, height: int) -> list[str]:
    """The lines as they are seen."""
    rows = []
    for line in chart_lines(chart, width, height):
        row = ""
        for x, text, _faint in line:
            row = row.ljust(x) + text
        rows.append(row)
    return rows


def _plane(*points: tuple[float, float]) -> Plane:
    """Points over 0 to 100 and from 0 up."""
    up = max(y for _x, y in points)
    own = Series("own", "o", points)
    return Plane(Axis("number", 0, 100), Axis("number", 0, up), (own,))


def test_a_point_stands_over_its_word_and_beside_its_word() -> None:
    rows = _text(_plane((40, 20), (80, 60)), 70, 15)
    ground, under = rows[-2:]
    for across, up in ((40, 20), (80, 60)):
        (row,) = (line for line in rows[1:-2] if line.split()[:1] == [str(up)])
        column = row.index("o")
        assert ground[column] == " "
        assert under[column - 1 : column + 1] == str(across)


@settings(max_examples=30)
@given(
    points=st.lists(
        st.tuples(st.integers(0, 100), st.integers(10, 5000)), min_size=1, max_size=6, unique=True
    ),
    width=st.integers(30, 120),
    height=st.integers(7, 40),
)
def test_every_point_is_where_both_scales_put_it(
    points: list[tuple[int, int]], width: int, height: int
) -> None:
    rows = _text(_plane(*points), width, height)
    assert len(rows) == height
    scale, words, gutter, high = _frame(_plane(*points), height - 1)
    end = scale.end
    # Above it its marks are named, below it stand the words, under a strip where it is high.
    assert high == height - (3 if height >= 12 else 2)
    plot = rows[1 : 1 + high]
    # What lies just between two cells may stand in either.
    places = [x / 100 * (width - gutter - 1) for x, _y in points]
    places += [y / end * (high - 1) for _x, y in points]
    assume(not any(abs(at % 1 - 0.5) < 1e-9 for at in places))
    # The scale begins at 0, and of a high chart its uppermost word is its end.
    assert plot[-1].split()[0] == "0"
    assert words[-1][0] == end or height < 12
    wanted = {
        (
            high - 1 - round(y / end * (high - 1)),
            gutter + round(x / 100 * (width - gutter - 1)),
        )
        for x, y in points
    }
    found = {(y, x) for y, line in enumerate(plot) for x, char in enumerate(line) if char == "o"}
    assert found == wanted


@pytest.mark.parametrize(
    ("kind", "start", "end", "most", "by", "ends"),
    [
        ("number", 0, 68.2, 8, 10, (0, 70)),
        ("number", 0, 68.2, 4, 50, (0, 100)),
        ("number", 0, 0, 5, 0.01, (0, 0.01)),
        ("number", -3, -3, 5, 0.01, (-3.01, -2.99)),
        ("stopwatch", 0, 185, 5, 60, (0, 240)),
        ("clock", 18 * 60 + 35, 20 * 60 + 55, 7, 30, (18 * 60 + 30, 21 * 60)),
        ("clock", 600, 600, 4, 1, (599, 601)),
        ("length", 0, 640, 5, 180, (0, 720)),
    ],
)
def test_a_scale_ends_on_round_steps_outside_of_what_it_holds(
    kind: Kind, start: float, end: float, most: int, by: float, ends: tuple[float, float]
) -> None:
    axis, step = rounded_out(Axis(kind, start, end), most)
    assert step == by
    assert (axis.start, axis.end) == pytest.approx(ends)


@pytest.mark.parametrize("height", [7, 8, 9, 10, 11])
@pytest.mark.parametrize("most", [7, 33, 110, 249, 371, 999, 5200])
def test_names_of_a_low_chart_are_even_and_each_stands_where_it_says(
    height: int, most: int
) -> None:
    chart = _plane((0, most), (50, most / 2))
    axis, words, _gutter, rows = _frame(chart, height - 1)
    found = [(at - axis.start) / (axis.end - axis.start) * (rows - 1) for at, _word in words]
    assert len(found) > 1
    assert [round(row) for row in found] == pytest.approx(found)
    assert len({round(b - a) for a, b in pairwise(found)}) == 1
    assert words[-1][0] >= most
    # The scale is used: no chart stands in its lower half alone.
    assert most > axis.end / 2


@pytest.mark.parametrize("rows", [4, 5, 6, 7, 8])
@pytest.mark.parametrize(
    ("start", "end"), [(136, 206), (930, 1093), (600, 601), (1380, 1530), (0, 4000)]
)
def test_names_of_a_low_clock_are_even_too(start: int, end: int, rows: int) -> None:
    axis, by = even_rows(Axis("clock", start, end), rows - 1, 2)
    assert axis.start <= start < end <= axis.end
    each = (axis.end - axis.start) / (rows - 1)
    found = [(at - axis.start) / each for at, _word in named_places(axis, by)]
    assert len(found) > 1
    assert [round(row) for row in found] == pytest.approx(found)


def test_a_point_of_a_low_chart_stands_on_the_row_of_the_name_it_is_next_to() -> None:
    """Over 0 to 250 in five rows, of which each stands for 62.5."""
    plot = _text(_plane((0, 153), (100, 249)), 37, 7)[1:-1]
    assert [row[:3].strip() for row in plot] == ["250", "", "", "", "0"]
    assert [(y, row.index("o")) for y, row in enumerate(plot) if "o" in row] == [(0, 36), (2, 4)]


def test_a_column_ends_on_the_row_that_names_its_height() -> None:
    lengths = (60, 48, 40, 24, 12)
    stacks = tuple(Stack(f"{at} Nov", (float(at),)) for at in lengths)
    chart = Columns(Axis("length", 0, 60), (("caution", "="),), stacks, "weeks")
    *plot, under = _text(chart, 40, 6)
    # Twelve minutes a row, and the hour is named where it ends.
    assert [row[:3] for row in plot] == ["1 h", *["   "] * 4]
    tops = [
        next(y for y, row in enumerate(plot) if row[4 + 7 * at : 5 + 7 * at] == "=")
        for at in range(len(lengths))
    ]
    assert tops == [0, 1, 2, 3, 4]
    # Each column has room for its word.
    assert under.split() == [word for at in lengths for word in (str(at), "Nov")]


def test_the_strip_below_is_cut_only_where_a_word_is_said() -> None:
    stacks = tuple(Stack(f"{at} Nov", (1.0,)) for at in range(10, 40))
    chart = Columns(Axis("number", 0, 1), (("used", "#"),), stacks, "weeks")
    *_plot, ground, under = chart_lines(chart, 50, 20)
    said = under[0][1].split("Nov")[:-1]
    assert 1 < len(said) < 30
    assert ground[-1][1].count(CUT) == len(said)


def test_no_word_of_a_scale_is_cut_and_none_runs_into_another() -> None:
    points = ((421.0, 0.0), (1012.0, 33.0))
    chart = Plane(
        Axis("clock", 421, 1012), Axis("stopwatch", 0, 33, "min"), (Series("a", "o", points),)
    )
    for width in range(22, 140):
        for height in (6, 12, 31):
            rows = _text(chart, width, height)
            assert all(cells(row) <= width for row in rows)
            if rows[0] == "o a":
                words = rows[-1].split()
                assert words
                assert all(len(word) == 5 and word[2] == ":" for word in words)


def test_without_room_it_says_where_the_figures_stand() -> None:
    assert " ".join(_text(_plane((1, 1), (2, 2)), 15, 9)) == NO_ROOM
    assert _text(_plane((1, 1), (2, 2)), 90, 4) == [NO_ROOM]


def test_columns_grow_with_their_parts_and_what_is_there_is_seen() -> None:
    stacks = (Stack("a", (30.0, 30.0)), Stack("b", (0.0, 1.0)), Stack("c", (0.0, 0.0)))
    chart = Columns(Axis("length", 0, 60), (("over", "#"), ("caution", "=")), stacks, "weeks")
    rows = _text(chart, 60, 23)
    assert rows[0] == "# over   = caution"
    plot = rows[1:-2]
    assert [sum(mark * 5 in row for row in plot) for mark in "#="] == [10, 11]
    # The second one has one cell above the ground, the third none.
    (row,) = (line for line in plot if line.count("=====") == 1 and "#" in line)
    assert row is plot[-1]
    assert rows[-1].split() == ["a", "b", "c"]


def test_columns_that_have_no_room_are_the_oldest_and_are_counted() -> None:
    stacks = tuple(Stack(f"w{at}", (float(at),)) for at in range(1, 53))
    chart = Columns(Axis("number", 0, 52), (("used", "#"),), stacks, "weeks")
    rows = _text(chart, 40, 12)
    # Of one part alone the page says what it is.
    assert rows[0] == "the last 37 of 52 weeks"
    assert rows[-1].split()[0] == "w16"
    # The newest is the highest, and it stands at the edge.
    assert next(len(row) for row in rows[1:-2] if "#" in row) == 40


def test_a_band_is_filled_from_its_first_place_to_its_last_behind_everything_else() -> None:
    # From a quarter to three quarters of the width; 1 to 3 high at its left, 2 to 2 at its right.
    band = Band("8 in 10", "%", ((2.5, 1.0), (7.5, 2.0)), ((2.5, 3.0), (7.5, 2.0)))
    own = Series("own", "o", ((5.0, 2.0),))
    chart = Plane(Axis("number", 0, 10), Axis("number", 0, 4), (own,), (3.0, "promised"), band)
    # 41 cells of plane and 17 rows of it, a quarter of a unit and an eighth of the height each.
    rows = _text(chart, 43, 20)
    assert rows[0] == "% 8 in 10   o own   ─ promised"
    plane = [row[2:].ljust(41) for row in rows[1:18]]
    filled = [[x for x, char in enumerate(row) if char in "%o"] for row in plane]
    level = 4
    assert plane[level] == "─" * 41
    # In the middle between the ways: one row in four of the height at the left, one at the right.
    assert [sum(x in row for row in filled) for x in (9, 10, 30, 31)] == [0, 8, 1, 0]
    assert filled[8] == list(range(10, 31))
    assert plane[8][20] == "o"
    # The band is as high as its ways go together: six rows halfway but for the rounding.
    assert 4 <= sum(20 in row for row in filled) <= 6


@pytest.mark.parametrize(
    ("value", "low", "high", "drawn"),
    [
        (10, -5, 10, f"   {UPRIGHT}▄▄▄▄▄▄▄"),
        (-5, -5, 10, f"▄▄▄{UPRIGHT}       "),
        (0, -5, 10, f"   {UPRIGHT}       "),
        (5, 0, 5, f"{UPRIGHT}▄▄▄▄▄▄▄▄▄▄"),
        (-5, -5, 0, f"▄▄▄▄▄▄▄▄▄▄{UPRIGHT}"),
    ],
)
def test_more_goes_right_and_less_left(value: float, low: float, high: float, drawn: str) -> None:
    assert strip_text(Apart(value, low, high), 11) == drawn


def test_a_chart_fills_what_the_head_of_its_page_leaves() -> None:
    page = Page(
        "Money", (), fixed=(Heading("an hour"),), reading=True, chart=_plane((0, 1), (9, 3))
    )
    for width, height in ((80, 20), (40, 9), (120, 36), (12, 3), (1, 1)):
        lines = page_picture(page, laid(page, width), Head("10:00"), 0, width, height).lines
        assert len(lines) == height
        assert all(len(line) == width for line in lines)
    seen = page_picture(page, laid(page, 80), Head("10:00"), 0, 80, 20).text.splitlines()
    assert seen[1].strip() == "an hour"
    assert seen[2].strip() == "o own"
    assert "100" in seen[-1]


def test_a_time_of_another_day_is_said_with_its_weekday() -> None:
    """2026-09-21 is a Monday (Sakamoto's congruence, from memory)."""
    day = date(2026, 9, 21)
    points = ((600.0, 1080.0), (900.0, 1440.0 + 660.0))
    chart = Plane(
        Axis("clock", 600, 900, day=day),
        Axis("clock", 1080, 2100, day=day),
        (Series("expected", "o", points),),
    )
    for height in (6, 20):
        sides = [row.split("·")[0].strip() for row in _text(chart, 80, height)]
        assert "Tue 00:00" in sides
        assert not any("+" in side for side in sides)
    # A scale of the clock ends where its values do, not at the next name.
    assert [row for row in _text(chart, 80, 20)[1:4] if "o" in row]


def test_one_file_knows_what_draws_the_points() -> None:
    found = [
        path.name
        for folder in ("tui", "engine", "demo_sessions")
        for path in (ROOT / folder).rglob("*.py")
        if "import plotext" in path.read_text(encoding="utf-8")
    ]
    assert found == ["chart_picture.py"]
