"""The lists of what is seen afterwards: checks that are due, and water on what is not dry."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from cartclock.engine.dates import spoken_near
from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.words import place_text
from cartclock.engine.films.cure import SecondLook, age_text, high_spot_remedy, look_text
from cartclock.engine.films.wet import Drying, by_stage
from cartclock.engine.films.wet import water_remedy as wet_remedy
from cartclock.engine.rules import looks
from cartclock.engine.times import Instant
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.in_view import zone_of
from cartclock.tui.widgets.sheet import Line


def reasons(bench: Bench, now_us: Instant) -> dict[str, str]:
    """Why the keys of these lists cannot work now."""
    why = looks.not_due(bench.jobs, now_us, zone_of(bench))
    found = {"look": why} if why else {}
    if not bench.rows:
        found["water"] = "No job was ever opened; T, then +, opens one."
    return found


def load_readings(bench: Bench) -> None:
    """Brings the shifts into sight whose readings decide over the cures of the open jobs."""
    needed = {
        shift
        for job in bench.jobs.values()
        if job.state == "open" and any(stage.cure is not None for stage in job.stages)
        for shift in job.shifts
    }
    if not needed <= bench.shifts.keys():
        bench.load(bench.jobs.keys(), needed | bench.shifts.keys())


# Second looks.


def open_looks(host: Host) -> None:
    """The checks that are due; a single one opens at once."""
    bench = host.cart.bench
    found = looks.due_looks(bench.jobs, bench.now_us, zone_of(bench))
    if len(found) == 1:
        _open_look(host, found[0])
        return
    lines = [
        Line(partial(_due_text, bench, look), partial(_open_look, host, look)) for look in found
    ]
    host.sheet.open("Look again", lines)


def _due_text(bench: Bench, look: SecondLook) -> str:
    now_us = bench.now_us
    late = ", late" if look.state(now_us) == "LATE" else ""
    said = look_text(bench.jobs[look.job], look, now_us)
    return f"{_whose(bench, look.job)}{said} ({look.stage}){late}"


def _whose(bench: Bench, job_id: str) -> str:
    """The vehicle in front of a line, where several jobs are open."""
    several = sum(job.state == "open" for job in bench.jobs.values()) > 1
    return f"{bench.jobs[job_id].opened.vehicle}: " if several else ""


def _open_look(host: Host, look: SecondLook) -> None:
    """One check: fine, or a high spot on one of its sections."""
    bench = host.cart.bench
    job = bench.jobs[look.job]
    fine = partial(host.cart.write, looks.find_fine, look.job, look.stage, look.sections)
    where = place_text(job, look.stage, look.sections)
    lines = [Line("fine" if len(look.sections) == 1 else f"fine, {where}", fine, hot="f")]
    if len(look.sections) == 1:
        lines += _high_spots(host, look, look.sections[0])
    else:
        for name in look.sections:
            said = partial(_spot_text, bench, look, name)
            lines.append(Line(said, partial(_open_spot, host, look, name)))
    host.sheet.open(_due_text(bench, look), lines)


def _remedy(bench: Bench, look: SecondLook, name: str) -> tuple[str, bool]:
    """The remedy for the section's age at this moment, and if it is the stage's last."""
    job = bench.jobs[look.job]
    finished_us = job.sections[look.stage, name].finished_us
    age_us = bench.now_us - (look.last_us if finished_us is None else finished_us)
    return high_spot_remedy(job.stage(look.stage), age_us)


def _laid(bench: Bench, look: SecondLook, name: str) -> str:
    """How long ago a section was touched last."""
    finished_us = bench.jobs[look.job].sections[look.stage, name].finished_us
    touched_us = look.last_us if finished_us is None else finished_us
    return f"laid {age_text(touched_us, touched_us, bench.now_us)} ago"


def _spot_text(bench: Bench, look: SecondLook, name: str) -> str:
    do, _last = _remedy(bench, look, name)
    return f"high spot on {name}, {_laid(bench, look, name)}{': ' + do if do else ''}"


def _open_spot(host: Host, look: SecondLook, name: str) -> None:
    said = _laid(host.cart.bench, look, name)
    host.sheet.open(f"{name} ({look.stage}), {said}", _high_spots(host, look, name))


def _high_spots(host: Host, look: SecondLook, name: str) -> list[Line]:
    """The remedy for the section's age, and doing it again; the last remedy is both in one."""
    bench = host.cart.bench

    def text() -> str:
        do, _last = _remedy(bench, look, name)
        return f"high spot{': ' + do if do else ''}"

    def write(again: bool) -> Callable[[], None]:
        def press() -> None:
            # The age counts at the pick: the list may have stood open for long.
            last = _remedy(bench, look, name)[1]
            spot = (look.job, look.stage, name)
            host.cart.write(looks.find_high_spot, *spot, again=again or last)

        return press

    lines = [Line(text, write(False), hot="h")]
    if not _remedy(bench, look, name)[1]:
        lines.append(Line("high spot: do it again", write(True), hot="a"))
    return lines


# Water.


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
    dry = spoken_near(Instant(-(-one.dry_us(now_us) // MINUTE_US) * MINUTE_US), now_us, zone)
    ago = age_text(one.touched_us, one.touched_us, now_us)
    return f"{one.section}, dry at {dry} ({one.stage}, laid {ago} ago)"


def _jobs(host: Host) -> list[Job]:
    """The jobs in sight, and those handed over in the last days, whose film may not be dry."""
    bench = host.cart.bench
    _shifts, recent = host.cart.shop.recent(bench.worker, bench.now_us)
    jobs = {job.id: job for job in recent.values()} | bench.jobs
    return sorted(jobs.values(), key=lambda job: (job.state != "open", job.opened.number))
