"""Readings of the paint: film build by thickness gauge, gloss by glossmeter.

A gauge reads the total build, every layer from the metal to the surface; how much of it is
clear coat it cannot tell, so no sentence here speaks of a single layer.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

from cartclock.engine.facts import events as ev
from cartclock.engine.figures.measured import BUILD, GLOSS
from cartclock.engine.trouble import Refused

When = Literal["before", "after"]
Angle = Literal[60, 20]

# Micrometres of total build; common practice, no source.
FACTORY_UM = (100.0, 180.0)
THIN_UM = 80.0
RESPRAY_UM = 200.0
# SSPC-PA 2, read in the issuing body's text: a spot is the mean of three gauge readings
# within a circle of 4 cm.
SPOT_READINGS = 3
# ISO 2813, read in the issuing body's text: 60 degrees first, 20 degrees over 70 GU.
STEEP_OVER_GU = 70.0
# The scale's 100 is a polished black glass. From memory.
SCALE_GU = 100.0


def spot_um(readings: Sequence[float]) -> float:
    """A spot's total build: the mean of its three readings, in micrometres to one decimal.

    Raises Refused for other than three readings, or for one outside the range of a thickness.
    Source: SSPC-PA 2, read in the issuing body's text.
    """
    if len(readings) != SPOT_READINGS:
        raise Refused(f"A spot is the mean of {SPOT_READINGS} readings within 4 cm.")
    for reading in readings:
        _refuse_um(reading)
    return round(math.fsum(readings) / SPOT_READINGS, 1)


def _refuse_um(um: float) -> None:
    if not math.isfinite(um):
        raise Refused("A thickness is a number of micrometres.")
    if um < 0:
        raise Refused(f"A thickness of {um:g} µm cannot be: it is below zero.")
    if um > BUILD.high:
        raise Refused(f"{um:g} µm is too much for paint; {BUILD.high:g} µm is the most.")


def build_read(panel: str, when: When, low_um: float | None, high_um: float | None) -> ev.PaintRead:
    """A reading of one panel as it was typed: both ends, or one that stands for both."""
    ends = [um for um in (low_um, high_um) if um is not None]
    if not ends:
        raise Refused("Type the lowest and the highest; N if it is not measurable.")
    return ev.PaintRead(panel, when, ends[0], ends[-1])


def gloss_read(panel: str, when: When, gu: float | None, angle: Angle) -> ev.GlossRead:
    """A gloss of one panel as it was typed."""
    if gu is None:
        raise Refused("Type the gloss; N if it is not measurable.")
    return ev.GlossRead(panel, when, gu, angle)


def refuse_paint(event: ev.PaintRead) -> None:
    """Raises Refused, in a sentence, for a reading that cannot be."""
    known = [um for um in (event.low_um, event.high_um) if um is not None]
    for um in (*known, *event.spots):
        _refuse_um(um)
    if len(known) == 2 and known[0] > known[1]:
        raise Refused(f"The lowest reading, {known[0]:g} µm, is above the highest, {known[1]:g}.")


def refuse_gloss(event: ev.GlossRead) -> None:
    """Raises Refused, in a sentence, for a gloss that cannot be."""
    bound = GLOSS.get(event.angle)
    if bound is None:
        raise Refused("Gloss is read at 60 or at 20 degrees.")
    if event.gu is None:
        return
    if not math.isfinite(event.gu):
        raise Refused("Gloss is a number of gloss units.")
    if event.gu < 0:
        raise Refused(f"A gloss of {event.gu:g} GU cannot be: it is below zero.")
    if event.gu > bound.high:
        raise Refused(
            f"{event.gu:g} GU is too much: at {event.angle} degrees {bound.high:g} is the most."
        )


def build_text(low_um: float | None, high_um: float | None) -> str:
    """Lowest and highest in few words: "98 to 121 µm", "not measurable"."""
    ends = [f"{um:g}" for um in (low_um, high_um) if um is not None]
    return f"{' to '.join(dict.fromkeys(ends))} µm" if ends else "not measurable"


def build_words(low_um: float | None, high_um: float | None) -> str:
    """What a total build is like; "" if not measurable. Common practice, no source."""
    ends = [um for um in (low_um, high_um) if um is not None]
    if not ends:
        return ""
    said = []
    if min(ends) < THIN_UM:
        said.append(f"thin, under {THIN_UM:g}")
    elif min(ends) < FACTORY_UM[0]:
        said.append(f"on the thin side, under {FACTORY_UM[0]:g}")
    if max(ends) > RESPRAY_UM:
        said.append(f"over {RESPRAY_UM:g}, as after a respray")
    elif max(ends) > FACTORY_UM[1]:
        said.append(f"above a usual factory build, over {FACTORY_UM[1]:g}")
    return "; ".join(said) or f"like a factory build, about {FACTORY_UM[0]:g} to {FACTORY_UM[1]:g}"


def build_sentence(low_um: float | None, high_um: float | None) -> str:
    """A total build and what it is like, as a sentence. Common practice, no source."""
    words = build_words(low_um, high_um)
    if not words:
        return "Not measurable by gauge here."
    return f"{build_text(low_um, high_um)} total build: {words} (common practice, no source)."


def gloss_text(gu: float | None, angle: int) -> str:
    """A gloss in few words: "88 GU at 60", "not measurable"."""
    return "not measurable" if gu is None else f"{gu:g} GU at {angle}"


def gloss_hint(gu: float | None, angle: int) -> str:
    """What to do about a gloss reading, as a sentence; "" if nothing.

    Source: ISO 2813, read in the issuing body's text; the scale's 100 from memory.
    """
    if gu is None:
        return ""
    if gu > SCALE_GU:
        return f"{gu:g} GU is more than the black glass of the scale has: read it again."
    if angle == 60 and gu > STEEP_OVER_GU:
        return f"Over {STEEP_OVER_GU:g} GU: use 20 degrees (ISO 2813)."
    return ""
