"""What may be done when the gate asks before a coat: measure, or say what the day should bring."""

from __future__ import annotations

from collections.abc import Callable

from cartclock.engine.films.gate import CONDITION, GATE, READING_ENDS
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.reading import open_forecast, open_reading
from cartclock.tui.widgets.sheet import Line


def instead_lines(host: Host, rule_id: str, leave: Callable[[], None]) -> list[Line]:
    """What may be done instead when the gate asks: measure, or say what the day should bring.

    leave: lets go of the question; nothing is written by it. Empty for any other question.
    """
    if rule_id not in (GATE, CONDITION, READING_ENDS):
        return []

    def instead(then: Callable[[Host], None]) -> Callable[[], None]:
        def pick() -> None:
            leave()
            then(host)

        return pick

    lines = [Line("no, take a reading first", instead(open_reading))]
    if rule_id != READING_ENDS:
        lines.append(Line("no, type today's low and high", instead(open_forecast)))
    return lines
