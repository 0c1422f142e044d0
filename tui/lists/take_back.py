"""What taking back says, and the list that offers to strike what stands in its way."""

from __future__ import annotations

from cartclock.engine.desk.bench import Bench, Pressed
from cartclock.engine.facts.words import main_row, row_text
from cartclock.engine.figures.air import TemperatureUnit
from cartclock.engine.trouble import Refused
from cartclock.tui.lists.host import Host
from cartclock.tui.widgets.sheet import Line

# So many rows of a press are named; our own judgement.
_SAID = 3


def taken_back(bench: Bench, told: Pressed, unit: TemperatureUnit) -> str:
    """What was taken back: what the press was for, then what it wrote with that.

    unit: of temperatures.
    """
    struck = told.rows[0].corrects
    assert struck is not None, "a press that takes back names the one it strikes"
    rows = bench.log.press_rows(struck)
    main = main_row(rows)
    said = [main, *(row for row in rows if row is not main)][:_SAID]
    texts = (row_text(row, bench.jobs, unit=unit) for row in said)
    return f"Taken back: {'; '.join(texts)}."


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
