"""`cartclock man`: the texts of --help as pages for man(1)."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import click

from cartclock.tui.commands.door import BAD_INPUT, leave, plainly, say


@click.command()
@click.argument("command", nargs=-1)
@click.option("--write", is_flag=True, help="All pages into the place where man looks for them.")
@click.pass_context
@plainly
def man(context: click.Context, command: tuple[str, ...], write: bool) -> None:
    """Print the manual page of cartclock or of one COMMAND, for man -l - or mandoc."""
    root = context.find_root()
    if not write:
        at = root
        for word in command:
            found = (
                at.command.get_command(at, word) if isinstance(at.command, click.Group) else None
            )
            if found is None:
                leave(
                    BAD_INPUT, f"There is no command {' '.join(command)}; cartclock --help lists."
                )
            at = click.Context(found, at, word)
        click.echo(_page(at), nl=False)
        return
    folder = _place()
    folder.mkdir(parents=True, exist_ok=True)
    for at in _contexts(root):
        name = f"{_name(at).replace(' ', '-')}.1"
        # They are made of the program and are made anew with each of its versions.
        (folder / name).write_text(_page(at), encoding="utf-8")
    say(f"Written to {folder}; man cartclock shows the first of them.", err=True)


def _place() -> Path:
    """Where man looks for pages of the user's own: beside a folder bin of the path.

    Source: manpath(1) of man-db, "MANDATORY_MANPATH" and the folder share/man beside bin; from
    memory.
    """
    data = Path(os.environ.get("XDG_DATA_HOME") or "~/.local/share").expanduser()
    return data / "man" / "man1"


def _contexts(at: click.Context) -> Iterator[click.Context]:
    """A command and all below it."""
    yield at
    if isinstance(at.command, click.Group):
        for name in at.command.list_commands(at):
            found = at.command.get_command(at, name)
            if found is not None:
                yield from _contexts(click.Context(found, at, name))


def _name(at: click.Context) -> str:
    """As it is typed, by whatever door the program was called."""
    words: list[str] = []
    while at.parent is not None:
        words.insert(0, at.info_name or "")
        at = at.parent
    return " ".join(("cartclock", *words))


def _page(at: click.Context) -> str:
    """The page of a command, of the texts that its --help has."""
    from importlib.metadata import version
    from inspect import cleandoc

    # On use: nothing else needs it.
    from click_man.man import ManPage

    command = at.command
    page = ManPage(_name(at))
    page.version = version("cartclock")
    page.date = ""
    page.short_help = command.get_short_help_str(200).rstrip(".")
    page.description = "\n\n".join(filter(None, (cleandoc(command.help or ""), command.epilog)))
    page.synopsis = " ".join(command.collect_usage_pieces(at))
    options = (one for one in command.get_params(at) if isinstance(one, click.Option))
    page.options = [said for one in options if (said := one.get_help_record(at))]
    if isinstance(command, click.Group):
        page.commands = [
            (name, found.get_short_help_str(200))
            for name in command.list_commands(at)
            if (found := command.get_command(at, name)) is not None
        ]
    return f"{page}\n"
