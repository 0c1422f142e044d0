"""A date that a person has to keep."""

from __future__ import annotations

from msgspec import Struct


class Date(Struct, frozen=True):
    """A day or an instant, and what begins or ends with it.

    Fields:
        label: what begins or ends ("Keep it dry until").
        when: as it is read: "Sun 5 Apr, 18:17".
        note: what else is to be said of it; "" for nothing.
        first: True for the one that is to be seen before all others.
        example: True while it is from no label; every medium says so beside it.
        known: False while `when` only says that it is not known yet.
    """

    label: str
    when: str
    note: str = ""
    first: bool = False
    example: bool = False
    known: bool = True

    @property
    def labelled(self) -> str:
        """The label, and whether the date is an example."""
        return f"{self.label} (example)" if self.example else self.label
