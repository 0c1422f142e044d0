"""Products as a page: what is left of each, pads and towels in use, what runs out by the clock."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct

from cartclock.engine.dates import local
from cartclock.engine.facts.in_force import STALE_US
from cartclock.engine.facts.rows import Row
from cartclock.engine.plan.plan import Plan, Product
from cartclock.engine.products.consumption import Consumed, rounded
from cartclock.engine.products.item import Item
from cartclock.engine.products.supply import amount_words, last_day_text
from cartclock.engine.products.worn import Worn
from cartclock.engine.times import Instant
from cartclock.tui.face.page import (
    Bar,
    Cells,
    Column,
    Heading,
    Page,
    PageRow,
    Table,
    Tape,
    Words,
)

_PACKS, _CLOCK, _WORN = 0, 1, 2
_TABLES = (
    Table(
        (
            Column("product", least=11, folds=True),
            Column(least=6, most=24, rank=3),
            Column("left", least=11, folds=True),
            Column("lot", least=8, rank=2, folds=True),
            Column("last day", least=10, folds=True),
            Column("this job", right=True, rank=1),
        )
    ),
    Table((Column(least=16, folds=True), Column(least=10, most=60, rank=1), Column())),
    Table(
        (
            Column("pads and towels", least=11, folds=True),
            Column(least=6, most=24, rank=3),
            Column("sections"),
            Column("used", right=True, rank=1),
            Column("on", least=8, rank=2, folds=True),
        )
    ),
)


class Shown(Struct, frozen=True):
    """One product as the page shows it.

    Fields:
        item: what there is of it.
        product, plan: by the plan of the job in view, else of another open job; None if it is
            in the log only.
        used: what the job in view used of it; None if nothing.
        short: what the open jobs still need if that is more than is left; None if it lasts.
        late: True if the pack is past its last day.
    """

    item: Item
    product: Product | None
    plan: Plan | None
    used: Consumed | None
    short: Fraction | None
    late: bool

    @property
    def left(self) -> str:
        """What is left, in few words."""
        left = self.item.left
        if self.item.unread:
            return "still reading"
        if left is None:
            return "not weighed"
        if self.item.unclear:
            return "weigh it"
        said = "none left" if left <= 0 else amount_words(left, self.item.unit, "down")
        return f"LOW {said}" if self.short is not None else said

    @property
    def day(self) -> str:
        """The last day of the pack in use; "" if none is noted."""
        expires = "" if self.item.pack is None else last_day_text(self.item.pack.expires)
        return f"EXPIRED {expires}" if expires and self.late else expires

    @property
    def lot(self) -> str:
        """The lot in use; "" if none is noted."""
        return "" if self.item.pack is None else self.item.pack.lot

    @property
    def cost(self) -> Decimal | None:
        """What it cost the job in view; None if not known."""
        return None if self.used is None or self.used.cost is None else rounded(self.used.cost)

    @property
    def strip(self) -> Bar | str:
        """What is left of a whole pack, with a cut at what is needed; "" where it is not known."""
        left, pack = self.item.left, self.item.pack
        known = left is not None and not self.item.unread and not self.item.unclear
        if not known or left is None or pack is None or pack.content <= 0:
            return ""
        need = None if self.short is None else min(1.0, float(self.short / pack.content))
        return Bar(float(left / pack.content), need)


def products_page(
    shown: Sequence[Shown],
    said: str,
    reading: Row | None,
    now_us: Instant,
    zone: str,
    worn: Sequence[Worn] = (),
    washed: str = "",
) -> Page:
    """The page.

    Args:
        said: whose cost it is and how much, or what is still to be read.
        reading: the reading in force; None without one.
        worn: the pads and towels in use, entries behind the products.
        washed: what is to be washed of them; "" if nothing is.
    """
    if not shown and not worn:
        none = Words("No product yet: + on Today opens a job, whose plan names them.", entry=True)
        return Page("Products", (none,), said)
    rows: list[PageRow] = [
        Cells(
            _PACKS,
            (
                one.item.called,
                one.strip,
                one.left,
                one.lot,
                one.day,
                "" if one.cost is None else str(one.cost),
            ),
            entry=True,
        )
        for one in shown
    ]
    rows += _in_use(worn, washed)
    rows += _running_out(reading, now_us, zone)
    odd = sum(one.short is not None or one.late for one in shown)
    head = f"{odd} of {len(shown)} low or expired" if odd else ""
    top: tuple[PageRow, ...] = (Words(said),) if said else ()
    return Page("Products", tuple(rows), head, _TABLES, (*top, Heading(table=_PACKS)))


def _in_use(worn: Sequence[Worn], washed: str) -> Iterator[PageRow]:
    """The pads and towels, each with how long it is still to be worn."""
    if not worn:
        return
    yield Heading(table=_WORN)
    for one in worn:
        of = f"{one.sections} of {one.wear.sections}"
        yield Cells(
            _WORN,
            (
                one.wear.name,
                Bar(one.sections / one.wear.sections),
                f"CHANGE {of}" if one.due else of,
                str(one.used or ""),
                one.stage,
            ),
            entry=True,
        )
    if washed:
        yield Words(f"To wash: {washed}.")


def _running_out(reading: Row | None, now_us: Instant, zone: str) -> Iterator[PageRow]:
    """What is good for so long only."""
    if reading is None:
        return
    yield Heading("runs out", "the strip is full up to this minute")
    until_us = Instant(reading.at_us + STALE_US)
    yield Cells(
        _CLOCK,
        (
            f"reading of {local(reading.at_us, zone):%H:%M}, holds an hour",
            Tape(reading.at_us, (until_us,), now_us),
            f"until {local(until_us, zone):%H:%M}",
        ),
    )
