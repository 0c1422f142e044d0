"""The measured work of a log, read when it is first asked for and kept until it may be another.

A worker's usual time comes from every job of the cart, also those closed long ago; the folds
in memory hold only what is open. Jobs are read once, and again only after work was finished
on them or something in them was corrected.
"""

from __future__ import annotations

from collections.abc import Iterable

from engine.job import events as ev
from engine.job.refold import folded
from engine.job.rows import Row, told
from engine.job.usual import Step, Timed, Usual, timed, usuals
from engine.store.log import Log

# Older jobs are not read for it. Our own judgement.
MOST_JOBS = 20


class TimedSteps:
    """What the workers of one log were measured to take.

    Args:
        log: read through, never written.
    """

    def __init__(self, log: Log) -> None:
        self._log = log
        self._jobs: dict[str, list[Timed]] = {}
        self._usuals: dict[str, dict[Step, Usual]] = {}
        self._seq = -1

    def usual(self, worker: str, step: Step) -> Usual | None:
        """What a step usually takes the worker; None if too little was measured.

        Raises StoreFault if the log cannot be read.
        """
        self._catch_up()
        known = self._usuals.get(worker)
        if known is None:
            mine = (one for job in self._jobs.values() for one in job if one.worker == worker)
            known = self._usuals[worker] = usuals(mine)
        return known.get(step)

    def _catch_up(self) -> None:
        last = self._log.head.seq
        if last == self._seq:
            return
        if self._seq < 0:
            stale = set(self._log.jobs_with(ev.StepFinished)[:MOST_JOBS])
        else:
            stale = self._touched(self._log.rows_after(self._seq))
        self._seq = last
        if stale:
            self._usuals.clear()
            self._read(stale)

    def _touched(self, rows: Iterable[Row]) -> set[str]:
        """The jobs in which these rows may have changed what was measured."""
        found: set[str] = set()
        shifts: set[str] = set()
        for row in rows:
            match row.event:
                case ev.StepFinished():
                    found.add(row.job)
                case ev.GapJudged():
                    shifts.add(row.shift)
            press = row.corrects
            if press is not None:
                meant = self._log.press_rows(press)
                found |= {one.job for one in meant}
                shifts |= {one.shift for one in meant}
            if row.at_us != row.entered_us:
                shifts.add(row.shift)
        if shifts - {""}:
            # What a break or a gap was says how long the hands were on the work around it.
            found |= {row.job for row in self._log.rows_of((), shifts - {""})}
        return found - {""}

    def _read(self, jobs: set[str]) -> None:
        own = self._log.rows_of(jobs, ())
        shift_ids = {row.shift for row in own if row.shift and row.job in jobs}
        found = folded(told(self._log.rows_of(jobs, shift_ids)), jobs, shift_ids)
        for job_id, job in found.jobs.items():
            self._jobs[job_id] = timed(job, found.shifts.values())
