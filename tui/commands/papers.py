"""Commands that take papers out of the laptop, and one that takes files in.

stdout is the paper itself; what is said about it goes to stderr. A paper on stdout or in
`--out` is a copy; `--folder` and `print` issue it, with its revision in the log.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from shutil import get_terminal_size
from typing import TYPE_CHECKING, Any

import click

from cartclock.engine.paper.page.columns import LEAST_WIDTH, WIDTH, width_in
from cartclock.engine.paper.papers import BINARY, PAPERS, Paper
from cartclock.engine.trouble import Refused
from cartclock.engine.vehicle.vehicle import SHOWS
from cartclock.tui.commands.door import (
    BAD_INPUT,
    REFUSED,
    existing_bench,
    leave,
    plainly,
    say,
    settled,
)
from cartclock.tui.commands.finishing import a_day, a_job

if TYPE_CHECKING:
    from cartclock.engine.desk.copies import Copies
    from cartclock.engine.desk.outlet import Outlet

OF_WIDTH: Mapping[str, Any] = {
    "type": click.IntRange(LEAST_WIDTH, WIDTH),
    "help": f"Letters in a line of text: {WIDTH}, or as many as a narrower terminal has.",
}
"""What `--width` takes, of each command that gives a paper."""

EXAMPLES = "Issue it although times of the job are examples, from no label."


@contextmanager
def _copies() -> Iterator[Copies]:
    """The papers of the log that is there, only to be looked at."""
    from cartclock.engine.desk.copies import copies_of
    from cartclock.engine.store.clock import SystemClock
    from cartclock.engine.store.laptop.places import existing_log
    from cartclock.engine.store.log import Log

    settings = settled()
    with Log.open_to_read(existing_log()) as log:
        yield copies_of(log, SystemClock(), settings)


@contextmanager
def _outlet() -> Iterator[Outlet]:
    """The papers of the log that is there, to be issued; looks first for time not run."""
    from cartclock.engine.desk.copies import FOLDER
    from cartclock.engine.desk.outlet import Outlet
    from cartclock.engine.desk.shop import Shop

    settings = settled()
    bench = existing_bench(settings)
    try:
        bench.wake()
        shop = Shop(bench.log, settings.rest_place, settings.closed, bench.library)
        yield Outlet(bench, shop, settings, bench.log.path.parent / FOLDER)
    finally:
        bench.close()


def _mind_examples(outlet: Outlet, document: str, handle: str, meant: bool) -> None:
    """Refuses to issue a paper of a job whose times come from no label, unless that is meant."""
    if meant or PAPERS[document].of == "day":
        return
    if outlet.shop.examples(handle, outlet.now()):
        leave(
            REFUSED,
            "Times of this job are examples, from no label; nothing was issued. "
            "--examples issues it all the same.",
        )


def _give(
    document: str,
    handle: str,
    form: str | None,
    as_json: bool,
    out: Path | None,
    folder: bool,
    examples: bool,
    width: int | None,
) -> None:
    """Gives one paper the way that was asked for; `handle` as for `Copies.copy`."""
    if as_json and form not in (None, "json"):
        leave(BAD_INPUT, f"--json and --form {form} are two forms; give one of them.")
    if out is not None and folder:
        leave(BAD_INPUT, "--out and --folder are two places; give one of them.")
    if folder and width is not None:
        leave(BAD_INPUT, "--width is of a copy; what is issued has 80 letters in a line.")
    wanted = "json" if as_json else form or "text"
    mind_form(document, wanted, "" if out is not None or folder else "--out FILE or --folder")
    if folder:
        with _outlet() as outlet:
            _mind_examples(outlet, document, handle, examples)
            issued = outlet.issue(document, handle, wanted)
        say(str(issued), err=True)
        click.echo(issued.path)
        return
    cells = mind_width(wanted, width, out is not None)
    with _copies() as copies:
        content = copies.copy(document, handle, wanted, cells)
    put_out(content, wanted, out)


def mind_form(document: str, form: str, places: str) -> None:
    """Leaves with what there is instead if the paper has no such form; no terminal takes some.

    places: the flags by which it goes elsewhere than to stdout; "" if one of them was given.
    """
    from cartclock.engine.desk.copies import forms

    there = forms(document)
    if form not in there:
        leave(BAD_INPUT, f"There is no form {form!r} of {document}; there is {', '.join(there)}.")
    # Before anything is made: what cannot be shown need not be reckoned.
    if form in BINARY and places and sys.stdout.isatty():
        raise Refused(
            f"A {form} is no text for a terminal; write it with {places}, or send it on with |."
        )


def mind_width(form: str, width: int | None, kept: bool) -> int:
    """Cells of a line of text: as asked for, else as many as a narrow terminal has, else `WIDTH`.
    Leaves if something is asked of a form that has no lines of text.

    kept: True if it goes into a file.
    """
    if width is not None and form != "text":
        leave(BAD_INPUT, f"--width is of text; the form {form} has no lines of a width.")
    if width is not None:
        return width
    if kept or not sys.stdout.isatty():
        return WIDTH
    return width_in(get_terminal_size().columns)


def put_out(content: bytes, form: str, out: Path | None) -> None:
    """Writes a paper to a file that is not there yet, or to stdout if none is named."""
    if out is not None:
        _write(out, content)
    else:
        # A text goes out as the terminal writes letters, everything else byte by byte.
        click.echo(content.decode() if form == "text" else content, nl=False)


def _write(out: Path, content: bytes) -> None:
    from cartclock.engine.store.laptop.paper_file import place_beside

    place_beside(out, content)
    say(f"Written to {out}.", err=True)


def _command(name: str, paper: Paper, short: bool = False) -> click.Command:
    """The command that gives a paper, and by its flags those that are under it; `short`: without
    `paper` in front of it.
    """
    under = [other for other, row in PAPERS.items() if row.under == name]
    flags = dict(paper.flags)
    for other in under:
        said = PAPERS[other].said
        flags[other] = f"{said[:1].upper()}{said[1:]}."

    @plainly
    def give(handle: str | None, form: str | None, **asked: Any) -> None:
        chosen = [flag for flag in flags if asked.pop(flag)]
        if len(chosen) > 1:
            leave(BAD_INPUT, f"{', '.join(f'--{flag}' for flag in flags)}: give one of them.")
        # A paper under this one has forms of its own; a flag that is a form is one already.
        if (form or asked["as_json"]) and chosen and chosen[0] in paper.flags:
            leave(BAD_INPUT, f"--{chosen[0]} and --form are two forms; give one of them.")
        document = next((flag for flag in chosen if flag in under), name)
        wanted = next((flag for flag in chosen if flag in paper.flags), form)
        _give(document, handle or "", wanted, **asked)

    return click.Command(
        name,
        callback=give,
        help=paper.help,
        hidden=short,
        params=[
            # A day may be left out; a job has to be named.
            click.Argument(["handle"], metavar="[DATE]", required=False, shell_complete=a_day)
            if paper.of == "day"
            else click.Argument(["handle"], metavar="JOB", shell_complete=a_job),
            *(click.Option([f"--{flag}"], is_flag=True, help=said) for flag, said in flags.items()),
            click.Option(["--form"], help=f"One of {', '.join(paper.forms)}."),
            click.Option(["--json", "as_json"], is_flag=True, help="Short for --form json."),
            click.Option(
                ["--out"],
                type=click.Path(path_type=Path),
                help="File to write; never one that is there.",
            ),
            click.Option(["--width"], **OF_WIDTH),
            click.Option(["--folder"], is_flag=True, help="Issue it: into the job's folder."),
            click.Option(["--examples"], is_flag=True, help=EXAMPLES),
        ],
    )


@click.command("print")
@click.argument("job", shell_complete=a_job)
@click.option(
    "--what",
    type=click.Choice([name for name, paper in PAPERS.items() if paper.hot]),
    default="sheet",
    show_default=True,
    help="Which paper; for day give a date instead of a job.",
)
@click.option("--examples", is_flag=True, help=EXAMPLES)
@plainly
def print_(job: str, what: str, examples: bool) -> None:
    """Issue a paper of a job and send it to the printer; the file is kept."""
    import asyncio

    with _outlet() as outlet:
        _mind_examples(outlet, what, job, examples)
        say(asyncio.run(outlet.print(what, job)), err=True)


@click.command()
@click.argument("job", shell_complete=a_job)
@click.argument("files", nargs=-1, required=True)
@click.option(
    "--kind",
    type=click.Choice(["photo", "file"]),
    help="What they are; by their names if left out.",
)
@click.option("--section", default="", help="The section that they show.")
@click.option(
    "--shows", type=click.Choice(SHOWS), default=None, help="What the photos were taken for."
)
@plainly
def attach(
    job: str, files: tuple[str, ...], kind: str | None, section: str, shows: str | None
) -> None:
    """Add photos or other files to a job, by their digests; they stay where they are."""
    from cartclock.engine.facts import events as ev
    from cartclock.engine.rules.arrival import note_vehicle
    from cartclock.engine.rules.choices import named_section

    bad = False
    with _outlet() as outlet:
        bench = outlet.bench
        found = outlet.job(job)
        named_section(found, section)
        for file in files:
            try:
                one = outlet.shop.attachment(file)
                path, what = bench.seal(one.path), kind or one.what
                event = ev.FileAttached(one.sha256, path, what, section, shows or "")
                bench.do(note_vehicle, found.id, event)
            except Refused as why:
                bad = True
                say(str(why), err=True)
            else:
                click.echo(f"{one.sha256}  {one.path}")
    if bad:
        sys.exit(REFUSED)


class Papers(click.Group):
    """The group of the papers; the command of one is made when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Every name, sorted."""
        return sorted([*super().list_commands(ctx), *(p for p in PAPERS if not PAPERS[p].under)])

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of a name; None if there is none."""
        return paper_command(cmd_name) or super().get_command(ctx, cmd_name)


def paper_command(name: str, short: bool = False) -> click.Command | None:
    """The command that gives a paper; None for a name that has none.

    short: without `paper` in front.
    """
    paper = PAPERS.get(name)
    return None if paper is None or paper.under else _command(name, paper, short)


def short_command(name: str) -> click.Command | None:
    """The command of the group of papers that works without `paper` in front, too; None for
    another name.
    """
    return print_ if name == "print" else paper_command(name, short=True)


@click.group("paper", cls=Papers)
def papers() -> None:
    """The papers of a job or a day."""


papers.add_command(print_)
