"""The list about mixing: what the step still needs, and the start of that other work."""

from __future__ import annotations

from cartclock.engine.products.mixing import recipe_lines
from cartclock.engine.rules import choices
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.leaving import leave_for
from cartclock.tui.lists.titles import of_job
from cartclock.tui.lists.toggle import Toggle
from cartclock.tui.told.asked import Asked
from cartclock.tui.told.in_view import job_in_view, to_mix
from cartclock.tui.widgets.sheet import Line


def open_mix(host: Host) -> None:
    """The recipes, and under them the start of water and mixing."""
    bench = host.cart.bench
    job = choices.some(job_in_view(bench, host.cart.workplace.chosen), choices.NOTHING_MIXED)
    found = choices.some(to_mix(bench, host.cart.workplace.chosen), choices.NOTHING_MIXED)
    toggle = Toggle(bench)

    def start() -> None:
        asked = Asked(
            "", "", "other work", job=job.id, other="water and mixing", finish=toggle.finish
        )
        leave_for(host.cart, asked)

    lines = [Line("start: water and mixing", start, hot="w")]
    for recipe in found:
        name, amounts, reading = recipe_lines(recipe)
        said = (name, f"  {amounts}", f"  {reading}")
        lines += [Line(text, folds=True) for text in said]
    hint = "up, down: read   W: start   esc: nothing is written"
    host.sheet.open(
        of_job(host, job, "mix for what is left"),
        [*lines, *toggle.lines()],
        hint,
        done=lambda: host.say("Nothing was written; W in the list starts the mixing."),
    )
