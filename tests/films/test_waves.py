"""A wave keeps the reading it began with; before it the reading is asked to last."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.films.gate import READING_ENDS, asks, gate_notices
from cartclock.engine.films.margins import layers_begun
from cartclock.engine.films.waves import PLANNED, Factors, wave_minutes, wave_since_us
from cartclock.engine.paper.chapters.sections import put_sections
from cartclock.engine.paper.page.text.medium import Text
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.record.record import record
from cartclock.engine.rules import rules
from cartclock.engine.trouble import Asks
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import LONG_COAT, PANELS

MINUTE = 60
FLASH, GAP = Marks(30, 60, 600), Marks(3600, 7200, 86400)
FINE = ev.ReadingTaken(air_c=22.0, rh=50.0, panel_c=22.0)
DAMP = ev.ReadingTaken(air_c=16.0, rh=71.0, panel_c=13.0)


def car(stage: Stage = LONG_COAT, read_s: float = 0) -> Book:
    book = opened(stage)
    book.press(read_s, FINE)
    return book


def up(name: str, turn: Turn | None = None) -> Move:
    return Move("take up", JOB, "Coat", (name,), turn or Turn())


def films(book: Book, from_s: float, until_s: float, names: tuple[str, ...] = PANELS) -> int:
    """One film after the other, five minutes each and no pause; how many were begun.

    The last one is being levelled at `until_s`.
    """
    at_s = from_s
    for number, name in enumerate(names):
        started = ev.WorkStarted("Coat", (name,), Turn())
        book.press(at_s, started)
        book.press(at_s + 2 * MINUTE, ev.StepFinished("Coat", (name,), Turn(), FLASH))
        level = Turn(1, 1, 2)
        book.press(at_s + 3 * MINUTE, ev.WorkStarted("Coat", (name,), level))
        at_s += 5 * MINUTE
        if at_s > until_s:
            return number + 1
        book.press(at_s, ev.StepFinished("Coat", (name,), level, GAP))
    raise AssertionError("more panels are needed")


def question(book: Book, at_s: float, move: Move, finish: bool = True, **over: str) -> str:
    """The rule that asks and its sentence; "" if none does."""
    try:
        rules.take_up(book.scene(at_s), move, over, finish)
    except Asks as asks:
        return f"{asks.rule_id}: {asks}"
    return ""


def test_a_wave_that_began_with_a_valid_reading_ends_with_it() -> None:
    book = car()
    begun = films(book, 10 * MINUTE, 74 * MINUTE)
    # The reading is 74 min old, and finishing this film leaves none in play.
    assert question(book, 74 * MINUTE, up(PANELS[begun])) == ""
    notices = gate_notices(book.job(), book.shift(), us(74 * MINUTE))
    assert notices == ("Coat: panel 7.8 C over the dew point + 3 C (screening estimate).",)
    assert wave_since_us(book.job(), "Coat", 1, us(74 * MINUTE)) == us(10 * MINUTE)


def test_after_a_pause_without_a_film_the_age_of_the_reading_counts_again() -> None:
    book = car()
    begun = films(book, 10 * MINUTE, 74 * MINUTE)
    book.press(75 * MINUTE, ev.StepFinished("Coat", (PANELS[begun - 1],), Turn(1, 1, 2), GAP))
    # A look, a towel, a drink.
    assert wave_since_us(book.job(), "Coat", 1, us(80 * MINUTE)) == us(10 * MINUTE)
    assert question(book, 80 * MINUTE, up(PANELS[begun])) == ""
    assert wave_since_us(book.job(), "Coat", 1, us(80 * MINUTE + 1)) is None
    assert question(book, 81 * MINUTE, up(PANELS[begun])) == (
        "coat_gate: The reading of the panel is 81 min old: no verdict. Coat all the same?"
    )


def test_a_wave_begun_on_an_old_reading_is_asked_about_at_every_film() -> None:
    book = car()
    begun = films(book, 61 * MINUTE, 66 * MINUTE)
    assert question(book, 67 * MINUTE, up(PANELS[begun])).startswith("coat_gate: The reading")


def test_a_new_reading_that_speaks_against_it_is_heard_between_two_films() -> None:
    book = car()
    begun = films(book, 10 * MINUTE, 40 * MINUTE)
    book.press(41 * MINUTE, DAMP)
    assert question(book, 42 * MINUTE, up(PANELS[begun])).startswith("coat_gate: Screening")


def test_what_is_put_down_ends_the_wave() -> None:
    book = car()
    begun = films(book, 10 * MINUTE, 74 * MINUTE)
    assert question(book, 74 * MINUTE, up(PANELS[begun]), finish=False).startswith("coat_gate")
    book.press(74 * MINUTE, ev.WorkPutDown("Coat", (PANELS[begun - 1],), Turn(1, 1, 2)))
    assert question(book, 74 * MINUTE, up(PANELS[begun])).startswith("coat_gate")


def test_the_second_layer_is_a_wave_of_its_own() -> None:
    book = car()
    # A hundred minutes: the gap of the first panels has opened when the last one is levelled.
    over_s = len(PANELS) * 5 * MINUTE
    assert films(book, 0, over_s - 1) == len(PANELS)
    book.press(over_s, ev.StepFinished("Coat", PANELS[-1:], Turn(1, 1, 2), GAP))
    assert wave_since_us(book.job(), "Coat", 1, us(over_s + 1)) == us(0)
    assert wave_since_us(book.job(), "Coat", 2, us(over_s + 1)) is None
    asked = question(book, over_s + 1, up(PANELS[0], Turn(1, 2, 0)))
    assert asked.startswith("coat_gate: The reading of the panel is 100 min old")
    # It begins with its own first touch, and not with the gap in front of it.
    book.press(over_s + 60, ev.WorkStarted("Coat", PANELS[:1], Turn(1, 2, 0)))
    assert wave_since_us(book.job(), "Coat", 2, us(over_s + 90)) == us(over_s + 60)


@pytest.mark.parametrize(
    ("age_min", "panels", "asks"),
    [
        (14, 20, False),  # young: a new one would not last either
        (15, 20, True),
        (40, 5, False),  # 20 min left, 20 min of work
        (41, 5, True),
        (59, 1, True),
        (55, 1, False),
    ],
)
def test_before_a_wave_the_reading_is_asked_to_last(age_min: int, panels: int, asks: bool) -> None:
    book = car(replace(LONG_COAT, sections=PANELS[:panels]))
    asked = question(book, age_min * MINUTE, up(PANELS[0]))
    said = f"The panel was read {age_min} min ago, and this layer takes about {panels * 4} min."
    assert asked == (f"reading_ends: {said} Coat all the same?" if asks else "")


def test_the_answer_holds_for_that_reading() -> None:
    book = car()
    over = {READING_ENDS: "nothing has changed here since"}
    book.do(50 * MINUTE, rules.take_up, up(PANELS[0]), over=over)
    book.press(51 * MINUTE, ev.StepFinished("Coat", (PANELS[0],), Turn()))
    assert question(book, 52 * MINUTE, up(PANELS[1])) == ""
    book.press(53 * MINUTE, FINE)
    assert question(book, 54 * MINUTE, up(PANELS[1])) == ""
    assert question(book, 70 * MINUTE, up(PANELS[1])).startswith(READING_ENDS)


def test_where_the_gate_asks_itself_the_age_is_not_asked_about_as_well() -> None:
    book = opened(LONG_COAT)
    book.press(0, DAMP)
    over = {"coat_gate": "a test spot"}
    assert question(book, 50 * MINUTE, up(PANELS[0])).startswith("coat_gate")
    book.do(50 * MINUTE, rules.take_up, up(PANELS[0]), over=over)
    book.press(51 * MINUTE, ev.StepFinished("Coat", (PANELS[0],), Turn()))
    assert question(book, 52 * MINUTE, up(PANELS[1])) == ""


def test_the_minutes_of_a_layer_count_what_is_left_of_it() -> None:
    book = car(replace(LONG_COAT, sections=PANELS[:3]))
    assert wave_minutes(book.job(), "Coat", 1) == 12.0
    assert wave_minutes(book.job(), "Coat", 2) == 0.0
    book.press(1, ev.WorkStarted("Coat", (PANELS[0],), Turn()))
    book.press(2, ev.StepFinished("Coat", (PANELS[0],), Turn(), FLASH))
    book.press(3, ev.SectionSkipped("Coat", (PANELS[1],)))
    assert wave_minutes(book.job(), "Coat", 1) == 6.0
    together = replace(LONG_COAT, steps=(*LONG_COAT.steps[:2], Work("level", 2.0, over="all")))
    assert wave_minutes(car(together).job(), "Coat", 1) == 42.0


def test_a_layer_takes_as_long_as_its_steps_are_expected_to() -> None:
    book = car(replace(LONG_COAT, sections=PANELS[:3]))
    plain = wave_minutes(book.job(), "Coat", 1)
    twice = {("Coat", index): 2.0 for index in range(len(LONG_COAT.steps))}
    assert wave_minutes(book.job(), "Coat", 1, twice) == 2 * plain
    # Of another stage says nothing of this one, and a step of its own says what it says.
    assert wave_minutes(book.job(), "Coat", 1, {("Wash", 0): 3.0}) == plain
    apply, _wait, level = LONG_COAT.steps
    assert isinstance(apply, Work)
    assert isinstance(level, Work)
    slow = wave_minutes(book.job(), "Coat", 1, {("Coat", 0): 3.0})
    assert slow == pytest.approx(3 * (3 * apply.minutes + level.minutes))


def test_a_reading_must_last_as_long_as_the_layer_is_expected_to() -> None:
    book = car(replace(LONG_COAT, sections=PANELS[:3]))
    move, on = up(PANELS[0]), book.scene(30 * MINUTE).on

    def asked(factors: Factors) -> list[tuple[str, str]]:
        at_us = us(30 * MINUTE)
        return asks(book.job(), "Coat", move.sections, move.turn, on, at_us, None, factors)

    # Twelve minutes by the plan are over before a reading of half an hour is old.
    assert asked(PLANNED) == []
    ((rule_id, sentence),) = asked({("Coat", 0): 4.0, ("Coat", 2): 4.0})
    assert rule_id == READING_ENDS
    assert sentence.startswith("The panel was read 30 min ago, and this layer takes about 48 min.")


# What the record says of it.


def test_the_record_goes_by_the_reading_that_held_the_wave_and_knows_its_age() -> None:
    book = car()
    begun = films(book, 10 * MINUTE, 74 * MINUTE)
    laid = layers_begun(book.job(), [book.shift()])
    assert len(laid) == begun
    assert {one.read_us for one in laid} == {us(0)}
    assert {one.margin_c for one in laid} == {laid[0].margin_c}
    assert laid[0].margin_c == pytest.approx(7.8, abs=0.1)
    assert {one.why_none for one in laid} == {""}
    # From the first film on that was begun an hour after the reading.
    assert [one.outlived_us for one in laid] == [0] * 10 + [
        60 * MINUTE * 10**6,
        65 * MINUTE * 10**6,
        70 * MINUTE * 10**6,
    ]


def test_the_record_has_no_verdict_where_the_gate_asked_about_an_old_reading() -> None:
    book = car()
    begun = films(book, 10 * MINUTE, 74 * MINUTE)
    book.press(74 * MINUTE, ev.WorkPutDown("Coat", (PANELS[begun - 1],), Turn(1, 1, 2)))
    book.do(75 * MINUTE, rules.take_up, up(PANELS[begun]), {"coat_gate": "the meter is away"})
    asked = layers_begun(book.job(), [book.shift()])[-1]
    assert asked.why_none == "The reading of the panel is 75 min old: no verdict."
    assert (asked.margin_c, asked.overruled, asked.outlived_us) == (None, "the meter is away", 0)


def test_the_record_has_no_verdict_after_a_pause() -> None:
    book = car()
    films(book, 10 * MINUTE, 20 * MINUTE)
    book.press(25 * MINUTE, ev.StepFinished("Coat", (PANELS[2],), Turn(1, 1, 2), GAP))
    book.press(62 * MINUTE, ev.WorkStarted("Coat", (PANELS[3],), Turn()))
    late = layers_begun(book.job(), [book.shift()])[-1]
    assert (late.margin_c, late.outlived_us) == (None, 0)


def test_a_wave_begun_on_an_old_reading_has_no_verdict_in_the_record() -> None:
    book = car()
    films(book, 61 * MINUTE, 70 * MINUTE)
    laid = layers_begun(book.job(), [book.shift()])
    assert {one.margin_c for one in laid} == {None}


def test_a_damp_panel_coated_all_the_same_keeps_its_margin_to_the_end_of_the_wave() -> None:
    book = opened(LONG_COAT)
    book.press(0, DAMP)
    over = {"coat_gate": "the customer wants it"}
    book.press(10 * MINUTE, ev.WorkStarted("Coat", (PANELS[0],), Turn(), over))
    book.press(12 * MINUTE, ev.StepFinished("Coat", (PANELS[0],), Turn(), FLASH))
    begun = films(book, 13 * MINUTE, 74 * MINUTE, PANELS[1:])
    last = layers_begun(book.job(), [book.shift()])[begun]
    assert last.margin_c == pytest.approx(-0.75, abs=0.05)
    assert last.outlived_us > 0


def test_the_paper_says_the_age_of_the_reading_once_a_layer() -> None:
    book = car()
    films(book, 10 * MINUTE, 74 * MINUTE)
    said = " ".join(paper(book).split())
    assert "no verdict" not in said
    assert said.count("read over an hour before, and held because the layer went on") == 1


def paper(book: Book) -> str:
    """The sections of the record of that book."""
    made = record(book.job(), {"me 1": book.shift()}, book.jobs(), us(90 * MINUTE), rows=book.rows)
    page = Text()
    put_sections(page, made)
    return str(page)
