"""What each hour of a day asks for: work by effort, and whether the air is right for a coat.

A panel's temperature is not foreseen: the gate is asked as if the panel had the air's, and a cold
panel is nearer the dew point. All of it is a screening estimate, no medical advice.
"""

from __future__ import annotations

import datetime

from msgspec import Struct

from cartclock.engine.ahead.heat import air_of, heat_of
from cartclock.engine.ahead.rolling_hour import HeatAhead
from cartclock.engine.body.budget import Ahead, PlannedWork, steady_minutes
from cartclock.engine.body.pace import NO_LENGTH
from cartclock.engine.body.stretch import TWO_HOURS_US
from cartclock.engine.body.surroundings import Surroundings
from cartclock.engine.dates import instant, local
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.shift_events import ReadingPlace
from cartclock.engine.figures import gate
from cartclock.engine.figures.air import DEW_MARGIN_K
from cartclock.engine.figures.daylight import cos_zenith
from cartclock.engine.figures.gate import USUAL_LOW_C, LabelLimits
from cartclock.engine.plan.plan import Effort
from cartclock.engine.planning.unbegun import shift_ahead
from cartclock.engine.planning.weather import HOURS_A_DAY, AirHour, Weather
from cartclock.engine.times import Instant

# How low the sun's middle stands when it rises and sets: 0.833 degrees under the horizon, by
# refraction and its own size (NOAA, General Solar Position Calculations; read second-hand).
_SUN_UP_COS = -0.01454
_SUN_STEP_US = 2 * MINUTE_US
CLASSES_OF_WORK: tuple[Effort, ...] = ("light", "moderate", "heavy")
"""Every effort that is no rest, the lightest first."""


class Where(Struct, frozen=True):
    """Where and how a day is worked.

    Fields:
        on: as somebody would clock on: zone, place on the earth, clothing.
        place: where readings would be taken.
        rest_place: climate where rests are taken; None: where the work is.
        acclimatized: True judges by the REL, False by the RAL.
    """

    on: ev.ClockedOn
    place: ReadingPlace = "indoors"
    rest_place: ev.ReadingTaken | None = None
    acclimatized: bool = False


class HourAhead(Struct, frozen=True):
    """One hour of a day.

    Fields:
        hour: 0 to 23, by the clock; from_us: when it begins.
        air_c, rh, dew_c: expected.
        wbgt_c: where the work is, with what is added for clothing; None without a figure.
        minutes: effort -> steady work in it, the smaller of limit and work/rest table; 0 to 60.
        coat: "" if the gate would neither ask nor warn with the panel as warm as the air, else
            what speaks against it: "damp", "dry", "hot" or "cold".
        near_dew: True if the air itself is nearer the dew point than the gate wants a panel.
    """

    hour: int
    from_us: Instant
    air_c: float
    rh: float
    dew_c: float
    wbgt_c: float | None
    minutes: dict[Effort, float]
    coat: str
    near_dew: bool


class DayHours:
    """The hours of one day; the days behind it are taken to be like it.

    Args:
        day: by the calendar of `where`.
        weather: its air.
        limits: what the labels of the coat's products allow.
    """

    def __init__(
        self,
        day: datetime.date,
        weather: Weather,
        where: Where,
        limits: LabelLimits = gate.NO_LIMITS,
    ) -> None:
        self.day, self.weather, self.where, self.limits = day, weather, where, limits
        self.zone = where.on.zone
        self._around = Surroundings(shift_ahead(where.on, self.at(12)))
        self.hours = tuple(self._hour(hour) for hour in range(HOURS_A_DAY))

    def at(self, hour: int) -> Instant:
        """When an hour of the day begins; one that the clocks jump over, as the one behind it."""
        return instant(f"{self.day} {hour:02}:00", self.zone)

    def of(self, at_us: Instant) -> HourAhead:
        """The hour in which an instant lies."""
        return self.hours[local(at_us, self.zone).hour]

    @property
    def heat(self) -> HeatAhead:
        """What the rests of these hours are reckoned from."""
        where = self.where
        return heat_of(self._read_at, self._around, where.rest_place, where.acclimatized)

    def sun(self) -> tuple[Instant, Instant] | None:
        """Sunrise and sunset of the day; None where the place is not settled, or there is none."""
        latitude, longitude = self.where.on.latitude, self.where.on.longitude
        if latitude is None or longitude is None:
            return None
        first_us = self.at(0)
        up = [
            at_us
            for at_us in range(first_us, first_us + HOURS_A_DAY * 60 * MINUTE_US, _SUN_STEP_US)
            if cos_zenith(Instant(at_us), latitude, longitude) > _SUN_UP_COS
        ]
        whole = HOURS_A_DAY * 60 * MINUTE_US // _SUN_STEP_US
        return None if len(up) in (0, whole) else (Instant(up[0]), Instant(up[-1]))

    def _read_at(self, at_us: Instant) -> ev.ReadingTaken:
        return self._reading(self.weather.hours[local(at_us, self.zone).hour])

    def _reading(self, air: AirHour) -> ev.ReadingTaken:
        return ev.ReadingTaken(air_c=air.air_c, rh=air.rh, place=self.where.place)

    def _hour(self, hour: int) -> HourAhead:
        air, at_us, where = self.weather.hours[hour], self.at(hour), self.where
        found = air_of(self._reading(air), self._around, at_us, where.rest_place)
        minutes: dict[Effort, float] = {}
        for effort in CLASSES_OF_WORK:
            plan = Ahead((PlannedWork(TWO_HOURS_US, effort),), NO_LENGTH, NO_LENGTH)
            if found is not None:
                minutes[effort] = steady_minutes(plan, found, where.acclimatized)
        answers = gate.findings(air.air_c, air.air_c, air.rh, self.limits)
        return HourAhead(
            hour=hour,
            from_us=at_us,
            air_c=air.air_c,
            rh=air.rh,
            dew_c=air.dew_c,
            wbgt_c=None if found is None else found.wbgt_c,
            minutes=minutes,
            coat=_against(answers, air, self.limits),
            near_dew=air.air_c - air.dew_c < DEW_MARGIN_K,
        )


def _against(answers: tuple[gate.Finding, ...], air: AirHour, limits: LabelLimits) -> str:
    """What speaks against a coat in one word: of what the gate asks about, else of what it warns
    of, that which is furthest off.
    """
    for weight in ("ask", "warn"):
        found = [one for one in answers if one.weight == weight]
        if found:
            worst = min(found, key=lambda one: one.margin or 0.0)
            if worst.rule in ("panel temperature", "air temperature"):
                low_c = limits.panel_low_c if worst.rule[0] == "p" else limits.air_low_c
                return "cold" if air.air_c < (USUAL_LOW_C if low_c is None else low_c) else "hot"
            dry = limits.rh_low is not None and air.rh < limits.rh_low
            return "dry" if worst.rule == "air humidity" and dry else "damp"
    return ""
