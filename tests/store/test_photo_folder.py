"""A folder in which photos come to lie: what is told of, what is not, and that nobody waits."""

from __future__ import annotations

import os
import socket
import sys
import threading
import time
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from cartclock.engine.store.laptop import photo_folder
from cartclock.engine.store.laptop.photo_folder import (
    AGAIN_S,
    AGAIN_TIMES,
    LARGEST_BYTES,
    NAMES_A_LOOK,
    PhotoFolder,
    photos_in,
)

# 2026-09-21 14:13:20 UTC.
OPENED_S = 1_790_000_000.0
NOW_S = OPENED_S + 3600


def lay(path: Path, at_s: float = OPENED_S + 60, content: bytes = b"") -> Path:
    """A synthetic photo, written at some second."""
    if not content:
        made = BytesIO()
        Image.new("RGB", (64, 48), "navy").save(made, "JPEG")
        content = made.getvalue()
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    os.utime(path, (at_s, at_s))
    return path


def names(folder: Path) -> list[str]:
    return [one.name for one in photos_in(str(folder), OPENED_S, NOW_S)]


def test_what_was_written_since_the_opening_is_told_of_the_oldest_first(tmp_path: Path) -> None:
    lay(tmp_path / "b.jpg", OPENED_S + 5)
    lay(tmp_path / "DCIM" / "100WORK" / "A.JPG", OPENED_S + 9)
    lay(tmp_path / "c.HEIC", OPENED_S + 1)
    lay(tmp_path / "before.jpg", OPENED_S - 1)
    lay(tmp_path / "half.jpg", NOW_S - 1)
    lay(tmp_path / "list.txt")
    lay(tmp_path / ".thumb.jpg")
    lay(tmp_path / ".trash" / "x.jpg")
    lay(tmp_path / "1" / "2" / "3" / "deep.jpg")
    (tmp_path / "empty.jpg").write_bytes(b"")
    assert names(tmp_path) == ["c.HEIC", "b.jpg", "A.JPG"]
    (one, *_) = photos_in(str(tmp_path), OPENED_S, NOW_S)
    assert (one.path, one.at_s) == (str(tmp_path / "c.HEIC"), OPENED_S + 1)


@pytest.mark.skipif(sys.platform == "win32", reason="it has no such files")
def test_only_plain_files_are_told_of(tmp_path: Path) -> None:
    folder = tmp_path / "card"
    lay(folder / "a.jpg")
    (folder / "link.jpg").symlink_to(lay(tmp_path / "elsewhere.jpg"))
    (folder / "round").symlink_to(folder)
    (folder / "folder.jpg").mkdir()
    os.mkfifo(folder / "pipe.jpg")
    with socket.socket(socket.AF_UNIX) as bound:
        bound.bind(str(folder / "s.jpg"))
        large = folder / "large.jpg"
        with large.open("wb") as opened:
            opened.truncate(LARGEST_BYTES + 1)
        os.utime(large, (OPENED_S + 60, OPENED_S + 60))
        begun = time.monotonic()
        assert names(folder) == ["a.jpg"]
        assert time.monotonic() - begun < 2


@pytest.mark.skipif(sys.platform != "linux", reason="other systems keep names as text")
def test_a_name_that_is_no_text_is_left_out(tmp_path: Path) -> None:
    lay(tmp_path / "a.jpg")
    with open(os.fsencode(tmp_path) + b"/\xff.jpg", "wb") as opened:  # noqa: PTH123  # a name of bytes
        opened.write(b"x")
    os.utime(os.fsencode(tmp_path) + b"/\xff.jpg", (OPENED_S + 9, OPENED_S + 9))
    assert names(tmp_path) == ["a.jpg"]


def test_a_folder_that_is_not_there_has_no_photos(tmp_path: Path) -> None:
    assert names(tmp_path / "gone") == []
    assert photos_in("~nobody-of-that-name/x", OPENED_S, NOW_S) == ()
    assert names(lay(tmp_path / "file.jpg")) == []


def test_of_a_full_card_so_many_names_are_looked_at(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for number in range(30):
        lay(tmp_path / f"{number:02}.jpg", content=b"x")
    assert len(names(tmp_path)) == 30
    assert NAMES_A_LOOK >= 10_000
    monkeypatch.setattr(photo_folder, "NAMES_A_LOOK", 20)
    assert len(names(tmp_path)) == 20
    monkeypatch.setattr(photo_folder, "MOST_PHOTOS", 7)
    assert len(names(tmp_path)) == 7


def test_nobody_waits_for_a_folder_that_never_answers(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    answers, asked = threading.Event(), []

    def never(*_given: object) -> tuple[()]:
        asked.append(1)
        answers.wait(20)
        return ()

    monkeypatch.setattr(photo_folder, "photos_in", never)
    at = [0.0]
    folder = PhotoFolder(str(tmp_path), lambda: at[0], lambda: NOW_S)
    begun = time.monotonic()
    for _ in range(50):
        folder.look(OPENED_S)
        at[0] += AGAIN_S
    assert time.monotonic() - begun < 1
    assert (len(asked), folder.photos, folder.wait(0)) == (1, (), False)
    answers.set()
    assert folder.wait(20)


def test_it_is_looked_at_now_and_then_and_seldom_if_that_takes_long(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    at, looked, takes = [0.0], [], [0.0]

    def look(_folder: str, _since_s: float, _now_s: float) -> tuple[()]:
        looked.append(at[0])
        at[0] += takes[0]
        return ()

    monkeypatch.setattr(photo_folder, "photos_in", look)
    folder = PhotoFolder(str(tmp_path), lambda: at[0], lambda: NOW_S)

    def seconds(count: int, since_s: float = OPENED_S) -> None:
        for _ in range(count):
            folder.look(since_s)
            assert folder.wait(20)
            at[0] += 1

    seconds(31)
    assert looked == [0, 10, 20, 30]
    # Another job is opened: it is looked at once.
    seconds(1, OPENED_S + 1)
    assert looked[4:] == [31]
    takes[0] = 2.0
    seconds(int(2 * AGAIN_TIMES), OPENED_S + 1)
    assert len(looked) == 6
