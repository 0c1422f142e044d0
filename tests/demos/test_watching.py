"""Somebody looks on at a demo session: the caption, its keys, and taking over."""

from __future__ import annotations

import asyncio
import sys
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace
from textual.pilot import Pilot

from cartclock.demo_sessions.onlooker import Onlooker
from cartclock.demo_sessions.player import Player
from cartclock.demo_sessions.script import file_text, read_script, sessions
from cartclock.demo_sessions.session import _played
from cartclock.demo_sessions.watching import FASTEST, YOURS, Left, TakenOver, Watching
from cartclock.engine.letters import cells
from cartclock.engine.store.log import Log
from tests.kit.screen import Screen
from tests.kit.terminal import CLI, terminal

pytestmark = pytest.mark.waits

NAME = "three_washes"


class Told(Watching):
    """Notes every caption, and presses keys of its own at a step."""

    def __init__(self, at: int = 0, keys: str = "", speed: float = FASTEST) -> None:
        super().__init__(speed, len(read_script(NAME).step))
        self.told: list[str] = []
        self.places: list[tuple[str, str] | None] = []
        self._then = (at, keys)

    async def began(self, at: int, said: str) -> None:
        self.told += [said] if said else []
        self.places.append(self._place())
        await super().began(at, said)
        if at == self._then[0]:
            for key in self._then[1]:
                self.take("space" if key == " " else key, key)


async def watched(
    told: Onlooker, folder: Path, then: Any = None, steps: int | None = None
) -> Player:
    """steps: how many of the session are played; None: all."""
    player = Player(NAME, folder, told)
    player.script = replace(player.script, step=player.script.step[:steps])
    app = player.start()
    try:
        async with app.run_test(size=(80, 24)) as pilot:
            try:
                await player.run(pilot)
            finally:
                if then is not None:
                    await then(player, pilot)
    finally:
        app.bench.close()
    return player


@pytest.mark.long
def test_a_session_that_is_looked_at_gives_the_same_record(tmp_path: Path) -> None:
    told = Told()

    async def then(player: Player, pilot: Pilot[Any]) -> None:
        # No key of the onlooker is one of the program.
        rows, screen = len(player.cart.bench.rows), player.cart.screen
        for key in ("i", "l", "x", "1"):
            await pilot.press(key)
        assert (len(player.cart.bench.rows), player.cart.screen) == (rows, screen)
        await pilot.press("q")
        assert player.cart.return_code == 0

    player = asyncio.run(watched(told, tmp_path, then))
    assert _played(player).record == file_text(NAME, "record.txt")
    assert told.told == [step.say for step in read_script(NAME).step if step.say]


# The first of the three jobs, or all of them; at this pace its hours would take hours.
@pytest.mark.parametrize("steps", [4, pytest.param(None, marks=pytest.mark.long)])
def test_what_is_skipped_is_not_waited_for(steps: int | None, tmp_path: Path) -> None:
    class Skips(Told):
        def _place(self) -> None:
            """Nowhere is far enough."""

        async def began(self, at: int, said: str) -> None:
            self._skip("stage")
            await super().began(at, said)

    played = []
    for name, onlooker in (("skipped", Skips(speed=1.0)), ("nobody looks", Onlooker())):
        folder = tmp_path / name
        folder.mkdir()
        asyncio.run(watched(onlooker, folder, steps=steps))
        with Log.open(folder / "log.db") as log:
            played.append(log.all_rows())
    skipped, plain = played
    assert skipped == plain
    assert [row.kind for row in plain].count("JobClosed") == (1 if steps else 3)


def test_whoever_takes_over_presses_keys_of_the_program_and_time_goes_on(tmp_path: Path) -> None:
    seen: dict[str, object] = {}

    async def then(player: Player, pilot: Pilot[Any]) -> None:
        app, told = player.cart, player._onlooker
        assert isinstance(told, Watching)
        live = asyncio.create_task(told.live(player.clock))
        before_us = app.bench.now_us
        await pilot.press("ctrl+t")
        for _ in range(100):
            await asyncio.sleep(0.05)
            if app.bench.now_us - before_us >= 300_000_000:
                break
        seen["passed"] = (app.bench.now_us - before_us) // 60_000_000
        await pilot.press("k")
        seen["list"] = app.run_screen.sheet.is_open
        await pilot.press("c")
        await pilot.pause()
        seen["row"] = app.bench.rows[-1].kind
        app.exit()
        await live

    told = Told(at=3, keys="t")
    with pytest.raises(TakenOver):
        asyncio.run(watched(told, tmp_path, then))
    assert seen == {"passed": 5, "list": True, "row": "DrinkTaken"}
    assert told.lines(200, 3)[1].strip() == YOURS


def test_q_leaves_in_the_middle(tmp_path: Path) -> None:
    with pytest.raises(Left):
        asyncio.run(watched(Told(at=4, keys="q"), tmp_path))


def test_held_is_waited_for_and_speed_doubles_and_halves() -> None:
    at = [0.0]
    watching = Watching(600, 10, lambda: at[0])
    watching.take("space", " ")
    assert watching.held
    watching.take("space", " ")
    assert not watching.held
    for key, speed in (("plus", 1200), ("plus", 2400), ("minus", 1200)):
        watching.take(key, {"plus": "+", "minus": "-"}[key])
        assert watching.speed == speed
    for _ in range(40):
        watching.take("down")
    assert watching.speed == 1
    # A stretch of six hours is told in seconds.
    watching = Watching(600, 10)
    watching.span(6 * 3600)
    assert 6 * 3600 / 600 / watching._jump <= 4


@pytest.mark.parametrize(("width", "rows"), [(80, 3), (40, 2), (20, 1), (1, 1)])
def test_every_caption_is_told_to_its_last_word(width: int, rows: int) -> None:
    at = [0.0]
    for name in sessions():
        for number, step in enumerate(read_script(name).step, 1):
            if not step.say:
                continue
            watching = Watching(600, 99, lambda: at[0])
            watching._at, watching._key = number, "backspace"
            watching._tell(step.say)
            pages = watching._pages(max(width, 4), rows)
            said = " ".join(line.strip() for page in pages for line in page)
            assert said.split() == step.say.split() or width < 40
            for page in range(len(pages)):
                at[0] = watching._since + (page + 0.5) * watching._page_s(width, rows)
                lines = watching.lines(width, rows)
                assert len(lines) <= rows
                assert rows == 1 or lines[1:] == watching._pages(width, rows)[page]
                assert all(cells(line) <= width for line in lines[1:])


@pytest.mark.parametrize("width", range(20, 121, 7))
@pytest.mark.parametrize("key", ["", "k", "space", "backspace"])
def test_a_key_that_goes_down_stands_apart_from_what_the_keys_do(width: int, key: str) -> None:
    watching = Watching(600, 55, lambda: 0.0)
    watching._key = key
    said = " DEMO 0 of 55 x600" + (f" key {key.upper() if len(key) > 1 else key}" if key else "")
    status = watching._status(width)
    assert status.startswith(said)
    assert cells(status) <= max(width, cells(said) + 1)
    rest = status.removeprefix(said)
    assert not rest.strip() or rest.startswith("  ")


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such terminals")
@pytest.mark.parametrize(
    ("columns", "rows", "kept"), [(80, 24, 3), pytest.param(40, 12, 2, marks=pytest.mark.long)]
)
def test_the_caption_has_rows_of_its_own(
    columns: int, rows: int, kept: int, tmp_path: Path
) -> None:
    size = (columns, rows)
    with terminal(tmp_path, "-m", CLI, "demo", NAME, size=size, warm=True) as child:
        child.wait_for("DEMO 1 of")
        child.answer("s", "DEMO 3 of")
        child.pause(0.5)
        screen = Screen()
        screen.take(child.wrote.decode("utf-8", "replace"))
        lines = screen.lines()
        assert len(lines) == rows
        caption = lines[rows - kept :]
        assert caption[0].startswith(" DEMO 3 of 20")
        assert caption[1].strip()[:13] in " ".join(file_text(NAME, "steps.toml").split())
        assert not any("DEMO" in line for line in lines[: rows - kept])
        assert any("SPACE" in line for line in lines[: rows - kept])
        child.answer("t", "DEMO, yours")
        child.resize(60, 20)
        child.pause(0.5)
        child.send("q")
        child.pause(1.2)
        child.send("q")
        assert child.ended() == 0
    assert list(tmp_path.rglob("log.db")) == []
