"""The page before the work begins: what is to be known of the products of the day."""

from __future__ import annotations

from collections.abc import Callable

from msgspec.structs import replace

from cartclock.engine.letters import inert, wrapped
from cartclock.engine.products.reminders import reminders
from cartclock.tui.lists.host import Host
from cartclock.tui.widgets.sheet import Line

# Frame, mark and letter of a line of a list.
_MARGIN = 8


def folded_lines(host: Host, text: str) -> list[Line]:
    """Text as lines of a list that only are read; leading blanks indent all of them."""
    indent = " " * (len(text) - len(text.lstrip(" ")))
    width = max(20, host.columns - _MARGIN - len(indent))
    return [Line(f"{indent}{row}") for row in wrapped(inert(text.strip()), width)]


def open_reminders(host: Host, then: Callable[[], None] | None = None) -> None:
    """The reminders of every product that is still to be used on the open jobs, on one page.

    Args:
        then: what goes on after the page was read or left; at once if there is nothing to be
            said.
    """
    go_on = then or (lambda: None)
    plans = [
        replace(
            job.opened.plan,
            stages=tuple(s for s in job.stages if not all(x.over for x in job.of(s.name))),
        )
        for job in host.cart.bench.jobs.values()
        if job.state == "open"
    ]
    page = reminders(plans, fluoride_only=not host.cart.settings.reminders)
    if not page.reminders:
        go_on()
        return
    lines = [line for text in page.lines for line in folded_lines(host, text)]
    host.sheet.open(
        "Before you begin",
        lines,
        "up, down: read on   space: read, go on",
        done=go_on,
        closed=go_on,
    )
    host.paint()
