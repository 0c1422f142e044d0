"""Why a key of Run cannot work now."""

from __future__ import annotations

from msgspec.structs import replace

from cartclock.engine.desk.bench import could
from cartclock.engine.facts.job import any_open
from cartclock.engine.now.running import running
from cartclock.engine.rules import choices, looks, rules
from cartclock.engine.times import Instant
from cartclock.tui.told import helper
from cartclock.tui.told.in_view import job_in_view, to_mix, zone_of
from cartclock.tui.told.workplace import Workplace

NO_JOB = "No job is open; T, then +, opens one."
OFF = "You are not on the clock; I clocks you on."
WHOSE = "Several jobs are open: pick a move of the one you mean, up or down."
_OF_A_JOB = ("leave_out", "do_again", "cut_in_two", "amount", "mix", "note", "add", "vehicle")
_OF_A_SHIFT = (
    "put_down", "seen", "break", "other_work", "reading", "drink", "unwell", "well", "leave_out",
    "do_again", "cut_in_two", "caller", "amount", "mix",
)  # fmt: skip


def open_questions(at: Workplace) -> int:
    """How many questions are open; a time that the clocks cannot tell is one, and so is a promise
    of which nobody was told.
    """
    now = at.moment
    asked = len(now.questions) + len(at.bench.put_off())
    return asked + len(now.promises) + (not now.sure)


def not_booked(at: Workplace) -> str:
    """Why nothing can be said now of what a job uses; "" if it can."""
    if at.moment.me.on is None:
        return OFF
    if job_in_view(at.bench, at.chosen) is not None:
        return ""
    return WHOSE if any_open(at.moment.jobs.values()) else NO_JOB


def reasons(at: Workplace, now_us: Instant) -> dict[str, str]:
    """Key id -> why it cannot work at this instant of the moment; ids not named can."""
    bench, now = at.bench, at.moment
    found: dict[str, str] = {}
    look = looks.nothing_open(bench.jobs, now_us, zone_of(bench))
    if look:
        found["look"] = look
    if at.helper:
        why = helper.reason(at, helper.next_move(at))
        found |= {"helper": why} if why else {}
    if not bench.rows:
        found["water"] = "No job was ever opened; T, then +, opens one."
        found["take_back"] = "There is nothing to take back."
    if not open_questions(at):
        found["answer"] = "There are no questions about today."
    if job_in_view(bench, at.chosen) is None:
        several = any_open(now.jobs.values())
        found |= dict.fromkeys(_OF_A_JOB, WHOSE if several else NO_JOB)
    if now.me.on is None:
        return found | dict.fromkeys(_OF_A_SHIFT, OFF)
    held = could(rules.put_down, replace(now.scene, now_us=now_us))
    if held is not None:
        found["put_down"] = held
    if not at.moves:
        found["take_up"] = "There is nothing to take up: open a job on Today (T)."
    open_now = running(now.jobs, now_us)
    if not open_now:
        found["seen"] = "No window runs."
    elif all(window.seen_us is not None for _job, window in open_now):
        found["seen"] = "Every film that runs was seen ready; backspace takes that back."
    if "mix" not in found and not to_mix(bench, at.chosen):
        found["mix"] = choices.NOTHING_MIXED
    return found
