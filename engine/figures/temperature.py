"""A temperature from text, in Celsius or Fahrenheit as its last letter says, and in either unit."""

from __future__ import annotations

import re
from typing import Literal

from cartclock.engine.figures.air import celsius, fahrenheit

TemperatureUnit = Literal["C", "F"]

_TEMPERATURE = re.compile(r"([+-]?[0-9]{1,4}(?:\.[0-9]{1,6})?)\s*(?:°\s*)?([CcFf])?")


def temperature_c(text: str) -> float:
    """Degrees C from text: "32", "32C", "32 °C" and "90F"; a number alone is Celsius.

    Raises ValueError with a sentence for what is no temperature. The range is checked by the
    figure that takes it.

    Source: the two scales are exact by definition.
    """
    found = _TEMPERATURE.fullmatch(text.strip())
    if found is None:
        raise ValueError(f"{text!r} is not a temperature; write it like 32, 32C or 90F")
    value = float(found[1])
    return celsius(value) if found[2] in ("F", "f") else value


def in_unit(value_c: float, unit: TemperatureUnit) -> float:
    """A temperature in C as it is in a unit. Source: the two scales are exact by definition."""
    return fahrenheit(value_c) if unit == "F" else value_c


def apart_in_unit(apart_c: float, unit: TemperatureUnit) -> float:
    """How far two temperatures in C are apart in a unit. Source: exact by definition."""
    return in_unit(apart_c, unit) - in_unit(0.0, unit)
