"""Windows as rows of tape: a cut for every film, between where its window opened and closed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from cartclock.engine.paper.chapters.ten_lines import OUTCOME_WORDS
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.page.strip import Strip, StripScale, StripSpan
from cartclock.engine.paper.said import exact_text, lasted
from cartclock.engine.record.applied import Asked
from cartclock.engine.record.cuts import CutLine, cut_lines

# The window takes the middle half of the row; a cut is this wide. In units of the scale.
_OPENS, _CLOSES, _LENGTH, _CUT = 1.0, 3.0, 4.0, 0.012
_MARKS = ((0.0, "early"), (_OPENS, "opens"), (_CLOSES, "closes"), (_LENGTH, "late"))


def put_windows(medium: Medium, windows: Sequence[Asked], layers: Mapping[str, int]) -> None:
    """The chapter; nothing without a window.

    layers: how many each stage has.
    """
    lines = cut_lines(windows)
    if not lines:
        return
    medium.heading("Windows", "one cut is one film")
    named = [(_name(line, layers), line) for line in lines]
    medium.strips(
        StripScale(_LENGTH, _MARKS), [Strip(name, tuple(_spans(line.cuts))) for name, line in named]
    )
    medium.words(f"{windows_text(windows, layers)}.", small=True)


def windows_text(windows: Iterable[Asked], layers: Mapping[str, int]) -> str:
    """The same in words, a clause a row; "" without a window."""
    return "; ".join(f"{_name(line, layers)}: {_said(line)}" for line in cut_lines(windows))


def _name(line: CutLine, layers: Mapping[str, int]) -> str:
    several = layers.get(line.stage, 1) > 1
    if line.kind == "gap":
        return f"{line.stage}, gap to {line.layer}"
    return f"{line.stage} {line.layer}" if several else line.stage


def _spans(cuts: Sequence[float]) -> Iterable[StripSpan]:
    """The window as a low line with its cuts on it, none over another."""
    at = 0.0
    for cut in cuts:
        middle = _OPENS + (_CLOSES - _OPENS) * cut
        start = min(_LENGTH - _CUT, max(0.0, middle - _CUT / 2))
        end = start + _CUT
        if start < at:
            # It lies on the one before, and is seen with it.
            continue
        yield from _low(at, start)
        yield StripSpan(start, end, "full")
        at = end
    yield from _low(at, _LENGTH)


def _low(start: float, end: float) -> Iterable[StripSpan]:
    start, end = max(start, _OPENS), min(end, _CLOSES)
    if end > start:
        yield StripSpan(start, end, "low")


def _said(line: CutLine) -> str:
    (first, count), *others = line.counts.items()
    said = f"{count} of {len(line.windows)} {OUTCOME_WORDS[first]}"
    said += "".join(f", {count} {OUTCOME_WORDS[name]}" for name, count in others)
    if line.worst_us:
        said += f", latest by {_length(line, line.worst_us)}"
    if line.nearest_us is not None:
        said += f", nearest to the close {_length(line, line.nearest_us)}"
    return said


def _length(line: CutLine, length_us: int) -> str:
    """Of a gap in hours and minutes, as its window is told; cut off, so that it never reads
    longer than it was."""
    if line.kind != "gap":
        return lasted(length_us)
    return f"{exact_text(length_us // 1_000_000)[:-3]} h"
