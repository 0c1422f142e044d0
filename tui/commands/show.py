"""`cartclock show`: a second screen for phone and tablet, and a page for the customer.

The log is only read, also while the program on the cart runs. Nothing here is imported, and no
socket is open, unless this command is given.
"""

from __future__ import annotations

import os
import sys
from functools import partial
from typing import TYPE_CHECKING

import click

from cartclock.tui.commands.door import BAD_INPUT, DONE, leave, plainly, reading_bench, say, settled
from cartclock.tui.commands.finishing import a_job

if TYPE_CHECKING:
    import socket

    from cartclock.engine.store.settings import Settings
    from cartclock.tui.show.addresses import Address
    from cartclock.tui.show.server import Server

PORT = 8737
# The cart's own program goes first where the machine has too much to do. Our own judgement.
_NICER = 10
# Connections that wait for their turn in the system. Our own judgement.
_WAITING = 16


@click.command()
@click.option(
    "--address",
    default="127.0.0.1",
    show_default=True,
    help="Of this computer in the net of phone and tablet; without it, only for this computer.",
)
@click.option(
    "--port", default=PORT, show_default=True, type=click.IntRange(1, 65535), help="To listen on."
)
@click.option(
    "--customer", metavar="JOB", shell_complete=a_job, help="A page for the customer of this job."
)
@click.option("--anew", is_flag=True, help="New addresses; those handed out open nothing more.")
@plainly
def show(address: str, port: int, customer: str | None, anew: bool) -> None:
    """Show the cart on a phone or tablet: a page to be looked at, nothing can be pressed there.

    Whoever has the address sees the page until --anew.
    """
    from cartclock.engine.store.laptop.places import existing_log
    from cartclock.engine.store.laptop.show_key import show_key
    from cartclock.tui.show.addresses import host_of, site, token
    from cartclock.tui.show.follow import CART, CUSTOMER, Follower
    from cartclock.tui.show.server import Server
    from cartclock.tui.show.web import page_files

    at = _address(address)
    settings = settled()
    pages = [CART]
    if customer is not None:
        pages.append(CUSTOMER + _job(settings, customer))
    key = show_key(existing_log(), anew)
    listening = _listening(at, port)
    follower = Follower(partial(reading_bench, settings), settings)
    try:
        for page in pages:
            whose = "The cart, for phone and tablet" if page == CART else "The customer's page"
            _hand_out(whose, f"http://{host_of(at, port)}/{token(key, page)}/", not at.is_loopback)
        if at.is_loopback:
            say(_elsewhere())
        say("Ctrl+C ends it.")
        sys.stdout.flush()
        if hasattr(os, "nice"):
            os.nice(_NICER)
        told = partial(say, err=True)
        _serve(Server(site(key, pages, at, port), page_files, follower, told), listening)
    except KeyboardInterrupt:
        sys.exit(DONE)
    finally:
        listening.close()
        follower.close()


def _serve(server: Server, listening: socket.socket) -> None:
    import asyncio

    asyncio.run(server.serve(listening))


def _address(text: str) -> Address:
    from ipaddress import ip_address

    try:
        found = ip_address(text)
    except ValueError:
        leave(BAD_INPUT, f"{text} is no address; write it like 192.168.1.20. {_elsewhere()}")
    if found.is_unspecified or found.is_multicast:
        # A request is only answered under a name that is known.
        leave(BAD_INPUT, f"{text} is every address; give one. {_elsewhere()}")
    return found


def _job(settings: Settings, handle: str) -> str:
    from cartclock.engine.desk.shop import Shop

    bench = reading_bench(settings)
    try:
        return Shop(bench.log).find(handle).job
    finally:
        bench.close()


def _listening(at: Address, port: int) -> socket.socket:
    import socket

    family = socket.AF_INET6 if at.version == 6 else socket.AF_INET
    return socket.create_server((str(at), port), family=family, backlog=_WAITING)


def _elsewhere() -> str:
    """How another device reaches this computer."""
    return f"Another device reaches it with --address {own_address() or 'and its address'}."


def own_address() -> str:
    """This computer's address in its net; "" if it is in none."""
    import socket

    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
            # Nothing is sent: the system only says by which of its addresses it would go out. The
            # other address is one of those for documents, IETF RFC 5737.
            asking.connect(("192.0.2.1", 9))
            found: str = asking.getsockname()[0]
            return found
    except OSError:
        return ""


def _hand_out(whose: str, address: str, carried: bool) -> None:
    """Says an address; where another device can open it, in a picture that it reads."""
    say(f"{whose}: {address}")
    if not carried or not sys.stdout.isatty():
        return
    import io

    import segno

    drawn = io.StringIO()
    segno.make(address, error="m", micro=False).terminal(out=drawn, compact=True)
    plain = "NO_COLOR" in os.environ
    for line in drawn.getvalue().splitlines():
        # Light on dark, whatever the terminal's own colours are.
        click.echo(line if plain else f"\x1b[97;40m{line}\x1b[0m", color=True)
