"""`cartclock export` and `cartclock import`: a job carried from one laptop to another."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cartclock.tui.commands.door import opened_bench, plainly, reading_bench, say, settled
from cartclock.tui.commands.progress import progress

if TYPE_CHECKING:
    from cartclock.engine.desk.exchange import Exported, Imported
    from cartclock.engine.store.log import JobSummary

# So much of an id is said; of chance two jobs never begin alike so far.
_SAID = 8


@click.command("export")
@click.argument("job")
@click.option(
    "--out", type=click.Path(path_type=Path), help="File to write; never one that is there."
)
@click.option("--private", is_flag=True, help="With name, plate, phone, notes and reasons.")
@plainly
def export(job: str, out: Path | None, private: bool) -> None:
    """Write a job, with all its record is made of, for another laptop to import.

    Files attached to it go by their digests alone; signs of being unwell never go.
    """
    from cartclock.engine.desk.exchange import export_job
    from cartclock.engine.desk.shop import Shop

    settings = settled()
    bench = reading_bench(settings)
    try:
        shop = Shop(bench.log, settings.rest_place, settings.closed, bench.library)
        with progress() as told:
            made = export_job(shop, job, bench.now_us, private, told)
    finally:
        bench.close()
    if out is None:
        click.echo(made.content, nl=False)
    else:
        from cartclock.engine.store.laptop.paper_file import place_beside

        place_beside(out, made.content)
    for sentence in _exported(made, private):
        say(sentence, err=True)
    if out is not None:
        say(f"Written to {out}.", err=True)


def _exported(made: Exported, private: bool) -> list[str]:
    texts = "no private text; --private puts them in"
    if private:
        texts = _count(made.texts, "private text")
    said = [f"{_named(made.job)}: {_count(made.rows, 'row')}, {texts}."]
    if made.beside:
        said.append(f"Worked in the same shifts, and named in it: {', '.join(made.beside)}.")
    if made.attached:
        said.append(f"{_count(made.attached, 'attached file')} named by digest, not in it.")
    return said


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@plainly
def import_(file: Path) -> None:
    """Take in a job that cartclock export wrote on another laptop.

    It is found, shown and printed here as a copy; it is worked on where it was begun, and nothing
    of it counts among the hours and the stock of this laptop.
    """
    from cartclock.engine.desk.exchange import import_job
    from cartclock.engine.store.exchange.job_file import content_of

    content = content_of(file)
    settings = settled()
    bench = opened_bench(settings)
    try:
        with progress() as told:
            bench.wake()
            done = import_job(bench, content, told)
    finally:
        bench.close()
    say(_imported(done, settings.zone))


def _imported(done: Imported, zone: str) -> str:
    from cartclock.engine.dates import spoken

    named = _named(done.job)
    if done.own:
        return f"{named}, was begun on this laptop; all of the file is in its log already."
    handle = done.job.job[:_SAID]
    if done.older:
        return f"{named}, is here as of later than the file; nothing was written. It is {handle}."
    if not done.written:
        return f"{named}, is here already; nothing was written. It is {handle}."
    texts = f" and {_count(done.texts, 'private text')}" if done.texts else ""
    then = spoken(done.job.last_us, zone)
    return (
        f"{named}: {_count(done.rows, 'row')}{texts} imported, as of {then}. It is {handle}: "
        f"cartclock paper record {handle} shows it."
    )


def _named(job: JobSummary) -> str:
    return f"Job {job.number}, {job.vehicle}"


def _count(many: int, what: str) -> str:
    return f"{many} {what}" if many == 1 else f"{many} {what}s"
