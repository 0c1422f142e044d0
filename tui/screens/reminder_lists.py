"""The page before the work begins: what is to be known of the products of the day."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from engine.job.reminders import reminders
from tui.widgets.plain import clean, folded
from tui.widgets.sheet import Line

if TYPE_CHECKING:
    from tui.screens.run import RunScreen

# Frame, mark and letter of a line of a list.
_MARGIN = 8


def folded_lines(screen: RunScreen, text: str) -> list[Line]:
    """Text as lines of a list that only are read; leading blanks indent all of them."""
    indent = " " * (len(text) - len(text.lstrip(" ")))
    width = max(20, screen.app.size.width - _MARGIN - len(indent))
    return [Line(f"{indent}{row}") for row in folded(clean(text.strip()), width)]


def open_reminders(screen: RunScreen, then: Callable[[], None] | None = None) -> None:
    """The reminders of every product that the open jobs use, on one page.

    Args:
        then: what goes on after the page was read or left; at once if there is nothing to be
            said.
    """
    go_on = then or (lambda: None)
    plans = [
        job.opened.plan
        for job in screen.cart.bench.jobs.values()
        if job.state == "open" and job.opened is not None
    ]
    page = reminders(plans, fluoride_only=not screen.cart.settings.reminders)
    if not page.reminders:
        go_on()
        return
    lines = [line for text in page.lines for line in folded_lines(screen, text)]
    screen.sheet.open(
        "Before you begin",
        lines,
        "up, down: read on   space: read, go on",
        done=go_on,
        closed=go_on,
    )
    screen.paint()
