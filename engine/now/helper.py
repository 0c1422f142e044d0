"""Two pairs of hands at one vehicle: what the second is offered."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.facts.move import Move


def helper_move(moves: Sequence[Move], first: Move | None) -> Move | None:
    """What the second worker takes up next; None if there is nothing.

    Args:
        moves: theirs, best first.
        first: what the first worker's key would take up. A film that waits is offered to both,
            because it waits for nobody; a plain section only to the first, as long as there is
            another one.

    Handing the vehicle over is left to the first worker.
    """
    mine = [move for move in moves if move.act != "close"]

    def same(move: Move) -> bool:
        return (
            first is not None
            and move.act == first.act == "take up"
            and (move.job, move.stage) == (first.job, first.stage)
            and not set(move.sections).isdisjoint(first.sections)
        )

    free = (move for move in mine if move.why in ("late", "window") or not same(move))
    return next(free, None) or next(iter(mine), None)
