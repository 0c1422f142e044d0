"""One picture of one instant, by one reading of the clock: what screens, alarms and keys say.

It is made of the folds once, and holds until a row is written or until the instant that its parts
name; before that only its lengths of time go on.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping, Sequence
from functools import partial

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.after.visits import NEVER_CLOSED, Closed
from cartclock.engine.ahead.foreseen import Foreseen, Foresight, Learned, nothing_learned
from cartclock.engine.ahead.meal import until_meal_us
from cartclock.engine.ahead.promises import PromiseAsked, promise_questions
from cartclock.engine.ahead.sequence import sequence
from cartclock.engine.body.budget import Ahead
from cartclock.engine.body.watch import Watch, watch
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_play import in_play, lays_film
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.shift import Hands, Shift
from cartclock.engine.films.flashing import Own
from cartclock.engine.hours.questions import Question, questions
from cartclock.engine.hours.usual import on_it_us
from cartclock.engine.now.alarm import alarms
from cartclock.engine.now.easing import eased
from cartclock.engine.now.moves import moves
from cartclock.engine.now.ringing import Alarm
from cartclock.engine.now.scene import Scene
from cartclock.engine.times import Instant
from cartclock.engine.until import Kept, bare


class Facts(Struct, frozen=True, eq=False):
    """What a moment is made of, but for the clock.

    Fields:
        seq: the newest row it knows of.
        left: how many parts of what is known of old jobs were still to be made.
        times_read: how often the log was read into sight, which makes new folds of the same rows.
        jobs: by id.
        shifts: of the worker and, where there is one, the helper: the newest, on or off, with
            what others measured at its place.
        own: of each their watched sections, by product.
        known_products: keys of the products this cart ever used; None: not to be asked about.
        rest_place: climate where rests are taken; None: where the work is.
        meal: when the workers eat, by the clock; None: not settled.
        learned: asks what is known of the worker from what was done before.
        closed: when there is no work.
        shifts_before: of each the last shift before, as `shift_before` has it.
    """

    seq: int
    left: int
    jobs: Mapping[str, Job]
    shifts: Mapping[str, Shift]
    own: Mapping[str, Own]
    known_products: frozenset[str] | None
    rest_place: ev.ReadingTaken | None
    meal: datetime.time | None = None
    times_read: int = 0
    learned: Callable[[], Learned] = nothing_learned
    closed: Closed = NEVER_CLOSED
    shifts_before: Mapping[str, Shift | None] = {}

    def is_of(self, seq: int, left: int, times_read: int) -> bool:
        """Whether these are the facts of that row and of what was read and learned by then."""
        return (self.seq, self.left, self.times_read) == (seq, left, times_read)


class Hand(Struct, frozen=True, eq=False):
    """One worker at one instant.

    Fields:
        worker: the name.
        shift: the newest one, on or off; None if there never was one.
        watch: how the worker fares; None off the clock.
        moves: what can be taken up, best first; a rest that is called comes before everything.
        own: watched sections that are learned from, by product.
    """

    worker: str
    shift: Shift | None
    watch: Watch | None
    moves: tuple[Move, ...]
    own: Own

    @property
    def on(self) -> Shift | None:
        """The shift while the worker is on the clock, else None."""
        return None if self.shift is None or not self.shift.on_clock else self.shift


class _Parts:
    """What takes time to reckon of the same facts, part by part, each anew when it may be another:
    the heat of whoever has something in hand is reckoned every few seconds, and what can be taken
    up only when that changes.

    Args:
        workers: the worker and the helper, "" if there is none.
    """

    def __init__(self, facts: Facts, workers: tuple[str, str]) -> None:
        self.facts, self.workers = facts, workers
        self.ahead = Foresight(partial(_foreseen, facts, workers[0]))
        self._moves: tuple[Kept[tuple[Move, ...]], ...] = (Kept(), Kept())
        self._fares: tuple[Kept[tuple[Watch | None, tuple[Move, ...]]], ...] = (Kept(), Kept())
        self._questions: Kept[tuple[Question, ...]] = Kept()
        self._promises: Kept[tuple[PromiseAsked, ...]] = Kept()
        self._alarms: Kept[tuple[Alarm, ...]] = Kept()

    @property
    def until_us(self) -> Instant:
        """Until when all of them hold."""
        # What can be taken up is a part of how a worker fares.
        fares = min(one.until_us for one in self._fares)
        others = (self._questions.until_us, self._promises.until_us, self._alarms.until_us)
        return Instant(min(fares, *others))

    def hand(self, number: int, now_us: Instant) -> Hand | None:
        """One of the workers; None if there is none of that number."""
        facts, name = self.facts, self.workers[number]
        fares, found = self._fared(number, now_us)
        return Hand(name, facts.shifts.get(name), fares, found, facts.own[name]) if name else None

    def questions(self, now_us: Instant) -> tuple[Question, ...]:
        """What only the worker knows."""

        def answer(now_us: int) -> tuple[Question, ...]:
            shift = self.facts.shifts.get(self.workers[0])
            return () if shift is None else questions(shift, self.facts.jobs, Instant(now_us))

        return self._questions.at(now_us, None, answer)

    def promises(self, now_us: Instant) -> tuple[PromiseAsked, ...]:
        """Of which nobody was told."""
        jobs = self.facts.jobs.values()
        return self._promises.at(
            now_us, None, lambda now_us: promise_questions(jobs, self.ahead, Instant(now_us))
        )

    def alarms(self, now_us: Instant) -> tuple[Alarm, ...]:
        """What is to be heard."""

        def answer(now_us: int) -> tuple[Alarm, ...]:
            at_us, shift = Instant(now_us), self.facts.shifts.get(self.workers[0])
            return alarms(self.facts.jobs, shift, at_us, self._fared(0, at_us)[0])

        return self._alarms.at(now_us, None, answer)

    def _fared(self, number: int, now_us: Instant) -> tuple[Watch | None, tuple[Move, ...]]:
        """How a worker fares, and what can be taken up."""
        facts, worker, moves = self.facts, self.workers[number], self._moves[number]

        def answer(now_us: int) -> tuple[Watch | None, tuple[Move, ...]]:
            at_us = Instant(now_us)
            found = moves.at(at_us, None, lambda now_us: _moves(facts, worker, Instant(now_us)))
            fares, found = _fared(facts, facts.shifts.get(worker), at_us, found)
            return fares, _with_rest(facts, fares, found, at_us)

        return self._fares[number].at(now_us, None, answer)


class Moment(Struct, frozen=True, eq=False):
    """Everything that is so at one instant.

    Fields:
        now_us: job time.
        sure: False if the clocks cannot tell it and nobody has said it.
        facts: what it was made of.
        me: the worker.
        helper: the second worker; None if there is none.
        questions: what only the worker knows about the newest shift.
        promises: of which nobody was told that they are moved, or can be kept no longer.
        alarms: what is to be heard of the cart, the most urgent first.
        until_us: before this instant, and without a new row, only lengths of time are others.
        parts: what of it took reckoning, to be gone on with.
    """

    now_us: Instant
    sure: bool
    facts: Facts
    me: Hand
    helper: Hand | None
    questions: tuple[Question, ...]
    promises: tuple[PromiseAsked, ...]
    alarms: tuple[Alarm, ...]
    until_us: Instant
    parts: _Parts

    @property
    def jobs(self) -> Mapping[str, Job]:
        """All jobs at hand, by id."""
        return self.facts.jobs

    @property
    def scene(self) -> Scene:
        """What a rule looks at if the worker presses at this instant."""
        facts, who = self.facts, self.me.worker
        shift = facts.shifts.get(who)
        known = facts.known_products
        return Scene(
            who, shift, facts.jobs, self.now_us, lambda: known, self.me.own, self.ahead.factors
        )

    @property
    def ahead(self) -> Foresight:
        """What is ahead of the worker, reckoned when it is asked for."""
        return self.parts.ahead

    def at(self, now_us: Instant, sure: bool) -> Moment:
        """The moment at another instant: its clocks go on, and what may be another by then is
        reckoned anew.
        """
        return _told(self.parts, now_us, sure)


def moment(facts: Facts, worker: str, helper: str, now_us: Instant, sure: bool) -> Moment:
    """Everything at `now_us`.

    Args:
        helper: the second worker; "" if there is none.
        sure: False if the clocks cannot tell the time.
    """
    return _told(_Parts(facts, (worker, helper)), now_us, sure)


def _told(parts: _Parts, now_us: Instant, sure: bool) -> Moment:
    me, helper = (parts.hand(number, now_us) for number in range(2))
    assert me is not None
    return Moment(
        now_us=now_us,
        sure=sure,
        facts=parts.facts,
        me=me,
        helper=helper,
        questions=parts.questions(now_us),
        promises=parts.promises(now_us),
        alarms=parts.alarms(now_us),
        until_us=parts.until_us,
        parts=parts,
    )


def _foreseen(facts: Facts, worker: str) -> Foreseen:
    return Foreseen(
        facts.jobs,
        facts.shifts.get(worker),
        facts.learned(),
        facts.meal,
        facts.rest_place,
        facts.closed,
        facts.shifts_before.get(worker),
    )


def _moves(facts: Facts, worker: str, now_us: Instant) -> tuple[Move, ...]:
    shift = facts.shifts.get(worker)
    return () if shift is None else moves(facts.jobs, shift, now_us, facts.own[worker])


def _fared(
    facts: Facts, shift: Shift | None, now_us: Instant, found: tuple[Move, ...]
) -> tuple[Watch | None, tuple[Move, ...]]:
    """How a worker fares by the plan, None off the clock, and what can be taken up: lighter work
    where there is no time for what is planned.
    """
    if shift is None or not shift.on_clock:
        return None, found

    def by(ahead: Ahead | None) -> Watch:
        return watch(shift, facts.jobs, now_us, facts.rest_place, ahead)

    ahead = _ahead(facts, shift, now_us, found)
    return eased(by(ahead), shift, facts.jobs, found, ahead, by)


def _ahead(facts: Facts, shift: Shift, now_us: Instant, found: tuple[Move, ...]) -> Ahead | None:
    """The plan ahead in the order of the moves; None if nothing is planned.

    It is of the bare instant: how long what is made of it may be told, the pace says.
    """
    jobs = facts.jobs
    hands = shift.doing if isinstance(shift.doing, Hands) else None
    front = [hands.job] if hands is not None else []
    order = dict.fromkeys([*front, *(move.job for move in found if move.job)])
    plain_us = Instant(bare(now_us))
    gone_us = None
    if hands is not None and hands.job in jobs:
        gone_us = bare(on_it_us(jobs[hands.job], hands, shift, plain_us))
    ahead = sequence(
        [jobs[job] for job in order if job in jobs],
        plain_us,
        until_meal_us(shift, facts.meal, plain_us),
        worker=shift.worker,
        hands_gone_us=gone_us,
    )
    return ahead if ahead.pieces else None


def _with_rest(
    facts: Facts, fares: Watch | None, found: tuple[Move, ...], now_us: Instant
) -> tuple[Move, ...]:
    """The moves with the rest in front that the large key takes, if it takes one."""
    if fares is not None and fares.rest == "after the film":
        return _before_rest(found, facts.jobs, now_us)
    if fares is None or not fares.rest_next:
        return found
    rest = Move("rest", minutes=fares.pace.rest_minutes, why="rest")
    # Where no rest buys work of what is ahead, lighter work comes first.
    lighter = found[:1] if fares.pace.eased else ()
    return (*lighter, rest, *found[len(lighter) :])


def _before_rest(
    found: Sequence[Move], jobs: Mapping[str, Job], now_us: Instant
) -> tuple[Move, ...]:
    """The moves while a rest waits for the films in play: these are ended, and no new one is laid.

    What is in hand comes to its end behind the windows that run, so that the rest is called before
    the next film; that one can be chosen all the same. A film that opens long from now is stood by:
    it is neither worked early nor left for other work. One that was put down half laid goes on.
    """
    held = {
        (job.id, section.stage, section.name)
        for job in jobs.values()
        for section in in_play(job, now_us)
        if section.state == "held"
    }
    waits = [move for move in found if move.why == "early" and _before_a_film(move, jobs)]
    if waits and not any(move.why in ("late", "window") for move in found):
        first = min(waits, key=lambda move: move.opens_us or 0)
        found = (replace(first, act="stand by", why="window"), *found)

    def rank(move: Move) -> int:
        if move.why in ("late", "window"):
            return 0
        goes_on = any((move.job, move.stage, name) in held for name in move.sections)
        if move.act == "end" or (move.act == "take up" and goes_on):
            return 1
        lays = move.act == "take up" and lays_film(jobs[move.job].stage(move.stage), move.turn.step)
        return 3 if lays or move.why == "early" else 2

    return tuple(sorted(found, key=rank))


def _before_a_film(move: Move, jobs: Mapping[str, Job]) -> bool:
    """True if a film waits in front of a move; the gap between two layers is none."""
    sections = jobs[move.job].sections
    windows = [sections[move.stage, name].window for name in move.sections]
    return any(window is not None and window.kind != "gap" for window in windows)
