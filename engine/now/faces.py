"""The faces of a glance: for each matter that runs, what the hands do, where, and the time.

A face says which panel, or what is called, for letters that are read from three metres; the word
for the hands; and digits that run to the next thing that the hands must do. The second figure and
the tape say the rest of the window.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.body.watch import Watch
from cartclock.engine.dates import clock_text, local
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.section import SECOND_US, Window, work_of
from cartclock.engine.facts.shift import Break, Free, Hands, Other, Shift
from cartclock.engine.facts.words import place_text
from cartclock.engine.hours.usual import InStage, UsualOf, against, in_stage, no_usual, on_it_us
from cartclock.engine.now.put_down import PutDown
from cartclock.engine.now.running import (
    Field,
    Film,
    InHand,
    break_end_us,
    doing_state,
    film_in_hand,
    film_state,
    hands_state,
    put_down_state,
    span_text,
)
from cartclock.engine.plan.plan import Wait, Work
from cartclock.engine.times import Instant

EXAMPLE_TIMES = "example times"
"""Beside what is said of a window whose numbers are the starter's and not the pack's."""


class TimeTape(Struct, frozen=True):
    """A time with its marks, as a strip.

    Fields:
        start_us: where it begins.
        marks: what comes on it, in rising order, each with a word; the last one ends it.
        opens_us: from when it is open; None: it never is. `shuts_us`: until when; None: to its end.
        begun: the word under its beginning.
    """

    start_us: Instant
    marks: tuple[tuple[Instant, str], ...]
    opens_us: Instant | None = None
    shuts_us: Instant | None = None
    begun: str = ""


class WorkTape(Struct, frozen=True):
    """How much of something is done, as a strip.

    Fields:
        done: 0 to 1.
        cut: share at which a mark stands; None: none.
        left, right: what stands under its two ends.
    """

    done: float
    cut: float | None = None
    left: str = ""
    right: str = ""


class Face(Struct, frozen=True):
    """One matter that runs.

    Fields:
        word: what the hands do, or what is called, in capitals.
        clock: the digits, "" for none.
        where: the section or the kind; "" if the word says all.
        under: one line on what the digits run to.
        field: how the ground is painted; the word says the same.
        key: what this face belongs to, so that a screen can tell a new state from a tick.
        runs: which way the digits run; "": they stand.
        second: a second figure behind what it is; ("", "") for none.
        tape: the window or the work as a strip; None: there is none.
        aside: what is to be known of the numbers; "" if nothing is.
        to: the mark of a window that the digits run to or count from, with its time of day; "" for
            what has none.
    """

    word: str
    clock: str
    where: str
    under: str
    field: Field
    key: str
    runs: Literal["", "down", "up"] = ""
    second: tuple[str, str] = ("", "")
    tape: TimeTape | WorkTape | None = None
    aside: str = ""
    to: str = ""

    @property
    def large(self) -> str:
        """What stands in the largest letters: which section, or what is called."""
        return self.where or self.word

    @property
    def beside(self) -> str:
        """What the hands do, beside the digits; "" if the largest letters say it."""
        return self.word if self.where else ""

    @property
    def shortly(self) -> str:
        """What the digits run to, in few words."""
        return self.to or self.under

    @property
    def line(self) -> str:
        """All that counts of it, for one line of text."""
        said = f"{self.where}: {self.word.lower()}" if self.where else self.word.lower()
        return f"{said} {self.clock}".rstrip()


def most_urgent(faces: Sequence[Face]) -> list[Face]:
    """The faces with the one that hurts first in front."""
    order: tuple[Field, ...] = (
        "late", "rest", "ready", "ask", "back", "break", "plain", "soon", "wait", "off",
    )  # fmt: skip
    rank = {field: at for at, field in enumerate(order)}
    return sorted(faces, key=lambda face: rank[face.field])


def _at(at_us: Instant, zone: str) -> str:
    return f"{local(at_us, zone):%H:%M}"


# Films.


def film_face(film: Film, now_us: Instant, hot: bool = False) -> Face:
    """The face of a running window: to `opens` while it waits; then to the mark by which the work
    must be begun, and from there to `closes`; late it counts up.

    hot: True if a remover dries fast here.
    """
    job, window = film.job, film.first
    key, field = film_state(film, now_us)
    work = job.work(window.stage, window.turn)
    example = any(
        isinstance(step, Wait) and step.example
        for step in (job.stage_of(window).steps[window.turn.step - 1],)
    )
    begin_us, mark = _begin_by(film, work)
    if field == "late":
        face = _late(film, work, key, now_us)
    elif field == "wait":
        face = _waiting(film, work, key, now_us, hot)
    elif window.to_look_at(now_us):
        face = _to_look_at(film, key, now_us, begin_us, mark)
    else:
        face = _ready(film, work, key, now_us, begin_us, mark, hot)
    tape = _tape(film, now_us, begin_us, mark)
    to_us = window.closes_us
    if field == "wait":
        to_us = window.opens_us
    elif now_us < begin_us < to_us:
        to_us = begin_us
    return replace(
        face,
        tape=tape,
        aside=EXAMPLE_TIMES if example else "",
        to=dict(tape.marks).get(to_us, tape.marks[-1][1]),
    )


def _minutes(film: Film, work: Work) -> float:
    stage = film.job.stage(film.first.stage)
    return stage.minutes_of(work, [one.section for one in film.windows])


def _begin_by(film: Film, work: Work) -> tuple[Instant, str]:
    """When the work must be begun so that it is done by the close, and what that mark is called; a
    film that should be off by then does not wait for its close.
    """
    window = film.first
    begin_us = max(window.opens_us, window.closes_us - round(_minutes(film, work) * MINUTE_US))
    if window.off_by_us is None:
        return Instant(begin_us), "begin"
    mark = "off by" if window.off_by_us <= begin_us else "begin"
    return Instant(min(window.off_by_us, begin_us)), mark


def _tape(film: Film, now_us: Instant, begin_us: Instant, mark: str) -> TimeTape:
    window = film.first
    opened, closed = now_us >= window.opens_us, now_us >= window.closes_us
    return _tape_of(window, begin_us, mark, opened, closed, film.job.opened.zone)


@lru_cache(maxsize=64)
def _tape_of(
    window: Window, begin_us: Instant, mark: str, opened: bool, closed: bool, zone: str
) -> TimeTape:
    """The tape of a window, the same from second to second."""
    marks = {window.opens_us: "opened" if opened else "opens"}
    if window.opens_us < begin_us < window.closes_us:
        marks[begin_us] = mark
    expected_us = window.expected_us
    if expected_us is not None and window.opens_us < expected_us < window.closes_us:
        marks[expected_us] = "due"
    # Where no width is left the close is all there is.
    found = {at_us: word for at_us, word in marks.items() if at_us < window.closes_us}
    found[window.closes_us] = "closed" if closed else "closes"
    named = tuple((at_us, f"{found[at_us]} {_at(at_us, zone)}") for at_us in sorted(found))
    return TimeTape(window.last_us, named, window.opens_us)


def _waiting(film: Film, work: Work, key: str, now_us: Instant, hot: bool) -> Face:
    window = film.first
    wet = hot and window.kind == "dwell"
    under = f"until it opens, then {work.say}"
    if window.off_by_us is not None:
        under = f"until you look at it, then {work.say}"
    return Face(
        "KEEP WET" if wet else "WAIT",
        span_text(window.opens_us - now_us),
        film.where,
        under,
        "wait",
        key,
        "down",
        ("closes in", span_text(window.closes_us - now_us)),
    )


def _to_look_at(film: Film, key: str, now_us: Instant, begin_us: Instant, mark: str) -> Face:
    window = film.first
    due_us = window.expected_us
    closes = span_text(window.closes_us - now_us)
    second = ("closes in", closes)
    if due_us is not None and due_us > now_us:
        second = ("expected in", span_text(due_us - now_us))
    if begin_us > now_us:
        left = span_text(begin_us - now_us)
        by = "should be off by then" if mark == "off by" else "begin by then"
    else:
        left, by = closes, "it closes then: begin now"
        second = ("closes at", _at(window.closes_us, film.job.opened.zone))
    return Face("LOOK", left, film.where, f"{by}; W: it is ready", "ready", key, "down", second)


def _ready(
    film: Film, work: Work, key: str, now_us: Instant, begin_us: Instant, mark: str, hot: bool
) -> Face:
    window, say = film.first, work.say
    minutes = round(_minutes(film, work), 1)
    closes = ("closes in", span_text(window.closes_us - now_us))
    if begin_us > now_us:
        takes = f", {minutes:g} min of work" if minutes else ""
        under = "should be off by then" if mark == "off by" else f"begin by then{takes}"
        left = span_text(begin_us - now_us)
    else:
        under, left = "until it closes: begin now", closes[1]
        closes = ("closes at", _at(window.closes_us, film.job.opened.zone))
    if hot and window.kind == "dwell":
        under = f"{say} early, it dries fast here"
    return Face(say.upper(), left, film.where, under, "ready", key, "down", closes)


def _late(film: Film, work: Work, key: str, now_us: Instant) -> Face:
    closes_us = film.first.closes_us
    return Face(
        "LATE",
        clock_text((now_us - closes_us) // SECOND_US),
        film.where,
        f"since it closed: {work.say} all the same",
        "late",
        key,
        "up",
        ("closed at", _at(closes_us, film.job.opened.zone)),
    )


def put_down_face(film: PutDown, now_us: Instant) -> Face:
    """The face of a film that was put down: to the mark by which its work must be begun anew, and
    from there to its close; late it counts up.
    """
    key, field = put_down_state(film, now_us)
    say, zone = film.work.say, film.job.opened.zone
    closes_us, begin_us = film.closes_us, film.begin_us
    closes = f"close{'s' if now_us < closes_us else 'd'} {_at(closes_us, zone)}"
    marks = [(closes_us, closes)]
    if film.since_us < begin_us:
        marks.insert(0, (begin_us, f"begin {_at(begin_us, zone)}"))
    second = ("closes at", _at(closes_us, zone))
    runs: Literal["down", "up"] = "down"
    word, clock = say.upper(), span_text(closes_us - now_us)
    under, to = "put down wet; it closes then: begin now", closes
    if field == "late":
        word, runs = "LATE", "up"
        clock = clock_text((now_us - closes_us) // SECOND_US)
        under, second = f"since it closed: {say} all the same", ("closed at", second[1])
    elif field == "wait":
        under, to = "put down wet; begin by then", marks[0][1]
        clock, second = span_text(begin_us - now_us), ("closes in", clock)
    return Face(
        word,
        clock,
        film.where,
        under,
        field,
        key,
        runs,
        second,
        TimeTape(film.since_us, tuple(marks), film.since_us),
        EXAMPLE_TIMES if film.wait.example else "",
        to,
    )


# Hands, breaks, other work.


def hands_face(
    jobs: Mapping[str, Job],
    shift: Shift,
    now_us: Instant,
    usual: UsualOf = no_usual,
    rest: tuple[str, str] = ("", ""),
    among: InStage | None = None,
) -> Face | None:
    """The time on what is in hand against the worker's usual, or of a film that is laid for too
    long; None if nothing is in hand.

    Args:
        rest: when the next rest is due, as a second figure.
        among: what `in_stage` says of it; None: it is asked.
    """
    hands = shift.doing
    if not isinstance(hands, Hands):
        return None
    job = jobs[hands.job]
    stage = job.stage(hands.stage)
    word, seconds = against(stage, hands, usual)
    said = f"{word}{'' if word == 'planned' else ':'} {clock_text(seconds)}"
    spent_us = on_it_us(job, hands, shift, now_us)
    film = film_in_hand(jobs, shift)
    key, field = hands_state(film, hands, now_us)
    if film is not None and field != "plain":
        return _film_in_hand(film, key, field, now_us)
    if film is not None and now_us >= film.begin_us:
        rest = _closing(film.closes_us, now_us, job.opened.zone)
    among = among or in_stage(job, hands)
    # What is in hand is never drawn as done, however long it takes.
    part = min(0.95, spent_us / SECOND_US / seconds) if seconds else 0.0
    return Face(
        work_of(stage, hands.turn).say.upper(),
        span_text(spent_us),
        place_text(job, hands.stage, hands.sections),
        f"on it, {said}" if seconds else "on it, no time planned",
        field,
        key,
        "up",
        rest,
        WorkTape(
            min(1.0, (among.past + part * among.mine) / among.there),
            among.past / among.there if among.past else None,
            among.place,
            f"{among.there - among.past - among.mine} to come",
        ),
    )


def _closing(closes_us: Instant, now_us: Instant, zone: str) -> tuple[str, str]:
    """The close of a film as a second figure."""
    if now_us < closes_us:
        return "closes in", span_text(closes_us - now_us)
    return "closed at", _at(closes_us, zone)


def _film_in_hand(film: InHand, key: str, field: Field, now_us: Instant) -> Face:
    """The face of a film that is laid for too long: to its close; late it counts up."""
    zone, closes_us = film.job.opened.zone, film.closes_us
    close = f"close{'s' if now_us < closes_us else 'd'} {_at(closes_us, zone)}"
    marks = [(closes_us, close)]
    if film.first_us < film.begin_us < closes_us:
        marks.insert(0, (film.begin_us, f"begin {_at(film.begin_us, zone)}"))
    tape = TimeTape(film.first_us, tuple(marks), film.first_us)
    runs: Literal["down", "up"] = "down"
    word, clock = "END IT", span_text(closes_us - now_us)
    under = f"until it closes: end it, then {film.say}"
    second = ("closes at", _at(closes_us, zone))
    if field == "late":
        word, runs = "LATE", "up"
        clock = clock_text((now_us - closes_us) // SECOND_US)
        under = f"since it closed: end it, {film.say} all the same"
        second = ("closed at", second[1])
    return Face(word, clock, film.where, under, field, key, runs, second, tape, to=close)


def doing_face(
    jobs: Mapping[str, Job],
    shift: Shift,
    now_us: Instant,
    usual: UsualOf = no_usual,
    rest: tuple[str, str] = ("", ""),
    among: InStage | None = None,
    watch: Watch | None = None,
) -> Face | None:
    """The face of what the worker is at; None if that is nothing.

    Args:
        watch: how the worker fares; None: a break ends as planned.

    The others are those of `hands_face`.
    """
    state = doing_state(jobs, shift, now_us, watch)
    if state is None:
        return None
    key, field = state
    spent = span_text(now_us - shift.since_us)
    match shift.doing:
        case Break(what, None):
            return Face("BREAK", spent, what, "no end planned", "break", key, "up")
        case Break(what, planned_s) if planned_s is not None:
            end_us = break_end_us(shift, planned_s, watch)
            return _break_face(shift, what, end_us, now_us, key, over=field != "break")
        case Other(what, job_id):
            job = jobs.get(job_id)
            whose = job.opened.vehicle if job is not None else "the cart"
            under = f"other work, for {whose}"
            return Face(what.upper(), spent, "", under, field, key, "up", rest)
        case Free() | None:
            return None
    return hands_face(jobs, shift, now_us, usual, rest, among)


def _break_face(
    shift: Shift, what: str, end_us: Instant, now_us: Instant, key: str, over: bool
) -> Face:
    zone = shift.on.zone
    whole_s = (end_us - shift.since_us) // SECOND_US
    planned, end = clock_text(whole_s), _at(end_us, zone)
    share = min(1.0, (now_us - shift.since_us) / SECOND_US / whole_s) if whole_s else 1.0
    if over:
        # Not on the ground of a film that is ready: from afar that is another matter.
        tape = WorkTape(1.0, None, _at(shift.since_us, zone), f"over {end}")
        gone = clock_text((now_us - end_us) // SECOND_US)
        under = f"since the {what}{' break' if what == 'heat' else ''} was over"
        return Face("BACK TO WORK", gone, "", under, "back", key, "up", ("it was", planned), tape)
    tape = WorkTape(share, None, _at(shift.since_us, zone), f"back to work {end}")
    left = span_text(end_us - now_us)
    under = f"then back to work, {end}"
    return Face("BREAK", left, what, under, "break", key, "down", ("of", planned), tape)


# The body.


def rest_face(watch: Watch, now_us: Instant, zone: str) -> Face:
    """The rest that is called: how long it must be and since when; on its tape the work before it
    and what it buys. Where no length is enough the digits say since when it is called. Its ground
    is its own: red is for a film that is late.
    """
    pace = watch.pace
    gone, since = "", ("", "")
    if watch.called_us is not None:
        gone = span_text(now_us - watch.called_us)
        since = ("since it was called" if pace.grade == "soon" else "due since", gone)
    if pace.no_work_time:
        what = f"lighter: {pace.eased}" if pace.eased else "a cooler place or hour"
        under = f"since it is too hot here; {what}, screening estimate"
        return Face("NOT HERE", gone, "", under, "rest", "rest", "up" if gone else "")
    if pace.grade == "soon" and not pace.rest_s:
        what = f"lighter: {pace.eased}" if pace.eased else "a cooler place or hour"
        under = f"since it was called: behind this piece {what}, screening estimate"
        return Face("NOT HERE", gone, "", under, "soon", "rest/soon", "up" if gone else "")
    rest = span_text(pace.rest_minutes * MINUTE_US)
    tape = _hour_tape(watch, now_us, zone)
    if pace.grade == "soon":
        under = "before the next piece, screening estimate"
        return Face("REST SOON", rest, "", under, "soon", "rest/soon", second=since, tape=tape)
    under = "where it is cool, from SPACE on; screening estimate"
    return Face("REST NOW", rest, "", under, "rest", "rest", second=since, tape=tape)


def _hour_tape(watch: Watch, now_us: Instant, zone: str) -> TimeTape:
    """The work of the hour before a rest was called, the rest from now on, the work it buys."""
    pace = watch.pace
    called_us = now_us if watch.called_us is None else watch.called_us
    hour_us = Instant(called_us - HOUR_US)
    within = pace.at_it_from_us > hour_us
    begun = f"at work since {_at(pace.at_it_from_us, zone)}" if within else "work of this hour"
    back_us = Instant(now_us + pace.rest_minutes * MINUTE_US)
    marks = [(called_us, f"rest to {_at(back_us, zone)}"), (back_us, "")]
    if pace.bought_s:
        end_us = Instant(back_us + pace.bought_s * SECOND_US)
        marks.append((end_us, f"then {pace.bought_s // 60} min of work"))
    start_us = min(called_us, max(hour_us, pace.at_it_from_us))
    return TimeTape(start_us, tuple(marks), called_us, back_us, begun)


def well_face(watch: Watch) -> Face:
    """Nobody has heard of the worker for long."""
    over = clock_text(watch.check_in.overdue_s)
    under = "since it was due: press J; this program calls nobody"
    return Face("ARE YOU WELL?", over, "", under, "late", "well", "up")
