"""The list that asks for a plan: a starter and the body it is for, or an own file."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial

from cartclock.engine.letters import cells, cropped, inert
from cartclock.engine.plan import shapes
from cartclock.engine.plan.plan import Plan
from cartclock.engine.trouble import PlanFault, Refused
from cartclock.tui.lists.host import Host
from cartclock.tui.widgets.sheet import Line

# Frame and mark of a line, and what parts the name of a plan from that of its file.
MARGIN = 8
GAP = "   "

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
    own = _own_names(shelf.own(), shelf.own_plans(), host.columns - MARGIN)
    lines += [Line(own[name], partial(_take_own, host, name, take)) for name in own]
    host.sheet.open(title, lines)


def _own_names(
    files: Sequence[str], plans: Mapping[str, tuple[str, Plan]], room: int
) -> dict[str, str]:
    """File name -> what is said of it: the plan's own name, and the file's behind it where there is
    room or another plan has that name; the file's alone of what cannot be read.

    room: columns of a line.
    """
    names = {file: inert(plan.name) for file, (_text, plan) in plans.items()}
    said = {}
    for file in files:
        name = names.get(file, "")
        left = room - cells(inert(file)) - cells(GAP)
        if cells(name) > left and list(names.values()).count(name) == 1:
            said[file] = name
        else:
            said[file] = f"{cropped(name, left)}{GAP}{inert(file)}" if name else file
    return said


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
