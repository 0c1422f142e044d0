"""Whose the vehicle is, what it costs and when it is promised: asked at the opening of a job, and
to be changed afterwards.

At the opening one line of text follows the other: enter on an empty one skips it, esc leaves the
rest open and keeps what was said before. Afterwards they are the lines of one list.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from msgspec import Struct

from cartclock.engine.dates import local, spoken
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import amended
from cartclock.engine.facts.job_events import Amended
from cartclock.engine.facts.sealed import Sealed
from cartclock.engine.plan.amounts import in_currency
from cartclock.engine.planning.promised import promise_judged
from cartclock.engine.rules.amending import AMENDED, amend, as_typed
from cartclock.engine.rules.typed_time import read_in_full, time_ahead, time_forms
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.panels import job_of
from cartclock.tui.lists.promise import ask_promise_of
from cartclock.tui.lists.titles import titled
from cartclock.tui.widgets.sheet import Line


def _name(what: Amended) -> str:
    return what.removesuffix("_us")


Met = Callable[[str, Callable[[], object]], bool]
"""Takes a plate as it was typed, and what goes on with the opening."""


class _Asking(Struct, frozen=True):
    """One of the five as a line of text.

    Fields:
        opened: what is known of the job.
        what: which of the five.
        before: what is known of it as it would be typed; left as it is, it is passed over.
        said: takes what was typed.
        passed, left: what enter on an unchanged line does, and esc.
        hint: what the keys do.
        job: the open job's id; "" before it is open, None when it is closed and nothing is ahead.
        met: of a plate, shows what is known of its vehicle and goes on from there; False where
            nothing is known.
    """

    host: Host
    opened: ev.JobOpened
    what: Amended
    before: str
    said: Callable[[ev.JobAmended], object]
    passed: Callable[[], object]
    left: Callable[[], object]
    hint: str
    job: str | None = ""
    met: Met | None = None

    def open(self, start: str, why: str = "") -> None:
        """Opens the line; why: what was wrong with what stands in it."""
        title = titled(self.host, self.opened.vehicle, self._question())
        told = self._told if self.what == "promised_us" else None
        self.host.sheet.open_text(
            title,
            self._texted,
            start,
            closed=self.left,
            hint=self.hint,
            told=told,
            proposed=start == self.before,
            why=why,
        )

    def _texted(self, text: str) -> None:
        if text == self.before:
            self.passed()
            return
        bench = self.host.cart.bench
        try:
            event = as_typed(self.what, text, bench.seal, bench.now_us, self.opened.zone)
            if self.what != "plate" or self.met is None or not self.met(text, self._goes_on(event)):
                self.said(event)
        except Refused as why:
            # What was typed stays in the line, to be mended; how a time is written stands over it.
            unread = self.what == "promised_us" and not self._is_time(text)
            self.open(text, self._told(text) if unread else str(why))

    def _goes_on(self, event: ev.JobAmended) -> Callable[[], object]:
        return lambda: self.said(event)

    def _is_time(self, text: str) -> bool:
        try:
            time_ahead(text, self.host.cart.bench.now_us, self.opened.zone)
        except Refused:
            return False
        return True

    def _told(self, text: str) -> str:
        """How the letters of a promise are read, while they are typed, and how it is kept."""
        if text == self.before:
            return ""
        now, zone = self.host.cart.workplace.moment, self.opened.zone
        read = read_in_full(text, now.now_us, zone)
        if self.job is None:
            return read
        try:
            promised_us = time_ahead(text, now.now_us, zone)
        except Refused:
            return read
        kept = promise_judged(self.opened, self.job, now.ahead, promised_us, now.now_us)
        return f"{read}, {kept}" if kept else read

    def _question(self) -> str:
        if self.what == "promised_us":
            forms = time_forms(self.host.cart.bench.now_us, self.opened.zone)
            return f"promised for ({forms})"
        currency = self.host.cart.settings.currency
        return f"price in {currency}" if self.what == "price" and currency else _name(self.what)


def ask_whose(
    host: Host,
    opened: ev.JobOpened,
    write: Callable[[ev.JobOpened], object],
    met: Met | None = None,
    at: int = 0,
) -> None:
    """Asks one after the other from `at` on, and writes the opening with what was said.

    met: shows what is known of a vehicle with a plate.
    """
    if at == len(AMENDED):
        write(opened)
        return

    def following(known: ev.JobOpened) -> None:
        ask_whose(host, known, write, met, at + 1)

    _Asking(
        host=host,
        opened=opened,
        what=AMENDED[at],
        before="",
        said=lambda event: following(amended(opened, event)),
        passed=lambda: following(opened),
        left=lambda: write(opened),
        hint="enter: goes on   esc: that is all",
        met=met,
    ).open("")


def open_whose(host: Host, job_id: str, at: int = 0) -> None:
    """The five with what is known of them; what is picked is typed anew."""
    opened = job_of(host, job_id).opened
    lines = [
        Line(f"{_name(what):<10}{_said(host, opened, what)}", partial(_change, host, job_id, index))
        for index, what in enumerate(AMENDED)
    ]
    hint = "up, down: choose   space: change it   esc: done"
    title = titled(host, opened.vehicle, "whose, price, promise")
    host.sheet.open(title, lines, hint, at=min(at, len(AMENDED) - 1))


def _change(host: Host, job_id: str, index: int) -> None:
    opened = job_of(host, job_id).opened
    before = _typed(host, opened, AMENDED[index])

    def said(event: ev.JobAmended) -> None:
        host.cart.write(amend, job_id, event)
        back = partial(open_whose, host, job_id, index + 1)
        if AMENDED[index] != "promised_us" or not ask_promise_of(host, job_id, back):
            back()

    _Asking(
        host=host,
        opened=opened,
        what=AMENDED[index],
        before=before,
        said=said,
        passed=lambda: open_whose(host, job_id, index + 1),
        left=lambda: open_whose(host, job_id, index),
        hint="enter: written   esc: as it was",
        job=job_id if job_of(host, job_id).state == "open" else None,
    ).open(before)


def _typed(host: Host, opened: ev.JobOpened, what: Amended) -> str:
    """What is known of it, as it would be typed; "" if nothing is."""
    match getattr(opened, what):
        case Sealed() as sealed:
            return host.cart.bench.text(sealed)
        case str() as price:
            return price
        case int() as at_us:
            return f"{local(Instant(at_us), opened.zone):%Y-%m-%d %H:%M}"
        case _:
            return ""


def _said(host: Host, opened: ev.JobOpened, what: Amended) -> str:
    """What is known of it, in words."""
    if what == "promised_us" and opened.promised_us is not None:
        return spoken(opened.promised_us, opened.zone)
    if what == "price" and opened.price is not None:
        return in_currency(opened.price, host.cart.settings.currency)
    return _typed(host, opened, what) or "-"
