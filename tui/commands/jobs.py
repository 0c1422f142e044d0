"""`cartclock jobs`: the numbers by which other commands are told a job."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from cartclock.tui.commands.door import REFUSED, leave, plainly, reading_bench, say, settled

if TYPE_CHECKING:
    from cartclock.engine.store.log import JobSummary

# So many closed jobs are listed unless words are given.
_MOST = 10


@click.command()
@click.argument("words", nargs=-1)
@click.option("--json", "as_json", is_flag=True, help="For a program that reads it.")
@plainly
def jobs(words: tuple[str, ...], as_json: bool) -> None:
    """List the open jobs and the newest closed ones, or those in whose vehicle all WORDS stand;
    the number is what other commands take as JOB. cartclock history looks at all that was said.
    """
    from cartclock.engine.alphabet import unaccented
    from cartclock.engine.desk.shop import Shop

    known = settled()
    bench = reading_bench(known)
    try:
        shop = Shop(bench.log)
        found, others = shop.jobs(), shop.imported()
    finally:
        bench.close()
    wanted = [unaccented(word) for word in words]
    if wanted:
        found, others = (
            [job for job in some if all(word in unaccented(job.vehicle) for word in wanted)]
            for some in (found, others)
        )
    else:
        closed = [job for job in found if job.closed_us is not None]
        left_off = {job.job for job in closed[:-_MOST]}
        found = [job for job in found if job.job not in left_off]
    if as_json:
        told = [_data(job, known.zone, "here") for job in found]
        told += [_data(job, known.zone, "imported") for job in others]
        click.echo(json.dumps(told))
    elif found or others:
        head = ["Imported, of other carts:"] if others else []
        for line in (*_lines(found, known.zone), *head, *_lines(others, known.zone)):
            say(line)
    elif wanted:
        leave(REFUSED, "No vehicle is called so; cartclock history WORDS looks at all else.")
    else:
        leave(REFUSED, "There is no job yet: + on Today opens one.")


def _state(job: JobSummary) -> str:
    return "open" if job.closed_us is None else "closed"


def _lines(found: Sequence[JobSummary], zone: str) -> list[str]:
    from cartclock.engine.dates import day_of, spoken_day

    wide = max((len(str(job.number)) for job in found), default=0)
    return [
        f"{job.number:>{wide}}  {_state(job):<6}  {spoken_day(day_of(job.opened_us, zone)):<15}  "
        f"{job.vehicle}"
        for job in found
    ]


def _data(job: JobSummary, zone: str, whose: str) -> dict[str, object]:
    from cartclock.engine.dates import day_of

    return {
        "number": job.number,
        "id": job.job,
        "vehicle": job.vehicle,
        "state": _state(job),
        "of": whose,
        "opened": day_of(job.opened_us, zone).isoformat(),
    }
