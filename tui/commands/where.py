"""`cartclock where`: which files and folders are this cart's."""

from __future__ import annotations

import json
from pathlib import Path

import click

import cartclock.tui
from cartclock.tui.commands.door import plainly, say


@click.command()
@click.option("--json", "as_json", is_flag=True, help="For a program that reads it.")
@plainly
def where(as_json: bool) -> None:
    """Say where log, settings, plans, papers and backups lie, and which are not there yet; and
    where the manual begins.
    """
    from cartclock.engine.store.laptop import places
    from cartclock.engine.store.whole.backups import backups_folder

    log = places.log_path()
    found: dict[str, Path] = {
        "log": log,
        "backups": backups_folder(log),
        "plans": places.plans_folder(log),
        "papers": places.papers_folder(),
        "settings": places.settings_path(),
        "manual": Path(cartclock.tui.__file__).with_name("MANUAL.md"),
    }
    if as_json:
        click.echo(json.dumps({name: str(path) for name, path in found.items()}))
        return
    wide = max(map(len, found))
    for name, path in found.items():
        say(f"{name:<{wide}}  {path}{'' if path.exists() else '  (not there yet)'}")
    if said := places.second_log_said(log):
        say(said, err=True)
