"""What SPACE would take up to the end of a job, by the moves themselves on folds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job, job_after
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import MINUTE_US, Row
from cartclock.engine.facts.section import work_of
from cartclock.engine.facts.shift import Break, Hands, Other, Shift, shift_after
from cartclock.engine.facts.turn import Turn
from cartclock.engine.films.flashing import opening_marks
from cartclock.engine.now.moves import finishing, moves
from cartclock.engine.press import Press
from cartclock.engine.times import Instant


class End(NamedTuple):
    """A piece of work and when it ends."""

    stage: str
    sections: tuple[str, ...]
    turn: Turn
    end_us: int


class Forward:
    """One job and the shift of one worker, gone on with from an instant: who is off the clock
    clocks on first, and who has another job in hand puts it down.
    """

    def __init__(self, job: Job, shift: Shift, now_us: int) -> None:
        self.job, self.shift, self.now_us = job, shift, now_us

    def to_the_end(self) -> Iterator[End]:
        """Every piece in order, each as long as planned, every wait at its opening."""
        if not self.shift.on_clock:
            self.shift = self.after(ev.ClockedOn("carport"), None)
        match self.shift.doing:
            case Break():
                self.take(ev.BreakEnded())
            case Other():
                self.take(ev.OtherWorkEnded())
            case Hands() as hands if hands.job != self.job.id:
                down = ev.WorkPutDown(hands.stage, hands.sections, hands.turn)
                self.shift = self.after(down, self.shift, hands.job)
            case Hands() as hands:
                stage = self.job.stage(hands.stage)
                minutes = stage.minutes_of(work_of(stage, hands.turn), hands.sections)
                there = [self.job.sections[hands.stage, name].first_us for name in hands.sections]
                first_us = min(at_us for at_us in there if at_us is not None)
                self.now_us = max(self.now_us, first_us + round(minutes * MINUTE_US))
                yield End(hands.stage, hands.sections, hands.turn, self.now_us)
        while (move := self.first_move()) is not None:
            self.finish()
            if move.act == "stand by":
                assert move.opens_us is not None
                self.now_us = max(self.now_us, move.opens_us)
                continue
            self.take(ev.WorkStarted(move.stage, move.sections, move.turn))
            self.now_us += round(move.minutes * MINUTE_US)
            yield End(move.stage, move.sections, move.turn, self.now_us)

    def first_move(self) -> Move | None:
        """What SPACE would take up."""
        found = moves({self.job.id: self.job}, self.shift, Instant(self.now_us))
        return next((m for m in found if m.act in ("take up", "stand by")), None)

    def finish(self) -> None:
        """What is in hand is finished now."""
        hands = self.shift.doing
        if isinstance(hands, Hands):
            # By the label, as the plan is played: a reading would grow old on the way.
            marks = opening_marks(self.job, hands, None, Instant(self.now_us))
            self.take(finishing(self.job, hands, marks=marks))

    def take(self, event: Struct) -> None:
        """One event now."""
        if type(event) in ev.JOB_EVENTS:
            job, odd = job_after(self.job, self.row(event, self.job.id))
            assert odd is None, odd
            assert job is not None
            self.job = job
        self.shift = self.after(event, self.shift, self.job.id)

    def after(self, event: Struct, shift: Shift | None, job: str = "") -> Shift:
        """A shift behind one event now."""
        found, odd = shift_after(shift, self.row(event, job))
        assert odd is None, odd
        assert found is not None
        return found

    def row(self, event: Struct, job: str) -> Row:
        """One event now as a row; behind all others."""
        at_us = Instant(self.now_us)
        return Row(
            "", 1 << 40, Press("", 1 << 40), self.shift.id, job, self.shift.worker,
            at_us, at_us, Instant(0), "", 0, True, "worker", event,
        )  # fmt: skip
