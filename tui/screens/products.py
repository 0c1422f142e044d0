"""Products: what is left of each, its lot and date, its cost in this job, and its data sheet."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import ClassVar

from msgspec import Struct

from cartclock.engine.facts.job import Job, open_jobs
from cartclock.engine.letters import cropped, inert, padded
from cartclock.engine.plan.amounts import COUNTED, in_currency
from cartclock.engine.plan.plan import Plan, Product
from cartclock.engine.products.consumption import Consumed, consumed, rounded, total
from cartclock.engine.products.item import Item
from cartclock.engine.products.stock import Stock
from cartclock.engine.products.supply import amount_words, expired, will_not_last
from cartclock.engine.rules import choices
from cartclock.engine.times import Instant
from cartclock.tui.lists import products
from cartclock.tui.lists.in_view import job_in_view
from cartclock.tui.screens.cart import NARROW
from cartclock.tui.screens.listing import ListingScreen
from cartclock.tui.widgets.sheet import Line

# Cells of the columns: name, left, lot, date, cost; our own judgement.
WIDE = (24, 14, 12, 19, 9)
SLIM = (17, 13, 8)


class Shown(Struct, frozen=True):
    """One product as the screen shows it.

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
        """The last day of the pack in use, in few words."""
        expires = "" if self.item.pack is None else self.item.pack.expires
        if not expires:
            return ""
        return f"EXPIRED {expires}" if self.late else f"to {expires}"

    @property
    def lot(self) -> str:
        """The lot in use, in few words."""
        lot = "" if self.item.pack is None else self.item.pack.lot
        return f"lot {lot}" if lot else ""

    @property
    def cost(self) -> Decimal | None:
        """What it cost the job in view; None if not known."""
        return None if self.used is None or self.used.cost is None else rounded(self.used.cost)


def _cell(text: str, width: int) -> str:
    """A text in exactly so many cells, one of them free at its end."""
    text = inert(text).replace("\n", " ")
    return padded(cropped(text, width - 1), width)


class ProductsScreen(ListingScreen):
    """Products of the open jobs and of every pack in the log."""

    called: ClassVar[str] = "products"
    _made_for: tuple[int, int, int, str] | None = None
    _shown: tuple[Shown, ...] = ()

    @property
    def job(self) -> Job | None:
        """The job in view; None if there is none."""
        return job_in_view(self.cart.bench, self.cart.chosen)

    def shown(self) -> tuple[Shown, ...]:
        """The products, those of the job in view first; reckoned anew with log and minute."""
        bench, job = self.cart.bench, self.job
        now_us = self.cart.moment.now_us
        left = bench.library.left("job")
        made_for = (bench.log.head.seq, left, now_us // 60_000_000, "" if job is None else job.id)
        if made_for != self._made_for:
            self._made_for = made_for
            self._shown = self._looked_up(self.cart.shop.stock(), job, now_us)
        return self._shown

    def _looked_up(self, stock: Stock, job: Job | None, now_us: Instant) -> tuple[Shown, ...]:
        still = sorted(open_jobs(self.cart.bench.jobs.values()), key=lambda one: one is not job)
        plans: dict[str, tuple[Plan, Product]] = {}
        for one in still:
            plan = one.opened.plan
            for product in plan.products:
                plans.setdefault(product.id, (plan, product))
        items = stock.items.items()
        packed = [p for p, item in items if item.pack is not None or item.weighed_us is not None]
        zone = job.opened.zone if job else self.cart.settings.zone
        used = {}
        if job is not None:
            used = {one.product: one for one in consumed(job, self.cart.shop.packs(job))}
        short = will_not_last(stock, still)
        found = []
        for product_id in dict.fromkeys([*plans, *packed]):
            known, item = plans.get(product_id), stock.items.get(product_id)
            if item is None:
                continue
            found.append(
                Shown(
                    item=item,
                    product=None if known is None else known[1],
                    plan=None if known is None else known[0],
                    used=used.get(product_id),
                    short=short.get(product_id),
                    late=expired(item, now_us, zone),
                )
            )
        return tuple(found)

    def heading(self) -> str:
        """Whose cost it is, and how much in all; how many jobs are still to be read first."""
        left, job = self.cart.bench.library.left("job"), self.job
        if left:
            return f"Products   {left} {'job' if left == 1 else 'jobs'} still to be read"
        if job is None:
            return "Products"
        cost = total(one.used for one in self.shown() if one.used is not None)
        if cost is None:
            return f"Products   {job.opened.vehicle}"
        money = in_currency(cost, self.cart.settings.currency)
        if self.app.size.width < NARROW:
            return f"Products   {money}"
        return f"Products   {job.opened.vehicle}   {money} so far"

    def lines(self) -> list[str]:
        """One line a product."""
        found = [self._line(one) for one in self.shown()]
        return found or ["No product yet: the plan of an open job names them."]

    def _line(self, one: Shown) -> str:
        cost = "" if one.cost is None else str(one.cost)
        if self.app.size.width < NARROW:
            texts: tuple[str, ...] = (one.item.called, one.left, "EXPIRED" if one.late else cost)
            widths: tuple[int, ...] = SLIM
        else:
            texts, widths = (one.item.called, one.left, one.lot, one.day), WIDE
            cost = padded(cost, widths[-1], right=True)
            texts = (*texts, cost)
        whole = [_cell(text, width) for text, width in zip(texts[:-1], widths, strict=False)]
        return ("".join(whole) + texts[-1]).rstrip()

    def reasons(self) -> dict[str, str]:
        """Why a key cannot work now."""
        return {} if self.shown() else {"choose": choices.NO_PRODUCT}

    def press_choose(self) -> None:
        """What can be done with the chosen product."""
        one = choices.some(self.shown(), choices.NO_PRODUCT)[self.at]
        item = one.item
        unit = item.unit or (COUNTED[one.product.unit] if one.product else "")
        lines = [
            Line("open a pack", lambda: products.open_pack(self, one.product, item), hot="p"),
            Line("weigh what is left", lambda: products.weigh(self, item, unit), hot="w"),
        ]
        job, product, plan = self.job, one.product, one.plan
        if job is not None and job.opened.plan.product(item.product):
            lines.append(
                Line(
                    "put right what this job used",
                    lambda: products.mend(self, job, item.product),
                    hot="a",
                )
            )
        if product is not None and plan is not None:
            lines.append(
                Line(
                    "read its data sheet lines",
                    lambda: products.read_sheet(self, plan, product),
                    hot="r",
                )
            )
        self.sheet.open(self._title(one), lines)

    def _title(self, one: Shown) -> str:
        item = one.item
        said = [f"{item.called}: {one.left}"]
        if item.left is None and item.book is not None and not item.unclear:
            said.append(f"by the book {amount_words(max(item.book, Fraction(0)), item.unit)}")
        if one.short is not None:
            said.append(f"needed {amount_words(one.short, item.unit, 'up')}")
        said += [part for part in (one.lot, one.day) if part]
        if one.used is not None:
            said.append(f"this job {amount_words(one.used.applied, one.used.unit)}")
        if one.cost is not None:
            said.append(in_currency(one.cost, self.cart.settings.currency))
        return ", ".join(said)
