"""Products: what is left of each, its lot and date, its cost in this job, and its data sheet."""

from __future__ import annotations

from fractions import Fraction
from typing import ClassVar

from cartclock.engine.facts.in_force import is_in_force, newest_reading
from cartclock.engine.facts.job import Job, open_jobs
from cartclock.engine.hours.account import served
from cartclock.engine.plan.amounts import COUNTED, in_currency
from cartclock.engine.plan.plan import Plan, Product
from cartclock.engine.products.consumption import consumed, total
from cartclock.engine.products.stock import Stock
from cartclock.engine.products.supply import amount_words, expired, will_not_last
from cartclock.engine.products.worn import Worn, in_use, to_wash
from cartclock.engine.rules import choices
from cartclock.engine.times import Instant
from cartclock.tui.face.page import Page
from cartclock.tui.lists import products
from cartclock.tui.lists.fresh import fresh_lines
from cartclock.tui.lists.titles import of_job
from cartclock.tui.pages.products import Shown, products_page
from cartclock.tui.screens.listing import ListingScreen
from cartclock.tui.told.in_view import job_in_view
from cartclock.tui.told.reasons import not_booked
from cartclock.tui.widgets.sheet import Line


class ProductsScreen(ListingScreen):
    """Products of the open jobs, of those of the newest shifts, and of every pack in the log."""

    called: ClassVar[str] = "products"
    _made_for: tuple[int, int, int, str] | None = None
    _shown: tuple[Shown, ...] = ()
    _worn: tuple[Worn, ...] = ()
    _washed = ""
    _page_of: tuple[tuple[Shown, ...] | None, bool] = (None, False)
    _page = Page("Products", ())

    @property
    def job(self) -> Job | None:
        """The job in view; None if there is none."""
        return job_in_view(self.cart.bench, self.cart.workplace.chosen)

    def shown(self) -> tuple[Shown, ...]:
        """The products, those of the job in view first; reckoned anew with log and minute."""
        bench, job = self.cart.bench, self.job
        now_us = self.cart.workplace.moment.now_us
        left = bench.library.left("job")
        made_for = (bench.log.head.seq, left, now_us // 60_000_000, "" if job is None else job.id)
        if made_for != self._made_for:
            self._made_for = made_for
            self._shown = self._looked_up(self.cart.shop.stock(), job, now_us)
            # The shift of the moment: nothing is worn off the clock.
            on = self.cart.workplace.moment.me.on
            self._worn = () if on is None or job is None else in_use(job, on)
            self._washed = "" if on is None else to_wash(bench.jobs.values(), on)
        return self._shown

    def worn(self) -> tuple[Worn, ...]:
        """The pads and towels in use on the job in view."""
        self.shown()
        return self._worn

    def _looked_up(self, stock: Stock, job: Job | None, now_us: Instant) -> tuple[Shown, ...]:
        still = sorted(open_jobs(self.cart.bench.jobs.values()), key=lambda one: one is not job)
        plans: dict[str, tuple[Plan, Product]] = {}
        for one in still:
            plan = one.opened.plan
            for product in plan.products:
                plans.setdefault(product.id, (plan, product))
        # Packs are weighed in the evening, when the jobs of the day are handed over.
        for one in self._handed_over(now_us):
            plan = one.opened.plan
            for product in plan.products:
                if product.id in one.used:
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

    def _handed_over(self, now_us: Instant) -> list[Job]:
        """The closed jobs that were worked in the newest shifts, the newest first."""
        bench = self.cart.bench
        worked = {job for shift in bench.shifts.values() for job in served(shift, now_us)}
        closed = [one for one in bench.jobs.values() if one.state == "closed" and one.id in worked]
        return sorted(closed, key=lambda one: one.closed_us or 0, reverse=True)

    def _said(self) -> str:
        """Whose cost it is, and how much in all; how many jobs are still to be read first."""
        left, job = self.cart.bench.library.left("job"), self.job
        if left:
            return f"{left} {'job' if left == 1 else 'jobs'} still to be read"
        if job is None:
            return ""
        cost = total(one.used for one in self.shown() if one.used is not None)
        if cost is None:
            return job.opened.vehicle
        return f"{job.opened.vehicle}   {in_currency(cost, self.cart.settings.currency)} so far"

    def page(self) -> Page:
        """A row a product, and what runs out by the clock; made anew with log and minute."""
        shown, now = self.shown(), self.cart.workplace.moment
        reading = newest_reading(now.me.on, now.now_us)
        holds = reading is not None and is_in_force(reading.at_us, now.now_us)
        of, held_then = self._page_of
        if of is not shown or held_then != holds:
            held, zone = reading if holds else None, self.cart.settings.zone
            self._page = products_page(
                shown, self._said(), held, now.now_us, zone, self._worn, self._washed
            )
            self._page_of = (shown, holds)
        return self._page

    def reasons(self) -> dict[str, str]:
        """Why a key cannot work now."""
        found = {}
        if not self.shown() and not self.worn():
            found["choose"] = choices.NO_PRODUCT
        why = not_booked(self.cart.workplace)
        return {**found, "amount": why} if why else found

    def press_amount(self) -> None:
        """What was used, and a fresh pad or towel."""
        products.open_amounts(self)

    def press_choose(self) -> None:
        """What can be done with the chosen product, pad or towel."""
        shown, job = self.shown(), self.job
        worn = self.worn()[self.at - len(shown) :] if self.at >= len(shown) else ()
        if worn and job is not None:
            self.sheet.open(
                of_job(self, job, worn[0].wear.name),
                fresh_lines(self.cart.write, job.id, worn[:1]),
            )
            return
        one = choices.some(shown, choices.NO_PRODUCT)[self.at]
        item = one.item
        unit = item.unit or (COUNTED[one.product.unit] if one.product else "")
        lines = [
            Line("open a pack", lambda: products.open_pack(self, one.product, item), hot="p"),
            Line("weigh what is left", lambda: products.weigh(self, item, unit), hot="w"),
        ]
        product, plan = one.product, one.plan
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
        said += [f"lot {one.lot}"] if one.lot else []
        said += [one.day if one.late else f"to {one.day}"] if one.day else []
        if one.used is not None:
            said.append(f"this job {amount_words(one.used.applied, one.used.unit)}")
        if one.cost is not None:
            said.append(in_currency(one.cost, self.cart.settings.currency))
        return ", ".join(said)
