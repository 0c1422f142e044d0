"""What is worn: asked once at clocking on, a setting, changed in B and R, kept in the record."""

from __future__ import annotations

from pathlib import Path

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.store.settings import Settings
from tests.kit.plans import WIPE
from tests.kit.setting import record_text
from tests.kit.stage import HOME, SMALL, Play, played, whole

SIZES = pytest.mark.parametrize("size", [HOME, SMALL], ids=str)


def worn(play: Play) -> str:
    """What is worn by the newest word on it."""
    said = "nothing was said"
    for row in play.bench.rows:
        match row.event:
            case ev.ClockedOn(clothing=clothing) | ev.ClothingSaid(clothing):
                said = clothing
            case _:
                pass
    return said


async def clock_on(play: Play) -> None:
    """Clocks off and opens the list that clocks on again."""
    await play.press("i", "space")
    assert play.kinds[-1] == "ClockedOff"
    await play.press("i")


@SIZES
async def test_clocking_on_shows_what_is_worn_and_one_press_keeps_it(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    usual = Settings(clothing="double layer")
    async with played(tmp_path, (WIPE,), settings=usual, size=size) as play:
        await clock_on(play)
        (line,) = [line for line in play.spoken if line.startswith("clothing")]
        # What was worn last, not what is usual.
        assert line.split(maxsplit=1)[1] == worn(play)
        assert whole(play) == []
        await play.press("up", "right", "down", "space")
        on = play.bench.rows[-1].event
        assert isinstance(on, ev.ClockedOn)
        assert on.clothing != line.split(maxsplit=1)[1]


async def test_the_first_clocking_on_offers_what_the_settings_say_is_worn(tmp_path: Path) -> None:
    usual = Settings(clothing="double layer")
    async with played(tmp_path, (WIPE,), settings=usual, on=False) as play:
        await play.press("i")
        (line,) = [line for line in play.spoken if line.startswith("clothing")]
        assert line.split(maxsplit=1)[1] == "double layer"
        await play.press("space")
        assert worn(play) == "double layer"


async def test_it_is_changed_in_the_list_of_breaks_and_in_a_reading(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        assert worn(play) == "work clothes"
        await play.press("b")
        at = next(i for i, line in enumerate(play.spoken) if line.startswith("clothing"))
        await play.press(*["down"] * at, "right", "space")
        assert play.bench.rows[-1].event == ev.ClothingSaid("SMS coverall")
        await play.press("r", "3", "0", "down", "4", "0")
        here = next(i for i, line in enumerate(play.spoken) if line.startswith("clothing"))
        await play.press(*["down"] * (here - 2), "right", "space")
        assert "polyolefin coverall" in {
            row.event.clothing for row in play.bench.rows if isinstance(row.event, ev.ClothingSaid)
        }
        assert "ReadingTaken" in play.kinds


async def test_it_adds_to_the_wbgt_and_stands_in_the_record(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("space", "r", "2", "4", "down", "4", "0", "space")
        plain = play.app.workplace.body()
        await play.press("b")
        at = next(i for i, line in enumerate(play.spoken) if line.startswith("clothing"))
        await play.press(*["down"] * at, "left", "space")
        assert worn(play) == "vapour barrier"
        await play.wind(1)
        barrier = play.app.workplace.body()
        assert plain is not None and barrier is not None
        # 11 C for a vapour barrier: published clothing adjustments of the WBGT.
        assert plain.pace.limit_c is not None and barrier.pace.here_minutes is not None
        assert barrier.pace.here_minutes < 60.0 == plain.pace.here_minutes
        text = " ".join(record_text(play.app.shop.record("1", play.bench.now_us)).split())
        assert "Work clothes: 0 C added for clothing." in text
        assert "Vapour barrier: 11 C added for clothing." in text
