"""Commands that take papers out of the laptop, and one that takes files in.

stdout is the paper itself; what is said about it goes to stderr. A paper on stdout or in
`--out` is a copy; `--folder` and `print` issue it, with its revision in the log.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from engine.trouble import Refused
from tui.door import BAD_INPUT, REFUSED, existing_bench, leave, plainly, settled

if TYPE_CHECKING:
    from engine.outlet import Outlet

# Forms that are no text; a terminal would take their bytes for commands.
BINARY = frozenset({"pdf"})


@contextmanager
def _outlet(writes: bool = False) -> Iterator[Outlet]:
    """The papers of the log that is there; one that writes looks first for time not run."""
    from engine.outlet import Outlet
    from engine.shop import Shop

    settings = settled()
    bench = existing_bench(settings)
    try:
        if writes:
            bench.wake()
        shop = Shop(bench.log, settings.rest_place, settings.closed, bench.library)
        yield Outlet(bench, shop, settings, bench.log.path.parent / "papers")
    finally:
        bench.close()


def _ways(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options of every command that gives one paper."""
    for option in (
        click.option("--folder", is_flag=True, help="Issue it: into the job's folder."),
        click.option(
            "--out", type=click.Path(path_type=Path), help="File to write; never one that is there."
        ),
        click.option("--json", "as_json", is_flag=True, help="Short for --form json."),
        click.option("--form", help="text, html, json, csv or pdf, where there is one."),
    ):
        command = option(command)
    return command


def _give(
    document: str,
    handle: str | None,
    form: str | None,
    as_json: bool,
    out: Path | None,
    folder: bool,
) -> None:
    """Gives one paper the way that was asked for; `handle` None: the date of today."""
    from engine.outlet import forms

    if as_json and form not in (None, "json"):
        leave(BAD_INPUT, f"--json and --form {form} are two forms; give one of them.")
    if out is not None and folder:
        leave(BAD_INPUT, "--out and --folder are two places; give one of them.")
    wanted = "json" if as_json else form or "text"
    there = forms(document)
    if wanted not in there:
        leave(BAD_INPUT, f"There is no form {wanted!r} of {document}; there is {', '.join(there)}.")
    # Before anything is made: what cannot be shown need not be reckoned.
    if wanted in BINARY and out is None and not folder and sys.stdout.isatty():
        raise Refused(
            f"A {wanted} is no text for a terminal; write it with --out FILE or --folder, "
            "or send it on with |."
        )
    with _outlet(writes=folder) as outlet:
        asked = _today(outlet) if handle is None else handle
        if folder:
            issued = outlet.issue(document, asked, wanted)
            click.echo(str(issued), err=True)
            click.echo(issued.path)
            return
        content = outlet.copy(document, asked, wanted)
    if out is not None:
        _write(out, content)
    else:
        # A text goes out as the terminal writes letters, everything else byte by byte.
        click.echo(content.decode() if wanted == "text" else content, nl=False)


def _today(outlet: Outlet) -> str:
    from engine.job.dates import local

    return local(outlet.bench.now_us, outlet.settings.zone).date().isoformat()


def _write(out: Path, content: bytes) -> None:
    from engine.store.paper_file import place_beside

    place_beside(out, content)
    click.echo(f"Written to {out}.", err=True)


@click.command()
@click.argument("job")
@_ways
@plainly
def record(job: str, **ways: Any) -> None:
    """Print the record of a job, by its number."""
    _give("record", job, **ways)


@click.command()
@click.argument("date", required=False)
@_ways
@plainly
def day(date: str | None, **ways: Any) -> None:
    """Print the summary of a day (YYYY-MM-DD; today if left out)."""
    _give("day", date or None, **ways)


@click.command()
@click.argument("job")
@_ways
@plainly
def sheet(job: str, **ways: Any) -> None:
    """Print the customer's sheet of a job: what was done, and what to mind until when."""
    _give("sheet", job, **ways)


@click.command()
@click.argument("job")
@_ways
@plainly
def arrival(job: str, **ways: Any) -> None:
    """Print the arrival sheet of a job: how the vehicle came, and what was agreed."""
    _give("arrival", job, **ways)


@click.command()
@click.argument("job")
@click.option("--ics", is_flag=True, help="The dates as a calendar file.")
@click.option("--message", is_flag=True, help="A short message to the customer.")
@click.option("--windscreen", is_flag=True, help="A card for the windscreen.")
@_ways
@plainly
def aftercare(
    job: str, ics: bool, message: bool, windscreen: bool, form: str | None, **ways: Any
) -> None:
    """Print the dates of a job's aftercare."""
    if ics + message + windscreen + (form is not None or ways["as_json"]) > 1:
        leave(BAD_INPUT, "--ics, --message, --windscreen and --form: give one of them.")
    document = "message" if message else "windscreen" if windscreen else "aftercare"
    _give(document, job, form="ics" if ics else form, **ways)


@click.command("print")
@click.argument("job")
@click.option(
    "--what",
    type=click.Choice(["sheet", "record", "arrival", "day"]),
    default="sheet",
    show_default=True,
    help="Which paper; for day give a date instead of a job.",
)
@plainly
def print_(job: str, what: str) -> None:
    """Issue a paper of a job and send it to the printer; the file is kept."""
    import asyncio

    with _outlet(writes=True) as outlet:
        click.echo(asyncio.run(outlet.print(what, job)), err=True)


@click.command()
@click.argument("job")
@click.argument("files", nargs=-1, required=True)
@click.option(
    "--kind",
    type=click.Choice(["photo", "file"]),
    help="What they are; by their names if left out.",
)
@click.option("--section", default="", help="The section that they show.")
@plainly
def attach(job: str, files: tuple[str, ...], kind: str | None, section: str) -> None:
    """Add photos or other files to a job, by their digests; they stay where they are."""
    from engine.job import events as ev
    from engine.job.arrival import note_vehicle
    from engine.job.choices import named_section

    bad = False
    with _outlet(writes=True) as outlet:
        bench = outlet.bench
        found = outlet.job(job)
        named_section(found, section)
        for file in files:
            try:
                one = outlet.shop.attachment(file)
                event = ev.FileAttached(one.sha256, bench.seal(one.path), kind or one.what, section)
                bench.do(note_vehicle, found.id, event)
            except Refused as why:
                bad = True
                click.echo(str(why), err=True)
            else:
                click.echo(f"{one.sha256}  {one.path}")
    if bad:
        sys.exit(REFUSED)


COMMANDS = (record, day, sheet, arrival, aftercare, print_, attach)
