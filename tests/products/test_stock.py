"""Stock: exact shares, weighings, lots and prices; the same after any undo and redo.

Products and prices are invented round numbers for tests, no source, and no advice.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts import job as jobs_
from cartclock.engine.facts.rows import Row, believed_rows
from cartclock.engine.facts.turn import Turn
from cartclock.engine.plan.amounts import concentrate, exact, share
from cartclock.engine.plan.plan import Plan, Product
from cartclock.engine.products.consumption import Consumed, consumed, rounded, total
from cartclock.engine.products.item import Item
from cartclock.engine.products.stock import PackLog, Stock, pack_log, stock
from tests.kit.book import JOB, Book, row_at, us
from tests.kit.plans import COAT, FALLOUT
from tests.kit.samples import ANY_EVENT

OTHER = "job-2"
PRODUCTS = (
    Product("fallout", "Iron fallout remover", mix="10:1", pack=1000.0, price="18.50"),
    Product("coat", "Coating", unit="drops"),
    Product("towel", "Levelling towel", unit="each"),
)
OPENED = ev.JobOpened(Plan("tiny", (FALLOUT, COAT), PRODUCTS), "", 1, "bottle green estate")


def begun(*jobs: str) -> Book:
    """A book with these jobs open, the worker clocked on."""
    book = Book()
    for number, job in enumerate(jobs or (JOB,), 1):
        book.press(0, replace(OPENED, number=number), job=job)
    book.press(0, ev.ClockedOn("carport"))
    return book


def used(
    book: Book, at_s: float, product: str, amount: float, where: str = "", job: str = JOB
) -> int:
    """Books an amount on a section of the stage that uses the product."""
    stage, section = ("Coat", where or "roof") if product != "fallout" else ("Fallout", "left")
    return book.press(at_s, ev.ProductUsed(stage, (section,), Turn(), {product: amount}), job=job)


def item(book: Book, product: str = "fallout") -> Item:
    return stock(book.rows).items[product]


def packs(rows: Sequence[Row]) -> PackLog:
    """What these rows say of packs."""
    return pack_log(believed_rows(rows))


def of_job(book: Book, job: str = JOB) -> tuple[Consumed, ...]:
    """What the job consumed of the packs in the book."""
    return consumed(book.job(job), packs(book.rows))


# What an amount as applied takes from the pack.


@pytest.mark.parametrize(
    ("unit", "mix", "per_ml", "applied", "wanted"),
    [
        pytest.param("ml", "ready", None, 60.0, Fraction(60), id="ready: all of it, by definition"),
        pytest.param("ml", "10:1", None, 60.0, Fraction(60, 11),
                     id="10 water + 1 product, common practice, no source"),
        pytest.param("ml", "1 in 10", None, 60.0, Fraction(6), id="1 in 10, by definition"),
        pytest.param("ml", "5 %", None, 60.0, Fraction(3), id="5 %, by definition"),
        pytest.param("drops", "ready", None, 10.0, Fraction(1, 2), id="20 drops/ml, USP <1101>"),
        pytest.param("drops", "ready", 25.0, 10.0, Fraction(2, 5), id="calibrated, by definition"),
        pytest.param("drops", "1 in 10", 25.0, 10.0, Fraction(1, 25), id="calibrated and mixed"),
        pytest.param("g", "ready", None, 0.1, Fraction(1, 10), id="g: as the decimal written"),
        pytest.param("each", "10:1", None, 2.0, Fraction(2), id="pieces are never mixed"),
        pytest.param("ml", "a splash", None, 60.0, None, id="no ratio"),
    ],
)  # fmt: skip
def test_share_of_the_mix(
    unit: str, mix: str, per_ml: float | None, applied: float, wanted: Fraction | None
) -> None:
    product = Product("x", "X", unit=unit, mix=mix, drops_per_ml=per_ml)  # type: ignore[arg-type]  # units by parameter
    assert concentrate(product, exact(applied)) == wanted
    assert (share(product) is None) == (wanted is None)


# Packs, weighings, use.


def test_left_is_known_only_after_a_weighing() -> None:
    book = begun()
    assert item(book).left is None
    assert item(book).book is None
    used(book, 5, "fallout", 110.0)
    assert item(book).book is None
    book.press(10, ev.PackOpened("fallout", 1000.0, "ml", "A17"))
    used(book, 20, "fallout", 110.0)
    assert item(book).left is None
    assert item(book).book == Fraction(990)
    book.press(30, ev.PackWeighed("fallout", 700.5))
    assert item(book).left == Fraction(1401, 2)
    used(book, 40, "fallout", 60.0)
    assert item(book).left == Fraction(1401, 2) - Fraction(60, 11)
    book.press(50, ev.PackOpened("fallout", 500.0))
    assert item(book).left == Fraction(1401, 2) - Fraction(60, 11) + 500


def test_use_of_every_job_counts_each_by_its_own_plan() -> None:
    book = begun(JOB)
    strong = replace(OPENED.plan, products=(replace(PRODUCTS[0], mix="1 in 2"),))
    book.press(0, replace(OPENED, plan=strong, number=2), job=OTHER)
    book.press(1, ev.PackWeighed("fallout", 100.0))
    used(book, 2, "fallout", 11.0)
    used(book, 3, "fallout", 11.0, job=OTHER)
    assert item(book).left == 100 - 1 - Fraction(11, 2)


def test_drops_are_counted_in_ml_by_the_bottle() -> None:
    book = begun()
    book.press(1, ev.PackOpened("coat", 30.0, "ml"))
    book.press(2, ev.PackWeighed("coat", 30.0))
    used(book, 3, "coat", 15.0)
    assert item(book, "coat").unit == "ml"
    assert item(book, "coat").left == Fraction(117, 4)
    book.press(4, ev.PackOpened("coat", 600.0, "drops"))
    assert item(book, "coat").left == Fraction(117, 4) + 30


def test_pieces_are_counted() -> None:
    book = begun()
    book.press(1, ev.PackWeighed("towel", 12.0))
    used(book, 2, "towel", 0.5)
    assert item(book, "towel").left == Fraction(23, 2)


def test_what_is_counted_otherwise_begins_anew() -> None:
    book = begun()
    book.press(1, ev.PackWeighed("fallout", 100.0))
    book.press(2, ev.PackOpened("fallout", 800.0, "g"))
    found = item(book)
    assert (found.unit, found.left, found.book) == ("g", None, Fraction(800))
    used(book, 3, "fallout", 60.0)
    found = item(book)
    assert (found.book, found.unclear) == (Fraction(800), 1)
    (use,) = of_job(book)
    assert use.amount is None and use.cost is None


def planned(unit: str, product: str = "fallout") -> ev.JobOpened:
    """A job whose plan counts the product in that unit."""
    found = Product(product, "Remover", unit=unit, mix="ready")  # type: ignore[arg-type]  # units by parameter
    return replace(OPENED, plan=replace(OPENED.plan, products=(found,)))


def test_without_a_pack_the_newest_plan_says_what_it_is_counted_in() -> None:
    book = Book()
    book.press(1, ev.PackWeighed("fallout", 100.0))
    assert (item(book).unit, item(book).left) == ("", 100)
    book.press(2, planned("ml"))
    used(book, 3, "fallout", 30.0)
    assert (item(book).unit, item(book).left, item(book).unclear) == ("ml", 70, 0)
    book.press(4, planned("g"), job=OTHER)
    used(book, 5, "fallout", 20.0, job=OTHER)
    assert (item(book).unit, item(book).left, item(book).unclear) == ("g", 80, 1)
    book.press(6, ev.PackOpened("fallout", 500.0, "ml"))
    assert (item(book).unit, item(book).left, item(book).book) == ("ml", None, 500)


def test_a_weighing_before_the_first_pack_counts_if_both_are_counted_alike() -> None:
    book = Book()
    book.press(1, ev.PackWeighed("coat", 21.5))
    book.press(2, ev.PackOpened("coat", 30.0, "ml"))
    assert item(book, "coat").left == Fraction(103, 2)
    book.press(3, planned("drops", "coat"))
    assert item(book, "coat").left == Fraction(103, 2)
    book.press(4, planned("g", "coat"), job=OTHER)
    assert (item(book, "coat").left, item(book, "coat").book) == (None, 30)


def test_what_a_job_used_is_counted_by_its_own_plan_and_the_packs_before_it() -> None:
    book = Book()
    book.press(0, planned("ml"))
    book.press(1, ev.PackOpened("fallout", 1000.0, "ml", "A17", price="10"))
    used(book, 2, "fallout", 30.0)
    (before,) = of_job(book)
    book.press(3, ev.PackOpened("fallout", 500.0, "g", "B2", price="20"))
    book.press(4, planned("g"), job=OTHER)
    # What came after the job changes nothing of what it cost.
    assert of_job(book) == (before,)
    assert (before.amount, before.cost, before.lots[0].lot) == (30, Fraction(3, 10), "A17")


# Corrections count where the use they correct counts.


def test_a_correction_before_a_weighing_is_in_the_weighing() -> None:
    book = begun()
    book.press(1, ev.PackWeighed("coat", 30.0))
    used(book, 2, "coat", 10.0)
    book.press(3, ev.UseCorrected("coat", 4.0))
    assert item(book, "coat").left == 30 - Fraction(14, 20)
    book.press(4, ev.PackWeighed("coat", 25.0))
    book.press(5, ev.UseCorrected("coat", 6.0))
    assert item(book, "coat").left == 25
    used(book, 6, "coat", 10.0)
    book.press(7, ev.UseCorrected("coat", -2.0))
    assert item(book, "coat").left == 25 - Fraction(8, 20)


def test_a_correction_without_a_use_counts_for_itself() -> None:
    book = begun(JOB, OTHER)
    book.press(1, ev.PackWeighed("coat", 25.0))
    used(book, 0.5, "coat", 10.0, job=OTHER)
    book.press(2, ev.UseCorrected("coat", 6.0))
    assert item(book, "coat").left == 25 - Fraction(6, 20)


# Lots and prices.


def changed_lot() -> Book:
    """A lot that changes in the middle of a job."""
    book = begun()
    used(book, 1, "coat", 5.0, "bonnet left")
    book.press(10, ev.PackOpened("coat", 30.0, "ml", "A17", "2027-03-31", "60.00", "Small bottle"))
    used(book, 20, "coat", 15.0, "bonnet left")
    used(book, 30, "coat", 10.0, "bonnet right")
    book.press(40, ev.PackOpened("coat", 50.0, "ml", "B2", price="80.00"))
    used(book, 50, "coat", 10.0, "roof")
    used(book, 60, "coat", 10.0, "bonnet right")
    book.press(70, ev.UseCorrected("coat", 2.0))
    return book


def test_the_lot_in_force() -> None:
    found = packs(changed_lot().rows)
    at = {s: found.lot_at("coat", us(s), "cart") for s in (9, 10, 39, 40, 1000)}
    assert at == {9: "", 10: "A17", 39: "A17", 40: "B2", 1000: "B2"}
    assert found.lot_at("no such product", us(0), "cart") == ""
    assert stock(changed_lot().rows).items["coat"].called == "Coating"
    assert stock(changed_lot().rows[:5]).items["coat"].called == "Small bottle"


def test_a_lot_changed_in_mid_job_is_kept_per_section() -> None:
    (coat,) = of_job(changed_lot())
    assert coat.changed_lot
    assert [(one.lot, one.applied, one.sections) for one in coat.lots] == [
        ("", 5, (("Coat", "bonnet left"),)),
        ("A17", 25, (("Coat", "bonnet left"), ("Coat", "bonnet right"))),
        ("B2", 22, (("Coat", "roof"), ("Coat", "bonnet right"))),
    ]
    assert (coat.applied, coat.amount) == (52, Fraction(52, 20))


def test_cost_is_by_the_pack_in_force() -> None:
    book = changed_lot()
    (coat,) = of_job(book)
    # The first drops came from a bottle nobody noted.
    assert coat.cost is None
    del book.rows[2]
    (coat,) = of_job(book)
    assert coat.cost == Fraction(25, 20) * 2 + Fraction(22, 20) * Fraction(8, 5)
    assert str(rounded(coat.cost)) == "4.26"


def test_without_a_price_on_the_pack_the_plans_holds() -> None:
    book = begun()
    used(book, 1, "fallout", 110.0)
    book.press(2, ev.PackOpened("fallout", 500.0, price="10"))
    used(book, 3, "fallout", 110.0)
    used(book, 4, "coat", 10.0)
    fallout, coat = of_job(book)
    assert fallout.cost == 10 * Fraction("0.0185") + 10 * Fraction("0.02")
    assert coat.cost is None
    assert str(total([fallout, coat])) == "0.38"
    assert total([coat]) is None


def test_money_is_rounded_half_to_even_and_totals_add_up_as_printed() -> None:
    assert [str(rounded(Fraction(n, 1000))) for n in (5, 15, 25, -5, 1234, 0)] == [
        "0.00", "0.02", "0.02", "0.00", "1.23", "0.00",
    ]  # fmt: skip


# Undo and redo, and rows that come one by one.


def test_a_struck_pack_is_as_if_it_never_was() -> None:
    book = begun()
    book.press(1, ev.PackWeighed("fallout", 100.0))
    before = stock(book.rows)
    press = book.press(2, ev.PackOpened("fallout", 1000.0, lot="A17"))
    after = stock(book.rows)
    book.press(3, ev.PressStruck(press))
    assert stock(book.rows).items == before.items
    book.press(4, ev.PressRestored(press))
    assert stock(book.rows).items == after.items
    book.press(5, ev.PressMoved(press, us(0.5)))
    assert item(book).left == 100
    assert packs(book.rows).lot_at("fallout", us(0.6), "cart") == "A17"


_AMOUNT = st.sampled_from([0.0, 0.1, 5.0, 10.0, 60.0])
_ID = st.sampled_from(["fallout", "coat", "towel", "unplanned"])
_EVENT = st.one_of(
    st.builds(ev.PackOpened, _ID, st.sampled_from([30.0, 500.0]),
              st.sampled_from(["ml", "ml", "ml", "drops", "g", "each"]),
              st.sampled_from(["", "A", "B"]), st.just(""), st.sampled_from([None, "12.50"])),
    st.builds(ev.PackWeighed, _ID, _AMOUNT),
    st.builds(lambda p, a: ev.ProductUsed("Coat", ("roof",), Turn(), {p: a}), _ID, _AMOUNT),
    st.builds(ev.UseCorrected, _ID, st.sampled_from([-5.0, 2.0])),
)  # fmt: skip
_STEP = st.tuples(_EVENT, st.sampled_from([JOB, OTHER]), st.integers(1, 30))


def written(steps: list[tuple[Struct, str, int]]) -> tuple[Book, float]:
    book, at_s = begun(JOB, OTHER), 10.0
    for event, job, seconds in steps:
        at_s += seconds
        book.press(at_s, event, job=job)
    return book, at_s


@settings(max_examples=150)
@given(st.lists(_STEP, max_size=14), st.lists(st.integers(0, 99), max_size=4))
def test_stock_is_the_same_after_any_undo_and_redo(
    steps: list[tuple[Struct, str, int]], undone: list[int]
) -> None:
    book, at_s = written(steps)
    before = stock(book.rows)
    presses = [row.press.seq for row in book.rows[3:]]
    struck = list(dict.fromkeys(presses[n % len(presses)] for n in undone)) if presses else []
    for press in struck:
        book.press(at_s + 1, ev.PressStruck(press))
    without = [row for row in book.rows[: 3 + len(steps)] if row.press.seq not in struck]
    told = stock(book.rows)
    assert told.items == stock(without).items
    for press in reversed(struck):
        book.press(at_s + 2, ev.PressRestored(press))
    again = stock(book.rows)
    assert again.items == before.items


@settings(max_examples=150)
@given(st.lists(_STEP, max_size=14), st.permutations(range(14)))
def test_the_order_of_what_happened_at_one_instant_does_not_matter(
    steps: list[tuple[Struct, str, int]], order: list[int]
) -> None:
    """Plans, uses and packs written in any order, each at its own time: one stock."""
    book = begun(JOB, OTHER)
    opened = [row for row in book.rows if isinstance(row.event, ev.JobOpened)]
    for at_s, (event, job, _seconds) in enumerate(steps, 10):
        book.press(at_s, event, job=job)
    late = Book()
    places = [place for place in order if place < len(steps)]
    for place in places:
        event, job, _seconds = steps[place]
        late.press(10 + place, event, job=job)
    for row in opened:
        # The plans come last and speak of the latest time of all.
        late.press(100, row.event, job=row.job)
    assert stock(late.rows).items == stock(book.rows).items


@settings(max_examples=100)
@given(st.lists(st.tuples(ANY_EVENT, st.integers(0, 50)), max_size=20))
def test_any_rows_at_all_can_be_told(events: list[tuple[Struct, int]]) -> None:
    rows: list[Row] = [row_at(event, at_s, seq) for seq, (event, at_s) in enumerate(events)]
    found = stock(rows)
    assert isinstance(found, Stock)
    for job in {row.job for row in rows} - {""}:
        fold, _odd = jobs_.fold_job(r for r in believed_rows(rows) if r.job == job)
        used_up = () if fold is None else consumed(fold, packs(rows))
        assert {one.product for one in used_up} <= found.items.keys()


def test_numbers_that_are_none_are_nothing() -> None:
    assert [exact(n) for n in (float("nan"), float("inf"), 0.1, -2.0)] == [
        0, 0, Fraction(1, 10), -2,
    ]  # fmt: skip
