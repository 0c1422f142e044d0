"""Somebody who helps for a while: by a key, without a word in the settings."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.shift import Hands
from cartclock.engine.now.helper import second_hands
from cartclock.engine.rules import rules, typed
from cartclock.engine.store.clock import HandClock
from cartclock.engine.trouble import Refused
from cartclock.tui.keys import meaning
from tests.kit.blank import bench_at
from tests.kit.plans import COAT, POLISH, WEARING
from tests.kit.stage import LARGE, START_US, Play, played, seeded, whole


async def come(play: Play, name: str = "Ina") -> None:
    """Somebody is called to help for twenty minutes."""
    await play.press("plus", "h", *name, "enter", "space")


async def test_somebody_comes_by_a_key_works_by_enter_and_goes(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,), size=LARGE) as play:
        assert meaning(play.app.workplace.keymap, "run", "enter") == "take_up"
        await play.press("space")
        await come(play)
        on = play.bench.rows[-1]
        assert (on.worker, on.event) == ("Ina", ev.ClockedOn(**_as_here(play), planned_s=20 * 60))
        assert "clocked on, for 20 min" in play.notice
        assert meaning(play.app.workplace.keymap, "run", "enter") == "helper"
        await play.press("enter")
        shift = play.bench.shift("Ina")
        assert shift is not None and isinstance(shift.doing, Hands)
        await play.wind(19 * 60)
        assert "came for" not in play.text
        await play.wind(61)
        assert "Ina came for 20 min: I clocks Ina off." in play.text
        await play.press("i", "down", "space")
        assert play.notice == "Ina: clocked off."
        assert not play.app.workplace.helper
        assert meaning(play.app.workplace.keymap, "run", "enter") == "take_up"
        assert "came for" not in play.text


def _as_here(play: Play) -> dict[str, object]:
    """What the first worker's own clocking on says of the place, the sun and the clothing."""
    own = play.bench.shift()
    assert own is not None
    same = ("place", "rule_set", "zone", "clothing", "latitude", "longitude")
    return {
        **{name: getattr(own.on, name) for name in same},
        "acclimatization": play.bench.shifts[play.bench.rows[-1].shift].on.acclimatization,
        "because": play.bench.shifts[play.bench.rows[-1].shift].on.because,
    }


async def test_what_a_guest_used_is_told_at_their_own_end(tmp_path: Path) -> None:
    async with played(tmp_path, (WEARING,)) as play:
        await play.press("space")
        await come(play)
        await play.press("enter")
        await play.wind(300)
        await play.press("i", "down", "space")
        assert play.sheet.title == "Ina: on the clock for 5 min. Before you go:"
        assert play.spoken == ["To wash: 1 pad."]
        assert whole(play) == []
        await play.press("esc")
        assert play.app.workplace.helper == "Ina"
        await play.press("i", "down", "space", "space")
        off = play.bench.rows[-1]
        assert (off.worker, off.event) == ("Ina", ev.ClockedOff(told=("To wash: 1 pad.",)))
        assert not play.app.workplace.helper


async def test_time_with_nothing_in_hand_is_asked_about_as_the_first_workers(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, (POLISH,)) as play:
        await come(play)
        await play.wind(900)
        await play.press("enter")
        await play.wind(60)
        await play.press("i", "down", "space")
        assert play.sheet.title == "Ina, 14:13-14:28 (15:00), nothing in hand: what was it?"
        await play.press("esc")
        assert play.notice == "The questions stay; I asks them again. Ina is still on the clock."
        await play.press("i", "down", "space", "down", "down", "space")
        said = play.bench.rows[-3]
        assert (said.worker, said.kind) == ("Ina", "GapJudged")
        assert (play.bench.rows[-1].worker, play.kinds[-1]) == ("Ina", "ClockedOff")
        assert play.bench.questions("Ina") == ()
        # The first worker's own time is another matter.
        assert play.bench.shift().state == "free"
        assert play.odd() == []


async def test_a_guest_who_waits_for_a_film_is_told_until_when(tmp_path: Path) -> None:
    one = replace(COAT, sections=("roof",), panels={})
    async with played(tmp_path, (one,), size=LARGE) as play:
        await play.press("space")
        await play.wind(90)
        await come(play)
        await play.press("space", "space")
        told = play.app.run_screen.told
        assert told is not None and "Ina: wait until 14:15: roof" in told.helps
        await play.wind(4)
        await play.press("enter")
        assert play.notice == "Nothing is in hand; wait until 14:15: roof."


async def test_who_helps_has_a_name_of_their_own(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,)) as play:
        rows = len(play.bench.rows)
        for name in (play.bench.worker, " "):
            await play.press("plus", "h", *("space" if c == " " else c for c in name), "enter")
            assert f"another one than {play.bench.worker}" in play.text
            await play.press("escape")
        assert len(play.bench.rows) == rows
    with pytest.raises(Refused):
        typed.helper_name("", "me")


async def test_a_guest_is_still_there_after_a_start(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,)) as play:
        await come(play)
    async with played(tmp_path, seed="again") as play:
        assert play.app.workplace.helper == "Ina"


def test_who_stayed_on_the_clock_yesterday_does_not_help_today(tmp_path: Path) -> None:
    clock = HandClock(START_US)
    bench = bench_at(tmp_path / "log.db", clock, "me", seeded("guest"))
    bench.do(rules.clock_on, ev.ClockedOn())
    clock.wind(60)
    bench.do_as("Ina", 0, rules.clock_on, ev.ClockedOn(planned_s=1200))
    assert second_hands("", bench.shifts.values(), "me") == "Ina"
    bench.do(rules.clock_off)
    assert second_hands("", bench.shifts.values(), "me") == "Ina"
    clock.wind(15 * 3600)
    bench.do(rules.clock_on, ev.ClockedOn())
    assert second_hands("", bench.shifts.values(), "me") == ""
    assert second_hands("Tomek", bench.shifts.values(), "me") == "Tomek"
    assert second_hands("me", bench.shifts.values(), "me") == ""
