"""One picture of one instant, by one reading of the clock: what screens, alarms and keys say.

It is made of the folds once, and holds until a row is written or until the instant that its parts
name; before that only its lengths of time go on.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

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
from cartclock.engine.until import Lasting, bare, lasting


class Facts(Struct, frozen=True, eq=False):
    """What a moment is made of, but for the clock.

    Fields:
        seq: the newest row it knows of.
        left: how many parts of what is known of old jobs were still to be made.
        jobs: by id.
        shifts: of the worker and, where there is one, the helper: the newest, on or off, with
            what others measured at its place.
        own: of each their watched sections, by product.
        known_products: keys of the products this cart ever used; None: not to be asked about.
        rest_place: climate where rests are taken; None: where the work is.
        meal: when the workers eat, by the clock; None: not settled.
    """

    seq: int
    left: int
    jobs: Mapping[str, Job]
    shifts: Mapping[str, Shift]
    own: Mapping[str, Own]
    known_products: frozenset[str] | None
    rest_place: ev.ReadingTaken | None
    meal: datetime.time | None = None


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


class _Reckoned(Struct, frozen=True):
    """What takes time to reckon, for the worker and the helper."""

    watches: tuple[Watch | None, ...]
    moves: tuple[tuple[Move, ...], ...]
    questions: tuple[Question, ...]
    promises: tuple[PromiseAsked, ...]
    alarms: tuple[Alarm, ...]


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
        reckoned: stands for all of it that took reckoning: the same one, the same said, but for
            lengths of time.
    """

    now_us: Instant
    sure: bool
    facts: Facts
    me: Hand
    helper: Hand | None
    questions: tuple[Question, ...]
    promises: tuple[PromiseAsked, ...]
    alarms: tuple[Alarm, ...]
    reckoned: Lasting[_Reckoned]

    @property
    def until_us(self) -> Instant:
        """Before this instant, and without a new row, only lengths of time are others."""
        return Instant(self.reckoned.until_us)

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
        return Scene(who, shift, facts.jobs, self.now_us, lambda: known, self.me.own)

    def at(self, now_us: Instant, sure: bool) -> Moment:
        """The moment at an instant from `now_us` on and before `until_us`: its clocks go on."""
        return _told(self.facts, self.reckoned, now_us, sure, (self.me, self.helper))


def moment(facts: Facts, worker: str, helper: str, now_us: Instant, sure: bool) -> Moment:
    """Everything at `now_us`.

    Args:
        helper: the second worker; "" if there is none.
        sure: False if the clocks cannot tell the time.
    """
    reckoned = lasting(lambda now_us: _reckoned(facts, (worker, helper), Instant(now_us)), now_us)
    hands = tuple(
        Hand(name, facts.shifts.get(name), None, (), facts.own[name]) if name else None
        for name in (worker, helper)
    )
    me, second = hands
    assert me is not None
    return _told(facts, reckoned, now_us, sure, (me, second))


def _told(
    facts: Facts,
    reckoned: Lasting[_Reckoned],
    now_us: Instant,
    sure: bool,
    hands: tuple[Hand, Hand | None],
) -> Moment:
    found = reckoned.at(now_us)
    me, helper = hands
    return Moment(
        now_us=now_us,
        sure=sure,
        facts=facts,
        me=replace(me, watch=found.watches[0], moves=found.moves[0]),
        helper=helper and replace(helper, watch=found.watches[1], moves=found.moves[1]),
        questions=found.questions,
        promises=found.promises,
        alarms=found.alarms,
        reckoned=reckoned,
    )


def _reckoned(facts: Facts, workers: tuple[str, str], now_us: Instant) -> _Reckoned:
    worker, helper = workers
    own_shift = facts.shifts.get(worker)
    judged = (own_shift, facts.shifts.get(helper) if helper else None)
    without_rests = tuple(_moves(facts, name, now_us) for name in workers)
    fared = tuple(
        _fared(facts, shift, now_us, found)
        for shift, found in zip(judged, without_rests, strict=True)
    )
    watches = tuple(fares for fares, _found in fared)
    return _Reckoned(
        watches,
        tuple(
            _with_rest(facts, name, fares, found, now_us)
            for name, (fares, found) in zip(workers, fared, strict=True)
        ),
        () if own_shift is None else questions(own_shift, facts.jobs, now_us),
        promise_questions(facts.jobs.values(), now_us),
        alarms(facts.jobs, own_shift, now_us, watches[0]),
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
    facts: Facts, worker: str, fares: Watch | None, found: tuple[Move, ...], now_us: Instant
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
