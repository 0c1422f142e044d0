"""Undo takes back exactly one press, of whatever kind, and a restore puts it back."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from cartclock.engine.desk.bench import Pressed
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.turn import Turn
from cartclock.engine.plan.plan import Stage, Wear, Work
from cartclock.engine.rules import changes, looks, plan_changes, rules
from cartclock.engine.rules.amending import amend
from cartclock.engine.rules.arrival import note_vehicle
from cartclock.engine.rules.before_coat import read_before_coat
from cartclock.engine.rules.call_backs import end_call, move_call, promise_call
from cartclock.engine.rules.fresh import take_fresh
from cartclock.engine.rules.handover import note_handover
from cartclock.engine.rules.holding import say_part
from cartclock.engine.rules.incidents import amend_incident, note_incident
from cartclock.engine.rules.promises import tell_promise
from cartclock.engine.rules.rest_in_wave import REST_DUE
from tests.kit.day import EXTRA, PLANS, Day, believed, refused
from tests.kit.plans import COAT, DRY_CARE, LEAVES, opening_told
from tests.kit.reckoner import SECOND_US

MINUTE_US = 60 * SECOND_US
MINUTE = 60
HOUR = 3600
WORN = Stage(
    "Buff", ("roof", "sides"), (Work("buff", 2, wears=(Wear("pad", "soft pad", 4),)),), trial=True
)


@pytest.fixture
def day(tmp_path: Path) -> Iterator[Day]:
    """A job of washing and wheels, nothing done yet."""
    day = Day(tmp_path, plan=1)
    yield day
    day.bench.close()


def wheels_waiting(day: Day) -> None:
    """Washed; the left wheel sprayed and waiting, the right one in hand."""
    for seconds in (240, 120, 60, 60):
        day.take(seconds)
    day.take(10, move=1)


def nothing(day: Day) -> None:
    """The beginning of the day."""


def after_break(day: Day) -> None:
    day.bench.do(rules.take_break, "away")
    day.clock.wind(40 * MINUTE)
    day.bench.do(rules.take_break, "rest")
    day.clock.wind(60)


def closed(day: Day) -> None:
    day.bench.do(rules.close_job, day.job, {"unfinished": "sold"})


def off(day: Day) -> None:
    day.clock.wind(HOUR)
    day.bench.do(rules.clock_off)


def busy(day: Day) -> None:
    day.take(60)


def skipped(day: Day) -> None:
    day.bench.do(changes.skip, day.job, "Wash", ("roof",))


def on_the_phone(day: Day) -> None:
    day.bench.do(rules.start_other, "phone")
    day.clock.wind(MINUTE)


def buffing(day: Day) -> None:
    """A stage that wears a pad, and is a trial."""
    day.bench.do(changes.add_stage, day.job, WORN, "Wash")


def glass_ahead(day: Day) -> None:
    day.bench.do(changes.add_stage, day.job, EXTRA, "Wash")


def washed(day: Day) -> None:
    day.take(240)
    day.take(120)
    day.take()


def promised(day: Day) -> None:
    in_an_hour = ev.CallBackPromised(day.bench.now_us + HOUR * SECOND_US)
    day.bench.do(promise_call, day.job, in_an_hour)


def spilt(day: Day) -> None:
    day.bench.do(note_incident, day.job, ev.IncidentNoted("roof", "spill"))


def slower_wash(day: Day) -> Pressed:
    wash = day.bench.jobs[day.job].stages[0]
    dearer = replace(wash, steps=tuple(replace(step, minutes=5) for step in wash.steps))
    return day.bench.do(plan_changes.revise_stage, day.job, wash, dearer)


def say_more(day: Day) -> Pressed:
    more = ev.IncidentAmended(day.bench.rows[-1].press.seq, told=True)
    photo = ev.FileAttached("0" * 64, day.bench.seal("spill.jpg"))
    return day.bench.do(amend_incident, day.job, replace(more, photo=photo.sha256), photo)


def work_on(day: Day) -> Pressed:
    why = {REST_DUE: "the light is going"}
    return day.bench.do(rules.take_up, day.bench.moves()[0], why, rest_called=True)


def say_marks(day: Day) -> Pressed:
    (window,) = day.bench.jobs[day.job].running
    later = replace(window.marks, closes_s=window.marks.closes_s + 60)
    event = ev.MarksRevised("Iron", ("left wheel",), window.turn, later)
    return day.bench.do(rules.note_job, day.job, event)


def do(rule: Any, *args: Any, **facts: Any) -> Callable[[Day], Pressed]:
    """A press by a rule that needs no job."""
    return lambda day: day.bench.do(rule, *args, **facts)


def do_job(rule: Any, *args: Any, **facts: Any) -> Callable[[Day], Pressed]:
    """A press by a rule on the job."""
    return lambda day: day.bench.do(rule, day.job, *args, **facts)


def take(number: int) -> Callable[[Day], Pressed]:
    return lambda day: day.bench.do(rules.take_up, day.bench.moves()[number])


def end(day: Day) -> Pressed:
    (move,) = [m for m in day.bench.moves() if m.act == "end"]
    return day.bench.do(rules.take_up, move)


def stand_by(day: Day) -> Pressed:
    (move,) = [m for m in day.bench.moves() if m.act == "stand by"]
    return day.bench.do(rules.take_up, move)


def fill_in(day: Day) -> Pressed:
    now_us = day.bench.now_us
    stretch = (now_us - 30 * MINUTE_US, now_us - 6 * MINUTE_US)
    return day.bench.do(changes.fill_in, day.job, "Wash", ("roof", "sides"), *stretch)


def an_hour(day: Day) -> None:
    day.clock.wind(HOUR)


def gap(day: Day) -> Pressed:
    on_us = day.bench.now_us - HOUR * SECOND_US
    return day.bench.do(rules.judge_gap, on_us, on_us + 9 * MINUTE_US, "meal")


def coat_told(day: Day) -> None:
    """A job of which the customer is told something."""
    day.job = day.bench.new_id()
    day.bench.do(rules.open_job, day.job, replace(opening_told(COAT), number=2))


def other_care(day: Day) -> Pressed:
    care = replace(DRY_CARE, until="PT24H")
    return day.bench.do(plan_changes.revise_aftercare, day.job, DRY_CARE, care)


def other_handover(day: Day) -> Pressed:
    handover = replace(LEAVES, not_before="PT24H")
    return day.bench.do(plan_changes.revise_handover, day.job, LEAVES, handover)


PRESSES: dict[str, tuple[Callable[[Day], None], Callable[[Day], Pressed]]] = {
    "clock on": (off, do(rules.clock_on, ev.ClockedOn())),
    "clock off": (busy, do(rules.clock_off)),
    "open a job": (
        nothing,
        lambda day: day.bench.do(
            rules.open_job, day.bench.new_id(), ev.JobOpened(PLANS[2], "", 2, "grey coupe")
        ),
    ),
    "take up": (nothing, take(0)),
    "take up the next": (busy, take(0)),
    "take up another": (busy, take(1)),
    "stand by": (wheels_waiting, stand_by),
    "end": (busy, end),
    "put down": (busy, do(rules.put_down)),
    "break": (busy, do(rules.take_break, "meal", 1800)),
    "break to break": (after_break, do(rules.take_break, "meal")),
    "break, finished": (wheels_waiting, do(rules.take_break, "rest", None, True)),
    "other work": (busy, do(rules.start_other, "customer")),
    "reading": (nothing, do(rules.note_shift, ev.ReadingTaken(air_c=21.0))),
    "drink": (busy, do(rules.note_shift, ev.DrinkTaken(200))),
    "note": (
        busy,
        lambda day: day.bench.do(
            rules.note_job, day.job, ev.NoteWritten(day.bench.seal("swirls on the left"))
        ),
    ),
    "damage": (nothing, do_job(rules.note_job, ev.DamageNoted("roof", "dent"))),
    "incident": (busy, do_job(note_incident, ev.IncidentNoted("roof", "spill"))),
    "call back": (
        nothing,
        lambda day: day.bench.do(
            promise_call, day.job, ev.CallBackPromised(day.bench.now_us, day.bench.seal("Ada"))
        ),
    ),
    "who was told": (nothing, do_job(tell_promise, ev.PromiseTold("moved"))),
    "keys and payment": (
        closed,
        lambda day: day.bench.do(note_handover, day.job, day.bench.seal("Ada"), "card"),
    ),
    "seen": (wheels_waiting, do_job(rules.see, "Iron", "left wheel")),
    "skip": (busy, do_job(changes.skip, "Wash", ("roof",))),
    "skip what waits": (wheels_waiting, do_job(changes.skip, "Iron", ("left wheel",))),
    "redo": (skipped, do_job(changes.redo, "Wash", ("roof",))),
    "cut": (nothing, do_job(changes.split, "Iron", "left wheel", ("inner", "outer"))),
    "add a section": (nothing, do_job(changes.add_section, "Iron", "spare wheel")),
    "add a stage": (nothing, do_job(changes.add_stage, EXTRA, "Wash")),
    "close": (busy, do_job(rules.close_job, {"unfinished": "sold"})),
    "reopen": (closed, do_job(rules.reopen_job)),
    "judge a stretch": (an_hour, gap),
    "judge a break": (
        after_break,
        lambda day: day.bench.do(rules.judge_break, day.bench.now_us - 10 * MINUTE_US, True),
    ),
    "fill in": (an_hour, fill_in),
    "move": (
        busy,
        lambda day: day.bench.move(day.bench.rows[-1].press, day.bench.now_us - 30 * SECOND_US),
    ),
    "phone": (an_hour, do(rules.start_other, "phone")),
    "back from the phone": (on_the_phone, take(0)),
    "whom the phone was for": (on_the_phone, lambda day: day.bench.do(rules.assign_other, day.job)),
    "rest not taken": (nothing, work_on),
    "forecast": (nothing, do(rules.note_shift, ev.DayExpected(9.0, 21.5))),
    "unwell": (nothing, do(rules.note_shift, ev.FeltUnwell(("headache",)))),
    "well": (nothing, do(rules.note_shift, ev.CheckedIn(1800))),
    "clothing": (nothing, do(rules.note_shift, ev.ClothingSaid("double layer"))),
    "roof": (nothing, do(rules.note_shift, ev.RoofSaid(True))),
    "hot days": (nothing, do(rules.note_shift, ev.HotDaysSaid(9))),
    "cautions": (nothing, do(rules.note_shift, ev.CautionsRead(("Iron fallout remover",)))),
    "the time": (nothing, lambda day: day.bench.say_time(day.bench.now_us + MINUTE_US)),
    "of the job": (nothing, do_job(amend, ev.JobAmended("price", price="120.00"))),
    "plan otherwise": (busy, slower_wash),
    "aftercare": (coat_told, other_care),
    "hand-over": (coat_told, other_handover),
    "stage first": (nothing, do_job(plan_changes.move_stage, "Iron", "")),
    "marks": (wheels_waiting, say_marks),
    "amount": (wheels_waiting, do_job(rules.note_job, ev.UseCorrected("fallout", 5.0))),
    "water": (busy, do_job(rules.note_job, ev.WaterTouched("Wash", ("roof",)))),
    "look": (washed, do_job(looks.find_fine, "Wash", ("roof", "sides"))),
    "paint": (nothing, do_job(note_vehicle, ev.PaintRead("bonnet", "before", 98.0, 121.0))),
    "gloss": (nothing, do_job(note_vehicle, ev.GlossRead("bonnet", "before", 71.5))),
    "odometer": (nothing, do_job(note_vehicle, ev.OdometerRead(84210))),
    "trial": (
        buffing,
        do_job(note_vehicle, ev.TrialJudged("Buff", "roof", "soft pad, speed 4", True)),
    ),
    "agreed": (
        nothing,
        lambda day: day.bench.do(
            note_vehicle, day.job, ev.AgreementNoted(day.bench.seal("wheels too"), "40.00")
        ),
    ),
    "paper": (closed, do_job(rules.note_job, ev.PaperIssued("record", 1, "0" * 64))),
    "more of an incident": (spilt, say_more),
    "call back moved": (
        promised,
        lambda day: day.bench.do(
            move_call, day.bench.rows[-1].press, day.bench.now_us + 2 * HOUR * SECOND_US
        ),
    ),
    "called back": (
        promised,
        lambda day: day.bench.do(end_call, day.bench.rows[-1].press, "called"),
    ),
    "page before the coat": (
        glass_ahead,
        lambda day: day.bench.do(
            read_before_coat,
            Move("take up", day.job, "Glass", ("screen",), Turn()),
            ("Drink: none noted today",),
        ),
    ),
    "a part": (nothing, do_job(say_part, "another")),
    "fresh pad": (buffing, do_job(take_fresh, "Buff", (("pad", "soft pad"),))),
}
# What the machine finds, which undo passes over (see below).
FOUND = {ev.GapFound, ev.ClockStepped, ev.RestCalled}
# What is given back and not taken back (tests/desk/test_holding.py).
HANDED = {ev.JobGiven, ev.JobTaken}


@pytest.mark.parametrize("kind", PRESSES)
def test_undo_takes_back_exactly_one_press_and_a_restore_puts_it_back(day: Day, kind: str) -> None:
    prepare, press = PRESSES[kind]
    prepare(day)
    before = believed(day)
    told = press(day)
    after = believed(day)
    assert after != before
    day.clock.wind(7)
    undone = day.bench.undo()
    assert [row.event for row in undone.rows] == [ev.PressStruck(told.press.seq)]
    assert believed(day) == before
    assert day.whole()
    day.bench.restore(told.press)
    assert believed(day) == after
    assert day.whole()


def test_every_event_of_a_job_or_a_shift_is_written_by_one_of_these_presses(tmp_path: Path) -> None:
    written = set()
    for number, (prepare, press) in enumerate(PRESSES.values()):
        folder = tmp_path / str(number)
        folder.mkdir()
        day = Day(folder, plan=1)
        prepare(day)
        written |= {type(row.event) for row in press(day).rows}
        day.bench.close()
    assert {*ev.JOB_EVENTS, *ev.SHIFT_EVENTS} - written == FOUND | HANDED


def test_undo_twice_takes_back_two(day: Day) -> None:
    before = believed(day)
    first, second = day.take(60), day.take(60)
    assert [day.bench.undo().rows[0].event for _ in range(2)] == [
        ev.PressStruck(second.seq),
        ev.PressStruck(first.seq),
    ]
    assert believed(day) == before


def test_undo_ends_where_nothing_is_left(day: Day) -> None:
    day.bench.undo()
    day.bench.undo()
    assert believed(day) == ({}, {})
    assert str(refused(day.bench.undo)) == "There is nothing to take back."


def test_undo_takes_back_the_late_entry_and_not_what_happened_last(day: Day) -> None:
    day.clock.wind(10 * MINUTE)
    day.take(5 * MINUTE)
    before = believed(day)
    late = day.bench.do_as("me", 12 * MINUTE_US, rules.note_shift, ev.DrinkTaken(300))
    assert late.rows[0].at_us < day.bench.shift().since_us  # type: ignore[union-attr]  # a shift is on
    assert late.rows[0].entered_us == day.bench.now_us
    assert day.bench.undo().rows[0].event == ev.PressStruck(late.press.seq)
    assert believed(day) == before


def test_undo_passes_over_what_the_machine_said(day: Day) -> None:
    mine = day.take(60)
    day.bench.tick()
    day.clock.wind(HOUR)
    (found,) = day.bench.tick()
    assert found.rows[0].by == "machine"
    assert day.bench.undo().rows[0].event == ev.PressStruck(mine.seq)


def test_undo_of_a_move_puts_the_press_back(day: Day) -> None:
    day.clock.wind(20 * MINUTE)
    press = day.take(10 * MINUTE)
    day.bench.move(press, day.bench.now_us - 25 * MINUTE_US)
    assert day.minutes()["hands", "Wash"] == 25
    day.bench.undo()
    assert day.minutes()["hands", "Wash"] == 10


def test_taking_back_a_move_offers_to_strike_what_would_not_stand_where_it_was(day: Day) -> None:
    added = day.bench.do(changes.add_section, day.job, "Iron", "spare wheel").press
    day.clock.wind(10 * MINUTE)
    skip = day.bench.do(changes.skip, day.job, "Iron", ("spare wheel",)).press
    day.clock.wind(20 * MINUTE)
    moved = day.bench.move(skip, day.bench.now_us - 5 * MINUTE_US).press
    day.bench.move(added, day.bench.now_us - 10 * MINUTE_US)
    no = refused(lambda: day.bench.strike(moved))
    assert no.standing == (skip,)
    day.bench.strike(moved, "", no.standing)
    assert day.bench.jobs[day.job].sections["Iron", "spare wheel"].state == "todo"
    assert day.whole()


def test_a_press_in_the_middle_has_no_press_number_of_its_own(day: Day) -> None:
    day.take(60)
    press = day.take(60)
    assert len(day.bench.log.press_rows(press)) == 2
    inner = press._replace(seq=press.seq + 1)
    assert str(refused(lambda: day.bench.strike(inner))) == f"There is no press {inner}."
