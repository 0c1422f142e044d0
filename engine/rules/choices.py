"""What a press can be about: each function answers what there is to choose from, or refuses.

They stand in front of the rules. A list of what can be left out is opened on them; what is
picked from it is given to its rule, which looks again.
"""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches
from typing import TypeVar

from cartclock.engine.dates import local
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.section import Section
from cartclock.engine.facts.shift import Hands
from cartclock.engine.films.undone import undone
from cartclock.engine.hours.questions import Question
from cartclock.engine.now.key_line import KeyLine
from cartclock.engine.plan.plan import Product
from cartclock.engine.rules.typed_time import time_ahead
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused

T = TypeVar("T")

# Why there is nothing to choose from.
NO_JOB = "No job is open; T, then +, opens one."
NO_JOB_OF_REDO = "No job is open."
NO_JOB_IN_VIEW = "No job in view: open one on Today (T)."
NO_JOB_TO_NOTE = "A note belongs to a job; open one on Today (T)."
NO_MOVE = "There is nothing to take up."
NO_PRODUCT = "There is no product yet."
NO_PRODUCTS = "The plan of this job names no products."
NO_QUESTION = "There are no questions about today."
NO_STAGE = "Choose a stage with up and down first."
NOTHING_MIXED = "This step uses nothing that is mixed."
NOTHING_PRESSED = "Nothing was pressed yet."
# What a key says that does not count because its line became another by itself.
PRESS_AGAIN = "Changed: press again."


def some(found: T | None, none: str) -> T:
    """What was found, as it is; refuses with the sentence `none` if it is None or empty."""
    if not found:
        raise Refused(none)
    return found


# Sections.


def to_skip(hands: Hands | None, chosen: Move | None) -> tuple[str, str, tuple[str, ...]]:
    """Job, stage and sections to be left out: what is in hand, else what is chosen."""
    if hands is not None:
        return hands.job, hands.stage, hands.sections
    if chosen is None or not chosen.sections:
        raise Refused("Choose a move with up and down first.")
    return chosen.job, chosen.stage, chosen.sections


def to_redo(job: Job) -> list[Section]:
    """Sections that are done or left out, or have a layer on them, the newest first."""
    over = [
        section
        for section in job.sections.values()
        if section.state in ("done", "left out") or section.between_layers
    ]
    return sorted(some(over, "Nothing is done or left out yet."), key=_newest)


def _newest(section: Section) -> int:
    return -(section.finished_us or 0)


def to_split(job: Job, stage: str) -> list[str]:
    """Names of the sections of a stage that can be cut, in order."""
    free = [section.name for section in job.of(stage) if section.untouched]
    return some(free, f"No section of {stage} is untouched; only those can be cut.")


def together(job: Job, stage: str, sections: Sequence[Section]) -> Move:
    """Taking up those of these sections of a stage that can be, all in one press."""
    free = [section for section in sections if section.state in ("todo", "held", "waiting")]
    turn = some(free, "None of these can be taken up.")[0].turn
    if any(section.turn != turn for section in free):
        raise Refused("These are not at the same step; take them up one by one.")
    work = job.work(stage, turn)
    names = tuple(section.name for section in free)
    minutes = job.stage(stage).minutes_of(work, names)
    return Move("take up", job.id, stage, names, turn, work.say, minutes)


def one_stage(sections: Sequence[Section]) -> str:
    """The stage in which all of these sections lie; at least one is given."""
    stages = {section.stage for section in sections}
    if len(stages) > 1:
        raise Refused("The marked sections lie in several stages; mark one stage only.")
    return stages.pop()


def named_section(job: Job, name: str) -> str:
    """The name of a section of any stage, as it was given; "" for none."""
    names = dict.fromkeys(section for stage in job.order for section in job.order[stage])
    if name and name not in names:
        near = get_close_matches(name, names, 1)
        right = f"did you mean {near[0]!r}?" if near else f"there are {', '.join(names)}."
        raise Refused(f"The job has no section {name!r}; {right}")
    return name


def trial_spots(job: Job) -> list[tuple[str, str]]:
    """Stage and section of every test spot of the plan."""
    spots = [(s.name, one.name) for s in job.stages if s.trial for one in job.of(s.name)]
    return some(spots, "This plan has no trial stage; trial = true makes one of a stage.")


# Moves, products, presses.


def not_news(line: KeyLine | None, now_us: Instant) -> None:
    """Refuses a key whose line became another by itself a moment ago: it is read first."""
    if line is not None and line.is_news(now_us):
        raise Refused(PRESS_AGAIN)


def move_of(moves: Sequence[Move], job_id: str) -> Move:
    """The best of these moves that is the job's."""
    first = next((move for move in moves if move.job == job_id), None)
    return some(first, "Nothing of this job can be taken up now; are you on the clock (I)?")


def to_be_done_first(moves: Sequence[Move], job: Job, stage: str) -> Move | None:
    """The best of these moves that does what is not done in front of a stage; None if none does:
    it is in the hands of somebody else.
    """
    names = {one.stage for one in undone(job, stage)}
    return next(
        (m for m in moves if m.act == "take up" and m.job == job.id and m.stage in names), None
    )


def products_of(job: Job) -> tuple[Product, ...]:
    """The products of a job's plan."""
    return some(job.opened.plan.products, NO_PRODUCTS)


def product_of(job: Job, product_id: str) -> Product:
    """A product of a job's plan."""
    found = job.opened.plan.product(product_id)
    return some(found, "The plan of this job has no such product.")


def to_correct(press: Sequence[Row]) -> Row:
    """The first row of a press, if a press can be corrected that does what this one did."""
    if isinstance(press[0].event, ev.PressStruck | ev.PressRestored):
        raise Refused("Choose the press that was struck, to restore it.")
    return press[0]


def one_then_another(question: Question, text: str, zone: str) -> tuple[Question, Question]:
    """The two parts of a stretch that was first one thing and then another.

    text: when the second began, a time of day typed on the clock of `zone`.
    """
    at_us = time_ahead(text, question.from_us, zone, rolls=True)
    if not question.from_us < at_us < question.to_us:
        ends = (f"{local(end_us, zone):%H:%M}" for end_us in (question.from_us, question.to_us))
        raise Refused(f"{local(at_us, zone):%H:%M} is not between {' and '.join(ends)}.")
    guess = "rest" if question.kind == "break" else question.guess
    first, second = (
        Question("gap", a_us, b_us, question.was, guess)
        for a_us, b_us in ((question.from_us, at_us), (at_us, question.to_us))
    )
    return first, second
