"""The next rest on a line and as a figure: the same decision in both."""

from __future__ import annotations

import pytest

from cartclock.engine.now.next_rest import NextRest


@pytest.mark.parametrize(
    ("rest", "text", "figure"),
    [
        (NextRest("after the film", 0, 20), "after this film 20 min rest", "rest after this film"),
        (NextRest("after the piece", 0, 15), "then 15 min rest", "then a rest of"),
        (NextRest("in minutes", 25, 15), "rest in 25 min", "rest due in"),
        (NextRest("in minutes", 25), "work time 25 min", "work time left"),
        (NextRest("due", 0, 10), "rest is due", "rest is due"),
        (NextRest(), "", ""),
    ],
    ids=lambda value: value.comes or "none" if isinstance(value, NextRest) else "",
)
def test_the_line_and_the_figure_say_the_same(rest: NextRest, text: str, figure: str) -> None:
    assert (rest.text, rest.figure[0]) == (text, figure)
    minutes = rest.left_minutes or rest.rest_minutes
    assert rest.figure[1] == (f"{minutes} MIN" if minutes else "")


def test_where_no_rest_would_do_none_is_measured() -> None:
    """A cooler place is what helps there, and no number of minutes."""
    assert NextRest("after the piece").text == "then rest"
    assert NextRest("after the film").figure == ("rest after this film", "")
