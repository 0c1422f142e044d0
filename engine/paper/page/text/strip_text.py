"""Strips as lines of text: tape in plain signs, told apart by the sign."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from cartclock.engine.letters import cells, cropped, inert, padded, wrapped
from cartclock.engine.paper.page.strip import Lies, Strip, StripScale

SET_IN: Mapping[Lies, str] = {"full": "#", "half": "=", "low": ".", "hatch": "/", "none": " "}
"""What tape is set in, by how it lies."""
_MOST_LABEL = 16
# Columns of fewer cells have the first letter of a word over them, and not every figure.
_LEAST_COLUMN = 4


def strip_lines(scale: StripScale, strips: Sequence[Strip], width: int) -> Iterator[str]:
    """The lines, none wider than `width` cells: what stands at the ticks, then a row a strip."""
    label = min(_MOST_LABEL, max((cells(inert(one.label)) for one in strips), default=0) + 2)
    unit = (width - label) / scale.length
    if scale.columns:
        # Whole cells, so that every column is as wide as the next.
        unit = max(1.0, float(int(unit)))
        tall = max((say.count("\n") + 1 for _at, say in scale.ticks), default=0)
        for row in range(tall):
            line = ""
            for at, say in scale.ticks:
                said = (inert(say).split("\n") + [""] * tall)[row]
                room = int(unit) - 1 if unit > 1 else 1
                if unit < _LEAST_COLUMN and cells(said) > room:
                    fits = not line or cells(line) < int(at * unit)
                    said = said[:1] if said.isalpha() else said if fits else ""
                    room = cells(said)
                if said:
                    line = padded(line, int(at * unit)) + cropped(said, room)
            yield " " * label + cropped(line, width - label)
    else:
        yield " " * label + _at_cuts(scale, unit, width - label)
    for strip in strips:
        names = wrapped(strip.label, label - 1)
        yield padded(names[0], label) + _tape(strip, unit, width - label, scale.columns)
        yield from names[1:]


def unwritten(strip: Strip, lines: Sequence[str]) -> bool:
    """True if something of the strip is written on none of these lines."""
    drawn = "\n".join(lines)
    return any(inert(span.says) not in drawn for span in strip.spans)


def _at_cuts(scale: StripScale, unit: float, room: int) -> str:
    line = ""
    for at, say in scale.ticks:
        said = inert(say).replace("\n", " ")
        place = max(0, min(int(at * unit), room - cells(said)))
        # What would run into the one before is left out.
        if not line or place > cells(line):
            line = padded(line, place) + said
    return cropped(line, room)


def _tape(strip: Strip, unit: float, room: int, columns: bool) -> str:
    line = [" "] * room
    # What lies high is seen over what lies low, however short it is.
    for span in sorted(strip.spans, key=lambda one: one.lies != "low"):
        start, end = round(span.start * unit), round(span.end * unit)
        # Between two pieces of tape over columns stays a cut.
        end = min(room, max(end - (columns and end - start > 1), start + 1))
        line[start:end] = SET_IN[span.lies] * (end - start)
        said = inert(span.says).replace("\n", " ")
        says = f" {said} " if said else ""
        if says and said.isascii() and len(says) + 1 <= end - start:
            place = start + 1 if columns else start + (end - start - len(says)) // 2
            line[place : place + len(says)] = says
    return "".join(line[:room])
