"""`cartclock test-alarm`: what is heard, before it is needed."""

from __future__ import annotations

import sys

import click

from cartclock.tui.commands.door import plainly, say, settled


@click.command("test-alarm")
@plainly
def test_alarm() -> None:
    """Ring one alarm of each urgency, and say what they are heard by."""
    from cartclock.engine.store.laptop.places import sounds_folder
    from cartclock.tui.sound.alarm import Voice, rehearse

    # A bell in a file rings nobody.
    terminal = sys.stderr.isatty()

    def bell() -> None:
        if terminal:
            click.echo("\a", nl=False, err=True)

    voice = Voice(settled().alarm, bell, sounds_folder())
    if voice.settings.bell and not terminal:
        click.echo("Without a terminal behind stderr the bell is not heard.", err=True)
    try:
        for line in rehearse(voice):
            say(line)
    finally:
        voice.close()
