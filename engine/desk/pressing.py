"""A press: ask a rule, try its events, write them, believe them.

A press is tried on the folds before it is written, written in one transaction, and believed only
after the disk has it. One that was late is the same with one more step: everything it touches is
folded anew, and if anything is odd then, nothing is written.
"""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from functools import partial
from itertools import takewhile
from typing import Concatenate, ParamSpec, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.after.visits import NEVER_CLOSED, Closed
from cartclock.engine.ahead.foreseen import Foreseen, Foresight, day_began
from cartclock.engine.desk.in_sight import InSight
from cartclock.engine.desk.learning import Learning
from cartclock.engine.desk.put_off import Earlier, PutOff, earlier
from cartclock.engine.facts import events as ev
from cartclock.engine.facts import job as jobs_
from cartclock.engine.facts import shift as shifts_
from cartclock.engine.facts.in_force import shift_before, with_readings
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.put_right import put_right
from cartclock.engine.facts.refold import Folded, consequence, folded, in_the_way
from cartclock.engine.facts.rows import (
    HOUR_US,
    By,
    Draft,
    Evidence,
    Fold,
    Odd,
    Placed,
    Row,
    believed_rows,
    job_time,
    unsure_after,
)
from cartclock.engine.facts.sealed import Said, Sealed
from cartclock.engine.facts.shift import Shift
from cartclock.engine.facts.words import main_row, row_text
from cartclock.engine.films.flashing import Own
from cartclock.engine.films.waves import PLANNED, Factors
from cartclock.engine.hours.partition import Piece, partition
from cartclock.engine.hours.questions import Question, questions
from cartclock.engine.joined.known import FromShop, OwnElseShop
from cartclock.engine.now.moment import Facts, Moment, moment
from cartclock.engine.now.moves import moves
from cartclock.engine.now.scene import Scene, given_text
from cartclock.engine.press import Press
from cartclock.engine.rules.rules import Drafts
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
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Asks, Refused

P = ParamSpec("P")
F = TypeVar("F", bound=Fold)
Rule = Callable[Concatenate[Scene, P], Drafts]
# Over a boot the wall clock is asked about where it is further ahead than this of the last time the
# program was alive, on the clock and off it. Our own judgement: who forgot to clock off comes back
# on the second day, and a holiday is shorter than a month.
FAR_ON_CLOCK_US, FAR_US = 36 * HOUR_US, 30 * 24 * HOUR_US


class Pressed(Struct, frozen=True):
    """A press that was written, and its rows."""

    press: Press
    rows: tuple[Row, ...]

    @property
    def evidence(self) -> Evidence:
        """What the clocks said at the press."""
        row = self.rows[-1]
        return Evidence(row.wall_us, row.boot, row.tick_us)


class Pressing(InSight):
    """What is in sight, with the one way to write to it.

    Args:
        log: the log; clock: by which presses are dated; worker: who presses, if nobody is named.
        entropy: gives so many random bytes.

    Fields:
        library: what is known of the log as a whole.
        ended: whether a job or a shift ended since somebody took notice: it is time for a backup.
        asks_new: whether a product this cart never had is asked about before its first use.
    """

    def __init__(
        self,
        log: Log,
        clock: Clock,
        worker: str = "me",
        entropy: Callable[[int], bytes] = os.urandom,
    ) -> None:
        super().__init__(log, clock, worker)
        self.library = Library(log, VIEWS, lambda: (self.jobs, self.shifts))
        self.ended = False
        self.asks_new = True
        self._entropy = entropy
        # Taken in, and written with the press that speaks of them.
        self._sealed: dict[str, PrivateText] = {}
        self._plans: dict[str, str] = {}
        beat = log.last_beat()
        self._alive_us = None if beat is None else beat.at_us
        self._learning = Learning(self.library, log.path)
        self._from_shop = FromShop(log.path)
        self._earlier: Earlier | None = None

    def close(self) -> None:
        """Lets go of the log."""
        self.library.close()
        self.log.close()

    # What is so.

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

    def day_began(self) -> Shift | None:
        """The shift with which the newest day of the cart's worker began; None if there never was
        one."""
        newest = self.shift()
        if newest is None:
            return None
        return day_began(newest, shift_before(newest, self._known_shifts()), newest.on.zone)

    def _known_shifts(self) -> Collection[Shift]:
        """The shifts in sight with those before them."""
        return {**self._shifts_before, **self.shifts}.values()

    def scene(self, worker: str | None = None, at_us: Instant | None = None) -> Scene:
        """What a rule looks at: now, or as it was at the earlier time `at_us`."""
        who = worker or self.worker
        now_us = self.now_us
        return self._scene(who, now_us, Instant(now_us if at_us is None else min(at_us, now_us)))

    def _scene(self, who: str, now_us: Instant, at_us: Instant) -> Scene:
        def known() -> frozenset[str] | None:
            return self.known_products

        def factors(job_id: str) -> Factors:
            if who != self.worker:
                return PLANNED
            learned = self._learning.of(who, tuple(self.jobs.values()))
            return Foresight(lambda: Foreseen(self.jobs, None, learned)).factors(job_id)

        if at_us >= now_us:
            return Scene(who, self.shift(who), self.jobs, now_us, known, self.films(who), factors)
        before = [row for row in believed_rows(self.rows) if row.at_us <= at_us]
        found = folded(before, self.jobs, self.shifts)
        shift = _newest(found.shifts, who)
        return Scene(who, shift, found.jobs, at_us, known, self.films(who), factors)

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
        known = self._known_shifts()
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
            shifts_before={name: shift_before(one, known) for name, one in on.items()},
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
        own = self.own(who)
        # Most carts are of no shop, and a press of theirs does without what makes this. A disk at
        # fault is no file.
        if not os.path.exists(self._from_shop.file):  # noqa: PTH110  # the other raises
            return own
        shop = self._from_shop.known.films_of(who)
        return OwnElseShop(own, shop) if shop else own

    def moves(self, worker: str | None = None) -> tuple[Move, ...]:
        """What the worker can take up next, best first."""
        shift = self.shift(worker)
        return () if shift is None else moves(self.jobs, shift, self.now_us, self.films(worker))

    def questions(self, worker: str | None = None) -> tuple[Question, ...]:
        """What only the worker knows about the newest shift."""
        shift = self.shift(worker)
        return () if shift is None else questions(shift, self.jobs, self.now_us)

    def put_off(self) -> tuple[PutOff, ...]:
        """What only the cart's worker knows about the shifts before the newest one."""
        newest = self.shift()
        if newest is None:
            return ()
        known, key = self._earlier, (newest.id, self._times_read)
        if known is None or (known.newest, known.times_read) != key or self._touch(known):
            known = earlier(self, *key, self.now_us)
        newest_seq = self.rows[-1].seq if self.rows else known.seq
        if newest_seq > known.seq:
            # Every look asks, and a row is looked at once.
            known = replace(known, seq=newest_seq)
        self._earlier = known
        return known.asked

    def _touch(self, known: Earlier) -> bool:
        """Whether a row since can make a question about the earlier shifts another: most presses
        speak of the newest shift at their own time.
        """
        return any(
            row.shift in known.shifts
            or row.at_us <= known.until_us
            or type(row.event) in ev.CORRECTIONS
            for row in takewhile(lambda row: row.seq > known.seq, reversed(self.rows))
        )

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

    def meant(self, row: Row) -> Row | None:
        """What the press was for that a correction speaks of; None for any other row."""
        rows = [] if row.corrects is None else self.log.press_rows(row.corrects)
        return main_row(rows) if rows else None

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

    def answer(self, shift: str, rule: Rule[P], /, *args: P.args, **facts: P.kwargs) -> Pressed:
        """One press of this worker about an earlier shift that is over, by its id.

        Raises `Refused`, `StoreFault`.
        """
        if shift not in self._shifts_in_sight - self._beside:
            # Its jobs are needed, too.
            self._beside -= {shift}
            self.load(self._jobs_in_sight, {*self._shifts_in_sight, shift})
        evidence = self.clock.read()
        placed = self._placed(evidence)
        scene = self._scene(self.worker, placed.at_us, placed.at_us)
        scene = replace(scene, shift=self.shifts.get(shift))
        rows = self._rows(rule(scene, *args, **facts), scene, placed.at_us, placed, evidence)
        return self._write(rows, self._tried(rows))

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
        also = in_the_way(rows, presses, self._stays, keep | self._not_struck())
        while True:
            # What is struck as well may reach into jobs and shifts that were out of sight.
            seen = len(self._jobs_in_sight) + len(self._shifts_in_sight)
            self._in_sight(also)
            if seen == len(self._jobs_in_sight) + len(self._shifts_in_sight):
                break
            rows = [*put_right(self.rows, own), *own]
            also = in_the_way(rows, presses, self._stays, keep | self._not_struck())
        # What stands in the way comes first: what was pressed can be longer than there is room for.
        why = odd.why.removeprefix(f"{odd.row.kind} cannot be while ")
        said = row_text(odd.row, self.jobs)
        raise Refused(f"That cannot be: {why} at press {odd.row.press} ({said}).", also)

    def _not_struck(self) -> set[Press]:
        """The presses in sight that are not struck here: other carts', and handed over ones."""
        origin = self.log.origin
        return {row.press for row in self.rows if row.origin != origin or self._is_handed(row)}

    def _is_handed(self, row: Row) -> bool:
        """Whether a row hands a job over, or lies where another cart went on from it."""
        job = self.jobs.get(row.job)
        away = job is not None and (
            job.state == "given" or (bool(job.before) and row.seq < job.taken_seq)
        )
        return away or isinstance(row.event, ev.JobGiven | ev.JobTaken)

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
        self._unsure = unsure_after(rows, self._unsure)
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

    @property
    def time_unsure(self) -> bool:
        """True if the clocks could not agree since the last boot and nobody has said the time."""
        return self._unsure or not self.placed.sure


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


def _put(into: dict[str, F], id_: str, told: F | None, odd: Odd | None) -> None:
    """Keeps a fold after one more row; refuses the row if it was set aside."""
    if odd is not None:
        why = odd.why.removeprefix(f"{odd.row.kind} cannot be while ")
        raise Refused(f"That cannot be: {why}.")
    if told is not None:
        into[id_] = told
