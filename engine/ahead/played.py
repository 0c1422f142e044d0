"""A piece of work ahead, and what it is played with: waits, lengths and weights."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from msgspec import Struct

from cartclock.engine.facts.section import WindowKind, wait_after
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.figures.flash import FlashClimate
from cartclock.engine.films.flashing import NO_OWN, NO_PANEL, Own, flash_after, forecast
from cartclock.engine.plan.plan import Stage
from cartclock.engine.times import Instant, Length

WaitBehind = Callable[[Stage, Turn], tuple[WindowKind, Marks] | None]
"""The wait that begins when a turn of a stage is finished, with its marks; None if none does."""

Weights = Mapping[tuple[str, str], float]
"""Stage and panel -> how much longer a section there takes than the plan gives it beside the other
sections of the stage, > 0; 1 where it is not named."""


def waits(climate: FlashClimate | str = NO_PANEL, own: Own = NO_OWN) -> WaitBehind:
    """The waits as they would be frozen in one climate: a labelled flash follows it.

    Args:
        climate: at the panel, or why it is not known; then the label alone holds.
        own: the worker's own watched sections.
    """

    def behind(stage: Stage, turn: Turn) -> tuple[WindowKind, Marks] | None:
        wait = wait_after(stage, turn)
        flash = None if wait is None else flash_after(stage, turn)
        if wait is None or flash is None:
            return wait
        return wait[0], forecast(flash.wait, climate, own.get(flash.product, ())).marks

    return behind


class Played(Struct, frozen=True):
    """One piece of work ahead, as one press takes it up.

    Fields:
        job, stage, sections, turn: what.
        work_us: the plan's, all sections together, as their panels weigh; of what is in hand what
            is left of it.
        units: how many times the plan's minutes are in it: its sections, or 1.
        after: indexes of the pieces whose last touch began the waits in front of it.
        wait_us: from that last touch on.
        cut_us: so much less of it is waited for, where the film of the first of several sections
            would close meanwhile.
        not_before_us: when the window that runs in front of it is ready; None: none runs.
        start_us, end_us: by the lengths it was played with.
        in_hand: True for the first piece if it is in hand.
        lays, ends: True if a dwell or flash begins behind it, and if one ends with it.
        gap: True if what is waited for in front of it is the next layer, not a film.
    """

    job: str
    stage: str
    sections: tuple[str, ...]
    turn: Turn
    work_us: Length
    units: int
    after: tuple[int, ...]
    wait_us: Length
    not_before_us: Instant | None
    start_us: Instant
    end_us: Instant
    in_hand: bool = False
    lays: bool = False
    ends: bool = False
    gap: bool = False
    cut_us: Length = Length(0)


def ready_s(kind: WindowKind, marks: Marks) -> int:
    """When a wait is reckoned to be over: a flash when due, a dwell and a gap when they open."""
    return marks.due_s if kind == "flash" else marks.opens_s


def opening_s(kind: WindowKind, marks: Marks) -> int:
    """When a wait is over for SPACE: when it opens."""
    return marks.opens_s
