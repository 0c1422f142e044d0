"""`cartclock shop pull`, `check` and `new-log`: this cart's log and what its shop has of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from cartclock.tui.commands.door import REFUSED, is_meant, leave, plainly, say, settled
from cartclock.tui.commands.progress import progress
from cartclock.tui.commands.shop_way import to_shop

if TYPE_CHECKING:
    from cartclock.engine.store.log import Log


@click.command("pull")
@click.option("--log", "named", default="", help="Which of this cart's logs, as it begins.")
@plainly
def pull(named: str) -> None:
    """Get this cart's own rows back from the shop, after a lost disk or a restored backup.

    Rows that are here are never changed; the log that was there is kept aside.
    """
    from cartclock.engine.desk.holding import to_take_again
    from cartclock.engine.joined.pulling import log_to_pull, pull_own
    from cartclock.engine.store.laptop.places import log_path
    from cartclock.engine.store.log import Log

    path = log_path()
    with to_shop(path) as line, progress() as told:
        if path.exists():
            with Log.open_to_read(path) as log:
                there = log_to_pull(line, log, named)
        else:
            there = log_to_pull(line, None, named)
        done = pull_own(path, there, line, told)
    if not done.rows:
        say("The shop has no row that is not here.")
        return
    rows = "1 row" if done.rows == 1 else f"{done.rows} rows"
    say(f"{rows} given back. Head: {done.head.digest}")
    if done.aside is not None:
        say(f"What was there is kept: {done.aside}", err=True)
    for sentence in done.lacks:
        say(f"Not at the shop under this log: {sentence}.", err=True)
    if done.lacks:
        say("Import the files of those jobs again: cartclock import FILE.", err=True)
    with Log.open_to_read(path) as log:
        for job, was in to_take_again(log).items():
            say(
                f"Job {was.number} was taken over by this cart: cartclock shop take {job[:8]} "
                "brings it back.",
                err=True,
            )


@click.command("check")
@plainly
def check() -> None:
    """Hold every row of this cart's log against what the shop has of it."""
    from cartclock.engine.joined.pulling import compare
    from cartclock.engine.store.laptop.places import existing_log
    from cartclock.engine.store.log import Log

    path = existing_log()
    with Log.open_to_read(path) as log, to_shop(path) as line, progress() as told:
        found = compare(log, line, told)
    if found.same:
        say(f"All {found.here.seq + 1} rows are at the shop as they are here, and their figures.")
        return
    here, there = found.here.seq + 1, found.there.seq + 1
    said = [f"This cart has {here} rows and the shop {there}."]
    if found.parted_at is not None:
        said.append(
            f"They have parted: row {found.parted_at} is another one there. cartclock shop new-log "
            "begins a new log of this cart."
        )
    elif here > there:
        said.append("cartclock shop push sends the rest.")
    elif there > here:
        said.append("cartclock shop pull gets the rest.")
    if found.other is not None:
        said.append(
            f"Row {found.other} at the shop is not what its digest was reckoned over: somebody "
            "changed it there. Tell the owner; all is on this cart."
        )
    if found.figures:
        subjects = "1 job, shift or product" if found.figures == 1 else f"{found.figures} of them"
        said.append(f"Figures of {subjects} are other ones there.")
    leave(REFUSED, " ".join(said))


@click.command("new-log")
@click.option("--yes", is_flag=True, help="Do not ask.")
@plainly
def new_log(yes: bool) -> None:
    """Begin a new log where this one and the shop's have parted; the old one is kept aside.

    What only this cart has of the old one is printed.
    """
    from cartclock.engine.joined.pulling import compare
    from cartclock.engine.store.history import path_beside
    from cartclock.engine.store.laptop.places import existing_log
    from cartclock.engine.store.log import Log
    from cartclock.engine.store.restore import is_in_use, move_aside

    path = existing_log()
    if is_in_use(path):
        leave(REFUSED, f"A program has {path} open; quit it, then do this again.")
    with Log.open_to_read(path) as log, to_shop(path) as line, progress() as told:
        found = compare(log, line, told)
        if found.parted_at is None:
            leave(REFUSED, "This log and the shop's have not parted: none is begun.")
        if any(one.off_us is None for one in log.shift_summaries()):
            leave(REFUSED, "Somebody is on the clock in this log; clock off first.")
        still = [one for one in log.job_summaries() if one.closed_us is None]
        only_here = list(_only_here(log, found.parted_at, settled().zone))
    for sentence in only_here:
        say(sentence)
    for job in still:
        say(f"Job {job.number}, {job.vehicle}, is open there and stays there.", err=True)
    if not yes and not is_meant("Begin a new log, without these rows?"):
        leave(REFUSED, "None was begun; --yes does it without a question.")
    aside = move_aside(path)
    history = path_beside(path)
    for end in ("", "-wal", "-shm"):
        history.with_name(f"{history.name}{end}").unlink(missing_ok=True)
    with Log.open(path) as log:
        say(f"A new log of this cart has begun: {log.origin}.")
    say(f"The old one is kept: {aside}", err=True)


def _only_here(log: Log, first: int, zone: str) -> list[str]:
    """The rows of a log from one number on, a line each."""
    from cartclock.engine.dates import spoken

    return [
        f"row {row.seq}  {spoken(row.entered_us, zone)}  {row.worker}  {type(row.event).__name__}"
        for row in log.rows_after(first - 1)
    ]
