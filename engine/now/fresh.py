"""A fresh pad or towel as something to be taken up: offered between two sections, never asked for.

It is offered before the section that would wear it too long, as long as nothing wants the hands
sooner: a film in play waits for nobody, and whoever lays the next one while it runs changes
afterwards. Going on with the one in use is the worker's to decide.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec.structs import replace

from cartclock.engine.facts.in_play import film_in_play
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.shift import Shift
from cartclock.engine.plan.plan import Stage
from cartclock.engine.products.worn import Worn, wears_of, worn
from cartclock.engine.times import Instant


def fresh_moves(
    jobs: Mapping[str, Job], shift: Shift, first: Move | None, now_us: Instant
) -> tuple[Move, ...]:
    """The move that changes whatever is due before another one; empty if nothing is.

    Args:
        jobs: as they are when what is in hand is finished.
        first: what would be taken up next; None: nothing.
    """
    if first is None or first.act != "take up" or first.why != "order":
        return ()
    if film_in_play(jobs.values(), now_us):
        return ()
    due = due_before(jobs[first.job], first, shift)
    if not due:
        return ()
    kinds = " and ".join(dict.fromkeys(one.wear.kind for one in due))
    say = f"change {kinds}: {'; '.join(one.text for one in due)}"
    return (replace(first, act="change", say=say, minutes=0.0, why="worn"),)


def due_before(job: Job, move: Move, shift: Shift) -> tuple[Worn, ...]:
    """What has had its sections of all that the work of a move would wear."""
    stage = job.stage(move.stage)
    each = (worn(job, stage, wear, shift) for wear in wears_of(stage, _steps(stage, move)))
    return tuple(one for one in each if one.due)


def _steps(stage: Stage, move: Move) -> range:
    """The steps for which a change is due before this one: none in the middle of a section.

    Where one step goes over all sections, the next step is between two sections as well.
    """
    if stage.order == "all":
        return range(move.turn.step, move.turn.step + 1)
    return range(len(stage.steps)) if move.turn.step == 0 else range(0)
