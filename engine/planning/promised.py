"""A promise judged while it is typed: in how many days it would be kept."""

from __future__ import annotations

from msgspec.structs import replace

from cartclock.engine.ahead.foreseen import Foresight, prospect
from cartclock.engine.ahead.telling import kept_text
from cartclock.engine.facts import events as ev
from cartclock.engine.planning.unbegun import UNBEGUN, job_ahead
from cartclock.engine.times import Instant


def promise_judged(
    opened: ev.JobOpened, job_id: str, ahead: Foresight, promised_us: Instant, now_us: Instant
) -> str:
    """In how many days a job would be ready by then, "kept in 8 of 10 such days".

    Args:
        opened: as the job is, or would be, opened.
        job_id: "" for one that is not open yet: it comes behind those that are.
    """
    if job_id:
        found = ahead.at(now_us)
    else:
        job = job_ahead(opened.plan, opened.zone, now_us)
        of = ahead.of
        found = prospect(replace(of, jobs={**of.jobs, UNBEGUN: job}), now_us)
    if found.ready_us(job_id or UNBEGUN) is None:
        return ""
    return kept_text(found.kept(job_id or UNBEGUN, promised_us))
