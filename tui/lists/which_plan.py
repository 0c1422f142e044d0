"""The list that asks for a plan: a starter and the body it is for, or an own file."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from cartclock.engine.plan import shapes
from cartclock.engine.trouble import PlanFault, Refused
from cartclock.tui.lists.host import Host
from cartclock.tui.widgets.sheet import Line

Take = Callable[[str, str], None]
"""What goes on with the text of a plan and its name."""


def open_which_plan(host: Host, title: str, take: Take, more: Sequence[Line] = ()) -> None:
    """The starters, each asked for its body, then the files in the folder of own plans.

    more: lines between the two.
    """
    shelf = host.cart.shelf
    lines = [
        Line(name.replace("_", " "), partial(_ask_body, host, name, take))
        for name in shelf.starters()
    ]
    lines += more
    lines += [Line(name, partial(_take_own, host, name, take)) for name in shelf.own()]
    host.sheet.open(title, lines)


def _ask_body(host: Host, name: str, take: Take) -> None:
    def of(shape: str) -> None:
        take(host.cart.shelf.starter_text(name, shape), name)

    host.sheet.open("Which body?", [Line(shape, partial(of, shape)) for shape in shapes.SHAPES])


def _take_own(host: Host, name: str, take: Take) -> None:
    """A file with a fault is not taken: the first one is said."""
    try:
        text = host.cart.shelf.own_text(name)
        host.cart.shelf.read(text, name)
    except Refused as why:
        host.say(str(why))
    except PlanFault as faults:
        host.say(faults.first)
    else:
        take(text, name)
