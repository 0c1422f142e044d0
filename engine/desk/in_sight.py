"""What of the log is in sight: open jobs and the shifts they are worked in, as rows and folds."""

from __future__ import annotations

from collections.abc import Collection

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.call_backs import CALLS, jobs_to_call
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.refold import Stay, folded
from cartclock.engine.facts.rows import (
    Row,
    believed_rows,
    unsure_after,
)
from cartclock.engine.facts.shift import Shift
from cartclock.engine.facts.words import row_text
from cartclock.engine.press import Press
from cartclock.engine.store.clock import Clock
from cartclock.engine.store.log import Log
from cartclock.engine.trouble import Refused

# How many rows are read at a time where only the end of the log matters.
CHUNK = 200
# Packs and weighings that are in sight beside the jobs and shifts, of each so many.
_NEWEST_PACKS = 50
# Calls back that are looked through for one that waits, of each kind of event so many.
_NEWEST_CALLS = 100


class InSight:
    """The rows of a log that are in sight, and what they fold to.

    Fields:
        rows: as written.
        jobs, shifts: their folds by id, as the newest row leaves them.
    """

    def __init__(self, log: Log, clock: Clock, worker: str) -> None:
        self.log = log
        self.clock = clock
        self.worker = worker
        self.rows: list[Row] = []
        self.jobs: dict[str, Job] = {}
        self.shifts: dict[str, Shift] = {}
        # Their rows are among `rows`, also of what by them has not begun.
        self._jobs_in_sight: set[str] = set()
        self._shifts_in_sight: set[str] = set()
        # Shifts that are in sight only because their readings hold for another one.
        self._beside: set[str] = set()
        # Of the shifts in sight the ones before, by id, for what was read in them.
        self._shifts_before: dict[str, Shift] = {}
        # How often the log was read into sight.
        self._times_read = 0
        # Of the newest rows of the log, in sight or not: the last, and whether the time is unknown.
        self._last: Row | None = None
        self._unsure = False
        self.load()

    def load(self, jobs: Collection[str] = (), shifts: Collection[str] = ()) -> None:
        """Folds the open jobs, those that somebody waits to be called back about, and the newest
        shifts anew, and the named ones with them.

        Every job touched in a loaded shift is loaded whole, because the hours of the shift
        need its windows. The shifts whose readings the newest ones go by are in sight without
        their jobs, and of the rows of the cart the newest are.
        """
        self._times_read += 1
        newest = self.log.newest_shifts()
        whole = {*newest, *(set(shifts) - self._beside)}
        self._beside = self.log.summaries.beside(newest) - whole
        shift_ids = whole | self._beside
        calls = self.log.rows_of_kinds(CALLS, _NEWEST_CALLS)
        job_ids = set(jobs) | self.log.open_jobs() | jobs_to_call(calls)
        for shift in whole:
            job_ids |= self.log.jobs_in(shift)
        rows = self.log.rows_of(job_ids, shift_ids)
        packs = self.log.cart_rows(_NEWEST_PACKS)
        own = self.log.origin
        in_sight = {row.seq: row for row in (*rows, *packs) if row.origin == own}
        before = [row for row in rows if row.origin != own]
        rows = self.rows = [*before, *(in_sight[seq] for seq in sorted(in_sight))]
        believed = believed_rows(rows)
        found = folded(believed, job_ids, shift_ids)
        self.jobs, self.shifts = found.jobs, found.shifts
        self._jobs_in_sight, self._shifts_in_sight = job_ids, shift_ids
        earlier = self.log.summaries.before(newest) - shift_ids
        then = believed_rows(self.log.rows_of(set(), earlier)) if earlier else ()
        self._shifts_before = folded(then, set(), earlier).shifts
        self._last = rows[-1] if rows else None
        end = self.log.rows_after(self.log.head.seq - CHUNK)
        if end:
            self._last = end[-1]
            self._unsure = unsure_after(end)

    def _in_sight(self, presses: Collection[Press]) -> None:
        """Loads every job and shift that these presses concern."""
        rows = [row for press in presses for row in self.log.press_rows(press)]
        meant = (row.corrects for row in rows if isinstance(row.event, ev.PressMoved))
        moved = {press for press in meant if press is not None}
        rows += [row for press in moved for row in self.log.press_rows(press)]
        jobs = {row.job for row in rows if row.job}
        shifts = {row.shift for row in rows if row.shift}
        if not (jobs <= self._jobs_in_sight and shifts <= self._shifts_in_sight):
            self.load(jobs | self._jobs_in_sight, shifts | self._shifts_in_sight)

    def _stays(
        self, worker: str, from_us: int, to_us: int | None, without: Collection[str]
    ) -> list[Stay]:
        """The worker's shifts around a time, also those out of sight."""
        found = self.log.summaries.shifts_within(from_us, to_us, worker, without)
        return [Stay(s.shift, s.worker, s.on_us, s.off_us) for s in found]

    def follow(self) -> list[Row]:
        """Takes in what another program wrote since; answers its rows. Raises StoreFault."""
        before = self.log.head
        if self.log.refresh() == before:
            return []
        self.load(self._jobs_in_sight, self._shifts_in_sight)
        return self.log.rows_after(before.seq)

    def _caught_up(self) -> Refused:
        """Another program wrote: folds that and says what it was."""
        # Whatever is known of the newest row already: what is folded may be older than that.
        before = self.log.head.seq
        self.log.refresh()
        self.load(self._jobs_in_sight, self._shifts_in_sight)
        news = self.log.rows_after(before)
        said = "; ".join(row_text(row, self.jobs) for row in news[:3])
        more = f"; and {len(news) - 3} more" if len(news) > 3 else ""
        # What to do comes first: what was written can be longer than there is room for.
        return Refused(
            "Nothing of yours was written; look, then press again. A command in a shell, or a "
            f"second cartclock, wrote meanwhile: {said}{more}."
        )
