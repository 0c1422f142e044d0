"""What taking back says, and the list that offers to strike what stands in its way."""

from __future__ import annotations

from cartclock.engine.desk.bench import Bench, Pressed
from cartclock.engine.facts.words import row_text
from cartclock.engine.trouble import Refused
from cartclock.tui.lists.host import Host
from cartclock.tui.widgets.sheet import Line


def taken_back(bench: Bench, told: Pressed) -> str:
    """What was taken back."""
    struck = told.rows[0].corrects
    rows = [] if struck is None else bench.log.press_rows(struck)
    return "Taken back: " + "; ".join(row_text(row, bench.jobs) for row in rows[-2:]) + "."


def offer_cascade(host: Host, why: Refused) -> None:
    """Offers to strike what stands in the way of taking back as well."""
    bench = host.cart.bench
    newest = bench.newest_press()
    if newest is None:
        raise why
    press = newest

    def strike() -> None:
        told = bench.strike(press, also=why.standing)
        host.cart.told(told)

    host.sheet.open(
        str(why),
        [
            Line("leave it", lambda: host.say("Left as it was.")),
            Line(f"strike {len(why.standing)} more with it", strike),
        ],
    )
