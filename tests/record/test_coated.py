"""What was applied where: products, lots, times and what became of each layer."""

from __future__ import annotations

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import believed_rows
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.plan.plan import Cure, Plan, Product, Stage, Use, Wait, Work
from cartclock.engine.products.stock import pack_log
from cartclock.engine.record.coated import Coated, Put, film_stages, laying_step
from cartclock.engine.record.record import record
from tests.kit.book import Book, opened, us
from tests.kit.plans import COAT, FALLOUT, GATED, POLISH, WIPE

FINE = ev.ReadingTaken(air_c=22.5, rh=50.0, panel_c=22.0)
MARKS = Marks(60, 100, 300, 200)
PRODUCTS = (
    Product("coat", "Coating", unit="drops"),
    Product("towel", "Levelling towel", unit="each"),
    Product("sealant", "Sealant", dry_s=3600),
    Product("wipe", "Panel wipe"),
)


def book_of(*stages: Stage) -> Book:
    """A book with one job of these stages and the products above."""
    book = Book()
    book.press(0, ev.JobOpened(Plan("coats", stages, PRODUCTS), "", 1, "bottle green estate"))
    book.press(0, ev.ClockedOn("carport"))
    return book


def found(book: Book, at_s: float = 9000) -> tuple[Coated, ...]:
    """The chapter of the book's record at that second."""
    assert book.odd() == []
    packs = pack_log(believed_rows(book.rows))
    made = record(
        book.job(),
        {"me 1": book.shift()},
        book.jobs(),
        us(at_s),
        rows=book.rows,
        lots=packs.lot_at,
    )
    return made.coated


def lay(
    book: Book, at_s: float, name: str, layer: int = 1, pass_: int = 1, stage: str = "Coat"
) -> None:
    """Lays from that second for 20 s, levels from 120 s on for 30, buffs from 150 on for 10."""
    turn = Turn(pass_, layer, 0)
    used = {"coat": 10.0, "towel": 1.0}
    book.press(at_s, ev.WorkStarted(stage, (name,), turn))
    book.press(
        at_s + 20,
        ev.StepFinished(stage, (name,), turn, MARKS),
        ev.ProductUsed(stage, (name,), turn, used),
    )
    for step, begin_s, end_s in ((2, 140, 170), (3, 170, 180)):
        book.press(at_s + begin_s, ev.WorkStarted(stage, (name,), Turn(pass_, layer, step)))
        book.press(at_s + end_s, ev.StepFinished(stage, (name,), Turn(pass_, layer, step)))


ONE = replace(GATED, sections=("roof",), layers=1, gap=None)


def test_a_layer_has_its_times_its_marks_and_its_reading() -> None:
    book = book_of(ONE)
    book.press(5, FINE)
    lay(book, 10, "roof")
    (one,) = found(book)
    assert (one.stage, one.section, one.panel, one.pass_, one.layer, one.layers) == (
        "Coat",
        "roof",
        "roof",
        1,
        1,
        1,
    )
    assert (one.first_us, one.last_us, one.levelled_us) == (us(10), us(30), us(190))
    assert (one.opens_us, one.expected_us, one.off_by_us) == (us(90), us(130), us(230))
    assert (one.closes_us, one.taken_us) == (us(310), us(150))
    assert (one.outcome, one.off_us, one.seen_us) == ("in the window", 0, None)
    assert (one.read_us, one.panel_c, one.air_c, one.rh) == (us(5), 22.0, 22.5, 50.0)
    assert one.margin_c is not None and one.why_none == ""
    # A towel goes on nothing.
    assert one.products == (Put("coat", "Coating", ()),)


def test_early_and_late_say_by_how_much() -> None:
    book = book_of(replace(ONE, sections=("roof", "bonnet", "tail")))
    for at_s, name, taken_s in ((10, "roof", 60), (1000, "bonnet", 400)):
        book.press(at_s, ev.WorkStarted("Coat", (name,), Turn()))
        book.press(at_s + 20, ev.StepFinished("Coat", (name,), Turn(), MARKS))
        book.press(at_s + taken_s, ev.WorkStarted("Coat", (name,), Turn(1, 1, 2)))
        book.press(at_s + taken_s + 9, ev.StepFinished("Coat", (name,), Turn(1, 1, 2)))
    early, late = found(book)
    assert (early.outcome, early.off_us) == ("early", 20_000_000)
    assert (late.outcome, late.off_us) == ("late", 100_000_000)
    # Buffing is the last work step, and it was not done.
    assert early.levelled_us is None
    assert early.margin_c is None and early.why_none.startswith("No reading")


def test_a_window_that_runs_and_one_that_was_skipped() -> None:
    book = book_of(replace(ONE, sections=("roof", "bonnet")))
    for at_s, name in ((10, "roof"), (40, "bonnet")):
        book.press(at_s, ev.WorkStarted("Coat", (name,), Turn()))
        book.press(at_s + 20, ev.StepFinished("Coat", (name,), Turn(), MARKS))
    book.press(70, ev.WindowSeen("Coat", ("roof",), Turn(1, 1, 2)))
    book.press(80, ev.SectionSkipped("Coat", ("bonnet",), "wiped off, rain"))
    runs, skipped = found(book, 100)
    assert (runs.outcome, runs.taken_us, runs.seen_us) == ("running", None, us(70))
    assert (skipped.outcome, skipped.taken_us) == ("left out", None)
    assert found(book, 400)[0].off_us == us(400) - us(310)


def test_in_hand_and_put_down_are_begun_and_untouched_is_not() -> None:
    book = book_of(replace(ONE, sections=("roof", "bonnet")))
    book.press(10, ev.WorkStarted("Coat", ("roof",), Turn()))
    (one,) = found(book)
    assert (one.first_us, one.last_us, one.taken_us, one.outcome) == (us(10), None, None, "")
    # What is booked only when it is finished is told by the plan till then.
    assert [put.name for put in one.products] == ["Coating"]
    book.press(20, ev.WorkPutDown("Coat", ("roof",), Turn()))
    assert found(book) == (one,)


def laid_while_a_pack_was_opened(book: Book) -> None:
    """Roof, bonnet and tail; a pack of lot B2 is opened while the bonnet is laid."""
    lay(book, 10, "roof")
    book.press(500, ev.WorkStarted("Coat", ("bonnet",), Turn()))
    book.press(510, ev.PackOpened("coat", 600, "drops", lot="B2"))
    book.press(
        520,
        ev.StepFinished("Coat", ("bonnet",), Turn(), MARKS),
        ev.ProductUsed("Coat", ("bonnet",), Turn(), {"coat": 10.0}),
    )
    lay(book, 1000, "tail")


def test_lots_are_those_in_force_while_it_was_laid() -> None:
    book = book_of(replace(ONE, sections=("roof", "bonnet", "tail")))
    book.press(1, ev.PackOpened("coat", 600, "drops", lot="A1"))
    laid_while_a_pack_was_opened(book)
    assert [one.products[0].lots for one in found(book)] == [("A1",), ("A1", "B2"), ("B2",)]
    assert not any(one.products[0].in_part for one in found(book))


def test_a_pack_without_a_noted_lot_is_told_beside_the_one_with_it() -> None:
    book = book_of(replace(ONE, sections=("roof", "bonnet", "tail")))
    laid_while_a_pack_was_opened(book)
    said = [one.products[0].lots_text for one in found(book)]
    assert said == ["lot not noted", "lot not noted and B2", "lot B2"]
    assert [one.products[0].in_part for one in found(book)] == [False, True, False]


def test_layers_and_passes_stand_apart_with_what_happened_to_each() -> None:
    book = book_of(replace(GATED, sections=("roof",)))
    lay(book, 10, "roof")
    book.press(250, ev.WaterTouched("Coat", ("roof",)))
    lay(book, 4000, "roof", 2)
    book.press(4300, ev.SectionChecked("Coat", ("roof",), "high spot", "polish out"))
    book.press(4400, ev.SectionReopened("Coat", ("roof",), Turn(2, 2, 2), "high spot"))
    for step, begin_s, end_s in ((2, 4500, 4530), (3, 4530, 4540)):
        book.press(begin_s, ev.WorkStarted("Coat", ("roof",), Turn(2, 2, step)))
        book.press(end_s, ev.StepFinished("Coat", ("roof",), Turn(2, 2, step)))
    first, second, again = found(book)
    assert [(one.pass_, one.layer) for one in (first, second, again)] == [(1, 1), (1, 2), (2, 2)]
    assert [remark.at_us for remark in first.water] == [us(250)]
    assert [(r.at_us, r.why) for r in second.high_spots] == [(us(4300), "polish out")]
    assert second.water == again.water == again.high_spots == ()
    # Worked over again: nothing was laid.
    assert (again.products, again.first_us, again.last_us) == ((), us(4500), None)
    assert (again.levelled_us, again.outcome) == (us(4540), "")


def test_only_what_must_stay_is_told() -> None:
    dry = Stage("Sealant", ("roof",), (Work("wash"), Work("spread", 1.0, (Use("sealant", 3),))))
    single = replace(COAT, layers=1, gap=None)
    cured = replace(single, name="Glass", cure=Cure(60))
    layered = replace(COAT, name="Wheels")
    book = book_of(FALLOUT, POLISH, WIPE, single, cured, dry, layered)
    assert [stage.name for stage in film_stages(book.job())] == ["Glass", "Sealant", "Wheels"]
    assert laying_step(book.job(), dry) == 1
    assert laying_step(book.job(), cured) == 0
    assert found(opened(FALLOUT)) == ()


def test_the_step_that_lays_is_the_one_a_flash_follows() -> None:
    steps = (
        Work("wipe", 1.0, (Use("wipe", 5),)),
        Work("apply", 1.0, (Use("coat", 9),)),
        Wait("flash", 60, 100, 300),
        Work("level", 1.0),
    )
    book = book_of(Stage("Coat", ("roof",), steps, kind="coat"))
    assert laying_step(book.job(), book.job().stage("Coat")) == 1
    book.press(10, ev.WorkStarted("Coat", ("roof",), Turn()))
    (one,) = found(book, 20)
    # The wipe before is not the coat: nothing is laid yet.
    assert (one.first_us, one.last_us, one.products) == (us(10), None, ())


def test_a_dwell_before_the_laying_is_not_its_wait_and_nothing_used_is_nothing_laid() -> None:
    steps = (
        Work("soak", 1.0),
        Wait("dwell", 10, 20, 30),
        Work("apply", 1.0, (Use("coat", 9),)),
        Wait("flash", 60, 100, 300),
        Work("level", 1.0),
    )
    book = book_of(Stage("Coat", ("roof",), steps, kind="coat"))
    for step, at_s, marks in ((0, 10, Marks(10, 20, 30)), (2, 40, MARKS), (4, 150, None)):
        turn = Turn(1, 1, step)
        book.press(at_s, ev.WorkStarted("Coat", ("roof",), turn))
        book.press(
            at_s + 10,
            ev.StepFinished("Coat", ("roof",), turn, marks),
            ev.ProductUsed("Coat", ("roof",), turn, {"coat": 9.0, "wipe": 0.0}),
        )
    (one,) = found(book)
    assert (one.first_us, one.last_us, one.levelled_us) == (us(40), us(50), us(160))
    assert (one.expected_us, one.taken_us) == (us(150), us(150))
    assert [put.product for put in one.products] == ["coat"]
