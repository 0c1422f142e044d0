"""Lines of jobs and shifts, held against the record and the day of the same log."""

from __future__ import annotations

import datetime
from collections import Counter
from dataclasses import dataclass
from decimal import Decimal

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_force import with_all_readings
from cartclock.engine.history.answers import PastJob, Sought, past_stages
from cartclock.engine.history.job_lines import JobLine, StageLine, lines_of_job
from cartclock.engine.history.shift_lines import lines_of_shift
from cartclock.engine.plan.plan import Plan, Product, Stage, Use, Work
from cartclock.engine.record.cuts import outcome_counts
from cartclock.engine.record.summary import summary
from cartclock.engine.rules import changes, rules
from tests.kit.book import JOB, Book, opened, us
from tests.kit.day import told
from tests.kit.plans import opening
from tests.kit.sessions import result

DOORS = Stage("Doors", ("one", "two"), (Work("polish", 20.0, (Use("polish", 3.0),)),))
SESSIONS = ("two_layers_and_a_saloon", "dry_heat_estate", "three_washes")


def line_of(book: Book) -> JobLine:
    return lines_of_job(book.job(), [book.shift(s) for s in book.job().shifts]).job


@pytest.mark.xdist_group("demo sessions")
@pytest.mark.parametrize("name", SESSIONS)
def test_a_job_comes_to_what_its_record_says(name: str) -> None:
    played = result(name)
    jobs, shifts, _odd = told(played.rows)
    known = with_all_readings(shifts)
    served = [one for shift in known.values() for one in lines_of_shift(shift, jobs).served]
    for record in played.papers:
        job = jobs[record.job]
        found = lines_of_job(job, [shifts[shift] for shift in job.shifts])
        line, short = found.job, summary(record)
        assert (line.number, line.vehicle, line.plan) == (
            record.number,
            record.vehicle,
            record.plan,
        )
        own: Counter[str] = Counter()
        for one in served:
            if one.job == job.id:
                own[one.kind] += one.length_us
        assert line.hands_us == short.hands_us == sum(one.hands_us for one in found.stages)
        assert own["standing by"] == short.standing_us
        assert own["other"] == short.other_us
        ended = outcome_counts(record.windows)
        assert (line.late, line.early) == (ended.get("late", 0), ended.get("early", 0))
        assert line.layers == (0 if short.coat is None else short.coat.layers)
        spots = [one for coat in record.coated for one in coat.high_spots]
        assert line.high_spots == len(spots)
        price = None if line.price is None else Decimal(line.price) / 100
        assert price == (Decimal(record.price) if record.price else None)
        assert Decimal(line.extras) / 100 == record.condition.extras_total
        used = {one.product: float(one.applied) for one in record.products}
        assert {one.product: one.applied for one in found.uses} == pytest.approx(used)
        amounts = {one.product: one.amount for one in record.products}
        for use in found.uses:
            known_amount = amounts[use.product]
            assert (use.unit != "") == (known_amount is not None)
            assert use.amount == pytest.approx(float(known_amount or 0))


@pytest.mark.xdist_group("demo sessions")
@pytest.mark.parametrize("name", SESSIONS)
def test_a_shift_comes_to_what_the_record_says_of_it(name: str) -> None:
    played = result(name)
    jobs, shifts, _odd = told(played.rows)
    known = with_all_readings(shifts)
    seen = 0
    for record in played.papers:
        for exposure, account in zip(record.exposures, record.accounts, strict=True):
            assert exposure.shift == account.shift
            line = lines_of_shift(known[exposure.shift], jobs).shift
            assert sum(line.lengths.values()) == account.length_us
            bands = {one.band: one.length_us for one in exposure.band_times}
            assert line.caution_us == bands.get("caution", 0)
            assert line.over_us == bands.get("over", 0)
            assert line.peak_c == (None if exposure.peak is None else exposure.peak.wbgt_c)
            assert line.drinks_ml == exposure.drinks.ml
            rests = [one for one in account.shares if one.kind == "break"]
            assert line.heat_rest_us == sum(o.length_us for o in rests if o.what == "heat")
            assert line.meal_us == sum(o.length_us for o in rests if o.what == "meal")
            seen += 1
    assert seen


@pytest.mark.xdist_group("demo sessions")
def test_the_heat_of_a_hot_day_is_kept() -> None:
    """Or the comparison above would hold of nothing."""
    played = result("dry_heat_estate")
    jobs, shifts, _odd = told(played.rows)
    lines = [lines_of_shift(one, jobs).shift for one in with_all_readings(shifts).values()]
    assert any(line.caution_us or line.over_us for line in lines)
    assert any(line.peak_c is not None for line in lines)
    assert any(line.drinks_ml for line in lines)


def test_a_job_nobody_touched_and_without_a_price() -> None:
    line = line_of(opened(DOORS))
    assert (line.hands_us, line.first_us, line.last_us, line.closed_us) == (0, None, None, None)
    assert (line.planned_us, line.sections, line.done) == (40 * 60_000_000, 2, 0)
    assert (line.price, line.extras, line.money, line.layers) == (None, 0, None, 0)
    assert PastJob(JOB, line, 0, 0).money_an_hour is None


def test_the_day_is_that_of_the_customer_and_the_week_that_of_the_shift() -> None:
    """Half past eleven at night in UTC is the next day in the east."""
    at_s = (86_400 - us(0) // 1_000_000 % 86_400) - 1800
    for zone, ahead in (("UTC", 0), ("Asia/Tokyo", 1)):
        book = Book()
        book.press(at_s, replace(opening(DOORS), zone=zone))
        book.press(at_s, ev.ClockedOn("carport", zone=zone))
        utc = us(at_s) // 86_400_000_000
        line = line_of(book)
        days = {"UTC": utc, "Asia/Tokyo": utc + 1}
        assert _days(line.day) == days[zone] == utc + ahead
        shift = lines_of_shift(book.shift(), {JOB: book.job()}).shift
        assert shift.day == line.day
        assert shift.week.startswith("2026-W")


def test_what_was_told_to_be_off_is_on_no_clock() -> None:
    book = Book()
    book.press(0, ev.ClockedOn("carport"))
    book.press(3600, ev.ClockedOff())
    book.press(3610, ev.GapJudged(us(900), us(3600), "off"))
    shift = lines_of_shift(book.shift(), {}).shift
    assert (shift.lengths["off"], shift.clock_us) == (2700 * 1_000_000, 900 * 1_000_000)


def _days(day: str) -> int:
    return (datetime.date.fromisoformat(day) - datetime.date(1970, 1, 1)).days


def test_what_is_used_is_told_by_the_month_it_was_used_in() -> None:
    plan = Plan("doors", (DOORS,), (Product("polish", "One-step polish", unit="g"),))
    book = Book()
    book.press(0, replace(opening(DOORS), plan=plan))
    book.press(0, ev.ClockedOn("carport"))
    for at_s in (0, 40 * 86_400):
        move = next(m for m in book.moves(at_s) if m.act == "take up")
        book.do(at_s, rules.take_up, move)
        book.do(at_s + 60, rules.take_break, "rest", None, True)
    uses = lines_of_job(book.job(), [book.shift()]).uses
    assert [(one.name, one.unit, one.amount) for one in uses] == [("One-step polish", "g", 3.0)] * 2
    assert uses[0].month < uses[1].month


def test_what_was_done_again_is_counted_by_section() -> None:
    book = opened(DOORS)
    for at_s in (0, 60):
        move = next(m for m in book.moves(at_s) if m.act == "take up")
        book.do(at_s, rules.take_up, move)
    book.do(120, changes.redo, JOB, "Doors", ("one",), "holograms")
    book.do(130, rules.take_up, next(m for m in book.moves(130) if m.act == "take up"))
    book.do(200, rules.take_break, "rest", None, True)
    assert line_of(book).again == 1


@dataclass
class Taken:
    """A stage of a job: minutes planned, with hands, stood by."""

    planned: int
    hands: int
    stood: int = 0


def test_a_stage_is_told_of_the_jobs_in_which_it_was_done() -> None:
    def lines(*taken: Taken) -> list[StageLine]:
        return [
            StageLine(
                nth, f"stage {nth}", one.planned * 60, one.hands * 60, 1, int(one.hands > 0), 1
            )
            for nth, one in enumerate(taken)
        ]

    jobs = {"a": lines(Taken(10, 20), Taken(5, 4)), "b": lines(Taken(10, 10), Taken(5, 0))}
    first, second = past_stages(jobs, {("a", "stage 0"): 120})
    assert (first.stage, first.jobs, first.planned_us, first.hands_us) == ("stage 0", 2, 600, 900)
    assert (first.stood_us, first.spread_us, first.more_us) == (60, 300, 300)
    assert (second.jobs, second.hands_us, second.more_us) == (1, 240, -60)
    assert past_stages({}, {}) == ()


def test_a_job_is_wanted_by_all_that_is_said() -> None:
    line = replace(line_of(opened(DOORS)), day="2026-07-10", price=5000, shape="van")
    wanted = (
        Sought(),
        Sought(plan=line.plan, shape="van", state="open", priced=True),
        Sought(from_day="2026-07-10", to_day="2026-07-10"),
    )
    unwanted = (
        Sought(plan="another"),
        Sought(shape="estate"),
        Sought(state="closed"),
        Sought(from_day="2026-07-11"),
        Sought(to_day="2026-07-09"),
    )
    assert all(one.fits(line) for one in wanted)
    assert not any(one.fits(line) for one in unwanted)
    assert not Sought(priced=True).fits(replace(line, price=None))


def test_money_an_hour_is_of_all_work_on_the_job() -> None:
    hour = 3_600_000_000
    still = replace(line_of(opened(DOORS)), price=10_000, extras=2_000, hands_us=hour)
    line = replace(still, state="closed")
    assert PastJob(JOB, line, hour // 2, hour // 2).money_an_hour == pytest.approx(60.0)
    # More work may come for the same price.
    assert PastJob(JOB, still, hour // 2, hour // 2).money_an_hour is None
