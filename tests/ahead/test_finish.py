"""When a job is done: against check values, and against its own laws."""

from __future__ import annotations

import datetime
import random
from math import log

import pytest
from msgspec.structs import replace

from cartclock.engine.ahead.calendar import STAYS_FOR_US, Night, WorkCalendar, WorkDay, nights_of
from cartclock.engine.ahead.day_ahead import DayAhead
from cartclock.engine.ahead.durations import Z80, Belief, Measured, Spreads, Sum
from cartclock.engine.ahead.finish import Help, PromiseKept
from cartclock.engine.ahead.foreseen import Foreseen, Foresight, Learned, prospect
from cartclock.engine.ahead.job_ahead import JobAhead, as_weighed, steps_of
from cartclock.engine.ahead.line_up import LineUp
from cartclock.engine.ahead.play import play
from cartclock.engine.ahead.played import Weights, opening_s
from cartclock.engine.ahead.prospect import Prospect
from cartclock.engine.ahead.reckon import lengths_us, reckon
from cartclock.engine.ahead.telling import helps_text, promise_sentence
from cartclock.engine.body.budget import Air
from cartclock.engine.dates import instant, local
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_force import LIKE_US
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.shift import shift_after
from cartclock.engine.facts.turn import Turn
from cartclock.engine.films.waves import PLANNED, wave_minutes
from cartclock.engine.plan.plan import Gap, Handover, Plan, Stage, Work
from cartclock.engine.store.plan_file.reader import read_plan, starter, with_body
from cartclock.engine.times import Instant
from tests.ahead.test_play import Real
from tests.kit.book import row_at

ZONE = "UTC"
NOT_MEASURED: Measured = {}
# Minutes by which the starter plans end with the plan's minutes, every wait at its opening:
# hatchback and estate, van. Reckoned by another program of our own, whose order in a wave differed.
OTHERS = {
    "maintenance_wash": (48.0, 48.0),
    "decontamination_and_sealant": (234.0, 238.0),
    "one_step_correction_and_coat": (620.0, 647.0),
    "two_layer_coat_overnight": (904.0, 917.0),
}
# Nothing is uncertain, so the plan's minutes are what is expected.
CERTAIN = Spreads(1e-6, 1e-6, 1e-6, 1e-6, 1e-6, middle=0.0)


def begun(name: str, body: str = "estate", at: str = "2026-09-21 08:00") -> Real:
    """A starter's job that is just opened, somebody on the clock."""
    return Real(read_plan(with_body(starter(name), body), name), instant(at, ZONE))


def measured(real: Real, reading: ev.ReadingTaken | ev.ClockedOff | ev.ClockedOn) -> None:
    """A reading, or the clock, which are of the shift alone."""
    real.seq += 1
    row = row_at(reading, 0, real.seq, at_us=real.now_us)
    real.shift, odd = shift_after(real.shift, row)
    assert odd is None


def of_stages(*stages: Stage, **facts: object) -> Real:
    return Real(Plan("invented", stages, **facts))  # type: ignore[arg-type]  # what a plan takes


def certain(real: Real, around: DayAhead | None = None) -> Prospect:
    """What is ahead by the plan's minutes alone."""
    today = Belief(steps_of(real.job), CERTAIN).today({})
    plain = DayAhead(undisturbed=True) if around is None else around
    return Prospect([JobAhead(real.job, today)], plain, real.now_us)


def foreseen(real: Real, **facts: object) -> Prospect:
    return prospect(Foreseen({"job-1": real.job}, real.shift, **facts), real.now_us)  # type: ignore[arg-type]  # what it takes


@pytest.mark.parametrize("name", OTHERS)
def test_the_starter_plans_end_when_they_should(name: str) -> None:
    for body, wanted in zip(("hatchback", "estate", "van"), (0, 0, 1), strict=True):
        real = begun(name, body)
        played = play(real.job, real.now_us, over_s=opening_s)
        minutes = (played[-1].end_us - real.now_us) / MINUTE_US
        assert minutes == pytest.approx(OTHERS[name][wanted], rel=0.01)


def test_an_order_that_is_kept_ends_sooner_than_one_that_is_decided_anew() -> None:
    # Our own other program: 772.5 with the order kept, 803.7 decided anew.
    real = begun("one_step_correction_and_coat")
    played = play(real.job, real.now_us)
    slow = {(p.stage, p.turn.step): 1.25 for p in played}
    kept = reckon(played, real.now_us, lengths_us(played, slow))[-1].end_us
    anew = play(real.job, real.now_us, factors=slow)[-1].end_us
    assert (kept - real.now_us) / MINUTE_US == pytest.approx(772.5, abs=0.1)
    assert (anew - real.now_us) / MINUTE_US == pytest.approx(803.7, abs=1.0)


@pytest.mark.parametrize("name", OTHERS)
def test_where_nothing_is_uncertain_the_finish_is_the_plan_played(name: str) -> None:
    real = begun(name)
    found = certain(real).finish("job-1")
    end_us = play(real.job, real.now_us)[-1].end_us
    # The day itself is never certain, so its middle is a little before the mean.
    length_us = end_us - real.now_us
    assert found.done_us - real.now_us == pytest.approx(length_us, rel=0.003)
    assert found.stages[-1].done_us == found.done_us
    hands = sum(stage.hands_us for stage in found.stages)
    beside = sum(part.length_us for part in found.parts if part.what != "cure")
    assert hands + beside == pytest.approx(found.done_us - real.now_us, abs=3 * MINUTE_US)


def test_the_finish_grows_with_the_share_of_days() -> None:
    real = begun("one_step_correction_and_coat")
    ahead = foreseen(real)
    ends = [ahead.ready_us("job-1", z / 4) for z in range(-12, 13)]
    assert ends == sorted(ends)
    found = ahead.finish("job-1")
    assert found.hardly_us < found.done_us < found.by_us
    assert found.ready_us == ahead.ready_us("job-1")
    assert all(a.done_us <= b.done_us for a, b in zip(found.stages, found.stages[1:], strict=False))
    assert all(stage.done_us <= stage.by_us for stage in found.stages)


def test_a_promise_is_kept_in_as_many_days_as_the_quantiles_say() -> None:
    ahead = foreseen(begun("decontamination_and_sealant"))
    for z, share in ((0.0, 0.5), (Z80, 0.8)):
        at_us = ahead.ready_us("job-1", z)
        assert ahead.kept("job-1", at_us).share == pytest.approx(share, abs=0.01)
    assert ahead.kept("job-1", ahead.now_us + 1).share < 0.01
    assert ahead.kept("job-1", ahead.now_us) == PromiseKept(0.0, past=True)
    assert ahead.kept("job-1", ahead.now_us + 48 * HOUR_US).share > 0.99
    with pytest.raises(KeyError):
        ahead.kept("another", ahead.now_us)


def test_who_was_slower_is_expected_to_be() -> None:
    real = begun("decontamination_and_sealant")
    plain = foreseen(real).finish("job-1")
    belief = Belief(steps_of(real.job))
    for _ in range(5):
        belief.add(dict.fromkeys(steps_of(real.job), (8, 0.3)))
    slow = foreseen(real, learned=Learned(beliefs={"job-1": belief})).finish("job-1")
    assert (plain.learned, slow.learned) == (0, 5)
    assert slow.done_us > plain.done_us
    # What is known well is told within less.
    assert slow.by_us - slow.done_us < plain.by_us - plain.done_us


def test_what_is_begun_late_is_done_another_day_and_told_with_its_morning() -> None:
    real = begun("one_step_correction_and_coat", at="2026-09-21 14:00")
    learned = Learned(begins=datetime.time(7, 30), ends=datetime.time(18))
    found = foreseen(real, learned=learned).finish("job-1")
    (morning,) = found.mornings
    assert local(morning, ZONE) == datetime.datetime(2026, 9, 22, 7, 30, tzinfo=datetime.UTC)
    assert local(found.done_us, ZONE).date() == datetime.date(2026, 9, 22)
    assert {part.what for part in found.parts} >= {"nights", "meals", "other work"}
    # Going on tonight would help, and nobody says it of a day that ends in time.
    helps = foreseen(real, learned=learned).helps("job-1")
    assert helps[0].what == "going on tonight"
    short = foreseen(begun("maintenance_wash"), learned=learned)
    assert "going on tonight" not in [one.what for one in short.helps("job-1")]


@pytest.mark.parametrize(("share", "calls"), [(0.53, False), (0.46, False), (0.44, True)])
def test_who_is_to_be_called_goes_by_the_tenths_that_are_told(share: float, calls: bool) -> None:
    promise = PromiseKept(share)
    assert f"kept in {4 if calls else 5} of 10 such days" in promise_sentence(promise)
    assert promise_sentence(promise).endswith(": call now.") == calls


def test_nobody_is_told_to_go_on_through_a_whole_night() -> None:
    learned = Learned(begins=datetime.time(7, 30), ends=datetime.time(18))
    real = begun("two_layer_coat_overnight", at="2026-09-21 16:00")
    found = foreseen(real, learned=learned)
    finish = found.finish("job-1")
    assert finish is not None
    awake = replace(found.around, work_day=None)
    through = Prospect(found.jobs, awake, real.now_us).finish("job-1")
    # It would save hours, and end behind the morning.
    assert finish.mornings[0] < through.done_us < finish.done_us - 2 * HOUR_US
    assert "going on tonight" not in [one.what for one in found.helps("job-1")]


def test_of_two_jobs_the_second_is_told_when_it_would_be_ready_if_it_were_taken_first() -> None:
    first, second = begun("one_step_correction_and_coat"), begun("maintenance_wash")
    second.job = replace(second.job, id="job-2")
    jobs = [certain(one).jobs[0] for one in (first, second)]
    around = DayAhead(undisturbed=True)
    found = Prospect(jobs, around, first.now_us)
    (help_,) = found.helps("job-2")
    alone = Prospect(jobs[1:], around, first.now_us).finish("job-2")
    assert help_ == Help("taking it first", alone.ready_by_us)
    assert "taking it first" not in [one.what for one in found.helps("job-1")]
    # Nobody leaves a film in play for another vehicle.
    first.take(ev.WorkStarted("Coat", first.job.order["Coat"][:1], Turn()))
    wet = [replace(jobs[0], job=first.job), jobs[1]]
    assert Prospect(wet, around, first.now_us).helps("job-2") == ()


@pytest.mark.parametrize(
    ("began", "ends", "begins"),
    [
        ("07:30", "21 18:30", "22 07:30"),
        ("09:59", "21 20:45", "22 09:45"),
        # Who began late does not wait for that hour on the next day.
        ("10:00", "21 21:00", "22 08:00"),
        ("14:00", "21 22:00", "22 08:00"),
        ("17:59", "21 22:00", "22 08:00"),
        ("18:10", "22 05:00", "22 18:00"),
    ],
)
def test_the_only_day_there_was_says_when_the_next_begins(
    began: str, ends: str, begins: str
) -> None:
    """Eleven hours are a day while nothing is known of a worker's."""
    real = begun("one_step_correction_and_coat", at=f"2026-09-21 {began}")

    def night() -> Night:
        around = foreseen(real).around
        assert around.work_day is not None
        return next(nights_of(around.work_day, real.now_us, around.on_us, around.gone_home))

    real.now_us += HOUR_US
    assert night() == Night(instant(f"2026-09-{ends}", ZONE), instant(f"2026-09-{begins}", ZONE))
    # Off the clock the next day begins when it was said to.
    real.now_us += 5 * HOUR_US
    measured(real, ev.ClockedOff())
    assert night() == Night(real.now_us, instant(f"2026-09-{begins}", ZONE))


def test_who_was_off_at_noon_began_the_day_before_it() -> None:
    real = begun("one_step_correction_and_coat", at="2026-09-21 07:30")
    real.now_us += 6 * HOUR_US
    measured(real, ev.ClockedOff())
    before, real.shift = real.shift, None
    measured(real, ev.ClockedOn("carport"))
    work_day = foreseen(real, before=before).around.work_day
    assert work_day == WorkDay(datetime.time(7, 30), datetime.time(18, 30), ZONE)


def test_little_work_behind_the_end_of_the_day_is_stayed_for() -> None:
    learned = Learned(begins=datetime.time(7, 30), ends=datetime.time(18))
    for at, day in (("17:30", 21), ("18:40", 21)):
        real = begun("maintenance_wash", at=f"2026-09-21 {at}")
        real.shift = replace(real.shift, on_us=real.now_us - 9 * HOUR_US)
        found = foreseen(real, learned=learned).finish("job-1")
        assert local(found.done_us, ZONE).day == day
        assert found.mornings == ()


def test_a_night_is_slept_unless_all_that_is_left_is_over_within_two_hours_of_it() -> None:
    rng = random.Random(18)
    slept = set()
    for _ in range(60):
        begins_us = instant("2026-09-21 08:00", ZONE) + rng.randrange(11 * HOUR_US)
        ends = instant("2026-09-21 18:00", ZONE)
        real = begun("maintenance_wash", at="2026-09-21 08:00")
        pieces = play(real.job, begins_us)
        lengths = lengths_us(pieces, scale=rng.uniform(0.5, 16.0))
        day = WorkDay(datetime.time(8), datetime.time(18), ZONE)
        nights = WorkCalendar(nights=[Night(ends, next(day.nights(ends)).to_us)])
        found = reckon(pieces, begins_us, lengths, nights)
        awake = reckon(pieces, begins_us, lengths, WorkCalendar())
        # Later than anybody stays for.
        over = awake[-1].end_us > ends + STAYS_FOR_US
        assert bool(nights.overnight) == over
        assert (found == awake) != over
        slept.add(over)
    assert slept == {True, False}


def test_two_layers_wait_over_the_night() -> None:
    real = begun("two_layer_coat_overnight", at="2026-09-21 07:30")
    learned = Learned(begins=datetime.time(7, 30), ends=datetime.time(19))
    found = foreseen(real, learned=learned).finish("job-1")
    parts = {part.what: part.length_us for part in found.parts}
    assert parts["gaps"] + parts["nights"] > 8 * HOUR_US
    assert local(found.done_us, ZONE).day == 22


def test_in_the_morning_the_next_layer_is_laid_as_if_the_first_had_dried_on_all_sections() -> None:
    real = begun("two_layer_coat_overnight", at="2026-09-21 07:30")
    day = WorkDay(datetime.time(7, 30), datetime.time(19), ZONE)

    def second_layer(around: DayAhead) -> list[int]:
        pieces = certain(real, around).in_time("job-1").pieces
        return [piece.turn.step for piece, _one in pieces if piece.turn.layer == 2]

    behind = second_layer(DayAhead(work_day=day, undisturbed=True))
    # Two on, two off; without the night each section waits for its own first layer.
    assert behind[:8] == [0, 0, 2, 2, 0, 0, 2, 2]
    awake = second_layer(DayAhead(undisturbed=True))
    assert sorted(behind) == sorted(awake)
    assert awake != behind


def test_when_a_worker_begins_behind_a_night_is_not_certain() -> None:
    left, now_us = Sum(60.0, 0.1), Instant(0)
    plain, behind = DayAhead(), DayAhead(behind_night=True)
    for z in (-Z80, Z80):
        wide, narrow = (abs(one.scale(left, z, now_us) - 1) for one in (behind, plain))
        assert narrow < wide < narrow + 8 / 60


def test_a_hand_over_waits_for_the_cure() -> None:
    stage = Stage("Coat", ("bonnet", "roof"), (Work("apply", 20.0),))
    handover = Handover("PT12H", "Coat", "invented label")
    real = of_stages(stage, handover=handover)
    found = certain(real).finish("job-1")
    assert found.ready_us == found.done_us + 12 * HOUR_US
    assert ("cure", 12 * HOUR_US) in [(part.what, part.length_us) for part in found.parts]
    # When the work is done, only the cure is left.
    while (move := real.first_move()) is not None:
        real.go_on(move)
    real.finish()
    over = certain(real).finish("job-1")
    assert (over.stages, over.done_us) == ((), real.now_us)
    assert over.ready_us == real.now_us + 12 * HOUR_US


def test_the_rests_that_the_heat_will_ask_for_are_in_it() -> None:
    real = begun("one_step_correction_and_coat", at="2026-07-20 07:30")
    plain = foreseen(real).finish("job-1")
    measured(real, ev.ReadingTaken(air_c=29.0, rh=65.0))
    hot = foreseen(real)
    found = hot.finish("job-1")
    rests = {part.what: part.length_us for part in found.parts}["rests by the heat"]
    assert rests > HOUR_US
    assert found.done_us > plain.done_us
    helps = {one.what: one.ready_by_us for one in hot.helps("job-1")}
    assert helps["resting"] < found.ready_by_us
    told = [helps_text(hot.helps("job-1"), hot.now_us, ZONE, unit) for unit in ("C", "F")]
    assert "resting at 26 C: 4 in 5 by " in told[0]
    assert "resting at 79 F: 4 in 5 by " in told[1]
    measured(real, ev.ReadingTaken(air_c=18.0, rh=50.0))
    cool = foreseen(real).finish("job-1")
    assert "rests by the heat" not in {part.what for part in cool.parts}


@pytest.mark.parametrize("name", OTHERS)
def test_a_layer_is_told_by_the_same_minutes_as_the_finish(name: str) -> None:
    real = begun(name)
    measured_slow = {step: (3, log(1.4)) for step in steps_of(real.job)[:2]}
    for learned in (Learned(), Learned(measured={"job-1": measured_slow})):
        of = Foreseen({"job-1": real.job}, real.shift, learned)
        hands, factors = prospect(of, real.now_us), Foresight(lambda of=of: of).factors("job-1")
        for stage in real.job.stages:
            # Nothing is laid yet, so each layer is as the first.
            told = stage.layers * wave_minutes(real.job, stage.name, 1, factors)
            assert told == pytest.approx(hands.hands("job-1", stage.name).mean)
    assert Foresight(lambda: of).factors("none") == PLANNED


def rests_us(ahead: Prospect) -> int:
    found = ahead.finish("job-1")
    assert found is not None
    parts = {part.what: part.length_us for part in found.parts}
    return parts.get("rests by the heat", 0)


def test_off_the_clock_the_next_day_is_taken_to_be_as_hot_as_this_one() -> None:
    real = begun("one_step_correction_and_coat", at="2026-07-20 07:30")
    measured(real, ev.ReadingTaken(air_c=29.0, rh=65.0))
    hot_us = rests_us(foreseen(real))
    real.now_us += 10 * HOUR_US
    measured(real, ev.ClockedOff())
    told = foreseen(real)
    assert hot_us / 2 < rests_us(told) < hot_us * 2
    helps = {one.what for one in told.helps("job-1")}
    assert "resting" in helps
    heat = told.around.heat
    assert heat is not None
    assert (heat.past, heat.stood_by_us) == ((), None)
    # What was read the day before yesterday says nothing of today.
    real.now_us += LIKE_US
    assert rests_us(foreseen(real)) == 0


def test_a_day_like_one_of_a_forecast_is_as_warm_by_the_hour() -> None:
    real = begun("one_step_correction_and_coat", at="2026-07-20 07:30")
    measured(real, ev.ReadingTaken(air_c=24.0, rh=50.0))
    measured(real, ev.DayExpected(22.0, 27.0))
    noon = instant("2026-07-21 12:00", ZONE)

    def there() -> Air | None:
        heat = foreseen(real).around.heat
        return None if heat is None else heat.air_at(noon)

    on = there()
    assert on is not None
    real.now_us += 10 * HOUR_US
    measured(real, ev.ClockedOff())
    assert there() == on
    real.now_us = instant("2026-07-21 06:00", ZONE)
    assert there() == on


def test_until_the_first_reading_of_a_day_it_is_taken_to_be_as_hot_as_the_one_before() -> None:
    real = begun("one_step_correction_and_coat", at="2026-07-20 07:30")
    measured(real, ev.ReadingTaken(air_c=29.0, rh=65.0))
    real.now_us += 10 * HOUR_US
    measured(real, ev.ClockedOff())
    before, real.shift = real.shift, None
    real.now_us = instant("2026-07-21 07:30", ZONE)
    measured(real, ev.ClockedOn("carport"))
    plain, like = foreseen(real), foreseen(real, before=before)
    assert rests_us(plain) == 0
    assert rests_us(like) > HOUR_US
    # Nothing of that day is behind this one: it begins as who is off would.
    heat = like.around.heat
    assert heat is not None
    assert heat.past == ()
    measured(real, ev.ReadingTaken(air_c=18.0, rh=50.0))
    assert rests_us(foreseen(real, before=before)) == 0


def test_a_job_behind_another_waits_for_it_and_a_long_gap_is_filled() -> None:
    layers = Stage(
        "Coat", ("roof",), (Work("apply", 30.0),), layers=2, gap=Gap(6 * 3600, 6 * 3600, 864000)
    )
    first = of_stages(layers)
    second = begun("maintenance_wash")
    second.job = replace(second.job, id="job-2")
    now_us = first.now_us
    plays = [play(first.job, now_us), play(second.job, now_us)]
    lined = LineUp(plays, now_us).whole()
    assert len(lined) == sum(map(len, plays))
    names = [piece.stage for piece in lined]
    # The wash goes between the layers, and each piece still knows what it waits for.
    assert names[0] == names[-1] == "Coat"
    assert lined[-1].after == (0,)
    assert tuple(LineUp(plays[:1], now_us).whole()) == plays[0]
    jobs = [certain(first).jobs[0], certain(second).jobs[0]]
    both = Prospect(jobs, DayAhead(undisturbed=True), now_us)
    parts = {part.what: part.length_us for part in both.finish("job-1").parts}
    assert parts["other jobs"] == pytest.approx(47 * MINUTE_US, rel=0.01)
    assert both.finish("job-2").done_us < both.finish("job-1").done_us


def test_it_is_reckoned_once_a_minute_and_the_same_whoever_looked_before() -> None:
    real = begun("decontamination_and_sealant")
    real.go_on(real.first_move(), 0.0)
    of = Foreseen({"job-1": real.job}, real.shift)
    minute_us = real.now_us - real.now_us % MINUTE_US
    early, late = Foresight(lambda: of), Foresight(lambda: of)
    assert early.at(real.now_us + 20).now_us == real.now_us
    for ahead in range(0, 5 * MINUTE_US, 7_000_000):
        early.at(real.now_us + ahead)
    at_us = minute_us + 5 * MINUTE_US + 30_000_000
    assert early.at(at_us).finish("job-1") == late.at(at_us).finish("job-1")
    assert early.at(at_us) is early.at(at_us + 1)


def test_what_is_in_hand_is_still_to_come_however_long_it_takes() -> None:
    real = begun("decontamination_and_sealant")
    real.go_on(real.first_move(), 0.0)
    ends = []
    for minutes in (0, 10, 30, 90, 200):
        of = Foreseen({"job-1": real.job}, real.shift)
        found = prospect(of, real.now_us + minutes * MINUTE_US).finish("job-1")
        ends.append(found.done_us)
        assert found.stages[0].done_us > found.now_us
    assert ends == sorted(ends)
    assert Turn() == real.shift.doing.turn


def weighed(real: Real, weights: Weights, known: Measured = NOT_MEASURED) -> Prospect:
    """What is ahead if panels weigh so much."""
    learned = Learned(weights={"job-1": weights}, measured={"job-1": known})
    return prospect(Foreseen({"job-1": real.job}, real.shift, learned), real.now_us)


def test_a_panel_that_weighs_double_is_expected_to_take_double() -> None:
    stage = Stage("Polish", ("bonnet", "mirror"), (Work("polish", minutes=10.0),))
    last = Stage("Wipe", ("all",), (Work("wipe", minutes=10.0),))
    real = of_stages(stage, last)
    weights = {("Polish", "bonnet"): 1.5, ("Polish", "mirror"): 0.5}
    plain, found = weighed(real, {}), weighed(real, weights)
    # Of the whole stage nothing changes, and the wipe is not of it.
    assert found.hands("job-1").mean == pytest.approx(plain.hands("job-1").mean)
    real.go_on(real.first_move())
    real.finish()
    plain, found = weighed(real, {}), weighed(real, weights)
    half = found.hands("job-1", "Polish").mean / plain.hands("job-1", "Polish").mean
    assert half == pytest.approx(0.5)
    assert found.hands("job-1", "Wipe").mean == pytest.approx(plain.hands("job-1", "Wipe").mean)


def test_weights_of_a_plan_do_what_weights_of_jobs_do() -> None:
    sections = ("bonnet", "mirror")
    plain = of_stages(Stage("Polish", sections, (Work("polish", minutes=10.0),)))
    weights = {"bonnet": 1.5, "mirror": 0.5}
    own = of_stages(Stage("Polish", sections, (Work("polish", minutes=10.0),), weights=weights))
    told = {("Polish", panel): weight for panel, weight in weights.items()}
    for known in (NOT_MEASURED, {("Polish", "polish", 0): (1, log(2.0))}):
        found = [weighed(plain, told, known), weighed(own, {}, known)]
        hands = [one.hands("job-1").mean for one in found]
        assert hands[0] == pytest.approx(hands[1])
        for real in (plain, own):
            real.go_on(real.first_move())
            real.finish()
    # Both together: the jobs say that the mirror takes twice what the plan gives it.
    more = weighed(own, {("Polish", "mirror"): 2.0}).hands("job-1").mean
    assert more == pytest.approx(2 * weighed(own, {}).hands("job-1").mean)


def test_large_panels_done_first_say_no_more_of_the_small_ones_than_they_weigh() -> None:
    stage = Stage("Polish", ("bonnet", "roof", "mirror"), (Work("polish", minutes=10.0),))
    real = of_stages(stage)
    real.go_on(real.first_move())
    real.finish()
    key = ("Polish", "polish", 0)
    measured_of_it = {key: (1, log(2.0))}
    weights = {("Polish", "bonnet"): 2.0, ("Polish", "roof"): 0.5, ("Polish", "mirror"): 0.5}
    assert as_weighed(measured_of_it, real.job, {}) == measured_of_it
    # Twice the plan's minutes on a panel that weighs double says that the worker is as planned; the
    # mean of all three logarithms, ln(1/2) / 3, is what earlier jobs were measured with.
    pieces, mean = as_weighed(measured_of_it, real.job, weights)[key]
    assert (pieces, mean) == (1, pytest.approx(log(0.5) / 3))
    # Of a step without weights nothing is known.
    assert as_weighed(measured_of_it, real.job, {("Wash", "roof"): 2.0}) == measured_of_it


def test_what_is_in_hand_has_the_minutes_left_that_its_panel_weighs() -> None:
    real = of_stages(Stage("Polish", ("bonnet", "mirror"), (Work("polish", minutes=10.0),)))
    real.go_on(real.first_move(), share=0.0)
    light, heavy = (
        weighed(real, {("Polish", "bonnet"): weight}).hands("job-1").mean for weight in (0.5, 2.0)
    )
    assert heavy - light == pytest.approx(15.0 * weighed(real, {}).hands("job-1").mean / 20.0)


def test_where_short_films_fit_together_an_early_end_is_told_of_it() -> None:
    real = begun("one_step_correction_and_coat")
    found = foreseen(real)
    told = found.finish("job-1")
    # In the order that is expected what is shorter waits for its films alone.
    kept = found.in_time("job-1", -Z80).pieces
    assert told.hardly_us < kept[-1][1].end_us < told.done_us < told.by_us


@pytest.mark.parametrize("name", OTHERS)
def test_in_the_middle_of_the_work_the_finish_is_the_plan_played_too(name: str) -> None:
    real = begun(name)
    rng = random.Random(name)
    for step in range(400):
        move = real.first_move()
        if move is None:
            break
        real.go_on(move, rng.choice((0.3, 0.7, 1.0)))
        if step % 5 == 0:
            # What takes longer than planned is told by what is believed of it, and never here.
            played = play(real.job, real.now_us)
            found = certain(real).finish("job-1")
            assert found.done_us == pytest.approx(played[-1].end_us, abs=3 * MINUTE_US)
            ends = {piece.stage: piece.end_us for piece in played}
            for stage in found.stages:
                assert stage.done_us == pytest.approx(ends[stage.stage], abs=3 * MINUTE_US)
    assert step > 5


def test_the_end_of_a_long_day_takes_longer_as_far_as_earlier_jobs_have_not_shown_it() -> None:
    on_us = 1_790_000_000_000_000
    day, fresh = DayAhead(on_us=on_us, tires=True), DayAhead(on_us=on_us)

    def longer(hours: float, gone: float = 0.0, learned: int = 0) -> float:
        left, now_us = Sum(60 * hours, 0.2), round(on_us + gone * HOUR_US)
        return day.scale(left, 0.0, now_us, learned) / fresh.scale(left, 0.0, now_us, learned)

    # Nobody tires in three hours; over ten of them by hand: 0.0045 * 7 ** 2 / 20.
    assert longer(3) == 1.0
    assert longer(10) == pytest.approx(1 + 0.0045 * 49 / 20)
    # The last two of ten are the hardest, against what was measured up to then.
    assert longer(2, gone=8) == pytest.approx(1 + 0.0045 * (6.0 - 25 / 16))
    assert 1 < longer(10, learned=20) < longer(10, learned=4) < longer(10)
    assert longer(10, learned=4) == pytest.approx(1 + (longer(10) - 1) / 2)
    # A worker who never clocked off is not tired without end.
    assert longer(1, gone=90) == longer(1, gone=11)
