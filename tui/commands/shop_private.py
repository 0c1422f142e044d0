"""`cartclock shop card` and `forget`: private text that a shop shares, and forgets."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from cartclock.tui.commands.door import (
    BAD_INPUT,
    REFUSED,
    existing_bench,
    is_meant,
    leave,
    plainly,
    say,
    settled,
)
from cartclock.tui.commands.given import for_programs
from cartclock.tui.commands.shop_way import to_shop

if TYPE_CHECKING:
    from cartclock.engine.joined.sending import Sent

_FORGET_HERE = "cartclock shop forget forgets here what was forgotten elsewhere in the shop."


def say_private(done: Sent) -> None:
    """What came of the private texts with a sending; nothing if that is nothing."""
    if done.private.texts:
        say(f"{_texts(done.private.texts)} sent.")
    if done.forgotten:
        say(f"The shop forgot {done.forgotten} of the private texts that were forgotten here.")
    if done.private.barred:
        say(f"The shop has forgotten {len(done.private.barred)} of them. {_FORGET_HERE}", err=True)


def _texts(many: int) -> str:
    return "1 private text" if many == 1 else f"{many} private texts"


@click.command("card")
@click.argument("words", metavar="CUSTOMER|PLATE|PHONE", nargs=-1, required=True)
@for_programs
@plainly
def card(words: tuple[str, ...], as_json: bool) -> None:
    """Earlier jobs of all carts by how a name, plate or phone begins; private text is shared."""
    import msgspec

    from cartclock.engine.dates import hour_minutes
    from cartclock.engine.joined.private import LEAST_LETTERS, cards, knows_private
    from cartclock.engine.letters import plate_letters
    from cartclock.engine.store.laptop.places import log_path

    asked = " ".join(words)
    if len(plate_letters(asked)) < LEAST_LETTERS:
        leave(BAD_INPUT, f"Type {LEAST_LETTERS} letters or digits of it, or more.")
    with to_shop(log_path()) as line:
        found = cards(line, asked) if knows_private(line) else ()
    if as_json:
        click.echo(msgspec.json.format(msgspec.json.encode(found), indent=2))
        return
    for one in found:
        hands = hour_minutes(one.hands_us / 1e6)
        say(
            f"{one.day}  {one.vehicle}, {one.plan}: job {one.number} of cart {one.cart}, "
            f"{one.state}, hands {hands}"
        )
        for what, text in one.private:
            say(f"    {what}: {text}")
    if not found:
        leave(REFUSED, "No cart that shares private text had such a customer, plate or phone.")


@click.command("forget")
@click.option("--yes", is_flag=True, help="Do not ask: it cannot be taken back.")
@plainly
def forget(yes: bool) -> None:
    """Forget on this cart what was forgotten elsewhere in the shop, for ever."""
    import sys

    from cartclock.engine.desk.forgetting import BACKUPS_ELSEWHERE, forget_texts
    from cartclock.engine.desk.shop import Shop
    from cartclock.engine.joined.private import forgotten_elsewhere
    from cartclock.engine.store.laptop.places import existing_log

    with to_shop(existing_log()) as line:
        settings = settled()
        bench = existing_bench(settings)
        try:
            refs = forgotten_elsewhere(bench.log, line)
            texts = _texts(len(refs))
            if not refs:
                say("Nothing that was forgotten in the shop is held here.")
                return
            if not yes and not is_meant(f"Forget {texts} for ever?"):
                leave(REFUSED, "Nothing was forgotten; --yes does it without a question.")
            shop = Shop(bench.log, settings.rest_place, settings.closed, bench.library)
            left = forget_texts(shop, refs)
        finally:
            bench.close()
    say(f"{texts} forgotten. {BACKUPS_ELSEWHERE}")
    for sentence in left:
        say(sentence, err=True)
    if left:
        sys.exit(REFUSED)
