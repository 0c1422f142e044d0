"""`cartclock learn`: what of a plan should be another, by what its jobs took."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cartclock.tui.commands.door import plainly, reading_bench, say, settled
from cartclock.tui.commands.history import made

if TYPE_CHECKING:
    from cartclock.engine.history.proposals import MinutesProposal, PanelWeight


@click.command()
@click.argument("plan", type=click.Path(path_type=Path))
@click.option("--worker", help="By whose work; yours if left out.")
@click.option("--out", type=click.Path(path_type=Path), help="New plan file to write them into.")
@plainly
def learn(plan: Path, worker: str | None, out: Path | None) -> None:
    """Say which minutes and weights of a plan file its jobs do not bear out, and with --out write a
    new one.
    """
    from cartclock.engine.desk.past import Past
    from cartclock.engine.history.proposals import with_weights
    from cartclock.engine.store.plan_file.derived import derived
    from cartclock.engine.store.plan_file.minutes import with_minutes
    from cartclock.engine.store.plan_file.reader import read_plan
    from cartclock.engine.store.plan_file.text import read_text, write_text

    text, settings = read_text(plan), settled()
    wanted = read_plan(text, plan.name)
    bench = reading_bench(settings)
    try:
        made(bench.library)
        past, who = Past(bench.library), worker or settings.worker
        weighed = past.proposed_weights(who, wanted)
        # A stage with other weights needs other minutes for the section that weighs 1.
        other = with_weights(wanted, weighed)
        found = past.proposed_minutes(who, other)
    finally:
        bench.close()
    if not (found or weighed):
        say(f"{wanted.name}: no minutes and no weights that its jobs do not bear out.")
        return
    for line in _weights(weighed):
        say(line)
    for one in found:
        say(_sentence(one))
    if out is not None:
        told = derived(text, other)
        write_text(out, with_minutes(told, {one.step: one.take_min for one in found}))
        say(f"Written to {out}. Then: cartclock check {out}", err=True)


def _weights(found: Sequence[PanelWeight]) -> Iterator[str]:
    """What is proposed, a sentence for each stage."""
    for stage, own in groupby(found, key=lambda one: one.stage):
        told = list(own)
        panels = ", ".join(f"{one.panel} {one.take:g} ({one.planned:g})" for one in told)
        pieces, jobs = sum(one.n for one in told), max(one.jobs for one in told)
        yield (
            f"{stage}: take weights, in brackets the plan's: {panels}; {pieces} "
            f"measured in {jobs} job{'' if jobs == 1 else 's'}"
        )


def _sentence(one: MinutesProposal) -> str:
    """What is proposed, with what it rests on."""
    each = "a section" if one.over == "section" else "for all"
    jobs = f"{one.jobs} job{'' if one.jobs == 1 else 's'}"
    return (
        f"{one.work}: {one.planned_min:g} min {each} planned, {one.taken_min:.1f} "
        f"taken (eight times in ten {one.low_min:.1f} to {one.high_min:.1f}; {one.n} measured in "
        f"{jobs}{'' if one.sure else ', few'}): take {one.take_min:g}"
    )
