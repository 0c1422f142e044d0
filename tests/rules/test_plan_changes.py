"""The plan of a job otherwise: what may change, when, and what each refusal says."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.turn import Turn
from cartclock.engine.plan.plan import HighSpot, Stage
from cartclock.engine.rules import plan_changes
from cartclock.engine.trouble import Refused
from tests.kit.book import JOB, Book, opened
from tests.kit.plans import COAT, DRY_CARE, FALLOUT, LEAVES, POLISH, opening_told
from tests.kit.samples import OF_THE_LABEL, QUICKER
from tests.kit.sentences import raised_at, raising_lines

A = "bonnet left"
REMEDY = replace(COAT, high_spot=(HighSpot("polish out", None, ("Polish",)),))


def test_a_stage_is_revised_and_moved() -> None:
    book = opened(COAT, FALLOUT, on=False)
    assert book.do(1, plan_changes.revise_stage, JOB, COAT, OF_THE_LABEL, "label of the pack") == [
        ev.StageRevised(COAT, OF_THE_LABEL, "label of the pack")
    ]
    assert book.do(2, plan_changes.move_stage, JOB, "Coat", "Fallout") == [
        ev.StageMoved("Coat", "Fallout")
    ]
    assert book.do(3, plan_changes.move_stage, JOB, "Coat", "") == [ev.StageMoved("Coat", "")]
    assert book.odd() == []


def test_marks_change_while_the_stage_is_in_hand() -> None:
    book = opened(COAT)
    book.press(5, ev.WorkStarted("Coat", (A,), Turn()))
    book.do(6, plan_changes.revise_stage, JOB, COAT, OF_THE_LABEL)
    assert book.odd() == []


def test_the_customer_is_told_otherwise_by_two_rules() -> None:
    book = Book()
    book.press(0, opening_told(COAT))
    care, handover = replace(DRY_CARE, until="PT24H"), replace(LEAVES, source="label of the pack")
    assert book.do(1, plan_changes.revise_aftercare, JOB, DRY_CARE, care) == [
        ev.AftercareRevised(DRY_CARE, care)
    ]
    assert book.do(2, plan_changes.revise_handover, JOB, LEAVES, handover) == [
        ev.HandoverRevised(LEAVES, handover)
    ]
    assert book.odd() == []


def _revise(was: Stage, stage: Stage) -> Callable[[Book], object]:
    return lambda book: plan_changes.revise_stage(book.scene(9), JOB, was, stage)


def _move(stage: str, after: str) -> Callable[[Book], object]:
    return lambda book: plan_changes.move_stage(book.scene(9), JOB, stage, after)


def _tell(rule: Callable[..., object], was: object, now: object) -> Callable[[Book], object]:
    return lambda book: rule(book.scene(9), JOB, was, now)


CARE, LATER = replace(DRY_CARE, until="PT24H"), replace(LEAVES, not_before="PT24H")
THERE = "Coat stands there already."
CASES: list[tuple[Callable[[Book], object], str]] = [
    (_revise(QUICKER, COAT), "Coat was changed meanwhile; look at it again."),
    (_revise(COAT, COAT), "Nothing of Coat is otherwise."),
    (
        _revise(COAT, replace(COAT, steps=COAT.steps[1:])),
        "A stage begins and ends with a step done by hand, and has no two waits in a row.",
    ),
    (
        _revise(FALLOUT, replace(FALLOUT, steps=FALLOUT.steps[:1])),
        "Fallout was begun: its steps and layers stay. Minutes, amounts and windows can be "
        "changed, and a stage can be added behind it.",
    ),
    (_move("Coat", "Polish"), THERE),
    (_move("Coat", "Coat"), THERE),
    (_move("Fallout", ""), "Fallout stands there already."),
    (_move("Coat", "Nowhere"), "There is no stage Nowhere."),
    (
        _move("Polish", "Sealed"),
        "Polish stays in front of Sealed, whose remedy for a high spot does it again.",
    ),
    (
        _move("Sealed", ""),
        "Polish stays in front of Sealed, whose remedy for a high spot does it again.",
    ),
    (
        _tell(plan_changes.revise_aftercare, CARE, DRY_CARE),
        "That line was changed meanwhile; look at it again.",
    ),
    (
        _tell(plan_changes.revise_aftercare, DRY_CARE, DRY_CARE),
        "Nothing of that line is otherwise.",
    ),
    (
        _tell(plan_changes.revise_aftercare, DRY_CARE, replace(DRY_CARE, until="PT1000H")),
        "Write 1 to 999.",
    ),
    (
        _tell(plan_changes.revise_handover, LATER, LEAVES),
        "The hand-over was changed meanwhile; look at it again.",
    ),
    (
        _tell(plan_changes.revise_handover, LEAVES, LEAVES),
        "Nothing of the hand-over is otherwise.",
    ),
    (
        _tell(plan_changes.revise_handover, LEAVES, replace(LEAVES, not_before="PT0H")),
        "Write 1 to 999.",
    ),
]


def begun() -> Book:
    book = Book()
    told = opening_told(FALLOUT, POLISH, COAT, replace(REMEDY, name="Sealed"))
    book.press(0, told, ev.ClockedOn("carport"))
    book.press(5, ev.WorkStarted("Fallout", ("left",), Turn()))
    return book


@pytest.mark.parametrize(("press", "sentence"), CASES, ids=[case[1] for case in CASES])
def test_sentence(press: Callable[[Book], object], sentence: str) -> None:
    with pytest.raises(Refused) as found:
        press(begun())
    assert str(found.value) == sentence


def test_every_sentence_was_reached() -> None:
    reached = set()
    for press, _sentence in CASES:
        with pytest.raises(Refused) as found:
            press(begun())
        reached.add(raised_at(plan_changes, found.value))
    assert raising_lines(plan_changes).keys() <= reached
