"""Anything a worker could do, in any order, on a log on the disk: the laws always hold."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import initialize, precondition, rule, run_state_machine_as_test
from msgspec.structs import replace

from cartclock.engine.ahead.day_ahead import DayAhead
from cartclock.engine.ahead.durations import Belief
from cartclock.engine.ahead.job_ahead import JobAhead, left_in_hand, steps_of
from cartclock.engine.ahead.line_up import left_for_other
from cartclock.engine.ahead.play import play
from cartclock.engine.ahead.played import opening_s
from cartclock.engine.ahead.prospect import Prospect
from cartclock.engine.ahead.reckon import lengths_us, reckon
from cartclock.engine.desk.bench import Pressed
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.customer_events import PaidHow
from cartclock.engine.facts.in_play import film_runs
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import MINUTE_US, Draft
from cartclock.engine.facts.shift import Hands
from cartclock.engine.facts.shift_events import BreakKind, GapAnswer, OtherKind
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.now.moves import moves
from cartclock.engine.now.scene import Scene
from cartclock.engine.plan.plan import MOST_MINUTES, Product, Stage, Use, Wait, Work
from cartclock.engine.rules import changes, holding, looks, packs, plan_changes, rules
from cartclock.engine.rules.film_left import FILM_LEFT
from cartclock.engine.rules.handover import note_handover
from cartclock.engine.rules.rules import Drafts
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Asks, Refused
from tests.ahead.test_finish import CERTAIN
from tests.kit.book import us
from tests.kit.day import EXTRA, PLANS, WORKERS
from tests.kit.laptop import Laptop
from tests.kit.played_forward import Forward
from tests.kit.reckoner import SECOND_US

# The minutes of a layer are in thirds, so shares of this length fall on whole seconds.
SHARE_S = 3
PARTS = 8
# So many of them in a run without a word.
FEW = 3
# Several cases, so that several workers can share them.
SHARED = [
    pytest.param(part, marks=pytest.mark.xdist_group(f"anything goes {part}"))
    for part in range(PARTS)
]
NOTES = (
    ev.DamageNoted("bonnet", "chip"),
    ev.PaintRead("bonnet", "before", 96.0, 112.0),
    ev.PaintRead("bonnet", "after", 95.3, 95.3, (95.3,)),
    ev.GlossRead("bonnet", "before", 71.5),
    ev.OdometerRead(84210),
    ev.TrialJudged("Coat", "bonnet left", "finishing pad, speed 4", True),
    ev.UseCorrected("coat", 5.0),
    ev.UseCorrected("coat", -20.0),
    ev.WaterTouched("Coat", ("bonnet left",)),
    ev.SectionChecked("Coat", ("bonnet left",), "high spot", "re-wet and level"),
    ev.FreshTaken("Coat", "towel", "short towel", 2),
    ev.BeforeCoatRead("Coat", Turn(), ("Drink: none noted today",)),
    ev.PaperIssued("record", 1, ""),
    ev.IncidentNoted("bonnet", "spill"),
    ev.IncidentAmended(3, told=True),
    ev.CallBackPromised(us(3600)),
    ev.CallBackMoved(3, us(7200)),
    ev.CallBackEnded(3, "called"),
    ev.PaymentNoted("cash"),
    ev.PromiseTold("moved"),
    ev.ReadingTaken(air_c=31.5, rh=40.0, panel_c=44.0, place="sun"),
    ev.ReadingTaken(air_c=12.0, rh=90.0, panel_c=11.0),
    ev.DayExpected(5.0, 18.0),
    ev.DrinkTaken(250),
    ev.FeltUnwell(("headache",)),
    ev.CheckedIn(1800),
    ev.PackOpened("coat", 30.0, lot="A17", expires="2026-09-30", price="60.00"),
    ev.PackWeighed("coat", 21.5),
)
CHANGES = ("see", "see", "revise", "skip", "split", "section", "stage")
ASKS = ("layer_early", "coat_gate", "reading_ends", "undone_before", "rest_in_wave")
REASONS = dict.fromkeys(ASKS, "said again")

who = st.sampled_from(WORKERS)
pick = st.integers(0, 999)
yes = st.booleans()
ago = st.one_of(st.just(0), st.just(0), st.just(0), st.integers(1, 40 * 60))
breaks = st.sampled_from(("rest", "meal", "heat", "away"))
others = st.sampled_from(("phone", "driving"))
paid = st.sampled_from((None, "card", "cash"))
answers = st.sampled_from(("as it stood", "not known", "off", "meal", "away", "phone"))


def revise(scene: Scene, job_id: str, stage: str, section: str, closes_s: int) -> Drafts:
    """New marks for a running window, without asking any policy."""
    found = rules.section_of(scene.job(job_id), stage, section)
    if found.window is None:
        raise Refused(f"No window runs on {section}.")
    marks = Marks(30, 60, closes_s)
    return (Draft(ev.MarksRevised(stage, (section,), found.turn, marks), job_id),)


class AnythingGoes(Laptop):
    """Two workers and several jobs, on a laptop to which anything can happen."""

    @initialize(
        plan=st.integers(0, 2), hands=st.integers(1, 2), presses=st.integers(0, 30), two=yes
    )
    def begin(self, plan: int, hands: int, presses: int, two: bool) -> None:
        self.shown: tuple[Move, ...] = ()
        for number in range(1 + two):
            self.open_job("me", 0, (plan + number) % 3)
        for worker in WORKERS[:hands]:
            self.clock_on(worker, 0)
        for number in range(presses):
            self.plain_day(WORKERS[number % hands], 1, 61)

    # The shift.

    @rule(worker=who, ago=ago)
    def clock_on(self, worker: str, ago: int) -> None:
        self.do(worker, ago, rules.clock_on, ev.ClockedOn("carport"))

    @rule(worker=who, ago=ago, insist=yes)
    def clock_off(self, worker: str, ago: int, insist: bool) -> None:
        self.do_or_insist(insist, worker, ago, rules.clock_off)

    @rule(worker=who, seconds=st.integers(0, 12 * 3600))
    def next_shift(self, worker: str, seconds: int) -> None:
        self.clock_off(worker, 0, True)
        self.clock.wind(seconds)
        self.clock_on(worker, 0)

    @rule(worker=who, ago=ago, what=breaks, finish=yes)
    def take_break(self, worker: str, ago: int, what: BreakKind, finish: bool) -> None:
        self.do(worker, ago, rules.take_break, what, 900, finish)

    @rule(worker=who, ago=ago, what=others, job=pick, finish=yes)
    def other(self, worker: str, ago: int, what: OtherKind, job: int, finish: bool) -> None:
        serves = self.a_job(job) if job % 2 and self.bench.jobs else ""
        self.do(worker, ago, rules.start_other, what, serves, finish)

    @rule(worker=who, ago=ago, job=pick)
    def assign(self, worker: str, ago: int, job: int) -> None:
        serves = self.a_job(job) if job % 2 and self.bench.jobs else ""
        self.do(worker, ago, rules.assign_other, serves)

    @rule(worker=who, begin=pick, length=st.integers(1, 3600), was=answers)
    def judge_stretch(self, worker: str, begin: int, length: int, was: GapAnswer) -> None:
        shift = self.bench.shift(worker)
        from_us = (shift.on_us if shift else 0) + 4 * begin * SECOND_US
        self.do(worker, 0, rules.judge_gap, from_us, from_us + length * SECOND_US, was)

    @rule(worker=who, number=pick, counted=yes)
    def answer(self, worker: str, number: int, counted: bool) -> None:
        asked = self.bench.questions(worker)
        if not asked or self.stale:
            return
        question = asked[number % len(asked)]
        if question.kind == "break":
            result = self.do(worker, 0, rules.judge_break, question.from_us, counted)
        else:
            stretch = (question.from_us, question.to_us, question.guess)
            result = self.do(worker, 0, rules.judge_gap, *stretch)
        assert isinstance(result, Pressed), f"{question} cannot be answered: {result}"
        left = [(q.kind, q.from_us) for q in self.bench.questions(worker)]
        assert (question.kind, question.from_us) not in left

    # The work.

    @precondition(lambda self: len(self.bench.jobs) < 4)
    @rule(worker=who, ago=ago, plan=st.integers(0, 2))
    def open_job(self, worker: str, ago: int, plan: int) -> None:
        number = len(self.bench.log.job_summaries()) + 1
        sha256 = self.bench.keep_plan(f"plan {plan}")
        opened = ev.JobOpened(PLANS[plan], sha256, number, "green estate")
        self.do(worker, ago, rules.open_job, self.bench.new_id(), opened)

    def take(self, worker: str, ago: int, move: Move, insist: bool, finish: bool = True) -> None:
        over: Mapping[str, str] = REASONS if insist else {}
        scene, stale, passes = self.scene(worker, ago), self.stale, False
        with suppress(Asks, Refused):
            passes = bool(rules.take_up(scene, move, over, finish))
        result = self.do(worker, ago, rules.take_up, move, over, finish)
        if not stale:
            wave = film_runs(scene.ended(finish).values(), scene.now_us)
            if isinstance(result, Asks) and wave:
                # Only leaving the film and ending the job are asked about then.
                assert move.act == "close" or result.rule_id == FILM_LEFT, f"{move}: {result}"
            # What a rule lets pass now, the folds can take.
            assert isinstance(result, Pressed) or not passes or ago, f"{move}: {result}"

    @rule(worker=who, presses=st.integers(1, 8), seconds=st.integers(0, 240))
    def plain_day(self, worker: str, presses: int, seconds: int) -> None:
        for _ in range(presses):
            found = self.bench.moves(worker)
            if found:
                self.take(worker, 0, found[0], True)
                self.clock.wind(seconds)

    @rule(presses=st.integers(1, 16), seconds=st.integers(0, 240))
    def side_by_side(self, presses: int, seconds: int) -> None:
        for number in range(presses):
            self.plain_day(WORKERS[number % 2], 1, seconds)

    @rule(worker=who, ago=ago, number=pick, insist=yes, finish=yes)
    def any_move(self, worker: str, ago: int, number: int, insist: bool, finish: bool) -> None:
        scene = self.scene(worker, ago)
        found = () if scene.shift is None else moves(scene.jobs, scene.shift, scene.now_us)
        if number % 8 == 0:
            # A list on the screen may be older than what it shows.
            found, self.shown = self.shown, found
        if found:
            self.take(worker, ago, found[number % len(found)], insist, finish)

    @rule(worker=who, ago=ago)
    def put_down(self, worker: str, ago: int) -> None:
        self.do(worker, ago, rules.put_down)

    @rule(worker=who, ago=ago, number=pick, what=st.sampled_from(CHANGES), detail=pick)
    def change(self, worker: str, ago: int, number: int, what: str, detail: int) -> None:
        states = ("waiting",) if what in ("see", "revise") else ("todo", "held", "in hand")
        job, stage, name = self.a_section(number, *states)
        match what:
            case "see":
                self.do(worker, ago, rules.see, job, stage, name)
            case "revise":
                self.do(worker, ago, revise, job, stage, name, 60 + detail)
            case "skip":
                self.do(worker, ago, changes.skip, job, stage, (name,), "customer's wish")
            case "split":
                into = (f"{name} {'inner' if detail % 2 else 'outer'}", f"{name} half")
                self.do(worker, ago, changes.split, job, stage, name, into)
            case "section":
                to = (job, stage, f"sill {detail % 3}", "", name if detail % 2 else "")
                self.do(worker, ago, changes.add_section, *to)
            case "stage":
                after = stage if detail % 2 else ""
                self.do(worker, ago, changes.add_stage, job, EXTRA, after)

    @rule(worker=who, ago=ago, number=pick, layer=st.integers(1, 2))
    def redo(self, worker: str, ago: int, number: int, layer: int) -> None:
        job, stage, name = self.a_section(number, "done", "left out")
        self.do(worker, ago, changes.redo, job, stage, (name,), "high spot", layer)

    @rule(
        worker=who,
        ago=ago,
        number=pick,
        how=st.sampled_from(("fine", "unseen", "noted", "remedy", "layer", "all", "wet")),
    )
    def afterwards(self, worker: str, ago: int, number: int, how: str) -> None:
        job, stage, name = self.a_section(number, "done", "waiting", "todo")
        if how == "fine":
            self.do(worker, ago, looks.find_fine, job, stage, (name,))
        elif how == "unseen":
            self.do(worker, ago, looks.leave_unseen, job, stage, (name,), "no light for it")
        elif how == "wet":
            self.do(worker, ago, looks.get_wet, (self.a_job(number),))
        else:
            self.do(worker, ago, looks.find, job, stage, name, "high spot", how)

    @rule(worker=who, number=pick, count=st.integers(1, 3), back=st.integers(1, 60), length=pick)
    def fill_in(self, worker: str, number: int, count: int, back: int, length: int) -> None:
        if self.stale:
            # What is in hand by now, and since when, decides whether shares are whole seconds,
            # which is all that the reckoner beside it can take.
            return
        shift = self.bench.shift(worker)
        job, stage, name = self.a_section(number, "todo", "held", "waiting")
        names = [name]
        if job in self.bench.jobs:
            there = self.bench.jobs[job].of(stage)
            names += [s.name for s in there if s.name != name and not s.over][: count - 1]
        from_us = self.bench.now_us - back * len(names) * SHARE_S * SECOND_US
        if shift is not None and isinstance(shift.doing, Hands):
            job, stage = shift.doing.job, shift.doing.stage
            names, from_us = list(shift.doing.sections), shift.since_us
        to_us = from_us + (1 + length % back) * len(names) * SHARE_S * SECOND_US
        self.do(worker, 0, changes.fill_in, job, stage, tuple(names), from_us, to_us)

    @rule(worker=who, ago=ago, number=pick)
    def plan_otherwise(self, worker: str, ago: int, number: int) -> None:
        """Lengths and minutes of a stage are others, before it is begun, meanwhile or late."""
        job = self.bench.jobs.get(self.a_job(number))
        if job is None:
            return
        stage = job.stages[number % len(job.stages)]
        longest = max((step.minutes for step in stage.steps if isinstance(step, Work)), default=0)
        steps = tuple(
            replace(step, closes_s=step.closes_s + number % 60)
            if isinstance(step, Wait)
            # All of them by as much, so that shares of a layer fall on whole seconds as before.
            else replace(step, minutes=step.minutes * (2 if longest * 2 <= MOST_MINUTES else 1))
            for step in stage.steps
        )
        other = replace(stage, steps=steps)
        self.do(worker, ago, plan_changes.revise_stage, job.id, stage, other)

    @rule(worker=who, ago=ago, number=pick, first=yes)
    def stage_comes_or_moves(self, worker: str, ago: int, number: int, first: bool) -> None:
        """A stage comes with what it uses, which no plan names; or one goes to the front."""
        job = self.a_job(number)
        if first and job in self.bench.jobs:
            stages = self.bench.jobs[job].stages
            self.do(
                worker, ago, plan_changes.move_stage, job, stages[number % len(stages)].name, ""
            )
            return
        glass = Product("glass", "Glass coat", "drops")
        steps = (Work("lay", 1.0, (Use("glass", 3.0),)),)
        stage = Stage(f"Glass {number % 3}", ("roof",), steps)
        self.do(worker, ago, changes.add_stage, job, stage, "", (glass,))

    @rule(worker=who, ago=ago, number=pick)
    def note(self, worker: str, ago: int, number: int) -> None:
        sealed = ev.NoteWritten(self.bench.seal("swirls left [/x]"))
        about = (*NOTES, sealed)[number % (len(NOTES) + 1)]
        if type(about) in ev.JOB_EVENTS:
            self.do(worker, ago, rules.note_job, self.a_job(number), about)
        elif isinstance(about, ev.PackOpened):
            self.do(worker, ago, packs.open_pack, about)
        elif isinstance(about, ev.PackWeighed):
            self.do(worker, ago, packs.weigh, about)
        else:
            self.do(worker, ago, rules.note_shift, about)

    @rule(worker=who, ago=ago, number=pick, insist=yes)
    def close_job(self, worker: str, ago: int, number: int, insist: bool) -> None:
        self.do_or_insist(insist, worker, ago, rules.close_job, self.a_job(number))

    @rule(worker=who, ago=ago, number=pick)
    def give_or_part(self, worker: str, ago: int, number: int) -> None:
        """A job is said to be a part of another; now and then one goes to another cart."""
        job = self.a_job(number)
        if number % 16:
            whole = self.a_job(number // 16) if number % 2 else ""
            self.do(worker, ago, holding.say_part, job, whole)
            return
        result = self.do(worker, ago, holding.give, job, "abcd", self.bench.log.origin)
        if isinstance(result, Pressed):
            given = self.bench.jobs[job]
            assert given.state == "given"
            # Before it was opened it is no job at all.
            late_s = 600 if self.bench.now_us - given.opened_us > 600 * SECOND_US else 0
            no = self.do(worker, late_s, rules.note_job, job, ev.PaymentNoted("cash"))
            assert "was given to cart abcd; work on it there" in str(no)

    @rule(worker=who, ago=ago, number=pick)
    def reopen_job(self, worker: str, ago: int, number: int) -> None:
        job = self.a_closed_job(number)
        self.do(worker, ago, rules.reopen_job, job, "the customer came back")

    @rule(worker=who, ago=ago, number=pick, keys=yes, paid=paid)
    def hand_over(
        self, worker: str, ago: int, number: int, keys: bool, paid: PaidHow | None
    ) -> None:
        took = self.bench.seal("Ada") if keys else None
        self.do(worker, ago, note_handover, self.a_closed_job(number), took, paid)

    def a_closed_job(self, number: int) -> str:
        """One of the closed jobs, in sight from now on; one at hand if none is closed."""
        closed = [s.job for s in self.bench.log.job_summaries() if s.closed_us is not None]
        if not closed:
            return self.a_job(number)
        job = closed[number % len(closed)]
        if not self.stale:
            # A closed job is out of sight until somebody looks at it.
            self.bench.load({job})
        return job

    def teardown(self) -> None:
        """In whatever state it was left, the plan played forward is what SPACE would take up."""
        if not self.stale:
            for worker in WORKERS:
                self.plays_forward(worker)
        super().teardown()

    def plays_forward(self, worker: str) -> None:
        shift, now_us = self.bench.shift(worker), self.bench.now_us
        if shift is None:
            return
        for job in self.bench.jobs.values():
            sections = job.sections.values()
            # What others have in hand is not waited for by the moves.
            if job.state != "open" or any(
                one.state == "in hand" and one.worker != worker for one in sections
            ):
                continue
            # A break that is over in the moment it was begun was none.
            again = left_for_other({job.id: job}, shift) if shift.since_us < now_us else ()
            played = play(job, now_us, over_s=opening_s, worker=worker, again=again)
            told = [(p.stage, p.sections, p.turn, p.end_us) for p in played]
            assert told == list(Forward(job, shift, now_us).to_the_end())
            kept = reckon(played, now_us, lengths_us(played))
            assert [one.end_us for one in kept] == [piece.end_us for piece in played]
            self.is_done_when_played(job, now_us)

    def is_done_when_played(self, job: Job, now_us: Instant) -> None:
        """By the plan's minutes alone a job is done when the plan played forward ends, with what is
        expected to be left of what is in hand.
        """
        one = JobAhead(job, Belief(steps_of(job), CERTAIN).today({}))
        around = DayAhead(undisturbed=True)
        rest = left_in_hand(one, now_us)
        in_hand_us = None if rest is None else round(rest[0] * MINUTE_US)
        played = play(job, now_us, in_hand_us=in_hand_us)
        ahead = Prospect([one], around, now_us)
        found = ahead.finish(job.id)
        assert found is not None
        left_us = played[-1].end_us - now_us if played else 0
        # Of what was put down, what was done is behind it.
        held = any(one.state == "held" for one in job.sections.values())
        # Where somebody is behind the plan nobody knows by how much, and half of such days take
        # less than is expected.
        least_us = left_us * around.scale(ahead.hands(job.id), 0.0, now_us)
        # What is believed of a length is reckoned to a thousandth of it.
        off_us = max(MINUTE_US, left_us // 1000)
        assert held or found.done_us >= now_us + least_us - off_us
        assert found.done_us <= now_us + left_us + off_us


@pytest.mark.parametrize("part", SHARED[:FEW])
def test_anything_goes(part: int) -> None:
    goes(part, settings(max_examples=4, stateful_step_count=50))


@pytest.mark.long
@pytest.mark.parametrize("part", SHARED)
def test_anything_goes_for_long(part: int) -> None:
    goes(part, settings(max_examples=3200 // PARTS, stateful_step_count=80), leaps=False)


def goes(part: int, how: settings, leaps: bool = True) -> None:
    """One of several machines that differ in their name, and with it in their examples."""
    machine = type(f"AnythingGoes{part}", (AnythingGoes,), {"leaps": leaps})
    run_state_machine_as_test(machine, settings=how)
