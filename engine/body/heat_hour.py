"""One climate and one effort: what the hour allows, by the limit and by the printed table.

The answer to a question asked away from any shift: what was worked before is not in it, and
neither is the heat that a body carries over from the morning. A screening estimate.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from cartclock.engine.body.climate import Climate, climate
from cartclock.engine.body.pace import COOL_AIR_C, COOL_RH
from cartclock.engine.facts.events import ReadingTaken
from cartclock.engine.facts.words import said_in
from cartclock.engine.figures import heat
from cartclock.engine.figures.air import TemperatureUnit, celsius
from cartclock.engine.figures.limits import HOUR_MINUTES, LimitVerdict
from cartclock.engine.plan.plan import Effort
from cartclock.engine.times import Instant

HEAT_CAUTION = (
    "Screening estimate, not medical advice: symptoms override every number; local rules and a "
    "WBGT meter come first."
)


class HeatHour(Struct, frozen=True):
    """What an hour in a climate allows.

    Fields:
        climate: the reading with its figures.
        effort: class of the work; watts: its metabolic rate.
        acclimatized: True judges by the exposure limit (REL), False by the alert limit (RAL).
        rest_wbgt_c: where rests are taken; None without a WBGT, like the five that follow.
        ral_c, rel_c: both limits at this effort.
        band: clear, caution or over, by the limit in use.
        limit_minutes: work in the hour by that limit, resting where rests are taken.
        cool_minutes: the same resting in a cooler place.
        table_minutes: by the printed table; None if it gives no work time or was not asked.
        table_asked: True if air and humidity were there to read the table with.
    """

    climate: Climate
    effort: Effort
    watts: float
    acclimatized: bool
    rest_wbgt_c: float | None
    ral_c: float
    rel_c: float
    band: LimitVerdict | Literal[""]
    limit_minutes: float | None
    cool_minutes: float | None
    table_minutes: int | None
    table_asked: bool

    @property
    def limit_c(self) -> float:
        """The limit in use."""
        return self.rel_c if self.acclimatized else self.ral_c

    @property
    def minutes(self) -> float | None:
        """The smaller of the two answers; None without any."""
        answers: list[float] = [] if self.limit_minutes is None else [self.limit_minutes]
        if self.table_asked:
            answers.append(float(self.table_minutes or 0))
        return min(answers, default=None)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What makes the figures less than they look, in whole sentences."""
        one, said = self.climate, []
        if one.off_table:
            said.append("The heat index is off its table: extreme danger, whatever the rest says.")
        elif one.at_least:
            said.append("The heat index reads low in air this humid: the WBGT decides.")
        if one.outside_table:
            said.append(
                "The work table ends at 60 % humidity and was read there: its minutes are too many."
            )
        if one.wbgt_from == "estimate":
            said.append(
                "The WBGT is estimated without a globe: a hot roof or door is not in it; a globe "
                "reading is better."
            )
        if self.rest_wbgt_c is not None and one.wbgt_c is not None:
            if self.rest_wbgt_c > one.wbgt_c:
                said.append(
                    "The place to rest is hotter than the work: resting there is no relief."
                )
            if self.limit_minutes == 0.0:
                said.append("Over the resting limit: no work time here, rest somewhere cooler.")
        return tuple(said)


def heat_hour(
    found: Climate, effort: Effort, acclimatized: bool, rest: ReadingTaken | None = None
) -> HeatHour:
    """What an hour of work of this effort allows in a climate.

    rest: climate where rests are taken; None: where the work is.
    """
    watts, resting = heat.class_watts(effort), heat.class_watts("rest")
    ral, rel = heat.ral_c(watts), heat.rel_c(watts)
    limit = rel if acclimatized else ral
    wbgt = found.wbgt_c
    band: LimitVerdict | Literal[""] = ""
    rest_c = limit_minutes = cool_minutes = None
    if wbgt is not None:
        rest_c = wbgt if rest is None else climate(Instant(0), rest).wbgt_c
        band = heat.limit_verdict(limit - wbgt, acclimatized)
        cool = climate(Instant(0), ReadingTaken(air_c=COOL_AIR_C, rh=COOL_RH)).wbgt_c
        if rest_c is not None:
            limit_minutes = heat.work_minutes_per_hour(wbgt, rest_c, watts, resting, acclimatized)
        if rest_c is not None and cool is not None:
            cool_minutes = heat.work_minutes_per_hour(
                wbgt, min(cool, rest_c), watts, resting, acclimatized
            )
    table = None
    if found.adjusted_f is not None:
        table = heat.niosh_table_minutes(found.adjusted_f, effort)
    return HeatHour(
        found,
        effort,
        watts,
        acclimatized,
        rest_c,
        ral,
        rel,
        band,
        limit_minutes,
        cool_minutes,
        table,
        found.adjusted_f is not None,
    )


def heat_lines(hour: HeatHour, unit: TemperatureUnit = "C") -> tuple[str, ...]:
    """The answer in lines, the figures above and what they are worth below, in a unit."""
    one = hour.climate
    lines = []
    if one.off_table:
        lines.append("heat index   off the table, extreme danger")
    elif one.index_f is not None:
        least = "at least " if one.at_least else ""
        name = "" if one.index_bin == "none" else f", {one.index_bin}"
        # The scale of it is in F everywhere.
        in_c = f" ({celsius(one.index_f):.0f} C)" if unit == "C" else ""
        lines.append(f"heat index   {least}{one.index_f:.0f} F{in_c}{name}")
    used = "REL, acclimatized" if hour.acclimatized else "RAL, not acclimatized"
    if one.wbgt_c is not None:
        lines.append(f"WBGT         {one.wbgt_c:.1f} C by {one.wbgt_from}")
    lines.append(
        f"limits       RAL {hour.ral_c:.1f} C, REL {hour.rel_c:.1f} C at {hour.effort} work, "
        f"{hour.watts:.0f} W; judged by the {used}"
    )
    if one.wbgt_c is not None and hour.band:
        margin = hour.limit_c - one.wbgt_c
        side = "under" if margin >= 0 else "over"
        lines.append(f"band         {hour.band}: {abs(margin):.1f} C {side} the limit")
    else:
        lines.append("band         no WBGT, no verdict")
    if hour.limit_minutes is not None:
        lines.append(f"by limit     {hour.limit_minutes:.0f} min of work an hour, {_rest(hour)}")
    if hour.table_asked:
        minutes = hour.table_minutes
        by_table = "no work time" if minutes is None else f"{minutes} min of work an hour"
        lines.append(f"by table     {by_table}, NIOSH 2016-106")
    if hour.minutes is not None:
        lines.append(f"the smaller  {hour.minutes:.0f} min of {HOUR_MINUTES:.0f}")
    cool, here = hour.cool_minutes, hour.limit_minutes
    if cool is not None and here is not None and round(cool) > round(here):
        lines.append(
            f"in the cool  {cool:.0f} min by limit, resting at {COOL_AIR_C:g} C, {COOL_RH:g} % RH"
        )
    return tuple(said_in(line, unit) for line in (*lines, *hour.cautions, HEAT_CAUTION))


def _rest(hour: HeatHour) -> str:
    if hour.rest_wbgt_c is None or hour.rest_wbgt_c == hour.climate.wbgt_c:
        return "resting in place"
    return f"resting at WBGT {hour.rest_wbgt_c:.1f} C"
