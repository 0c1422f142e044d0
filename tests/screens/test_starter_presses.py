"""A job by a starter plan, worked on the real screens with the large key alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from cartclock.engine.facts.events import JobOpened
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.store.plan_file.reader import read_plan, starter, starters
from tests.kit.stage import HOME, SMALL, Play, played

# Hands stay wet and the job is short; our own judgement.
MOST_PRESSES = 8


def opening(name: str) -> JobOpened:
    """A job by the starter of that name."""
    return JobOpened(read_plan(starter(name), name), "", 1, "sand yellow hatchback")


async def worked(play: Play) -> int:
    """Presses the large key at the right times until the job is handed over; counts."""
    presses = 0
    while "JobClosed" not in play.kinds:
        move = play.app.workplace.chosen
        assert move is not None
        if move.act == "stand by" and play.kinds[-1] in ("StepFinished", "ProductUsed"):
            assert move.opens_us is not None
            await play.wind((move.opens_us - play.bench.now_us) / 1e6)
            continue
        await play.press("space")
        presses += 1
        assert presses <= 2 * MOST_PRESSES, play.kinds
        if move.act == "take up":
            await play.wind(move.minutes * MINUTE_US / 1e6)
    return presses


@pytest.mark.parametrize("size", [HOME, SMALL], ids=["80x24", "40x12"])
async def test_a_maintenance_wash_takes_at_most_eight_presses_of_one_key(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with played(tmp_path, opening("maintenance_wash"), size=size) as play:
        before = play.app.presses
        # The question before the hand-over is a key more, and no press.
        assert await worked(play) <= MOST_PRESSES + 1
        assert play.app.presses - before <= MOST_PRESSES
        (job,) = play.bench.jobs.values()
        assert {section.state for section in job.sections.values()} == {"done"}
        assert [window.taken for window in job.windows] == [True]
        assert [window.state(window.ended_us or 0) for window in job.windows] == ["READY"]
        assert play.odd() == []


@pytest.mark.parametrize("name", starters())
async def test_the_first_press_of_every_starter_is_the_arrival(tmp_path: Path, name: str) -> None:
    async with played(tmp_path, opening(name)) as play:
        assert "walk round" in play.next_line
        await play.press("space")
        (job,) = play.bench.jobs.values()
        (section,) = job.of("Arrival")
        assert (section.state, section.name) == ("in hand", "whole vehicle")
        assert job.stage("Arrival").effort_of(section.name) == "light"
        move = play.app.workplace.moves[0]
        assert move.stage != "Arrival"
