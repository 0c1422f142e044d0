"""The list about mixing: what the step still needs, and the start of that other work."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.job import rules
from engine.job.mixing import Recipe, of_step, recipe_lines
from engine.trouble import Refused
from tui.screens.lists import Toggle, guarded, in_hand, job_in_view
from tui.screens.reminder_lists import folded_lines
from tui.widgets.sheet import Line

if TYPE_CHECKING:
    from tui.screens.run import RunScreen

NOTHING_MIXED = "This step uses nothing that is mixed."


def needed(screen: RunScreen) -> tuple[Recipe, ...]:
    """What to mix for the step in hand, else for the chosen one; empty if nothing is."""
    bench, chosen = screen.cart.bench, screen.chosen
    job = job_in_view(bench, chosen)
    return () if job is None else of_step(job, in_hand(bench), chosen)


def open_mix(screen: RunScreen) -> None:
    """The recipes, and under them the start of water and mixing."""
    bench = screen.cart.bench
    job = job_in_view(bench, screen.chosen)
    found = needed(screen)
    if job is None or not found:
        raise Refused(NOTHING_MIXED)
    toggle = Toggle(bench)

    def start() -> None:
        screen.cart.write(rules.start_other, "water and mixing", job.id, toggle.finish)

    lines = [Line("start: water and mixing", guarded(screen, start), hot="w")]
    for recipe in found:
        name, amounts, reading = recipe_lines(recipe)
        for text in (name, f"  {amounts}", f"  {reading}"):
            lines += folded_lines(screen, text)
    hint = "up, down: read   W: start   esc: nothing is written"
    screen.sheet.open(
        "Mix for what is left",
        [*lines, *toggle.lines()],
        hint,
        done=lambda: screen.say("Nothing was written; W in the list starts the mixing."),
    )
