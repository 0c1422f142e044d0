"""What Run says as lines: each once, and again only when it says something else."""

from __future__ import annotations

from msgspec.structs import replace

from cartclock.engine.now.faces import Face
from cartclock.engine.now.glance import Glance
from cartclock.engine.now.telling import Telling, changed, lines, minute_lines, telling

FACE = Face(
    "WAIT", "0:35", "bonnet left", "level opens 0:35", "wait", "film", "down", ("closes", "2:35")
)
SEEN = Glance(
    head="bottle green estate",
    stage="Coat 2/3",
    count="3/18 done",
    on_the_clock="1:05:20",
    faces=(FACE,),
    next_line="apply bonnet right, planned 1:30",
    next_vehicle="",
    notices=("Drink in 12 min.", "2 questions about today (G)"),
)
AT = "2026-09-21T14:13:20+02:00"


def told(question: str = "", at: str = AT, **other: object) -> Telling:
    return telling(replace(SEEN, **other), at, question)


def test_every_line_says_its_name_and_what_is_not_there_says_nothing() -> None:
    assert lines(told()) == [
        "state: WAIT",
        "panel: bonnet left",
        "digits: down 0:35, level opens 0:35",
        "also: closes 2:35",
        "space: apply bonnet right, planned 1:30",
        "notice: Drink in 12 min.",
        "notice: 2 questions about today (G)",
        "vehicle: bottle green estate",
        "stage: Coat 2/3   3/18 done",
        "on the clock: 1:05:20",
    ]
    assert lines(told(faces=(), next_line="", notices=(), head="", stage="")) == [
        "on the clock: 1:05:20"
    ]


def test_words_without_digits_are_not_called_digits_and_a_plus_is_heard() -> None:
    off = replace(FACE, word="OFF THE CLOCK", where="", clock="", runs="", second=("", ""))
    off = replace(off, under="T, then +, opens a job; SPACE clocks you on")
    sums = ("under the dew point + 3 C.", "wax +5 and C+ stay as they are")
    assert lines(told(faces=(off,), notices=sums))[:5] == [
        "state: OFF THE CLOCK",
        "about: T, then plus, opens a job; SPACE clocks you on",
        "space: apply bonnet right, planned 1:30",
        "notice: under the dew point plus 3 C.",
        "notice: wax +5 and C+ stay as they are",
    ]
    # A program reads what Run shows.
    assert told(faces=(off,)).clocks[0].to == off.under


def test_a_clock_that_runs_is_no_change() -> None:
    later = told(
        at="2026-09-21T14:13:21+02:00",
        on_the_clock="1:05:21",
        faces=(replace(FACE, clock="0:01", under="level opened 0:01 ago"),),
        notices=("Drink in 11 min.", "2 questions about today (G)"),
    )
    assert changed(told(), told()) == []
    assert changed(told(), later) == ["digits: down 0:01, level opened 0:01 ago"]
    ticked = told(faces=(replace(FACE, clock="0:34", under="level opens 0:34"),))
    assert changed(told(), ticked) == []


def test_each_change_is_a_line_and_what_is_over_is_told() -> None:
    ready = told(
        faces=(replace(FACE, word="LEVEL", clock="1:20", under="closes 1:20"),),
        count="4/18 done",
        notices=("Drink now.",),
    )
    assert changed(told(), ready) == [
        "state: LEVEL",
        "digits: down 1:20, closes 1:20",
        "notice: Drink now.",
        "stage: Coat 2/3   4/18 done",
        "over: notice: Drink in 12 min.",
        "over: notice: 2 questions about today (G)",
    ]


def test_a_count_is_no_length() -> None:
    assert changed(told(count="7/18 done"), told(count="8/18 done")) == [
        "stage: Coat 2/3   8/18 done"
    ]


def test_a_second_clock_has_lines_of_its_own() -> None:
    two = told(faces=(FACE, replace(FACE, word="LATE", where="roof")))
    assert changed(told(), two) == [
        "state 2: LATE",
        "panel 2: roof",
        "digits 2: down 0:35, level opens 0:35",
        "also 2: closes 2:35",
    ]
    assert changed(two, told()) == [
        "over: state 2: LATE",
        "over: panel 2: roof",
        "over: digits 2: down 0:35, level opens 0:35",
        "over: also 2: closes 2:35",
    ]


def test_a_question_stands_in_the_place_of_the_clocks() -> None:
    assert lines(told("Not dry: coat all the same?"))[:3] == [
        "question: Not dry: coat all the same?",
        "state: ANSWER",
        "space: apply bonnet right, planned 1:30",
    ]


def test_a_whole_minute_says_the_time_and_the_clocks() -> None:
    assert minute_lines(told()) == [
        "time: 14:13",
        "digits: down 0:35, level opens 0:35",
        "also: closes 2:35",
    ]
