"""Alarms: what is to be heard, how urgent it is, and in which sentence.

An alarm is a state of the cart that wants ears: a window that is ready or late, a look, a
break that is over, a call back, a drink, a rest, a missing "I am well".
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set

from cartclock.engine.body.signs import seriousness
from cartclock.engine.body.watch import Watch
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_play import in_play
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.shift import Break, Shift
from cartclock.engine.films.cure import due, look_text
from cartclock.engine.now.calling import call_states
from cartclock.engine.now.put_down import PutDown, put_down_films
from cartclock.engine.now.ringing import URGENCIES, Alarm, Urgency, by_urgency
from cartclock.engine.now.running import (
    FILLS_FROM,
    Field,
    Film,
    film_in_hand,
    film_state,
    put_down_state,
    running_films,
    states,
)
from cartclock.engine.times import Instant


def alarms(
    jobs: Mapping[str, Job], shift: Shift | None, now_us: Instant, watch: Watch | None = None
) -> tuple[Alarm, ...]:
    """The alarms that there are at `now_us`, the most urgent first.

    Args:
        jobs: open jobs by id.
        shift: the worker's shift, None if there never was one.
        watch: how the worker fares; None off the clock.
    """
    wet = {(job.id, s.stage, s.name) for job in jobs.values() for s in in_play(job, now_us)}
    of_films = {film_state(film, now_us)[0]: film for film in running_films(jobs, now_us)}
    left = {put_down_state(film, now_us)[0]: film for film in put_down_films(jobs, now_us)}
    held = film_in_hand(jobs, shift)
    found: list[Alarm] = []
    for key, field in states(jobs, shift, now_us, watch):
        if field not in ("ready", "rest", "late"):
            continue
        kind = key.split("/")[0]
        if key in of_films:
            found.append(_film_alarm(key, of_films[key], now_us, wet))
        elif key in left:
            found.append(_put_down_alarm(key, field, left[key]))
        elif kind == "hands" and held is not None:
            said = f"late, {held.say}" if field == "late" else f"it closes, {held.say}"
            found.append(Alarm(key, field, f"{held.where}: {said}", film=True))
        elif kind == "break":
            found.append(Alarm(key, "ready", "the break is over: back to work"))
        elif kind == "check":
            found.append(Alarm(key, "ready", _look_sentence(key, jobs, now_us)))
        elif kind == "call":
            found.append(Alarm(key, "info", call_states(jobs, now_us)[key]))
        elif kind == "drink":
            found.append(Alarm(key, "info", "drink now"))
        elif watch is not None and kind == "rest":
            found.append(_rest_alarm(watch))
        elif watch is not None and kind == "well":
            found.append(_well_alarm(key, watch))
    return by_urgency(found)


def _film_alarm(key: str, film: Film, now_us: Instant, wet: Set[tuple[str, str, str]]) -> Alarm:
    one = film.first
    plays = (film.job.id, one.stage, one.section) in wet
    say = film.job.work(one.stage, one.turn).say
    if film.first.state(now_us) == "LATE":
        return Alarm(key, "late", f"{film.where}: late, {say}", film=plays)
    looks = film.first.to_look_at(now_us)
    return Alarm(key, "ready", f"{film.where}: {'look' if looks else say}", film=plays)


def _put_down_alarm(key: str, field: Field, film: PutDown) -> Alarm:
    say = film.work.say
    if field == "late":
        return Alarm(key, "late", f"{film.where}: late, {say}", film=True)
    return Alarm(key, "ready", f"{film.where}: put down wet, {say}", film=True)


def _look_sentence(key: str, jobs: Mapping[str, Job], now_us: Instant) -> str:
    """The same for all sections that one look covers, so that a voice says it once."""
    for look in due(jobs, now_us):
        if key.startswith(f"check/{look.job}/{look.stage}/") and key in {
            f"check/{look.job}/{look.stage}/{name}/{look.closes_us}" for name in look.sections
        }:
            return f"look again: {look_text(jobs[look.job], look, now_us)}"
    return "look again"


def _rest_alarm(watch: Watch) -> Alarm:
    signs = () if watch.unwell is None else watch.unwell[0]
    if seriousness(signs) == "emergency":
        # Its own key: it begins anew even if a rest has rung for long.
        said = f"call the emergency number: {', '.join(signs)}"
        return Alarm("rest/emergency", "emergency", said)
    minutes = watch.pace.rest_minutes
    if watch.pace.no_work_time:
        what = watch.pace.eased or "a cooler place or a cooler hour"
        return Alarm("rest", "rest", f"no work time here: {what}")
    if watch.pace.grade == "soon" and not minutes:
        what = watch.pace.eased or "a cooler place or a cooler hour"
        said = f"no rest here is enough behind this piece: {what}"
        return Alarm("rest/soon", "rest", said, repeated=False)
    due_s = watch.water.due_in_s
    cup = ", with a cup of water" if due_s is not None and due_s <= watch.pace.rest_s else ""
    if watch.pace.grade == "soon":
        said = f"{minutes} minutes of rest before the next piece{cup}"
        return Alarm("rest/soon", "rest", said, repeated=False)
    return Alarm("rest", "rest", f"rest now, {minutes} minutes{cup}")


def _well_alarm(key: str, watch: Watch) -> Alarm:
    if watch.check_in.loudness < FILLS_FROM:
        return Alarm(key, "late", "are you well? Press J", repeated=False)
    # By now it speaks to whoever is near as well.
    minutes = watch.check_in.overdue_s * SECOND_US // MINUTE_US
    said = f"no 'I am well' for {minutes} minutes more than agreed: are you well? Press J"
    return Alarm(key, "emergency", said, repeated=False)


def question_alarm(sentence: str) -> Alarm:
    """A question that nobody answered: whoever pressed walked off, and nothing was begun."""
    return Alarm("question", "ready", sentence, repeated=False)


def battery_alarm(sentence: str) -> Alarm:
    """A battery that is nearly empty: when it is, nothing rings any more."""
    return Alarm("battery", "late", sentence)


def should_stay_awake(shift: Shift | None, running: Sequence[Film]) -> bool:
    """True while the laptop must not fall asleep: on the clock, but for a meal with no film open.

    With an "I am well" agreed it stays awake at a meal too: asleep it could not ask for one.

    Args:
        running: the films whose windows are open.
    """
    if shift is None or not shift.on_clock:
        return False
    meal = isinstance(shift.doing, Break) and shift.doing.what == "meal"
    return not meal or bool(running) or _agreed(shift)


def _agreed(shift: Shift) -> bool:
    found = [row.event.every_s for row in shift.facts if isinstance(row.event, ev.CheckedIn)]
    return bool(found) and found[-1] > 0


def rehearsed() -> tuple[Alarm, ...]:
    """One alarm of each urgency, the least urgent first, to try how they are heard."""
    said: dict[Urgency, str] = {
        "info": "drink now",
        "ready": "bonnet left: level",
        "late": "bonnet left: late, level",
        "rest": "rest now, 20 minutes",
        "emergency": "no 'I am well' for 6 minutes more than agreed: are you well? Press J",
    }
    return tuple(Alarm(f"rehearsed/{name}", name, said[name]) for name in URGENCIES)
