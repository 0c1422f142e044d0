"""Commands that write a plan file and look one over."""

from __future__ import annotations

from pathlib import Path

import click

from cartclock.tui.commands.door import plainly


@click.command()
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


@click.command()
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
