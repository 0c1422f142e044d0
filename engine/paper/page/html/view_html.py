"""A vehicle from above in HTML: a drawing in SVG, which follows the reader's light or dark."""

from __future__ import annotations

from cartclock.engine.paper.page.html.element import Markup, element
from cartclock.engine.paper.page.view import VehicleView, said_in_words, untold_words
from cartclock.engine.paper.page.view_layout import CAPITAL, Layout, Writing, laid_out
from cartclock.engine.vehicle.plan_view import LEFT_EDGE, RIGHT_EDGE, Point

# Letters in units of the drawing, so that half a sheet's width has signs of 8 points; and how
# wide a letter is where no font can be asked.
_SIGN, _NAME = 3.6, 2.6
# A key of more rows is printed in two columns.
_FEW = 3
_LETTER = {True: 0.72, False: 0.62}


def view_markup(view: VehicleView) -> list[Markup]:
    """The drawing with the same in words for who does not see it, then its key."""
    layout = laid_out(view, _SIGN, _NAME, _SIGN, lambda text, bold: len(text) * _LETTER[bold])
    high = round(2 * layout.half_height, 2)
    said = "; ".join(f"{sign}: {text}" for sign, text in said_in_words(view))
    svg = element(
        "svg",
        *_drawn(view, layout),
        viewBox=f"{LEFT_EDGE:g} {-high / 2:g} {RIGHT_EDGE - LEFT_EDGE:g} {high:g}",
        class_="view",
        # Where a mail program drops the style sheet, it is still lines on a ground.
        fill="#fff",
        stroke="#000",
        stroke_width=0.3,
        text_anchor="middle",
        role="img",
        aria_label=f"The vehicle from above, front at the left. {said}".strip(),
    )
    key = (*view.key, *untold_words(layout.untold))
    if not key:
        return [svg]
    rows = [part for sign, text in key for part in (element("dt", sign), element("dd", text))]
    return [svg, element("dl", *rows, class_="signs many" if len(key) > _FEW else "signs")]


def _drawn(view: VehicleView, layout: Layout) -> list[Markup]:
    found: list[Markup] = []
    for place in layout.plan.places:
        ink = view.ink(place.name)
        thin = place.kind in ("glass", "bed")
        found.append(_polygon(place.corners, "thin" if thin else "edge"))
        if ink:
            found.append(_polygon(place.corners, "tone", fill_opacity=round(ink, 3)))
    found += [_polygon(stroke, "thin") for stroke in layout.strokes]
    found += [_polygon(rim, "thin") for rim in layout.plan.rims]
    found.append(_polygon(layout.arrow, "tone"))
    for one in layout.writings:
        if one.tag:
            found.append(_polygon(one.tag, "edge"))
        found.append(_written(one))
    return found


def _polygon(corners: tuple[Point, ...], class_: str, **attributes: float) -> Markup:
    points = " ".join(f"{x:g},{y:g}" for x, y in ((round(x, 2), round(y, 2)) for x, y in corners))
    ink = {"fill": "#000"} if class_ == "tone" else {}
    return element("polygon", points=points, class_=class_, **ink, **attributes)


def _written(one: Writing) -> Markup:
    down = CAPITAL * one.size / 2
    x, y = round(one.x, 2), round(one.y, 2)
    turn = {"transform": f"translate({x + down:g} {y:g}) rotate(-90)"} if one.turned else {}
    place = {} if one.turned else {"x": x, "y": round(y + down, 2)}
    style: dict[str, str | float] = {"fill": "#000", "stroke": "none", "font_size": one.size}
    if one.bold:
        style["font_weight"] = 700
    if one.anchor == "left":
        style["text_anchor"] = "start"
    return element("text", one.text, class_="dim" if one.dim else "", **style, **place, **turn)
