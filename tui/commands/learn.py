"""`cartclock learn`: minutes of a plan that should be others, by what its jobs took."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cartclock.tui.commands.door import plainly, reading_bench, say, settled
from cartclock.tui.commands.history import made

if TYPE_CHECKING:
    from cartclock.engine.history.proposals import MinutesProposal


@click.command()
@click.argument("plan", type=click.Path(path_type=Path))
@click.option("--worker", help="By whose work; yours if left out.")
@click.option("--out", type=click.Path(path_type=Path), help="New plan file to write them into.")
@plainly
def learn(plan: Path, worker: str | None, out: Path | None) -> None:
    """Say which minutes of a plan file its jobs do not bear out, and with --out write a new one."""
    from cartclock.engine.desk.past import Past
    from cartclock.engine.store.plan_file.minutes import with_minutes
    from cartclock.engine.store.plan_file.reader import read_plan
    from cartclock.engine.store.plan_file.text import read_text, write_text

    text, settings = read_text(plan), settled()
    wanted = read_plan(text, plan.name)
    bench = reading_bench(settings)
    try:
        made(bench.library)
        found = Past(bench.library).proposed_minutes(worker or settings.worker, wanted)
    finally:
        bench.close()
    if not found:
        say(f"{wanted.name}: no minutes that its jobs do not bear out.")
        return
    for one in found:
        say(_sentence(one))
    if out is not None:
        write_text(out, with_minutes(text, {one.step: one.take_min for one in found}))
        say(f"Written to {out}. Then: cartclock check {out}", err=True)


def _sentence(one: MinutesProposal) -> str:
    """What is proposed, with what it rests on."""
    each = "a section" if one.over == "section" else "for all"
    jobs = f"{one.jobs} job{'' if one.jobs == 1 else 's'}"
    return (
        f"{one.work}: {one.planned_min:g} min {each} planned, {one.taken_min:.1f} "
        f"taken (eight times in ten {one.low_min:.1f} to {one.high_min:.1f}; {one.n} measured in "
        f"{jobs}{'' if one.sure else ', few'}): take {one.take_min:g}"
    )
