"""How much of a product was used, month by month."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from msgspec import Struct

from cartclock.engine.dates import spoken_day
from cartclock.engine.history.answers import ProductMonth
from cartclock.engine.products.supply import amount_words
from cartclock.tui.charts.sheets import drawn, tabled, unsaid
from cartclock.tui.face.chart import Axis, Columns, Stack
from cartclock.tui.face.page import Column, Page, Table

NAME = "Used by month"
# From so much on a mean is said in whole units. Our own judgement.
_WHOLE = 10
_TABLE = Table((Column("month", least=8), Column("used", right=True), Column("jobs", right=True)))


class Counted(Struct, frozen=True):
    """A product in the one unit in which it is counted.

    Fields:
        product: its id.
        unit: of its concentrate; where that cannot be reckoned, of the mix as applied.
        applied: True if it is the mix.
    """

    product: str
    unit: str
    applied: bool

    @classmethod
    def of(cls, month: ProductMonth) -> Counted:
        """How a month is counted."""
        return cls(month.product, month.unit or month.applied_unit, not month.unit)


def used_products(months: Iterable[ProductMonth]) -> dict[Counted, str]:
    """What was used, each with what it is called, by name."""
    names = {
        Counted.of(one): f"{one.name}, as applied" if not one.unit else one.name for one in months
    }
    return dict(sorted(names.items(), key=lambda one: one[1].casefold()))


def no_use_page(as_table: bool = False) -> Page:
    """The page where nothing was used at all, drawn or as a table alike."""
    return unsaid(NAME, "products", "No product was used yet.")


def used_page(of: Counted, months: Sequence[ProductMonth], as_table: bool = False) -> Page:
    """The page.

    Args:
        of: which of the products.
        months: of all products, the oldest first; months between in which nothing of it was
            used are filled in, and those behind up to the last of any.
    """
    own = {one.month: one for one in months if Counted.of(one) == of}
    name = used_products(months).get(of, of.product)
    amounts = {month: one.applied if of.applied else one.amount for month, one in own.items()}
    if not any(amounts.values()):
        return unsaid(NAME, name, "Nothing was used of it yet.")
    asked = _between(min(own), max(one.month for one in months))
    texts = [
        (
            _said(month),
            amount_words(Fraction(amounts.get(month, 0.0)), of.unit),
            str(own[month].jobs if month in own else 0),
        )
        for month in asked
    ]
    answer = _mean(of, [amounts.get(month, 0.0) for month in asked], asked[-1])
    if as_table:
        return tabled(NAME, name, answer, _TABLE, list(reversed(texts)))
    if len(asked) == 1:
        ((month, amount, jobs),) = texts
        said = f"One month so far, {month}: {amount} in {jobs} job{'' if jobs == '1' else 's'}."
        return unsaid(NAME, name, said)
    stacks = tuple(Stack(_said(month)[:3], (amounts.get(month, 0.0),)) for month in asked)
    up = Axis("number", 0, max(amounts.values()), of.unit)
    return drawn(NAME, name, answer, Columns(up, (("used", "█"),), stacks, "months"))


def _mean(of: Counted, amounts: Sequence[float], last: str) -> str:
    """What a month took before the last one, which may go on; "" without any before."""
    *before, _last = amounts
    if not before:
        return ""
    mean = sum(before) / len(before)
    said = amount_words(Fraction(round(mean) if mean >= _WHOLE else mean), of.unit)
    return f"{said} a month before {_said(last)[:3]}"


def _between(first: str, last: str) -> list[str]:
    """Every month from one to another, "2026-07"."""
    at, end = (12 * int(text[:4]) + int(text[5:]) - 1 for text in (first, last))
    return [f"{month // 12:04}-{month % 12 + 1:02}" for month in range(at, end + 1)]


def _said(month: str) -> str:
    return spoken_day(f"{month}-01").split(" ", 2)[2]
