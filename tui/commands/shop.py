"""`cartclock shop`: a cart and the shop it belongs to.

Nothing here is needed to work: without a shop, and without a network, everything is on the cart.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import click

from cartclock.engine.joined.asking import SHOP_QUESTIONS, SaidAs
from cartclock.tui.commands.door import REFUSED, leave, plainly, say, settled
from cartclock.tui.commands.given import for_programs, mind_day
from cartclock.tui.commands.progress import progress
from cartclock.tui.commands.shop_handing import give, given, heed, part, parts, take, who
from cartclock.tui.commands.shop_log import check, new_log, pull
from cartclock.tui.commands.shop_private import card, forget, say_private
from cartclock.tui.commands.shop_way import to_shop

# Who left the setting `worker` as it was: hours of several people would be one person's.
_NOBODY = "me"


@click.group("shop")
def shop() -> None:
    """Join this cart to a shop's PostgreSQL, send its log there, ask about all carts."""


@shop.command("tables")
@click.option("--nodes", is_flag=True, help="For an engine that places shops on several nodes.")
@plainly
def tables(nodes: bool) -> None:
    """Print the SQL that makes the shop's tables, or adds what a newer program has."""
    from cartclock.engine.joined.tables import tables_sql

    click.echo(tables_sql(nodes), nl=False)


@shop.command("join")
@click.option("--server", required=True, help="Host of the shop's PostgreSQL, or HOST:PORT.")
@click.option("--cart", required=True, help="The login of this cart there.")
@click.option("--database", default="shop", show_default=True, help="Its name there.")
@click.option(
    "--private/--no-private",
    default=False,
    show_default=True,
    help="Whether customers' names, plates, phones and notes are sent.",
)
@plainly
def join_shop(server: str, cart: str, database: str, private: bool) -> None:
    """Say to which shop this cart belongs; the password is asked for, or read from a pipe.

    Workers' names stand in the log for ever, so they do at the shop; names of customers, plates,
    phones and notes are sent only with --private.
    """
    from cartclock.engine.joined.membership import Joined, join
    from cartclock.engine.store.laptop.places import log_path
    from cartclock.engine.store.schema import make_folder

    settings = settled()
    if settings.worker == _NOBODY:
        leave(
            REFUSED,
            "The shop tells hours by the name of the worker: write the setting `worker` first, "
            'such as worker = "Ines".',
        )
    # A cart whose disk was lost joins before it has a log, and gets that from the shop.
    log = log_path()
    password = _password()
    make_folder(log.parent)
    join(Joined(server, cart, database, private), password, log)
    with to_shop(log):
        say(f"This cart belongs to the shop at {server}; cartclock shop push sends its log.")


def _password() -> str:
    """As it is typed, unseen; out of a pipe its first line."""
    import sys

    if sys.stdin.isatty():
        typed: str = click.prompt("Password", hide_input=True, err=True)
        return typed
    return sys.stdin.readline().rstrip("\r\n")


@shop.command("leave")
@plainly
def leave_() -> None:
    """This cart belongs to no shop any more; what was sent stays at the shop."""
    from cartclock.engine.joined.membership import leave_shop
    from cartclock.engine.store.laptop.places import existing_log

    left = leave_shop(existing_log())
    say("This cart belongs to no shop any more." if left else "This cart belongs to no shop.")


@shop.command("push")
@plainly
def push() -> None:
    """Send the shop what it has not of this cart's log, and what the log says."""
    from importlib.metadata import version

    from cartclock.engine.joined.link import about_tables
    from cartclock.engine.joined.membership import membership
    from cartclock.engine.joined.visiting import visit_shop
    from cartclock.engine.store.laptop.places import existing_log
    from cartclock.engine.store.log import Log

    path = existing_log()
    with Log.open_to_read(path) as log, to_shop(path) as line, progress() as told:
        whole = 0

        def heard(left: int) -> None:
            nonlocal whole
            whole = max(whole, left)
            told("Sending", 1 - left / whole if whole else 1.0)

        private = membership(path).private
        came = visit_shop(log, line, version("cartclock"), heard, private)
        done, older = came.sent, about_tables(line)
    rows = "1 row" if done.rows == 1 else f"{done.rows} rows"
    say(f"{rows} sent; the shop has {done.head + 1}, all of this cart's log.")
    say_private(done)
    if older:
        say(older, err=True)
    if abs(done.skew_us) > _SKEW_US:
        say(f"The shop's clock is {done.skew_us / 1e6:+.0f} s off this computer's.", err=True)
    heed(came.taken)


# From here on it is told: a hand-over by two clocks would be read wrong. Our own judgement.
_SKEW_US = 30_000_000


def _asks(name: str) -> click.Command:
    question = SHOP_QUESTIONS[name]

    @click.command(name, help=question.said)
    @click.option("--from", "first", default="0001-01-01", help="On this day or later: 2026-10-24.")
    @click.option("--to", "last", default="9999-12-31", help="On this day or before.")
    @for_programs
    @plainly
    def ask(first: str, last: str, as_json: bool) -> None:
        from cartclock.engine.joined.asking import shop_answer
        from cartclock.engine.store.laptop.places import log_path

        for day in (first, last):
            mind_day(day)
        zone = settled().zone
        with to_shop(log_path()) as line:
            found = shop_answer(line, name, first, last)
        if as_json:
            click.echo(json.dumps([_plain(one) for one in found], indent=2))
        elif found:
            say("\n".join(_table(question.columns, found, zone)))
        else:
            leave(REFUSED, "The shop knows nothing of that.")

    return ask


def _plain(one: Mapping[str, Any]) -> dict[str, Any]:
    """What JSON can say: sums of whole numbers come as decimals."""
    from decimal import Decimal

    return {
        name: (int(value) if value == int(value) else float(value))
        if isinstance(value, Decimal)
        else value
        for name, value in one.items()
    }


def _table(
    columns: Mapping[str, SaidAs], found: Sequence[Mapping[str, Any]], zone: str
) -> list[str]:
    """Rows under each other; a column that is empty in all of them is left out."""
    from cartclock.engine.letters import cells, padded

    say_ = _sayers(zone)
    told = {
        name: [name.removesuffix("_us").removesuffix("_time").replace("_", " ")]
        + ["" if one[name] is None else say_[said](one[name]) for one in found]
        for name, said in columns.items()
    }
    shown = {name: texts for name, texts in told.items() if any(texts[1:])}
    widths = {name: max(map(cells, texts)) for name, texts in shown.items()}
    return [
        "  ".join(
            padded(texts[row], widths[name], right=columns[name] not in ("text", "instant"))
            for name, texts in shown.items()
        ).rstrip()
        for row in range(len(found) + 1)
    ]


def _sayers(zone: str) -> Mapping[SaidAs, Callable[[Any], str]]:
    from cartclock.engine.dates import hour_minutes, spoken

    return {
        "text": str,
        "count": lambda value: f"{int(value)}",
        "length": lambda value: hour_minutes(float(value) / 1e6) if value else "",
        "instant": lambda value: spoken(int(value), zone),  # type: ignore[arg-type]  # microseconds
        "money": lambda value: f"{float(value) / 100:.2f}",
        "degrees": lambda value: f"{value:.1f}",
        "amount": lambda value: f"{round(float(value), 1):.10g}",
    }


for _command in (pull, check, new_log, card, forget):
    shop.add_command(_command)
for _name in SHOP_QUESTIONS:
    shop.add_command(_asks(_name))
for _command in (who, give, given, take, part, parts):
    shop.add_command(_command)
