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

from cartclock.engine.desk.holding import SAID_IDENTITY, TakenOver, give_to_file, take_file
from cartclock.engine.facts.job import Job
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
    host.cart.write(holding.give, job.id, "", host.cart.bench.log.origin)
    host.say(
        f"Job {job.opened.number} is given away; another cart may take it once the shop has heard "
        "of it."
    )


def _ask_cart(host: Host, job: Job) -> None:
    if job.given_to:
        _ask_place(host, job, job.given_to)
        return
    host.sheet.open_text(
        "Which cart takes it? A on Today says it there",
        lambda said: _ask_place(host, job, said.strip().lower()),
        hint="its first 4 signs or more   esc: nothing is written",
    )


def _ask_place(host: Host, job: Job, to: str) -> None:
    host.sheet.open_text(
        "File to write, as on a stick",
        lambda said: _give_by_file(host, job, to, Path(said.strip()).expanduser()),
        hint=f"such as ~/job-{job.opened.number}.jsonl   esc: nothing is written",
    )


def _give_by_file(host: Host, job: Job, to: str, file: Path) -> None:
    give_to_file(host.cart.bench, host.cart.shop, job.id, to, file, private=True)
    host.paint()
    host.say(f"Job {job.opened.number} is given; cart {to[:SAID_IDENTITY]} takes it by {file}.")


def _ask_file(host: Host) -> None:
    host.sheet.open_text(
        "The file that the other cart wrote",
        lambda said: _take_by_file(host, Path(said.strip()).expanduser()),
        hint="such as ~/job-1.jsonl   esc: nothing is written",
    )


def _take_by_file(host: Host, file: Path) -> None:
    done = take_file(host.cart.bench, file)
    host.paint()
    host.say(_taken(done))


def _taken(done: TakenOver) -> str:
    named = f"Job {done.job.opened.number}, {done.job.opened.vehicle},"
    if not done.written:
        return f"{named} was taken by this cart already."
    return f"{named} is on this cart from here on, its films as they stand."


def _ask_job(host: Host) -> None:
    if not host.cart.in_shop:
        host.say(_NO_SHOP)
        return
    host.sheet.open_text(
        "Its number there, or how its id begins", lambda said: _take_by_shop(host, said.strip())
    )


def _take_by_shop(host: Host, handle: str) -> None:
    if not host.cart.in_shop:
        host.say(_NO_SHOP)
        return
    cart = host.cart
    home = cart.bench.log.path.parent

    async def taken() -> None:
        # Nothing is imported from the folder it happens to be called in.
        child = await asyncio.create_subprocess_exec(
            *(sys.executable, "-P", "-m", "cartclock", "shop", "take", "--", handle),
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
        cart.bench.follow()
        said = (err if child.returncode else out).decode(errors="replace").split("\n")[0]
        cart.say(said)
        cart.repaint()

    cart.say("Asking the shop.")
    cart.beside(taken(), "take")
