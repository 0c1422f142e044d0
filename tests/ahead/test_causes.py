"""What made a job later than its plan so far."""

from __future__ import annotations

from math import log

from cartclock.engine.ahead.causes import causes
from cartclock.engine.ahead.telling import causes_text
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.shift import shift_after
from cartclock.engine.plan.plan import Plan, Stage, Work
from tests.ahead.test_play import Real
from tests.kit.book import row_at


def test_the_longest_comes_first_and_little_is_no_cause() -> None:
    real = Real(Plan("invented", (Stage("Polish", ("bonnet", "roof"), (Work("polish", 20.0),)),)))

    def away(begin: object, minutes: int, end: object) -> None:
        for event, length in ((begin, minutes), (end, 0)):
            real.seq += 1
            row = row_at(event, 0, real.seq, at_us=real.now_us)  # type: ignore[arg-type]  # any event
            real.shift, odd = shift_after(real.shift, row)
            assert odd is None
            real.now_us += length * MINUTE_US

    # What kept the hands before the job was begun is none of its causes.
    away(ev.BreakTaken("meal"), 40, ev.BreakEnded())
    real.go_on(real.first_move())
    real.finish()
    away(ev.OtherWorkStarted("phone"), 3, ev.OtherWorkEnded())
    away(ev.BreakTaken("rest"), 60, ev.BreakEnded())
    away(ev.OtherWorkStarted("phone"), 2, ev.OtherWorkEnded())
    away(ev.BreakTaken("heat"), 15, ev.BreakEnded())
    away(ev.OtherWorkStarted("customer"), 4, ev.OtherWorkEnded())
    away(ev.BreakTaken("rest"), 40, ev.BreakEnded())

    def said(ratio: float) -> str:
        measured = {("Polish", "polish", 0): (2, log(ratio))}
        jobs = {"job-1": real.job}
        return causes_text(causes(real.job, jobs, real.shift, measured, real.now_us))

    plain = "rests 1:40, rests by the heat 0:15, phone 0:05"
    assert said(1.0) == said(0.5) == plain
    # Two sections of twenty minutes each, half as long again.
    assert said(1.5) == "rests 1:40, Polish over its plan 0:20, rests by the heat 0:15, phone 0:05"
    assert causes(real.job, {"job-1": real.job}, None, {}, real.now_us) == ()
