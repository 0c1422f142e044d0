"""What a job will take before there is one: against the plan's own sums, prices and its laws."""

from __future__ import annotations

import datetime
from decimal import Decimal
from fractions import Fraction

import pytest
from msgspec.structs import replace

from cartclock.engine.after.visits import Closed
from cartclock.engine.ahead.calendar import WorkDay
from cartclock.engine.ahead.day_ahead import DayAhead, meals_ahead
from cartclock.engine.ahead.durations import Belief
from cartclock.engine.ahead.job_ahead import JobAhead, steps_of
from cartclock.engine.ahead.prospect import Prospect
from cartclock.engine.ahead.telling import about_text, by_text
from cartclock.engine.dates import hour_minutes, hours_text, instant
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.hours.planned import planned_us
from cartclock.engine.plan.plan import Plan, Product, Stage, Use, Work
from cartclock.engine.planning.estimate import (
    PAINT_FACTORS,
    Basis,
    Estimate,
    PaintState,
    estimate,
    in_state,
)
from cartclock.engine.planning.estimate_words import EstimateWords, bottle_cost_text, bottle_text
from cartclock.engine.planning.unbegun import job_ahead
from cartclock.engine.products.item import Item, Pack
from cartclock.engine.store.plan_file.reader import read_plan, starter, with_body
from cartclock.engine.times import Instant

ZONE = "Europe/Madrid"
BEGIN_US = instant("2026-07-24 08:00", ZONE)
DAYS = WorkDay(datetime.time(8), datetime.time(19), ZONE)


def plan_of(name: str) -> Plan:
    return read_plan(with_body(starter(name), "estate"), name)


def of(
    plan: Plan,
    basis: Basis = Basis(),  # noqa: B008  # frozen
    paint: PaintState = "as usual",
    taught: int = 0,
    days: WorkDay = DAYS,
) -> Estimate:
    job = job_ahead(in_state(plan, paint), ZONE, BEGIN_US)
    belief = Belief(steps_of(job))
    for _ in range(taught):
        belief.add(dict.fromkeys(steps_of(job), (6, 0.2)))
    ahead = JobAhead(job, belief.today({}), belief.jobs)
    meals = tuple(meals_ahead(datetime.time(12, 30), ZONE, False, BEGIN_US))
    around = DayAhead(pauses=meals, meals=1, work_day=days, on_us=BEGIN_US, tires=True)
    return estimate(ahead, Prospect([ahead], around, BEGIN_US), paint, basis)


def words_of(found: Estimate) -> EstimateWords:
    return EstimateWords(found, ZONE, BEGIN_US)


def told(found: Estimate) -> str:
    words = words_of(found)
    return "\n".join([*words.answer(), *words.notes(), *(f"{a} {b}" for a, b in words.between())])


def sealed(**facts: object) -> Plan:
    """One stage that lays 30 ml of a 1:9 mix on each of two sections; invented."""
    product = Product(id="seal", name="Sealant", unit="ml", mix="1:9", **facts)  # type: ignore[arg-type]  # what it takes
    work = Work("wipe on", 12.0, (Use("seal", 30.0),))
    return Plan("invented", (Stage("Seal", ("bonnet", "roof"), (work,)),), (product,))


def test_the_plan_column_is_the_plans_own_sum() -> None:
    # Sections times minutes, layer by layer, added up by hand from the plan file.
    plan = plan_of("one_step_correction_and_coat")
    found = of(plan)
    for stage, one in zip(plan.stages, found.stages, strict=True):
        minutes = sum(
            step.minutes * (1 if step.over == "all" else len(stage.sections)) * stage.layers
            for step in stage.steps
            if isinstance(step, Work)
        )
        assert one.planned_us / MINUTE_US == pytest.approx(minutes)
        assert one.hands_us <= one.by_us
    assert found.planned_us == sum(one.planned_us for one in found.stages)
    assert found.planned_us / MINUTE_US == 610.0


def test_the_plan_column_says_what_the_plan_page_says() -> None:
    # 19 panels of 3.5 min: half a minute is raised on both.
    plan = plan_of("one_step_correction_and_coat")
    (coat,) = (one for one in of(plan).stages if one.stage == "Coat")
    job = job_ahead(plan, ZONE, BEGIN_US)
    assert coat.planned_us == planned_us(job, job.stage("Coat")) == 66.5 * MINUTE_US
    assert hour_minutes(coat.planned_us / SECOND_US) == "1:07"
    assert hours_text(coat.planned_us / SECOND_US) == "1 h 7 min"


def test_what_lies_between_adds_up_to_the_end() -> None:
    found = of(plan_of("one_step_correction_and_coat"))
    between = found.gaps_us + found.rests_us + found.meals_us + found.nights_us
    work = found.hands_us + found.stood_us + found.other_us
    assert found.begin_us + work + between == pytest.approx(found.done_us, abs=3 * MINUTE_US)
    assert found.done_us <= found.by_us
    assert found.done_us <= found.ready_us <= found.ready_by_us
    # It does not fit into eleven hours.
    assert found.nights_us > 12 * HOUR_US


def test_earlier_jobs_narrow_the_band_and_move_it() -> None:
    plan = plan_of("decontamination_and_sealant")
    first, sixth = of(plan), of(plan, taught=5)
    assert (first.jobs, sixth.jobs) == (0, 5)
    assert sixth.hands_us > first.hands_us
    assert sixth.hands_by_us / sixth.hands_us < first.hands_by_us / first.hands_us
    assert "from the plan only" in told(first)
    assert "from 5 jobs of yours, 0 on such a body" in told(sixth)


def test_concentrate_is_taken_out_of_the_mix_and_priced_by_the_pack() -> None:
    # 2 sections of 30 ml at one part in ten: 6 ml of the bottle. A bottle of 500 ml for 25.00.
    plain, priced = of(sealed()), of(sealed(pack=500.0, price="25.00"))
    assert plain.products[0].amount == pytest.approx(6.0)
    assert priced.products_cost == Decimal("0.30")
    pack = Pack(Instant(0), Fraction(1000), "ml", "", "", "", Fraction(1, 10))
    newest = Basis(items={"seal": Item("seal", "Sealant", "ml", pack=pack)})
    assert of(sealed(pack=500.0, price="25.00"), newest).products_cost == Decimal("0.60")
    # Counted otherwise, the pack says nothing of it.
    other = Basis(items={"seal": Item("seal", "Sealant", "g", pack=replace(pack, unit="g"))})
    assert of(sealed(), other).products_cost is None


def test_what_has_no_price_is_named_and_is_not_nothing() -> None:
    found = of(sealed())
    assert found.products_cost is None
    assert found.unpriced == ("Sealant",)
    assert (bottle_text(found.products[0]), bottle_cost_text(found.products[0])) == (
        "6 ml",
        "no price",
    )
    assert "products: no price is known" in told(found)
    assert "0.00" not in told(found)
    strange = of(replace(sealed(), products=(Product("seal", "Sealant", "ml", mix="to taste"),)))
    assert bottle_text(strange.products[0]) == "mix no ratio"


def minutes(clock: str) -> int:
    hours, rest = clock.split(":")
    return 60 * int(hours) + int(rest)


def test_hours_and_labour_are_of_all_work_as_history_has_it() -> None:
    # A rate of 60 is the minute at 1.00: the money can be held against the table.
    for name in ("maintenance_wash", "decontamination_and_sealant", "one_step_correction_and_coat"):
        found = of(plan_of(name), Basis(hourly=Fraction(60), currency="EUR"))
        table = {row[0]: row[1:] for row in words_of(found).work()}
        parts = sum(minutes(table[row][0]) for row in ("hands on it", "standing by", "other work"))
        expected, late = (minutes(one) for one in table["all work"][:2])
        assert expected == parts > minutes(table["hands on it"][0])
        assert (found.labour, found.labour_by) == (Decimal(f"{parts}.00"), Decimal(f"{late}.00"))
        assert late / expected == pytest.approx(found.hands_by_us / found.hands_us, rel=0.02)
        said = told(found)
        assert f"Labour {parts}.00 EUR ({late}.00 four times in five), all work at 60.00" in said
        low = hours_text(round(parts / 5) * 5 * 60)
        assert said.startswith(f"{low} to {hours_text(-(-late // 5) * 5 * 60)} of all work, from")
    unsettled = of(plan_of("decontamination_and_sealant"))
    assert (unsettled.labour, unsettled.hourly) == (None, "")
    assert "No labour: shop = " in told(unsettled)


def test_a_gap_between_layers_is_no_work_and_is_not_paid() -> None:
    found = of(plan_of("two_layer_coat_overnight"), Basis(hourly=Fraction(60)))
    # Eight hours lie between the layers, part of them at night; its films are minutes.
    assert found.stood_us < 30 * MINUTE_US < 2 * HOUR_US < found.gaps_us
    assert found.own_us == pytest.approx(
        found.hands_us + found.stood_us + found.other_us, abs=2 * MINUTE_US
    )
    assert "gaps between layers" in told(found)


def test_the_end_is_said_as_a_finish_is_said() -> None:
    found = of(plan_of("decontamination_and_sealant"))
    for minute in range(11):
        ready_us = Instant(BEGIN_US + (240 + minute) * MINUTE_US)
        moved = replace(found, ready_us=ready_us, ready_by_us=ready_us)
        about, by = about_text(ready_us, BEGIN_US, ZONE), by_text(ready_us, BEGIN_US, ZONE)
        assert f"ready about {about}, four times in five by {by}." in told(moved)


def test_who_begins_on_a_day_on_which_the_shop_is_closed_is_told() -> None:
    # The day of all these estimates is a Friday.
    for weekday, said in ((5, "Begun 08:00 (closed on Fridays): ready"), (6, "Begun 08:00: ready")):
        days = replace(DAYS, closed=Closed(weekdays=frozenset({weekday})))
        assert said in told(of(plan_of("maintenance_wash"), days=days))


def test_what_has_no_price_has_its_verb() -> None:
    found = replace(of(sealed()), products_cost=Decimal("1.00"))
    for names, said in (
        (("Clay",), "without Clay, which has no price."),
        (("Clay", "Soap"), "without Clay and Soap, which have no price."),
        (("Clay", "Soap", "Wax"), "without Clay, Soap and Wax, which have no price."),
    ):
        assert said in told(replace(found, unpriced=names))


def test_the_paint_moves_machine_work_and_nothing_else() -> None:
    plan = plan_of("one_step_correction_and_coat")
    usual, worse = of(plan), of(plan, paint="worse than usual")
    for one, other in zip(usual.stages, worse.stages, strict=True):
        machine = one.stage in {"Polish", "Test spot"}
        factor = PAINT_FACTORS["worse than usual"] if machine else 1.0
        assert other.planned_us == pytest.approx(one.planned_us * factor)
    assert "Paint worse than usual: machine work" in told(worse)
    washed = of(plan_of("maintenance_wash"), paint="worse than usual")
    assert "changes nothing: the plan has no machine work" in told(washed)


def test_a_plan_without_minutes_says_so() -> None:
    stage = Stage("Seal", ("bonnet",), (Work("wipe on"),))
    found = of(Plan("invented", (stage,)), Basis(hourly=Fraction(38)))
    assert found.hands_us == 0
    assert words_of(found).answer() == (
        "No hours: the plan has no minutes.",
        "No labour: there are no hours; no products.",
    )
    half = replace(stage, steps=(Work("wipe on"), Work("wipe off", 30.0)))
    said = told(of(Plan("invented", (half,))))
    assert "of all work without what has no minutes in the plan, from" in said
