"""Who was told of a promise, by keys: asked where it is moved, and under G."""

from __future__ import annotations

from pathlib import Path

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.section import SECOND_US
from tests.kit.plans import COAT, POLISH, opening
from tests.kit.stage import HOME, SMALL, START_US, Play, played, whole

LATE = replace(opening(POLISH), promised_us=START_US + 4 * 3600 * SECOND_US)


def told(play: Play) -> list[tuple[str, str]]:
    """Why and whom of every answer that stands."""
    (job,) = play.bench.jobs.values()
    events = [row.event for row in job.facts]
    return [
        (one.cause, play.bench.text(one.who)) for one in events if isinstance(one, ev.PromiseTold)
    ]


async def move(play: Play, time: str) -> None:
    await play.press("v", "w", "up", "space")
    await play.press(*["backspace"] * 20)
    await play.type(time)


async def test_moved_by_hand_it_is_asked_at_once_and_can_be_left(tmp_path: Path) -> None:
    async with played(tmp_path, LATE) as play:
        await play.wind(600)
        await move(play, "19:00")
        assert "the promise is moved to 19:00: who was told?" in play.sheet.title
        for size in (SMALL, HOME):
            await play.resize(size)
            assert whole(play) == []
        await play.press("5", "t")
        await play.type("Ada Example")
        assert told(play) == [("moved", "Ada Example")]
        assert play.bench.rows[-1].entered_us - play.bench.rows[-1].at_us == 300 * SECOND_US
        # The list it was moved in is open again.
        await play.press("esc", "backspace", "backspace")
        assert told(play) == []
        await move(play, "20:00")
        await play.press("esc", "esc")
        assert "1 question about today (G)" in play.text
        await play.press("g", "n")
        assert told(play) == [("moved", "")]
        assert "1 question" not in play.text
        assert play.odd() == []


async def test_what_can_be_kept_no_longer_waits_for_the_film(tmp_path: Path) -> None:
    soon = replace(opening(COAT), promised_us=START_US + 300 * SECOND_US)
    async with played(tmp_path, soon) as play:
        assert "1 question about today (G)" in play.text
        await play.press("space")
        await play.wind(60)
        assert "about today" not in play.text
        await move(play, "14:30")
        # The film comes first: nothing is asked behind the new time.
        assert "Who was told" not in play.sheet.title
