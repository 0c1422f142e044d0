"""Pictures in print: at the end, two side by side, each with its caption."""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from io import BytesIO

from PIL import Image, ImageOps
from reportlab.lib.utils import ImageReader

from cartclock.engine.paper.page.pdf.ink import SMALL, Draw, Ink
from cartclock.engine.paper.page.pdf.page import Print
from cartclock.engine.paper.page.picture_text import PICTURES, absence, caption
from cartclock.engine.vehicle.picture import Picture, picture_fault

# Points, 72 to the inch: between two pictures, and the highest that one gets.
_BETWEEN, _HIGHEST = 14.0, 210.0
# Longest edge in pixels: over 300 to the inch at the size printed, and still sent by mail.
_EDGE = 1200
_QUALITY = 85
_SIZE, _STEP = SMALL + 0.5, 10.0


class _Shown:
    """A picture ready to be drawn, and the lines under it."""

    def __init__(self, image: ImageReader, lines: list[str], room: float) -> None:
        self.image, self.lines = image, lines
        width, height = image.getSize()
        scale: float = min(room / width, _HIGHEST / height)
        self.width, self.height = float(width * scale), float(height * scale)

    @property
    def whole(self) -> float:
        return self.height + 4 + len(self.lines) * _STEP

    def draw(self, ink: Ink, x: float, y: float) -> None:
        ink.canvas.drawImage(self.image, x, y - self.height, self.width, self.height)
        for index, line in enumerate(self.lines):
            ink.text(x, y - self.height - 4 - _SIZE - index * _STEP, line, "regular", _SIZE)


def draw_pictures(page: Print, pictures: Sequence[Picture], zone: str) -> None:
    """Every picture scaled to fit, then a sentence for each that cannot be shown."""
    if not pictures:
        return
    page.chapter(PICTURES)
    room = (page.width - _BETWEEN) / 2
    shown: list[_Shown] = []
    missing: list[str] = []
    for picture in pictures:
        why = picture.why or picture_fault(picture.content)
        image = None if why else _image(picture.content)
        if image is None:
            missing.append(absence(picture, zone, why or "broken or not whole"))
            continue
        lines = page.letters.lines(caption(picture, zone), room, "regular", _SIZE)
        shown.append(_Shown(image, lines, room))
    for index in range(0, len(shown), 2):
        pair = shown[index : index + 2]
        page.drawing(max(one.whole for one in pair) + 10, _side_by_side(pair, room + _BETWEEN))
    for sentence in missing:
        page.line(sentence, 2, 2)


def _side_by_side(pair: Sequence[_Shown], step: float) -> Draw:
    def draw(ink: Ink, x: float, y: float) -> None:
        for index, one in enumerate(pair):
            one.draw(ink, x + index * step, y)

    return draw


def _image(content: bytes) -> ImageReader | None:
    """The picture upright on white, small enough for print; None if it cannot be read.

    What a camera wrote beside the pixels, its place for one, is not taken along.
    """
    try:
        with warnings.catch_warnings():
            # Whatever a camera wrote wrongly beside the pixels does not matter here.
            warnings.simplefilter("ignore")
            with Image.open(BytesIO(content), formats=("JPEG", "PNG")) as opened:
                opened.draft("RGB", (_EDGE, _EDGE))
                upright = ImageOps.exif_transpose(opened)
                upright.thumbnail((_EDGE, _EDGE))
                clear = upright.convert("RGBA")
        paper = Image.new("RGB", clear.size, "white")
        paper.paste(clear, mask=clear.getchannel("A"))
        packed = BytesIO()
        paper.save(packed, "JPEG", quality=_QUALITY)
        packed.seek(0)
        return ImageReader(packed)
    except Exception:
        # The library lets many kinds of errors out of a broken file, and a paper is made anyway.
        return None
