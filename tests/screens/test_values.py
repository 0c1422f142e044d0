"""Values typed with wet gloves: a slip of the finger changes no number."""

from __future__ import annotations

import pytest

from cartclock.tui.widgets.values import Number


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("36.5", 36.5),
        ("-4", -4.0),
        ("1-2", 12.0),
        ("3..5", 3.5),
        ("-", None),
        (".5", 0.5),
    ],
)
def test_typing(typed: str, value: float | None) -> None:
    number = Number("air", "C", 20.0, 0.5)
    for character in typed:
        number.type(character)
    assert number.value == value


def test_wiping_and_typing_anew() -> None:
    number = Number("air", "C", 20.0, 0.5)
    for character in ("3", "", "2"):
        number.type(character)
    assert number.value == 2.0


def test_an_old_figure_is_offered_to_be_turned_on_from_where_it_was() -> None:
    number = Number("panel", "C", None, 0.5, was=21.0, ago="11 min")
    assert (number.value, number.text().split()[1:]) == (
        None,
        ["not", "measured", "(was", "21", "C,", "11", "min", "ago)"],
    )
    number.turn(1)
    assert number.value == 21.0
    number.turn(1)
    number.turn(1)
    number.turn(-1)
    assert number.value == 21.5
