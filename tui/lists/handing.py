"""A job that goes to another cart, and one of another cart that goes on here: by the shop, or by a
file on a stick.

What speaks to the shop is a program of its own beside the clocks: no key waits for a network.
"""

from __future__ import annotations

import asyncio
import os
import sys
from functools import partial
from pathlib import Path

import msgspec
from msgspec import Struct

from cartclock.engine.desk.holding import SAID_IDENTITY, TakenOver, give_to_file, take_file
from cartclock.engine.facts.job import Job
from cartclock.engine.joined.handed import NOTHING_GIVEN, GivenThere
from cartclock.engine.rules import holding
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.titles import titled
from cartclock.tui.widgets.sheet import Line

_NO_SHOP = "This cart belongs to no shop; cartclock shop join says to which it does. Take a stick."


def open_handing(host: Host, job: Job | None) -> None:
    """Opens what can be done with the chosen job, None if there is none, and with others."""
    lines = []
    if job is not None and job.state == "open":
        lines = [
            Line("give it to another cart", partial(_give_by_shop, host, job), "g"),
            Line("give it on a stick ...", partial(_ask_cart, host, job), "s"),
        ]
    elif job is not None and job.state == "given":
        lines = [
            Line("write its file once more ...", partial(_ask_cart, host, job), "s"),
            Line("take it back by the shop", partial(_take_by_shop, host, job.id), "b"),
        ]
    lines += [
        Line("take one over from the shop ...", partial(_ask_job, host), "t"),
        Line("take one over from a stick ...", partial(_ask_file, host), "f"),
        Line("say how this cart is called", partial(_say_who, host), "w"),
    ]
    named = "another cart" if job is None else f"job {job.opened.number}, another cart"
    host.sheet.open(titled(host, named, "give or take"), lines)


def _say_who(host: Host) -> None:
    own = host.cart.bench.log.origin
    host.say(f"This cart is {own[:SAID_IDENTITY]}; a stick is written for it by that name.")


def _give_by_shop(host: Host, job: Job) -> None:
    if not host.cart.in_shop:
        host.say(_NO_SHOP)
        return
    _by_shop(host, "give", job.id)


def _ask_cart(host: Host, job: Job) -> None:
    if job.given_to:
        _ask_place(host, job, job.given_to)
        return

    def named(said: str) -> None:
        to = said.strip().lower()
        holding.other_cart(to, host.cart.bench.log.origin)
        _ask_place(host, job, to)

    host.sheet.open_text(
        "Which cart takes it? A, then W on Today says it there",
        named,
        hint="enter: 4 signs or more of it   esc: nothing is written",
    )


def _ask_place(host: Host, job: Job, to: str) -> None:
    host.sheet.open_text(
        "File to write, as on a stick",
        lambda said: _give_by_file(host, job, to, Path(said.strip()).expanduser()),
        hint=f"enter: such as ~/job-{job.opened.number}.jsonl   esc: nothing is written",
    )


def _give_by_file(host: Host, job: Job, to: str, file: Path) -> None:
    give_to_file(host.cart.bench, host.cart.shop, job.id, to, file, private=True)
    host.paint()
    host.say(f"Job {job.opened.number} is given; cart {to[:SAID_IDENTITY]} takes it by {file}.")


def _ask_file(host: Host) -> None:
    host.sheet.open_text(
        "The file that the other cart wrote",
        lambda said: _take_by_file(host, Path(said.strip()).expanduser()),
        hint="enter: such as ~/job-1.jsonl   esc: nothing is written",
    )


def _take_by_file(host: Host, file: Path) -> None:
    done = take_file(host.cart.bench, file)
    host.paint()
    host.say(_taken(done))


def _taken(done: TakenOver) -> str:
    named = f"Job {done.job.opened.number}, {done.job.opened.vehicle},"
    if not done.written:
        return f"{named} was taken by this cart already."
    return (
        f"{named} is on this cart from here on, its films as they stand. {done.aside_text}".strip()
    )


def _ask_job(host: Host) -> None:
    """Asks the shop what waits to be taken, and opens that as a list in the place of this one."""
    if not host.cart.in_shop:
        host.say(_NO_SHOP)
        return
    title = "Which job of another cart?"
    host.sheet.open(title, [Line("asking the shop ...", _nothing, stays=True)])

    async def listed() -> None:
        code, out, err = await _asked(host, "given", "--json")
        if not (host.is_current and host.sheet.is_open and host.sheet.title == title):
            return
        found = () if code else msgspec.json.decode(out, type=_Given).given
        if not found:
            host.sheet.close()
            host.say(err if code else NOTHING_GIVEN)
            return
        lines = [
            Line(
                f"{one.vehicle}; {one.cart}, job {one.number}",
                partial(_take_by_shop, host, one.job),
            )
            for one in found
        ]
        host.sheet.open(title, lines)

    host.cart.beside(listed(), "given")


class _Given(Struct):
    """What `cartclock shop given --json` says."""

    given: tuple[GivenThere, ...]


def _nothing() -> None:
    """Of a line that is there to be read."""


def _take_by_shop(host: Host, job: str) -> None:
    if not host.cart.in_shop:
        host.say(_NO_SHOP)
        return
    _by_shop(host, "take", job)


def _by_shop(host: Host, act: str, job: str) -> None:
    """Gives a job or takes one by the shop, and says what came of it."""
    cart = host.cart

    async def done() -> None:
        code, out, err = await _asked(host, act, "--", job)
        cart.bench.follow()
        cart.say(err if code else " ".join(out.split("\n")).strip())
        cart.repaint()

    cart.say("Asking the shop.")
    cart.beside(done(), act)


async def _asked(host: Host, *words: str) -> tuple[int, str, str]:
    """Exit code of `cartclock shop WORDS` in a process of its own, what it said, and the sentence
    by which it was refused."""
    home = host.cart.bench.log.path.parent
    # Nothing is imported from the folder it happens to be called in.
    child = await asyncio.create_subprocess_exec(
        *(sys.executable, "-P", "-m", "cartclock", "shop", *words),
        stdin=asyncio.subprocess.DEVNULL,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
        env={**os.environ, "CARTCLOCK_HOME": str(home)},
    )
    try:
        out, err = await child.communicate()
    finally:
        if child.returncode is None:
            child.kill()
            await child.wait()
    assert child.returncode is not None  # it has ended
    fault = err.decode(errors="replace").strip().split("\n")[-1]
    # What the server said itself is for who looks after it.
    fault, bracket, _said = fault.partition(" (") if fault.endswith(").") else (fault, "", "")
    return child.returncode, out.decode(errors="replace"), fault + ("." if bracket else "")
