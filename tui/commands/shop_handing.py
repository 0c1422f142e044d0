"""`cartclock shop give`, `given`, `take`, `who` and `part`: a job that goes from cart to cart."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cartclock.tui.commands.door import (
    existing_bench,
    opened_bench,
    plainly,
    say,
    settled,
)
from cartclock.tui.commands.given import answering, for_programs
from cartclock.tui.commands.progress import progress
from cartclock.tui.commands.shop_way import to_shop

if TYPE_CHECKING:
    import psycopg

    from cartclock.engine.desk.holding import TakenOver
    from cartclock.engine.joined.handed import TakenElsewhere
    from cartclock.engine.store.log import Log

_WHOLE_ID = "[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}"
_FILE = click.Path(path_type=Path)


@click.command("who")
@plainly
def who() -> None:
    """Say by which identity this cart is named where a job is given to it."""
    from cartclock.engine.store.laptop.places import existing_log
    from cartclock.engine.store.log import Log

    with Log.open_to_read(existing_log()) as log:
        say(log.origin)


@click.command("give")
@click.argument("job")
@click.option("--to", default="", help="How the identity of the cart begins that is to have it.")
@click.option("--file", type=_FILE, help="Write what it is taken by, on a stick for example.")
@click.option("--private", is_flag=True, help="With name, plate, phone, notes and reasons.")
@plainly
def give(job: str, to: str, file: Path | None, private: bool) -> None:
    """Give a job to another cart; nothing more is done on it here.

    Without a file the shop's server hands it on: to the cart named, or to the one that takes it
    first. With a file no network is needed, and it names the one cart that may take the job; of a
    job that was given to that cart already it is written anew.
    """
    from cartclock.engine.desk.holding import give_away, give_to_file
    from cartclock.engine.desk.shop import Shop

    settings = settled()
    bench = existing_bench(settings)
    try:
        bench.wake()
        shop = Shop(bench.log, settings.rest_place, settings.closed, bench.library)
        found = shop.find(job)
        bench.load({found.job})
        if file is None:
            # Where the shop does not hear of it nobody could take it, nor this cart take it back.
            with to_shop(bench.log.path):
                give_away(bench, found.job, to)
            path = bench.log.path
        else:
            with progress() as told:
                give_to_file(bench, shop, found.job, to, file, private, told)
            say(f"Job {found.number}, {found.vehicle}, is given; cart {to} takes it by {file}.")
            return
    finally:
        bench.close()
    say(f"Job {found.number}, {found.vehicle}, is given away.")
    say(_sent(path))


def _sent(path: Path) -> str:
    """Sends the rows by which the shop hears of it; what came of that, a sentence."""
    from cartclock.engine.store.log import Log
    from cartclock.engine.trouble import StoreFault

    try:
        with Log.open_to_read(path) as log, to_shop(path) as line:
            _visit(log, line)
    except StoreFault as why:
        return f"The shop hears of it with the next sending. {why}"
    return "The shop knows it."


def _visit(log: Log, line: psycopg.Connection) -> None:
    """Sends what the shop has not of a log, so that Today is up to date as well."""
    from importlib.metadata import version

    from cartclock.engine.joined.membership import membership
    from cartclock.engine.joined.visiting import visit_shop

    visit_shop(log, line, version("cartclock"), private=membership(log.path).private)


def heed(taken: Iterable[TakenElsewhere]) -> None:
    """Lets go of the jobs that other carts took while this one did not know, and says so."""
    from cartclock.engine.desk.holding import heed_taken

    every = list(taken)
    if not every:
        return
    bench = existing_bench(settled(aloud=False))
    try:
        bench.wake()
        for sentence in heed_taken(bench, every):
            say(sentence, err=True)
    finally:
        bench.close()


@click.command("given")
@for_programs
@plainly
@answering
def given() -> tuple[Sequence[str], Mapping[str, object]]:
    """List the jobs that other carts gave away and this one may take."""
    from msgspec import to_builtins

    from cartclock.engine.dates import spoken
    from cartclock.engine.joined.handed import NOTHING_GIVEN
    from cartclock.engine.joined.holding import HandingShop
    from cartclock.engine.store.laptop.places import existing_log
    from cartclock.engine.store.log import Log

    zone = settled().zone
    with Log.open_to_read(existing_log()) as log, to_shop(log.path) as line:
        found = HandingShop(line).given_there(log.origin)
    said = [
        f"{one.job[:8]}  cart {one.cart}, job {one.number}, {one.vehicle}, given "
        f"{spoken(one.given_us, zone)}"
        for one in found
    ]
    return said or [NOTHING_GIVEN], {"given": [to_builtins(one) for one in found]}


@click.command("take")
@click.argument("job", default="")
@click.option("--file", type=_FILE, help="What cartclock shop give wrote on the cart that had it.")
@click.option(
    "--silent", is_flag=True, help="The cart that has it says nothing any more and gave nothing."
)
@plainly
def take(job: str, file: Path | None, silent: bool) -> None:
    """Go on with a job of another cart, its films and clocks as they stand.

    JOB is its number there or the beginning of its id, as cartclock shop given says them.
    """
    from cartclock.engine.desk.holding import take_file, take_from_shop
    from cartclock.engine.joined.holding import HandingShop

    if (file is None) == (not job):
        raise click.UsageError("name a job of the shop, or a file")
    settings = settled()
    bench = opened_bench(settings)
    try:
        bench.wake()
        with progress() as told:
            if file is not None:
                done = take_file(bench, file, told)
            else:
                with to_shop(bench.log.path) as line:
                    # It may be this cart itself that gave it, without the shop's hearing of it.
                    _visit(bench.log, line)
                    done = take_from_shop(bench, HandingShop(line), job, silent, told)
        path = bench.log.path
    finally:
        bench.close()
    for sentence in _taken(done):
        say(sentence)
    if file is None:
        say(_sent(path))


def _taken(done: TakenOver) -> list[str]:
    named = f"Job {done.job.opened.number}, {done.job.opened.vehicle},"
    if not done.written:
        return [f"{named} was taken by this cart already; nothing was written."]
    rows = "1 row" if done.rows == 1 else f"{done.rows} rows"
    said = [f"{named} is on this cart from here on; {rows} came with it."]
    if done.aside:
        said.append(done.aside_text)
    return said


@click.command("parts")
@click.argument("job")
@plainly
def parts(job: str) -> None:
    """Get from the shop what is worked on the vehicle of JOB on other carts, for its papers."""
    from cartclock.engine.desk.exchange import bring_parts
    from cartclock.engine.desk.shop import Shop
    from cartclock.engine.joined.holding import HandingShop
    from cartclock.engine.joined.membership import membership

    settings = settled()
    bench = existing_bench(settings)
    try:
        bench.wake()
        shop = Shop(bench.log, settings.rest_place, settings.closed, bench.library)
        called = membership(bench.log.path).cart
        with to_shop(bench.log.path) as line, progress() as told:
            found = bring_parts(bench, shop, HandingShop(line), job, called, told)
    finally:
        bench.close()
    for one, came in found:
        rows = "1 row" if came.rows == 1 else f"{came.rows} rows"
        news = f"{rows} came" if came.written else "nothing new"
        say(f"Cart {one.cart}, job {one.number}, {one.vehicle}: {news}.")
    if not found:
        say("No other cart of the shop has a part of that vehicle.")


@click.command("part")
@click.argument("job")
@click.argument("whole", default="")
@plainly
def part(job: str, whole: str) -> None:
    """Say that JOB is a part of another job, WHOLE, on the same vehicle; without it, that it is
    none. One that is on another cart alone goes by its whole id.
    """
    from cartclock.engine.desk.shop import Shop
    from cartclock.engine.rules.holding import say_part

    settings = settled()
    bench = existing_bench(settings)
    try:
        bench.wake()
        shop = Shop(bench.log, settings.rest_place, settings.closed, bench.library)
        found = shop.find(job)
        of, said = "", ""
        # One that is on another cart alone goes by its whole id.
        if re.fullmatch(_WHOLE_ID, whole.strip().lower()) and not shop.has(whole.strip().lower()):
            of = said = whole.strip().lower()
        elif whole:
            there = shop.find(whole)
            of, said = there.job, f"{there.number}, {there.vehicle}"
        bench.load({found.job})
        bench.do(say_part, found.job, of)
    finally:
        bench.close()
    if not of:
        say(f"Job {found.number} stands by itself.")
    else:
        say(f"Job {found.number} is a part of job {said}.")
