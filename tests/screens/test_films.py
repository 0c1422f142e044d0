"""A labelled film on the real screen: LOOK, W, and cutting what is left with one press.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

from pathlib import Path

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.films.film_advice import CUT, WATCH
from cartclock.engine.rules import rules
from tests.kit.films import HOT, coat
from tests.kit.stage import Play, compare_sizes, played, whole

STAGE = replace(coat(sections=("bonnet left", "bonnet right", "roof"), minutes=1.5), order="wave")


async def laid(play: Play) -> None:
    """A reading, and one film of half a minute that is stood by."""
    play.bench.do(rules.note_shift, HOT)
    await play.press("space")
    await play.wind(30)
    await play.choose("stand by")
    await play.press("space")


async def test_a_film_is_looked_at_and_seen(tmp_path: Path) -> None:
    async with played(tmp_path, (STAGE,)) as play:
        await laid(play)
        assert "WAIT" in play.seen and "closes in 4:30" in play.seen
        bells = play.app.bells
        await play.wind(5)
        assert play.notice.startswith(WATCH)
        await play.wind(17)
        assert "LOOK" in play.seen and "down 0:50   should be off by then" in play.seen
        assert "expected in 0:14" in play.seen
        assert play.app.bells == bells + 1
        await compare_sizes("film_look", play)
        assert WATCH in play.glance.notices
        await play.press("w")
        assert play.notice == "bonnet left: 22 s seen and learned from."
        assert play.kinds[-1] == "WindowSeen"
        assert "bonnet left   LEVEL" in play.seen
        assert len(play.bench.own()["coat"]) == 1
        before = play.kinds
        await play.press("w")
        assert play.notice == "Every film that runs was seen ready; backspace takes that back."
        assert play.kinds == before
        await play.press("backspace")
        assert "LOOK" in play.seen


async def test_past_its_mark_it_rings_again_and_names_the_work(tmp_path: Path) -> None:
    async with played(tmp_path, (STAGE,)) as play:
        await laid(play)
        await play.wind(30)
        bells = play.app.bells
        await play.wind(45)
        assert "bonnet left   LEVEL" in play.seen
        assert play.app.bells == bells + 1


async def test_what_is_too_big_is_said_and_cut_with_one_press(tmp_path: Path) -> None:
    async with played(tmp_path, (STAGE,)) as play:
        play.bench.do(rules.note_shift, HOT)
        await play.wind(30)
        said = play.glance.notices[0]
        assert said.startswith("bonnet left is too big at this temperature")
        assert said.endswith(CUT)
        for size in ((40, 12), (80, 24)):
            await play.resize(size)
            assert whole(play) == []
        presses = play.bench.log.head.seq
        await play.press("/")
        assert play.spoken[0] == "all 3 that are left"
        await play.press("space")
        rows = play.bench.log.rows_after(presses)
        assert [row.kind for row in rows] == ["SectionSplit"] * 3
        assert len({row.press for row in rows}) == 1
        await play.press("backspace")
        (job,) = play.bench.jobs.values()
        assert len(job.of("Coat")) == 3
        assert play.odd() == []


async def test_a_second_film_is_seen_by_the_second_press(tmp_path: Path) -> None:
    async with played(tmp_path, (STAGE,)) as play:
        await laid(play)
        await play.choose("apply bonnet right")
        await play.press("space")
        await play.wind(30)
        await play.choose("stand by")
        await play.press("space")
        await play.wind(20)
        await play.press("w", "w")
        seen = [row.event for row in play.bench.rows if isinstance(row.event, ev.WindowSeen)]
        assert [event.sections for event in seen] == [("bonnet left",), ("bonnet right",)]
