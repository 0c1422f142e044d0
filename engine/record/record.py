"""The record of a job: everything that is true of it, decided here and only set in type later.

The log is the evidence; a record is what it says at one moment. Times are instants and
lengths exact microseconds; rounding is for print only.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.after.aftercare import Care, CureEnd, Recoat, cares, cures, recoats
from cartclock.engine.after.dates import ToldDate, told_dates
from cartclock.engine.after.visits import NEVER_CLOSED, Closed
from cartclock.engine.body.course import Course, course
from cartclock.engine.dates import spoken
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job, JobState
from cartclock.engine.facts.rows import Row, believed_rows
from cartclock.engine.facts.sealed import FORGOTTEN, Sealed
from cartclock.engine.facts.shift import Shift
from cartclock.engine.facts.stage_changes import care_change, changes_text, handover_change
from cartclock.engine.facts.words import row_text, sections_text, source_text
from cartclock.engine.films.before_coat import layer_called
from cartclock.engine.films.margins import LayerBegun, layers_begun
from cartclock.engine.hours.account import (
    Account,
    Share,
    TakenReading,
    account,
    added,
    readings,
    served,
)
from cartclock.engine.products.consumption import Consumed
from cartclock.engine.record.applied import Asked, StageRecord, Used, asked, stages, used
from cartclock.engine.record.coated import Coated, Lots, coated, no_lot
from cartclock.engine.record.dealings import Dealing, dealings, keys_taker
from cartclock.engine.record.exposure import ExposureRecord, exposure_record
from cartclock.engine.record.trail import Trail, trail
from cartclock.engine.times import Instant, Length
from cartclock.engine.vehicle.covered import Covered, body_shape, covered
from cartclock.engine.vehicle.incidents import Incident, incidents
from cartclock.engine.vehicle.vehicle import VehicleRecord, vehicle_record

RECKONING = 1
"""Version of the rules by which a record is reckoned from a log; one more with each change."""

TextOf = Callable[[str], str | None]


class Proof(Struct, frozen=True):
    """Which log a record was made from: so many rows, the newest one with this digest."""

    rows: int = 0
    digest: str = ""


NotedKind = Literal[
    "note", "agreement", "amended", "damage", "paint", "file", "paper", "before the coat", "fresh",
    "opened again", "plan",
]  # fmt: skip


class Noted(Struct, frozen=True):
    """Something written down.

    Fields:
        at_us, worker: when and by whom.
        kind: note, agreement, damage, paint, file, paper, what was read before the coat, a fresh
            pad or towel, a change of the plan, or that the job was closed and opened again.
        where: stage, section or panel; "" if of the whole job.
        text: in words; private texts that were forgotten say so.
        private: True if it must not go on the customer's paper.
    """

    at_us: Instant
    worker: str
    kind: NotedKind
    where: str
    text: str
    private: bool


class Record(Struct, frozen=True):
    """Everything that is true of a job at `now_us`.

    Fields:
        job, number, vehicle, plan, state, zone: which job; times are told in `zone`.
        customer, plate, phone: private texts; "" if not taken, "forgotten" if deleted.
        price: agreed price as a decimal text; "" if none.
        promised_us, opened_us, closed_us: instants; None if there is none.
        accounts: shifts it was worked in, whole, in order.
        shares: these shifts added up, this job's stages in the plan's order.
        readings: of these shifts.
        exposures: heat, rests, vibration and noise of these shifts, in order.
        stages, windows, used, recoats, cures, cares, noted: see there.
        condition: how the vehicle arrived, what its paint measured, what was agreed.
        trail: what was overruled and corrected, and what the clocks did.
        proof: the log it was made from.
        reckoning: version of the rules, `RECKONING`.
        gate: the climate in which every layer of a coat was begun, in order.
        products: what was used by lot and cost; () if the packs were not looked at.
        plan_sha256: digest of the plan file's text.
        dates: from when on it may be handed over, touched, get wet, as every paper tells them.
        courses: the heat of these shifts over the clock, in order.
        coated: what was applied where, for every layer on every section.
        shape: body of the vehicle, one of `engine.plan.shapes.SHAPES`; "" if nobody told.
        covers: what its sections and the places of damage go over, where something tells.
        incidents: what went wrong, and what was done about it.
        dealings: what passed between the shop and its customer.
        handed_to: who took the keys; "" if nobody is named, "forgotten" if deleted.
    """

    job: str
    number: int
    vehicle: str
    plan: str
    state: JobState
    zone: str
    customer: str
    plate: str
    price: str
    promised_us: Instant | None
    opened_us: Instant
    closed_us: Instant | None
    now_us: Instant
    accounts: tuple[Account, ...]
    shares: tuple[Share, ...]
    readings: tuple[TakenReading, ...]
    exposures: tuple[ExposureRecord, ...]
    stages: tuple[StageRecord, ...]
    windows: tuple[Asked, ...]
    used: tuple[Used, ...]
    recoats: tuple[Recoat, ...]
    cures: tuple[CureEnd, ...]
    cares: tuple[Care, ...]
    noted: tuple[Noted, ...]
    condition: VehicleRecord
    trail: Trail
    proof: Proof
    reckoning: int
    gate: tuple[LayerBegun, ...] = ()
    products: tuple[Consumed, ...] = ()
    plan_sha256: str = ""
    dates: tuple[ToldDate, ...] = ()
    courses: tuple[Course, ...] = ()
    coated: tuple[Coated, ...] = ()
    phone: str = ""
    shape: str = ""
    covers: tuple[Covered, ...] = ()

    def places_of(self, name: str) -> tuple[str, ...]:
        """The places of the vehicle's plan view that a section or a place of damage goes over."""
        return next((one.places for one in self.covers if one.name == name), ())

    incidents: tuple[Incident, ...] = ()
    dealings: tuple[Dealing, ...] = ()
    handed_to: str = ""

    @property
    def clock_us(self) -> Length:
        """Time on the clock of all its shifts, microseconds; equal to the sum of `shares` but what
        was told to be off."""
        return Length(sum(account.clock_us for account in self.accounts))

    @property
    def own_us(self) -> Length:
        """What of that went to this job: hands on, standing by, other work for it."""
        return Length(sum(share.length_us for share in self.shares if share.job == self.job))


def _forgotten(ref: str) -> str | None:
    return None


def record(
    job: Job,
    shifts: Mapping[str, Shift],
    jobs: Mapping[str, Job],
    now_us: Instant,
    *,
    rows: Sequence[Row] = (),
    text: TextOf = _forgotten,
    rest_place: ev.ReadingTaken | None = None,
    products: tuple[Consumed, ...] = (),
    lots: Lots = no_lot,
    proof: Proof = Proof(),  # noqa: B008  # frozen, so one for all is harmless
    closed: Closed = NEVER_CLOSED,
) -> Record:
    """The record of `job` at `now_us`.

    shifts: at least those the job was worked in. jobs: at least all jobs of these shifts.
    rows: the log's rows of the job and of these shifts, corrections included, as written;
    without them nothing of skips, redoing, splits and the trail is told.
    text: gives a private text by its reference, None if it was forgotten.
    products: what it used by lot and cost (`engine.products.consumption.consumed`).
    lots: the lot in force of a product (`engine.products.stock.PackLog.lot_at`).
    rest_place: climate where breaks are taken; None: where the work is.
    closed: when the shop is; visits are moved to its next open day.
    """
    opened = job.opened
    worked = sorted(
        (s for s in shifts.values() if job.id in served(s, now_us)),
        key=lambda s: (s.on_us, s.id),
    )
    accounts = tuple(_own(account(shift, jobs, now_us), job.id) for shift in worked)
    rank = {stage.name: index for index, stage in enumerate(job.stages)}
    shares = sorted(
        added(share for one in accounts for share in one.shares),
        key=lambda share: rank.get(share.stage, -1) if share.job == job.id else -1,
    )
    taken = readings(worked)
    cared = cares(job, closed)
    aside = {odd.row.identity for odd in job.odd}
    own = [
        row
        for row in believed_rows(rows)
        # What was pressed where the job no longer was is told apart (`Trail.aside`).
        if row.job == job.id and row.tenure and row.identity not in aside
    ]
    done, windows = stages(job, own), asked(job, own, now_us)
    return Record(
        job=job.id,
        number=opened.number,
        vehicle=opened.vehicle,
        plan=opened.plan.name,
        state=job.state,
        zone=opened.zone,
        customer=_said(opened.customer, text),
        plate=_said(opened.plate, text),
        price=opened.price or "",
        promised_us=opened.promised_us,
        opened_us=job.opened_us,
        closed_us=job.closed_us,
        now_us=now_us,
        accounts=accounts,
        shares=tuple(shares),
        readings=taken,
        exposures=tuple(exposure_record(shift, jobs, now_us, rest_place) for shift in worked),
        stages=done,
        windows=windows,
        used=used(job),
        recoats=recoats(job),
        cures=cures(job, taken),
        cares=cared,
        noted=tuple(
            sorted(
                (
                    *(n for row in job.facts for n in _noted(job, row, text)),
                    *_opened_again(own, opened.zone),
                ),
                key=lambda noted: noted.at_us,
            )
        ),
        condition=vehicle_record(job, lambda sealed: _said(sealed, text)),
        trail=trail(job, worked, jobs, rows),
        proof=proof,
        reckoning=RECKONING,
        gate=layers_begun(job, worked),
        products=products,
        plan_sha256=opened.plan_sha256,
        dates=told_dates(job, taken, cared, now_us),
        courses=tuple(course(shift, jobs, now_us, rest_place) for shift in worked),
        coated=coated(job, worked, done, windows, lots),
        phone=_said(opened.phone, text),
        shape=body_shape(job),
        covers=covered(job),
        incidents=tuple(incidents(job, lambda sealed: _said(sealed, text)).values()),
        dealings=dealings(job, lambda sealed: _said(sealed, text)),
        handed_to=_said(keys_taker(job), text),
    )


def _own(account: Account, job: str) -> Account:
    """Of the time that went to another job only that it did, and of its films nothing."""
    pieces = (
        piece if piece.job in ("", job) else replace(piece, stage="", sections=())
        for piece in account.pieces
    )
    shares = (
        share if share.job in ("", job) else replace(share, stage="") for share in account.shares
    )
    left = tuple(film for film in account.left if film.job == job)
    return replace(account, pieces=tuple(pieces), shares=added(shares), left=left)


def _said(sealed: Sealed | None, text: TextOf) -> str:
    if sealed is None:
        return ""
    found = text(sealed.ref)
    return FORGOTTEN if found is None else found


def kept(text: str) -> str:
    """A private text as a record has it, "" if it was forgotten."""
    return "" if text == FORGOTTEN else text


def _opened_again(own: Sequence[Row], zone: str) -> Iterable[Noted]:
    """Each time the job was opened again, with the close before it and the reason."""
    closed = ""
    for row in own:
        match row.event:
            case ev.JobClosed():
                closed = f"closed {spoken(row.at_us, zone)}"
            case ev.JobReopened(why):
                said = f"{closed}; {why or 'no reason given'}"
                yield Noted(row.at_us, row.worker, "opened again", "", said, True)


def _noted(job: Job, row: Row, text: TextOf) -> list[Noted]:
    def note(
        kind: NotedKind,
        where: str,
        said: str,
        private: bool = False,
    ) -> list[Noted]:
        return [Noted(row.at_us, row.worker, kind, where, said, private)]

    match row.event:
        case ev.NoteWritten(sealed, stage, section, private):
            where = ", ".join(part for part in (stage, section) if part)
            return note("note", where, _said(sealed, text), private)
        case ev.AgreementNoted(sealed, price):
            adds = "" if price is None else f" (price {price})"
            return note("agreement", "", _said(sealed, text) + adds)
        case ev.JobAmended():
            return note("amended", "", row_text(row, {job.id: job}), True)
        case ev.DamageNoted(panel, what, sealed_note):
            words = _said(sealed_note, text)
            return note("damage", panel, f"{what}: {words}" if words else what)
        case ev.PaintRead(panel, when, low_um, high_um):
            ends = [f"{um:g}" for um in (low_um, high_um) if um is not None]
            micrometres = f"{' to '.join(dict.fromkeys(ends))} micrometres total build"
            return note("paint", panel, f"{when}: {micrometres if ends else 'not measurable'}")
        case ev.FileAttached(_sha256, path, what, section, shows):
            kind = f"{what}, {shows}" if shows else what
            return note("file", section, f"{kind}: {_said(path, text)}", True)
        case ev.BeforeCoatRead(stage, turn, said):
            where = layer_called(job, stage, turn.layer)
            told = (sentence.removesuffix(".") for sentence in said)
            return note("before the coat", where, "; ".join(("read", *told)), True)
        case ev.FreshTaken(stage, what, name, sections):
            before = sections_text(sections)
            return note("fresh", stage, f"{what}, {name}, after {before} on the one before", True)
        case ev.StageRevised(was, stage, source):
            changed = f"{changes_text(was, stage)}; {source_text(source)}"
            return note("plan", stage.name, changed, True)
        case ev.StageMoved(stage, after):
            return note("plan", stage, f"moved, {f'behind {after}' if after else 'first'}", True)
        case ev.AftercareRevised(was, care):
            return note("plan", "", f"aftercare, {care.say}: {care_change(was, care)}", True)
        case ev.HandoverRevised(was, handover):
            return note("plan", "", f"hand-over: {handover_change(was, handover)}", True)
        case ev.PaperIssued(paper, revision):
            return note("paper", "", f"{paper}, revision {revision}")
        case _:
            return []
