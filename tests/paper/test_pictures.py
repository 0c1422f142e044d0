"""Attached pictures on the record: shown with their caption, or a sentence in their place."""

from __future__ import annotations

import base64
import re
import zlib
from html import unescape

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from cartclock.engine.record.record import Record
from cartclock.engine.vehicle.picture import MOST_PIXELS, Picture, picture_fault
from tests.kit.pdf import drawn_on, scale_of, sheets
from tests.kit.pictures import jpeg, picture, png
from tests.kit.setting import record_html, record_pdf
from tests.paper.test_forms import HOSTILE, STEERING, Reading
from tests.paper.test_pdf import record_of
from tests.paper.test_text import driven

PNG, JPEG = png(), jpeg()
CAPTION = re.compile(r"bonnet, photo, \w{3} \d+ \w{3} 2026 \d\d:\d\d, ([0-9a-f]{12})\b")


@pytest.fixture(scope="module")
def record() -> Record:
    return record_of(driven(["one", "two", "three"]), 6000)


def placed(pdf: bytes) -> list[tuple[int, float, float, float, float]]:
    """Page, left, bottom, width and height of every picture drawn."""
    pattern = rb"([-\d.]+) 0 0 ([-\d.]+) ([-\d.]+) ([-\d.]+) cm\s+/FormXob"
    found = []
    for page in range(len(sheets(pdf))):
        scale = scale_of(pdf, page)
        for numbers in re.findall(pattern, drawn_on(pdf, page)):
            width, height, x, y = (float(number) * scale for number in numbers)
            found.append((page, x, y, width, height))
    return found


def pdf_text(pdf: bytes) -> str:
    return " ".join(" ".join(page.text for page in sheets(pdf)).split())


# Whole or not.


@pytest.mark.parametrize("content", [PNG, JPEG, jpeg(turned=6), PNG + b"tail", JPEG + b"tail"])
def test_a_whole_picture_has_no_fault(content: bytes) -> None:
    assert picture_fault(content) == ""


@pytest.mark.parametrize("content", [PNG, JPEG], ids=["PNG", "JPEG"])
def test_a_picture_cut_anywhere_is_not_whole(content: bytes) -> None:
    for end in range(len(content)):
        assert picture_fault(content[:end]) in (
            "broken or not whole",
            "not a JPEG or PNG picture",
        ), end


def test_a_picture_of_too_many_pixels_is_not_unpacked() -> None:
    assert MOST_PIXELS < 30_000 * 30_000
    assert (
        picture_fault(png(30_000, 30_000, b"x"))
        == "900 million pixels; at most 80 million are shown"
    )
    assert picture_fault(png(0, 3, b"x")) == "broken or not whole"


@given(st.binary(max_size=60), st.sampled_from([b"\xff\xd8\xff", PNG[:8], PNG[:33], JPEG[:40]]))
def test_no_bytes_break_the_look_at_them(tail: bytes, head: bytes) -> None:
    assert isinstance(picture_fault(head + tail), str)


# HTML.


def test_html_has_the_very_bytes_in_the_file_and_lets_nothing_else_in(record: Record) -> None:
    html = record_html(record, pictures=(picture(PNG), picture(JPEG)))
    found = re.findall(r'<img src="data:(image/\w+);base64,([A-Za-z0-9+/=]+)" alt="[^"]+">', html)
    assert [(media, base64.b64decode(text)) for media, text in found] == [
        ("image/png", PNG),
        ("image/jpeg", JPEG),
    ]
    policy = re.search(r'content="(default-src[^"]+)"', html)
    assert policy is not None
    assert unescape(policy[1]).endswith("form-action 'none'; img-src data:")
    assert Reading(html).open == []
    captions = re.findall(r"<figcaption>([^<]+)</figcaption>", html)
    assert [bool(CAPTION.fullmatch(one)) for one in captions] == [True, True]
    assert picture(PNG).sha256[:12] in captions[0]


def test_without_a_picture_to_show_none_is_let_in(record: Record) -> None:
    assert "Pictures" not in record_html(record)
    gone = picture(b"", why="changed since it was attached")
    html = record_html(record, pictures=(gone,))
    assert "<img" not in html and "img-src" not in html
    assert re.search(r"Not shown: a\.jpg, bonnet, photo, .*: changed since it was attached\.", html)


@pytest.mark.parametrize("word", HOSTILE)
def test_hostile_words_at_a_picture_are_inert_in_html(record: Record, word: str) -> None:
    named = replace(picture(PNG, word, name=word), what=word)
    gone = replace(named, content=b"", why=word)
    html = record_html(record, pictures=(named, gone))
    assert STEERING.search(html.replace("\n", "")) is None
    plain = record_html(record, pictures=(picture(PNG), picture(b"", why="gone")))
    assert Reading(html).tags <= Reading(plain).tags | {"br"}
    attributes = {name for name, _value in Reading(html).attributes}
    assert attributes <= {name for name, _value in Reading(plain).attributes}


def test_what_calls_itself_a_picture_and_is_none_never_becomes_an_address(record: Record) -> None:
    lie = Picture(5, "x.svg", "", "00", "image/svg+xml", b"<svg onload='x'/>")
    html = record_html(record, pictures=(lie,))
    assert "data:" not in html and "not a JPEG or PNG picture." in html


# PDF.


def test_pictures_stand_behind_all_else_scaled_to_fit(record: Record) -> None:
    shapes = [(40, 20), (20, 40), (3000, 10), (10, 3000), (1, 1), (900, 900), (50, 50)]
    shown = tuple(picture(jpeg(*shape)) for shape in shapes)
    pdf = record_pdf(record, search=None, pictures=shown)
    bare = len(sheets(record_pdf(record, search=None)))
    found = placed(pdf)
    assert len(found) == len(shapes)
    first = min(page for page, *_rest in found)
    # Where the last page has no room for the first two, they begin the next, heading and all.
    assert first in (bare - 1, bare)
    assert any("Pictures" in line for line in sheets(pdf)[first].lines)
    for (page, x, y, width, height), (wide, high) in zip(found, shapes, strict=True):
        left, low, right, top = sheets(pdf)[page].live
        assert x >= left - 0.1 and x + width <= right + 0.1
        assert y >= low and y + height <= top
        if max(wide, high) < 1200:
            assert width / height == pytest.approx(wide / high, rel=0.02)
    said = CAPTION.findall(pdf_text(pdf))
    assert sorted(said) == sorted(one.sha256[:12] for one in shown)


def test_a_turned_picture_stands_upright_and_what_is_beside_it_stays_out(record: Record) -> None:
    turned = picture(jpeg(400, 200, turned=6, place="meadow by the mill"))
    assert b"meadow" in turned.content
    pdf = record_pdf(record, search=None, pictures=(turned,), compressed=False)
    ((_page, _x, _y, width, height),) = placed(pdf)
    assert height == pytest.approx(2 * width, rel=0.01)
    assert b"meadow" not in b"".join(
        base64.a85decode(body.strip().removesuffix(b"~>"))
        for body in re.findall(rb"ASCII85Decode /DCTDecode.*?stream\s(.*?)endstream", pdf, re.S)
    )
    assert b"/DCTDecode" in pdf


@pytest.mark.parametrize(
    "content",
    [png(rows=b"no zlib"), png(rows=zlib.compress(b"short")), PNG[:40], JPEG[:200], b"junk", b""],
)
def test_a_broken_picture_is_a_sentence(record: Record, content: bytes) -> None:
    pdf = record_pdf(record, search=None, pictures=(picture(content), picture(PNG)))
    assert len(placed(pdf)) == 1
    assert re.search(r"Not shown: a\.jpg, bonnet, photo, [^:]+:\d\d(, \w+)?: ", pdf_text(pdf))


@settings(max_examples=12)
@given(st.integers(20, len(JPEG) - 3), st.binary(min_size=1, max_size=4))
def test_no_damage_to_a_picture_stops_the_paper(at: int, by: bytes) -> None:
    torn = JPEG[:at] + by + JPEG[at + len(by) :]
    made = record_of(driven(["one", "two", "three"]), 6000)
    assert record_pdf(made, search=None, pictures=(picture(torn),)).startswith(b"%PDF")
    assert record_html(made, pictures=(picture(torn),)).startswith("<!DOCTYPE html>")


def test_hostile_words_at_a_picture_stay_on_the_page(record: Record) -> None:
    """Each at a picture of its own, and at one that is not shown."""
    named = [replace(picture(PNG, word, name=word), what=word) for word in HOSTILE]
    gone = [replace(one, content=b"", why=one.name) for one in named]
    pdf = record_pdf(record, search=None, pictures=(*named, *gone))
    for page in sheets(pdf):
        assert all(page.live[0] - 1 <= said.x <= page.live[2] + 1 for said in page.said)
    assert len(placed(pdf)) == len(HOSTILE)


def test_large_pictures_are_printed_small_and_the_same_bytes(record: Record) -> None:
    large = picture(jpeg(4000, 3000))
    one = record_pdf(record, search=None, pictures=(large, large))
    assert one == record_pdf(record, search=None, pictures=(large, large))
    bare = record_pdf(record, search=None)
    assert len(one) - len(bare) < 400_000
