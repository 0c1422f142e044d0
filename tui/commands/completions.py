"""`cartclock completions`: words that the shell finishes at TAB, among them jobs and starters.

What is finished is asked of the program itself, by the shell, with the word so far.
"""

from __future__ import annotations

import os
from pathlib import Path

import click

from cartclock.tui.commands.door import ASKED, BAD_INPUT, leave, plainly, say

SHELLS = ("bash", "zsh", "fish")


@click.command()
@click.argument("shell", type=click.Choice(SHELLS))
@click.option("--write", is_flag=True, help="Into the place where that shell looks for it.")
@plainly
def completions(shell: str, write: bool) -> None:
    """Print what a shell must be told to finish the words of cartclock at TAB."""
    from click.shell_completion import get_completion_class

    from cartclock.engine.store.laptop.paper_file import place_beside
    from cartclock.tui.commands.group import commands

    made = get_completion_class(shell)
    assert made is not None, "the library has all of SHELLS"
    text = made(commands, {}, "cartclock", ASKED).source()
    if not write:
        click.echo(text, nl=False)
        return
    path = _place(shell)
    if path.exists():
        leave(BAD_INPUT, f"{path} is there already; move it away to have it written anew.")
    path.parent.mkdir(parents=True, exist_ok=True)
    place_beside(path, text.encode())
    say(f"Written to {path}; the next {shell} that is opened knows it.", err=True)
    if shell == "zsh" and (line := _told_to_zsh(path.parent)):
        say(f"Once only, zsh must be told that it looks there: {line}", err=True)


def _told_to_zsh(folder: Path) -> str:
    """What is typed so that zsh looks for such words in a folder; "" if it does."""
    # On use: no other shell needs it.
    import shlex

    settings = Path(os.environ.get("ZDOTDIR") or "~").expanduser() / ".zshrc"
    line = f"fpath=({shlex.quote(str(folder))} $fpath); autoload -Uz compinit && compinit"
    try:
        if line in settings.read_text(encoding="utf-8", errors="replace").splitlines():
            return ""
    except OSError:
        # There are none yet: what is typed makes them.
        pass
    return f"echo {shlex.quote(line)} >> {shlex.quote(str(settings))}"


def _place(shell: str) -> Path:
    """Where a shell looks for what one program of the user's brought.

    Sources: bash-completion, README, "Where should I put it to be sure that interactive bash
    shells will find it?"; fish, documentation, "Where to put completions"; zsh has no such place
    of its own. All from memory.
    """
    data = Path(os.environ.get("XDG_DATA_HOME") or "~/.local/share").expanduser()
    config = Path(os.environ.get("XDG_CONFIG_HOME") or "~/.config").expanduser()
    return {
        "bash": data / "bash-completion" / "completions" / "cartclock",
        "zsh": data / "zsh" / "site-functions" / "_cartclock",
        "fish": config / "fish" / "completions" / "cartclock.fish",
    }[shell]
