"""A finish told again as of earlier instants: by what was known then, and by nothing later."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from cartclock.engine.ahead.finish import Finish
from cartclock.engine.ahead.foreseen import Foreseen, Learned, prospect
from cartclock.engine.ahead.telling import ready_about, ready_sentence
from cartclock.engine.ahead.told import ToldFinish, told_at, told_finishes
from cartclock.engine.dates import local
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.turn import Turn
from cartclock.engine.hours.interruptions import Interrupted, interruptions
from cartclock.engine.plan.plan import Handover
from cartclock.engine.times import Instant, Length
from tests.kit.book import JOB, Book, us
from tests.kit.plans import POLISH, WIPE, opening

TURN = Turn(1)


def worked() -> Book:
    """Wipes for three times as long as planned, then cuts."""
    book = Book()
    book.press(0, opening(WIPE, POLISH))
    book.press(0, ev.ClockedOn("carport"))
    book.press(60, ev.WorkStarted("Wipe", WIPE.sections, TURN))
    book.press(960, ev.StepFinished("Wipe", WIPE.sections, TURN))
    book.press(1000, ev.WorkStarted("Polish", POLISH.sections[:1], TURN))
    return book


def plain(book: Book) -> Foreseen:
    return Foreseen(book.jobs(), book.shift())


def by_the_folds(book: Book, at_s: float) -> Finish:
    """What is ahead of a book that ends there."""
    found = prospect(plain(book), us(at_s)).finish(JOB)
    assert found is not None
    return found


def told(book: Book, *at_s: float) -> tuple[ToldFinish, ...]:
    return told_finishes(JOB, "me", book.rows, plain(book), [us(at) for at in at_s])


def test_what_was_told_is_what_the_log_up_to_then_gives() -> None:
    early = Book()
    early.press(0, opening(WIPE, POLISH))
    early.press(0, ev.ClockedOn("carport"))
    early.press(60, ev.WorkStarted("Wipe", WIPE.sections, TURN))
    wanted = by_the_folds(early, 120)
    (found,) = told(worked(), 120)
    ready_us, by_us = wanted.ready_us, wanted.ready_by_us
    assert found == ToldFinish(us(120), ready_us, by_us, wanted.done_us)
    assert found.ready_us < found.by_us


def test_what_was_told_is_when_a_cure_is_over_as_on_run() -> None:
    job = opening(WIPE)
    handover = Handover("PT12H", "Wipe", "invented label")
    book = Book()
    book.press(0, replace(job, plan=replace(job.plan, handover=handover)))
    book.press(0, ev.ClockedOn("carport"))
    (found,) = told(book, 120)
    assert found.ready_us == prospect(plain(book), us(120)).ready_us(JOB)
    assert found.ready_us == found.done_us + 12 * HOUR_US
    assert found.by_us > found.ready_us


@pytest.mark.parametrize(("done", "said"), [(True, "02:20"), (False, "02:15")])
def test_no_time_is_told_before_a_cure_is_over_once_the_work_is_done(done: bool, said: str) -> None:
    """A cure of twelve hours that ends at 02:17."""
    job = opening(WIPE)
    handover = Handover("PT12H", "Wipe", "invented label")
    book = Book()
    book.press(0, replace(job, plan=replace(job.plan, handover=handover)))
    book.press(0, ev.ClockedOn("carport"))
    book.press(10, ev.WorkStarted("Wipe", WIPE.sections, TURN))
    book.press(220, ev.StepFinished("Wipe", WIPE.sections, TURN))
    found = by_the_folds(book, 230)
    assert found.cures and f"{local(found.ready_us, 'UTC'):%H:%M}" == "02:17"
    assert ready_about(found.ready_us, done, us(230), "UTC") == f"Tue {said}"
    assert f"Ready about Tue {said}," in ready_sentence(found, "UTC") or not done


def test_what_took_longer_is_told_later() -> None:
    first, last = told(worked(), 120, 1060)
    # Of the fifteen minutes that the wipe took five were planned.
    assert last.ready_us - first.ready_us > 8 * MINUTE_US


def test_a_late_entry_is_told_from_when_it_was_made() -> None:
    book = worked()
    before = told(book, 800, 1060)
    book.press(700, ev.SectionSkipped("Polish", POLISH.sections[-1:], "not wanted"), entered_s=1050)
    after = told(book, 800, 1060)
    assert after[0] == before[0]
    assert after[1].ready_us < before[1].ready_us


def test_in_the_morning_it_was_told_as_hot_as_the_day_before() -> None:
    book = worked()
    book.press(1010, ev.ReadingTaken(air_c=38.0, rh=60.0))
    book.press(2000, ev.StepFinished("Polish", POLISH.sections[:1], TURN))
    book.press(2010, ev.ClockedOff())
    book.press(80_000, ev.ClockedOn("carport"))
    book.press(80_060, ev.ReadingTaken(air_c=18.0, rh=50.0))
    assert book.odd() == []
    morning, read = told(book, 80_030, 80_090)
    # Where there is no work time a piece of an hour takes several.
    assert morning.ready_us > read.ready_us + HOUR_US


def test_a_call_that_came_later_was_not_known_of() -> None:
    """What is known of other work now holds the call; what was told before it did not."""
    book = worked()

    def learned(at_s: float) -> Foreseen:
        known = interruptions(book.job(), [book.shift()])
        hands_us = known.hands_us["me"]
        calls = [one for one in known.kinds if one.worker == "me"]
        length_us = Length(sum(one.length_us for one in calls))
        squares = sum(one.squares_min2 for one in calls)
        of = Learned(interrupted=Interrupted(1, hands_us, length_us, squares))
        return Foreseen(book.jobs(), book.shift(), of)

    book.press(1500, ev.WorkPutDown("Polish", POLISH.sections[:1], TURN))
    before = told_finishes(JOB, "me", book.rows, learned(1500), [us(1400)])
    book.press(1500, ev.OtherWorkStarted("phone"))
    book.press(6000, ev.OtherWorkEnded())
    later = learned(6000)
    assert later.learned.interrupted.length_us > 0
    assert told_finishes(JOB, "me", book.rows, later, [us(1400)]) == before


def test_a_closed_job_has_nothing_to_tell() -> None:
    book = worked()
    book.press(1090, ev.StepFinished("Polish", POLISH.sections[:1], TURN))
    book.press(1100, ev.JobClosed())
    assert book.odd() == []
    assert [one.told_us for one in told(book, 500, 1200)] == [us(500)]
    assert told_finishes(JOB, "me", [], plain(book), [us(500)]) == ()


def test_of_a_few_minutes_only_the_end_is_told() -> None:
    assert told_at(us(90), us(90)) == (us(90),)
    assert told_at(us(90), us(200)) == (us(200),)


@pytest.mark.parametrize("hours", [0.2, 1, 7.5, 14, 60, 900])
def test_a_day_is_told_at_both_ends_and_round_minutes_between(hours: float) -> None:
    from_us = Instant(us(90))
    to_us = Instant(from_us + round(hours * HOUR_US))
    at = told_at(from_us, to_us)
    assert (at[0], at[-1]) == (from_us, to_us)
    assert list(at) == sorted(set(at))
    assert len(at) <= 26
    if hours in (1, 7.5, 14):
        assert len(at) >= 8
        assert all(one % (5 * MINUTE_US) == 0 for one in at[1:-1])
