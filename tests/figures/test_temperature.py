"""A temperature from text."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.figures.air import fahrenheit
from cartclock.engine.figures.temperature import temperature_c


@pytest.mark.parametrize(
    ("text", "celsius"),
    [
        ("32", 32.0),
        ("32C", 32.0),
        (" 32 °c ", 32.0),
        ("-5.5", -5.5),
        ("+7 C", 7.0),
        ("90F", 290.0 / 9.0),
        ("212 f", 100.0),
        ("-40F", -40.0),
    ],
    ids=lambda value: f"{value}, exact by definition",
)
def test_a_temperature_is_read(text: str, celsius: float) -> None:
    assert temperature_c(text) == pytest.approx(celsius, abs=1e-9)


@pytest.mark.parametrize(
    "text", ["", "C", "32K", "32CF", "nan", "inf", "1e3", "32,5", "3 2", "--5", "٣٢"]
)
def test_what_is_no_temperature_is_refused_in_a_sentence(text: str) -> None:
    with pytest.raises(ValueError, match="is not a temperature; write it like 32, 32C or 90F"):
        temperature_c(text)


@given(value=st.integers(-4000, 6000))
def test_both_scales_say_the_same(value: int) -> None:
    celsius = value / 100
    assert temperature_c(f"{fahrenheit(celsius):.6f}F") == pytest.approx(celsius, abs=1e-5)
