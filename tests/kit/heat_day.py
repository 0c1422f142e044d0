"""One simulated working day under the hour's budget: who calls, who obeys, what the body took."""

from __future__ import annotations

import random
from collections.abc import Sequence
from itertools import accumulate, groupby
from typing import Literal

from msgspec import Struct

from cartclock.engine.body.budget import Ahead, Budget, PlannedWork, budget
from cartclock.engine.body.stretch import Stretch
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.figures.heat import class_watts, niosh_table_minutes, ral_c, rel_c
from cartclock.engine.plan.plan import Effort
from tests.kit.heat_weather import FIRST, LAST, Instruments, Weather
from tests.kit.heat_work import Piece as Chunk
from tests.kit.heat_work import Stage, Work

Mood = Literal["obeys", "ends", "overrules"]
"""At once (a film first); at the end of a panel; overruling three calls in ten."""

STEP = 0.5
MEAL, MEAL_LENGTH = 12 * 60, 30.0
_HOUR = int(60 / STEP)
# Work where the table prints only "caution" counts as its last row by what was read, as in the
# rules, and half as much again by the true weather. Our own judgement.
READ_CAUTION, CAUTION = 4.0, 6.0
_HARDER = {"soon": 0, "now": 1, "not here": 2}


class Outcome(Struct):
    """What came of a day. Minutes unless said.

    Fields:
        soon, now, not_here: calls by grade; in_film: calls while a film was in play.
        jumps: changes of "left" by over three minutes beyond the time gone, reading unchanged.
        went_on: breaks that had to go on longer than they were to last.
        worked: hands on; stood_by: waiting for a film, with nothing else to do; rested: as called,
            without the meal; idle: where there was no work time.
        over: with the hour over the limit by the true weather; over_at_work: of these working;
            over_c_min: by how much, C x min.
        table: with the table's hour overspent by the true weather.
        read_over, read_table: working with the hour over limit or table by what was read.
    """

    soon: int = 0
    now: int = 0
    not_here: int = 0
    in_film: int = 0
    jumps: int = 0
    put_down: int = 0
    went_on: int = 0
    worked: float = 0.0
    stood_by: float = 0.0
    rested: float = 0.0
    idle: float = 0.0
    over: float = 0.0
    over_at_work: float = 0.0
    over_c_min: float = 0.0
    table: float = 0.0
    read_over: float = 0.0
    read_table: float = 0.0

    @property
    def calls(self) -> int:
        """All calls of the day."""
        return self.soon + self.now + self.not_here


class _Cell(Struct, frozen=True):
    effort: Effort
    true_c: float
    read_c: float
    true_cost: float
    read_cost: float
    adjusted_f: float | None


def _cost(adjusted_f: float, effort: Effort, caution: float) -> float:
    """Minutes of the table's hour that a minute of work uses up."""
    if effort == "rest":
        return 0.0
    allowed = niosh_table_minutes(adjusted_f, effort)
    return caution if allowed is None else 60 / allowed


class HeatDay:
    """A worker's day, half a minute at a time."""

    def __init__(
        self, weather: Weather, stages: tuple[Stage, ...], used: bool, mood: Mood, seed: int
    ) -> None:
        self.weather, self.used, self.mood = weather, used, mood
        self.tool = Instruments(weather, random.Random(f"{weather.name}{seed}"))
        self._moods = random.Random(f"mood{weather.name}{seed}{mood}")
        self.stages, self.work = stages, Work(stages)
        self.cells: list[_Cell] = []
        self.out = Outcome()
        self._minute = float(FIRST)
        self._piece: Chunk | None = None
        self._left = 0.0
        self._meal_over = False
        self._not_here = False

    def _past(self) -> list[Stretch]:
        length_us = int(STEP * MINUTE_US)
        return [
            Stretch(length_us * len(list(alike)), effort, read_c, adjusted_f)
            for (effort, read_c, adjusted_f), alike in groupby(
                self.cells[-4 * _HOUR :], key=lambda c: (c.effort, c.read_c, c.adjusted_f)
            )
        ]

    def ask(self, resting: bool = False) -> Budget:
        """The verdict now; `resting`: in a break."""
        left = self._left if self._piece is not None else 0.0
        pieces = [(left, self._piece.effort)] if self._piece is not None and left > 0 else []
        pieces += self.work.ahead(120)
        meal = None if self._meal_over else max(0.0, MEAL - self._minute)
        found = budget(
            self._past(),
            Ahead(
                tuple(PlannedWork(max(1, round(m * MINUTE_US)), effort) for m, effort in pieces),
                round(left * MINUTE_US),
                round(self.work.next_unit() * MINUTE_US),
                self.film,
                None if meal is None else round(meal * MINUTE_US),
            ),
            self.tool.air(self._minute),
            self.used,
            was_not_here=self._not_here,
            resting=resting,
        )
        self._not_here = found.grade == "not here"
        return found

    @property
    def film(self) -> bool:
        """True while a film is in play, or a finishing polish, which must not dry on."""
        piece = self._piece
        return self.work.film or (piece is not None and (piece.lays or "finish" in piece.name))

    def _live(self, effort: Effort, resting: bool) -> None:
        at = self._minute
        air = self.tool.air(at)
        assert air.adjusted_f is not None
        self.cells.append(
            _Cell(
                effort,
                self.weather.wbgt_c(at, resting),
                air.rest_wbgt_c if resting else air.wbgt_c,
                _cost(self.weather.adjusted_f(at), effort, CAUTION),
                _cost(air.adjusted_f, effort, READ_CAUTION),
                None if resting else air.adjusted_f,
            )
        )
        self._minute += STEP

    def _rest(self, minutes: float) -> None:
        """A break, and what a reading taken meanwhile adds to it: its digits run to the new end."""
        while minutes > 0:
            end = min(float(LAST), self._minute + minutes)
            while self._minute < end - 1e-9:
                self._live("rest", True)
                self.out.rested += STEP
            if self._minute >= LAST - 1e-9:
                return
            more = self.ask(resting=True)
            minutes = more.rest_us / MINUTE_US if more.grade in ("soon", "now") else 0.0
            self.out.went_on += minutes > 0

    def play(self) -> Outcome:
        """The whole day."""
        quiet, quiet_grade, told, before = -1.0, "", -1, None
        while self._minute < LAST - 1e-9:
            if self.work.over and self._piece is None:
                self.work = Work(self.stages)
            free = self._piece is None and not self.work.film
            if free and not self._meal_over and self._minute >= MEAL:
                self._meal_over = True
                self._rest(MEAL_LENGTH)
                self.out.rested -= MEAL_LENGTH
                told, before = -1, None
                continue
            found = self.ask()
            left = 60.0 if found.left_us is None else found.left_us / MINUTE_US
            reading = self.tool.newest(self._minute)
            if before is not None and before[2] == reading:
                gone = self._minute - before[0]
                self.out.jumps += abs(left - max(0.0, before[1] - gone)) > 3
            before = (self._minute, left, reading)
            inside = self._piece is not None and self._left > 1e-9
            hard = found.grade in ("now", "not here")
            stands = hard or (found.grade == "soon" and not inside)
            let_alone = self._minute < quiet and not (hard and quiet_grade == "soon")
            # As in a log: a call is a fact until the next break, and a harder one is another.
            if stands and not let_alone and _HARDER[found.grade] > told:
                self._count(found.grade)
                told = _HARDER[found.grade]
                if self.mood == "overrules" and self._moods.random() < 0.3:
                    quiet = self._minute + (30 if found.grade == "soon" else 15)
                    quiet_grade, told = found.grade, -1
            if stands and told >= 0 and not (inside and (self.mood != "obeys" or not hard)):
                self.out.put_down += inside
                if found.grade == "not here":
                    self._wait_out()
                else:
                    self._rest(max(found.rest_us / MINUTE_US, 5.0))
                told, before = -1, None
                continue
            self._work(lays=found.grade != "film")
        return self._judge()

    def _count(self, grade: str) -> None:
        self.out.in_film += self.film
        match grade:
            case "soon":
                self.out.soon += 1
            case "now":
                self.out.now += 1
            case _:
                self.out.not_here += 1

    def _wait_out(self) -> None:
        while self._minute < LAST - 1e-9:
            for _ in range(int(5 / STEP)):
                if self._minute < LAST - 1e-9:
                    self._live("rest", True)
                    self.out.idle += STEP
            if self.ask().grade != "not here":
                return

    def _work(self, lays: bool) -> None:
        """A minute of it, half a minute where a piece is begun: then it is judged again."""
        steps = int(1 / STEP)
        if self._piece is None:
            self._piece = self.work.next(lays)
            self._left = 0.0 if self._piece is None else self._piece.minutes
            steps = 1
        piece = self._piece
        stands = piece is None or piece.stands_by
        for _ in range(steps):
            self._live("light" if piece is None else piece.effort, False)
            self.out.worked += 0.0 if stands else STEP
            self.out.stood_by += STEP if stands else 0.0
            self._left -= STEP
            if self._left <= 1e-9 or self._minute >= LAST - 1e-9:
                break
        if self._left <= 1e-9:
            self._piece, self._left = None, 0.0

    def _judge(self) -> Outcome:
        """Minutes over limit and table, by the true weather and by what was read."""
        rest_c = self.weather.wbgt_c(FIRST, True)
        read_c = self.tool.air(FIRST).rest_wbgt_c
        true = _means([rest_c] * _HOUR + [cell.true_c for cell in self.cells])
        read = _means([read_c] * _HOUR + [cell.read_c for cell in self.cells])
        watts = _means([class_watts("rest")] * _HOUR + [class_watts(c.effort) for c in self.cells])
        spent = _means([0.0] * _HOUR + [cell.true_cost for cell in self.cells])
        read_spent = _means([0.0] * _HOUR + [cell.read_cost for cell in self.cells])
        limit = rel_c if self.used else ral_c
        for index, cell in enumerate(self.cells):
            bound = limit(watts[index])
            self.out.over += STEP * (true[index] > bound)
            self.out.over_c_min += STEP * max(0.0, true[index] - bound)
            self.out.table += STEP * (spent[index] > 1.0 + 1e-4)
            if cell.effort != "rest":
                self.out.over_at_work += STEP * (true[index] > bound)
                self.out.read_over += STEP * (read[index] > bound + 0.01)
                self.out.read_table += STEP * (read_spent[index] > 1.0 + 0.01)
        return self.out


def _means(values: Sequence[float]) -> list[float]:
    """The mean of the hour that ends with each cell after the first hour."""
    sums = [0.0, *accumulate(values)]
    return [(sums[i + _HOUR] - sums[i]) / _HOUR for i in range(1, len(values) - _HOUR + 1)]
