"""What is asked of the lines of jobs and shifts, and what is answered."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from statistics import fmean, pstdev
from typing import Literal

from msgspec import Struct

from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.history.job_lines import JobLine, StageLine
from cartclock.engine.times import Instant, Length


class Sought(Struct, frozen=True):
    """Which jobs are wanted; "" and False leave a thing open.

    Fields:
        words: words or beginnings of words, all of which a job must have.
        plan, shape, state: exactly so, as in `JobLine`.
        worker: who had it in hand, capitals or not.
        from_day, to_day: opened on these days or between, ISO 8601 text.
        priced: True: only those with a price.
        own: True: only those of this log, none that was imported.
    """

    words: str = ""
    plan: str = ""
    shape: str = ""
    state: Literal["open", "closed", ""] = ""
    worker: str = ""
    from_day: str = ""
    to_day: str = ""
    priced: bool = False
    own: bool = False

    def fits(self, line: JobLine) -> bool:
        """True of a job that is wanted by its own line; words and worker are not in it."""
        return (
            self.plan in ("", line.plan)
            and self.shape in ("", line.shape)
            and self.state in ("", line.state)
            and self.from_day <= line.day
            and (not self.to_day or line.day <= self.to_day)
            and (not self.priced or line.price is not None)
            and not (self.own and line.origin)
        )


# So many signs of its id an imported job goes by where room is short; fewer find none.
_ID_SHOWN = 4


def job_handle(job: str, line: JobLine) -> str:
    """What a job goes by in a list: its number, or, because that is another cart's, the beginning
    of its id."""
    return job[:_ID_SHOWN] if line.origin else str(line.number)


class PastJob(Struct, frozen=True):
    """A job with what its shifts gave it.

    Fields:
        job: its id.
        line: what it came to.
        stood_us, other_us: stood by for its films; other work for it.
    """

    job: str
    line: JobLine
    stood_us: Length
    other_us: Length

    @property
    def own_us(self) -> Length:
        """All work on it: hands on, standing by and other work."""
        return Length(self.line.hands_us + self.stood_us + self.other_us)

    @property
    def money_an_hour(self) -> float | None:
        """Price and extras by the hour of work on it, whole money; None without price or work, and
        while the job is open: more work comes for the same price.
        """
        money = self.line.money
        if money is None or self.own_us <= 0 or self.line.state == "open":
            return None
        return money / 100 / (self.own_us / HOUR_US)


class PastStage(Struct, frozen=True):
    """A stage over several jobs of one plan; means of a job, microseconds.

    Fields:
        stage: its name.
        jobs: how many had it done, > 0.
        planned_us, hands_us, stood_us: as in `StageLine` and `PastJob`.
        spread_us: standard deviation of the hands; 0 of one job.
    """

    stage: str
    jobs: int
    planned_us: Length
    hands_us: Length
    stood_us: Length
    spread_us: Length

    @property
    def more_us(self) -> int:
        """How much longer than planned the hands took; negative: shorter."""
        return self.hands_us - self.planned_us


class HeatWeek(Struct, frozen=True):
    """The heat of one worker's week; screening estimates.

    Fields:
        week: ISO 8601 text ("2026-W30").
        shifts: how many.
        clock_us: time on the clock.
        caution_us, over_us, heat_rest_us, drinks_ml: as in `ShiftLine`, added up.
        peak_c: the highest of them; None if none is known.
    """

    week: str
    shifts: int
    clock_us: Length
    caution_us: Length
    over_us: Length
    heat_rest_us: Length
    drinks_ml: int
    peak_c: float | None


class ProductMonth(Struct, frozen=True):
    """What was used of a product in a month.

    Fields:
        month: "2026-07".
        product, name, unit, amount, applied_unit, applied: as in `UseLine`.
        jobs: that used it.
    """

    month: str
    product: str
    name: str
    unit: str
    amount: float
    applied_unit: str
    applied: float
    jobs: int


def past_stages(
    jobs: Mapping[str, Sequence[StageLine]], stood_us: Mapping[tuple[str, str], int]
) -> tuple[PastStage, ...]:
    """Each stage over the jobs in which something of it was done, by its place in the plan.

    jobs: by id. stood_us: (job, stage) -> stood by.
    """
    found: dict[str, list[tuple[StageLine, int]]] = {}
    for job, lines in jobs.items():
        for line in lines:
            if line.done and line.hands_us:
                stood = stood_us.get((job, line.stage), 0)
                found.setdefault(line.stage, []).append((line, stood))
    ranked = sorted(found, key=lambda name: (min(line.nth for line, _us in found[name]), name))
    return tuple(_past_stage(name, found[name]) for name in ranked)


def _past_stage(stage: str, told: list[tuple[StageLine, int]]) -> PastStage:
    hands = [line.hands_us for line, _stood in told]
    return PastStage(
        stage,
        len(told),
        _mean(line.planned_us for line, _stood in told),
        _mean(hands),
        _mean(stood for _line, stood in told),
        Length(round(pstdev(hands))),
    )


def _mean(lengths_us: Iterable[int]) -> Length:
    return Length(round(fmean(lengths_us)))


def newest_first(line: JobLine) -> tuple[Instant, int]:
    """The greater, the newer."""
    return line.opened_us, line.number
