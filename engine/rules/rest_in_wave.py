"""A rest that falls into a coat: asked about before its first film, and not between two of them.

While films are in play no rest is called, so whoever begins a layer with a rest near ends it late
or breaks it off. All of it is a screening estimate, and symptoms override every number.
"""

from __future__ import annotations

from cartclock.engine.body.budget import BOUGHT_US
from cartclock.engine.body.pace import Pace
from cartclock.engine.body.rest_words import left_minutes
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.films.waves import PLANNED, Factors, wave_minutes, wave_since_us
from cartclock.engine.times import Instant

REST_DUE, REST_IN_WAVE = "rest_due", "rest_in_wave"
REST_QUESTIONS = frozenset({REST_DUE, REST_IN_WAVE})
"""The rules that ask about a rest, by id; whoever says no to one does not go on with that work."""


def rest_question(
    job: Job,
    move: Move,
    pace: Pace | None,
    now_us: Instant,
    resting: bool = False,
    factors: Factors = PLANNED,
) -> str:
    """That a rest falls due before a layer is laid, as a question; "" if it does not.

    Nor is it asked while the layer is laid already, where a rest taken first would buy no more
    than is left, or once the rest is called, which asks by itself.

    Args:
        job: as it is when what is in hand has ended.
        pace: how the hour stands; None: not known.
        resting: True in a break, in which no rest is called though it is not over.
        factors: of the work.
    """
    stage = job.stage(move.stage)
    if pace is None or (pace.grade and not resting):
        return ""
    if not pace.grade and pace.left_s is None:
        return ""
    held = all(job.sections[move.stage, name].state == "held" for name in move.sections)
    if stage.kind != "coat" or move.turn.step != 0 or held:
        return ""
    if wave_since_us(job, move.stage, move.turn.layer, now_us) is not None:
        return ""
    minutes = wave_minutes(job, move.stage, move.turn.layer, factors)
    if pace.grade:
        left = (
            "there is no work time here"
            if pace.no_work_time or not pace.rest_s
            else f"{pace.rest_minutes} min of this rest are left"
        )
        return (
            f"Screening estimate: {left}, and this layer takes about {minutes:.0f} min. "
            "Coat all the same?"
        )
    if pace.left_s is None or pace.left_s >= min(minutes, max(BOUGHT_US) / MINUTE_US) * 60:
        return ""
    in_minutes = f"in {left_minutes(pace)} min"
    due = (
        f"a rest of {pace.rest_minutes} min falls due {in_minutes}"
        if pace.rest_s
        else f"the work time here is over {in_minutes} and no rest makes more of it"
    )
    return (
        f"Screening estimate: {due}, and this layer takes about {minutes:.0f} min. "
        "Coat all the same?"
    )
