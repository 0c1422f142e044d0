"""The question who was told that a promise is moved, or can be kept no longer."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from cartclock.engine.ahead.promises import PromiseAsked, promise_question
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_play import film_in_play
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.rules import typed
from cartclock.engine.rules.promises import tell_promise
from cartclock.tui.lists.ago import Ago
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.panels import job_of, titled_of
from cartclock.tui.widgets.sheet import Line

Then = Callable[[], object]
HINT = "0-9: minutes ago   space: take it   esc: later"


def ask_promise(host: Host, put: list[PromiseAsked], then: Then) -> bool:
    """Puts the first question about a promise that was not put yet; False if there is none.

    put: those that were; the one that is put is added. then: what comes behind the answer.
    """
    left = next((one for one in host.cart.workplace.moment.promises if one not in put), None)
    if left is None:
        return False
    put.append(left)
    _open(host, left, then)
    return True


def ask_promise_of(host: Host, job_id: str, then: Then) -> bool:
    """Puts the question about the promise of a job, if there is one and no film is in play."""
    now = host.cart.workplace.moment
    found = next((one for one in now.promises if one.job == job_id), None)
    if found is None or film_in_play(now.jobs.values(), now.now_us):
        return False
    _open(host, found, then)
    return True


def _open(host: Host, asked: PromiseAsked, then: Then) -> None:
    ago = Ago()

    def write(name: str) -> None:
        bench = host.cart.bench
        who = bench.seal(typed.name(name)) if name else None
        event = ev.PromiseTold(asked.cause, asked.promised_us, who)
        ago_us = ago.minutes * MINUTE_US
        host.cart.told(bench.do_as(bench.worker, ago_us, tell_promise, asked.job, event))
        then()

    def named(name: str) -> None:
        if name:
            write(name)
        else:
            _open(host, asked, then)

    def ask_name() -> None:
        title = titled_of(host, asked.job, f"who was told{ago.behind('')}?")
        again = partial(_open, host, asked, then)
        host.sheet.open_text(title, named, closed=again)

    customer = host.cart.bench.text(job_of(host, asked.job).opened.customer)
    lines = [
        Line(partial(ago.behind, f"told: {customer}"), partial(write, customer), "c", type=ago.type)
    ] * bool(customer)
    lines += [
        Line(partial(ago.behind, "told: somebody ..."), ask_name, "t", type=ago.type),
        Line("nobody is told; not asked again", partial(write, ""), "n", type=ago.type),
        Line("answer later", then),
    ]
    zone = job_of(host, asked.job).opened.zone
    question = promise_question(asked, host.cart.workplace.moment.now_us, zone)
    host.sheet.open(titled_of(host, asked.job, question), lines, HINT, closed=then)
