"""The list of water on what is not dry."""

from __future__ import annotations

from collections.abc import Callable

from cartclock.engine.dates import spoken_near, up_to_minute
from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.words import place_text
from cartclock.engine.films.cure import age_text
from cartclock.engine.films.wet import Drying, by_stage
from cartclock.engine.films.wet import water_remedy as wet_remedy
from cartclock.engine.rules import looks
from cartclock.engine.times import Instant
from cartclock.tui.lists.host import Host
from cartclock.tui.told.in_view import zone_of
from cartclock.tui.widgets.sheet import Line


def reasons(bench: Bench) -> dict[str, str]:
    """Why the key of water cannot work now."""
    return {} if bench.rows else {"water": "No job was ever opened; T, then +, opens one."}


def open_water(host: Host) -> None:
    """What is inside its dry time, on open and on closed jobs; nothing is marked before a pick."""
    bench = host.cart.bench
    now_us = bench.now_us
    jobs = _jobs(host)
    found = looks.wet_jobs(jobs, now_us)

    def write(jobs: tuple[Job, ...], stage: str = "", name: str = "") -> Callable[[], None]:
        def press() -> None:
            ids = tuple(job.id for job in jobs)
            if not set(ids) <= bench.jobs.keys():
                # Handed over days ago, so out of sight.
                bench.load({*ids, *bench.jobs}, bench.shifts.keys())
            told = host.cart.write(looks.get_wet, ids, stage, (name,) if name else ())
            rows = [(row.job, row.event) for row in told.rows]
            marked = [(job, e) for job, e in rows if isinstance(e, ev.WaterTouched)]
            count = sum(len(event.sections) for _job, event in marked)
            said = dict.fromkeys(wet_remedy(bench.jobs[job], e.stage) for job, e in marked)
            noun = "section" if count == 1 else "sections"
            host.say(" ".join([f"Water noted on {count} {noun}.", *filter(None, said)]))

        return press

    several = len(found) > 1
    lines = []
    if several:
        count = sum(len(wet) for _job, wet in found)
        every = tuple(job for job, _wet in found)
        lines.append(Line(f"everything: {count} sections on {len(found)} vehicles", write(every)))
    for job, wet in found:
        whose = f"{job.opened.vehicle}: " if several else ""
        named = "; ".join(
            f"{place_text(job, stage, names)} ({stage})" for stage, names in by_stage(wet).items()
        )
        if len(wet) > 1:
            lines.append(Line(f"{whose}all that is not dry: {named}", write((job,))))
        for one in wet:
            only = "only " if len(wet) > 1 else ""
            said = _wet_text(one, now_us, zone_of(bench))
            lines.append(Line(f"{whose}{only}{said}", write((job,), one.stage, one.section)))
    remedies = dict.fromkeys(
        wet_remedy(job, stage) for job, wet in found for stage in by_stage(wet)
    )
    host.sheet.open(" ".join(["Water got on it.", *filter(None, remedies)]), lines)


def _wet_text(one: Drying, now_us: Instant, zone: str) -> str:
    if one.touched_us is None:
        return f"{one.section}, being laid ({one.stage})"
    dry = spoken_near(up_to_minute(one.dry_us(now_us)), now_us, zone)
    ago = age_text(one.touched_us, one.touched_us, now_us)
    return f"{one.section}, dry at {dry} ({one.stage}, laid {ago} ago)"


def _jobs(host: Host) -> list[Job]:
    """The jobs in sight, and those handed over in the last days, whose film may not be dry."""
    bench = host.cart.bench
    _shifts, recent = host.cart.shop.recent(bench.worker, bench.now_us)
    jobs = {job.id: job for job in recent.values()} | bench.jobs
    return sorted(jobs.values(), key=lambda job: (job.state != "open", job.opened.number))
