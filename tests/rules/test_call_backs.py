"""Calling back: promised, moved, made or let go; kept in sight after the job is handed over."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.call_backs import CallBack, call_backs, waiting_calls
from cartclock.engine.now.alarm import alarms
from cartclock.engine.now.calling import call_sentences
from cartclock.engine.now.glance import glance, standing_part
from cartclock.engine.press import Press
from cartclock.engine.record.dealings import dealings
from cartclock.engine.rules import rules
from cartclock.engine.rules.call_backs import end_call, move_call, promise_call
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused
from cartclock.engine.until import lasting
from tests.kit.day import Day

MINUTE_US = 60_000_000


@pytest.fixture
def day(tmp_path: Path) -> Iterator[Day]:
    day = Day(tmp_path)
    yield day
    day.bench.close()


def promised(day: Day, minutes: int) -> Press:
    """The press that promises to call back in so many minutes."""
    at_us = Instant(day.bench.now_us + minutes * MINUTE_US)
    event = ev.CallBackPromised(at_us, day.bench.seal("Ada Example"))
    return day.bench.do(promise_call, day.job, event).press


def only(day: Day) -> CallBack:
    (found,) = call_backs(day.bench.jobs[day.job].facts).values()
    return found


def said(day: Day) -> list[str]:
    """What Run says of it."""
    bench = day.bench
    found = glance(bench.jobs, bench.shift(), bench.now_us, None).notices
    return [line for line in found if line.startswith("Call back")]


def rung(day: Day) -> list[str]:
    found = alarms(day.bench.jobs, day.bench.shift(), day.bench.now_us)
    return [alarm.sentence for alarm in found if alarm.key.startswith("call/")]


def test_it_is_moved_and_made_and_the_record_says_so(day: Day) -> None:
    press, bench = promised(day, 30), day.bench
    start_us = bench.now_us
    bench.do(move_call, press, Instant(start_us + 40 * MINUTE_US))
    assert only(day).at_us == start_us + 40 * MINUTE_US
    day.clock.wind(45 * 60)
    bench.do(end_call, press, "called")
    assert waiting_calls(bench.jobs.values()) == {}
    (told,) = dealings(bench.jobs[day.job], bench.text)
    assert told.text == (
        "promised for Mon 21 Sep 2026 14:53 to Ada Example, moved once; "
        "called Mon 21 Sep 2026 14:58"
    )
    # Each is a press: taken back, it waits again, at the time it had.
    bench.undo()
    assert only(day).how == ""
    bench.undo()
    assert only(day).at_us == start_us + 30 * MINUTE_US
    bench.strike(press)
    assert call_backs(bench.jobs[day.job].facts) == {}


def test_run_names_it_and_it_rings_when_it_is_time_on_the_clock(day: Day) -> None:
    promised(day, 30)
    assert (said(day), rung(day)) == (["Call back, 14:43: bottle green estate (C)."], [])
    day.clock.wind(30 * 60)
    assert said(day) == ["Call back now, 14:43: bottle green estate (C)."]
    assert rung(day) == ["call back: bottle green estate"]
    day.bench.do(rules.clock_off)
    assert (said(day) != [], rung(day)) == (True, [])


def test_it_waits_for_a_film_in_play(day: Day) -> None:
    promised(day, 1)
    day.take(120)
    assert (said(day), rung(day)) == ([], [])


def test_the_instant_at_which_it_is_time_is_named(day: Day) -> None:
    press, now_us = promised(day, 30), day.bench.now_us
    jobs, shift = day.bench.jobs, day.bench.shift()
    at_us = waiting_calls(jobs.values())[press].at_us
    heard = lasting(lambda now_us: alarms(jobs, shift, Instant(now_us)), now_us)
    stands = lasting(lambda now_us: standing_part(jobs, shift, Instant(now_us), None), now_us)
    assert now_us < heard.until_us <= at_us
    assert now_us < stands.until_us <= at_us
    assert stands.at(Instant(stands.until_us - 1)).calls == ()
    assert call_sentences(jobs, at_us, due=True) != []


def test_it_stays_in_sight_until_it_is_made(day: Day) -> None:
    press = promised(day, 24 * 60)
    day.bench.do(rules.close_job, day.job, {"unfinished": "the owner came early"})
    day.bench.do(rules.clock_off)
    day.clock.wind(25 * 3600)
    day.again().do(rules.clock_on, ev.ClockedOn())
    assert list(waiting_calls(day.again().jobs.values())) == [press]
    assert said(day) == ["Call back now, 14:13: bottle green estate (C)."]
    end = day.bench.do(end_call, press, "let go").press
    assert day.whole()
    day.bench.do(rules.clock_off)
    day.clock.wind(12 * 3600)
    day.bench.do(rules.clock_on, ev.ClockedOn())
    assert day.job not in day.again().jobs
    # An end that was struck counts for nothing, also after a restart.
    day.bench.strike(end)
    assert list(waiting_calls(day.again().jobs.values())) == [press]


def test_what_cannot_be_is_refused_in_a_sentence(day: Day) -> None:
    press, bench = promised(day, 30), day.bench
    at_us = only(day).at_us
    past = ev.CallBackPromised(Instant(bench.now_us - 1))
    for act, why in (
        (lambda: bench.do(promise_call, "none", past), "A call back is about a job"),
        (lambda: bench.do(promise_call, day.job, past), "That time has passed"),
        (lambda: bench.do(move_call, press, Instant(bench.now_us - 1)), "That time has passed"),
        (lambda: bench.do(move_call, press, at_us), "It is for that time already."),
        (lambda: bench.do(end_call, day.clock_on, "called"), "does not wait any more"),
    ):
        with pytest.raises(Refused, match=why):
            act()
