"""Lighter work where what is ahead has no work time here: which there is, and how long it goes.

A film is neither begun nor gone on with by it, and no coat: what was laid would want work that
there is no time for. All of it is a screening estimate, and symptoms override every number.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from msgspec.structs import replace

from cartclock.engine.body.budget import Ahead, PlannedWork
from cartclock.engine.body.exposure import hardest_effort, is_harder
from cartclock.engine.body.pace import Pace
from cartclock.engine.body.watch import Watch
from cartclock.engine.facts.in_play import lays_film
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.shift import Break, Hands, Shift
from cartclock.engine.facts.words import move_text
from cartclock.engine.plan.plan import Effort
from cartclock.engine.times import Length


def eases(move: Move, jobs: Mapping[str, Job], pace: Pace | None) -> bool:
    """True of work that has time here while what is ahead has none."""
    if pace is None or pace.eases_to is None or not pace.buys_none:
        return False
    if move.act != "take up" or move.why not in ("held", "order", "lighter"):
        return False
    job = jobs[move.job]
    stage = job.stage(move.stage)
    if stage.kind == "coat" or lays_film(stage, move.turn.step):
        return False
    return not is_harder(hardest_effort(job, move.stage, move.sections), pace.eases_to)


def eased(
    fares: Watch,
    shift: Shift,
    jobs: Mapping[str, Job],
    found: tuple[Move, ...],
    ahead: Ahead | None,
    again: Callable[[Ahead], Watch],
) -> tuple[Watch, tuple[Move, ...]]:
    """How a worker fares, and what can be taken up, best first, lighter work in front of it where
    it must be; once such work is in hand the worker is judged by it.

    Args:
        found: what can be taken up, without a rest.
        ahead: the plan that `fares` was judged by.
        again: how the worker fares by another plan.
    """
    pace = fares.pace
    to = pace.eases_to
    if to is None or ahead is None or not pace.buys_none:
        return fares, found
    first = next((move for move in found if eases(move, jobs, pace)), None)
    moves = found
    if first is not None:
        moves = (replace(first, why="lighter"), *(move for move in found if move is not first))
    if isinstance(shift.doing, Hands) and not is_harder(pace.effort, to):
        # What is in hand has its time; only what the plan has behind it has none.
        plan = _plan(jobs, ahead, first, PlannedWork(ahead.in_hand_us, pace.effort))
        rest = (Move("rest", why="rest"),) if first is None else ()
        return again(plan), (*rest, *moves)
    if first is None or not (fares.rest_next or isinstance(shift.doing, Break)):
        return fares, found
    instead = again(_plan(jobs, ahead, first, None)).pace
    if instead.grade:
        # The hour is used up for lighter work as well.
        return fares, found
    told = replace(pace, eased=move_text(first, jobs), eased_s=instead.left_s)
    return replace(fares, pace=told), moves


def _plan(
    jobs: Mapping[str, Job], ahead: Ahead, first: Move | None, in_hand: PlannedWork | None
) -> Ahead:
    """What is in hand and one piece of lighter work behind it; after them light work."""
    pieces = [] if in_hand is None else [in_hand]
    next_us = Length(0)
    named = ahead.named
    if first is not None:
        next_us = Length(round(max(1.0, first.minutes) * MINUTE_US))
        pieces.append(PlannedWork(next_us, _effort(first, jobs)))
        named = named if in_hand is not None else move_text(first, jobs)
    in_hand_us = Length(0) if in_hand is None else in_hand.length_us
    return replace(ahead, pieces=tuple(pieces), in_hand_us=in_hand_us, next_us=next_us, named=named)


def _effort(move: Move, jobs: Mapping[str, Job]) -> Effort:
    return hardest_effort(jobs[move.job], move.stage, move.sections)
