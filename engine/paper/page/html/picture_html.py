"""Pictures inside an HTML file: their own bytes, so that nothing has to be fetched."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence

from cartclock.engine.paper.page.html.element import Markup, element
from cartclock.engine.paper.page.picture_text import absence, caption
from cartclock.engine.vehicle.picture import Picture, media_type, picture_fault


def figures(pictures: Sequence[Picture], zone: str) -> tuple[list[Markup], bool]:
    """Each picture, or the reason why not; True if one is shown, so that it has to be let in."""
    found: list[Markup] = []
    shown = False
    for picture in pictures:
        why = picture.why or picture_fault(picture.content)
        if why:
            found.append(element("p", absence(picture, zone, why)))
            continue
        said = caption(picture, zone)
        # The type goes by the bytes: what is not one of the two never becomes an address.
        address = f"data:{media_type(picture.content)};base64,{b64encode(picture.content).decode()}"
        image = element("img", src=address, alt=said)
        found.append(element("figure", image, element("figcaption", said)))
        shown = True
    return found, shown
