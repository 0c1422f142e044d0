"""The customer's paper and the sheet of the hand-over: what is true of them.

All lengths are invented round numbers for tests, no source, and no advice.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import believed_rows
from cartclock.engine.facts.sealed import Sealed
from cartclock.engine.facts.turn import Turn
from cartclock.engine.plan.plan import Aftercare, Plan, Product, Stage, Use, Work
from cartclock.engine.products.stock import pack_log
from cartclock.engine.record.arrival import ArrivalSheet, arrival_sheet
from cartclock.engine.record.coated import Coated, Put
from cartclock.engine.record.customer import (
    CustomerSheet,
    FilmLaid,
    Statement,
    customer_sheet,
)
from cartclock.engine.record.record import Record, record
from tests.kit.book import Book, us

PRODUCTS = (Product("coat", "Coating"), Product("sealant", "Sealant", dry_s=7200))
COAT = Stage("Coat", ("roof", "bonnet"), (Work("apply", 1.0, (Use("coat", 5),)),), kind="coat")
SEAL = Stage("Seal", ("wheels",), (Work("spread", 1.0, (Use("sealant", 5),)),))
WASH = Stage("Wash", ("body", "wheels"), (Work("wash"),))
DRY = Aftercare("Keep it dry.", "label", until="PT1H", after="Coat", if_not="Dry it.")
SOAP = Aftercare("No shampoo.", "label", until="PT3H", after="Coat")
VISIT = Aftercare("Inspection.", "label", every="P6M", times=2, visit=True, after="Coat")


def book_of(*stages: Stage, cares: tuple[Aftercare, ...] = (), **opened: object) -> Book:
    """A job of these stages and aftercares, the worker clocked on."""
    book = Book()
    plan = Plan("Coat it", stages, PRODUCTS, (), cares)
    event = ev.JobOpened(plan, "", 1, "bottle green estate", "UTC")
    book.press(0, replace(event, **opened))
    book.press(0, ev.ClockedOn("carport"))
    return book


def lay(book: Book, at_s: float, stage: str, *names: str, pass_: int = 1) -> None:
    """Works from that second on for 10 s on each of these, in one step."""
    used = {"Coat": "coat", "Seal": "sealant"}
    turn = Turn(pass_)
    for index, name in enumerate(names):
        begin_s = at_s + 10 * index
        book.press(begin_s, ev.WorkStarted(stage, (name,), turn))
        done: list[Struct] = [ev.StepFinished(stage, (name,), turn)]
        if stage in used:
            done.append(ev.ProductUsed(stage, (name,), turn, {used[stage]: 5.0}))
        book.press(begin_s + 10, *done)


def recorded(book: Book, at_s: float, texts: dict[str, str] | None = None) -> Record:
    """The record of the book's job at that second."""
    assert book.odd() == []
    packs = pack_log(believed_rows(book.rows))
    return record(
        book.job(),
        {"me 1": book.shift()},
        book.jobs(),
        us(at_s),
        rows=book.rows,
        text=(texts or {}).get,
        lots=packs.lot_at,
    )


def sheet(book: Book, at_s: float, texts: dict[str, str] | None = None) -> CustomerSheet:
    return customer_sheet(recorded(book, at_s, texts))


def coated(*cares: Aftercare, closed_s: float | None = None, **opened: object) -> Book:
    """A coat whose last touch is at second 100, handed over at `closed_s`."""
    book = book_of(COAT, cares=cares, **opened)
    lay(book, 80, "Coat", "roof", "bonnet")
    if closed_s is not None:
        book.press(closed_s, ev.JobClosed())
    return book


# Second 0 is Mon 21 Sep 2026 14:13:20 UTC; the hour after the last touch ends at 15:15:00.
WARNED = "It must still stay dry: until Mon 21 Sep 2026 15:15. Keep it dry."


def test_line_one_warns_if_it_leaves_before_the_first_end_and_not_after() -> None:
    for closed_s, warned in ((3699, True), (3700, False)):
        found = sheet(coated(SOAP, DRY, closed_s=closed_s), 9000)
        assert found.warning == (WARNED if warned else "")
        assert found.leaves_us == us(closed_s)


def test_an_open_job_leaves_at_the_time_promised_or_now_if_that_is_over() -> None:
    assert sheet(coated(DRY, promised_us=us(5000)), 200).warning == ""
    assert sheet(coated(DRY, promised_us=us(300)), 200).warning == WARNED
    late = sheet(coated(DRY, promised_us=us(300)), 4000)
    assert (late.warning, late.leaves_us) == ("", us(4000))
    assert sheet(coated(DRY), 200).warning == WARNED


def test_a_date_is_over_with_its_day() -> None:
    care = Aftercare("Keep it dry.", "label", until="P1D", after="Coat")
    # The day after the 21st ends 33 h 46 min 40 s after second 0.
    until = "until Tue 22 Sep 2026 (included). Keep it dry."
    end_s = 33 * 3600 + 46 * 60 + 40
    assert sheet(coated(care, closed_s=end_s - 1), end_s).warning.endswith(until)
    assert sheet(coated(care, closed_s=end_s), end_s).warning == ""


def test_the_last_of_several_films_is_warned_of() -> None:
    book = book_of(COAT, SEAL, cares=(DRY,))
    lay(book, 80, "Coat", "roof", "bonnet")
    lay(book, 200, "Seal", "wheels")
    book.press(300, ev.JobClosed())
    # Two hours by the label of the sealant, from second 210 on: 16:16:50, told up.
    assert sheet(book, 400).warning == (
        "It must still stay dry: until Mon 21 Sep 2026 16:17. No water on Seal."
    )


def test_what_is_not_known_is_said() -> None:
    assert sheet(coated(closed_s=200), 300).warning == (
        "How long it must stay dry is not noted: Coat."
    )
    book = book_of(COAT, cares=(DRY,))
    lay(book, 80, "Coat", "roof")
    assert sheet(book, 100).warning == (
        "Until when it must stay dry is known when this is finished: Coat."
    )
    # A wash lays nothing.
    washed = book_of(WASH)
    lay(washed, 10, "Wash", "body", "wheels")
    assert sheet(washed, 100).warning == ""


def test_an_example_is_called_one() -> None:
    care = replace(DRY, source="example")
    assert sheet(coated(care, closed_s=200), 300).warning == f"{WARNED} (example)"


def test_what_the_shop_did_to_get_there_is_not_told() -> None:
    book = book_of(WASH, COAT, SEAL, cares=(DRY,))
    lay(book, 10, "Wash", "body", "wheels")
    lay(book, 60_000, "Coat", "roof")
    book.press(60_100, ev.SectionSkipped("Coat", ("bonnet",), "the customer is a bore"))
    book.press(60_110, ev.WaterTouched("Coat", ("roof",)))
    said = repr(sheet(book, 61_000))
    for word in ("bore", "Wash", "Got wet"):
        assert word not in said


def test_what_stays_is_told_with_its_lots_and_dates() -> None:
    book = book_of(COAT, cares=(DRY,))
    book.press(5, ev.PackOpened("coat", 100, lot="A1"))
    lay(book, 10, "Coat", "roof", "bonnet")
    book.press(100, ev.PackOpened("coat", 100, lot="B2"))
    book.press(110, ev.SectionReopened("Coat", ("roof",), Turn(2), "high spot"))
    lay(book, 90_000, "Coat", "roof", pass_=2)
    # The newest pass alone is on the roof.
    assert sheet(book, 91_000).laid == (
        FilmLaid(
            "Coat",
            (Put("coat", "Coating", ("A1", "B2")),),
            1,
            (("bonnet", 1), ("roof", 1)),
            ("2026-09-21", "2026-09-22"),
        ),
    )


def test_a_lot_that_was_noted_for_a_part_is_not_told_of_all() -> None:
    book = book_of(COAT)
    lay(book, 80, "Coat", "roof")
    assert [one.lots_text for one in sheet(book, 100).laid] == [""]
    book.press(110, ev.PackOpened("coat", 600, "drops", lot="B2"))
    lay(book, 120, "Coat", "bonnet")
    (film,) = sheet(book, 200).laid
    assert (film.products, film.lots_text) == (
        (Put("coat", "Coating", ("B2",), True),),
        "lot not noted and B2",
    )
    book.press(210, ev.PackOpened("coat", 600, "drops", lot="C3"))
    book.press(220, ev.SectionReopened("Coat", ("roof",), Turn(2), "smear"))
    lay(book, 230, "Coat", "roof", pass_=2)
    # What has no noted lot is off again.
    assert [one.lots_text for one in sheet(book, 300).laid] == ["lot B2, C3"]


def film(layer: int, pass_: int, at_s: float = 0.0, section: str = "roof") -> Coated:
    at_us = us(100 * pass_ + layer + at_s)
    coating = (Put("coat", "Coating", ()),)
    return Coated("Coat", section, section, pass_, layer, 2, coating, at_us, at_us, None)


@pytest.mark.parametrize(
    ("films", "layers"),
    [
        ([film(1, 1), film(2, 1)], 2),
        # Polished out and laid again from the first layer on: the old second one is gone too.
        ([film(1, 1), film(2, 1), film(1, 2)], 1),
        ([film(1, 1), film(2, 1), film(1, 2), film(2, 2)], 2),
        # The second layer alone was laid again: the first one is still under it.
        ([film(1, 1), film(2, 1), film(2, 2)], 2),
        # One still in hand counts for nothing yet.
        ([film(1, 1), replace(film(2, 1), last_us=None)], 1),
    ],
)
def test_a_layer_laid_again_took_off_what_was_above_it(films: list[Coated], layers: int) -> None:
    made = replace(recorded(book_of(COAT), 300), coated=(*films, film(1, 1, 5, "bonnet")))
    (laid,) = customer_sheet(made).laid
    assert dict(laid.sections) == {"roof": layers, "bonnet": 1}
    assert laid.layers == layers
    assert laid.fewer == ((("bonnet", 1),) if layers > 1 else ())


def test_a_film_still_in_hand_is_not_on_it() -> None:
    begun = book_of(COAT)
    begun.press(10, ev.WorkStarted("Coat", ("roof",), Turn()))
    assert sheet(begun, 20).laid == ()


def test_paint_readings_are_told_where_there_are_both() -> None:
    book = coated(DRY)
    book.press(
        110, ev.PaintRead("roof", "before", 110, 125), ev.PaintRead("bonnet", "before", 9, 9)
    )
    assert sheet(book, 300).paints == ()
    book.press(120, ev.PaintRead("roof", "after", 108, 122))
    assert [one.panel for one in sheet(book, 300).paints] == ["roof"]


def test_visits_stand_apart_and_move_to_an_open_day() -> None:
    made = recorded(coated(DRY, VISIT, closed_s=200), 300)
    found = customer_sheet(made, lambda day: "2027-03-22" if day == "2027-03-21" else day)
    assert [care.say for care in found.cares] == ["Keep it dry."]
    assert [(v.day, v.nth, v.of, v.moved_from) for v in found.visits] == [
        ("2027-03-22", 1, 2, "2027-03-21"),
        ("2027-09-21", 2, 2, ""),
    ]


def test_what_drops_out_is_left_out() -> None:
    gone = Aftercare("Polish it.", "label", until="P1D", after="Nowhere")
    assert [care.say for care in sheet(coated(DRY, gone), 300).cares] == ["Keep it dry."]


def test_notes_are_told_unless_private_or_forgotten() -> None:
    book = coated(DRY)
    for at_s, name, private in ((110, "a", False), (120, "b", True), (130, "gone", False)):
        book.press(at_s, ev.NoteWritten(Sealed(name, ""), "Coat", "roof", private))
    book.press(140, ev.DamageNoted("bonnet", "chip", Sealed("gone", "")))
    book.press(150, ev.AgreementNoted(Sealed("c", ""), "40.00"))
    book.press(160, ev.AgreementNoted(Sealed("gone", "")))
    texts = {"a": "dry by noon", "b": "pays late", "c": "no new wiper blades"}
    found = sheet(book, 300, texts)
    assert found.notes == (Statement(us(110), "roof", "dry by noon"),)
    assert found.agreed == (Statement(us(150), "", "no new wiper blades"),)
    assert [(one.panel, one.what, one.note) for one in found.damages] == [("bonnet", "chip", "")]
    assert "pays late" not in repr(found) and "40" not in repr(found.agreed)


@pytest.mark.parametrize(
    ("stage", "section", "where"),
    [
        ("Coat", "roof", "roof"),
        # Written while the whole car was in hand, at a stage of the shop's.
        ("Seal", "wheels", ""),
        ("Coat", "", ""),
        ("", "", ""),
    ],
)
def test_a_note_says_the_part_of_the_vehicle_and_not_the_stage(
    stage: str, section: str, where: str
) -> None:
    book = book_of(COAT, SEAL)
    book.press(110, ev.NoteWritten(Sealed("a", ""), stage, section, False))
    assert sheet(book, 300, {"a": "by noon"}).notes == (Statement(us(110), where, "by noon"),)


def test_a_forgotten_customer_is_nobody() -> None:
    book = coated(DRY, customer=Sealed("gone", ""), plate=Sealed("p", ""))
    found = sheet(book, 300, {"p": "DEMO 01"})
    assert (found.customer, found.plate) == ("", "DEMO 01")


# The sheet of the hand-over.


def arrived(book: Book, texts: dict[str, str] | None = None) -> ArrivalSheet:
    return arrival_sheet(recorded(book, 500, texts))


def test_the_hand_over_has_damage_by_panel_first_odometer_and_the_price_with_extras() -> None:
    book = coated(DRY, price="640.00", promised_us=us(9000))
    book.press(110, ev.OdometerRead(84210), ev.OdometerRead(84310))
    book.press(120, ev.DamageNoted("roof", "chip"), ev.DamageNoted("bonnet", "dent"))
    book.press(130, ev.DamageNoted("roof", "scratch", Sealed("s", "")))
    book.press(140, ev.AgreementNoted(Sealed("c", ""), "40.50"))
    book.press(150, ev.AgreementNoted(Sealed("gone", ""), None))
    found = arrived(book, {"s": "two fingers long", "c": "lamps as well"})
    assert [(one.panel, [(d.what, d.note) for d in one.found]) for one in found.damages] == [
        ("roof", [("chip", ""), ("scratch", "two fingers long")]),
        ("bonnet", [("dent", "")]),
    ]
    assert found.odometer is not None and found.odometer.reading == 84210
    assert (found.price, found.total) == (Decimal("640.00"), Decimal("680.50"))
    assert [one.text for one in found.extras] == ["lamps as well", ""]
    assert (found.work, found.stages) == ("Coat it", ("Coat",))
    assert (found.promised_us, found.opened_us) == (us(9000), us(0))


def test_a_hand_over_of_which_nothing_was_noted() -> None:
    found = arrived(book_of(WASH))
    assert (found.odometer, found.damages, found.price, found.total) == (None, (), None, None)
    assert (found.price_text, found.extras, found.promised_us) == ("", (), None)
    assert arrived(book_of(WASH, price="as last year")).price_text == "as last year"
