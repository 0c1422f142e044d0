"""Log: every press is there, and is struck, restored or moved from there.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from cartclock.engine.dates import local
from cartclock.engine.facts import events as ev
from cartclock.engine.rules import rules
from cartclock.tui.keys import KEYS, on_screen
from cartclock.tui.pages.log import _parted
from cartclock.tui.screens.log import LogScreen
from tests.kit.page import chosen, read, said
from tests.kit.plans import COAT, POLISH, WIPE
from tests.kit.stage import SMALL, Play, compare_sizes, played


async def a_morning(play: Play) -> None:
    """A wipe, a drink, the first section of a coat in its window; then Log."""
    await play.press("space")
    await play.wind(300)
    await play.press("k", "c", "space")
    await play.wind(90)
    await play.choose("stand by")
    await play.press("space")
    await play.wind(30)
    await play.press("l")


async def go_to(play: Play, text: str) -> None:
    """Goes down to the first line that says the text."""
    for _ in said(play):
        if text in chosen(play):
            return
        await play.press("down")
    raise AssertionError(text)


async def test_every_press_is_there_newest_first(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, COAT)) as play:
        await a_morning(play)
        assert play.called == "log"
        presses = {row.press for row in play.bench.rows}
        assert len(said(play)) == len(presses) == 6
        assert said(play)[0].startswith("14:19:50   finished   apply bonnet left (Coat, ")
        assert said(play)[-1].endswith("job 1 opened   bottle green estate")
        assert "LOG   6 presses, newest first" in play.lines[0]
        await compare_sizes("log", play)
        await play.press("space")
        await compare_sizes("log_correct", play)
        before = play.kinds
        await play.press("esc")
        assert not play.sheet.is_open
        assert play.called == "log"
        await play.press("esc")
        assert play.called == "run"
        assert play.kinds == before


async def test_a_press_is_struck_and_restored_and_named_by_what_it_was(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, COAT)) as play:
        await a_morning(play)
        await go_to(play, "drank 240 ml")
        await play.press("space", "down", "space")
        assert play.kinds[-1] == "PressStruck"
        assert chosen(play).endswith("drank 240 ml   struck")
        # What it was, and not its number.
        assert play.notice == "Struck: drank 240 ml."
        await play.press("space")
        assert play.spoken == ["leave it", "restore it"]
        # No line has a value that could be turned.
        assert "left, right" not in play.text
        await play.press("down", "space")
        assert play.kinds[-1] == "PressRestored"
        assert chosen(play).endswith("   drank 240 ml")
        assert play.odd() == []
        await play.press("up", "up", "up", "up")
        assert "restored" in chosen(play)
        await play.press("space")
        assert play.notice == "Choose the press that was struck, to restore it."
        assert not play.sheet.is_open


async def test_a_key_that_goes_down_twice_corrects_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, COAT)) as play:
        await a_morning(play)
        before = play.kinds
        # A presenter's key, by which one would read on.
        await play.press("pagedown", "pagedown")
        assert play.kinds == before
        assert not play.sheet.is_open
        assert play.notice == "Left as it was."


async def test_a_press_is_moved_by_minutes_turned_or_typed(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, COAT)) as play:
        await a_morning(play)
        await go_to(play, "drank 240 ml")
        assert "14:18:20" in chosen(play)
        await play.press("space", "down", "down", "left", "left", "space")
        event = play.bench.rows[-1].event
        assert isinstance(event, ev.PressMoved)
        assert chosen(play) == "14:15:20   drank 240 ml   moved"
        # Once more from where it stands now, and later this time.
        await play.press("space", "down", "down", "-", "2", "space")
        assert chosen(play) == "14:17:20   drank 240 ml   moved"
        assert play.odd() == []


async def test_a_move_that_cannot_be_is_refused(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, COAT)) as play:
        await a_morning(play)
        before = play.kinds
        for typed, said in (("90", "That cannot be: "), ("-9", "cannot lie ahead")):
            await go_to(play, "took up   apply bonnet left")
            await play.press("space", "down", "down", *typed, "space")
            assert said in play.notice
            assert play.kinds == before


async def test_a_cascade_leaves_or_strikes_all_of_it(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,)) as play:
        await play.press("space")
        await play.wind(60)
        await play.press("h")
        await play.wind(60)
        await play.press("l")
        await go_to(play, "took up   cut door")
        before = play.kinds
        await play.press("space", "down", "space")
        assert play.sheet.title.startswith("That cannot be: door is to do at press ")
        assert play.spoken == ["leave it", "strike 1 more with it"]
        await play.press("space")
        assert play.notice == "Left as it was."
        assert play.kinds == before
        await play.press("space", "down", "space", "down", "space")
        assert play.kinds[-2:] == ["PressStruck", "PressStruck"]
        assert sum(line.endswith("struck") for line in said(play)) >= 2
        assert play.odd() == []
        await play.press("esc")
        assert "NOTHING IN HAND" in play.seen


async def test_a_note_says_whose_sheet_it_went_on(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("n", "c", "a", "b", "enter")
        assert play.notice == "Noted for the customer too: bottle green estate."
        await play.press("l")
        assert chosen(play).endswith("note   for the customer too: bottle green estate")
        await play.press("space", "down", "space")
        assert said(play)[0].endswith("struck   note for the customer too: bottle green estate")


async def test_a_press_of_another_day_is_named_with_its_day(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("space")
        await play.wind(86400)
        await play.press("k", "c", "l")
        found = said(play)
        assert found[0].startswith("14:1")
        assert found[-1].startswith("14:13:2")
        assert "Mon 21 Sep 2026" in read(play)


async def test_a_late_entry_says_when_it_was_entered(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.wind(600)
        await play.press("5", "space", "l")
        assert chosen(play) == "14:18:20   took up   wipe whole car (Wipe)   entered 14:23"


async def test_the_machine_and_the_helper_are_named(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        play.clock.wind(1200)
        play.app.tick()
        play.bench.do_as("helper", 0, rules.clock_on, ev.ClockedOn())
        await play.press("l")
        assert said(play)[0].endswith("clocked on   helper")
        assert said(play)[1].endswith("the program did not run for 20 min   machine")


async def test_the_chosen_press_stays_chosen_and_log_opens_on_the_newest(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, COAT)) as play:
        await a_morning(play)
        await play.press("down", "down")
        before = chosen(play)
        play.bench.do(rules.note_shift, ev.DrinkTaken(500))
        await play.wind(1)
        assert chosen(play) == before
        await play.press("esc", "l")
        assert chosen(play).endswith("drank 500 ml")


async def test_the_chosen_line_is_always_in_sight(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,), size=SMALL) as play:
        for ml in range(1, 16):
            play.bench.do(rules.note_shift, ev.DrinkTaken(ml))
        await play.press("l")
        for _ in range(18):
            await play.press("down")
            (line,) = [line for line in play.lines if line.startswith("> ")]
            assert line.split()[1:3] == chosen(play).split()[:2]
        assert "job 1 opened" in chosen(play)
        await play.press(*["up"] * 18)
        assert "drank 15 ml" in chosen(play)
        assert any(line.startswith("> 14:13:20") for line in play.lines)


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("finished: apply roof (Coat)", ("finished", "apply roof (Coat)")),
        ("drank 240 ml", ("drank 240 ml", "")),
        ("water on roof (Coat)", ("water on roof (Coat)", "")),
        (
            "water on passenger front wing, bonnet (Coat)",
            ("water on", "passenger front wing, bonnet (Coat)"),
        ),
        (
            "high spot on passenger rear quarter (Coat): level it",
            ("high spot on", "passenger rear quarter (Coat): level it"),
        ),
        ("the program did not run for 42 min", ("the program did not run for 42 min", "")),
    ],
)
def test_what_has_no_room_in_its_column_goes_on_in_the_next(
    text: str, parts: tuple[str, str]
) -> None:
    assert _parted(text) == parts


async def test_an_empty_log_refuses_by_sentence(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        await play.press("l", "space")
        assert play.notice == "Nothing was pressed yet."
        assert "Nothing was pressed yet." in play.lines[1]


def test_every_key_of_the_screen_has_a_meaning_there() -> None:
    for key in on_screen(KEYS, "log"):
        assert hasattr(LogScreen, f"press_{key.id}"), key.id


async def test_the_time_that_was_wrong_from_a_press_on_is_said(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, COAT)) as play:
        await a_morning(play)
        before_us, was = play.bench.now_us, [row.entered_us for row in play.bench.rows]
        await go_to(play, "drank 240 ml")
        await play.press("space")
        down = play.spoken.index("the time was wrong from here on")
        await play.press(*["down"] * down, "space")
        assert "When was this really pressed?" in play.text
        await play.press(*["backspace"] * 16)
        await play.type("13:18")
        event = play.bench.rows[-1].event
        assert isinstance(event, ev.TimeCorrected)
        assert play.bench.now_us == before_us + event.by_us
        # The whole start of the laptop goes with it, and no length is another.
        assert [row.entered_us - event.by_us for row in play.bench.rows[:-1]] == was
        assert chosen(play) == "13:18:00   drank 240 ml"
        assert play.odd() == []
        # It is not taken back but said once more.
        await play.press(*["up"] * 6)
        assert "the time was" in chosen(play)
        await play.press("space", "down", "space")
        assert "say at which" in play.notice


async def test_a_time_far_ahead_is_asked_about_once_more(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, COAT)) as play:
        await a_morning(play)
        before = play.kinds
        await play.press("space")
        down = play.spoken.index("the time was wrong from here on")
        await play.press(*["down"] * down, "space")
        await play.press(*["backspace"] * 16)
        await play.type("2036-09-21 14:20")
        assert "Sun 21 Sep 2036 14:20 is far ahead. Is it so?" in play.text
        assert play.kinds == before
        await play.press("enter")
        assert play.kinds[-1] == "TimeCorrected"
        assert local(play.bench.now_us, "UTC").year == 2036
