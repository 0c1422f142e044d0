"""The lists about a job: notes, amounts, and sections left out, done again, cut or added."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from engine.job import changes, rules
from engine.job import events as ev
from engine.job.job import Job
from engine.job.moves import Move
from engine.job.plan import Stage, Work
from engine.job.words import place_text
from engine.trouble import Refused
from tui.screens import product_lists
from tui.screens.lists import guarded, in_hand, job_in_view
from tui.widgets.sheet import Line
from tui.widgets.values import Number

if TYPE_CHECKING:
    from tui.screens.run import RunScreen


def open_note(screen: RunScreen) -> None:
    """A note: for the shop, or for the customer's paper as well."""
    bench = screen.cart.bench
    job = job_in_view(bench, screen.chosen)
    if job is None:
        raise Refused("A note belongs to a job; open one on Today (T).")
    hands = in_hand(bench)
    stage = hands.stage if hands else ""
    section = hands.sections[0] if hands and len(hands.sections) == 1 else ""

    def entry(private: bool) -> Callable[[], None]:
        def written(text: str) -> None:
            if not text:
                screen.say("Nothing was written.")
                return
            note = ev.NoteWritten(bench.seal(text[:2000]), stage, section, private)
            guarded(screen, lambda: screen.cart.write(rules.note_job, job.id, note))()

        return lambda: screen.sheet.open_text("Note", written)

    screen.sheet.open(
        "Note",
        [
            Line("for the shop only", entry(True), hot="s"),
            Line("for the customer too", entry(False), hot="c"),
        ],
    )


def open_amounts(screen: RunScreen) -> None:
    """What was used so far; left and right correct it."""
    job = job_in_view(screen.cart.bench, screen.chosen)
    if job is None or job.opened is None or not job.opened.plan.products:
        raise Refused("The plan of this job names no products.")
    used = job.used
    numbers: list[tuple[str, Number, float]] = []
    lines = []
    for product in sorted(job.opened.plan.products, key=lambda p: -used.get(p.id, 0.0)):
        before = round(used.get(product.id, 0.0), 1)
        step = 1.0 if product.unit in ("drops", "each") or before < 50 else 10.0
        number = Number(product.name[:18], product.unit, before, step)
        numbers.append((product.id, number, before))
        lines.append(Line(number.text, turn=number.turn, type=number.type))

    def write() -> None:
        for product_id, number, before in numbers:
            by = (number.value if number.value is not None else before) - before
            if abs(by) > 1e-9:
                event = ev.UseCorrected(product_id, round(by, 3))
                screen.cart.write(rules.note_job, job.id, event)

    last, letters = product_lists.last_use(screen, job)
    hint = "left, right or digits: what was really used   space: write it"
    title = f"Used so far{last}"
    screen.sheet.open(title, lines, hint, done=guarded(screen, write), letters=letters)


WHY_SKIPPED = ("agreed with the customer", "not there on this vehicle", "no time", "damage")


def open_skip(screen: RunScreen, chosen: Move | None) -> None:
    """Leaves out what is in hand, else what is chosen."""
    hands = in_hand(screen.cart.bench)
    if hands is not None:
        job_id, stage, sections = hands.job, hands.stage, hands.sections
    elif chosen is not None and chosen.sections:
        job_id, stage, sections = chosen.job, chosen.stage, chosen.sections
    else:
        raise Refused("Choose a move with up and down first.")
    job = screen.cart.bench.jobs[job_id]
    rest = tuple(s.name for s in job.of(stage) if s.state in ("todo", "held", "waiting"))
    where = place_text(job, stage, sections)
    lines = []
    for why in WHY_SKIPPED:

        def take(why: str = why) -> None:
            screen.cart.write(changes.skip, job_id, stage, sections, why)

        lines.append(Line(why, guarded(screen, take)))
    if rest and rest != sections:

        def take_rest() -> None:
            screen.cart.write(changes.skip, job_id, stage, rest, "rest of the stage left out")

        lines.append(Line(f"all {len(rest)} that are left of {stage}", guarded(screen, take_rest)))
    screen.sheet.open(f"Leave out {where} ({stage}) because", lines)


def open_redo(screen: RunScreen, chosen: Move | None) -> None:
    """Opens a finished or skipped section again, the newest first."""
    job = job_in_view(screen.cart.bench, chosen)
    if job is None:
        raise Refused("No job is open.")
    over = [s for s in job.sections.values() if s.state in ("done", "skipped")]
    if not over:
        raise Refused("Nothing is done or skipped yet.")
    over.sort(key=lambda s: -(s.finished_us or 0))
    lines = []
    for section in over[:30]:

        def take(stage: str = section.stage, name: str = section.name) -> None:
            screen.cart.write(changes.redo, job.id, stage, (name,), "done again")

        lines.append(
            Line(f"{section.name} ({section.stage}), {section.state}", guarded(screen, take))
        )
    screen.sheet.open("Do again from the first step", lines)


def halves(job: Job, stage: str, section: str) -> tuple[str, str]:
    """Names for the two halves of a section that the stage does not have yet."""
    for first, second in (("left", "right"), ("front", "rear"), ("upper", "lower")):
        names = (f"{section} {first}", f"{section} {second}")
        if all((stage, name) not in job.sections for name in names):
            return names
    return (f"{section} 1", f"{section} 2")


def open_split(screen: RunScreen, chosen: Move | None) -> None:
    """Cuts untouched sections of the stage in two."""
    job = job_in_view(screen.cart.bench, chosen)
    stage = chosen.stage if chosen is not None else ""
    hands = in_hand(screen.cart.bench)
    if hands is not None:
        stage = hands.stage
    if job is None or not stage:
        raise Refused("Choose a stage with up and down first.")
    free = [s.name for s in job.of(stage) if s.untouched]
    if not free:
        raise Refused(f"No section of {stage} is untouched; only those can be cut.")

    def cut(names: list[str]) -> Callable[[], None]:
        def press() -> None:
            cuts = {name: halves(job, stage, name) for name in names}
            screen.cart.write(changes.split_several, job.id, stage, cuts)

        return guarded(screen, press)

    lines = [Line(name, cut([name])) for name in free]
    if len(free) > 1:
        lines.insert(0, Line(f"all {len(free)} that are left", cut(free)))
    screen.sheet.open(f"Cut in two ({stage})", lines)


def open_add(screen: RunScreen, chosen: Move | None) -> None:
    """Adds a section to the stage, or a stage of one step behind it."""
    job = job_in_view(screen.cart.bench, chosen)
    if job is None:
        raise Refused("No job is open; T, then +, opens one.")
    stage = chosen.stage if chosen is not None and chosen.stage else job.stages[-1].name
    hands = in_hand(screen.cart.bench)
    if hands is not None:
        stage = hands.stage

    def section(name: str) -> None:
        guarded(screen, lambda: screen.cart.write(changes.add_section, job.id, stage, name))()

    def new_stage(name: str) -> None:
        added = Stage(name, ("whole vehicle",), (Work(name.lower() or "work"),), press="stage")
        guarded(screen, lambda: screen.cart.write(changes.add_stage, job.id, added, stage))()

    screen.sheet.open(
        "Add",
        [
            Line(
                f"a section to {stage}",
                lambda: screen.sheet.open_text(f"Section of {stage}", section),
                hot="s",
            ),
            Line(
                f"a stage behind {stage}",
                lambda: screen.sheet.open_text("Name of the stage", new_stage),
                hot="t",
            ),
        ],
    )
