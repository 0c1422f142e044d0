"""Two workers at one cart: ENTER is the helper's, the line, the face, the lists, undo.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.shift import Break, Free, Hands
from cartclock.engine.rules import rules
from cartclock.engine.rules.film_left import FILM_LEFT
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.settings import Settings
from cartclock.tui.keys import HELPER, KEYS, keymap, meaning
from tests.kit.plans import COAT, FALLOUT, GATED, POLISH, WIPE
from tests.kit.stage import HOME, LARGE, SMALL, START_US, Play, compare_sizes, played, whole
from tests.screens.test_wet_lists import lay, pick, sealing

TWO = Settings(helper="Tomek")
SIZES = pytest.mark.parametrize("size", [HOME, SMALL, LARGE], ids=["80x24", "40x12", "120x40"])


async def both_on(play: Play) -> None:
    """The helper clocks on as well."""
    await play.press("i", "down", "space")
    assert play.bench.rows[-1].worker == "Tomek"


def line(play: Play) -> str:
    """The helper's line."""
    told = play.app.run_screen.told
    assert told is not None
    return told.helps


def in_hands(play: Play, worker: str) -> tuple[str, ...]:
    """Sections in the worker's hands."""
    shift = play.bench.shift(worker)
    assert shift is not None
    return shift.doing.sections if isinstance(shift.doing, Hands) else ()


# Keys.


def test_enter_is_the_helpers_only_where_there_is_one() -> None:
    assert meaning(keymap({}), "run", "enter") == "take_up"
    keys = keymap({}, helper=True)
    assert meaning(keys, "run", "enter") == "helper"
    for name in ("space", "pagedown", "right"):
        assert meaning(keys, "run", name) == "take_up"
    assert {key.id for key in keys} == {key.id for key in KEYS} | {"helper"}
    for screen in ("today", "plan", "log", "products"):
        assert meaning(keys, screen, "enter") == "choose"


def test_the_helpers_key_can_be_another_and_never_two() -> None:
    keys = keymap({"helper": ["f2"]}, helper=True)
    assert meaning(keys, "run", "f2") == "helper"
    with pytest.raises(ValueError, match="would mean both 'take_up' and 'helper'"):
        keymap({"take_up": ["space", "enter"]}, helper=True)
    with pytest.raises(ValueError, match="Nothing is called 'helper'"):
        keymap({"helper": ["f2"]})
    assert HELPER.help.endswith(".")


async def test_without_a_helper_enter_stays_as_space(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, POLISH)) as play:
        await play.press("enter")
        assert in_hands(play, "me") == ("whole car",)
        assert line(play) == ""
        await play.press("i")
        assert play.spoken[0] == "clock off"


async def test_a_helper_with_the_workers_name_is_none(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,), settings=Settings(helper="me")) as play:
        assert play.app.workplace.helper == ""
        await play.press("enter")
        assert in_hands(play, "me") == ("whole car",)


# Clocking on and off.


async def test_i_asks_who(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,), settings=TWO, on=False) as play:
        await play.press("i")
        assert play.spoken == ["me: clock on", "Tomek: clock on"]
        await play.press("space", "space", "esc", "i", "down", "space")
        assert play.notice == "Tomek: clocked on."
        mine, theirs = play.bench.shift("me"), play.bench.shift("Tomek")
        assert mine is not None
        assert theirs is not None
        assert theirs.on == mine.on
        await play.press("i")
        assert play.spoken[:2] == ["me: clock off", "Tomek: clock off"]
        await play.press("down", "space")
        assert play.notice == "Tomek: clocked off."
        assert play.bench.shift("me").state == "free"  # type: ignore[union-attr]  # is on
        await play.press("i", "space", "o")
        assert play.bench.shift("me").state == "off"  # type: ignore[union-attr]  # was on
        assert play.odd() == []


async def test_enter_says_why_before_the_helper_is_on(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,), settings=TWO) as play:
        before = play.kinds
        await play.press("enter")
        assert play.notice == "Tomek is not on the clock; I clocks Tomek on."
        assert play.kinds == before


async def test_the_helpers_breaks_and_what_is_put_down(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,), settings=TWO) as play:
        await both_on(play)
        await play.press("enter", "i", "down", "down", "space")
        assert play.bench.shift("Tomek").doing == Break("rest", 900)  # type: ignore[union-attr]  # is on
        await play.wind(75)
        assert "now on a break (rest) 1:15" in line(play)
        await play.press("enter")
        assert len(in_hands(play, "Tomek")) == 1
        await play.press("i", "up", "space")
        assert play.bench.shift("Tomek").doing == Free()  # type: ignore[union-attr]  # is on
        await play.press("i", "up", "space")
        assert play.notice == "Nothing is in hand."
        assert play.odd() == []


async def test_the_helpers_film_is_left_only_by_whoever_said_so(tmp_path: Path) -> None:
    clock = HandClock(START_US)
    async with played(tmp_path, (COAT,), settings=TWO, clock=clock) as play:
        await both_on(play)
        await play.press("enter")
        before = play.kinds
        await play.press("i", "down", "down", "space")
        assert play.kinds == before
        assert play.sheet.title.startswith("The film on bonnet right is half done")
    async with played(tmp_path, settings=TWO, clock=clock, seed="again") as play:
        await play.press("down", "down", "space")
        over = {FILM_LEFT: "somebody else works it"}
        assert play.bench.rows[-1].event == ev.BreakTaken("rest", 900, over)
        assert play.bench.rows[-1].worker == "Tomek"
        assert play.notice == "Tomek: break: rest."


async def test_the_helpers_work_is_put_down_or_finished_by_the_break(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,), settings=TWO) as play:
        await both_on(play)
        await play.press("enter", "i")
        assert "put down: wing" in play.spoken
        # Once its minutes are over it counts as finished, as it does for the first worker.
        await play.press("esc")
        await play.wind(1201)
        await play.press("i")
        assert "finished: wing" in play.spoken
        await play.press("down", "down", "space")
        assert play.kinds[-2:] == ["StepFinished", "BreakTaken"]


async def test_clocking_off_the_helper_asks_over_a_window_and_after_a_restart(
    tmp_path: Path,
) -> None:
    clock = HandClock(START_US)
    async with played(tmp_path, (COAT,), settings=TWO, clock=clock) as play:
        await both_on(play)
        await play.press("enter")
        await play.wind(90)
        await play.press("enter", "i", "down", "space")
        assert play.sheet.title.startswith("A film is still in play on bonnet")
    async with played(tmp_path, settings=TWO, clock=clock, seed="again") as play:
        assert play.sheet.title.startswith("A film is still in play on bonnet")
        await play.press("down", "space")
        assert play.bench.rows[-1].worker == "Tomek"
        assert play.bench.rows[-1].kind == "ClockedOff"
        assert play.bench.shift("me").state == "free"  # type: ignore[union-attr]  # is on
        assert play.odd() == []


# Work.


@SIZES
async def test_both_work_at_once_and_each_line_names_its_own(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with played(tmp_path, (POLISH, WIPE), settings=TWO, size=size) as play:
        await both_on(play)
        assert play.next_line == "SPACE  cut door"
        assert line(play).startswith("ENTER  Tomek: cut wing")
        await play.press("space", "enter")
        assert in_hands(play, "me") == ("door",)
        assert in_hands(play, "Tomek") == ("wing",)
        assert play.notice == "Tomek: took up: cut wing (Polish)."
        assert [row.worker for row in play.bench.rows[-2:]] == ["me", "Tomek"]
        await play.wind(61)
        assert "now cut wing 1:01" in line(play)
        assert whole(play) == []
        # Neither key ends what the other has in hand.
        await play.press("enter")
        assert in_hands(play, "me") == ("door",)
        await play.press("space")
        assert len(in_hands(play, "Tomek")) == 1
        assert play.odd() == []


async def test_the_helpers_hands_stand_beside_the_workers(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH, WIPE), settings=TWO) as play:
        await both_on(play)
        await play.press("space")
        await play.wind(5)
        await play.press("enter")
        await play.wind(95)
        large, strip = play.seen.split("\n")[:2]
        assert (large[:13], strip[:20]) == ("door   CUT up", "wing   Tomek: CUT up")
        assert play.digits() >= 9
        # What ENTER takes up stands there, too.
        shown = set()
        for _ in range(16):
            await play.wind(1)
            shown.add("ENTER  Tomek" in play.text)
        assert True in shown
        await compare_sizes("run_two_workers", play)
        await play.press("i")
        await compare_sizes("list_who", play)


async def test_a_window_has_the_second_half_and_the_line_says_the_rest(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,), settings=TWO) as play:
        await both_on(play)
        await play.press("space", "enter")
        await play.wind(90)
        await play.choose("apply roof")
        await play.press("space")
        await play.wind(20)
        assert play.seen.split("\n")[1].startswith("bonnet left   WAIT")
        assert "now apply bonnet right 1:50" in line(play)


async def test_minutes_before_enter_are_the_helpers(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,), settings=TWO) as play:
        await both_on(play)
        await play.wind(900)
        await play.press("7")
        assert line(play).startswith("ENTER  7 min ago  Tomek: cut wing")
        await play.press("enter")
        row = play.bench.rows[-1]
        assert (row.worker, row.entered_us - row.at_us) == ("Tomek", 7 * 60_000_000)
        assert "ago" not in play.next_line


async def test_a_held_enter_counts_once(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,), settings=TWO) as play:
        await both_on(play)
        await play.hold("enter", 20)
        assert play.kinds.count("WorkStarted") == 1


async def test_a_reading_of_one_is_the_gate_of_both(tmp_path: Path) -> None:
    async with played(tmp_path, (GATED,), settings=TWO) as play:
        await both_on(play)
        await play.press("enter")
        assert play.sheet.title.startswith("Before Coat")
        await play.press("space")
        assert (play.kinds[-1], play.bench.rows[-1].worker) == ("BeforeCoatRead", "Tomek")
        assert "panel" in play.sheet.title
        await play.press("space")
        assert "WorkStarted" not in play.kinds
        await play.press("r", "2", "2", "down", "5", "0", "down", "2", "2", "space", "esc")
        await play.press("enter")
        assert play.kinds[-1] == "WorkStarted"
        assert play.bench.rows[-1].worker == "Tomek"
        assert play.bench.rows[-1].event.over == {}  # type: ignore[attr-defined]  # of WorkStarted
        assert play.odd() == []


async def test_the_gates_question_to_the_helper_survives_a_restart(tmp_path: Path) -> None:
    clock = HandClock(START_US)
    async with played(tmp_path, (GATED,), settings=TWO, clock=clock) as play:
        await both_on(play)
        await play.press("enter", "space")
        title = play.sheet.title
    async with played(tmp_path, settings=TWO, clock=clock, seed="again") as play:
        assert play.sheet.title == title
        while not play.spoken[play.sheet._at].startswith("yes"):
            await play.press("down")
        await play.press("space")
        assert play.bench.rows[-1].worker == "Tomek"
        assert play.bench.rows[-1].kind == "WorkStarted"


async def test_a_rest_is_called_for_the_helper_too(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,), settings=TWO) as play:
        await both_on(play)
        await play.press("r", "3", "3", "down", "4", "5", "space", "esc", "esc")
        # The worker takes a long break, the helper goes on.
        await play.press("enter", "b", "a")
        for _ in range(70):
            await play.wind(60)
            if line(play).startswith("ENTER  Tomek: heat break"):
                break
        assert line(play).startswith("ENTER  Tomek: heat break")
        # It comes before the next section, and is told by the press that ends the one in hand.
        await play.press("enter")
        called = [row for row in play.bench.rows if row.kind == "RestCalled"]
        assert {(row.worker, row.by) for row in called} == {("Tomek", "machine")}
        doing = play.bench.shift("Tomek").doing  # type: ignore[union-attr]  # is on
        assert isinstance(doing, Break)
        assert doing.what == "heat"
        assert play.odd() == []


# Undo.


async def test_undo_is_the_workers_own_and_log_has_a_line_for_the_helper(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH, WIPE), settings=TWO) as play:
        await both_on(play)
        await play.press("space", "enter", "backspace")
        assert in_hands(play, "me") == ()
        assert in_hands(play, "Tomek") == ("wing",)
        await play.press("l", "down", "down", "space")
        assert play.spoken[-1] == "take back Tomek's newest press"
        await play.press("up", "space")
        assert play.notice == "Taken back: took up: cut wing (Polish)."
        assert in_hands(play, "Tomek") == ()
        assert play.bench.rows[-1].corrects == next(
            r.press for r in play.bench.rows if r.worker == "Tomek" and r.kind == "WorkStarted"
        )
        assert isinstance(play.bench.rows[-1].event, ev.PressStruck)
        assert play.odd() == []


async def test_log_has_no_such_line_where_the_helper_pressed_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,), settings=TWO) as play:
        await play.press("l", "space")
        assert all("Tomek" not in said for said in play.spoken)


async def test_the_list_of_moves_is_the_workers(tmp_path: Path) -> None:
    async with played(tmp_path, (FALLOUT, POLISH), settings=TWO) as play:
        await both_on(play)
        await play.choose("spray right")
        await play.wind(3)
        await play.press("enter")
        assert in_hands(play, "Tomek") == ("left",)
        # What the worker chose stays chosen.
        assert play.next_line == "SPACE  spray right"


async def test_a_second_look_of_the_helper_is_written_under_the_helpers_name(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, sealing(), settings=TWO) as play:
        await both_on(play)
        await lay(play, 1)
        await play.wind(1260)
        await play.press("enter")
        assert play.sheet.title.startswith("Bottle green estate: look over bonnet left")
        await play.press("space")
        row = play.bench.rows[-1]
        assert (row.worker, row.event) == (
            "Tomek",
            ev.SectionChecked("Coat", ("bonnet left",), "fine"),
        )
        assert play.notice.startswith("Tomek: ")
        assert play.odd() == []


async def test_what_the_helper_finds_is_the_helpers_too(tmp_path: Path) -> None:
    async with played(tmp_path, sealing(), settings=TWO) as play:
        await both_on(play)
        await lay(play, 1)
        await play.wind(1260)
        await play.press("enter")
        await pick(play, "something on bonnet left")
        await pick(play, "high spot")
        await pick(play, "noted and stays")
        rows = [row for row in play.bench.rows if row.kind == "SectionChecked"]
        assert [row.worker for row in rows] == ["Tomek"]
        assert isinstance(rows[0].event, ev.SectionChecked) and rows[0].event.found != "fine"
        assert play.odd() == []


async def test_of_two_it_is_asked_who_looks_and_the_record_names_that_one(tmp_path: Path) -> None:
    async with played(tmp_path, sealing(), settings=TWO) as play:
        await both_on(play)
        await lay(play, 2)
        await play.wind(1260)
        await play.press("z")
        assert play.sheet.title == "Who looks?"
        assert play.spoken == ["me", "Tomek"]
        await pick(play, "Tomek")
        assert "look over" in play.sheet.title
        await pick(play, "all of these are fine")
        seen = [row for row in play.bench.rows if row.kind == "SectionChecked"]
        assert [row.worker for row in seen] == ["Tomek"]
        assert play.notice.startswith("Tomek: ")
        # Where none is due every film that lies open is listed, and that is asked as well.
        await play.press("z")
        await pick(play, "me")
        await pick(play, "something on bonnet left")
        await pick(play, "high spot")
        await pick(play, "noted and stays")
        assert play.bench.rows[-1].worker == "me"
        assert play.odd() == []


async def test_one_alone_on_the_clock_is_not_asked_who_looks(tmp_path: Path) -> None:
    async with played(tmp_path, sealing(), settings=TWO) as play:
        await lay(play, 1)
        await play.wind(1260)
        await play.press("z")
        assert "look over bonnet left" in play.sheet.title
        await play.press("escape")
        await both_on(play)
        # The first worker goes home, the helper stays.
        play.bench.do(rules.clock_off)
        await play.press("z")
        assert "look over bonnet left" in play.sheet.title
        await play.press("space")
        assert play.bench.rows[-1].kind == "SectionChecked"
        assert play.bench.rows[-1].worker == "Tomek"
        assert play.odd() == []
