"""A job as lines: itself, its stages, and what it used in each month.

Only what its own fold tells. How long it was stood by and what other work it took are told by the
shifts (`engine.history.shift_lines`), because another job's film may have been the one that was
waited for.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from msgspec import Struct

from cartclock.engine.dates import local
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job, JobState
from cartclock.engine.facts.shift import Shift
from cartclock.engine.films.fresh import film_stages, laid
from cartclock.engine.history.shift_lines import ServedLine
from cartclock.engine.hours.partition import Piece, partition, told_to_us
from cartclock.engine.hours.planned import planned_us
from cartclock.engine.products.booked import booked_by
from cartclock.engine.record.applied import asked
from cartclock.engine.times import Instant, Length
from cartclock.engine.vehicle.vehicle import price_of, vehicle_record


class JobLine(Struct, frozen=True):
    """A job in one line; lengths in microseconds, money in hundredths.

    Fields:
        number, vehicle, plan, zone: as said when it was opened; `plan` is its name.
        shape: the body (`engine.plan.shapes.SHAPES`); "" if the plan tells none.
        state: open or closed.
        day: on which it was opened where the customer lives, ISO 8601 text.
        opened_us, closed_us: job time; `closed_us` None while open.
        first_us, last_us: when hands were on it first and last; None if never.
        planned_us: what its plan gives the hands, without what is left out.
        hands_us: hands on it.
        sections: how many it has, split ones not counted.
        done, left_out: how many of them are.
        again: sections on which something was done again.
        late, early: windows that were taken up after their close, or before their opening.
        price: agreed for it; None if none was, or what was written is no number.
        extras: what was agreed on top.
        layers: the most layers of a stage on which something was laid that must stay; 0: none.
        high_spots: sections that had one, once for each look.
        origin: of the log that an imported job came from; "" of this log's own.
    """

    number: int
    vehicle: str
    plan: str
    shape: str
    zone: str
    state: JobState
    day: str
    opened_us: Instant
    closed_us: Instant | None
    first_us: Instant | None
    last_us: Instant | None
    planned_us: Length
    hands_us: Length
    sections: int
    done: int
    left_out: int
    again: int
    late: int
    early: int
    price: int | None
    extras: int
    layers: int
    high_spots: int
    origin: str = ""

    @property
    def money(self) -> int | None:
        """Price and extras together, in hundredths; None without a price."""
        return None if self.price is None else self.price + self.extras


class StageLine(Struct, frozen=True):
    """A stage of a job in one line; lengths in microseconds.

    Fields:
        nth: its place among the stages, from 0.
        stage: its name.
        planned_us, hands_us: as of a `JobLine`.
        sections, done: how many it has, split ones not counted; how many of them are done.
        done_us: last touch of the work finished last; None if none was.
    """

    nth: int
    stage: str
    planned_us: Length
    hands_us: Length
    sections: int
    done: int
    done_us: Instant | None


class UseLine(Struct, frozen=True):
    """What a job used of a product in one month.

    Fields:
        month: where the customer lives, "2026-07".
        product: its id, its name on the whole cart.
        name: what the plan calls it; the id if the plan lacks it.
        unit: what `amount` is counted in: ml, g or each; "" if concentrate cannot be reckoned.
        amount: concentrate; 0.0 if it cannot be reckoned.
        applied_unit, applied: the mix as applied, in the plan's unit, what was put right included.
    """

    month: str
    product: str
    name: str
    unit: str
    amount: float
    applied_unit: str
    applied: float


class JobLines(Struct, frozen=True):
    """A job with everything that is kept of it in lines.

    served: how its shifts served an imported job; of this log's own it is told by the shifts.
    """

    job: JobLine
    stages: tuple[StageLine, ...]
    uses: tuple[UseLine, ...]
    served: tuple[ServedLine, ...] = ()


def lines_of_job(job: Job, shifts: Iterable[Shift]) -> JobLines:
    """The lines of a job. shifts: those it was worked in, whole."""
    hands = _hands(job, shifts)
    stages = tuple(_stage_line(job, nth, hands) for nth in range(len(job.stages)))
    opened = job.opened
    states = [section.state for section in job.sections.values() if section.state != "cut in two"]
    # How a window ended is the same whenever it is asked.
    ended = [window.outcome for window in asked(job, (), job.opened_us)]
    price = price_of(opened.price)
    line = JobLine(
        number=opened.number,
        vehicle=opened.vehicle,
        plan=opened.plan.name,
        shape=opened.plan.shape,
        zone=opened.zone,
        state=job.state,
        day=local(job.opened_us, opened.zone).date().isoformat(),
        opened_us=job.opened_us,
        closed_us=job.closed_us,
        first_us=min((piece.start_us for piece in hands), default=None),
        last_us=max((piece.end_us for piece in hands), default=None),
        planned_us=Length(sum(one.planned_us for one in stages)),
        hands_us=Length(sum(piece.length_us for piece in hands)),
        sections=len(states),
        done=states.count("done"),
        left_out=states.count("left out"),
        again=len({(one.stage, one.section) for one in job.stints if one.turn.pass_ > 1}),
        late=ended.count("late"),
        early=ended.count("early"),
        price=None if price is None else round(price * 100),
        extras=round(vehicle_record(job).extras_total * 100),
        layers=max((one.layers for one in film_stages(job) if laid(job, one)), default=0),
        high_spots=sum(
            len(row.event.sections)
            for row in job.facts
            if isinstance(row.event, ev.SectionChecked) and row.event.found == "high spot"
        ),
    )
    return JobLines(line, stages, use_lines(job))


def _hands(job: Job, shifts: Iterable[Shift]) -> list[Piece]:
    # Without jobs nothing is stood by, and hands are what they are.
    return [
        piece
        for shift in shifts
        for piece in partition(shift, {}, told_to_us(shift))
        if piece.kind == "hands" and piece.job == job.id
    ]


def _stage_line(job: Job, nth: int, hands: Iterable[Piece]) -> StageLine:
    stage = job.stages[nth]
    there = job.of(stage.name)
    finished = [one.finished_us for one in there if one.finished_us is not None]
    return StageLine(
        nth=nth,
        stage=stage.name,
        planned_us=planned_us(job, stage),
        hands_us=Length(sum(piece.length_us for piece in hands if piece.stage == stage.name)),
        sections=len(there),
        done=sum(section.state == "done" for section in there),
        done_us=max(finished, default=None),
    )


def use_lines(job: Job) -> tuple[UseLine, ...]:
    """What a job used, by month and product."""
    sums: dict[tuple[str, str], tuple[Fraction, Fraction, bool]] = {}
    units: dict[str, str] = {}
    for use in booked_by(job):
        here = local(use.at_us, job.opened.zone)
        key = (f"{here.year:04}-{here.month:02}", use.product)
        amount, applied, known = sums.get(key, (Fraction(0), Fraction(0), True))
        units[use.product] = use.unit
        known = known and use.amount is not None
        sums[key] = (amount + (use.amount or 0), applied + use.applied, known)
    found = []
    for (month, product), (amount, applied, known) in sorted(sums.items()):
        planned = job.opened.plan.product(product)
        found.append(
            UseLine(
                month=month,
                product=product,
                name=product if planned is None else planned.name,
                unit=units[product] if known else "",
                amount=float(amount) if known else 0.0,
                applied_unit="" if planned is None else planned.unit,
                applied=float(applied),
            )
        )
    return tuple(found)
