"""A smaller picture of a photo: upright, on white, and without what a camera wrote beside it, such
as the place where it was taken.
"""

from __future__ import annotations

import warnings
from io import BytesIO

# What is smaller, and has nothing written beside it, is shown as it is; a page of some dozens of
# these can still be sent by mail. Our own judgement.
LARGE_BYTES = 200_000
# Longest edge in pixels: over 300 to the inch at the size in print. Our own judgement.
_EDGE = 1200
_QUALITY = 82
# Where a camera writes beside the pixels: in the first segments of a JPEG (Exif 2.32, 4.5.4), of
# at most 64 kB each.
_EXIF, _BEGINS = b"Exif\x00\x00", 200_000


def is_large(content: bytes) -> bool:
    """True of a picture of which a paper is given a smaller one."""
    return len(content) > LARGE_BYTES or _EXIF in content[:_BEGINS] or b"eXIf" in content[:_BEGINS]


def thumbnail(content: bytes) -> bytes:
    """A JPEG whose longest edge has at most 1200 pixels; b"" if the picture cannot be read.

    content: a JPEG or PNG picture of which `picture_fault` finds nothing, so that its pixels are
        bounded.
    """
    # Few papers show a photo, and the library takes longer to import than a paper to make.
    from PIL import Image, ImageOps

    try:
        with warnings.catch_warnings():
            # Whatever a camera wrote wrongly beside the pixels does not matter here.
            warnings.simplefilter("ignore")
            with Image.open(BytesIO(content), formats=("JPEG", "PNG")) as opened:
                # A JPEG is decoded at a half, a quarter or an eighth of its size.
                opened.draft("RGB", (_EDGE, _EDGE))
                opened.thumbnail((_EDGE, _EDGE))
                clear = ImageOps.exif_transpose(opened).convert("RGBA")
        paper = Image.new("RGB", clear.size, "white")
        paper.paste(clear, mask=clear.getchannel("A"))
        packed = BytesIO()
        paper.save(packed, "JPEG", quality=_QUALITY)
        return packed.getvalue()
    except Exception:
        # The library lets many kinds of errors out of a broken file, and a paper is made anyway.
        return b""
