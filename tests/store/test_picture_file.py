"""Attached photos: the bytes of the digest or a reason, never another picture."""

from __future__ import annotations

import hashlib
import os
import zlib
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from cartclock.engine.store.laptop import picture_file
from cartclock.engine.store.laptop.picture_file import MOST_BYTES, pictures
from cartclock.engine.store.laptop.thumbnail import LARGE_BYTES
from cartclock.engine.vehicle.picture import media_type
from cartclock.engine.vehicle.vehicle import Attached
from tests.kit.pictures import png

PNG = png()


def attached(path: Path, content: bytes = PNG, what: str = "photo") -> Attached:
    path.write_bytes(content)
    return Attached(5, hashlib.sha256(content).hexdigest(), str(path), what, "bonnet")


def test_a_photo_comes_back_with_its_bytes_and_other_files_do_not(tmp_path: Path) -> None:
    (one,) = pictures([attached(tmp_path / "a.jpg"), attached(tmp_path / "b.txt", what="file")])
    assert (one.at_us, one.name, one.section) == (5, "a.jpg", "bonnet")
    # By what is in it, not by its name.
    assert (one.media, one.content, one.why) == ("image/png", PNG, "")


def test_what_is_not_the_attached_picture_is_named_with_the_reason(tmp_path: Path) -> None:
    moved, changed, folder = (attached(tmp_path / f"{name}.png") for name in "abc")
    (tmp_path / "a.png").rename(tmp_path / "moved.png")
    (tmp_path / "b.png").write_bytes(PNG + b"!")
    (tmp_path / "c.png").unlink()
    (tmp_path / "c.png").mkdir()
    big = attached(tmp_path / "d.png", PNG + bytes(MOST_BYTES))
    raw = attached(tmp_path / "e.png", b"no picture")
    torn = attached(tmp_path / "f.png", PNG[:-9])
    forgotten = Attached(5, "00", "forgotten", "photo", "")
    nul = Attached(5, "00", "a\0b", "photo", "")
    found = pictures([moved, changed, folder, big, raw, torn, forgotten, nul])
    assert [(one.name, one.why) for one in found] == [
        ("a.png", "not where it was when it was attached"),
        ("b.png", "changed since it was attached"),
        ("c.png", "not where it was when it was attached"),
        ("d.png", "40.0 MB; at most 40 MB are shown"),
        ("e.png", "not a JPEG or PNG picture"),
        ("f.png", "broken or not whole"),
        ("", "its path was forgotten"),
        ("a\0b", found[-1].why),
    ]
    assert found[-1].why
    assert {(one.media, one.content) for one in found} == {("", b"")}


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root reads everything")
def test_a_file_that_may_not_be_read_is_named(tmp_path: Path) -> None:
    file = attached(tmp_path / "a.png")
    (tmp_path / "a.png").chmod(0)
    (one,) = pictures([file])
    assert one.why == "it cannot be read: Permission denied"


def test_a_picture_of_the_most_bytes_is_shown_smaller(tmp_path: Path) -> None:
    (one,) = pictures([attached(tmp_path / "a.png", PNG.ljust(MOST_BYTES, b"."))])
    assert (one.media, one.why) == ("image/jpeg", "")
    assert 0 < len(one.content) < LARGE_BYTES


def taken(width: int, height: int, orientation: int) -> bytes:
    """A synthetic photo, red above and blue below, with what a camera writes beside it."""
    image = Image.new("RGB", (width, height), "red")
    image.paste("blue", (0, height // 2, width, height))
    exif = Image.Exif()
    exif[0x0112] = orientation  # Orientation (Exif 2.32, table 4)
    exif[0x010F] = "Invented camera"
    exif.get_ifd(0x8825)[1] = "N"  # GPSLatitudeRef
    content = BytesIO()
    image.save(content, "JPEG", exif=exif)
    return content.getvalue()


@pytest.mark.parametrize(
    ("orientation", "size", "top_left", "bottom_right"),
    [
        (1, (1200, 900), "red", "blue"),
        (3, (1200, 900), "blue", "red"),
        (6, (900, 1200), "blue", "red"),
        (8, (900, 1200), "red", "blue"),
    ],
)
def test_a_photo_is_shown_small_upright_and_without_its_place(
    orientation: int, size: tuple[int, int], top_left: str, bottom_right: str, tmp_path: Path
) -> None:
    content = taken(3200, 2400, orientation)
    (one,) = pictures([attached(tmp_path / "a.jpg", content)])
    assert b"Invented camera" in content
    assert b"Exif" not in one.content
    assert b"Invented" not in one.content
    assert len(one.content) < LARGE_BYTES
    assert one.sha256 == hashlib.sha256(content).hexdigest()
    with Image.open(BytesIO(one.content)) as shown:
        assert shown.size == size
        # Exif 2.32, 4.6.4: 3 is turned by 180 degrees, at 6 row 0 is the right hand side, at 8
        # the left hand side.
        width, height = size
        for at, colour in (((9, 9), top_left), ((width - 9, height - 9), bottom_right)):
            red, _green, blue = shown.convert("RGB").getpixel(at)  # type: ignore[misc]  # three bands
            assert ("red" if red > blue else "blue") == colour


def drawn_of(width: int, height: int, packed: bytes) -> bytes:
    """A PNG that says its size, and has these bytes for its pixels (ISO/IEC 15948 5.3, 11.2)."""

    def chunk(kind: bytes, inside: bytes) -> bytes:
        check = zlib.crc32(kind + inside).to_bytes(4, "big")
        return len(inside).to_bytes(4, "big") + kind + inside + check

    head = width.to_bytes(4, "big") + height.to_bytes(4, "big") + bytes([8, 2, 0, 0, 0])
    whole = chunk(b"IHDR", head) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + whole


def test_a_picture_that_would_fill_the_memory_is_not_unpacked(tmp_path: Path) -> None:
    bomb = drawn_of(100_000, 100_000, zlib.compress(bytes(300_000)))
    (one,) = pictures([attached(tmp_path / "a.png", bomb)])
    assert one.why == "10000 million pixels; at most 80 million are shown"


def test_a_large_picture_without_pixels_is_named(tmp_path: Path) -> None:
    (one,) = pictures([attached(tmp_path / "a.png", drawn_of(800, 600, b"x" * 300_000))])
    assert (one.content, one.why) == (b"", "broken or not whole")


def test_what_a_telephone_writes_is_named_by_its_kind(tmp_path: Path) -> None:
    heic = b"\x00\x00\x00\x18ftypheic" + bytes(50)
    (one,) = pictures([attached(tmp_path / "a.heic", heic)])
    said = "a HEIC picture, which no paper can read; a copy of it as JPEG can be attached"
    assert one.why == said


def test_pictures_that_fill_the_paper_leave_the_rest_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(picture_file, "MOST_TOGETHER_BYTES", len(PNG) + 3)
    one, two = pictures([attached(tmp_path / "a.png"), attached(tmp_path / "b.png")])
    assert (one.content, two.content, two.media) == (PNG, b"", "")
    assert two.why == "the pictures before it fill the 0 MB of a paper"


@pytest.mark.parametrize(
    ("content", "media"),
    [
        (b"\xff\xd8\xff\xe0", "image/jpeg"),
        (b"\x89PNG\r\n\x1a\n", "image/png"),
        (b"GIF89a", ""),
        (b"<svg onload='x'>", ""),
        (b"", ""),
    ],
    ids=["ITU-T T.81", "ISO/IEC 15948", "GIF89a", "SVG runs code", "empty"],
)
def test_media_type_by_signature(content: bytes, media: str) -> None:
    assert media_type(content) == media
