"""A stage that is otherwise from a press on; what was laid keeps its own."""

from __future__ import annotations

import pytest
from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.after.aftercare import cares
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import job_after
from cartclock.engine.facts.rows import Odd
from cartclock.engine.facts.stage_changes import changes_text, differences
from cartclock.engine.facts.standing import standing_plan
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.films.cure import curings, looks
from cartclock.engine.hours.usual import timed
from cartclock.engine.plan.plan import (
    Check,
    Condition,
    Cure,
    Gap,
    Handover,
    LabelRow,
    Product,
    Stage,
    Tool,
    Use,
    Wait,
    Work,
)
from cartclock.engine.record.applied import asked
from tests.kit.book import JOB, Book, opened, row_at, us, without_odd
from tests.kit.plans import COAT, DRY_CARE, FALLOUT, LEAVES, POLISH, WIPE, opening_told
from tests.kit.samples import FEWER, OF_THE_LABEL, QUICKER

A, B, ROOF = "bonnet left", "bonnet right", "roof"
ONE = Stage(
    "Seal",
    ("door", "wing"),
    (Work("apply", 2.0), Wait("flash", 60, 60, 600, example=True), Work("buff", 1.0)),
    cure=Cure(3600, example=True),
    check=Check(600, 1200, "section"),
)
LATER = replace(
    ONE,
    steps=(ONE.steps[0], Wait("flash", 120, 120, 900), ONE.steps[2]),
    cure=Cure(7200),
    check=Check(60, 120, "section"),
)


def sealed(book: Book, at_s: float, name: str) -> None:
    """The whole of a section within 100 seconds, its flash a minute long."""
    for second, step, marks in ((0, 0, Marks(60, 60, 600)), (70, 2, None)):
        book.press(at_s + second, ev.WorkStarted("Seal", (name,), Turn(1, 1, step)))
        book.press(at_s + second + 5, ev.StepFinished("Seal", (name,), Turn(1, 1, step), marks))


def test_what_was_laid_keeps_its_lengths_and_what_comes_has_the_new_ones() -> None:
    book = opened(ONE)
    sealed(book, 10, "door")
    book.press(200, ev.StageRevised(ONE, LATER, "label of the pack"))
    sealed(book, 300, "wing")
    job = book.job()
    assert book.odd() == [] and job.stage("Seal") == LATER
    door, wing = curings(job, "Seal", ())
    assert (door.until_us, door.example) == (us(85 + 3600), True)
    assert (wing.until_us, wing.example) == (us(375 + 7200), False)
    assert {look.sections[0]: (look.opens_us, look.closes_us) for look in looks(job)} == {
        "door": (us(85 + 600), us(85 + 1200)),
        "wing": (us(375 + 60), us(375 + 120)),
    }
    assert [job.stage_of(window).steps[1] for window in job.windows] == [
        ONE.steps[1],
        LATER.steps[1],
    ]
    assert [one.example for one in asked(job, (), us(400))] == [True, False]


CARE = replace(DRY_CARE, until="PT24H", source="label of the pack")


def test_what_the_customer_is_told_goes_by_the_label_from_then_on() -> None:
    book = Book()
    book.press(0, opening_told(COAT))
    book.press(5, ev.AftercareRevised(DRY_CARE, CARE))
    book.press(6, ev.HandoverRevised(LEAVES, replace(LEAVES, not_before="PT24H")))
    job = book.job()
    assert book.odd() == []
    assert [(care.example, care.source) for care in cares(job)] == [(False, "label of the pack")]
    assert standing_plan(job).aftercare == (CARE,)
    assert standing_plan(job).handover == Handover("PT24H", "Coat", "example")


@pytest.mark.parametrize(
    ("event", "why"),
    [
        (ev.AftercareRevised(CARE, DRY_CARE), "there is no such line of the aftercare"),
        (
            ev.AftercareRevised(DRY_CARE, replace(CARE, say="no car wash")),
            "of a line of the aftercare nothing but length and source is another",
        ),
        *(
            (
                ev.AftercareRevised(DRY_CARE, replace(CARE, until=text)),
                f"{text!r} is no length in the place of 'PT48H'",
            )
            for text in ("", "P7D", "PT0H", "PT1000H", "PT1H1M", "soon")
        ),
        (
            ev.HandoverRevised(replace(LEAVES, after="Wash"), LEAVES),
            "the plan has no such time before a hand-over",
        ),
        *(
            (ev.HandoverRevised(LEAVES, other), "nothing but the length and its source is another")
            for other in (replace(LEAVES, after="Wash"), replace(LEAVES, not_before="P1D"))
        ),
    ],
)
def test_what_cannot_be_told_the_customer_is_set_aside(event: Struct, why: str) -> None:
    book = Book()
    book.press(0, opening_told(COAT))
    before = book.job()
    row = row_at(event, 9, 9)
    after, odd = job_after(before, row)
    assert odd == Odd(row, why)
    assert without_odd(after) == before


def test_what_was_measured_stands_beside_the_minutes_of_then() -> None:
    # Five seconds are measured: of much longer work they would be a slip of the finger.
    short = replace(ONE, steps=(Work("apply", 0.5), *ONE.steps[1:]))
    longer = replace(ONE, steps=(Work("apply", 1.0), *ONE.steps[1:]))
    book = opened(short)
    sealed(book, 10, "door")
    book.press(200, ev.StageRevised(short, longer))
    sealed(book, 300, "wing")
    measured = timed(book.job(), [book.shift()])
    assert [one.planned_s for one in measured if one.step[1] == "apply"] == [30.0, 60.0]


def test_a_film_in_play_keeps_its_window() -> None:
    book = opened(ONE)
    book.press(10, ev.WorkStarted("Seal", ("door",), Turn()))
    book.press(20, ev.StepFinished("Seal", ("door",), Turn(), Marks(60, 60, 600)))
    (before,) = book.job().running
    book.press(30, ev.StageRevised(ONE, LATER))
    (after,) = book.job().running
    assert after == before and book.job().stage_of(after) == ONE


def test_the_same_lengths_from_the_label_are_the_label_s_for_what_lies_there_too() -> None:
    book = opened(ONE)
    sealed(book, 10, "door")
    same = replace(
        ONE,
        steps=(ONE.steps[0], Wait("flash", 60, 60, 600), ONE.steps[2]),
        cure=Cure(3600),
    )
    book.press(200, ev.StageRevised(ONE, same, "label of the pack"))
    job = book.job()
    assert not curings(job, "Seal", ())[0].example
    assert [one.example for one in asked(job, (), us(400))] == [False]


def test_steps_of_a_stage_change_until_it_is_begun() -> None:
    book = opened(COAT)
    book.press(5, ev.StageRevised(COAT, FEWER))
    assert len(book.job().stage("Coat").steps) == 3
    book.press(10, ev.WorkStarted("Coat", (A,), Turn()))
    job, odd = job_after(book.job(), row_at(ev.StageRevised(FEWER, COAT), 20, 99))
    assert odd is not None and odd.why == "the stage Coat was begun"
    assert without_odd(job) == book.job()


@pytest.mark.parametrize(
    ("event", "why"),
    [
        (ev.StageRevised(QUICKER, OF_THE_LABEL), "the stage Coat is another by now"),
        (ev.StageRevised(WIPE, WIPE), "there is no stage Wipe"),
        (ev.StageRevised(COAT, replace(COAT, name="Glass")), "the stage Coat has other sections"),
        (ev.StageRevised(COAT, replace(COAT, sections=(A,))), "the stage Coat has other sections"),
        (
            ev.StageRevised(COAT, replace(COAT, steps=COAT.steps[:2])),
            "a stage begins and ends with work and has no two waits in a row",
        ),
        (
            ev.StageRevised(COAT, replace(COAT, layers=0)),
            "a stage begins and ends with work and has no two waits in a row",
        ),
        (ev.StageMoved("Nowhere"), "there is no stage Nowhere"),
        (ev.StageMoved("Coat", "Nowhere"), "there is no stage Nowhere"),
        (ev.StageMoved("Coat", "Coat"), "a stage cannot be behind itself"),
    ],
)
def test_what_cannot_be_changes_nothing(event: object, why: str) -> None:
    before = opened(COAT, FALLOUT).job()
    after, odd = job_after(before, row_at(event, 10, 99))
    assert odd is not None and odd.why == why
    assert without_odd(after) == before


def test_the_fold_before_is_another() -> None:
    before = opened(ONE).job()
    kept = before.stages.copy()
    after, _odd = job_after(before, row_at(ev.StageRevised(ONE, LATER), 10, 9))
    assert before.stages == kept and before.earlier == {}
    assert after is not None and after.earlier == {"Seal": [ONE]}


def test_a_stage_moves_behind_another_or_to_the_front() -> None:
    book = opened(FALLOUT, COAT, POLISH)
    book.press(5, ev.StageMoved("Fallout", "Polish"))
    assert [stage.name for stage in book.job().stages] == ["Coat", "Polish", "Fallout"]
    book.press(6, ev.StageMoved("Polish"))
    assert [stage.name for stage in book.job().stages] == ["Polish", "Coat", "Fallout"]


def test_products_and_tools_come_along_with_a_stage() -> None:
    book = opened(COAT)
    other = Product("coat", "Another coating")
    book.press(5, ev.StageAdded(WIPE, "", (Product("wipe", "Wipe"), other), (Tool("lamp"),)))
    plan = book.job().opened.plan
    assert plan.product("wipe") == Product("wipe", "Wipe")
    assert plan.product("coat") != other and [tool.id for tool in plan.tools] == ["lamp"]
    assert book.folded().jobs[JOB].opened.plan == plan


def test_what_is_otherwise_is_told_from_what_to_what() -> None:
    label = (LabelRow(60, 180, 20.0, 50.0),)
    after = replace(
        COAT,
        effort="heavy",
        steps=(
            Work("apply", 2.0, (Use("coat", 12.0, 15.0), Use("wipe", 3.0))),
            Wait("flash", 60, 104, 300, "solvent", label, True),
            Work("level", 2.0, tool="polisher"),
            COAT.steps[3],
        ),
        gap=Gap(3600, 7200, 43200),
        cure=Cure(7200),
        condition=Condition("panel_c", True, 30.0, 900),
    )
    assert differences(COAT, after) == (
        "effort heavy, was moderate",
        "apply: minutes 2, was 1.5",
        "apply: coat 12, first 15, was 10, first 15",
        "apply: wipe 3, was none",
        "flash behind apply: label 1:00 to 3:00, was none",
        "flash behind apply: due 1:44, was 1:40",
        "flash behind apply: now an example",
        "level: tool polisher, was none",
        "gap: closes 12 h, was 24 h",
        "cure added",
        "condition changed",
    )
    assert differences(COAT, FEWER) == (
        "steps: apply, flash behind apply, level, before: apply, flash behind apply, level, buff",
    )
    assert differences(COAT, COAT) == ()
    assert changes_text(COAT, COAT) == "nothing"
    assert changes_text(COAT, OF_THE_LABEL) == "flash behind apply: closes 6:00, was 5:00"
    assert changes_text(COAT, QUICKER) == (
        "flash behind apply: opens 0:20, was 1:00; due 0:30, was 1:40"
    )
    cold = replace(ONE, cure=Cure(3600, 15.0, 7200))
    assert differences(ONE, cold) == (
        "cure: below 15 C, was none",
        "cure: then 2 h, was none",
        "cure: no longer an example",
    )
