"""A page drawn at a size: nothing outside, nothing cut while there is room, the cursor in sight."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.letters import ELLIPSIS, cells
from cartclock.tui.face.laying import GAP, MARGIN, column_widths, laid, strip_text
from cartclock.tui.face.page import (
    Air,
    Bar,
    Cells,
    Column,
    Head,
    Heading,
    Large,
    Page,
    Reach,
    Table,
    Tape,
    Ticks,
    Words,
    entries,
)
from cartclock.tui.face.page_picture import SIGN, last_top, page_picture

# A lone modifier of a skin colour (Sk) has no width that terminals agree on.
TEXT = st.text(st.characters(blacklist_categories=["Cs", "Sk"]), max_size=40)
STRIPS = st.one_of(
    st.builds(Bar, st.floats(-1, 2), st.none() | st.floats(0, 1)),
    st.builds(
        lambda now, opens: Tape(0.0, (60.0, 100.0), now, opens),
        st.floats(0, 400),
        st.none() | st.floats(0, 100),
    ),
    st.builds(
        lambda opens, closes: Reach(0.0, 100.0, opens, closes, (25.0, 50.0)),
        st.floats(-10, 120),
        st.none() | st.floats(-10, 120),
    ),
    st.just(Ticks(0.0, 100.0, ((25.0, "12:00"), (50.0, "15:00")))),
)
COLUMNS = st.builds(
    Column,
    head=st.sampled_from(["", "left", "what is planned"]),
    least=st.integers(1, 20),
    rank=st.integers(0, 3),
    right=st.booleans(),
    folds=st.booleans(),
    wide=st.booleans(),
)


@st.composite
def pages(draw: st.DrawFn) -> Page:
    """A page of one table and whatever else."""
    columns = tuple(draw(st.lists(COLUMNS, min_size=1, max_size=5)))
    cell = TEXT | STRIPS
    row = st.one_of(
        st.builds(
            Cells,
            st.just(0),
            st.tuples(*[cell] * len(columns)),
            entry=st.booleans(),
        ),
        st.builds(Heading, TEXT, TEXT, entry=st.booleans()),
        st.builds(Words, TEXT, st.sampled_from(["", "then"]), entry=st.booleans()),
        st.builds(Words, parts=st.lists(TEXT, min_size=1, max_size=4).map(tuple)),
        st.builds(Air, st.booleans()),
        st.builds(Large, TEXT, st.integers(0, 27), st.integers(0, 3)),
    )
    rows = tuple(draw(st.lists(row, max_size=12)))
    fixed = (Heading(table=0),) if draw(st.booleans()) else ()
    reading = draw(st.booleans())
    return Page("Plan", rows, draw(TEXT), (Table(columns),), fixed, reading)


@given(pages(), st.integers(20, 130), st.integers(3, 40), st.integers(0, 11))
def test_every_page_is_drawn_at_every_size(page: Page, width: int, height: int, at: int) -> None:
    found = laid(page, width)
    count = entries(page)
    at = min(at, last_top(found, height)) if page.reading else min(at, max(0, count - 1))
    head = Head("14:20", "late", "roof: level 1:40" if width >= 40 else "1:40")
    canvas = page_picture(page, found, head, at, width, height)
    assert [sum(map(cells, row)) for row in canvas.chars] == [width] * height
    assert "PLAN" in canvas.lines[0] and "1:40" in canvas.lines[0]
    if count and not page.reading:
        assert any(line.startswith(SIGN) for line in canvas.lines[1:])
    else:
        assert not any(line.startswith(SIGN) for line in canvas.lines[1:])


def test_words_in_large_are_as_high_as_they_fit_and_never_cut() -> None:
    blocks = set("█▀▄")
    page = Page("Advice", (Large("STOP AND COOL DOWN", 14, 2),), reading=True)
    rows = {width: len(laid(page, width).lines) for width in (20, 40, 80, 120)}
    # At 40 columns two lines of three rows, at 80 and 120 two of seven.
    assert rows == {20: 0, 40: 8, 80: 16, 120: 16}
    for width in rows:
        for line in laid(page, width).lines:
            assert all(piece.x + cells(piece.text) <= width - 1 for piece in line.pieces)
            assert set("".join(piece.text for piece in line.pieces)) <= blocks | {" "}
    # Nothing of it can be chosen, and what has no large form is left out.
    assert entries(page) == 0
    assert laid(Page("Advice", (Large("水", 14, 2),)), 80).lines == ()


@given(pages(), st.integers(20, 130), st.integers(4, 12))
def test_a_text_is_read_to_its_end(page: Page, width: int, height: int) -> None:
    page = Page(page.name, page.rows, tables=page.tables, reading=True)
    found, seen = laid(page, width), []
    # From page to page, so that each line has one place to be read at, and the last one.
    last = last_top(found, height)
    for top in [*range(0, last, height - 1), last]:
        seen += page_picture(page, found, Head(), top, width, height).lines[1:]
    for line in found.lines:
        for piece in line.pieces:
            assert any(piece.text in one for one in seen)


@given(
    st.lists(COLUMNS, min_size=1, max_size=6),
    st.integers(4, 130),
    st.data(),
)
def test_columns_take_no_more_than_the_room(
    columns: list[Column], room: int, data: st.DataObject
) -> None:
    count = len(columns)
    natural = data.draw(st.lists(st.integers(0, 40), min_size=count, max_size=count))
    strips = data.draw(st.lists(st.booleans(), min_size=count, max_size=count))
    widths = column_widths(columns, natural, strips, room, wide=True)
    taken = [width for width in widths if width]
    most = sum(taken) + GAP * (len(taken) - 1)
    never = [at for at, column in enumerate(columns) if not column.rank and widths[at]]
    # Columns that never leave may need more than there is; the last of it is cropped.
    assert most <= room or len(never) == len(taken)
    # A strip takes what it needs to say anything, however short a text beside it is.
    whole = [max(n, c.least if s else 0) for n, c, s in zip(natural, columns, strips, strict=True)]
    if sum(whole) + GAP * count <= room:
        for at, strip in enumerate(strips):
            if natural[at] and not strip:
                assert widths[at] == natural[at]


def test_columns_leave_by_rank_before_a_word_is_cut() -> None:
    table = Table((Column("stage"), Column("done"), Column("end", rank=2), Column("note", rank=1)))
    row = Cells(0, ("Iron fallout", "3 of 6", "17:45", "closes 22:38"), entry=True)
    page = Page("Plan", (row,), tables=(table,), fixed=(Heading(table=0),))
    shown = {
        width: page_picture(page, laid(page, width), Head(), 0, width, 9).lines[2]
        for width in (50, 42, 30, 22)
    }
    assert "17:45" in shown[50] and "closes 22:38" in shown[50]
    assert "17:45" not in shown[42] and "closes 22:38" in shown[42]
    assert shown[30].split() == [SIGN, "Iron", "fallout", "3", "of", "6"]
    assert ELLIPSIS in shown[22]


def test_a_list_of_names_ends_with_how_many_are_left() -> None:
    names = ("Pre-wash", "Wash", "Iron fallout", "Clay")
    page = Page("Today", (Words(label="then", parts=names),))
    said = {width: laid(page, width).lines[0].pieces[1].text for width in (60, 40, 30, 22)}
    assert said == {
        60: "Pre-wash, Wash, Iron fallout, Clay",
        40: "Pre-wash, Wash and 2 more",
        30: "Pre-wash and 3 more",
        22: "Pre-wash and",
    }


def test_what_is_chosen_keeps_its_strip_on_the_ground_of_the_page() -> None:
    page = Page(
        "Plan", (Cells(0, ("Cut", Bar(0.5)), entry=True),), tables=(Table((Column(), Column())),)
    )
    canvas = page_picture(page, laid(page, 40), Head(), 0, 40, 4)
    grounds = [(text.strip(), look.ground) for text, look in canvas.runs(1)]
    assert grounds[:2] == [(">", "cursor"), ("Cut", "cursor")]
    assert [ground for text, ground in grounds if "▄" in text] == ["page"]


def test_a_block_that_is_chosen_is_in_sight_from_its_first_line() -> None:
    rows = [row for n in range(9) for row in (Heading(f"{n}", entry=True), Words("a"), Words("b"))]
    page = Page("Today", tuple(rows))
    found = laid(page, 40)
    for at in range(9):
        lines = page_picture(page, found, Head(), at, 40, 6).lines[1:]
        top = next(y for y, line in enumerate(lines) if line.startswith(SIGN))
        assert lines[top].split() == [SIGN, f"{at}"]
        assert [line.strip() for line in lines[top + 1 : top + 3]] == ["a", "b"]


def test_a_stretch_ahead_is_low_then_half_then_nothing() -> None:
    assert strip_text(Reach(0, 10, 4, 8), 11) == "▁▁▁▁▂▂▂▂▂  "
    assert strip_text(Reach(0, 10, 4, None, (2,)), 11) == "▁▁ ▁▂▂▂▂▂▂▂"
    assert strip_text(Ticks(0, 10, ((2, "a"), (3, "bc"), (4, "dd"), (9, "eee"))), 11) == (
        "  a dd     "
    )


def test_the_margin_holds_nothing_but_the_sign() -> None:
    page = Page("Log", (Words("a", entry=True), Words("b", entry=True)))
    lines = page_picture(page, laid(page, 20), Head(), 1, 20, 4).lines
    assert [line[:MARGIN] for line in lines] == ["  ", "  ", "> ", "  "]


def test_a_row_whose_columns_have_all_left_is_no_row() -> None:
    table = Table((Column(least=20), Column(least=14, rank=1)))
    ticks = Cells(0, ("", Ticks(0, 10, ((2, "12:00"),))))
    page = Page("Today", (ticks, Cells(0, ("leave alone until noon", Bar(0.5)))), tables=(table,))
    assert [len(laid(page, width).lines) for width in (80, 30)] == [2, 1]
