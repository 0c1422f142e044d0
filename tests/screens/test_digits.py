"""Big digits: their measures, that they cannot be taken for each other, and the clock."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from textual.app import App, ComposeResult
from textual.geometry import Region
from textual.strip import Strip

from cartclock.engine.now import glance
from cartclock.tui.widgets.digits import big, clock_lines, difference, fitting_rows
from cartclock.tui.widgets.face import Face, picture_of

ROWS = range(3, 21)
DIGITS = "0123456789"
GLYPHS = DIGITS + ":-+ "

Points = frozenset[tuple[int, int]]

# Each height as wide as digits should be, and as narrow as they may become.
SIZES = [(rows, None) for rows in ROWS] + [
    (rows, min(n for n in range(2, 60) if fitting_rows("0", n, rows) == rows)) for rows in ROWS
]


def raster(char: str, rows: int, columns: int | None) -> Points:
    """The inked points of one glyph, two raster lines for each row."""
    upper, lower = "█▀", "█▄"
    glyph = big(char, rows, columns)
    return frozenset(
        (x, 2 * y + half)
        for y, line in enumerate(glyph)
        for x, cell in enumerate(line)
        for half, shown in enumerate((upper, lower))
        if cell in shown
    )


def parts(points: Points, diagonal: bool) -> int:
    """How many connected parts there are."""
    steps = [(0, 1), (1, 0), (0, -1), (-1, 0)]
    if diagonal:
        steps += [(1, 1), (1, -1), (-1, 1), (-1, -1)]
    left = set(points)
    count = 0
    while left:
        count += 1
        edge = [left.pop()]
        while edge:
            x, y = edge.pop()
            near = {(x + a, y + b) for a, b in steps} & left
            left -= near
            edge.extend(near)
    return count


def holes(points: Points, width: int, height: int) -> int:
    """How many hollows are closed all round."""
    paper = {(x, y) for x in range(-1, width + 1) for y in range(-1, height + 1)}
    return parts(frozenset(paper) - points, diagonal=False) - 1


@pytest.mark.parametrize("rows", ROWS)
def test_every_glyph_has_its_rows_and_only_blocks(rows: int) -> None:
    lines = big(GLYPHS, rows)
    assert len(lines) == rows
    assert len({len(line) for line in lines}) == 1
    assert set("".join(lines)) <= set("█▀▄ ")


@pytest.mark.parametrize(("rows", "columns"), SIZES)
def test_digits_are_equally_wide(rows: int, columns: int | None) -> None:
    assert len({len(big(digit, rows, columns)[0]) for digit in DIGITS}) == 1


@pytest.mark.parametrize(
    ("text", "rows", "columns"),
    [("88:88", 12, 78), ("8:88:88", 10, 78)],
    ids=["minutes and seconds, 12 rows", "hours too, 10 rows"],
)
def test_single_clock_fits_uncondensed(text: str, rows: int, columns: int) -> None:
    assert len(big(text, rows)[0]) <= columns
    assert big(text, rows, columns) == big(text, rows)
    assert fitting_rows(text, columns, rows) == rows


def test_two_clocks_of_nine_rows_stand_side_by_side_in_eighty_columns() -> None:
    divider = 3
    each = (80 - divider) // 2
    assert fitting_rows("88:88", each, 9) == 9
    assert 2 * len(big("88:88", 9, each)[0]) + divider <= 80


@pytest.mark.parametrize("rows", range(5, 21))
def test_stroke_is_a_seventh_and_width_062_of_the_height(rows: int) -> None:
    """Common practice, no source."""
    height = 2 * rows
    zero = raster("0", rows, None)
    middle = [x for x, y in zero if y == rows]
    stroke = len(middle) / 2
    assert abs(stroke - height / 7) < 1
    assert abs(len(big("0", rows)[0]) - 0.62 * height) <= 0.5
    # A bar is as thick as an upright: points of the raster are about square.
    assert len([y for x, y in raster("7", rows, None) if x == 0]) == stroke


@pytest.mark.parametrize(("rows", "columns"), SIZES)
def test_hollows_and_seams(rows: int, columns: int | None) -> None:
    width = len(big("0", rows, columns)[0])
    for digit in DIGITS:
        points = raster(digit, rows, columns)
        assert parts(points, diagonal=True) == 1, digit
        found = holes(points, width, 2 * rows)
        if digit == "4":
            assert found in {0, 1}
        else:
            assert found == {"0": 1, "6": 1, "9": 1, "8": 2}.get(digit, 0), digit


@pytest.mark.parametrize(("rows", "columns"), SIZES)
def test_digits_are_told_apart(rows: int, columns: int | None) -> None:
    glyphs = {digit: raster(digit, rows, columns) for digit in DIGITS}
    stroke = len([x for x, y in glyphs["0"] if y == rows]) // 2
    for one, other in combinations(DIGITS, 2):
        # What the eye goes by must be no finer than the strokes themselves: a square of ink
        # as thick as a stroke, and twice that for the pairs that are easily taken for each
        # other, at the sizes that are read from afar.
        alike = one + other in {"17", "38", "56", "68"} and rows >= 9
        least = (2 if alike else 1) * stroke * stroke
        assert len(glyphs[one] ^ glyphs[other]) >= least, (one, other)


@pytest.mark.parametrize(("rows", "columns"), SIZES)
def test_zero_is_open_and_even(rows: int, columns: int | None) -> None:
    zero = raster("0", rows, columns)
    width, height = len(big("0", rows, columns)[0]), 2 * rows
    assert zero == {(width - 1 - x, y) for x, y in zero}
    assert zero == {(x, height - 1 - y) for x, y in zero}
    assert not {(width // 2, y) for y in range(height // 3, height - height // 3)} & zero


def test_nine_is_six_turned() -> None:
    turned = {(14 - x, 23 - y) for x, y in raster("6", 12, None)}
    assert turned == raster("9", 12, None)


@pytest.mark.parametrize("rows", ROWS)
def test_signs(rows: int) -> None:
    minus, plus = raster("-", rows, None), raster("+", rows, None)
    assert minus < plus
    assert parts(raster(":", rows, None), diagonal=True) == 2
    assert not raster(" ", rows, None)


@pytest.mark.parametrize(
    ("text", "rows", "columns"),
    [("12:3x", 5, None), ("1", 2, None), ("1", 21, None), ("88:88", 9, 37), ("²", 5, None)],
    ids=["letter", "too low", "too high", "too narrow", "superscript"],
)
def test_big_refuses(text: str, rows: int, columns: int | None) -> None:
    with pytest.raises(ValueError, match=r"\.$"):
        big(text, rows, columns)


@settings(max_examples=60)
@given(st.text(GLYPHS, min_size=1, max_size=8), st.integers(0, 130), st.integers(0, 30))
def test_fitting_rows_is_the_most_that_fits(text: str, width: int, height: int) -> None:
    rows = fitting_rows(text, width, height)
    if rows:
        assert rows <= height
        assert len(big(text, rows, width)[0]) <= width
    for more in range(max(rows + 1, 3), min(height, 20) + 1):
        with pytest.raises(ValueError, match="does not fit"):
            big(text, more, width)


class Painted(Face):
    """A face that keeps the rows it was asked to paint."""

    def __init__(self) -> None:
        super().__init__()
        self.painted: list[int] = []

    def render_line(self, y: int) -> Strip:
        self.painted.append(y)
        return super().render_line(y)


class ClockApp(App[None]):
    def compose(self) -> ComposeResult:
        yield Painted()


def face(clock: str, word: str = "RINSE") -> glance.Face:
    return glance.Face(word, clock, "roof", "planned 5:00, since 10:00", "plain", "a")


def shown(painted: Painted) -> list[str]:
    return [painted.render_line(y).text for y in range(painted.size.height)]


async def test_a_face_fills_its_place_and_repaints_only_changes() -> None:
    app = ClockApp()
    async with app.run_test(size=(40, 12)) as pilot:
        painted = app.query_one(Painted)
        painted.show(face("12:34"))
        await pilot.pause()
        rows = fitting_rows("12:34", 40, 10)
        lines = shown(painted)
        assert len(lines) == 12
        assert {len(line) for line in lines} == {40}
        assert lines[0].strip() == "RINSE   roof"
        assert [line.strip() for line in lines[1:-1] if line.strip()] == [
            line.strip() for line in big("12:34", rows, 40)
        ]
        assert lines[-1].strip() == "planned 5:00, since 10:00"
        painted.painted.clear()
        painted.show(face("12:34"))
        await pilot.pause()
        assert painted.painted == []
        painted.show(face("12:35"))
        await pilot.pause()
        assert painted.painted
        # Neither the line above nor the one below.
        assert set(painted.painted) <= set(range(1, 11))


@pytest.mark.parametrize(
    ("before", "after"),
    [("12:34", "12:35"), ("10:00", "9:59"), ("5:00", "rest"), ("洗車", "洗 車"), ("", "1")],
)
async def test_exactly_what_changed_is_marked(
    before: str, after: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = ClockApp()
    async with app.run_test(size=(78, 14)) as pilot:
        painted = app.query_one(Painted)
        painted.show(face(before))
        await pilot.pause()
        old = shown(painted)
        regions: list[Region] = []
        monkeypatch.setattr(painted, "refresh", lambda *given: regions.extend(given))
        painted.show(face(after))
        new = shown(painted)
        monkeypatch.undo()
        (region,) = regions
        rows = [y for y in range(14) if old[y] != new[y]]
        assert (region.y, region.bottom) == (rows[0], rows[-1] + 1)
        if not (before + after).isascii():
            assert (region.x, region.right) == (0, 78)
            return
        columns = [x for y in rows for x in range(78) if old[y][x] != new[y][x]]
        assert (region.x, region.right) == (min(columns), max(columns) + 1)
        if after == "12:35":
            # One digit of four: the last.
            assert region.width <= len(big("0", 12)[0])


def test_no_change_is_no_region() -> None:
    assert difference(clock_lines("12:34", 40, 9), clock_lines("12:34", 40, 9)).area == 0
    assert difference((), ()).area == 0


async def test_screen_shows_each_text_in_turn() -> None:
    app = ClockApp()
    async with app.run_test(size=(60, 13)) as pilot:
        painted = app.query_one(Painted)
        for text in ("10:00", "9:59", "-0:01", "paused", "1:00:00"):
            for word in ("RINSE", "LATE: LEVEL"):
                painted.show(face(text, word))
                await pilot.pause()
                strips = app.screen._compositor.render_strips()
                assert [strip.text for strip in strips] == shown(painted), text


@pytest.mark.parametrize(
    ("text", "size", "row"),
    [
        ("12:34", (40, 2), "12:34"),
        ("12:34", (3, 5), "12…"),
        ("12 h", (40, 9), "12 h"),
        ("洗車 9\n", (20, 3), "洗車 9"),
        ("\x1b[31m1\x9b2J", (20, 3), "\u241b[31m1\ufffd2J"),
    ],
    ids=["two rows", "three columns", "letters", "wide letters", "escapes"],
)
def test_small_text_where_big_is_not_possible(text: str, size: tuple[int, int], row: str) -> None:
    lines = clock_lines(text, *size)
    assert len(lines) == size[1]
    assert [line.strip() for line in lines if line.strip()] == [row]


async def test_a_face_follows_a_resize() -> None:
    app = ClockApp()
    async with app.run_test(size=(80, 14)) as pilot:
        painted = app.query_one(Painted)
        painted.show(face("5:00"))
        await pilot.pause()
        before = shown(painted)
        assert len(painted.picture.under) == 1
        await pilot.resize_terminal(30, 4)
        await pilot.pause()
        after = shown(painted)
        assert len(before) == 14
        assert len(after) == 4
        assert {len(line) for line in after} == {30}
        # The digits take the line below them.
        assert painted.picture.under == ()
        assert len(painted.picture.digits) == 3


def test_every_height_is_divided_whole() -> None:
    for height in range(1, 60):
        picture = picture_of(face("12:34"), 60, height, 60)
        assert len(picture.lines) == height
        assert {len(line) for line in picture.lines} == {60}
        # Beside the large word the digits keep nine rows.
        assert not picture.large or len(picture.digits) >= 9
    assert picture.large
    assert picture_of(face("12:34"), 0, 0, 60).lines == ()
