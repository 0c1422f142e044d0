"""`cartclock estimate`: what a job will take and cost, before there is one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

from cartclock.tui.commands.door import plainly
from cartclock.tui.commands.finishing import of_body
from cartclock.tui.commands.given import ALONE, answering, for_programs
from cartclock.tui.commands.outlook import (
    USUAL_BODY,
    WIDE,
    day_named,
    plan_of,
    planner,
    weather_given,
)

if TYPE_CHECKING:
    from cartclock.engine.planning.estimate import Estimate, PaintState
    from cartclock.engine.planning.estimate_words import EstimateWords

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
        return _lines(found, words), {**msgspec.to_builtins(found), **said}


def _lines(found: Estimate, words: EstimateWords) -> list[str]:
    from cartclock.engine.dates import hour_minutes
    from cartclock.engine.facts.section import SECOND_US
    from cartclock.engine.letters import cropped, padded, wrapped
    from cartclock.engine.planning.estimate_words import bottle_cost_text, bottle_text

    def clock(length_us: int) -> str:
        return hour_minutes(length_us / SECOND_US)

    body = f", {found.shape}" if found.shape else ""
    lines = [f"Estimate: {found.plan}{body}"]
    lines += [line for said in words.answer() for line in wrapped(said, WIDE, hang=2)]
    lines += ["", f"{'':<22}{'expected':>9}{'4 in 5':>9}{'plan':>9}{'measured':>10}"]
    for one in found.stages:
        name = padded(cropped(one.stage, 21), 22)
        lines.append(
            f"{name}{clock(one.hands_us):>9}{clock(one.by_us):>9}{clock(one.planned_us):>9}"
            f"{one.measured or '-':>10}"
        )
    for name, *lengths in words.work():
        lines.append((f"{name:<22}" + "".join(f"{one:>9}" for one in lengths)).rstrip())
    lines += [f"{name:<22}{length:>9}" for name, length in words.between()]
    lines.append("")
    for product in found.products:
        name = padded(cropped(product.name, 39), 40)
        lines.append(f"{name}{bottle_text(product):>15}{bottle_cost_text(product):>12}")
    lines += ["", *(line for said in words.notes() for line in wrapped(said, WIDE, hang=2))]
    return lines
