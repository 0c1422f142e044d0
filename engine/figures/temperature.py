"""A temperature from text, as it is written on a command line."""

from __future__ import annotations

import re

from cartclock.engine.figures.air import TemperatureUnit

_TEMPERATURE = re.compile(r"([+-]?[0-9]{1,4}(?:\.[0-9]{1,6})?)\s*(?:°\s*)?([CcFf])?")


def written_degrees(text: str) -> tuple[float, TemperatureUnit | None]:
    """The figure and its unit: "32C" and "32 °C", "90F"; of a figure alone, "32", no unit.

    Raises ValueError with a sentence for what is no temperature. The range is checked by who
    takes it.

    Source: how a unit is written behind a figure, common practice, no source.
    """
    found = _TEMPERATURE.fullmatch(text.strip())
    if found is None:
        raise ValueError(f"{text!r} is not a temperature; write it like 32, 32C or 90F")
    unit = (found[2] or "").upper()
    return float(found[1]), "C" if unit == "C" else "F" if unit == "F" else None
