"""Record: the job as it would be printed now."""

from __future__ import annotations

from typing import ClassVar

from engine.paper.record_text import record_text
from tui.screens.listing import ListingScreen
from tui.screens.lists import job_in_view


class RecordScreen(ListingScreen):
    """The job record, read from top to bottom."""

    called: ClassVar[str] = "record"

    def heading(self) -> str:
        """Which job."""
        return "Record   up, down: read on"

    def lines(self) -> list[str]:
        """The record's lines; made anew only when the log has grown or the screen opens."""
        bench = self.cart.bench
        job_id = self.cart.record_of
        if not job_id or job_id not in bench.jobs:
            job = job_in_view(bench, None)
            known = sorted(
                (j for j in bench.jobs.values() if j.opened is not None),
                key=lambda j: j.opened_us or 0,
            )
            job = job or (known[-1] if known else None)
            if job is None:
                return ["No job yet."]
            job_id = job.id
        made_for = (job_id, bench.log.head.seq)
        if made_for != getattr(self, "_made_for", None):
            self._made_for = made_for
            record = self.cart.shop.record(job_id, bench.now_us)
            self._text: list[str] = record_text(record).splitlines()
        return self._text
