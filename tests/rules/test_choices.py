"""What a press can be about and what was typed: every refusal as the worker reads it."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.shift import Hands
from cartclock.engine.facts.turn import Turn
from cartclock.engine.hours.questions import Question
from cartclock.engine.now.key_line import KeyLine
from cartclock.engine.rules import choices, typed
from cartclock.engine.trouble import Refused
from cartclock.engine.vehicle import paint
from tests.kit.book import JOB, opened, row_at, us
from tests.kit.plans import COAT, WIPE
from tests.kit.sentences import raised_at, raising_lines

A, B, ROOF = "bonnet left", "bonnet right", "roof"
UP = Move("take up", JOB, "Coat", (A,))


def job(*events: object) -> Job:
    """A coat and a wipe to do, after these events."""
    book = opened(COAT, WIPE)
    for event in events:
        book.press(10, event)  # type: ignore[arg-type]  # every event is a Struct
    return book.jobs()[JOB]


def without_products() -> Job:
    there = job()
    plan = replace(there.opened.plan, products=())
    return replace(there, opened=replace(there.opened, plan=plan))


BEGUN = ev.WorkStarted("Coat", (A,), Turn())
LEFT_OUT = ev.SectionSkipped("Coat", (A,))


def together(*events: object) -> Move:
    there = job(*events)
    return choices.together(there, "Coat", there.of("Coat"))


# Twenty minutes with nothing in hand, from 14:13:20.
STRETCH = Question("nothing", us(0), us(1200), "nothing in hand", "not known")


Case = tuple[Callable[[], object], str]
OF_CHOICES: list[Case] = [
    (lambda: choices.some((), choices.NO_PRODUCT), "There is no product yet."),
    (lambda: choices.to_skip(None, None), "Choose a move with up and down first."),
    (lambda: choices.to_skip(None, Move("rest")), "Choose a move with up and down first."),
    (
        lambda: choices.not_news(KeyLine(UP, news_until_us=us(3)), us(2)),
        "Changed: press again.",
    ),
    (
        lambda: choices.one_then_another(STRETCH, "14:13", "UTC"),
        "14:13 is not between 14:13 and 14:33.",
    ),
    (lambda: choices.to_redo(job()), "Nothing is done or left out yet."),
    (
        lambda: choices.to_split(job(ev.SectionSkipped("Wipe", ("whole car",))), "Wipe"),
        "No section of Wipe is untouched; only those can be cut.",
    ),
    (
        lambda: together(ev.SectionSkipped("Coat", (A, B, ROOF))),
        "None of these can be taken up.",
    ),
    (
        lambda: together(LEFT_OUT, ev.SectionReopened("Coat", (A,), Turn(2, 1, 0))),
        "These are not at the same step; take them up one by one.",
    ),
    (
        lambda: choices.one_stage(list(job().sections.values())),
        "The marked sections lie in several stages; mark one stage only.",
    ),
    (
        lambda: choices.named_section(job(), "rof"),
        "The job has no section 'rof'; did you mean 'roof'?",
    ),
    (
        lambda: choices.named_section(job(), "engine bay"),
        "The job has no section 'engine bay'; there are bonnet left, bonnet right, roof, "
        "whole car.",
    ),
    (
        lambda: choices.trial_spots(job()),
        "This plan has no trial stage; trial = true makes one of a stage.",
    ),
    (
        lambda: choices.move_of((UP,), "job-2"),
        "Nothing of this job can be taken up now; are you on the clock (I)?",
    ),
    (
        lambda: choices.product_of(job(), "wax"),
        "The plan of this job has no such product.",
    ),
    (
        lambda: choices.products_of(without_products()),
        "The plan of this job names no products.",
    ),
    (
        lambda: choices.to_correct([row_at(ev.PressStruck(3))]),
        "Choose the press that was struck, to restore it.",
    ),
]
ODOMETER = "An odometer is read in whole numbers, like 84210 or 84210 mi."
OF_TYPED: list[Case] = [
    (lambda: typed.number("left", ""), "left: nothing was typed; type it like 500."),
    (lambda: typed.number("left", ".-"), "left: .- is no number; type it like 500."),
    *(
        (lambda text=text: typed.odometer(text, "km"), ODOMETER)  # type: ignore[misc]  # a default binds the text
        for text in ("84.5", "-3", "km", "٣٤", "84210 miles")
    ),
    (lambda: typed.entered("opens", None), "opens: enter a number, 0 or more."),
    (lambda: typed.entered("opens", -1.0), "opens: enter a number, 0 or more."),
    (lambda: typed.vehicle(""), "A job needs a word for the vehicle, like: bottle green estate."),
    (lambda: typed.vehicle("a" * 72), "60 letters at most: take 12 out of these 72."),
    (lambda: typed.note("a" * 2001), "2000 letters at most: take 1 out of these 2001."),
    (lambda: typed.price("1.250"), "1.250 could be 1250 or 1.25; write one of them."),
    (lambda: typed.refuse_price("five"), "'five' is not a price; write digits like 18.50."),
    (
        lambda: typed.name("a" * 101),
        "That has 1 to 100 characters and no control characters.",
    ),
    (
        lambda: typed.helper_name("me", "me"),
        "Whoever helps needs a name, another one than me.",
    ),
]
OF_PAINT: list[Case] = [
    (
        lambda: paint.build_read("roof", "before", None, None),
        "Type the lowest and the highest; N if it is not measurable.",
    ),
    (
        lambda: paint.gloss_read("roof", "before", None, 60),
        "Type the gloss; N if it is not measurable.",
    ),
]
ALL = OF_CHOICES + OF_TYPED + OF_PAINT


def refused(case: Case) -> Refused:
    with pytest.raises(Refused) as caught:
        case[0]()
    return caught.value


@pytest.mark.parametrize("case", ALL, ids=[case[1] for case in ALL])
def test_sentence(case: Case) -> None:
    assert str(refused(case)) == case[1]


@pytest.mark.parametrize(
    ("module", "cases"), [(choices, OF_CHOICES), (typed, OF_TYPED)], ids=["choices", "typed"]
)
def test_every_sentence_was_reached(module: object, cases: list[Case]) -> None:
    reached = {raised_at(module, refused(case)) for case in cases}  # type: ignore[arg-type]  # a module
    assert reached - {None} == set(raising_lines(module))  # type: ignore[arg-type]  # a module


def test_what_is_in_hand_is_skipped_before_what_is_chosen() -> None:
    hands = Hands(JOB, "Coat", (B,), Turn())
    assert choices.to_skip(hands, UP) == (JOB, "Coat", (B,))
    assert choices.to_skip(None, UP) == (JOB, "Coat", (A,))


def test_the_newest_is_done_again_first() -> None:
    book = opened(WIPE, replace(WIPE, name="Wax"))
    for at_s, stage in ((10, "Wipe"), (20, "Wax")):
        book.press(at_s, ev.WorkStarted(stage, ("whole car",), Turn()))
        book.press(at_s + 5, ev.StepFinished(stage, ("whole car",), Turn()))
    found = choices.to_redo(book.jobs()[JOB])
    assert [section.stage for section in found] == ["Wax", "Wipe"]


def test_what_can_be_taken_up_together_is_one_move() -> None:
    move = together(LEFT_OUT)
    assert (move.sections, move.say, move.minutes) == ((B, ROOF), "apply", 3.0)


def test_any_other_press_can_be_corrected() -> None:
    row: Row = row_at(BEGUN)
    assert choices.to_correct([row]) is row


@pytest.mark.parametrize(
    ("text", "usual", "reading"),
    [
        ("84210", "km", (84210, "km")),
        ("84 210 mi", "km", (84210, "mi")),
        ("84210KM", "mi", (84210, "km")),
        ("52320", "mi", (52320, "mi")),
    ],
)
def test_an_odometer_is_read(text: str, usual: str, reading: tuple[int, str]) -> None:
    assert typed.odometer(text, usual) == ev.OdometerRead(*reading)  # type: ignore[arg-type]  # "km" or "mi"


def test_one_end_of_a_thickness_stands_for_both() -> None:
    assert paint.build_read("roof", "after", None, 98.0) == ev.PaintRead(
        "roof", "after", 98.0, 98.0
    )
    both = paint.build_read("roof", "after", 98.0, 104.0)
    assert both == ev.PaintRead("roof", "after", 98.0, 104.0)
