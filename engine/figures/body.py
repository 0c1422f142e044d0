"""What a polisher day does to hands and ears: vibration, noise, and what heat asks of the body.

A level comes from the tool's manual or from a meter, never from a guess. Trigger time is the
time the tool runs in the hands, which is less than the time the stage lasts.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from cartclock.engine.figures.bounds import ACCELERATION, NOISE_DBA, check, check_day

DAY_HOURS = 8.0

VIBRATION_ACTION_MS2 = 2.5
VIBRATION_LIMIT_MS2 = 5.0
"""Daily exposure action and limit value, A(8).

Source: Directive 2002/44/EC; read in the issuing body's text."""

VIBRATION_ACTION_POINTS = 100.0
VIBRATION_LIMIT_POINTS = 400.0
"""The same two values in points. Source: HSE ready-reckoner; read in the issuing body's text."""

NOISE_CRITERION_DBA = 85.0
NOISE_EXCHANGE_DB = 3.0
"""Level that fills the day in eight hours, and what halves the time.

Source: NIOSH recommended exposure limit for noise; read in the issuing body's text."""

NOISE_LOWER_ACTION_DBA = 80.0
NOISE_UPPER_ACTION_DBA = 85.0
NOISE_LIMIT_DBA = 87.0
"""Daily noise exposure values, LEX,8h.

Source: the European noise directive, 80, 85 and 87 dBA read in the issuing body's text."""

DRINK_ML = 240.0
DRINK_EVERY_MINUTES = (15.0, 20.0)
MOST_DRINK_ML_PER_HOUR = 1400.0
"""A cup in heat, how often, and what never to exceed in an hour.

Source: NIOSH 2017-126; read in the issuing body's text."""

DRINK_FROM_F = 80.0
"""The heat index from which water is offered; a reference trigger only.

Source: 89 FR 70698, which was a proposal when last seen; read second-hand."""

NEW_TO_HEAT_PERCENT = (20, 40, 60, 80, 100)
BACK_IN_HEAT_PERCENT = (50, 60, 80, 100)
"""Share of a usual day's hot time, by day in the heat: new to it, and back after a week away.

Source: NIOSH acclimatization schedule; read in the issuing body's text."""


def vibration_a8(items: Iterable[tuple[float, float]]) -> float:
    """Daily vibration exposure A(8) in m/s2; 0.0 for no tool.

    items: (a_ms2, hours) of every tool: total vibration value 0 to 100 m/s2, declared value
    plus its uncertainty; trigger time, together at most 24 h.

    Raises ValueError naming `a_ms2` or `hours` not a number or out of range.

    Source: Directive 2002/44/EC; read in the issuing body's text.
    """
    spells = tuple(items)
    check_day(spells, ACCELERATION)
    return math.sqrt(sum(a_ms2**2 * hours for a_ms2, hours in spells) / DAY_HOURS)


def vibration_points(items: Iterable[tuple[float, float]]) -> float:
    """Vibration exposure in points, which add up over tools; 100 is the action value.

    Arguments and errors as for `vibration_a8`.

    Source: HSE ready-reckoner for hand-arm vibration; read in the issuing body's text.
    """
    a8 = vibration_a8(items)
    return VIBRATION_ACTION_POINTS * (a8 / VIBRATION_ACTION_MS2) ** 2


def vibration_hours(a_ms2: float, target_ms2: float) -> float:
    """Hours of trigger time with one tool until A(8) reaches a value; infinite for no vibration.

    a_ms2: 0 to 100 m/s2. target_ms2: 0 to 100 m/s2, usually one of the two daily values. The
    answer may be longer than a day.

    Raises ValueError naming the argument that is not a number or out of range.

    Source: Directive 2002/44/EC, its A(8) solved for the time; read in the issuing body's text.
    """
    check(a_ms2, ACCELERATION)
    check(target_ms2, ACCELERATION.named("target_ms2"))
    return math.inf if a_ms2 == 0.0 else DAY_HOURS * (target_ms2 / a_ms2) ** 2


def noise_hours(dba: float) -> float:
    """Hours at a level that fill the day's dose: 8 h at 85 dBA, half of it every 3 dB.

    dba: 0 to 140 dBA. The answer may be longer than a day.

    Raises ValueError naming `dba` not a number or out of range.

    Source: NIOSH criteria for noise exposure; read in the issuing body's text.
    """
    check(dba, NOISE_DBA)
    return float(DAY_HOURS / 2.0 ** ((dba - NOISE_CRITERION_DBA) / NOISE_EXCHANGE_DB))


def noise_dose(items: Iterable[tuple[float, float]]) -> float:
    """Daily noise dose in percent; 100 is a full day, 0.0 for no noise.

    items: (dba, hours) of every spell: level 0 to 140 dBA, together at most 24 h. No level is
    too low to count.

    Raises ValueError naming `dba` or `hours` not a number or out of range.

    Source: NIOSH criteria for noise exposure, 85 dBA and 3 dB exchange; read in the issuing
    body's text.
    """
    spells = tuple(items)
    check_day(spells, NOISE_DBA)
    return 100.0 * sum(hours / noise_hours(dba) for dba, hours in spells)


def noise_lex_8h(items: Iterable[tuple[float, float]]) -> float | None:
    """Daily noise exposure level LEX,8h in dBA; None where there was no noise to average.

    Arguments and errors as for `noise_dose`.

    Source: energy average over eight hours; from memory, and checked against SCENIHR
    table 3.
    """
    spells = tuple(items)
    check_day(spells, NOISE_DBA)
    energy = sum(hours * 10.0 ** (dba / 10.0) for dba, hours in spells) / DAY_HOURS
    return 10.0 * math.log10(energy) if energy > 0.0 else None


def hot_time_percent(day: int, new: bool) -> int:
    """Share of a usual day's hot time, in percent, on the day-th day in the heat.

    day: from 1; days past the schedule's end are 100. new: True for who is new to the heat,
    False for who comes back to it.

    Raises ValueError naming `day` below 1.

    Source: NIOSH acclimatization schedule; read in the issuing body's text. Full
    acclimatization takes 7 to 14 days, so 100 % here does not make anybody acclimatized.
    """
    if day < 1:
        raise ValueError(f"day: {day!r} is not a day from 1 on")
    shares = NEW_TO_HEAT_PERCENT if new else BACK_IN_HEAT_PERCENT
    return shares[min(day, len(shares)) - 1]
