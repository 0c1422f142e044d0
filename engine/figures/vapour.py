"""Alcohol in the air: what a panel wipe leaves in a closed garage.

The sum takes the worst mixing that is still simple: all of the alcohol evaporates, nothing is
carried out, and it spreads evenly. It does not: the vapour is heavier than air and is thickest
at the floor and over the panel in hand, where the worker breathes. A screening estimate, good
enough to say when to open the door.
"""

from __future__ import annotations

from typing import Literal

from cartclock.engine.figures.bounds import Bound, check

Level = Literal["under the limits", "over the average", "over the short term", "dangerous"]

ISOPROPYL_G_PER_ML = 0.785
"""Density of isopropyl alcohol near 20 C. Source: from memory; NIOSH prints 0.79."""

MG_M3_PER_PPM = 2.46
"""Source: NIOSH Pocket Guide, isopropyl alcohol; read in the issuing body's text."""

AVERAGE_LIMIT_PPM = 400.0
"""Recommended limit for the average of the working day.

Source: NIOSH Pocket Guide, isopropyl alcohol; read in the issuing body's text."""

SHORT_TERM_LIMIT_PPM = 500.0
"""Recommended short-term limit, taken over a quarter of an hour.

Source: NIOSH Pocket Guide, isopropyl alcohol; read in the issuing body's text. The quarter of
an hour is from memory."""

DANGER_PPM = 2000.0
"""Immediately dangerous to life or health: a tenth of what burns when a spark is near.

Source: NIOSH, Immediately Dangerous to Life or Health Concentrations, isopropyl alcohol, May
1994; read second-hand."""

_WIPE_ML = Bound("wipe_ml", 0.0, 10_000.0, "ml")
_ALCOHOL_SHARE = Bound("alcohol_share", 0.0, 1.0, "")
_GARAGE_M3 = Bound("garage_m3", 5.0, 100_000.0, "m3")
_PPM = Bound("ppm", 0.0, 1_000_000.0, "ppm")
# Small enough for a kitchen, large enough for a hall.
_SIDE_M = Bound("side_m", 1.0, 200.0, "m")

_SAYS: dict[Level, str] = {
    "under the limits": "under both limits if it spreads evenly; open the door all the same",
    "over the average": (
        f"over the {AVERAGE_LIMIT_PPM:g} ppm limit for the average of the day: open the door"
    ),
    "over the short term": (
        f"over the {SHORT_TERM_LIMIT_PPM:g} ppm short-term limit: open the door before wiping"
    ),
    "dangerous": (
        f"over {DANGER_PPM:g} ppm, immediately dangerous to life or health: not in a closed "
        "room, and nothing that sparks"
    ),
}


def garage_m3(length_m: float, width_m: float, height_m: float) -> float:
    """Volume of a room with straight walls, in m3, 5 to 100000; the vehicle is not taken off.

    length_m, width_m, height_m: 1 to 200 m. A vehicle and shelves leave less air than this,
    so the vapour is somewhat thicker than reckoned from it.

    Raises ValueError naming the argument that is not a number or out of range, or
    `garage_m3` for a room too small or too large.

    Source: by definition.
    """
    for name, side_m in (("length_m", length_m), ("width_m", width_m), ("height_m", height_m)):
        check(side_m, _SIDE_M.named(name))
    volume_m3 = length_m * width_m * height_m
    check(volume_m3, _GARAGE_M3)
    return volume_m3


def isopropyl_mg_m3(wipe_ml: float, alcohol_share: float, garage_m3: float) -> float:
    """Isopropyl alcohol in the air of a closed room, in mg/m3, once all of it evaporated.

    wipe_ml: of the wipe as used, 0 to 10000 ml. alcohol_share: of its volume, 0 to 1 (a 70 %
    wipe: 0.7). garage_m3: 5 to 100000 m3.

    Raises ValueError naming the argument that is not a number or out of range.

    Source: conservation of mass, by definition; density from memory.
    """
    check(wipe_ml, _WIPE_ML)
    check(alcohol_share, _ALCOHOL_SHARE)
    check(garage_m3, _GARAGE_M3)
    return wipe_ml * alcohol_share * ISOPROPYL_G_PER_ML * 1000.0 / garage_m3


def isopropyl_ppm(wipe_ml: float, alcohol_share: float, garage_m3: float) -> float:
    """The same in parts per million of the air's volume, near 25 C.

    Arguments and errors as for `isopropyl_mg_m3`.

    Source: NIOSH Pocket Guide, isopropyl alcohol, conversion; read in the issuing body's
    text.
    """
    return isopropyl_mg_m3(wipe_ml, alcohol_share, garage_m3) / MG_M3_PER_PPM


def wipe_ml_to(limit_ppm: float, alcohol_share: float, garage_m3: float) -> float:
    """How much of a wipe brings a closed room to a limit, in ml.

    limit_ppm: over 0 to 1000000. alcohol_share: over 0 to 1. garage_m3: 5 to 100000 m3. The
    answer is not bounded by what a person could use in a day.

    Raises ValueError naming the argument that is not a number, out of range or nothing.

    Source: NIOSH Pocket Guide, isopropyl alcohol, conversion, read in the issuing body's
    text; density from memory.
    """
    check(limit_ppm, _PPM.named("limit_ppm"))
    check(alcohol_share, _ALCOHOL_SHARE)
    check(garage_m3, _GARAGE_M3)
    for name, value in (("limit_ppm", limit_ppm), ("alcohol_share", alcohol_share)):
        if value == 0.0:
            raise ValueError(f"{name}: nothing of it is there, so no amount reaches a limit")
    grams = limit_ppm * MG_M3_PER_PPM * garage_m3 / 1000.0
    return grams / ISOPROPYL_G_PER_ML / alcohol_share


def level(ppm: float) -> Level:
    """Which published limit a concentration passes; on a limit it is not yet over it.

    ppm: 0 to 1000000. The limit of the day's average is compared with one filling of the
    room, which stays as long as the door does; that is our own judgement.

    Raises ValueError naming `ppm` out of range or not a number.

    Source: NIOSH Pocket Guide, isopropyl alcohol, read in the issuing body's text; over
    `DANGER_PPM` read second-hand.
    """
    check(ppm, _PPM)
    if ppm > DANGER_PPM:
        return "dangerous"
    if ppm > SHORT_TERM_LIMIT_PPM:
        return "over the short term"
    return "over the average" if ppm > AVERAGE_LIMIT_PPM else "under the limits"


def vapour_text(ppm: float) -> str:
    """The sentence for a concentration, with its number: a screening estimate.

    ppm: 0 to 1000000.

    Raises ValueError naming `ppm` out of range or not a number.

    Source: as for `level`, read in the issuing body's text; the wording is our own judgement.
    """
    return f"about {ppm:.0f} ppm, {_SAYS[level(ppm)]} (screening estimate)"
