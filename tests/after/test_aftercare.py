"""Aftercare, cure and recoat: what a date hangs on, and what it is over a clock change."""

from __future__ import annotations

import csv
from datetime import datetime
from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.after.aftercare import Care, cares, cures, last_touch, recoats
from cartclock.engine.facts import events as ev
from cartclock.engine.hours.account import readings
from cartclock.engine.plan.plan import Aftercare, Cure, Gap, Plan, Stage, Work
from cartclock.engine.rules import changes, rules
from tests.kit.book import JOB, T0_US, Book, us

HOUR_US = 3_600_000_000
COAT = Stage(
    "Coat",
    ("bonnet", "roof"),
    (Work("apply", 5.0), Work("level", 5.0)),
    cure=Cure(12 * 3600, 15.0, 24 * 3600, example=True),
)
DRY = Aftercare("Keep it dry.", "label of the pack", until="PT48H", after="Coat")
WASH = Aftercare("First wash.", "example", from_="P7D", after="Coat")
VISIT = Aftercare("Inspection.", "common practice, no source", every="P6M", times=2, visit=True)


def opened(zone: str = "UTC", stage: Stage = COAT, *items: Aftercare) -> Book:
    """A book with a job of one stage, and the worker on the clock."""
    book = Book()
    plan = Plan("Coat only", (stage,), (), (), items or (DRY, WASH, VISIT))
    book.press(0, ev.JobOpened(plan, "", 1, "grey van", zone))
    book.press(0, ev.ClockedOn())
    return book


def coat(book: Book, at_s: float, *sections: str, each_s: float = 600) -> float:
    """Takes these sections through the rest of their layer; returns when the last is done."""
    for section in sections:
        move = next(m for m in book.moves(at_s) if m.sections == (section,))
        book.do(at_s, rules.take_up, move)
        book.do(at_s + each_s / 2, rules.take_up, book.moves(at_s + each_s / 2)[0])
        at_s += each_s
        book.do(at_s, rules.take_up, next(m for m in book.moves(at_s) if m.act == "end"))
    return at_s


def care(book: Book, say: str) -> Care:
    """The aftercare with that sentence."""
    return next(c for c in cares(book.job()) if c.say == say)


@pytest.fixture
def finished() -> Book:
    """Bonnet done at second 600, roof at 1200, the job open."""
    book = opened()
    assert coat(book, 0, "bonnet", "roof") == 1200
    return book


def test_the_anchor_is_the_last_touch_of_the_stage(finished: Book) -> None:
    dry = care(finished, "Keep it dry.")
    assert (dry.state, dry.anchor_us, dry.anchor_section) == ("dated", us(1200), "roof")
    assert [due.at_us for due in dry.dues] == [us(1200) + 48 * HOUR_US]


def test_without_a_stage_it_is_dated_at_the_close_and_not_from_now(finished: Book) -> None:
    visit = care(finished, "Inspection.")
    assert (visit.state, visit.dues) == ("not yet", ())
    assert visit.why == "dated when the job is closed"
    finished.do(7200, rules.close_job, JOB)
    closed = care(finished, "Inspection.")
    assert (closed.state, closed.anchor_us, closed.visit) == ("dated", us(7200), True)
    # us(0) is Mon 21 Sep 2026.
    assert [due.day for due in closed.dues] == ["2027-03-21", "2027-09-21"]


def test_a_reopened_job_has_no_close_to_count_from(finished: Book) -> None:
    finished.do(7200, rules.close_job, JOB)
    finished.do(7300, rules.reopen_job, JOB)
    assert care(finished, "Inspection.").state == "not yet"


def test_a_redone_section_counts_with_its_last_pass(finished: Book) -> None:
    finished.do(1300, changes.redo, JOB, "Coat", ("bonnet",), "high spot")
    waiting = care(finished, "Keep it dry.")
    assert (waiting.state, waiting.dues) == ("not yet", ())
    assert waiting.why == "dated when Coat is finished; 1 section is still to be done"
    assert coat(finished, 2000, "bonnet") == 2600
    dry = care(finished, "Keep it dry.")
    assert (dry.anchor_us, dry.anchor_section) == (us(2600), "bonnet")


def test_a_stage_wholly_skipped_drops_out_and_says_why() -> None:
    book = opened()
    book.do(60, changes.skip, JOB, "Coat", ("bonnet", "roof"), "dew on the panels")
    dry = care(book, "Keep it dry.")
    assert (dry.state, dry.dues) == ("drops out", ())
    assert dry.why == "Coat was left out: dew on the panels"


def test_a_section_skipped_untouched_is_named_and_moves_no_date() -> None:
    book = opened()
    coat(book, 0, "bonnet")
    book.do(9000, changes.skip, JOB, "Coat", ("roof",), "repainted last week")
    dry = care(book, "Keep it dry.")
    assert (dry.anchor_us, dry.without) == (us(600), ("roof",))


def test_a_section_skipped_half_way_counts_because_the_film_is_on_it() -> None:
    book = opened()
    coat(book, 0, "bonnet")
    book.do(700, rules.take_up, next(m for m in book.moves(700) if m.sections == ("roof",)))
    book.do(1000, rules.take_up, book.moves(1000)[-1])
    book.do(1100, changes.skip, JOB, "Coat", ("roof",), "rain")
    assert care(book, "Keep it dry.").anchor_us == us(1000)


def test_a_struck_finish_moves_the_anchor_back() -> None:
    book = opened()
    coat(book, 0, "bonnet", "roof")
    last = book.rows[-1].press
    book.press(1300, ev.PressStruck(last.seq))
    assert care(book, "Keep it dry.").state == "not yet"


def test_a_closed_job_counts_what_was_done_and_names_what_was_not() -> None:
    book = opened()
    coat(book, 0, "bonnet")
    book.do(900, rules.close_job, JOB, {"unfinished": "rain"})
    dry = care(book, "Keep it dry.")
    assert (dry.state, dry.anchor_us, dry.without) == ("dated", us(600), ("roof",))


def test_a_closed_job_of_which_nothing_was_done_has_no_date() -> None:
    book = opened()
    book.do(900, rules.close_job, JOB, {"unfinished": "rain"})
    dry = care(book, "Keep it dry.")
    assert (dry.state, dry.why) == ("drops out", "nothing of Coat was done")


def test_a_stage_the_job_does_not_have_drops_out() -> None:
    book = opened("UTC", COAT, Aftercare("Wax it.", "example", until="P1D", after="Wax"))
    assert care(book, "Wax it.").why == "the job has no stage Wax"


def test_an_example_is_flagged_and_the_pack_is_not(finished: Book) -> None:
    assert care(finished, "First wash.").example
    assert not care(finished, "Keep it dry.").example


def clock_changes() -> list[dict[str, str]]:
    lines = (Path(__file__).parent / "vectors" / "dst_48h_7d.csv").read_text().splitlines()
    assert lines[0].startswith("# source: RFC 5545")
    return list(csv.DictReader(lines[1:]))


@pytest.mark.parametrize(
    "row",
    clock_changes(),
    ids=lambda r: f"RFC 5545 3.3.5 and 3.3.6, {r['zone']} {r['job end'][:10]}",
)
def test_48_hours_and_7_days_over_a_clock_change(row: dict[str, str]) -> None:
    end_us = round(datetime.fromisoformat(row["job end"]).timestamp()) * 1_000_000
    book = opened(row["zone"])
    end_s = (end_us - T0_US) / 1e6 - 1200
    # The book's own clocking on lies after some of these dates: it is moved before them.
    book.rows = [
        r
        if r.kind != "ClockedOn"
        else type(r)(**{**{f: getattr(r, f) for f in r.__struct_fields__}, "at_us": us(end_s - 60)})
        for r in book.rows
    ]
    coat(book, end_s, "bonnet", "roof")
    dry, wash = care(book, "Keep it dry."), care(book, "First wash.")
    assert dry.anchor_us == end_us
    wanted = datetime.fromisoformat(row["+48 h elapsed (correct)"]).timestamp()
    assert [due.at_us for due in dry.dues] == [round(wanted) * 1_000_000]
    assert [due.day for due in wash.dues] == [row["+7 days as DATE"]]


def reading(book: Book, at_s: float, air_c: float | None) -> None:
    book.press(at_s, ev.ReadingTaken(air_c=air_c, rh=50))


@pytest.mark.parametrize(
    ("air_c", "hours"),
    [(14.9, 24), (15.0, 12), (21.0, 12), (None, 24)],
    ids=["under", "at the limit", "over", "no reading: the later"],
)
def test_the_cure_goes_by_the_readings_that_stood_during_it(
    finished: Book, air_c: float | None, hours: int
) -> None:
    if air_c is not None:
        reading(finished, 1100, 22.0)
        reading(finished, 1600, air_c)
    reading(finished, 1700, None)
    (cure,) = cures(finished.job(), readings([finished.shift()]))
    assert cure.not_before_us == us(1200) + hours * HOUR_US
    assert (cure.section, cure.example, cure.stretched) == ("roof", True, air_c == 14.9)
    if air_c is None:
        assert cure.reading is None
    else:
        assert cure.reading is not None and cure.reading.reading.air_c == air_c
        assert cure.reading.at_us == us(1600)


def test_a_cold_hour_in_the_middle_of_a_cure_is_not_forgotten(finished: Book) -> None:
    reading(finished, 1500, 3.0)
    reading(finished, 5100, 21.0)
    (cure,) = cures(finished.job(), readings([finished.shift()]))
    assert cure.not_before_us == us(1200) + 24 * HOUR_US
    assert cure.reading is not None and cure.reading.reading.air_c == 3.0


def wetted(*items: Aftercare, at_s: float = 1300) -> Book:
    """Bonnet and roof done at 600 and 1200, water on both at `at_s`."""
    book = opened("Europe/Lisbon", COAT, *items)
    coat(book, 0, "bonnet", "roof")
    book.press(at_s, ev.WaterTouched("Coat", ("bonnet", "roof")))
    return book


def test_an_aftercare_says_that_and_when_it_got_wet() -> None:
    book = wetted(DRY, WASH, VISIT)
    # us(1300) is 14:35 UTC, an hour more in Lisbon.
    assert care(book, "Keep it dry.").wet == ("Got wet on Mon 21 Sep 2026, 15:35; bonnet, roof.",)
    assert care(book, "First wash.").wet == care(book, "Inspection.").wet == ()


def test_water_stands_where_it_is_said_what_to_do_about_it() -> None:
    told = replace(DRY, if_not="Dab it off.")
    shampoo = replace(DRY, say="No shampoo.", until="P14D")
    assert care(wetted(DRY, shampoo), "No shampoo.").wet != ()
    book = wetted(told, shampoo)
    assert care(book, "Keep it dry.").wet == ("Got wet on Mon 21 Sep 2026, 15:35; bonnet, roof.",)
    assert care(book, "No shampoo.").wet == ()


def test_water_before_a_stage_is_finished_is_told_too_and_a_section_laid_anew_is_left_out() -> None:
    book = opened("UTC", COAT, DRY)
    coat(book, 0, "bonnet")
    book.press(700, ev.WaterTouched("Coat", ("bonnet",)))
    waiting = care(book, "Keep it dry.")
    assert (waiting.state, len(waiting.wet)) == ("not yet", 1)
    coat(book, 800, "roof")
    assert len(care(book, "Keep it dry.").wet) == 1
    book.do(1500, changes.redo, JOB, "Coat", ("bonnet",), "water spots")
    # The old film is still on it.
    assert len(care(book, "Keep it dry.").wet) == 1
    coat(book, 1600, "bonnet")
    assert care(book, "Keep it dry.").wet == ()


@pytest.mark.parametrize(
    ("until", "after_s", "told"),
    [
        ("PT48H", 48 * 3600 - 1e-6, True),
        ("PT48H", 48 * 3600, False),
        # us(1200) is Mon 21 Sep 2026, so P2D ends with the 23rd, 9 h 26 min 40 s after 48 h.
        ("P2D", 48 * 3600 + 9 * 3600 + 26 * 60 + 39, True),
        ("P2D", 48 * 3600 + 9 * 3600 + 26 * 60 + 40, False),
    ],
)
def test_water_after_the_end_is_nothing_to_tell(until: str, after_s: float, told: bool) -> None:
    item = Aftercare("Keep it dry.", "label of the pack", until=until, after="Coat")
    book = opened("UTC", COAT, item)
    coat(book, 0, "bonnet", "roof")
    book.press(1200 + after_s, ev.WaterTouched("Coat", ("bonnet",)))
    assert bool(care(book, "Keep it dry.").wet) is told


def test_a_coat_that_is_not_finished_has_no_cure_date() -> None:
    book = opened()
    coat(book, 0, "bonnet")
    (cure,) = cures(book.job(), ())
    assert cure.not_before_us is None
    assert cure.why == "dated when Coat is finished; 1 section is still to be done"


def test_the_recoat_window_opens_with_the_last_section_and_closes_with_the_first() -> None:
    two = Stage("Coat", ("bonnet", "roof"), COAT.steps, layers=2, gap=Gap(3600, 7200, 86400, True))
    book = opened("UTC", two)
    coat(book, 0, "bonnet", "roof")
    (recoat,) = recoats(book.job())
    assert (recoat.layer, recoat.sections, recoat.example) == (2, ("bonnet", "roof"), True)
    assert recoat.opens_us == us(1200) + HOUR_US
    assert recoat.closes_us == us(600) + 24 * HOUR_US
    assert last_touch(book.job(), "Coat").left == 2
