"""The next two hours by the plan, with the effort of each piece: what the hour's budget weighs.

What is left of the piece in hand comes first, then the plan as SPACE would take it up. A wait
that no work fills counts as light work. Breaks, meals and other work are not in it.
"""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.ahead.play import play
from cartclock.engine.ahead.played import Played, WaitBehind
from cartclock.engine.body.budget import Ahead, PlannedWork
from cartclock.engine.body.exposure import hardest_effort
from cartclock.engine.facts.in_play import film_in_play
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.words import place_text
from cartclock.engine.times import Instant, Length

# No rule looks further ahead.
AHEAD_US = 2 * HOUR_US
# What is left of a piece that takes longer than planned: the larger of the two. Our own judgement.
LEAST_LEFT_US = MINUTE_US
LEFT_SHARE = 0.2


def sequence(
    jobs: Sequence[Job],
    now_us: Instant,
    meal_us: Length | None = None,
    behind: WaitBehind | None = None,
    worker: str = "",
    hands_gone_us: int | None = None,
) -> Ahead:
    """The plan ahead of a worker who is on the clock.

    Args:
        jobs: the open ones, the one in front first.
        meal_us: time until the next meal; None if none is near.
        behind: the waits as they would be frozen now; None: by the plan.
        worker: what others have in hand is not among this one's work; "": it is.
        hands_gone_us: how long what is in hand was in it; None: since its first touch.
    """
    pieces: list[PlannedWork] = []
    in_hand_us = next_us = Length(0)
    total_us = 0
    overrun = False
    named = ""
    for job in jobs:
        played = play(
            job, now_us, behind, hands_gone_us=hands_gone_us, ahead_us=AHEAD_US, worker=worker
        )
        at_us = now_us
        for index, one in enumerate(played):
            if total_us >= AHEAD_US:
                break
            if one.in_hand and worker and _hands_of(job, one) != worker:
                continue
            if one.start_us > at_us:
                pieces.append(PlannedWork(Length(min(one.start_us - at_us, AHEAD_US)), "light"))
                total_us += one.start_us - at_us
            at_us = one.end_us
            length_us = one.work_us
            if one.in_hand:
                length_us = in_hand_us = _left_us(job, one)
                overrun = one.work_us <= 0
            elif not next_us:
                next_us = _unit_us(played, index)
            if length_us > 0:
                if not pieces:
                    where = place_text(job, one.stage, one.sections)
                    named = f"{job.work(one.stage, one.turn).say} {where}"
                pieces.append(PlannedWork(length_us, hardest_effort(job, one.stage, one.sections)))
                total_us += length_us
    film = film_in_play(jobs, now_us)
    return Ahead(tuple(pieces), in_hand_us, next_us, film, meal_us, overrun, named)


def _hands_of(job: Job, one: Played) -> str:
    return job.sections[one.stage, one.sections[0]].worker


def _left_us(job: Job, one: Played) -> Length:
    """What is left of the piece in hand, never nothing."""
    if one.work_us > 0:
        return one.work_us
    minutes = job.stage(one.stage).minutes_of(job.work(one.stage, one.turn), one.sections)
    return Length(max(LEAST_LEFT_US, round(LEFT_SHARE * minutes * MINUTE_US)))


def _unit_us(played: Sequence[Played], index: int) -> Length:
    """A piece that is begun or not as a whole: a film from its laying to its finishing."""
    one = played[index]
    length_us = one.work_us
    while one.lays:
        later = next((i for i, p in enumerate(played) if index in p.after), None)
        if later is None:
            break
        length_us = Length(length_us + played[later].wait_us + played[later].work_us)
        index, one = later, played[later]
    return length_us
