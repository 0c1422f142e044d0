"""`cartclock estimate`: what a job will take and cost, before there is one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import zip_longest
from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

from cartclock.tui.commands.door import plainly
from cartclock.tui.commands.finishing import of_body
from cartclock.tui.commands.given import ALONE, answering, for_programs
from cartclock.tui.commands.outlook import (
    USUAL_BODY,
    columns,
    day_named,
    plan_of,
    planner,
    weather_given,
)

if TYPE_CHECKING:
    from cartclock.engine.planning.estimate import Estimate, PaintState
    from cartclock.engine.planning.estimate_words import EstimateWords

_BETWEEN = "  "
STATES = {"better": "better than usual", "usual": "as usual", "worse": "worse than usual"}


@click.command(epilog=ALONE)
@click.argument("plan")
@of_body(help=f"Body shape of a starter, {USUAL_BODY} if left out.")
@click.option(
    "--paint",
    type=click.Choice(list(STATES)),
    default="usual",
    show_default=True,
    help="State of the paint, beside what you usually get.",
)
@click.option("--day", "day_text", help="When it is begun: today, or a date ahead; else tomorrow.")
@click.option("--low", help="Lowest air temperature of that day.")
@click.option("--high", help="Highest air temperature of that day.")
@click.option("--dew", help="Dew point of that day.")
@click.option("--hours", type=click.Path(path_type=Path), help="A CSV of hours instead.")
@click.option("--rate", default="", help="What an hour of work costs, instead of the settings.")
@for_programs
@plainly
@answering
def estimate(
    plan: str,
    body: str | None,
    paint: str,
    day_text: str | None,
    low: str | None,
    high: str | None,
    dew: str | None,
    hours: Path | None,
    rate: str,
) -> tuple[Sequence[str], Mapping[str, object]]:
    """What a job of PLAN will take: hours, the earliest hand-over, products, labour.

    PLAN is the name of a starter, or a plan file.
    """
    import msgspec

    from cartclock.engine.planning.estimate_words import EstimateWords

    with planner() as of:
        day = day_named(day_text, of.today)
        given = any((low, high, dew, hours))
        weather = weather_given(of, day, low, high, dew, hours) if given else of.weather()
        state = cast("PaintState", STATES[paint])
        found = of.estimated(plan_of(plan, body), state, day, weather, rate)
        words = EstimateWords(found, of.zone, of.bench.now_us)
        said = {"says": list(words.answer()), "from": list(words.notes())}
        return _lines(found, words, columns()), {**msgspec.to_builtins(found), **said}


def _lines(found: Estimate, words: EstimateWords, wide: int) -> list[str]:
    from cartclock.engine.dates import hour_minutes
    from cartclock.engine.facts.section import SECOND_US
    from cartclock.engine.letters import wrapped
    from cartclock.engine.planning.estimate_words import bottle_cost_text, bottle_text

    def folded(sentences: Iterable[str]) -> list[str]:
        return [line for said in sentences for line in wrapped(said, wide, hang=2)]

    body = f", {found.shape}" if found.shape else ""
    stages: list[tuple[str, ...]] = [("", "expected", "4 in 5", "plan", "measured")]
    for one in found.stages:
        lengths = (one.hands_us, one.by_us, one.planned_us)
        clocks = (hour_minutes(length_us / SECOND_US) for length_us in lengths)
        stages.append((one.stage, *clocks, str(one.measured or "-")))
    bottles = [(one.name, bottle_text(one), bottle_cost_text(one)) for one in found.products]
    return [
        *folded([f"Estimate: {found.plan}{body}", *words.answer()]),
        "",
        *_table([*stages, *words.work(), *words.between()], wide),
        *([""] if bottles else []),
        *_table(bottles, wide),
        "",
        *folded(words.notes()),
    ]


def _table(rows: Sequence[Sequence[str]], wide: int) -> list[str]:
    """Rows of a name and figures; where the screen is narrow, the last figures are left out that
    would leave the names less than half of it.
    """
    from cartclock.engine.letters import cells, cropped, padded

    if not rows:
        return []
    names, *figures = (max(map(cells, column)) for column in zip_longest(*rows, fillvalue=""))
    widths = [width + len(_BETWEEN) for width in figures]
    while len(widths) > 1 and wide - sum(widths) < wide / 2:
        del widths[-1]
    names = min(names, wide - sum(widths))
    return [
        (
            padded(cropped(row[0], names), names)
            + "".join(padded(one, at, True) for one, at in zip(row[1:], widths, strict=False))
        ).rstrip()
        for row in rows
    ]
