"""The heat of a shift over the clock, to be drawn: what was read, and the limit it stood against.

A picture shows what the log says and no more: where no reading was in force there is nothing
to draw. What is judged here is a screening estimate, NIOSH 2016-106.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise

from msgspec import Struct

from cartclock.engine.body.acclimatization import held
from cartclock.engine.body.exposure import Load, climates, limit_of, loads
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_force import STALE_US
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.shift import Shift
from cartclock.engine.times import Instant

# How finely the limit is followed; our own judgement, a good deal finer than a picture shows.
LIMIT_STEP_US = 5 * MINUTE_US


class Hold(Struct, frozen=True):
    """A value read at `from_us` and in force until `to_us`; both are equal for a mere point."""

    from_us: Instant
    to_us: Instant
    value: float


class Limit(Struct, frozen=True):
    """The limit of WBGT in C at an instant, by the mean effort of the hour before it."""

    at_us: Instant
    limit_c: float


class Course(Struct, frozen=True):
    """The heat of a shift over the clock.

    Fields:
        shift: its UUID.
        on_us, end_us: from clocking on to clocking off, or to when it was asked for.
        air_c, panel_c, wbgt_c: what was read, each until the next of its kind or for an hour.
            The WBGT is that of the place of work.
        acclimatized: True for the exposure limit (REL), False for the alert limit (RAL).
        limits: runs of the limit, only while a WBGT is in force; in the first hour by the
            mean effort since clocking on.
    """

    shift: str
    on_us: Instant
    end_us: Instant
    air_c: tuple[Hold, ...]
    panel_c: tuple[Hold, ...]
    wbgt_c: tuple[Hold, ...]
    acclimatized: bool
    limits: tuple[tuple[Limit, ...], ...]


def course(
    shift: Shift,
    jobs: Mapping[str, Job],
    now_us: Instant,
    rest_place: ev.ReadingTaken | None = None,
) -> Course:
    """The course of a shift, up to `now_us` if it goes on.

    jobs: at least those of the shift. rest_place: climate where breaks are taken; None: where
    the work is.
    """
    on_us = shift.on_us
    end_us = max(now_us, shift.since_us) if shift.off_us is None else shift.off_us
    taken = [
        (row.at_us, row.event) for row in shift.facts if isinstance(row.event, ev.ReadingTaken)
    ]
    wbgt_c = _holds(((one.at_us, one.wbgt_c) for one in climates(shift)), on_us, end_us)
    acclimatized = held(shift).acclimatized
    account = loads(shift, jobs, end_us, rest_place) if wbgt_c else []
    return Course(
        shift=shift.id,
        on_us=on_us,
        end_us=end_us,
        air_c=_holds(((at, r.air_c) for at, r in taken if r.air_c is not None), on_us, end_us),
        panel_c=_holds(
            ((at, r.panel_c) for at, r in taken if r.panel_c is not None), on_us, end_us
        ),
        wbgt_c=wbgt_c,
        acclimatized=acclimatized,
        limits=_limits(wbgt_c, account, acclimatized),
    )


def _holds(read: Iterable[tuple[int, float | None]], on_us: int, end_us: int) -> tuple[Hold, ...]:
    """Each value until the next one; None ends the one before and is not drawn itself.

    Of what was read before the shift began, that which still held then is drawn from there.
    """
    taken = sorted(read, key=lambda one: one[0])
    nexts = [*(at_us for at_us, _value in taken[1:]), end_us][: len(taken)]
    holds = [
        (max(at_us, on_us), max(at_us, min(next_us, at_us + STALE_US, end_us)), value)
        for (at_us, value), next_us in zip(taken, nexts, strict=True)
        if value is not None
    ]
    return tuple(
        Hold(Instant(from_us), Instant(to_us), value)
        for from_us, to_us, value in holds
        if from_us <= to_us
    )


def _limits(
    holds: Sequence[Hold], account: Sequence[Load], acclimatized: bool
) -> tuple[tuple[Limit, ...], ...]:
    if not account:
        return ()
    watts = _Effort(account)
    limit_c = limit_of(acclimatized)
    runs: list[list[int]] = []
    for hold in holds:
        if hold.from_us == hold.to_us:
            continue
        inner = range(hold.from_us, hold.to_us, LIMIT_STEP_US)
        if runs and runs[-1][-1] == hold.from_us:
            runs[-1].pop()
        else:
            runs.append([])
        runs[-1] += [*inner, hold.to_us]
    return tuple(
        tuple(Limit(Instant(at_us), limit_c(watts.mean(Instant(at_us)))) for at_us in run)
        for run in runs
    )


class _Effort:
    """The running sum of effort, so that any hour's mean is two look-ups."""

    def __init__(self, account: Sequence[Load]) -> None:
        self._at = [account[0].start_us, *(load.end_us for load in account)]
        self._watts = [load.watts for load in account]
        self._sums = [0.0]
        for (a_us, b_us), watts in zip(pairwise(self._at), self._watts, strict=True):
            self._sums.append(self._sums[-1] + watts * (b_us - a_us))

    def _to(self, at_us: Instant) -> float:
        index = min(max(bisect_right(self._at, at_us) - 1, 0), len(self._watts) - 1)
        return self._sums[index] + self._watts[index] * (at_us - self._at[index])

    def mean(self, at_us: Instant) -> float:
        """Watts of the hour before, or since the beginning; at the beginning itself, then."""
        from_us = max(self._at[0], at_us - HOUR_US)
        if at_us <= from_us:
            return self._watts[0]
        return (self._to(at_us) - self._to(Instant(from_us))) / (at_us - from_us)
