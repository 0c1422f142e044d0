"""A coat with a label, its readings, and a bench on which whole films are laid and watched.

All figures are synthetic, except that the label and the climates are those of the worked cases
of the flash (our own judgement).
"""

from __future__ import annotations

import random
from pathlib import Path

from msgspec.structs import replace

from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.section import Window
from cartclock.engine.plan.plan import FlashKind, LabelRow, Plan, Product, Stage, Use, Wait, Work
from cartclock.engine.press import Press
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import HandClock
from tests.kit.blank import bench_at

START_US = 1_790_000_000_000_000
ROW = LabelRow(60, 120, 20, 50)
FLASH = Wait("flash", 60, 85, 300, "moisture cure", (ROW,))
HOT = ev.ReadingTaken(air_c=33, rh=40, panel_c=32)
# Seconds to ready, with the reading, as in the worked case with four own sections.
OWN = (
    (48, ev.ReadingTaken(air_c=32, rh=42, panel_c=31)),
    (52, ev.ReadingTaken(air_c=31, rh=45, panel_c=30)),
    (41, ev.ReadingTaken(air_c=34, rh=38, panel_c=33)),
    (55, ev.ReadingTaken(air_c=30, rh=48, panel_c=28)),
)
SECTIONS = tuple(f"panel {number}" for number in range(1, 21))


def coat(
    wait: Wait = FLASH, sections: tuple[str, ...] = SECTIONS, minutes: float = 0.5, layers: int = 1
) -> Stage:
    """A coat of one layer with that flash, taken section by section."""
    apply = Work("apply", minutes, (Use("coat", 10.0, 15.0),))
    return Stage("Coat", sections, (apply, wait, Work("level", 1.0)), layers=layers)


def labelled(kind: FlashKind = "moisture cure", *rows: LabelRow, closes_s: int = 300) -> Wait:
    """The flash with another kind, label or close."""
    return replace(FLASH, kind=kind, label=rows or (ROW,), closes_s=closes_s)


class Films:
    """A bench with one coat in work, by seconds since its beginning."""

    def __init__(self, folder: Path, stage: Stage | None = None, seed: int = 1) -> None:
        self.clock = HandClock(START_US)
        self.path, self.entropy = folder / "log.db", random.Random(seed).randbytes
        self.bench = bench_at(self.path, self.clock, "me", self.entropy)
        self.job = self.open(stage or coat())
        self.bench.do(rules.clock_on, ev.ClockedOn("carport"))

    def open(self, stage: Stage) -> str:
        """One more job of this stage; its id."""
        job = self.bench.new_id()
        number = len(self.bench.log.job_summaries()) + 1
        plan = Plan("coat", (stage,), (Product("coat", "Coating"),))
        self.bench.do(rules.open_job, job, ev.JobOpened(plan, "", number, "bottle green estate"))
        return job

    def again(self) -> None:
        """The program ends and is started again on the same log."""
        self.bench.close()
        self.bench = Bench.open(self.path, self.clock, "me", self.entropy)

    def read(self, reading: ev.ReadingTaken = HOT) -> Press:
        """Takes a reading; the press."""
        # Whatever looks odd of a made-up climate is meant.
        return self.bench.do(rules.note_shift, replace(reading, confirmed=True)).press

    def begin(self) -> str:
        """Takes up the next untouched section; its name."""
        move = next(m for m in self.bench.moves() if m.act == "take up" and m.turn.step == 0)
        self.bench.do(rules.take_up, move)
        return move.sections[0]

    def lay(self, seconds: float = 20) -> Window:
        """Lays a film on the next section and stands by it; its window."""
        name = self.begin()
        self.clock.wind(seconds)
        self.bench.do(rules.take_up, Move("end", why="end"))
        window = self.bench.jobs[self.job].sections["Coat", name].window
        assert window is not None
        return window

    def see(self, window: Window) -> Press:
        """The film is seen ready; the press."""
        return self.bench.do(rules.see, self.job, window.stage, window.section).press

    def level(self, window: Window) -> None:
        """Takes the film off, to the end."""
        moves = self.bench.moves()
        self.bench.do(
            rules.take_up,
            next(m for m in moves if m.act == "take up" and window.section in m.sections),
        )
        self.clock.wind(30)
        self.bench.do(rules.take_up, Move("end", why="end"))

    def film(self, ready_s: float, watched: bool = True) -> Window:
        """One section from first touch to last towel; the window it had."""
        window = self.lay()
        self.clock.wind(ready_s)
        if watched:
            self.see(window)
        self.level(window)
        return window

    def learn(self) -> None:
        """The four own sections of the worked case."""
        for seconds, reading in OWN:
            self.read(reading)
            self.film(seconds)
