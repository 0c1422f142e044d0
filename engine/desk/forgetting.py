"""What is private in a job, or of a customer, forgotten: in the log, in what is known of it, in its
backups, and on asking in the papers that were issued.

Hours, products, dates and the chain stay. Signs of being unwell are the worker's and of no job.
"""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from msgspec import Struct

from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Row
from cartclock.engine.joined.forgotten import note_forgotten
from cartclock.engine.store.codec import seals
from cartclock.engine.store.imported import imported
from cartclock.engine.store.laptop import paper_file
from cartclock.engine.store.log import JobSummary, Log
from cartclock.engine.store.whole.cleaning import clean_others
from cartclock.engine.trouble import Refused

BACKUPS_ELSEWHERE = (
    "Backups in other places still hold it: what is put back from one is forgotten once more."
)


IMPORTED = (
    "It was imported: the laptop it came from and files it was carried in may still hold it; "
    "forget it there too."
)


class ToForget(Struct, frozen=True):
    """What would be forgotten.

    Fields:
        jobs: the jobs it is of.
        refs: of their private texts, also of those that are forgotten already.
        held: how many of these the log still holds.
        papers: files that were issued of these jobs and lie in their folders.
        files: what was attached to them, where it was; such files are not touched.
        imported: whether one of the jobs came from another laptop.
    """

    jobs: tuple[JobSummary, ...]
    refs: frozenset[str]
    held: int
    papers: tuple[Path, ...]
    files: tuple[str, ...]
    imported: bool = False

    def __str__(self) -> str:
        jobs = "; ".join(f"job {job.number}, {job.vehicle}" for job in self.jobs)
        texts = "1 private text" if self.held == 1 else f"{self.held} private texts"
        return f"{jobs[:1].upper()}{jobs[1:]}: {texts}"


def to_forget(shop: Shop, handle: str, papers: Path) -> ToForget:
    """What would be forgotten of a job, or of every job of a customer.

    Args:
        handle: a job as for `Shop.find`, or the customer's whole name.
        papers: under which every job has its folder.

    Raises Refused if there is neither.
    """
    jobs = _meant(shop, handle)
    refs: set[str] = set()
    files: list[str] = []
    for job in jobs:
        for row in _rows(shop.log, job.job):
            refs |= {one.ref for one in seals(row.event)}
            if isinstance(row.event, ev.FileAttached):
                path = shop.log.private_text(row.event.path.ref)
                files += [] if path is None else [path]
    held = sum(shop.log.private_text(ref) is not None for ref in refs)
    out = [path for job in jobs for path in _issued(shop.log, papers, job)]
    came = any(not shop.log.summaries.is_own(job.job) for job in jobs)
    return ToForget(tuple(jobs), frozenset(refs), held, tuple(out), tuple(files), came)


def forget(shop: Shop, what: ToForget, papers: bool = False) -> list[str]:
    """Forgets it; answers what may hold it still, a sentence each.

    papers: True to remove the papers as well.

    Raises StoreFault if the log's own files could not be cleaned; doing it again cleans them.
    """
    left = []
    if papers:
        for path in what.papers:
            paper_file.remove(path)
            if path.exists():
                left.append(f"The paper {path} could not be removed and holds it still.")
    return [*forget_texts(shop, what.refs), *left]


def forget_texts(shop: Shop, refs: Collection[str]) -> list[str]:
    """Forgets private texts by reference; answers what may hold them still, a sentence each.

    Raises StoreFault as `forget` does.
    """
    # First: a shop forgets it with the next sending, whatever becomes of this one.
    note_forgotten(shop.log.path, refs)
    # The log last: as long as it holds the name, a customer is found by it.
    left = clean_others(shop.log.path, refs)
    shop.log.ask(None)
    shop.forget(refs)
    return left


def _meant(shop: Shop, handle: str) -> list[JobSummary]:
    try:
        return [shop.find(handle)]
    except Refused as none:
        refs = shop.log.refs_saying(handle)
        rows = shop.log.rows_of_kinds((ev.JobOpened, ev.JobAmended)) if refs else []
        ids = {row.job for row in rows if not refs.isdisjoint(_customer(row))}
        found = [job for job in shop.jobs() if job.job in ids]
        for job in shop.imported():
            if any(not refs.isdisjoint(_customer(row)) for row in _rows(shop.log, job.job)):
                found.append(job)
        if found:
            return found
        raise Refused(f"{none} No customer goes by that name either.") from none


def _customer(row: Row) -> set[str]:
    """References to the customer's name in a row; empty if it says none."""
    match row.event:
        case ev.JobOpened(customer=sealed) if sealed is not None:
            return {sealed.ref}
        case ev.JobAmended(what="customer", text=sealed) if sealed is not None:
            return {sealed.ref}
    return set()


def _rows(log: Log, job: str) -> list[Row]:
    """The rows of a job and the corrections of its presses; of an imported one also those of its
    shifts, whose reasons came with it."""
    if not log.summaries.is_own(job):
        said = imported(log, job)
        rows = [] if said is None else log.imported_rows(said.parts)
        return [row for row in rows if row.job in (job, "")]
    rows = log.rows_of([job], ())
    return [row for row in rows if row.job == job or row.corrects is not None]


def _issued(log: Log, papers: Path, job: JobSummary) -> list[Path]:
    if not log.summaries.is_own(job.job):
        # No paper of an imported job is issued here; its number is another cart's.
        return []
    folder = papers / paper_file.job_folder(job.number, job.vehicle)
    return [path for path in sorted(folder.glob("*")) if paper_file.is_issued(path)]
