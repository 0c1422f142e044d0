"""What skip, redo, cut, add and fill in write, and how the filled time is shared."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import Draft
from cartclock.engine.facts.section import Stint
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.rules import changes, rules
from cartclock.engine.trouble import Asks
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import COAT, FALLOUT, LONG_COAT, PANELS, POLISH, WIPE

A, B, ROOF = "bonnet left", "bonnet right", "roof"
GAP = Marks(3600, 7200, 86400)


def in_hand(*names: str) -> Book:
    """From 10 s the coat is applied on these."""
    book = opened(COAT, POLISH)
    book.press(10, ev.WorkStarted("Coat", names, Turn()))
    return book


def test_skip_what_is_not_begun_and_what_waits() -> None:
    book = opened(COAT)
    assert book.do(5, changes.skip, JOB, "Coat", (A, B), "film") == [
        ev.SectionSkipped("Coat", (A, B), "film")
    ]
    assert {book.job().sections["Coat", name].why for name in (A, B)} == {"film"}


def test_skip_puts_down_what_is_in_this_workers_hands() -> None:
    book = in_hand(A, B)
    assert book.do(20, changes.skip, JOB, "Coat", (B, ROOF)) == [
        ev.WorkPutDown("Coat", (B,), Turn()),
        ev.SectionSkipped("Coat", (B, ROOF)),
    ]
    assert book.job().sections["Coat", A].state == "in hand"
    assert book.shift().state == "hands"
    # What is in hand of another stage stays there.
    assert book.do(21, changes.skip, JOB, "Polish", ("door",)) == [
        ev.SectionSkipped("Polish", ("door",))
    ]


def test_skip_off_the_clock() -> None:
    book = opened(COAT, on=False)
    assert book.do(5, changes.skip, JOB, "Coat", (A,)) == [ev.SectionSkipped("Coat", (A,))]


def test_redo_counts_the_pass_of_each_section() -> None:
    book = opened(COAT)
    book.do(1, changes.skip, JOB, "Coat", (A, B))
    assert book.do(2, changes.redo, JOB, "Coat", (A,), "high spot") == [
        ev.SectionReopened("Coat", (A,), Turn(2, 1, 0), "high spot")
    ]
    book.do(3, changes.skip, JOB, "Coat", (A,))
    assert book.do(4, changes.redo, JOB, "Coat", (A, B), layer=2) == [
        ev.SectionReopened("Coat", (A,), Turn(3, 2, 0)),
        ev.SectionReopened("Coat", (B,), Turn(2, 2, 0)),
    ]


def test_split_and_additions() -> None:
    book = opened(COAT)
    assert book.do(1, changes.split, JOB, "Coat", ROOF, ("roof front", "roof rear")) == [
        ev.SectionSplit("Coat", ROOF, ("roof front", "roof rear"))
    ]
    assert book.do(2, changes.add_section, JOB, "Coat", "x" * 60, "sills", A) == [
        ev.SectionAdded("Coat", "x" * 60, "sills", A)
    ]
    assert book.do(3, changes.add_stage, JOB, WIPE, "Coat") == [ev.StageAdded(WIPE, "Coat")]


# Filling in: COAT's layer takes apply 1.5, level 2 and buff 1 min, 4.5 together.


def filled(book: Book, at_s: float, *facts: Any) -> list[tuple[str, str, int, float]]:
    """(event, section, step, second) of each row but the products."""
    drafts = changes.fill_in(book.scene(at_s), JOB, *facts)
    book.press(at_s, *drafts)
    assert book.odd() == []
    return [
        (type(d.event).__name__, d.event.sections[0], d.event.turn.step, (d.at_us - us(0)) / 1e6)
        for d in drafts
        if isinstance(d.event, ev.WorkStarted | ev.StepFinished) and d.at_us is not None
    ]


def spans(book: Book) -> list[tuple[str, int, float, float]]:
    """(section, step, first touch, last touch) of what was finished."""
    return [
        (s.section, s.turn.step, (s.first_us - us(0)) / 1e6, (s.last_us - us(0)) / 1e6)
        for s in book.job().stints
    ]


def test_fill_in_shares_the_time_over_sections_and_steps() -> None:
    book = opened(COAT)
    assert filled(book, 999, "Coat", (B, A), us(100), us(640))[:4] == [
        ("WorkStarted", B, 0, 100.0),
        ("StepFinished", B, 0, 190.0),
        ("WorkStarted", B, 2, 190.0),
        ("StepFinished", B, 2, 310.0),
    ]
    assert spans(book) == [
        (B, 0, 100, 190), (B, 2, 190, 310), (B, 3, 310, 370),
        (A, 0, 370, 460), (A, 2, 460, 580), (A, 3, 580, 640),
    ]  # fmt: skip
    assert all(stint.shared for stint in book.job().stints)
    assert book.shift().state == "free"


def test_fill_in_leaves_the_gap_behind_the_layer_and_no_window_inside() -> None:
    book = opened(COAT)
    filled(book, 999, "Coat", (A,), us(100), us(370))
    job = book.job()
    assert job.windows == []
    assert [(w.kind, w.marks, w.last_us, w.turn) for w in job.running] == [
        ("gap", GAP, us(370), Turn(1, 2, 0))
    ]
    filled(book, 9999, "Coat", (A,), us(4000), us(4270))
    assert [w.kind for w in book.job().windows] == ["gap"]
    assert (book.job().running, book.job().sections["Coat", A].state) == ([], "done")


def test_fill_in_of_one_step_without_a_wait_is_done() -> None:
    book = opened(WIPE)
    assert filled(book, 99, "Wipe", ("whole car",), us(10), us(40)) == [
        ("WorkStarted", "whole car", 0, 10.0), ("StepFinished", "whole car", 0, 40.0),
    ]  # fmt: skip


def test_fill_in_goes_on_with_what_is_in_hand_from_when_it_was_begun() -> None:
    book = in_hand(A)
    assert filled(book, 999, "Coat", (B, A), us(500), us(550))[:2] == [
        ("StepFinished", A, 0, 100.0), ("WorkStarted", A, 2, 100.0),
    ]  # fmt: skip
    assert spans(book)[::3] == [(A, 0, 10, 100), (B, 0, 280, 370)]
    assert spans(book)[-1][3] == 550


def test_fill_in_begins_where_the_section_is() -> None:
    book = in_hand(A)
    book.press(20, ev.StepFinished("Coat", (A,), Turn(), Marks(60, 100, 300)))
    filled(book, 999, "Coat", (A,), us(100), us(400))
    assert spans(book) == [(A, 0, 10, 20), (A, 2, 100, 300), (A, 3, 300, 400)]
    assert book.job().windows[0].ended_us == us(100)


@pytest.mark.parametrize("names", [("door", "wing"), ("wing", "door")])
def test_fill_in_of_several_in_hand_named_in_any_order(names: tuple[str, str]) -> None:
    book = opened(replace(POLISH, steps=POLISH.steps[:1], press="stage"))
    book.press(10, ev.WorkStarted("Polish", ("door", "wing"), Turn()))
    found = filled(book, 999, "Polish", names, us(0), us(110))
    assert {section for _, section, _, _ in found} == {"door", "wing"}
    assert [(kind, at_s) for kind, _, _, at_s in found] == [
        ("StepFinished", 60.0), ("StepFinished", 110.0),
    ]  # fmt: skip
    assert book.shift().state == "free"


def test_fill_in_of_several_in_hand_with_more_than_one_step() -> None:
    """One goes through its steps while the other is held from the beginning of the stretch."""
    book = in_hand(A, B)
    drafts = changes.fill_in(book.scene(999), JOB, "Coat", (A, B), us(0), us(550))
    assert drafts[0] == Draft(ev.WorkPutDown("Coat", (B,), Turn()), JOB, us(10))
    assert isinstance(drafts[1].event, ev.StepFinished) and drafts[1].event.sections == (A,)
    filled(book, 999, "Coat", (A, B), us(0), us(550))
    assert {book.job().sections["Coat", name].state for name in (A, B)} == {"waiting"}
    assert sum(p.length_us for p in book.pieces(999) if p.kind == "hands") == 540_000_000


def test_fill_in_books_the_products() -> None:
    book = opened(FALLOUT)
    drafts = changes.fill_in(book.scene(99), JOB, "Fallout", ("left", "right"), us(10), us(40))
    used = [draft for draft in drafts if isinstance(draft.event, ev.ProductUsed)]
    # Spray 1.5 and rinse 3 min: the spray is a third of each half.
    assert used == [
        Draft(ev.ProductUsed("Fallout", (name,), Turn(), {"fallout": 60.0}), JOB, us(at_s))
        for name, at_s in (("left", 15), ("right", 30))
    ]


def test_fill_in_primes_the_first_section_as_a_press_does() -> None:
    book = opened(COAT)
    drafts = changes.fill_in(book.scene(999), JOB, "Coat", (A, B), us(0), us(540))
    booked = [d.event.amounts for d in drafts if isinstance(d.event, ev.ProductUsed)]
    pressed = opened(COAT)
    for at_s, name in ((0, A), (90, B)):
        pressed.do(at_s, rules.take_up, Move("take up", JOB, "Coat", (name,)))
    pressed.do(180, rules.put_down)
    pressed.do(181, rules.take_up, Move("take up", JOB, "Coat", (B,)))
    pressed.do(190, rules.take_up, Move("end", why="end"))
    used = [r.event.amounts for r in pressed.rows if isinstance(r.event, ev.ProductUsed)]
    assert used == [{"coat": 15.0}, {"coat": 10.0}]
    assert booked == used


def lengths(stints: list[Stint]) -> list[int]:
    return [stint.last_us - stint.first_us for stint in stints]


@settings(max_examples=60)
@given(st.integers(1, 6), st.integers(1, 4_000_000_000), st.integers(0, 3_600_000_000))
def test_filled_time_adds_up_to_the_microsecond(count: int, length_us: int, from_us: int) -> None:
    names = tuple(f"section {index}" for index in range(count))
    book = opened(replace(COAT, sections=names))
    filled(book, 9999, "Coat", names, us(0) + from_us, us(0) + from_us + length_us)
    stints = book.job().stints
    assert sum(lengths(stints)) == length_us
    assert stints[0].first_us == us(0) + from_us
    assert all(one.last_us == other.first_us for one, other in pairwise(stints))
    per_section = [sum(lengths(stints[3 * i : 3 * i + 3])) for i in range(count)]
    assert max(per_section) - min(per_section) <= 1
    hands_us = sum(p.length_us for p in book.pieces(9999) if p.kind == "hands")
    assert hands_us == length_us


# What is asked of a coat that is entered afterwards.

FINE = ev.ReadingTaken(air_c=22.0, rh=50.0, panel_c=22.0)


def asked(book: Book, at_s: float, from_s: float, to_s: float, **over: str) -> str:
    """The rule that asks; "" if none does."""
    try:
        changes.fill_in(book.scene(at_s), JOB, "Coat", PANELS[:2], us(from_s), us(to_s), over)
    except Asks as asks:
        return asks.rule_id
    return ""


def test_a_coat_entered_afterwards_asks_what_lies_under_it_and_what_was_read_then() -> None:
    book = opened(WIPE, LONG_COAT)
    assert asked(book, 1000, 100, 400) == "undone_before"
    over = {"undone_before": "it is done, not written down"}
    assert asked(book, 1000, 100, 400, **over) == "coat_gate"
    # A reading from after it says nothing of it; one in force then does.
    book.press(500, FINE)
    assert asked(book, 1000, 100, 400, **over) == "coat_gate"
    assert asked(book, 1000, 600, 900, **over) == ""
    over["coat_gate"] = "the meter was away"
    drafts = changes.fill_in(book.scene(1000), JOB, "Coat", PANELS[:2], us(100), us(400), over)
    begun = [d.event for d in drafts if isinstance(d.event, ev.WorkStarted)]
    assert [one.over for one in begun] == [over, *[{}] * (len(begun) - 1)]


def test_it_is_asked_once_for_a_layer() -> None:
    book = opened(WIPE, LONG_COAT)
    over = {"undone_before": "it is done, not written down", "coat_gate": "the meter was away"}
    args = (JOB, "Coat", PANELS[:2], us(100), us(400), over)
    book.press(1000, *changes.fill_in(book.scene(1000), *args))
    assert book.odd() == []
    later = changes.fill_in(book.scene(1000), JOB, "Coat", PANELS[2:4], us(400), us(800))
    assert not any(d.event.over for d in later if isinstance(d.event, ev.WorkStarted))


def test_what_is_no_coat_asks_nothing_and_neither_does_a_later_step() -> None:
    book = opened(WIPE, POLISH)
    assert changes.fill_in(book.scene(1000), JOB, "Polish", ("door",), us(100), us(400))
    book = opened(WIPE, LONG_COAT)
    book.press(100, ev.WorkStarted("Coat", PANELS[:2], Turn()))
    assert changes.fill_in(book.scene(1000), JOB, "Coat", PANELS[:2], us(100), us(400))
