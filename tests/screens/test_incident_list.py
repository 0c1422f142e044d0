"""What went wrong, by keys: the panel writes it, the rest is said when no film is in play."""

from __future__ import annotations

from pathlib import Path

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.vehicle.incidents import incidents
from tests.kit.plans import COAT, WIPE
from tests.kit.stage import HOME, SMALL, Play, played, whole


def kinds(play: Play) -> list[str]:
    (job,) = play.bench.jobs.values()
    return [row.kind for row in job.facts]


async def test_two_letters_and_a_panel_note_it_with_its_time(tmp_path: Path) -> None:
    photo = tmp_path / "burnt.jpg"
    photo.write_bytes(b"synthetic")
    async with played(tmp_path, (WIPE,)) as play:
        await play.wind(900)
        await play.press("n", "i", "1", "2", "e")
        assert play.sheet.title == "Bottle green estate: burnt edge, 12 min ago: where?"
        await play.press("space")
        await play.press("space")
        await play.type("sanded and polished")
        await play.press("p")
        await play.type(str(photo))
        for size in (SMALL, HOME):
            await play.resize(size)
            assert whole(play) == []
        await play.press("c")
        (job,) = play.bench.jobs.values()
        (one,) = incidents(job, play.bench.text).values()
        assert (one.what, one.done, len(one.photos), one.told) == (
            "burnt edge", "sanded and polished", 1, True,
        )  # fmt: skip
        assert play.bench.now_us - one.at_us >= 12 * 60_000_000
        # Off again by the same key, and what was noted is gone on with from the list.
        await play.press("esc", "n", "i", "up", "space", "c")
        assert [one.told for one in incidents(play.bench.jobs[job.id]).values()] == [False]
        await play.press("esc", "backspace", "backspace")
        assert kinds(play)[-2:] == ["FileAttached", "IncidentAmended"]
        assert play.odd() == []


async def test_a_complaint_about_a_vehicle_that_is_gone_is_noted_on_today(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("space")
        await play.wind(300)
        await play.press("t", "space", "down", "space")
        await play.press("space", "up", "space", "c", "up", "up", "space")
        assert play.sheet.title.startswith("Bottle green estate: complaint, whole vehicle,")
        assert kinds(play)[-1] == "IncidentNoted"
        await play.press("esc", "space", "up", "up", "space")
        await play.type("tomorrow 9")
        await play.type("Ada Example")
        assert kinds(play)[-1] == "CallBackPromised"
        assert play.notice.startswith("To be called back: Tue 22 Sep 2026 09:00.")


async def test_esc_writes_nothing_and_a_film_in_hand_keeps_the_rest_back(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("n", "i", "s", "esc")
        assert kinds(play) == []
        await play.press("space")
        await play.wind(30)
        # The film in hand comes first: it is noted, and nothing more is asked.
        await play.press("n", "i", "s", "space")
        assert not play.sheet.is_open
        assert play.notice == "Noted: spill, bonnet. N, I adds what was done."
        (job,) = play.bench.jobs.values()
        assert [row.event for row in job.facts][-1] == ev.IncidentNoted("bonnet", "spill")


async def test_a_stage_of_the_whole_vehicle_is_one_place_of_the_list(tmp_path: Path) -> None:
    async with played(tmp_path, (replace(WIPE, sections=("whole vehicle",)),)) as play:
        await play.press("space", "n", "i", "s")
        assert [line.strip() for line in play.spoken] == ["whole vehicle", "another part"]
