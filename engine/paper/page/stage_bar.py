"""The hands' time by stage as a bar in HTML."""

from __future__ import annotations

from collections.abc import Mapping

from cartclock.engine.paper.page.element import Markup, element
from cartclock.engine.paper.said import apportioned

# As many colours as the style sheet has.
_STAGES = 8


def stage_bar(lengths_us: Mapping[str, int]) -> list[Markup]:
    """Bar and legend; lengths >= 0, at least one over 0."""
    whole_us = sum(lengths_us.values())
    percents = apportioned([us * 100 for us in lengths_us.values()], 100, whole_us)
    parts, legend = [], []
    x = 0.0
    for index, (stage, percent) in enumerate(zip(lengths_us, percents, strict=True)):
        width = lengths_us[stage] / whole_us * 1000
        style = f"s{index % _STAGES}"
        said = f"{stage} {percent} %"
        parts.append(
            element(
                "g",
                element("title", said),
                element("rect", x=x, y=0, width=max(width - 2, 0.5), height=28, class_=style),
            )
        )
        swatch = element(
            "svg",
            element("rect", width=10, height=10, class_=style),
            viewBox="0 0 10 10",
            aria_hidden="true",
        )
        legend.append(element("li", swatch, said))
        x += width
    return [
        element("p", "Time of the hands by stage", class_="remark"),
        element(
            "svg",
            *parts,
            viewBox="0 0 1000 28",
            preserveAspectRatio="none",
            class_="bar",
            role="img",
            aria_label="Time of the hands by stage",
        ),
        element("ul", *legend, class_="legend"),
    ]
