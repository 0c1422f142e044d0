"""Strips in print: the scale, and a row of tape for each."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.paper.page.pdf.ink import BODY, LEADING, Draw, Ink
from cartclock.engine.paper.page.pdf.letters import Style
from cartclock.engine.paper.page.pdf.page import Print
from cartclock.engine.paper.page.pdf.tape import put_area, put_hatch
from cartclock.engine.paper.page.strip import Strip, StripScale, StripSpan

# Height of tape over columns and along cuts, of the low line, and air between two rows; points.
_OVER_COLUMNS, _ALONG_CUTS, _LOW, _BETWEEN = 14.0, 12.2, 2.0, 3.0
# Greys: the columns set back, half tape, a small mark of the scale.
_WEAK, _HALF, _TICK = 0.88, 0.33, 0.5
_MOST_LABEL = 0.25


def put_strips(page: Print, scale: StripScale, strips: Sequence[Strip]) -> None:
    """The scale stands again on every page that its rows come to."""
    letters = page.letters
    names = [letters.width(letters.plain(one.label), "bold", BODY) for one in strips]
    label = min(page.width * _MOST_LABEL, max(names, default=0.0) + 8.0)
    unit = (page.width - label) / scale.length
    tall = _OVER_COLUMNS if scale.columns else _ALONG_CUTS
    _put_scale(page, scale, label, unit)
    for strip in strips:
        lines = letters.lines(strip.label, label - 6.0, "bold", BODY)
        height = max(tall, len(lines) * LEADING) + _BETWEEN
        page.drawing(height, _row(page, scale, strip, lines, (label, unit, tall), height))
    page.line()


def _put_scale(page: Print, scale: StripScale, label: float, unit: float) -> None:
    letters = page.letters
    rows = max((say.count("\n") + 1 for _at, say in scale.ticks), default=0)
    height = rows * 11.0 + 3.0

    def draw(ink: Ink, x: float, y: float) -> None:
        left, end = x + label, float("-inf")
        _put_weak(ink, scale, left, unit, y, height)
        for at, say in scale.ticks:
            if scale.columns:
                for row, text in enumerate(say.split("\n")):
                    style: Style = "bold" if row else "regular"
                    size = BODY if row else page.small
                    line = letters.lines(text, unit, style, size)[0]
                    middle = left + (at + 0.5) * unit
                    ink.text(middle, y - 9.0 - row * 11.0, line, style, size, "middle")
                continue
            plain = letters.plain(say)
            half = letters.width(plain, "regular", page.small) / 2
            middle = min(max(left + at * unit, left + half), x + page.width - half)
            # What would run into the one before is left out.
            if middle - half >= end + 3.0:
                ink.text(middle, y - 9.0, plain, "regular", page.small, "middle")
                end = middle + half

    page.drawing(height, draw, head=True)


def _put_weak(
    ink: Ink, scale: StripScale, left: float, unit: float, y: float, height: float
) -> None:
    for index in sorted(scale.weak):
        put_area(ink, left + scale.ticks[index][0] * unit, y - height, unit, height, _WEAK)


def _row(
    page: Print,
    scale: StripScale,
    strip: Strip,
    lines: Sequence[str],
    sizes: tuple[float, float, float],
    height: float,
) -> Draw:
    label, unit, tall = sizes

    def draw(ink: Ink, x: float, y: float) -> None:
        left, low = x + label, y - tall
        _put_weak(ink, scale, left, unit, y, height)
        for index, line in enumerate(lines):
            ink.text(x, low + tall / 2 - BODY * 0.36 - index * LEADING, line, "bold")
        for at, _say in scale.ticks:
            ink.line(left + at * unit, low, left + at * unit, low + 4.0, 0.3, grey=_TICK)
        for span in strip.spans:
            at, room = left + span.start * unit, (span.end - span.start) * unit
            _put_span(page, ink, span, at, low, room, tall)

    return draw


def _put_span(
    page: Print, ink: Ink, span: StripSpan, x: float, y: float, room: float, tall: float
) -> None:
    # However short, it is to be seen; between two pieces stays a cut.
    width = max(room - 0.6, 0.7)
    match span.lies:
        case "full":
            put_area(ink, x, y, width, tall, 0.0)
        case "half":
            put_area(ink, x, y, width, tall / 2, _HALF)
        case "low":
            put_area(ink, x, y, width, _LOW, 0.0)
        case "hatch":
            put_hatch(ink, x, y, width, tall)
        case "none":
            if span.says:
                ink.line(x, y, x, y + tall, 0.6)
    said = page.letters.plain(span.says).replace("\n", " ")
    wide = {size: page.letters.width(said, "bold", size) for size in (BODY, page.small)}
    size = next((size for size, needed in wide.items() if needed <= width - 4), 0.0)
    if not said or not size:
        return
    middle = y + tall / 2 - size * 0.36
    match span.lies:
        case "full":
            ink.text(x + width / 2, middle, said, "bold", size, "middle", grey=1.0)
        case "hatch":
            put_area(ink, x + (width - wide[size]) / 2 - 2, middle - 2, wide[size] + 4, size, 1.0)
            ink.text(x + width / 2, middle, said, "bold", size, "middle")
        case "half":
            ink.text(x + width / 2, y + tall / 2 + 1, said, "bold", page.small, "middle")
        case _:
            ink.text(x + 4, middle + 0.6, said, "bold", size)
