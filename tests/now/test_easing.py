"""Lighter work where what is ahead has no work time here: offered, judged, and gone on with.

Medium work gets 14.9 minutes an hour at 33 C and 59 %, under the last row of NIOSH 2016-106
table 6-2; light work gets more.
"""

from __future__ import annotations

import pytest

from cartclock.engine.body.rest_words import pace_line, short_pace_line
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.shift import Hands
from cartclock.engine.facts.turn import Turn
from cartclock.engine.now.key_line import KeyLine
from cartclock.engine.plan.plan import Stage, Wait, Work
from cartclock.engine.rules import rules
from cartclock.engine.trouble import Asks
from tests.kit.book import Book, opened, us
from tests.now.test_grades import at, faces, fares

AIR = ev.ReadingTaken(air_c=33, rh=59)
SUN = ev.ReadingTaken(air_c=36, rh=40, place="sun")
WASH = Stage("Wash", ("left", "right"), (Work("wash", 30.0),))
TAPE = Stage("Tape", ("roof", "doors"), (Work("tape", 10.0),), effort="light")
FILM = Stage(
    "Seal",
    ("roof",),
    (Work("lay", 5.0), Wait("flash", 60, 120, 600), Work("buff", 5.0)),
    effort="light",
)
COAT = Stage("Coat", ("roof",), (Work("apply", 5.0),), kind="coat", effort="light")


def warm(*stages: Stage, reading: ev.ReadingTaken = AIR) -> Book:
    book = opened(*stages)
    book.press(0, reading)
    return book


def test_where_medium_work_has_no_time_lighter_work_is_offered_first() -> None:
    book = warm(WASH, TAPE)
    found = fares(book, 60)
    assert (found.pace.grade, found.pace.eases_to) == ("not here", "light")
    first, second = at(book, 60).me.moves[:2]
    assert (first.act, first.stage, first.sections, first.why) == (
        "take up", "Tape", ("roof",), "lighter",
    )  # fmt: skip
    assert second.act == "rest"
    line = pace_line(found.pace)
    assert line.startswith("no work time here for medium work, but lighter work: tape roof")
    assert len(line) <= 78
    assert pace_line(found.pace, 55).startswith("no medium work here, but tape roof")
    assert short_pace_line(found.pace) == "no, but lighter work"
    (face,) = faces(book, 60)
    assert face.word == "NOT HERE" and "tape roof" in face.under
    (alarm,) = [alarm for alarm in at(book, 60).alarms if alarm.urgency == "rest"]
    assert alarm.sentence == "no work time here: tape roof"


def test_the_lighter_section_of_the_stage_comes_before_another_stage() -> None:
    low = Stage("Wash", ("left", "sill"), (Work("wash", 30.0),), effort_by={"sill": "light"})
    first = at(warm(low, TAPE), 60).me.moves[0]
    assert (first.stage, first.sections) == ("Wash", ("sill",))


def test_taking_it_up_is_no_going_on_past_a_rest() -> None:
    book = warm(WASH, TAPE)
    book.press(61, ev.RestCalled("NIOSH limit", 0, "not here"))
    pace, moves = fares(book, 70).pace, at(book, 70).me.moves
    assert book.do(70, rules.take_up, moves[0], rest_called=True, pace=pace) == [
        ev.WorkStarted("Tape", ("roof",), Turn())
    ]
    line = KeyLine(moves[0]).then(moves[0], fares(book, 69), us(69), own=False)
    assert not line.overrules
    # Medium work is asked about as ever.
    with pytest.raises(Asks, match="No work time here"):
        wash = next(move for move in moves if move.stage == "Wash")
        rules.take_up(warm(WASH, TAPE).scene(70), wash, rest_called=True, pace=pace)


def test_in_hand_it_is_judged_by_itself_and_the_next_of_it_follows() -> None:
    book = warm(WASH, TAPE)
    book.press(60, ev.WorkStarted("Tape", ("roof",), Turn()))
    found = fares(book, 120)
    assert found.pace.grade == "" and not found.pace.no_work_time
    assert "light" in pace_line(found.pace) or "no rest due" in pace_line(found.pace)
    (face,) = faces(book, 120)
    assert face.word != "NOT HERE"
    first = at(book, 120).me.moves[0]
    assert (first.stage, first.sections) == ("Tape", ("doors",))
    # Behind the last of it there is none, and no medium work is slipped in.
    book.press(600, ev.StepFinished("Tape", ("roof",), Turn()))
    book.press(600, ev.WorkStarted("Tape", ("doors",), Turn()))
    assert at(book, 700).me.moves[0] == Move("rest", why="rest")
    book.press(1200, ev.StepFinished("Tape", ("doors",), Turn()))
    assert fares(book, 1201).pace.grade == "not here"


@pytest.mark.parametrize(
    ("wash", "grade", "ends"),
    [
        (Stage("Wash", ("left",), (Work("wash", 300.0),)), "not here", ev.WorkPutDown),
        (WASH, "soon", ev.StepFinished),
    ],
    ids=["at once", "after the piece"],
)
def test_a_panel_in_hand_is_broken_off_for_it_or_ended_as_for_a_rest(
    wash: Stage, grade: str, ends: type
) -> None:
    book = warm(wash, TAPE)
    book.press(10, ev.WorkStarted("Wash", ("left",), Turn()))
    assert isinstance(book.shift().doing, Hands)
    pace, move = fares(book, 70).pace, at(book, 70).me.moves[0]
    assert (pace.grade, pace.buys_none, move.stage) == (grade, True, "Tape")
    if grade == "soon":
        assert pace_line(pace).startswith("this piece, then lighter work: tape roof")
        assert short_pace_line(pace) == "then lighter work"
    assert book.do(70, rules.take_up, move, rest_called=True, pace=pace) == [
        ends("Wash", ("left",), Turn()),
        ev.WorkStarted("Tape", ("roof",), Turn()),
    ]


@pytest.mark.parametrize("stage", [FILM, COAT], ids=["a film", "a coat"])
def test_no_film_and_no_coat_is_offered_as_lighter_work(stage: Stage) -> None:
    book = warm(WASH, stage)
    assert fares(book, 60).pace.eased == ""
    assert at(book, 60).me.moves[0].act == "rest"


@pytest.mark.parametrize(
    ("reading", "place"),
    [(AIR, "a cooler place"), (ev.ReadingTaken(air_c=36, rh=40, place="sun"), "the shade")],
)
def test_without_lighter_work_it_is_said_what_is_left(reading: ev.ReadingTaken, place: str) -> None:
    book = warm(WASH, reading=reading)
    found = fares(book, 60)
    assert found.pace.grade == "not here"
    assert pace_line(found.pace) == (
        f"no work time here for medium work: {place}, the evening or tomorrow"
    )
    assert at(book, 60).me.moves[0].act == "rest"


def test_off_the_table_no_work_is_offered() -> None:
    book = warm(WASH, TAPE, reading=ev.ReadingTaken(air_c=47, rh=8))
    assert fares(book, 60).pace.eases_to is None
    assert at(book, 60).me.moves[0].act == "rest"


def test_whoever_is_unwell_is_offered_no_work() -> None:
    book = warm(WASH, TAPE)
    book.press(30, ev.FeltUnwell(("dizzy",)))
    assert at(book, 60).me.moves[0].act == "rest"
