"""Today: a job is given to another cart and taken over by keys, by a real server."""

from __future__ import annotations

import asyncio
import time
from pathlib import Path

import pytest

from cartclock.engine.desk.holding import give_away
from cartclock.engine.joined.handed import NOTHING_GIVEN
from cartclock.engine.joined.membership import Joined, join
from cartclock.engine.store.clock import HandClock
from tests.kit.page import said
from tests.kit.plans import WIPE
from tests.kit.postgres import Postgres
from tests.kit.stage import Play, played

pytestmark = pytest.mark.long

_PATIENCE_S = 30.0


async def answered(play: Play) -> str:
    """What the program beside the clocks came to, once it is done."""
    end = time.monotonic() + _PATIENCE_S
    groups = {"give", "given", "take"}
    while any(one.group in groups and one.is_running for one in play.app.workers):
        assert time.monotonic() < end
        await asyncio.sleep(0.05)
    await play.settle()
    return play.notice


def here(minutes: float = 0) -> HandClock:
    """What is taken is taken by the clock of this computer."""
    return HandClock(int((time.time() + minutes * 60) * 1e6))


def joins(server: Postgres, folder: Path, name: str, port: int = 0) -> None:
    folder.mkdir(exist_ok=True)
    join(Joined(f"127.0.0.1:{port or server.port}", name), name, folder / "log.db")


async def test_a_job_goes_there_and_back_by_keys(tmp_path: Path, server: Postgres) -> None:
    one, other = tmp_path / "one", tmp_path / "other"
    for folder in (one, other):
        server.add_cart(f"keys-{folder.name}", "keys")
        joins(server, folder, f"keys-{folder.name}")
    async with played(one, (WIPE,), clock=here(-20)) as play:
        await play.press("space")
        play.clock.wind(60)
        await play.press("t", "a", "g")
        assert play.notice == "Asking the shop."
        assert await answered(play) == (
            "Job 1, bottle green estate, is given away. The shop knows it."
        )
        assert play.kinds[-2:] == ["WorkPutDown", "JobGiven"]
    async with played(other, on=False, seed="other", clock=here(-10)) as play:
        await play.press("t", "a", "t")
        assert play.spoken == ["asking the shop ..."]
        # There is nothing to be picked yet.
        await play.press("space")
        await answered(play)
        assert play.spoken == ["bottle green estate; keys-one, job 1"]
        await play.press("z")
        assert play.sheet.says == "No such key here; esc leaves the list."
        await play.press("space")
        assert play.notice == "Asking the shop."
        came = await answered(play)
        assert came.startswith("Job 1, bottle green estate, is on this cart from here on; ")
        assert any("taken over from another cart" in line for line in said(play))
        # Who took it works on with it, and gives it back.
        await play.clock_on()
        await play.press("u", "space", "t", "a", "t")
        assert await answered(play) == NOTHING_GIVEN
        assert not play.sheet.is_open
        await play.press("a", "g")
        assert "The shop knows it." in await answered(play)
        assert play.kinds[-3:] == ["WorkStarted", "WorkPutDown", "JobGiven"]
        assert play.bench.log.check() == []
    async with played(one, clock=here()) as play:
        await play.press("t", "a", "t")
        # Somebody who looks elsewhere meanwhile is not called back.
        await play.press("esc")
        await answered(play)
        assert not play.sheet.is_open
        await play.press("a", "t")
        await answered(play)
        await play.press("space")
        assert "is on this cart from here on" in await answered(play)
        (job,) = play.bench.jobs.values()
        assert (job.state, job.tenure, job.odd, play.odd()) == ("open", 3, [], [])


async def test_without_the_server_keys_say_so_and_nothing_is_lost(
    tmp_path: Path, server: Postgres
) -> None:
    server.add_cart("keys-alone", "keys alone")
    joins(server, tmp_path, "keys-alone", port=1)
    async with played(tmp_path, (WIPE,), clock=here()) as play:
        await play.press("space", "t", "a", "t")
        no_line = "Nothing was sent to the shop: the line to it did not come about or broke."
        assert await answered(play) == no_line
        assert not play.sheet.is_open
        # What the shop would not hear of stays here.
        await play.press("a", "g")
        assert await answered(play) == no_line
        assert play.kinds[-1] == "WorkStarted" and not play.odd()


async def test_what_was_given_by_this_cart_alone_is_taken_back(
    tmp_path: Path, server: Postgres
) -> None:
    """Also where the shop never heard of it."""
    server.add_cart("keys-back", "keys back")
    joins(server, tmp_path, "keys-back")
    async with played(tmp_path, (WIPE,), clock=here(-5)) as play:
        (job,) = play.bench.jobs
        give_away(play.bench, job)
        await play.press("t", "a", "b")
        assert "is on this cart from here on" in await answered(play)
        (there,) = play.bench.jobs.values()
        assert (there.state, there.tenure, play.odd()) == ("open", 2, [])
