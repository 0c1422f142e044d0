"""`cartclock today`: what Today shows, as lines or for a program."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

import click

from cartclock.tui.commands.door import plainly, reading_bench, settled
from cartclock.tui.commands.given import answering, for_programs

if TYPE_CHECKING:
    from cartclock.engine.desk.bench import Bench
    from cartclock.engine.facts.job import Job
    from cartclock.engine.now.moment import Moment
    from cartclock.engine.store.settings import Settings
    from cartclock.tui.face.page import Page


@click.command()
@for_programs
@plainly
@answering
def today() -> tuple[Sequence[str], Mapping[str, object]]:
    """Say what Today shows: jobs, what is left of each, when it is ready, and longer windows."""
    settings = settled()
    bench = reading_bench(settings)
    try:
        return _today(bench, settings)
    finally:
        bench.close()


def _today(bench: Bench, settings: Settings) -> tuple[Sequence[str], Mapping[str, object]]:
    from msgspec import to_builtins

    from cartclock.engine.ahead.handover import handover_notices
    from cartclock.engine.dates import local
    from cartclock.engine.desk.shop import Shop
    from cartclock.engine.now.helper import second_hands
    from cartclock.engine.times import Length
    from cartclock.tui.pages.today import today_page
    from cartclock.tui.told.long_windows import load_readings, long_windows
    from cartclock.tui.told.shop_side import ShopSide

    shop = Shop(bench.log, settings.rest_place, settings.closed, bench.library)
    load_readings(bench)
    helper = second_hands(settings.helper, bench.shifts.values(), bench.worker)
    now = bench.moment(helper, shop.rest_place, meal=settings.meal, closed=settings.closed)
    jobs = sorted(bench.jobs.values(), key=lambda j: (j.state != "open", j.opened.number))
    windows = long_windows(bench, now.now_us)
    notices = handover_notices(bench.jobs, now.ahead, now.now_us)
    side = ShopSide(bench.log, settings.zone)
    page = today_page(
        jobs=jobs,
        shifts=[one.on for one in (now.me, now.helper) if one is not None and one.on is not None],
        now_us=now.now_us,
        zone=settings.zone,
        hands={
            job.id: Length(sum(shop.hands_on(job, bench.shifts, now.now_us).values()))
            for job in jobs
            if job.state == "open"
        },
        ahead=now.ahead,
        windows=windows,
        notices=notices,
        on_clock=now.me.on is not None,
        unsent=side.unsent(now.now_us),
        elsewhere=side.elsewhere,
        given=side.given,
    )
    at = local(now.now_us, settings.zone).isoformat(timespec="seconds")
    data = {
        "at": at,
        "on_the_clock": now.me.on is not None,
        "jobs": [_job(job, now) for job in jobs],
        "windows": [
            {"job": line.job.opened.number, "where": line.where, "when": line.when}
            for line in windows
        ],
        "notices": list(notices),
        "unsent": side.unsent(now.now_us),
        "on_other_carts": [to_builtins(job) for job in side.elsewhere],
        "given_to_be_taken": [to_builtins(job) for job in side.given],
    }
    return [f"{at[11:16]} {page.said}", *_lines(page)], data


def _lines(page: Page) -> Iterator[str]:
    """The rows of a page of words: what is a picture on the screen is left out."""
    from cartclock.tui.face.page import Bar, Cells, Heading, Words

    for row in page.rows:
        if isinstance(row, Heading):
            yield "  ".join(part for part in (row.text, row.beside) if part)
        elif isinstance(row, Cells):
            said = [
                f"{cell.share:.0%} done" if isinstance(cell, Bar) else cell
                for cell in row.cells
                if isinstance(cell, str | Bar) and cell
            ]
            if said:
                yield f"  {'  '.join(said)}"
        elif isinstance(row, Words) and not row.wide:
            label = f"{row.label}: " if row.label else ""
            yield f"{'  ' * bool(row.indent)}{label}{row.text or ', '.join(row.parts)}"


def _job(job: Job, now: Moment) -> dict[str, object]:
    from cartclock.engine.dates import local, nearest_minute
    from cartclock.engine.facts.section import SECOND_US
    from cartclock.engine.hours.planned import planned_left_us, planned_us
    from cartclock.engine.times import Instant

    def iso(at_us: int | None) -> str | None:
        if at_us is None:
            return None
        return local(Instant(at_us), job.opened.zone).isoformat(timespec="seconds")

    still = job.state == "open"
    told = now.ahead.at(now.now_us).finish(job.id) if still else None
    left = [s.name for s in job.stages if not all(section.over for section in job.of(s.name))]
    planned = sum(planned_us(job, stage) for stage in job.stages)
    left_us = planned_left_us(job, job.stages, now.now_us)
    return {
        "number": job.opened.number,
        "vehicle": job.opened.vehicle,
        "state": job.state,
        "promised": iso(job.opened.promised_us),
        "ready": None if told is None else iso(told.ready_us),
        "ready_by": None if told is None else iso(told.ready_by_us),
        "planned_min": nearest_minute(planned / SECOND_US),
        "left_min": nearest_minute(left_us / SECOND_US) if still else 0,
        "stages_left": left if still else [],
    }
