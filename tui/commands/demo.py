"""`cartclock demo`: a session that plays itself."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from cartclock.engine.paper.papers import PAPERS
from cartclock.tui.commands.door import plainly
from cartclock.tui.commands.finishing import of_session
from cartclock.tui.commands.papers import OF_WIDTH, mind_form, mind_width, put_out
from cartclock.tui.commands.start import DEMO, has_terminal


@click.command()
@of_session("name", default=DEMO)
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
@click.option("--width", **OF_WIDTH)
@plainly
def demo(
    name: str,
    speed: float,
    plain: bool,
    paper: str | None,
    form: str,
    handle: str,
    out: Path | None,
    width: int | None,
) -> None:
    """Play a demo session on a scratch log and end on its record, or on one of its papers.

    A caption says what happens; ? shows the keys that hold it, hurry it on, take over and leave.
    """
    from cartclock.demo_sessions import session

    if paper is not None:
        mind_form(paper, form, "" if out is not None else "--out FILE")
        cells = mind_width(form, width, out is not None)
        put_out(session.paper(name, paper, form, handle, cells), form, out)
        return
    if plain or not has_terminal():
        click.echo(session.play(name).record, nl=False)
        return
    sys.exit(session.show(name, speed))
