"""The lists about the body: a drink, signs of being unwell, that one is well."""

from __future__ import annotations

from cartclock.engine.body.signs import NEVER_CALLS, SIGNS, check_in
from cartclock.engine.facts import events as ev
from cartclock.engine.rules import rules
from cartclock.tui.lists.host import Host
from cartclock.tui.widgets.sheet import Do, Line


def open_drinks(host: Host) -> None:
    """A drink by its size."""
    lines = []
    # A cup of 240 ml (8 oz) is what NIOSH 2017-126 counts in.
    for ml, said, hot in ((240, "a cup", "c"), (500, "a bottle", "b"), (120, "half a cup", "h")):

        def drink(ml: int = ml) -> None:
            host.cart.write(rules.note_shift, ev.DrinkTaken(ml))
            watch = host.cart.workplace.body()
            if watch is not None and watch.water.too_much:
                host.cart.say(watch.water.sentence)

        lines.append(Line(f"{said}, {ml} ml", drink, hot=hot))
    host.sheet.open("Drink", lines)


def open_signs(host: Host) -> None:
    """One list of signs, the serious ones first; the pick is written and answered at once."""
    lines = []
    for sign in SIGNS:

        def name(say: str = sign.say) -> None:
            host.cart.write(rules.note_shift, ev.FeltUnwell((say,)))
            host.cart.advise((say,))

        lines.append(Line(sign.say, name))
    host.sheet.open("How I feel: not well, with", lines)


PERIODS_MINUTES = (15, 30, 60)


def open_well(host: Host) -> None:
    """That one is well; the period agreed last is offered first."""
    shift = host.cart.bench.shift()
    agreed_s = check_in(shift, host.cart.bench.now_us).every_s if shift is not None else 0
    offered = sorted(PERIODS_MINUTES, key=lambda minutes: minutes * 60 != agreed_s)

    def write(every_s: int) -> Do:
        return lambda: host.cart.write(rules.note_shift, ev.CheckedIn(every_s))

    lines = [Line(f"I am well; again in {n} min", write(n * 60)) for n in offered]
    if agreed_s:
        lines.append(Line("I am well; no more today", write(0)))
    host.sheet.open(f"I am well. {NEVER_CALLS}", lines)
