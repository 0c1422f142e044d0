"""The lists about sections: left out, done again, cut or added."""

from __future__ import annotations

from collections.abc import Callable

from engine.job import changes
from engine.job.moves import Move
from engine.job.plan import Stage, Work
from engine.job.words import place_text
from engine.trouble import Refused
from tui.lists.host import Host
from tui.lists.in_view import in_hand, job_in_view
from tui.widgets.sheet import Line

WHY_SKIPPED = ("agreed with the customer", "not there on this vehicle", "no time", "damage")


def open_skip(host: Host, chosen: Move | None) -> None:
    """Leaves out what is in hand, else what is chosen."""
    hands = in_hand(host.cart.bench)
    if hands is not None:
        job_id, stage, sections = hands.job, hands.stage, hands.sections
    elif chosen is not None and chosen.sections:
        job_id, stage, sections = chosen.job, chosen.stage, chosen.sections
    else:
        raise Refused("Choose a move with up and down first.")
    job = host.cart.bench.jobs[job_id]
    rest = tuple(s.name for s in job.of(stage) if s.state in ("todo", "held", "waiting"))
    where = place_text(job, stage, sections)
    lines = []
    for why in WHY_SKIPPED:

        def take(why: str = why) -> None:
            host.cart.write(changes.skip, job_id, stage, sections, why)

        lines.append(Line(why, host.guarded(take)))
    if rest and rest != sections:

        def take_rest() -> None:
            host.cart.write(changes.skip, job_id, stage, rest, "rest of the stage left out")

        lines.append(Line(f"all {len(rest)} that are left of {stage}", host.guarded(take_rest)))
    host.sheet.open(f"Leave out {where} ({stage}) because", lines)


def open_redo(host: Host, chosen: Move | None) -> None:
    """Opens a finished or skipped section again, the newest first."""
    job = job_in_view(host.cart.bench, chosen)
    if job is None:
        raise Refused("No job is open.")
    over = [s for s in job.sections.values() if s.state in ("done", "skipped")]
    if not over:
        raise Refused("Nothing is done or skipped yet.")
    over.sort(key=lambda s: -(s.finished_us or 0))
    lines = []
    for section in over[:30]:

        def take(stage: str = section.stage, name: str = section.name) -> None:
            host.cart.write(changes.redo, job.id, stage, (name,), "done again")

        lines.append(Line(f"{section.name} ({section.stage}), {section.state}", host.guarded(take)))
    host.sheet.open("Do again from the first step", lines)


def open_split(host: Host, chosen: Move | None) -> None:
    """Cuts untouched sections of the stage in two."""
    job = job_in_view(host.cart.bench, chosen)
    stage = chosen.stage if chosen is not None else ""
    hands = in_hand(host.cart.bench)
    if hands is not None:
        stage = hands.stage
    if job is None or not stage:
        raise Refused("Choose a stage with up and down first.")
    free = [s.name for s in job.of(stage) if s.untouched]
    if not free:
        raise Refused(f"No section of {stage} is untouched; only those can be cut.")

    def cut(names: list[str]) -> Callable[[], None]:
        def press() -> None:
            cuts = {name: changes.halves(job, stage, name) for name in names}
            host.cart.write(changes.split_several, job.id, stage, cuts)

        return host.guarded(press)

    lines = [Line(name, cut([name])) for name in free]
    if len(free) > 1:
        lines.insert(0, Line(f"all {len(free)} that are left", cut(free)))
    host.sheet.open(f"Cut in two ({stage})", lines)


def open_add(host: Host, chosen: Move | None) -> None:
    """Adds a section to the stage, or a stage of one step behind it."""
    job = job_in_view(host.cart.bench, chosen)
    if job is None:
        raise Refused("No job is open; T, then +, opens one.")
    stage = chosen.stage if chosen is not None and chosen.stage else job.stages[-1].name
    hands = in_hand(host.cart.bench)
    if hands is not None:
        stage = hands.stage

    def section(name: str) -> None:
        host.guarded(lambda: host.cart.write(changes.add_section, job.id, stage, name))()

    def new_stage(name: str) -> None:
        added = Stage(name, ("whole vehicle",), (Work(name.lower() or "work"),), press="stage")
        host.guarded(lambda: host.cart.write(changes.add_stage, job.id, added, stage))()

    host.sheet.open(
        "Add",
        [
            Line(
                f"a section to {stage}",
                lambda: host.sheet.open_text(f"Section of {stage}", section),
                hot="s",
            ),
            Line(
                f"a stage behind {stage}",
                lambda: host.sheet.open_text("Name of the stage", new_stage),
                hot="t",
            ),
        ],
    )
