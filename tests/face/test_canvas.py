"""The picture of cells: what is written stands there once, within its edges, on its ground."""

from __future__ import annotations

import unicodedata

from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.letters import cells
from cartclock.tui.face.canvas import Canvas, Look
from cartclock.tui.face.grounds import GROUNDS
from cartclock.tui.palettes import PAIRS, TEXT_CONTRAST

TEXT = st.text(
    st.characters(blacklist_categories=["Cs"]) | st.sampled_from("a\u0301\u4e2d\x1b\n\u202e"),
    max_size=30,
)


@given(TEXT, st.integers(-3, 25), st.integers(-1, 3), st.integers(0, 20))
def test_a_row_has_its_width_whatever_is_written(text: str, x: int, y: int, end: int) -> None:
    canvas = Canvas(20, 3)
    behind = canvas.put(x, y, text, end=end)
    assert [sum(cells(char) for char in row) for row in canvas.chars] == [20] * 3
    assert [len(row) for row in canvas.chars] == [len(row) for row in canvas.looks] == [20] * 3
    assert behind <= max(x, end or 20)
    assert not any(unicodedata.category(char) == "Cc" for line in canvas.lines for char in line)
    # Outside of its room nothing was written.
    assert canvas.lines[1 if y != 1 else 0].strip() == ""


def test_a_text_takes_the_ground_that_is_there() -> None:
    canvas = Canvas(6, 1)
    canvas.fill(0, 1, "late")
    assert canvas.put(1, 0, "roof", bold=True) == 5
    assert list(canvas.runs(0)) == [
        (" ", Look("late")),
        ("roof", Look("late", bold=True)),
        (" ", Look("late")),
    ]


def test_what_has_no_room_is_seen_to_be_cut() -> None:
    canvas = Canvas(6, 1)
    canvas.put(0, 0, "tailgate")
    assert canvas.text == "tailg…"
    assert canvas.right(0, "tailgate") == 0
    assert Canvas(8, 1).right(0, "roof") == 3


def test_letters_of_two_cells_and_marks_keep_their_columns() -> None:
    canvas = Canvas(8, 1)
    assert canvas.put(0, 0, "\u4e2de\u0301x") == 4
    assert canvas.chars[0][:4] == ["\u4e2d", "", "e\u0301", "x"]


def test_to_fill_wipes() -> None:
    canvas = Canvas(4, 2)
    canvas.put(0, 0, "roof")
    canvas.block(2, 1, ["██", "██"])
    canvas.fill(0, 1, "wait")
    assert canvas.lines == ["    ", "  ██"]


def test_every_ground_has_ink_of_proved_contrast() -> None:
    """The pairs that `tests/screens/test_themes.py` measures by WCAG 2.1 are all that is used."""
    proved = {(text, ground) for text, ground, least in PAIRS if least >= TEXT_CONTRAST}
    for ground, ink, dim in GROUNDS.values():
        assert {(ink, ground), (dim, ground)} <= proved
