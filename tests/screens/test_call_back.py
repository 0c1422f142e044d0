"""Calling back by keys: promised on the caller's page, ended there or by a call that begins."""

from __future__ import annotations

from pathlib import Path

from cartclock.engine.facts.call_backs import call_backs
from tests.kit.plans import COAT, WIPE
from tests.kit.stage import HOME, SMALL, Play, played, whole


def ends(play: Play) -> list[str]:
    """What became of each call back."""
    (job,) = play.bench.jobs.values()
    return [call.how for call in call_backs(job.facts).values()]


async def promise(play: Play) -> None:
    """At 14:43, in half an hour."""
    await play.press("c", "b")
    assert "call back at what time?" in play.text
    await play.type("14:43")
    await play.type("Ada Example")


async def test_promised_shown_and_done_by_a_letter(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, COAT)) as play:
        await promise(play)
        assert play.called == "run"
        assert play.notice.startswith("To be called back: Mon 21 Sep 2026 14:43.")
        # Whoever walks by reads no name.
        assert "Ada" not in play.text
        await play.wind(1800)
        await play.press("c")
        for size in (SMALL, HOME):
            await play.resize(size)
            assert whole(play) == []
        assert any("called back: 14:43, Ada Example" in line for line in play.spoken)
        await play.press("w")
        assert not any("Ada" in line for line in play.spoken)
        await play.press("w", "d")
        assert ends(play) == ["called"]
        await play.press("backspace")
        assert ends(play) == [""]
        await play.press("c", "b", "down", "space", "t")
        await play.type("15:00")
        assert "moved to Mon 21 Sep 2026 15:00" in play.notice
        await play.press("c", "b", "down", "space", "l")
        assert ends(play) == ["let go"]
        assert play.odd() == []


async def test_a_call_that_begins_offers_to_be_it_unless_a_film_is_in_play(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, COAT)) as play:
        await promise(play)
        await play.press("x", "p")
        assert play.spoken[0].startswith("that was the call back: 14:43, Ada Example")
        await play.press("down", "space")
        assert ends(play) == [""]
        await play.press("c", "p")
        assert play.called != "caller"


async def test_the_name_may_be_left_out_and_esc_at_the_time_writes_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("c", "b", "esc")
        assert (ends(play), play.called) == ([], "caller")
        await play.press("b")
        await play.type("13:00")
        # A time that has passed today is one of tomorrow.
        await play.press("esc")
        assert ends(play) == [""]
        assert "Tue 22 Sep 2026 13:00" in play.notice
