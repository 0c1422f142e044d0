"""When to begin on a day, as it is told: each start, the coat apart from the rest, and the best."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from cartclock.engine.times import Instant, Length

Promise = Literal["", "kept", "expected", "late"]
"""How what is promised stands: nothing is, or all of it is kept four times in five, as expected
only, or not even so."""


class DayStretch(Struct, frozen=True):
    """A stretch of the day on one stage of one job.

    Fields:
        job, stage: what.
        from_us, to_us: when.
        film: True if a film is in play in it, which no break may cut.
    """

    job: str
    stage: str
    from_us: Instant
    to_us: Instant
    film: bool


class Start(Struct, frozen=True):
    """A start hour and what comes of it.

    Fields:
        start_us: when the work begins.
        done_us, by_us: when all of it is done, expected and four times in five.
        morning_us: when the worker's day begins behind the first night in it; None without one.
        rests_us: rests by the heat in it, expected.
        coat_us: when the first coat begins, expected; None without one.
        coated_us: when the last coat is on.
        coat_by_us: when the first coat begins four times in five.
        against: what speaks against the air while it goes on, each word once; () if nothing does.
    """

    start_us: Instant
    done_us: Instant
    by_us: Instant
    rests_us: Length
    coat_us: Instant | None = None
    coated_us: Instant | None = None
    coat_by_us: Instant | None = None
    against: tuple[str, ...] = ()
    morning_us: Instant | None = None

    @property
    def coat_right(self) -> bool:
        """True if there is no coat, or nothing speaks against its air."""
        return not self.against


class CoatLater(Struct, frozen=True):
    """The coat apart from the rest.

    Fields:
        from_us: when it begins, in the first hour from which on the air is right for all of it.
        away_us: how long nothing is done before.
        done_us, by_us: when everything is done then, expected and four times in five.
        next_day: True if a night lies before it.
    """

    from_us: Instant
    away_us: Length
    done_us: Instant
    by_us: Instant
    next_day: bool


class LayersApart(Struct, frozen=True):
    """A coat with a night between two of its layers.

    Fields:
        first_us: when the first layer begins; next_us: the first one behind the night.
        before: how many layers are on before it.
    """

    first_us: Instant
    next_us: Instant
    before: int


class DayPlan(Struct, frozen=True):
    """What to decide the evening before.

    Fields:
        starts: by hour; not empty.
        best: the one to take.
        runs: of the best start, in order, with the nights in it.
        meal_us: when the first meal behind that start is due; None: none that day.
        ends_us: when the worker's day is over.
        in_one_day: True if the best start is done by then four times in five.
        same_run: True if all of its coat goes on in right air, and before the night if it has none
            in it, which may be overrun by as much as a worker stays for; so it is without a coat.
        evening, morning: when else the coat could go on; None where it goes on in the same run or
            with a night between its layers, or where the air is not right then.
        overnight: of the best start; None where it is done in one day, or where its layers are not
            apart in right air.
        promise: of the best start, with the coat when it is told to go on; no start has a better
            one.
        latest_coat_us: when the coat has to begin for the promise, four times in five; None
            without a promise that waits for a coat, and with a night in it.
        latest_start_us: the same of the work, for any promise.
    """

    starts: tuple[Start, ...]
    best: Start
    runs: tuple[DayStretch, ...]
    meal_us: Instant | None
    ends_us: Instant
    in_one_day: bool
    same_run: bool
    evening: CoatLater | None = None
    morning: CoatLater | None = None
    overnight: LayersApart | None = None
    promise: Promise = ""
    latest_coat_us: Instant | None = None
    latest_start_us: Instant | None = None

    @property
    def later(self) -> CoatLater | None:
        """When the coat is told to go on that does not in the same run: as soon as it can; None if
        it does, or never can."""
        return self.evening or self.morning

    @property
    def coatless(self) -> bool:
        """True if the coat goes on neither in the same run nor at another time that is told."""
        return not self.same_run and self.later is None and self.overnight is None
