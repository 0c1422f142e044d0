"""Pads and towels: counted by hand beside a stage of five sections, offered, and to be washed."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.now.be_here_by import be_here_by
from cartclock.engine.plan.plan import Wear, Work
from cartclock.engine.products.worn import WORN, all_worn, to_wash
from cartclock.engine.rules import rules
from cartclock.engine.rules.fresh import take_fresh
from cartclock.engine.trouble import Refused
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import SOFT_PAD, WEARING, WORN_COAT

PAD = ((SOFT_PAD.kind, SOFT_PAD.name),)


def work(book: Book, at_s: float, section: str, steps: int = 3, worker: str = "me") -> None:
    """The first steps of a section, one second each."""
    for step in range(steps):
        turn = Turn(1, 1, step)
        book.press(at_s + step, ev.WorkStarted("Polish", (section,), turn), worker=worker)
        book.press(at_s + step + 1, ev.StepFinished("Polish", (section,), turn), worker=worker)


def counts(book: Book, at_s: float, worker: str = "me") -> list[tuple[str, int, int]]:
    """(name, sections on the one in use, laid aside) for each."""
    found = all_worn(book.job(), book.scene(at_s, worker).on)
    return [(one.wear.name, one.sections, one.changed) for one in found]


def line(book: Book, at_s: float, worker: str = "me") -> str:
    move = book.moves(at_s, worker)[0]
    return move.say if move.act == "change" else f"{move.say} {move.sections[0]}"


def test_a_section_counts_once_and_each_worker_has_their_own() -> None:
    book = opened(WEARING)
    book.press(0, ev.ClockedOn(), worker="mate")
    assert counts(book, 1) == [("soft pad", 0, 0), ("short towel", 0, 0)]
    work(book, 10, "bonnet")
    work(book, 20, "roof", worker="mate")
    # The section in hand is on the pad already, and not yet on the towel.
    book.press(30, ev.WorkStarted("Polish", ("door",), Turn()))
    assert counts(book, 31) == [("soft pad", 2, 0), ("short towel", 1, 0)]
    assert counts(book, 31, "mate") == [("soft pad", 1, 0), ("short towel", 1, 0)]
    assert book.do(31, take_fresh, JOB, "Polish", PAD) == [
        ev.FreshTaken("Polish", "pad", "soft pad", 2)
    ]
    # In the middle of a section: that one goes on with the fresh one.
    assert counts(book, 32) == [("soft pad", 1, 1), ("short towel", 1, 0)]
    assert counts(book, 32, "mate") == [("soft pad", 1, 0), ("short towel", 1, 0)]


def test_it_is_offered_between_two_sections_and_not_within_one() -> None:
    book = opened(WEARING)
    work(book, 10, "bonnet")
    work(book, 20, "roof", steps=2)
    assert line(book, 25) == "inspect roof"
    book.press(26, ev.WorkStarted("Polish", ("roof",), Turn(1, 1, 2)))
    # What is in hand is reckoned as finished: the next press offers it.
    assert line(book, 27) == "change pad: soft pad, 2 sections"
    book.press(28, ev.StepFinished("Polish", ("roof",), Turn(1, 1, 2)))
    move = book.moves(29)[1]
    assert (move.act, move.sections) == ("take up", ("door",))
    # Taken up past the offer: it is offered again before the next section.
    book.do(29, rules.take_up, move)
    book.press(30, ev.StepFinished("Polish", ("door",), Turn()))
    assert line(book, 31) == "wipe door"
    for step in (1, 2):
        book.press(30 + step, ev.WorkStarted("Polish", ("door",), Turn(1, 1, step)))
        book.press(31 + step, ev.StepFinished("Polish", ("door",), Turn(1, 1, step)))
    assert line(book, 34) == "change pad: soft pad, 3 sections"
    book.do(35, take_fresh, JOB, "Polish", PAD)
    assert line(book, 36) == "polish wing"


def test_what_was_gone_on_with_is_offered_after_as_many_sections_more() -> None:
    towel = Wear("towel", "short towel", 3)
    steps = (Work("polish", 20.0, wears=(SOFT_PAD,)), Work("wipe", 2.0, wears=(towel,)))
    book = opened(replace(WEARING, steps=steps))
    offered = []
    for at_s, section in ((10, "bonnet"), (20, "roof"), (30, "door"), (40, "wing")):
        work(book, at_s, section, steps=2)
        first, behind = book.moves(at_s + 5)[:2]
        if first.act == "change":
            offered.append(first.say)
            book.do(at_s + 5, rules.take_up, behind, {WORN: "went on"})
            book.press(at_s + 6, ev.WorkPutDown("Polish", behind.sections, Turn()))
    # What is said of the pad is not said of the towel, which is not due then.
    assert offered == [
        "change pad: soft pad, 2 sections",
        "change towel: short towel, 3 sections",
        "change pad: soft pad, 4 sections",
    ]


def test_pad_and_towel_are_one_move() -> None:
    book = opened(WEARING)
    for at_s, section in ((10, "bonnet"), (20, "roof"), (30, "door"), (40, "wing")):
        work(book, at_s, section)
    assert line(book, 50) == "change pad and towel: soft pad, 4 sections; short towel, 4 sections"
    both = (*PAD, ("towel", "short towel"))
    assert [e.sections for e in book.do(51, take_fresh, JOB, "Polish", both)] == [4, 4]  # type: ignore[attr-defined]
    assert line(book, 52) == "polish boot"


def test_never_while_a_film_is_in_play() -> None:
    book = opened(WORN_COAT)
    for at_s, section in ((0, "bonnet"), (20, "roof")):
        book.press(at_s, ev.WorkStarted("Coat", (section,), Turn()))
        book.press(at_s + 10, ev.StepFinished("Coat", (section,), Turn(), Marks(60, 100, 300)))
    level = Turn(1, 1, 2)
    book.press(80, ev.WorkStarted("Coat", ("bonnet",), level))
    book.press(90, ev.StepFinished("Coat", ("bonnet",), level))
    assert "change" not in {move.act for move in book.moves(91)}
    book.press(95, ev.WorkStarted("Coat", ("roof",), level))
    # With the last film levelled nothing is in play, and the next one is laid with a fresh towel.
    assert line(book, 96) == "change towel: long towel, 2 sections"


def test_a_new_shift_begins_with_clean_ones_and_the_old_one_says_what_to_wash() -> None:
    book = opened(WEARING)
    assert to_wash([book.job()], book.scene(5).on) == ""
    work(book, 10, "bonnet")
    book.do(20, take_fresh, JOB, "Polish", PAD)
    work(book, 30, "roof")
    told = be_here_by({JOB: book.job()}, book.scene(40).on, None, us(40))
    assert told == ("To wash: 2 pads, 1 towel.",)
    book.press(50, ev.ClockedOff())
    book.press(60, ev.ClockedOn())
    assert counts(book, 61) == [("soft pad", 0, 0), ("short towel", 0, 0)]


@pytest.mark.parametrize(
    ("stage", "taken", "sentence"),
    [
        ("Polish", (), "Name the pad or towel that is fresh."),
        ("Polish", (("towel", "soft pad"),), "Polish wears no towel called soft pad."),
        ("Wax", PAD, "There is no stage Wax."),
    ],
)
def test_what_is_not_worn_is_refused(stage: str, taken: tuple[object, ...], sentence: str) -> None:
    with pytest.raises(Refused, match=sentence):
        opened(WEARING).do(10, take_fresh, JOB, stage, taken)
