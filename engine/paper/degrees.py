"""Temperatures on paper, in the unit that the settings ask for. Everything is kept in C."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

from cartclock.engine.figures.air import (
    DEW_MARGIN_K,
    TemperatureUnit,
    apart_in_unit,
    bare_degrees,
    full_degrees,
    in_unit,
)
from cartclock.engine.hours.account import TakenReading

# Degrees in a sentence that was said in C: "30 C", "8 to 17 C".
_SAID = re.compile(r"(-?\d+(?:\.\d+)?)(?: to (-?\d+(?:\.\d+)?))? C\b")
# What is said of how far two temperatures are apart, behind the figure and before it.
_APART = re.compile(r" (over|under) the dew point| of caution| added | above the same ")
_WITHIN = "within "
_ASKED = re.compile(rf"(the dew point \+ )({DEW_MARGIN_K:g})\b")


def in_both(said: str, unit: TemperatureUnit) -> str:
    """A sentence of the program that was said in C, with the same figures in `unit` beside them.

    "expected today: 8 to 17 C (46.4 to 62.6 F)". How far two are apart is told from what stands
    beside it, and cut so that what is short never reads as enough. In C it stays as it is.
    """
    if unit == "C":
        return said
    asked = rf"\1\2 C ({degrees_apart(DEW_MARGIN_K, unit)})"
    return _ASKED.sub(asked, _SAID.sub(_beside(unit), said))


def _beside(unit: TemperatureUnit) -> Callable[[re.Match[str]], str]:
    def both(found: re.Match[str]) -> str:
        apart = _APART.match(found.string, found.end())
        if apart is None and not found.string.endswith(_WITHIN, 0, found.start()):
            ends = [bare_degrees(float(one), unit) for one in found.groups() if one is not None]
            return f"{found[0]} ({' to '.join(ends)} {unit})"
        wide = apart_in_unit(float(found[1]), unit)
        cut = math.ceil if apart is not None and apart[1] == "under" else math.floor
        return f"{found[0]} ({cut(round(wide * 10.0, 6)) / 10.0:g} {unit})"

    return both


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
