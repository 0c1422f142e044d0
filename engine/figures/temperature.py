"""A temperature from text, in Celsius or Fahrenheit as its last letter says."""

from __future__ import annotations

import re

from cartclock.engine.figures.air import celsius

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
