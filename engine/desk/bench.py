"""What is in hand: ask a rule, try its events, write the press, believe it.

The bench holds the rows of the open jobs and of the shifts they are worked in, folded. It
is the only writer. A press is tried on the folds before it is written, written in one
transaction, and believed only after the disk has it. A correction or a late entry is the
same with one more step: everything it touches is folded anew, and if anything is odd then,
nothing is written.
"""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Concatenate, ParamSpec, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.after.visits import NEVER_CLOSED, Closed
from cartclock.engine.desk.learning import Learning
from cartclock.engine.desk.time_runs import run_of
from cartclock.engine.facts import events as ev
from cartclock.engine.facts import job as jobs_
from cartclock.engine.facts import shift as shifts_
from cartclock.engine.facts.call_backs import CALLS, jobs_to_call
from cartclock.engine.facts.in_force import with_readings
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.put_right import put_right
from cartclock.engine.facts.refold import Folded, Stay, consequence, folded, in_the_way
from cartclock.engine.facts.rows import (
    HOUR_US,
    MINUTE_US,
    By,
    Draft,
    Evidence,
    Fold,
    Odd,
    Placed,
    Row,
    believed_rows,
    job_time,
    standing,
)
from cartclock.engine.facts.sealed import Said, Sealed
from cartclock.engine.facts.shift import Shift
from cartclock.engine.facts.words import main_row, row_text
from cartclock.engine.films.flashing import Own
from cartclock.engine.hours.partition import Piece, partition
from cartclock.engine.hours.questions import Question, questions
from cartclock.engine.joined.known import FromShop, OwnElseShop
from cartclock.engine.now.moment import Facts, Moment, moment
from cartclock.engine.now.moves import moves
from cartclock.engine.now.scene import Scene, given_text
from cartclock.engine.press import Press
from cartclock.engine.rules.rules import Drafts
from cartclock.engine.rules.time_right import correct_time
from cartclock.engine.store.clock import Clock
from cartclock.engine.store.codec import (
    Stored,
    fresh_id,
    read_back,
    seals,
    sha256_of,
    with_words,
)
from cartclock.engine.store.library import JOB_AND_SHIFT_ENDS, Library
from cartclock.engine.store.log import Log, Overtaken, PrivateText, job_lines, seal, shift_lines
from cartclock.engine.store.views import VIEWS
from cartclock.engine.store.views.films import FILMS
from cartclock.engine.store.views.products import PRODUCTS
from cartclock.engine.times import Instant, Length
from cartclock.engine.trouble import Asks, Refused

P = ParamSpec("P")
F = TypeVar("F", bound=Fold)
Rule = Callable[Concatenate[Scene, P], Drafts]

# Our own judgement: the heartbeat comes once a minute, so less than this says nothing.
GAP_US = 3 * MINUTE_US
# How many rows are read at a time where only the end of the log matters.
_CHUNK = 200
# Packs and weighings that are in sight beside the jobs and shifts, of each so many.
_NEWEST_PACKS = 50
# Calls back that are looked through for one that waits, of each kind of event so many.
_NEWEST_CALLS = 100
# What undo passes over: it is taken back by its own kind.
_NOT_TAKEN_BACK = (ev.PressStruck, ev.PressRestored, ev.TimeCorrected)
# Over a boot the wall clock is asked about where it is further ahead than this of the last time the
# program was alive, on the clock and off it. Our own judgement: who forgot to clock off comes back
# on the second day, and a holiday is shorter than a month.
FAR_ON_CLOCK_US, FAR_US = 36 * HOUR_US, 30 * 24 * HOUR_US
# A time server slews a running clock by less; a person sets it by more.
STEP_US = 5_000_000


class Pressed(Struct, frozen=True):
    """A press that was written, and its rows."""

    press: Press
    rows: tuple[Row, ...]

    @property
    def evidence(self) -> Evidence:
        """What the clocks said at the press."""
        row = self.rows[-1]
        return Evidence(row.wall_us, row.boot, row.tick_us)


class Bench:
    """The log of one cart, folded, with the one way to write to it."""

    def __init__(
        self,
        log: Log,
        clock: Clock,
        worker: str = "me",
        entropy: Callable[[int], bytes] = os.urandom,
    ) -> None:
        self.log = log
        self.clock = clock
        self.worker = worker
        self.rows: list[Row] = []
        self.jobs: dict[str, Job] = {}
        self.shifts: dict[str, Shift] = {}
        # Their rows are among `rows`, also of what by them has not begun.
        self._jobs_in_sight: set[str] = set()
        self._shifts_in_sight: set[str] = set()
        self._entropy = entropy
        self._sealed: dict[str, PrivateText] = {}
        self._plans: dict[str, str] = {}
        self._alive: tuple[int, Evidence] | None = None
        beat = log.last_beat()
        self._alive_us = None if beat is None else beat.at_us
        self._unsure = False
        # Shifts that are in sight only because their readings hold for another one.
        self._beside: set[str] = set()
        # How often the log was read into sight.
        self._times_read = 0
        # Whether a job or a shift ended since somebody took notice: it is time for a backup.
        self.ended = False
        # Whether a product this cart never had is asked about before its first use.
        self.asks_new = True
        self.library = Library(log, VIEWS, lambda: (self.jobs, self.shifts))
        self._learning = Learning(self.library)
        self._from_shop = FromShop(log.path)
        self.load()

    @classmethod
    def open(
        cls,
        path: Path,
        clock: Clock,
        worker: str = "me",
        entropy: Callable[[int], bytes] = os.urandom,
    ) -> Bench:
        """The bench of the log at `path`, made if there is none. Raises `StoreFault`."""
        return cls(Log.open(path, entropy=entropy), clock, worker, entropy)

    def close(self) -> None:
        """Lets go of the log."""
        self.library.close()
        self.log.close()

    # Reading.

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
        self._last = rows[-1] if rows else None
        end = self.log.rows_after(self.log.head.seq - _CHUNK)
        if end:
            self._last = end[-1]
            self._unsure = _unsure(end)

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

    def _placed(self, evidence: Evidence) -> Placed:
        return job_time(self._last, evidence, self._alive_us, self._most_us)

    @property
    def _most_us(self) -> int:
        on_clock = any(shift.on_clock for shift in self.shifts.values())
        return FAR_ON_CLOCK_US if on_clock else FAR_US

    def is_far(self, at_us: int) -> bool:
        """Whether an instant is so far ahead of job time that it is asked about."""
        return at_us - self.now_us > self._most_us

    @property
    def placed(self) -> Placed:
        """Job time now."""
        return self._placed(self.clock.read())

    @property
    def now_us(self) -> Instant:
        """Job time now, microseconds UTC."""
        return self.placed.at_us

    def shift(self, worker: str | None = None) -> Shift | None:
        """The worker's newest shift, on or off, with what others measured at its place; None if
        there never was one."""
        return _newest(self.shifts, worker or self.worker)

    def scene(self, worker: str | None = None, at_us: Instant | None = None) -> Scene:
        """What a rule looks at: now, or as it was at the earlier time `at_us`."""
        who = worker or self.worker
        now_us = self.now_us
        return self._scene(who, now_us, Instant(now_us if at_us is None else min(at_us, now_us)))

    def _scene(self, who: str, now_us: Instant, at_us: Instant) -> Scene:
        def known() -> frozenset[str] | None:
            return self.known_products

        if at_us >= now_us:
            return Scene(who, self.shift(who), self.jobs, now_us, known, self.films(who))
        before = [row for row in believed_rows(self.rows) if row.at_us <= at_us]
        found = folded(before, self.jobs, self.shifts)
        shift = _newest(found.shifts, who)
        return Scene(who, shift, found.jobs, at_us, known, self.films(who))

    def moment(
        self,
        helper: str = "",
        rest_place: ev.ReadingTaken | None = None,
        before: Moment | None = None,
        evidence: Evidence | None = None,
        meal: datetime.time | None = None,
        closed: Closed = NEVER_CLOSED,
    ) -> Moment:
        """Everything at this instant, by one reading of the clock.

        Args:
            helper: the second worker; "" if there is none.
            rest_place: climate where rests are taken; None: where the work is.
            before: the moment before, which goes on while nothing of it can be another.
            evidence: what the clocks were read to say; None: they are read.
            meal: when the workers eat, by the clock; None: not settled.
            closed: when there is no work.
        """
        placed = self._placed(evidence or self.clock.read())
        now_us, sure = placed.at_us, placed.sure and not self._unsure
        # What is learned of old jobs grows without a row while the library is still at it.
        seq, left, times_read = self.log.head.seq, self.library.left(), self._times_read
        if before is not None and before.facts.is_of(seq, left, times_read):
            return before.at(now_us, sure)
        names = [self.worker, helper] if helper else [self.worker]
        on = {name: shift for name in names if (shift := self.shift(name)) is not None}
        facts = Facts(
            seq=seq,
            left=left,
            times_read=times_read,
            jobs=self.jobs.copy(),
            shifts=on,
            own={name: self.films(name) for name in names},
            known_products=self.known_products,
            rest_place=rest_place,
            meal=meal,
            learned=partial(self._learning.of, self.worker, tuple(self.jobs.values())),
            closed=closed,
        )
        return moment(facts, self.worker, helper, now_us, sure)

    @property
    def known_products(self) -> frozenset[str] | None:
        """Keys of the products ever used in a job of this log; None if not asked about, or while
        jobs are still to be read."""
        return PRODUCTS.known(self.library) if self.asks_new else None

    def own(self, worker: str | None = None) -> Own:
        """The worker's watched sections that are learned from, by product, of the whole log."""
        return FILMS.own(self.library, worker or self.worker)

    def films(self, worker: str | None = None) -> Own:
        """The watched sections that the worker's marks go by: own ones, of a product with too few
        of them those that others of the shop watched."""
        who = worker or self.worker
        shop = self._from_shop.known.films_of(who)
        own = self.own(who)
        return OwnElseShop(own, shop) if shop else own

    def moves(self, worker: str | None = None) -> tuple[Move, ...]:
        """What the worker can take up next, best first."""
        shift = self.shift(worker)
        return () if shift is None else moves(self.jobs, shift, self.now_us, self.films(worker))

    def questions(self, worker: str | None = None) -> tuple[Question, ...]:
        """What only the worker knows about the newest shift."""
        shift = self.shift(worker)
        return () if shift is None else questions(shift, self.jobs, self.now_us)

    def partition(self, worker: str | None = None) -> list[Piece]:
        """The newest shift as pieces of time."""
        shift = self.shift(worker)
        return [] if shift is None else partition(shift, self.jobs, self.now_us)

    def text(self, sealed: Sealed | None) -> str:
        """The private text; "" if there is none or it was forgotten."""
        if sealed is None:
            return ""
        pending = self._sealed.get(sealed.ref)
        return pending.text if pending is not None else self.log.private_text(sealed.ref) or ""

    # Pressing.

    def seal(self, text: str) -> Sealed:
        """Takes a private text in; it is written with the next press that carries it."""
        private = seal(text, self._entropy)
        self._sealed[private.ref] = private
        return private.sealed

    def _spoken(self, text: str) -> str:
        """Words of a person, sealed; an event of this log may carry some that are already."""
        if not text or (isinstance(text, Said) and text.sealed is not None):
            return text
        return Said(text, self.seal(text))

    def keep_plan(self, text: str) -> str:
        """Takes a plan file's text in; it is written with the press that opens a job by it.

        Returns the text's digest, SHA-256 in hex.
        """
        sha256 = sha256_of(text.encode())
        self._plans[sha256] = text
        return sha256

    def new_id(self) -> str:
        """A fresh UUID for a job or a shift."""
        return fresh_id(self._entropy)

    def can(self, rule: Rule[P], /, *args: P.args, **facts: P.kwargs) -> str | None:
        """None if the rule would let the press pass or ask; otherwise why it cannot be."""
        return could(rule, self.scene(), *args, **facts)

    def do(self, rule: Rule[P], /, *args: P.args, **facts: P.kwargs) -> Pressed:
        """One press of this worker, now. Raises `Refused`, `Asks`, `StoreFault`."""
        return self.do_as(self.worker, 0, rule, *args, **facts)

    def do_as(
        self, worker: str, ago_us: int, rule: Rule[P], /, *args: P.args, **facts: P.kwargs
    ) -> Pressed:
        """One press of `worker`, spoken of as `ago_us` microseconds ago (0: now)."""
        if ago_us < 0:
            raise Refused("A press cannot lie ahead.")
        evidence = self.clock.read()
        placed = self._placed(evidence)
        at_us = placed.at_us - ago_us
        scene = self._scene(worker, placed.at_us, Instant(at_us))
        drafts = rule(scene, *args, **facts)
        self._mind_given(draft.job for draft in drafts)
        rows = self._rows(drafts, scene, Instant(at_us), placed, evidence)
        late = ago_us > 0 or any(draft.at_us is not None for draft in drafts)
        tried = self._refolded(rows) if late else self._tried(rows)
        return self._write(rows, tried)

    def machine(self, drafts: Iterable[Draft], worker: str) -> Pressed:
        """A press of the machine's own: what it found or told, on that worker's shift."""
        evidence = self.clock.read()
        placed = self._placed(evidence)
        scene = self._scene(worker, placed.at_us, placed.at_us)
        rows = self._rows(tuple(drafts), scene, placed.at_us, placed, evidence, by="machine")
        return self._write(rows, self._tried(rows))

    def take_in(
        self,
        event: ev.JobImported,
        stored: Sequence[Stored],
        texts: Sequence[PrivateText],
        plans: Mapping[str, str],
    ) -> Pressed:
        """The press by which a job of another cart comes in, written together with its rows.

        Args:
            stored: its rows that this log has not, as they are stored.
            texts, plans: private texts and plan files that it has not.
        """
        evidence = self.clock.read()
        placed = self._placed(evidence)
        scene = self._scene(self.worker, placed.at_us, placed.at_us)
        rows = self._rows((Draft(event),), scene, placed.at_us, placed, evidence)
        return self._write(rows, self._tried(rows), stored, texts, plans)

    def take_over(
        self,
        found: Job,
        drafts: tuple[Draft, Draft],
        stored: Sequence[Stored],
        texts: Sequence[PrivateText],
        plans: Mapping[str, str],
    ) -> Pressed:
        """The press by which this cart goes on with a job of another, written with its rows.

        Args:
            found: the job as it stood there.
            drafts: what came along, a `JobImported`, and the `JobTaken`.
            stored, texts, plans: as for `take_in`.
        """
        evidence = self.clock.read()
        placed = self._placed(evidence)
        scene = self._scene(self.worker, placed.at_us, placed.at_us)
        rows = self._rows(drafts, scene, placed.at_us, placed, evidence)
        was = self.jobs.get(found.id)
        self.jobs[found.id] = found
        try:
            told = self._write(rows, self._tried(rows), stored, texts, plans)
        except BaseException:
            self.jobs.pop(found.id)
            if was is not None:
                self.jobs[found.id] = was
            raise
        self.load(self._jobs_in_sight, self._shifts_in_sight)
        return told

    def _mind_given(self, jobs: Iterable[str]) -> None:
        """Refuses what is said of a job that another cart has, also of a time before it had."""
        for id_ in jobs:
            job = self.jobs.get(id_)
            if job is not None and job.state == "given":
                raise Refused(given_text(job))

    def _mind_handed(self, presses: Iterable[Press]) -> None:
        """Refuses to correct what lies behind a hand-over: the other cart went on from it."""
        self._mind_handed_rows(row for press in presses for row in self.log.press_rows(press))

    def _mind_handed_rows(self, rows: Iterable[Row]) -> None:
        for row in rows:
            self._mind_given([row.job])
            job = self.jobs.get(row.job)
            behind = job is not None and job.before and row.seq < job.taken_seq
            if behind or isinstance(row.event, ev.JobGiven | ev.JobTaken):
                raise Refused(
                    f"Press {row.press} lies behind a hand-over of the job, from which another "
                    "cart went on; it stays as it is. Write a note about it."
                )

    def _rows(
        self,
        drafts: Sequence[Draft],
        scene: Scene,
        at_us: Instant,
        placed: Placed,
        evidence: Evidence,
        by: By = "worker",
    ) -> list[Row]:
        shift = "" if scene.shift is None else scene.shift.id
        if scene.shift is not None and not scene.shift.on_clock:
            answers = any(type(draft.event) in ev.SHIFT_EVENTS for draft in drafts)
            shift = shift if answers else ""
        if any(isinstance(draft.event, ev.ClockedOn) for draft in drafts):
            shift = self.new_id()
        first = self.log.head.seq + 1
        return [
            Row(
                origin=self.log.origin,
                seq=first + index,
                press=Press(self.log.origin, first),
                shift=shift,
                job=draft.job,
                worker=scene.worker,
                at_us=Instant(at_us if draft.at_us is None else draft.at_us),
                entered_us=placed.at_us,
                wall_us=evidence.wall_us,
                boot=evidence.boot,
                tick_us=evidence.tick_us,
                sure=placed.sure,
                by=by,
                event=read_back(with_words(draft.event, self._spoken)),
            )
            for index, draft in enumerate(drafts)
        ]

    def _tried(self, rows: Sequence[Row]) -> Folded:
        """The folds with the rows on top; refuses what they cannot take."""
        tried = Folded()
        for row in rows:
            if row.job:
                before = tried.jobs.get(row.job) or self.jobs.get(row.job)
                _put(tried.jobs, row.job, *jobs_.job_after(before, row))
            if row.shift:
                was = tried.shifts.get(row.shift) or self.shifts.get(row.shift)
                _put(tried.shifts, row.shift, *shifts_.shift_after(was, row))
        return tried

    def _refolded(self, rows: Sequence[Row], touched: Collection[Press] = ()) -> Folded:
        """Everything the rows or the touched presses concern, folded anew; refuses the odd."""
        own = rows
        presses = {*touched, own[-1].press}
        rows = [*put_right(self.rows, own), *own]
        found, odd = consequence(rows, presses, self._stays)
        if odd is None:
            return found
        kept = {row.corrects for row in own if not isinstance(row.event, ev.PressStruck)}
        keep = {own[-1].press, *(press for press in kept if press is not None)}
        # Other carts' presses are not struck here, nor what was given and taken.
        keep |= {
            row.press
            for row in self.rows
            if row.origin != self.log.origin or isinstance(row.event, ev.JobGiven | ev.JobTaken)
        }
        also = in_the_way(rows, presses, self._stays, keep)
        while True:
            # What is struck as well may reach into jobs and shifts that were out of sight.
            seen = len(self._jobs_in_sight) + len(self._shifts_in_sight)
            self._in_sight(also)
            if seen == len(self._jobs_in_sight) + len(self._shifts_in_sight):
                break
            rows = [*put_right(self.rows, own), *own]
            also = in_the_way(rows, presses, self._stays, keep)
        raise Refused(
            f"That cannot be: at press {odd.row.press} ({row_text(odd.row, self.jobs)}) {odd.why}.",
            also,
        )

    # Corrections.

    def newest_press(self, worker: str | None = None) -> Press | None:
        """The press that `undo` takes back: the worker's newest that stands; None if none does."""
        before = self.log.head.seq + 1
        while found := self.log.presses_of(worker or self.worker, before, _CHUNK):
            for press in found:
                event = self.log.press_rows(press)[0].event
                if not isinstance(event, _NOT_TAKEN_BACK) and self._stands(press):
                    return press
            before = found[-1].seq
        return None

    def undo(self, worker: str | None = None) -> Pressed:
        """Strikes the worker's newest standing press."""
        press = self.newest_press(worker)
        if press is None:
            raise Refused("There is nothing to take back.")
        return self.strike(press, worker=worker or self.worker)

    def strike(
        self, press: Press, why: str = "", also: Collection[Press] = (), worker: str | None = None
    ) -> Pressed:
        """A press, and the presses `also`, do not stand. Refusals offer the cascade."""
        presses = [press, *(other for other in sorted(also) if other != press)]
        for one in presses:
            self._first(one)
        self._in_sight(presses)
        self._mind_handed(presses)
        for one in presses:
            if not self._stands(one):
                raise Refused(f"Press {one} is struck already.")
        drafts = [Draft(ev.PressStruck(one.seq, why, self._said(one))) for one in presses]
        return self._correct(drafts, presses, worker)

    def restore(self, press: Press, worker: str | None = None) -> Pressed:
        """A struck press stands again."""
        self._first(press)
        self._in_sight([press])
        self._mind_handed([press])
        if self._stands(press):
            raise Refused(f"Press {press} stands.")
        restored = ev.PressRestored(press.seq, self._said(press))
        return self._correct([Draft(restored)], [press], worker)

    def move(self, press: Press, to_us: Instant, worker: str | None = None) -> Pressed:
        """A press happened at another time, not ahead of now."""
        self._first(press)
        self._in_sight([press])
        self._mind_handed([press])
        if not self._stands(press):
            raise Refused(f"Press {press} is struck; restore it first.")
        rows = self.log.press_rows(press)
        length_us = max(row.at_us for row in rows) - rows[0].at_us
        if to_us + length_us > self.now_us:
            raise Refused("A press cannot lie ahead.")
        moved = ev.PressMoved(press.seq, to_us, self._said(press))
        return self._correct([Draft(moved)], [press], worker)

    def correct_time(
        self,
        press: Press,
        right_us: Instant,
        zone: str,
        also: Collection[Press] = (),
        worker: str | None = None,
    ) -> Pressed:
        """A press was made at another time than it says, because job time was wrong by then.

        With it all goes that hangs on the same reading of the clock; if it still runs, so does job
        time from here on.

        Args:
            right_us: when the press was made.
            zone: where a refusal tells times.
            also: presses that do not stand then, as a refusal offers.
        """
        rows = self.log.press_rows(press)
        by_us = Length(right_us - rows[0].entered_us if rows else 0)
        run = run_of(self.log, press, by_us > 0)
        evidence = self.clock.read()
        placed = self._placed(evidence)
        scene = self._scene(worker or self.worker, placed.at_us, placed.at_us)
        fix = correct_time(scene, run, by_us, zone)
        was_us = placed.at_us
        if run.until is None and self._last is not None:
            # What the clocks say now may be right already, of a start without a press so far.
            last = replace(self._last, entered_us=Instant(self._last.entered_us + by_us))
            placed = job_time(last, evidence, None, self._most_us)
        reached = self.log.rows_between(run.press, run.until or self.log.head.seq + 1)
        meant = {row.corrects for row in reached} - {None}
        presses = {row.press for row in reached} | {one for one in meant if one is not None}
        self._in_sight([*presses, *also])
        self._mind_handed_rows(reached)
        struck = [Draft(ev.PressStruck(one.seq, "", self._said(one))) for one in sorted(also)]
        rows = self._rows([*struck, *fix], scene, placed.at_us, placed, evidence)
        told = self._write(rows, self._refolded(rows, {*presses, *also}))
        self.load(self._jobs_in_sight, self._shifts_in_sight)
        if run.until is None:
            self._alive_us = placed.at_us
            if self._alive is not None:
                self._alive = (self._alive[0] + placed.at_us - was_us, self._alive[1])
            self.beat()
        return told

    def _said(self, press: Press) -> str:
        """How a correction names the origin of a press: "" for this log's own."""
        return "" if press.origin == self.log.origin else press.origin

    def meant(self, row: Row) -> Row | None:
        """What the press was for that a correction speaks of; None for any other row."""
        rows = [] if row.corrects is None else self.log.press_rows(row.corrects)
        return main_row(rows) if rows else None

    def _stands(self, press: Press) -> bool:
        """Whether a press stands."""
        return standing(self.log.corrections_of([press])).get(press, True)

    def _first(self, press: Press) -> Row:
        """The press's first row; refuses a number that is none, and strikes and restores."""
        rows = self.log.press_rows(press)
        if not rows or rows[0].press != press:
            raise Refused(f"There is no press {press}.")
        if press.origin != self.log.origin:
            raise Refused(
                f"Press {press} is of another laptop; put it right there, then import the job anew."
            )
        if isinstance(rows[0].event, ev.TimeCorrected):
            raise Refused(
                "What was said of the time is not taken back; choose a press that was made at "
                "another time, and say at which."
            )
        if isinstance(rows[0].event, ev.PressStruck | ev.PressRestored):
            raise Refused("A strike is taken back by restoring the press it struck.")
        return rows[0]

    def _correct(
        self, drafts: Sequence[Draft], presses: Sequence[Press], worker: str | None
    ) -> Pressed:
        evidence = self.clock.read()
        placed = self._placed(evidence)
        scene = self._scene(worker or self.worker, placed.at_us, placed.at_us)
        rows = self._rows(drafts, scene, placed.at_us, placed, evidence)
        concerned = set(presses)
        for row in self.rows:
            meant = row.corrects if isinstance(row.event, ev.PressMoved) else None
            if row.press in concerned and meant is not None:
                concerned.add(meant)
        refolded = self._refolded(rows, concerned)
        told = self._write(rows, refolded)
        if refolded.no_shifts:
            # A clocking on was struck: the shift before it is the newest again.
            self.load(self._jobs_in_sight, self._shifts_in_sight)
        return told

    # Writing.

    def _write(
        self,
        rows: Sequence[Row],
        tried: Folded,
        imported: Sequence[Stored] = (),
        texts: Sequence[PrivateText] = (),
        plan_texts: Mapping[str, str] = {},
    ) -> Pressed:
        if not rows:
            raise Refused("Nothing to write.")
        refs = {sealed.ref for row in rows for sealed in seals(row.event)}
        private = [self._sealed[ref] for ref in refs if ref in self._sealed]
        digests = {r.event.plan_sha256 for r in rows if isinstance(r.event, ev.JobOpened)}
        plans = {sha: self._plans[sha] for sha in digests if sha in self._plans}
        try:
            self.log.append(
                rows,
                private=[*private, *texts],
                plan_texts={**plans, **plan_texts},
                jobs=job_lines(tried, rows[-1].entered_us),
                shifts=shift_lines(tried),
                imported=imported,
            )
        except Overtaken:
            raise self._caught_up() from None
        for text in private:
            self._sealed.pop(text.ref, None)
        self.ended = self.ended or any(isinstance(row.event, JOB_AND_SHIFT_ENDS) for row in rows)
        self.rows.extend(rows)
        self._take(tried)
        self._last = rows[-1]
        self._unsure = _unsure(rows, self._unsure)
        return Pressed(rows[0].press, tuple(rows))

    def _take(self, found: Folded) -> None:
        """Believes what was folded; what by it has not begun stays in sight without a fold."""
        self.jobs.update(found.jobs)
        self.shifts.update(found.shifts)
        for id_ in found.no_jobs:
            self.jobs.pop(id_, None)
        for id_ in found.no_shifts:
            self.shifts.pop(id_, None)
        self._jobs_in_sight |= found.jobs.keys() | found.no_jobs
        self._shifts_in_sight |= found.shifts.keys() | found.no_shifts

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
        return Refused(
            f"Another program wrote to this log meanwhile: {said}{more}. "
            "Nothing of yours was written; look, then press again."
        )

    # The machine's own watch.

    def wake(self) -> list[Pressed]:
        """To be called once after opening: finds the time in which no program ran."""
        beat = self.log.last_beat()
        evidence = self.clock.read()
        now_us = self._placed(evidence).at_us
        written: list[Pressed] = []
        if self._last is not None:
            alive_us = (
                self._last.entered_us if beat is None else max(beat.at_us, self._last.entered_us)
            )
            if now_us - alive_us > GAP_US:
                written = self._tell(ev.GapFound(alive_us, now_us))
        self._alive = (now_us, evidence)
        self.beat()
        return written

    def tick(self, evidence: Evidence | None = None) -> list[Pressed]:
        """To be called about once a second: finds suspends and clock steps.

        evidence: what the clocks were read to say; None: they are read.
        """
        evidence = evidence or self.clock.read()
        now_us = self._placed(evidence).at_us
        written: list[Pressed] = []
        if self._alive is not None:
            was_us, was = self._alive
            if now_us - was_us > GAP_US:
                written += self._tell(ev.GapFound(Instant(was_us), now_us))
            if evidence.boot == was.boot:
                by_us = (evidence.wall_us - was.wall_us) - (evidence.tick_us - was.tick_us)
                if abs(by_us) > STEP_US:
                    written += self._tell(ev.ClockStepped(Length(by_us)))
        self._alive = (now_us, evidence)
        return written

    def beat(self) -> None:
        """To be called once a minute: overwrites the sign of life outside the log."""
        evidence = self.clock.read()
        self.log.beat(self._placed(evidence).at_us, evidence)

    def _tell(self, event: Struct) -> list[Pressed]:
        on = [shift for shift in self.shifts.values() if shift.on_clock]
        return [self.machine([Draft(event)], shift.worker) for shift in on]

    @property
    def time_unsure(self) -> bool:
        """True if the clocks could not agree since the last boot and nobody has said the time."""
        return self._unsure or not self.placed.sure

    def say_time(self, true_us: Instant) -> Pressed:
        """The worker says what time it is; job time goes on from there and never back."""
        evidence = self.clock.read()
        placed = self._placed(evidence)
        if true_us < placed.at_us:
            raise Refused("The log is later than that already; time cannot run back.")
        scene = self.scene()
        said = Placed(true_us, True)
        rows = self._rows([Draft(ev.ClockJudged())], scene, true_us, said, evidence)
        return self._write(rows, self._tried(rows))


def could(rule: Rule[P], scene: Scene, /, *args: P.args, **facts: P.kwargs) -> str | None:
    """None if the rule would let a press in this scene pass or ask; otherwise why it cannot be."""
    try:
        rule(scene, *args, **facts)
    except Asks:
        return None
    except Refused as why:
        return str(why)
    return None


def _newest(shifts: Mapping[str, Shift], worker: str) -> Shift | None:
    """The worker's newest of these shifts, with what others measured at its place."""
    mine = [shift for shift in shifts.values() if shift.worker == worker]
    found = max(mine, key=lambda s: _later(s.on_us, s.off_us), default=None)
    return None if found is None else with_readings(found, shifts.values())


def _later(on_us: int, off_us: int | None) -> tuple[int, bool, int]:
    """Of two shifts the later one sorts higher; one that is still on above one that is over."""
    return on_us, off_us is None, off_us or 0


def _unsure(rows: Sequence[Row], before: bool = False) -> bool:
    """Whether the time is unknown after these rows: the clocks disagreed and nobody said it."""
    unsure = before
    for row in rows:
        if isinstance(row.event, ev.ClockJudged):
            unsure = False
        elif not row.sure:
            unsure = True
    return unsure


def _put(into: dict[str, F], id_: str, told: F | None, odd: Odd | None) -> None:
    """Keeps a fold after one more row; refuses the row if it was set aside."""
    if odd is not None:
        raise Refused(f"That cannot be: {odd.why}.")
    if told is not None:
        into[id_] = told
