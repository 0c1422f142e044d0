"""The list of other work."""

from __future__ import annotations

from typing import get_args

from cartclock.engine.facts.events import OtherKind
from cartclock.engine.rules import rules
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.in_view import job_in_view
from cartclock.tui.lists.toggle import Toggle
from cartclock.tui.widgets.sheet import Line

HOT_OTHER = "cpwmtfods"


def open_other(host: Host) -> None:
    """Other work."""
    bench = host.cart.bench
    toggle = Toggle(bench)
    job = job_in_view(bench, host.cart.chosen)
    lines = []
    what: OtherKind
    for what, hot in zip(get_args(OtherKind), HOT_OTHER, strict=True):

        def take(what: OtherKind = what) -> None:
            whose = "" if job is None else job.id
            host.cart.write(rules.start_other, what, whose, toggle.finish)

        lines.append(Line(what, take, hot=hot if hot != "f" else ""))
    host.sheet.open("Other work", [*lines, *toggle.lines()])
