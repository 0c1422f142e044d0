"""What a shift is: the fold of one worker's rows from clocking on to clocking off.

It reads the rows of that shift over all jobs; there is none before somebody clocked on. What
the worker is doing is one variable, so two times can never overlap. Total like the fold of a
job: a row that cannot be is set aside. Which event is possible while what is done stands in
`SHIFT_TABLE`, frozen.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import CannotBe, Odd, Row, told_after, told_by
from cartclock.engine.facts.shift_events import BreakKind, OtherKind
from cartclock.engine.facts.turn import Turn
from cartclock.engine.press import Press
from cartclock.engine.times import Instant

# "new" is before there is a shift.
ShiftState = Literal["new", "free", "hands", "break", "other", "off"]


class Free(Struct, frozen=True, tag="free"):
    """On the clock with nothing in hand."""


class Hands(Struct, frozen=True, tag="hands"):
    """One work step on one section, or on several taken together."""

    job: str
    stage: str
    sections: tuple[str, ...]
    turn: Turn


class Break(Struct, frozen=True, tag="break"):
    """A break; `planned_s` None if its length is open."""

    what: BreakKind
    planned_s: int | None = None


class Other(Struct, frozen=True, tag="other"):
    """Other work; `job` "" if it serves none in particular."""

    what: OtherKind
    job: str = ""


Doing = Free | Hands | Break | Other


class Span(Struct, frozen=True):
    """A stretch in which one thing was done; `press` is the one that began it."""

    start_us: Instant
    end_us: Instant
    doing: Doing
    press: Press


# Events that change what is done -> the state after; one that is not named cannot be. "rest of
# hands": hands while some of the sections are still in hand, free after the last.
SHIFT_TABLE: dict[ShiftState, dict[str, ShiftState | Literal["rest of hands"]]] = {
    "new": {"ClockedOn": "free"},
    "free": {
        "ClockedOff": "off",
        "BreakTaken": "break",
        "OtherWorkStarted": "other",
        "WorkStarted": "hands",
    },
    "hands": {"WorkPutDown": "rest of hands", "StepFinished": "rest of hands"},
    "break": {"BreakEnded": "free"},
    "other": {"OtherWorkEnded": "free", "OtherWorkAssigned": "other"},
    "off": {},
}
TURNING = frozenset(kind for row in SHIFT_TABLE.values() for kind in row)

# Questions are answered after the shift too; and what the machine found or told must not stand
# in the way of a worker who says later that the shift was over by then.
_ANY_TIME = frozenset(tag for tag, kind in ev.KINDS.items() if kind.any_time)
_OF_SHIFT = frozenset(tag for tag, kind in ev.KINDS.items() if kind.of == "shift")
_INSIDE = _OF_SHIFT - _ANY_TIME - TURNING


class Shift(Struct, kw_only=True):
    """A shift as the log tells it. Treat as frozen outside this module: `shift_after` copies.

    Fields:
        id: its UUID.
        worker: whose shift it is.
        on, on_us: the clocking-on event and its job time.
        off_us: job time of clocking off; None while on the clock.
        told: what was said at clocking off of the next day, a sentence each.
        doing: what is done now; None after clocking off.
        since_us, since_press: since when, and by which press.
        spans: what was done before, without holes, in order.
        gaps: stretches in which the program did not run.
        answers: what the worker said stretches were, in order of the telling.
        judged: which breaks count, as the worker said.
        facts: rows that change nothing done: readings, drinks, signs, rests called.
        jobs: jobs taken in hand, in order of first touch.
        odd: rows set aside, also those from before it began.
    """

    id: str
    worker: str
    on: ev.ClockedOn
    on_us: Instant
    off_us: Instant | None = None
    told: tuple[str, ...] = ()
    doing: Doing | None = None
    since_us: Instant
    since_press: Press
    spans: list[Span] = []
    gaps: list[ev.GapFound] = []
    answers: list[ev.GapJudged] = []
    judged: list[ev.BreakJudged] = []
    facts: list[Row] = []
    jobs: list[str] = []
    odd: list[Odd] = []

    @property
    def state(self) -> ShiftState:
        """Row of `SHIFT_TABLE` the shift is in; never "new"."""
        match self.doing:
            case None:
                return "off"
            case Free():
                return "free"
            case Hands():
                return "hands"
            case Break():
                return "break"
            case Other():
                return "other"

    @property
    def on_clock(self) -> bool:
        """True from clocking on until clocking off."""
        return self.off_us is None

    @property
    def last_reading(self) -> ev.ReadingTaken | None:
        """The newest reading; None if there was none."""
        found: ev.ReadingTaken | None = None
        for row in sorted(self.facts, key=lambda row: row.happened):
            if isinstance(row.event, ev.ReadingTaken):
                found = row.event
        return found

    def spans_to(self, now_us: Instant) -> list[Span]:
        """All spans up to `now_us`, the one that goes on included."""
        if self.doing is None or now_us <= self.since_us:
            return self.spans
        return [*self.spans, Span(self.since_us, now_us, self.doing, self.since_press)]


def fold_shift(rows: Iterable[Row]) -> tuple[Shift | None, list[Odd]]:
    """The shift told by its rows, in the order of `engine.facts.rows.believed_rows`.

    Returns: the shift, None if nobody clocked on by them; and its rows set aside.
    """
    return told_by(rows, _taken)


def shift_after(shift: Shift | None, row: Row) -> tuple[Shift | None, Odd | None]:
    """The shift after one more row, and the row if it is set aside; `shift` stays as it is.

    shift: None if nobody clocked on before.
    """
    copy = None
    if shift is not None:
        copy = replace(
            shift,
            spans=shift.spans.copy(),
            gaps=shift.gaps.copy(),
            answers=shift.answers.copy(),
            judged=shift.judged.copy(),
            facts=shift.facts.copy(),
            jobs=shift.jobs.copy(),
            odd=shift.odd.copy(),
        )
    return told_after(copy, row, _taken)


def _taken(shift: Shift | None, row: Row) -> Shift | None:
    """The shift, changed by a row, or begun by it; raises CannotBe and changes nothing."""
    if shift is not None and row.worker != shift.worker:
        raise CannotBe(f"this is the shift of {shift.worker}")
    state: ShiftState = "new" if shift is None else shift.state
    if row.kind in TURNING:
        if row.kind not in SHIFT_TABLE[state]:
            raise CannotBe(f"{row.kind} cannot be while {_SPOKEN[state]}")
        if shift is None:
            return _begun(row)
        _turn(shift, row)
    elif row.kind in _ANY_TIME:
        if shift is None:
            raise CannotBe(_SPOKEN[state])
        _answer(shift, row)
    elif row.kind in _INSIDE:
        if shift is None or not shift.on_clock:
            raise CannotBe(f"{row.kind} cannot be while {_SPOKEN[state]}")
        shift.facts.append(row)
    elif isinstance(row.event, ev.Unknown):
        raise CannotBe("this version cannot read it")
    return shift


_SPOKEN: dict[ShiftState, str] = {
    "new": "nobody is clocked on",
    "free": "nothing is in hand",
    "hands": "work is in hand",
    "break": "a break is on",
    "other": "other work is on",
    "off": "the shift is over",
}


def _begun(row: Row) -> Shift:
    assert isinstance(row.event, ev.ClockedOn), "nothing else is in the table's row of new"
    return Shift(
        id=row.shift,
        worker=row.worker,
        on=row.event,
        on_us=row.at_us,
        doing=Free(),
        since_us=row.at_us,
        since_press=row.press,
    )


def _turn(shift: Shift, row: Row) -> None:
    event = row.event
    after: Doing | None
    if isinstance(event, ev.OtherWorkAssigned):
        # Whose it is says nothing of when: the stretch stays one.
        if isinstance(shift.doing, Other):
            shift.doing = replace(shift.doing, job=event.job)
        return
    match event:
        case ev.BreakTaken():
            after = Break(event.what, event.planned_s)
        case ev.OtherWorkStarted():
            after = Other(event.what, event.job)
        case ev.WorkStarted():
            after = Hands(row.job, event.stage, event.sections, event.turn)
            if row.job not in shift.jobs:
                shift.jobs.append(row.job)
        case ev.WorkPutDown() | ev.StepFinished():
            after = _rest_of_hands(shift, row, event)
        case ev.ClockedOff(told=told):
            # engine/now/DECISIONS.md 8.
            after, shift.off_us, shift.told = None, row.at_us, told
        case _:
            after = Free()
    if shift.doing is not None and row.at_us > shift.since_us:
        shift.spans.append(Span(shift.since_us, row.at_us, shift.doing, shift.since_press))
    shift.doing, shift.since_us, shift.since_press = after, row.at_us, row.press


def _rest_of_hands(shift: Shift, row: Row, event: ev.WorkPutDown | ev.StepFinished) -> Doing:
    hands = shift.doing
    if (
        not isinstance(hands, Hands)
        or (hands.job, hands.stage, hands.turn) != (row.job, event.stage, event.turn)
        or not event.sections
        or not set(event.sections) <= set(hands.sections)
    ):
        raise CannotBe("something else is in hand")
    left = tuple(name for name in hands.sections if name not in event.sections)
    return replace(hands, sections=left) if left else Free()


def _answer(shift: Shift, row: Row) -> None:
    match row.event:
        case ev.GapJudged() as answer:
            if answer.from_us >= answer.to_us:
                raise CannotBe("a stretch ends before it begins")
            shift.answers.append(answer)
        case ev.BreakJudged() as judged:
            shift.judged.append(judged)
        case ev.GapFound() as gap:
            if gap.from_us >= gap.to_us:
                raise CannotBe("a stretch ends before it begins")
            shift.gaps.append(gap)
        case _:
            shift.facts.append(row)
