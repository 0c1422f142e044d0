"""Commands that look after the log: check it, copy it, put a copy back."""

from __future__ import annotations

import sys
from pathlib import Path
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
from cartclock.tui.commands.progress import progress

if TYPE_CHECKING:
    from cartclock.engine.store.log import Log


@click.command("check-log")
@click.option("--head", "digest", help="Say which row has this digest, as papers print it.")
@click.option("--repair", "mend", is_flag=True, help="Make anew what is wrong, as far as it goes.")
@plainly
def check_log(digest: str | None, mend: bool) -> None:
    """Look at every row, link, index, table, text and paper of the log; name all that is wrong."""
    from cartclock.engine.desk.copies import FOLDER
    from cartclock.engine.store.laptop.places import existing_log
    from cartclock.engine.store.views import VIEWS
    from cartclock.engine.store.whole.audit import audit

    path = existing_log()
    if digest is not None:
        _say_row(path, digest)
        return
    with progress() as told:
        found = audit(path, VIEWS, path.parent / FOLDER, told)
    for sentence in (*found.wrong, *found.odd):
        say(sentence)
    damaged = bool(found.faults or found.derived)
    if mend and damaged:
        _repair(path)
        return
    if damaged:
        leave(REFUSED, "cartclock check-log --repair makes anew what can be; nothing was changed.")
    if found.papers:
        sys.exit(REFUSED)
    click.echo(f"{found.head.seq + 1} rows, every link holds. Head: {found.head.digest}")


def _repair(path: Path) -> None:
    from cartclock.engine.store.views import VIEWS
    from cartclock.engine.store.whole.repair import repair

    with progress() as told:
        done = repair(path, VIEWS, told)
    if done.aside is not None:
        click.echo(f"Repaired: {done.rows} rows, none is missing.")
        say(f"What was there is kept: {done.aside}", err=True)
        return
    say(f"Saved: {done.rows} rows, in {done.log}. What is missing or damaged there:")
    for sentence in done.lost:
        say(f"  {sentence}")
    leave(
        REFUSED,
        "The damaged log stays as it is. Put the newest backup back with cartclock restore FILE; "
        f"or go on without these rows: cartclock restore --damaged {done.log}",
    )


def _say_row(path: Path, digest: str) -> None:
    import re

    from cartclock.engine.store.whole.audit import places_of

    # So many letters of a digest are no chance find.
    wanted = digest.strip().lower().rstrip(".")
    if re.fullmatch(r"[0-9a-f]{8,64}", wanted) is None:
        leave(BAD_INPUT, "--head takes a digest as it is printed: 8 to 64 of 0-9 and a-f.")
    places = places_of(path, wanted)
    if not places:
        leave(REFUSED, "Not in this log.")
    for sentence in places:
        say(sentence)


@click.command()
@click.argument("to", type=click.Path(path_type=Path))
@plainly
def backup(to: Path) -> None:
    """Copy the log, whole and consistent, to a new file."""
    from cartclock.engine.store.laptop.places import existing_log
    from cartclock.engine.store.log import Log

    with Log.open_to_read(existing_log()) as log, progress() as told:
        log.backup(to, told)
    say(f"Copied to {to}.", err=True)


@click.command("restore")
@click.argument("file", type=click.Path(path_type=Path), required=False)
@click.option("--over-newer", is_flag=True, help="Also over a log that has other or newer rows.")
@click.option("--damaged", is_flag=True, help="Also a copy that lacks rows, over a damaged log.")
@plainly
def restore_log(file: Path | None, over_newer: bool, damaged: bool) -> None:
    """Put a copy of the log in its place; the log that is there is moved aside, not deleted.

    Without a FILE the backups are listed that the program made by itself, the newest first.
    """
    from cartclock.engine.store.laptop.places import log_place
    from cartclock.engine.store.restore import restore

    if file is None:
        _list_backups(log_place())
        return
    with progress() as told:
        done = restore(file, log_place(), over_newer, damaged, told)
    if done.aside is not None:
        say(f"What was there is kept: {done.aside}", err=True)
    click.echo(f"{done.head.seq + 1} rows put back. Head: {done.head.digest}")


def _list_backups(log: Path) -> None:
    from cartclock.engine.store.whole.backups import WHAT_IS_KEPT, backups

    found = backups(log)
    if not found:
        leave(REFUSED, "There is no backup yet; name a FILE that cartclock backup made.")
    for path in found:
        click.echo(path)
    gigabytes = sum(path.stat().st_size for path in found) / 1e9
    click.echo(f"{len(found)} copies, {gigabytes:.1f} GB. {WHAT_IS_KEPT}", err=True)


@click.command("forget")
@click.argument("handle", metavar="JOB|CUSTOMER")
@click.option("--papers", is_flag=True, help="Remove the papers that were issued as well.")
@click.option("--yes", is_flag=True, help="Do not ask: it cannot be taken back.")
@plainly
def forget_private(handle: str, papers: bool, yes: bool) -> None:
    """Forget name, plate, phone, notes, reasons and paths of photos, of a job or of a customer.

    CUSTOMER is the whole name. Hours, products, dates and the chain of the log stay.
    """
    from cartclock.engine.desk.copies import FOLDER
    from cartclock.engine.desk.forgetting import (
        BACKUPS_ELSEWHERE,
        IMPORTED,
        forget,
        to_forget,
    )
    from cartclock.engine.desk.shop import Shop

    settings = settled()
    bench = existing_bench(settings)
    try:
        shop = Shop(bench.log, settings.rest_place, settings.closed, bench.library)
        what = to_forget(shop, handle, bench.log.path.parent / FOLDER)
        say(f"{what}.", err=True)
        for path in what.papers:
            say(f"Issued, and {'to be removed' if papers else 'it stays'}: {path}", err=True)
        if what.imported:
            click.echo(IMPORTED, err=True)
        for file in what.files:
            say(f"Attached, and it stays: {file}", err=True)
        if not yes and not is_meant("Forget this for ever?"):
            leave(REFUSED, "Nothing was forgotten; --yes does it without a question.")
        left = forget(shop, what, papers)
        left += _forgotten_at_shop(bench.log)
    finally:
        bench.close()
    click.echo(f"Forgotten. {BACKUPS_ELSEWHERE}")
    for sentence in left:
        say(sentence, err=True)
    if left:
        sys.exit(REFUSED)


def _forgotten_at_shop(log: Log) -> list[str]:
    """Has the shop forget it, of a cart that belongs to one; what holds it still, a sentence."""
    from cartclock.engine.joined.membership import membership, membership_file

    if not membership_file(log.path).exists():
        return []
    from cartclock.engine.joined.faults import ShopFault
    from cartclock.engine.joined.link import linked
    from cartclock.engine.joined.private import forget_there

    try:
        with linked(membership(log.path), log.path) as line:
            forget_there(log, line)
    except (ShopFault, ModuleNotFoundError) as why:
        return [f"The shop may hold it still and forgets it with the next sending. {why}"]
    return []
