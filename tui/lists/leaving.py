"""What begins beside the vehicle: a break or other work, and the film that would be left for it."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from msgspec.structs import replace

from cartclock.engine.desk.bench import Pressed
from cartclock.engine.facts.words import place_text
from cartclock.engine.rules import rules
from cartclock.engine.rules.film_left import FILM_LEFT
from cartclock.engine.trouble import Asks
from cartclock.tui.lists.host import Cart, Host
from cartclock.tui.told.asked import Asked
from cartclock.tui.told.in_view import in_hand
from cartclock.tui.widgets.sheet import Line

Tell = Callable[[Pressed], object]


def leave_for(
    cart: Cart, asked: Asked, over: Mapping[str, str] = rules.NO_REASONS, tell: Tell | None = None
) -> bool:
    """Begins the break or the other work of `asked` in one press; a film that would be left stands
    as a question instead. False if it does.

    Args:
        asked: its `press` is "break" or "other work".
        over: reasons given already.
        tell: answers what was written; None: as for the first worker.
    """
    bench = cart.bench
    worker = asked.worker or bench.worker
    try:
        if asked.press == "break":
            told = bench.do_as(
                worker, 0, rules.take_break, asked.rest, asked.planned_s, asked.finish, over
            )
        else:
            told = bench.do_as(
                worker, 0, rules.start_other, asked.other, asked.job, asked.finish, over
            )
    except Asks as asks:
        cart.ask(replace(asked, rule_id=asks.rule_id, sentence=str(asks), over=dict(over)))
        return False
    (tell or cart.told)(told)
    return True


def instead_lines(
    host: Host, asked: Asked, leave: Callable[[], None], tell: Tell | None = None
) -> list[Line]:
    """The line that says of a film in hand that it is finished, and begins what was pressed. Empty
    for any other question.

    leave: lets go of the question; nothing is written by it.
    """
    bench = host.cart.bench
    hands = in_hand(bench, asked.worker)
    if asked.rule_id != FILM_LEFT or asked.finish or hands is None:
        return []

    def pick() -> None:
        leave()
        leave_for(host.cart, replace(asked, finish=True), tell=tell)

    where = place_text(bench.jobs[hands.job], hands.stage, hands.sections)
    return [Line(f"{where} is finished: begin {_what(asked)}", pick)]


def _what(asked: Asked) -> str:
    """What was pressed, as it is begun."""
    if asked.press == "break":
        return "the break"
    return "the call" if asked.other == "phone" else f"other work, {asked.other}"
