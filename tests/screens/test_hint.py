"""The keys of a list: whole parts in whole rows, and nothing a person needs is left out."""

from __future__ import annotations

import pytest

from cartclock.engine.letters import cells
from cartclock.tui.lists.before_coat import HINT as COAT_HINT
from cartclock.tui.lists.products import FORM
from cartclock.tui.lists.reading import HINT
from cartclock.tui.screens.run import ASKED_HINT
from cartclock.tui.widgets.hint import hint_parts, hint_rows

PLAIN = "up, down: choose   space: take it   esc: nothing is written"
LEAVES = "up, down: read on   space: clock off   O: at once   esc: stay on"


def test_a_hint_breaks_between_its_parts() -> None:
    assert hint_rows(PLAIN, "", 80, 2) == [PLAIN]
    assert hint_rows(PLAIN, "", 38, 2) == [
        "up, down: choose   space: take it",
        "esc: nothing is written",
    ]


@pytest.mark.parametrize("hint", [PLAIN, HINT, ASKED_HINT])
@pytest.mark.parametrize("of", ["", "10 of 12"])
def test_in_two_rows_only_what_the_list_shows_itself_is_left_out(hint: str, of: str) -> None:
    rows = hint_rows(hint, of, 38, 2)
    assert len(rows) == 2
    assert all(cells(row) <= 38 for row in rows)
    left = [part for part in hint_parts(hint) if part not in "   ".join(rows)]
    assert all(part.startswith(("up, down: ", "space: ")) for part in left)
    assert "   ".join(rows).startswith(of)


@pytest.mark.parametrize("hint", [HINT, LEAVES, COAT_HINT, FORM])
@pytest.mark.parametrize("of", ["", "10 of 12"])
def test_what_space_does_is_said_where_it_does_not_take_the_chosen_line(hint: str, of: str) -> None:
    rows = hint_rows(hint, of, 38, 2, takes_line=False)
    assert len(rows) <= 2
    left = [part for part in hint_parts(hint) if part not in "   ".join(rows)]
    assert all(part.startswith("up, down: ") for part in left)


def test_the_keys_of_the_figures_stand_at_the_least_size_for_a_full_screen() -> None:
    assert hint_rows(HINT, "10 of 10", 38, 2, takes_line=False) == [
        "10 of 10   space: write   esc: nothing",
        "enter: goes on   left, right, 0-9: set",
    ]


@pytest.mark.parametrize("width", range(8, 120))
def test_with_rows_enough_every_word_stands_at_every_width(width: int) -> None:
    rows = hint_rows(HINT, "3 of 9", width, 99)
    assert " ".join(rows).split() == ["3", "of", "9", *HINT.split()]
    assert all(cells(row) <= width for row in rows)


def test_where_one_row_is_wished_for_what_is_needed_has_two() -> None:
    assert hint_rows("left, right: length   esc: no break", "", 20, 1) == [
        "left, right: length",
        "esc: no break",
    ]
