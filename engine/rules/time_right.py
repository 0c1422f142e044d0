"""Rule: from a press on the time was wrong. Within one start of the laptop job time goes by its
boot clock, so it was wrong from that start on, or from where somebody said the time."""

from __future__ import annotations

from msgspec import Struct

from cartclock.engine.dates import spoken
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Draft
from cartclock.engine.now.scene import Scene
from cartclock.engine.rules.rules import Drafts
from cartclock.engine.times import Instant, Length
from cartclock.engine.trouble import Refused


class TimeRun(Struct, frozen=True):
    """Rows whose times hang on one reading of the wall clock, or on one answer.

    Fields:
        press: number of the first of them.
        from_us, last_us: job times at which the first and the last were entered.
        before_us: when the program was last alive before; None: it never was.
        until: number of the first row behind them, dated by another reading; None: there is none.
        next_us: when that was entered.
    """

    press: int
    from_us: Instant
    last_us: Instant
    before_us: Instant | None = None
    until: int | None = None
    next_us: Instant | None = None


def correct_time(scene: Scene, run: TimeRun, by_us: Length, zone: str) -> Drafts:
    """What was written in `run` happened by `by_us` microseconds later, earlier if negative.

    zone: where a refusal tells times.
    """
    if not by_us:
        raise Refused("That is the time it has already.")
    if run.before_us is not None and run.from_us + by_us < run.before_us:
        raise Refused(
            f"The time was wrong from press {run.press} on, and then that would be before "
            f"{spoken(run.before_us, zone)}, when the program was still running before it; put "
            "that time right first, or say a later one."
        )
    if run.next_us is not None and run.last_us + by_us > run.next_us:
        raise Refused(
            f"Then press {run.until} would be overtaken, which was made "
            f"{spoken(run.next_us, zone)} by another reading of the clock; put that time right "
            "first, or say an earlier one."
        )
    return (Draft(ev.TimeCorrected(run.press, run.from_us, by_us, run.until)),)
