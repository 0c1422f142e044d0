"""Words of persons in events: what may be forgotten stands outside the log, by reference."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct


class Sealed(Struct, frozen=True):
    """A private text by reference: the text and its salt stand outside the log.

    Fields:
        ref: key of the private text.
        sha256: hex of SHA-256 over salt and text; stays when the text is forgotten.
    """

    ref: str
    sha256: str


class Said(str):
    """Words of a person, as a text like any other; on the disk only a reference stands for them.

    Fields:
        sealed: the reference; None for words that stand in the row itself, as the first version
            wrote them, and for such as are still to be written.
    """

    __slots__ = ("sealed",)
    sealed: Sealed | None

    def __new__(cls, text: str, sealed: Sealed | None = None) -> Said:
        said = super().__new__(cls, text)
        said.sealed = sealed
        return said


if TYPE_CHECKING:
    # A field takes any text; what is read from a log is `Said`.
    Words = str
else:
    Words = Said

# What is read for words whose text was forgotten.
FORGOTTEN = "forgotten"
