"""A terminal that only knows where the cursor is and in which colours a cell was written.

Written for tests of what goes down the line; it shares no code with the program.
"""

from __future__ import annotations

import re
import unicodedata

# ECMA-48: control sequences, and strings as far as the bell that ends them in practice.
SEQUENCE = re.compile(r"\x1b(?:\[[0-?]*[ -/]*[@-~]|\][^\x07]*\x07)")


class Screen:
    """Cells by (row, column), from 0: the character and the SGR parameters in force."""

    def __init__(self) -> None:
        self.cells: dict[tuple[int, int], tuple[str, tuple[str, ...]]] = {}
        self.y = self.x = 0
        # What was said of the ink, of the ground and of each attribute.
        self._colours: dict[str, str] = {}
        self._saved: tuple[int, int, dict[str, str]] = (0, 0, {})
        # A sequence whose end has not come yet.
        self._rest = ""

    def take(self, text: str) -> None:
        """Does what the text says."""
        text, at = self._rest + text, 0
        self._rest = ""
        while at < len(text):
            if text[at] == "\x1b":
                at = self._sequence(text, at)
                continue
            self._character(text[at])
            at += 1

    @property
    def colours(self) -> tuple[str, ...]:
        """The parameters in force for whatever is written next."""
        return tuple(self._colours.values())

    def lines(self) -> list[str]:
        """Every line, trailing blanks cut off."""
        height = 1 + max((y for y, _ in self.cells), default=-1)
        width = 1 + max((x for _, x in self.cells), default=-1)
        blank = (" ", ())
        return [
            "".join(self.cells.get((y, x), blank)[0] for x in range(width)).rstrip()
            for y in range(height)
        ]

    def _sequence(self, text: str, at: int) -> int:
        if text[at + 1 : at + 2] == "7":
            # DECSC keeps the cursor and the colours, DECRC gives them back (VT100; from memory).
            self._saved = (self.y, self.x, dict(self._colours))
            return at + 2
        if text[at + 1 : at + 2] == "8":
            self.y, self.x, self._colours = self._saved
            return at + 2
        found = SEQUENCE.match(text, at)
        if found is None:
            self._rest = text[at:]
            return len(text)
        if text[at + 1] == "]":
            return found.end()
        end = found.end() - 1
        inside = text[at + 2 : end]
        if text[end] == "H":
            row, column = inside.split(";") if inside else ("1", "1")
            self.y, self.x = int(row) - 1, int(column) - 1
        elif text[end] == "C":
            self.x += int(inside or 1)
        elif text[end] == "B":
            self.y += int(inside or 1)
        elif text[end] == "G":
            self.x = int(inside) - 1
        elif text[end] == "m":
            self._paint(inside)
        elif text[end] in "hl":
            if inside == "?1049":
                self.cells.clear()
        elif text[end] not in "put":
            raise AssertionError(f"nobody should send {text[at : end + 1]!r}")
        return end + 1

    def _paint(self, parameters: str) -> None:
        """Attributes pile up until a zero, or none, wipes them; of ink and ground the last stands.

        38 and 48 take what follows as a colour: 5 and a number, or 2 and three.
        """
        parts = parameters.split(";")
        while parts:
            taken = 1
            if parts[0] in ("38", "48"):
                taken = {"5": 3, "2": 5}[parts[1]]
            colour, parts = ";".join(parts[:taken]), parts[taken:]
            if colour in ("", "0"):
                self._colours = {}
                continue
            tens = int(colour.split(";")[0]) // 10
            self._colours[{3: "ink", 9: "ink", 4: "ground", 10: "ground"}.get(tens, colour)] = (
                colour
            )

    def _character(self, char: str) -> None:
        if char == "\n":
            self.y, self.x = self.y + 1, 0
        elif char == "\r":
            self.x = 0
        elif char == "\b":
            # Nobody counts on what it does at an edge.
            assert self.x > 0
            self.x -= 1
        elif char == "\x07":
            pass
        elif unicodedata.combining(char):
            char_before, colours = self.cells[self.y, self.x - 1]
            self.cells[self.y, self.x - 1] = (char_before + char, colours)
        else:
            self.cells[self.y, self.x] = (char, tuple(sorted(self._colours.values())))
            wide = unicodedata.east_asian_width(char) in "WF"
            if wide:
                self.cells[self.y, self.x + 1] = ("", tuple(sorted(self._colours.values())))
            self.x += 1 + wide
