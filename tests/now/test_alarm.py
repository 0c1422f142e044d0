"""Alarms: what is to be heard, in which rhythm, and when the laptop stays awake."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from msgspec.structs import replace

from cartclock.engine.body.signs import LOUDER_FROM_MINUTES
from cartclock.engine.body.watch import Watch, watch
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.now.alarm import alarms, battery_alarm, rehearsed, should_stay_awake
from cartclock.engine.now.ringing import (
    EVERY_S,
    FIRST_RINGS,
    REPEATED,
    SLACK_US,
    STOP_S,
    URGENCIES,
    Alarm,
    Ringing,
    Urgency,
    by_urgency,
    ring,
    rings,
)
from cartclock.engine.now.running import FILLS_FROM, RING_AGAIN_S, running_films
from cartclock.engine.plan.plan import Check, Stage, Wait, Work
from cartclock.engine.rules import looks, rules
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import COAT, WIPE

TWO = Stage("Coat", ("roof", "boot"), (Work("apply", 1.0), Wait("flash", 45, 90, 240),
                                       Work("level", 2.0)))  # fmt: skip
SECONDS = (*range(FIRST_RINGS), *range(EVERY_S, STOP_S, EVERY_S))


def body(book: Book, at_s: float) -> Watch:
    scene = book.scene(at_s)
    assert scene.shift is not None
    return watch(scene.shift, scene.jobs, scene.now_us)


def heard(book: Book, at_s: float) -> list[tuple[Urgency, str]]:
    """Urgency and sentence of every alarm at that second."""
    found = alarms(book.jobs(), book.shift(), us(at_s), body(book, at_s))
    return [(alarm.urgency, alarm.sentence) for alarm in found]


def coated(*sections: str) -> Book:
    """A coat of 60 s laid on these, one after the other; each opens 45 s after, closes at 240."""
    book = opened(COAT)
    for number, name in enumerate(sections):
        book.press(number * 60, ev.WorkStarted("Coat", (name,), Turn()))
        book.press(number * 60 + 60, ev.StepFinished("Coat", (name,), Turn(), Marks(45, 90, 240)))
    return book


# What is to be heard.


def test_a_window_is_ready_then_late_and_nothing_while_it_waits() -> None:
    book = coated("bonnet left")
    assert heard(book, 104) == []
    assert heard(book, 105) == [("ready", "bonnet left: level")]
    assert heard(book, 239) == [("ready", "bonnet left: level")]
    assert heard(book, 240) == [("late", "bonnet left: late, level")]
    assert alarms({}, None, us(0)) == ()


def test_a_film_to_be_looked_at_says_so() -> None:
    book = opened(COAT)
    book.press(0, ev.WorkStarted("Coat", ("roof",), Turn()))
    book.press(20, ev.StepFinished("Coat", ("roof",), Turn(), Marks(40, 60, 240, off_by_s=90)))
    assert heard(book, 61) == [("ready", "roof: look")]
    assert heard(book, 111) == [("ready", "roof: level")]
    keys = {alarm.key for at in (61, 111) for alarm in alarms(book.jobs(), None, us(at))}
    assert len(keys) == 2


def test_a_film_in_hand_calls_before_it_closes_and_is_late_then() -> None:
    # Two minutes of levelling before it closes at 300.
    book = opened(COAT)
    book.press(0, ev.WorkStarted("Coat", ("roof",), Turn()))
    assert heard(book, 179) == []
    assert heard(book, 180) == [("ready", "roof: it closes, level")]
    assert heard(book, 300) == [("late", "roof: late, level")]
    assert all(alarm.film for alarm in alarms(book.jobs(), book.shift(), us(300)))


def test_what_is_late_comes_before_what_is_ready() -> None:
    book = coated("bonnet left", "bonnet right")
    assert heard(book, 245) == [
        ("late", "bonnet left: late, level"),
        ("ready", "bonnet right: level"),
    ]


def test_a_break_that_is_over() -> None:
    book = opened(WIPE)
    book.do(0, rules.take_break, "rest", 600)
    assert heard(book, 599) == []
    assert heard(book, 600) == [("ready", "the break is over: back to work")]


def test_a_rest_and_its_drink_ring_once() -> None:
    book = opened(WIPE)
    book.press(0, ev.ReadingTaken(air_c=36, rh=24))
    book.press(0, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    at = next(s for s in range(0, 3600, 10) if body(book, s).rest_now)
    # The cup falls due while the rest stands on the screen, and later in the rest itself.
    book.press(at - 19 * 60, ev.DrinkTaken(240))
    minutes = -(-body(book, at).pace.rest_s // 60)
    assert heard(book, at) == [("rest", f"rest now, {minutes} minutes, with a cup of water")]
    book.press(at, ev.RestCalled("NIOSH limit", minutes * 60))
    assert [urgency for urgency, _ in heard(book, at + 90)] == ["rest"]
    book.press(at + 100, ev.WorkPutDown("Wipe", ("whole car",), Turn()))
    book.press(at + 100, ev.BreakTaken("heat", minutes * 60))
    assert heard(book, at + 300) == []
    # Whoever does not rest is told of the next drink by itself.
    stays = opened(WIPE)
    stays.press(0, ev.ReadingTaken(air_c=36, rh=24))
    stays.press(0, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    stays.press(at, ev.RestCalled("NIOSH limit", minutes * 60))
    stays.press(at, ev.DrinkTaken(240))
    assert ("info", "drink now") in heard(stays, at + 1200)


def test_a_rest_and_a_drink() -> None:
    book = opened(WIPE)
    book.press(0, ev.ReadingTaken(air_c=33, rh=40))
    book.press(0, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    assert heard(book, 1199) == []
    assert heard(book, 1200) == [("info", "drink now")]
    book.press(1800, ev.DrinkTaken(250))
    rests = [at for at in range(1800, 5400, 60) if body(book, at).rest_now]
    at = rests[0]
    minutes = -(-body(book, at).pace.rest_s // 60)
    assert heard(book, at)[0] == ("rest", f"rest now, {minutes} minutes, with a cup of water")
    book.do(at, rules.take_break, "heat", minutes * 60)
    assert [urgency for urgency, _said in heard(book, at)] in ([], ["info"])


def test_no_work_time_here_sends_somewhere_cooler() -> None:
    book = opened(WIPE)
    book.press(0, ev.ReadingTaken(air_c=45, rh=60))
    book.press(0, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    assert body(book, 10).pace.no_work_time
    said = "no work time here: a cooler place or a cooler hour"
    assert ("rest", said) in heard(book, 10)


def test_behind_a_piece_where_no_rest_is_enough_no_length_is_heard() -> None:
    book = opened(WIPE)
    book.press(0, ev.ReadingTaken(air_c=36, rh=24))
    book.press(0, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    found = body(book, 10)
    pace = replace(found.pace, grade="soon", left_s=300, rest_s=0, rule="NIOSH limit")
    called = replace(found, pace=pace, rest="called")
    rung = alarms(book.jobs(), book.shift(), us(10), called)
    assert [one.sentence for one in rung if one.key.startswith("rest")] == [
        "no rest here is enough behind this piece: a cooler place or a cooler hour"
    ]


def test_a_serious_sign_is_an_emergency_and_begins_anew() -> None:
    book = opened(WIPE)
    book.press(0, ev.FeltUnwell(("headache",)))
    (rest,) = alarms(book.jobs(), book.shift(), us(1), body(book, 1))
    assert (rest.urgency, rest.sentence) == ("rest", "rest now, 30 minutes")
    book.press(60, ev.FeltUnwell(("confusion", "hot skin")))
    (worse,) = alarms(book.jobs(), book.shift(), us(61), body(book, 61))
    assert worse.urgency == "emergency"
    assert worse.sentence == "call the emergency number: confusion, hot skin"
    assert worse.key != rest.key


def test_a_missing_sign_of_life_gets_louder_by_its_keys_alone() -> None:
    book = opened(WIPE)
    book.press(0, ev.CheckedIn(600))
    for loudness, minutes in enumerate(LOUDER_FROM_MINUTES):
        begin = 600 + minutes * 60
        found = [
            alarm
            for at_s in range(begin, begin + 60)
            for alarm in alarms(book.jobs(), book.shift(), us(at_s), body(book, at_s))
        ]
        every_s = RING_AGAIN_S[loudness]
        assert len({alarm.key for alarm in found}) == (60 // every_s if every_s else 1)
        urgency = "emergency" if loudness >= FILLS_FROM else "late"
        assert {(alarm.urgency, alarm.repeated) for alarm in found} == {(urgency, False)}
    said = alarms(book.jobs(), book.shift(), us(600 + 360), body(book, 960))[0].sentence
    assert said == "no 'I am well' for 6 minutes more than agreed: are you well? Press J"
    book.press(970, ev.CheckedIn(600))
    assert heard(book, 971) == []


def test_a_look_is_said_once_for_all_that_it_covers() -> None:
    stage = Stage(
        "Seal",
        ("roof", "boot"),
        (Work("wipe on", 1.0), Wait("flash", 10, 20, 3600), Work("wipe off", 1.0)),
        check=Check(1200, 2400, "stage", "light over it"),
    )
    book = opened(stage)
    for number, name in enumerate(stage.sections):
        at = number * 200
        book.press(at, ev.WorkStarted("Seal", (name,), Turn()))
        book.press(at + 60, ev.StepFinished("Seal", (name,), Turn(), Marks(10, 20, 3600)))
        book.press(at + 80, ev.WorkStarted("Seal", (name,), Turn(step=2)))
        book.press(at + 100, ev.StepFinished("Seal", (name,), Turn(step=2)))
    at_s = next(at for at in range(300, 3000) if heard(book, at))
    found = alarms(book.jobs(), book.shift(), us(at_s))
    assert [alarm.urgency for alarm in found] == ["ready", "ready"]
    assert len({alarm.key for alarm in found}) == 2
    (sentence,) = {alarm.sentence for alarm in found}
    assert sentence.startswith("look again: light over all 2, laid ")
    book.do(at_s, looks.find_fine, JOB, "Seal", stage.sections)
    assert heard(book, at_s + 1) == []


# The rhythm.


def rung(alarm: Alarm, ticks_us: list[int], since_us: int = 0) -> list[int]:
    """The instants at which it rings, if somebody looks at these."""
    last_us: int | None = None
    found = []
    for now_us in ticks_us:
        if rings(alarm, since_us, now_us, last_us):
            last_us = now_us
            found.append(now_us)
    return found


@pytest.mark.parametrize("urgency", URGENCIES)
def test_the_seconds_in_which_an_alarm_rings(urgency: Urgency) -> None:
    ticks = [second * SECOND_US for second in range(1000)]
    seconds = [at // SECOND_US for at in rung(Alarm("key", urgency, "said"), ticks)]
    assert seconds == [0, 1, 2, *([] if urgency not in REPEATED else range(30, 300, 30))]
    once = rung(Alarm("key", urgency, "said", repeated=False), ticks)
    assert [at // SECOND_US for at in once] == [0, 1, 2]


def test_only_what_would_do_harm_rings_on() -> None:
    assert {"late", "rest", "emergency"} == REPEATED


@given(
    st.sampled_from(URGENCIES),
    st.lists(st.integers(0, 40_000_000), min_size=1, max_size=200),
    st.integers(0, 10**15),
)
@example("late", [0, 998_700, 1_002_000, 999_000], 0)
@example("late", [0, 949_999, 1, 50_000], 0)
@example("late", [960_000, 960_000], 0)
@example("ready", [0, 300_000, 300_000, 300_000, 99_999, 1], 7)
def test_never_two_rings_in_a_second_and_never_after_five_minutes(
    urgency: Urgency, steps: list[int], since_us: int
) -> None:
    ticks, now_us = [], since_us
    for step in steps:
        now_us += step
        ticks.append(now_us)
    found = rung(Alarm("key", urgency, "said"), ticks, since_us)
    for one, other in pairwise(found):
        assert other - one >= SECOND_US - SLACK_US
    seconds = [(at - since_us + SLACK_US) // SECOND_US for at in found]
    assert len(set(seconds)) == len(seconds)
    assert set(seconds) <= set(SECONDS)
    assert urgency in REPEATED or len(found) <= FIRST_RINGS


@given(st.lists(st.integers(-40_000, 40_000), min_size=400, max_size=400))
def test_a_tick_that_comes_a_little_early_or_late_loses_no_ring(jitter: list[int]) -> None:
    ticks = sorted({0, *(max(0, n * SECOND_US + off) for n, off in enumerate(jitter))})
    found = rung(Alarm("key", "late", "said"), ticks)
    assert [round(at / SECOND_US) for at in found] == list(SECONDS)


Begins = dict[int, tuple[Urgency, int]]


@given(
    st.dictionaries(
        st.integers(0, 9), st.tuples(st.sampled_from(URGENCIES), st.integers(0, 90)), max_size=6
    ),
    st.lists(st.integers(1, 1_500_000), max_size=250),
)
def test_several_alarms_share_one_bell(begins: Begins, steps: list[int]) -> None:
    # name -> urgency and the second in which it begins; each ends after forty seconds.
    state, now_us, rang, told = Ringing(), 0, [], []
    for step in steps:
        now_us += step
        found = by_urgency(
            [
                Alarm(str(name), urgency, f"number {name}")
                for name, (urgency, begin) in begins.items()
                if begin * SECOND_US <= now_us < (begin + 40) * SECOND_US
            ]
        )
        before = state
        state = ring(state, found, now_us)
        assert set(state.since) == {alarm.key for alarm in found}
        assert all(state.since[key] == us for key, us in before.since.items() if key in state.since)
        new = [alarm for alarm in found if alarm.key not in before.since]
        assert [alarm for alarm in state.told if alarm in new] == new
        told += [alarm.key for alarm in state.told]
        if state.ringing is None:
            assert state.last_us == before.last_us
            continue
        # Of those that ring now it is the most urgent one.
        others = [one for one in found if rings(one, state.since[one.key], now_us, before.last_us)]
        assert URGENCIES.index(state.ringing.urgency) == max(
            URGENCIES.index(one.urgency) for one in others
        )
        rang.append(now_us)
        assert state.last_us == now_us
    for one, other in pairwise(rang):
        assert other - one >= SECOND_US - SLACK_US
    # Forty seconds hold one ring behind the beginning.
    assert all(told.count(key) <= 2 for key in set(told))


def test_an_alarm_ends_with_its_state_and_begins_anew() -> None:
    late = Alarm("key", "late", "said")
    state = Ringing()
    heard_at = []
    for second in range(60):
        there = (late,) if second < 2 or second >= 10 else ()
        state = ring(state, there, second * SECOND_US)
        if state.ringing is not None:
            heard_at.append(second)
    assert heard_at == [0, 1, 10, 11, 12, 40]


def test_what_rings_on_is_told_again_and_the_first_three_once() -> None:
    state, told = Ringing(), []
    for second in range(400):
        state = ring(state, (Alarm("key", "rest", "said"),), second * SECOND_US)
        told += [second] * len(state.told)
    assert told == [0, *range(30, 300, 30)]


def test_an_alarm_in_the_second_of_another_one_is_told_at_once() -> None:
    ready, late = Alarm("a", "ready", "one"), Alarm("b", "late", "two")
    state = ring(Ringing(), (ready,), 0)
    state = ring(state, by_urgency((ready, late)), 400_000)
    assert (state.ringing, state.told) == (None, (late,))
    state = ring(state, by_urgency((ready, late)), SECOND_US)
    assert (state.ringing, state.told) == (late, ())


def test_every_urgency_is_rehearsed_from_the_least() -> None:
    assert tuple(alarm.urgency for alarm in rehearsed()) == URGENCIES
    assert all(alarm.sentence for alarm in rehearsed())
    assert battery_alarm("battery 7 %: plug in now").urgency == "late"


# Awake.


def test_awake_on_the_clock_but_for_a_meal_without_windows() -> None:
    book = opened(TWO, on=False)

    def awake(at_s: float) -> bool:
        return should_stay_awake(book.shift(), running_films(book.jobs(), us(at_s)))

    assert not should_stay_awake(None, ())
    book.press(0, ev.ClockedOn("carport"))
    assert awake(1)
    book.press(10, ev.BreakTaken("rest", 600))
    assert awake(11)
    book.press(20, ev.BreakEnded(), ev.BreakTaken("meal", 1800))
    assert not awake(21)
    book.press(30, ev.BreakEnded(), ev.WorkStarted("Coat", ("roof",), Turn()))
    book.press(90, ev.StepFinished("Coat", ("roof",), Turn(), Marks(45, 90, 240)))
    book.press(90, ev.BreakTaken("meal", 1800))
    assert awake(91)
    # Late too: it is still on the paint.
    assert awake(1000)
    book.press(1100, ev.BreakEnded(), ev.WorkStarted("Coat", ("roof",), Turn(step=2)))
    book.press(1200, ev.StepFinished("Coat", ("roof",), Turn(step=2)), ev.BreakTaken("meal", None))
    assert not awake(1201)
    book.press(1300, ev.CheckedIn(900))
    assert awake(1301)
    book.press(1400, ev.CheckedIn(0))
    assert not awake(1401)
    book.press(1500, ev.BreakEnded(), ev.ClockedOff())
    assert not awake(1501)
