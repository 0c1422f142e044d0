"""The lists about sections: left out, done again, cut or added."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.words import place_text
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.rules import changes, choices, typed
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.titles import of_job
from cartclock.tui.told.in_view import in_hand, job_in_view
from cartclock.tui.widgets.sheet import Do, Line

WHY_SKIPPED = ("agreed with the customer", "not there on this vehicle", "no time", "damage")
WHY_AGAIN = (
    "not good enough yet",
    "it stood too long",
    "something came on it since",
    "the customer wants it",
)


def open_skip(host: Host, chosen: Move | None) -> None:
    """Leaves out what is in hand, else what is chosen."""
    job_id, stage, sections = choices.to_skip(in_hand(host.cart.bench), chosen)
    job = host.cart.bench.jobs[job_id]
    rest = tuple(s.name for s in job.of(stage) if s.state in ("todo", "held", "waiting"))
    where = place_text(job, stage, sections)
    lines = []
    for why in WHY_SKIPPED:

        def take(why: str = why) -> None:
            host.cart.write(changes.skip, job_id, stage, sections, why)

        lines.append(Line(why, take))
    if rest and rest != sections:

        def take_rest() -> None:
            host.cart.write(changes.skip, job_id, stage, rest, "rest of the stage left out")

        lines.append(Line(f"all {len(rest)} that are left of {stage}", take_rest))
    host.sheet.open(of_job(host, job, f"leave out {where} ({stage}) because"), lines)


def open_redo(host: Host, chosen: Move | None) -> None:
    """Opens a section that is finished or left out again, the newest first."""
    job = choices.some(job_in_view(host.cart.bench, chosen), choices.NO_JOB_OF_REDO)
    over = choices.to_redo(job)
    lines = [
        Line(
            f"{section.name} ({section.stage}), {section.told}",
            partial(ask_why_again, host, job, section.stage, (section.name,)),
        )
        for section in over[:30]
    ]
    host.sheet.open(of_job(host, job, "do again from the first step"), lines)


def ask_why_again(
    host: Host, job: Job, stage: str, sections: tuple[str, ...], then: Do | None = None
) -> None:
    """Asks why these sections are done again, because the record says so; nothing is written before
    that. Refuses at once what cannot be done again.

    then: what is done behind it.
    """
    changes.redo(host.cart.bench.scene(), job.id, stage, sections)

    def take(why: str) -> None:
        host.cart.write(changes.redo, job.id, stage, sections, why)
        if then is not None:
            then()

    def again() -> None:
        ask_why_again(host, job, stage, sections, then)

    def in_words(text: str) -> None:
        if text:
            take(typed.note(text))
        else:
            again()

    asked = of_job(host, job, f"do {place_text(job, stage, sections)} ({stage}) again because")
    lines = [Line(why, partial(take, why)) for why in WHY_AGAIN]
    own = partial(host.sheet.open_text, asked, in_words, closed=again)
    lines.append(Line("in my own words ...", own))
    host.sheet.open(asked, lines)


def open_split(host: Host, chosen: Move | None) -> None:
    """Cuts untouched sections of the stage in two."""
    job = choices.some(job_in_view(host.cart.bench, chosen), choices.NO_STAGE)
    stage = chosen.stage if chosen is not None else ""
    hands = in_hand(host.cart.bench)
    if hands is not None:
        stage = hands.stage
    free = choices.to_split(job, choices.some(stage, choices.NO_STAGE))

    def cut(names: list[str]) -> Callable[[], None]:
        def press() -> None:
            cuts = {name: changes.halves(job, stage, name) for name in names}
            host.cart.write(changes.split_several, job.id, stage, cuts)

        return press

    lines = [Line(name, cut([name])) for name in free]
    if len(free) > 1:
        lines.insert(0, Line(f"all {len(free)} that are left", cut(free)))
    host.sheet.open(of_job(host, job, f"cut in two ({stage})"), lines)


def open_add(host: Host, chosen: Move | None, also: Sequence[Line] = ()) -> None:
    """Adds a section to the stage, or a stage of one step behind it.

    also: what else there is to add.
    """
    job = choices.some(job_in_view(host.cart.bench, chosen), choices.NO_JOB)
    stage = chosen.stage if chosen is not None and chosen.stage else job.stages[-1].name
    hands = in_hand(host.cart.bench)
    if hands is not None:
        stage = hands.stage

    def section(name: str) -> None:
        host.cart.write(changes.add_section, job.id, stage, name)

    def new_stage(name: str) -> None:
        added = Stage(name, ("whole vehicle",), (Work(name.lower() or "work"),), press="stage")
        host.cart.write(changes.add_stage, job.id, added, stage)

    host.sheet.open(
        of_job(host, job, "add"),
        [
            Line(
                f"a section to {stage}",
                lambda: host.sheet.open_text(of_job(host, job, f"section of {stage}"), section),
                hot="s",
            ),
            Line(
                f"a stage behind {stage}",
                lambda: host.sheet.open_text(of_job(host, job, "name of the stage"), new_stage),
                hot="t",
            ),
            *also,
        ],
    )
