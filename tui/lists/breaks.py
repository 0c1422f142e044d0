"""The list of breaks, with the windows that run on."""

from __future__ import annotations

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.shift_events import BreakKind
from cartclock.engine.figures.measured import BREAK_MINUTES
from cartclock.engine.rules import rules
from cartclock.tui.lists.clock import clothing_choice
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.leaving import leave_for
from cartclock.tui.lists.toggle import Toggle
from cartclock.tui.told.asked import Asked
from cartclock.tui.told.in_view import spoken_clock, watched
from cartclock.tui.widgets.sheet import Line
from cartclock.tui.widgets.values import Length

BREAKS: tuple[tuple[BreakKind, str, int | None], ...] = (
    # Lengths are offered, not prescribed; common practice, no source.
    ("rest", "r", 15),
    ("meal", "m", 30),
    ("heat", "h", 15),
    ("away", "a", None),
)


RESTS: tuple[BreakKind, ...] = ("rest", "heat")


def open_breaks(host: Host) -> None:
    """Breaks, with the windows that run on."""
    bench = host.cart.bench
    # As SPACE takes a called rest: what has had its minutes is finished, if no film begins by that.
    toggle = Toggle(bench, finish=rules.minutes_over(bench.scene()))
    lines = []
    fares = host.cart.workplace.body()
    called = 0 if fares is None or not fares.pace.grade else fares.pace.rest_minutes
    for what, hot, offered in BREAKS:
        # A rest that is called is offered at its length.
        minutes = called if called and what in RESTS else offered
        length = Length(what, minutes, round(BREAK_MINUTES.high))

        def take(what: BreakKind = what, length: Length = length) -> None:
            planned = length.minutes * 60 or None
            asked = Asked("", "", "break", rest=what, planned_s=planned, finish=toggle.finish)
            leave_for(host.cart, asked)

        lines.append(Line(length.text, take, hot=hot, turn=length.turn))
    running_on = watched(host.cart.workplace.moment)
    title = "Break"
    if running_on:
        title += ": windows run on: " + ", ".join(
            f"{w.section} {'closed' if w.closes_us <= bench.now_us else 'closes'} "
            f"{spoken_clock(bench, w.closes_us)}"
            for _job, w in running_on[:3]
        )
    hint = "left, right: length   space: take it   esc: no break"
    host.sheet.open(title, [*lines, *clothing_lines(host), *toggle.lines()], hint)


def clothing_lines(host: Host) -> list[Line]:
    """A line that says what is worn from here on, turned first; none off the clock."""
    cart = host.cart
    shift = cart.bench.shift()
    if shift is None or shift.state in ("new", "off"):
        return []
    worn = clothing_choice(cart, shift)

    def say() -> None:
        cart.write(rules.note_shift, ev.ClothingSaid(worn.value))

    return [Line(worn.text, say, turn=worn.turn)]
