"""The hours on a page: where the time on the clock went, breaks, and rounded clock times.

Lengths are added up exactly before they get here. On the page every line, total or part, is
rounded by itself to the nearest minute, and beside it to the nearest second: so the lines of a
group can come to a little more or less than the line above them, and the page says so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.dates import hours_text, spoken
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.hours.account import Account, Share
from cartclock.engine.hours.breaks import LOCAL_LAW, NO_RULES, rounded_us
from cartclock.engine.hours.left import LeftFilm
from cartclock.engine.hours.questions import MOST_QUESTIONS, Question
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.page.table import Column, TableRow
from cartclock.engine.paper.said import between, exact_text, hour, nearest
from cartclock.engine.times import Length

HOUR_COLUMNS = (Column(), Column("h min", 15, right=True), Column("h:mm:ss", 13, right=True))
"""Columns of the hours; their heads stand in the line of the heading."""

_LENGTHS = tuple(replace(column, head="") for column in HOUR_COLUMNS)
_BREAKS = (Column("", 25), Column("", 7), Column("", 9, right=True), Column())

ROUNDED = (
    "Every length is rounded by itself, to the nearest minute and second: parts can come to a "
    "little more or less than their total."
)
_CLASSES = {
    "counted": "counts as work",
    "not counted": "does not count as work",
    "ask": "not judged yet",
    "not judged": "",
}


class Node(Struct, frozen=True):
    """A line of the hours; its length is that of the lines under it, if there are any."""

    label: str
    length_us: Length
    under: tuple[Node, ...] = ()


def _node(label: str, under: Iterable[Node]) -> list[Node]:
    """The node over these, or nothing if there are none."""
    found = tuple(under)
    return [Node(label, Length(sum(node.length_us for node in found)), found)] if found else []


def _leaves(shares: Iterable[Share], label: Callable[[Share], str]) -> list[Node]:
    """One line for each label, in order of first appearance."""
    total: dict[str, int] = {}
    for share in shares:
        total[label(share)] = total.get(label(share), 0) + share.length_us
    return [Node(name, Length(length_us)) for name, length_us in total.items()]


def _job_uses(shares: Sequence[Share]) -> list[Node]:
    hands = [s for s in shares if s.kind == "hands"]
    waits = [s for s in shares if s.kind == "standing by"]
    other = [s for s in shares if s.kind == "other"]
    return [
        *_node("Hands on", _leaves(hands, lambda s: s.stage)),
        *_node("Standing by a window", _leaves(waits, lambda s: s.stage)),
        *_node("Other work for it", _leaves(other, lambda s: s.what)),
    ]


def _break(share: Share) -> str:
    said = _CLASSES.get(share.counts, "")
    return f"{share.what}, {said}" if said else share.what


def _nobodys(shares: Iterable[Share]) -> list[Node]:
    """What of a shift went to no job."""
    rest = [s for s in shares if not s.job]

    def of(kind: str) -> list[Share]:
        return [s for s in rest if s.kind == kind]

    return [
        *_node("Other work of the shift", _leaves(of("other"), lambda s: s.what)),
        *_node("Breaks", _leaves(of("break"), _break)),
        *_leaves(of("unassigned"), lambda _: "Nothing in hand"),
        *_leaves(of("not known"), lambda _: "Not known"),
        *_leaves(of("off"), lambda _: "Off, as told afterwards"),
    ]


def own_and_rest(shares: Sequence[Share], job: str) -> list[Node]:
    """The lines of one job's paper: this job, other jobs by number, the rest of the shift."""
    own = [s for s in shares if s.job == job]
    others = [s for s in shares if s.job and s.job != job]
    return [
        *_node("This job", _job_uses(own)),
        *_node("Other jobs", _leaves(others, lambda s: f"job {s.number}")),
        *_nobodys(shares),
    ]


def by_job(shares: Sequence[Share], names: Callable[[Share], str]) -> list[Node]:
    """The lines of a day's paper: every job, then the rest of the shifts."""
    jobs = dict.fromkeys(s.job for s in shares if s.job)
    found: list[Node] = []
    for job in jobs:
        own = [s for s in shares if s.job == job]
        found += _node(names(own[0]), _job_uses(own))
    return [*found, *_nobodys(shares)]


def put_hours(medium: Medium, label: str, nodes: Sequence[Node]) -> None:
    """The lines with their total on top, in hours and minutes and exactly."""
    whole_us = Length(sum(node.length_us for node in nodes))
    whole = Node(label, whole_us, tuple(nodes))
    medium.table(_LENGTHS, _rows(whole, 0))


def _rows(node: Node, depth: int) -> list[TableRow]:
    minutes, seconds = nearest(node.length_us, MINUTE_US), nearest(node.length_us, SECOND_US)
    return [
        TableRow((node.label, hours_text(minutes * 60), exact_text(seconds)), depth),
        *(row for child in node.under for row in _rows(child, depth + 1)),
    ]


def put_account(
    medium: Medium, account: Account, nodes: Sequence[Node], zone: str, round_minutes: int
) -> None:
    """One shift: when, who and where, its hours, its breaks, what was told of it.

    round_minutes: one of `engine.hours.breaks.ROUNDING_MINUTES`; with 0, or while
    the shift goes on, nothing is rounded.
    """
    end = "" if account.off_us is not None else ", still on the clock"
    if account.never_off:
        end = ", never clocked off: the hours end with the last press"
    place = f", {account.place}" if account.place else ""
    medium.words(between(account.on_us, account.end_us, zone) + end)
    medium.words(f"{account.worker}{place}")
    _put_left(medium, account, zone)
    medium.gap()
    put_hours(medium, "On the clock", nodes)
    _put_breaks(medium, account, zone)
    for answer in account.answers:
        said = between(answer.from_us, answer.to_us, zone)
        medium.words(f"Told afterwards: {said} was: {answer.was}", hangs=True)
    if round_minutes > 0 and account.off_us is not None:
        medium.gap()
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


def _put_breaks(medium: Medium, account: Account, zone: str) -> None:
    if account.breaks:
        medium.gap()
        medium.words("Breaks one by one")
    rows: list[TableRow] = []
    for time in account.breaks:
        said = [_CLASSES[time.counts]] if _CLASSES[time.counts] else []
        if time.counts != time.asked:
            said.append("as told by the worker")
        if not time.relieved:
            said.append("a window ran meanwhile")
        seconds = nearest(time.end_us - time.start_us, SECOND_US)
        when = f"{hour(time.start_us, zone)} to {hour(time.end_us, zone)}"
        rows.append(TableRow((when, time.what, exact_text(seconds), ", ".join(said)), 1))
    medium.table(_BREAKS, rows)


def _rounded(account: Account, zone: str, step: int) -> str:
    """Clock times rounded as 29 CFR 785.48(b) allows: the cuts, never the lengths."""
    on_us = rounded_us(account.on_us, step, zone)
    off_us = rounded_us(account.end_us, step, zone)
    length_us = off_us - on_us
    said = (
        f"Clock times rounded to {step} min (29 CFR 785.48(b)): {hour(on_us, zone)} to "
        f"{hour(off_us, zone)}, {hours_text(length_us / SECOND_US)}"
    )
    apart_us = sum(
        rounded_us(time.end_us, step, zone) - rounded_us(time.start_us, step, zone)
        for time in account.breaks
        if time.counts == "not counted"
    )
    if apart_us:
        worked = hours_text((length_us - apart_us) / SECOND_US)
        said += f"; without the breaks that do not count, rounded alike, {worked}"
    return f"{said}."


def put_law(medium: Medium, rule_sets: Iterable[str]) -> None:
    """How lengths are rounded, which rule set judged the breaks, and that local law comes first."""
    names = dict.fromkeys(rule_sets)
    judged = [name for name in names if name != NO_RULES]
    medium.gap()
    if names:
        medium.words(ROUNDED, hangs=True)
    if judged:
        medium.words(f"Breaks are judged by {' and '.join(judged)}.")
    if NO_RULES in names:
        medium.words("By the rule set none, breaks are not judged.")
    medium.words(LOCAL_LAW)


def put_questions(medium: Medium, accounts: Iterable[Account], zone: str) -> None:
    """What is still open: shifts that nobody clocked off, and what nobody has answered yet."""
    medium.heading("Not answered yet")
    accounts = tuple(accounts)
    asked = [question for account in accounts for question in account.questions]
    for account in accounts:
        if account.never_off:
            medium.words(
                f"{account.worker}, {spoken(account.on_us, zone)}: never clocked off; the hours "
                f"end with the last press, {spoken(account.end_us, zone)}",
                1,
                True,
            )
    for question in asked:
        medium.words(
            f"{between(question.from_us, question.to_us, zone)}: {_asked(question)}", 1, True
        )
    if not asked and not any(account.never_off for account in accounts):
        medium.words("Nothing.", 1)
    elif any(len(account.questions) >= MOST_QUESTIONS for account in accounts):
        medium.words(f"Of each shift the {MOST_QUESTIONS} longest; there may be more.", 1)


def _asked(question: Question) -> str:
    match question.kind:
        case "gap":
            return f"the program did not run; the log says {question.was}"
        case "break":
            return f"{question.was}; does it count as work?"
        case "nothing":
            return "nothing in hand; what was it?"
