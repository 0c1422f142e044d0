"""What may be done when a rest would fall into a coat: the rest first."""

from __future__ import annotations

from collections.abc import Callable

from cartclock.engine.facts.move import Move
from cartclock.engine.facts.words import move_text
from cartclock.engine.rules.rest_in_wave import REST_IN_WAVE
from cartclock.tui.lists.asked import Asked
from cartclock.tui.lists.host import Host
from cartclock.tui.widgets.sheet import Line


def instead_lines(
    host: Host, asked: Asked, leave: Callable[[], None], take_up: Callable[[Move], None]
) -> list[Line]:
    """The line that takes the rest, and ends the question. Empty for any other question.

    Args:
        leave: lets go of the question; nothing is written by it.
        take_up: takes up a move for whoever pressed.
    """
    now = host.cart.moment
    hand = now.helper if asked.worker else now.me
    if asked.rule_id != REST_IN_WAVE or hand is None or hand.watch is None:
        return []
    rest = Move("rest", minutes=hand.watch.pace.rest_minutes, why="rest")

    def pick() -> None:
        leave()
        take_up(rest)

    return [Line(f"no, first: {move_text(rest, now.jobs)}", pick)]
