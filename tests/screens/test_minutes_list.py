"""What jobs taught of a plan's minutes: offered once, behind the closing; later in the list of the
closed job; taken into a new plan file, never over an old one."""

from __future__ import annotations

from pathlib import Path

from cartclock.engine.facts.events import JobOpened
from cartclock.engine.facts.in_play import film_in_play
from cartclock.engine.rules import rules
from cartclock.tui.lists.minutes import MINUTES_LINE
from tests.kit.plans import COAT, opening
from tests.kit.stage import Play, compare_sizes, played

SLOW = """
format = 1
name = "Roof work"
[[stage]]
name = "Polish"
sections = ["roof left", "roof right", "bonnet left", "bonnet right"]
[[stage.step]]
work = "polish"
minutes = 8   # a guess
"""
TWO = SLOW + '[[stage.step]]\nwork = "wipe"\nminutes = 1\n'


async def work_on(play: Play, text: str, **minutes: float) -> str:
    """A job of this plan, each step of it so many minutes, and its work is done."""
    bench = play.bench
    plan = play.app.shelf.read(text, "plan")
    job, number = bench.new_id(), len(bench.jobs) + 1
    bench.do(rules.open_job, job, JobOpened(plan, bench.keep_plan(text), number, "slate van"))
    while moves := [one for one in bench.moves() if one.job == job and one.act == "take up"]:
        bench.do(rules.take_up, moves[0])
        await play.leap(60 * minutes[moves[0].say])
    bench.do(rules.take_break, "rest", None, True)
    play.app.repaint()
    return job


async def chosen(play: Play, job: str) -> None:
    """Opens the list of a job on Today."""
    await play.press("u", "t")
    at = [one.id for one in play.screen.jobs()].index(job)  # type: ignore[attr-defined]  # Today
    await play.press(*["up"] * len(play.bench.jobs), *["down"] * at, "space")


async def close(play: Play, job: str) -> None:
    """Closes a job on Today."""
    await chosen(play, job)
    await play.press("down", "space")
    assert play.bench.jobs[job].state == "closed"


async def test_what_two_jobs_took_is_offered_once_and_found_again(tmp_path: Path) -> None:
    async with played(tmp_path) as play:
        first = await work_on(play, SLOW, polish=11)
        await close(play, first)
        # One job may have been an odd one.
        assert not play.sheet.is_open
        await chosen(play, first)
        assert MINUTES_LINE not in play.spoken
        await play.press("esc")
        second = await work_on(play, SLOW, polish=11)
        await close(play, second)
        said = "Polish: you needed 11 min a section, the plan says 8: take 11?"
        assert play.sheet.title == said
        assert play.spoken == ["take it into a new plan file", "leave the plan as it is"]
        await compare_sizes("minutes", play)
        await play.press("n")
        assert not (tmp_path / "plans").exists()
        # It was said once; the list of each closed job of the plan has it.
        third = await work_on(play, SLOW, polish=11)
        await close(play, third)
        assert not play.sheet.is_open
        await chosen(play, first)
        await play.press("up", "space")
        assert play.sheet.title == said
        await play.press("t")
        new = tmp_path / "plans" / "roof_work_2.toml"
        assert new.read_text(encoding="utf-8") == SLOW.replace("minutes = 8 ", "minutes = 11 ")
        assert play.notice == "The plan roof_work_2.toml is written: + on Today opens a job of it."
        await play.press("+", "up")
        assert play.spoken[-1] == "Roof work   roof_work_2.toml"
        assert play.odd() == []


async def test_no_file_is_written_over_and_none_twice(tmp_path: Path) -> None:
    (tmp_path / "plans").mkdir()
    old = tmp_path / "plans" / "Roof_Work_2.toml"
    old.write_text("mine", encoding="utf-8")
    async with played(tmp_path) as play:
        jobs = [await work_on(play, TWO, polish=16, wipe=3) for _ in range(2)]
        await close(play, jobs[0])
        await close(play, jobs[1])
        assert play.sheet.title == "You needed other minutes than the plan says: take yours?"
        assert play.spoken == [
            "take all 2 into a new plan file",
            "only Polish: 16 min, not 8",
            "only Polish, wipe: 3 min, not 1",
            "leave the plan as it is",
        ]
        await play.press("down", "space")
        names = sorted(path.name for path in (tmp_path / "plans").iterdir())
        assert names == ["Roof_Work_2.toml", "roof_work_3.toml"]
        assert "minutes = 16 " in (tmp_path / "plans" / "roof_work_3.toml").read_text()
        await chosen(play, jobs[1])
        await play.press("up", "space", "down", "space")
        assert play.notice.startswith("The plan roof_work_3.toml is it already: ")
        assert len(list((tmp_path / "plans").iterdir())) == 2
        assert old.read_text(encoding="utf-8") == "mine"


async def test_they_are_offered_behind_the_hand_over_on_run_too(tmp_path: Path) -> None:
    async with played(tmp_path) as play:
        await close(play, await work_on(play, SLOW, polish=11))
        job = await work_on(play, SLOW, polish=11)
        await play.press("u", "space")
        while "hand it over and close the job?" not in play.sheet.title:
            assert play.bench.jobs[job].state == "open"
            await play.wind(5)
            await play.press("space")
        await play.wind(5)
        await play.press("space")
        assert play.bench.jobs[job].state == "closed"
        assert "the plan says 8: take 11?" in play.sheet.title


async def test_they_are_offered_behind_a_hand_over_that_was_asked_about(tmp_path: Path) -> None:
    check = 'check = { after = "5m", closes = "60m", per = "panel", say = "lamp over it" }'
    checked = SLOW.replace("[[stage.step]]", f"{check}\n[[stage.step]]")
    async with played(tmp_path) as play:
        first = await work_on(play, checked, polish=11)
        play.bench.do(rules.close_job, first, {"not_looked": "no lamp"})
        job = await work_on(play, checked, polish=11)
        await play.press("u")
        await play.press("down", "down", "space")
        assert play.sheet.title.startswith("4 panels were not looked at again: ")
        assert play.bench.jobs[job].state == "open"
        await play.wind(5)
        await play.press("down", "down", "space")
        assert play.bench.jobs[job].state == "closed"
        assert "the plan says 8: take 11?" in play.sheet.title


async def test_no_minutes_are_offered_while_a_film_is_in_play(tmp_path: Path) -> None:
    async with played(tmp_path) as play:
        jobs = [await work_on(play, SLOW, polish=16) for _ in range(2)]
        await close(play, jobs[0])
        play.bench.do(rules.open_job, play.bench.new_id(), opening(COAT, number=3))
        await play.press("u")
        await play.choose("apply")
        await play.press("space")
        assert film_in_play(play.bench.jobs.values(), play.bench.now_us)
        await close(play, jobs[1])
        assert not play.sheet.is_open
        await chosen(play, jobs[1])
        assert play.spoken[-1] == MINUTES_LINE
