"""A job that goes from cart to cart: one cart has it at any time, and its film and clock go on.

What is carried is what an export carries; the press by which a cart goes on with it comes in
together with those rows (`engine/store/DECISIONS.md`, 12).
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.exchange import Exported, export_job
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts.events import JobImported, JobTaken
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import Draft, Row, believed_rows
from cartclock.engine.rules import holding
from cartclock.engine.store.chain import Progress, nobody
from cartclock.engine.store.exchange import job_file
from cartclock.engine.store.exchange.job_file import JobFile
from cartclock.engine.store.exchange.joining import taking
from cartclock.engine.store.imported import fold_imported
from cartclock.engine.trouble import Refused

# As many letters of an identity are said.
SAID_IDENTITY = 8


class TakenOver(Struct, frozen=True):
    """What came of taking a job over.

    Fields:
        job: as it stands here.
        rows: how many rows came with it.
        aside: rows that the cart which had it wrote too late to count.
        written: False if this cart had it already.
    """

    job: Job
    rows: int
    aside: tuple[Row, ...]
    written: bool


def give_by_file(
    bench: Bench, shop: Shop, job: str, to: str, private: bool = False, told: Progress = nobody
) -> Exported:
    """Gives a job to one cart and writes what that cart takes it by; of one that was given to it
    already the file is written anew.

    Args:
        job: its id.
        to: how the identity of the cart begins that may take it.

    Raises Refused, StoreFault.
    """
    if not to:
        raise Refused(
            "A file may be copied, so it names the one cart that may take the job; cartclock "
            "shop who says there how it is called."
        )
    found = bench.jobs.get(job)
    if found is None or found.state != "given" or not to.startswith(found.given_to):
        bench.do(holding.give, job, to, bench.log.origin)
    return export_job(shop, job, bench.now_us, private, told)


def take_by_file(bench: Bench, content: bytes, told: Progress = nobody) -> TakenOver:
    """Goes on with a job of another cart that a file names this one for.

    Taken twice it is here once. Raises Refused where the job was not given to this cart, where two
    logs parted, and where this cart's clock is behind the other's; StoreFault.
    """
    file = job_file.read(content, told)
    job = _folded(file)
    if _has(bench, job):
        return TakenOver(bench.jobs[job.id], 0, (), False)
    if job.state != "given" or not job.given_to:
        raise Refused(
            f"Job {job.opened.number} was not given to this cart; cartclock shop give on the cart "
            "that has it writes the file to take it by."
        )
    return _take(bench, file, job, told)


def _folded(file: JobFile) -> Job:
    id_ = file.header.job
    found = fold_imported(id_, file.rows, file.header.as_of_us).jobs.get(id_)
    if found is None:
        raise Refused("By these rows the job was never opened; have it given anew.")
    return found


def _has(bench: Bench, there: Job) -> bool:
    """Whether this cart went on with the job from where the file leaves off, or later."""
    bench.load({there.id})
    here = bench.jobs.get(there.id)
    return here is not None and here.tenure > there.tenure


def _take(bench: Bench, file: JobFile, job: Job, told: Progress) -> TakenOver:
    """Goes on with the job of a file whose holder let go of it, or is held to have."""
    own = bench.log.origin
    if job.given_to and not own.startswith(job.given_to):
        raise Refused(
            f"Job {job.opened.number} was given to cart {job.given_to[:SAID_IDENTITY]}, and this "
            f"is cart {own[:SAID_IDENTITY]}; take it there."
        )
    new = taking(bench.log, file, told)
    last_us = max(row.entered_us for row in file.rows if row.job == job.id)
    if bench.now_us < last_us:
        raise Refused(
            "The clock of this cart is behind the newest press of the cart that had the job; set "
            "the one that is wrong, then take it."
        )
    head = next(one for one in file.header.origins if one.origin == job.holder)
    summary = JobImported(
        job=job.id,
        number=job.opened.number,
        vehicle=job.opened.vehicle,
        opened_us=job.opened_us,
        closed_us=job.closed_us,
        as_of_us=file.header.as_of_us,
        parts=tuple(one for one in file.header.origins if one.origin != own),
    )
    taken = JobTaken(job.holder, head.seq, head.digest, _number(bench, job.id), job.tenure + 1)
    drafts = (Draft(summary), Draft(taken, job.id))
    plans = {sha256: file.plans[sha256] for sha256 in new.plans}
    bench.take_over(job, drafts, new.stored, new.texts, plans)
    aside = set_aside(file.rows, job.id)
    return TakenOver(bench.jobs[job.id], len(new.stored), aside, True)


def _number(bench: Bench, job: str) -> int:
    """What the job is called here: as before if it was here, else the next number."""
    mine = bench.log.summaries.jobs_beginning(job)
    return mine[0].number if mine else Shop(bench.log, library=bench.library).next_number()


def set_aside(rows: Sequence[Row], job: str) -> tuple[Row, ...]:
    """The rows of a job that count for none of its holdings: they were written by a cart that no
    longer had it, or that took it where another one counts."""
    return tuple(row for row in believed_rows(rows) if row.job == job and not row.tenure)
