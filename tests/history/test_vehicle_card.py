"""The card of a vehicle that comes again: what is on it, what it is owed, what was read then.

All lengths and readings are invented for tests, no source, and no advice.
"""

from __future__ import annotations

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.sealed import Sealed
from cartclock.engine.history.job_lines import JobLine, lines_of_job
from cartclock.engine.history.vehicle_card import VehicleCard, vehicle_card
from cartclock.engine.letters import plate_letters
from cartclock.engine.record.record import Record
from cartclock.engine.times import Instant
from tests.kit.book import Book, us
from tests.record.test_customer_sheet import DRY, SOAP, VISIT, coated, recorded

DAY_S = 86400.0
PLATE = Sealed("plate", "c" * 64)


def line_of(book: Book) -> JobLine:
    return lines_of_job(book.job(), [book.shift()]).job


def visit(
    job: str, number: int, at_s: float, book: Book, texts: dict[str, str] | None = None
) -> tuple[tuple[str, JobLine], Record]:
    """A job as one of several, opened at that second."""
    found = replace(recorded(book, 3600, texts), job=job, number=number, opened_us=us(at_s))
    return (job, replace(line_of(book), number=number, opened_us=us(at_s))), found


def card_of(
    *visits: tuple[tuple[str, JobLine], Record], now_s: float, plate: str = ""
) -> VehicleCard:
    lines, records = zip(*visits, strict=True)
    return vehicle_card(lines, records, us(now_s), plate)


def test_what_was_laid_is_on_it_with_its_job_and_what_is_owed_is_to_come() -> None:
    book = coated(DRY, SOAP, VISIT)
    card = card_of(visit("one", 1, 0, book), now_s=7200)
    assert [(one.number, one.film.stage) for one in card.films] == [(1, "Coat")]
    # Dry for an hour after second 100, no shampoo for three.
    assert [one.say for one in card.cares] == ["No shampoo."]
    assert [(one.visit.nth, one.state) for one in card.booked] == [(1, "to come"), (2, "to come")]
    assert card_of(visit("one", 1, 0, book), now_s=4 * 3600).cares == ()


def test_a_visit_whose_day_is_over_is_owed_until_the_vehicle_was_here() -> None:
    book = coated(VISIT)
    late = 200 * DAY_S
    first = visit("one", 1, 0, book)
    booked = card_of(first, now_s=late).booked
    assert [(one.visit.nth, one.state) for one in booked] == [(1, "over"), (2, "to come")]
    again = visit("two", 2, 190 * DAY_S, coated())
    states = [
        (one.number, one.visit.nth, one.state) for one in card_of(again, first, now_s=late).booked
    ]
    assert states == [(1, 2, "to come")]


def test_the_newest_reading_of_a_panel_counts_and_words_of_persons_are_left_out() -> None:
    note = Sealed("note", "d" * 64)

    def book(um: float) -> Book:
        made = coated()
        made.press(200, ev.PaintRead("roof", "before", um, um + 10))
        made.press(200, ev.DamageNoted("roof", "scratch", note))
        return made

    texts = {note.ref: "the neighbour's bicycle"}
    newer = visit("two", 2, 5 * DAY_S, book(90), texts)
    older = visit("one", 1, 0, book(120), texts)
    card = card_of(newer, older, now_s=9 * DAY_S)
    (paint,) = card.paints
    assert paint.number == 2
    assert paint.paint.before is not None
    assert paint.paint.before.low_um == 90
    (damage,) = card.damages
    assert (damage.number, damage.damage.what, damage.damage.note) == (2, "scratch", "")


def test_another_plate_is_another_vehicle() -> None:
    mine = coated(plate=PLATE)
    one = visit("one", 1, 0, mine, {PLATE.ref: "ab 12-cd"})
    other = visit("two", 2, DAY_S, mine, {PLATE.ref: "XY 99 ZZ"})
    unknown = visit("three", 3, 2 * DAY_S, coated())
    card = card_of(unknown, other, one, now_s=3 * DAY_S, plate="AB12CD")
    assert [job for job, _line in card.visits] == ["three", "one"]
    assert card.plate == "ab 12-cd"
    # One of them is known by its name alone.
    assert not card.by_plate
    assert card_of(one, now_s=DAY_S).by_plate
    assert not card_of(unknown, now_s=3 * DAY_S).by_plate
    # Of more visits than were read nothing is known of the plate.
    lines = [one[0], ("zero", replace(one[0][1], opened_us=Instant(1)))]
    assert not vehicle_card(lines, [one[1]], us(DAY_S)).by_plate
    assert plate_letters("äb-12 ") == "ÄB12"
