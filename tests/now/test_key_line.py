"""The line of a key: when it is news, and for how long. No source: laws of this house."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from cartclock.engine.body.watch import watch
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.turn import Turn
from cartclock.engine.now.at_hand import job_at_hand, other_vehicle
from cartclock.engine.now.key_line import NEWS_US, KeyLine
from cartclock.engine.times import Instant
from cartclock.engine.until import lasting
from tests.kit.book import Book, us
from tests.kit.plans import POLISH, WIPE, opening

SPREAD = Move("take up", "job", "Coat", ("roof",), Turn(), "apply")
STAND = Move("stand by", "job", "Coat", ("bonnet",), Turn(1, 1, 2), why="window")
LEVEL = Move("take up", "job", "Coat", ("bonnet",), Turn(1, 1, 2), "level", why="window")
LATE = replace(LEVEL, why="late", minutes=1.0)
BUFF = replace(LEVEL, turn=Turn(1, 1, 3), say="buff")
OTHER = replace(SPREAD, job="another")
LOOK = Move("look", "job", "Coat", ("roof",), why="look")
LOOKS = replace(LOOK, sections=("roof", "bonnet"))
REST, END = Move("rest", minutes=15, why="rest"), Move("end", why="end")
T0 = Instant(10**12)


@pytest.mark.parametrize(
    ("before", "after", "news"),
    [
        (SPREAD, SPREAD, False),
        (SPREAD, STAND, True),
        (SPREAD, LEVEL, True),
        (STAND, LEVEL, False),
        (LEVEL, LATE, False),
        (LEVEL, BUFF, True),
        (SPREAD, OTHER, True),
        (SPREAD, REST, True),
        (REST, SPREAD, True),
        (REST, replace(REST, minutes=20), False),
        (SPREAD, END, True),
        (SPREAD, LOOK, True),
        (LOOK, LOOKS, False),
        (None, SPREAD, True),
        (SPREAD, None, True),
        (None, None, False),
    ],
)
@pytest.mark.parametrize("own", [False, True])
def test_another_move_is_news_unless_its_worker_pressed(
    before: Move | None, after: Move | None, news: bool, own: bool
) -> None:
    line = KeyLine(before).then(after, None, T0, own)
    assert line.is_news(T0) is (news and not own)
    assert line.move == after


def test_news_is_old_after_three_seconds_and_names_that_instant() -> None:
    line = KeyLine(SPREAD).then(LEVEL, None, T0, False)
    assert line.is_news(Instant(T0 + NEWS_US - 1))
    assert not line.is_news(Instant(T0 + NEWS_US))
    said = lasting(lambda now_us: line.is_news(Instant(now_us)), T0)
    assert said.until_us == T0 + NEWS_US == T0 + 3_000_000


def test_a_picture_without_a_change_neither_ends_news_nor_makes_it_longer() -> None:
    line = KeyLine(SPREAD).then(LEVEL, None, T0, False)
    again = line.then(LEVEL, None, Instant(T0 + 1_000_000), False)
    assert again == line


def test_once_told_the_line_is_no_news_unless_it_changes_again() -> None:
    line = KeyLine(SPREAD).then(LEVEL, None, T0, False).told()
    assert not line.then(LEVEL, None, Instant(T0 + 1), False).is_news(Instant(T0 + 1))
    assert line.then(SPREAD, None, Instant(T0 + 1), False).is_news(Instant(T0 + 1))


def hot(ill: bool = False) -> Book:
    """Somebody for whom a rest is called, by the heat or because of a sign that was named."""
    book = Book()
    book.press(0, opening(WIPE))
    book.press(0, ev.ClockedOn("carport"))
    book.press(0, ev.ReadingTaken(air_c=45.0, rh=60.0))
    book.press(0, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    if ill:
        book.press(60, ev.FeltUnwell(("dizziness",)))
    return book


def test_the_rest_of_somebody_unwell_waits_for_nothing() -> None:
    for ill in (False, True):
        book = hot(ill)
        now_us = us(3600)
        fares = watch(book.shift(), book.jobs(), now_us)
        assert fares.rest_now
        assert KeyLine(SPREAD).then(REST, fares, now_us, False).is_news(now_us) is not ill
        # Whatever else takes the place of a line does wait.
        assert KeyLine(SPREAD).then(LEVEL, fares, now_us, False).is_news(now_us)
        assert KeyLine(SPREAD).then(None, fares, now_us, False).is_news(now_us)


def test_going_on_past_a_rest_that_was_just_called_is_another_move() -> None:
    book = hot()
    fares = watch(book.shift(), book.jobs(), us(3600))
    before = KeyLine(SPREAD).then(SPREAD, None, us(3599), False)
    called = before.then(SPREAD, fares, us(3600), False)
    assert called.is_news(us(3600))
    assert called.then(SPREAD, fares, us(3602), False).news_until_us == called.news_until_us
    for move in (END, STAND, None):
        # What takes nothing up goes on past no rest.
        before = KeyLine(move).then(move, None, us(3599), False)
        assert not before.then(move, fares, us(3600), False).is_news(us(3600))


def test_the_job_at_hand_is_the_one_held_last_and_another_vehicle_is_named() -> None:
    book = Book()
    book.press(0, opening(POLISH, number=1), job="a")
    book.press(0, replace(opening(WIPE, number=2), vehicle="blue van"), job="b")
    book.press(0, ev.ClockedOn())
    jobs = book.jobs()
    to_a = Move("take up", "a", "Polish", ("door",), Turn(), "cut")
    to_b = Move("take up", "b", "Wipe", ("whole car",), Turn(), "wipe")
    # Nothing was held yet: each of two is named.
    assert job_at_hand(jobs, book.shift()) is None
    assert other_vehicle(jobs, book.shift(), to_a) == "bottle green estate"
    book.press(10, ev.WorkStarted("Polish", ("door",), Turn()), job="a")
    in_hand = job_at_hand(book.jobs(), book.shift())
    book.press(20, ev.BreakTaken("rest"))
    held_last = job_at_hand(book.jobs(), book.shift())
    assert [job and job.id for job in (in_hand, held_last)] == ["a", "a"]
    assert other_vehicle(book.jobs(), book.shift(), to_a) == ""
    assert other_vehicle(book.jobs(), book.shift(), to_b) == "blue van"
    # Handing over says the vehicle itself.
    assert other_vehicle(book.jobs(), book.shift(), Move("close", "b", why="end")) == ""
