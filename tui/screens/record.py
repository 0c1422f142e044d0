"""Record: the job as it would be printed now."""

from __future__ import annotations

from typing import ClassVar

from cartclock.engine.desk.outlet import ELSEWHERE
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.sheet import render
from cartclock.engine.paper.sheets.record import RECORD
from cartclock.tui.face.page import Page, Words
from cartclock.tui.lists.papers import open_papers
from cartclock.tui.pages.paper import Reading
from cartclock.tui.screens.listing import ListingScreen
from cartclock.tui.told.in_view import in_hand, job_in_view

NO_JOB = Page("Record", (Words("No job yet."),), reading=True)


class RecordScreen(ListingScreen):
    """The job record, read from top to bottom."""

    called: ClassVar[str] = "record"
    _made_for: tuple[str, int] | None = None
    _page = NO_JOB

    def on_screen_resume(self) -> None:
        """Opens at the top of a record made now."""
        self.at, self._made_for = 0, None
        super().on_screen_resume()

    @property
    def _job_id(self) -> str:
        """The job asked for on Today, else the one worked at last, open or closed, else the
        newest; "" if none is.
        """
        bench = self.cart.bench
        asked = self.cart.record_of
        if asked in bench.jobs or self.cart.shop.has(asked):
            return asked
        hands, shift = in_hand(bench), bench.shift()
        worked = [hands.job] if hands is not None else [] if shift is None else shift.jobs[-1:]
        job = job_in_view(bench, None)
        worked += [] if job is None else [job.id]
        if worked and worked[0] in bench.jobs:
            return worked[0]
        return max(bench.jobs, key=lambda job_id: bench.jobs[job_id].opened_us, default="")

    def page(self) -> Page:
        """The record; made anew only when the log has grown or the screen opens."""
        job_id, bench = self._job_id, self.cart.bench
        if not job_id:
            return NO_JOB
        made_for = (job_id, bench.log.head.seq)
        if made_for != self._made_for:
            made = self.cart.shop.record(job_id, self.cart.workplace.moment.now_us)
            reading = Reading()
            settings = self.cart.settings
            facts = PaperFacts(made, currency=settings.currency, unit=settings.temperature)
            render(RECORD, facts, reading)
            self._made_for, self._page = made_for, reading.page
        return self._page

    def reasons(self) -> dict[str, str]:
        """Without a job there is nothing to print, and nothing is issued of an imported one."""
        if not self._job_id:
            return {"print": "There is no job to print anything of."}
        return {"print": ELSEWHERE} if self.cart.shop.is_imported(self._job_id) else {}

    def press_print(self) -> None:
        """Papers of the job shown: to the printer, or into its folder."""
        open_papers(self, self._job_id)
