"""`cartclock now`: what Run says, as plain lines, for a reader of screens or another program.

The log is only read, also while the program on the cart runs; what is pressed there is seen
within a second.
"""

from __future__ import annotations

import os
import select
import sys
import time
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

import click

from cartclock.tui.commands.door import DONE, plainly, reading_bench, settled

if TYPE_CHECKING:
    from cartclock.engine.desk.bench import Bench
    from cartclock.engine.now.telling import Telling
    from cartclock.engine.store.settings import Settings

# Twice as often as promised, so that a press is told within the second it came in.
LOOK_S = 0.5


@click.command()
@click.option("--follow", is_flag=True, help="Go on: a line for each change, and each minute.")
@click.option("--json", "as_json", is_flag=True, help="For a program; one object on each line.")
@plainly
def now(follow: bool, as_json: bool) -> None:
    """Say in plain lines what Run shows: state, panel, digits, what SPACE does, notices."""
    settings = settled()
    bench = reading_bench(settings)
    try:
        tell = _teller(bench, settings)
        told = tell()
        _say(_whole(told, as_json))
        if follow:
            _follow(bench, tell, told, as_json)
    except KeyboardInterrupt:
        sys.exit(DONE)
    finally:
        bench.close()


def _follow(bench: Bench, tell: Callable[[], Telling], told: Telling, as_json: bool) -> None:
    """Says what changes until it is interrupted, or nobody reads any more."""
    from cartclock.engine.now.telling import changed, minute_lines

    while not _left(LOOK_S):
        bench.log.still_lies_there()
        bench.follow()
        before, told = told, tell()
        news = changed(before, told)
        # Digits of the time of day; the seconds behind them are none of the minute's.
        minute = [] if before.at[:16] == told.at[:16] else minute_lines(told)
        if as_json and (news or minute):
            _say(_whole(told, as_json))
        elif not as_json:
            said = {line.partition(": ")[0] for line in news}
            _say([*news, *(line for line in minute if line.partition(": ")[0] not in said)])


def _teller(bench: Bench, settings: Settings) -> Callable[[], Telling]:
    """What says, each time it is called, what Run shows at that instant."""
    from msgspec.structs import replace

    from cartclock.engine.body.rest_words import pace_line
    from cartclock.engine.dates import local
    from cartclock.engine.desk.shop import Shop
    from cartclock.engine.facts.events import CART_EVENTS
    from cartclock.engine.facts.words import said_in
    from cartclock.engine.now.glance import glance, standing_part
    from cartclock.engine.now.helper import second_hands
    from cartclock.engine.now.moment import Moment
    from cartclock.engine.now.telling import telling
    from cartclock.engine.products.supply import stock_notices
    from cartclock.tui.told.asked import asked_again

    shop = Shop(bench.log, settings.rest_place, settings.closed, bench.library)
    bench.asks_new = settings.reminders.products
    last: Moment | None = None

    def question() -> str:
        asked = asked_again(bench.log.asked())
        return "" if asked is None else said_in(asked.sentence, settings.temperature)

    def news(found: Moment, wet: bool) -> list[str]:
        said = []
        helper = found.helper
        if helper is not None and helper.watch is not None and helper.watch.rest_now:
            said.append(f"{helper.worker}: {pace_line(helper.watch.pace)}.")
        if found.me.on is None and found.me.shift is not None:
            said += found.me.shift.told
        # What can wait waits for a film in play.
        if not wet and any(isinstance(row.event, CART_EVENTS) for row in bench.rows):
            said += stock_notices(shop.stock(), found.jobs, found.now_us)
        return said

    def tell() -> Telling:
        nonlocal last
        helper = second_hands(settings.helper, bench.shifts.values(), bench.worker)
        found = last = bench.moment(
            helper, shop.rest_place, last, meal=settings.meal, closed=settings.closed
        )
        me = found.me
        chosen = me.moves[0] if me.moves else None
        stands = standing_part(found.jobs, me.shift, found.now_us, chosen, me.own, found.ahead)
        seen = glance(
            found.jobs,
            me.shift,
            found.now_us,
            chosen,
            len(found.questions) + len(bench.put_off()) + len(found.promises) + (not found.sure),
            me.watch,
            news(found, bool(stands.wet)),
            me.own,
            partial(shop.usual, me.worker),
            stands,
        )
        at = local(found.now_us, settings.zone).isoformat(timespec="seconds")
        notices = tuple(said_in(one, settings.temperature) for one in seen.notices)
        return telling(replace(seen, notices=notices), at, "" if stands.wet else question())

    return tell


def _whole(told: Telling, as_json: bool) -> list[str]:
    from cartclock.engine.now.telling import lines

    if as_json:
        import json

        from msgspec import to_builtins

        return [json.dumps(to_builtins(told))]
    return [f"time: {told.at[11:16]}", *lines(told)]


def _say(said: list[str]) -> None:
    from cartclock.engine.letters import inert

    for line in said:
        click.echo(inert(line))
    sys.stdout.flush()


def _left(seconds: float) -> bool:
    """Waits so long; True, at once, if whoever read the pipe went away."""
    if not hasattr(select, "poll"):
        time.sleep(seconds)
        return False
    try:
        watched = select.poll()
        watched.register(sys.stdout.fileno(), 0)
        found = watched.poll(seconds * 1000)
    except (OSError, ValueError):
        # Standard output is no file of the system, as in a test.
        time.sleep(seconds)
        return False
    if not found:
        return False
    # The interpreter must not complain at its exit.
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return True
