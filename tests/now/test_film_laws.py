"""Two workers, two cars, heat and readings, in any order: the laws of the film always hold.

While a film is in play no rest stands on the screen and the large key never puts it down; no
press names a closed job; no coat begins on unfinished sections, and no job closes on films that
nobody looked at, without a question.
"""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_play import in_play, lays_film
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import Draft
from cartclock.engine.facts.turn import Turn
from cartclock.engine.films.undone import UNDONE
from cartclock.engine.now.at_hand import job_at_hand
from cartclock.engine.now.glance import glance
from cartclock.engine.now.moment import Hand, Moment
from cartclock.engine.plan.plan import Check, Gap, Plan, Stage, Use, Wait, Work
from cartclock.engine.rules import changes, looks, rules
from cartclock.engine.rules.film_left import FILM_LEFT
from cartclock.engine.rules.rules import Drafts
from cartclock.engine.trouble import Asks, Refused
from tests.kit.memory import InMemory
from tests.kit.plainly import holds_a_film, never_looked_at, not_done_before, wet
from tests.kit.plans import PRODUCTS

PARTS = 4
WORKERS = ("me", "mate")
PANELS = ("bonnet", "roof", "door")
WASH = Stage(
    "Wash", ("car",), (Work("foam", 5.0), Wait("dwell", 120, 180, 300), Work("rinse", 5.0))
)
CUT = Stage("Cut", PANELS, (Work("cut", 10.0),), effort="heavy")
WIPE = Stage("Wipe", PANELS, (Work("wipe", 2.0),))
COAT = Stage(
    "Coat",
    PANELS,
    (Work("apply", 2.0, (Use("coat", 10.0),)), Wait("flash", 60, 90, 240), Work("level", 2.0)),
    order="wave",
    kind="coat",
    layers=2,
    gap=Gap(1200, 1800, 43200),
)
# The next section is laid long before the film can be worked.
SLOW = replace(COAT, steps=(COAT.steps[0], Wait("flash", 600, 700, 2400), COAT.steps[2]))
GLASS = replace(
    COAT,
    name="Glass",
    sections=("screen",),
    layers=1,
    gap=None,
    check=Check(600, 1800, "panel", "light over it"),
)
PLANS = (
    Plan("coat", (WASH, CUT, WIPE, COAT, GLASS), PRODUCTS),
    Plan("slow", (CUT, WIPE, SLOW), PRODUCTS),
)
READINGS = (
    ev.ReadingTaken(air_c=22.0, rh=50.0, panel_c=22.0),
    ev.ReadingTaken(air_c=38.0, rh=30.0, panel_c=40.0, place="outdoor shade"),
    ev.ReadingTaken(air_c=16.0, rh=71.0, panel_c=13.0),
)

who = st.sampled_from(WORKERS)
pick = st.integers(0, 99)
yes = st.booleans()
once = st.sampled_from((1, 1, 1, 2))


def well(hand: Hand) -> bool:
    """False for a worker whose signs are stronger than any film."""
    return hand.watch is None or hand.watch.unwell is None


class FilmLaws(RuleBasedStateMachine):
    """What is pressed, and what must hold after every press."""

    @initialize(jobs=once, hands=once, plan=st.integers(0, 1), hot=yes, left=pick)
    def begin(self, jobs: int, hands: int, plan: int, hot: bool, left: int) -> None:
        self.cart = InMemory(WORKERS)
        for number in range(jobs):
            opened = ev.JobOpened(PLANS[(plan + number) % 2], "", number + 1, "green estate")
            self.cart.write("me", rules.open_job(self.cart.scene("me"), f"job-{number}", opened))
        for worker in WORKERS[:hands]:
            self.clock_on(worker)
            self.do(worker, rules.note_shift, replace(READINGS[hot], confirmed=True))
        # Most days begin shortly before the coat, with one section forgotten, or with its first
        # film; some of them after an hour of work.
        job = self.cart.jobs["job-0"]
        before = [one for one in job.sections.values() if one.stage not in ("Coat", "Glass")]
        if left % 4 == 0:
            return
        for one in (s for at, s in enumerate(before) if at != left % len(before)):
            if one.stage != "Wash" or left % 3:
                self.do("me", changes.skip, job.id, one.stage, (one.name,), "done yesterday")
        if left % 3 == 0:
            self.take("me", self.cart.hand("me").moves[0], True)
            self.wind(3300)
            self.do("me", rules.note_shift, replace(READINGS[hot], confirmed=True))
        if left % 4 > 1:
            laid = Move("take up", job.id, "Coat", (PANELS[0],), Turn())
            self.take("me", laid, True)
            self.wind(120)

    # What a worker does.

    def do(self, worker: str, rule: object, *facts: object, **more: object) -> bool:
        """One press that may be refused or asked about; True if it was written."""
        with suppress(Refused, Asks):
            drafts: Drafts = rule(self.cart.scene(worker), *facts, **more)  # type: ignore[operator]  # a rule
            self.cart.write(worker, drafts)
            return True
        return False

    def take(self, worker: str, move: Move, insist: bool, finish: bool = True) -> None:
        """Takes a move up as the large key does, and looks at what was asked and written."""
        fares, scene = self.cart.hand(worker).watch, self.cart.scene(worker)
        called = fares is not None and fares.rest_next
        called = called and (fares.rest_now or move.act != "rest")  # type: ignore[union-attr]  # not None
        over: dict[str, str] = {}
        while True:
            try:
                drafts = rules.take_up(scene, move, over, finish, rest_called=called)
                break
            except Refused:
                return
            except Asks as asks:
                if not insist:
                    return
                assert asks.rule_id not in over
                over[asks.rule_id] = "said again"
        self.no_coat_unasked(worker, move, drafts, finish)
        self.cart.write(worker, drafts)

    @rule(worker=who, presses=st.integers(1, 6), seconds=st.integers(1, 400), insist=yes)
    def space(self, worker: str, presses: int, seconds: int, insist: bool) -> None:
        for _ in range(presses):
            moves = self.cart.hand(worker).moves
            if not moves:
                return
            if moves[0].act == "look" and moves[0].sections:
                where = (moves[0].job, moves[0].stage, moves[0].sections)
                self.do(worker, looks.find_fine, *where)
            self.take(worker, moves[0], insist)
            self.wind(seconds)

    @rule(worker=who, number=pick, insist=yes, finish=yes)
    def other_move(self, worker: str, number: int, insist: bool, finish: bool) -> None:
        moves = self.cart.hand(worker).moves
        if moves:
            self.take(worker, moves[number % len(moves)], insist, finish)

    @rule(worker=who, number=pick, how=st.sampled_from(("skip", "redo", "split", "off", "on")))
    def change(self, worker: str, number: int, how: str) -> None:
        places = [
            (j.id, s.stage, s.name) for j in self.cart.jobs.values() for s in j.sections.values()
        ]
        job, stage, name = places[number % len(places)]
        if how == "skip":
            self.do(worker, changes.skip, job, stage, (name,), "not needed")
        elif how == "redo":
            self.do(worker, changes.redo, job, stage, (name,), "high spot", 1 + number % 2)
        elif how == "split":
            self.do(worker, changes.split, job, stage, name, (f"{name} 1", f"{name} 2"))
        elif how == "off":
            self.do(worker, rules.clock_off, {"window_open": "done again"})
        else:
            self.clock_on(worker)

    @rule(worker=who, what=st.sampled_from(("down", "rest", "phone", "drink", "dizzy")), finish=yes)
    def pause(self, worker: str, what: str, finish: bool) -> None:
        if what == "down":
            self.do(worker, rules.put_down)
        elif what == "rest":
            self.leave(worker, rules.take_break, "rest", 900, finish)
        elif what == "phone":
            self.leave(worker, rules.start_other, "phone", "", finish)
        elif what == "drink":
            self.do(worker, rules.note_shift, ev.DrinkTaken(250))
        elif self.cart.at_s % 5 == 0:
            self.do(worker, rules.note_shift, ev.FeltUnwell(("dizziness",)))

    def leave(self, worker: str, rule: object, *facts: object) -> None:
        """A break or other work: no film is put down for it unless that was said."""
        wet = holds_a_film(self.cart.jobs, self.cart.shifts.get(worker))
        wet = wet and well(self.cart.hand(worker))
        with suppress(Refused, Asks):
            drafts: Drafts = rule(self.cart.scene(worker), *facts)  # type: ignore[operator]  # a rule
            assert not wet or not [one for one in drafts if isinstance(one.event, ev.WorkPutDown)]
            self.cart.write(worker, drafts)
            return
        if self.cart.at_s % 2:
            self.do(worker, rule, *facts, over={FILM_LEFT: "it is done again"})

    @rule(worker=who, which=st.integers(0, 2))
    def read(self, worker: str, which: int) -> None:
        self.do(worker, rules.note_shift, replace(READINGS[which], confirmed=True))

    @rule(worker=who, number=pick, close=yes)
    def hand_over(self, worker: str, number: int, close: bool) -> None:
        job = f"job-{number % len(self.cart.jobs)}"
        if close and number % 5 == 0:
            over = dict.fromkeys(("unfinished", "not_looked", "handover_early"), "agreed")
            self.do(worker, rules.close_job, job, over)
        elif not close:
            self.do(worker, rules.reopen_job, job, "came back")

    def clock_on(self, worker: str) -> None:
        self.do(worker, rules.clock_on, ev.ClockedOn("carport"))

    @rule(seconds=st.one_of(st.integers(1, 300), st.integers(300, 5000)))
    def wind(self, seconds: int) -> None:
        self.cart.at_s += seconds
        for worker in WORKERS:
            # What is due is told by the machine, as the ticks of the program do.
            fares = self.cart.hand(worker).watch
            if fares is not None and fares.rest == "due" and fares.call is not None:
                self.cart.write(worker, (Draft(fares.call),))

    # What must hold.

    @invariant()
    def the_laws_hold(self) -> None:
        now = self.cart.moment()
        for worker in WORKERS:
            hand, shift = self.cart.hand(worker), self.cart.shifts.get(worker)
            if shift is not None and shift.state not in ("new", "off"):
                self.no_rest_over_a_film(now, hand)
                self.no_closed_job(now, hand)
                self.space_leaves_no_film(now, hand)
                self.no_job_closes_unlooked(now, hand)
                self.in_order(hand)
                self.the_wave_stays(now, hand)

    def no_rest_over_a_film(self, now: Moment, hand: Hand) -> None:
        """While a film is in play no rest stands on the screen, nor is one the first move."""
        if not (wet(now.jobs.values(), now.now_us) and well(hand)):
            return
        chosen = next(iter(hand.moves), None)
        seen = glance(now.jobs, hand.shift, now.now_us, chosen, 0, hand.watch)
        assert not [face.word for face in seen.faces if face.field == "rest"]
        assert chosen is None or chosen.act != "rest"

    def no_closed_job(self, now: Moment, hand: Hand) -> None:
        """No move is of a closed job, and none writes into one; nor is one at hand."""
        at_hand = job_at_hand(now.jobs, hand.shift)
        assert at_hand is None or at_hand.state == "open"
        for move in hand.moves:
            assert not move.job or now.jobs[move.job].state == "open"
            with suppress(Refused):
                drafts = self.cart.asks(hand.worker, rules.take_up, move)
                assert all(now.jobs[one.job].state == "open" for one in drafts if one.job)

    def space_leaves_no_film(self, now: Moment, hand: Hand) -> None:
        """The large key never puts down what lays or ends a film."""
        if not (holds_a_film(self.cart.jobs, hand.shift) and hand.moves and well(hand)):
            return
        fares = hand.watch
        called = fares is not None and fares.rest_now
        with suppress(Refused):
            drafts = self.cart.asks(hand.worker, rules.take_up, hand.moves[0], rest_called=called)
            assert not [one for one in drafts if isinstance(one.event, ev.WorkPutDown)]

    def no_job_closes_unlooked(self, now: Moment, hand: Hand) -> None:
        """Closing a job asks about every film that nobody looked at."""
        for job in now.jobs.values():
            with suppress(Refused):
                *_, closing = self.cart.asks(hand.worker, rules.close_job, job.id)
                assert isinstance(closing.event, ev.JobClosed)
                ended = self.cart.scene(hand.worker).ended(finish=True)[job.id]
                assert "not_looked" in closing.event.over or not never_looked_at(ended)

    def in_order(self, hand: Hand) -> None:
        """What the large key lays is the first of its stage that can be laid; it works no film, and
        lays no layer, before it is time.
        """
        move = next(iter(hand.moves), None)
        assert move is None or move.why != "early"
        if move is None or move.act != "take up" or move.turn.step != 0:
            return
        jobs = self.cart.scene(hand.worker).ended(finish=True)
        there = jobs[move.job].of(move.stage)
        if not lays_film(jobs[move.job].stage(move.stage), 0):
            return
        first = next(index for index, one in enumerate(there) if one.name == move.sections[0])
        if there[first].state == "held":
            return
        for index, one in enumerate(there):
            opens_us = None if one.window is None else one.window.opens_us
            layable = one.turn.step == 0 and (
                one.state == "todo"
                or (
                    one.state == "waiting" and opens_us is not None and opens_us <= self.cart.now_us
                )
            )
            place = (one.turn.layer, index)
            assert not (layable and place < (move.turn.layer, first)), f"{one.name} before {move}"

    def the_wave_stays(self, now: Moment, hand: Hand) -> None:
        """Beside a film of their own the large key sends nobody to another stage, as long as
        something of that one is awake. Asked where there is one car and nobody else.
        """
        if len(now.jobs) > 1 or any(one.worker == "mate" for one in self.cart.shifts.values()):
            return
        ((job_id, job),) = now.jobs.items()
        wet = {section.stage for section in in_play(job, now.now_us)}
        move = next(iter(hand.moves), None)
        if not wet or move is None or move.why not in ("order", "held") or move.stage in wet:
            return
        after = self.cart.scene(hand.worker).ended(finish=True)[job_id]
        for section in (one for stage in wet for one in after.of(stage)):
            window = section.window
            asleep = window is not None and window.kind == "gap" and window.opens_us > now.now_us
            awake = section.state in ("todo", "held", "waiting") and not asleep
            assert not awake, f"{section.stage} {section.name} is awake beside {move}"

    def no_coat_unasked(self, worker: str, move: Move, drafts: Drafts, finish: bool) -> None:
        """A layer of a coat begins in order, under a running wave, or with an answer."""
        scene = self.cart.scene(worker)
        begun = [one.event for one in drafts if isinstance(one.event, ev.WorkStarted)]
        if move.act != "take up" or not begun or begun[0].turn.step != 0:
            return
        after = scene.ended(finish)
        job = after[move.job]
        own = [job.sections[move.stage, name] for name in move.sections]
        wave = [one for one in wet(after.values(), scene.now_us) if one.state != "held"]
        if job.stage(move.stage).kind != "coat" or wave:
            return
        if not not_done_before(job, move.stage) or all(one.state == "held" for one in own):
            return
        assert UNDONE in begun[0].over or _said(job, move.stage, move.turn)


def _said(job: Job, stage: str, turn: Turn) -> bool:
    """True if going on was said when another section of the same layer was begun."""
    return any(
        UNDONE in row.event.over and row.event.turn == turn
        for row in job.overruled
        if isinstance(row.event, ev.WorkStarted) and row.event.stage == stage
    )


def test_a_film_put_down_half_laid_goes_on_while_a_rest_waits_for_it() -> None:
    day = FilmLaws()
    day.begin(jobs=1, hands=1, plan=0, hot=True, left=2)
    day.do("me", rules.put_down)
    hand = day.cart.hand("me")
    assert hand.watch is not None
    assert hand.watch.rest == "after the film"
    first = hand.moves[0]
    assert (first.act, first.stage, first.why) == ("take up", "Coat", "held")
    day.the_laws_hold()


@pytest.mark.parametrize("part", range(PARTS))
def test_the_laws_of_the_film(part: int) -> None:
    goes(part, settings(max_examples=20 // PARTS, stateful_step_count=30))


@pytest.mark.long
@pytest.mark.parametrize("part", range(PARTS))
def test_the_laws_of_the_film_for_long(part: int) -> None:
    goes(part, settings(max_examples=2400 // PARTS, stateful_step_count=60))


def goes(part: int, how: settings) -> None:
    """One of several machines that differ in their name, and with it in their examples."""
    machine = type(f"FilmLaws{part}", (FilmLaws,), {})
    run_state_machine_as_test(machine, settings=how)
