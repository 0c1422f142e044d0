"""The plan played forward, against the moves themselves played on real folds."""

from __future__ import annotations

import random
from collections.abc import Iterator
from itertools import product

import pytest
from msgspec.structs import replace

from cartclock.engine.ahead.foreseen import Foreseen, prospect
from cartclock.engine.ahead.line_up import LineUp, left_for_other
from cartclock.engine.ahead.play import play
from cartclock.engine.ahead.played import opening_s
from cartclock.engine.ahead.reckon import lengths_us, reckon
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job, job_after
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.shift import Hands, Shift, shift_after
from cartclock.engine.facts.turn import Turn
from cartclock.engine.films.flashing import opening_marks
from cartclock.engine.hours.planned import planned_left_us
from cartclock.engine.now.moves import Move, finishing, moves
from cartclock.engine.plan.plan import Plan, Stage, Work
from cartclock.engine.store.plan_file.reader import read_plan, starter, with_body
from tests.kit.book import row_at
from tests.kit.plans import COAT, FALLOUT, opening
from tests.kit.played_forward import Forward

STARTERS = (
    "maintenance_wash",
    "decontamination_and_sealant",
    "one_step_correction_and_coat",
    "two_layer_coat_overnight",
)
BODIES = ("hatchback", "estate", "van")


class Real:
    """A job and a shift worked by hand, with an event at any instant."""

    def __init__(self, plan: Plan, now_us: int = 1_790_000_000_000_000) -> None:
        self.seq = 0
        self.now_us = now_us
        self.job: Job | None = None
        self.shift: Shift | None = None
        self.take(ev.JobOpened(plan, "", 1, "invented estate"))
        self.take(ev.ClockedOn("carport"))

    def take(self, event: object) -> None:
        """One event now."""
        self.seq += 1
        row = row_at(event, 0, self.seq, at_us=self.now_us, job="job-1")  # type: ignore[arg-type]  # any event
        job_odd = shift_odd = None
        if not isinstance(event, ev.ClockedOn):
            self.job, job_odd = job_after(self.job, row)
        if not isinstance(event, ev.JobOpened):
            self.shift, shift_odd = shift_after(self.shift, row)
        assert job_odd is shift_odd is None

    def finish(self) -> None:
        """What is in hand is finished now."""
        hands = self.shift.doing
        if isinstance(hands, Hands):
            marks = opening_marks(self.job, hands, self.shift, self.now_us)
            self.take(finishing(self.job, hands, marks=marks))

    def moves(self) -> list[Move]:
        """What could be taken up, what SPACE would take up first."""
        found = moves({"job-1": self.job}, self.shift, self.now_us)
        return [m for m in found if m.act in ("take up", "stand by")]

    def first_move(self) -> Move | None:
        """What SPACE would take up."""
        return next(iter(self.moves()), None)

    def go_on(self, move: Move, share: float = 1.0) -> None:
        """Takes it up, or stands by, and lets its minutes pass."""
        self.finish()
        if move.act == "stand by":
            assert move.opens_us is not None
            self.now_us = max(self.now_us, move.opens_us)
            return
        self.take(ev.WorkStarted(move.stage, move.sections, move.turn))
        self.now_us += round(move.minutes * share * MINUTE_US)


def weighed(plan: Plan, rng: random.Random) -> Plan:
    """The plan with weights of every second section or so, invented."""
    stages = (
        replace(
            stage,
            weights={
                name: rng.choice((0.25, 0.5, 1.6)) for name in stage.sections if rng.random() < 0.5
            },
        )
        for stage in plan.stages
    )
    return replace(plan, stages=tuple(stages))


def ways(*bodies: str) -> Iterator[tuple[str, str, float, bool]]:
    """Every starter on these bodies: by SPACE, with picks of its own, and with weights."""
    for name, body in product(STARTERS, bodies):
        for astray, weighs in ((0.0, False), (0.15, False), (0.0, True)):
            yield name, body, astray, weighs


@pytest.mark.parametrize(("name", "body", "astray", "weighs"), ways(BODIES[0]))
def test_the_plan_played_forward_is_what_space_would_take_up(
    name: str, body: str, astray: float, weighs: bool
) -> None:
    played_forward_is_space(name, body, astray, weighs, besides=0.0)


@pytest.mark.long
@pytest.mark.parametrize(("name", "body", "astray", "weighs"), ways(*BODIES[1:]))
def test_the_plan_played_forward_on_other_bodies_is_what_space_would_take_up(
    name: str, body: str, astray: float, weighs: bool
) -> None:
    played_forward_is_space(name, body, astray, weighs)


def played_forward_is_space(
    name: str, body: str, astray: float, weighs: bool, besides: float = 0.01
) -> None:
    """The plan is worked to its end, and now and then played forward from where it stands.

    besides: how often that is done besides each time after some 90 presses.
    """
    plan = read_plan(with_body(starter(name), body), name)
    rng = random.Random(f"{name} {body}")
    real = Real(weighed(plan, random.Random(name)) if weighs else plan)
    for step in range(400):
        if step % 89 == 0 or rng.random() < besides:
            played = play(real.job, real.now_us, over_s=opening_s)
            told = [(p.stage, p.sections, p.turn, p.end_us) for p in played]
            assert told == list(Forward(real.job, real.shift, real.now_us).to_the_end())
            # What the plan leaves the hands is the work in it.
            left_us = planned_left_us(real.job, real.job.stages, real.now_us)
            assert sum(p.work_us for p in played) == pytest.approx(left_us, abs=len(played) + 1)
            kept = reckon(played, real.now_us, lengths_us(played))
            assert [one.end_us for one in kept] == [piece.end_us for piece in played]
            slower = {(p.stage, p.turn.step): 1.3 for p in played}
            later = reckon(played, real.now_us, lengths_us(played, slower))
            assert all(a.end_us >= p.end_us for a, p in zip(later, played, strict=True))
        found = real.moves()
        if not found:
            break
        # A pick of the worker's own leaves sections of earlier stages behind.
        move = rng.choice(found) if rng.random() < astray else found[0]
        real.go_on(move, rng.choice((0.5, 0.9, 1.0, 1.4)))
    assert real.first_move() is None or step == 399


def test_a_film_put_down_long_ago_is_late_when_its_work_ends_and_comes_before_the_next() -> None:
    real = Real(opening(FALLOUT).plan)
    spray = Turn(1, 1, 0)
    real.take(ev.WorkStarted("Fallout", ("right",), spray))
    real.take(ev.WorkPutDown("Fallout", ("right",), spray))
    real.now_us += 3600 * SECOND_US
    real.take(ev.WorkStarted("Fallout", ("left",), spray))
    told = [
        (p.stage, p.sections, p.turn, p.end_us)
        for p in play(real.job, real.now_us, over_s=opening_s)
    ]
    assert told == list(Forward(real.job, real.shift, real.now_us).to_the_end())
    # Sprayed an hour ago, it has to be rinsed at once, before `front` is sprayed.
    turns = [(name, turn.step) for _stage, sections, turn, _end in told for name in sections]
    assert turns.index(("right", 2)) < turns.index(("front", 0))


def test_the_last_of_several_films_waits_less_where_the_first_would_close_meanwhile() -> None:
    # Sprayed in a minute and a half each, ready two minutes behind that and closed five behind its
    # beginning; two are rinsed together, in three minutes.
    real = Real(opening(FALLOUT).plan)
    played = play(real.job, real.now_us)
    rinsed = next(piece for piece in played if piece.after)
    assert rinsed.start_us == real.now_us + 3.5 * MINUTE_US
    assert rinsed.cut_us == 1.5 * MINUTE_US
    for one in (played, LineUp([played, played[:0]], real.now_us).whole()):
        kept = reckon(one, real.now_us, lengths_us(one))
        assert [found.end_us for found in kept] == [piece.end_us for piece in played]


@pytest.mark.parametrize("seen", [False, True])
def test_a_film_that_is_seen_ready_is_waited_for_no_more(seen: bool) -> None:
    """It opens a minute behind its last touch and is expected to be ready 40 s later."""
    real = Real(opening(COAT).plan)
    move = real.first_move()
    assert move is not None
    real.go_on(move)
    real.finish()
    real.now_us += 10 * SECOND_US
    (window,) = real.job.running
    if seen:
        real.take(ev.WindowSeen("Coat", (window.section,), window.turn))
    played = play(real.job, real.now_us, over_s=opening_s)
    told = [(p.stage, p.sections, p.turn, p.end_us) for p in played]
    assert told == list(Forward(real.job, real.shift, real.now_us).to_the_end())
    assert played[0].sections == (window.section,)
    assert (played[0].start_us == real.now_us) == seen
    # What is expected waits for it no more either.
    first = next(p for p in play(real.job, real.now_us) if p.sections == (window.section,))
    assert (first.start_us == real.now_us) == seen


def test_a_film_that_another_put_down_keeps_nobody_from_the_stage_in_hand() -> None:
    real = Real(opening(FALLOUT, COAT).plan)
    real.take(ev.WorkStarted("Coat", ("roof",), Turn(1, 1, 0)))
    real.now_us += 90 * SECOND_US
    real.finish()
    real.now_us += 100 * SECOND_US
    real.take(ev.WorkStarted("Coat", ("roof",), Turn(1, 1, 2)))
    real.take(ev.WorkPutDown("Coat", ("roof",), Turn(1, 1, 2)))
    (applied,) = real.job.stints
    real.take(ev.WorkStarted("Fallout", ("left",), Turn(1, 1, 0)))

    def first_of(worker: str) -> str:
        played = play(real.job, real.now_us, over_s=opening_s, worker=worker)
        return next(p.sections[0] for p in played if p.sections[0] in ("roof", "right"))

    assert first_of(applied.worker) == first_of("") == "roof"
    assert first_of("somebody else") == "right"


@pytest.mark.parametrize("stages", [1, 2])
def test_what_was_left_for_a_break_goes_on_first_whatever_else_is_put_down(stages: int) -> None:
    """Also of a later stage, as SPACE has it."""
    wash = Stage("Wash", ("door", "wing", "roof"), (Work("wash", 4.0),))
    polish = Stage("Polish", ("door", "wing", "roof"), (Work("polish", 3.0),))
    real = Real(Plan("invented", (wash, polish)))
    first, then = ("Wash", "door"), (("Wash", "Polish")[stages - 1], "roof")
    for stage, name in (first, then):
        real.take(ev.WorkStarted(stage, (name,), Turn()))
        real.now_us += 60 * SECOND_US
        real.take(ev.WorkPutDown(stage, (name,), Turn()))
    shift_only(real, ev.BreakTaken("rest", 900))
    real.now_us += 60 * SECOND_US
    again = left_for_other({"job-1": real.job}, real.shift)
    assert [(one.stage, one.name) for one in again] == [then]
    plain = play(real.job, real.now_us, over_s=opening_s)
    assert (plain[0].stage, plain[0].sections) == (first[0], (first[1],))
    played = play(real.job, real.now_us, over_s=opening_s, again=again)
    told = [(p.stage, p.sections, p.turn, p.end_us) for p in played]
    assert told[0][:2] == (then[0], (then[1],))
    assert told == list(Forward(real.job, real.shift, real.now_us).to_the_end())
    of = Foreseen({"job-1": real.job}, real.shift)
    ahead = prospect(of, real.now_us).in_time("job-1").pieces[0][0]
    assert (ahead.stage, ahead.sections) == (then[0], (then[1],))


def test_what_was_left_for_a_break_goes_on_first_or_in_its_order() -> None:
    """Behind a film that came first nothing was left any more, as SPACE has it."""
    wash = Stage("Wash", ("door", "wing"), (Work("wash", 4.0),))
    polish = Stage("Polish", ("roof", "bonnet"), (Work("polish", 3.0),))
    real = Real(Plan("invented", (FALLOUT, wash, polish)))
    real.take(ev.WorkStarted("Fallout", ("left",), Turn()))
    real.now_us += 60 * SECOND_US
    real.finish()
    real.take(ev.WorkStarted("Polish", ("bonnet",), Turn()))
    real.now_us += 30 * SECOND_US
    real.take(ev.WorkPutDown("Polish", ("bonnet",), Turn()))
    shift_only(real, ev.BreakTaken("rest", 900))
    real.now_us += 900 * SECOND_US
    again = left_for_other({"job-1": real.job}, real.shift)
    assert [(one.stage, one.name) for one in again] == [("Polish", "bonnet")]
    played = play(real.job, real.now_us, over_s=opening_s, again=again)
    told = [(p.stage, p.sections, p.turn, p.end_us) for p in played]
    assert told == list(Forward(real.job, real.shift, real.now_us).to_the_end())
    assert told[0][:2] == ("Fallout", ("left",))
    order = [sections for stage, sections, _turn, _end_us in told if stage in ("Wash", "Polish")]
    assert order[0] == ("door",)


def shift_only(real: Real, event: ev.BreakTaken) -> None:
    """An event of the shift alone, now."""
    real.seq += 1
    real.shift, odd = shift_after(real.shift, row_at(event, 0, real.seq, at_us=real.now_us))
    assert odd is None
