"""A fresh pad on the screen: offered between sections, gone on without, taken, taken back."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.plan.plan import Wear, Work
from cartclock.tui.told.in_view import in_hand
from tests.kit.plans import WEARING
from tests.kit.stage import HOME, SMALL, played, whole

BLACK = Wear("pad", "black pad", 2)


@pytest.mark.parametrize("size", [HOME, SMALL])
async def test_space_twice_goes_on_and_a_letter_takes_the_fresh_one(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with played(tmp_path, (WEARING,), size=size) as play:
        for _ in range(6):
            await play.press("space")
            await play.wind(60)
        assert play.next_line == "SPACE  change pad: soft pad, 2 sections"
        assert whole(play) == []
        await play.press("space")
        assert play.kinds[-1] == "StepFinished"
        assert play.spoken == [
            "go on with this one: polish door",
            "fresh soft pad after 2 sections",
        ]
        assert whole(play) == []
        await play.press("esc")
        # Left: it is offered still; twice SPACE goes on and writes nothing of a pad but that.
        await play.press("space", "space")
        assert play.kinds[-2:] == ["StepFinished", "WorkStarted"]
        gone_on = play.bench.rows[-1].event
        assert isinstance(gone_on, ev.WorkStarted)
        assert gone_on.over == {"pad_or_towel_kept": "went on after soft pad, 2 sections"}
        # It is not offered again until as many sections more are done.
        for next_line in ("wipe door", "inspect door", "polish wing", "wipe wing", "inspect wing"):
            await play.wind(60)
            assert play.next_line == f"SPACE  {next_line}"
            await play.press("space")
        await play.wind(60)
        both = "SPACE  change pad and towel: soft pad, 4 sections; short towel, 4 sections"
        assert play.next_line == both
        await play.press("space", "p")
        assert play.bench.rows[-1].event == ev.FreshTaken("Polish", "pad", "soft pad", 4)
        assert play.next_line == "SPACE  change towel: short towel, 4 sections"
        await play.press("backspace")
        assert play.next_line == both
        assert play.odd() == []


async def test_by_hand_at_any_time_also_in_the_middle_of_a_section(tmp_path: Path) -> None:
    async with played(tmp_path, (WEARING,)) as play:
        await play.press("space")
        await play.wind(60)
        await play.press("a", "p")
        assert play.bench.rows[-1].event == ev.FreshTaken("Polish", "pad", "soft pad", 1)
        await play.press("a", "w")
        assert play.bench.rows[-1].event == ev.FreshTaken("Polish", "towel", "short towel", 0)
        assert play.odd() == []


async def test_the_letters_are_those_of_the_stage_in_hand(tmp_path: Path) -> None:
    finish = replace(WEARING, name="Finish", steps=(Work("finish", 1.0, wears=(BLACK,)),))
    async with played(tmp_path, (WEARING, finish)) as play:
        for _ in range(60):
            hands = in_hand(play.bench)
            if hands is not None and hands.stage == "Finish":
                break
            await play.press("space")
            await play.wind(60)
        await play.press("a", "p")
        assert play.bench.rows[-1].event == ev.FreshTaken("Finish", "pad", "black pad", 1)
        assert play.odd() == []
