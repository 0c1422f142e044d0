"""What a log folds to if rows are added, struck or moved: the one law for corrections.

A correction or a late entry stands exactly if the shifts and jobs it touches, folded anew,
have nothing odd, and no worker is in two shifts at once. What stands in its way is found by
folding on without the press of each odd row.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from itertools import groupby, pairwise
from typing import TypeVar

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts import job as jobs_
from cartclock.engine.facts import shift as shifts_
from cartclock.engine.facts.job import Holding, Job
from cartclock.engine.facts.rows import Fold, Odd, Row, believed_rows
from cartclock.engine.facts.shift import Shift
from cartclock.engine.press import Press
from cartclock.engine.times import Instant

F = TypeVar("F", bound=Fold)


class Folded(Struct, frozen=True):
    """Jobs and shifts as some rows tell them.

    Fields:
        jobs, shifts: by id; only what has begun.
        no_jobs, no_shifts: ids of those asked for that by these rows have not.
        odd: the rows of all of them that are set aside.
    """

    jobs: dict[str, Job] = {}
    shifts: dict[str, Shift] = {}
    no_jobs: set[str] = set()
    no_shifts: set[str] = set()
    odd: list[Odd] = []


class Stay(Struct, frozen=True):
    """When a worker was on the clock; `off_us` None: still is."""

    shift: str
    worker: str
    on_us: Instant
    off_us: Instant | None


# The shifts of a worker that share an instant with a time (to None: up to the end), without
# those of the ids named.
Stays = Callable[[str, int, int | None, Collection[str]], Iterable[Stay]]


def folded(rows: Sequence[Row], job_ids: Iterable[str], shift_ids: Iterable[str]) -> Folded:
    """These jobs and shifts by believed rows (`engine.facts.rows.believed_rows`), in one pass."""
    of_job: dict[str, list[Row]] = {job_id: [] for job_id in sorted(job_ids)}
    of_shift: dict[str, list[Row]] = {shift_id: [] for shift_id in sorted(shift_ids)}
    # Jobs some of whose rows count for the job or for a shift alone, because it went from cart to
    # cart; with those that count for none of its holdings.
    aside: dict[str, list[Row]] = {}
    handed = set()
    for row in rows:
        if row.job in of_job:
            if row.tenure:
                of_job[row.job].append(row)
            else:
                aside.setdefault(row.job, []).append(row)
            if not row.for_shift:
                aside.setdefault(row.job, [])
            if row.tenure > 1:
                handed.add(row.job)
        if row.shift in of_shift and row.for_shift:
            of_shift[row.shift].append(row)
    for job in handed:
        of_job[job].sort(key=lambda row: row.tenure)
    jobs, no_jobs, of_jobs = _each(of_job, jobs_.fold_job)
    for job, late in aside.items():
        if job in jobs:
            jobs[job].before = [
                _as_it_had_it(one, number, of_job[job], late)
                for number, one in enumerate(jobs[job].before, start=1)
            ]
            counted = {row.identity for row in of_job[job]}
            jobs[job].late = [row for row in late if row.identity not in counted]
    shifts, no_shifts, of_shifts = _each(of_shift, shifts_.fold_shift)
    return Folded(jobs, shifts, no_jobs, no_shifts, of_jobs + of_shifts)


def _as_it_had_it(one: Holding, number: int, rows: Sequence[Row], late: Sequence[Row]) -> Holding:
    """An earlier holding as the cart that had it knew it: with what it wrote later than the next
    one knew, and without what it had struck by then.

    rows: those that count for the job, by holdings. late: those that count for none.
    """
    counted = [row for row in rows if row.tenure == number]
    own = [row for row in counted if row.for_shift]
    more = [
        row
        for row in late
        if row.origin == one.origin
        and row.seq > one.first
        and (one.behind is None or row.seq < one.behind)
    ]
    if not more and own == counted:
        return one
    own = sorted(
        (*own, *more), key=lambda row: (not isinstance(row.event, ev.JobOpened), row.happened)
    )
    job, _odd = jobs_.fold_job([*(row for row in rows if row.tenure < number), *own])
    if job is None:
        return one
    to_us = one.to_us if job.given_us is None else job.given_us
    return replace(one, to_us=to_us, windows=tuple(job.every_window))


def _each(
    of: Mapping[str, Sequence[Row]], fold: Callable[[Iterable[Row]], tuple[F | None, list[Odd]]]
) -> tuple[dict[str, F], set[str], list[Odd]]:
    """What has begun by these rows, by id; the ids of what has not; and the rows set aside."""
    found: dict[str, F] = {}
    none: set[str] = set()
    aside: list[Odd] = []
    for id_, own in of.items():
        one, odd = fold(own)
        aside += odd
        if one is None:
            none.add(id_)
        else:
            found[id_] = one
    return found, none, aside


def consequence(
    rows: Sequence[Row], presses: Collection[Press], stays: Stays
) -> tuple[Folded, Odd | None]:
    """What these presses concern, folded anew, and the first odd row of it; None if none is.

    Args:
        rows: every row of the jobs and shifts concerned, in the order written.
        presses: presses added, struck, restored or moved.
        stays: the shifts of the log, also those not among the rows.
    """
    believed = believed_rows(rows)
    found = folded(believed, *_concerned(rows, presses))
    odd = [*found.odd, *_overlapping(found, believed, stays)]
    return found, min(odd, key=_happened, default=None)


def _concerned(rows: Iterable[Row], presses: Collection[Press]) -> tuple[set[str], set[str]]:
    """Ids of the jobs and shifts of these presses."""
    own = [row for row in rows if row.press in presses]
    return {row.job for row in own} - {""}, {row.shift for row in own} - {""}


def _overlapping(found: Folded, believed: Sequence[Row], stays: Stays) -> list[Odd]:
    on: dict[str, Stay] = {}
    folded_ids = found.shifts.keys() | found.no_shifts
    for shift in found.shifts.values():
        on[shift.id] = Stay(shift.id, shift.worker, shift.on_us, shift.off_us)
        others = stays(shift.worker, shift.on_us, shift.off_us, folded_ids)
        on.update((stay.shift, stay) for stay in others)
    return overlaps(on.values(), believed)


def _happened(odd: Odd) -> tuple[int, str, int]:
    return odd.row.happened


def in_the_way(
    rows: Sequence[Row], presses: Collection[Press], stays: Stays, keep: Collection[Press]
) -> tuple[Press, ...]:
    """The presses that must be struck as well for a correction to stand, in order.

    `rows` ends with the correction's own. Empty if what is to stand (`keep`) is itself what
    cannot be: striking it would be no correction. It always ends, because every round strikes
    a press that stood before.
    """
    also: set[Press] = set()
    last = rows[-1]
    while True:
        strikes = [
            replace(last, seq=last.seq + index, event=ev.PressStruck(press.seq, "", press.origin))
            for index, press in enumerate(sorted(also), start=1)
        ]
        believed = believed_rows([*rows, *strikes])
        jobs, shifts = _concerned(rows, {*presses, *also})
        found = folded(believed, jobs, shifts)
        overlap = min(_overlapping(found, believed, stays), key=_happened, default=None)
        before = [row for row in believed if overlap is None or _comes_before(row, overlap)]
        more = _falling(before, jobs, shifts)
        if overlap is not None and not more:
            more = {overlap.row.press}
        if not more:
            return tuple(sorted(also))
        if not more.isdisjoint({*also, *keep}):
            return ()
        also |= more


def _comes_before(row: Row, odd: Odd) -> bool:
    return isinstance(row.event, ev.JobOpened) or row.happened < odd.row.happened


def _falling(
    believed: Iterable[Row], job_ids: Collection[str], shift_ids: Collection[str]
) -> set[Press]:
    """The presses that cannot stand where they are, each without those before it.

    Told up to the first that did something earlier or elsewhere: without that, what is behind
    may be otherwise.
    """
    jobs: dict[str, Job | None] = {}
    shifts: dict[str, Shift | None] = {}
    stood: set[Press] = set()
    fallen: set[Press] = set()
    for press, run in groupby(believed, key=lambda row: row.press):
        if press in fallen:
            continue
        own, after_jobs, after_shifts = list(run), jobs.copy(), shifts.copy()
        odd: list[Odd | None] = []
        for row in own:
            if row.job in job_ids and row.tenure:
                after_jobs[row.job], aside = jobs_.job_after(after_jobs.get(row.job), row)
                odd.append(aside)
            if row.shift in shift_ids and row.for_shift:
                shift, aside = shifts_.shift_after(after_shifts.get(row.shift), row)
                after_shifts[row.shift] = shift
                odd.append(aside)
        if not any(odd):
            jobs, shifts = after_jobs, after_shifts
            stood.add(press)
            continue
        fallen.add(press)
        reaches = any(
            (row.job and row.job not in job_ids) or (row.shift and row.shift not in shift_ids)
            for row in own
        )
        if press in stood or reaches:
            break
    return fallen


def overlaps(stays: Iterable[Stay], believed: Sequence[Row]) -> list[Odd]:
    """Clocking-on rows at which the same worker is in two shifts at once."""
    on = sorted(stays, key=lambda s: (s.worker, s.on_us, s.off_us is None, s.off_us or 0))
    began = {row.shift: row for row in believed if row.kind == "ClockedOn"}
    found = []
    for one, other in pairwise(on):
        if one.worker != other.worker:
            continue
        if one.off_us is None or one.off_us > other.on_us:
            row = began.get(other.shift) or began.get(one.shift)
            if row is not None:
                found.append(Odd(row, "the shift before is not over"))
    return found
