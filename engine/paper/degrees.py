"""Temperatures on paper, in the unit that the settings ask for. Everything is kept in C."""

from __future__ import annotations

import math

from cartclock.engine.figures.air import (
    DEW_MARGIN_K,
    TemperatureUnit,
    apart_in_unit,
    full_degrees,
    in_unit,
)
from cartclock.engine.hours.account import TakenReading


def reckoned_degrees(value_c: float, unit: TemperatureUnit) -> str:
    """A reckoned temperature, to a tenth and without its unit: "24.0"."""
    return f"{in_unit(value_c, unit):.1f}"


def reckoned_text(value_c: float, unit: TemperatureUnit) -> str:
    """The same with it: "24.0 C"."""
    return f"{reckoned_degrees(value_c, unit)} {unit}"


def degrees_apart(value_k: float, unit: TemperatureUnit) -> str:
    """A difference in K with its unit: "2.5 C", "4.5 F"."""
    apart = value_k if unit == "C" else round(apart_in_unit(value_k, unit), 1)
    return f"{apart:g} {unit}"


def reckoned_apart(value_k: float, unit: TemperatureUnit) -> str:
    """A reckoned difference in K, to a tenth, with its unit: "2.0 C", "3.6 F"."""
    return f"{apart_in_unit(value_k, unit):.1f} {unit}"


def signed_margin(margin_k: float, unit: TemperatureUnit = "C") -> str:
    """A margin in K with its sign, cut down like everywhere: what is short never reads as enough.

    Without its unit: "+5.6", in F "+10.0".
    """
    margin = apart_in_unit(margin_k, unit)
    return f"{math.floor(round(margin * 10.0, 6)) / 10.0:+.1f}"


def over_dew_point(margin_k: float, unit: TemperatureUnit) -> str:
    """By how much a panel was over what the gate asks for: "+5.6 C over dew point + 3 C"."""
    asked = degrees_apart(DEW_MARGIN_K, unit)
    return f"{signed_margin(margin_k, unit)} {unit} over dew point + {asked}"


def air_and_panel(one: TakenReading, unit: TemperatureUnit, below_c: float | None = None) -> str:
    """Air and panel of a reading in words; with `below_c` only what is under it."""
    named = (("air", one.reading.air_c), ("panel", one.reading.panel_c))
    return ", ".join(
        f"{name} {full_degrees(value_c, unit)}"
        for name, value_c in named
        if value_c is not None and (below_c is None or value_c < below_c)
    )
