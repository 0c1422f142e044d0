"""Every list of Run: opens by its letter, writes on a pick, writes nothing on esc.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.shift import Break, Hands, Other
from cartclock.engine.plan.plan import Product, Use, Work
from cartclock.engine.rules import rules
from cartclock.engine.rules.reasons import reasons_for
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.settings import Settings
from cartclock.tui.themes import THEMES
from tests.kit.page import read, said
from tests.kit.plans import COAT, POLISH, WIPE, opening
from tests.kit.stage import (
    HOME,
    LARGE,
    SMALL,
    START_US,
    Play,
    compare,
    compare_sizes,
    played,
    whole,
)

# Letter, words of the title, a word of a line; with a window running and a section done.
LISTS = {
    "breaks": ("b", "Break: windows run on: bonnet left closes 14:23", "meal"),
    "other_work": ("x", "Other work", "pads and towels"),
    "reading": ("r", "Reading", "humidity"),
    "drink": ("k", "Drink", "a bottle, 500 ml"),
    "note": ("n", "estate: note", "for the customer too"),
    "amount": ("a", "estate: used so far", "Coating"),
    "leave_out": ("s", "estate: leave out", "no time"),
    "do_again": ("d", "estate: do again from the first step", "whole car (Wipe), done"),
    "cut_in_two": ("/", "estate: cut in two (Coat)", "roof"),
    "add": ("+", "estate: add", "a section to Coat"),
    "clock": ("i", "A film is still in play on", "it will be done again"),
}


async def midway(play: Play) -> None:
    """One stage done, a window running, a section in hand."""
    await play.choose("wipe")
    await play.press("space")
    await play.wind(300)
    await play.press("space")
    await play.wind(90)
    await play.press("space")
    await play.choose("apply bonnet right")
    await play.press("space")
    await play.wind(30)


async def test_a_list_opens_by_its_letter_and_esc_writes_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, COAT)) as play:
        await midway(play)
        before = play.kinds
        # One app for all of them: what one list leaves behind would show in the next golden.
        for size in (HOME, SMALL, LARGE):
            await play.resize(size)
            for name, (letter, title, word) in LISTS.items():
                await play.press("esc", letter)
                assert title in play.sheet.title, name
                assert any(word in line for line in play.spoken), name
                assert title.split(":")[0] in play.text, name
                assert whole(play) == [], name
                compare(f"list_{name}", play)
                # The clocks stay above the list, and what does not fit is a key away.
                assert play.digits() >= 3, name
                for line in play.spoken:
                    for _ in play.spoken:
                        if line[:20] not in play.text:
                            await play.press("down")
                    assert line[:20] in play.text, name
                await play.press("esc")
                assert not play.sheet.is_open, name
                assert play.called == "run", name
                assert play.kinds == before, name
        await play.press("b")
        clock = play.glance.faces[0].clock
        await play.wind(2)
        assert play.glance.faces[0].clock != clock
        assert play.odd() == []


# Breaks and other work.


async def test_the_length_of_a_break_is_turned(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("b", "down", "right", "right", "left", "space")
        shift = play.bench.shift()
        assert shift is not None
        assert shift.doing == Break("meal", 35 * 60)
        assert "meal   BREAK" in play.seen
        await play.press("b", *["left"] * 5, "space")
        assert play.bench.rows[-1].event == ev.BreakTaken("rest", None)


async def test_a_break_has_a_letter(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        for letter, what in (("r", "rest"), ("m", "meal"), ("h", "heat"), ("a", "away")):
            await play.press("b", letter.upper())
            assert f"{what}   BREAK" in play.seen
            await play.press("b", letter)
            assert play.notice == "That break is on already."
        await play.press("space")
        assert play.kinds[-2:] == ["BreakEnded", "WorkStarted"]


@pytest.mark.parametrize(
    ("flips", "kind"), [(0, "WorkPutDown"), (1, "StepFinished"), (2, "WorkPutDown")]
)
async def test_what_is_in_hand_is_put_down_or_finished(
    tmp_path: Path, flips: int, kind: str
) -> None:
    async with played(tmp_path, (POLISH,)) as play:
        await play.press("space", "b", *["f"] * flips)
        assert ("finished" in play.spoken[-1]) == (flips == 1)
        await play.press("r")
        assert play.kinds[-2:] == [kind, "BreakTaken"]


CALLS = (("b", "m"), ("x", "p"), ("c", "p"), ("c", "h"), ("m", "w"))


@pytest.mark.parametrize("keys", CALLS, ids="-".join)
async def test_a_call_interrupts_work_by_its_own_press_and_one_press_goes_on(
    tmp_path: Path, keys: tuple[str, ...]
) -> None:
    cut = replace(POLISH, steps=(Work("cut", 20.0, (Use("soap", 5.0),)), *POLISH.steps[1:]))
    job = opening(WIPE, cut)
    soap = Product("soap", "Soap", mix="10:1")
    job = replace(job, plan=replace(job.plan, products=(*job.plan.products, soap)))
    async with played(tmp_path, job) as play:
        await play.choose("cut door")
        await play.press("space")
        await play.wind(60)
        before, presses = play.kinds, play.app.presses
        await play.press(*keys)
        assert play.app.presses == presses + 1
        assert play.kinds[len(before)] == "WorkPutDown"
        # Taken back whole: the door is in hand as before.
        await play.press("backspace")
        assert in_hand(play) == ("door",)
        await play.press(*keys)
        await play.wind(120)
        await play.press("space")
        assert in_hand(play) == ("door",)


def in_hand(play: Play) -> tuple[str, ...]:
    shift = play.bench.shift()
    assert shift is not None
    return shift.doing.sections if isinstance(shift.doing, Hands) else ()


@pytest.mark.parametrize(
    ("keys", "begun"),
    [
        ("bm", "the break"),
        ("xp", "the call"),
        ("cp", "the call"),
        ("xt", "other work, pads and towels"),
    ],
)
async def test_a_film_in_hand_is_a_question_and_its_end_begins_the_call(
    tmp_path: Path, keys: str, begun: str
) -> None:
    clock = HandClock(START_US)
    async with played(tmp_path, (COAT,), clock=clock) as play:
        await play.press("space")
        await play.wind(90)
        await play.press("space")
        await play.wind(70)
        await play.choose("level bonnet left")
        await play.press("space")
        await play.wind(30)
        before = play.kinds
        await play.press(*keys)
        assert (play.called, play.kinds) == ("run", before)
        assert play.sheet.title.startswith("The film on bonnet left is half done and closes at ")
        begins = f"bonnet left is finished: begin {begun}"
        assert play.spoken[:2] == ["no, leave it as it is", begins]
        # The clock of the film stays in large.
        assert play.glance.faces[0].word == "LEVEL"
        assert whole(play) == []
    async with played(tmp_path, clock=clock, seed="again") as play:
        assert play.spoken[1] == begins
        await play.press("down", "space")
        assert play.kinds[-2] == "StepFinished"
        assert play.kinds[-1] in ("BreakTaken", "OtherWorkStarted")
        assert not play.sheet.is_open
        assert play.bench.log.asked() is None
        assert play.odd() == []


async def test_other_work_is_for_the_job_in_view(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        (job,) = play.bench.jobs
        for letter, what in zip(
            "cpwmtods",
            ["customer", "phone", "water and mixing", "moving the car", "pads and towels",
             "photos", "driving", "setting up"], strict=True,
        ):  # fmt: skip
            await play.press("x", letter)
            shift = play.bench.shift()
            assert shift is not None
            assert shift.doing == Other(what, job)
            assert what.upper() in play.seen
        await play.press("x", *["down"] * 5, "space")
        assert play.bench.rows[-1].event == ev.OtherWorkStarted("fetching", job)
        await play.press("space")
        assert play.kinds[-2:] == ["OtherWorkEnded", "WorkStarted"]


def booked(play: Play) -> list[tuple[str, str]]:
    """(what, vehicle) of every stretch of other work of the newest shift, the one on included."""
    shift = play.bench.shift()
    assert shift is not None
    found = []
    for span in shift.spans_to(play.bench.now_us):
        if isinstance(span.doing, Other):
            job = play.bench.jobs.get(span.doing.job)
            found.append((span.doing.what, job.opened.vehicle if job and job.opened else ""))
    return found


TWO = (opening(WIPE), replace(opening(POLISH, number=2), vehicle="silver van"))


async def test_other_work_names_its_job(tmp_path: Path) -> None:
    async with played(tmp_path, *TWO) as play:
        await play.press("space")
        await play.press("x")
        assert play.spoken[0].split("for ") == ["customer           ", "bottle green estate, job 1"]
        assert whole(play) == []
        await play.press("right")
        assert all(line.endswith("for silver van, job 2") for line in play.spoken[:9])
        await play.press("c")
        await play.wind(300)
        await play.press("x", "right", "right")
        assert all(line.endswith("for nobody in particular") for line in play.spoken[:9])
        await play.press("p")
        await play.wind(60)
        assert booked(play) == [("customer", "silver van"), ("phone", "")]


async def test_what_is_only_written_down_leaves_the_move_that_was_picked(tmp_path: Path) -> None:
    async with played(tmp_path, *TWO) as play:
        await play.press("space", "x", "c", "t", "down", "space", "space")
        assert play.called == "run"
        picked = play.next_line
        assert picked == "SPACE  cut door"
        for keys in (("n", "c", "a", "enter"), ("k", "c"), ("r", "2", "1", "space")):
            await play.press(*keys)
            assert play.next_line == picked
        await play.press("backspace")
        assert play.next_line == picked
        # esc lets go of it.
        await play.press("esc")
        assert play.next_line == "SPACE  wipe whole car"


async def test_other_work_that_is_on_is_given_to_another_job(tmp_path: Path) -> None:
    async with played(tmp_path, *TWO) as play:
        await play.press("space", "x", "c")
        await play.wind(300)
        await play.press("x", "a")
        booked_for = "customer, booked for bottle green estate, job 1"
        assert play.sheet.title == f"{booked_for}: for whom was it?"
        assert play.spoken == ["silver van, job 2", "nobody in particular"]
        await play.press("space")
        assert play.notice == "Other work was for job 2."
        assert booked(play) == [("customer", "silver van")]
        await play.press("backspace")
        assert booked(play) == [("customer", "bottle green estate")]
        assert play.odd() == []


async def test_other_work_of_a_closed_shift_is_given_to_another_job(tmp_path: Path) -> None:
    async with played(tmp_path, *TWO) as play:
        await play.press("space", "x", "c")
        await play.wind(300)
        await play.press("space")
        await play.wind(60)
        await play.press("i", "o")
        await play.wind(3600)
        await play.press("l")
        at = next(i for i, line in enumerate(said(play)) if "customer" in line)
        await play.press(*["down"] * at, "space")
        assert play.spoken[3] == "customer, 5 min: it was for another"
        await play.press("down", "down", "down", "space", "space")
        assert booked(play) == [("customer", "silver van")]
        # The trace: what was said, when, and of which time.
        row = play.bench.rows[-1]
        assert row.kind == "OtherWorkAssigned"
        assert row.entered_us - row.at_us > 3600 * 1_000_000
        assert play.odd() == []


# Readings and drinks.


async def test_a_reading_is_typed_and_turned_and_offered_again(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("r", "3", "1", ".", "5", "right", "down", "4", "0", "down", "-", "2")
        assert [line.split() for line in play.spoken[1:4]] == [
            ["air", "32", "C"], ["humidity", "40", "%", "RH"], ["panel", "-2", "C"],
        ]  # fmt: skip
        await play.press("down", "down", "down", "right", "down", "9", "0")
        await play.press("down", "down", "down", "right", "right", "right", "space")
        assert play.sheet.title == "-2 on the panel at 32 in the air, sun: is it right?"
        await play.press("down", "space")
        reading = play.bench.rows[-1].event
        assert reading == ev.ReadingTaken(
            air_c=32.0, rh=40.0, panel_c=-2.0, place="sun", moving="fan",
            rain_at_us=play.bench.now_us + 5_400_000_000, confirmed=True,
        )  # fmt: skip
        # It is hot, so the list of hot days came up by itself.
        await play.press("esc", "r")
        assert [line.split()[1:2] for line in play.spoken[1:4]] == [["32"], ["40"], ["-2"]]
        assert "sun" in play.spoken[0]
        # Wiped: not measured this time.
        await play.press("backspace")
        assert play.spoken[1].endswith("not measured (was 32 C)")
        await play.press("space")
        event = play.bench.rows[-1].event
        assert isinstance(event, ev.ReadingTaken)
        assert (event.air_c, event.rh) == (None, 40.0)


IMPOSSIBLE = (
    (0, "61"), (0, "-31"), (1, "101"), (1, "-1"), (2, "101"), (3, "900"), (4, "99"), (6, "-5"),
)  # fmt: skip


async def test_an_impossible_reading_is_refused(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        before = play.kinds
        for line, typed in IMPOSSIBLE:
            await play.press("r", *["down"] * line, *typed, "space")
            assert play.kinds == before
            assert play.notice.endswith("cannot be.")
            assert f" {typed} " in play.notice
            # The list stays open with what was typed.
            await play.press("esc")


async def test_a_drink_is_noted_by_its_size(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        for letter, ml in (("c", 240), ("b", 500), ("h", 120)):
            await play.press("k", letter)
            assert play.bench.rows[-1].event == ev.DrinkTaken(ml)


# Notes.

HOSTILE = "[/x] bxrkq \x1b[31mred\x9b2J end"


@pytest.mark.parametrize(("letter", "private"), [("s", True), ("c", False)])
async def test_a_note_takes_letters_that_are_keys(
    tmp_path: Path, letter: str, private: bool
) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("space", "n", letter)
        assert play.typing
        await play.type("quick box: [/x] B 5 + / ?")
        event = play.bench.rows[-1].event
        assert isinstance(event, ev.NoteWritten)
        assert play.bench.text(event.text) == "quick box: [/x] B 5 + / ?"
        assert (event.private, event.stage, event.section) == (private, "Coat", "bonnet left")
        assert not play.typing
        assert play.called == "run"
        await play.press("b")
        assert play.sheet.title == "Break"


async def test_a_note_is_never_obeyed(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("n", "c")
        await play.paste(HOSTILE)
        await play.press("enter")
        assert play.kinds[-1] == "NoteWritten"
        for key in ("l", "e"):
            await play.press(key)
            assert "\x1b" not in play.text
            assert "\x9b" not in play.text
            assert whole(play) == []
        assert "[/x] bxrkq" in read(play)


async def test_an_empty_note_and_esc_write_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        before = play.kinds
        await play.press("n", "s")
        await play.type("  ")
        assert play.notice == "Nothing was written."
        await play.press("n", "s", "a", "b", "esc")
        assert not play.typing
        assert not play.sheet.is_open
        assert play.kinds == before
        await play.press("esc")
        assert play.called == "run"


async def test_enter_that_bounces_does_not_take_up_work(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("n", "s", "a")
        await play.hold("enter", 10)
        assert play.kinds[-1] == "NoteWritten"


# What was used, and what is to be done.


async def test_amounts_are_corrected_by_the_difference(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("space")
        await play.wind(60)
        await play.press("space", "a")
        assert play.spoken[0].split() == ["Coating", "15", "drops"]
        await play.press("left", "left", "space")
        assert play.bench.rows[-1].event == ev.UseCorrected("coat", -2.0)
        await play.press("a", "2", "0", "down", "5", "space")
        assert [row.event for row in play.bench.rows[-2:]] == [
            ev.UseCorrected("coat", 7.0), ev.UseCorrected("fallout", 5.0),
        ]  # fmt: skip
        before = play.kinds
        await play.press("a", "space")
        assert play.kinds == before
        await play.press("a", "-", "3", "space")
        assert play.kinds == before
        assert play.notice == "That would leave less than nothing used."


async def test_skip_leaves_out_what_is_in_hand_or_chosen(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("s", "down", "space")
        event = play.bench.rows[-1].event
        assert event == ev.SectionSkipped("Coat", ("bonnet left",), "not there on this vehicle")
        await play.press("space", "s", "space")
        assert play.kinds[-2:] == ["WorkPutDown", "SectionSkipped"]
        await play.press("backspace", "s", *["down"] * 4, "space")
        event = play.bench.rows[-1].event
        assert event == ev.SectionSkipped("Coat", ("roof",), "rest of the stage left out")


async def test_redo_opens_the_newest_first(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, POLISH)) as play:
        await play.press("space")
        await play.wind(60)
        await play.press("space", "s", "space", "d")
        assert play.spoken[0] == "whole car (Wipe), done"
        assert play.spoken[1] == "door (Polish), left out"
        await play.press("down", "space", "space")
        assert play.kinds[-1] == "SectionReopened"
        assert "door" in play.notice


async def test_a_finished_section_is_done_again_for_a_reason_that_is_asked_first(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, (WIPE, COAT)) as play:
        await midway(play)
        before = play.kinds
        await play.press("d", "space")
        assert play.sheet.title == "Bottle green estate: do whole car (Wipe) again because"
        assert play.kinds == before
        await play.press("esc")
        assert play.kinds == before
        await play.press("d", "space", "down", "space")
        event = play.bench.rows[-1].event
        assert isinstance(event, ev.SectionReopened)
        assert (event.sections, event.why) == (("whole car",), "it stood too long")
        await play.press("backspace")
        assert next(iter(play.bench.jobs.values())).sections["Wipe", "whole car"].state == "done"
        assert play.odd() == []


async def test_the_reason_for_doing_it_again_may_be_typed(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, COAT)) as play:
        await midway(play)
        before = play.kinds
        await play.press("d", "space", "up", "space")
        await play.type("")
        assert play.kinds == before
        await play.press("up", "space")
        await play.type("a fly sat on it")
        event = play.bench.rows[-1].event
        assert isinstance(event, ev.SectionReopened)
        assert event.why == "a fly sat on it"


@pytest.mark.parametrize(("downs", "cut"), [(0, 3), (1, 1)])
async def test_split_cuts_what_is_untouched(tmp_path: Path, downs: int, cut: int) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("/", *["down"] * downs, "space")
        assert play.kinds.count("SectionSplit") == cut
        event = play.bench.rows[2].event
        assert isinstance(event, ev.SectionSplit)
        assert event.into == ("bonnet left left", "bonnet left right")
        assert play.odd() == []


async def test_split_refuses_where_all_is_touched(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("space", "/")
        assert play.notice == "No section of Wipe is untouched; only those can be cut."


async def test_add_a_section_and_a_stage(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, COAT)) as play:
        await play.press("+", "s")
        await play.type("boot lid")
        event = play.bench.rows[-1].event
        assert isinstance(event, ev.SectionAdded)
        assert (event.stage, event.section) == ("Wipe", "boot lid")
        await play.press("+", "t")
        await play.type("Glass")
        added = play.bench.rows[-1].event
        assert isinstance(added, ev.StageAdded)
        (job,) = play.bench.jobs.values()
        assert [stage.name for stage in job.stages] == ["Wipe", "Glass", "Coat"]
        before = play.kinds
        for letter, text in (("s", "boot lid"), ("s", ""), ("t", "Coat"), ("t", "")):
            await play.press("+", letter)
            await play.type(text)
            assert play.kinds == before, (letter, text)
            assert play.sheet.says, (letter, text)
            await play.press("esc")


# The clock.


async def test_clock_on_somewhere_else_and_off(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,), on=False, settings=Settings(zone="Europe/Lisbon")) as play:
        await play.press("i", "e")
        await play.type("carport, bay 2")
        on = play.bench.rows[-1].event
        assert on == ev.ClockedOn("carport, bay 2", zone="Europe/Lisbon")
        await play.press("i", "down", "space")
        assert play.kinds[-1] == "ClockedOn"
        await play.press("i", "space")
        assert play.kinds[-1] == "ClockedOff"
        assert "OFF THE CLOCK" in play.seen
        await play.press("i")
        assert play.spoken[0] == "clock on at carport, bay 2"
        await play.press("space")
        assert play.bench.rows[-1].event == on


async def test_clocking_off_puts_down_what_is_in_hand(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,)) as play:
        await play.press("space", "i", "o")
        assert play.kinds[-2:] == ["WorkPutDown", "ClockedOff"]


# Questions about today.


async def sleep(play: Play, minutes: float) -> None:
    """The machine sleeps."""
    play.clock.wind(minutes * 60)
    play.app.tick()
    await play.settle()


async def a_gap(play: Play) -> None:
    await play.press("space")
    await sleep(play, 42)


async def a_break(play: Play) -> None:
    await play.press("b", "r")
    await play.wind(25 * 60)
    await play.press("space")
    await play.wind(1)


async def nothing_in_hand(play: Play) -> None:
    await play.wind(12 * 60)
    await play.press("space")
    await play.wind(1)


@pytest.mark.parametrize(
    ("reach", "title", "downs", "event"),
    [
        (a_gap, "14:13-14:55 (42:00), Coat, bonnet left: what was it?", 0, "as it stood"),
        (a_gap, "14:13-14:55 (42:00), Coat, bonnet left: what was it?", 3, "meal"),
        (a_break, "14:13-14:38 (25:00), break: rest: does it count as work?", 0, True),
        (a_break, "14:13-14:38 (25:00), break: rest: does it count as work?", 1, False),
        (nothing_in_hand, "14:13-14:25 (12:00), nothing in hand: what was it?", 0, "not known"),
    ],
    ids=["gap as it stood", "gap meal", "break counts", "break does not", "nothing"],
)  # fmt: skip
async def test_a_question_is_answered(
    tmp_path: Path, reach: object, title: str, downs: int, event: object
) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await reach(play)  # type: ignore[operator]  # one of the functions above
        assert len(play.bench.questions()) == 1
        await play.press("g")
        assert play.sheet.title == title
        await play.press(*["down"] * downs, "space")
        answer = play.bench.rows[-1].event
        assert isinstance(answer, ev.GapJudged | ev.BreakJudged)
        assert (answer.was if isinstance(answer, ev.GapJudged) else answer.counted) == event
        assert play.bench.questions() == ()
        assert play.notice == "No more questions about today."
        assert play.odd() == []


@pytest.mark.parametrize("reach", [a_gap, a_break], ids=["gap", "break"])
async def test_a_question_about_one_thing_and_then_another_is_answered_in_two(
    tmp_path: Path, reach: object
) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await reach(play)  # type: ignore[operator]  # one of the functions above
        (question,) = play.bench.questions()
        await play.press("g", "up", "up", "space")
        assert play.sheet.title.endswith("when did the second begin? HH:MM")
        await play.press(*"15:30", "enter")
        assert "15:30 is not between 14:13 and " in play.text
        await play.press(*["backspace"] * 5, *"14:25", "enter")
        assert play.sheet.title.startswith("14:13-14:25 ")
        await play.press(*["down"] * play.spoken.index("rest"), "space")
        assert play.sheet.title.startswith("14:25-")
        await play.press(*["down"] * play.spoken.index("meal"), "space")
        first, second = (row.event for row in play.bench.rows if row.kind == "GapJudged")
        assert isinstance(first, ev.GapJudged) and isinstance(second, ev.GapJudged)
        assert (first.from_us, first.to_us) == (question.from_us, second.from_us)
        assert (first.was, second.was, second.to_us) == ("rest", "meal", question.to_us)
        assert not any(one.kind == "gap" for one in play.bench.questions())
        assert play.odd() == []


async def test_an_answer_can_wait_and_esc_ends_the_asking(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await a_break(play)
        await nothing_in_hand(play)
        await sleep(play, 40)
        before = play.kinds
        assert len(play.bench.questions()) == 2
        await play.press("g")
        assert "(40:00)" in play.sheet.title
        await play.press("up", "space")
        assert "(25:00)" in play.sheet.title
        await play.press("up", "space")
        assert play.notice == "2 questions left open."
        assert play.kinds == before
        await play.press("g", "esc")
        assert not play.sheet.is_open
        assert "G asks them again" in play.notice
        assert play.kinds == before


async def test_a_film_in_play_is_asked_about_before_anything_that_can_wait(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await nothing_in_hand(play)
        await play.wind(90)
        await play.press("space")
        assert play.bench.questions()
        await play.press("i")
        assert play.sheet.title.startswith("A film is still in play on bonnet left")
        await play.press("down", "space")
        assert play.sheet.title.endswith("nothing in hand: what was it?")
        assert "ClockedOff" not in play.kinds
        await play.press("i")
        assert "Before you go:" in play.sheet.title
        await play.press("o")
        off = play.bench.rows[-1].event
        assert isinstance(off, ev.ClockedOff)
        assert off.over == {"window_open": reasons_for("window_open")[0]}


async def test_what_was_put_off_is_asked_again_on_a_later_shift(tmp_path: Path) -> None:
    clock = HandClock(START_US)
    async with played(tmp_path, (POLISH,), clock=clock) as play:
        await a_break(play)
        await sleep(play, 12)
        await play.press("h", "i", "i", "space")
        assert play.kinds[-1] == "ClockedOff"
        left = len(play.bench.questions())
        assert left == 2
        await play.wind(60)
        await play.press("i", "space", "esc")
        assert play.kinds[-1] == "ClockedOn"
        shift = play.bench.shift()
        assert shift is not None and play.bench.questions() == ()
        await play.press("g")
        title = "14:13-14:38 (25:00), break: rest: does it count as work?"
        assert play.sheet.title == title
        await play.press("up", "space")
        assert play.sheet.title.startswith("14:38-14:50 (12:00), Polish, door: ")
        await play.press("up", "space")
        assert play.notice == "2 questions left open."
    # They are still there when the program starts again, and the next day.
    clock.wind(20 * 3600)
    async with played(tmp_path, clock=clock, seed="again") as play:
        # Nobody clocked off.
        await play.press("space", "i", "space", "esc")
        asks = [one.question for one in play.bench.put_off()]
        assert [one.kind for one in asks] == ["break", "gap"]
        await play.press("g")
        assert play.sheet.title == f"Mon 21 Sep {title}"
        await play.press("space")
        row = play.bench.rows[-1]
        assert row.event == ev.BreakJudged(asks[0].from_us, True)
        assert row.shift == play.bench.put_off()[0].shift != shift.id
        assert len(play.bench.put_off()) == 1
        await play.press("up", "up", "space")
        await play.press(*"14:40", "enter", "space", "space")
        assert play.bench.put_off() == ()
        assert [row.kind for row in play.bench.rows[-2:]] == ["GapJudged"] * 2
        assert play.odd() == []
        # Taken back it is asked once more.
        await play.press("esc", "backspace")
        assert len(play.bench.put_off()) == 1
        assert play.odd() == []


async def test_eight_questions_at_most_and_before_clocking_off(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,)) as play:
        for _ in range(10):
            await sleep(play, 5)
            await play.press("space" if _ % 2 else "h")
        await play.press("i")
        asked = 0
        while "what was it?" in play.sheet.title:
            asked += 1
            await play.press("up", "space")
        assert asked == 8
        assert play.spoken[0] == "clock off"
        await play.press("space")
        assert play.kinds[-1] == "ClockedOff"


async def test_who_goes_home_can_leave_all_questions_for_later(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,)) as play:
        for turn in range(4):
            await sleep(play, 5)
            await play.press("space" if turn % 2 else "h")
        asked = len(play.bench.questions())
        assert asked > 1
        await play.press("i", "esc")
        assert play.notice.endswith("You are still on the clock.")
        assert not play.sheet.is_open and "ClockedOff" not in play.kinds
        await play.press("i", "i")
        assert play.spoken[0] == "clock off"
        await play.press("space")
        assert play.kinds[-1] == "ClockedOff"
        assert not play.sheet.is_open
        assert len(play.bench.questions()) == asked


async def test_the_stretch_that_clocking_off_ends_is_asked_about(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.wind(900)
        # It still goes on, so nothing is asked before.
        await play.press("i")
        assert play.spoken[0] == "clock off"
        await play.press("space")
        assert play.kinds[-1] == "ClockedOff"
        assert play.sheet.title.endswith("nothing in hand: what was it?")
        await play.press(*["down"] * play.spoken.index("water and mixing"), "space")
        assert play.kinds[-1] == "GapJudged"
        assert play.notice == "No more questions about today."
        assert play.bench.questions() == ()
        assert play.odd() == []


async def test_an_answer_that_is_refused_is_read(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await a_gap(play)
        await play.press("g")
        other = Bench.open(tmp_path / "log.db", play.clock)
        other.do(rules.note_shift, ev.DrinkTaken(240))
        await play.press("space")
        assert "second cartclock, wrote meanwhile" in play.notice
        assert not play.sheet.is_open
        assert len(play.bench.questions()) == 1
        other.close()


# What stands in the way of an undo.


async def test_undo_offers_to_strike_what_stands_in_the_way(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("k", "c", "backspace")
        # What the machine found in the shift cannot be without the clocking on.
        await sleep(play, 42)
        before = play.kinds
        await play.press("backspace")
        assert play.sheet.title.startswith("That cannot be: ")
        assert play.spoken == ["leave it", "strike 1 more with it"]
        await play.press("space")
        assert play.notice == "Left as it was."
        await play.press("backspace", "esc")
        assert play.kinds == before
        await play.press("backspace", "down", "space")
        assert play.kinds == [*before, "PressStruck", "PressStruck"]
        assert "OFF THE CLOCK" in play.seen
        assert play.odd() == []


# Questions before something that is early.


async def early_layer(play: Play) -> None:
    """Layer two of the first section is chosen long before its gap opens."""
    await play.choose("apply bonnet left")
    await play.press("space")
    await play.wind(90)
    await play.press("space")
    await play.wind(60)
    await play.choose("level bonnet left")
    await play.press("space")
    await play.wind(120)
    await play.choose("buff bonnet left")
    await play.press("space")
    await play.wind(60)
    await play.choose("finish:")
    await play.press("space")
    await play.wind(300)
    await play.choose("apply bonnet left")
    await play.press("space")


async def clock_off(play: Play) -> None:
    await play.press("space")
    await play.wind(90)
    await play.press("space", "i")


async def close_job(play: Play) -> None:
    await play.press("t", "space", "down", "space")


ASKS = {
    "layer_early": (early_layer, "Layer 2 on bonnet left is early", "WorkStarted"),
    "window_open": (clock_off, "A film is still in play on bonnet left", "ClockedOff"),
    "unfinished": (close_job, "3 sections are not done. Close the job all the same?", "JobClosed"),
}


@pytest.mark.parametrize("rule_id", ASKS)
async def test_an_ask_is_answered_no_yes_and_after_a_restart(tmp_path: Path, rule_id: str) -> None:
    reach, sentence, kind = ASKS[rule_id]
    clock = HandClock(START_US)
    async with played(tmp_path, (COAT,), clock=clock) as play:
        await reach(play)
        before = play.kinds
        assert play.called == "run"
        assert play.sheet.title.startswith(sentence)
        assert play.bench.log.asked() is not None
        assert play.spoken[0] == "no, leave it as it is"
        await compare_sizes(f"ask_{rule_id}", play)
        await play.press("space")
        assert play.notice == "Left as it was."
        assert play.kinds == before
        assert play.bench.log.asked() is None
        # Once more, and now the laptop dies.
        if rule_id == "unfinished":
            await close_job(play)
        else:
            await play.press("space" if rule_id == "layer_early" else "i")
        assert play.sheet.is_open
    async with played(tmp_path, size=SMALL, clock=clock, seed="again") as play:
        assert play.sheet.title.startswith(sentence)
        await play.press("down", "down", "space")
        if rule_id == "window_open":
            # What is told before the end of a shift comes behind it.
            assert play.kinds == before
            await play.press("o")
        assert play.kinds[-1] == kind
        assert play.bench.rows[-1].event.over == {  # type: ignore[attr-defined]  # all three kinds have it
            rule_id: reasons_for(rule_id)[1]
        }
        assert play.bench.log.asked() is None
        assert play.odd() == []
    async with played(tmp_path, clock=clock, seed="third") as play:
        assert not play.sheet.is_open


async def test_a_question_takes_free_words_and_stands_until_they_are_there(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await clock_off(play)
        question = play.sheet.title
        assert play.spoken[-1] == "yes, in my own words ..."
        before = play.kinds
        await play.press("up", "space")
        assert play.sheet.is_text
        await play.press("enter")
        assert (play.sheet.title, play.kinds) == (question, before)
        await play.press("up", "space", "esc")
        assert (play.sheet.title, play.kinds) == (question, before)
        await play.press("up", "space", *"the flat is dry", "enter", "o")
        row = play.bench.rows[-1]
        told = ("Not to stand overnight: the film on bonnet left.",)
        assert row.event == ev.ClockedOff({"window_open": "the flat is dry"}, told)


async def test_on_the_next_day_nothing_of_the_evening_stands_off_the_clock(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        evening = "Not to stand overnight: wet towels."
        play.bench.do(rules.clock_off, {}, (evening,))
        await play.wind(60)
        assert evening in play.glance.notices
        await play.wind(20 * 3600)
        assert play.glance.faces[-1].word == "OFF THE CLOCK"
        assert evening not in play.glance.notices


async def test_a_question_takes_the_large_place_and_is_heard_after_ten_seconds(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await close_job(play)
        assert [face.word for face in play.glance.faces] == ["ANSWER"]
        bells = play.app.bells
        await play.wind(5)
        assert play.app.bells == bells
        await play.wind(6)
        assert play.app.bells > bells
        await play.press("esc")
        assert "ANSWER" not in [face.word for face in play.glance.faces]


@pytest.mark.parametrize("size", [HOME, SMALL, LARGE])
@pytest.mark.parametrize("theme", [theme.name for theme in THEMES])
async def test_a_question_stands_in_letters_on_a_ground_of_its_own(
    tmp_path: Path, size: tuple[int, int], theme: str
) -> None:
    settings = Settings(theme=theme)  # type: ignore[arg-type]  # one of the two
    async with played(tmp_path, (COAT,), size=size, settings=settings) as play:
        await close_job(play)
        picture = play.picture
        # All of it but the head, from edge to edge.
        assert {look.ground for row in picture.looks[1:] for look in row} == {"ask"}
        blocks = [line for line in picture.lines if set(line) & set("█▀▄")]
        assert len(blocks) >= (3 if size == SMALL else 6)
        # In text it is asked by the list alone.
        said = " ".join(line.strip() for line in play.lines)
        assert said.count("Close the job all the same?") == 1
        assert whole(play) == []


async def test_a_film_keeps_the_large_place_over_a_question(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await clock_off(play)
        assert play.sheet.title.startswith("A film is still in play")
        assert "ANSWER" not in [face.word for face in play.glance.faces]


async def test_a_caller_is_answered_over_a_question_and_the_question_stays(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await close_job(play)
        question = play.sheet.title
        await play.wind(30)
        await play.press("c")
        assert play.called == "caller"
        await play.press("p")
        assert play.kinds[-1] == "OtherWorkStarted"
        assert (play.called, play.sheet.title) == ("run", question)
        # It has waited since it was put, and not since the call.
        (face,) = play.glance.faces
        assert (face.word, face.clock) == ("ANSWER", "0:30")
        await play.press("esc")
        assert not play.sheet.is_open
        assert play.bench.log.asked() is None


async def test_leaving_is_asked_about_on_the_clock_and_not_off_it(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("q")
        assert play.sheet.title.startswith("Leave the program?")
        assert play.spoken == ["stay", "leave"]
        await play.press("space")
        assert not play.sheet.is_open
        assert play.app.is_running
        await play.press("i", "o", "q")
        assert play.app.return_code == 0


async def test_leaving_is_asked_about_off_the_clock_while_a_film_is_in_play(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await clock_off(play)
        await play.press("down", "space", "o")
        assert play.kinds[-1] == "ClockedOff"
        await play.press("q")
        assert play.sheet.title.startswith("Leave the program?")
        assert play.app.is_running


async def test_with_two_open_jobs_and_none_at_hand_a_key_asks_which_is_meant(
    tmp_path: Path,
) -> None:
    both = (opening(WIPE), opening(POLISH, number=2))
    async with played(tmp_path, *both) as play:
        await play.press("b", "space")
        await play.choose("end the break")
        rows = len(play.bench.rows)
        for key in ("n", "v", "a", "d", "s", "/"):
            await play.press(key)
            assert play.notice == (
                "Several jobs are open: pick a move of the one you mean, up or down."
            )
            assert not play.sheet.is_open
        assert len(play.bench.rows) == rows
        await play.choose("cut door")
        await play.press("n")
        assert play.sheet.is_open


async def test_esc_returns_to_the_screen_one_came_from(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("t", "?")
        assert play.called == "help"
        await play.press("esc")
        assert play.called == "today"
        await play.press("esc")
        assert play.called == "run"


async def test_an_open_list_shows_its_own_keys_and_takes_no_other(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("b")
        # The keys stand under the list, and none of Run's is told of.
        assert all(key in play.lines[-1] for key in ("left, right", "space", "esc"))
        assert not any(label in play.text for label in ("? keys", "take back", "B break"))
        before, title = play.kinds, play.sheet.title
        await play.press("i")
        assert (play.sheet.title, play.kinds) == (title, before)
        assert "No such key here; esc leaves the list." in play.text
        await play.press("down")
        assert "such key" not in play.text
        await play.press("esc")
        assert "B break" in play.lines[-1]


async def test_a_low_screen_says_the_keys_of_its_list_below_it(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,), size=SMALL) as play:
        await play.press("b")
        # In two lines, so that none is cut.
        said = " ".join(" ".join(play.lines[-2:]).split())
        assert said.endswith(" left, right: length space: take it esc: no break")
        await play.press("i")
        assert "No such key here; esc leaves the list." in " ".join(play.lines[-2:])


async def test_esc_on_an_ask_leaves_it(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await clock_off(play)
        await play.press("esc")
        assert play.bench.log.asked() is None
        assert play.kinds[-1] != "ClockedOff"
        assert play.called == "run"


async def test_an_asked_late_entry_keeps_its_time(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await early_layer(play)
        await play.press("space")
        await play.press("2", "space", "down", "space")
        row = play.bench.rows[-1]
        assert row.kind == "WorkStarted"
        assert row.entered_us - row.at_us == 120_000_000


async def test_a_question_of_another_version_is_dropped(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        play.bench.log.ask('{"what": "nobody knows"}')
    async with played(tmp_path) as play:
        assert not play.sheet.is_open
        assert play.bench.log.asked() is None
        await play.press("space")
        assert play.kinds[-1] == "WorkStarted"


# Letters of the lists about one job; with "v" those of the vehicle's own.
OF_A_JOB = ("n", "a", "s", "/", "+", "v", "vw", "vo", "vd", "vt", "vg", "va", "vp")


@pytest.mark.parametrize(
    ("vehicle", "shown"),
    [
        ("silver van", "Silver van: "),
        ("long wheelbase delivery van with a high roof", "Long wheelbase"),
    ],
)
async def test_a_list_that_asks_about_a_job_names_its_vehicle(
    tmp_path: Path, vehicle: str, shown: str
) -> None:
    job = replace(opening(COAT, WIPE), vehicle=vehicle)
    async with played(tmp_path, job, size=SMALL) as play:
        for letters in OF_A_JOB:
            await play.press("esc", *letters)
            title = play.sheet.title
            assert title.startswith(shown[:11]), letters
            # The name is cut, what is asked is not.
            assert ": " in title and not title.endswith("…"), letters
            assert whole(play) == [], letters
            await play.press("esc")
