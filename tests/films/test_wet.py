"""Rain and water: what is not dry, what a rain catches, what can still be laid, and the marks.

All figures are invented round numbers for tests, no source, and no advice.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from cartclock.engine.after.aftercare import cares
from cartclock.engine.dates import instant
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.turn import Turn
from cartclock.engine.films.wet import (
    Laying,
    caught,
    drying_product,
    dryings,
    layings,
    rain_sentences,
    rain_us,
    water_remedy,
    wettings,
    will_be_caught,
)
from cartclock.engine.now.glance import glance
from cartclock.engine.now.scene import Scene
from cartclock.engine.plan.plan import Aftercare, Plan, Product, Stage, Use, Work
from cartclock.engine.record.applied import stages
from cartclock.engine.record.record import record
from cartclock.engine.rules import changes, looks, rules
from cartclock.engine.trouble import Refused
from tests.kit.book import JOB, T0_US, Book, us
from tests.kit.setting import record_text

HOUR_S, HOUR_US = 3600, 3_600_000_000
DRY_S = 3 * HOUR_S
TOWEL = "Dry it with a soft towel at once."
PRODUCTS = (
    Product("shampoo", "Shampoo"),
    Product("base", "Base", dry_s=HOUR_S),
    Product("sealant", "Sealant", dry_s=DRY_S, if_wet=TOWEL),
)
WASH = Stage("Wash", ("body",), (Work("wash", 1.0, (Use("shampoo", 1.0),)),))
# Wiping leaves nothing on it; the base must stay dry for an hour, the sealant for three.
SEAL = Stage(
    "Seal",
    ("bonnet", "roof", "boot"),
    (
        Work("wipe", 1.0),
        Work("prime", 1.0, (Use("base", 1.0),)),
        Work("spread", 1.0, (Use("sealant", 5.0),)),
        Work("buff", 1.0),
    ),
)
WIPE, PRIME, SPREAD, BUFF = range(4)
KEEP = Aftercare("Keep it dry.", "label", until="PT3H", after="Seal", if_not="Call us.")


def opened(
    *plan_stages: Stage, zone: str = "UTC", start_s: float = 0, products: tuple[Product, ...] = ()
) -> Book:
    """A book with a job of these stages, and the worker on the clock."""
    plan = Plan("seal", plan_stages or (WASH, SEAL), products or PRODUCTS, aftercare=(KEEP,))
    book = Book()
    book.press(start_s, ev.JobOpened(plan, "", 1, "blue coupe", zone))
    book.press(start_s, ev.ClockedOn(zone=zone))
    return book


def step(book: Book, at_s: float, end_s: float, index: int, *names: str) -> None:
    """One step on these sections between two times."""
    turn = Turn(book.job().sections["Seal", names[0]].turn.pass_, 1, index)
    book.press(at_s, ev.WorkStarted("Seal", names, turn))
    book.press(end_s, ev.StepFinished("Seal", names, turn))
    assert book.odd() == []


def seal(book: Book, at_s: float, *names: str) -> None:
    """All four steps, the last touch at `at_s`."""
    for index in range(4):
        step(book, at_s - 40 + 10 * index, at_s - 30 + 10 * index, index, *names)


def wet_at(book: Book, at_s: float) -> list[str]:
    return [one.section for one in caught(book.job(), us(at_s))]


# What is not dry.


def test_the_longest_dry_time_of_the_stage_counts_from_the_last_touch() -> None:
    book = opened()
    seal(book, 1000, "roof")
    (one,) = dryings(book.job())
    assert (one.stage, one.section, one.touched_us, one.dry_s) == ("Seal", "roof", us(1000), DRY_S)
    assert drying_product(book.job(), SEAL) == PRODUCTS[2]
    assert drying_product(book.job(), WASH) is None


@pytest.mark.parametrize(
    ("at_us", "wet"),
    [
        (us(1000), True),
        (us(1000) + 3 * HOUR_US - 1, True),
        (us(1000) + 3 * HOUR_US, False),
        (us(1000) - 1, False),
    ],
)
def test_the_dry_time_to_the_microsecond(at_us: int, wet: bool) -> None:
    book = opened()
    seal(book, 1000, "roof")
    assert bool(caught(book.job(), at_us)) is wet


def test_a_step_that_leaves_nothing_on_it_is_not_caught() -> None:
    book = opened()
    book.press(10, ev.WorkStarted("Seal", ("roof",), Turn()))
    assert wet_at(book, 20) == []
    book.press(30, ev.StepFinished("Seal", ("roof",), Turn()))
    assert wet_at(book, 40) == []
    book.press(50, ev.WorkStarted("Seal", ("roof",), Turn(1, 1, PRIME)))
    assert wet_at(book, 60) == ["roof"]


def test_while_it_is_in_hand_or_put_down_its_dry_time_has_not_begun() -> None:
    book = opened()
    step(book, 10, 20, WIPE, "roof")
    step(book, 30, 40, PRIME, "roof")
    # Between two steps it counts from the touch before.
    assert caught(book.job(), us(40) + 3 * HOUR_US) == ()
    assert wet_at(book, 40 + DRY_S - 1) == ["roof"]
    book.press(50, ev.WorkStarted("Seal", ("roof",), Turn(1, 1, SPREAD)))
    book.press(60, ev.WorkPutDown("Seal", ("roof",), Turn(1, 1, SPREAD)))
    assert wet_at(book, 60 + 9 * HOUR_S) == ["roof"]
    # A closed job is touched no more.
    book.press(100, ev.JobClosed())
    assert wet_at(book, 100 + DRY_S - 1) == ["roof"]
    assert wet_at(book, 100 + DRY_S) == []


def test_skipped_half_way_it_is_still_on_it_and_untouched_it_is_not() -> None:
    book = opened()
    step(book, 10, 20, WIPE, "roof")
    step(book, 30, 40, PRIME, "roof")
    book.do(50, changes.skip, JOB, "Seal", ("roof", "boot"), "rain")
    assert wet_at(book, 100) == ["roof"]


def test_a_plan_without_dry_times_says_nothing() -> None:
    book = opened(SEAL, products=tuple(replace(p, dry_s=None) for p in PRODUCTS))
    seal(book, 1000, "roof")
    assert dryings(book.job()) == () == layings(book.job(), us(2000))
    with pytest.raises(Refused) as no:
        looks.get_wet(book.scene(1100), (JOB,))
    assert str(no.value).startswith("No product of the plan has a dry time, so nothing is known")


def naively_caught(job: Job, rows: list[Row], at_us: int) -> set[str]:
    """The same by walking through the log for every section."""
    wet = set()
    for name in job.order["Seal"]:
        put, begun, touched_us, closed_us, busy = False, False, None, None, -1
        for row in rows:
            event = row.event
            if isinstance(event, ev.JobClosed):
                closed_us = row.at_us
            if isinstance(event, ev.JobReopened):
                closed_us = None
            if name not in getattr(event, "sections", ()):
                continue
            if isinstance(event, ev.WorkStarted):
                begun, busy = True, event.turn.step
            if isinstance(event, ev.StepFinished):
                begun, touched_us = False, row.at_us
                put = put or event.turn.step in (PRIME, SPREAD)
            if isinstance(event, ev.SectionSkipped):
                begun = False
        if not put and not (begun and busy in (PRIME, SPREAD)):
            continue
        if begun and closed_us is None:
            wet.add(name)
            continue
        since_us = closed_us if begun else touched_us
        if since_us is not None and since_us <= at_us < since_us + DRY_S * 1_000_000:
            wet.add(name)
    return wet


NAMES = st.sampled_from(SEAL.sections)
ACTS = st.sampled_from(
    ["start", "start", "start", "finish", "finish", "hold", "skip", "redo", "close"]
)
SCRIPT = st.lists(st.tuples(ACTS, NAMES, st.integers(1, 4000)), max_size=40)


@settings(max_examples=150)
@given(SCRIPT, st.integers(-100, 4 * HOUR_S))
def test_what_is_caught_is_what_a_naive_scan_finds(
    script: list[tuple[str, str, int]], later_s: int
) -> None:
    book, at_s = opened(SEAL), 0.0
    for act, name, seconds in script:
        at_s += seconds
        job, hands = book.job(), book.shift().doing
        if job.state == "closed":
            book.press(at_s, ev.JobReopened())
            continue
        section = job.sections["Seal", name]
        mine = isinstance(hands, rules.Hands) and hands.sections == (name,)
        if act == "start" and section.state in ("todo", "held") and isinstance(hands, rules.Free):
            book.press(at_s, ev.WorkStarted("Seal", (name,), section.turn))
        elif act == "finish" and mine:
            book.press(at_s, ev.StepFinished("Seal", (name,), section.turn))
        elif act == "hold" and mine:
            book.press(at_s, ev.WorkPutDown("Seal", (name,), section.turn))
        elif act == "skip" and section.state in ("todo", "held"):
            book.press(at_s, ev.SectionSkipped("Seal", (name,)))
        elif act == "redo" and section.state in ("done", "left out"):
            turn = Turn(section.turn.pass_ + 1, 1, 0)
            book.press(at_s, ev.SectionReopened("Seal", (name,), turn))
        elif act == "close" and isinstance(hands, rules.Free):
            book.press(at_s, ev.JobClosed())
    assert book.odd() == []
    at_us = us(at_s + later_s)
    job = book.job()
    wanted = naively_caught(job, book.rows, at_us)
    assert {one.section for one in caught(job, at_us)} == wanted


# Water.


def test_water_marks_exactly_what_is_not_dry_stage_by_stage_in_one_press() -> None:
    glass = Stage("Glass", ("screen",), (Work("coat", 1.0, (Use("base", 1.0),)),))
    book = opened(WASH, SEAL, glass)
    seal(book, 1000, "bonnet")
    seal(book, 9000, "roof")
    book.press(9100, ev.WorkStarted("Glass", ("screen",), Turn()))
    book.press(9200, ev.StepFinished("Glass", ("screen",), Turn()))
    both = [ev.WaterTouched("Seal", ("bonnet", "roof")), ev.WaterTouched("Glass", ("screen",))]
    assert [d.event for d in looks.get_wet(book.scene(9300), (JOB,))] == both
    assert book.do(1000 + DRY_S, looks.get_wet, (JOB,)) == [
        ev.WaterTouched("Seal", ("roof",)),
        ev.WaterTouched("Glass", ("screen",)),
    ]
    assert len({row.press for row in book.rows[-2:]}) == 1
    assert book.do(9000 + DRY_S - 1, looks.get_wet, (JOB,)) == [ev.WaterTouched("Seal", ("roof",))]


def test_only_a_section_that_is_not_dry_can_be_marked_alone() -> None:
    book = opened()
    seal(book, 1000, "bonnet", "roof")
    (event,) = book.do(2000, looks.get_wet, (JOB,), "Seal", ("roof",))
    assert event == ev.WaterTouched("Seal", ("roof",))
    with pytest.raises(Refused) as no:
        looks.get_wet(book.scene(2100), (JOB,), "Seal", ("boot",))
    assert str(no.value) == "boot is not inside its dry time; nothing was marked."


def test_with_nothing_wet_there_is_a_sentence_and_nothing_is_written() -> None:
    book = opened()
    seal(book, 1000, "roof")
    for at_s in (1000 + DRY_S, 10**6):
        with pytest.raises(Refused) as no:
            looks.get_wet(book.scene(at_s), (JOB,))
        assert str(no.value) == "Nothing is inside its dry time; nothing was marked."
    with pytest.raises(Refused, match=r"There is no such job\."):
        looks.get_wet(book.scene(1100), ("job-9",))


def test_water_is_marked_after_the_close_and_off_the_clock() -> None:
    book = opened()
    seal(book, 1000, "roof")
    book.press(1100, ev.JobClosed())
    book.press(1200, ev.ClockedOff())
    scene = book.scene(5000)
    drafts = looks.get_wet(Scene("me", scene.shift, scene.jobs, us(5000)), (JOB,))
    book.press(5000, *drafts)
    assert book.job().odd == []
    assert book.job().state == "closed"
    (dry,) = cares(book.job())
    # us(5000) is Mon 21 Sep 2026 15:36:40 UTC.
    assert dry.wet == (f"Got wet on Mon 21 Sep 2026, 15:36; roof. {TOWEL}",)


@pytest.mark.parametrize(
    ("sealant", "base", "said"),
    [
        (TOWEL, "", TOWEL),
        ("", "Blot it.", "Blot it."),
        (TOWEL, "Blot it.", TOWEL),
        ("", "", "Call us."),
    ],
)
def test_the_remedy_is_the_products_word_or_else_the_aftercares(
    sealant: str, base: str, said: str
) -> None:
    products = (
        PRODUCTS[0],
        replace(PRODUCTS[1], if_wet=base),
        replace(PRODUCTS[2], if_wet=sealant),
    )
    job = opened(WASH, SEAL, products=products).job()
    assert water_remedy(job, "Seal") == said
    assert water_remedy(job, "Wash") == "" == water_remedy(job, "Nowhere")


def test_a_section_laid_anew_is_wet_no_more() -> None:
    book = opened()
    seal(book, 1000, "bonnet", "roof")
    book.do(2000, looks.get_wet, (JOB,))
    book.do(2100, changes.redo, JOB, "Seal", ("roof",), "water spots")
    seal(book, 3000, "roof")
    (found,) = wettings(book.job())
    assert (found.sections, found.at_us) == (("bonnet",), us(2000))
    # Water on the new film counts.
    book.do(4000, looks.get_wet, (JOB,))
    assert [(w.sections, w.at_us) for w in wettings(book.job())] == [
        (("bonnet",), us(2000)),
        (("bonnet", "roof"), us(4000)),
    ]


def test_water_and_looks_reach_the_record() -> None:
    book = opened()
    seal(book, 1000, "bonnet", "roof")
    book.do(2000, looks.get_wet, (JOB,))
    book.press(2500, ev.SectionChecked("Seal", ("roof",), "high spot", "re-wet and level"))
    book.press(2600, ev.SectionChecked("Seal", ("bonnet",), "fine"))
    own = [row for row in book.rows if row.job == JOB]
    bonnet, roof, _boot = stages(book.job(), own)[1].sections
    assert [(r.what, r.why) for r in bonnet.remarks] == [("water", TOWEL), ("fine", "")]
    assert [(r.what, r.why) for r in roof.remarks] == [
        ("water", TOWEL),
        ("high spot", "re-wet and level"),
    ]
    shift = book.shift()
    found = record(book.job(), {shift.id: shift}, book.jobs(), us(3000), rows=book.rows)
    text = " ".join(record_text(found).split())
    assert f"- bonnet, roof: water on it Mon 21 Sep 14:46: {TOWEL}" in text
    assert "remarks: high spot 14:55: re-wet and level" in text
    assert "- looked at, fine: Mon 21 Sep 14:56 bonnet" in text
    assert "Got wet on Mon 21 Sep 2026, 14:46; bonnet, roof. Dry it with a soft towel" in text


# Rain.


def expect(book: Book, at_s: float, rain_s: float | None) -> None:
    rain = None if rain_s is None else us(rain_s)
    book.press(at_s, ev.ReadingTaken(air_c=15.0, rain_at_us=rain))


def said(book: Book, at_s: float) -> tuple[str, ...]:
    return rain_sentences(book.jobs(), book.shift(), us(at_s))


def test_the_newest_reading_says_when_it_rains() -> None:
    book = opened()
    assert rain_us(None) is None is rain_us(book.shift())
    expect(book, 10, 5000)
    assert rain_us(book.shift()) == us(5000)
    expect(book, 20, None)
    assert rain_us(book.shift()) is None
    assert said(book, 30) == ()


@pytest.mark.parametrize(
    ("rain_us_", "now_us", "wet"),
    [
        (us(1000) + 3 * HOUR_US, us(1100), False),
        (us(1000) + 3 * HOUR_US - 1, us(1100), True),
        (us(1100), us(1000) + 3 * HOUR_US, False),
        (us(1100), us(1000) + 3 * HOUR_US - 1, True),
    ],
)
def test_what_is_dry_when_the_rain_comes_is_not_caught(
    rain_us_: int, now_us: int, wet: bool
) -> None:
    book = opened()
    seal(book, 1000, "roof")
    assert bool(will_be_caught(book.job(), rain_us_, now_us)) is wet


def test_what_is_in_hand_is_dry_at_the_earliest_after_a_last_touch_now() -> None:
    book = opened()
    step(book, 10, 20, WIPE, "roof")
    book.press(50, ev.WorkStarted("Seal", ("roof",), Turn(1, 1, PRIME)))
    job = book.job()
    assert will_be_caught(job, us(60 + DRY_S), us(60)) == ()
    assert len(will_be_caught(job, us(60 + DRY_S) - 1, us(60))) == 1


def test_until_when_it_can_be_laid() -> None:
    book = opened()
    seal(book, 1000, "bonnet")
    left = ("roof", "boot")
    rain = us(1000 + 2 * DRY_S)
    assert layings(book.job(), rain) == (Laying(JOB, "Seal", left, us(1000 + DRY_S), DRY_S),)
    expect(book, 1000, 1000 + 2 * DRY_S)
    # 14:30 and six hours.
    by = "Seal: last touch by 17:30, to be dry (3 h) before the rain at 20:30."
    assert said(book, 1000 + DRY_S) == (by,)
    assert said(book, 1000 + DRY_S + 1e-6) == (
        "Seal laid now is not dry when the rain comes at 20:30: it takes 3 h.",
    )


def test_what_the_rain_catches_is_said_first() -> None:
    book = opened()
    seal(book, 1000, "bonnet", "roof")
    expect(book, 1100, 4600)
    assert said(book, 1200) == (
        "Rain at 15:30 will catch bonnet, roof (Seal, dry at 17:30).",
        "Seal laid now is not dry when the rain comes at 15:30: it takes 3 h.",
    )
    seen = glance(book.jobs(), book.shift(), us(1200), None, 1)
    assert seen.notices == (*said(book, 1200), "1 question about today (G)")
    book.press(1300, ev.WorkStarted("Seal", ("boot",), Turn()))
    book.press(1310, ev.StepFinished("Seal", ("boot",), Turn()))
    book.press(1320, ev.WorkStarted("Seal", ("boot",), Turn(1, 1, PRIME)))
    assert said(book, 1330)[0] == (
        "Rain at 15:30 will catch bonnet, roof, boot (Seal, dry at 17:36 at the earliest)."
    )


def test_after_the_time_of_the_rain_the_key_is_named_for_an_hour() -> None:
    book = opened()
    seal(book, 1000, "roof")
    expect(book, 1100, 4600)
    assert said(book, 4600) == (
        "Rain was expected at 15:30. If it came, Y marks what is not dry: roof (Seal, "
        "dry at 17:30).",
    )
    assert len(said(book, 4600 + HOUR_S - 1e-6)) == 1
    assert said(book, 4600 + HOUR_S) == ()
    dry = opened()
    expect(dry, 1100, 4600)
    assert said(dry, 4700) == ()


def test_nobody_is_told_off_the_clock() -> None:
    book = opened()
    seal(book, 1000, "roof")
    expect(book, 1100, 4600)
    book.press(1200, ev.ClockedOff())
    assert said(book, 1300) == ()


def test_two_vehicles_are_named() -> None:
    book = opened()
    plan = Plan("seal", (SEAL,), PRODUCTS)
    book.press(5, ev.JobOpened(plan, "", 2, "red van"), job="job-2")
    seal(book, 1000, "bonnet", "roof", "boot")
    expect(book, 1100, 4600)
    assert said(book, 1200) == (
        "Blue coupe: rain at 15:30 will catch bonnet, roof, boot (Seal, dry at 17:30).",
        "Red van: Seal laid now is not dry when the rain comes at 15:30: it takes 3 h.",
    )


@pytest.mark.parametrize(
    ("last", "rain", "zone", "words"),
    [
        ("2026-09-21 22:30", "2026-09-22 00:10", "UTC", "Rain at Tue 22 Sep 00:10"),
        ("2026-09-21 22:30", "2026-09-22 00:10", "UTC", "dry at Tue 22 Sep 01:30"),
        # At 02:00 the clocks of New York go back to 01:00.
        ("2026-11-01 00:30", "2026-11-01 02:00", "America/New_York", "dry at 02:30"),
        # At 01:00 the clocks of Lisbon go forward to 02:00.
        ("2026-03-29 00:30", "2026-03-29 03:00", "Europe/Lisbon", "dry at 04:30"),
    ],
    ids=["midnight, rain", "midnight, dry", "back", "forward"],
)
def test_dry_times_are_real_hours_over_midnight_and_a_change_of_the_clocks(
    last: str, rain: str, zone: str, words: str
) -> None:
    at_s = (instant(last, zone) - T0_US) / 1e6
    book = opened(zone=zone, start_s=at_s - 100)
    seal(book, at_s, "roof")
    expect(book, at_s + 60, (instant(rain, zone) - T0_US) / 1e6)
    assert words in said(book, at_s + 120)[0]
