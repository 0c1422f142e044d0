"""`cartclock history` and `cartclock rebuild-history`: how it went before."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

import click

from cartclock.tui.commands.door import (
    BAD_INPUT,
    REFUSED,
    leave,
    plainly,
    reading_bench,
    say,
    settled,
)
from cartclock.tui.commands.finishing import of_body
from cartclock.tui.commands.given import mind_day, mind_letters
from cartclock.tui.commands.progress import progress

if TYPE_CHECKING:
    from collections.abc import Sequence

    from cartclock.engine.history.answers import PastJob, Sought
    from cartclock.engine.store.library import Library

# So long are parts made between two words of how far it is.
_SLICE_S = 0.25
# So many jobs are shown unless more are asked for.
_MOST = 20
# More than any log has.
_ALL = 1_000_000
# Columns of a row at most; what its figures take with number, day and blanks; what vehicle and plan
# take at least together; what number, day and hands take, and the vehicle at least.
_WIDEST, _FIGURES_WIDE, _NAMES_LEAST, _SHORT_WIDE, _VEHICLE_LEAST = 108, 62, 18, 26, 8
# Columns of hands, planned, price, the work that an hour of it is reckoned on, and money an hour.
_FIGURES = (7, 8, 9, 9, 8)
_BETWEEN = "  "


@click.command()
@click.argument("words", nargs=-1)
@click.option("--plan", default="", help="Only jobs by the plan of this name.")
@of_body(default="", help="Only on this body.")
@click.option("--state", type=click.Choice(["open", "closed"]), help="Only open or closed ones.")
@click.option("--worker", default="", help="Only those that this worker had in hand.")
@click.option("--from", "from_day", default="", help="Opened on this day or later: 2026-10-24.")
@click.option("--to", "to_day", default="", help="Opened on this day or before.")
@click.option(
    "--most", type=click.IntRange(1, _ALL), default=_MOST, show_default=True, help="So many."
)
@click.option("--csv", "table", help="A whole table as CSV instead; ? names them.")
@click.option("--json", "as_json", is_flag=True, help="For a program that reads it.")
@plainly
def history(
    words: tuple[str, ...],
    plan: str,
    body: str,
    state: str | None,
    worker: str,
    from_day: str,
    to_day: str,
    most: int,
    table: str | None,
    as_json: bool,
) -> None:
    """Say how earlier jobs went, the newest first: those of which all WORDS are said, of vehicle,
    plate, plan, product, lot, name or note, or a panel with damage or a mishap noted; a day, a
    month (2026-09, sep 2026) says when.
    """
    if table is not None and (as_json or words):
        leave(BAD_INPUT, "--csv gives a whole table; leave out the words and --json.")
    for day in (from_day, to_day):
        mind_day(day)
    mind_letters(*words, plan, body, worker)
    sought = _sought(" ".join(words), plan, body, state or "", worker, from_day, to_day)
    bench = reading_bench(settled())
    try:
        made(bench.library)
        if table is not None:
            _csv(bench.library, table)
            return
        from cartclock.engine.desk.past import Past

        past = Past(bench.library)
        found = past.jobs(sought, most)
        if as_json:
            click.echo(_json(found))
        elif found:
            say("\n".join(_lines(found, _wide())))
        elif not past.count():
            # Nothing was looked for in vain where there is nothing.
            from cartclock.tui.pages.history import NO_JOB

            say(NO_JOB)
        else:
            leave(REFUSED, "No job is like that; cartclock history without words shows the newest.")
    finally:
        bench.close()


def _sought(
    words: str, plan: str, body: str, state: Any, worker: str, from_day: str, to_day: str
) -> Sought:
    from cartclock.engine.history.answers import Sought
    from cartclock.engine.history.typed import sought_by

    if from_day or to_day:
        return Sought(words, plan, body, state, worker, from_day, to_day)
    # Days among the words are read as on the screen.
    return sought_by(words, Sought("", plan, body, state, worker))


def made(library: Library) -> None:
    """Makes what is still to be made, and says how far it is if that takes more than a second."""
    whole = library.left()
    with progress() as told:
        while left := library.left():
            told("Reading the log", 1 - left / whole)
            if library.slice(_SLICE_S) >= left:
                leave(REFUSED, "Another program holds what is known of the log; try again.")


def _json(found: Sequence[PastJob]) -> str:
    import msgspec

    told = [
        {**msgspec.to_builtins(one), "own_us": one.own_us, "money_an_hour": one.money_an_hour}
        for one in found
    ]
    return msgspec.json.format(msgspec.json.encode(told), indent=2).decode()


def _csv(library: Library, table: str) -> None:
    import csv

    from cartclock.engine.store.export import TABLES, table_rows

    if table not in TABLES:
        leave(BAD_INPUT, f"--csv takes one of these tables: {', '.join(TABLES)}.")
    writer = None
    for row in table_rows(library, table):
        if writer is None:
            writer = csv.DictWriter(sys.stdout, list(row), lineterminator="\r\n")
            writer.writeheader()
        writer.writerow(row)


def _wide() -> int:
    """Columns of the terminal; what a file or a pipe takes has no end."""
    import shutil

    return shutil.get_terminal_size().columns if sys.stdout.isatty() else _WIDEST


def _lines(found: Sequence[PastJob], wide: int) -> list[str]:
    """A row a job. wide: columns; where they are few, the plan is left out, and then all figures
    but the hands.

    Money an hour is of all work on the job, not of the hands alone: both stand there.
    """
    from cartclock.engine.letters import cropped, padded

    room = min(wide, _WIDEST) - _FIGURES_WIDE
    alone = room + len(_BETWEEN)
    short = alone < _VEHICLE_LEAST
    if short:
        named: tuple[int, ...] = (max(_VEHICLE_LEAST, wide - _SHORT_WIDE),)
    else:
        named = (alone,) if room < _NAMES_LEAST else (room // 2, room - room // 2)
    widths = (5, 10, *named)

    def row(names: Sequence[str], figures: Sequence[str]) -> str:
        told = zip(names, widths, strict=False)
        said = [padded(cropped(name, width), width) for name, width in told]
        shown = zip(figures, _FIGURES[: 1 if short else None], strict=False)
        return _BETWEEN.join(said) + "".join(f"{figure:>{width}}" for figure, width in shown)

    head = row(
        ("  job", "day", "vehicle", "plan"), ("hands", "planned", "price", "all work", "an hour")
    )
    return [head, *(row(*_told(one)) for one in found)]


def _told(one: PastJob) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Names and figures of a job."""
    from cartclock.engine.dates import hour_minutes
    from cartclock.engine.facts.section import SECOND_US
    from cartclock.engine.history.answers import job_handle

    line, money, an_hour = one.line, one.line.money, one.money_an_hour

    def clock(length_us: int) -> str:
        return hour_minutes(length_us / SECOND_US) if length_us else ""

    names = (f"{job_handle(one.job, line):>5}", line.day, line.vehicle, line.plan)
    price = "" if money is None else f"{money / 100:.2f}"
    taken = "open" if line.state == "open" else "" if an_hour is None else f"{an_hour:.2f}"
    hours = (clock(line.hands_us), clock(line.planned_us))
    return names, (*hours, price, clock(one.own_us), taken)


@click.command("rebuild-history")
@plainly
def rebuild_history() -> None:
    """Throw away what is known of all jobs together and make it anew; the log is only read."""
    bench = reading_bench(settled())
    try:
        library = bench.library
        if library.history.in_memory:
            leave(REFUSED, f"{library.history.path} cannot be written to; nothing was changed.")
        if not library.begin_anew():
            leave(REFUSED, "Another program holds what is known of the log; try again.")
        parts = library.left()
        made(library)
        click.echo(f"{parts} jobs, shifts and products read anew.")
    finally:
        bench.close()
