"""The lists about calling back: when and whom; that it is done, moved or let go."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from cartclock.engine.dates import spoken_soon
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.call_backs import CallBack, waiting_calls
from cartclock.engine.facts.in_play import film_in_play
from cartclock.engine.facts.job import Job
from cartclock.engine.press import Press
from cartclock.engine.rules import choices, typed
from cartclock.engine.rules.call_backs import end_call, move_call, promise_call
from cartclock.engine.rules.typed_time import read_in_full, time_ahead
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused
from cartclock.tui.lists.host import Cart, Host
from cartclock.tui.lists.panels import nothing, titled_of
from cartclock.tui.widgets.sheet import Line

Back = Callable[[], object]
# Makes a press by a rule, and answers on the screen of the day.
Write = Callable[..., object]
WHEN = "call back at what time? 14:30, tomorrow 9, fri 9"


def promise_call_back(host: Host, job_id: str, write: Write, back: Back) -> None:
    """Asks when and whom, and writes it; esc at the name leaves it unnamed.

    back: what the line of the time does on esc.
    """

    def whom(at_us: Instant) -> None:
        def promise(name: str = "") -> None:
            who = host.cart.bench.seal(typed.name(name)) if name else None
            write(promise_call, job_id, ev.CallBackPromised(at_us, who))

        title = titled_of(host, job_id, "call back whom? Name or number")
        hint = "enter: written   esc: written without a name"
        host.sheet.open_text(title, promise, closed=promise, hint=hint)

    _ask_time(host, job_id, whom, back)


def _ask_time(
    host: Host,
    job_id: str,
    then: Callable[[Instant], object],
    back: Back,
    before: str = "",
    why: str = "",
) -> None:
    bench = host.cart.bench
    zone = bench.jobs[job_id].opened.zone

    def said(text: str) -> None:
        if not text:
            nothing(host)
            back()
            return
        try:
            at_us = time_ahead(text, bench.now_us, zone, rolls=True)
        except Refused:
            # How a time is written stands over the line.
            _ask_time(host, job_id, then, back, text, told(text))
            return
        then(at_us)

    def told(text: str) -> str:
        return read_in_full(text, bench.now_us, zone, rolls=True)

    title = titled_of(host, job_id, WHEN)
    host.sheet.open_text(title, said, before, closed=back, told=told, why=why)


def named(cart: Cart, call: CallBack, hidden: bool = False) -> str:
    """When and whom: "14:30, Ada Example"; hidden: nobody is named."""
    bench = cart.bench
    when = spoken_soon(call.at_us, bench.now_us, bench.jobs[call.job].opened.zone)
    who = "" if hidden else bench.text(call.who)
    return f"{when}{f', {who}' if who else ''}"


def open_call_backs(host: Host, job: Job | None, write: Write, back: Back) -> None:
    """A call back at a time, and those that wait; where none waits the time is asked at once."""
    promise = None if job is None else partial(promise_call_back, host, job.id, write, back)
    waiting = call_backs_of(host.cart, job)
    if not waiting:
        choices.some(promise, choices.NO_JOB)()
        return
    lines = [] if promise is None else [Line("call back at a time ...", promise, hot="b")]
    for press, call in waiting:
        vehicle = host.cart.bench.jobs[call.job].opened.vehicle
        became = partial(_became, host, press, call, write, back)
        lines.append(Line(f"{named(host.cart, call)}, {vehicle}", became))
    host.sheet.open("Call back", lines, closed=back)


def _became(host: Host, press: Press, call: CallBack, write: Write, back: Back) -> None:
    """What becomes of a call back."""

    def move(at_us: Instant) -> None:
        write(move_call, press, at_us)

    lines = [
        Line("done: they were called back", partial(write, end_call, press, "called"), hot="d"),
        Line("at another time", partial(_ask_time, host, call.job, move, back), hot="t"),
        Line("let it go: nobody calls back", partial(write, end_call, press, "let go"), hot="l"),
    ]
    title = titled_of(host, call.job, f"call back {named(host.cart, call, hidden=True)}")
    host.sheet.open(title, lines, closed=back)


def call_backs_of(cart: Cart, first: Job | None) -> list[tuple[Press, CallBack]]:
    """The calls back that wait; those about the job that is asked about come first."""
    found = waiting_calls(cart.bench.jobs.values()).items()
    mine = first.id if first is not None else ""
    return sorted(found, key=lambda one: one[1].job != mine)


def offer_done(host: Host, job_id: str) -> None:
    """After a call about a job began: was it the call back? Not while a film is in play."""
    now = host.cart.workplace.moment
    mine = [one for one in call_backs_of(host.cart, None) if one[1].job == job_id]
    if not mine or film_in_play(now.jobs.values(), now.now_us):
        return
    lines = [
        Line(
            f"that was the call back: {named(host.cart, call)}",
            partial(host.cart.write, end_call, press, "called"),
        )
        for press, call in mine
    ]
    lines.append(Line("no, another call", lambda: host.say("")))
    host.sheet.open(titled_of(host, job_id, "on the phone"), lines)
