"""Dates to keep in HTML: the first in a heavy frame, the others in a row of boxes."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.paper.page.date import Date
from cartclock.engine.paper.page.html.element import Markup, element


def date_boxes(dates: Sequence[Date]) -> list[Markup]:
    """A frame for the first, and one for all others together."""
    found = [element("div", *_said(one), class_="first") for one in dates if one.first]
    others = [element("div", *_said(one)) for one in dates if not one.first]
    if others:
        found.append(element("div", *others, class_="dates"))
    return found


def _said(one: Date) -> list[Markup]:
    # The first is told by its label's tape, which is as wide as the label; the others by a line.
    said = [
        element("span" if one.first else "p", one.labelled, class_="label"),
        element("p", one.when, class_="when"),
    ]
    if one.note:
        said.append(element("p", one.note, class_="" if one.first else "small"))
    return said
