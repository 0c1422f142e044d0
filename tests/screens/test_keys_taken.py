"""Who took the keys, by keys: with the close if wanted, and afterwards on Today and Record."""

from __future__ import annotations

from pathlib import Path

from msgspec.structs import replace

from cartclock.engine.plan.plan import Handover
from tests.kit.plans import WIPE, opening
from tests.kit.stage import HOME, SMALL, Play, played, whole


def kinds(play: Play) -> list[str]:
    (job,) = play.bench.jobs.values()
    return [job.state, *(row.kind for row in job.facts)]


async def done(play: Play) -> None:
    """All of the plan is done, and SPACE asks whether it is handed over."""
    await play.choose("wipe")
    await play.press("space")
    await play.wind(300)
    await play.press("space", "space")
    assert "hand it over and close the job?" in play.sheet.title


async def test_with_the_close_if_wanted_and_one_key_leaves_it_out(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await done(play)
        await play.press("k")
        assert play.sheet.title == "Bottle green estate: who took the keys?"
        # The close is written: what esc leaves out is no more than this.
        assert "esc: not said" in play.text and "nothing is written" not in play.text
        await play.press("esc")
        assert kinds(play) == ["closed"]
        await play.press("backspace", "space", "k")
        await play.type("Ada Example")
        for size in (SMALL, HOME):
            await play.resize(size)
            assert whole(play) == []
        await play.press("d")
        assert kinds(play) == ["closed", "PaymentNoted", "KeysTaken"]
        await play.press("backspace")
        assert kinds(play) == ["closed"]
        assert play.odd() == []


async def test_a_question_before_the_close_comes_first(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await done(play)
        await play.press("esc", "t", "space", "down", "space")
        assert kinds(play) == ["closed"]
        # Afterwards on Today, and with the papers on Record.
        await play.press("t", "space", "up", "up", "up", "space")
        await play.press("enter", "l")
        assert kinds(play) == ["closed", "PaymentNoted"]
        await play.press("t", "space", "down", "space", "n", "k")
        await play.type("Ada Example")
        await play.press("n")
        assert kinds(play)[-1] == "KeysTaken"


async def test_who_took_the_keys_is_asked_behind_a_question_that_outlived_the_program(
    tmp_path: Path,
) -> None:
    made = opening(WIPE)
    handover = Handover("PT12H", "Wipe", "label of the pack")
    early = replace(made, plan=replace(made.plan, handover=handover))
    async with played(tmp_path, early) as play:
        await done(play)
        await play.press("k")
        assert play.sheet.title.startswith("Not to be handed over before ")
        clock = play.clock
    async with played(tmp_path, clock=clock, seed="again") as play:
        assert play.sheet.title.startswith("Not to be handed over before ")
        await play.press("down", "space")
        assert kinds(play) == ["closed"]
        assert play.sheet.title == "Bottle green estate: who took the keys?"
        await play.press("esc")
    # Answered with no it is left with the close.
    (tmp_path / "no").mkdir()
    async with played(tmp_path / "no", early) as play:
        await done(play)
        await play.press("k", "esc", "space", "space", "down", "space")
        assert kinds(play) == ["closed"]
        assert not play.sheet.is_open
