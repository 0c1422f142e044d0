"""A rest that would fall into a coat is asked about before its first film, never between two."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from cartclock.engine.body.pace import Pace
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.shift import Shift
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.now.moment import Facts, moment
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.rules import rules
from cartclock.engine.rules.rest_in_wave import REST_IN_WAVE, rest_question
from cartclock.engine.trouble import Asks
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import LONG_COAT, PANELS

MINUTE = 60
WASH = Stage("Wash", ("whole car",), (Work("wash", 600.0),))
# Over the alert limit for moderate work, under the one for resting (NIOSH 2016-106).
HOT = ev.ReadingTaken(air_c=36, rh=24, panel_c=36)
FLASH = Marks(30, 60, 600)


def washed(minutes: int, reading: ev.ReadingTaken = HOT) -> Book:
    """So many minutes of the wash, which ends now."""
    book = opened(LONG_COAT, WASH)
    book.press(0, reading)
    book.press(0, ev.WorkStarted("Wash", ("whole car",), Turn()))
    book.press(minutes * MINUTE, ev.StepFinished("Wash", ("whole car",), Turn()))
    return book


def pace(book: Book, at_s: float) -> Pace:
    shifts: dict[str, Shift] = {"me": book.shift()}
    facts = Facts(len(book.rows), 0, book.jobs(), shifts, {"me": {}}, None, None)
    watch = moment(facts, "me", "", us(at_s), True).me.watch
    assert watch is not None
    return watch.pace


def up(name: str) -> Move:
    return Move("take up", JOB, "Coat", (name,), Turn())


def question(book: Book, at_s: float, name: str, **over: str) -> str:
    """The rule that asks; "" if none does."""
    over = {"coat_gate": "the label of the pack allows it", **over}
    try:
        rules.take_up(book.scene(at_s), up(name), over, pace=pace(book, at_s))
    except Asks as asks:
        return asks.rule_id
    return ""


def near(reading: ev.ReadingTaken = HOT) -> tuple[Book, int]:
    """A wash after which a rest is near, and no film would be too long for what is left."""
    for minutes in range(5, 50):
        book = washed(minutes, reading)
        found = pace(book, minutes * MINUTE)
        if not found.grade and found.left_s is not None and found.left_s < 25 * MINUTE:
            return book, minutes * MINUTE
    raise AssertionError("no rest comes near")


def test_a_coat_is_asked_about_where_the_work_time_ends_and_no_rest_makes_more_of_it() -> None:
    book, at_s = near()
    found = replace(pace(book, at_s), left_s=900, rest_s=0)
    asked = rest_question(book.jobs()[JOB], up(PANELS[0]), found, us(at_s))
    assert asked.startswith(
        "Screening estimate: the work time here is over in 15 min and no rest makes more of it, "
        "and this layer takes about "
    )
    assert asked.endswith(" Coat all the same?")


def test_before_the_first_film_the_rest_is_asked_about_with_both_figures() -> None:
    book, at_s = near()
    found = pace(book, at_s)
    said = rest_question(book.job(), up(PANELS[0]), found, us(at_s))
    assert said == (
        f"Screening estimate: a rest of {found.rest_minutes} min falls due in 20 min, and this "
        "layer takes about 80 min. Coat all the same?"
    )
    assert question(book, at_s, PANELS[0]) == REST_IN_WAVE
    assert question(book, at_s, PANELS[0], **{REST_IN_WAVE: "I rest between two films"}) == ""


def test_a_layer_that_takes_longer_than_planned_is_asked_about_sooner() -> None:
    book, at_s = near()
    found = replace(pace(book, at_s), left_s=25 * MINUTE)
    book.press(at_s, ev.SectionSkipped("Coat", PANELS[1:]))
    job, one = book.job(), up(PANELS[0])
    assert rest_question(job, one, found, us(at_s)) == ""
    slow = {("Coat", index): 10.0 for index in range(len(LONG_COAT.steps))}
    said = rest_question(job, one, found, us(at_s), factors=slow)
    assert "this layer takes about 40 min. Coat all the same?" in said
    # The press asks by the same minutes.
    scene = replace(book.scene(at_s), factors=lambda _job: slow)
    over = {"coat_gate": "the label of the pack allows it"}
    rules.take_up(book.scene(at_s), one, over, pace=found)
    with pytest.raises(Asks, match="this layer takes about 40 min"):
        rules.take_up(scene, one, over, pace=found)


def test_what_was_learned_is_looked_up_only_where_a_layer_is_begun() -> None:
    book, at_s = near()
    looked: list[str] = []
    scene = replace(book.scene(at_s), factors=lambda job: looked.append(job) or {})
    over = {"coat_gate": "the label of the pack allows it", REST_IN_WAVE: "I rest between"}
    rules.take_up(scene, up(PANELS[0]), over, pace=pace(book, at_s))
    assert looked == [JOB]
    book.press(at_s, ev.WorkStarted("Coat", (PANELS[0],), Turn()))
    book.press(at_s + 120, ev.StepFinished("Coat", (PANELS[0],), Turn(), FLASH))
    level = Move("take up", JOB, "Coat", (PANELS[0],), Turn(1, 1, 2))
    scene = replace(book.scene(at_s + 180), factors=lambda job: looked.append(job) or {})
    rules.take_up(scene, level, {}, pace=None)
    assert looked == [JOB]


def test_between_two_films_it_is_not_asked() -> None:
    book, at_s = near()
    book.press(at_s, ev.WorkStarted("Coat", (PANELS[0],), Turn()))
    book.press(at_s + 120, ev.StepFinished("Coat", (PANELS[0],), Turn(), FLASH))
    assert rest_question(book.job(), up(PANELS[1]), pace(book, at_s + 121), us(at_s + 121)) == ""
    # Levelled, and the next one within five minutes: it is one wave.
    book.press(at_s + 180, ev.WorkStarted("Coat", (PANELS[0],), Turn(1, 1, 2)))
    gap = Marks(3600, 7200, 86400)
    book.press(at_s + 300, ev.StepFinished("Coat", (PANELS[0],), Turn(1, 1, 2), gap))
    assert rest_question(book.job(), up(PANELS[1]), pace(book, at_s + 310), us(at_s + 310)) == ""


@pytest.mark.parametrize(
    ("minutes", "reading"),
    [(5, HOT), (120, ev.ReadingTaken(air_c=22, rh=50, panel_c=22))],
    ids=["just begun", "cool"],
)
def test_with_half_an_hour_left_or_no_rest_in_sight_it_is_not_asked(
    minutes: int, reading: ev.ReadingTaken
) -> None:
    book = washed(minutes, reading)
    assert question(book, minutes * MINUTE, PANELS[0]) == ""


def test_a_rest_that_is_called_asks_by_itself() -> None:
    book = washed(50)
    found = pace(book, 50 * MINUTE)
    assert found.grade
    assert rest_question(book.job(), up(PANELS[0]), found, us(50 * MINUTE)) == ""


def test_what_leaves_no_film_is_not_asked_about() -> None:
    book, at_s = near()
    book.press(at_s, ev.StageAdded(Stage("Trim", ("whole car",), (Work("dress", 90.0),)), ""))
    trim = Move("take up", JOB, "Trim", ("whole car",), Turn())
    assert rest_question(book.job(), trim, pace(book, at_s), us(at_s)) == ""
    assert rest_question(book.job(), up(PANELS[0]), None, us(at_s)) == ""


def test_a_film_put_down_half_laid_goes_on_without_being_asked_about() -> None:
    book, at_s = near()
    book.press(at_s, ev.WorkStarted("Coat", (PANELS[0],), Turn()))
    book.press(at_s + 10, ev.WorkPutDown("Coat", (PANELS[0],), Turn()))
    found = pace(book, at_s)
    assert rest_question(book.job(), up(PANELS[1]), found, us(at_s + 11))
    assert rest_question(book.job(), up(PANELS[0]), found, us(at_s + 11)) == ""


def test_a_rest_that_is_not_over_is_asked_about_before_a_layer() -> None:
    """In a break no rest is called, so nothing else would ask."""
    book = washed(50)
    book.press(50 * MINUTE, ev.BreakTaken("heat", 1500))
    at_s = 52 * MINUTE
    found = pace(book, at_s)
    assert found.grade and found.rest_minutes
    said = rest_question(book.job(), up(PANELS[0]), found, us(at_s), resting=True)
    assert said == (
        f"Screening estimate: {found.rest_minutes} min of this rest are left, and this layer "
        "takes about 80 min. Coat all the same?"
    )
    assert question(book, at_s, PANELS[0]) == REST_IN_WAVE
    # Other work than a layer is the worker's to decide: the rest is called again with it.
    wash = Move("take up", JOB, "Wash", ("whole car",), Turn())
    assert rest_question(book.job(), wash, found, us(at_s), resting=True) == ""
    # Once it is over nothing is asked.
    later_s = at_s + found.rest_minutes * MINUTE + 60
    assert question(book, later_s, PANELS[0]) == ""
