"""The earliest hand-over on Run and Today, and closing before it."""

from __future__ import annotations

from pathlib import Path

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.plan.plan import Handover
from tests.kit.plans import WIPE, opening
from tests.kit.stage import START_US, played

HOUR_US = 3_600_000_000


def waiting(promised_h: float) -> ev.JobOpened:
    """One section to wipe in 5 minutes, and half a day in the shop after it."""
    made = opening(WIPE)
    handover = Handover("PT12H", "Wipe", "label of the pack")
    promised_us = START_US + round(promised_h * HOUR_US)
    return replace(made, plan=replace(made.plan, handover=handover), promised_us=promised_us)


async def test_a_promise_that_cannot_be_met_is_told_and_then_the_time(tmp_path: Path) -> None:
    async with played(tmp_path, waiting(4)) as play:
        said = [notice for notice in play.glance.notices if "hand" in notice]
        assert len(said) == 1 and said[0].startswith("Promised ")
        assert "but hardly to be handed over before " in said[0]
        await play.press("space")
        await play.wind(300)
        await play.press("space")
        (told,) = [notice for notice in play.glance.notices if "handed over" in notice]
        assert told.startswith("Not to be handed over before ") and "; promised " in told
        await play.press("t")
        assert any(told[:40] in line for line in play.lines)
        # Closing now asks, with reasons of its own, and the one picked stands in the log.
        await play.press("space", "down", "space")
        assert play.sheet.title.startswith("Not to be handed over before ")
        await play.press("down", "space")
        assert play.kinds[-1] == "JobClosed"
        assert play.bench.rows[-1].event.over == {  # type: ignore[attr-defined]  # it is a JobClosed
            "handover_early": "the customer knows and keeps it dry"
        }
        assert play.odd() == []


async def test_a_promise_that_can_be_met_is_not_spoken_of(tmp_path: Path) -> None:
    async with played(tmp_path, waiting(13)) as play:
        assert not [notice for notice in play.glance.notices if "hand" in notice]
