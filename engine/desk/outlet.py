"""Papers out of the laptop: made, filed in the job's folder, noted in the log, printed.

What is only looked at is a copy (`engine.desk.copies`). What is issued is a file of its own
that nothing replaces, and a row in the log with its digest; the file comes first, so that the
log never tells of a paper that is not there.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.after.entries import issues
from cartclock.engine.dates import local, spoken_day
from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.copies import Copies, behind, forms, paper_of, revision_number
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import Row
from cartclock.engine.paper.papers import ENDINGS, PAPERS, PRINTED
from cartclock.engine.record.revision import (
    Revision,
    change_text,
    revision_text,
)
from cartclock.engine.rules import rules
from cartclock.engine.store.laptop import paper_file
from cartclock.engine.store.settings import Settings
from cartclock.engine.trouble import Refused, Trouble

# Said where a paper of an imported job is to be issued, or something added to it.
ELSEWHERE = (
    "This job was imported: it is worked on, and papers of it are issued, on the laptop it came "
    "from. cartclock paper record JOB and cartclock paper sheet JOB give copies here."
)
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


class Outlet(Copies):
    """The papers of one log, to be issued or only looked at.

    Args:
        bench, shop: of the same log.
        settings: what the worker has settled.
        folder: under which every job has its own; made when the first paper is written.
    """

    def __init__(self, bench: Bench, shop: Shop, settings: Settings, folder: Path) -> None:
        super().__init__(shop, settings, folder, lambda: bench.now_us)
        self.bench = bench

    def issue(self, document: str, handle: str, form: str) -> Issued:
        """Writes a document into its folder and notes it in the log; arguments as for `copy`.

        Raises Refused and StoreFault; then there is neither file nor row.
        """
        paper = paper_of(document, form)
        if paper.of == "day":
            return self._issue_day(document, handle, form)
        if paper.of == "vehicle":
            return self._issue_vehicle(document, handle, form)
        self.job(handle)
        facts = replace(self.facts_of_job(document, handle), issued=True)
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
            revision = replace(revision, number=behind(folder, document, revision.number))
            facts = replace(facts, revision=revision)
            path = folder / _name(document, revision.number, form)
        content = paper.made(form, facts)
        self._place_noted(path, content, record.job, document, revision.number)
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

    def job(self, handle: str) -> Job:
        """A job, open or closed, in sight of the bench; raises Refused like `Shop.find`, and of an
        imported one."""
        summary = self.shop.find(handle)
        if self.shop.is_imported(summary.job):
            raise Refused(ELSEWHERE)
        return self._job(summary.job)

    @property
    def date(self) -> str:
        """The date of the day at hand, ISO 8601: that on which the newest shift began."""
        shift = self.bench.shift()
        on_us = None if shift is None else shift.on_us
        at_us = self.bench.now_us if on_us is None else on_us
        return local(at_us, self.settings.zone).date().isoformat()

    def _job(self, job_id: str) -> Job:
        if job_id not in self.bench.jobs:
            self.bench.load({job_id, *self.bench.jobs}, tuple(self.bench.shifts))
        return self.bench.jobs[job_id]

    def _issue_day(self, document: str, date: str, form: str) -> Issued:
        """A paper that is of no one job, and of which the log has no row: its files alone count."""
        facts = self.facts_of_day(date)
        day = facts.of_day
        folder, stem = self.folder / "days", f"{document}-{day.date}"
        revision = Revision(behind(folder, stem, 0), None, ())
        path = folder / _name(stem, revision.number, form)
        paper_file.place_file(path, PAPERS[document].made(form, replace(facts, issued=True)))
        return Issued(path, f"Day, {spoken_day(day.date)}", revision, True, day.zone)

    def _issue_vehicle(self, document: str, handle: str, form: str) -> Issued:
        """Each one is a revision: whether the parts show what they showed is not looked for."""
        job = self.job(handle)
        facts = self.facts_of_vehicle(job.id)
        whole = facts.of_vehicle
        given = issues(job.id, self.shop.rows(job.id, whole.now_us), document)
        last = max(map(revision_number, given), default=0)
        folder = self.job_folder(job.id)
        revision = Revision(
            number=behind(folder, document, last),
            replaces_us=given[-1].at_us if given else None,
            changes=(),
            replaces=last,
        )
        path = folder / _name(document, revision.number, form)
        facts = replace(facts, issued=True, revision=revision)
        content = PAPERS[document].made(form, facts)
        self._place_noted(path, content, job.id, document, revision.number)
        title = f"Job {job.opened.number}, {whole.vehicle}: {document}"
        return Issued(path, title, revision, True, whole.zone)

    def _place_noted(
        self, path: Path, content: bytes, job: str, document: str, revision: int
    ) -> None:
        """A file, and the row of the log that tells of it; if that cannot be, neither."""
        paper_file.place_file(path, content)
        sha256 = hashlib.sha256(content).hexdigest()
        try:
            self.bench.do(rules.note_job, job, ev.PaperIssued(document, revision, sha256))
        except Trouble:
            paper_file.remove(path)
            raise


def printed_form(document: str) -> str:
    """The form in which a document is printed; raises Refused if it has none for paper."""
    for form in PRINTED:
        if form in forms(document):
            return form
    raise Refused(f"The paper {document} has no form to print.")


def _sha256(row: Row) -> str:
    return row.event.sha256 if isinstance(row.event, ev.PaperIssued) else ""


def _digest(path: Path) -> str:
    try:
        # A pipe would never come to an end.
        if not path.is_file():
            return ""
        with path.open("rb") as content:
            return hashlib.file_digest(content, "sha256").hexdigest()
    except OSError:
        return ""


def _name(stem: str, number: int, form: str) -> str:
    return f"{stem}-r{number}.{ENDINGS.get(form, form)}"
