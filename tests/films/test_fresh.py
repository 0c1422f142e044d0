"""What was laid and must not be touched: the latest end of cure and dry time."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from cartclock.engine.after.dates import untouched_text
from cartclock.engine.facts import events as ev
from cartclock.engine.films.fresh import Fresh, fresh
from cartclock.engine.hours.account import readings
from cartclock.engine.plan.plan import Product, Stage, Use, Work
from cartclock.engine.rules import changes, rules
from tests.kit.book import JOB, Book, us
from tests.kit.care import COAT, CURED, DRY, VISIT, begun, coat, finished

HOUR_S = 3600
SLOW = (Product("coat", "Coating", unit="drops", dry_s=20 * HOUR_S),)


def of(book: Book, at_s: float) -> Fresh | None:
    return fresh(book.job(), readings([book.shift()]), us(at_s))


def test_nothing_with_a_time_of_its_own_is_nothing_known() -> None:
    assert of(finished(), 1300) is None
    assert of(begun(stages=(CURED,)), 0) is None


@pytest.mark.parametrize(
    ("air_c", "hours", "stretched"), [(22.0, 12, False), (9.0, 24, True), (None, 24, False)]
)
def test_the_cure_counts_and_is_longer_in_the_cold(
    air_c: float | None, hours: int, stretched: bool
) -> None:
    book = finished(stages=(CURED,))
    if air_c is not None:
        book.press(1250, ev.ReadingTaken(air_c=22.0, rh=50))
        book.press(1300, ev.ReadingTaken(air_c=air_c, rh=50))
    found = of(book, 1400)
    assert found is not None
    assert (found.until_us, found.stretched) == (us(1200 + hours * HOUR_S), stretched)
    assert (found.what, found.stage, found.section) == ("Coat", "Coat", "roof")


def test_of_cure_and_dry_time_the_later_counts() -> None:
    book = finished(stages=(CURED,), products=SLOW)
    book.press(1250, ev.ReadingTaken(air_c=22.0, rh=50))
    found = of(book, 1400)
    assert found is not None and found.until_us == us(1200 + 20 * HOUR_S)
    book.press(1300, ev.ReadingTaken(air_c=9.0, rh=50))
    found = of(book, 1400)
    assert found is not None and found.until_us == us(1200 + 24 * HOUR_S)


def test_a_dry_time_alone_is_enough() -> None:
    found = of(finished(stages=(COAT,), products=SLOW), 1400)
    assert found is not None and found.until_us == us(1200 + 20 * HOUR_S)


def test_whoever_hands_over_hears_what_the_customer_is_told() -> None:
    """As if the job were closed now: in the cold outside the cure is the longer one."""
    book = finished(stages=(CURED,))
    book.press(1250, ev.ReadingTaken(air_c=22.0, rh=50))

    def said(at_s: float) -> str:
        return untouched_text(book.job(), readings([book.shift()]), us(at_s))

    # It was finished at 14:33:20 UTC; 24 h of a place under 15 C.
    mild = "already 02:34 tomorrow"
    told = "Coat not to be touched before 14:34 tomorrow"
    assert said(1400) == f"{told}; at 15 C and more {mild}"
    in_f = untouched_text(book.job(), readings([book.shift()]), us(1400), "F")
    assert in_f == f"{told}; at 59 F and more {mild}"
    # Cured here, it is cured.
    assert said(1200 + 12 * HOUR_S) == ""
    assert said(1200 + 25 * HOUR_S) == ""
    # What the aftercare says of touching ends later, or between the two.
    alone = replace(DRY, about="touch")
    book = finished(alone, VISIT, stages=(CURED,))
    assert said(1400) == "Coat not to be touched before Wed 23 Sep 14:34"
    between = replace(alone, until="PT18H")
    book = finished(between, VISIT, stages=(CURED,))
    book.press(1250, ev.ReadingTaken(air_c=22.0, rh=50))
    assert said(1400) == f"{told}; at 15 C and more already 08:34 tomorrow"
    assert untouched_text(begun(stages=(CURED,)).job(), (), us(0)) == ""


def test_a_coat_is_called_coating() -> None:
    book = begun(stages=(replace(CURED, kind="coat"),))
    book.press(0, ev.ReadingTaken(air_c=22.0, rh=50, panel_c=22.0))
    coat(book, 0, "bonnet", "roof")
    found = of(book, 1400)
    assert found is not None and found.what == "coating"


def test_while_it_is_worked_on_no_end_is_known() -> None:
    book = begun(stages=(CURED,))
    book.do(10, rules.take_up, book.moves(10)[0])
    found = of(book, 20)
    assert found is not None and (found.until_us, found.stage) == (None, "Coat")
    book.do(300, rules.take_up, book.moves(300)[0])
    book.do(600, rules.take_up, next(m for m in book.moves(600) if m.act == "end"))
    found = of(book, 700)
    assert found is not None and found.until_us is None
    book.do(1500, changes.skip, JOB, "Coat", ("roof",), "rain")
    found = of(book, 1600)
    assert found is not None and found.until_us == us(600 + 24 * HOUR_S)


def test_a_section_laid_anew_counts_from_its_last_pass() -> None:
    book = finished(stages=(CURED,))
    book.do(2000, changes.redo, JOB, "Coat", ("bonnet",), "high spot")
    found = of(book, 2100)
    assert found is not None and found.until_us is None
    coat(book, 3000, "bonnet")
    found = of(book, 4000)
    assert found is not None
    assert (found.until_us, found.section) == (us(3600 + 24 * HOUR_S), "bonnet")


def test_the_latest_of_several_stages_counts() -> None:
    seal = Stage("Seal", ("glass",), (Work("wipe on", 1.0, (Use("seal", 5.0),)),))
    products = (
        Product("coat", "Coating", dry_s=HOUR_S),
        Product("seal", "Sealant", dry_s=3 * HOUR_S),
    )
    book = begun(stages=(COAT, seal), products=products)
    coat(book, 0, "bonnet", "roof")
    found = of(book, 1250)
    assert found is not None and (found.stage, found.until_us) == ("Coat", us(1200 + HOUR_S))
    book.do(1300, rules.take_up, book.moves(1300)[0])
    book.do(1400, rules.take_up, next(m for m in book.moves(1400) if m.act == "end"))
    found = of(book, 1500)
    assert found is not None and (found.what, found.until_us) == ("Seal", us(1400 + 3 * HOUR_S))


def test_a_closed_job_with_sections_left_tells_the_end_of_what_lies_on_it() -> None:
    book = begun(stages=(CURED,))
    coat(book, 0, "bonnet")
    book.do(900, rules.close_job, JOB, {"unfinished": "rain"})
    found = of(book, 1000)
    assert found is not None and found.until_us == us(600 + 24 * HOUR_S)
