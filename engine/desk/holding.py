"""A job that goes from cart to cart: one cart has it at any time, and its film and clock go on.

What is carried is what an export carries; the press by which a cart goes on with it comes in
together with those rows (`engine/store/DECISIONS.md`, 12).
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Protocol

from msgspec import Struct

from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.exchange import Exported, export_job
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts.events import JobGiven, JobImported, JobOpened, JobTaken
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import Draft, Row
from cartclock.engine.joined.handed import JobThere, TakenElsewhere
from cartclock.engine.rules import holding
from cartclock.engine.store.chain import Progress, nobody
from cartclock.engine.store.exchange import job_file
from cartclock.engine.store.exchange.job_file import JobFile
from cartclock.engine.store.exchange.joining import taking
from cartclock.engine.store.imported import fold_imported
from cartclock.engine.store.laptop.paper_file import place_beside
from cartclock.engine.store.log import Log
from cartclock.engine.times import Instant, Length
from cartclock.engine.trouble import Refused

MOST_SKEW_US = 30_000_000
"""So far a cart's clock may be off the shop's, for a film that goes on by another clock opens
later or earlier by as much. Our own judgement."""

# As many letters of an identity are said.
SAID_IDENTITY = 8


class HandsOn(Protocol):
    """A shop that hands jobs on, as `engine.joined.holding.HandingShop` does."""

    @property
    def ahead_us(self) -> Length:
        """The clock of the shop less this computer's."""

    def job_there(self, handle: str, silent: bool = False) -> JobThere:
        """The job that goes by a number or by the beginning of an id."""

    def claim(
        self, there: JobThere, origin: str, tenure: int, now_us: Instant, silent: bool
    ) -> bytes:
        """Takes it in this turn; the file of it."""


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

    @property
    def aside_text(self) -> str:
        """What there is to say of those rows, a sentence; "" if there are none."""
        if not self.aside:
            return ""
        many = len(self.aside)
        rows, are = ("1 row was", "it is") if many == 1 else (f"{many} rows were", "they are")
        return (
            f"{rows} pressed where the job no longer was: {are} set aside and listed on its "
            "record, and the hours of who pressed stand."
        )


def give_away(bench: Bench, job: str, to: str = "") -> None:
    """Gives a job away; the shop's server hands it on once it hears of it.

    to: how the identity of the only cart begins that may take it; "": whichever comes first.
    Raises Refused, StoreFault.
    """
    bench.do(holding.give, job, to, bench.log.origin)


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


def give_to_file(
    bench: Bench,
    shop: Shop,
    job: str,
    to: str,
    file: Path,
    private: bool = False,
    told: Progress = nobody,
) -> Exported:
    """As `give_by_file`, written to a new file. Raises Refused before anything is given where that
    cannot be."""
    if file.exists():
        raise Refused(f"{file} is there already; name one that is not.")
    if not file.parent.is_dir():
        raise Refused(f"There is no folder {file.parent}; name a file in one that is there.")
    made = give_by_file(bench, shop, job, to, private, told)
    place_beside(file, made.content)
    return made


def take_file(bench: Bench, file: Path, told: Progress = nobody) -> TakenOver:
    """As `take_by_file`, of a file on this computer or a stick."""
    return take_by_file(bench, job_file.content_of(file), told)


def take_by_file(bench: Bench, content: bytes, told: Progress = nobody) -> TakenOver:
    """Goes on with a job of another cart that a file names this one for.

    Taken twice it is here once. Raises Refused where the job was not given to this cart, where two
    logs parted, and where this cart's clock is behind the other's; StoreFault.
    """
    file = job_file.read(content, told)
    job = _folded(file)
    if job.state != "given" or not job.given_to:
        raise Refused(
            f"Job {job.opened.number} was not given to one cart; cartclock shop give on the cart "
            "that has it writes the file to take it by."
        )
    return _take(bench, file, job, told)


def go_on(bench: Bench, content: bytes, silent: bool, told: Progress = nobody) -> TakenOver:
    """Goes on with a job of another cart as the shop has it, once the shop has let this one.

    silent: it need not have been given. Raises as `take_by_file` does.
    """
    file = job_file.read(content, told)
    job = _folded(file)
    if job.state != "given" and not silent:
        raise Refused(
            f"Job {job.opened.number} was not given away by what the shop has of it; send again "
            "from the cart that has it."
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
    if _has(bench, job):
        return TakenOver(bench.jobs[job.id], 0, (), False)
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
    # Also this cart's own, where the job comes back to it.
    here = bench.jobs[job.id]
    return TakenOver(here, len(new.stored), tuple(here.late), True)


def _number(bench: Bench, job: str) -> int:
    """What the job is called here: as before if it was here, else the next number."""
    mine = bench.log.summaries.jobs_beginning(job)
    return mine[0].number if mine else Shop(bench.log, library=bench.library).next_number()


def take_from_shop(
    bench: Bench,
    shop: HandsOn,
    handle: str,
    silent: bool = False,
    told: Progress = nobody,
) -> TakenOver:
    """Goes on with a job that the shop hands on; only one cart gets it, whoever asks.

    Args:
        handle: its number on the cart that has it, or the beginning of its id.
        silent: it need not have been given, because that cart says nothing any more.

    What was taken and could not be written here is taken again. Raises ShopFault, Refused,
    StoreFault, psycopg.Error.
    """
    there = shop.job_there(handle, silent)
    if abs(ahead_us := shop.ahead_us) > MOST_SKEW_US:
        raise Refused(
            f"The clock of this cart is {abs(ahead_us) / 1e6:.0f} s off the shop's; set it, so "
            "that films go on by the right time."
        )
    own = bench.log.origin
    bench.load({there.job})
    here = bench.jobs.get(there.job)
    known = 0 if here is None else here.tenure
    mine = there.origin == own and known == there.tenure
    if mine and here is not None and here.state != "given":
        raise Refused(f"Job {here.opened.number} is on this cart; there is nothing to take.")
    # What was taken before and came to nothing here is asked for in the same turn.
    again = there.origin == own and known < there.tenure
    tenure = there.tenure if again else there.tenure + 1
    content = shop.claim(there, own, tenure, bench.now_us, silent)
    return go_on(bench, content, silent or again, told)


def to_take_again(log: Log) -> dict[str, JobTaken]:
    """Job -> its newest taking, of those that this cart has and whose rows of other carts are not
    here, as after a lost disk: by its own rows alone such a job was never opened."""
    found: dict[str, JobTaken] = {}
    for row in log.rows_of_kinds((JobTaken, JobGiven)):
        if isinstance(row.event, JobTaken):
            found[row.job] = row.event
        elif isinstance(row.event, JobGiven):
            found.pop(row.job, None)
    for job in [*found]:
        if any(isinstance(row.event, JobOpened) for row in log.rows_of([job], ())):
            del found[job]
    return found


def heed_taken(bench: Bench, taken: Iterable[TakenElsewhere]) -> list[str]:
    """Lets go of the jobs that another cart took while this one did not know; what came of each,
    a sentence. One that is in hand is named and stays until it is put down."""
    said = []
    for one in taken:
        bench.load({one.job})
        job = bench.jobs.get(one.job)
        if job is None or job.state != "open" or job.tenure > one.tenure:
            continue
        named = f"Job {job.opened.number}, {job.opened.vehicle}, was taken by cart {one.cart}"
        if any(section.state == "in hand" for section in job.sections.values()):
            said.append(f"{named}; put down what is in hand of it, it goes on there.")
            continue
        bench.machine([Draft(JobGiven(one.origin), job.id)], bench.worker)
        said.append(
            f"{named} and goes on there. What was pressed on it here since is set aside; your "
            "hours stand."
        )
    return said
