"""Reads a PDF back as a viewer does that is asked for the text: by the fonts' own tables."""

from __future__ import annotations

import base64
import re
import zlib

from msgspec import Struct

from cartclock.engine.paper.page.pdf.frame import FOOT, LIVE

_OBJECT = re.compile(rb"(\d+) 0 obj\s(.*?)endobj", re.DOTALL)
_STREAM = re.compile(rb"stream\r?\n(.*?)\r?\n?endstream", re.DOTALL)
_STRING = rb"\((?:\\.|[^\\()])*\)"
_PIECE = re.compile(
    rb"(?P<x>[-\d.]+) (?P<y>[-\d.]+) Tm|/(?P<font>\S+) (?P<size>[\d.]+) Tf"
    rb"|(?P<text>" + _STRING + rb") Tj",
    re.DOTALL,
)
# How large all of a page is drawn: said once, before its first text.
_SCALE = re.compile(rb"(?P<scale>(?!1 )[\d.]+) 0 0 (?P=scale) 0 0 cm")
_ESCAPE = re.compile(rb"\\([0-7]{1,3}|.)", re.DOTALL)


class Said(Struct, frozen=True):
    """A piece of text as printed: where its base line begins, in which font and size; points."""

    x: float
    y: float
    font: str
    size: float
    text: str


class Sheet(Struct, frozen=True):
    """A page: width and height in points, its pieces in the order drawn."""

    size: tuple[float, float]
    said: tuple[Said, ...]

    @property
    def smallest(self) -> float:
        """The smallest letters on the page, in points."""
        return min(one.size for one in self.said)

    @property
    def live(self) -> tuple[float, float, float, float]:
        """Left, low, right and top edge of what may be printed on, in points."""
        width, height = self.size
        wide, tall = LIVE if height > width else LIVE[::-1]
        return (width - wide) / 2, (height - tall) / 2, (width + wide) / 2, (height + tall) / 2

    @property
    def foot(self) -> float:
        """Under this stands nothing but the foot."""
        return self.live[1] + FOOT - 4.0

    @property
    def lines(self) -> list[str]:
        """The text line by line from the top down, pieces of a line parted by two spaces."""
        rows: dict[float, list[Said]] = {}
        for one in self.said:
            rows.setdefault(round(one.y, 1), []).append(one)
        found = []
        for y in sorted(rows, reverse=True):
            line, end = "", None
            for one in sorted(rows[y], key=lambda said: said.x):
                # Two fonts of one word touch: the second is drawn where the first ended.
                line += ("" if end == one.font or not line else "  ") + one.text
            found.append(line)
        return found

    @property
    def text(self) -> str:
        """All of it."""
        return "\n".join(self.lines)


def outside_streams(pdf: bytes) -> bytes:
    """The file without its packed parts, in which any letters may stand by chance."""
    return _STREAM.sub(b"", pdf)


def sheets(pdf: bytes) -> list[Sheet]:
    """The pages in order."""
    objects = {int(m[1]): m[2] for m in _OBJECT.finditer(pdf)}
    kids = next(_refs(body, b"Kids") for body in objects.values() if b"/Type /Pages" in body)
    return [_sheet(objects, objects[kid]) for kid in kids]


def info(pdf: bytes) -> bytes:
    """The dictionary that says what the file is."""
    return next(m[2] for m in _OBJECT.finditer(pdf) if b"/CreationDate" in m[2])


def _refs(body: bytes, name: bytes) -> list[int]:
    found = re.search(rb"/" + name + rb" \[?\s*((?:\d+ 0 R\s*)+)", body)
    return [] if found is None else [int(ref) for ref in re.findall(rb"(\d+) 0 R", found[1])]


def _sheet(objects: dict[int, bytes], page: bytes) -> Sheet:
    box = re.search(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", page)
    assert box is not None
    names = objects[_refs(page, b"Font")[0]]
    fonts = {
        name.decode(): _letters(objects, objects[int(ref)])
        for name, ref in re.findall(rb"/(\S+) (\d+) 0 R", names)
    }
    said: list[Said] = []
    x = y = size = 0.0
    font = ""
    for content in _refs(page, b"Contents"):
        stream = _stream(objects[content])
        larger = _SCALE.search(stream[: stream.find(b"BT")])
        scale = 1.0 if larger is None else float(larger["scale"])
        for piece in _PIECE.finditer(stream):
            if piece["x"] is not None:
                x, y = float(piece["x"]), float(piece["y"])
            elif piece["font"] is not None:
                font, size = piece["font"].decode(), float(piece["size"])
            else:
                drawn = _ESCAPE.sub(_unescaped, piece["text"][1:-1])
                text = "".join(fonts[font].get(code, "\0") for code in drawn)
                said.append(Said(x * scale, y * scale, font, size * scale, text))
    return Sheet((float(box[1]), float(box[2])), tuple(said))


def _letters(objects: dict[int, bytes], font: bytes) -> dict[int, str]:
    found: dict[int, str] = {}
    for ref in _refs(font, b"ToUnicode"):
        for code, letter in re.findall(rb"<(\w\w)> <(\w+)>", _stream(objects[ref])):
            if int(letter, 16):
                found[int(code, 16)] = chr(int(letter, 16))
    return found


def _stream(body: bytes) -> bytes:
    begins = re.search(rb"stream\r?\n", body)
    length = re.search(rb"/Length (\d+)\b(?! \d+ R)", body)
    assert begins is not None
    assert length is not None
    # What is packed may end like a line.
    content = body[begins.end() :][: int(length[1])]
    if b"/ASCII85Decode" in body:
        content = base64.a85decode(content.strip().removesuffix(b"~>"))
    return zlib.decompress(content) if b"/FlateDecode" in body else content


def _unescaped(match: re.Match[bytes]) -> bytes:
    one = match[1]
    if one[:1].isdigit():
        return bytes([int(one, 8)])
    return {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f"}.get(one, one)


class Rectangle(Struct, frozen=True):
    """A rectangle as drawn, in points from the page's lower left."""

    x: float
    y: float
    width: float
    height: float


def drawn_on(pdf: bytes, page: int) -> bytes:
    """The drawing of a page, counted from 0, in the file's own words."""
    objects = {int(m[1]): m[2] for m in _OBJECT.finditer(pdf)}
    kids = next(_refs(body, b"Kids") for body in objects.values() if b"/Type /Pages" in body)
    return _stream(objects[_refs(objects[kids[page]], b"Contents")[0]])


def scale_of(pdf: bytes, page: int) -> float:
    """How large all of a page, counted from 0, is drawn."""
    drawn = drawn_on(pdf, page)
    found = _SCALE.search(drawn[: drawn.find(b"BT")])
    return float(found["scale"]) if found else 1.0


def rectangles(pdf: bytes, page: int) -> list[Rectangle]:
    """The rectangles of a page, counted from 0, that are stroked or filled."""
    pattern = rb"n ([-\d.]+) ([-\d.]+) ([-\d.]+) ([-\d.]+) re (?:B|f|S)"
    found = re.findall(pattern, drawn_on(pdf, page))
    scale = scale_of(pdf, page)
    return [Rectangle(*(float(number) * scale for number in one)) for one in found]
