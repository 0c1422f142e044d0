"""A working day on a real bench, by a starter plan, with chance at every turn.

Synthetic: who works, how long each step takes, what is noted and what is mistaken is invented.
"""

from __future__ import annotations

import random
from pathlib import Path

from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_play import film_in_play
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.shift import Hands
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.plan_file.reader import read_plan, starter, with_body
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Asks
from tests.kit.stage import seeded

# Thursday 2026-01-08, 07:30 UTC.
BEGINS_US = 1_767_857_400_000_000
WORKERS = ("me", "Tomek")
# One press in so many rows is a mistake that is put right.
MISTAKE_ROWS = 100
DRINK_US, READING_US, REST_US = 40 * MINUTE_US, 50 * MINUTE_US, 120 * MINUTE_US
NOTES = ("deep scratch left of the lock", "tree sap on the roof", "matt trim stays matt")


class Worked:
    """One job from its opening to its end, in one shift of each pair of hands.

    Args:
        folder: where the log is made.
        plan: name of a starter; body: the vehicle's shape.
        hands: how many of WORKERS work on it.
        seed: of every chance.
    """

    def __init__(self, folder: Path, plan: str, body: str, hands: int, seed: int) -> None:
        self.chance = random.Random(seed)
        self.clock = HandClock(BEGINS_US)
        entropy = seeded(f"worked {seed}")
        self.bench = Bench.open(folder / "log.db", self.clock, WORKERS[0], entropy)
        self.bench.asks_new = False
        self.workers = WORKERS[:hands]
        self.plan = read_plan(with_body(starter(plan), body), plan)
        self._noted = dict.fromkeys(("drink", "reading", "rest"), BEGINS_US)
        self._mistakes = 0
        self._work()

    def _work(self) -> None:
        bench = self.bench
        customer = bench.seal("Ada Quill")
        job = bench.new_id()
        opened = ev.JobOpened(self.plan, "", 1, "vehicle", customer=customer, price="420")
        bench.do(rules.open_job, job, opened)
        for worker in self.workers:
            bench.do_as(worker, 0, rules.clock_on, ev.ClockedOn("carport"))
        while bench.jobs[job].state == "open":
            self._between(job)
            for worker in self.workers:
                self._take_up(worker)
        for worker in self.workers:
            bench.do_as(worker, 0, rules.clock_off, {"unfinished": "done"})

    def _take_up(self, worker: str) -> None:
        """The best move, with a reason for whatever it asks; then its time goes by."""
        bench = self.bench
        # A look is answered in a list, and so is a fresh pad; closing says why one was left out.
        moves = [move for move in bench.moves(worker) if move.act not in ("look", "change")]
        if not moves:
            # The other one has what is left in hand.
            return
        move = moves[0]
        at_work = {one for one in self.workers if self._has_hands(one)}
        if move.act == "stand by" and worker not in at_work:
            self.clock.wind(self._seconds(move))
            return
        if move.act == "close" and at_work - {worker}:
            # Whoever is last hands over.
            if worker in at_work:
                bench.do_as(worker, 0, rules.take_up, Move("end"))
            return
        over: dict[str, str] = {}
        while True:
            try:
                bench.do_as(worker, 0, rules.take_up, move, over)
            except Asks as asked:
                over[asked.rule_id] = "I know and take it on me"
            else:
                break
        self.clock.wind(self._seconds(move))

    def _has_hands(self, worker: str) -> bool:
        shift = self.bench.shift(worker)
        return shift is not None and isinstance(shift.doing, Hands)

    def _seconds(self, move: Move) -> float:
        """What a move takes: about the plan's minutes shared by the hands, or the wait."""
        if move.act == "stand by":
            left_us = (move.opens_us or 0) - self.bench.now_us
            return max(0.0, left_us / 1e6) + self.chance.uniform(1, 20)
        spread = self.chance.gammavariate(12, 1 / 12)
        return max(5.0, move.minutes * 60 * spread / len(self.workers))

    def _between(self, job: str) -> None:
        """Readings, drinks, notes, rests, and a mistake put right now and then."""
        bench, chance = self.bench, self.chance
        if self._due("reading", READING_US):
            air_c = round(chance.uniform(16, 30), 1)
            rh = round(chance.uniform(35, 60))
            panel_c = air_c + chance.randint(0, 3)
            # Whatever chance gives is what was meant.
            bench.do(rules.note_shift, ev.ReadingTaken(air_c, rh, panel_c, confirmed=True))
        if self._due("drink", DRINK_US):
            bench.do(rules.note_shift, ev.DrinkTaken(240))
        if self._due("rest", REST_US) and not film_in_play([bench.jobs[job]], bench.now_us):
            note = ev.NoteWritten(bench.seal(chance.choice(NOTES)))
            bench.do(rules.note_job, job, note)
            bench.do(rules.take_break, "rest")
            self.clock.wind(600)
        while self._mistakes < (bench.log.head.seq + 1) // MISTAKE_ROWS:
            self._mistakes += 1
            self._mistake()

    def _mistake(self) -> None:
        """A drink too many, taken back; one entered late; one struck and restored."""
        bench = self.bench
        press = bench.do(rules.note_shift, ev.DrinkTaken(200)).press
        kind = self._mistakes % 3
        if kind == 0:
            bench.undo()
            return
        if kind == 1:
            shift = bench.shift()
            began_us = bench.now_us if shift is None else shift.on_us
            bench.move(press, Instant(max(began_us, bench.now_us - MINUTE_US)))
            return
        bench.strike(press)
        bench.restore(press)

    def _due(self, what: str, every_us: int) -> bool:
        if self.bench.now_us - self._noted[what] < every_us:
            return False
        self._noted[what] = self.bench.now_us
        return True
