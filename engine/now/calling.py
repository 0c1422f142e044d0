"""Calls back on Run: the line that names one, and the alarm where it is time.

It can wait, so it is told when no film is in play, and rings once.
"""

from __future__ import annotations

from collections.abc import Mapping

from cartclock.engine.dates import spoken_soon
from cartclock.engine.facts.call_backs import CallBack, waiting_calls
from cartclock.engine.facts.in_play import film_in_play
from cartclock.engine.facts.job import Job
from cartclock.engine.press import Press
from cartclock.engine.times import Instant


def call_sentences(jobs: Mapping[str, Job], now_us: Instant, due: bool) -> list[str]:
    """The calls back that wait, the earliest first: those that are due, or those still ahead.

    Nobody is named: Run is read by whoever walks by.
    """
    return [
        _said(call, jobs, now_us)
        for call in waiting_calls(jobs.values()).values()
        if (call.at_us <= now_us) == due
    ]


def _said(call: CallBack, jobs: Mapping[str, Job], now_us: Instant) -> str:
    opened = jobs[call.job].opened
    when = spoken_soon(call.at_us, now_us, opened.zone)
    now = " now" if call.at_us <= now_us else ""
    return f"Call back{now}, {when}: {opened.vehicle} (C)."


def call_states(jobs: Mapping[str, Job], now_us: Instant) -> dict[str, str]:
    """Key and sentence of each call back that is due, none while a film is in play."""
    due = {
        call_key(press, call): f"call back: {jobs[call.job].opened.vehicle}"
        for press, call in waiting_calls(jobs.values()).items()
        if call.at_us <= now_us
    }
    return {} if not due or film_in_play(jobs.values(), now_us) else due


def call_key(press: Press, call: CallBack) -> str:
    """What a call back rings by: another time is another alarm."""
    return f"call/{press.origin}/{press.seq}/{call.at_us}"
