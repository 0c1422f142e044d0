"""The four grades of a rest: a line, before the next piece, at once, and no work time here."""

from __future__ import annotations

import re

import pytest
from msgspec.structs import replace

from cartclock.engine.body.rest_words import left_minutes, pace_line, short_pace_line, why_called
from cartclock.engine.body.watch import (
    AGAIN_US,
    SOON_AGAIN_US,
    Watch,
    body_remarks,
    climate_lines,
    degrees,
)
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.shift import Hands, Shift
from cartclock.engine.facts.shift_events import CallGrade, ReadingPlace
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.now.faces import Face
from cartclock.engine.now.glance import glance
from cartclock.engine.now.moment import Facts, Moment, moment
from cartclock.engine.now.next_rest import next_rest
from cartclock.engine.plan.plan import Stage, Work
from tests.kit.book import Book, opened, us
from tests.kit.plans import COAT

PANELS = tuple(f"panel {number}" for number in range(1, 13))
CUT = Stage("Cut", PANELS, (Work("cut", 10.0),))
ONE_LONG = Stage("Wash", ("whole car",), (Work("wash", 600.0),))
# Over the alert limit for moderate work, under the one for resting (NIOSH 2016-106).
HOT = ev.ReadingTaken(air_c=36, rh=24)


def at(book: Book, at_s: float) -> Moment:
    """The moment of the first worker."""
    shifts: dict[str, Shift] = {"me": book.shift()}
    facts = Facts(len(book.rows), 0, book.jobs(), shifts, {"me": {}}, None, None)
    return moment(facts, "me", "", us(at_s), True)


def fares(book: Book, at_s: float) -> Watch:
    found = at(book, at_s).me.watch
    assert found is not None
    return found


def faces(book: Book, at_s: float) -> list[Face]:
    now = at(book, at_s)
    seen = glance(now.jobs, now.me.shift, now.now_us, now.me.moves[0], 0, now.me.watch)
    return list(seen.faces)


def cutting(minutes: int) -> Book:
    """Panels of ten minutes, one after the other, for so long; the last one is in hand."""
    book = opened(CUT)
    book.press(0, HOT)
    for number, panel in enumerate(PANELS):
        if number * 10 >= minutes:
            break
        if number:
            book.press(number * 600, ev.StepFinished("Cut", (PANELS[number - 1],), Turn()))
        if number * 10 in (30, 60):
            book.press(number * 600, HOT)
        book.press(number * 600, ev.WorkStarted("Cut", (panel,), Turn()))
    return book


def test_a_rest_before_the_next_piece_is_a_line_while_a_panel_is_in_hand() -> None:
    book = cutting(30)
    now = at(book, 1500)
    assert isinstance(book.shift().doing, Hands)
    found = fares(book, 1500)
    assert (found.pace.grade, found.rest) == ("soon", "after the piece")
    assert not found.rest_now
    assert [face.word for face in faces(book, 1500)] == ["CUT"]
    assert not [alarm for alarm in now.alarms if alarm.urgency == "rest"]
    assert pace_line(found.pace).startswith("this piece, then ")
    # The large key ends the panel with it.
    assert now.me.moves[0].act == "rest"


def test_a_rest_that_comes_long_before_a_piece_ends_is_told_in_minutes() -> None:
    book = opened(ONE_LONG)
    book.press(0, HOT)
    book.press(0, ev.WorkStarted("Wash", ("whole car",), Turn()))
    found = fares(book, 300)
    assert (found.pace.grade, found.rest) == ("soon", "after the piece")
    assert re.match(
        r"wash whole car \(medium\): \d+ min left, then a \d+ min rest \(",
        pace_line(found.pace),
    )


def test_at_the_end_of_the_panel_it_is_called_in_amber_and_rings_once() -> None:
    book = cutting(30)
    book.press(1800, ev.StepFinished("Cut", (PANELS[2],), Turn()))
    (face,) = faces(book, 1801)
    assert (face.word, face.field) == ("REST SOON", "soon")
    said = pace_line(fares(book, 1801).pace)
    assert re.fullmatch(r"\d+ min rest first, before cut panel 4 \(hour's limit\)", said)
    assert "screening estimate" in face.under
    (alarm,) = [alarm for alarm in at(book, 1801).alarms if alarm.urgency == "rest"]
    assert not alarm.repeated
    assert at(book, 1801).me.moves[0].act == "rest"


def test_rest_now_rings_on_once_the_limit_is_reached_by_what_was_read() -> None:
    book = opened(ONE_LONG)
    book.press(0, HOT)
    book.press(0, ev.WorkStarted("Wash", ("whole car",), Turn()))
    book.press(3000, HOT)
    calls = [s for s in range(0, 3600, 30) if fares(book, s).pace.grade == "now"]
    first = fares(book, calls[0])
    assert first.pace.rule in ("NIOSH limit", "NIOSH table")
    (face,) = faces(book, calls[0])
    assert (face.word, face.field) == ("REST NOW", "rest")
    (alarm,) = [alarm for alarm in at(book, calls[0]).alarms if alarm.urgency == "rest"]
    assert alarm.repeated
    # Before that it was the guard of the estimate that spoke, and called nothing at once.
    assert {fares(book, s).pace.grade for s in range(0, calls[0], 300)} <= {"", "soon"}


def test_while_a_film_is_in_play_only_the_line_speaks() -> None:
    book = opened(COAT, ONE_LONG)
    book.press(0, HOT)
    book.press(0, ev.WorkStarted("Wash", ("whole car",), Turn()))
    book.press(3300, HOT)
    book.press(3300, ev.StepFinished("Wash", ("whole car",), Turn()))
    book.press(3300, ev.WorkStarted("Coat", ("bonnet left",), Turn()))
    book.press(3360, ev.StepFinished("Coat", ("bonnet left",), Turn(), Marks(60, 100, 300)))
    found = fares(book, 3400)
    assert (found.pace.grade, found.rest) == ("film", "after the film")
    assert pace_line(found.pace).startswith("after this film ")
    assert next_rest(found).text == f"after this film {found.pace.rest_minutes} min rest"
    assert not {"REST NOW", "REST SOON", "NOT HERE"} & {face.word for face in faces(book, 3400)}
    assert not [alarm for alarm in at(book, 3400).alarms if alarm.urgency == "rest"]


def test_a_break_goes_on_where_a_hotter_reading_makes_it_too_short() -> None:
    """Its digits run to the new end and nothing rings: hands are off already."""
    book = cutting(30)
    book.press(1800, ev.StepFinished("Cut", (PANELS[2],), Turn()))
    book.press(1801, ev.BreakTaken("heat", 25 * 60))
    over = 1801 + 25 * 60
    assert [face.word for face in faces(book, over)] == ["BACK TO WORK"]
    book.press(over - 200, ev.ReadingTaken(air_c=38, rh=24))
    (face,) = faces(book, over)
    assert (face.word, face.runs) == ("BREAK", "down")
    assert [alarm for alarm in at(book, over).alarms if alarm.urgency != "info"] == []
    more = fares(book, over).pace
    assert more.rest_until_us is not None
    assert pace_line(more).startswith(f"{more.rest_minutes} min more rest")
    # The new end stands still, a whole number of fives after the beginning.
    assert (more.rest_until_us - us(1801)) % (5 * MINUTE_US) == 0
    ends = {fares(book, s).pace.rest_until_us for s in range(over - 190, over + 60, 30)}
    assert ends == {more.rest_until_us}
    last_s = (more.rest_until_us - us(0)) // 1_000_000
    assert [face.word for face in faces(book, last_s)] == ["BACK TO WORK"]
    assert "ready" in [alarm.urgency for alarm in at(book, last_s).alarms]


def test_a_break_shorter_than_the_rest_that_is_due_runs_to_the_end_of_the_rest() -> None:
    book = cutting(30)
    book.press(1800, ev.StepFinished("Cut", (PANELS[2],), Turn()))
    rest_s = fares(book, 1801).pace.rest_s
    book.press(1801, ev.BreakTaken("heat", 600))
    (face,) = faces(book, 1801 + 600)
    assert (face.word, face.second) == ("BREAK", ("of", f"{rest_s // 60}:00"))


# In words.


def test_the_line_of_a_rest_that_is_called_says_why() -> None:
    book = opened(CUT)
    book.press(0, HOT)
    book.press(0, ev.WorkStarted("Cut", (PANELS[0],), Turn()))
    found = fares(book, 1801).pace
    assert found.judged_by is not None
    heat = degrees(found.judged_by.wbgt_c or 0, "C")
    assert why_called(found, "C") == (
        f"hour's limit: medium work at WBGT {heat}", f"hour's limit: WBGT {heat}", "hour's limit"
    )  # fmt: skip
    # Of what stood when the reading grew old.
    old = replace(found, why_none="The reading is 70 min old: no verdict.")
    assert why_called(old, "C")[0].endswith(f"WBGT {heat}, old")
    two_hours = replace(found, rule="15 min in 2 h at heat index 90 F")
    assert why_called(two_hours, "F")[1].startswith("15 min in 2 h: heat index ")
    # Whoever is unwell is told of no figure.
    unwell = replace(found, rule="you do not feel well")
    assert why_called(unwell, "C") == ("you do not feel well",)


def test_the_line_names_the_piece_its_class_the_minutes_and_the_rule() -> None:
    book = opened(CUT)
    book.press(0, HOT)
    # Not begun yet: of what the large key would take up.
    found = fares(book, 1).pace
    minutes, rest = left_minutes(found), found.rest_minutes
    assert found.grade == ""
    assert pace_line(found) == (
        f"cut panel 1 (medium): {minutes} min left, then a {rest} min rest (hour's limit)"
    )
    # What is narrower loses the piece first; class and rule stay.
    assert pace_line(found, 62) == (
        f"cut panel 1 (medium): {minutes} min, then {rest} min rest (hour's limit)"
    )
    assert pace_line(found, 60) == (
        f"medium work: {minutes} min left, then a {rest} min rest (hour's limit)"
    )
    assert pace_line(found, 55) == (
        f"medium work: {minutes} min, then {rest} min rest (hour's limit)"
    )
    assert short_pace_line(found, 38) == f"medium {minutes} min, rest {rest} (hour's limit)"
    assert short_pace_line(found, 25) == f"medium {minutes} min, rest {rest}"
    book.press(10, ev.WorkStarted("Cut", (PANELS[0],), Turn()))
    assert pace_line(fares(book, 11).pace).startswith("cut panel 1 (medium): ")


def test_without_a_reading_no_piece_is_named() -> None:
    assert fares(opened(CUT), 1).pace.named == ""


@pytest.mark.parametrize("named", ["", "polish the whole of the very long roof of the estate"])
def test_class_and_rule_have_room_at_every_width_that_a_screen_has(named: str) -> None:
    book = opened(CUT)
    book.press(0, HOT)
    found = replace(fares(book, 1).pace, named=named)
    for width in range(55, 79):
        said = pace_line(found, width)
        assert len(said) <= width
        assert said.startswith("medium work") and said.endswith("(hour's limit)")


# What is put off.


@pytest.mark.parametrize(
    ("grade", "silent_us"),
    [("soon", SOON_AGAIN_US), ("now", AGAIN_US)],
    ids=["before the next piece", "at once"],
)
def test_a_rest_put_off_is_silent_for_a_while_our_own_judgement(
    grade: CallGrade, silent_us: int
) -> None:
    assert silent_us == {"soon": 30, "now": 15}[grade] * MINUTE_US
    book = opened(CUT if grade == "soon" else ONE_LONG)
    book.press(0, HOT)
    work = ("Cut", (PANELS[0],)) if grade == "soon" else ("Wash", ("whole car",))
    book.press(0, ev.WorkStarted(*work, Turn()))
    at_s = next(s for s in range(0, 3600, 10) if fares(book, s).pace.grade == grade)
    if grade == "soon":
        # Nothing in hand and a next piece that does not fit: standing by goes on as light work.
        book.press(at_s, ev.StepFinished(*work, Turn()))
    book.press(at_s + 1, ev.RestCalled("NIOSH limit", 900, grade))
    book.press(at_s + 2, ev.RestOverruled("one panel left"))
    again_s = at_s + 2 + silent_us // 1_000_000
    states = {fares(book, s).rest for s in range(at_s + 3, again_s, 60)}
    assert "due" not in states and "called" not in states
    assert "overruled" in states
    book.press(again_s - 1, HOT)
    assert (fares(book, again_s).pace.grade, fares(book, again_s).rest) == (grade, "due")


def test_a_rest_before_the_next_piece_that_was_put_off_is_called_once_the_limit_is_reached() -> (
    None
):
    book = cutting(30)
    book.press(1800, ev.StepFinished("Cut", (PANELS[2],), Turn()))
    book.press(1801, ev.RestCalled("NIOSH limit", 900, "soon"))
    book.press(1802, ev.RestOverruled("one panel left"))
    book.press(1802, ev.WorkStarted("Cut", (PANELS[3],), Turn()))
    assert fares(book, 1803).rest == "overruled"
    now = next(s for s in range(1803, 3600, 10) if fares(book, s).pace.grade == "now")
    assert now < 1802 + SOON_AGAIN_US // 1_000_000
    assert fares(book, now).rest == "due"


def test_no_minutes_left_and_work_minutes_of_the_hour_never_stand_together() -> None:
    book = opened(ONE_LONG)
    book.press(0, HOT)
    book.press(0, ev.WorkStarted("Wash", ("whole car",), Turn()))
    book.press(3000, HOT)
    called = 0
    for at_s in range(5, 3600, 10):
        found = fares(book, at_s)
        line, more = pace_line(found.pace), "\n".join(climate_lines(found))
        if found.pace.grade:
            called += 1
            # What the hour has room for is told as what comes after the rest.
            assert re.search(r"\bthen \d+ min work an hour", more)
        elif re.search(r"\b0 min", line):
            assert "min work an hour" not in more
    assert called


# No work time.


def test_no_work_time_here_says_what_helps_and_no_rhythm() -> None:
    book = opened(ONE_LONG)
    # Moderate work gets 14.9 minutes an hour here, light work and a cooler place more.
    book.press(0, ev.ReadingTaken(air_c=33, rh=59))
    book.press(0, ev.WorkStarted("Wash", ("whole car",), Turn()))
    found = fares(book, 60)
    assert found.pace.grade == "not here"
    assert pace_line(found.pace) == (
        "no work time here for medium work: a cooler place, the evening or tomorrow"
    )
    said = "\n".join(climate_lines(found))
    assert re.search(r"light work \d+ min an hour; this work \d+ min, resting at 26 C", said)
    (face,) = faces(book, 60)
    assert (face.word, face.clock) == ("NOT HERE", "")
    assert found.call == ev.RestCalled(found.pace.rule, 0, "not here")


def test_off_the_heat_index_table_nothing_is_offered() -> None:
    book = opened(ONE_LONG)
    book.press(0, ev.ReadingTaken(air_c=47, rh=8))
    book.press(0, ev.WorkStarted("Wash", ("whole car",), Turn()))
    found = fares(book, 60)
    assert pace_line(found.pace) == "no work time here: off the heat index table, extreme danger"
    assert not re.search(r"\d+ min an hour", "\n".join(climate_lines(found)))


@pytest.mark.parametrize("place", ["indoors", "outdoor shade", "sun"])
@pytest.mark.parametrize("rh", [10, 35, 60, 85])
def test_never_a_rhythm_without_work_nor_an_hour_of_rest_for_ever(
    place: ReadingPlace, rh: int
) -> None:
    for air_c in range(26, 50, 3):
        book = opened(ONE_LONG)
        reading = ev.ReadingTaken(air_c=air_c, rh=rh, place=place)
        book.press(0, reading)
        book.press(0, ev.WorkStarted("Wash", ("whole car",), Turn()))
        book.press(3000, reading)
        for at_s in (60, 1500, 2900, 4500):
            found = fares(book, at_s)
            said = "\n".join((pace_line(found.pace), short_pace_line(found.pace)))
            more = "\n".join(climate_lines(found))
            if found.pace.no_work_time:
                assert not re.search(r"\d", said)
                assert "min work an hour" not in more
            else:
                # Fifteen minutes are the last row of NIOSH 2016-106 table 6-2.
                assert found.pace.here_minutes is not None
                assert found.pace.here_minutes >= 15
            assert not re.search(r"\b0 min", said)
            assert found.pace.rest_s <= 3600


def test_the_caution_stands_wherever_a_verdict_does() -> None:
    book = cutting(30)
    caution = "Screening estimate; symptoms, medical advice and local codes come first."
    assert caution in body_remarks(fares(book, 1500))
    # In mild air in the sun no drink is called, and the verdict has its caution all the same.
    mild = opened(ONE_LONG)
    mild.press(0, ev.ReadingTaken(air_c=24, rh=50, place="sun"))
    found = fares(mild, 60)
    assert (found.pace.band, found.hot) == ("caution", False)
    assert caution in body_remarks(found)
