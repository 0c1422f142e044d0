"""The list of other work, and whose a stretch of it was."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from typing import get_args

from cartclock.engine.dates import hours_text
from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts.job import Job, open_jobs
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.shift import Other
from cartclock.engine.facts.shift_events import OtherKind
from cartclock.engine.rules import rules
from cartclock.engine.times import Instant
from cartclock.tui.lists.call_back import offer_done
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.leaving import leave_for
from cartclock.tui.lists.toggle import Toggle
from cartclock.tui.told.asked import Asked
from cartclock.tui.told.in_view import job_in_view
from cartclock.tui.widgets.sheet import Line

HOT_OTHER = "cpwmtfods"
NOBODY = "nobody in particular"
# Columns under which a list names a job by its number; our own judgement.
FEW_COLUMNS = 60


class Whose:
    """Which job a stretch of other work is for: the one in view, another open one, or nobody's."""

    def __init__(self, bench: Bench, first: Job | None, columns: int) -> None:
        jobs = list(open_jobs(bench.jobs.values()))
        self.job = "" if first is None else first.id
        if first is not None and all(job.id != first.id for job in jobs):
            jobs.append(first)
        # In few columns the vehicle's name has no room beside the work.
        few = columns < FEW_COLUMNS
        self._named = {job.id: _number(job) if few else _vehicle(job) for job in jobs}
        self._named[""] = NOBODY.split()[0] if few else NOBODY

    def said(self, what: OtherKind) -> str:
        return f"{what:<19}for {self._named[self.job]}"

    def turn(self, step: int = 1) -> None:
        ids = list(self._named)
        self.job = ids[(ids.index(self.job) + step) % len(ids)]


def open_other(host: Host) -> None:
    """Other work; what is on may be given to another job."""
    bench = host.cart.bench
    toggle = Toggle(bench)
    whose = Whose(bench, job_in_view(bench, host.cart.workplace.chosen), host.columns)
    lines = []
    what: OtherKind
    for what, hot in zip(get_args(OtherKind), HOT_OTHER, strict=True):

        def take(what: OtherKind = what) -> None:
            asked = Asked("", "", "other work", job=whose.job, other=what, finish=toggle.finish)
            if leave_for(host.cart, asked) and what == "phone":
                offer_done(host, whose.job)

        said = partial(whose.said, what)
        lines.append(Line(said, take, hot=hot if hot != "f" else "", turn=whose.turn))
    shift = bench.shift()
    doing, shift_us = (None, bench.now_us) if shift is None else (shift.doing, shift.since_us)
    if isinstance(doing, Other) and _others(bench, doing.job):
        give = partial(_give, host, doing, shift_us, bench.worker)
        lines.append(Line(f"the {doing.what} that is on is for another", give, hot="a"))
    hint = "left, right: for whom   space: begin   esc: nothing is written"
    host.sheet.open("Other work", [*lines, *toggle.lines()], hint)


def given_lines(
    host: Host, rows: Sequence[Row], at: Mapping[tuple[str, int], Instant]
) -> list[Line]:
    """What says whose the other work was that a press began; none for any other press.

    at: a row's identity -> when it is believed to have happened.
    """
    bench = host.cart.bench
    for row in rows:
        shift, at_us = bench.shifts.get(row.shift), at.get(row.identity)
        if row.kind != "OtherWorkStarted" or shift is None or at_us is None:
            continue
        for span in shift.spans_to(bench.now_us):
            other = span.doing
            here = span.start_us <= at_us < span.end_us
            if here and isinstance(other, Other) and _others(bench, other.job):
                length = hours_text((span.end_us - span.start_us) / 1e6)
                give = partial(_give, host, other, at_us, row.worker)
                return [Line(f"{other.what}, {length}: it was for another", give)]
    return []


def _give(host: Host, other: Other, at_us: Instant, worker: str) -> None:
    """Picks for whom the other work was that was on at that time, from its beginning."""
    bench = host.cart.bench

    def give(job: str) -> None:
        ago_us = max(0, bench.now_us - at_us)
        host.cart.told(bench.do_as(worker, ago_us, rules.assign_other, job))

    lines = [Line(said, partial(give, job)) for job, said in _others(bench, other.job).items()]
    booked = bench.jobs.get(other.job)
    was = NOBODY if booked is None else _vehicle(booked)
    host.sheet.open(f"{other.what}, booked for {was}: for whom was it?", lines)


def _others(bench: Bench, job: str) -> dict[str, str]:
    """Whose it may be instead, by id: the open jobs, and nobody's."""
    found = {one.id: _vehicle(one) for one in open_jobs(bench.jobs.values())} | {"": NOBODY}
    found.pop(job, None)
    return found


def _vehicle(job: Job) -> str:
    return f"{job.opened.vehicle}, {_number(job)}"


def _number(job: Job) -> str:
    return f"job {job.opened.number}"
