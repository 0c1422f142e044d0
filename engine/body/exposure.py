"""The heat account of a shift: how hard and how hot, minute by minute, over all jobs.

The account belongs to the worker's shift: a second vehicle does not start a fresh hour.
Effort is the stage's, by section; breaks count at rest, in the place where rests are taken.
Screening estimate, NIOSH 2016-106 (60-minute time-weighted averages).
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import pairwise

from msgspec import Struct

from cartclock.engine.body.climate import Around, Climate, climate, speaks_of_heat
from cartclock.engine.body.surroundings import Surroundings
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_force import STALE_US, is_in_force
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.facts.shift import Shift
from cartclock.engine.figures import heat
from cartclock.engine.figures.limits import RAL_PER_DECADE_C, REL_PER_DECADE_C
from cartclock.engine.hours.partition import Piece, partition
from cartclock.engine.plan.plan import Effort
from cartclock.engine.times import Instant

# What other work costs the body: our own judgement, tunable, +-30 %.
OTHER_EFFORT: dict[str, Effort] = {
    "customer": "light",
    "phone": "light",
    "water and mixing": "moderate",
    "moving the car": "light",
    "pads and towels": "light",
    "fetching": "moderate",
    "photos": "light",
    "driving": "light",
    "setting up": "moderate",
}
_RANK: dict[Effort, int] = {"rest": 0, "light": 1, "moderate": 2, "heavy": 3}


class Load(Struct, frozen=True):
    """A stretch with one effort and one climate.

    Fields:
        start_us, end_us: job time.
        effort: class of the work; "rest" in breaks.
        watts: total metabolic rate of that class.
        wbgt_c: where the worker was; None if no reading holds.
        climate: the reading in force; None if none holds.
        resting: True in breaks.
        idle: True while standing by or with nothing in hand.
    """

    start_us: Instant
    end_us: Instant
    effort: Effort
    watts: float
    wbgt_c: float | None
    climate: Climate | None
    resting: bool
    idle: bool = False


def climates(shift: Shift) -> list[Climate]:
    """The shift's readings that speak of heat with their figures, in order of time.

    The sun, the roof and the clothes are those of the reading's own time.
    """
    around = Surroundings(shift)
    return [
        climate(row.at_us, row.event, around.around(row.at_us, row.event))
        for row in shift.facts
        if isinstance(row.event, ev.ReadingTaken) and speaks_of_heat(row.event)
    ]


def in_force(found: Sequence[Climate], at_us: Instant) -> Climate | None:
    """The newest reading not later than `at_us` and not older than an hour; None if none is."""
    for one in reversed(found):
        if one.at_us <= at_us:
            return one if is_in_force(one.at_us, at_us) else None
    return None


def effort_of(piece: Piece, jobs: Mapping[str, Job]) -> Effort:
    """The hardest effort of what the piece was; moderate if its job does not know the work."""
    match piece.kind:
        case "hands":
            job = jobs.get(piece.job)
            return "moderate" if job is None else hardest_effort(job, piece.stage, piece.sections)
        case "other":
            return OTHER_EFFORT.get(piece.what, "light")
        case "break" | "off":
            return "rest"
        case "standing by" | "unassigned":
            return "light"
        case "not known":
            # Nobody knows; the day's usual effort stands in.
            return "moderate"


def hardest_effort(job: Job, stage_name: str, sections: Sequence[str]) -> Effort:
    """The hardest effort of these sections of a stage; moderate if the job does not know it."""
    stage = next((one for one in job.stages if one.name == stage_name), None)
    if stage is None:
        return "moderate"
    if not stage.effort_by:
        return stage.effort
    efforts = [stage.effort_of(name) for name in sections] or [stage.effort]
    return max(efforts, key=_RANK.__getitem__)


def is_harder(one: Effort, other: Effort) -> bool:
    """True if one class of work is harder than another."""
    return _RANK[one] > _RANK[other]


def loads(
    shift: Shift,
    jobs: Mapping[str, Job],
    now_us: Instant,
    rest_place: ev.ReadingTaken | None = None,
    since_us: int = 0,
    pieces: Iterable[Piece] | None = None,
) -> list[Load]:
    """The shift as loads, in order.

    Args:
        rest_place: climate where breaks are taken; None: where the work is.
        since_us: leaves out what ended before.
        pieces: its partition between the two, where it is at hand already.
    """
    found = climates(shift)
    around = Surroundings(shift)
    from_us = max(since_us, shift.on_us)
    cuts = sorted(
        {c.at_us for c in found}
        | {c.at_us + STALE_US for c in found}
        | set(around.changes([(c.at_us, c.reading) for c in found], from_us, now_us))
    )
    made: list[Load] = []
    pieces = partition(shift, jobs, now_us, since_us) if pieces is None else pieces
    for piece in pieces:
        effort = effort_of(piece, jobs)
        watts = heat.class_watts(effort)
        inner = cuts[bisect_right(cuts, piece.start_us) : bisect_left(cuts, piece.end_us)]
        for a_us, b_us in pairwise([piece.start_us, *inner, piece.end_us]):
            at_us = Instant(a_us)
            read = in_force(found, at_us)
            here = None if read is None else surrounded(read, around, at_us)
            resting = piece.kind in ("break", "off")
            wbgt_c = None if here is None else here.wbgt_c
            if resting:
                wbgt_c = resting_wbgt_c(here, around, at_us, rest_place)
            idle = piece.kind in ("standing by", "unassigned")
            made.append(Load(at_us, Instant(b_us), effort, watts, wbgt_c, here, resting, idle))
    return made


def surrounded(read: Climate, around: Surroundings, at_us: Instant) -> Climate:
    """A reading with the sun, the roof and the clothes of a later instant."""
    return climate(read.at_us, read.reading, around.around(at_us, read.reading))


def resting_wbgt_c(
    here: Climate | None,
    around: Surroundings,
    at_us: Instant,
    rest_place: ev.ReadingTaken | None,
) -> float | None:
    """WBGT where a rest is taken at an instant; None without a figure.

    Args:
        here: the reading in force with its surroundings; None if none is.
        rest_place: climate where rests are taken; None: in place, outdoors in the shade.
    """
    if rest_place is not None:
        worn = Around(clothing_c=around.around(at_us, rest_place).clothing_c)
        cool_c = climate(Instant(0), rest_place, worn).wbgt_c
        if cool_c is not None:
            return cool_c
    return None if here is None else here.rest_wbgt_c


class Peak(Struct, frozen=True):
    """The hour with the least margin.

    Fields:
        end_us: end of that hour.
        wbgt_c, watts: its time-weighted averages.
        limit_c: limit at that effort.
    """

    end_us: Instant
    wbgt_c: float
    watts: float
    limit_c: float

    @property
    def margin_c(self) -> float:
        """Limit minus WBGT; negative is over."""
        return self.limit_c - self.wbgt_c


class _Sums:
    """Running integrals of WBGT and effort, so that any hour's average is two look-ups."""

    def __init__(self, steps: Sequence[tuple[int, int, float, float]]) -> None:
        self.at = [steps[0][0], *(end for _start, end, _w, _m in steps)]
        self.wbgt, self.watts = [0.0], [0.0]
        for start, end, wbgt_c, watts in steps:
            self.wbgt.append(self.wbgt[-1] + wbgt_c * (end - start))
            self.watts.append(self.watts[-1] + watts * (end - start))

    def _to(self, at_us: float) -> tuple[float, float]:
        """Both integrals from the beginning to `at_us`."""
        high = min(max(bisect_right(self.at, at_us), 1), len(self.at) - 1)
        low = high - 1
        share = (at_us - self.at[low]) / (self.at[high] - self.at[low])
        return (
            self.wbgt[low] + share * (self.wbgt[high] - self.wbgt[low]),
            self.watts[low] + share * (self.watts[high] - self.watts[low]),
        )

    def average(self, end_us: float) -> tuple[float, float]:
        """(WBGT, watts) of the hour that ends there."""
        wbgt_to, watts_to = self._to(end_us)
        wbgt_from, watts_from = self._to(end_us - HOUR_US)
        return (wbgt_to - wbgt_from) / HOUR_US, (watts_to - watts_from) / HOUR_US

    def ends(self) -> list[int]:
        """Every end at which an edge of the hour meets an edge of a step, in order."""
        first, last = self.at[0] + HOUR_US, self.at[-1]
        edges = set(self.at) | {at + HOUR_US for at in self.at}
        return sorted(at for at in edges | {first, last} if first <= at <= last)


def limit_of(acclimatized: bool) -> Callable[[float], float]:
    """RAL, or REL for the acclimatized: NIOSH 2016-106."""
    return heat.rel_c if acclimatized else heat.ral_c


def _per_decade_c(acclimatized: bool) -> float:
    """By how much that limit falls while the effort grows tenfold."""
    return REL_PER_DECADE_C if acclimatized else RAL_PER_DECADE_C


Hour = tuple[float, float, float]
"""(end in microseconds, WBGT, watts): the averages of the hour that ends there."""


def _hour(sums: _Sums, end_us: float) -> Hour:
    return end_us, *sums.average(end_us)


def least_margin(first: Hour, last: Hour, acclimatized: bool) -> Hour:
    """The hour that ends between two neighbouring edges whose margin is least.

    Between edges both averages change steadily, and the margin is convex there: the least is
    at an edge or where its slope is zero.
    """
    (a_us, wbgt_a, watts_a), (b_us, wbgt_b, watts_b) = first, last
    rise_c, rise_w = wbgt_b - wbgt_a, watts_b - watts_a
    candidates = [first, last]
    if rise_c < 0 < rise_w or rise_w < 0 < rise_c:
        turning = -_per_decade_c(acclimatized) * rise_w / (math.log(10) * rise_c)
        share = (turning - watts_a) / rise_w
        if 0 < share < 1:
            candidates.append((a_us + share * (b_us - a_us), wbgt_a + share * rise_c, turning))
    limit = limit_of(acclimatized)
    return min(candidates, key=lambda hour: limit(hour[2]) - hour[1])


def _runs(
    found: Iterable[Load], before: tuple[float, float] | None
) -> list[list[tuple[int, int, float, float]]]:
    """Loads with a climate as unbroken runs; each may begin with an hour of `before`."""
    runs: list[list[tuple[int, int, float, float]]] = []
    run: list[tuple[int, int, float, float]] = []
    first = True
    for load in found:
        if load.wbgt_c is None:
            run = []
        else:
            if not run:
                run = []
                runs.append(run)
                if first and before is not None:
                    run.append((load.start_us - HOUR_US, load.start_us, *before))
            run.append((load.start_us, load.end_us, load.wbgt_c, load.watts))
        first = False
    return runs


def peak(
    found: Sequence[Load], acclimatized: bool, before: tuple[float, float] | None = None
) -> Peak | None:
    """The hour with the least margin by the limit in use; None if no whole hour has readings.

    Args:
        found: loads of a shift, in order.
        before: (WBGT, watts) of the hour before clocking on; None: only whole hours inside.
    """
    limit = limit_of(acclimatized)
    best: Peak | None = None
    for run in _runs(found, before):
        sums = _Sums(run)
        hours = [_hour(sums, end) for end in sums.ends()]
        for first, last in list(pairwise(hours)) or [(hour, hour) for hour in hours]:
            at_us, wbgt_c, watts = least_margin(first, last, acclimatized)
            one = Peak(Instant(round(at_us)), wbgt_c, watts, limit(watts))
            if best is None or one.margin_c < best.margin_c:
                best = one
    return best


Run = Sequence[tuple[int, int, float, float]]
"""(start, end, WBGT, watts) without holes, in order."""


# By less than this nothing is over: it is an error of the arithmetic.
OVER_C = 1e-9
_MILLISECOND_US = 1000


def _over(sums: _Sums, at_us: float, acclimatized: bool) -> bool:
    wbgt_c, watts = sums.average(at_us)
    return wbgt_c > limit_of(acclimatized)(watts) + OVER_C


def first_over(run: Run, from_us: int, acclimatized: bool) -> float | None:
    """First end of an hour, not before `from_us`, whose average is over the limit; None: never.

    `run` begins at least an hour before `from_us`. Right to a millisecond.
    """
    sums = _Sums(run)
    if _over(sums, from_us, acclimatized):
        return from_us
    if _hardens(run, from_us) and not _over(sums, run[-1][1], acclimatized):
        return None
    limit = limit_of(acclimatized)
    ends = [from_us, *(end for end in sums.ends() if end > from_us)]
    for a, b in pairwise(_hour(sums, end) for end in ends):
        # Both averages change steadily between: where the greater WBGT is within the limit of the
        # greater effort no hour is over, and its worst end need not be looked for.
        if max(a[1], b[1]) <= limit(max(a[2], b[2])):
            continue
        worst_us, wbgt_c, watts = least_margin(a, b, acclimatized)
        if wbgt_c > limit(watts) + OVER_C:
            return first_over_between(a, b, worst_us, acclimatized)
    return None


def is_ever_over(run: Run, from_us: int, acclimatized: bool) -> bool:
    """True if `first_over` finds any."""
    if _hardens(run, from_us):
        return _over(_Sums(run), run[-1][1], acclimatized)
    return first_over(run, from_us, acclimatized) is not None


def _hardens(run: Run, from_us: int) -> bool:
    """True if the hour gets no easier from an instant on: what comes into it is one stretch, and
    nothing that leaves it is warmer or harder. Then the last hour is the worst.
    """
    last_us, _end_us, last_c, last_watts = run[-1]
    return last_us <= from_us and all(
        wbgt_c <= last_c and watts <= last_watts
        for _start_us, end_us, wbgt_c, watts in run
        if end_us > from_us - HOUR_US
    )


def first_over_between(a: Hour, b: Hour, worst_us: float, acclimatized: bool) -> float:
    """Where hours begin to be over that end between two neighbouring edges; the first is not over,
    and one up to the second is. Right to a millisecond.

    worst_us: the end of one that is over.
    """
    limit, per_decade_c = limit_of(acclimatized), _per_decade_c(acclimatized)
    # Between edges both averages change steadily, and the limit falls with the logarithm of the
    # effort: how far an hour is over bends downwards, so a tangent from before the first one meets
    # zero before it, and each meets it nearer by far.
    (a_us, from_c, from_watts), (b_us, to_c, to_watts) = a, b
    rise_c, rise_w = (to_c - from_c) / (b_us - a_us), (to_watts - from_watts) / (b_us - a_us)
    at_us, step_us = float(a_us), math.inf
    while step_us > _MILLISECOND_US / 4:
        watts = from_watts + rise_w * (at_us - a_us)
        under_c = limit(watts) + OVER_C - from_c - rise_c * (at_us - a_us)
        if under_c <= 0:
            break
        slope = rise_c + per_decade_c / math.log(10) * rise_w / watts
        # All along the limit, where nothing but rounding tells over from not, a tangent meets zero
        # anywhere or nowhere.
        if under_c >= slope * (worst_us - at_us):
            return worst_us
        step_us = under_c / slope
        at_us += step_us
    return min(at_us + _MILLISECOND_US / 2, worst_us)


def first_within(run: Run, from_us: int, acclimatized: bool) -> float | None:
    """First end of an hour, not before `from_us`, not over the limit any more; None: never.

    `run` as for `first_over`.
    """
    sums = _Sums(run)
    if not _over(sums, from_us, acclimatized):
        return from_us
    ends = [from_us, *(end for end in sums.ends() if end > from_us)]
    for a_us, b_us in pairwise(ends):
        # Over at both ends is over between them, because the margin is convex there.
        if _over(sums, b_us, acclimatized):
            continue
        low, high = float(a_us), float(b_us)
        while high - low > 1000:
            middle = (low + high) / 2
            low, high = (middle, high) if _over(sums, middle, acclimatized) else (low, middle)
        return high
    return None
