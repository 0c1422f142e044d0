"""The lists of second looks: all of it is fine, or what was found where and what is done then."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import get_args

from cartclock.engine.dates import spoken_near
from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts.job_events import Found
from cartclock.engine.facts.layers import OnTop, on_top
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.words import move_text, place_text
from cartclock.engine.films.cure import age_text
from cartclock.engine.now.looking import every_look, look_moves
from cartclock.engine.rules import looks
from cartclock.engine.rules.reasons import reasons_for
from cartclock.engine.times import Instant
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.titles import of_job
from cartclock.tui.told.asked import Asked
from cartclock.tui.told.in_view import zone_of
from cartclock.tui.widgets.sheet import Line

# Makes one press by a rule and its facts.
Write = Callable[..., None]
# What makes the presses of a worker, by name; "": of the first.
By = Callable[[str], Write]
SPOTS: tuple[Found, ...] = tuple(
    found for found in get_args(Found) if found not in ("fine", "not looked at")
)


def reasons(bench: Bench, now_us: Instant) -> dict[str, str]:
    """Why the key of this list cannot work now."""
    why = looks.nothing_open(bench.jobs, now_us, zone_of(bench))
    return {"look": why} if why else {}


def open_looks(host: Host, by: By) -> None:
    """The looks that are due; where none is, every film that lies open."""

    def go(write: Write) -> None:
        due = look_moves(host.cart.bench.jobs.values(), host.cart.workplace.moment.now_us)
        if due:
            _open_moves(host, due, write)
        else:
            _open_films(host, write)

    _ask_who(host, by, go)


def _ask_who(host: Host, by: By, then: Callable[[Write], None]) -> None:
    """Goes on with whoever looks, whom the record names: of two on the clock, the one picked."""
    now = host.cart.workplace.moment
    helper = None if now.helper is None or now.helper.on is None else now.helper.worker
    if helper is None:
        then(by(""))
    elif now.me.on is None:
        then(by(helper))
    else:
        lines = [
            Line(now.me.worker, partial(then, by(""))),
            Line(helper, partial(then, by(helper))),
        ]
        host.sheet.open("Who looks?", lines)


def _open_films(host: Host, press: Write) -> None:
    """Every film that lies open, looked at before or not, newest first: what is there?"""
    bench = host.cart.bench
    found = looks.lying_open(bench.jobs.values())
    several = len({job.id for job, _stage, _one in found}) > 1
    lines = []
    for job, stage, one in found:
        named = f"{job.opened.vehicle}: " if several else ""
        said = partial(_place_text, host, one, named)
        lines.append(Line(said, partial(_open_found, host, job.id, stage.name, one, press)))
    why = looks.not_due(bench.jobs, host.cart.workplace.moment.now_us, zone_of(bench))
    title = f"{why} What was seen, and where?".strip()
    host.sheet.open(title if several else of_job(host, found[0][0], title), lines)


def instead_lines(host: Host, asked: Asked, leave: Callable[[], None], by: By) -> list[Line]:
    """What may be done instead when closing a job asks: look. Empty for any other question.

    leave: lets go of the question; nothing is written by it.
    """
    if asked.rule_id != "not_looked":
        return []
    job_id = asked.job if asked.move is None else asked.move.job

    def look() -> None:
        leave()
        _ask_who(host, by, partial(_open_moves, host, every_look(host.cart.bench.jobs[job_id])))

    return [Line("no, look at them now", look)]


def _open_moves(host: Host, due: Sequence[Move], write: Write) -> None:
    jobs = host.cart.bench.jobs
    if len(due) == 1:
        open_look(host, due[0], write)
        return
    lines = [
        Line(
            f"{jobs[move.job].opened.vehicle}: {move_text(move, jobs)} ({move.stage})",
            partial(open_look, host, move, write),
        )
        for move in due
    ]
    host.sheet.open("Look again at what?", lines)


def open_look(host: Host, move: Move, press: Write) -> None:
    """Everything that one layer of a stage has to be looked at: all fine, or one place.

    press: makes the press of whoever looks.
    """
    bench = host.cart.bench
    job = bench.jobs[move.job]
    sections = move.sections
    where = place_text(job, move.stage, sections)
    fine = partial(press, looks.find_fine, move.job, move.stage, sections)
    lines = [
        Line(f"fine: {where}" if len(sections) == 1 else f"all of these are fine: {where}", fine)
    ]
    for one in on_top(job, job.stage(move.stage)):
        if one.section in sections:
            said = partial(_place_text, host, one)
            lines.append(Line(said, partial(_open_found, host, job.id, move.stage, one, press)))
    lines.append(Line("not looked at, because ...", partial(_open_unseen, host, move, press)))
    if len(looks.lying_open(host.cart.bench.jobs.values())) > len(sections):
        lines.append(Line("something on another section ...", partial(_open_films, host, press)))
    host.sheet.open(of_job(host, job, _title(host, move)), lines)


def _title(host: Host, move: Move) -> str:
    """What is looked at and until when, and what ends the chance of it."""
    job = host.cart.bench.jobs[move.job]
    now_us = host.cart.workplace.moment.now_us
    said = f"{move_text(move, host.cart.bench.jobs)} ({move.stage}), {move.say}"
    if move.closes_us is None or move.closes_us > now_us:
        return said
    late = f"{said}, late since {spoken_near(move.closes_us, now_us, job.opened.zone)}"
    layer = move.turn.layer
    covered = layer < job.stage(move.stage).layers
    return f"{late}; it can be seen until layer {layer + 1} covers it" if covered else late


def _place_text(host: Host, one: OnTop, named: str = "") -> str:
    ago = age_text(one.touched_us, one.touched_us, host.cart.workplace.moment.now_us)
    return f"{named}something on {one.section}, laid {ago} ago"


def _open_unseen(host: Host, move: Move, write: Write) -> None:
    """Why nobody looks."""
    lines = [
        Line(
            why,
            partial(write, looks.leave_unseen, move.job, move.stage, move.sections, why),
        )
        for why in reasons_for("not_looked")
    ]
    where = place_text(host.cart.bench.jobs[move.job], move.stage, move.sections)
    host.sheet.open(f"Not looked at: {where} ({move.stage}), because", lines)


def _open_found(host: Host, job_id: str, stage: str, one: OnTop, write: Write) -> None:
    """What was found on one section."""
    lines = [
        Line(found, partial(_open_then, host, job_id, stage, one, found, write), hot=hot)
        for found, hot in zip(SPOTS, _letters(SPOTS), strict=True)
    ]
    host.sheet.open(f"{one.section} ({stage}): what is there?", lines)


def _letters(words: Sequence[str]) -> list[str]:
    """For each word its first letter that no earlier word has."""
    taken: list[str] = []
    for word in words:
        taken.append(next(letter for letter in word if letter not in taken))
    return taken


def _open_then(host: Host, job_id: str, name: str, one: OnTop, found: Found, press: Write) -> None:
    """What is done about it; what is picked is work on that section from then on."""
    stage = host.cart.bench.jobs[job_id].stage(name)

    def age_us() -> int:
        # The age counts at the pick: the list may stand open for long.
        return host.cart.workplace.moment.now_us - one.touched_us

    def write(then: looks.Then) -> Callable[[], None]:
        return partial(press, looks.find, job_id, name, one.section, found, then)

    def said(then: looks.Then) -> str:
        return looks.remedy_text(stage, age_us(), then)[0]

    lines = []
    do, anew = looks.remedy_text(stage, age_us(), "remedy")
    if do and not anew:
        lines.append(Line(partial(said, "remedy"), write("remedy")))
    only = ": this layer only" if stage.layers > 1 else ""
    lines.append(Line(lambda: f"{said('layer')}{only}", write("layer")))
    if one.layer > 1:
        lines.append(Line(lambda: f"{said('all')}: all {one.layer} layers", write("all")))
    lines.append(Line("nothing: it is noted and stays", write("noted")))
    host.sheet.open(f"{found} on {one.section} ({name}): what is done?", lines)
