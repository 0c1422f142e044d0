"""The line about the rest: in few columns it leaves words out, and says no other ones."""

from __future__ import annotations

import re
from itertools import product

import pytest
from msgspec.structs import replace

from cartclock.engine.body.pace import Pace
from cartclock.engine.body.rest_words import RULE_WORDS, pace_line, short_pace_line
from cartclock.engine.body.watch import watch
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.shift_events import ReadingPlace
from cartclock.engine.facts.turn import Turn
from tests.kit.book import Book, opened, us
from tests.kit.plans import WIPE

WIDTHS = range(40, 79)
FEW = range(24, 40)


def pace(place: ReadingPlace = "indoors", air_c: float = 33.0, rh: float | None = 40.0) -> Pace:
    book = opened(WIPE)
    book.press(0, ev.ReadingTaken(air_c=air_c, rh=rh, place=place))
    book.press(0, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    return seen(book, 60)


def seen(book: Book, at_s: float) -> Pace:
    return watch(book.shift(), book.jobs(), us(at_s)).pace


def words(line: str) -> set[str]:
    """The words of a line; a class of work stands with "work" behind it or without."""
    said = "".join(char if char.isalnum() or char == "'" else " " for char in line.lower())
    return set(said.split()) - {"work"}


def differs(found: Pace) -> set[str]:
    """Words of the narrower lines that the widest one does not say."""
    widest = words(pace_line(found, 400))
    lines = [pace_line(found, width) for width in WIDTHS]
    lines += [short_pace_line(found, width) for width in FEW]
    return set().union(*map(words, lines)) - widest


def calls() -> list[Pace]:
    """Every way in which a rest is called or not, made of one reading; all figures are invented."""
    plain = replace(pace(), named="polish roof", left_s=1500, rest_s=900, rule="NIOSH limit")
    assert not plain.why_none
    found = []
    for grade, rest_s, between, in_the_piece, effort in product(
        ("", "soon", "now", "film"), (0, 900), (True, False), (True, False), ("rest", "heavy")
    ):
        one = replace(
            plain, grade=grade, rest_s=rest_s, between=between, effort=effort, named="polish roof"
        )
        one = replace(one, outlasts_s=0 if in_the_piece else 60)
        found += [one, replace(one, eased="tape sills", eased_s=2400, eases_to="light")]
    return found


@pytest.mark.parametrize("found", calls(), ids=lambda one: f"{one.grade}-{one.rest_s}-{one.effort}")
def test_a_rest_is_called_by_one_word_at_every_width(found: Pace) -> None:
    assert not differs(found)


@pytest.mark.parametrize("found", calls(), ids=lambda one: f"{one.grade}-{one.rest_s}-{one.effort}")
def test_no_rest_is_told_to_be_no_minutes_long(found: Pace) -> None:
    lines = [pace_line(found, width) for width in WIDTHS]
    lines += [short_pace_line(found, width) for width in FEW]
    assert not [line for line in lines if re.search(r"(?<!\d)0 min|rest 0$", line)]


def test_where_no_rest_here_is_enough_the_time_that_is_left_is_told_all_the_same() -> None:
    found = replace(pace(), left_s=900, rest_s=0, grade="", rule="NIOSH limit")
    assert pace_line(found, 78) == (
        "medium work: 15 min left, then a cooler place, for no rest here is enough"
    )
    assert pace_line(found, 45) == "medium work: 15 min left, then a cooler place"
    assert short_pace_line(found) == "medium 15 min left"
    eased = replace(found, eased="tape sills", eased_s=2400, eases_to="light")
    assert pace_line(eased, 45) == "medium work: 15 min left, then lighter work"


@pytest.mark.parametrize("rule", RULE_WORDS)
def test_the_rule_is_called_by_one_word_at_every_width(rule: str) -> None:
    assert not differs(replace(pace(), named="polish roof", left_s=900, rest_s=900, rule=rule))


@pytest.mark.parametrize("place", ["indoors", "outdoor shade", "sun"])
@pytest.mark.parametrize("air_c", [20, 33, 38, 42, 47, 55])
@pytest.mark.parametrize("eased", ["", "tape sills"])
def test_where_there_is_no_time_for_work_the_same_is_offered_at_every_width(
    place: ReadingPlace, air_c: float, eased: str
) -> None:
    found = pace(place, air_c, 30.0)
    assert not differs(replace(found, eased=eased, eases_to="light" if eased else None))


@pytest.mark.parametrize("meal", [True, False])
@pytest.mark.parametrize("hour_at_it", [True, False])
def test_where_no_rest_is_due_the_same_is_said_at_every_width(meal: bool, hour_at_it: bool) -> None:
    found = replace(pace(air_c=20.0), meal=meal, hour_at_it=hour_at_it)
    assert found.left_s is None
    assert not differs(found)


def test_why_there_is_no_verdict_is_said_with_the_same_words_at_every_width() -> None:
    book = opened(WIPE)
    assert short_pace_line(seen(book, 60)) == "heat and gate unknown: R"
    assert not differs(seen(book, 60))
    assert short_pace_line(pace(rh=None)) == "reading no verdict"
    assert not differs(pace(rh=None))
    book.press(0, ev.ReadingTaken(air_c=20.0, rh=40.0))
    assert short_pace_line(seen(book, 3700)) == "reading old: no verdict"
    assert not differs(seen(book, 3700))
