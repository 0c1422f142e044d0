"""What a step usually takes: hands only, the median, what is not learned from, the place."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from cartclock.engine.body.rest_words import left_minutes
from cartclock.engine.body.watch import watch
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.shift import Hands
from cartclock.engine.facts.turn import Turn
from cartclock.engine.hours.usual import (
    InStage,
    StepKey,
    Usual,
    against,
    in_stage,
    no_usual,
    on_it_us,
    step_of,
    timed,
)
from cartclock.engine.now.faces import WorkTape
from cartclock.engine.now.glance import glance
from cartclock.engine.now.next_rest import NextRest, next_rest
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.rules import changes, rules
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import COAT, FALLOUT, POLISH

DOORS = Stage("Doors", ("one", "two", "three", "four"), (Work("polish", 20.0),))
POLISHED: StepKey = ("Doors", "polish", 0)
PANELS = replace(
    DOORS, press="panel", panels={"one": "left", "two": "left", "three": "right", "four": "right"}
)


def take(book: Book, at_s: float, worker: str = "me", section: str = "", say: str = "") -> None:
    """Takes up the first work (on that section, with that verb)."""
    move = next(
        m
        for m in book.moves(at_s, worker)
        if m.act == "take up" and (not section or section in m.sections) and say in m.say
    )
    book.do(at_s, rules.take_up, move, worker=worker)


def measured(book: Book) -> list[tuple[str, StepKey, float]]:
    """Worker, step and seconds of everything that was measured in the book's job."""
    shifts = [book.shift(s) for s in sorted({row.shift for row in book.rows} - {""})]
    return [(one.worker, one.step, one.seconds) for one in timed(book.job(), shifts)]


def in_hand(book: Book, worker: str = "me") -> Hands:
    doing = book.shift(f"{worker} 1").doing
    assert isinstance(doing, Hands)
    return doing


def test_a_section_takes_as_long_as_the_hands_were_on_it() -> None:
    book = opened(DOORS)
    take(book, 0)
    book.do(100, rules.start_other, "phone", JOB)
    take(book, 400, section="one")
    take(book, 500)
    take(book, 650)
    assert measured(book) == [("me", POLISHED, 200.0), ("me", POLISHED, 150.0)]


def test_the_time_now_counts_hands_only() -> None:
    book = opened(DOORS)
    take(book, 0)
    book.do(100, rules.take_break, "rest")
    take(book, 1000, section="one")
    assert on_it_us(book.job(), in_hand(book), book.shift(), us(1030)) == 130_000_000


def test_a_stretch_that_was_something_else_is_taken_off() -> None:
    book = opened(DOORS)
    take(book, 0)
    book.press(600, ev.GapFound(us(100), us(500)), by="machine")
    take(book, 700)
    assert measured(book) == [("me", POLISHED, 700.0)]
    book.press(800, ev.GapJudged(us(100), us(500), "meal"))
    assert measured(book) == [("me", POLISHED, 300.0)]


def test_sections_under_one_press_share_its_time_and_a_step_over_all_does_not() -> None:
    book = opened(PANELS)
    take(book, 0)
    take(book, 500)
    assert measured(book) == [("me", POLISHED, 250.0)]
    book = opened(FALLOUT)
    for at_s in (0, 100, 200):
        take(book, at_s, say="spray")
    book.do(300, rules.take_break, "rest", None, True)
    take(book, 500, say="rinse")
    book.do(740, rules.put_down)
    take(book, 740, say="rinse")
    book.do(800, rules.take_break, "rest", None, True)
    assert measured(book)[-1] == ("me", ("Fallout", "rinse", 0), 300.0)


def test_what_is_done_again_or_filled_in_is_not_learned_from() -> None:
    book = opened(DOORS)
    take(book, 0)
    take(book, 300)
    book.do(400, changes.redo, JOB, "Doors", ("one",), "holograms")
    take(book, 450, section="one")
    take(book, 500, section="three")
    assert [seconds for _who, _step, seconds in measured(book)] == [300.0, 150.0]
    stint = book.job().stints[0]
    alone = replace(book.job(), stints=[replace(stint, shared=True)])
    assert timed(alone, [book.shift()]) == []


def test_work_of_two_on_one_piece_is_nobodys() -> None:
    book = opened(DOORS)
    book.press(0, ev.ClockedOn("carport"), worker="helper")
    take(book, 0)
    take(book, 10, "helper", "two")
    book.do(100, rules.put_down)
    take(book, 120, "helper", "one")
    take(book, 300, "helper", "three")
    # The door that both had in hand is not there, the one that the helper had alone is.
    assert measured(book) == [("helper", POLISHED, 110.0)]


def test_the_same_verb_twice_in_a_stage_is_two_steps() -> None:
    twice = Stage("Wipe", ("a",), (Work("wipe", 1), Work("look", 1), Work("wipe", 3)))
    assert step_of(twice, Turn()) == ("Wipe", "wipe", 0)
    assert step_of(twice, Turn(step=2)) == ("Wipe", "wipe", 1)
    more = replace(twice, steps=(Work("blow", 1), *twice.steps))
    assert step_of(more, Turn(step=3)) == ("Wipe", "wipe", 1)
    with pytest.raises(KeyError):
        step_of(twice, Turn(step=5))


def test_without_enough_the_plan_speaks_and_says_so() -> None:
    book = opened(PANELS)
    take(book, 0)
    stage, hands = book.job().stage("Doors"), in_hand(book)
    assert against(stage, hands, no_usual) == ("planned", 2400.0)
    assert against(stage, hands, {POLISHED: Usual(930.0, 3)}.get) == ("yours", 1860.0)
    again = replace(hands, turn=Turn(pass_=2))
    assert against(stage, again, {POLISHED: Usual(930.0, 3)}.get) == ("planned", 2400.0)


def test_which_of_how_many_is_in_hand() -> None:
    book = opened(DOORS)
    take(book, 0)
    assert in_stage(book.job(), in_hand(book)).place == "panel 1 of 4"
    book.do(5, changes.skip, JOB, "Doors", ("three",), "no time")
    take(book, 10)
    assert in_stage(book.job(), in_hand(book)).place == "panel 3 of 4"
    take(book, 20)
    assert in_stage(book.job(), in_hand(book)).place == "panel 4 of 4"
    book = opened(PANELS)
    take(book, 0)
    assert in_stage(book.job(), in_hand(book)).place == "panel 1 of 2"
    take(book, 10)
    assert in_stage(book.job(), in_hand(book)).place == "panel 2 of 2"
    book = opened(replace(DOORS, press="stage"))
    take(book, 0)
    assert in_stage(book.job(), in_hand(book)).place == ""


def test_in_a_wave_the_place_is_that_of_the_step_and_layer() -> None:
    book = opened(COAT)
    take(book, 0)
    take(book, 90, section="bonnet right")
    # Of two layers nothing is over, and one piece is past this step all the same.
    assert in_stage(book.job(), in_hand(book)) == InStage("piece 2 of 3", 1, 1, 3)
    take(book, 180, section="bonnet left")
    assert in_hand(book).turn.step == 2
    assert in_stage(book.job(), in_hand(book)) == InStage("piece 1 of 3", 0, 1, 3)


def test_two_workers_are_at_two_places() -> None:
    book = opened(DOORS)
    book.press(0, ev.ClockedOn("carport"), worker="helper")
    take(book, 0)
    take(book, 1, "helper")
    assert in_stage(book.job(), in_hand(book)).place == "panel 1 of 4"
    assert in_stage(book.job(), in_hand(book, "helper")).place == "panel 2 of 4"


def test_the_face_says_usual_place_and_rest() -> None:
    book = opened(POLISH)
    take(book, 0)
    scene = book.scene(60)
    face = glance(
        scene.jobs, scene.shift, us(60), None, usual={("Polish", "cut", 0): Usual(1110.0, 7)}.get
    ).faces[0]
    assert (face.word, face.clock) == ("CUT", "1:00")
    assert face.under == "on it, yours: 18:30"
    assert isinstance(face.tape, WorkTape)
    assert (face.tape.left, face.tape.right) == ("panel 1 of 2", "1 to come")
    book.press(61, ev.ReadingTaken(air_c=31.0, rh=45.0))
    scene = book.scene(62)
    assert scene.shift is not None
    found = watch(scene.shift, scene.jobs, us(62))
    assert found.pace.left_s is not None
    said = next_rest(found).text
    assert said == f"rest in {left_minutes(found.pace)} min"
    face = glance(scene.jobs, scene.shift, us(62), None, watch=found).faces[0]
    assert face.under == "on it, planned 20:00"
    due = ("rest due in", f"{left_minutes(found.pace)} MIN")
    assert face.second == due == next_rest(found).figure
    assert next_rest(None) == NextRest()
    assert (NextRest().text, NextRest().figure) == ("", ("", ""))
    due = next_rest(replace(found, pace=replace(found.pace, left_s=30)))
    assert (due.text, due.figure[0]) == ("rest is due", "rest is due")
    assert next_rest(replace(found, pace=replace(found.pace, left_s=None))) == NextRest()
