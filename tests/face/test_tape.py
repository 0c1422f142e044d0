"""The strip of tape: what is behind, what is open, and a cut at every mark."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from cartclock.tui.face.tape import CUT, FULL, HALF, LOW, bar, labels, scale_end, slim, tape


def test_a_window_reads_from_left_to_right() -> None:
    # Opens at 2, due at 3, closes at 6 minutes; 1 minute is gone.
    (line,) = tape(31, 0.0, (120.0, 180.0, 360.0), 60.0, 120.0)
    assert line == "█████▂▂▂▂▂ ▄▄▄▄ ▄▄▄▄▄▄▄▄▄▄▄▄▄  "
    named = [(120.0, "ready"), (180.0, "due"), (360.0, "closes")]
    # Of two words that would touch the later one stands a little aside.
    assert labels(31, 0.0, named, 60.0).rstrip() == " " * 10 + "ready  due    closes"
    # One that finds no room is left out, never the next mark's.
    crowded = [(120.0, "opens 22:32"), (130.0, "due 22:32"), (360.0, "closes 22:38")]
    assert labels(31, 0.0, crowded, 60.0).split() == ["opens", "22:32"]


def test_what_shuts_again_is_low_behind_it() -> None:
    # 3 minutes of work, a rest of 2 and 1 of work after it; the rest is 1 minute late.
    (line,) = tape(31, 0.0, (180.0, 300.0, 360.0), 240.0, 180.0, shuts=300.0)
    assert line == "███████████████ ████▄▄▄▄▄ ▂▂▂  "


def test_past_the_close_it_goes_on_behind_the_cut() -> None:
    (line,) = tape(40, 0.0, (100.0,), 120.0)
    assert line.count(CUT) > 1
    assert line[: line.index(CUT)] == FULL * line.index(CUT)
    assert FULL in line[line.index(CUT) :]


def test_on_a_long_strip_a_cut_is_two_cells() -> None:
    (line,) = tape(80, 0.0, (50.0, 100.0), 0.0)
    assert line.index(CUT) == line.index(CUT * 2)


def test_higher_strips_stand_on_their_lowest_row() -> None:
    above, below = tape(30, 0.0, (10.0, 20.0), 5.0, 10.0, rows=2)
    assert (above.count(FULL), below.count(LOW)) == (7, 7)
    assert HALF not in above + below


@given(
    width=st.integers(1, 140),
    marks=st.lists(st.floats(1, 1000), min_size=1, max_size=4, unique=True).map(sorted),
    now=st.floats(0, 5000),
    rows=st.integers(1, 3),
)
def test_every_strip_is_as_wide_and_high_as_it_should(
    width: int, marks: list[float], now: float, rows: int
) -> None:
    lines = tape(width, 0.0, tuple(marks), now, marks[0], rows)
    assert [len(line) for line in lines] == [width] * rows
    named = [(mark, f"m{at}") for at, mark in enumerate(marks)]
    assert len(labels(width, 0.0, named, now)) == width
    assert scale_end(0.0, marks[-1], now) >= max(now, marks[-1])
    assert len(slim(lines[0])) == width


@given(st.integers(1, 140), st.floats(-1, 2), st.floats(-1, 2))
def test_a_longer_share_never_draws_a_shorter_bar(width: int, one: float, other: float) -> None:
    low, high = sorted((bar(width, one), bar(width, other)), key=lambda line: line.count(FULL))
    if one != other:
        longer = bar(width, max(one, other))
        assert longer.count(FULL) == high.count(FULL)
    assert len(low) == len(high) == width


def test_a_bar_is_empty_full_and_cut_where_it_is_told() -> None:
    assert bar(10, 0.0) == LOW * 10
    assert bar(10, 1.0) == FULL * 10
    assert bar(10, 1.0, 0.5) == FULL * 5 + CUT + FULL * 4
    assert bar(10, 1.0, 1.0) == FULL * 9 + CUT
