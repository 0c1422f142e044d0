"""Papers out of the laptop: made, filed in the job's folder, noted in the log, printed.

A copy that is only looked at leaves no trace. What is issued is a file of its own that
nothing replaces, and a row in the log with its digest; the file comes first, so that the log
never tells of a paper that is not there.

While a document shows what it showed, its other forms and its second print are of the same
revision. It is made of the rows of then and of now, as of one moment, and compared: so the
minute in which a paper was made is no change, and nothing that it shows can change unnoticed.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from functools import partial
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.after.entries import handed_out, issues
from cartclock.engine.dates import local, spoken_day
from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import Row
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.papers import ENDINGS, PAPERS, PRINTED, Paper
from cartclock.engine.paper.shop_head import ShopHead
from cartclock.engine.record.record import Record
from cartclock.engine.record.revision import (
    Reader,
    Revision,
    change_text,
    revision_of,
    revision_text,
)
from cartclock.engine.rules import rules
from cartclock.engine.store.laptop import paper_file
from cartclock.engine.store.settings import Settings
from cartclock.engine.trouble import Refused, Trouble
from cartclock.engine.vehicle.picture import Picture

# The document that a calendar is a form of.
DATES = "aftercare"
# Whose paper a document is that leaves the shop; of one that is not named the customer's.
_READERS: dict[str, Reader] = {"arrival": "arrival"}
# The form by which two of a document are compared, where it has it: it leaves nothing out.
COMPARED = "json"
# How many changes an answer names.
_NAMED = 3


class Issued(Struct, frozen=True):
    """A paper that is out.

    Fields:
        path: its file.
        title: what it is, without private text: "Job 42, bottle green estate: record".
        revision: which one, and what changed since the one before.
        fresh: False if this very file was there already and nothing has changed since.
        zone: in which its dates are told.
    """

    path: Path
    title: str
    revision: Revision
    fresh: bool
    zone: str

    def __str__(self) -> str:
        """What it is, in one sentence or two."""
        said = f"{self.title}. {revision_text(self.revision, self.zone)}"
        if not self.fresh:
            return f"{said} As it was; nothing has changed since."
        changes = self.revision.changes
        if changes:
            named = "; ".join(change_text(change, self.zone) for change in changes[:_NAMED])
            more = f"; and {len(changes) - _NAMED} more" if len(changes) > _NAMED else ""
            said += f" Changed: {named}{more}."
        return said


def forms(document: str) -> tuple[str, ...]:
    """The forms a document has; raises Refused for a name that is none."""
    return tuple(_paper(document).forms)


class Outlet:
    """The papers of one log.

    Args:
        bench, shop: of the same log.
        settings: what the worker has settled.
        folder: under which every job has its own; made when the first paper is written.
    """

    def __init__(self, bench: Bench, shop: Shop, settings: Settings, folder: Path) -> None:
        self.bench = bench
        self.shop = shop
        self.settings = settings
        self.folder = folder

    def copy(self, document: str, handle: str, form: str) -> bytes:
        """A document as it is now, only to be looked at.

        Args:
            document: a key of `engine.paper.papers.PAPERS`.
            handle: the job's number or the beginning of its id; for a day its date, ISO 8601.
            form: one of `forms(document)`.

        Raises Refused for what there is not.
        """
        paper = _paper(document, form)
        if paper.of == "day":
            return paper.made(form, self._of_day(handle))
        return paper.made(form, self._of_job(document, handle))

    def issue(self, document: str, handle: str, form: str) -> Issued:
        """Writes a document into its folder and notes it in the log; arguments as for `copy`.

        Raises Refused and StoreFault; then there is neither file nor row.
        """
        paper = _paper(document, form)
        if paper.of == "day":
            return self._issue_day(document, handle, form)
        facts = replace(self._of_job(document, handle), issued=True)
        record, revision = facts.of_job, facts.revision
        assert revision is not None  # every paper of a job has one
        folder = self.job_folder(record.job)
        path = folder / _name(document, revision.number, form)
        title = f"Job {record.number}, {record.vehicle}: {document}"
        if path.exists():
            given = issues(record.job, self.shop.rows(record.job, record.now_us), document)
            if any(_sha256(row) == _digest(path) for row in given):
                return Issued(path, title, revision, False, record.zone)
            # Somebody changed that file; it is no revision any more, and stays as it is.
            revision = replace(revision, number=_behind(folder, document, revision.number))
            facts = replace(facts, revision=revision)
            path = folder / _name(document, revision.number, form)
        content = paper.made(form, facts)
        paper_file.place_file(path, content)
        sha256 = hashlib.sha256(content).hexdigest()
        try:
            event = ev.PaperIssued(document, revision.number, sha256)
            self.bench.do(rules.note_job, record.job, event)
        except Trouble:
            paper_file.remove(path)
            raise
        return Issued(path, title, revision, True, record.zone)

    async def print(self, document: str, handle: str) -> str:
        """Issues a document and hands it to the printer; answers with a sentence.

        Raises Refused and StoreFault; if only the printing failed, the file is kept.
        """
        issued = self.issue(document, handle, printed_form(document))
        printing = self.settings.printing
        title = f"{issued.title}, revision {issued.revision.number}"
        # On use: most papers are only looked at, and what runs lp takes long to import.
        from cartclock.engine.store.laptop import printer

        said = await printer.printed(issued.path, title, printing.paper, printing.queue)
        return f"{issued} {said}"

    def job_folder(self, handle: str) -> Path:
        """The folder of a job; raises Refused like `Shop.find`."""
        summary = self.shop.find(handle)
        return self.folder / paper_file.job_folder(summary.number, summary.vehicle)

    def job(self, handle: str) -> Job:
        """A job, open or closed, in sight of the bench; raises Refused like `Shop.find`."""
        return self._job(self.shop.find(handle).job)

    @property
    def date(self) -> str:
        """The date of the day at hand, ISO 8601: that on which the newest shift began."""
        shift = self.bench.shift()
        on_us = None if shift is None else shift.on_us
        at_us = self.bench.now_us if on_us is None else on_us
        return local(at_us, self.settings.zone).date().isoformat()

    @property
    def _settled(self) -> PaperFacts:
        """What the settings say on every paper."""
        shop = self.settings.shop
        return PaperFacts(
            shop=ShopHead(shop.name, shop.lines, shop.phone),
            currency=self.settings.currency,
            round_minutes=self.settings.round_minutes,
            size=self.settings.printing.paper,
        )

    def _of_day(self, date: str) -> PaperFacts:
        day = self.shop.day(date, self.settings.zone, self.bench.now_us)
        return replace(self._settled, day=day)

    def _of_job(self, document: str, handle: str) -> PaperFacts:
        job = self.job(handle)
        record = self.shop.record(job.id, self.bench.now_us)
        rows = self.shop.rows(job.id, record.now_us)
        revision = self._revision(document, job, record, rows)
        held = handed_out(job.id, rows, document, self.shop.closed) if document == DATES else ()
        return replace(
            self._settled,
            record=record,
            pictures=partial(_pictures, record),
            revision=revision,
            handed_out=held,
        )

    def _job(self, job_id: str) -> Job:
        if job_id not in self.bench.jobs:
            self.bench.load({job_id, *self.bench.jobs}, tuple(self.bench.shifts))
        return self.bench.jobs[job_id]

    def _revision(self, document: str, job: Job, record: Record, rows: Sequence[Row]) -> Revision:
        """The revision that stands if nothing has changed since it left, else the next."""
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
            return replace(following, number=_behind(folder, document, following.number - 1))
        out = issues(job.id, rows, document)
        first = next(row for row in out if _number(row) == following.replaces)
        before = [row for row in rows if row.written < first.written]
        return replace(revision_of(job, before, document, shown, reader), number=following.replaces)

    def _issue_day(self, document: str, date: str, form: str) -> Issued:
        """A day is of no job, and the log has no row for it: its files alone count."""
        facts = self._of_day(date)
        day = facts.of_day
        folder, stem = self.folder / "days", f"{document}-{day.date}"
        revision = Revision(_behind(folder, stem, 0), None, ())
        path = folder / _name(stem, revision.number, form)
        paper_file.place_file(path, PAPERS[document].made(form, replace(facts, issued=True)))
        return Issued(path, f"Day, {spoken_day(day.date)}", revision, True, day.zone)


def printed_form(document: str) -> str:
    """The form in which a document is printed; raises Refused if it has none for paper."""
    for form in PRINTED:
        if form in forms(document):
            return form
    raise Refused(f"The paper {document} has no form to print.")


def _paper(document: str, form: str = "") -> Paper:
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


def _number(row: Row) -> int:
    return row.event.revision if isinstance(row.event, ev.PaperIssued) else 0


def _sha256(row: Row) -> str:
    return row.event.sha256 if isinstance(row.event, ev.PaperIssued) else ""


def _behind(folder: Path, stem: str, number: int) -> int:
    """The revision behind this one and behind every one that lies in the folder."""
    return max([number, *paper_file.revisions(folder, stem)]) + 1


def _digest(path: Path) -> str:
    try:
        with path.open("rb") as content:
            return hashlib.file_digest(content, "sha256").hexdigest()
    except OSError:
        return ""


def _name(stem: str, number: int, form: str) -> str:
    return f"{stem}-r{number}.{ENDINGS.get(form, form)}"
