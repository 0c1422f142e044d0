"""`cartclock settings`: a settings file to go by."""

from __future__ import annotations

import click

from cartclock.tui.commands.door import REFUSED, leave, plainly, say


@click.command()
@click.option("--write", is_flag=True, help="Into the place where it is read, if none is there.")
@click.option("--ask", is_flag=True, help="Ask the first questions that are not answered in it.")
@plainly
def settings(write: bool, ask: bool) -> None:
    """Print a settings file with every setting there is, what it means, and a line to go by."""
    if ask:
        from cartclock.tui.commands.start import has_terminal, settle_in

        if not has_terminal():
            leave(REFUSED, "The questions need a terminal; write the lines by hand instead.")
        settle_in(offers=False)
        return
    from cartclock.engine.store.laptop.places import settings_path
    from cartclock.engine.store.plan_file.text import write_text
    from cartclock.engine.store.settings import settings_file
    from cartclock.tui.keys import KEYS

    text = settings_file([key.id for key in KEYS])
    if write:
        settings_path().parent.mkdir(parents=True, exist_ok=True)
        write_text(settings_path(), text)
        say(f"Written to {settings_path()}. Nothing is settled in it yet.", err=True)
        return
    click.echo(text, nl=False)
    say(f"Such a file is read from {settings_path()}.", err=True)
