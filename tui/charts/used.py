"""How much of a product was used, month by month."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from cartclock.tui.charts.sheets import drawn, tabled, unsaid
from cartclock.tui.face.chart import Axis, Columns, Stack
from cartclock.tui.face.page import Column, Page, Table

NAME = "Used by month"
_TABLE = Table((Column("month", least=8), Column("used", right=True), Column("jobs", right=True)))


class MonthUse(Struct, frozen=True):
    """One month of a product.

    Fields:
        word: of the month under its column, short; month: as it is said.
        amount: used, in the product's unit, >= 0; said: the same in words.
        jobs: that used it.
    """

    word: str
    month: str
    amount: float
    said: str
    jobs: int


def used_page(product: str, unit: str, months: Sequence[MonthUse], as_table: bool = False) -> Page:
    """The page.

    Args:
        unit: what the product is counted in.
        months: without holes, the oldest first.
    """
    used = [one for one in months if one.amount]
    if not used:
        return unsaid(NAME, product, "Nothing was used of it yet.")
    if as_table:
        rows = [(one.month, one.said, str(one.jobs)) for one in reversed(months)]
        return tabled(NAME, product, "", _TABLE, rows)
    if len(months) == 1:
        (one,) = used
        jobs = f"in {one.jobs} job{'' if one.jobs == 1 else 's'}"
        return unsaid(NAME, product, f"One month so far, {one.month}: {one.said} {jobs}.")
    most = max(one.amount for one in used)
    stacks = tuple(Stack(one.word, (one.amount,)) for one in months)
    chart = Columns(Axis("number", 0, most, unit), (("used", "█"),), stacks, "months")
    return drawn(NAME, product, "", chart)
