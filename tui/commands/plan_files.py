"""Commands that write a plan file and look one over."""

from __future__ import annotations

from pathlib import Path

import click

from cartclock.tui.commands.door import BAD_INPUT, leave, plainly, say
from cartclock.tui.commands.finishing import of_body, of_starter


@click.command()
@of_starter("--from", "start", required=True, help="Name of a starter plan.")
@of_body(help="Body shape.")
@click.option("--out", type=click.Path(path_type=Path), help="File to write; stdout if left out.")
@click.option("--keep", is_flag=True, help="Into the folder of plans that + on Today lists.")
@plainly
def new(start: str, body: str | None, out: Path | None, keep: bool) -> None:
    """Write a plan file from a starter, to be made your own."""
    from cartclock.engine.store.laptop.places import log_path, plans_folder
    from cartclock.engine.store.plan_file.reader import starter, with_body
    from cartclock.engine.store.plan_file.text import write_text

    if keep and out is not None:
        leave(BAD_INPUT, "--out and --keep are two places; give one of them.")
    text = starter(start)
    if body is not None:
        text = with_body(text, body)
    if keep:
        named = start if body is None else f"{start}_{body.lower()}"
        folder = plans_folder(log_path())
        folder.mkdir(parents=True, exist_ok=True)
        out = folder / f"{named}.toml"
    if out is None:
        click.echo(text, nl=False)
        return
    write_text(out, text)
    say(f"Written to {out}. Then: cartclock check {out}", err=True)


@click.command()
@click.argument("plan", type=click.Path(path_type=Path))
@plainly
def check(plan: Path) -> None:
    """Say what is wrong with a plan file, which durations are still examples, and which sections
    are on no panel."""
    from cartclock.engine.products.reminders import plan_remarks
    from cartclock.engine.store.plan_file.reader import examples, read_plan
    from cartclock.engine.store.plan_file.text import read_text
    from cartclock.engine.vehicle.covered import placing_remarks

    found = read_plan(read_text(plan), plan.name)
    sections = sum(len(stage.sections) for stage in found.stages)
    say(f"{plan.name}: {len(found.stages)} stages, {sections} sections, no fault.")
    for sentence in (*examples(found), *placing_remarks(found), *plan_remarks(found)):
        say(sentence)
