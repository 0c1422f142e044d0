"""The log of one cart in hand: what is pressed, put right, and found by the machine itself.

A correction is tried as a press is (`engine.desk.pressing`), on everything that it touches, folded
anew.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Collection, Iterable, Sequence
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.desk.in_sight import CHUNK
from cartclock.engine.desk.pressing import Pressed, Pressing, could
from cartclock.engine.desk.time_runs import run_of
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import (
    MINUTE_US,
    Draft,
    Evidence,
    Placed,
    Row,
    job_time,
    standing,
)
from cartclock.engine.press import Press
from cartclock.engine.rules.time_right import correct_time
from cartclock.engine.store.clock import Clock
from cartclock.engine.store.log import Log
from cartclock.engine.times import Instant, Length
from cartclock.engine.trouble import Refused

__all__ = ["GAP_US", "Bench", "Pressed", "could"]

# Our own judgement: the heartbeat comes once a minute, so less than this says nothing.
GAP_US = 3 * MINUTE_US
# What undo passes over: it is taken back by its own kind.
_NOT_TAKEN_BACK = (ev.PressStruck, ev.PressRestored, ev.TimeCorrected)
# A time server slews a running clock by less; a person sets it by more.
STEP_US = 5_000_000


class Bench(Pressing):
    """The log of one cart, folded, with the one way to write to it.

    Args as of `Pressing`.
    """

    # When the program was last known to run, and what the clocks said then.
    _alive: tuple[int, Evidence] | None = None

    @classmethod
    def open(
        cls,
        path: Path,
        clock: Clock,
        worker: str = "me",
        entropy: Callable[[int], bytes] = os.urandom,
    ) -> Bench:
        """The bench of the log at `path`, made if there is none. Raises `StoreFault`."""
        return cls(Log.open(path, entropy=entropy), clock, worker, entropy)

    # Corrections.

    def newest_press(self, worker: str | None = None) -> Press | None:
        """The press that `undo` takes back: the worker's newest that stands; None if none does."""
        before = self.log.head.seq + 1
        while found := self.log.presses_of(worker or self.worker, before, CHUNK):
            for press in found:
                event = self.log.press_rows(press)[0].event
                if not isinstance(event, _NOT_TAKEN_BACK) and self._stands(press):
                    return press
            before = found[-1].seq
        return None

    def undo(self, worker: str | None = None) -> Pressed:
        """Strikes the worker's newest standing press."""
        press = self.newest_press(worker)
        if press is None:
            raise Refused("There is nothing to take back.")
        return self.strike(press, worker=worker or self.worker)

    def strike(
        self, press: Press, why: str = "", also: Collection[Press] = (), worker: str | None = None
    ) -> Pressed:
        """A press, and the presses `also`, do not stand. Refusals offer the cascade."""
        presses = [press, *(other for other in sorted(also) if other != press)]
        for one in presses:
            self._first(one)
        self._in_sight(presses)
        self._mind_handed(presses)
        for one in presses:
            if not self._stands(one):
                raise Refused(f"Press {one} is struck already.")
        drafts = [Draft(ev.PressStruck(one.seq, why, self._said(one))) for one in presses]
        return self._correct(drafts, presses, worker)

    def restore(self, press: Press, worker: str | None = None) -> Pressed:
        """A struck press stands again."""
        self._first(press)
        self._in_sight([press])
        self._mind_handed([press])
        if self._stands(press):
            raise Refused(f"Press {press} stands.")
        restored = ev.PressRestored(press.seq, self._said(press))
        return self._correct([Draft(restored)], [press], worker)

    def move(self, press: Press, to_us: Instant, worker: str | None = None) -> Pressed:
        """A press happened at another time, not ahead of now."""
        self._first(press)
        self._in_sight([press])
        self._mind_handed([press])
        if not self._stands(press):
            raise Refused(f"Press {press} is struck; restore it first.")
        rows = self.log.press_rows(press)
        length_us = max(row.at_us for row in rows) - rows[0].at_us
        if to_us + length_us > self.now_us:
            raise Refused("A press cannot lie ahead.")
        moved = ev.PressMoved(press.seq, to_us, self._said(press))
        return self._correct([Draft(moved)], [press], worker)

    def correct_time(
        self,
        press: Press,
        right_us: Instant,
        zone: str,
        also: Collection[Press] = (),
        worker: str | None = None,
    ) -> Pressed:
        """A press was made at another time than it says, because job time was wrong by then.

        With it all goes that hangs on the same reading of the clock; if it still runs, so does job
        time from here on.

        Args:
            right_us: when the press was made.
            zone: where a refusal tells times.
            also: presses that do not stand then, as a refusal offers.
        """
        rows = self.log.press_rows(press)
        by_us = Length(right_us - rows[0].entered_us if rows else 0)
        run = run_of(self.log, press, by_us > 0)
        evidence = self.clock.read()
        placed = self._placed(evidence)
        scene = self._scene(worker or self.worker, placed.at_us, placed.at_us)
        fix = correct_time(scene, run, by_us, zone)
        was_us = placed.at_us
        if run.until is None and self._last is not None:
            # What the clocks say now may be right already, of a start without a press so far.
            last = replace(self._last, entered_us=Instant(self._last.entered_us + by_us))
            placed = job_time(last, evidence, None, self._most_us)
        reached = self.log.rows_between(run.press, run.until or self.log.head.seq + 1)
        meant = {row.corrects for row in reached} - {None}
        presses = {row.press for row in reached} | {one for one in meant if one is not None}
        self._in_sight([*presses, *also])
        self._mind_handed_rows(reached)
        self._mind_handed(also)
        struck = [Draft(ev.PressStruck(one.seq, "", self._said(one))) for one in sorted(also)]
        # Behind it: what is in front of it is read with another time.
        rows = self._rows([*fix, *struck], scene, placed.at_us, placed, evidence)
        told = self._write(rows, self._refolded(rows, {*presses, *also}))
        self.load(self._jobs_in_sight, self._shifts_in_sight)
        if run.until is None:
            self._alive_us = placed.at_us
            if self._alive is not None:
                self._alive = (self._alive[0] + placed.at_us - was_us, self._alive[1])
            self.beat()
        return told

    def _said(self, press: Press) -> str:
        """How a correction names the origin of a press: "" for this log's own."""
        return "" if press.origin == self.log.origin else press.origin

    def _stands(self, press: Press) -> bool:
        """Whether a press stands."""
        return standing(self.log.corrections_of([press])).get(press, True)

    def _first(self, press: Press) -> Row:
        """The press's first row; refuses a number that is none, and strikes and restores."""
        rows = self.log.press_rows(press)
        if not rows or rows[0].press != press:
            raise Refused(f"There is no press {press}.")
        if press.origin != self.log.origin:
            raise Refused(
                f"Press {press} is of another laptop; put it right there, then import the job anew."
            )
        if isinstance(rows[0].event, ev.TimeCorrected):
            raise Refused(
                "What was said of the time is not taken back; choose a press that was made at "
                "another time, and say at which."
            )
        if isinstance(rows[0].event, ev.PressStruck | ev.PressRestored):
            raise Refused("A strike is taken back by restoring the press it struck.")
        return rows[0]

    def _mind_handed(self, presses: Iterable[Press]) -> None:
        """Refuses to correct what lies behind a hand-over: the other cart went on from it."""
        self._mind_handed_rows(row for press in presses for row in self.log.press_rows(press))

    def _mind_handed_rows(self, rows: Iterable[Row]) -> None:
        for row in rows:
            self._mind_given([row.job])
            if self._is_handed(row):
                raise Refused(
                    f"Press {row.press} lies behind a hand-over of the job, from which another "
                    "cart went on; it stays as it is. Write a note about it."
                )

    def _correct(
        self, drafts: Sequence[Draft], presses: Sequence[Press], worker: str | None
    ) -> Pressed:
        evidence = self.clock.read()
        placed = self._placed(evidence)
        scene = self._scene(worker or self.worker, placed.at_us, placed.at_us)
        rows = self._rows(drafts, scene, placed.at_us, placed, evidence)
        concerned = set(presses)
        for row in self.rows:
            meant = row.corrects if isinstance(row.event, ev.PressMoved) else None
            if row.press in concerned and meant is not None:
                concerned.add(meant)
        refolded = self._refolded(rows, concerned)
        told = self._write(rows, refolded)
        if refolded.no_shifts:
            # A clocking on was struck: the shift before it is the newest again.
            self.load(self._jobs_in_sight, self._shifts_in_sight)
        return told

    # The machine's own watch.

    def wake(self) -> list[Pressed]:
        """To be called once after opening: finds the time in which no program ran."""
        beat = self.log.last_beat()
        evidence = self.clock.read()
        now_us = self._placed(evidence).at_us
        written: list[Pressed] = []
        if self._last is not None:
            alive_us = (
                self._last.entered_us if beat is None else max(beat.at_us, self._last.entered_us)
            )
            if now_us - alive_us > GAP_US:
                written = self._tell(ev.GapFound(alive_us, now_us))
        self._alive = (now_us, evidence)
        self.beat()
        return written

    def tick(self, evidence: Evidence | None = None) -> list[Pressed]:
        """To be called about once a second: finds suspends and clock steps.

        evidence: what the clocks were read to say; None: they are read.
        """
        evidence = evidence or self.clock.read()
        now_us = self._placed(evidence).at_us
        written: list[Pressed] = []
        if self._alive is not None:
            was_us, was = self._alive
            if now_us - was_us > GAP_US:
                written += self._tell(ev.GapFound(Instant(was_us), now_us))
            if evidence.boot == was.boot:
                by_us = (evidence.wall_us - was.wall_us) - (evidence.tick_us - was.tick_us)
                if abs(by_us) > STEP_US:
                    written += self._tell(ev.ClockStepped(Length(by_us)))
        self._alive = (now_us, evidence)
        return written

    def beat(self) -> None:
        """To be called once a minute: overwrites the sign of life outside the log."""
        evidence = self.clock.read()
        self.log.beat(self._placed(evidence).at_us, evidence)

    def _tell(self, event: Struct) -> list[Pressed]:
        on = [shift for shift in self.shifts.values() if shift.on_clock]
        return [self.machine([Draft(event)], shift.worker) for shift in on]

    def say_time(self, true_us: Instant) -> Pressed:
        """The worker says what time it is; job time goes on from there and never back."""
        evidence = self.clock.read()
        placed = self._placed(evidence)
        if true_us < placed.at_us:
            raise Refused("The log is later than that already; time cannot run back.")
        scene = self.scene()
        said = Placed(true_us, True)
        rows = self._rows([Draft(ev.ClockJudged())], scene, true_us, said, evidence)
        return self._write(rows, self._tried(rows))
