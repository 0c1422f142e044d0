"""One reading of the clock a tick and a press, and nothing reckoned anew that cannot be another."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

import cartclock.engine.now.moment
import cartclock.tui.told.sight
from cartclock.engine.facts.events import ReadingTaken
from cartclock.engine.facts.rows import Evidence
from cartclock.engine.plan.plan import Stage, Wait, Work
from cartclock.engine.rules.rules import note_shift
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.settings import Settings
from tests.kit.stage import START_US, played

COAT = Stage(
    "Coat",
    ("bonnet", "roof", "boot"),
    (Work("apply", 3.0), Wait("flash", 300, 420, 900), Work("level", 1.0)),
)


class Counted(HandClock):
    """A clock that counts how often it is read."""

    readings = 0

    def read(self) -> Evidence:
        self.readings += 1
        return super().read()


@pytest.mark.parametrize("helper", ["", "Ida"])
async def test_readings_of_the_clock(tmp_path: Path, helper: str) -> None:
    clock = Counted(START_US)
    async with played(tmp_path, [COAT], clock=clock, settings=Settings(helper=helper)) as play:
        play.bench.do(note_shift, ReadingTaken(air_c=31.0, rh=50.0, place="sun"))
        await play.press("space")
        await play.wind(200)
        await play.press("space")

        def readings() -> int:
            found, clock.readings = clock.readings, 0
            return found

        readings()
        play.app.repaint()
        assert readings() == 0
        play.app.tick()
        assert readings() == 1
        clock.wind(70.0)
        play.app.tick()
        assert readings() == 1
        # What is pressed is written at the instant it is shown at.
        await play.press("space")
        assert readings() == 1
        assert play.app.workplace.moment.now_us == play.bench.rows[-1].entered_us
        # A press that is refused, a key without a meaning, and a choice take time all the same.
        for key in ("g", "down", "esc"):
            await play.press(key)
            assert readings() <= 1, key
        await play.press("backspace")
        assert readings() <= 2


async def test_a_tick_before_the_next_mark_reckons_nothing_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = reckonings(monkeypatch)
    async with played(tmp_path, [COAT]) as play:
        await play.press("space")
        await play.wind(180)
        await play.press("space")
        # The instant of a press is its own moment: right behind it what was done has a length.
        await play.wind(1)
        opens_us = play.bench.jobs[next(iter(play.bench.jobs))].films[0].opens_us
        made.clear()
        shown = set()
        for _ in range(60):
            await play.wind(1)
            shown.add(play.glance.faces[0].clock)
        assert len(shown) == 60
        assert made == {}
        # At its mark the film may be taken up, and the screen says so with this tick.
        await play.wind((opens_us - play.app.workplace.moment.now_us) / 1e6)
        assert play.app.workplace.moment.now_us == opens_us
        assert made["moves"] >= 1
        assert made["standing_part"] >= 1


async def test_work_over_its_time_has_only_the_heat_reckoned_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = reckonings(monkeypatch)
    async with played(tmp_path, [COAT]) as play:
        play.bench.do(note_shift, ReadingTaken(air_c=24.0, rh=50.0))
        await play.press("space")
        # Longer than planned by far: what is left of it stays the same.
        await play.wind(1800)
        assert play.glance.faces[0].field == "late"
        made.clear()
        for _ in range(30):
            await play.wind(1)
        assert made["watch"] == 3
        assert {"moves", "standing_part", "reasons"}.isdisjoint(made)


def reckonings(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """How often each part of what Run says is reckoned from here on."""
    made: Counter[str] = Counter()
    for module, name in (
        (cartclock.engine.now.moment, "moves"),
        (cartclock.engine.now.moment, "watch"),
        (cartclock.tui.told.sight, "standing_part"),
        (cartclock.tui.told.sight, "reasons"),
    ):
        asked = getattr(module, name)

        def counted(*args: object, name: str = name, asked: object = asked) -> object:
            made[name] += 1
            return asked(*args)  # type: ignore[operator]  # the function of that name

        monkeypatch.setattr(module, name, counted)
    return made
