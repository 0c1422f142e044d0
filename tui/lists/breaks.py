"""The list of breaks, with the windows that run on."""

from __future__ import annotations

from cartclock.engine.facts.events import BreakKind
from cartclock.engine.figures.measured import BREAK_MINUTES
from cartclock.engine.rules import rules
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.in_view import spoken_clock, watched
from cartclock.tui.lists.toggle import Toggle
from cartclock.tui.widgets.sheet import Line
from cartclock.tui.widgets.values import Length

BREAKS: tuple[tuple[BreakKind, str, int | None], ...] = (
    # Lengths are offered, not prescribed; common practice, no source.
    ("rest", "r", 15),
    ("meal", "m", 30),
    ("heat", "h", 15),
    ("away", "a", None),
)


def open_breaks(host: Host) -> None:
    """Breaks, with the windows that run on."""
    bench = host.cart.bench
    toggle = Toggle(bench)
    lines = []
    for what, hot, minutes in BREAKS:
        length = Length(what, minutes, round(BREAK_MINUTES.high))

        def take(what: BreakKind = what, length: Length = length) -> None:
            planned = length.minutes * 60 or None
            host.cart.write(rules.take_break, what, planned, toggle.finish)

        lines.append(Line(length.text, take, hot=hot, turn=length.turn))
    running_on = watched(host.cart.moment)
    title = "Break"
    if running_on:
        title += ": windows run on: " + ", ".join(
            f"{w.section} {'closed' if w.closes_us <= bench.now_us else 'closes'} "
            f"{spoken_clock(bench, w.closes_us)}"
            for _job, w in running_on[:3]
        )
    hint = "left, right: length   space: take it   esc: no break"
    host.sheet.open(title, [*lines, *toggle.lines()], hint)
