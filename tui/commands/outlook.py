"""`cartclock outlook`: when the open jobs will be ready; or a day by the hour, when to begin on it,
and when the coat goes on.
"""

from __future__ import annotations

import datetime
import sys
from collections.abc import Iterable, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cartclock.engine.dates import day_said
from cartclock.tui.commands.door import plainly, reading_bench, settled
from cartclock.tui.commands.finishing import of_body
from cartclock.tui.commands.given import ALONE, answering, for_programs, temperature

if TYPE_CHECKING:
    from collections.abc import Iterator

    from cartclock.engine.ahead.job_ahead import JobAhead
    from cartclock.engine.desk.planner import Planner
    from cartclock.engine.plan.plan import Plan
    from cartclock.engine.planning.day_words import DayWords
    from cartclock.engine.planning.decision import DayPlan, Start
    from cartclock.engine.planning.weather import Weather

WIDE = 80
"""Columns at which a sentence is folded."""

USUAL_BODY = "estate"
"""Body shape of a starter, where none is named."""

# Between figures and words; what stands below its figures is set in by so much.
_BETWEEN, _BELOW = "  ", 6


@contextmanager
def planner() -> Iterator[Planner]:
    """What is planned at this cart, by the log that is there, which is only read; before there is
    one, by an empty log in a scratch folder.
    """
    from tempfile import TemporaryDirectory

    from cartclock.engine.desk.bench import Bench
    from cartclock.engine.desk.planner import Planner
    from cartclock.engine.desk.shop import Shop
    from cartclock.engine.store.clock import SystemClock
    from cartclock.engine.store.laptop.places import log_path

    settings = settled()
    with ExitStack() as left:
        if log_path().exists():
            bench = reading_bench(settings)
        else:
            scratch = left.enter_context(TemporaryDirectory())
            bench = Bench.open(Path(scratch) / "log.db", SystemClock(), settings.worker)
        left.callback(bench.close)
        shop = Shop(bench.log, settings.rest_place, settings.closed, bench.library)
        yield Planner(bench, shop, settings)


@click.command(epilog=ALONE)
@click.option(
    "--day", "day_text", help="Today, or a date ahead like 2026-07-24; tomorrow if left out."
)
@click.option("--low", help="Lowest air temperature of the forecast.")
@click.option("--high", help="Highest air temperature of the forecast.")
@click.option("--dew", help="Dew point of the forecast.")
@click.option(
    "--hours",
    type=click.Path(path_type=Path),
    help="A CSV of hours instead: time, air_c, and rh or dew_c.",
)
@click.option("--plan", "plan_name", help="A plan to be begun that day, instead of the open jobs.")
@of_body(help=f"Body shape of a starter, {USUAL_BODY} if left out.")
@for_programs
@plainly
@answering
def outlook(
    day_text: str | None,
    low: str | None,
    high: str | None,
    dew: str | None,
    hours: Path | None,
    plan_name: str | None,
    body: str | None,
) -> tuple[Sequence[str], Mapping[str, object]]:
    """When the open jobs will be ready.

    With a day or its air: when to begin on it, and whether the coat goes on in the same run; from
    a forecast (--low, --high, --dew), from a table of hours, or from what was read today.
    """
    if body is not None and plan_name is None:
        raise ValueError("--body: is of a starter that --plan names; open jobs have their own")
    with planner() as of:
        if not any((day_text, low, high, dew, hours, plan_name)):
            from cartclock.tui.commands.ready import ready_of

            settings = of.settings
            return ready_of(
                of.bench.moment(
                    rest_place=of.shop.rest_place, meal=settings.meal, closed=settings.closed
                ),
                settings.temperature,
            )
        day = day_named(day_text, of.today)
        weather = weather_given(of, day, low, high, dew, hours)
        at_us = of.begin(day)
        jobs = (
            of.open_jobs() if plan_name is None else (of.planned(plan_of(plan_name, body), at_us),)
        )
        from cartclock.engine.planning.day_words import DayWords

        found = of.day(day, weather, jobs)
        words = DayWords(found[0], of.settings.temperature)
        return _lines(words, found[1], jobs, columns()), _data(words, found[1])


def day_named(text: str | None, today: datetime.date) -> datetime.date:
    """A date as it was typed, today or later; tomorrow if none was. Raises ValueError for what is
    none, and for one that is past.
    """
    found = day_said(text or "tomorrow", today)
    if found is None:
        raise ValueError(f'--day: "{text}" is no date; write it like 2026-07-24, or today')
    if found < today:
        raise ValueError(f"--day: {found} is past; give today, which is {today}, or a day ahead")
    # Weeks behind it are looked at: what is expected to be done in the nights after, and the meals.
    if found.year == datetime.MAXYEAR:
        raise ValueError(f"--day: {found} is where the calendar ends; name a day before that year")
    return found


def plan_of(name: str, body: str | None) -> Plan:
    """A starter by its name, on a body (None: the usual one), or a plan file, which has its own.

    Raises Refused and PlanFault, and ValueError for what is neither, and for a file whose body is
    another than the one asked for: which of its sections are panels only its writer knows.
    """
    from os.path import lexists

    from cartclock.engine.store.plan_file.reader import read_plan, starter, starters, with_body
    from cartclock.engine.store.plan_file.tables import instead_of
    from cartclock.engine.store.plan_file.text import read_text
    from cartclock.engine.trouble import Refused

    if name in starters():
        return read_plan(with_body(starter(name), body or USUAL_BODY), name)
    path = Path(name)
    try:
        plan = read_plan(read_text(path), path.name)
    except Refused as why:
        if lexists(path):
            raise
        hint = instead_of(name, starters())
        raise ValueError(f"{why} Nor is it a starter; {hint}") from None
    if body not in (None, plan.shape):
        own = f"has the body {plan.shape}" if plan.shape else "names its panels itself"
        raise ValueError(
            f"--body: {path.name} {own}, and that stands; leave --body out, or give a file for "
            "that body (cartclock new --body writes one)"
        )
    return plan


def weather_given(
    of: Planner,
    day: datetime.date,
    low: str | None,
    high: str | None,
    dew: str | None,
    hours: Path | None,
) -> Weather:
    """The air of a day by a table, a forecast, or today's readings; raises ValueError for half of
    a forecast, or none of them.
    """
    from cartclock.engine.figures.measured import AIR
    from cartclock.engine.planning.weather import by_forecast, by_table
    from cartclock.engine.store.hours_file import DEW_POINT, read_hours, text_of

    unit = of.settings.temperature
    given = {"--low": low, "--high": high, "--dew": dew}
    if hours is not None:
        if any(given.values()):
            raise ValueError("--hours: give a table or a forecast, not both")
        return by_table(read_hours(text_of(hours), hours.name, day), hours.name)
    if any(given.values()):
        missing = [name for name, value in given.items() if value is None]
        if low is None or high is None or dew is None:
            raise ValueError(f"{' and '.join(missing)}: missing; a forecast has all three")
        low_c, high_c = temperature("--low", low, AIR), temperature("--high", high, AIR)
        if low_c > high_c:
            raise ValueError(f"--low: {low} is above --high, {high}")
        dew_c = temperature("--dew", dew, DEW_POINT)
        if dew_c > high_c:
            raise ValueError(f"--dew: {dew} is above --high, {high}; air is never so damp")
        return by_forecast(low_c, high_c, dew_c, of.over_c(low_c, high_c, day), unit)
    found = of.weather()
    if found is None:
        raise ValueError(
            "nothing was read today: give --low, --high and --dew, or --hours with a table"
        )
    return found


def columns() -> int:
    """Columns of the terminal if it has fewer than those at which a sentence is folded, else these,
    also where what is said goes elsewhere.
    """
    import shutil

    return min(WIDE, shutil.get_terminal_size().columns) if sys.stdout.isatty() else WIDE


def _lines(words: DayWords, plan: DayPlan, jobs: Sequence[JobAhead], wide: int = WIDE) -> list[str]:
    """wide: columns."""
    names = ", ".join(one.job.opened.vehicle for one in jobs)
    films = words.films(plan)
    return [
        *_folded(words.decision(plan), wide),
        "",
        *_folded([f"{words.day}: {names}"], wide),
        *_hours(words, plan, wide),
        "",
        *_starts(words, plan, wide),
        "",
        *_folded([films] if films else [], wide),
        *_folded(words.notes(), wide),
    ]


def _hours(words: DayWords, plan: DayPlan, wide: int) -> list[str]:
    """A row an hour. What is worked on stands beside its figures, or below them where a word of it
    would be broken there.
    """
    from cartclock.engine.letters import cells, wrapped

    head, behind = "hour air  RH WBGT light moder heavy coat", "from the best start"
    strips = [words.strip(plan, one) for one in words.hours.hours]
    longest = max(cells(word) for strip in strips for word in strip.split(" "))
    beside = wide - len(head) - len(_BETWEEN) >= max(longest, len(behind))
    indent = len(head) + len(_BETWEEN) if beside else _BELOW
    lines = [f"{head}{_BETWEEN}{behind}"] if beside else [head, f"{' ' * _BELOW}{behind}"]
    for one, strip in zip(words.hours.hours, strips, strict=True):
        minutes = " ".join(
            f"{one.minutes.get(e, 0.0):5.0f}" for e in ("light", "moderate", "heavy")
        )
        air, wbgt = words.degrees(one.air_c), words.degrees(one.wbgt_c, 1) or "?"
        figures = f"{one.hour:02} {air:>5} {one.rh:3.0f} {wbgt:>4} {minutes} {one.coat or 'good':4}"
        rows = [f"{' ' * indent}{said}" for said in wrapped(strip, wide - indent)] if strip else []
        if beside and rows:
            rows[0] = f"{figures}{_BETWEEN}{rows[0].lstrip(' ')}"
            lines += rows
        else:
            lines += [figures.rstrip(), *rows]
    return lines


def _starts(words: DayWords, plan: DayPlan, wide: int) -> list[str]:
    """A row a start, its coat below it where there is no room beside it."""
    from cartclock.engine.dates import hour_minutes
    from cartclock.engine.facts.section import SECOND_US
    from cartclock.engine.letters import wrapped

    def row(mark: str, first: str, done: str, by: str, rests: str) -> str:
        return f"{mark}{first:{first_wide}} {done:9} {by:9} {rests:>5}"

    def coat(start: Start) -> tuple[str, str]:
        then = ", ".join(start.against) or "good"
        return ("-", "") if start.coat_us is None else (words.coat_clock(start), then)

    first_wide = max(len(words.clock(one.start_us)) for one in plan.starts)
    heads = row("", "start ".ljust(first_wide + 1), "done", "4 in 5", "rests")
    told = [
        row(
            ">" if one == plan.best else " ",
            words.clock(one.start_us),
            words.clock(one.done_us),
            words.clock(one.by_us, up=True),
            hour_minutes(one.rests_us / SECOND_US),
        )
        for one in plan.starts
    ]
    coats = [f"{at:9}{_BETWEEN}{then}".rstrip() for at, then in map(coat, plan.starts)]
    named = f"coat from{_BETWEEN}air then"
    if max(map(len, (heads, *told))) + len(_BETWEEN) + max(map(len, (named, *coats))) <= wide:
        rows = zip((heads, *told), (named, *coats), strict=True)
        return [f"{left}{_BETWEEN}{right}".rstrip() for left, right in rows]
    lines = [heads]
    for left, one in zip(told, plan.starts, strict=True):
        at, then = coat(one)
        below = f"coat from {at}, air then {then}" if then else ""
        lines.append(left.rstrip())
        lines += [f"{' ' * _BELOW}{said}" for said in wrapped(below, wide - _BELOW) if said]
    return lines


def _folded(sentences: Iterable[str], wide: int) -> list[str]:
    from cartclock.engine.letters import wrapped

    return [line for sentence in sentences for line in wrapped(sentence, wide, hang=2)]


def _data(words: DayWords, plan: DayPlan) -> Mapping[str, object]:
    import msgspec

    hours = words.hours
    return {
        "day": str(hours.day),
        "zone": hours.zone,
        "says": list(words.decision(plan)),
        "from": list(words.notes()),
        "hours": msgspec.to_builtins(hours.hours),
        "plan": msgspec.to_builtins(plan),
    }
