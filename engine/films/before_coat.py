"""When the page before a coat is to be read: once, before the first film of a layer.

What a layer needs is brought before it is begun, because no film waits for it. Which of it is
there is a matter of that hour, so the page comes again on another day, and where the layer is laid
anew; not in the middle of a layer.
"""

from __future__ import annotations

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.layers import layer_text
from cartclock.engine.facts.move import Move
from cartclock.engine.times import Instant

BEFORE_COAT = "before_coat"
ALL_THERE = "All there?"


def page_due(job: Job, move: Move, since_us: Instant) -> bool:
    """True if the page is to be read before a move is taken up.

    Args:
        job: as it is when what is in hand has ended.
        since_us: when the shift of the worker began.
    """
    stage = job.stage(move.stage)
    if stage.kind != "coat" or move.turn.step != 0:
        return False
    there = job.of(move.stage)
    if any(one.state == "held" and one.turn == move.turn for one in there):
        return False
    passes = {one.name: one.turn.pass_ for one in there}
    laid = any(
        (stint.stage, stint.turn.layer) == (move.stage, move.turn.layer)
        and stint.last_us >= since_us
        and passes.get(stint.section) == stint.turn.pass_
        for stint in job.stints
    )
    return not laid and not any(
        isinstance(row.event, ev.BeforeCoatRead)
        and (row.event.stage, row.event.turn) == (move.stage, move.turn)
        and row.at_us >= since_us
        for row in job.facts
    )


def layer_called(job: Job, stage_name: str, layer: int) -> str:
    """A layer as it is called: "Coat, layer 1 of 2", and the stage alone where it has one only, or
    was struck since."""
    layers = next((stage.layers for stage in job.stages if stage.name == stage_name), 1)
    said = layer_text(layer, layers)
    return f"{stage_name}, {said}" if said else stage_name
