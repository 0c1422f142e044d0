"""When to begin: hours against printed tables, starts against check values and their own laws."""

from __future__ import annotations

import datetime

import pytest
from msgspec.structs import replace

from cartclock.engine.after.visits import Closed
from cartclock.engine.ahead.calendar import WorkDay
from cartclock.engine.ahead.day_ahead import DayAhead, meals_ahead
from cartclock.engine.ahead.durations import Belief
from cartclock.engine.ahead.job_ahead import JobAhead, steps_of
from cartclock.engine.ahead.prospect import Prospect
from cartclock.engine.ahead.work_left import WorkLeft
from cartclock.engine.dates import instant, local
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.figures.gate import LabelLimits
from cartclock.engine.planning.day_hours import DayHours, Where
from cartclock.engine.planning.day_plan import Habits, day_plan
from cartclock.engine.planning.day_words import NO_ADVICE, DayWords
from cartclock.engine.planning.decision import DayPlan
from cartclock.engine.planning.unbegun import job_ahead
from cartclock.engine.planning.weather import Weather, by_forecast
from cartclock.engine.store.plan_file.reader import read_plan, starter, with_body
from cartclock.engine.times import Instant
from tests.ahead.test_finish import CERTAIN, OTHERS
from tests.ahead.test_play import Real
from tests.kit.plans import FALLOUT, WIPE, opening

DAY = datetime.date(2026, 7, 24)
ZONE = "Europe/Madrid"
HOT, MILD = by_forecast(22, 37, 19), by_forecast(12, 20, 5)
COOL_REST = ev.ReadingTaken(air_c=26.0, rh=50.0)
HABITS = Habits(
    datetime.time(7), datetime.time(19), datetime.time(12, 30), DayAhead(undisturbed=True)
)
USED = Where(ev.ClockedOn(zone=ZONE), rest_place=COOL_REST, acclimatized=True)
# What a label of a coat may allow.
LABEL = LabelLimits(5.0, 30.0, 10.0, 30.0, None, 80.0)


def job(name: str, zone: str = ZONE, certain: bool = True, **facts: object) -> JobAhead:
    """A starter's job that is planned, by the plan's own minutes."""
    plan = read_plan(with_body(starter(name), "estate"), name)
    made = job_ahead(plan, zone, instant(f"{DAY} 00:00", zone), **facts)  # type: ignore[arg-type]  # what it takes
    belief = Belief(steps_of(made), CERTAIN) if certain else Belief(steps_of(made))
    return JobAhead(made, belief.today({}))


def hours(weather: Weather, where: Where = USED, day: datetime.date = DAY) -> DayHours:
    return DayHours(day, weather, where, LABEL)


def planned(weather: Weather, *jobs: JobAhead, habits: Habits = HABITS) -> DayPlan:
    return day_plan(jobs, hours(weather), habits)


def promised(ahead: JobAhead, promised_us: int) -> JobAhead:
    """The same job with a promise."""
    opened = replace(ahead.job.opened, promised_us=Instant(promised_us))
    return replace(ahead, job=replace(ahead.job, opened=opened))


def minutes(plan: DayPlan, index: int = 0) -> float:
    start = plan.starts[index]
    return (start.done_us - start.start_us) / MINUTE_US


def test_hours_of_a_hot_day_by_another_program_of_our_own() -> None:
    # Its WBGT and minutes of moderate work, rests at 26 C and 50 %; a screening estimate.
    others = {5: (20.7, 60), 10: (25.9, 60), 13: (28.6, 45), 14: (29.0, 40), 16: (28.6, 45)}
    found = hours(HOT).hours
    for hour, (wbgt_c, allowed) in others.items():
        assert found[hour].wbgt_c == pytest.approx(wbgt_c, abs=0.06)
        assert found[hour].minutes["moderate"] == allowed
    # With a label up to 30 C and 80 %, likewise.
    right = [one.hour for one in found if not one.coat]
    assert right == [0, 1, 2, 3, 7, 8, 9, 20, 21, 22, 23]
    assert {found[5].coat, found[14].coat} == {"damp", "hot"}


def test_harder_work_has_less_time_and_who_is_not_used_to_heat_no_more() -> None:
    used, new = hours(HOT).hours, hours(HOT, replace(USED, acclimatized=False)).hours
    for one, other in zip(used, new, strict=True):
        assert one.minutes["light"] >= one.minutes["moderate"] >= one.minutes["heavy"]
        assert all(other.minutes[effort] <= one.minutes[effort] for effort in one.minutes)


@pytest.mark.parametrize("name", OTHERS)
def test_on_a_mild_day_a_start_ends_by_the_plans_minutes(name: str) -> None:
    found = planned(MILD, job(name))
    first = found.starts[0]
    # Other minutes: with every wait at its opening; a flash is due a little later.
    wanted = OTHERS[name][0]
    meal = 30 if first.done_us > hours(MILD).at(12) + 30 * MINUTE_US else 0
    assert first.rests_us == 0
    # What of the meal falls into a wait costs nothing; of so short a job the middle of what a day
    # does to it lies a little under what is expected.
    assert wanted * 0.98 <= minutes(found) <= (wanted + meal) * 1.02


def test_a_later_start_never_ends_earlier_in_air_that_stays() -> None:
    still = by_forecast(33, 33, 18)
    found = planned(still, job("decontamination_and_sealant", certain=False))
    ends = [(one.done_us, one.by_us) for one in found.starts]
    assert ends == sorted(ends)
    assert all(one.done_us <= one.by_us for one in found.starts)


def test_heat_only_ever_adds_rests() -> None:
    mild, hot = (planned(w, job("one_step_correction_and_coat")) for w in (MILD, HOT))
    for one, other in zip(mild.starts, hot.starts, strict=True):
        assert other.done_us >= one.done_us
        assert other.rests_us >= one.rests_us == 0
    assert max(one.rests_us for one in hot.starts) > HOUR_US


def test_the_best_start_keeps_the_coat_in_right_air_and_spares_rests() -> None:
    found = planned(MILD, job("one_step_correction_and_coat"))
    assert found.in_one_day
    assert found.same_run
    assert found.best.coat_right
    assert found.evening is found.morning is None
    said = DayWords(hours(MILD)).decision(found)
    # Every start spares all rests here, so nobody gets up before the usual hour.
    assert {one.rests_us for one in found.starts if one.by_us <= found.ends_us} == {0}
    assert said[0].startswith("Start 07:00: done about ")
    assert said[1].startswith("Coat in the same run, from ")


def test_a_coat_in_hot_air_waits_for_the_evening_or_the_morning() -> None:
    found = planned(
        HOT, job("one_step_correction_and_coat"), habits=replace(HABITS, ends=datetime.time(21))
    )
    best, evening, morning = found.best, found.evening, found.morning
    assert best.against == ("hot",)
    assert evening is not None
    assert morning is not None
    assert f"{local(evening.from_us, ZONE):%H:%M}" == "20:00"
    assert f"{local(morning.from_us, ZONE):%d %H:%M}" == "25 07:00"
    for later in (evening, morning):
        assert later.away_us == later.from_us - best.coat_us
        assert later.done_us - later.from_us == best.done_us - best.coat_us
        assert later.done_us <= later.by_us
        # In one day of five the rest is not done sooner than the row of that start says.
        assert later.by_us >= best.by_us
    assert "Coat this evening from 20:00" in DayWords(hours(HOT)).decision(found)[1]
    # Where the air is right again in the morning already.
    sooner = replace(evening, from_us=evening.from_us - 12 * HOUR_US)
    said = DayWords(hours(HOT)).decision(replace(found, evening=sooner))[1]
    assert "Coat later that day from 08:00" in said


def test_wrong_air_is_never_told_of_the_hour_in_which_it_is_right() -> None:
    words, at_us = DayWords(hours(MILD)), instant("2026-07-24 11:58", ZONE)
    start = replace(planned(MILD, job("one_step_correction_and_coat")).best, coat_us=at_us)
    for against, clock in (((), "12:00"), (("damp",), "11:55")):
        assert words.coat_clock(replace(start, against=against)) == clock


def test_two_layers_that_do_not_fit_in_one_day_have_the_night_between_them() -> None:
    two = job("two_layer_coat_overnight")
    found = planned(MILD, two)
    apart = found.overnight
    assert apart is not None
    assert not (found.in_one_day or found.same_run or found.evening or found.morning)
    # Nobody gets up early for it: the morning begins when it begins.
    assert f"{local(found.best.start_us, ZONE):%d %H:%M}" == "24 07:00"
    assert f"{local(apart.next_us, ZONE):%d %H:%M}" == "25 07:00"
    first, second = [run for run in found.runs if run.stage == "Coat"]
    assert (first.from_us, second.from_us) == (apart.first_us, apart.next_us)
    assert first.to_us <= found.ends_us
    gap = two.job.stage("Coat").gap
    assert gap is not None
    between_s = (second.from_us - first.to_us) / 1_000_000
    assert gap.opens_s <= between_s
    # Of the first section the most time passes.
    assert (second.from_us - first.from_us) / 1_000_000 <= gap.closes_s
    best = found.best
    assert best in found.starts
    assert best.coat_us == apart.first_us
    assert best.morning_us == apart.next_us < best.coated_us <= best.done_us <= best.by_us
    says = DayWords(hours(MILD)).decision(found)
    assert says[0].startswith("Not in one day (your day ends 19:00): from 07:00 done about ")
    assert says[0].endswith(", with a night between two layers.")
    clock = DayWords(hours(MILD)).clock(apart.first_us)
    assert says[1] == f"One layer from {clock}, the next in the morning from Sat 07:00."


def test_other_work_that_does_not_fit_in_one_day_has_the_night_of_a_forecast() -> None:
    habits = replace(HABITS, ends=datetime.time(13))
    one = job("one_step_correction_and_coat")
    found = planned(MILD, one, habits=habits)
    best = found.best
    assert not found.in_one_day
    assert found.overnight is None
    # The day begins as it always does.
    assert best.morning_us == instant("2026-07-25 07:00", ZONE)
    # What is foretold of who clocks on then is the same.
    around = DayAhead(
        pauses=tuple(meals_ahead(habits.meal, ZONE, False, best.start_us)),
        meals=1,
        work_day=WorkDay(habits.begins, habits.ends, ZONE),
        on_us=best.start_us,
        undisturbed=True,
    )
    told = Prospect([one], around, best.start_us).finish(one.job.id)
    assert told.done_us == best.done_us
    assert told.mornings[0] == best.morning_us
    # Nothing is worked on in the night, and the coat is told for the day on which it goes on.
    night_us = instant(f"{DAY} 13:30", ZONE)
    assert not any(run.from_us < best.morning_us and run.to_us > night_us for run in found.runs)
    words = DayWords(hours(MILD)).decision(found)
    assert words[0].endswith(", with a night in it: your day begins Sat 07:00.")
    assert words[1].startswith("Coat behind the night, from Sat ")
    # And nobody begins when the day is over.
    assert all(start.start_us < found.ends_us for start in found.starts)


def test_a_night_between_layers_is_not_offered_where_it_does_not_help() -> None:
    # One layer, a day that is long enough for both, and air that is too hot for the first one.
    assert planned(MILD, job("one_step_correction_and_coat")).overnight is None
    two = job("two_layer_coat_overnight")
    all_day = replace(HABITS, begins=datetime.time(6), ends=datetime.time(5, 30))
    assert planned(MILD, two, habits=all_day).overnight is None
    hot = planned(HOT, two)
    assert hot.overnight is None
    assert "hot" in hot.best.against


def test_no_night_is_offered_that_is_longer_than_the_label_lets_a_layer_wait() -> None:
    # 2026-07-24 is a Friday, and the starter's coat waits for 24 hours at most.
    two = job("two_layer_coat_overnight")
    gap = two.job.stage("Coat").gap
    assert gap is not None
    assert gap.closes_s == 24 * 3600
    for weekday, offered in ((7, True), (6, False)):
        closed = Closed(frozenset({weekday}))
        found = planned(MILD, two, habits=replace(HABITS, closed=closed))
        assert (found.overnight is not None) == offered


def test_where_the_air_is_never_right_nothing_is_promised() -> None:
    found = planned(by_forecast(38, 44, 20), job("one_step_correction_and_coat"))
    assert found.evening is found.morning is None
    said = DayWords(hours(by_forecast(38, 44, 20))).decision(found)
    assert said[1].endswith("Nor this evening, nor next morning.")
    assert "Air right for this coat: never." in said[2]


def test_a_job_without_a_coat_says_so() -> None:
    found = planned(HOT, job("maintenance_wash"))
    assert found.best.coat_us is None
    assert found.same_run
    assert DayWords(hours(HOT)).decision(found)[1] == "No coat in it."


def test_the_latest_coat_for_a_promise_is_as_long_before_it_as_coat_and_rest_take() -> None:
    promised_us = instant(f"{DAY} 20:00", ZONE)
    found = planned(MILD, job("one_step_correction_and_coat", promised_us=promised_us))
    best = found.best
    assert found.latest_coat_us is not None
    assert found.latest_start_us is not None
    assert found.latest_coat_us - found.latest_start_us == best.coat_by_us - best.start_us
    # The plan asks for hours of cure before it is handed over.
    assert promised_us - found.latest_coat_us >= best.by_us - best.coat_by_us


def test_a_promise_that_wanted_the_coat_the_day_before_is_said_to_be_too_late_for() -> None:
    promised_us = instant(f"{DAY} 00:30", ZONE)
    found = planned(MILD, job("one_step_correction_and_coat", promised_us=promised_us))
    assert found.latest_coat_us is not None
    words = DayWords(hours(MILD))
    assert words.clock(found.latest_coat_us).startswith("Thu ")
    assert "; too late for the promise." in words.decision(found)[1]


def test_two_vehicles_are_one_day() -> None:
    one, other = job("maintenance_wash"), job("decontamination_and_sealant")
    second = JobAhead(replace(other.job, id="second"), other.today)
    alone = planned(MILD, other)
    both = planned(MILD, one, second)
    assert minutes(both) == pytest.approx(minutes(alone) + OTHERS["maintenance_wash"][0], abs=16)
    assert {run.job for run in both.runs} == {one.job.id, "second"}
    assert "2: " in DayWords(hours(MILD)).strip(both, hours(MILD).hours[8])


def test_runs_follow_each_other_and_films_are_named() -> None:
    found = planned(MILD, job("one_step_correction_and_coat"))
    assert all(a.to_us <= b.from_us for a, b in zip(found.runs, found.runs[1:], strict=False))
    assert {run.stage for run in found.runs if run.film} >= {"Wheels", "Coat"}
    assert "Coat " in DayWords(hours(MILD)).films(found)


def test_no_start_is_before_now_and_behind_the_last_one_there_is_still_one() -> None:
    made = hours(MILD)
    late = day_plan([job("maintenance_wash")], made, HABITS, not_before_us=made.at(14) + 1)
    assert [local(one.start_us, ZONE).hour for one in late.starts] == [15, 16]
    night_us = made.at(22) + 5 * MINUTE_US
    only = day_plan([job("maintenance_wash")], made, HABITS, not_before_us=night_us)
    assert [one.start_us for one in only.starts] == [night_us]
    # It ends in the next day, which is said.
    assert not only.in_one_day


def test_a_day_that_ends_behind_midnight_and_one_on_which_the_clocks_change() -> None:
    night = replace(HABITS, begins=datetime.time(16), ends=datetime.time(3))
    found = planned(MILD, job("decontamination_and_sealant"), habits=night)
    assert f"{local(found.ends_us, ZONE):%d %H:%M}" == "25 03:00"
    # On 2026-03-29 the clocks of Madrid jump from 2 to 3 (tz database).
    spring = hours(MILD, day=datetime.date(2026, 3, 29))
    assert spring.at(4) - spring.at(1) == 2 * HOUR_US
    late = replace(HABITS, ends=datetime.time(6))
    starts = day_plan([job("maintenance_wash")], spring, late, range(24)).starts
    assert len(starts) == len({one.start_us for one in starts}) == 23


def test_the_sun_is_told_where_the_place_is_known() -> None:
    assert hours(MILD).sun() is None
    madrid = replace(USED, on=ev.ClockedOn(zone=ZONE, latitude=40.4, longitude=-3.7))
    rise_us, set_us = hours(MILD, madrid).sun()
    # An almanac has 07:03 and 21:37 for Madrid on 24 July; from memory.
    assert abs(rise_us - instant(f"{DAY} 07:03", ZONE)) < 5 * MINUTE_US
    assert abs(set_us - instant(f"{DAY} 21:37", ZONE)) < 5 * MINUTE_US
    polar = replace(USED, on=ev.ClockedOn(zone=ZONE, latitude=80.0, longitude=0.0))
    assert hours(MILD, polar).sun() is None


def test_what_it_rests_on_is_said_and_nothing_is_called_what_it_is_not() -> None:
    words = DayWords(hours(HOT))
    notes = list(words.notes())
    assert NO_ADVICE in notes
    assert "rests at 26 C and 50 %; used to the heat; indoors" in notes[0]
    assert "no medical advice" in NO_ADVICE


def test_what_is_played_once_for_all_starts_is_played_as_from_each_of_them(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    ahead = [job("two_layer_coat_overnight", certain=False), job("maintenance_wash", certain=False)]
    ahead[1] = replace(ahead[1], job=replace(ahead[1].job, id="beside"))

    def plan() -> DayPlan:
        return day_plan(ahead, hours(HOT), HABITS, start_hours=(7, 10, 15))

    once = plan()
    monkeypatch.setattr(WorkLeft, "as_of", lambda _work, now_us: WorkLeft(ahead, now_us))
    assert plan() == once


def test_what_waits_for_its_film_is_played_from_each_start_anew() -> None:
    real = Real(opening(FALLOUT).plan, now_us=instant(f"{DAY} 09:00", "UTC"))
    fresh = WorkLeft([JobAhead(real.job, Belief(steps_of(real.job)).today({}))], real.now_us)
    later_us = Instant(real.now_us + HOUR_US)
    assert fresh.as_of(later_us) is fresh
    real.go_on(real.first_move())
    for _ in range(2):
        wet = WorkLeft([JobAhead(real.job, Belief(steps_of(real.job)).today({}))], real.now_us)
        assert wet.as_of(later_us) is not wet
        real.finish()


def test_a_start_that_a_promise_needs_is_the_one_to_take() -> None:
    one = job("one_step_correction_and_coat")
    # Without a promise nobody gets up before the usual hour.
    assert planned(MILD, one).best.start_us == hours(MILD).at(7)
    far_us = instant("2026-07-27 20:00", ZONE)
    latest_us = planned(MILD, promised(one, far_us)).latest_start_us
    assert latest_us is not None
    # So that whoever begins at half past five is in time, four times in five.
    found = planned(MILD, promised(one, far_us - latest_us + hours(MILD).at(5) + HOUR_US // 2))
    assert found.best.start_us == hours(MILD).at(5)
    assert found.promise == "kept"
    assert found.latest_coat_us is not None
    assert found.best.coat_by_us is not None
    assert found.best.coat_by_us <= found.latest_coat_us
    said = DayWords(hours(MILD)).decision(found)
    assert said[0].startswith("Start 05:00: done about ")
    assert said[0].endswith(", in time for the promise.")
    assert f"; for the promise at {DayWords(hours(MILD)).clock(found.latest_coat_us)} " in said[1]


def test_a_promise_that_no_start_keeps_is_said_first_and_gets_nobody_up() -> None:
    one = job("one_step_correction_and_coat", certain=False)
    far_us = instant("2026-07-27 20:00", ZONE)
    latest_us = planned(MILD, promised(one, far_us)).latest_start_us
    assert latest_us is not None
    words, long_day = DayWords(hours(MILD)), replace(HABITS, ends=datetime.time(21))
    # So much before the first start there is must the work begin, four times in five.
    hardly_us = far_us - latest_us + hours(MILD).at(5) - HOUR_US // 4
    hardly = planned(MILD, promised(one, hardly_us), habits=long_day)
    assert hardly.promise == "expected"
    assert words.decision(hardly)[0].startswith(
        "No start keeps the promise four times in five. Start 06:00: done about "
    )
    late = planned(MILD, promised(one, far_us - latest_us + hours(MILD).at(5) - 4 * HOUR_US))
    assert late.promise == "late"
    assert late.best == planned(MILD, one).best
    first, second, _air = words.decision(late)
    assert first.startswith("No start keeps the promise. ")
    assert late.latest_coat_us is not None
    assert f"; the promise wants it by {words.clock(late.latest_coat_us)}." in second


def test_the_first_sentence_ends_with_the_coat_of_the_second() -> None:
    one = job("one_step_correction_and_coat")
    late = replace(HABITS, ends=datetime.time(21))
    words = DayWords(hours(HOT))
    found = planned(HOT, one, habits=late)
    evening, morning = found.evening, found.morning
    assert evening is not None
    assert morning is not None
    first = words.decision(found)[0]
    assert f", the coat this evening, done about {words.clock(evening.done_us)}, " in first
    assert words.clock(found.best.done_us) not in first
    # Where only the next morning is right for it, it is not done in one day.
    first = words.decision(replace(found, evening=None))[0]
    assert first.startswith("Not in one day (your day ends 21:00): from ")
    assert f", the coat next morning, done about {words.clock(morning.done_us)}, " in first
    # And where no air ever is, nothing is said to be done but what lies before it.
    never = planned(by_forecast(38, 44, 20), one)
    assert never.best.coat_us is not None
    first = words.decision(never)[0]
    assert f" without the coat, all before it done about {words.clock(never.best.coat_us)}" in first
    # What is promised is measured by the coat that is told: so long before it there must be a coat.
    far_us = instant("2026-07-27 20:00", ZONE)
    latest_us = planned(HOT, promised(one, far_us), habits=late).latest_coat_us
    assert latest_us is not None
    for spare_us, kept in ((-HOUR_US // 2, False), (3 * HOUR_US, True)):
        promised_us = far_us - latest_us + evening.from_us + spare_us
        told = planned(HOT, promised(one, promised_us), habits=late)
        assert (told.promise == "kept") == kept


def test_a_coat_that_can_go_on_is_better_than_a_start_that_leaves_it_out() -> None:
    # In this air the label is kept in the morning alone: who begins in it at seven is too late.
    weather = by_forecast(18, 32, 12)
    two = job("two_layer_coat_overnight", certain=False)
    by_hour = [day_plan([two], hours(weather), HABITS, start_hours=[hour]) for hour in range(5, 17)]
    assert by_hour[2].coatless
    assert not all(one.coatless for one in by_hour)
    assert not planned(weather, two).coatless


def test_each_promise_is_measured_by_its_own_job() -> None:
    wash, coat = job("maintenance_wash"), job("one_step_correction_and_coat")
    coat = replace(coat, job=replace(coat.job, id="second"))
    alone = planned(MILD, wash)
    found = planned(MILD, promised(wash, alone.best.by_us + HOUR_US), coat)
    assert found.promise == "kept"
    # The coat of the other job comes behind it.
    assert found.latest_coat_us is None
    assert "promise" not in DayWords(hours(MILD)).decision(found)[1]
    far_us = instant("2026-07-27 20:00", ZONE)
    both = planned(MILD, promised(wash, hours(MILD).at(5)), promised(coat, far_us))
    assert both.promise == "late"


@pytest.mark.parametrize("weather", [MILD, HOT])
def test_no_start_stands_better_to_the_promise_than_the_best(weather: Weather) -> None:
    one = job("decontamination_and_sealant", certain=False)
    before = ""
    for hour in range(8, 24, 3):
        found = planned(weather, promised(one, instant(f"{DAY} {hour:02}:00", ZONE)))
        alone = [
            day_plan([promised(one, instant(f"{DAY} {hour:02}:00", ZONE))], hours(weather),
                     HABITS, start_hours=[start]).promise
            for start in range(5, 17)
        ]  # fmt: skip
        order = ("kept", "expected", "late")
        assert found.promise == min(alone, key=order.index)
        # With more time it never stands worse.
        assert not before or order.index(found.promise) <= order.index(before)
        before = found.promise


def test_a_job_that_is_done_asks_no_start_to_keep_its_promise() -> None:
    real = Real(opening(WIPE).plan, now_us=instant(f"{DAY} 00:30", ZONE))
    ahead = [JobAhead(real.job, Belief(steps_of(real.job)).today({}))]
    assert planned(MILD, promised(ahead[0], real.now_us)).promise == "late"
    while (move := real.first_move()) is not None:
        real.go_on(move)
    real.finish()
    done = JobAhead(real.job, Belief(steps_of(real.job)).today({}))
    # Whoever fetches it is late, not the worker.
    found = planned(MILD, promised(done, real.now_us), job("maintenance_wash"))
    assert found.promise == ""
    assert found.latest_start_us is None
