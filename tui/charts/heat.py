"""Hours in the heat, week by week."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from cartclock.engine.dates import hours_text
from cartclock.tui.charts.sheets import drawn, tabled, unsaid
from cartclock.tui.face.chart import Axis, Columns, Stack
from cartclock.tui.face.page import Column, Page, Table

NAME, OF = "Heat", "by week"
NOTE = "screening estimate"

_TABLE = Table(
    (
        Column("week of", least=6),
        Column("caution", right=True),
        Column("over", right=True),
        Column("rested", right=True, rank=1),
        Column("drunk", right=True, rank=2),
        Column("hottest", right=True, rank=3),
    )
)


class HotWeek(Struct, frozen=True):
    """A week of one worker.

    Fields:
        word: of the week under its column, short; day: its Monday as it is said.
        caution_s: seconds in caution and not over; over_s: seconds over the limit.
        rested_s: of rests by the heat.
        drunk_ml: water.
        peak: the hottest reading, as it is said; "" without one.
    """

    word: str
    day: str
    caution_s: float
    over_s: float
    rested_s: float = 0.0
    drunk_ml: int = 0
    peak: str = ""


def heat_page(weeks: Sequence[HotWeek], as_table: bool = False) -> Page:
    """The page.

    weeks: without holes, the oldest first.
    """
    if not weeks:
        return unsaid(NAME, OF, "No shift yet.")
    if as_table:
        rows = [
            (
                one.day,
                hours_text(one.caution_s),
                hours_text(one.over_s),
                hours_text(one.rested_s),
                f"{one.drunk_ml / 1000:.1f} l",
                one.peak,
            )
            for one in reversed(weeks)
        ]
        return tabled(NAME, OF, NOTE, _TABLE, rows)
    most = max(one.caution_s + one.over_s for one in weeks)
    if not most:
        since = f"since the week of {weeks[0].day}" if len(weeks) > 1 else f"of {weeks[0].day}"
        return unsaid(NAME, OF, f"No minute in caution or over the limit {since}; {NOTE}.")
    stacks = tuple(Stack(one.word, (one.over_s / 60, one.caution_s / 60)) for one in weeks)
    parts = (("over the limit", "#"), ("caution", "="))
    return drawn(NAME, OF, NOTE, Columns(Axis("length", 0, most / 60), parts, stacks, "weeks"))
