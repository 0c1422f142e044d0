"""Everything known of a log as a whole: the only one that knows how that becomes stale.

Parts of jobs, shifts and products stand in `history.db` (`engine.store.history`) as they were at
one row of the log. What later rows touch is reckoned from the folds when it is asked for and goes
over what the file says; `settle` writes it down. So a press costs nothing here, a crash between
the row and the file loses nothing, and the file may be thrown away at any time: then every part
is still to be made, newest first, in slices.

How it is asked: `parts` are what goes over the file, by id; `rows` is the file, and a query
leaves out what is in the temporary table `left_out(of, id)`; `once` keeps an answer, `as_written`
one of the file alone.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Collection, Mapping, Sequence
from contextlib import suppress
from typing import Any, TypeVar

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_force import STALE_US, with_readings
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.put_right import reached
from cartclock.engine.facts.refold import Folded, folded
from cartclock.engine.facts.rows import Row, believed_rows
from cartclock.engine.facts.shift import Shift
from cartclock.engine.facts.view import Of, Subject, TableLine, View, goes_on, reaches_round
from cartclock.engine.press import Press
from cartclock.engine.store.history import NOT_CLEAN, History, HistoryKept, PartKey, Parts
from cartclock.engine.store.imported import fold_imported, imported, subject_of
from cartclock.engine.store.log import Log
from cartclock.engine.times import Instant
from cartclock.engine.trouble import StoreFault

T = TypeVar("T")
# The folds in memory as they are with the newest row: jobs and shifts by id.
FoldsInMemory = Callable[[], tuple[Mapping[str, Job], Mapping[str, Shift]]]

# So many folds are kept while parts of several views are made of them.
_KEPT = 8
# So many parts are written in one transaction at most.
_AT_ONCE = 50
# After these there is time to write down and to make a backup.
JOB_AND_SHIFT_ENDS = (ev.JobClosed, ev.ClockedOff)

# In a query, the lines of which the file says what holds: `Library.parts` has the others.
KNOWN_JOBS, KNOWN_SHIFTS, KNOWN_PRODUCTS = (
    f"id NOT IN (SELECT id FROM left_out WHERE of = '{of}')" for of in ("job", "shift", "product")
)


def nothing_held() -> tuple[Mapping[str, Job], Mapping[str, Shift]]:
    """No folds in memory: everything is read."""
    return {}, {}


class Library:
    """The views of one log.

    Args:
        log: read, never written.
        views: every view there is.
        held: the folds in memory.
        kept: where the parts stand, as for `History`.
    """

    def __init__(
        self,
        log: Log,
        views: Sequence[View[Any]],
        held: FoldsInMemory = nothing_held,
        kept: HistoryKept = "beside",
    ) -> None:
        self._log = log
        self._views = tuple(views)
        self._held = held
        self._file = History(log, views, kept)
        # id -> whether the file does not know how it is now.
        self._stale: dict[Of, dict[str, None]] = {"job": {}, "shift": {}, "product": {}}
        # (view, id) -> the part (None of what has not begun), and plain rows it does not hold yet.
        self._parts: dict[tuple[str, str], tuple[Any, list[Row]]] = {}
        # Job -> shifts it was worked in.
        self._worked: dict[str, set[str]] = {}
        # Counts up with every part of a view that may be another.
        self._stamps: dict[str, int] = dict.fromkeys((view.name for view in views), 0)
        # Counts up whenever the file may say something else.
        self._written = 0
        self._answers: dict[object, tuple[int, Any]] = {}
        self._subjects: dict[PartKey, Subject | None] = {}
        # What was folded last, and as of which row.
        self._last: tuple[int, Folded] | None = None
        # Of each job that was asked for: whether it was ever imported.
        self._elsewhere: dict[str, bool] = {}
        self._seen = self._file.reach
        self._due = False
        self._closed = False

    @property
    def history(self) -> History:
        """The file the parts stand in."""
        return self._file

    def close(self) -> None:
        """Writes down what is only in memory, and lets go of the file; twice does nothing."""
        if not self._closed:
            self._closed = True
            # A log that cannot be read any more loses nothing of what is kept here.
            with suppress(StoreFault):
                self.settle()
            self._file.close()

    # Becoming stale.

    def _look(self) -> None:
        """Takes notice of rows written since, and of what another program wrote down."""
        if self._file.moved():
            self._begin_again()
        head = self._log.head.seq
        if head == self._seen:
            return
        rows = [row for row in self._log.rows_after(self._seen) if row.seq <= head]
        self._seen = head
        self._subjects.clear()
        for row in rows:
            self._due = self._due or isinstance(row.event, JOB_AND_SHIFT_ENDS)
            # What another program wrote down may reach beyond what this one has looked at.
            if row.seq > self._file.reach:
                self._touch(row)

    def _begin_again(self) -> None:
        """The file speaks as of another row: everything behind that is stale, nothing else."""
        self._seen = self._file.reach
        self._written += 1
        self._file.leave_nothing_out()
        for stale in self._stale.values():
            stale.clear()
        self._parts.clear()
        self._subjects.clear()
        self._worked.clear()
        self._elsewhere.clear()
        for name in self._stamps:
            self._stamps[name] += 1

    def _touch(self, row: Row) -> None:
        plain = goes_on(row) and not isinstance(row.event, ev.JobImported | ev.JobTaken)
        if isinstance(row.event, ev.JobImported):
            self._elsewhere.pop(row.event.job, None)
        for of, ids in self.touched(row).items():
            for id_ in ids:
                self._mark(of, id_, row, plain)

    def _mark(self, of: Of, id_: str, row: Row, plain: bool) -> None:
        if id_ not in self._stale[of]:
            self._stale[of][id_] = None
            self._written += 1
            self._file.leave_out(of, id_)
        for view in self._views:
            if view.of != of or (plain and row.kind not in view.kinds):
                continue
            self._stamps[view.name] += 1
            key = (view.name, id_)
            if key not in self._parts:
                continue
            if plain and id_ in (row.job, row.shift):
                self._parts[key][1].append(row)
            else:
                del self._parts[key]

    def touched(self, row: Row) -> dict[Of, set[str]]:
        """Jobs, shifts and products whose parts a row may change."""
        rows = [row, *self._meant_by(row)]
        jobs = {one.job for one in rows} - {""}
        shifts = {one.shift for one in rows} - {""}
        imports = {one.event.job for one in rows if isinstance(one.event, ev.JobImported)}
        if reaches_round(row):
            shifts |= self._measured_for(rows)
            for shift in shifts:
                jobs |= self._log.jobs_in(shift)
        for job in jobs:
            # What a job's windows were says what standing by was, in every shift it was worked in.
            shifts |= self._shifts_of(job, row)
        events = (one.event for one in rows)
        packs = (event for event in events if isinstance(event, ev.PackOpened | ev.PackWeighed))
        jobs |= imports
        return {"job": jobs, "shift": shifts, "product": {pack.product for pack in packs}}

    def _measured_for(self, rows: Sequence[Row]) -> set[str]:
        """Shifts that may go by the readings among rows that change what was."""
        read = [row for row in rows if isinstance(row.event, ev.ReadingTaken)]
        if not read:
            return set()
        times = [row.at_us for row in read]
        for row in rows:
            if isinstance(row.event, ev.PressMoved):
                times.append(row.event.to_us)
            if isinstance(row.event, ev.TimeCorrected):
                times += [Instant(at_us - row.event.by_us) for at_us in times]
        until_us = Instant(max(times) + STALE_US)
        found = self._log.summaries.shifts_within(min(times), until_us)
        return {one.shift for one in found}

    def _shifts_of(self, job: str, row: Row) -> set[str]:
        known = self._worked.get(job)
        if known is None:
            known = self._worked[job] = self._log.shifts_on(job)
        elif job == row.job and row.shift:
            known.add(row.shift)
        return known

    def _meant_by(self, row: Row) -> list[Row]:
        """The rows that a row corrects; none of one that corrects nothing."""
        if row.corrects is not None:
            return self._meant(row.corrects)
        reach = reached(row)
        rows = self._log.rows_between(reach.start, reach.stop) if reach else []
        for named in {one.corrects for one in rows}:
            rows += [] if named is None else self._meant(named)
        return rows

    def _meant(self, press: Press) -> list[Row]:
        """The rows of a press; of one that corrects, those it corrects as well."""
        found = self._log.press_rows(press)
        for row in list(found):
            found += self._meant_by(row)
        return found

    def forget(self, refs: Collection[str], said_of: Callable[[], Collection[str]]) -> None:
        """Deletes sealed texts from the log and from what is known of it.

        refs: of the texts. said_of: asked for the jobs whose parts hold one of them. Raises
        StoreFault if the files could not be cleaned; doing it again cleans them.
        """
        written = self.settle()
        jobs: list[PartKey] = [("job", job) for job in sorted(said_of())]
        # Taken out first: what is cut off here has lost the text wherever it stood.
        if not (written and self._file.unmake(jobs)):
            raise StoreFault(NOT_CLEAN)
        self._file.clean()
        self._log.forget(refs)
        self._begin_again()
        self._answers.clear()
        # Another program may have made them again of the log as it was.
        if not (self.settle() and self._file.write(self._made(jobs))):
            raise StoreFault(NOT_CLEAN)
        self._begin_again()
        self._file.clean()

    # Making parts.

    def subject(self, of: Of, id_: str) -> Subject | None:
        """What a part is made of, from memory or from the log; None if that job or shift has not
        begun."""
        if of == "product":
            last = self._log.head.seq
            packs = [row for row in self._log.pack_rows(id_) if row.seq <= last]
            return Subject(id_, packs=packs)
        key = (of, id_)
        if key in self._subjects:
            return self._subjects[key]
        jobs, shifts = self._held()
        found = _among(of, id_, jobs, shifts) or self._read(of, id_)
        if found is not None:
            text = self._log.private_text
            shifts = found.shifts if found.origin else self._measured(found.shifts)
            found = replace(found, shifts=shifts, text=text)
        self._subjects[key] = found
        return found

    def _measured(self, shifts: Mapping[str, Shift]) -> dict[str, Shift]:
        """The shifts with what others measured at their place."""
        beside = self._log.summaries.beside(shifts.keys())
        for known in (self._held()[1], self._folded_last().shifts):
            if beside <= known.keys():
                others = {one: known[one] for one in beside}
                break
        else:
            others = self._folded_now(set(), beside).shifts
        every = [*shifts.values(), *others.values()]
        return {id_: with_readings(shift, every) for id_, shift in shifts.items()}

    def _is_elsewhere(self, of: Of, id_: str) -> bool:
        """Whether this is a job of another cart."""
        if of != "job":
            return False
        known = self._elsewhere.get(id_)
        if known is None:
            own = self._log.summaries.is_own(id_)
            known = self._elsewhere[id_] = not own and self._log.was_imported(id_)
        return known

    def _told_by(self, view: View[Any], id_: str) -> bool:
        return view.imported or not self._is_elsewhere(view.of, id_)

    def _imported(self, job: str) -> Subject | None:
        said = imported(self._log, job)
        if said is None:
            return None
        found = fold_imported(job, self._log.imported_rows(said.parts), said.as_of_us)
        return subject_of(found, job, said.parts[0].origin, self._log.private_text)

    def _read(self, of: Of, id_: str) -> Subject | None:
        if self._is_elsewhere(of, id_):
            return self._imported(id_)
        # A job and its shifts are asked for one after the other: the same rows.
        last = self._folded_last()
        found = _among(of, id_, last.jobs, last.shifts)
        if found is not None:
            return found
        if of == "job":
            last = self._fold({id_}, self._log.shifts_on(id_))
        else:
            last = self._fold(self._log.jobs_in(id_), {id_})
        return _subject(of, id_, last.jobs, last.shifts)

    def _fold(self, jobs: set[str], shifts: set[str]) -> Folded:
        self._last = (self._log.head.seq, self._folded_now(jobs, shifts))
        return self._last[1]

    def _folded_last(self) -> Folded:
        """What was folded last; nothing if there are rows since."""
        if self._last is None or self._last[0] != self._log.head.seq:
            return Folded()
        return self._last[1]

    def _fold_together(self, of: Of, id_: str) -> None:
        """Has a shift folded with its job and all shifts of that, if all of them will be asked for
        and it was worked on no other.
        """
        if of != "shift" or id_ in self._folded_last().shifts:
            return
        jobs = self._log.jobs_in(id_)
        if len(jobs) == 1:
            (job,) = jobs
            self._fold(jobs, self._log.shifts_on(job) | {id_})

    def _folded_now(self, jobs: set[str], shifts: set[str]) -> Folded:
        last = self._log.head.seq
        found = self._log.rows_of(jobs, shifts)
        own = self._log.origin
        believed = believed_rows([row for row in found if row.origin != own or row.seq <= last])
        return folded(believed, jobs, shifts)

    def _part(self, view: View[T], id_: str) -> T | None:
        kept = self._parts.get((view.name, id_))
        made: T | None = None
        if kept is not None and not kept[1]:
            return kept[0]  # type: ignore[no-any-return]  # kept under the view's own name
        seen = self.subject(view.of, id_)
        if seen is not None and kept is not None and kept[0] is not None:
            made = view.take(*kept, seen)
        if seen is not None and made is None:
            made = view.part(seen)
        if id_ in self._stale[view.of]:
            self._parts[view.name, id_] = (made, [])
        return made

    # Asking.

    def parts(self, view: View[T], besides: str | Collection[str] = "") -> list[tuple[str, T]]:
        """The parts that the file does not know, with their ids.

        Of products also those still to be made: there are few, and nothing waits for them.
        besides: an id whose part is not asked for, or several, so that they need not be made.
        """
        self._look()
        waiting = self._file.waiting(view.of) if view.of == "product" else ()
        besides = {besides} if isinstance(besides, str) else besides
        asked = (id_ for id_ in (*self._stale[view.of], *waiting) if id_ not in besides)
        ids = (id_ for id_ in asked if self._told_by(view, id_))
        parts = ((id_, self._part(view, id_)) for id_ in ids)
        return [(id_, part) for id_, part in parts if part is not None]

    @property
    def going_on(self) -> frozenset[str]:
        """The shifts in memory from which nobody has clocked off."""
        _jobs, shifts = self._held()
        return frozenset(id_ for id_, shift in shifts.items() if shift.on_clock)

    def rows(self, query: str, *values: object) -> list[tuple[Any, ...]]:
        """What the file knows; the query leaves out the ids of `left_out` (`KNOWN_JOBS` and the
        others are the words for that)."""
        self._look()
        return self._file.rows(query, *values)

    def once(
        self, view: View[Any], asked: object, answer: Callable[[], T], *beside: View[Any]
    ) -> T:
        """The answer to what is `asked`, kept until a part of the view may be another, or of those
        it rests on beside."""
        self._look()
        stamp = sum(self._stamps[one.name] for one in (view, *beside))
        key = (view.name, asked)
        kept = self._answers.get(key)
        if kept is None or kept[0] != stamp:
            kept = (stamp, answer())
            if self._file.given_up:
                # In the midst of it: it was told of a file with nothing in it.
                return self.once(view, asked, answer, *beside)
            self._answers[key] = kept
        found: T = kept[1]
        return found

    def as_written(self, asked: object, answer: Callable[[], T]) -> T:
        """The answer of the file alone to what is `asked`, kept until the file says something else
        or more of it is left out. A press on what is left out already leaves it as it is."""
        self._look()
        key = ("", asked)
        kept = self._answers.get(key)
        if kept is None or kept[0] != self._written:
            kept = (self._written, answer())
            if self._file.given_up:
                # In the midst of it: it was told of a file with nothing in it.
                return self.as_written(asked, answer)
            self._answers[key] = kept
        found: T = kept[1]
        return found

    def left(self, of: Of | None = None, since_us: int | None = None) -> int:
        """How many parts are still to be made since the file was begun anew.

        since_us: only of those that may have a row since then, job time.
        """
        self._look()
        return self._file.left(of, since_us)

    # Writing down.

    def settle(self) -> bool:
        """Writes down every part that the file does not know. For quiet moments, not for a press.

        False if it was put off, because another program was first or the disk refused; every
        answer stays right.
        """
        self._look()
        self._due = False
        head = self._log.head
        if head.seq <= self._file.reach:
            return True
        keys: list[PartKey] = [(of, id_) for of, ids in self._stale.items() for id_ in ids]
        if not self._file.write(self._made(keys), head):
            return False
        self._begin_again()
        self._seen = head.seq
        return True

    def begin_anew(self) -> bool:
        """Throws away all that was made; False if another program holds the file."""
        if not self._file.begin_anew():
            return False
        self._answers.clear()
        self._begin_again()
        return True

    def slice(self, seconds: float) -> int:
        """Makes parts that are still to be made, the newest first, for about so long, at least one.

        Returns how many are left.
        """
        until = time.monotonic() + seconds
        while self.left() and self.settle() and self._log.head.seq == self._file.reach:
            keys: list[PartKey] = []
            lines: list[TableLine] = []
            for key in self._file.todo(_AT_ONCE):
                keys.append(key)
                self._fold_together(*key)
                lines += self._made([key]).lines
                if time.monotonic() >= until:
                    break
            if not self._file.write(Parts(keys, lines)):
                break
            self._written += 1
            for name in self._stamps:
                self._stamps[name] += 1
            if time.monotonic() >= until:
                break
        return self.left()

    def tend(self, seconds: float) -> int:
        """To be called between presses: settles after a job or a shift ended, else one `slice`.

        Returns how many parts are left.
        """
        self._look()
        if self._due:
            self.settle()
        left = self._file.left()
        return self.slice(seconds) if left else 0

    def _made(self, keys: Sequence[PartKey]) -> Parts:
        lines: list[TableLine] = []
        for of, id_ in keys:
            for view in self._views:
                tells = view.of == of and self._told_by(view, id_)
                part = self._part(view, id_) if tells else None
                if part is not None:
                    lines += view.lines(id_, part)
            if len(self._subjects) > _KEPT:
                self._subjects.clear()
        return Parts(keys, lines)


def _among(
    of: Of, id_: str, jobs: Mapping[str, Job], shifts: Mapping[str, Shift]
) -> Subject | None:
    """The subject if all of it is among these folds."""
    if of == "job":
        job = jobs.get(id_)
        whole = job is not None and shifts.keys() >= set(job.shifts)
    else:
        shift = shifts.get(id_)
        whole = shift is not None and jobs.keys() >= set(shift.jobs)
    return _subject(of, id_, jobs, shifts) if whole else None


def _subject(
    of: Of, id_: str, jobs: Mapping[str, Job], shifts: Mapping[str, Shift]
) -> Subject | None:
    """The subject of these folds; None if that job or shift is not among them."""
    if of == "job" and id_ in jobs:
        worked = jobs[id_].shifts
        return Subject(id_, {id_: jobs[id_]}, {s: shifts[s] for s in worked if s in shifts})
    if of == "shift" and id_ in shifts:
        taken = shifts[id_].jobs
        return Subject(id_, {job: jobs[job] for job in taken if job in jobs}, {id_: shifts[id_]})
    return None
