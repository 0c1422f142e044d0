"""Papers as they are now, only to be looked at: they leave no trace.

While a document shows what it showed, its other forms and its second print are of the same
revision. It is made of the rows of then and of now, as of one moment, and compared: so the
minute in which a paper was made is no change, and nothing that it shows can change unnoticed.
What folds the open jobs and writes is not needed for a copy, nor imported.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace

from cartclock.engine.after.entries import handed_out, issues
from cartclock.engine.dates import day_of
from cartclock.engine.desk.shop import Shop, Traced
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.put_right import as_known
from cartclock.engine.facts.rows import Row, job_time
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.papers import PAPERS, Paper
from cartclock.engine.paper.shop_head import ShopHead
from cartclock.engine.record.record import Record
from cartclock.engine.record.revision import Reader, Revision, revision_of
from cartclock.engine.store.clock import Clock
from cartclock.engine.store.laptop import paper_file
from cartclock.engine.store.log import Log
from cartclock.engine.store.settings import Settings
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused

if TYPE_CHECKING:
    from cartclock.engine.vehicle.picture import Picture

# Beside the log: where every job has the folder of its papers.
FOLDER = "papers"
# The document that a calendar is a form of.
DATES = "aftercare"
# Whose paper a document is that leaves the shop; of one that is not named the customer's.
_READERS: dict[str, Reader] = {"arrival": "arrival"}
# The form by which two of a document are compared, where it has it: it leaves nothing out.
COMPARED = "json"


def forms(document: str) -> tuple[str, ...]:
    """The forms a document has; raises Refused for a name that is none."""
    return tuple(paper_of(document).forms)


class Copies:
    """The papers of one log, without a trace.

    Args:
        shop: of that log.
        settings: what the worker has settled.
        folder: under which every job has its own; it need not be there.
        now: job time now.
    """

    def __init__(
        self, shop: Shop, settings: Settings, folder: Path, now: Callable[[], Instant]
    ) -> None:
        self.shop = shop
        self.settings = settings
        self.folder = folder
        self.now = now

    def copy(self, document: str, handle: str, form: str, width: int = 0) -> bytes:
        """A document as it is now, only to be looked at.

        Args:
            document: a key of `engine.paper.papers.PAPERS`.
            handle: the job's number or the beginning of its id, of a vehicle that of one of its
                parts; for a day its date, ISO 8601, or "" for today.
            form: one of `forms(document)`.
            width: of a line of text, in cells, as `PaperFacts` has it.

        Raises Refused for what there is not.
        """
        paper = paper_of(document, form)
        if paper.of == "day":
            facts = self.facts_of_day(handle)
        elif paper.of == "vehicle":
            facts = self.facts_of_vehicle(handle)
        else:
            facts = self.facts_of_job(document, handle)
        return paper.made(form, replace(facts, width=width))

    def job_folder(self, handle: str) -> Path:
        """The folder of a job; raises Refused like `Shop.find`."""
        summary = self.shop.find(handle)
        name = paper_file.job_folder(summary.number, summary.vehicle)
        if self.shop.is_imported(summary.job):
            # Another cart's job of that number is none of this cart's papers.
            name = f"imported-{summary.job}"
        return self.folder / name

    def facts_of_day(self, date: str) -> PaperFacts:
        """What a paper of a day is made of, "" for today; raises Refused like `Shop.day`."""
        zone, now_us = self.settings.zone, self.now()
        day = self.shop.day(date or day_of(now_us, zone).isoformat(), zone, now_us)
        return replace(self._settled, day=day)

    def facts_of_vehicle(self, handle: str) -> PaperFacts:
        """What a paper of a vehicle is made of; raises Refused like `Shop.find`."""
        from cartclock.engine.desk.parts import whole_vehicle

        return replace(self._settled, vehicle=whole_vehicle(self.shop, handle, self.now()))

    def facts_of_job(self, document: str, handle: str) -> PaperFacts:
        """What a paper of a job is made of; raises Refused like `Shop.find`."""
        traced = self.shop.traced(handle, self.now())
        record, rows = traced.record, traced.rows
        revision = self._revision(document, traced)
        held = handed_out(record.job, rows, document, self.shop.closed) if document == DATES else ()
        return replace(
            self._settled,
            record=record,
            pictures=partial(_pictures, record),
            revision=revision,
            handed_out=held,
        )

    @property
    def _settled(self) -> PaperFacts:
        """What the settings say on every paper."""
        shop = self.settings.shop
        return PaperFacts(
            shop=ShopHead(shop.name, shop.lines, shop.phone),
            currency=self.settings.currency,
            driver=shop.driver,
            round_minutes=self.settings.round_minutes,
            size=self.settings.printing.paper,
            unit=self.settings.temperature,
            price=self.settings.printing.price,
        )

    def _revision(self, document: str, traced: Traced) -> Revision:
        """The revision that stands if nothing has changed since it left, else the next."""
        job, record, rows = traced.job, traced.record, traced.rows
        paper = PAPERS[document]
        reader = "shop" if paper.inside else _READERS.get(document, "customer")
        form = COMPARED if COMPARED in paper.forms else "text"

        def shown(of: Sequence[Row]) -> bytes | None:
            then = self.shop.record_of(job.id, of, record.now_us)
            return None if then is None else paper.made(form, replace(self._settled, record=then))

        following = revision_of(job, rows, document, shown, reader)
        folder = self.job_folder(job.id)
        runs = reader == "shop" and (
            job.state != "closed" or any(account.off_us is None for account in record.accounts)
        )
        if not following.replaces or following.changed or runs:
            return replace(following, number=behind(folder, document, following.number - 1))
        out = issues(job.id, rows, document)
        first = next(row for row in out if revision_number(row) == following.replaces)
        before = [row for row in as_known(rows, first) if row.identity != first.identity]
        return replace(revision_of(job, before, document, shown, reader), number=following.replaces)


def copies_of(log: Log, clock: Clock, settings: Settings) -> Copies:
    """The papers of a log that nobody here writes to."""
    newest = log.rows_after(log.head.seq - 1)
    last = newest[-1] if newest else None
    shop = Shop(log, settings.rest_place, settings.closed)
    folder = log.path.parent / FOLDER
    return Copies(shop, settings, folder, lambda: job_time(last, clock.read()).at_us)


def paper_of(document: str, form: str = "") -> Paper:
    """The paper of that name; raises Refused, naming what there is, if it lacks the form."""
    if document not in PAPERS:
        raise Refused(f"There is no paper {document!r}; there are {', '.join(PAPERS)}.")
    paper = PAPERS[document]
    if form and form not in paper.forms:
        there = ", ".join(paper.forms)
        raise Refused(f"The paper {document} has no form {form!r}; it has {there}.")
    return paper


def _pictures(record: Record) -> tuple[Picture, ...]:
    # On use: a text shows none.
    from cartclock.engine.store.laptop.picture_file import pictures

    return pictures(record.condition.files)


def revision_number(row: Row) -> int:
    return row.event.revision if isinstance(row.event, ev.PaperIssued) else 0


def behind(folder: Path, stem: str, number: int) -> int:
    """The revision behind this one and behind every one that lies in the folder."""
    return max([number, *paper_file.revisions(folder, stem)]) + 1
