"""What the worker should know about the films that run or come next, in one line each.

What counts as too big, as hot and as another climate is our own judgement; that a remover must
not dry, and a panel over 30 C, are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from cartclock.engine.dates import clock_text
from cartclock.engine.facts.in_force import reading_in_force
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.section import Window, work_of
from cartclock.engine.facts.shift import Hands, Shift
from cartclock.engine.facts.turn import Turn
from cartclock.engine.facts.words import place_text
from cartclock.engine.figures.flash import FlashClimate, ready_early
from cartclock.engine.figures.gate import WARM_PANEL_C
from cartclock.engine.films.flashing import (
    Forecast,
    Own,
    climate_at,
    flash_after,
    flash_before,
    forecast,
)
from cartclock.engine.plan.plan import Wait
from cartclock.engine.times import Instant

WATCH = "Watch this one: press W when the film is ready."
WATCH_IT = "Press W when it is."
WIDE = "label only, could be half or double"
CUT = "/ cuts the sections left in two."
# A reading that moved by so much makes another film of it; degrees C and percent humidity.
MOVED_C, MOVED_RH = 3.0, 10.0
# A tenth of a degree is kept in binary and must not decide.
_HAIR = 1e-9


def keep_wet(shift: Shift | None, now_us: Instant) -> str:
    """Why a remover dries fast here ("panel 34 C", "direct sun"); "" if it does not.

    By the readings of the last hour; without one nothing is said.
    """
    newest = reading_in_force(shift, now_us)
    panel = reading_in_force(shift, now_us, "panel_c")
    if panel is not None and panel.panel_c is not None and panel.panel_c > WARM_PANEL_C:
        return f"panel {panel.panel_c:g} C"
    return "direct sun" if newest is not None and newest.place == "sun" else ""


def cut_hint(job: Job, stage: str) -> str:
    """What helps where sections are too big; "" if none of the stage is untouched."""
    return CUT if any(section.untouched for section in job.of(stage)) else ""


def film_notices(
    jobs: Mapping[str, Job], shift: Shift | None, now_us: Instant, chosen: Move | None, own: Own
) -> tuple[str, ...]:
    """Sentences about labelled flashes and dwells, the most urgent first.

    Args:
        chosen: the move the large key would take up.
        own: the worker's watched sections, by product.
    """
    if shift is None or not shift.on_clock:
        return ()
    running = [(job, w) for job in jobs.values() if job.state == "open" for w in job.films]
    running.sort(key=lambda pair: pair[1].last_us)
    laid = [
        (job, job.stage_of(w), w, found)
        for job, w in running
        if (found := flash_before(job.stage_of(w), w)) is not None
    ]
    said: list[str] = []
    coming = _coming(jobs, shift, chosen)
    if coming is not None:
        said += _too_big(*coming, shift, now_us, own)
    watched = any(_to_watch(job, window, shift, now_us) for job, _stage, window, _found in laid)
    early = _early(laid[-1][2], laid[-1][3].wait, now_us) if laid else ""
    if watched and early:
        # One line says both: a second one would wait until the film has been taken off.
        said.append(f"{early} {WATCH_IT}")
    else:
        said += [early] if early else [WATCH] if watched else []
    if laid:
        _job, _stage, _window, found = laid[-1]
        seen = forecast(found.wait, climate_at(shift, now_us), own.get(found.product, ()))
        said += [one for one in _doubts(seen) if one != seen.early]
    elif coming is not None and isinstance(shift.doing, Hands):
        job, stage_name, _sections, turn = coming
        behind = flash_after(job.stage(stage_name), turn)
        if behind is not None:
            said += _doubts(
                forecast(behind.wait, climate_at(shift, now_us), own.get(behind.product, ()))
            )
    why = keep_wet(shift, now_us)
    dwells = [window for _job, window in running if window.kind == "dwell"]
    if why and dwells and dwells[0].state(now_us) != "LATE":
        said.append(f"{why[0].upper()}{why[1:]}: keep it wet, rinse early.")
    return tuple(said)


Coming = tuple[Job, str, tuple[str, ...], Turn]


def _coming(jobs: Mapping[str, Job], shift: Shift, chosen: Move | None) -> Coming | None:
    """The work whose labelled flash comes next: what is in hand, else what is chosen."""
    tries: list[tuple[str, str, tuple[str, ...], Turn]] = []
    match shift.doing:
        case Hands(job_id, stage, sections, turn):
            tries.append((job_id, stage, sections, turn))
    if chosen is not None and chosen.act == "take up":
        tries.append((chosen.job, chosen.stage, chosen.sections, chosen.turn))
    for job_id, stage, sections, turn in tries:
        job = jobs.get(job_id)
        if job is not None and flash_after(job.stage(stage), turn) is not None:
            return job, stage, sections, turn
    return None


def _too_big(
    job: Job,
    stage_name: str,
    sections: tuple[str, ...],
    turn: Turn,
    shift: Shift,
    now_us: Instant,
    own: Own,
) -> list[str]:
    """A section whose film would be over before its last touch could be ready."""
    stage = job.stage(stage_name)
    found = flash_after(stage, turn)
    if found is None:
        return []
    seen = forecast(found.wait, climate_at(shift, now_us), own.get(found.product, ()))
    work = work_of(stage, turn)
    work_s = round(stage.minutes_of(work, sections) * 60)
    off_by_s = seen.marks.off_by_s or seen.marks.closes_s
    if off_by_s >= work_s and seen.marks.closes_s > work_s + seen.marks.opens_s:
        return []
    here = " at this temperature" if seen.reckoned else ""
    where = place_text(job, stage_name, sections)
    said = (
        f"{where} is too big{here}: {work.say} takes {clock_text(work_s)}, "
        f"off by {clock_text(off_by_s)}."
    )
    return [f"{said} {cut_hint(job, stage_name)}".rstrip()]


def _doubts(seen: Forecast) -> list[str]:
    """Why the marks of a film are not to be trusted much; nothing if they are."""
    if seen.refusals:
        others = f"By {seen.own} films of {seen.whose}." if seen.early and seen.whose else ""
        return [*filter(None, (seen.early, others)), seen.refusals[0]]
    if seen.whose:
        return [f"Too few of yours watched yet: marks by {seen.own} of {seen.whose}."]
    return [] if seen.own else [f"No section watched yet: {WIDE}."]


def _early(window: Window, wait: Wait, now_us: Instant) -> str:
    """Why a film that runs is looked at before the label's first mark; "" if it is not, or once
    it was seen ready or is late."""
    opens_s = window.marks.opens_s
    told = window.expected_us is None and opens_s < wait.opens_s
    if not told or window.seen_us is not None or window.state(now_us) == "LATE":
        return ""
    return ready_early(clock_text(opens_s))


def _to_watch(job: Job, window: Window, shift: Shift, now_us: Instant) -> bool:
    """True if this film should be watched: the first of its coat, or the climate moved.

    The climate is compared with that of the film watched last, else with the first one's.
    Without a reading nothing could be learned.
    """
    if window.seen_us is not None or window.state(now_us) == "LATE":
        return False
    here = climate_at(shift, window.last_us)
    if isinstance(here, str):
        return False
    coat = [w for w in job.every_window if w.stage == window.stage and w.kind == "flash"]
    if window.last_us <= coat[0].last_us:
        return True
    seen = [w for w in coat if w.seen_us is not None]
    before = max(seen, key=lambda w: w.seen_us or 0) if seen else coat[0]
    there = climate_at(shift, before.last_us)
    return isinstance(there, str) or _moved(here, there)


def _moved(here: FlashClimate, there: FlashClimate) -> bool:
    moves_c: Iterable[float] = (here.air_c - there.air_c, here.panel_c - there.panel_c)
    return (
        max(abs(move) for move in moves_c) >= MOVED_C - _HAIR
        or abs(here.rh - there.rh) >= MOVED_RH - _HAIR
    )
