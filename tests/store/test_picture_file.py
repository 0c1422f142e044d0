"""Attached photos: the bytes of the digest or a reason, never another picture."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

import pytest

from cartclock.engine.store.laptop import picture_file
from cartclock.engine.store.laptop.picture_file import MOST_BYTES, pictures
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
        ("d.png", "5.0 MB; at most 5 MB are shown"),
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


def test_a_picture_of_the_most_bytes_is_shown(tmp_path: Path) -> None:
    (one,) = pictures([attached(tmp_path / "a.png", PNG.ljust(MOST_BYTES, b"."))])
    assert len(one.content) == MOST_BYTES


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
