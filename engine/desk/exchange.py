"""A job written to a file for another cart, and one of another cart taken in.

What is imported stays another cart's: it is looked at, found and printed as a copy, and neither
worked on, nor counted among hours, stock or what was learned (`engine/store/DECISIONS.md`, 9).
"""

from __future__ import annotations

from collections.abc import Iterable
from importlib.metadata import version
from typing import Protocol

from msgspec import Struct

from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.parts import whole_vehicle
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts.events import FeltUnwell, JobImported
from cartclock.engine.facts.job import Job
from cartclock.engine.joined.carts import note_carts
from cartclock.engine.joined.handed import PartThere
from cartclock.engine.store.chain import Progress, nobody
from cartclock.engine.store.codec import PrivateText, seals
from cartclock.engine.store.exchange import job_file
from cartclock.engine.store.exchange.job_file import NOT_IMPORTED, Header, JobFile, no_import
from cartclock.engine.store.exchange.joining import Joining, joining
from cartclock.engine.store.imported import (
    ImportedJob,
    fold_imported,
    imported,
    subject_of,
)
from cartclock.engine.store.log import JobSummary, Log
from cartclock.engine.store.views import VIEWS
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused, Trouble


class Exported(Struct, frozen=True):
    """A job as a file.

    Fields:
        content: of the file.
        job: which job.
        rows: how many rows are in it.
        beside: vehicles of the other jobs whose rows are in it, because they were worked in the
            same shifts.
        texts: how many private texts are in it.
        attached: how many files are named in it, by their digests alone.
    """

    content: bytes
    job: JobSummary
    rows: int
    beside: tuple[str, ...]
    texts: int
    attached: int


class Imported(Struct, frozen=True):
    """What came of an import.

    Fields:
        job: which job.
        rows, texts: how many were new.
        own: True if the job is this log's own.
        older: True if what is here is newer than the file.
        written: False if the file brought nothing new.
    """

    job: JobSummary
    rows: int
    texts: int
    own: bool
    older: bool
    written: bool


def export_job(
    shop: Shop, handle: str, now_us: Instant, private: bool = False, told: Progress = nobody
) -> Exported:
    """A job as a file: all that its record is made of.

    Args:
        handle: as for `Shop.find`.
        now_us: job time now; what is told of the job on the other cart is told as of it.
        private: whether the private texts of the job, not of others, go along.

    Raises Refused like `Shop.find`, and where the log's own rows are not what was written.
    """
    summary = shop.find(handle)
    told("Reading the log", 0.0)
    rows = shop.rows(summary.job, now_us)
    said = None if shop.log.summaries.is_own(summary.job) else imported(shop.log, summary.job)
    head = shop.log.head
    heads = {shop.log.origin: (head.seq, head.digest)}
    if said is not None:
        heads = {one.origin: (one.seq, one.digest) for one in said.parts}
        now_us = said.as_of_us
    elif (taken := shop.log.taken_row(summary.job)) is not None:
        parts = shop.log.parts_taken_over(taken)
        heads |= {one.origin: (one.seq, one.digest) for one in parts}
    found = fold_imported(summary.job, rows, now_us)
    # Which rows, by their numbers; what they say is read as it is stored.
    names = [(row.origin, row.seq, "", "") for row in rows]
    stored = shop.log.stored_rows(job_file.parts_of(sorted(names), heads))
    texts = _texts(shop, summary.job, found) if private else []
    plan = found.jobs[summary.job].opened.plan_sha256
    text = shop.log.plan_text(plan)
    plans = {} if text is None else {plan: text}
    header = Header(
        format=job_file.JOB_FORMAT,
        version=job_file.JOB_VERSION,
        program=version("cartclock"),
        job=summary.job,
        number=summary.number,
        vehicle=summary.vehicle,
        as_of_us=now_us,
        private=private,
        origins=tuple(job_file.parts_of(stored, heads)),
        plans=len(plans),
        texts=len(texts),
    )
    content = job_file.written(header, stored, plans, texts)
    try:
        # A log that is damaged must not be carried on.
        job_file.read(content, told)
    except Refused as why:
        raise Refused(
            f"Nothing was exported: {str(why).removeprefix(NOT_IMPORTED)} "
            "cartclock check-log says what is wrong with the log."
        ) from None
    beside = {job.opened.vehicle for id_, job in found.jobs.items() if id_ != summary.job}
    return Exported(
        content=content,
        job=summary,
        rows=len(stored),
        beside=tuple(sorted(beside)),
        texts=len(texts),
        attached=sum(row.job == summary.job and row.kind == "FileAttached" for row in rows),
    )


def _texts(shop: Shop, job: str, found: ImportedJob) -> list[PrivateText]:
    """The private texts of a job and of no other that are still held, in the order they were
    said."""
    refs = [
        sealed.ref
        for row in found.rows
        # Signs of being unwell are the worker's, and other jobs' texts their customers'.
        if row.job in (job, "") and not isinstance(row.event, FeltUnwell)
        for sealed in seals(row.event)
    ]
    return shop.log.private_texts(dict.fromkeys(refs))


def import_job(bench: Bench, content: bytes, told: Progress = nobody) -> Imported:
    """Takes in a job of another cart, all of it or nothing.

    Raises Refused, saying what stands instead, for a file that is not whole, that this version
    cannot read, or whose rows and the log's are of two pasts; StoreFault if the disk does not take
    it.
    """
    file = job_file.read(content, told)
    new = joining(bench.log, file, told)
    header = file.header
    found = _tried(bench.log, file)
    summary = JobSummary(
        header.job,
        found.opened.number,
        found.opened.vehicle,
        found.opened_us,
        found.closed_us,
        header.as_of_us,
    )
    done = Imported(
        job=summary,
        rows=len(new.stored),
        texts=len(new.texts),
        own=new.own,
        older=new.older,
        written=not (new.nothing or new.older),
    )
    if done.written:
        _write(bench, file, new, summary)
    return done


def _write(bench: Bench, file: JobFile, new: Joining, summary: JobSummary) -> None:
    event = JobImported(
        job=summary.job,
        number=summary.number,
        vehicle=summary.vehicle,
        opened_us=summary.opened_us,
        closed_us=summary.closed_us,
        as_of_us=file.header.as_of_us,
        parts=file.header.origins,
    )
    plans = {sha256: file.plans[sha256] for sha256 in new.plans}
    bench.take_in(event, new.stored, new.texts, plans)


def _tried(log: Log, file: JobFile) -> Job:
    """The job of a file, once everything that will be made of it could be made."""
    job, as_of_us = file.header.job, file.header.as_of_us
    try:
        found = fold_imported(job, file.rows, as_of_us)
        held = {one.ref: one.text for one in file.texts}
        seen = subject_of(found, job, file.stored[0][0], held.get)
        if seen is not None:
            for view in VIEWS:
                if view.imported:
                    list(view.lines(job, view.part(seen)))
            Shop(log).record_of(job, file.rows, as_of_us)
    except Trouble:
        raise
    except Exception as why:  # rows that no rule let pass may break what is made of them anywhere
        raise no_import(
            f"no record can be made of these rows ({type(why).__name__}); have the "
            "other laptop look at its log with cartclock check-log."
        ) from None
    if job not in found.jobs:
        raise no_import("by these rows the job was never opened; export it anew.")
    return found.jobs[job]


class PartsElsewhere(Protocol):
    """A shop that tells the parts of a vehicle, as `engine.joined.holding.HandingShop` does."""

    def parts_there(self, jobs: Iterable[str]) -> tuple[PartThere, ...]:
        """Those of these jobs that other carts have, and what was said to be a part of them."""

    def part_file(self, part: PartThere) -> bytes:
        """The file of one."""


def bring_parts(
    bench: Bench,
    shop: Shop,
    there: PartsElsewhere,
    handle: str,
    called: str,
    told: Progress = nobody,
) -> list[tuple[PartThere, Imported]]:
    """Brings the parts of a vehicle from the shop, as imports do; each with what came of it.

    Args:
        handle: of one of its jobs here.
        called: how the shop calls this cart.

    Raises Refused like `Shop.find` and `import_job`, and what `there` raises.
    """
    found: dict[str, tuple[PartThere, Imported]] = {}
    while True:
        whole = whole_vehicle(shop, handle, bench.now_us)
        jobs = {part.job for part in whole.parts} | set(whole.not_told)
        more = [one for one in there.parts_there(sorted(jobs)) if one.job not in found]
        if not more:
            break
        for one in more:
            found[one.job] = one, import_job(bench, there.part_file(one), told)
    names = {one.origin: one.cart for one, _came in found.values()}
    note_carts(shop.log.path, {**names, shop.log.origin: called})
    return list(found.values())
