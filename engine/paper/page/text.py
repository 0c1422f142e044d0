"""A page of plain text, 80 cells wide: what goes into a terminal, a mail or a line printer.

Lines leave inert and never wider than the page.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from engine.job.dates import local, spoken_day
from engine.letters import cells, clusters, padded, wrapped

WIDTH = 80


def spaced(text: str) -> str:
    """Text in capitals with a space between letters and three between words: "W E T"."""
    return "   ".join(" ".join(clusters(word)) for word in text.upper().split())


class Page:
    """Lines of a paper, written from the top down."""

    def __init__(self) -> None:
        self._lines: list[str] = []

    def __str__(self) -> str:
        return "\n".join(self._lines).rstrip("\n") + "\n"

    def line(self, text: str = "", indent: int = 0, hang: int = 0) -> None:
        """Text, wrapped; lines after the first are `hang` cells further in."""
        first, *rest = wrapped(text, WIDTH - indent, hang)
        self._put(" " * indent + first)
        for line in rest:
            self._put(" " * (indent + hang) + line)

    def large(self, text: str) -> None:
        """Text in wide-set capitals in the middle of the page, as large as plain text can be."""
        for line in wrapped(text, WIDTH // 2 - 1):
            wide = spaced(line)
            # A letter that grows in capitals ("\u00df") may leave no room to be set wide.
            wide = wide if cells(wide) <= WIDTH else line
            self._put(" " * ((WIDTH - cells(wide)) // 2) + wide)

    def title(self, left: str, right: str) -> None:
        """The head of the paper over a double rule."""
        self.columns((left, right), (-(WIDTH - 20), 20))
        self._put("=" * WIDTH)

    def chapter(
        self, name: str, heads: Sequence[str] = ("",), widths: Sequence[int] = (-40, 40)
    ) -> None:
        """A heading over a rule, with a blank line before; `heads` stand over columns."""
        self.line()
        self.columns((name.upper(), *heads), widths)
        self._put("-" * WIDTH)

    def field(self, label: str, text: str) -> None:
        """A short label and its text beside it."""
        self.columns((label, text), (-14, -(WIDTH - 14)))

    def alert(self, text: str) -> None:
        """A sentence that is to be read before everything else."""
        self.line(text)
        self.line()

    def blank(self, label: str) -> None:
        """A label with a line to write on beside it."""
        self.columns((label, "_" * (WIDTH - 16)), (-14, -(WIDTH - 14)))

    def signatures(self, labels: Sequence[str]) -> None:
        """Lines to sign on, side by side, each with its label under it."""
        width = WIDTH // len(labels)
        self.line()
        self.line()
        self.columns(["_" * (width - 4)] * len(labels), [-width] * len(labels))
        self.columns(labels, [-width] * len(labels))

    def columns(self, texts: Sequence[str], widths: Sequence[int], indent: int = 0) -> None:
        """A row of columns, each wrapped in its own; a negative width is set from the left.

        The widths and the indent together must not be over the page's. A column set from
        the left keeps one cell free at its end, so that neighbours do not touch.
        """
        stacks = [
            wrapped(text, width if width > 0 else -width - 1)
            for text, width in zip(texts, widths, strict=True)
        ]
        for row in zip_longest(*stacks, fillvalue=""):
            self._put(
                " " * indent
                + "".join(
                    padded(cell, abs(width), width > 0)
                    for cell, width in zip(row, widths, strict=True)
                )
            )

    def heads(self, texts: Sequence[str], widths: Sequence[int], indent: int = 0) -> None:
        """The row that says what stands in the columns under it, until the next blank line."""
        self.columns(texts, widths, indent)

    def _put(self, line: str) -> None:
        self._lines.append(line.rstrip(" "))


class Calendar:
    """Says the date of a row of times where it changes from one to the next."""

    def __init__(self, page: Page, zone: str, indent: int = 2) -> None:
        self._page = page
        self._zone = zone
        self._indent = indent
        self._date = ""

    def turn(self, at_us: int) -> None:
        """Puts the weekday and date on the page unless the last time had the same."""
        date = spoken_day(local(at_us, self._zone).date())
        if date != self._date:
            self._page.line(date, self._indent)
            self._date = date
