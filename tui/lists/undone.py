"""What may be done when work in front of a coat is not done: that first."""

from __future__ import annotations

from collections.abc import Callable

from cartclock.engine.facts.move import Move
from cartclock.engine.facts.words import move_text
from cartclock.engine.films.undone import UNDONE
from cartclock.engine.rules.choices import to_be_done_first
from cartclock.tui.lists.asked import Asked
from cartclock.tui.lists.host import Host
from cartclock.tui.widgets.sheet import Line


def instead_lines(
    host: Host, asked: Asked, leave: Callable[[], None], take_up: Callable[[Move], None]
) -> list[Line]:
    """The line that takes up what is missing, and ends the question. Empty for any other question.

    Args:
        leave: lets go of the question; nothing is written by it.
        take_up: takes up a move for whoever pressed.
    """
    now = host.cart.moment
    hand = now.helper if asked.worker else now.me
    if asked.rule_id != UNDONE or asked.move is None or hand is None:
        return []
    job = now.jobs.get(asked.move.job)
    first = None if job is None else to_be_done_first(hand.moves, job, asked.move.stage)
    if first is None:
        return []

    def pick() -> None:
        leave()
        take_up(first)

    return [Line(f"no, first: {move_text(first, now.jobs)}", pick)]
