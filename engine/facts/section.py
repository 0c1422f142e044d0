"""One section of a stage: its states, its windows, and what was finished on it.

Which event a section can take in which state stands in `SECTION_TABLE`. The table is
frozen, because the log of an old job must be read the same way for ever.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.plan.plan import Stage, Wait, Work
from cartclock.engine.press import Press
from cartclock.engine.times import Instant, Length

SectionState = Literal["todo", "in hand", "held", "waiting", "done", "left out", "cut in two"]
WindowKind = Literal["dwell", "flash", "gap"]
WindowState = Literal["WAIT", "READY", "LATE"]
Key = tuple[str, str]

SECOND_US = 1_000_000

# The state after the event; an event that is not named cannot be. "next" is decided by the
# event and the plan: waiting if the event carries marks, todo if another work step follows,
# done if none does.
SECTION_TABLE: dict[SectionState, dict[str, SectionState | Literal["next"]]] = {
    "todo": {
        "WorkStarted": "in hand",
        "SectionSkipped": "left out",
        "SectionSplit": "cut in two",
        "ProductUsed": "todo",
        "WaterTouched": "todo",
        # Both only between two layers.
        "SectionReopened": "todo",
        "SectionChecked": "todo",
    },
    "in hand": {
        "WorkPutDown": "held",
        "StepFinished": "next",
        "ProductUsed": "in hand",
        "WaterTouched": "in hand",
    },
    "held": {
        "WorkStarted": "in hand",
        "SectionSkipped": "left out",
        "ProductUsed": "held",
        "WaterTouched": "held",
    },
    "waiting": {
        "WorkStarted": "in hand",
        "WindowSeen": "waiting",
        "MarksRevised": "waiting",
        "SectionSkipped": "left out",
        "ProductUsed": "waiting",
        "WaterTouched": "waiting",
        # Both only between two layers.
        "SectionReopened": "todo",
        "SectionChecked": "waiting",
    },
    "done": {
        "SectionReopened": "todo",
        "ProductUsed": "done",
        "WaterTouched": "done",
        "SectionChecked": "done",
    },
    "left out": {
        "SectionReopened": "todo",
        "ProductUsed": "left out",
        "WaterTouched": "left out",
    },
    "cut in two": {},
}


class Window(Struct, frozen=True):
    """A wait of one section, running or ended.

    Fields:
        stage, section: whose film it is.
        turn: the work that follows.
        kind: dwell, flash or gap.
        first_us, last_us: first and last touch of the work before (for a gap both the last).
        marks: frozen when it opened, or revised.
        seen_us: when the film was seen ready; None if not watched.
        ended_us: when it was taken up or left out; None while it runs.
        taken: True if it ended by being taken up.
        version: of its stage, by which it was laid (`Job.stage_of`).
    """

    stage: str
    section: str
    turn: Turn
    kind: WindowKind
    first_us: Instant
    last_us: Instant
    marks: Marks
    seen_us: Instant | None = None
    ended_us: Instant | None = None
    taken: bool = False
    version: int = 0

    @property
    def opens_us(self) -> Instant:
        """Job time from which it may be worked: the mark `opens`, or when it was seen ready before
        it, for the eye decides.
        """
        marked_us = self.opens_mark_us
        return marked_us if self.seen_us is None else min(marked_us, self.seen_us)

    @property
    def opens_mark_us(self) -> Instant:
        """Job time of the mark `opens`, which a record goes by."""
        return Instant(self.last_us + self.marks.opens_s * SECOND_US)

    @property
    def due_us(self) -> Instant:
        """Job time of the mark `due`."""
        return Instant(self.last_us + self.marks.due_s * SECOND_US)

    @property
    def expected_us(self) -> Instant | None:
        """Job time of the mark `due`; None for a film that is looked at without an expectation."""
        looks = self.marks.off_by_s is not None and self.marks.due_s <= self.marks.opens_s
        return None if looks else self.due_us

    @property
    def closes_us(self) -> Instant:
        """Job time of the mark `closes`."""
        return Instant(self.first_us + self.marks.closes_s * SECOND_US)

    @property
    def off_by_us(self) -> Instant | None:
        """Job time of the mark `off by`; None if the window has none."""
        off_by_s = self.marks.off_by_s
        return None if off_by_s is None else Instant(self.last_us + off_by_s * SECOND_US)

    def to_look_at(self, now_us: Instant) -> bool:
        """True while a film may be ready and nobody has seen it so: from opens to off by."""
        off_by_us = self.off_by_us
        return (
            self.state(now_us) == "READY"
            and self.seen_us is None
            and off_by_us is not None
            and now_us < off_by_us
        )

    def state(self, now_us: Instant) -> WindowState:
        """WAIT before it opens, LATE from `closes` on, READY between."""
        if now_us >= self.closes_us:
            return "LATE"
        return "READY" if now_us >= self.opens_us else "WAIT"

    @property
    def too_big(self) -> bool:
        """True if the first touch runs out before the last touch is ready: no width is left."""
        return self.closes_us <= self.opens_us


_TOLD: dict[SectionState, str] = {"todo": "to do", "held": "put down"}


class Section(Struct, frozen=True):
    """One section of a stage.

    Fields:
        stage, name, panel: where it is.
        state: see `SECTION_TABLE`.
        turn: the work to be done next (in hand: being done; done: the last one done).
        worker: who has it in hand; "" otherwise.
        first_us: first touch of the work in hand or held; None otherwise.
        taken_us: when it was taken up last; None unless in hand.
        hands_us: how long the work in hand or held was in hand before that.
        finished_us: last touch of the work finished last; None if none was.
        window: the wait it is in; None unless waiting.
        why: reason given for leaving it out or doing it again.
    """

    stage: str
    name: str
    panel: str
    state: SectionState = "todo"
    turn: Turn = Turn()
    worker: str = ""
    first_us: Instant | None = None
    taken_us: Instant | None = None
    hands_us: Length = Length(0)
    finished_us: Instant | None = None
    window: Window | None = None
    why: str = ""

    @property
    def told(self) -> str:
        """The state in words for a person."""
        return _TOLD.get(self.state, self.state)

    def worked_us(self, now_us: Instant) -> Length:
        """How long the work in hand or held was in hand so far."""
        since_us = now_us if self.taken_us is None else self.taken_us
        return Length(self.hands_us + now_us - since_us)

    @property
    def untouched(self) -> bool:
        """True if no work was ever begun on it."""
        return (
            self.state == "todo"
            and self.turn == Turn()
            and self.first_us is None
            and self.finished_us is None
        )

    @property
    def between_layers(self) -> bool:
        """True while a layer lies open: it is finished, and the next one was not begun."""
        gap = self.window is not None and self.window.kind == "gap"
        begins = self.turn.step == 0 and self.turn.layer > 1 and self.finished_us is not None
        return gap if self.state == "waiting" else self.state == "todo" and begins

    @property
    def over(self) -> bool:
        """True if nothing is left to do on it: done, left out or cut in two."""
        return self.state in ("done", "left out", "cut in two")


class Stint(Struct, frozen=True):
    """One work step finished on one section.

    Fields:
        stage, section, turn: what it was.
        first_us, last_us: first and last touch.
        worker: who finished it.
        shared: True if its times were shared out evenly afterwards.
        press: the press that finished it.
        version: of its stage, by which it was done (`Job.stage_of`).
    """

    stage: str
    section: str
    turn: Turn
    first_us: Instant
    last_us: Instant
    worker: str
    shared: bool
    press: Press
    version: int = 0


def next_turn(stage: Stage, turn: Turn) -> Turn | None:
    """The work after `turn` on the same section: next step, next layer, or None."""
    for index in range(turn.step + 1, len(stage.steps)):
        if isinstance(stage.steps[index], Work):
            return Turn(turn.pass_, turn.layer, index)
    if turn.layer < stage.layers:
        return Turn(turn.pass_, turn.layer + 1, 0)
    return None


def ends_layer(stage: Stage, turn: Turn) -> bool:
    """True if the work at `turn` is the last of its layer."""
    following = next_turn(stage, turn)
    return following is None or following.layer > turn.layer


def work_of(stage: Stage, turn: Turn) -> Work:
    """The work step a turn points at; KeyError if the plan has none there."""
    if 0 <= turn.step < len(stage.steps):
        step = stage.steps[turn.step]
        if isinstance(step, Work):
            return step
    raise KeyError(f"{stage.name}: step {turn.step}")


def wait_after(stage: Stage, turn: Turn) -> tuple[WindowKind, Marks] | None:
    """The wait that begins when `turn` is finished, as planned; None if none does."""
    follows = turn.step + 1
    if follows < len(stage.steps):
        step = stage.steps[follows]
        if isinstance(step, Wait):
            return step.say, Marks(step.opens_s, step.due_s, step.closes_s)
        return None
    if turn.layer < stage.layers and stage.gap is not None:
        return "gap", Marks(stage.gap.opens_s, stage.gap.due_s, stage.gap.closes_s)
    return None
