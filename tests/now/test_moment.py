"""What a moment says stays so until the instant that it names, on random days."""

from __future__ import annotations

import shutil
from collections import Counter
from typing import ClassVar

import pytest
from hypothesis import Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import initialize, invariant, rule, run_state_machine_as_test
from msgspec.structs import replace

from cartclock.engine.body.pace import MOVING_US, STEADY_US, Pace
from cartclock.engine.body.watch import Watch
from cartclock.engine.facts import events as ev
from cartclock.engine.now.glance import StandingPart, standing_part
from cartclock.engine.now.moment import Moment, moment
from cartclock.engine.now.ringing import Alarm
from cartclock.engine.rules import rules
from cartclock.engine.until import Lasting, lasting
from tests.facts.test_anything_goes import AnythingGoes, who
from tests.kit.day import WORKERS
from tests.kit.reckoner import SECOND_US

# Longer than this nobody looks away from a cart.
FAR_US = 20 * 60 * SECOND_US
# The end of work by the limit of the rolling hour is right to a millisecond.
SLACK_US = 2_000
# Work minutes an hour: the mix ahead is another with every second that a piece goes on, and is
# told for a minute.
OF_THE_MIX = ("here_minutes", "cool_minutes", "light_minutes")
MIX_MINUTES = 2.0
REST_PLACE = ev.ReadingTaken(air_c=24.0, rh=50.0)


class HoldsUntil(AnythingGoes):
    """Anything goes, and after every press the moment is looked at again just before its end."""

    looked: ClassVar[Counter[str]] = Counter()

    @initialize(readings=st.integers(0, 3), every_s=st.sampled_from((0, 600)))
    def body(self, readings: int, every_s: int) -> None:
        for number in range(readings):
            place = ("sun", "indoors", "cloud")[number]
            reading = ev.ReadingTaken(air_c=29.0 + 2 * number, rh=55.0, place=place)
            self.do(WORKERS[number % 2], 0, rules.note_shift, reading)
        self.do(WORKERS[0], 0, rules.note_shift, ev.CheckedIn(every_s))

    @rule(seconds=st.integers(1, 7200))
    def wait(self, seconds: int) -> None:
        """Nobody presses anything."""
        self.clock.wind(seconds)

    @rule(worker=who, presses=st.integers(1, 30), seconds=st.integers(120, 600))
    def long_day(self, worker: str, presses: int, seconds: int) -> None:
        """A day long enough for a rest to come due."""
        self.plain_day(worker, presses, seconds)

    @invariant()
    def laws(self) -> None:
        """Proved where anything goes already."""

    @invariant()
    def holds(self) -> None:
        if self.stale:
            return
        now = self.bench.moment(WORKERS[1], REST_PLACE)
        stands = [lasting_of(now, number) for number in range(2)]
        self.looked["moments"] += 1
        self.looked["seconds"] += min(now.until_us - now.now_us, FAR_US) // SECOND_US
        # Right behind a press it is another: what was done before it has a length.
        rests = bool(self.bench.rows) and self.bench.rows[-1].entered_us < now.now_us
        self.looked["between presses"] += rests
        self.looked["at once"] += rests and now.until_us == now.now_us + 1
        for later_us in between(now.now_us, now.until_us - SLACK_US):
            anew = moment(now.facts, *WORKERS[:2], later_us, now.sure)
            kept = now.at(later_us, now.sure)
            moving = now.until_us - now.now_us <= MOVING_US
            assert told(kept, moving) == told(anew, moving)
            assert near(kept, anew)
        for number, said in enumerate(stands):
            self.looked["glance at once"] += said.until_us == now.now_us + 1
            for later_us in between(now.now_us, said.until_us):
                assert said.at(later_us) == standing_of(now, number, later_us)

    def teardown(self) -> None:
        self.bench.close()
        shutil.rmtree(self.folder)


def between(now_us: int, until_us: int) -> list[int]:
    """The instants at which it is looked at again: half way, and just before the end."""
    last_us = max(now_us, min(until_us - 1, now_us + FAR_US))
    return [(now_us + last_us) // 2, last_us]


def standing_of(now: Moment, number: int, now_us: int) -> StandingPart:
    """What stands still in the glance of a worker with this pick."""
    hand = now.helper if number and now.helper is not None else now.me
    chosen = hand.moves[number % len(hand.moves)] if hand.moves else None
    return standing_part(now.jobs, now.facts.shifts.get(hand.worker), now_us, chosen, hand.own)


def lasting_of(now: Moment, number: int) -> Lasting[StandingPart]:
    return lasting(lambda now_us: standing_of(now, number, now_us), now.now_us)


def told(now: Moment, moving: bool) -> tuple[object, ...]:
    """All that a moment says; `moving`: but for what moves with every instant, told for seconds.

    Seconds until a rest, and work minutes of the mix ahead, are told apart by `near`; the length
    of the rest then goes with them, and what it buys. That it is called, and in which grade, is
    the same.
    """
    hands = [hand for hand in (now.me, now.helper) if hand is not None]
    moves = [
        tuple(replace(move, minutes=0) if moving and move.act == "rest" else move for move in one)
        for one in (hand.moves for hand in hands)
    ]
    return (
        now.now_us,
        moves,
        now.questions,
        [ear(one, moving) for one in now.alarms],
        *(body(hand.watch) for hand in hands),
    )


def ear(alarm: Alarm, moving: bool) -> Alarm:
    return replace(alarm, sentence="") if moving and alarm.urgency == "rest" else alarm


def body(watch: Watch | None) -> Watch | None:
    if watch is None:
        return None
    told = replace(watch.pace, left_s=None, rest_s=0, rule="", outlasts_s=0, eased_s=None)
    pace = replace(told, bought_s=0, **dict.fromkeys(OF_THE_MIX))
    strain = watch.strain
    if strain.in_hand is not None:
        strain = replace(strain, tools=(), a8_ms2=None, points=None, dose_percent=None)
    return replace(watch, pace=pace, strain=strain)


def near(one: Moment, other: Moment) -> bool:
    """Whether a rest is told no later than it is, and the work minutes of the mix ahead are as
    many, but for what the minute makes for which they are told.
    """
    for mine, theirs in ((one.me, other.me), (one.helper, other.helper)):
        if mine is None or theirs is None or mine.watch is None or theirs.watch is None:
            continue
        pace, then = mine.watch.pace, theirs.watch.pace
        if ahead_s(pace) > ahead_s(then) + STEADY_US // SECOND_US:
            return False
        if not all(within(getattr(pace, m), getattr(then, m), MIX_MINUTES) for m in OF_THE_MIX):
            return False
    return True


def ahead_s(pace: Pace) -> int:
    """Seconds until a rest, an hour if none is due within it."""
    return 3600 if pace.left_s is None else pace.left_s


def within(a: float | None, b: float | None, apart: float) -> bool:
    """Whether both are none, or both are and at most so far apart."""
    return a is b is None or (a is not None and b is not None and abs(a - b) <= apart)


# A day that fails is short as it stands; to shorten it takes minutes.
SHORT = settings(max_examples=12, stateful_step_count=30, phases=[Phase.generate])
TestHoldsUntil = HoldsUntil.TestCase
TestHoldsUntil.settings = SHORT


@pytest.mark.long
def test_moments_hold_for_minutes() -> None:
    """The law would hold of moments that are made anew at once as well; these last."""
    looked = HoldsUntil.looked
    looked.clear()
    run_state_machine_as_test(HoldsUntil, settings=settings(SHORT, max_examples=60))
    assert looked["moments"] > 300
    assert looked["seconds"] > 60 * looked["moments"]
    assert looked["between presses"] > 50
    assert looked["at once"] < looked["between presses"] / 20
    assert looked["glance at once"] < looked["moments"] / 100
