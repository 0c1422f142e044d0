"""Who took the keys, by keys: with the close if wanted, and afterwards on Today and Record."""

from __future__ import annotations

from pathlib import Path

from tests.kit.plans import WIPE
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
