"""The page before the work begins: what is to be known of the products of the day."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.plan.plan import Plan
from cartclock.engine.products.reminders import Briefing, known_to, reminders
from cartclock.engine.rules import rules
from cartclock.tui.lists.host import Cart, Host
from cartclock.tui.widgets.sheet import Line

TITLE = "Before you begin"


def open_reminders(host: Host, then: Callable[[], None] | None = None) -> None:
    """The reminders of every product that is still to be used on the open jobs, on one page.

    Args:
        then: what goes on after the page was read or left; at once if there is nothing to be
            said.
    """
    _open(host, _page(host.cart, host.cart.bench.jobs.values()), then or (lambda: None))


def open_new_ones(host: Host, job: Job) -> None:
    """The same page of one job that was opened on the clock, if it brings what is new."""
    page = _page(host.cart, [job])
    if any(one.new for one in page.reminders):
        _open(host, page, lambda: None)


def _page(cart: Cart, jobs: Iterable[Job]) -> Briefing:
    known = known_to(cart.workplace.moment.me.on, cart.bench.known_products)
    plans = [_ahead(job) for job in jobs if job.state == "open"]
    return reminders(plans, fluoride_only=not cart.settings.reminders.products, known=known)


def _ahead(job: Job) -> Plan:
    """The plan with the stages that are still to come."""
    stages = tuple(s for s in job.stages if not all(x.over for x in job.of(s.name)))
    return replace(job.opened.plan, stages=stages)


def _open(host: Host, page: Briefing, go_on: Callable[[], None]) -> None:
    if not page.reminders:
        go_on()
        return
    lines = [Line(text, folds=True) for text in page.lines]
    again = partial(_open, host, page, go_on)
    new = tuple(one.product for one in page.reminders if one.new)

    def read() -> None:
        # What was only left is asked about again where it is first used.
        if new:
            host.cart.write(rules.note_shift, ev.CautionsRead(new))
        go_on()

    def in_full() -> None:
        whole = [Line(text, folds=True) for text in page.in_full]
        hint = "up, down: read on   space or esc: back"
        host.sheet.open(TITLE, whole, hint, done=again, closed=again)

    host.sheet.open(
        TITLE,
        lines,
        "up, down: read on   space: read, go on   M: all of it",
        done=read,
        closed=go_on,
        letters={"m": in_full},
        until_read="up, down: a line   space: read on   M: all of it",
        again=again,
    )
    host.paint()
