"""The commands.

What only one of them needs is imported where that command begins.
"""

from __future__ import annotations

import sys
from pathlib import Path

import click

from cartclock.engine.paper.papers import PAPERS
from cartclock.tui.commands.door import plainly, settled
from cartclock.tui.commands.history import PAST
from cartclock.tui.commands.keeping import KEEPING
from cartclock.tui.commands.learn import learn
from cartclock.tui.commands.now import now
from cartclock.tui.commands.papers import COMMANDS, SHORT, mind_form, paper_command, put_out
from cartclock.tui.commands.start import has_terminal, open_screens

WORK_OUT = "work-out"
OUTLOOK, ESTIMATE = "outlook", "estimate"


class Commands(click.Group):
    """The group; figures, outlook and estimate, which need much, are imported when asked for, and
    the papers' short commands are made then.
    """

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Every name, sorted."""
        return sorted([*super().list_commands(ctx), WORK_OUT, OUTLOOK, ESTIMATE])

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of a name; None if there is none."""
        if cmd_name == OUTLOOK:
            from cartclock.tui.commands.outlook import outlook

            return outlook
        if cmd_name == ESTIMATE:
            from cartclock.tui.commands.estimate import estimate

            return estimate
        if cmd_name != WORK_OUT:
            found = super().get_command(ctx, cmd_name) or SHORT.get(cmd_name)
            return found or paper_command(cmd_name, short=True)
        from cartclock.tui.commands.work_out import work_out

        return work_out


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
        open_screens(mouse)


@commands.command()
@click.argument("name", default="dry_heat_estate")
@click.option(
    "--speed",
    type=click.FloatRange(1, 100_000),
    default=600,
    show_default=True,
    help="How many times faster than the clock.",
)
@click.option("--plain", is_flag=True, help="Print the record, without the screens.")
@click.option(
    "--paper",
    type=click.Choice(list(PAPERS)),
    help="Give one paper of the session instead, as it is at its end.",
)
@click.option("--form", default="text", show_default=True, help="The form of that paper.")
@click.option(
    "--of", "handle", default="", help="Its job's number, or its day; the last one if left out."
)
@click.option("--out", type=click.Path(path_type=Path), help="File to write it to.")
@plainly
def demo(
    name: str,
    speed: float,
    plain: bool,
    paper: str | None,
    form: str,
    handle: str,
    out: Path | None,
) -> None:
    """Play a demo session on a scratch log and end on its record, or on one of its papers."""
    from cartclock.demo_sessions import session

    if paper is not None:
        mind_form(paper, form, "" if out is not None else "--out FILE")
        put_out(session.paper(name, paper, form, handle), form, out)
        return
    if plain or not has_terminal():
        click.echo(session.play(name).record, nl=False)
        return
    sys.exit(session.show(name, speed))


@commands.command()
@click.option("--from", "start", required=True, help="Name of a starter plan.")
@click.option("--body", help="Body shape: hatchback, saloon, estate, coupe, SUV, pickup, van.")
@click.option("--out", type=click.Path(path_type=Path), help="File to write; stdout if left out.")
@plainly
def new(start: str, body: str | None, out: Path | None) -> None:
    """Write a plan file from a starter, to be made your own."""
    from cartclock.engine.store.plan_file.reader import starter, with_body
    from cartclock.engine.store.plan_file.text import write_text

    text = starter(start)
    if body is not None:
        text = with_body(text, body)
    if out is None:
        click.echo(text, nl=False)
        return
    write_text(out, text)
    click.echo(f"Written to {out}. Then: cartclock check {out}", err=True)


@commands.command()
@click.argument("plan", type=click.Path(path_type=Path))
@plainly
def check(plan: Path) -> None:
    """Say what is wrong with a plan file, and which durations are still examples."""
    from cartclock.engine.products.reminders import plan_remarks
    from cartclock.engine.store.plan_file.reader import examples, read_plan
    from cartclock.engine.store.plan_file.text import read_text

    found = read_plan(read_text(plan), plan.name)
    sections = sum(len(stage.sections) for stage in found.stages)
    click.echo(f"{plan.name}: {len(found.stages)} stages, {sections} sections, no fault.")
    for sentence in (*examples(found), *plan_remarks(found)):
        click.echo(sentence)


@commands.command("test-alarm")
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
            click.echo(line)
    finally:
        voice.close()


for command in (*COMMANDS, *KEEPING, *PAST, learn, now):
    commands.add_command(command)
