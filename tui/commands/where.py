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
    """Say where log, settings, plans, papers and backups lie, and which are not there yet; what
    else the program has written for itself; and where the manual begins.
    """
    from cartclock.engine.store.laptop.places import log_path, second_log_said

    log = log_path()
    found = _always(log)
    # What hardly any cart has is told of once it is there.
    found |= {name: path for name, path in _sometimes(log).items() if path.exists()}
    found["manual"] = Path(cartclock.tui.__file__).with_name("MANUAL.md")
    if as_json:
        click.echo(json.dumps({name: str(path) for name, path in found.items()}))
        return
    wide = max(map(len, found))
    for name, path in found.items():
        say(f"{name:<{wide}}  {path}{'' if path.exists() else '  (not there yet)'}")
    if said := second_log_said(log):
        say(said, err=True)


def _always(log: Path) -> dict[str, Path]:
    from cartclock.engine.desk.copies import FOLDER
    from cartclock.engine.store.laptop import places
    from cartclock.engine.store.whole.backups import backups_folder

    return {
        "log": log,
        "backups": backups_folder(log),
        "plans": places.plans_folder(log),
        "papers": log.with_name(FOLDER),
        "settings": places.settings_path(),
    }


def _sometimes(log: Path) -> dict[str, Path]:
    from cartclock.engine.joined.carried import carried_file
    from cartclock.engine.joined.carts import carts_file
    from cartclock.engine.joined.forgotten import forgotten_file
    from cartclock.engine.joined.known import known_file
    from cartclock.engine.joined.membership import membership_file, passfile, root_certificate
    from cartclock.engine.store.history import path_beside
    from cartclock.engine.store.laptop.places import fault_file, sounds_folder
    from cartclock.engine.store.laptop.show_key import show_key_file
    from cartclock.engine.store.whereabouts import head_path

    return {
        "newest row": head_path(log),
        "history": path_beside(log),
        "second screen's key": show_key_file(log),
        "shop": membership_file(log),
        "shop's password": passfile(log),
        "shop's certificate": root_certificate(log),
        "sent to the shop": carried_file(log),
        "taught by the shop": known_file(log),
        "carts of the shop": carts_file(log),
        "forgotten": forgotten_file(log),
        "newest fault": fault_file(log),
        "sounds": sounds_folder(),
    }
