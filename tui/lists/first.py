"""What may be done first instead of the coat that was asked about: what is missing, or the rest."""

from __future__ import annotations

from collections.abc import Callable

from cartclock.engine.facts.move import Move
from cartclock.engine.facts.words import move_text
from cartclock.engine.films.undone import UNDONE
from cartclock.engine.now.moment import Hand
from cartclock.engine.rules.choices import to_be_done_first
from cartclock.engine.rules.rest_in_wave import REST_IN_WAVE
from cartclock.tui.lists.host import Host
from cartclock.tui.told.asked import Asked
from cartclock.tui.widgets.sheet import Line


def instead_lines(
    host: Host, asked: Asked, leave: Callable[[], None], take_up: Callable[[Move], None]
) -> list[Line]:
    """The line that takes up what comes first, and ends the question. Empty for any other question.

    Args:
        leave: lets go of the question; nothing is written by it.
        take_up: takes up a move for whoever pressed.
    """
    now = host.cart.workplace.moment
    hand = now.helper if asked.worker else now.me
    first = None if hand is None else _first(host, asked, hand)
    if first is None:
        return []

    def pick() -> None:
        leave()
        take_up(first)

    return [Line(f"no, first: {move_text(first, now.jobs)}", pick)]


def _first(host: Host, asked: Asked, hand: Hand) -> Move | None:
    """What is in front of it: work that is not done, or a rest that would fall into it."""
    if asked.rule_id == REST_IN_WAVE and hand.watch is not None:
        if hand.on is not None and hand.on.state == "break":
            # It goes on as it is.
            return None
        return Move("rest", minutes=hand.watch.pace.rest_minutes, why="rest")
    if asked.rule_id != UNDONE or asked.move is None or asked.press == "fill in":
        return None
    job = host.cart.workplace.moment.jobs.get(asked.move.job)
    return None if job is None else to_be_done_first(hand.moves, job, asked.move.stage)
