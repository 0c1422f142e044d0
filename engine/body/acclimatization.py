"""Whether a worker is used to the heat, from the log's own hot days or the worker's answer.

Who is not known to be used to it is judged as not. Screening estimate: illness, drugs, age
and a bad night change it, and no log knows of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from typing import Literal

from msgspec import Struct

from cartclock.engine.body.exposure import loads
from cartclock.engine.dates import local
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.shift import Shift
from cartclock.engine.figures import heat
from cartclock.engine.figures.body import hot_time_percent
from cartclock.engine.times import Instant

HOT_DAY_MINUTES = 120.0
"""Work in heat that makes a day a hot one.

Source: NIOSH 2016-106 speaks of at least two hours a day; from memory. That the minutes may
be scattered over the day is our own judgement."""

LOOK_BACK_DAYS = 14
HOT_DAYS_WANTED = 7
"""So many hot days in so many days make a worker used to the heat.

Source: NIOSH acclimatization schedule, 7 to 14 days to full, read in the issuing body's text;
the lower end of it is our own judgement."""

AWAY_DAYS = 7
"""Days without heat that lose it: "about a week". Source: as for `HOT_DAYS_WANTED`."""

BACK_WITHIN_DAYS = 28
"""So long after it was lost a worker comes back to the heat, and is not new to it.

Source: our own judgement."""


class Answered(Struct, frozen=True):
    """A worker's answer on how many of the 14 days before `on` the work was hot."""

    said: ev.HotDaysSaid
    on: date


class Acclimatization(Struct, frozen=True):
    """Whether a worker is used to the heat, and why.

    Fields:
        acclimatized: True judges by the REL, False by the RAL.
        because: the reason, a sentence.
        day: which day of the build-up in the heat today is, from 1.
        percent: share of a usual day's hot time for that day; 100 if acclimatized.
        source: what told it; "" if nothing did and the question is to be asked.
    """

    acclimatized: bool
    because: str
    day: int
    percent: int
    source: Literal["log", "answer", ""]

    @property
    def word(self) -> str:
        """As it stands in an event; "" if nothing told it."""
        if not self.source:
            return ""
        return "acclimatized" if self.acclimatized else "not acclimatized"

    @property
    def sentence(self) -> str:
        """The reason, and for whoever is not used to the heat the share of the hot time."""
        if self.acclimatized:
            return self.because
        return (
            f"{self.because} Day {self.day} in the heat: about {self.percent} % of a usual day's "
            "hot time."
        )


def hot_minutes(shift: Shift, jobs: Mapping[str, Job], now_us: Instant) -> float:
    """Minutes of work in heat, >= 0.

    In heat is where the WBGT is over the alert limit of moderate work; breaks do not count,
    nor does what no reading in force covers: what nobody measured makes nobody used to it.

    Source: that limit as the threshold is our own judgement; the milder heat index of 80 F
    would make a worker used to the heat on paper only.
    """
    limit_c = heat.ral_c(heat.class_watts("moderate"))
    hot_us = sum(
        load.end_us - load.start_us
        for load in loads(shift, jobs, now_us)
        if not load.resting and load.wbgt_c is not None and load.wbgt_c > limit_c
    )
    return hot_us / MINUTE_US


def hot_days(shifts: Iterable[Shift], jobs: Mapping[str, Job], now_us: Instant) -> tuple[date, ...]:
    """The days with at least `HOT_DAY_MINUTES` of work in heat, in order.

    A shift belongs to the day on which it began, on the clock of its own zone.
    """
    minutes: dict[date, float] = {}
    for shift in shifts:
        day = began(shift)
        if day is not None:
            minutes[day] = minutes.get(day, 0.0) + hot_minutes(shift, jobs, now_us)
    return tuple(sorted(day for day, hot in minutes.items() if hot >= HOT_DAY_MINUTES))


class Held(Struct, frozen=True):
    """What a shift is judged by: as told at clocking on, or by an answer given since.

    Fields:
        acclimatization: "acclimatized", "not acclimatized", or "" if nobody answered.
        because: the reason; "" if none was told.
    """

    acclimatization: str
    because: str

    @property
    def acclimatized(self) -> bool:
        """True judges by the REL; whoever did not answer is judged by the RAL."""
        return self.acclimatization == "acclimatized"


def held(shift: Shift) -> Held:
    """What holds for the whole shift: an answer given late in the day tells of all of it."""
    told = Held(shift.on.acclimatization, shift.on.because)
    for row in sorted(shift.facts, key=lambda row: row.happened):
        if isinstance(row.event, ev.HotDaysSaid) and row.event.acclimatization:
            told = Held(row.event.acclimatization, row.event.because)
    return told


def began(shift: Shift) -> date:
    """The day on which a shift began, on the clock of its zone."""
    return _day(shift.on_us, shift.on.zone)


def answered(shifts: Iterable[Shift]) -> Answered | None:
    """The newest answer in these shifts with its day; None if nobody answered."""
    found = [
        (row.at_us, row.event, shift.on.zone)
        for shift in shifts
        for row in shift.facts
        if isinstance(row.event, ev.HotDaysSaid)
    ]
    if not found:
        return None
    at_us, said, zone = max(found, key=lambda one: one[0])
    return Answered(said, _day(at_us, zone))


def _day(at_us: Instant, zone: str) -> date:
    here = local(at_us, zone)
    return date(here.year, here.month, here.day)


def acclimatization(
    hot: Sequence[date], today: date, answer: Answered | None, log_from: date | None
) -> Acclimatization:
    """Whether a worker is used to the heat today, before today's work.

    hot: days of work in heat by the log; today and later days do not count yet.
    answer: the worker's newest answer; None if there is none.
    log_from: the first day the log knows of; None for an empty one.

    The log decides if it goes back 14 days or holds 7 hot days of them. Otherwise the answer
    does: it is taken to mean the days just before it was given, so it grows old as those days
    do, and hot days of the log are added. At least 7 hot days in the last 14, the last one
    less than 7 days ago, are acclimatized.

    Source: see the constants; what an answer means is our own judgement.
    """
    logged = {day for day in hot if day < today}
    back = today - timedelta(days=LOOK_BACK_DAYS)
    from_log = (log_from is not None and log_from <= back) or (
        len([day for day in logged if day >= back]) >= HOT_DAYS_WANTED
    )
    days = logged
    source: Literal["log", "answer", ""] = "log"
    by = "by the log"
    if not from_log:
        named = _named(answer, today)
        if named is None or answer is None:
            return Acclimatization(
                False,
                "Not acclimatized: nobody said on how many of the last 14 days the work was hot.",
                *_build_up(logged, today),
                "",
            )
        source, by = "answer", f"by your answer of {answer.on.isoformat()}"
        days = logged | named
    window = sorted(day for day in days if day >= back)
    count = len(window)
    counted = f"{count} hot {'day' if count == 1 else 'days'} in the last {LOOK_BACK_DAYS} {by}"
    away = (today - window[-1]).days if window else 0
    day, percent = _build_up(days, today)
    if day > HOT_DAYS_WANTED:
        ago = "yesterday" if away == 1 else f"{away} days ago"
        because = f"Acclimatized: {counted}, the last one {ago}."
        return Acclimatization(True, because, day, 100, source)
    lost = ""
    if away >= AWAY_DAYS:
        lost = f", but the last one was {away} days ago"
    elif count >= HOT_DAYS_WANTED:
        lost = ", but about a week away lies between them"
    return Acclimatization(False, f"Not acclimatized: {counted}{lost}.", day, percent, source)


def _named(answer: Answered | None, today: date) -> set[date] | None:
    """The days an answer speaks of; None without one, or if all it spoke of is long over."""
    if answer is None or not 0 <= answer.said.days <= LOOK_BACK_DAYS:
        return None
    if not 0 <= (today - answer.on).days <= LOOK_BACK_DAYS:
        return None
    return {answer.on - timedelta(days=ago) for ago in range(1, answer.said.days + 1)}


def _build_up(days: set[date], today: date) -> tuple[int, int]:
    """Which day of the build-up today is, and the share of the hot time for it.

    The build-up reaches back to the last week away, at most over `LOOK_BACK_DAYS`.
    """
    back = today - timedelta(days=LOOK_BACK_DAYS)
    count, later = 0, today
    for day in sorted((day for day in days if back <= day < today), reverse=True):
        if (later - day).days >= AWAY_DAYS:
            break
        count, later = count + 1, day
    return count + 1, hot_time_percent(count + 1, new=not _was_used(days, later))


def _was_used(days: set[date], before: date) -> bool:
    """Whether hot days enough lie shortly before the present build-up."""
    for last in days:
        if last < before and (before - last).days <= BACK_WITHIN_DAYS:
            first = last - timedelta(days=LOOK_BACK_DAYS - 1)
            if sum(first <= day <= last for day in days) >= HOT_DAYS_WANTED:
                return True
    return False
