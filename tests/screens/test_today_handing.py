"""Today: a job goes to another cart and comes from one, by keys; who has it is said."""

from __future__ import annotations

from pathlib import Path

from cartclock.engine.desk.holding import SAID_IDENTITY, give_away
from cartclock.engine.store.clock import HandClock
from tests.kit.page import chosen, said
from tests.kit.plans import WIPE
from tests.kit.stage import START_US, compare_sizes, played
from tests.screens.test_today import pick


def later(minutes: int) -> HandClock:
    """The clock of the other cart."""
    return HandClock(START_US + minutes * 60_000_000)


async def test_a_job_is_given_on_a_stick_and_taken_on_the_other_cart(tmp_path: Path) -> None:
    one, other = tmp_path / "one", tmp_path / "other"
    for folder in (one, other):
        folder.mkdir()
    stick = tmp_path / "job.jsonl"
    async with played(
        other, on=False, seed="other", clock=HandClock(START_US + 600_000_000)
    ) as there:
        await there.press("t", "a")
        assert there.spoken == [
            "take one over from the shop ...",
            "take one over from a stick ...",
            "say how this cart is called",
        ]
        await pick(there, "say how")
        own = there.bench.log.origin[:SAID_IDENTITY]
        assert there.notice == f"This cart is {own}; a stick is written for it by that name."
        await there.press("a")
        await pick(there, "take one over from the shop")
        assert "This cart belongs to no shop" in there.notice
    async with played(one, (WIPE,)) as here:
        await here.press("space")
        here.clock.wind(60)
        await here.press("t", "a")
        await pick(here, "give it to another cart")
        assert "This cart belongs to no shop" in here.notice
        await here.press("a")
        await pick(here, "give it on a stick")
        await here.type("north")
        assert here.sheet.says.startswith("A cart is named by the beginning of its identity")
        await here.press(*["backspace"] * 5)
        await here.type(own)
        await here.type(str(stick))
        assert here.notice == f"Job 1 is given; cart {own} takes it by {stick}."
        assert here.kinds[-2:] == ["WorkPutDown", "JobGiven"]
        assert any(f"given to cart {own}" in line for line in said(here))
        await here.press("space")
        assert here.spoken[0] == "write its file once more ..."
        await here.press("esc")
        await compare_sizes("today_given", here)
        await here.press("u", "space")
        assert here.kinds[-1] == "JobGiven"
    async with played(
        other, on=False, seed="other", clock=HandClock(START_US + 900_000_000)
    ) as there:
        await there.press("t", "a")
        await pick(there, "take one over from a stick")
        await there.type(str(stick))
        assert "is on this cart from here on, its films as they stand." in there.notice
        assert any("taken over from another cart" in line for line in said(there))
        await compare_sizes("today_taken", there)
        assert there.bench.log.check() == []


async def test_the_cursor_stays_on_a_job_that_is_given(tmp_path: Path) -> None:
    """The next press is not one for the job that comes to stand in its place."""
    async with played(tmp_path, (WIPE,), (WIPE,)) as play:
        await play.press("t")
        first = chosen(play)
        give_away(play.bench, next(iter(play.bench.jobs)), "4f1c2a9b")
        await play.wind(1)
        assert chosen(play).startswith(first[:3]) and "given to cart 4f1c2a9b" in chosen(play)
        await play.press("a")
        assert play.spoken[0] == "write its file once more ..."
