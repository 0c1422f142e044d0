"""The list of what jobs taught of a plan's minutes, and the new plan file they are written into."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from cartclock.engine.facts.in_play import film_in_play
from cartclock.engine.history.proposals import MinutesProposal
from cartclock.tui.lists.host import Host
from cartclock.tui.widgets.sheet import Line, nothing

MINUTES_LINE = "minutes it took, into a new plan"


def minutes_line(host: Host, job_id: str) -> list[Line]:
    """The line of a closed job that opens the list; none while nothing is proposed."""
    found = _found(host, job_id)
    return [Line(MINUTES_LINE, partial(_open, host, job_id, found))] if found else []


def ask_minutes(host: Host, job_id: str) -> None:
    """Opens the list behind the closing of the job that brought a proposal up.

    Later jobs of the plan only repeat it, and then nobody is asked again; a film in play comes
    first, and then nobody is asked at all: the list of the closed job has the line.
    """
    bench, now = host.cart.bench, host.cart.workplace.moment
    job = bench.jobs.get(job_id)
    if job is None or job.state != "closed" or film_in_play(now.jobs.values(), now.now_us):
        return
    found = _found(host, job_id)
    if host.cart.shop.past.minutes_taught(bench.worker, job.opened.plan, job_id, found):
        _open(host, job_id, found)


def _found(host: Host, job_id: str) -> Sequence[MinutesProposal]:
    """What is proposed of the plan of a job; nothing of a plan whose text is not kept."""
    bench = host.cart.bench
    opened = bench.jobs[job_id].opened
    if not bench.log.plan_text(opened.plan_sha256):
        return ()
    return host.cart.shop.past.minutes_unasked(bench.worker, opened.plan)


def _open(host: Host, job_id: str, found: Sequence[MinutesProposal]) -> None:
    write = partial(_write, host, job_id)
    if len(found) == 1:
        (one,) = found
        each = " a section" if one.over == "section" else ""
        needed = f"{one.work}: you needed {one.take_min:g} min{each}"
        title = f"{needed}, the plan says {one.planned_min:g}: take {one.take_min:g}?"
        lines = [Line("take it into a new plan file", partial(write, found), "t")]
    else:
        title = "You needed other minutes than the plan says: take yours?"
        lines = [Line(f"take all {len(found)} into a new plan file", partial(write, found), "t")]
        # Short, or a narrow screen would cut off what is asked.
        lines += [
            Line(
                f"only {one.work}: {one.take_min:g} min, not {one.planned_min:g}",
                partial(write, [one]),
            )
            for one in found
        ]
    lines.append(Line("leave the plan as it is", nothing, "n"))
    host.sheet.open(title, lines)


def _write(host: Host, job_id: str, taken: Sequence[MinutesProposal]) -> None:
    """A new file beside the worker's other plans, unless one holds just that already."""
    bench, shelf = host.cart.bench, host.cart.shelf
    opened = bench.jobs[job_id].opened
    before = bench.log.plan_text(opened.plan_sha256) or ""
    text = shelf.with_minutes(before, {one.step: one.take_min for one in taken})
    name = shelf.holding(text)
    said = "is it already" if name else "is written"
    name = name or shelf.place(text, opened.plan.name).name
    host.say(f"The plan {name} {said}: + on Today opens a job of it.")
