"""The list of Y: nothing before a pick, exactly what was named after it, and undo.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.plan.plan import Check, Cure, HighSpot, Plan, Product, Stage, Use, Work
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.settings import Settings
from tests.kit.page import said
from tests.kit.plans import WIPE, opening
from tests.kit.stage import START_US, Play, compare_sizes, played, whole

TOWEL = "Dry it with a soft towel at once."
SEALANT = Product("sealant", "Sealant", dry_s=3 * 3600, if_wet=TOWEL)
COAT = Stage(
    "Coat",
    ("bonnet left", "bonnet right", "roof"),
    (Work("lay", 1.0, (Use("sealant", 5.0),)),),
    order="all",
    panels={"bonnet left": "bonnet", "bonnet right": "bonnet"},
    cure=Cure(12 * 3600, 15.0, 24 * 3600),
    check=Check(1200, 2400, "panel", "light over it"),
    high_spot=(HighSpot("re-wet and level", 1800), HighSpot("polish out, wipe, coat again")),
)
LONG = "passenger rear quarter behind the sliding door, upper half 1"


def sealing(*stages: Stage, number: int = 1, vehicle: str = "bottle green estate") -> ev.JobOpened:
    """A job whose product must stay dry."""
    plan = Plan("seal", stages or (COAT,), (SEALANT,))
    return replace(opening(number=number), plan=plan, vehicle=vehicle)


async def lay(play: Play, sections: int = 3, each_s: float = 120) -> None:
    """Lays sections one after the other, and nothing is in hand then."""
    for _ in range(sections):
        await play.press("space")
        await play.wind(each_s)
    await play.choose("finish")
    await play.press("space")


async def pick(play: Play, word: str) -> None:
    """Picks the first line of the open list that has the word in it."""
    at = next(i for i, line in enumerate(play.spoken) if word in line)
    await play.press(*["down"] * at, "space")


def events_of(play: Play, kind: type) -> list[object]:
    return [row.event for row in play.bench.rows if isinstance(row.event, kind)]


# Y.


async def test_nothing_that_must_stay_dry_is_a_sentence(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("space")
        before = play.kinds
        await play.press("y")
        # The plan names no product that must stay dry.
        assert play.notice.startswith("No product of the plan has a dry time")
        assert not play.sheet.is_open
        assert play.kinds == before
    async with played(tmp_path / "new", on=False) as play:
        await play.press("u", "y")
        assert play.notice == "No job was ever opened; T, then +, opens one."


async def test_water_says_what_it_would_mark_and_marks_it_on_the_pick(tmp_path: Path) -> None:
    async with played(tmp_path, sealing()) as play:
        await lay(play)
        await play.wind(600)
        before = play.kinds
        await play.press("y")
        assert play.sheet.title == f"Water got on it. {TOWEL}"
        assert play.spoken[0] == "all that is not dry: all 3 (Coat)"
        assert play.spoken[1:] == [
            "only bonnet left, dry at 17:16 (Coat, laid 14 min ago)",
            "only bonnet right, dry at 17:18 (Coat, laid 12 min ago)",
            "only roof, dry at 17:20 (Coat, laid 10 min ago)",
        ]
        await compare_sizes("list_water", play)
        await play.press("down", "up", "esc")
        assert play.kinds == before
        await play.press("y", "space")
        assert play.kinds == [*before, "WaterTouched"]
        assert events_of(play, ev.WaterTouched) == [ev.WaterTouched("Coat", COAT.sections)]
        assert play.notice == f"Water noted on 3 sections. {TOWEL}"
        await play.press("backspace")
        assert play.kinds[-1] == "PressStruck"
        await play.press("y")
        await pick(play, "only roof")
        assert events_of(play, ev.WaterTouched)[-1] == ev.WaterTouched("Coat", ("roof",))
        assert play.notice == f"Water noted on 1 section. {TOWEL}"
        await play.wind(3 * 3600)
        await play.press("y")
        assert play.notice == "Nothing is inside its dry time; nothing was marked."
        assert play.odd() == []


async def test_a_list_that_stood_open_too_long_marks_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, sealing()) as play:
        await lay(play, 1)
        await play.press("y")
        await play.wind(3 * 3600)
        before = play.kinds
        await play.press("space")
        assert play.notice == "bonnet left is not inside its dry time; nothing was marked."
        assert play.kinds == before


async def test_several_vehicles_can_be_marked_in_one_press(tmp_path: Path) -> None:
    openings = (sealing(), sealing(number=2, vehicle="red [van]"))
    async with played(tmp_path, *openings) as play:
        for _ in range(2):
            await lay(play)
            for _ in range(9):
                await play.press("down")
                if "lay bonnet left" in play.next_line:
                    break
        await play.press("y")
        assert play.spoken[0] == "everything: 6 sections on 2 vehicles"
        assert play.spoken[1] == "bottle green estate: all that is not dry: all 3 (Coat)"
        assert "red [van]: all that is not dry: all 3 (Coat)" in play.spoken
        await play.press("space")
        assert len(events_of(play, ev.WaterTouched)) == 2
        assert play.notice == f"Water noted on 6 sections. {TOWEL}"
        assert len({row.job for row in play.bench.rows if row.kind == "WaterTouched"}) == 2
        assert play.odd() == []


async def test_water_days_after_the_hand_over_and_a_restart(tmp_path: Path) -> None:
    clock = HandClock(START_US)
    slow = Product("sealant", "Sealant", dry_s=48 * 3600)
    plan = Plan("seal", (COAT,), (slow,))
    async with played(tmp_path, replace(opening(), plan=plan), clock=clock) as play:
        await lay(play)
        await play.press("t", "space", "down", "space")
        # Nobody looked at it again.
        await play.press("down", "down", "space", "u", "i", "o")
        assert play.kinds[-2:] == ["JobClosed", "ClockedOff"]
    for seed in ("second", "third"):
        clock.wind(15 * 3600)
        async with played(tmp_path, clock=clock, seed=seed) as play:
            await play.press("u", "i", "space")
            if seed == "second":
                # A shift on another day puts the closed job out of sight.
                await play.press("i", "o")
                continue
            await play.press("esc", "u")
            assert play.bench.jobs == {}
            await play.press("y")
            assert play.spoken[0] == "all that is not dry: all 3 (Coat)"
            assert play.bench.jobs == {}
            await play.press("space")
            assert play.kinds[-1] == "WaterTouched"
            (job,) = play.bench.jobs.values()
            assert job.state == "closed"
            assert play.odd() == []


async def test_long_names_stay_inside_the_screen(tmp_path: Path) -> None:
    names = (LONG, LONG.replace("upper", "lower"))
    stage = Stage(
        "Coat and second coat of the outside, tinted [/x] layer",
        names,
        COAT.steps,
        check=Check(1200, 2400, "stage", "light over it"),
        high_spot=COAT.high_spot,
    )
    opened = sealing(stage, vehicle="a vehicle with a name of sixty characters [b] on one line")
    for size in ((80, 24), (40, 12)):
        folder = tmp_path / f"{size[0]}"
        async with played(folder, opened, size=size) as play:
            await lay(play, 2)
            await play.wind(1300)
            assert whole(play) == []
            for key in ("z", "y"):
                await play.press(key)
                assert play.sheet.is_open, play.notice
                assert whole(play) == []
                await play.press("esc")
            await play.press("t")
            assert whole(play) == []


# Rain and the queue.


async def test_rain_is_a_notice(tmp_path: Path) -> None:
    async with played(tmp_path, sealing()) as play:
        await lay(play, 1)
        await play.press("r", *["up"] * 4, "6", "0", "space")
        await play.wind(60)
        caught = "Rain at 15:15 will catch bonnet left (Coat, dry at 17:16)."
        assert caught in play.glance.notices
        await play.wind(3600)
        came = "Rain was expected at 15:15. If it came, Y marks"
        assert any(said.startswith(came) for said in play.glance.notices)


async def test_today_shows_the_queue(tmp_path: Path) -> None:
    clock = HandClock(START_US)
    async with played(tmp_path, sealing(), clock=clock) as play:
        await play.press("r", "1", "2", "space")
        await lay(play)
        await play.press("t")
        assert said(play)[1:] == [
            "Coat: light over bonnet   from 14:38 to 14:55",
            "Coat: light over roof   from 14:40 to 14:59",
            "Coat   leave alone until Tue 22 Sep 2026 14:20, cold: air 12 C at 14:13",
        ]
        await compare_sizes("today_queue", play)
        await play.press("u", "i", "o")
    # The reading of yesterday still decides.
    clock.wind(14 * 3600)
    async with played(tmp_path, clock=clock, seed="again") as play:
        await play.press("i", "space", "r", "2", "2", "space", "t")
        assert said(play)[-1].endswith(
            "leave alone until Tue 22 Sep 2026 14:20, cold: air 12 C at Mon 21 Sep 14:13"
        )


async def test_today_goes_by_what_the_other_measured_at_the_car(tmp_path: Path) -> None:
    async with played(tmp_path, sealing(), settings=Settings(helper="Tomek")) as play:
        play.bench.do_as("Tomek", 0, rules.clock_on, ev.ClockedOn())
        play.bench.do_as("Tomek", 0, rules.note_shift, ev.ReadingTaken(air_c=12.0))
        await lay(play)
        await play.press("t")
        assert said(play)[-1].endswith("cold: air 12 C at 14:13")


@pytest.mark.parametrize("key", ["z", "Z", "y", "Y"])
async def test_the_letters_change_nothing_by_themselves(tmp_path: Path, key: str) -> None:
    async with played(tmp_path, sealing()) as play:
        await lay(play)
        await play.wind(1300)
        before = play.kinds
        await play.press(key)
        assert play.sheet.is_open
        assert whole(play) == []
        await play.press("escape")
        assert play.kinds == before
