"""The hours on a page: where the time on the clock went, breaks, and rounded clock times.

Lengths are added up exactly before they get here. On the page every figure, total or part, is
rounded by itself to the nearest minute: so the lines of a group can come to a little more or
less than the line above them, and the page says so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from msgspec import Struct

from cartclock.engine.dates import hours_text, spoken
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.shift_events import GapJudged
from cartclock.engine.hours.account import Account, Share
from cartclock.engine.hours.breaks import LOCAL_LAW, NO_RULES, rounded_us
from cartclock.engine.hours.left import LeftFilm
from cartclock.engine.hours.partition import BreakTime, PieceKind
from cartclock.engine.hours.questions import MOST_QUESTIONS, Question
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.page.table import Column, Group, TableRow
from cartclock.engine.paper.said import (
    hour,
    short_day,
    short_moment,
    stretch,
    to_minute,
)
from cartclock.engine.times import Instant, Length

ROUNDED = (
    "Every figure is rounded by itself to the nearest minute, sums are of the exact times: parts "
    "can come to a little more or less than their total."
)
_CLASSES = {
    "counted": "counts as work",
    "not counted": "does not count",
    "ask": "not judged yet",
    "not judged": "",
}
# So many shifts have a column each; of more only the sum is told beside their tape.
_MOST_COLUMNS = 4

_ORDER: tuple[PieceKind, ...] = (
    "hands", "standing by", "other", "break", "unassigned", "not known", "off",
)  # fmt: skip

Label = Callable[[Share], str]
"""Under which line a share of the time is added up; "" under none."""


class HourLine(Struct, frozen=True):
    """A line of the hours: how long in each shift, in order, microseconds."""

    label: str
    lengths_us: tuple[Length, ...]

    @property
    def whole_us(self) -> Length:
        """All shifts together."""
        return Length(sum(self.lengths_us))


def hour_lines(shifts: Sequence[Sequence[Share]], label: Label) -> list[HourLine]:
    """The shares of these shifts added up by their label, in order of first appearance."""
    names = dict.fromkeys(name for shares in shifts for one in shares if (name := label(one)))
    return [
        HourLine(
            name,
            tuple(
                Length(sum(one.length_us for one in shares if label(one) == name))
                for shares in shifts
            ),
        )
        for name in names
    ]


def use_of(share: Share, job: str) -> str:
    """What a share of the time was: of another job than `job` only its number; `job` "": of a
    day, whose jobs are all its own."""
    if job and share.job not in ("", job):
        return f"Job {share.number}"
    match share.kind:
        case "hands":
            return "Hands on"
        case "standing by":
            return "Standing by a window"
        case "other":
            return f"Other: {share.what}"
        case "break":
            return _break(share.what, share.counts)
        case "unassigned":
            return "Nothing in hand"
        case "not known":
            return "Not known"
        case "off":
            return "Off as told, not counted"


def _break(what: str, counts: str) -> str:
    said = _CLASSES.get(counts, "")
    name = f"{what[:1].upper()}{what[1:]}"
    return f"{name}, {said}" if said else f"{name} (break)"


def put_hours(medium: Medium, accounts: Sequence[Account], job: str, zone: str) -> None:
    """Where the time on the clock of these shifts went; `job`: as in `use_of`."""
    shifts = [account.shares for account in accounts]
    whole = HourLine("On the clock", tuple(account.clock_us for account in accounts))
    every = sorted(
        (one for shares in shifts for one in shares),
        key=lambda one: _ORDER.index(one.kind if one.job in ("", job) or not job else "other"),
    )
    order = list(dict.fromkeys(use_of(one, job) for one in every))
    lines = hour_lines(shifts, lambda share: use_of(share, job))
    lines.sort(key=lambda line: order.index(line.label))
    groups = [Group("", "", (*_rows([whole], True), *_rows(lines)))]
    medium.groups(_columns("", accounts, zone), groups)


def put_stages(medium: Medium, accounts: Sequence[Account], job: str, zone: str) -> None:
    """The hands' time on a job by stage, and where a window was stood by."""
    shifts = [account.shares for account in accounts]

    def by_stage(kind: str) -> tuple[TableRow, ...]:
        def label(share: Share) -> str:
            return share.stage if (share.job, share.kind) == (job, kind) else ""

        return _rows(hour_lines(shifts, label))

    hands, waits = by_stage("hands"), by_stage("standing by")
    groups = [Group("", "", hands)] if hands else []
    groups += [Group("", "standing by a window", waits)] if waits else []
    if groups:
        medium.groups(_columns("hands on, by stage", accounts, zone), groups)


def _rows(lines: Iterable[HourLine], bold: bool = False) -> tuple[TableRow, ...]:
    found = []
    for line in lines:
        each = line.lengths_us if 1 < len(line.lengths_us) <= _MOST_COLUMNS else ()
        cells = (to_minute(us) if us else "" for us in (*each, line.whole_us))
        found.append(TableRow((line.label, *cells), bold=bold))
    return tuple(found)


def _columns(head: str, accounts: Sequence[Account], zone: str) -> list[Column]:
    several = len({account.worker for account in accounts}) > 1
    heads = [
        f"{short_day(one.on_us, zone)[:-4]}{f' {one.worker}' if several else ''}"
        for one in accounts
    ]
    # Shifts of one day are told apart by their begin.
    heads = [
        f"{head} {hour(one.on_us, zone)}" if heads.count(head) > 1 else head
        for head, one in zip(heads, accounts, strict=True)
    ]
    heads = [*heads, "all"] if 1 < len(heads) <= _MOST_COLUMNS else ["all"]
    if len(accounts) == 1:
        heads = [""]
    return [Column(head, 22), *(Column(over, 6, right=True) for over in heads)]


def shift_span(account: Account, zone: str) -> str:
    """When a shift was: "Tue 19 May 06:52 to 15:03"."""
    until = hour(account.end_us, zone)
    if short_day(account.on_us, zone) != short_day(account.end_us, zone):
        until = short_moment(account.end_us, zone)
    return f"{short_moment(account.on_us, zone)} to {until}"


def shift_remark(account: Account) -> str:
    """Who worked it where and how long it was: "me, the old dairy; 8 h 11 min"."""
    end = "" if account.off_us is not None else ", still on the clock"
    if account.never_off:
        end = ", never clocked off: the hours end with the last press"
    who = ", ".join(part for part in (account.worker, account.place) if part)
    off_us = account.off_told_us
    off = f", {hours_text(off_us / SECOND_US)} off" if off_us else ""
    return f"{who}; {hours_text(account.clock_us / SECOND_US)}{off}{end}"


def on_clock_text(clock_us: int, off_us: int) -> str:
    """A time on the clock with what of the shift is not in it, microseconds each: "8 h 11 min",
    "2 h 13 min without 10 h 29 min told to be off"."""
    return f"{hours_text(clock_us / SECOND_US)}{told_off_text(off_us)}"


def told_off_text(off_us: int) -> str:
    """What is not on the clock, to stand behind what is; "" if nothing was told to be off."""
    return f" without {hours_text(off_us / SECOND_US)} told to be off" if off_us else ""


def put_told(
    medium: Medium, accounts: Sequence[Account], zone: str, round_minutes: int, day: str = ""
) -> None:
    """What else is told of shifts: films left, answers in order of time, rounded clock times.

    Where several worked, an answer names whose it is. round_minutes: one of
    `engine.hours.breaks.ROUNDING_MINUTES`; with 0, or while a shift goes on, nothing is rounded.
    day: as for `answers_text`.
    """
    for account in accounts:
        _put_left(medium, account, zone)
    said = answers_text(accounts, zone, day)
    if said:
        medium.words(said, hangs=True)
    for account in accounts:
        if round_minutes > 0 and account.off_us is not None:
            medium.words(_rounded(account, zone, round_minutes), hangs=True)


def _put_left(medium: Medium, account: Account, zone: str) -> None:
    """The films that were in play at the end, by job and stage."""
    groups: dict[tuple[int, str], list[LeftFilm]] = {}
    for film in account.left:
        groups.setdefault((film.number, film.stage), []).append(film)
    several = len({film.job for film in account.left}) > 1
    for (number, stage), films in groups.items():
        closes = dict.fromkeys(hour(one.closes_us, zone) for one in (films[0], films[-1]))
        whose = f"job {number}, " if several else ""
        names = ", ".join(film.section for film in films)
        medium.words(
            f"Left with a film in play: {whose}{stage}, {names}; closes {' to '.join(closes)}",
            hangs=True,
        )


def break_text(time: BreakTime, zone: str) -> str:
    """A break with its class: "08:56-09:06 rest 0:10, counts as work"."""
    said = [_CLASSES[time.counts]] if _CLASSES[time.counts] else []
    if time.counts != time.asked:
        said.append("as told by the worker")
    if not time.relieved:
        said.append("a window ran meanwhile")
    when = stretch(time.start_us, time.end_us, zone)
    length = to_minute(time.end_us - time.start_us)
    return ", ".join((f"{when} {time.what} {length}", *said))


def breaks_told(accounts: Sequence[Account], zone: str) -> list[tuple[Instant, str]]:
    """Each break with its beginning, in order of time, and whose it is if several worked."""
    told = [
        (time.start_us, f"{break_text(time, zone)}{_by(account, accounts)}")
        for account in accounts
        for time in account.breaks
    ]
    return sorted(told, key=lambda one: one[0])


def breaks_text(accounts: Sequence[Account], zone: str) -> str:
    """All breaks in one sentence, each day named where it begins."""
    return f"Breaks: {_in_order(breaks_told(accounts, zone), zone, '') or 'none'}."


def answers_text(accounts: Sequence[Account], zone: str, day: str = "") -> str:
    """What the workers said stretches of time were, in one sentence, of several answers on one the
    last; "" if nothing was said.

    day: as `short_day` says it, of which the page is; a day is named where another begins.
    """
    told = [
        (from_us, f"{stretch(from_us, to_us, zone)} {answer.was}{_by(account, accounts)}")
        for account in accounts
        for index, answer in enumerate(account.answers)
        for from_us, to_us in _standing(answer, account.answers[index + 1 :])
    ]
    said = _in_order(sorted(told, key=lambda one: one[0]), zone, day)
    return f"Told afterwards: {said}." if said else ""


def _standing(answer: GapJudged, later: Sequence[GapJudged]) -> list[tuple[Instant, Instant]]:
    """What of the stretch of an answer no later one says otherwise."""
    left = [(answer.from_us, answer.to_us)]
    for other in later:
        left = [
            (begin_us, end_us)
            for from_us, to_us in left
            for begin_us, end_us in (
                (from_us, min(to_us, other.from_us)),
                (max(from_us, other.to_us), to_us),
            )
            if begin_us < end_us
        ]
    return left


def _in_order(told: Iterable[tuple[Instant, str]], zone: str, day: str) -> str:
    """What was when, behind each other; a day is named where it begins, `day` was named before."""
    said = []
    for at_us, text in told:
        here = short_day(at_us, zone)
        said.append(f"{here if here != day else ''} {text}".strip())
        day = here
    return "; ".join(said)


def _by(account: Account, accounts: Iterable[Account]) -> str:
    """Whose something is, behind it: " (Ina)"; "" if all shifts are one worker's."""
    return f" ({account.worker})" if len({one.worker for one in accounts}) > 1 else ""


def _rounded(account: Account, zone: str, step: int) -> str:
    """Clock times rounded as 29 CFR 785.48(b) allows: the cuts, never the lengths."""
    on_us = rounded_us(account.on_us, step, zone)
    off_us = rounded_us(account.end_us, step, zone)
    length_us = off_us - on_us
    said = (
        f"Clock times rounded to {step} min (29 CFR 785.48(b)): {hour(on_us, zone)} to "
        f"{hour(off_us, zone)}, {hours_text(length_us / SECOND_US)}"
    )
    pauses = [time for time in account.breaks if time.counts == "not counted"]
    offs = [piece for piece in account.pieces if piece.kind == "off"]
    ends = [(one.start_us, one.end_us) for one in pauses]
    ends += [(one.start_us, one.end_us) for one in offs]
    apart_us = sum(
        rounded_us(end_us, step, zone) - rounded_us(start_us, step, zone)
        for start_us, end_us in ends
    )
    if apart_us:
        worked = hours_text((length_us - apart_us) / SECOND_US)
        named = ["the breaks that do not count"] if pauses else []
        named += ["what was told to be off"] if offs else []
        said += f"; without {' and '.join(named)}, rounded alike, {worked}"
    return f"{said}."


def put_law(medium: Medium, rule_sets: Iterable[str]) -> None:
    """How lengths are rounded, which rule set judged the breaks, and that local law comes first."""
    names = dict.fromkeys(rule_sets)
    judged = [name for name in names if name != NO_RULES]
    said = [ROUNDED] if names else []
    if judged:
        said.append(f"Breaks are judged by {' and '.join(judged)}.")
    if NO_RULES in names:
        said.append("By the rule set none, breaks are not judged.")
    medium.words(" ".join((*said, LOCAL_LAW)), small=True)


def open_questions(accounts: Iterable[Account], zone: str) -> list[str]:
    """What is still open: shifts that nobody clocked off, then in order of time what nobody has
    answered yet."""
    accounts = tuple(accounts)
    said = [
        f"{account.worker}, {spoken(account.on_us, zone)}: never clocked off; the hours end with "
        f"the last press, {spoken(account.end_us, zone)}"
        for account in accounts
        if account.never_off
    ]
    asked = [
        (question.from_us, question, _by(account, accounts))
        for account in accounts
        for question in account.questions
    ]
    said += [
        f"{short_day(at_us, zone)} {stretch(at_us, question.to_us, zone)}{by}: {_asked(question)}"
        for at_us, question, by in sorted(asked, key=lambda one: one[0])
    ]
    if any(len(account.questions) >= MOST_QUESTIONS for account in accounts):
        said.append(f"Of each shift the {MOST_QUESTIONS} longest; there may be more.")
    return said


def _asked(question: Question) -> str:
    match question.kind:
        case "gap":
            return f"the program did not run; the log says {question.was}"
        case "break":
            return f"{question.was}; does it count as work?"
        case "nothing":
            return "nothing in hand; what was it?"
