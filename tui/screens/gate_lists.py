"""Lists of the gate before a coat: the forecast of today, and what to do instead of coating."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from engine.job import rules
from engine.job.coating import CONDITION, GATE
from engine.job.curve import expected
from engine.trouble import Refused
from tui.screens import body_lists, lists
from tui.widgets.sheet import Line

if TYPE_CHECKING:
    from tui.screens.run import RunScreen


def open_forecast(screen: RunScreen) -> None:
    """Today's low and high by the forecast; the ones entered last are offered."""
    bench = screen.cart.bench
    shift = bench.shift()
    known = None if shift is None else expected(shift, bench.now_us)
    unit = screen.cart.settings.temperature
    low = body_lists.Degrees("today's low", unit, None if known is None else known.low_c)
    high = body_lists.Degrees("today's high", unit, None if known is None else known.high_c)

    def write() -> None:
        low_c, high_c = low.value_c, high.value_c
        if low_c is None or high_c is None:
            raise Refused("Both are needed: today's low and today's high.")
        screen.cart.write(rules.expect_day, low_c, high_c)

    lines = [low.line(), high.line()]
    hint = "type or turn the values   space: write both   esc: nothing"
    title = "Today by the forecast, air outdoors; it plans the next reading and judges nothing"
    screen.sheet.open(title, lines, hint, done=lists.guarded(screen, write))


def forecast_line(screen: RunScreen) -> Line:
    """A line that opens the forecast's list; what was typed in the list it stands in is let go."""
    return Line("today's low and high ...", lambda: open_forecast(screen))


def instead_lines(screen: RunScreen, rule_id: str, leave: Callable[[], None]) -> list[Line]:
    """What may be done instead when the gate asks: measure, or say what the day should bring.

    leave: lets go of the question; nothing is written by it. Empty for any other question.
    """
    if rule_id not in (GATE, CONDITION):
        return []

    def instead(then: Callable[[RunScreen], None]) -> Callable[[], None]:
        def pick() -> None:
            leave()
            then(screen)

        return pick

    return [
        Line("no, take a reading first", instead(body_lists.open_reading)),
        Line("no, type today's low and high", instead(open_forecast)),
    ]
