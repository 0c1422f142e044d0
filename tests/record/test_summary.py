"""The ten lines, the cuts and the one table of sections: each told again from the record."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import believed_rows
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.plan.plan import Check, Plan, Product, Stage, Work
from cartclock.engine.products.stock import pack_log
from cartclock.engine.record.cuts import cut_lines
from cartclock.engine.record.record import Record, record
from cartclock.engine.record.stage_layers import StageLayer, stage_layers
from cartclock.engine.record.summary import CoatSpan, GateSpan, summary
from tests.kit.book import Book, us
from tests.kit.plans import GATED

DAMP = ev.ReadingTaken(air_c=22.5, rh=50.0, panel_c=22.0)
DRY = ev.ReadingTaken(air_c=23.0, rh=45.0, panel_c=22.0)
MARKS = Marks(60, 100, 300, 200)
NAMES = ("roof", "bonnet", "tail")
COAT = replace(GATED, sections=NAMES, layers=1, gap=None, check=Check(3600, 7200, "polish out"))
POLISH = Stage("Polish", NAMES, (Work("cut", 10.0),))
WIPE = Stage("Panel wipe", NAMES, (Work("wipe", 10.0),))
PLAN = Plan("coat", (POLISH, WIPE, COAT), (Product("coat", "Coating", unit="drops"),))


def told(book: Book, at_s: float = 9000) -> Record:
    assert book.odd() == []
    shifts = {name: book.shift(name) for name in {row.shift for row in book.rows} - {""}}
    packs = pack_log(believed_rows(book.rows))
    return record(
        book.job(), shifts, book.jobs(), us(at_s), rows=book.rows, lots=packs.lot_at
    )  # fmt: skip


def lay(book: Book, at_s: float, name: str, taken_s: float = 120, worker: str = "me") -> None:
    """Lays from that second for 20 s; takes it up so long after the last touch and levels 30 s."""
    up_s = at_s + 20 + taken_s
    book.press(at_s, ev.WorkStarted("Coat", (name,), Turn()), worker=worker)
    book.press(
        at_s + 20,
        ev.StepFinished("Coat", (name,), Turn(), MARKS),
        ev.ProductUsed("Coat", (name,), Turn(), {"coat": 10.0}),
        worker=worker,
    )
    for step, begun_s in ((2, up_s), (3, up_s + 30)):
        turn = Turn(1, 1, step)
        book.press(begun_s, ev.WorkStarted("Coat", (name,), turn), worker=worker)
        book.press(begun_s + 30, ev.StepFinished("Coat", (name,), turn), worker=worker)


def work(book: Book, stage: str, at_s: float, to_s: float, *names: str) -> None:
    book.press(at_s, ev.WorkStarted(stage, names, Turn()))
    book.press(to_s, ev.StepFinished(stage, names, Turn()))


@pytest.fixture
def book() -> Book:
    """Polish panel by panel, one wipe for all, then three films: in time, early and late."""
    book = Book()
    book.press(0, ev.JobOpened(PLAN, "", 1, "bottle green estate"))
    book.press(0, ev.ClockedOn("carport"))
    for at_s, name in ((10, "roof"), (70, "bonnet"), (130, "tail")):
        work(book, "Polish", at_s, at_s + 60, name)
    work(book, "Panel wipe", 200, 260, *NAMES)
    book.press(270, ev.PackOpened("coat", 600, "drops", lot="A1"))
    book.press(280, DAMP)
    lay(book, 300, "roof", 270)
    lay(book, 800, "bonnet", 40)
    book.press(1200, DRY)
    over = {"rest_due": "this one first"}
    book.press(1300, ev.WorkStarted("Coat", ("tail",), Turn(), over))
    book.press(1320, ev.StepFinished("Coat", ("tail",), Turn(), MARKS))
    return book


def of_stage(book: Book, stage: str, at_s: float = 9000) -> StageLayer:
    (found,) = [one for one in stage_layers(told(book, at_s)) if one.stage == stage]
    return found


def test_a_window_is_a_cut_between_its_opening_and_its_close(book: Book) -> None:
    (line,) = cut_lines(told(book, 1700).windows)
    # Taken up 40 s and 270 s after the last touch; it opens at 60 s, and closes 300 s after the
    # first touch of 20 s.
    assert line.cuts == (pytest.approx((40 - 60) / 220), pytest.approx((270 - 60) / 220))
    assert line.counts == {"in the window": 1, "early": 1, "running": 1}
    assert (line.nearest_us, line.worst_us) == (10_000_000, 0)
    # What is not taken up yet is no cut, and was late by nothing.
    assert cut_lines(()) == ()


def test_what_was_late_lies_behind_the_close_also_where_the_film_closed_before_it_opened() -> None:
    book = Book()
    book.press(0, ev.JobOpened(PLAN, "", 1, "bottle green estate"))
    book.press(0, ev.ClockedOn())
    # Worked for 400 s, so it closed 100 s before its last touch; taken up at once.
    book.press(10, ev.WorkStarted("Coat", ("roof",), Turn()))
    book.press(410, ev.StepFinished("Coat", ("roof",), Turn(), MARKS))
    book.press(411, ev.WorkStarted("Coat", ("roof",), Turn(1, 1, 2)))
    (line,) = cut_lines(told(book, 500).windows)
    assert line.counts == {"late": 1}
    assert all(cut > 1 for cut in line.cuts)


def test_the_ten_lines_are_counted_from_the_record(book: Book) -> None:
    made = told(book, 1700)
    found = summary(made)
    assert found.clock_us == 1700_000_000 == sum(share.length_us for share in made.shares)
    assert found.own_us == found.hands_us + found.standing_us + found.other_us
    assert found.coat == CoatSpan(3, 1, us(300), us(1320))
    assert found.overruled == {"rest_due": 1}
    assert found.not_done == {"Coat": 1}
    margins = [one.margin_c for one in made.gate if one.margin_c is not None]
    assert found.gate == GateSpan(3, min(margins), 0, 0)


def test_a_coat_without_a_reading_has_no_lowest_margin() -> None:
    book = Book()
    book.press(0, ev.JobOpened(PLAN, "", 1, "bottle green estate"))
    book.press(0, ev.ClockedOn("carport"))
    lay(book, 300, "roof")
    assert summary(told(book)).gate == GateSpan(1, None, 1, 0)
    assert summary(told(book)).peak is None


def test_an_empty_job_has_ten_lines_too() -> None:
    book = Book()
    book.press(0, ev.JobOpened(PLAN, "", 1, "bottle green estate"))
    found = summary(told(book))
    assert (found.clock_us, found.coat, found.gate, found.peak) == (0, None, None, None)
    assert found.not_done == {"Polish": 3, "Panel wipe": 3, "Coat": 3}


def test_how_a_stage_is_told_follows_from_its_times(book: Book) -> None:
    settings = {one.stage: one.setting for one in stage_layers(told(book))}
    assert settings == {"Polish": "panels", "Panel wipe": "line", "Coat": "rows"}
    assert [row.section for row in of_stage(book, "Polish").rows] == list(NAMES)


def test_a_row_has_its_touches_and_what_followed_the_wait(book: Book) -> None:
    roof, bonnet, tail = of_stage(book, "Coat").rows
    assert (roof.first_us, roof.touched_us, roof.off_us) == (us(300), us(320), us(650))
    assert (bonnet.first_us, bonnet.touched_us, bonnet.off_us) == (us(800), us(820), us(920))
    assert (tail.touched_us, tail.off_us) == (us(1320), None)
    assert [row.film.read_us for row in (roof, bonnet, tail) if row.film] == [
        us(280), us(280), us(1200),
    ]  # fmt: skip


def test_what_all_rows_share_is_a_value_of_the_layer_until_one_differs(book: Book) -> None:
    layer = of_stage(book, "Coat")
    assert layer.workers == ("me",)
    products = layer.products
    assert products is not None and [(one.name, one.lots) for one in products] == [
        ("Coating", ("A1",))
    ]
    book.press(1325, ev.PackOpened("coat", 600, "drops", lot="B2"))
    book.press(1330, ev.SectionReopened("Coat", ("roof",), Turn(2), "smear"))
    book.press(1331, ev.WorkStarted("Coat", ("roof",), Turn(2)))
    assert of_stage(book, "Coat").products is None


def test_a_remark_of_one_section_is_in_its_row_and_one_of_several_is_said_once(book: Book) -> None:
    book.press(2000, ev.SectionSkipped("Coat", ("tail",), "wiped off, rain"))
    book.press(2010, ev.WaterTouched("Coat", ("roof", "bonnet")))
    book.press(2020, ev.SectionChecked("Coat", ("roof",), "high spot", "polish out"))
    layer = of_stage(book, "Coat")
    roof, _bonnet, tail = layer.rows
    assert [(one.what, one.why) for one in tail.remarks] == [("left out", "wiped off, rain")]
    assert [one.what for one in roof.remarks] == ["high spot"]
    assert [(one.remark.what, one.sections) for one in layer.told] == [
        ("water", ("roof", "bonnet"))
    ]
    assert summary(told(book)).wet == 2 and summary(told(book)).high_spots == 1


def test_that_nobody_looked_stays_with_its_layer_and_has_no_hour(book: Book) -> None:
    book.press(2000, ev.SectionSkipped("Coat", ("tail",), "rain"))
    book.press(8000, ev.JobClosed())
    layer = of_stage(book, "Coat")
    (unseen,) = layer.told
    assert (unseen.remark.what, unseen.remark.at_us) == ("not looked at", 0)
    assert unseen.sections == ("roof", "bonnet")
    assert summary(told(book)).not_looked == 2


def test_no_remark_of_the_record_is_lost_between_rows_and_words(book: Book) -> None:
    book.press(2000, ev.SectionSkipped("Coat", ("tail",), "rain"))
    book.press(2010, ev.WaterTouched("Coat", ("roof",)))
    made = told(book)
    everything = sum(len(s.remarks) for stage in made.stages for s in stage.sections)
    found = stage_layers(made)
    in_rows = sum(len(row.remarks) for one in found for row in one.rows)
    in_words = sum(len(said.sections) for one in found for said in one.told)
    assert everything == in_rows + in_words > 0
