"""A day on one page: when, where the hours went, which jobs, heat, products, what is open."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from cartclock.engine.dates import hours_text, spoken, spoken_day
from cartclock.engine.facts.layers import layer_text
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.words import amount_text, in_both
from cartclock.engine.figures.air import TemperatureUnit
from cartclock.engine.hours.account import Account
from cartclock.engine.hours.partition import Piece
from cartclock.engine.paper.chapters.exposure import Rests, put_exposures
from cartclock.engine.paper.chapters.next_day import put_next_day
from cartclock.engine.paper.chapters.readings import put_readings
from cartclock.engine.paper.chapters.shift_strips import LEGEND, put_strips_of
from cartclock.engine.paper.chapters.ten_lines import outcomes_text
from cartclock.engine.paper.chapters.time_sheet import (
    breaks_told,
    open_questions,
    put_hours,
    put_law,
    put_told,
    shift_remark,
    shift_span,
    told_off_text,
)
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.page.medium import Medium, SheetHead
from cartclock.engine.paper.page.table import Column, Group, Note, TableRow
from cartclock.engine.paper.said import hour, short_day, to_minute
from cartclock.engine.paper.sheet import Sheet
from cartclock.engine.record.day import Day, DayJob

_BREAKS = (Column("breaks", 40),)
_JOBS = (Column("", 78),)
_STAGES = "stages of the jobs"


def put_day(medium: Medium, facts: PaperFacts) -> None:
    """All chapters of the day."""
    _put(medium, facts)


def put_brief_day(medium: Medium, facts: PaperFacts) -> None:
    """The day without what the records of its jobs tell as well."""
    _put(medium, facts, ("Rests one by one", "notes"))


def put_briefest_day(medium: Medium, facts: PaperFacts) -> None:
    """The same without the time of each stage."""
    _put(medium, facts, ("Rests one by one", "notes", _STAGES))


def _put(medium: Medium, facts: PaperFacts, without: Sequence[str] = ()) -> None:
    """without: what it leaves to the records of its jobs, besides the products."""
    day = facts.of_day
    accounts = [part.account for part in day.shifts]
    medium.head(SheetHead(spoken_day(day.date), day.now_us, day.zone, facts.shop))
    medium.lead(_title(day), "", (_who(day),))
    _put_shifts(medium, day, accounts)
    _put_hours(medium, day, accounts, facts.round_minutes)
    _put_jobs(medium, day, _STAGES not in without)
    exposures = [part.exposure for part in day.shifts]
    put_readings(medium, day.readings, exposures, (), day.zone, facts.unit)
    rests: Rests = "counted" if without else "sentence"
    put_exposures(medium, exposures, day.zone, facts.unit, rests)
    if without:
        medium.words(f"{', '.join(without)} and products: on the records of the jobs.", small=True)
    else:
        _put_noted(medium, day, facts.unit)
        _put_products(medium, day)
    put_next_day(medium, day)
    asked = open_questions(accounts, day.zone)
    if asked:
        medium.heading("Not answered yet")
        for said in asked:
            medium.words(said, hangs=True)
    else:
        medium.words("Not answered yet: nothing.")
    medium.made(day.now_us, day.zone)


DAY = Sheet("Day", put_day, pages=1, floor_pt=7.6, briefs=(put_brief_day, put_briefest_day))


def _title(day: Day) -> str:
    """From when to when and how long: "06:52 to 15:03, 8 h 11 min on the clock"."""
    if not day.shifts:
        return "No shift began on this date."
    accounts = [part.account for part in day.shifts]
    on_us = min(account.on_us for account in accounts)
    last_us = max(account.end_us for account in accounts)
    until = hour(last_us, day.zone)
    if short_day(on_us, day.zone) != short_day(last_us, day.zone):
        until = f"{until} on {short_day(last_us, day.zone)}"
    length = hours_text(sum(account.clock_us for account in accounts) / SECOND_US)
    shifts = "" if len(accounts) == 1 else f" in {len(accounts)} shifts"
    off = told_off_text(sum(account.off_told_us for account in accounts))
    return f"{hour(on_us, day.zone)} to {until}, {length} on the clock{shifts}{off}"


def _who(day: Day) -> str:
    places = dict.fromkeys(
        ", ".join(part for part in (one.account.worker, one.account.place) if part)
        for one in day.shifts
    )
    said = ("; ".join(places), f"times of {day.zone}")
    return "; ".join(part for part in said if part)


def _put_shifts(medium: Medium, day: Day, accounts: Iterable[Account]) -> None:
    numbers = {share.job: share.number for share in day.shares if share.job}
    windows = [window for job in day.jobs for window in job.windows]

    def name(piece: Piece) -> str:
        several = f"{numbers.get(piece.job, 0)}: " if len(numbers) > 1 else ""
        return f"{several}{piece.stage}"

    for part, account in zip(day.shifts, accounts, strict=True):
        if len(day.shifts) > 1:
            medium.heading(f"Shift {shift_span(account, day.zone)}", shift_remark(account))
        put_strips_of(medium, account, windows, day.zone, name)
        if account.off_us is None or part.past_midnight:
            medium.words(_ends(part.past_midnight, account), small=True)
    if day.shifts:
        several = "; before a colon: the job's number" if len(numbers) > 1 else ""
        medium.legend([*LEGEND[:-1], (LEGEND[-1][0], f"{LEGEND[-1][1]}{several}")])


def _ends(past_midnight: bool, account: Account) -> str:
    said = []
    if account.never_off:
        said.append("Never clocked off: the hours end with the last press.")
    elif account.off_us is None:
        said.append("Still on the clock.")
    if past_midnight:
        said.append(
            "This shift runs past midnight; all of it belongs to the date on which it began."
        )
    return " ".join(said)


def _put_hours(medium: Medium, day: Day, accounts: list[Account], round_minutes: int) -> None:
    if not accounts:
        return
    medium.heading("Hours", "hours:minutes")
    medium.beside(
        lambda left: put_hours(left, accounts, "", day.zone),
        lambda right: _put_breaks(right, accounts, day.zone),
    )
    put_told(medium, accounts, day.zone, round_minutes, short_day(accounts[0].on_us, day.zone))
    put_law(medium, [account.rule_set for account in accounts])


def _put_breaks(medium: Medium, accounts: Sequence[Account], zone: str) -> None:
    rows = [TableRow((text,)) for _at_us, text in breaks_told(accounts, zone)]
    medium.groups(_BREAKS, [Group("", "", tuple(rows or [TableRow(("none",))]))])


def _put_jobs(medium: Medium, day: Day, staged: bool) -> None:
    medium.heading("Jobs")
    if not day.jobs:
        medium.words("None.")
        return
    medium.groups(_JOBS, [_job(day, job, staged) for job in day.jobs])


def _job(day: Day, job: DayJob, staged: bool) -> Group:
    own = [share for share in day.shares if share.job == job.job]
    length_us = sum(share.length_us for share in own)
    said = [job.vehicle, job.plan, _came_and_went(job, day.zone), to_minute(length_us)]
    rows = [Note("; ".join(_stages(day, job)))] if staged and (own or job.done) else []
    windows = outcomes_text(job.windows)
    rows += [Note(f"windows: {windows}")] if windows else []
    return Group(f"job {job.number}", "; ".join(said), tuple(rows))


def _stages(day: Day, job: DayJob) -> Iterable[str]:
    """Each use of the time on a job, and how many sections were brought to their end."""
    ended: dict[str, list[str]] = {}
    for done in job.done:
        layer = layer_text(done.layer, done.layers)
        said = (
            f"{layer} on {done.sections} of {done.of}" if layer else f"{done.sections} of {done.of}"
        )
        ended.setdefault(done.stage, []).append(said)
    for share in day.shares:
        if share.job != job.job:
            continue
        length = to_minute(share.length_us)
        match share.kind:
            case "hands":
                layers = ended.pop(share.stage, [])
                sections = f" ({', '.join(layers)} done)" if layers else ""
                yield f"{share.stage} {length}{sections}"
            case "standing by":
                yield f"standing by a window of {share.stage} {length}"
            case _:
                yield f"{share.what} {length}"
    for stage, layers in ended.items():
        yield f"{stage} ({', '.join(layers)} done)"


def _came_and_went(job: DayJob, zone: str) -> str:
    opened = hour(job.opened_us, zone) if job.opened_here else spoken(job.opened_us, zone)
    if job.closed_us is None:
        return f"opened {opened}, not closed yet"
    closed = hour(job.closed_us, zone) if job.closed_here else spoken(job.closed_us, zone)
    return f"opened {opened}, closed {closed}"


def _put_noted(medium: Medium, day: Day, unit: TemperatureUnit) -> None:
    noted = sorted((fact.at_us, fact.text) for part in day.shifts for fact in part.facts)
    if noted:
        medium.heading("Noted")
        told = "; ".join(f"{hour(at_us, day.zone)} {in_both(text, unit)}" for at_us, text in noted)
        medium.words(f"{told}.", small=True)


def _put_products(medium: Medium, day: Day) -> None:
    jobs = [job for job in day.jobs if job.used]
    if not jobs:
        return
    medium.heading("Products", "as applied on this day")
    for job in jobs:
        whose = f"job {job.number}: " if len(jobs) > 1 else ""
        used = ", ".join(f"{one.name} {amount_text(one.amount, one.unit)}" for one in job.used)
        medium.words(f"{whose}{used}.", hangs=True)
