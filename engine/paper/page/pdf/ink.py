"""Ink: text in fonts that have its letters, and lines, on a page of a PDF."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal

from cartclock.engine.paper.page.pdf.letters import Letters, Style

# Sizes of letters in points, 72 to the inch, and from one line of text to the next.
BODY, LEADING = 9.0, 12.0
CHAPTER, SMALL = 10.5, 7.9
# No letter of a paper is smaller in print, if its sheet names no other size.
LEAST = 7.0
LEAD, PLATE = 18.0, 13.0


class Ink:
    """Draws on the canvas in fonts that have the letters.

    Args:
        canvas: of reportlab, which carries no types.
        letters: of this paper.
    """

    def __init__(self, canvas: Any, letters: Letters) -> None:
        self.canvas = canvas
        self.letters = letters

    def text(
        self,
        x: float,
        y: float,
        text: str,
        style: Style = "regular",
        size: float = BODY,
        anchor: Literal["left", "middle", "right"] = "left",
        grey: float = 0.0,
    ) -> None:
        """One plain line; (x, y) is on its base line, in points from the page's lower left.

        grey: from 0 black to 1 white.
        """
        if anchor != "left":
            width = self.letters.width(text, style, size)
            x -= width if anchor == "right" else width / 2
        if grey:
            self.canvas.saveState()
            self.canvas.setFillGray(grey)
        for font, run in self.letters.runs(text, style):
            self.canvas.setFont(font, size)
            self.canvas.drawString(x, y, run)
            x += self.canvas.stringWidth(run, font, size)
        if grey:
            self.canvas.restoreState()

    def upward(
        self, x: float, y: float, text: str, style: Style, size: float, grey: float = 0.0
    ) -> None:
        """One plain line read from below, its middle at y on the base line at x."""
        y -= self.letters.width(text, style, size) / 2
        self.canvas.saveState()
        for font, run in self.letters.runs(text, style):
            piece = self.canvas.beginText()
            piece.setFont(font, size)
            piece.setFillGray(grey)
            piece.setTextTransform(0, 1, -1, 0, x, y)
            piece.textOut(run)
            self.canvas.drawText(piece)
            y += self.canvas.stringWidth(run, font, size)
        self.canvas.restoreState()

    def line(
        self,
        x1: float,
        y1: float,
        x2: float,
        y2: float,
        width: float = 0.5,
        dash: tuple[float, ...] = (),
        grey: float = 0.0,
    ) -> None:
        """A straight line; dash as on and off lengths, grey from 0 black to 1 white."""
        self.canvas.saveState()
        self.canvas.setStrokeGray(grey)
        self.canvas.setLineWidth(width)
        if dash:
            self.canvas.setDash(list(dash))
        self.canvas.line(x1, y1, x2, y2)
        self.canvas.restoreState()


Draw = Callable[[Ink, float, float], None]
"""Draws a block: ink, x of the frame's left, y of the block's top."""
