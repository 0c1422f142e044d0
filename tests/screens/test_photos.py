"""New photos: the line on Run, and the lists that say what they show."""

from __future__ import annotations

import asyncio
import hashlib
import os
import threading
from collections.abc import Callable
from pathlib import Path
from time import monotonic

import pytest
from PIL import Image

from cartclock.engine.desk.shop import Attachment, Shop
from cartclock.engine.rules import rules
from cartclock.engine.store.settings import Premises, Settings
from cartclock.engine.trouble import Asks, Refused
from tests.kit.plans import COAT
from tests.kit.run_states import one_window
from tests.kit.stage import START_US, Play, key_event, played
from tests.screens.test_vehicle_lists import JOB, SIZES, facts

START_S = START_US / 1e6


def card(folder: Path, count: int) -> list[Path]:
    """Synthetic photos, a minute apart, the first a minute after the opening."""
    folder.mkdir(exist_ok=True)
    found = []
    for number in range(count):
        path = folder / f"IMG_{number:04}.JPG"
        Image.new("RGB", (64, 48), (number, 0, 90)).save(path)
        os.utime(path, (START_S + 60 * (number + 1),) * 2)
        found.append(path)
    return found


def settings(folder: Path) -> Settings:
    return Settings(shop=Premises(photos=str(folder)))


async def looked(play: Play) -> None:
    """A look at the folder, as a tick begins it, is over."""
    held = play.app.workplace.photos._folder
    assert held is not None
    held._looked_s = None
    play.app.tick()
    assert held.wait(20)
    play.app.tick()
    await play.settle()


@SIZES
async def test_three_photos_are_told_of_and_said_in_eight_keys(
    size: tuple[int, int], tmp_path: Path
) -> None:
    folder = tmp_path / "card"
    paths = card(folder, 3)
    async with played(tmp_path, JOB, size=size, settings=settings(folder)) as play:
        await looked(play)
        assert "3 new photos: before, panel? V, N says it." in play.app.run_screen.told.notices
        await play.press("v", "n")
        assert "IMG_0000.JPG" in play.sheet.title
        assert "of 3 new photos: what does it show?" in play.sheet.title
        # The first before, of a panel; the other two alike, of no panel.
        await play.press("space")
        assert play.sheet.title.endswith("before: which panel?")
        panel = play.sheet.spoken[1]
        await play.press("down", "space")
        assert "of 2 new photos" in play.sheet.title
        await play.press("l", "a", "w")
        said = [(one.what, one.shows, one.section) for one in facts(play)]
        assert said == [("photo", "before", panel), ("photo", "after", ""), ("photo", "after", "")]
        digests = [one.sha256 for one in facts(play)]
        assert digests == [hashlib.sha256(path.read_bytes()).hexdigest() for path in paths]
        assert [play.bench.text(one.path) for one in facts(play)] == [str(path) for path in paths]
        assert (play.notice, play.sheet.is_open) == ("Every new photo is told of.", False)
        assert not any("new photo" in said for said in play.app.run_screen.told.notices)
        # Nothing was copied, moved or written in the folder.
        assert sorted(folder.iterdir()) == paths


async def test_one_that_is_of_no_job_is_told_of_no_more(tmp_path: Path) -> None:
    folder = tmp_path / "card"
    card(folder, 2)
    async with played(tmp_path, JOB, settings=settings(folder)) as play:
        await looked(play)
        await play.press("v", "n", "n")
        assert "IMG_0001.JPG" in play.sheet.title
        await play.press("esc")
        assert "1 new photo: before, panel? V, N says it." in play.app.run_screen.told.notices
        assert facts(play) == []


async def test_one_that_is_gone_is_named_and_the_next_is_asked_about(tmp_path: Path) -> None:
    folder = tmp_path / "card"
    paths = card(folder, 2)
    async with played(tmp_path, JOB, settings=settings(folder)) as play:
        await looked(play)
        paths[0].unlink()
        await play.press("v", "n", "d", "w")
        assert play.sheet.title.startswith("IMG_0000.JPG is not there;")
        assert "IMG_0001.JPG" in play.sheet.title
        assert facts(play) == []


async def test_forgetting_reaches_the_path(tmp_path: Path) -> None:
    folder = tmp_path / "card"
    (path,) = card(folder, 1)
    async with played(tmp_path, JOB, settings=settings(folder)) as play:
        await looked(play)
        await play.press("v", "n", "b", "w")
        (fact,) = facts(play)
        log = play.bench.log
        assert log.private_text(fact.path.ref) == str(path)
        assert not any(str(path) in str(row.event) for row in log.all_rows())
        log.forget([fact.path.ref])
        assert log.private_text(fact.path.ref) != str(path)


async def test_without_an_open_job_none_is_told_of(tmp_path: Path) -> None:
    folder = tmp_path / "card"
    card(folder, 1)
    async with played(tmp_path, JOB, settings=settings(folder)) as play:
        await looked(play)
        assert play.app.workplace.photos.found
        (job,) = play.bench.jobs

        try:
            play.bench.do(rules.close_job, job, {})
        except Asks as asks:
            play.bench.do(rules.close_job, job, {asks.rule_id: "it is enough"})
        play.app.tick()
        assert play.app.workplace.photos.found == ()


async def test_a_film_in_play_is_not_talked_over(tmp_path: Path) -> None:
    folder = tmp_path / "card"
    card(folder, 1)
    async with played(tmp_path, (COAT,), settings=settings(folder)) as play:
        await looked(play)
        told = "1 new photo: before, panel? V, N says it."
        assert told in play.app.run_screen.told.notices
        await one_window(play)
        assert told not in play.app.run_screen.told.notices
        # It is in the list all the same.
        await play.press("v")
        assert "1 new photo: what they show" in play.sheet.spoken[0]


async def test_without_the_setting_no_folder_is_looked_at(tmp_path: Path) -> None:
    async with played(tmp_path, JOB) as play:
        assert play.app.workplace.photos._folder is None
        await play.press("v")
        assert not any("new photo" in line for line in play.sheet.spoken)


async def test_a_large_photo_on_a_slow_card_stops_no_key_and_says_how_far_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "card"
    (path,) = card(folder, 1)
    halfway, goes_on = threading.Event(), threading.Event()

    def slow(self: Shop, text: str, told: Callable[[int, int], object]) -> Attachment:
        told(12_000_000, 40_000_000)
        halfway.set()
        assert goes_on.wait(20)
        return attachment(self, text, told)

    attachment = Shop.attachment
    async with played(tmp_path, JOB, settings=settings(folder)) as play:
        await looked(play)
        await play.press("v", "n", "b")
        monkeypatch.setattr(Shop, "attachment", slow)
        play.app.post_message(key_event("w"))
        while not halfway.is_set():
            await asyncio.sleep(0.001)
        # The file is not read yet: the clocks run on, what it says is so now, and keys are heard.
        began = monotonic()
        play.app.tick()
        assert play.spoken == ["12 of 40 MB read, IMG_0000.JPG"]
        play.app.post_message(key_event("space"))
        play.app.post_message(key_event("esc"))
        while play.sheet.is_open:
            await asyncio.sleep(0.001)
        assert monotonic() - began < 1
        assert play.notice == "Nothing was written."
        goes_on.set()
        await play.settle()
        assert (facts(play), play.sheet.is_open) == ([], False)
        await play.press("v", "n", "b", "w")
        assert [one.sha256 for one in facts(play)] == [
            hashlib.sha256(path.read_bytes()).hexdigest()
        ]


@pytest.mark.filterwarnings("error::pytest.PytestUnhandledThreadExceptionWarning")
async def test_a_program_that_ends_waits_for_no_card(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "card"
    card(folder, 1)
    asked, answers, read = threading.Event(), threading.Event(), threading.Event()

    def never(_self: Shop, _text: str, _told: object) -> Attachment:
        asked.set()
        answers.wait(20)
        read.set()
        raise Refused("It was taken out.")

    async with played(tmp_path, JOB, settings=settings(folder)) as play:
        await looked(play)
        await play.press("v", "n", "b")
        monkeypatch.setattr(Shop, "attachment", never)
        play.app.post_message(key_event("w"))
        while not asked.is_set():
            await asyncio.sleep(0.001)
        begun = monotonic()
        play.app.exit()
    assert monotonic() - begun < 5
    answers.set()
    assert read.wait(20)
    await asyncio.sleep(0.05)
    assert capfd.readouterr().err == ""


def test_of_a_large_file_each_piece_is_told_and_may_be_the_last(tmp_path: Path) -> None:
    path = tmp_path / "large.jpg"
    with path.open("wb") as file:
        file.truncate(40_000_000)
    heard: list[tuple[int, int]] = []
    found = Shop.attachment(None, str(path), lambda *far: heard.append(far))  # type: ignore[arg-type]
    assert found.sha256 == hashlib.sha256(bytes(40_000_000)).hexdigest()
    assert heard[0] == (0, 40_000_000) and heard[-1] == (40_000_000, 40_000_000)
    assert heard[1] == (1 << 20, 40_000_000)
    assert len(heard) > 30

    def leave(done: int, _of: int) -> None:
        if done:
            raise KeyError

    with pytest.raises(KeyError):
        Shop.attachment(None, str(path), leave)  # type: ignore[arg-type]
