"""The faces one by one: digits, second figure, strip, and the order in which they stand.

All figures are invented round numbers, reckoned by hand from a beginning at 14:13:20 UTC.
"""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from cartclock.engine.body.watch import Watch, watch
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.now.faces import (
    EXAMPLE_TIMES,
    Face,
    TimeTape,
    WorkTape,
    doing_face,
    film_face,
    most_urgent,
    rest_face,
    well_face,
)
from cartclock.engine.now.glance import glance
from cartclock.engine.now.running import Field, Film, running_films
from cartclock.engine.plan.plan import Stage, Wait, Work
from cartclock.engine.rules import rules
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import WIPE

# What hurts first stands in front.
ORDER: tuple[Field, ...] = (
    "late", "rest", "ready", "ask", "back", "break", "plain", "soon", "wait", "off",
)  # fmt: skip
LAID = Turn()
TO_WORK = Turn(step=2)
DOORS = Stage("Doors", ("one", "two", "three", "four"), (Work("polish", 20.0),))


def laid(
    marks: Marks,
    last_s: float,
    minutes: float = 1.0,
    sections: tuple[str, ...] = ("door",),
    over_all: bool = False,
    example: bool = False,
) -> Book:
    """A film touched first at second 0 and last at `last_s`."""
    wait = Wait("flash", marks.opens_s, marks.due_s, marks.closes_s, "solvent", example=example)
    work = Work("level", minutes, over="all" if over_all else "section")
    book = opened(Stage("Coat", sections, (Work("apply", 1.0), wait, work), press="stage"))
    book.press(0, ev.WorkStarted("Coat", sections, LAID))
    book.press(last_s, ev.StepFinished("Coat", sections, LAID, marks))
    assert book.odd() == []
    return book


def film_of(book: Book) -> Film:
    (film,) = running_films(book.jobs(), us(0))
    return film


def face_of(book: Book, at_s: float, hot: bool = False) -> Face:
    return film_face(film_of(book), us(at_s), hot)


def strip(face: Face) -> list[tuple[float, str]]:
    """The marks of a window's strip, in seconds since the beginning."""
    assert isinstance(face.tape, TimeTape)
    return [((at_us - us(0)) / SECOND_US, said) for at_us, said in face.tape.marks]


def doing(book: Book, at_s: float, rest: tuple[str, str] = ("", "")) -> Face:
    found = doing_face(book.jobs(), book.shift(), us(at_s), rest=rest)
    assert found is not None
    return found


def fares(book: Book, at_s: float) -> Watch:
    return watch(book.shift(), book.jobs(), us(at_s))


# Films.

# Opens at 120, due at 150, to be begun at 180 so that it is done by 240.
PLAIN = Marks(60, 90, 240)
# Opens at 40, due at 70, off by 100, closes at 300.
WATCHED = Marks(30, 60, 300, 90)


@pytest.mark.parametrize(
    ("at_s", "said"),
    [
        (60, ["opens 14:15", "due 14:15", "begin 14:16", "closes 14:17"]),
        (120, ["opened 14:15", "due 14:15", "begin 14:16", "closes 14:17"]),
        (239, ["opened 14:15", "due 14:15", "begin 14:16", "closes 14:17"]),
        (240, ["opened 14:15", "due 14:15", "begin 14:16", "closed 14:17"]),
    ],
)
def test_the_marks_of_a_window_stand_on_its_strip(at_s: float, said: list[str]) -> None:
    face = face_of(laid(PLAIN, 60), at_s)
    assert strip(face) == list(zip([120, 150, 180, 240], said, strict=True))
    assert isinstance(face.tape, TimeTape)
    assert (face.tape.start_us, face.tape.opens_us) == (us(60), us(120))


def test_a_film_that_must_be_off_has_that_mark_in_the_place_of_the_begin() -> None:
    face = face_of(laid(WATCHED, 10), 20)
    assert strip(face) == [
        (40, "opens 14:14"), (70, "due 14:14"), (100, "off by 14:15"), (300, "closes 14:18"),
    ]  # fmt: skip


def test_a_film_whose_work_takes_long_is_begun_before_it_must_be_off() -> None:
    # Four minutes of work before 300: begun at 60, 40 s before it must be off.
    face = face_of(laid(WATCHED, 10, minutes=4.0), 20)
    assert [said for _at_s, said in strip(face)][1] == "begin 14:14"
    assert [at_s for at_s, _said in strip(face)] == [40, 60, 70, 300]


def test_past_its_begin_a_film_that_nobody_looked_at_runs_to_its_close() -> None:
    book = laid(WATCHED, 10, minutes=4.0)
    clocks = [(face_of(book, at_s).word, face_of(book, at_s).clock) for at_s in (59, 60, 99, 100)]
    assert clocks == [("LOOK", "0:01"), ("LOOK", "4:00"), ("LOOK", "3:21"), ("LEVEL", "3:20")]
    assert face_of(book, 99).second == ("closes at", "14:18")
    assert face_of(book, 99).under == "it closes then: begin now; W: it is ready"


def in_hand(minutes: float = 1.0, closes_s: int = 240, level: float = 1.0) -> Book:
    """A film touched first at second 0 and still being laid."""
    wait = Wait("flash", 60, 90, closes_s, "solvent")
    steps = (Work("apply", minutes), wait, Work("level", level))
    book = opened(Stage("Coat", ("door",), steps))
    book.press(0, ev.WorkStarted("Coat", ("door",), LAID))
    return book


@pytest.mark.parametrize(
    ("at_s", "said"),
    [
        # Planned are 60 s, and 60 s of levelling before it closes at 240.
        (59, ("APPLY", "0:59", "plain", ("", ""))),
        (179, ("APPLY", "2:59", "plain", ("", ""))),
        (180, ("END IT", "1:00", "ready", ("closes at", "14:17"))),
        (239, ("END IT", "0:01", "ready", ("closes at", "14:17"))),
        (240, ("LATE", "0:00", "late", ("closed at", "14:17"))),
        (307, ("LATE", "1:07", "late", ("closed at", "14:17"))),
    ],
)
def test_a_film_that_is_laid_for_too_long_calls_before_it_closes(
    at_s: int, said: tuple[str, str, Field, tuple[str, str]]
) -> None:
    face = doing(in_hand(), at_s)
    assert (face.word, face.clock, face.field, face.second) == said
    assert face.where == "door"


def test_a_film_that_is_laid_within_its_plan_calls_no_sooner() -> None:
    # Level by 180, but laying alone takes until 200.
    book = in_hand(minutes=200 / 60)
    assert [doing(book, at_s).field for at_s in (179, 199, 200, 240)] == [
        "plain", "plain", "ready", "late",
    ]  # fmt: skip
    assert doing(book, 190).second == ("closes in", "0:50")
    # Nor does one that takes longer than there is: it is late at its close.
    slow = in_hand(minutes=5.0)
    assert [doing(slow, at_s).field for at_s in (239, 240)] == ["plain", "late"]


def test_each_state_of_a_film_in_hand_is_a_new_one() -> None:
    book = in_hand()
    keys = [doing(book, at_s).key for at_s in (0, 179, 180, 239, 240, 400)]
    assert keys[0] == keys[1] != keys[2] == keys[3] != keys[4] == keys[5]


def test_a_film_that_is_being_ended_says_its_close_and_calls_nobody() -> None:
    book = laid(PLAIN, 60)
    book.press(170, ev.WorkStarted("Coat", ("door",), TO_WORK))
    said = [(doing(book, at_s).field, doing(book, at_s).second) for at_s in (179, 180, 240)]
    assert said == [
        ("plain", ("", "")),
        ("plain", ("closes in", "1:00")),
        ("plain", ("closed at", "14:17")),
    ]
    assert doing(book, 240).word == "LEVEL"


@pytest.mark.parametrize("at_s", [180, 300])
def test_the_strip_of_a_film_in_hand_begins_at_its_first_touch(at_s: int) -> None:
    face = doing(in_hand(), at_s)
    close = "closes" if at_s < 240 else "closed"
    assert strip(face) == [(180, "begin 14:16"), (240, f"{close} 14:17")]
    assert isinstance(face.tape, TimeTape)
    assert face.tape.start_us == us(0)


def test_a_film_without_an_expectation_has_no_mark_for_it() -> None:
    face = face_of(laid(Marks(30, 30, 300, 90), 10), 50)
    assert [said.split(" ")[0] for _at_s, said in strip(face)] == ["opened", "off", "closes"]
    assert (face.word, face.second) == ("LOOK", ("closes in", "4:10"))


def test_where_no_width_is_left_the_close_is_all_there_is() -> None:
    # The last touch at 200: it would open at 260 and closes at 240.
    book = laid(PLAIN, 200)
    assert strip(face_of(book, 210)) == [(240, "closes 14:17")]
    assert strip(face_of(book, 240)) == [(240, "closed 14:17")]
    assert face_of(book, 240).word == "LATE"


@pytest.mark.parametrize(
    ("at_s", "word", "clock", "under", "second"),
    [
        (10, "WAIT", "0:30", "until you look at it, then level", ("closes in", "4:50")),
        (40, "LOOK", "1:00", "should be off by then; W: it is ready", ("expected in", "0:30")),
        (69, "LOOK", "0:31", "should be off by then; W: it is ready", ("expected in", "0:01")),
        (70, "LOOK", "0:30", "should be off by then; W: it is ready", ("closes in", "3:50")),
        (99, "LOOK", "0:01", "should be off by then; W: it is ready", ("closes in", "3:21")),
        (100, "LEVEL", "3:20", "until it closes: begin now", ("closes at", "14:18")),
        (300, "LATE", "0:00", "since it closed: level all the same", ("closed at", "14:18")),
    ],
)
def test_a_film_that_is_watched_from_its_touch_to_late(
    at_s: float, word: str, clock: str, under: str, second: tuple[str, str]
) -> None:
    face = face_of(laid(WATCHED, 10), at_s)
    assert (face.word, face.clock, face.under, face.second) == (word, clock, under, second)
    assert (face.large, face.beside, face.where) == ("door", word, "door")
    assert face.runs == ("up" if word == "LATE" else "down")
    assert face.line == f"door: {word.lower()} {clock}"


def test_a_film_that_was_seen_ready_runs_to_when_it_must_be_off() -> None:
    book = laid(WATCHED, 10)
    book.press(60, ev.WindowSeen("Coat", ("door",), TO_WORK))
    assert book.odd() == []
    face = face_of(book, 65)
    assert (face.word, face.clock, face.under) == ("LEVEL", "0:35", "should be off by then")
    assert face.second == ("closes in", "3:55")


def test_the_minutes_of_work_are_said_where_there_are_any() -> None:
    # Three sections at a minute and a half each, but for one step over all of them.
    three = ("left", "right", "front")
    each = face_of(laid(Marks(60, 90, 600), 60, 1.5, three), 130)
    assert (each.under, each.clock) == ("begin by then, 4.5 min of work", "3:20")
    at_once = face_of(laid(Marks(60, 90, 600), 60, 1.5, three, over_all=True), 130)
    assert (at_once.under, at_once.clock) == ("begin by then, 1.5 min of work", "6:20")
    # Without planned minutes the work may be begun until the close.
    none = face_of(laid(PLAIN, 60, 0.0), 130)
    assert (none.under, none.clock) == ("begin by then", "1:50")
    assert [said for _at_s, said in strip(none)] == ["opened 14:15", "due 14:15", "closes 14:17"]


def test_a_remover_is_kept_wet_only_where_it_dries_fast() -> None:
    dwell = Stage(
        "Door", ("door",), (Work("spray", 1.0), Wait("dwell", 60, 90, 240), Work("rinse", 1.0))
    )
    book = opened(dwell)
    book.press(0, ev.WorkStarted("Door", ("door",), LAID))
    book.press(60, ev.StepFinished("Door", ("door",), LAID, PLAIN))
    hot, mild = face_of(book, 70, hot=True), face_of(book, 70)
    assert (hot.word, mild.word) == ("KEEP WET", "WAIT")
    assert (hot.clock, hot.field) == (mild.clock, mild.field) == ("0:50", "wait")
    assert face_of(book, 130, hot=True).under == "rinse early, it dries fast here"
    assert face_of(book, 130).under == "begin by then, 1 min of work"
    # A coat is no remover.
    assert face_of(laid(PLAIN, 60), 70, hot=True).word == "WAIT"


def test_example_times_are_said_to_be_so_in_every_state() -> None:
    for at_s in (70, 130, 200, 300):
        assert face_of(laid(PLAIN, 60, example=True), at_s).aside == EXAMPLE_TIMES
        assert face_of(laid(PLAIN, 60), at_s).aside == ""


def test_in_few_words_stands_the_mark_that_the_digits_run_to() -> None:
    book = laid(PLAIN, 60)
    told = {at_s: face_of(book, at_s).shortly for at_s in (60, 130, 160, 180, 500)}
    # What is due between is no mark of theirs.
    assert told == {
        60: "opens 14:15",
        130: "begin 14:16",
        160: "begin 14:16",
        180: "closes 14:17",
        500: "closed 14:17",
    }
    bare = Face("BREAK", "1:00", "rest", "no end planned", "break", "key")
    assert bare.shortly == "no end planned"


@st.composite
def films(draw: st.DrawFn) -> tuple[Book, float, Marks, float, bool]:
    """A film, its last touch, its marks, the minutes that its work takes, whether it was seen."""
    last_s = draw(st.integers(0, 60))
    opens_s, more_s, wide_s = (draw(st.integers(0, 60)) for _ in range(3))
    # One that closes before it opens, and one with some width.
    closes_s = draw(st.integers(1, 240) | st.integers(1, 120).map((last_s + opens_s).__add__))
    off_by_s = draw(st.none() | st.integers(opens_s, opens_s + 90))
    marks = Marks(opens_s, draw(st.sampled_from((0, opens_s + more_s, wide_s))), closes_s, off_by_s)
    minutes = draw(st.sampled_from((0.0, 0.1, 0.5, 1.0, 1.7, 5.0)))
    sections = ("left", "right", "front")[: draw(st.integers(1, 3))]
    over_all = draw(st.booleans())
    book = laid(marks, last_s, minutes, sections, over_all)
    seen = draw(st.booleans()) and off_by_s is not None
    if seen:
        book.press(last_s + opens_s, ev.WindowSeen("Coat", sections, TO_WORK))
    return book, last_s, marks, minutes * (1 if over_all else len(sections)), seen


def seconds_of(clock: str) -> int:
    """Digits as seconds."""
    total = 0
    for part in clock.split(":"):
        total = total * 60 + int(part)
    return total


@given(films(), st.integers(0, SECOND_US - 1))
def test_over_the_life_of_a_film_its_digits_run_to_its_next_mark(
    drawn: tuple[Book, float, Marks, float, bool], part_us: int
) -> None:
    book, last_s, marks, minutes, _seen = drawn
    film = film_of(book)
    opens_s, closes_s = last_s + marks.opens_s, marks.closes_s
    begin_s = max(opens_s, closes_s - round(minutes * 60_000_000) / SECOND_US)
    off_s = None if marks.off_by_s is None else last_s + marks.off_by_s
    hands_s = begin_s if off_s is None else min(off_s, begin_s)
    before: tuple[tuple[object, ...], int] | None = None
    for second in range(int(last_s), int(max(opens_s, closes_s)) + 20):
        face = film_face(film, us(second) + part_us)
        now_s = second + part_us / SECOND_US
        shown = seconds_of(face.clock)
        if now_s >= closes_s:
            to_s, way = closes_s, "up"
            assert shown == int(now_s - closes_s)
        else:
            to_s, way = opens_s, "down"
            if now_s >= opens_s:
                to_s = hands_s if now_s < hands_s else closes_s
            # Whole seconds, the one that runs counted: "0:00" is never shown while one is left.
            assert to_s - now_s - 1e-6 <= shown < to_s - now_s + 1
        assert face.runs == way
        # Within one state of one mark every second moves the digits by one.
        state = (face.word, to_s if to_s != now_s else None, face.under)
        if before is not None and before[0] == state and state[1] is not None:
            assert shown - before[1] == (1 if way == "up" else -1)
        before = state, shown
        at = [at_s for at_s, _said in strip(face)]
        assert face.to == dict(strip(face)).get(to_s, strip(face)[-1][1])
        assert at == sorted(set(at)) and at[-1] == closes_s
        assert strip(face)[-1][1].split(" ")[0] == ("closed" if way == "up" else "closes")


# Hands, breaks, other work.


def test_what_is_in_hand_is_never_drawn_as_done() -> None:
    book = opened(DOORS)
    book.press(0, ev.WorkStarted("Doors", ("one",), LAID))
    assert doing(book, 300).tape == WorkTape(0.25 / 4, None, "panel 1 of 4", "3 to come")
    # However long it takes, the last twentieth stays open.
    assert doing(book, 36_000).tape == WorkTape(0.95 / 4, None, "panel 1 of 4", "3 to come")
    for at, panel in enumerate(DOORS.sections[1:], start=1):
        book.press(at * 1200, ev.StepFinished("Doors", (DOORS.sections[at - 1],), LAID))
        book.press(at * 1200, ev.WorkStarted("Doors", (panel,), LAID))
        face = doing(book, at * 1200 + 600)
        left = f"panel {at + 1} of 4"
        assert face.tape == WorkTape((at + 0.5) / 4, at / 4, left, f"{3 - at} to come")
        assert (face.word, face.clock, face.runs) == ("POLISH", "10:00", "up")
    last = doing(book, 36_000).tape
    assert isinstance(last, WorkTape) and last.done == 3.95 / 4


def test_work_without_minutes_grows_no_share() -> None:
    book = opened(Stage("Look", ("car", "cart"), (Work("look"),)))
    book.press(0, ev.WorkStarted("Look", ("car",), LAID))
    face = doing(book, 500)
    assert face.tape == WorkTape(0.0, None, "panel 1 of 2", "1 to come")
    assert (face.under, face.clock) == ("on it, no time planned", "8:20")


def test_the_rest_stands_as_the_second_figure_of_hands_and_of_other_work() -> None:
    book = opened(WIPE)
    book.press(0, ev.WorkStarted("Wipe", ("whole car",), LAID))
    due = ("rest due in", "20 MIN")
    face = doing(book, 60, due)
    assert (face.second, face.large, face.beside) == (due, "whole car", "WIPE")
    assert face.line == "whole car: wipe 1:00"
    other = opened(WIPE)
    other.do(0, rules.start_other, "phone", JOB)
    phone = doing(other, 90, due)
    assert (phone.second, phone.large, phone.beside) == (due, "PHONE", "")
    assert (phone.line, phone.runs, phone.tape) == ("phone 1:30", "up", None)


@pytest.mark.parametrize(
    ("at_s", "tape", "second", "line", "runs"),
    [
        (0, WorkTape(0, None, "14:13", "back to work 14:23"), ("of", "10:00"),
         "rest: break 10:00", "down"),
        (150, WorkTape(0.25, None, "14:13", "back to work 14:23"), ("of", "10:00"),
         "rest: break 7:30", "down"),
        (600, WorkTape(1, None, "14:13", "over 14:23"), ("it was", "10:00"),
         "back to work 0:00", "up"),
        (6000, WorkTape(1, None, "14:13", "over 14:23"), ("it was", "10:00"),
         "back to work 1:30:00", "up"),
    ],
)  # fmt: skip
def test_the_share_of_a_break(
    at_s: float, tape: WorkTape, second: tuple[str, str], line: str, runs: str
) -> None:
    book = opened(WIPE)
    book.do(0, rules.take_break, "rest", 600)
    face = doing(book, at_s)
    assert (face.tape, face.second, face.line, face.runs) == (tape, second, line, runs)


def test_a_break_without_an_end_has_no_strip_and_counts_up() -> None:
    book = opened(WIPE)
    book.do(0, rules.take_break, "rest", None)
    face = doing(book, 90)
    assert (face.tape, face.runs, face.clock, face.second) == (None, "up", "1:30", ("", ""))


# The body.


@pytest.mark.parametrize(
    ("grade", "rest_s", "word", "clock", "field", "second"),
    [
        ("now", 900, "REST NOW", "15:00", "rest", "due since"),
        ("soon", 870, "REST SOON", "15:00", "soon", "since it was called"),
    ],
)
def test_a_rest_says_how_long_it_must_be_and_its_digits_stand(
    grade: str, rest_s: int, word: str, clock: str, field: str, second: str
) -> None:
    found = fares(opened(WIPE), 60)
    pace = replace(
        found.pace, grade=grade, rest_s=rest_s, left_s=0 if grade != "soon" else 300,
        rule="NIOSH limit",
    )  # fmt: skip
    face = rest_face(replace(found, pace=pace, called_us=us(0), rest="called"), us(125), "UTC")
    assert (face.word, face.clock, face.field, face.runs) == (word, clock, field, "")
    assert (face.large, face.beside) == (word, "")
    assert face.second == (second, "2:05")
    assert face.line == f"{word.lower()} {clock}".rstrip()
    assert "screening estimate" in face.under
    untold = rest_face(replace(found, pace=pace, called_us=None, rest="due"), us(125), "UTC")
    assert untold.second == ("", "")


def test_behind_a_piece_where_no_rest_is_enough_a_place_is_told_and_no_length() -> None:
    found = fares(opened(WIPE), 60)
    pace = replace(found.pace, grade="soon", rest_s=0, left_s=300, rule="NIOSH limit")
    called = replace(found, pace=pace, called_us=us(0), rest="called")
    face = rest_face(called, us(125), "UTC")
    assert (face.word, face.clock, face.field, face.runs) == ("NOT HERE", "2:05", "soon", "up")
    assert "a cooler place or hour" in face.under
    assert "screening estimate" in face.under


def test_the_tape_of_a_rest_is_the_work_before_it_the_rest_and_what_it_buys() -> None:
    book = opened(WIPE)
    found = fares(book, 6000)
    pace = replace(found.pace, grade="now", rest_s=870, left_s=0, bought_s=1200, rule="NIOSH limit")
    called = replace(found, pace=pace, called_us=us(1800), rest="called")
    tape = rest_face(called, us(1842), "UTC").tape
    # 14:13:20 is when it began; the rest lasts from SPACE on, which nobody has pressed.
    assert tape == TimeTape(
        us(0),
        ((us(1800), "rest to 14:59"), (us(2742), ""), (us(3942), "then 20 min of work")),
        us(1800),
        us(2742),
        "at work since 14:13",
    )
    # No more than the hour that is judged; and where nothing is known to be bought it ends there.
    later = replace(called, called_us=us(6000), pace=replace(pace, bought_s=0))
    tape = rest_face(later, us(6042), "UTC").tape
    assert isinstance(tape, TimeTape)
    assert (tape.start_us, tape.begun) == (us(2400), "work of this hour")
    assert [word for _at, word in tape.marks] == ["rest to 16:09", ""]


def test_a_break_of_five_minutes_begins_the_work_anew() -> None:
    book = opened(WIPE)
    book.press(600, ev.BreakTaken("rest", 300))
    book.press(720, ev.BreakEnded())
    assert fares(book, 1000).pace.at_it_from_us == us(0)
    book.press(1000, ev.BreakTaken("rest", 300))
    book.press(1300, ev.BreakEnded())
    assert fares(book, 1500).pace.at_it_from_us == us(1300)


def test_where_no_rest_is_long_enough_the_digits_say_since_when() -> None:
    found = fares(opened(WIPE), 60)
    pace = replace(found.pace, grade="not here", rest_s=0, left_s=0)
    face = rest_face(replace(found, pace=pace, called_us=us(0), rest="called"), us(125), "UTC")
    assert (face.word, face.clock, face.runs, face.tape) == ("NOT HERE", "2:05", "up", None)
    assert (face.field, face.second, face.line) == ("rest", ("", ""), "not here 2:05")
    assert face.under.startswith("since it is too hot here; a cooler place")
    untold = rest_face(replace(found, pace=pace, called_us=None, rest="due"), us(125), "UTC")
    assert (untold.clock, untold.runs) == ("", "")


def test_a_check_in_that_is_overdue_counts_up() -> None:
    book = opened(WIPE)
    book.press(0, ev.CheckedIn(600))
    face = well_face(fares(book, 900))
    assert (face.word, face.clock, face.runs) == ("ARE YOU WELL?", "5:00", "up")
    assert (face.large, face.beside, face.line) == ("ARE YOU WELL?", "", "are you well? 5:00")
    assert "this program calls nobody" in face.under


# The order.


def test_every_field_has_its_place() -> None:
    assert sorted(ORDER) == sorted(get_args(Field))


@given(st.lists(st.sampled_from(ORDER)))
def test_the_first_face_is_never_less_urgent_than_the_others(fields: list[Field]) -> None:
    faces = [Face("", "", "", "", field, str(at)) for at, field in enumerate(fields)]
    ordered = most_urgent(faces)
    ranks = [ORDER.index(face.field) for face in ordered]
    assert ranks == sorted(ranks)
    # Nothing is lost, and of two alike the one in front stays in front.
    assert sorted(int(face.key) for face in ordered) == list(range(len(fields)))
    for field in ORDER:
        keys = [int(face.key) for face in ordered if face.field == field]
        assert keys == sorted(keys)


@given(films(), st.sampled_from(("nothing", "other", "break", "off")), st.integers(0, 300))
def test_beside_a_film_the_first_face_is_never_less_urgent(
    drawn: tuple[Book, float, Marks, float, bool], what: str, at_s: int
) -> None:
    book, last_s, *_rest = drawn
    since_s = last_s + 61
    if what == "other":
        book.press(since_s, ev.OtherWorkStarted("phone", ""))
    elif what == "break":
        book.press(since_s, ev.BreakTaken("rest", 60))
    elif what == "off":
        book.press(since_s, ev.ClockedOff())
    assert book.odd() == []
    seen = glance(book.jobs(), book.shift(), us(since_s + at_s), None)
    ranks = [ORDER.index(face.field) for face in seen.faces]
    assert ranks == sorted(ranks)
    # The film is there whatever the hands do; standing by, it is all there is.
    assert len(seen.faces) == (1 if what == "nothing" else 2)
    assert [face.key.split("/")[0] for face in seen.faces].count(JOB) == 1
