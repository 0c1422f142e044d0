"""What something costs a processor, so that a bound holds on any machine and on a busy one."""

from __future__ import annotations

import gc
from collections.abc import Callable
from time import process_time


def processor_s(act: Callable[[], object]) -> float:
    """Seconds of a core that this takes once, with no garbage collected meanwhile.

    None is looked for before it either: in all that a run of tests holds that takes longer than
    most of what is measured.
    """
    gc.disable()
    begun = process_time()
    act()
    took_s = process_time() - begun
    gc.enable()
    return took_s


def ratio(act: Callable[[], object], other: Callable[[], object], rounds: int = 5) -> float:
    """What one costs against the other: the least of each, taken in turns, so that a busy
    moment meets both."""
    took = [(processor_s(act), processor_s(other)) for _ in range(rounds)]
    ours, others = zip(*took, strict=True)
    return min(ours) / min(others)


def loop() -> int:
    """A known amount of work to set others against: a few milliseconds of plain Python."""
    found = 0
    for number in range(50_000):
        found = (found * 31 + number) % 1_000_003
    return found


def in_loops(act: Callable[[], object], rounds: int = 5) -> float:
    """How many times `loop` this costs."""
    return ratio(act, loop, rounds)
