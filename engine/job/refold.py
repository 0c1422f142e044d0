"""What a log folds to if rows are added, struck or moved: the one law for corrections.

A correction or a late entry stands exactly if the shifts and jobs it touches, folded anew,
have nothing odd, and no worker is in two shifts at once. What stands in its way is found by
striking, again and again, the press of the first odd row.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from engine.job import events as ev
from engine.job import job as jobs_
from engine.job import shift as shifts_
from engine.job.job import Job
from engine.job.rows import Odd, Row, told
from engine.job.shift import Shift
from engine.press import Press


class Folded(Struct, frozen=True):
    """Jobs and shifts by id, as some rows tell them."""

    jobs: dict[str, Job]
    shifts: dict[str, Shift]


class Stay(Struct, frozen=True):
    """When a worker was on the clock; `off_us` None: still is."""

    shift: str
    worker: str
    on_us: int
    off_us: int | None


def folded(rows: Sequence[Row], job_ids: Iterable[str], shift_ids: Iterable[str]) -> Folded:
    """These jobs and shifts by believed rows (`engine.job.rows.told`), in one pass."""
    of_job: dict[str, list[Row]] = {job_id: [] for job_id in sorted(job_ids)}
    of_shift: dict[str, list[Row]] = {shift_id: [] for shift_id in sorted(shift_ids)}
    for row in rows:
        if row.job in of_job:
            of_job[row.job].append(row)
        if row.shift in of_shift:
            of_shift[row.shift].append(row)
    return Folded(
        {job_id: jobs_.fold(job_id, own) for job_id, own in of_job.items()},
        {shift_id: shifts_.fold(shift_id, own) for shift_id, own in of_shift.items()},
    )


def consequence(
    rows: Sequence[Row], presses: Collection[Press], stays: Mapping[str, Stay]
) -> tuple[Folded, Odd | None]:
    """What these presses concern, folded anew, and the first odd row of it; None if none is.

    Args:
        rows: every row of the jobs and shifts concerned, in the order written.
        presses: presses added, struck, restored or moved.
        stays: every shift of the log by id, also those not among the rows.
    """
    concerned = [row for row in rows if row.press in presses]
    believed = told(rows)
    found = folded(
        believed,
        {row.job for row in concerned if row.job},
        {row.shift for row in concerned if row.shift},
    )
    odd = [odd for job in found.jobs.values() for odd in job.odd]
    odd += [odd for shift in found.shifts.values() for odd in shift.odd]
    after = dict(stays)
    for shift in found.shifts.values():
        after.pop(shift.id, None)
        if shift.on_us is not None:
            after[shift.id] = Stay(shift.id, shift.worker, shift.on_us, shift.off_us)
    odd += overlaps(after.values(), believed)
    odd.sort(key=lambda o: o.row.happened)
    return found, odd[0] if odd else None


def in_the_way(
    rows: Sequence[Row],
    presses: Collection[Press],
    stays: Mapping[str, Stay],
    keep: Collection[Press],
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
        _found, odd = consequence([*rows, *strikes], {*presses, *also}, stays)
        if odd is None:
            return tuple(sorted(also))
        if odd.row.press in also or odd.row.press in keep:
            return ()
        also.add(odd.row.press)


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
