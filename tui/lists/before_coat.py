"""The page before a layer of a coat: read once, then the layer is begun."""

from __future__ import annotations

from collections.abc import Callable

from cartclock.engine.facts.call_backs import waiting_calls
from cartclock.engine.facts.words import said_in
from cartclock.engine.films.before_coat import BEFORE_COAT
from cartclock.engine.films.waves import PLANNED
from cartclock.engine.now.before_coat import before_coat
from cartclock.engine.now.moment import Hand
from cartclock.engine.rules.before_coat import read_before_coat
from cartclock.tui.lists.host import Host
from cartclock.tui.told.asked import Asked
from cartclock.tui.widgets.sheet import Line

# Whatever it misses is noted over it by the key that always does; it stands again behind that.
HINT = "up, down: read on   space: all there   R: reading, this stays   esc: not yet"


def is_page(asked: Asked) -> bool:
    """True if what is asked is whether this page was read."""
    return asked.rule_id == BEFORE_COAT


def open_page(
    host: Host,
    asked: Asked,
    leave: Callable[[], None],
    go_on: Callable[[], None],
    stand: Callable[[], None],
) -> None:
    """The page, as it stands at this moment.

    Args:
        leave: lets go of it; nothing is written by it.
        go_on: takes up what was pressed.
        stand: opens it once more, behind a key that was pressed over it.
    """
    cart = host.cart
    now, move = cart.workplace.moment, asked.move
    hand: Hand | None = now.helper if asked.worker else now.me
    job = None if move is None else now.jobs.get(move.job)
    if move is None or job is None or hand is None or hand.on is None:
        leave()
        return
    calls = waiting_calls(now.jobs.values()).values()
    stock = cart.workplace.stock
    # How long the helper takes nobody measured.
    factors = PLANNED if asked.worker else now.ahead.factors(job.id)
    page = before_coat(job, move, hand.on, hand.watch, stock, now.now_us, calls, factors)
    worker = asked.worker or cart.bench.worker

    def read() -> None:
        cart.bench.do_as(worker, 0, read_before_coat, move, page.judged)
        cart.workplace.look_again()
        go_on()

    unit = cart.settings.temperature
    lines = [Line(said_in(text, unit), folds=True) for text in page.lines]
    host.sheet.open(asked.sentence, lines, HINT, done=read, closed=leave, again=stand)
