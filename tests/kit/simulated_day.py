"""Whole working days on the real folds, by a worker who knows nothing of what is believed.

Synthetic.

The plan's minutes are off by a factor of the worker, of the stage and of the step, each section has
a size that stays, chance is drawn from a gamma distribution, the day has a pace, hands tire and
heat slows them; phone, customers, water and fetching come in lumps, the meal and rests of the
worker's own when it suits, those for the heat when Run calls them, but for some that are overruled.
None of these figures has a source: they are our own judgement, and wide.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable

from cartclock.engine.ahead.play import play
from cartclock.engine.ahead.sequence import sequence
from cartclock.engine.body.pace import pace
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_force import STALE_US
from cartclock.engine.facts.in_play import in_play
from cartclock.engine.facts.job import Job, job_after
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.shift import Hands, Shift, shift_after
from cartclock.engine.facts.turn import Turn
from cartclock.engine.figures.day_curve import air_at_c, rh_at
from cartclock.engine.films.flashing import opening_marks
from cartclock.engine.now.moves import finishing, moves
from cartclock.engine.plan.plan import Plan
from tests.kit.book import row_at

DAY_US = 24 * 60 * MINUTE_US
# Midnight UTC of an invented day.
FIRST_US = 1_790_000_000_000_000 // DAY_US * DAY_US
HOT, MILD = (24.0, 36.0, 20.0), (14.0, 25.0, 10.0)
LUMPS = (("phone", 3), ("customer", 9), ("water and mixing", 6), ("fetching", 4))


class Worker:
    """How somebody works, whatever the day."""

    def __init__(
        self, rng: random.Random, plan: Plan, wanders: float = 0.0, beside: Plan | None = None
    ) -> None:
        """beside: of a second vehicle that is there every day."""
        self.rng, self.wanders = rng, wanders
        self.plans = (plan,) if beside is None else (plan, beside)
        own = rng.uniform(0.75, 1.28)
        # Work of one name is the same on every vehicle.
        self.stage: dict[str, float] = {}
        self.step: dict[tuple[str, int], float] = {}
        self.size: dict[tuple[str, str], float] = {}
        for one in self.plans:
            for stage in one.stages:
                self.stage.setdefault(stage.name, own * rng.uniform(0.72, 1.33))
            for stage in one.stages:
                for index in range(len(stage.steps)):
                    self.step.setdefault((stage.name, index), rng.uniform(0.75, 1.28))
                for name in stage.sections:
                    self.size.setdefault((stage.name, name), math.exp(rng.gauss(0, 0.18)))
        self.lumps_an_hour = rng.uniform(0.4, 1.6)
        self.shape = rng.uniform(6, 18)
        self.tires = rng.uniform(0, 0.015)
        self.redoes = rng.uniform(0, 0.05)
        self.rests_every = rng.uniform(100, 170)
        self.eats_at = rng.uniform(720, 780)
        self.begins = rng.uniform(440, 460)


class Day:
    """One job, or those of two vehicles, from opening to closing; `look` is called when something
    is taken up.

    sleeps_from: minute of the day from which what can wait waits for the morning; None: never.
    stays_for: minutes of the plan for which the worker stays all the same.
    """

    def __init__(
        self,
        worker: Worker,
        number: int,
        look: Callable[[Day], None] | None = None,
        sleeps_from: float | None = None,
        stays_for: float = 0.0,
    ) -> None:
        self.worker, self.rng, self.look, self.sleeps_from = worker, worker.rng, look, sleeps_from
        self.stays_for = stays_for
        rng = self.rng
        self.hot = rng.random() < 0.4
        low, high, dew = HOT if self.hot else MILD
        # The place is not the forecast.
        off = rng.gauss(0, 1.2)
        self.low, self.high, self.dew = low + off, high + off, dew
        self.pace = math.exp(rng.gauss(0, 0.15))
        self.midnight_us = FIRST_US + number * DAY_US
        self.now_us = self.midnight_us + round((worker.begins + rng.uniform(-20, 20)) * MINUTE_US)
        self.begun_us = self.now_us
        self.seq = number * 10_000
        self.shift_number, self.shifts = 0, []
        self.jobs: dict[str, Job] = {}
        self.shift: Shift | None = None
        for index, plan in enumerate(worker.plans):
            id_ = f"job {number}" + ("", " beside")[index]
            opened = ev.JobOpened(plan, "", 2 * number + index + 1, "invented estate")
            self.put(opened, id_)
        self.clock_on()
        self.since_break = self.worked = 0.0
        self.overruled_us = 0
        self.eaten = False
        self.next_lump = rng.expovariate(worker.lumps_an_hour) * 60
        self.planned_done = 0.0
        played = [piece for job in self.jobs.values() for piece in play(job, self.now_us)]
        self.planned = sum(piece.work_us for piece in played) / MINUTE_US

    def clock_on(self) -> None:
        self.shift_number += 1
        self.shift = None
        self.put(ev.ClockedOn("invented garage", acclimatization="acclimatized", because="told"))
        self.read_air()

    def read_air(self) -> None:
        """A reading as most workers take one: in the morning, behind a break, and where Run asks
        for one because the last is an hour old.
        """
        self.read_us = self.now_us
        air_c = air_at_c(self.minute / 60 % 24, self.low, self.high)
        rh = rh_at(air_c, min(self.dew, air_c))
        self.put(ev.ReadingTaken(air_c=round(air_c, 1), rh=round(rh)))

    def put(self, event: object, job: str = "") -> None:
        """job: its id; "" for the one in hand, else the first."""
        self.seq += 1
        doing = None if self.shift is None else self.shift.doing
        id_ = job or (doing.job if isinstance(doing, Hands) else next(iter(self.jobs)))
        row = row_at(event, 0, self.seq, at_us=self.now_us, job=id_)  # type: ignore[arg-type]  # any event
        if type(event) in ev.JOB_EVENTS:
            self.jobs[id_], odd = job_after(self.jobs.get(id_), row)
            assert odd is None, odd
        if not isinstance(event, ev.JobOpened | ev.JobClosed | ev.SectionReopened):
            self.shift, odd = shift_after(self.shift, row)
            assert odd is None, odd

    @property
    def minute(self) -> float:
        return (self.now_us - self.midnight_us) / MINUTE_US

    def finish(self) -> None:
        hands = self.shift.doing
        if isinstance(hands, Hands):
            job = self.jobs[hands.job]
            marks = opening_marks(job, hands, self.shift, self.now_us)
            self.put(finishing(job, hands, marks=marks))

    @property
    def wet(self) -> bool:
        """True if a film is in play on any vehicle."""
        return any(in_play(job, self.now_us) for job in self.jobs.values())

    def rest(self, move: Move) -> None:
        """A meal, a rest of the worker's own or one for the heat, if it is time for one; none
        while a film is in play.
        """
        rng = self.rng
        # What is in hand is done by now, and its film off with it.
        self.finish()
        if self.wet:
            return
        what, length = "", 0.0
        called_s = self.called()
        if not self.eaten and self.minute % 1440 >= self.worker.eats_at:
            what, length, self.eaten = "meal", rng.uniform(25, 50), True
        elif called_s and self.now_us >= self.overruled_us:
            if rng.random() < 0.15:
                # Called again a quarter of an hour later.
                self.overruled_us = self.now_us + 15 * MINUTE_US
            else:
                what, length = "heat", called_s / 60 * rng.uniform(0.9, 1.3)
        elif self.since_break >= self.worker.rests_every:
            what, length = "rest", rng.uniform(5, 15)
        if what:
            self.put(ev.BreakTaken(what))  # type: ignore[arg-type]  # a kind of break
            self.now_us += round(length * MINUTE_US)
            self.put(ev.BreakEnded())
            self.since_break = 0.0
            self.read_air()

    def called(self) -> int:
        """Seconds of the rest that Run calls now; 0 if none."""
        if not self.hot:
            # Nothing calls any in such air.
            return 0
        if self.now_us - self.read_us >= STALE_US:
            self.read_air()
        jobs = list(self.jobs.values())
        verdict = pace(self.shift, self.jobs, self.now_us, True, ahead=sequence(jobs, self.now_us))
        # Where no rest makes work time of it, the longest is taken, and the work goes on.
        return verdict.rest_s or 45 * 60 if verdict.resting_due else 0

    def hands_on(self, move: Move, minutes: float) -> None:
        """So many true minutes of hands, with other work in between."""
        rng = self.rng
        started = ev.WorkStarted(move.stage, move.sections, move.turn)
        while True:
            part = min(minutes, self.next_lump)
            self.now_us += round(part * MINUTE_US)
            minutes, self.next_lump = minutes - part, self.next_lump - part
            self.since_break += part
            self.worked += part
            if self.next_lump > 1e-9:
                return
            what, usual = rng.choice(LUMPS)
            length = min(45.0, rng.expovariate(1 / usual)) + 0.5
            if minutes > 0.05:
                self.put(ev.WorkPutDown(move.stage, move.sections, move.turn))
            else:
                self.finish()
            self.put(ev.OtherWorkStarted(what, move.job))  # type: ignore[arg-type]  # a kind of it
            self.now_us += round(length * MINUTE_US)
            self.put(ev.OtherWorkEnded())
            self.next_lump = rng.expovariate(self.worker.lumps_an_hour) * 60
            if minutes <= 0.05:
                return
            self.put(started, move.job)

    def true_minutes(self, move: Move) -> float:
        """What a move really takes."""
        worker = self.worker
        sizes = [worker.size[move.stage, name] for name in move.sections]
        chance = self.rng.gammavariate(worker.shape, 1 / worker.shape)
        over_c = air_at_c(self.minute / 60 % 24, self.low, self.high) - 28
        slowed = 1 + max(0.0, over_c) * 0.015 if self.hot else 1.0
        tired = 1 + worker.tires * max(0.0, self.worked / 60 - 3)
        own = worker.stage[move.stage] * worker.step[move.stage, move.turn.step] * self.pace
        minutes = move.minutes * own * sum(sizes) / len(sizes) * chance * slowed * tired
        return max(0.1, minutes)

    def sleep(self) -> None:
        """The night, for who goes home."""
        self.finish()
        self.put(ev.ClockedOff())
        self.shifts.append(self.shift)
        morning = (self.minute // 1440 + 1) * 1440 + self.worker.begins
        self.now_us = self.midnight_us + round(morning * MINUTE_US)
        self.eaten, self.since_break, self.worked = False, 0.0, 0.0
        self.clock_on()

    def opens_at_night(self, opens_us: int) -> bool:
        """True if what is waited for opens long from now, behind the end of this day."""
        if self.sleeps_from is None or opens_us - self.now_us <= 120 * MINUTE_US:
            return False
        ends = self.minute // 1440 * 1440 + self.sleeps_from
        return opens_us - self.midnight_us >= ends * MINUTE_US

    def run(self) -> Day:
        """The whole of it."""
        rng = self.rng
        while True:
            found = moves(self.jobs, self.shift, self.now_us)
            found = [move for move in found if move.act in ("take up", "stand by")]
            if not found:
                break
            move = found[0]
            plain = move.why in ("order", "held") and move.opens_us is None
            late = self.sleeps_from is not None and self.minute % 1440 >= self.sleeps_from
            late = late and self.planned - self.planned_done > self.stays_for
            asleep = move.act == "stand by" and self.opens_at_night(move.opens_us or 0)
            goes = self.sleeps_from is not None and (late or asleep)
            if goes:
                # What is in hand is done by now, and its film off with it.
                self.finish()
                if not self.wet:
                    self.sleep()
                    continue
            if move.act == "stand by":
                self.finish()
                self.now_us = max(self.now_us, move.opens_us) + round(
                    rng.uniform(0, 0.4) * MINUTE_US
                )
                continue
            if plain:
                before_us = self.now_us
                self.rest(move)
                if self.now_us != before_us:
                    continue
                if rng.random() < self.worker.wanders:
                    # A pick of the worker's own, which leaves earlier sections behind.
                    move = rng.choice([one for one in found if one.act == "take up"])
            job = self.jobs[move.job]
            windows = [job.sections[move.stage, name].window for name in move.sections]
            due_us = max(
                (w.due_us for w in windows if w is not None and w.kind == "flash"), default=0
            )
            if due_us > self.now_us and job.stage(move.stage).kind == "coat":
                # It is looked at until it is ready.
                self.finish()
                self.now_us = due_us
            self.finish()
            self.put(ev.WorkStarted(move.stage, move.sections, move.turn), move.job)
            if self.look is not None:
                self.look(self)
            self.hands_on(move, self.true_minutes(move))
            self.planned_done += move.minutes
            if move.stage in ("Polish", "Clay") and move.turn.pass_ == 1:
                self.redo(move)
        self.finish()
        for id_ in self.jobs:
            self.put(ev.JobClosed(), id_)
        self.put(ev.ClockedOff())
        self.shifts.append(self.shift)
        return self

    def redo(self, move: Move) -> None:
        """Now and then a section is done again."""
        if self.rng.random() >= self.worker.redoes:
            return
        self.finish()
        name = move.sections[0]
        if self.jobs[move.job].sections[move.stage, name].state == "done":
            turn = Turn(move.turn.pass_ + 1, move.turn.layer, 0)
            self.put(ev.SectionReopened(move.stage, (name,), turn, "holograms"), move.job)
