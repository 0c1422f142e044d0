"""What is told before a shift ends, reckoned by hand beside a coat of two layers."""

from __future__ import annotations

from datetime import time

from msgspec.structs import replace

from cartclock.engine.ahead.foreseen import Foreseen, Foresight, Learned
from cartclock.engine.dates import local
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.now.be_here_by import be_here_by
from cartclock.engine.plan.plan import Product, Use, Work
from cartclock.engine.products.stock import stock
from cartclock.engine.record.day import day
from cartclock.engine.rules import rules
from tests.kit.book import JOB, Book, us
from tests.kit.plans import COAT, WIPE, opening

A, B, ROOF = "bonnet left", "bonnet right", "roof"
HOUR_S = 3600
# 2026-09-21 14:13:20 UTC is second 0 of a book.
GAP = Marks(1 * HOUR_S, 18 * HOUR_S, 20 * HOUR_S)
FOAMED = replace(WIPE, name="Foam", steps=(Work("foam", 5.0, (Use("foam", 100.0),)),))
PRODUCTS = (Product("coat", "Coating", pack=50.0), Product("foam", "Foam", mix="50:1"))
PROMISED_S = 27 * HOUR_S


def car(promised: bool = True) -> Book:
    book = Book()
    job = opening(FOAMED, COAT)
    job = replace(job, plan=replace(job.plan, products=PRODUCTS))
    book.press(0, replace(job, promised_us=us(PROMISED_S) if promised else None), job=JOB)
    book.press(1, ev.ClockedOn())
    return book


def told(book: Book, at_s: float, behind_night: bool = False) -> tuple[str, ...]:
    jobs, on = {JOB: book.job()}, book.scene(at_s).on
    return be_here_by(jobs, on, stock(book.rows), us(at_s), behind_night=behind_night)


def laid(book: Book, gap: Marks = GAP) -> None:
    """The first layer is on three sections, one after the other, each with its gap."""
    for at_s, name in ((100, A), (110, B), (120, ROOF)):
        for step in (0, 2, 3):
            book.press(at_s, ev.WorkStarted("Coat", (name,), Turn(1, 1, step)))
            marks = gap if step == 3 else None
            book.press(at_s, ev.StepFinished("Coat", (name,), Turn(1, 1, step), marks))


def test_a_day_on_which_nothing_waits_says_nothing() -> None:
    assert told(car(promised=False), 60) == ()


def test_the_next_layer_says_when_to_be_here() -> None:
    book = car()
    laid(book)
    # First touch of the last step at second 100: due 18 h, closed 20 h behind it. Three sections
    # of 1.5, 2 and 1 minutes are 13.5 minutes by the plan and 14.6 as work is expected before
    # anything is learned; it must be on by 08:15.
    assert told(book, 200) == (
        "Be here by Tue 22 Sep 08:00. bottle green estate: Coat, layer 2 opens Mon 21 Sep 15:15, "
        "should be on by Tue 22 Sep 08:15, must by Tue 22 Sep 10:15; about 15 min.",
        # And five minutes of the foam: 18.5 by the plan, and what usually comes between.
        "bottle green estate: promised Tue 22 Sep 17:13; about 25 min left: be here by "
        "Tue 22 Sep 16:48.",
    )
    # A day later the label speaks.
    late = told(book, PROMISED_S - 60)
    assert late[0].endswith("layer 2 closed Tue 22 Sep 10:15: the label says what is done then.")
    assert late[1].endswith("about 25 min left, more than there is time for.")
    assert told(book, PROMISED_S)[1].endswith("promised Tue 22 Sep 17:13, which is past.")


def test_nobody_is_called_in_the_night_for_what_can_wait_until_morning() -> None:
    # Laid at 14:15: due at 02:15, and it must be on by 10:15 of the next day, five minutes of
    # work before.
    book = car(promised=False)
    night = Marks(1 * HOUR_S, 12 * HOUR_S, 20 * HOUR_S)
    for step in (0, 2, 3):
        book.press(100, ev.WorkStarted("Coat", (A,), Turn(1, 1, step)))
        marks = night if step == 3 else None
        book.press(100, ev.StepFinished("Coat", (A,), Turn(1, 1, step), marks))
    (said,) = told(book, 200)
    assert said.startswith("Be here by Tue 22 Sep 08:00. ")
    assert "should be on by Tue 22 Sep 02:15, must by Tue 22 Sep 10:15" in said
    # Of somebody whose days begin at seven.
    early = Foreseen({JOB: book.job()}, book.shift(), learned=Learned(begins=time(7)))
    (said,) = be_here_by(
        {JOB: book.job()}, book.shift(), None, us(200), ahead=Foresight(lambda: early)
    )
    assert said.startswith("Be here by Tue 22 Sep 07:00. ")
    # Who asks when it is nearly too late has no time to go.
    (said,) = told(book, 19.99 * HOUR_S)
    assert said.startswith("No time to go and come again. ")


def test_the_finish_goes_on_when_somebody_whose_days_begin_late_is_asked_to_be_here() -> None:
    """Laid at 14:15; the next layer opens at 02:15 and must be on by 10:15."""
    book = car(promised=False)
    gap = Marks(12 * HOUR_S, 14 * HOUR_S, 20 * HOUR_S)
    laid(book, gap)
    learned = Learned(begins=time(13), ends=time(22))
    late = Foreseen({JOB: book.job()}, book.shift(), learned=learned)
    ahead = Foresight(lambda: late)
    said = be_here_by({JOB: book.job()}, book.shift(), None, us(200), ahead=ahead)[0]
    assert said.startswith("Be here by Tue 22 Sep 10:00. ")
    assert "must by Tue 22 Sep 10:15" in said
    found = ahead.at(us(200)).finish(JOB)
    assert found is not None
    assert [f"{local(at_us, 'UTC'):%d %H:%M}" for at_us in found.mornings] == ["22 10:00"]
    assert f"{local(found.done_us, 'UTC'):%d %H}" == "22 10"


def test_what_must_not_stand_overnight_and_what_is_to_be_brought() -> None:
    book = car(promised=False)
    book.press(10, ev.WorkStarted("Foam", ("whole car",), Turn()))
    book.press(20, ev.StepFinished("Foam", ("whole car",), Turn()))
    book.press(30, ev.PackOpened("coat", 50.0, "ml"), ev.PackWeighed("coat", 15.0), job="")
    book.press(40, ev.WorkStarted("Coat", (A,), Turn()))
    book.press(50, ev.StepFinished("Coat", (A,), Turn(), Marks(60, 100, 300)))
    film, mixed, bring = told(book, 70)
    assert film == "Not to stand overnight: the film on bonnet left."
    assert mixed.startswith(
        "Not to stand overnight: wet towels, buckets, and what is mixed of Foam;"
    )
    # 10 on each of two sections, then 15, 10 and 10.
    assert bring == "Bring: Coating will not last for this job: 15 ml left, 55 ml needed."


def test_on_the_next_day_nothing_is_told_of_the_night_and_the_layer_as_it_is_by_then() -> None:
    book = car(promised=False)
    book.press(10, ev.WorkStarted("Foam", ("whole car",), Turn()))
    book.press(20, ev.StepFinished("Foam", ("whole car",), Turn()))
    laid(book)
    assert told(book, 200)[0].startswith("Not to stand overnight: ")
    assert told(book, 18 * HOUR_S, behind_night=True) == (
        "Be here by Tue 22 Sep 10:00. bottle green estate: Coat, layer 2 is open, should be on by "
        "Tue 22 Sep 08:15, must by Tue 22 Sep 10:15; about 15 min.",
    )


def test_it_is_a_fact_of_the_shift_and_stands_in_the_day() -> None:
    book = car()
    laid(book)
    said = told(book, 200)
    book.do(200, rules.clock_off, told=said)
    shift = book.shift()
    assert shift.told == said
    found = day("2026-09-21", "UTC", {shift.id: shift}, {JOB: book.job()}, us(300))
    assert [part.told for part in found.shifts] == [said]
