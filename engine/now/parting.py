"""The line that stays in the terminal after the screens were left: nothing rings from there on."""

from __future__ import annotations

from collections.abc import Mapping

from cartclock.engine.dates import spoken_soon
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.section import work_of
from cartclock.engine.facts.shift import Break, Hands, Other, Shift
from cartclock.engine.facts.words import place_text
from cartclock.engine.films.cure import long_text, queue
from cartclock.engine.now.running import running_films
from cartclock.engine.times import Instant

COME_BACK = "cartclock goes on from here."


def parting_text(
    jobs: Mapping[str, Job],
    shift: Shift | None,
    shifts: Mapping[str, Shift],
    now_us: Instant,
    zone: str,
) -> str:
    """What is so, which mark comes next and how to come back, in one line without an end.

    Args:
        jobs: at hand, by id.
        shift: the worker's newest; None if there never was one.
        shifts: as in `queue`.
        now_us: job time at which the screens were left.
        zone: IANA time zone in which times are said.
    """
    parts = [_state(jobs, shift, now_us, zone), *_mark(jobs, shifts, now_us, zone), COME_BACK]
    return " ".join(parts)


def _state(jobs: Mapping[str, Job], shift: Shift | None, now_us: Instant, zone: str) -> str:
    if shift is None or not shift.on_clock:
        count = sum(job.state == "open" for job in jobs.values())
        return f"Off the clock, {count or 'no'} open job{'' if count == 1 else 's'}."
    since = f"On the clock since {spoken_soon(shift.on_us, now_us, zone)}"
    return f"{since}, {_doing(jobs, shift)}."


def _doing(jobs: Mapping[str, Job], shift: Shift) -> str:
    match shift.doing:
        case Hands(job_id, stage, sections, turn):
            job = jobs[job_id]
            say = work_of(job.stage(stage), turn).say
            return f"in hand: {say} {place_text(job, stage, sections)}"
        case Break(what):
            return f"on a break ({what})"
        case Other(what):
            return f"at other work ({what})"
        case _:
            return "nothing in hand"


def _mark(
    jobs: Mapping[str, Job], shifts: Mapping[str, Shift], now_us: Instant, zone: str
) -> list[str]:
    """The mark that hurts first: of a film, else of a gap, a cure or a look."""
    for film in running_films(jobs, now_us):
        window = film.first
        closes = spoken_soon(window.closes_us, now_us, zone)
        if window.state(now_us) == "LATE":
            return [f"{film.where} closed {closes}."]
        opens = spoken_soon(window.opens_us, now_us, zone)
        opened = "" if window.state(now_us) == "READY" else f"opens {opens}, "
        return [f"{film.where} {opened}closes {closes}."]
    ahead = queue(jobs, shifts, now_us)
    return [f"{long_text(ahead[0], jobs[ahead[0].job], now_us)}."] if ahead else []
