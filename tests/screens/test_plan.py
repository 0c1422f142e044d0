"""Plan: every section is there, and can be taken up, left out, done again, cut, filled in, added.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

from pathlib import Path

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.shift import Hands
from cartclock.tui.keys import KEYS, on_screen
from cartclock.tui.screens.plan import PlanScreen
from tests.kit.page import chosen, said
from tests.kit.plans import COAT, FALLOUT, GATED, POLISH, WIPE
from tests.kit.stage import Play, compare_sizes, played


async def go_to(play: Play, text: str) -> None:
    """Goes to the first line that says the text."""
    assert isinstance(play.screen, PlanScreen)
    await play.press(*["up"] * len(said(play)))
    for _ in said(play):
        if text in said(play)[play.screen.at]:
            return
        await play.press("down")
    raise AssertionError(text)


async def pick(play: Play, where: str, what: str) -> None:
    """Opens the list of a line and picks what it says."""
    await go_to(play, where)
    await play.press("space")
    await play.press(*["down"] * play.spoken.index(what), "space")


async def test_every_section_says_its_state(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH, COAT)) as play:
        await play.press("s", "space", "space")
        await play.wind(60)
        await play.press("h")
        await play.choose("apply bonnet left")
        await play.press("space")
        await play.wind(60)
        await play.choose("apply bonnet right")
        await play.press("space", "p")
        assert said(play) == [
            "Polish   1 of 2   30 min   1 min",
            "door   left out: agreed with the customer",
            "wing   put down: cut",
            "Coat   0 of 3   27 min   1 min",
            "bonnet left   waiting: level from 14:16   layer 1",
            "bonnet right   in hand: apply   layer 1",
            "roof   to do: apply   layer 1",
        ]
        await compare_sizes("plan", play)
        before = play.kinds
        await play.press("space")
        await compare_sizes("plan_choose", play)
        await play.press("esc", "esc")
        assert play.called == "run"
        assert play.kinds == before


async def test_take_up_goes_to_run(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH, COAT)) as play:
        await play.press("p")
        await pick(play, "roof", "take up now")
        assert play.called == "run"
        assert play.kinds[-1] == "WorkStarted"
        assert "roof   APPLY" in play.seen


async def test_marked_sections_are_taken_up_together(tmp_path: Path) -> None:
    async with played(tmp_path, (FALLOUT,)) as play:
        await play.press("p", "down", "m", "m")
        assert ["marked" in line for line in said(play)[1:]] == [True, True, False]
        await play.press("space", "space")
        shift = play.bench.shift()
        assert shift is not None
        assert isinstance(shift.doing, Hands)
        assert shift.doing.sections == ("left", "right")
        assert "planned 3:00" in play.text
        await play.press("p")
        assert all("marked" not in line for line in said(play))


async def test_a_stage_line_marks_all_of_it_and_a_second_time_none(tmp_path: Path) -> None:
    async with played(tmp_path, (FALLOUT,)) as play:
        await play.press("p", "m")
        assert sum("marked" in line for line in said(play)) == 3
        await play.press("up", "m")
        assert sum("marked" in line for line in said(play)) == 0


async def test_marks_over_several_stages_are_refused(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, POLISH)) as play:
        await play.press("p", "down", "m", "down", "m", "space")
        assert play.notice == "The marked sections lie in several stages; mark one stage only."
        assert not play.sheet.is_open


async def test_sections_at_several_steps_are_not_taken_up_together(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,)) as play:
        await play.press("space")
        await play.wind(60)
        await play.choose("finish:")
        await play.press("space", "p", "down", "m", "m")
        before = play.kinds
        await play.press("space", "space")
        assert play.notice == "These are not at the same step; take them up one by one."
        assert play.kinds == before


async def test_what_run_refuses_is_read_on_run(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,), on=False) as play:
        await play.press("p")
        await pick(play, "door", "take up now")
        assert "You are not on the clock." in play.text
        assert "WorkStarted" not in play.kinds


async def test_an_ask_from_plan_opens_on_run(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("p")
        await play.wind(600)
        await pick(play, "bonnet left", "was done, between two times")
        await play.press("1", "0", "space")
        await pick(play, "bonnet left", "take up now")
        assert play.called == "run"
        assert play.sheet.title.startswith("Layer 2 on bonnet left is early")
        await play.press("down", "space")
        assert play.kinds[-1] == "WorkStarted"


async def test_leave_out_do_again_and_cut(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("p")
        await pick(play, "roof", "leave out")
        assert play.kinds[-1] == "SectionSkipped"
        await pick(play, "roof", "do again")
        assert play.kinds[-1] == "SectionSkipped"
        assert play.sheet.title == "Bottle green estate: do roof (Coat) again because"
        await play.press("space")
        event = play.bench.rows[-1].event
        assert isinstance(event, ev.SectionReopened)
        assert event.why == "not good enough yet"
        assert "roof   to do: apply   layer 1, pass 2" in said(play)
        await pick(play, "bonnet left", "cut in two")
        event = play.bench.rows[-1].event
        assert isinstance(event, ev.SectionSplit)
        assert event.into == ("bonnet left left", "bonnet left right")
        for where, what, why in (
            ("roof", "cut in two", "only an untouched section can be cut"),
            ("bonnet right", "do again", "only what is done or left out is done again"),
        ):
            before = play.kinds
            await pick(play, where, what)
            assert why in play.notice
            assert play.kinds == before
        assert play.odd() == []


async def test_a_whole_stage_is_left_out(tmp_path: Path) -> None:
    async with played(tmp_path, (FALLOUT, WIPE)) as play:
        await play.press("p")
        await pick(play, "Fallout", "leave out")
        event = play.bench.rows[-1].event
        assert isinstance(event, ev.SectionSkipped)
        assert event.sections == ("left", "right", "front")
        await play.press("esc")
        assert "wipe whole car" in play.next_line


async def test_what_was_not_pressed_is_filled_in(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,)) as play:
        await play.wind(3600)
        await play.press("p", "down", "m", "m", "space", "down", "down", "down", "space")
        assert play.spoken == [
            "begun, minutes ago 30 min", "done, minutes ago  0 min",
        ]  # fmt: skip
        await play.press("right", "right", "down", "1", "0", "space")
        finished = [row for row in play.bench.rows if isinstance(row.event, ev.StepFinished)]
        assert len(finished) == 4
        assert all(row.event.shared for row in finished)  # type: ignore[attr-defined]  # picked so
        now_us = play.bench.now_us
        # From 40 to 10 minutes ago: a quarter of an hour each, two thirds of it for the cut.
        assert [(now_us - row.at_us) / 60e6 for row in finished] == [30, 25, 15, 10]
        assert said(play)[0].startswith("Polish   2 of 2   ")
        assert all("marked" not in line for line in said(play))
        assert play.odd() == []


async def test_a_fill_in_that_cannot_be_writes_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,)) as play:
        await play.wind(600)
        before = play.kinds
        await play.press("p")
        ahead = "The end of that stretch must lie after its beginning and not ahead."
        early = "That cannot be: nobody is clocked on at press 2 (took up: cut door (Polish))."
        for typed, why in ((["5", "down", "7"], ahead), (["0"], ahead), (["9", "9"], early)):
            await pick(play, "door", "was done, between two times")
            await play.press(*typed, "space")
            assert play.kinds == before
            assert play.notice == why
        await pick(play, "door", "was done, between two times")
        await play.press("esc")
        assert play.kinds == before


async def test_a_section_is_added_behind_the_chosen_one(tmp_path: Path) -> None:
    async with played(tmp_path, (FALLOUT,)) as play:
        await play.press("p")
        await go_to(play, "left")
        await play.press("+")
        await play.type("sills, q left")
        assert [line.split("   ")[0] for line in said(play)[1:]] == [
            "left", "sills, q left", "right", "front",
        ]  # fmt: skip
        before = play.kinds
        await play.press("+")
        await play.type("right")
        assert play.kinds == before
        assert play.sheet.says


async def test_of_a_long_plan_only_what_goes_on_shows_its_sections(tmp_path: Path) -> None:
    many = replace(COAT, name="Second coat", sections=tuple(f"panel {n}" for n in range(20)))
    async with played(tmp_path, (POLISH, many, WIPE)) as play:
        await play.press("p")
        stages = ["Polish", "door", "wing", "Second coat", "Wipe"]
        assert [line.split("   ")[0] for line in said(play)] == stages
        # A mark on a stage whose sections are hidden marks and shows all of them.
        await play.press("down", "down", "down", "m")
        assert sum("marked" in line for line in said(play)) == 20
        assert chosen(play).startswith("Wipe")
        await go_to(play, "Second coat")
        await play.press("m")
        assert len(said(play)) == 5
        await pick(play, "Second coat", "show its sections")
        assert len(said(play)) == 25
        assert chosen(play).startswith("Second coat")
        # What is chosen stays chosen while rows above it come in or leave.
        await go_to(play, "panel 19")
        await pick(play, "Second coat", "hide its sections")
        assert chosen(play).startswith("Second coat")
        # It opens on what is in hand, and what goes on is shown.
        await pick(play, "Second coat", "take up now")
        await play.press("esc", "p")
        assert len(said(play)) == 25
        assert chosen(play).startswith("panel 0   in hand: apply")


async def test_without_a_job_every_key_answers(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        await play.press("p")
        for key in ("space", "m", "+"):
            await play.press(key)
            assert "No job in view" in play.notice
        assert "No job in view: open one on Today (T)." in play.text


def test_every_key_of_the_screen_has_a_meaning_there() -> None:
    for key in on_screen(KEYS, "plan"):
        assert hasattr(PlanScreen, f"press_{key.id}"), key.id


async def test_a_coat_entered_afterwards_is_asked_about_on_run_and_written_with_its_reason(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, (GATED,)) as play:
        await play.press("p")
        await play.wind(600)
        before = play.kinds
        await pick(play, "bonnet left", "was done, between two times")
        await play.press("1", "0", "space")
        assert play.called == "run"
        assert play.kinds == before
        assert play.sheet.title.endswith("Coat all the same?")
        assert not any("reading first" in line for line in play.spoken)
        await play.press("down", "space")
        begun = [row.event for row in play.bench.rows if isinstance(row.event, ev.WorkStarted)]
        assert begun[0].over == {"coat_gate": "I know and take it on me"}
        assert play.odd() == []
