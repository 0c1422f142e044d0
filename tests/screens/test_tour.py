"""The tour of the manual: every press of its table, and what is said to be seen then is seen."""

from __future__ import annotations

import re
from pathlib import Path

from tests.kit.stage import played

TOUR = Path(__file__).parents[2] / "demo_sessions/TOUR.md"


async def test_every_press_of_the_tour_leads_to_what_it_says(tmp_path: Path) -> None:
    table = TOUR.read_text(encoding="utf-8").split("<!-- presses -->")[1].split("<!--")[0]
    steps = re.findall(r"(?m)^\| (.*?) \| (.*?) \|$", table)[1:]
    assert len(steps) > 15
    # As the program is started on an empty folder, with what it says before the work.
    async with played(tmp_path, on=False, settings=None) as play:
        for said, seen in steps:
            typed = re.fullmatch(r"type `(.*)`", said)
            if typed is None:
                await play.press(*re.findall(r"`([^`]+)`", said))
            elif play.typing:
                await play.type(typed[1])
            else:
                await play.press(*typed[1])
            shown = " ".join(play.seen.split())
            assert seen in shown, f"{said}: {shown}"
            await play.wind(20)
