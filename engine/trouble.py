"""What can go wrong, in sentences a worker reads from the cart.

Four kinds, told apart by what the reader does next: nothing (`Refused`), answer
(`Asks`), mend a file (`PlanFault`), look at the disk (`StoreFault`).
"""

from __future__ import annotations

from cartclock.engine.press import Press


class Trouble(Exception):
    """Root of every fault this program raises on purpose; `str()` is a whole sentence."""


class Refused(Trouble):
    """The press cannot be. Nothing was written.

    `standing` names the presses that stand in the way of a
    correction; striking them as well would make it possible. Empty otherwise.
    """

    def __init__(self, sentence: str, standing: tuple[Press, ...] = ()) -> None:
        super().__init__(sentence)
        self.standing = standing


class Asks(Trouble):
    """The press may be, if it is said again with a reason for `rule_id`. Nothing was written."""

    def __init__(self, rule_id: str, sentence: str) -> None:
        super().__init__(sentence)
        self.rule_id = rule_id


class PlanFault(Trouble):
    """A plan or settings file says something it must not; one sentence per fault."""

    def __init__(self, faults: tuple[str, ...]) -> None:
        super().__init__("\n".join(faults))
        self.faults = faults

    @property
    def first(self) -> str:
        """The first fault, and of how many, for a line that has room for one."""
        many = len(self.faults)
        return f"{self.faults[0]}{f' (the first of {many} faults)' if many > 1 else ''}"


class StoreFault(Trouble):
    """The log on disk is not what it was, cannot be read, or cannot be written."""
