"""Which time round a section is at, and the marks of its window."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct


class Turn(Struct, frozen=True, order=True, array_like=True):
    """Which time round a section is at: what the worker saw when the press was made.

    Fields:
        pass_: 1, and one more each time a section is reopened.
        layer: 1 to the stage's layers.
        step: index of a Work step in the stage's steps.
    """

    pass_: int = 1
    layer: int = 1
    step: int = 0


def time_round(turn: Turn, worked: Iterable[Turn]) -> int:
    """Which time the layer is worked: 1, and one more for each earlier pass of the same layer.

    A pass is counted on the section, whichever layer it went back to. Laid anew under it, a layer
    that comes on top is at a higher pass, and at its first time all the same.

    worked: turns of what was finished on the same section of the same stage.
    """
    earlier = {one.pass_ for one in worked if one.layer == turn.layer and one.pass_ < turn.pass_}
    return 1 + len(earlier)


class Marks(Struct, frozen=True, array_like=True):
    """A window's marks in seconds: opens and due after the last touch, closes after the first.

    Fields:
        off_by_s: of a labelled flash, after the last touch: nine in ten are ready, and the
            label's longest is not passed; None for any other wait.
    """

    opens_s: int
    due_s: int
    closes_s: int
    off_by_s: int | None = None
