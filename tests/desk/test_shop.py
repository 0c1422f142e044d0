"""The shop: jobs by number, the record and the day out of a log on disk."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from cartclock.engine.after.visits import Closed
from cartclock.engine.dates import instant
from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.plan.plan import Aftercare, Plan, Stage, Work
from cartclock.engine.record.revision import Revision, revision_of
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import HandClock
from cartclock.engine.trouble import Refused
from tests.kit.setting import record_text

ZONE = "Europe/Berlin"
PLAN = Plan(
    "Maintenance wash",
    (Stage("Wash", ("body", "wheels"), (Work("rinse", 10.0),)),),
    aftercare=(Aftercare("Dry it.", "label of the pack", until="PT1H", after="Wash"),),
)


@pytest.fixture
def clock() -> HandClock:
    return HandClock(instant("2026-10-24 20:00", ZONE))


@pytest.fixture
def bench(tmp_path: Path, clock: HandClock) -> Iterator[Bench]:
    bench = Bench.open(tmp_path / "log.db", clock)
    yield bench
    bench.close()


def open_job(bench: Bench, vehicle: str, customer: str = "") -> str:
    """Opens a job under the next number; returns its id."""
    job = bench.new_id()
    sealed = bench.seal(customer) if customer else None
    number = Shop(bench.log).next_number()
    bench.do(rules.open_job, job, ev.JobOpened(PLAN, "", number, vehicle, ZONE, sealed))
    return job


def work(bench: Bench, clock: HandClock, job: str, minutes: float) -> None:
    """So many minutes on the job's next section, then nothing in hand."""
    bench.do(rules.take_up, next(m for m in bench.moves() if m.job == job))
    clock.wind(minutes * 60)
    bench.do(rules.take_up, next(m for m in bench.moves() if m.act == "end"))


def test_numbers_go_on_from_one_and_are_never_given_twice(bench: Bench) -> None:
    shop = Shop(bench.log)
    assert (shop.jobs(), shop.next_number()) == ([], 1)
    open_job(bench, "red coupe")
    open_job(bench, "grey van")
    assert [job.number for job in shop.jobs()] == [1, 2]
    struck = bench.undo()
    assert [job.number for job in shop.jobs()] == [1]
    assert shop.next_number() == 3
    open_job(bench, "blue hatchback")
    bench.restore(struck.rows[0].corrects)
    assert [job.number for job in shop.jobs()] == [1, 2, 3]


def test_a_job_is_found_by_its_number_or_the_beginning_of_its_id(
    bench: Bench, clock: HandClock
) -> None:
    shop = Shop(bench.log)
    first = open_job(bench, "red coupe")
    second = open_job(bench, "grey van")
    assert shop.find(" 2 ").job == second
    assert shop.find(first[:13].upper()).job == first
    bench.do(rules.clock_on, ev.ClockedOn())
    bench.do(rules.close_job, first, {"unfinished": "rain"})
    assert [job.job for job in shop.jobs(open_only=True)] == [second]
    assert shop.find("1").closed_us == bench.now_us


@pytest.mark.parametrize(
    ("vehicles", "handle", "sentence"),
    [
        (0, "7", "There is no job 7: this log has no jobs yet."),
        (1, "7", "There is no job 7. There is only 1 (car 1)."),
        (2, "0", "There is no job 0. There are 1 (car 1), 2 (car 2)."),
        (
            7,
            "zz\x1b",
            r"There is no job 'zz\x1b'. The newest are 3 (car 3), 4 (car 4), 5 (car 5), "
            "6 (car 6), 7 (car 7). cartclock jobs lists them.",
        ),
    ],
)
def test_an_unknown_handle_is_refused_and_the_sentence_names_what_exists(
    bench: Bench, vehicles: int, handle: str, sentence: str
) -> None:
    for number in range(1, vehicles + 1):
        open_job(bench, f"car {number}")
    with pytest.raises(Refused) as refused:
        Shop(bench.log).record(handle, bench.now_us)
    assert str(refused.value) == sentence


def test_the_record_is_loaded_with_the_shift_and_its_other_jobs(
    bench: Bench, clock: HandClock
) -> None:
    first, second = open_job(bench, "red coupe"), open_job(bench, "grey van")
    bench.do(rules.clock_on, ev.ClockedOn("yard", zone=ZONE))
    work(bench, clock, first, 30)
    work(bench, clock, second, 45)
    clock.wind(60)
    bench.do(rules.clock_off)
    # A day on which the first job is only spoken of on the phone.
    clock.wind(20 * 3600)
    bench.do(rules.clock_on, ev.ClockedOn("office", zone=ZONE))
    bench.do(rules.start_other, "phone", first)
    clock.wind(300)
    bench.do(rules.clock_off)
    shop = Shop(bench.log)
    found = shop.record("1", bench.now_us)
    assert [a.place for a in found.accounts] == ["yard", "office"]
    assert found.own_us == (30 + 5) * 60_000_000
    assert sum(s.length_us for s in found.shares if s.number == 2) == 45 * 60_000_000
    assert sum(s.length_us for s in found.shares) == found.clock_us == 81 * 60_000_000
    assert (found.proof.rows, found.proof.digest) == (bench.log.head.seq + 1, bench.log.head.digest)
    assert [a.place for a in shop.record("2", bench.now_us).accounts] == ["yard"]


def test_a_correction_made_in_a_later_shift_is_in_the_record(
    bench: Bench, clock: HandClock
) -> None:
    first = open_job(bench, "red coupe")
    bench.do(rules.clock_on, ev.ClockedOn())
    work(bench, clock, first, 30)
    wet = bench.do(rules.note_job, first, ev.WaterTouched("Wash", ("body",)))
    bench.do(rules.clock_off)
    clock.wind(40 * 3600)
    bench.do(rules.clock_on, ev.ClockedOn())
    bench.strike(wet.press, "that was another car")
    found = Shop(bench.log).record("1", bench.now_us)
    assert [(c.kind, c.why) for c in found.trail.corrections] == [
        ("struck", "that was another car")
    ]
    assert len(found.accounts) == 1
    assert [r.what for s in found.stages for one in s.sections for r in one.remarks] == []


def test_a_forgotten_customer_prints_as_forgotten(bench: Bench) -> None:
    open_job(bench, "red coupe", "A. Thornby")
    shop = Shop(bench.log)
    assert "\nA. Thornby, " in record_text(shop.record("1", bench.now_us))
    opening = bench.rows[0].event
    assert isinstance(opening, ev.JobOpened)
    assert opening.customer is not None
    bench.log.forget([opening.customer.ref])
    text = record_text(shop.record("1", bench.now_us))
    assert "\nforgotten, " in text
    assert "Thornby" not in text


def test_a_day_holds_the_shifts_that_began_on_it_over_midnight_and_the_clock_change(
    bench: Bench, clock: HandClock
) -> None:
    first = open_job(bench, "red coupe")
    bench.do(rules.clock_on, ev.ClockedOn("yard", zone=ZONE))
    # 20:00 to 04:00: the clocks go back at 03:00, so it is nine hours.
    work(bench, clock, first, 9 * 60)
    bench.do(rules.clock_off)
    second = open_job(bench, "grey van")
    shop = Shop(bench.log)
    saturday = shop.day("2026-10-24", ZONE, bench.now_us)
    sunday = shop.day("2026-10-25", ZONE, bench.now_us)
    (part,) = saturday.shifts
    assert part.past_midnight
    assert part.account.length_us == 9 * 3_600_000_000
    assert part.account.off_us == instant("2026-10-25 04:00", ZONE)
    assert [job.job for job in saturday.jobs] == [first]
    assert [done.stage for done in saturday.jobs[0].done] == ["Wash"]
    assert (sunday.shifts, [job.job for job in sunday.jobs]) == ((), [second])


@pytest.mark.parametrize(
    ("date", "zone", "sentence"),
    [
        ("someday", ZONE, "'someday' is not a date; write it like 2026-10-24, today or yesterday."),
        (
            "2026-02-30",
            ZONE,
            "'2026-02-30' is not a date; write it like 2026-10-24, today or yesterday.",
        ),
        (
            "2026-10-24",
            "Europe/Nowhere",
            '"Europe/Nowhere" is not a time zone; write it like "Europe/Berlin".',
        ),
    ],
)
def test_a_day_that_is_none_is_refused(bench: Bench, date: str, zone: str, sentence: str) -> None:
    with pytest.raises(Refused) as refused:
        Shop(bench.log).day(date, zone, bench.now_us)
    assert str(refused.value) == sentence


def hot_shift(bench: Bench, clock: HandClock, hours: float) -> None:
    """Work in the heat on the clock for so long, with a reading an hour; then off the clock."""
    job = open_job(bench, "van")
    bench.do(rules.clock_on, ev.ClockedOn("carport", zone="UTC"))
    bench.do(rules.start_other, "setting up", job)
    while hours > 0:
        bench.do(rules.note_shift, ev.ReadingTaken(air_c=38, rh=40))
        clock.wind(min(hours, 1.0) * 3600)
        hours -= 1
    bench.do(rules.clock_off)
    bench.do(rules.close_job, job, {"unfinished": "test"})


def test_the_log_tells_who_is_used_to_the_heat(bench: Bench, clock: HandClock) -> None:
    shop = Shop(bench.log)
    first = shop.acclimatization("me", bench.now_us, "UTC")
    assert (first.source, first.word) == ("", "")
    assert shop.acclimatization("me", bench.now_us, "UTC", 9).word == "acclimatized"
    for _day in range(7):
        hot_shift(bench, clock, 3)
        clock.wind(21 * 3600)
    # Seven hot days of the last fourteen (the lower end of NIOSH's 7 to 14 days).
    found = shop.acclimatization("me", bench.now_us, "UTC")
    assert (found.source, found.acclimatized) == ("log", True)
    assert "7 hot days in the last 14 by the log" in found.because
    assert not shop.acclimatization("somebody else", bench.now_us, "UTC").acclimatized
    clock.wind(8 * 24 * 3600)
    lost = shop.acclimatization("me", bench.now_us, "UTC")
    assert not lost.acclimatized
    assert "the last one was 9 days ago" in lost.because


def test_no_visit_falls_on_a_day_on_which_the_shop_is_closed(
    bench: Bench, clock: HandClock
) -> None:
    visit = Aftercare("Inspection.", "label of the pack", every="P7D", visit=True)
    plan = Plan("wash", PLAN.stages, aftercare=(visit,))
    job = bench.new_id()
    bench.do(rules.open_job, job, ev.JobOpened(plan, "ab", 1, "grey van", ZONE))
    clock.wind(60)
    bench.do(rules.close_job, job, {"unfinished": "rain"})
    # The job was closed on Sat 24 Oct 2026.
    for closed, day in ((Closed(), "2026-10-31"), (Closed(frozenset({6, 7})), "2026-11-02")):
        record = Shop(bench.log, None, closed).record("1", bench.now_us)
        assert [due.day for due in record.cares[0].dues] == [day]
        assert (record.plan_sha256, record.dates) == ("ab", ())


def test_a_paper_knows_its_revision_and_a_calendar_what_it_held(
    bench: Bench, clock: HandClock
) -> None:
    visit = Aftercare("Inspection.", "label of the pack", every="P7D", visit=True)
    plan = Plan("wash", PLAN.stages, aftercare=(visit,))
    job = bench.new_id()
    bench.do(rules.open_job, job, ev.JobOpened(plan, "ab", 1, "grey van", ZONE))
    bench.do(rules.clock_on, ev.ClockedOn())
    work(bench, clock, job, 5)
    bench.do(rules.close_job, job, {"unfinished": "rain"})
    shop = Shop(bench.log)

    def revision() -> Revision:
        rows, now_us = shop.rows("1", bench.now_us), bench.now_us
        return revision_of(
            bench.jobs[job], rows, "aftercare", lambda of: shop.record_of(job, of, now_us)
        )

    bench.load({job}, bench.shifts)
    assert (revision().number, shop.handed_out("1", "aftercare")) == (1, ())
    bench.do(rules.note_job, job, ev.PaperIssued("aftercare", 1, ""))
    reading = bench.do(rules.note_shift, ev.ReadingTaken(air_c=9.0)).press
    last = bench.do(rules.reopen_job, job, "forgot the sills").press
    found = revision()
    assert (found.number, [change.what for change in found.changes]) == (
        2,
        ["reading: air 9 C, indoors", "job 1 reopened"],
    )
    bench.strike(reading)
    bench.strike(last)
    assert revision().changes == ()
    (entry,) = shop.handed_out("1", "aftercare")
    assert entry.say == "Inspection."
    with pytest.raises(Refused):
        shop.handed_out("9", "aftercare")
