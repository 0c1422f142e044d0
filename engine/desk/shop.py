"""What a cart's log holds as a whole: its jobs by number, the record of one, a calendar date.

What makes a paper is imported when one is asked for: the first picture does not wait for it.
What knows the log as a whole is, too: most papers do without.
Everything here reads. It looks at the log as the one who writes last saw it, so that a
paper made in the middle of a press is of one piece.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.after.visits import NEVER_CLOSED, Closed
from cartclock.engine.dates import day_said, local
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_force import with_all_readings
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.refold import folded
from cartclock.engine.facts.rows import HOUR_US, Row, believed_rows
from cartclock.engine.facts.shift import Shift
from cartclock.engine.hours.account import served
from cartclock.engine.letters import cropped, plate_letters
from cartclock.engine.products.booked import rows_told
from cartclock.engine.products.stock import PackLog, pack_log
from cartclock.engine.store.log import JobSummary, Log
from cartclock.engine.times import Instant, Length
from cartclock.engine.trouble import Refused

if TYPE_CHECKING:
    from cartclock.engine.after.entries import Entry
    from cartclock.engine.ahead.foreseen import Foreseen
    from cartclock.engine.ahead.told import ToldFinish
    from cartclock.engine.body.acclimatization import Acclimatization
    from cartclock.engine.desk.past import Past
    from cartclock.engine.facts.events import JobImported
    from cartclock.engine.history.job_lines import JobLine
    from cartclock.engine.history.vehicle_card import VehicleCard
    from cartclock.engine.hours.interruptions import Interrupted
    from cartclock.engine.hours.lessons import JobLessons
    from cartclock.engine.hours.usual import StepKey, Usual
    from cartclock.engine.joined.known import FromShop
    from cartclock.engine.products.stock import Stock
    from cartclock.engine.record.day import Day
    from cartclock.engine.record.record import Proof, Record
    from cartclock.engine.store.library import Library

# How much of a UUID must be written; our own judgement.
_PREFIX = 4
# How many jobs a refusal names.
_NAMED = 5
# No number of a job is greater: those of a log are whole numbers of 64 bits.
_GREATEST = 2**63 - 1
_DIGITS = len(str(_GREATEST))
# So much of what was asked for is said again in a refusal.
_SHOWN_CELLS = 60

_EPOCH = datetime.date(1970, 1, 1)
_DAY_US = 24 * HOUR_US


# More than any photo has; what takes longer to read would hold up the clocks. Our own judgement.
MOST_ATTACHED_MB = 500
# Visits of which a card tells more than their line: a record takes longer the longer its day was.
# Our own judgement.
_CARD_RECORDS = 4
# Jobs of which a plate is said that are looked at for it. Our own judgement.
_PLATES = 40


_PACKS = (ev.PackOpened, ev.PackWeighed)

# Bytes of a file read at a time: after each it is said how far it is.
_PIECE = 1 << 20


def unheard(_done: int, _of: int) -> None:
    """Where nobody waits to hear how far it is."""


class Attachment(Struct, frozen=True):
    """A file on this computer: its whole path, the SHA-256 of what is in it, photo or file."""

    path: str
    sha256: str
    what: str


class _Loaded(Struct, frozen=True):
    """Rows as written and what they fold to; shifts with what others measured at their place."""

    rows: list[Row]
    jobs: dict[str, Job]
    shifts: dict[str, Shift]


class Traced(Struct, frozen=True):
    """A record with what it is made of: the job's fold, and rows as written (`Shop.rows`)."""

    record: Record
    job: Job
    rows: list[Row]


class Shop:
    """Lists, records and days of one log.

    Args:
        log: the log.
        rest_place: (air in C, relative humidity in percent) where rests are taken; None: where
            the work is.
        closed: when the shop is closed, so that no visit falls on such a day.
        library: of the same log, where there is one already; it knows what the bench has folded.
    """

    def __init__(
        self,
        log: Log,
        rest_place: tuple[float, float] | None = None,
        closed: Closed = NEVER_CLOSED,
        library: Library | None = None,
    ) -> None:
        self.log = log
        self._from_shop: FromShop | None = None
        self.closed = closed
        self._rest_place = (
            None if rest_place is None else ev.ReadingTaken(air_c=rest_place[0], rh=rest_place[1])
        )
        self._library = library
        # Job -> the shifts that were read of the log for it, and which, as of which row.
        self._older: dict[str, tuple[tuple[frozenset[str], int], dict[str, Shift]]] = {}

    @property
    def library(self) -> Library:
        """What is known of the log as a whole."""
        if self._library is None:
            from cartclock.engine.store.library import Library
            from cartclock.engine.store.views import VIEWS

            self._library = Library(self.log, VIEWS)
        return self._library

    def jobs(self, *, open_only: bool = False) -> list[JobSummary]:
        """The jobs of this cart by number; those whose opening was struck are left out."""
        found = [
            job
            for job in self.log.job_summaries()
            if job.number > 0 and not (open_only and job.closed_us is not None)
        ]
        return sorted(found, key=lambda job: (job.number, job.opened_us))

    def imported(self, beginning: str = "") -> list[JobSummary]:
        """The jobs of other carts that were imported and whose ids begin so, by number."""
        from cartclock.engine.store.imported import every_imported, summary_of

        return [summary_of(one) for one in every_imported(self.log, beginning)]

    def _imported_numbered(self, number: int) -> list[JobSummary]:
        """The imported jobs that have this number on their own carts."""
        from cartclock.engine.store.imported import imported_numbered, summary_of

        return [summary_of(one) for one in imported_numbered(self.log, number)]

    def _elsewhere(self, summary: JobSummary) -> JobImported | None:
        """What says that a job was imported; None of this log's own."""
        if self.log.summaries.is_own(summary.job):
            return None
        from cartclock.engine.store.imported import imported

        return imported(self.log, summary.job)

    @property
    def past(self) -> Past:
        """How it went before."""
        from cartclock.engine.desk.past import Past

        return Past(self.library)

    def forget(self, refs: Collection[str]) -> None:
        """Deletes sealed texts as `Past.forget` does, also from what is kept here. Raises
        StoreFault.
        """
        self.past.forget(refs)
        self._older.clear()

    def has(self, job: str) -> bool:
        """True if the log has a job of that id, its own or imported, and its opening stands."""
        return bool(job) and (bool(self.log.summaries.jobs_beginning(job)) or self.is_imported(job))

    def is_imported(self, job: str) -> bool:
        """True of the id of a job of another cart that was imported."""
        if self.log.summaries.is_own(job):
            return False
        from cartclock.engine.store.imported import imported

        return imported(self.log, job) is not None

    def next_number(self) -> int:
        """The number of the next job: one more than any that was ever given."""
        given = [self.log.summaries.greatest_number()]
        # A struck opening can be restored, and then its number must still be its own.
        struck = self.log.summaries.struck_jobs()
        if struck:
            rows = self.log.rows_of(struck, ())
            given += [r.event.number for r in rows if isinstance(r.event, ev.JobOpened)]
        return max(given) + 1

    def recent(
        self, worker: str, now_us: Instant, days: int = 15
    ) -> tuple[dict[str, Shift], dict[str, Job]]:
        """The worker's shifts of the last days, and the jobs worked in them, by id."""
        from_us = now_us - days * _DAY_US
        begun = self.log.summaries.shifts_begun(from_us, None, worker)
        loaded = self._whole((), {shift.shift for shift in begun}, now_us)
        return loaded.shifts, loaded.jobs

    def acclimatization(
        self, worker: str, now_us: Instant, zone: str, said_days: int | None = None
    ) -> Acclimatization:
        """Whether a worker is used to the heat on the day of `now_us` in that zone.

        said_days: what the worker answers now, 0 to 14; None: the newest answer of the log.
        """
        from cartclock.engine.body.acclimatization import (
            Answered,
            acclimatization,
            answered,
            hot_days,
        )

        shifts, jobs = self.recent(worker, now_us)
        here = local(now_us, zone)
        today = datetime.date(here.year, here.month, here.day)
        first_us = self.log.summaries.first_on_us(worker)
        since = local(Instant(now_us if first_us is None else first_us), zone)
        answer = answered(shifts.values())
        if said_days is not None:
            answer = Answered(ev.HotDaysSaid(said_days), today)
        return acclimatization(
            hot_days(shifts.values(), jobs, now_us),
            today,
            answer,
            datetime.date(since.year, since.month, since.day),
        )

    @property
    def rest_place(self) -> ev.ReadingTaken | None:
        """Climate where rests are taken; None: where the work is."""
        return self._rest_place

    def find(self, handle: str) -> JobSummary:
        """The job of a number or of the beginning of its UUID, at least four characters; an
        imported one goes by the number it has on its own cart where no job of this log has it.
        "last" is the one opened last at this cart.

        Raises Refused, naming what there is, if it is none or not the only one.
        """
        asked, among = handle.strip().lower(), self.log.summaries
        if asked == "last" and (newest_opened := among.newest_opened()) is not None:
            return newest_opened
        found = []
        # Python reads no number of thousands of digits, and no job has one of twenty.
        short = asked.isdecimal() and len(asked) <= _DIGITS
        number = int(asked) if short and int(asked) <= _GREATEST else 0
        if number:
            found = among.jobs_numbered(number)
        if not found and len(asked) >= _PREFIX and re.fullmatch("[0-9a-f-]+", asked):
            found = among.jobs_beginning(asked)
            found += self.imported(asked)
        if not found and number:
            # A number is this cart's own; another's counts where none of these has it.
            found = self._imported_numbered(number)
        if len(found) == 1:
            return found[0]
        jobs = self.jobs()
        shown = cropped(handle.strip() if handle.isprintable() else repr(handle), _SHOWN_CELLS)
        if found:
            ids = ", ".join(job.job for job in found[:_NAMED])
            raise Refused(f"{len(found)} jobs go by {shown}: {ids}. Write more of the id.")
        if not jobs:
            raise Refused(f"There is no job {shown}: this log has no jobs yet.")
        named = ", ".join(f"{job.number} ({job.vehicle})" for job in jobs[-_NAMED:])
        newest = "The newest are" if len(jobs) > _NAMED else "There are"
        more = " cartclock jobs lists them." if len(jobs) > _NAMED else ""
        if len(jobs) == 1:
            newest = "There is only"
        raise Refused(f"There is no job {shown}. {newest} {named}.{more}")

    def record(self, handle: str, now_us: Instant) -> Record:
        """The record of a job as it stands; raises Refused like `find`."""
        return self.traced(handle, now_us).record

    def examples(self, handle: str, now_us: Instant) -> tuple[str, ...]:
        """What of the plan of a job is still the starter's and from no label, a sentence each, and
        what was laid by such lengths before they were others; raises Refused like `find`.
        """
        from cartclock.engine.store.plan_file.starters import examples

        summary = self.find(handle)
        job = self._around(summary, now_us).jobs[summary.job]
        laid = {(one.stage, one.version): job.stage_of(one) for one in job.stints}
        before = [stage for stage in laid.values() if stage not in job.stages]
        return examples(replace(job.opened.plan, stages=(*job.stages, *before)))

    def rows(self, handle: str, now_us: Instant) -> list[Row]:
        """The rows, as written, that a record is made of, those of its packs among them.

        Raises Refused like `find`.
        """
        summary = self.find(handle)
        loaded = self._around(summary, now_us)
        if self._elsewhere(summary) is not None:
            return loaded.rows
        return _together(loaded.rows, self._pack_rows(loaded.jobs[summary.job], loaded.rows))

    def traced(self, handle: str, now_us: Instant) -> Traced:
        """The record of a job with what it is made of; raises Refused like `find`."""
        from cartclock.engine.record.record import Proof

        summary = self.find(handle)
        loaded = self._around(summary, now_us)
        job = loaded.jobs[summary.job]
        elsewhere = self._elsewhere(summary)
        if elsewhere is not None:
            own = elsewhere.parts[0]
            proof, told = Proof(own.seq + 1, own.digest), pack_log(believed_rows(loaded.rows))
            then_us = elsewhere.as_of_us
            made = self._made_of(loaded, summary.job, then_us, proof, told)
            return Traced(made, job, loaded.rows)
        head = self.log.head
        proof = Proof(head.seq + 1, head.digest)
        packs = self._pack_rows(job, loaded.rows)
        told = pack_log(believed_rows(packs))
        record = self._made_of(loaded, summary.job, now_us, proof, told)
        return Traced(record, job, _together(loaded.rows, packs))

    def packs(self, job: Job) -> PackLog:
        """The packs that what a job used came from."""
        return pack_log(believed_rows(self._pack_rows(job, ())))

    def _pack_rows(self, job: Job, rows: Sequence[Row]) -> list[Row]:
        """The rows, as written, that say which packs a job used, now and as it was told before; of
        one that was taken over also those of the carts before, as far as they came with it.

        rows: of the job, as written. Where nothing is known yet of the log as a whole, the rows
        of every pack there ever was, because one job's record is made sooner by them.
        """
        if self._library is None:
            last = self.log.head.seq
            packs = self.log.rows_of_kinds(_PACKS)
            return [*self._packs_before(job), *(row for row in packs if row.seq <= last)]
        from cartclock.engine.store.views.packs import PACKS

        own = [*rows_told(job), *(row for row in rows if row.job == job.id)]
        times = [job.opened_us, *(row.at_us for row in own)]
        times += [row.event.to_us for row in rows if isinstance(row.event, ev.PressMoved)]
        products = {product.id for product in job.opened.plan.products}
        for row in own:
            match row.event:
                case ev.ProductUsed(amounts=amounts):
                    products |= amounts.keys()
                case ev.UseCorrected(product):
                    products.add(product)
        found = PACKS.in_force(self._library, products, min(times), max(times))
        return [*self._packs_before(job), *self.log.whole_presses(found)]

    def _packs_before(self, job: Job) -> list[Row]:
        """The packs of the carts that had a job before this one, as they came with it."""
        if not job.before:
            return []
        taken = self.log.taken_row(job.id)
        there = [] if taken is None else self.log.taken_over(taken)
        presses = {row.press for row in there if isinstance(row.event, _PACKS)}
        return [row for row in there if row.press in presses or row.corrects in presses]

    def told_finishes(
        self, job: str, worker: str, of: Foreseen, now_us: Instant
    ) -> tuple[ToldFinish, ...]:
        """When an open job would be ready, as it was told over the worker's newest shift on it, or
        over the one that is on the clock.

        of: what is ahead now. Raises Refused like `find`.
        """
        from cartclock.engine.ahead.told import told_at, told_finishes

        summary = self.find(job)
        if self._elsewhere(summary) is not None:
            return ()
        loaded = self._around(summary, now_us)
        mine = [
            shift
            for shift in loaded.shifts.values()
            if shift.worker == worker and (shift.on_clock or job in served(shift, now_us))
        ]
        if not mine:
            return ()
        shift = max(mine, key=lambda one: one.on_us)
        from_us = max(shift.on_us, loaded.jobs[job].opened_us)
        to_us = now_us if shift.off_us is None else shift.off_us
        return told_finishes(job, worker, loaded.rows, of, told_at(from_us, to_us))

    def vehicle_card(self, job: str, now_us: Instant) -> VehicleCard:
        """The card of the vehicle of a job, made of that job and the newest of its others.

        job: its id. Raises Refused where the job is not read yet.
        """
        from cartclock.engine.history.answers import newest_first
        from cartclock.engine.history.vehicle_card import vehicle_card
        from cartclock.engine.record.record import kept

        own = self.record(job, now_us)
        plate = kept(own.plate)
        known = dict((*self.seen_before(own.vehicle), *self.with_plate(plate)))
        if job not in known:
            raise Refused("That job is still to be read; its record is there already.")
        alike = sorted(known.items(), key=lambda one: newest_first(one[1]), reverse=True)
        read = {job, *[id_ for id_, _line in alike if id_ != job][: _CARD_RECORDS - 1]}
        records = [
            own if id_ == job else self.record(id_, now_us) for id_, _line in alike if id_ in read
        ]
        return vehicle_card(alike, records, now_us, plate)

    def seen_before(self, vehicle: str) -> tuple[tuple[str, JobLine], ...]:
        """Jobs, with their ids, on a vehicle of that name, the newest first."""
        from cartclock.engine.history.answers import Sought

        name = vehicle.strip().casefold()
        said = [word for word in name.split() if any(sign.isalnum() for sign in word)]
        found = self.past.jobs(Sought(words=" ".join(said)))
        return tuple((one.job, one.line) for one in found if one.line.vehicle.casefold() == name)

    def with_plate(self, plate: str) -> tuple[tuple[str, JobLine], ...]:
        """The newest jobs, with their ids, on a vehicle with that plate, the newest first; blanks,
        hyphens and capitals make no difference.
        """
        from cartclock.engine.history.answers import Sought
        from cartclock.engine.store.imported import imported

        wanted = plate_letters(plate)
        if not wanted:
            return ()
        # Of some of them it may only be said in a note.
        said = [word for word in plate.split() if any(sign.isalnum() for sign in word)]
        found = self.past.jobs(Sought(words=" ".join(said)), _PLATES)
        own = [one.job for one in found if not one.line.origin]
        jobs = self._load(own, ()).jobs
        for one in found:
            elsewhere = imported(self.log, one.job) if one.line.origin else None
            if elsewhere is not None:
                jobs[one.job] = self._imported(elsewhere).jobs[one.job]
        return tuple(
            (one.job, one.line)
            for one in found
            if (sealed := jobs[one.job].opened.plate) is not None
            and plate_letters(self.log.private_text(sealed.ref) or "") == wanted
        )

    def record_of(self, job: str, rows: Sequence[Row], now_us: Instant) -> Record | None:
        """The record of a job by some of the rows of `rows`, without proof; None if by them it
        was never opened."""
        from cartclock.engine.record.record import Proof

        loaded = _folded(rows, {row.job for row in rows if row.job}, {row.shift for row in rows})
        if job not in loaded.jobs:
            return None
        return self._made_of(loaded, job, now_us, Proof(), pack_log(believed_rows(rows)))

    def _around(self, summary: JobSummary, now_us: Instant) -> _Loaded:
        """A job with the shifts it was worked or called for in, and their other jobs."""
        elsewhere = self._elsewhere(summary)
        if elsewhere is not None:
            return self._imported(elsewhere)
        shift_ids = self.log.shifts_on(summary.job)
        # A call for the job in a shift that never touched it leaves no row of the job.
        end_us = now_us if summary.closed_us is None else summary.closed_us
        around = self.log.summaries.shifts_within(summary.opened_us, end_us)
        shift_ids |= {shift.shift for shift in around}
        loaded = self._whole({summary.job}, shift_ids, now_us)
        if not loaded.jobs[summary.job].before:
            return loaded
        return self._with_others(loaded, summary.job)

    def _with_others(self, loaded: _Loaded, job: str) -> _Loaded:
        """With the shifts in which other carts worked on a job before it was taken over."""
        taken = self.log.taken_row(job)
        there = [] if taken is None else self.log.taken_over(taken)
        shift_ids = {row.shift for row in there if row.job == job} - {""}
        job_ids = {row.job for row in there if row.shift in shift_ids} - {""}
        rows = {row.identity: row for row in (*there, *loaded.rows)}
        return _folded(
            sorted(rows.values(), key=lambda row: row.written),
            {*loaded.jobs, *job_ids},
            {*loaded.shifts, *shift_ids},
        )

    def _imported(self, said: JobImported) -> _Loaded:
        """What an imported job came with."""
        from cartclock.engine.store.imported import fold_imported

        found = fold_imported(said.job, self.log.imported_rows(said.parts), said.as_of_us)
        return _Loaded(found.rows, found.jobs, found.shifts)

    def _made_of(
        self, loaded: _Loaded, job: str, now_us: Instant, proof: Proof, packs: PackLog
    ) -> Record:
        from cartclock.engine.products.consumption import consumed
        from cartclock.engine.record.record import record

        worked = {s for s, shift in loaded.shifts.items() if job in served(shift, now_us)}
        rows = [
            row
            for row in loaded.rows
            if row.job == job or row.shift in worked or isinstance(row.event, ev.CORRECTIONS)
        ]
        return record(
            loaded.jobs[job],
            {shift: loaded.shifts[shift] for shift in worked},
            loaded.jobs,
            now_us,
            rows=rows,
            text=self.log.private_text,
            proof=proof,
            rest_place=self._rest_place,
            products=consumed(loaded.jobs[job], packs),
            lots=packs.lot_at,
            closed=self.closed,
        )

    def handed_out(self, handle: str, paper: str) -> tuple[Entry, ...]:
        """Every calendar entry that earlier papers of a name held; raises Refused like `find`."""
        from cartclock.engine.after.entries import handed_out

        summary = self.find(handle)
        said = self._elsewhere(summary)
        rows = self._load({summary.job}, ()).rows if said is None else self._imported(said).rows
        return handed_out(summary.job, rows, paper, self.closed)

    def attachment(self, path: str, told: Callable[[int, int], object] = unheard) -> Attachment:
        """The file at `path` ("~" is the home folder, quotes around it are dropped).

        Nothing of the log is asked, so that a thread of its own can wait for the file.

        told: hears how many bytes were read, of how many; what it raises ends the reading.

        Raises Refused if there is none, it is too big or it cannot be read.
        """
        # On use, as wherever something is digested (`codec.sha256_of`).
        from hashlib import sha256

        from cartclock.engine.vehicle.picture import PHOTOS

        text = path.strip()
        if len(text) > 1 and text[0] == text[-1] and text[0] in "'\"":
            text = text[1:-1]
        try:
            file = Path(text).expanduser().absolute()
            # A pipe or a device would never come to an end.
            if not file.is_file():
                said = "is no file" if file.exists() else "is not there"
                raise Refused(f"{file.name or text} {said}; nothing was written.")
            size = file.stat().st_size
            many = size // 1_000_000
            if many >= MOST_ATTACHED_MB:
                raise Refused(
                    f"{file.name} has {many} MB; at most {MOST_ATTACHED_MB} are taken, "
                    "nothing was written."
                )
            with file.open("rb") as content:
                digest = sha256()
                told(0, size)
                while piece := content.read(_PIECE):
                    digest.update(piece)
                    told(content.tell(), size)
        except OSError as why:
            reason = why.strerror or "it cannot be opened"
            raise Refused(f"That path cannot be read: {reason}.") from None
        except (ValueError, RuntimeError):
            raise Refused("That is no path of this computer.") from None
        what = "photo" if file.suffix.lower() in PHOTOS else "file"
        return Attachment(str(file), digest.hexdigest(), what)

    def usual(self, worker: str, step: StepKey) -> Usual | None:
        """What a work step usually takes the worker, over the newest jobs of the log; where too
        little was measured there, what it took on other carts of the shop (`Usual.whose`). None if
        that is too little as well."""
        from cartclock.engine.joined.known import FromShop
        from cartclock.engine.store.views.lessons import LESSONS

        own = LESSONS.usual(self.library, worker, step)
        if own is not None:
            return own
        if self._from_shop is None:
            self._from_shop = FromShop(self.log.path)
        return self._from_shop.known.usual(worker, step)

    def lessons(self, worker: str, plan: str, besides: str = "") -> tuple[JobLessons, ...]:
        """What the newest forty jobs taught a worker, the newest first: those of the plan of that
        name, and where they are fewer, others.

        besides: id of a job that is left out, because its fold is in hand.
        """
        from cartclock.engine.store.views.lessons import LESSONS

        return LESSONS.of_worker(self.library, worker, plan, besides)

    def interrupted(self, worker: str, besides: str = "") -> Interrupted:
        """Other work and own rests of a worker over the newest forty jobs that worker had in hand.

        besides: as in `lessons`.
        """
        from cartclock.engine.store.views.interruptions import INTERRUPTIONS

        return INTERRUPTIONS.of_worker(self.library, worker, besides)

    def hands_on(
        self, job: Job, at_hand: Mapping[str, Shift], now_us: Instant
    ) -> dict[str, Length]:
        """Stage of a job -> hands on it so far, of everybody.

        at_hand: shifts that need not be read, by id.
        """
        from cartclock.engine.hours.hands_on import hands_on

        older = frozenset(job.shifts) - at_hand.keys()
        wanted = (older, self.log.head.seq)
        if older and (job.id not in self._older or self._older[job.id][0] != wanted):
            self._older[job.id] = (wanted, self._load((), older).shifts)
        known = {**at_hand, **(self._older[job.id][1] if older else {})}
        return hands_on(job.id, [known[id_] for id_ in job.shifts if id_ in known], now_us)

    def stock(self) -> Stock:
        """What is left of each product, over all jobs of the log."""
        from cartclock.engine.store.views.stocked import STOCKED

        return STOCKED.stock(self.library)

    def day(self, date: str, zone: str, now_us: Instant) -> Day:
        """A calendar date in a zone, by ISO 8601, or today or yesterday; raises Refused for what
        is neither.
        """
        from cartclock.engine.record.day import day

        try:
            today = local(now_us, zone).date()
        except ValueError as fault:
            raise Refused(f"{fault}.") from None
        wanted = day_said(date, today)
        if wanted is None:
            raise Refused(f"{date!r} is not a date; write it like 2026-10-24, today or yesterday.")

        def falls_here(at_us: Instant | None) -> bool:
            return at_us is not None and local(at_us, zone).date() == wanted

        # No zone is a day away from UTC.
        midnight_us = (wanted.toordinal() - _EPOCH.toordinal()) * _DAY_US
        around = (midnight_us - _DAY_US, midnight_us + 2 * _DAY_US)
        shift_ids = {
            s.shift for s in self.log.summaries.shifts_begun(*around) if falls_here(s.on_us)
        }
        job_ids = {
            j.job
            for j in self.log.summaries.jobs_turned(*around)
            if falls_here(j.opened_us) or falls_here(j.closed_us)
        }
        loaded = self._whole(job_ids, shift_ids, now_us)
        return day(
            wanted.isoformat(),
            zone,
            loaded.shifts,
            loaded.jobs,
            now_us,
            self._rest_place,
            loaded.rows,
        )

    def _whole(
        self, job_ids: Collection[str], shift_ids: Collection[str], now_us: Instant
    ) -> _Loaded:
        """These jobs and shifts, and every job that the shifts were worked on."""
        loaded = self._load(job_ids, shift_ids)
        touched = {job for shift in loaded.shifts.values() for job in served(shift, now_us)}
        if not touched <= loaded.jobs.keys():
            loaded = self._load(touched | set(job_ids), shift_ids)
        return loaded

    def _load(self, job_ids: Collection[str], shift_ids: Collection[str]) -> _Loaded:
        last = self.log.head.seq
        beside = self.log.summaries.beside(shift_ids)
        found = self.log.rows_of(job_ids, {*shift_ids, *beside})
        own = self.log.origin
        rows = [row for row in found if row.origin != own or row.seq <= last]
        return _folded(rows, job_ids, shift_ids, beside)


def _together(*of: Iterable[Row]) -> list[Row]:
    """Rows in the order written, each once."""
    rows = {row.written: row for some in of for row in some}
    return [rows[written] for written in sorted(rows)]


def _folded(
    rows: Sequence[Row],
    job_ids: Collection[str],
    shift_ids: Collection[str],
    beside: Collection[str] = (),
) -> _Loaded:
    """What these rows fold to; of shifts beside only what they measured for the others."""
    wanted = set(shift_ids) - {""}
    found = folded(believed_rows(rows), job_ids, {*wanted, *beside})
    shifts = with_all_readings(found.shifts)
    return _Loaded(list(rows), found.jobs, {id_: shifts[id_] for id_ in shifts if id_ in wanted})
