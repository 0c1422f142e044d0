"""Charts: how it went before, one chart at a time, and the same as a table."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from functools import partial
from typing import ClassVar

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.dates import local
from cartclock.engine.facts.job import Job, open_jobs
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.history.answers import ProductMonth
from cartclock.engine.times import Instant
from cartclock.engine.until import bare
from cartclock.tui.charts.finish import finish_page, no_finish_page
from cartclock.tui.charts.flashes import flash_page
from cartclock.tui.charts.heat import heat_page
from cartclock.tui.charts.money import money_page
from cartclock.tui.charts.stages import stages_page
from cartclock.tui.charts.used import no_use_page, used_page, used_products
from cartclock.tui.face.page import Page
from cartclock.tui.screens.listing import ListingScreen
from cartclock.tui.told.in_view import job_in_view
from cartclock.tui.widgets.sheet import Line

NOTHING_TO_CHOOSE = "This chart is of all there is; there is nothing to choose."

# Weeks and months that a chart goes back. Our own judgement: over a year a season can be seen.
_WEEKS, _MONTHS = 52, 12


class _Of(Struct, frozen=True):
    """What a chart may be of: its name, and what makes the page, True for a table."""

    name: str
    page: Callable[[bool], Page]


class ChartsScreen(ListingScreen):
    """One chart, read; keys go to the next one, choose what it is of, and make it a table."""

    called: ClassVar[str] = "charts"
    _nth = 0
    _as_table = False
    _made_for: object = None
    _page = Page("Charts", ())
    _choices: tuple[object, Sequence[_Of]] = (None, ())

    def __init__(self) -> None:
        super().__init__()
        # What each may be of, the usual first.
        self._charts: tuple[Callable[[], Sequence[_Of]], ...] = (
            self._stages,
            self._money,
            self._flashes,
            self._heat,
            self._used,
            self._told,
        )
        self._chosen: dict[int, str] = {}

    def on_screen_resume(self) -> None:
        """Opens with the chart that was asked for."""
        if self.cart.chart == "told":
            self.cart.chart, self._nth, self.at = "", len(self._charts) - 1, 0
        super().on_screen_resume()

    def page(self) -> Page:
        """The chart; made anew with the log."""
        choices, chosen = self.choices(), self._chosen.get(self._nth)
        made_for = (self._choices[0], self._as_table, chosen)
        if made_for != self._made_for:
            of = next((one for one in choices if one.name == chosen), choices[0])
            said = f"{self._nth + 1} of {len(self._charts)}"
            unread = self.cart.bench.library.left("job")
            if unread:
                said += f", {unread} still to be read"
            self._page = replace(of.page(self._as_table), said=said)
            self._made_for = made_for
        return self._page

    def choices(self) -> Sequence[_Of]:
        """What this chart may be of; asked anew with the log and the day."""
        bench = self.cart.bench
        # A finish is told again with each quarter of an hour.
        quarter = bare(self.cart.workplace.moment.now_us) // (15 * MINUTE_US)
        made_for = (self._nth, bench.log.head.seq, bench.library.left("job"), quarter)
        if made_for != self._choices[0]:
            self._choices = (made_for, self._charts[self._nth]())
        return self._choices[1]

    def reasons(self) -> dict[str, str]:
        """What is of all there is has nothing to choose."""
        return {} if len(self.choices()) > 1 else {"of_what": NOTHING_TO_CHOOSE}

    def press_next_chart(self) -> None:
        """The chart behind this one, behind the last the first."""
        self._turn(1)

    def press_chart_before(self) -> None:
        """The chart in front of this one."""
        self._turn(-1)

    def _turn(self, by: int) -> None:
        self._nth, self.at = (self._nth + by) % len(self._charts), 0

    def press_as_table(self) -> None:
        """From the chart to its figures, and back."""
        self._as_table, self.at = not self._as_table, 0

    def press_of_what(self) -> None:
        """The list of what this chart may be of."""
        names = (of.name for of in self.choices())
        self.sheet.open("Of what?", [Line(name, partial(self._choose, name)) for name in names])

    def _choose(self, name: str) -> None:
        self._chosen[self._nth], self.at = name, 0

    # The charts.

    def _stages(self) -> list[_Of]:
        """Plan and body of the closed jobs; those of the job in view first."""
        pairs = self.cart.shop.past.plans("closed")
        job = job_in_view(self.cart.bench, None)
        own = None if job is None else (job.opened.plan.name, job.opened.plan.shape)
        past = self.cart.shop.past

        def of(plan: str, shape: str) -> _Of:
            name = f"{plan}, {shape}" if shape else plan
            return _Of(name, lambda table: stages_page(name, past.stages(plan, shape), table))

        found = [of(*pair) for pair in sorted(pairs, key=lambda pair: pair != own)]
        return found or [_Of("", partial(stages_page, "closed jobs", ()))]

    def _money(self) -> list[_Of]:
        past, currency = self.cart.shop.past, self.cart.settings.currency
        return [_Of("", lambda table: money_page(past.money(), currency, table))]

    def _flashes(self) -> list[_Of]:
        """Products of which a film was watched, by name."""
        names = {one.product: one.name for one in self._months()}
        past, worker, settings = self.cart.shop.past, self.cart.bench.worker, self.cart.settings

        def of(product: str) -> _Of:
            name = names.get(product, product)

            def page(table: bool) -> Page:
                films = past.films(worker, product)
                return flash_page(name, films, settings.temperature, settings.zone, table)

            return _Of(name, page)

        found = [of(product) for product in self.cart.bench.own()]
        nothing = _Of("", partial(flash_page, "films", (), "C", settings.zone))
        return sorted(found, key=lambda one: one.name.casefold()) or [nothing]

    def _heat(self) -> list[_Of]:
        today = self._today
        from_day = (today - timedelta(weeks=_WEEKS - 1)).isoformat()
        past, worker = self.cart.shop.past, self.cart.bench.worker
        unit = self.cart.settings.temperature

        def page(table: bool) -> Page:
            return heat_page(past.heat(worker, from_day, today.isoformat()), unit, table)

        return [_Of("", page)]

    def _used(self) -> list[_Of]:
        """Products, by name."""
        months = self._months()
        found = [
            _Of(name, partial(used_page, counted, months))
            for counted, name in used_products(months).items()
        ]
        return found or [_Of("", no_use_page)]

    def _told(self) -> list[_Of]:
        """The open jobs, the one in view first."""
        bench, now = self.cart.bench, self.cart.workplace.moment
        view = job_in_view(bench, None)

        def of(job: Job) -> _Of:
            name = f"{job.opened.number} {job.opened.vehicle}"

            def page(table: bool) -> Page:
                now_us = Instant(bare(now.now_us))
                told = self.cart.shop.told_finishes(job.id, bench.worker, now.ahead.of, now_us)
                return finish_page(name, told, job.opened.promised_us, job.opened.zone, table)

            return _Of(name, page)

        jobs = sorted(open_jobs(bench.jobs.values()), key=lambda job: job is not view)
        return [of(job) for job in jobs] or [_Of("", no_finish_page)]

    @property
    def _today(self) -> date:
        now_us = Instant(bare(self.cart.workplace.moment.now_us))
        return local(now_us, self.cart.settings.zone).date()

    def _months(self) -> tuple[ProductMonth, ...]:
        """What was used in this month and those before it, a year together."""
        last = 12 * self._today.year + self._today.month - 1
        first, last_month = (
            f"{month // 12:04}-{month % 12 + 1:02}" for month in (last - _MONTHS + 1, last)
        )
        return self.cart.shop.past.products(first, last_month)
