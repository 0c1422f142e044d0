"""Whatever the library writes, the terminal shows the same when only the difference goes out."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cartclock.tui.terminal.wire import Wire
from tests.kit.screen import Screen

SIZE = (12, 5)
STYLES = ["", "1", "38;5;1", "1;38;2;1;2;0;48;2;9;9;9", "48;5;0", "38;2;0;0;0"]
Run = tuple[int, int, str, str]


def frame(runs: list[Run], place: tuple[int, int] | None = (0, 1)) -> str:
    """As the library writes one."""
    out = [
        f"\x1b[{y + 1};{x + 1}H" + (f"\x1b[{style}m{text}\x1b[0m" if style else text) + "\n"
        for y, x, style, text in runs
    ]
    end = "" if place is None else f"\x1b[{place[0] + 1};{place[1] + 1}H"
    return "".join(out).removesuffix("\n") + end


@st.composite
def run(draw: st.DrawFn) -> Run:
    width, height = SIZE
    text = draw(st.text("ab  █▀▄é", min_size=1, max_size=width))
    x = draw(st.integers(0, width - len(text)))
    return draw(st.integers(0, height - 1)), x, draw(st.sampled_from(STYLES)), text


def full(letter: str) -> str:
    return frame([(y, 0, "1", letter * SIZE[0]) for y in range(SIZE[1])])


# Wide letters and marks, in a place of their own.
ODD = [frame([(1, 2, "1", "洗車")]), frame([(1, 1, "", "e\u0301x"), (1, 0, "1", "ab")])]
TITLE = "\x1b[22;2t\x1b]2;a\x07"
ASIDE = ["\x07", "\x1b[?2026h", "\x1b[?2026l", "\x1b]22;default\x07", "\x1b[?2026$p", TITLE]
OTHER = ["\x1b[?1049h", "\x1b[>1u"]
WRITE = st.one_of(
    st.lists(run(), min_size=1, max_size=6).map(frame),
    st.lists(run(), min_size=1, max_size=2).map(lambda runs: frame(runs, None)),
    st.sampled_from([full("a"), full(" "), *ODD, *ASIDE, *OTHER]),
)


# Cells besides the frames, as often as these.
PUT = st.lists(run(), min_size=1, max_size=4)


@settings(max_examples=100)
@given(st.lists(WRITE | PUT, min_size=1, max_size=12))
def test_the_terminal_shows_the_same(writes: list[str | list[Run]]) -> None:
    wire, whole, lean = Wire(), Screen(), Screen()
    for write in writes:
        if isinstance(write, str):
            whole.take(write)
            lean.take(wire.lean(write, SIZE))
            # Whatever is written next by anybody is in no colour of the frame.
            assert lean.colours == () or write in ASIDE
        else:
            there = f"\x1b[{whole.y + 1};{whole.x + 1}H"
            whole.take(frame(write, None) + there)
            lean.take(wire.put(write, SIZE))
        assert lean.cells == whole.cells
        if isinstance(write, str) and write.endswith("H"):
            assert (lean.y, lean.x) == (whole.y, whole.x)


def test_what_is_there_is_not_written_again() -> None:
    wire = Wire()
    first = frame([(0, 0, "1", "12:34"), (2, 3, "38;5;9", "wait")])
    assert wire.lean(first, SIZE) != ""
    assert wire.lean(first, SIZE) == "\x1b[1;2H"
    assert wire.lean(frame([(0, 0, "1", "12:35")]), SIZE) == "\x1b[1m\x1b[1;5H5\x1b[m\x1b[1;2H"


def test_cells_in_between_are_passed_or_written_by_what_is_less() -> None:
    wire = Wire()
    wire.lean(frame([(0, 0, "", "a..........b")]), SIZE)
    assert wire.lean(frame([(0, 0, "", "c..........d")], None), SIZE) == "\x1b[Hc\x1b[10Cd"
    assert wire.lean(frame([(0, 0, "", "e..f.......d")], None), SIZE) == "\x1b[He..f"
    # A block takes three bytes: two of them more than to go past them.
    wire.lean(frame([(0, 0, "", "a██b")]), SIZE)
    assert wire.lean(frame([(0, 0, "", "c██d")], None), SIZE) == "\x1b[Hc\x1b[2Cd"


def test_of_two_ways_to_the_next_row_the_shorter_one_is_taken() -> None:
    wire = Wire()
    wire.lean(full("a"), SIZE)
    below = frame([(1, 4, "1", "b"), (2, 4, "1", "b"), (3, 1, "1", "b"), (4, 11, "1", "b")], None)
    assert wire.lean(below, SIZE) == ("\x1b[1m\x1b[2;5Hb\x1b[B\bb\n\x1b[2Gb\n\x1b[12Gb\x1b[m")
    # Behind the last column it is not known where the cursor stands.
    edge = frame([(1, 11, "1", "c"), (2, 11, "1", "c")], None)
    assert wire.lean(edge, SIZE) == "\x1b[1m\x1b[2;12Hc\n\x1b[12Gc\x1b[m"


def test_of_the_colours_only_what_is_another_is_said() -> None:
    wire = Wire()
    wire.lean(full("a"), SIZE)
    ink, ground, other = "38;2;1;1;1", "48;2;2;2;2", "48;2;3;3;3"
    bold = (0, 0, f"1;{ink};{ground}", "b")
    plain = [(0, 2, f"{ink};{ground}", "b"), (0, 4, f"{ink};{other}", "b"), (0, 6, other, "b")]
    # Bold comes after the same colours, which it would have to be taken from; and an ink that is
    # not named must go.
    assert wire.lean(frame([bold, *plain], None), SIZE) == (
        f"\x1b[{other}m\x1b[1;7Hb\x1b[{ink}m\x1b[1;5Hb\x1b[{ground}m\x1b[1;3Hb\x1b[1m\x1b[Hb\x1b[m"
    )


@pytest.mark.parametrize("event", ["\x1b[?1049h", "another size", "\x1b[2J"])
def test_what_may_have_wiped_the_screen_is_forgotten(event: str) -> None:
    wire, size = Wire(), SIZE
    first = frame([(0, 0, "1", "12:34")])
    wire.lean(first, size)
    if event == "another size":
        size = (13, 5)
    else:
        assert wire.lean(event, size) == event
    assert "12:34" in wire.lean(first, size)


@pytest.mark.parametrize("odd", ["e\u0301", "洗"])
def test_what_stands_before_an_odd_letter_is_not_lost(odd: str) -> None:
    wire, shown = Wire(), Screen()
    for colours in ("1", "38;5;1"):
        shown.take(wire.lean(frame([(0, 0, colours, "ab"), (0, 2, "", odd)]), SIZE))
        assert shown.cells[0, 1] == ("b", (colours,))


def test_cells_are_put_and_the_cursor_stays_where_the_frame_left_it() -> None:
    wire = Wire()
    wire.lean(frame([(0, 0, "1", "12:34")]), SIZE)
    assert wire.put([(0, 0, "1", "12:35")], SIZE) == "\x1b[1m\x1b[1;5H5\x1b[1;2H"
    assert wire.put([(0, 0, "1", "12:35")], SIZE) == ""
    # The next frame knows of them, and the terminal is left without colours.
    assert wire.lean(frame([(0, 0, "1", "12:35")]), SIZE) == "\x1b[m\x1b[1;2H"


def test_colours_go_on_from_one_put_to_the_next_and_no_further() -> None:
    wire = Wire()
    wire.lean(frame([(y, 0, "1", "aaa") for y in range(5)], None), SIZE)
    digit, word = (0, 0, "38;5;1", "b"), (2, 0, "48;5;0", "b")
    assert wire.put([digit, word], SIZE) == "\x1b[38;5;1m\x1b[Hb\x1b[0;48;5;0m\x1b[3;1Hb"
    # The last colours first; the title, which moves no cell, lets them stand.
    assert wire.lean(TITLE, SIZE) == TITLE
    assert wire.put([(0, 0, "38;5;1", "c"), (2, 0, "48;5;0", "c")], SIZE) == (
        "\x1b[3;1Hc\x1b[0;38;5;1m\x1b[Hc"
    )
    # A wide letter goes out with all its colours, whatever is known, and with no others.
    assert wire.put([(1, 0, "1", "洗")], SIZE).startswith("\x1b[m\x1b[2;1H\x1b[1m洗\x1b[m")
    wire.put([(0, 0, "1", "d")], SIZE)
    # What the library asks of the terminal, as to give it back, finds none.
    assert wire.lean("\x1b[?1049l", SIZE) == "\x1b[m\x1b[?1049l"
    assert wire.lean(full("d"), SIZE) == full("d")


def test_a_frame_that_fills_the_screen_heals_it() -> None:
    wire = Wire()
    assert wire.lean(full("a"), SIZE) == full("a")
    # Something else may have written over it: the same goes out whole again.
    assert wire.lean(full("a"), SIZE) == full("a")
