"""Pictures inside an HTML file: their own bytes, so that nothing has to be fetched."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence

from engine.job.picture import Picture, fault, media_type
from engine.paper.page.element import element
from engine.paper.page.leaf import Leaf
from engine.paper.page.picture_text import CHAPTER, absence, caption


def put_pictures(leaf: Leaf, pictures: Sequence[Picture], zone: str) -> bool:
    """A chapter with each picture, or the reason why not; nothing without pictures.

    True if one is shown, so that the page has to let it in.
    """
    if not pictures:
        return False
    leaf.chapter(CHAPTER)
    shown = False
    for picture in pictures:
        why = picture.why or fault(picture.content)
        if why:
            leaf.put(element("p", absence(picture, zone, why)))
            continue
        said = caption(picture, zone)
        # The type goes by the bytes: what is not one of the two never becomes an address.
        address = f"data:{media_type(picture.content)};base64,{b64encode(picture.content).decode()}"
        image = element("img", src=address, alt=said)
        leaf.put(element("figure", image, element("figcaption", said)))
        shown = True
    return shown
