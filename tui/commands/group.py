"""The commands, by their names.

A process has one command to run, so what makes it is imported when it is asked for.
"""

from __future__ import annotations

from importlib import import_module

import click

from cartclock.engine.paper.papers import PAPERS

# Module of this room and name in it, for each command that `--help` lists; those of one paper
# without `paper` in front work as well and are not listed, or "record" would read as if something
# began.
_LISTED = {
    "attach": ("papers", "attach"),
    "backup": ("keeping", "backup"),
    "check": ("plan_files", "check"),
    "check-log": ("keeping", "check_log"),
    "completions": ("completions", "completions"),
    "demo": ("demo", "demo"),
    "estimate": ("estimate", "estimate"),
    "export": ("exchange", "export"),
    "forget": ("keeping", "forget_private"),
    "history": ("history", "history"),
    "import": ("exchange", "import_"),
    "jobs": ("jobs", "jobs"),
    "learn": ("learn", "learn"),
    "man": ("man", "man"),
    "new": ("plan_files", "new"),
    "now": ("now", "now"),
    "outlook": ("outlook", "outlook"),
    "paper": ("papers", "papers"),
    "rebuild-history": ("history", "rebuild_history"),
    "restore": ("keeping", "restore_log"),
    "settings": ("settings", "settings"),
    "shop": ("shop", "shop"),
    "show": ("show", "show"),
    "test-alarm": ("alarm", "test_alarm"),
    "today": ("today", "today"),
    "where": ("where", "where"),
    "work-out": ("work_out", "work_out"),
}


class Commands(click.Group):
    """The group; a command is made when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Every name, sorted."""
        return sorted(_LISTED)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of a name; None if there is none."""
        if cmd_name in _LISTED:
            module, name = _LISTED[cmd_name]
            found: click.Command = getattr(_room(module), name)
            return found
        if cmd_name in PAPERS or cmd_name == "print":
            from cartclock.tui.commands.papers import short_command

            return short_command(cmd_name)
        return None


def _room(module: str) -> object:
    return import_module(f"cartclock.tui.commands.{module}")


@click.group(
    cls=Commands,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"]},
)
@click.version_option(package_name="cartclock")
@click.option(
    "--mouse", is_flag=True, help="Let a click choose a line of a list, and a second one press it."
)
@click.pass_context
def commands(context: click.Context, mouse: bool) -> None:
    """The clock on the cart: stages, chemical windows, breaks, the record of the day.

    Without a command the screens open.
    """
    if context.invoked_subcommand is None:
        from cartclock.tui.commands.start import open_screens

        open_screens(mouse)
