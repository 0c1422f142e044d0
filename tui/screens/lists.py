"""The lists that letters open. Each is a few lines to pick; nothing is written before a pick."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Literal, get_args

from msgspec import Struct

from engine.bench import Bench, Told
from engine.job import events as ev
from engine.job import rules
from engine.job.dates import local
from engine.job.events import BreakKind, OtherKind
from engine.job.glance import running
from engine.job.job import Job
from engine.job.moves import Move
from engine.job.rows import standing
from engine.job.section import Window
from engine.job.shift import Hands
from engine.job.words import place_text, row_text
from engine.trouble import Asks, Refused, StoreFault
from tui.widgets.sheet import Line
from tui.widgets.values import Length

if TYPE_CHECKING:
    from tui.screens.run import RunScreen


class Asked(Struct, frozen=True):
    """A question on the screen, kept outside the log until it is answered.

    Fields:
        rule_id, sentence: from the rule.
        press: what was pressed.
        move, job: what it was pressed on.
        over: reasons given already.
        at_us: job time the press speaks of; 0 for the moment in which it is answered.
        worker: who pressed; "" for the first worker.
    """

    rule_id: str
    sentence: str
    press: Literal["take up", "clock off", "close job"]
    move: Move | None = None
    job: str = ""
    over: dict[str, str] = {}
    at_us: int = 0
    worker: str = ""


def guarded(screen: RunScreen, do: Callable[[], Any]) -> Callable[[], None]:
    """A pick that answers in the notice line if it cannot be."""

    def press() -> None:
        try:
            do()
        except Asks as asks:
            screen.say(str(asks))
        except (Refused, StoreFault) as why:
            screen.say(str(why))
        screen.paint()

    return press


def watched(bench: Bench) -> list[tuple[Job, Window]]:
    """Running dwell and flash windows, the one that hurts first in front."""
    return running(bench.jobs, bench.now_us)


def job_in_view(bench: Bench, chosen: Move | None) -> Job | None:
    """The job in hand, else the job of the chosen move, else the only open one."""
    shift = bench.shift()
    if shift is not None and isinstance(shift.doing, Hands):
        return bench.jobs.get(shift.doing.job)
    if chosen is not None and chosen.job:
        return bench.jobs.get(chosen.job)
    if shift is not None and shift.jobs:
        return bench.jobs.get(shift.jobs[-1])
    jobs = [job for job in bench.jobs.values() if job.state == "open"]
    return jobs[0] if len(jobs) == 1 else None


def taken_back(bench: Bench, told: Told) -> str:
    """What an undo took back."""
    struck = told.rows[0].event
    assert isinstance(struck, ev.PressStruck)
    rows = [row for row in bench.rows if row.press == struck.press]
    return "Taken back: " + "; ".join(row_text(row, bench.jobs) for row in rows[-2:]) + "."


def offer_cascade(screen: RunScreen, why: Refused) -> None:
    """Offers to strike what stands in the way of an undo as well."""
    bench = screen.cart.bench
    stands = standing(bench.rows)
    # The press that `Bench.undo` went for.
    newest = next(
        row
        for row in reversed(bench.rows)
        if row.by == "worker"
        and row.worker == bench.worker
        and stands.get(row.press, True)
        and not isinstance(row.event, ev.PressStruck | ev.PressRestored)
    )

    def strike() -> None:
        told = bench.strike(newest.press, also=why.standing)
        screen.cart.told(told)

    screen.sheet.open(
        str(why),
        [
            Line("leave it", lambda: screen.say("Left as it was.")),
            Line(f"strike {len(why.standing)} more with it", guarded(screen, strike)),
        ],
    )


def in_hand(bench: Bench) -> Hands | None:
    shift = bench.shift()
    return shift.doing if shift is not None and isinstance(shift.doing, Hands) else None


class Toggle:
    """Whether what is in hand is finished or only put down by what comes next."""

    def __init__(self, bench: Bench) -> None:
        self.finish = False
        hands = in_hand(bench)
        self.there = hands is not None
        self._where = (
            place_text(bench.jobs[hands.job], hands.stage, hands.sections) if hands else ""
        )

    def text(self) -> str:
        return f"{self._where}: {'finished' if self.finish else 'put down, goes on later'}"

    def flip(self) -> None:
        self.finish = not self.finish

    def turn(self, step: int) -> None:
        self.flip()

    def lines(self) -> list[Line]:
        if not self.there:
            return []
        return [Line(self.text, self.flip, hot="f", turn=self.turn, stays=True)]


BREAKS: tuple[tuple[BreakKind, str, int | None], ...] = (
    # Lengths are offered, not prescribed; common practice, no source.
    ("rest", "r", 15),
    ("meal", "m", 30),
    ("heat", "h", 15),
    ("away", "a", None),
)


def open_breaks(screen: RunScreen) -> None:
    """Breaks, with the windows that run on."""
    bench = screen.cart.bench
    toggle = Toggle(bench)
    lines = []
    for what, hot, minutes in BREAKS:
        length = Length(what, minutes)

        def take(what: BreakKind = what, length: Length = length) -> None:
            planned = length.minutes * 60 or None
            screen.cart.write(rules.take_break, what, planned, toggle.finish)

        lines.append(Line(length.text, guarded(screen, take), hot=hot, turn=length.turn))
    running_on = watched(bench)
    title = "Break"
    if running_on:
        title += ": windows run on: " + ", ".join(
            f"{w.section} {'closed' if w.closes_us <= bench.now_us else 'closes'} "
            f"{spoken_clock(bench, w.closes_us)}"
            for _job, w in running_on[:3]
        )
    hint = "left, right: length   space: take it   esc: no break"
    screen.sheet.open(title, [*lines, *toggle.lines()], hint)


def spoken_clock(bench: Bench, at_us: int) -> str:
    """Time of day in the zone of the shift."""
    shift = bench.shift()
    zone = shift.on.zone if shift is not None and shift.on is not None else "UTC"
    return local(at_us, zone).format("HH:mm")


HOT_OTHER = "cpwmtfods"


def open_other(screen: RunScreen) -> None:
    """Other work."""
    bench = screen.cart.bench
    toggle = Toggle(bench)
    job = job_in_view(bench, screen.chosen)
    lines = []
    what: OtherKind
    for what, hot in zip(get_args(OtherKind), HOT_OTHER, strict=True):

        def take(what: OtherKind = what) -> None:
            whose = "" if job is None else job.id
            screen.cart.write(rules.start_other, what, whose, toggle.finish)

        lines.append(Line(what, guarded(screen, take), hot=hot if hot != "f" else ""))
    screen.sheet.open("Other work", [*lines, *toggle.lines()])


def progress(job: Job) -> str:
    """How far a job is, in plain words."""
    done = [s.name for s in job.stages if all(x.over for x in job.of(s.name))]
    left = [s.name for s in job.stages if s.name not in done]
    if not left:
        return "all stages are done."
    begun = f"done: {', '.join(done)}. " if done else ""
    ahead = f", then {', '.join(left[1:])}" if left[1:] else ""
    return f"{begun}Now {left[0]}{ahead}."
