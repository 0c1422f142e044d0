"""Strips in HTML: drawn as one figure, and over days also as a table that fits a telephone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from cartclock.engine.paper.page.html.element import Markup, element
from cartclock.engine.paper.page.strip import DRAWN, Lies, Strip, StripScale, StripSpan, strip_words

# The style of a page has no hatching that is sure to be printed.
CALLED: Mapping[Lies, str] = {**DRAWN, "hatch": "dashed"}
"""How tape that is drawn here is called, by how it lies."""

# In units of the figure, which is 1000 wide. A letter of its writing is about so wide.
_WIDE, _LABEL, _LETTER, _IN = 1000.0, 110.0, 8.6, 7.0
_TALL, _STEP, _LOW = 27.0, 34.0, 3.0


def strip_figure(scale: StripScale, strips: Sequence[Strip]) -> list[Markup]:
    """The figure with its words; of days the table for a narrow screen too."""
    top = 16.0 * max((say.count("\n") + 1 for _at, say in scale.ticks), default=0) + 8.0
    unit = (_WIDE - _LABEL) / scale.length
    height = top + _STEP * len(strips)
    drawn: list[Markup] = []
    for index in sorted(scale.weak):
        x = _LABEL + scale.ticks[index][0] * unit
        drawn.append(element("rect", x=x, y=0, width=unit, height=height, class_="weak"))
    for at, say in scale.ticks:
        x = _LABEL + (at + 0.5 * scale.columns) * unit
        if not scale.columns:
            drawn.append(element("line", x1=x, x2=x, y1=top - 4, y2=height, class_="tick"))
        anchor = "end" if at >= scale.length else "middle"
        for row, line in enumerate(say.split("\n")):
            drawn.append(_text(line, x, 14 + 18 * row, anchor, 700 if row else 400))
    for row, strip in enumerate(strips):
        y = top + row * _STEP
        drawn.append(_text(strip.label, 0, y + 19, "start", 700))
        for span in strip.spans:
            drawn += _span(span, _LABEL + span.start * unit, y, (span.end - span.start) * unit)
    said = "; ".join(f"{strip.label}: {strip_words(strip)}" for strip in strips)
    style = "strip columns" if scale.columns else "strip"
    figure = element(
        "svg", *drawn, viewBox=f"0 0 1000 {height:g}", class_=style, role="img", aria_label=said
    )
    if scale.columns:
        return [figure, _table(scale, strips)]
    told = [
        element("p", f"{strip.label}: {strip.words}", class_="small")
        for strip in strips
        if strip.words
    ]
    return [element("div", figure, class_="scroll"), *told]


def _text(text: str, x: float, y: float, anchor: str, weight: int, style: str = "") -> Markup:
    return element(
        "text", text, x=f"{x:.1f}", y=f"{y:.1f}", font_size=15, font_weight=weight,
        text_anchor=anchor, class_=style,
    )  # fmt: skip


def _span(span: StripSpan, x: float, y: float, room: float) -> list[Markup]:
    height = {"full": _TALL, "half": _TALL / 2, "low": _LOW, "hatch": _TALL, "none": 0.0}[span.lies]
    style = {"half": "half", "hatch": "hatch"}.get(span.lies, "tape")
    drawn = []
    if height:
        drawn.append(
            element(
                "rect",
                x=f"{x:.1f}",
                y=f"{y + _TALL - height:.1f}",
                width=f"{max(room - 1, 1):.1f}",
                height=f"{height:g}",
                class_=style,
            )
        )
    if span.says and len(span.says) * _LETTER + _IN < room:
        on = span.lies == "full"
        at, anchor = (x + room / 2, "middle") if on else (x + _IN, "start")
        drawn.append(_text(span.says, at, y + 18, anchor, 700, "on" if on else ""))
    return drawn


def _table(scale: StripScale, strips: Sequence[Strip]) -> Markup:
    """A row for every column of the scale: what lies over the whole of it, else the words."""
    heads = [element("th", strip.label, scope="col") for strip in strips]
    over = element("thead", element("tr", element("td"), *heads))
    rows = []
    for index, (at, say) in enumerate(scale.ticks):
        cells = [_cell(strip, at) for strip in strips]
        head = element("th", say.replace("\n", " "), scope="row")
        weak = {"class_": "weak"} if index in scale.weak else {}
        rows.append(element("tr", head, *cells, **weak))
    return element("table", over, element("tbody", *rows), class_="days")


def _cell(strip: Strip, at: float) -> Markup:
    for span in strip.spans:
        if not (span.start < at + 1 and span.end > at):
            continue
        if span.lies == "low":
            return element("td", "yes")
        if span.end >= at + 1:
            return element("td", "no", class_="no")
        # It ends within the day: when, is in the words.
        return element("td", strip_words(strip))
    return element("td")
