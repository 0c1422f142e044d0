"""Commands that look after the log: check it, copy it, put a copy back."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from cartclock.tui.commands.door import REFUSED, existing_bench, plainly, settled


@click.command("check-log")
@plainly
def check_log() -> None:
    """Recompute the chain of digests; name every broken link."""
    settings = settled()
    bench = existing_bench(settings)
    try:
        broken = bench.log.check()
        head = bench.log.head
    finally:
        bench.close()
    for sentence in broken:
        click.echo(sentence)
    if broken:
        sys.exit(REFUSED)
    click.echo(f"{head.seq + 1} rows, every link holds. Head: {head.digest}")


@click.command()
@click.argument("to", type=click.Path(path_type=Path))
@plainly
def backup(to: Path) -> None:
    """Copy the log, whole and consistent, to a new file."""
    settings = settled()
    bench = existing_bench(settings)
    try:
        bench.log.backup(to)
    finally:
        bench.close()
    click.echo(f"Copied to {to}.", err=True)


@click.command("restore")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--over-newer", is_flag=True, help="Also over a log that has other or newer rows.")
@plainly
def restore_log(file: Path, over_newer: bool) -> None:
    """Put a copy of the log in its place; the log that is there is moved aside, not deleted."""
    from cartclock.engine.store.laptop.places import log_path
    from cartclock.engine.store.restore import restore

    done = restore(file, log_path(), over_newer)
    if done.aside is not None:
        click.echo(f"What was there is kept: {done.aside}", err=True)
    click.echo(f"{done.head.seq + 1} rows put back. Head: {done.head.digest}")


KEEPING = (check_log, backup, restore_log)
