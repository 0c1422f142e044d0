"""Calls back: who was promised one for when, and what became of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import Row, believed_rows
from cartclock.engine.facts.sealed import Sealed
from cartclock.engine.press import Press
from cartclock.engine.times import Instant

CALLS = (ev.CallBackPromised, ev.CallBackMoved, ev.CallBackEnded)


class CallBack(Struct, frozen=True):
    """One call back.

    Fields:
        job: id of the job it is about.
        said_us, worker: when it was promised, and by whom.
        at_us: when it is to be made, as moved since.
        who: name or number; None if nobody was named.
        moved: how often it was moved.
        ended_us, how: when it was made or let go; None and "" until then.
    """

    job: str
    said_us: Instant
    worker: str
    at_us: Instant
    who: Sealed | None
    moved: int = 0
    ended_us: Instant | None = None
    how: Literal["", "called", "let go"] = ""


def call_backs(rows: Iterable[Row]) -> dict[Press, CallBack]:
    """Every call back, by the press that promised it.

    rows: believed ones, of one job or more. What is said of one that was struck counts for nothing.
    """
    found: dict[Press, CallBack] = {}
    later: list[Row] = []
    for row in rows:
        match row.event:
            case ev.CallBackPromised(at_us, who):
                found[row.press] = CallBack(row.job, row.at_us, row.worker, at_us, who)
            case ev.CallBackMoved() | ev.CallBackEnded():
                later.append(row)
    for row in later:
        event = row.event
        assert isinstance(event, ev.CallBackMoved | ev.CallBackEnded), "nothing else is kept"
        press = Press(event.origin or row.origin, event.press)
        known = found.get(press)
        if known is None or known.ended_us is not None:
            continue
        if isinstance(event, ev.CallBackMoved):
            found[press] = replace(known, at_us=event.at_us, moved=known.moved + 1)
        else:
            found[press] = replace(known, ended_us=row.at_us, how=event.how)
    return found


def waiting_calls(jobs: Iterable[Job]) -> dict[Press, CallBack]:
    """The call backs of these jobs that are not made yet, the earliest first."""
    found = [
        (press, call)
        for job in jobs
        for press, call in call_backs(job.facts).items()
        if call.ended_us is None
    ]
    return dict(sorted(found, key=lambda one: (one[1].at_us, one[0])))


def jobs_to_call(rows: Sequence[Row]) -> set[str]:
    """The jobs that somebody waits to be called back about.

    rows: of a log, corrections included, as written.
    """
    return {call.job for call in call_backs(believed_rows(rows)).values() if not call.how}
