"""A temperature from text."""

from __future__ import annotations

import pytest

from cartclock.engine.figures.temperature import written_degrees


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("32", 32.0, None),
        ("32C", 32.0, "C"),
        (" 32 °c ", 32.0, "C"),
        ("-5.5", -5.5, None),
        ("+7 C", 7.0, "C"),
        ("90F", 90.0, "F"),
        ("212 f", 212.0, "F"),
        ("-40F", -40.0, "F"),
    ],
)
def test_a_temperature_is_read_with_the_unit_that_is_written(
    text: str, value: float, unit: str | None
) -> None:
    assert written_degrees(text) == (value, unit)


@pytest.mark.parametrize(
    "text", ["", "C", "32K", "32CF", "nan", "inf", "1e3", "32,5", "3 2", "--5", "٣٢"]
)
def test_what_is_no_temperature_is_refused_in_a_sentence(text: str) -> None:
    with pytest.raises(ValueError, match="is not a temperature; write it like 32, 32C or 90F"):
        written_degrees(text)
