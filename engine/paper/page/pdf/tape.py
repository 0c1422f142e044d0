"""Tape in print: rectangles with their corners cut at 45 degrees, and hatching."""

from __future__ import annotations

from cartclock.engine.paper.page.pdf.ink import Ink

_BETWEEN_LINES = 4.0


def put_tape(
    ink: Ink,
    x: float,
    y: float,
    width: float,
    height: float,
    cut: float,
    line: float = 0.0,
    grey: float | None = 0.0,
    right: bool = True,
) -> None:
    """A piece of tape with (x, y) at its lower left, its upper left and lower right corner cut.

    cut: of a corner, in points. line: width of its outline; 0 for none. grey: what it is filled
    with, from 0 black to 1 white; None for nothing. right: False leaves the lower right whole.
    """
    canvas = ink.canvas
    canvas.saveState()
    path = canvas.beginPath()
    path.moveTo(x, y)
    path.lineTo(x + width - (cut if right else 0.0), y)
    if right:
        path.lineTo(x + width, y + cut)
    path.lineTo(x + width, y + height)
    path.lineTo(x + cut, y + height)
    path.lineTo(x, y + height - cut)
    path.close()
    if grey is not None:
        canvas.setFillGray(grey)
    canvas.setLineWidth(line or 0.1)
    canvas.setStrokeGray(0.0)
    canvas.drawPath(path, stroke=1 if line else 0, fill=0 if grey is None else 1)
    canvas.restoreState()


def put_hatch(ink: Ink, x: float, y: float, width: float, height: float) -> None:
    """A rectangle of slanting lines in an outline."""
    canvas = ink.canvas
    canvas.saveState()
    path = canvas.beginPath()
    path.rect(x, y, width, height)
    canvas.clipPath(path, stroke=0, fill=0)
    canvas.setStrokeGray(0.0)
    canvas.setLineWidth(0.9)
    at = x - height
    while at < x + width:
        canvas.line(at, y, at + height, y + height)
        at += _BETWEEN_LINES
    canvas.restoreState()
    put_outline(ink, x, y, width, height)


def put_outline(ink: Ink, x: float, y: float, width: float, height: float) -> None:
    """A thin rectangle."""
    ink.canvas.saveState()
    ink.canvas.setStrokeGray(0.0)
    ink.canvas.setLineWidth(0.6)
    ink.canvas.rect(x, y, width, height, stroke=1, fill=0)
    ink.canvas.restoreState()


def put_area(ink: Ink, x: float, y: float, width: float, height: float, grey: float) -> None:
    """A filled rectangle, grey from 0 black to 1 white."""
    ink.canvas.saveState()
    ink.canvas.setFillGray(grey)
    ink.canvas.rect(x, y, width, height, stroke=0, fill=1)
    ink.canvas.restoreState()
