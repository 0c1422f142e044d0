"""A log written by hand: presses at seconds, read back through the folds.

Nothing is checked on the way in, so that what cannot be can be written too.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.refold import Folded, folded
from cartclock.engine.facts.rows import By, Draft, Row, believed_rows
from cartclock.engine.facts.shift import Shift
from cartclock.engine.hours.partition import Piece, partition
from cartclock.engine.now.moves import moves
from cartclock.engine.now.scene import Scene
from cartclock.engine.plan.plan import Stage
from cartclock.engine.press import Press
from cartclock.engine.rules.rules import Drafts
from tests.kit.plans import opening

T0_US = 1_790_000_000_000_000
JOB = "job-1"

J = TypeVar("J", Job, Shift)


def us(seconds: float) -> int:
    """Job time `seconds` after the book's beginning, microseconds UTC."""
    return T0_US + round(seconds * 1_000_000)


def row_at(event: Struct, at_s: float = 0, seq: int = 0, **fields: Any) -> Row:
    """One row of its own press; `fields` overrule what is filled in."""
    facts: dict[str, Any] = {
        "origin": "cart",
        "seq": seq,
        "press": seq,
        "shift": "me 1",
        "job": JOB if type(event) in ev.JOB_EVENTS else "",
        "worker": "me",
        "at_us": us(at_s),
        "entered_us": us(at_s),
        "wall_us": us(at_s),
        "boot": "boot-1",
        "tick_us": us(at_s) - T0_US,
        "sure": True,
        "by": "worker",
        "event": event,
    }
    facts |= fields
    if isinstance(facts["press"], int):
        facts["press"] = Press(facts["origin"], facts["press"])
    return Row(**facts)


def without_odd(fold: J | None) -> J | None:
    """The same job or shift with nothing set aside, to see that nothing else changed."""
    return None if fold is None else replace(fold, odd=[])


class Book:
    """Rows in the order in which they were written."""

    def __init__(self) -> None:
        self.rows: list[Row] = []
        self._shifts: dict[str, int] = {}
        # What the rows told when they were last folded.
        self._told: tuple[list[Row], Folded] = ([], Folded())

    def press(
        self,
        at_s: float,
        *items: Struct,
        worker: str = "me",
        job: str = JOB,
        entered_s: float | None = None,
        by: By = "worker",
    ) -> int:
        """Writes one press of events or drafts; returns its number."""
        first = len(self.rows)
        for item in items:
            draft = item if isinstance(item, Draft) else Draft(item, self._job_of(item, job))
            if isinstance(draft.event, ev.ClockedOn):
                self._shifts[worker] = self._shifts.get(worker, 0) + 1
            self.rows.append(
                row_at(
                    draft.event,
                    at_s,
                    len(self.rows),
                    press=first,
                    shift=f"{worker} {self._shifts[worker]}" if worker in self._shifts else "",
                    job=draft.job,
                    worker=worker,
                    at_us=us(at_s) if draft.at_us is None else draft.at_us,
                    entered_us=us(at_s if entered_s is None else entered_s),
                    by=by,
                )
            )
        return first

    @staticmethod
    def _job_of(event: Struct, job: str) -> str:
        return job if type(event) in ev.JOB_EVENTS else ""

    def do(
        self, at_s: float, rule: Callable[..., Drafts], *args: Any, **facts: Any
    ) -> list[Struct]:
        """Asks a rule at that time and writes what it returns; returns the events.

        `worker` among the facts says who presses. Fails if a fold finds anything odd.
        """
        worker = facts.pop("worker", "me")
        drafts = rule(self.scene(at_s, worker), *args, **facts)
        self.press(at_s, *drafts, worker=worker)
        assert self.odd() == []
        return [draft.event for draft in drafts]

    def folded(self) -> Folded:
        """Every job and every shift as they stand; the same rows are folded once."""
        if self._told[0] != self.rows:
            jobs = {row.job for row in self.rows} - {""}
            shifts = {row.shift for row in self.rows} - {""}
            self._told = (list(self.rows), folded(believed_rows(self.rows), jobs, shifts))
        return self._told[1]

    def job(self, job: str = JOB) -> Job:
        """The job as it stands; it was opened."""
        return self.folded().jobs[job]

    def shift(self, shift: str = "me 1") -> Shift:
        """The shift as it stands; somebody clocked on."""
        return self.folded().shifts[shift]

    def jobs(self) -> dict[str, Job]:
        """Every job by its id."""
        return self.folded().jobs

    def scene(self, at_s: float, worker: str = "me") -> Scene:
        """What a rule looks at when this worker presses."""
        number = self._shifts.get(worker)
        found = self.folded()
        return Scene(worker, found.shifts.get(f"{worker} {number}"), found.jobs, us(at_s))

    def moves(self, at_s: float, worker: str = "me") -> tuple[Move, ...]:
        """What this worker can take up."""
        scene = self.scene(at_s, worker)
        return () if scene.shift is None else moves(scene.jobs, scene.shift, scene.now_us)

    def pieces(self, at_s: float, shift: str = "me 1") -> list[Piece]:
        """The shift as pieces of time, up to `at_s` if it is not over."""
        return partition(self.shift(shift), self.jobs(), us(at_s))

    def odd(self) -> list[str]:
        """The reasons for which rows were set aside, in jobs and shifts."""
        return [odd.why for odd in self.folded().odd]


def opened(*stages: Stage, on: bool = True) -> Book:
    """A book with one job of these stages, and the worker clocked on if `on`, at second 0."""
    book = Book()
    book.press(0, opening(*stages))
    if on:
        book.press(0, ev.ClockedOn("carport"))
    return book
