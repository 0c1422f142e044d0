"""Caller: what is told, what is hidden, what the letters do, and the way back.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.shift_events import OtherKind
from cartclock.engine.rules import rules
from cartclock.tui.screens.caller import CallerScreen
from cartclock.tui.widgets.painted import Painted
from tests.kit.plans import COAT, POLISH, WIPE, opening
from tests.kit.stage import HOME, LARGE, SMALL, START_US, Play, compare_sizes, played, whole

SIZES = pytest.mark.parametrize("size", [HOME, SMALL, LARGE], ids=["80x24", "40x12", "120x40"])
CUSTOMER = "Wanda Nowak-Lindqvist"
AGREED = replace(
    opening(WIPE, COAT), promised_us=START_US + 7200 * SECOND_US, price="640.00",
    vehicle="bottle green estate",
)  # fmt: skip


async def midway(play: Play) -> None:
    """One stage done, a window running, a section in hand, an extra agreed."""
    job = play.bench.rows[0].job
    extra = ev.AgreementNoted(play.bench.seal("glass seal"), "85.00")
    play.app.write(rules.note_job, job, extra)
    await play.choose("wipe")
    await play.press("space")
    await play.wind(300)
    await play.press("space")
    await play.wind(90)
    await play.choose("apply bonnet right")
    await play.press("space")
    await play.wind(30)


def ready(play: Play) -> str:
    """The digits of the time at which it should be ready."""
    screen = play.screen
    assert isinstance(screen, CallerScreen)
    return screen.answer().face.clock


async def test_a_caller_hears_how_far_it_is(tmp_path: Path) -> None:
    async with played(tmp_path, AGREED) as play:
        await midway(play)
        before = play.kinds
        await play.press("c")
        assert play.called == "caller"
        assert play.lines[0].split("  ")[0] == " bottle green estate"
        # It is 14:20:20; by the plan the roof alone takes 5.5 minutes a layer and an hour between
        # them: 15:31. Four days in five take longer.
        assert ready(play) == "16:00"
        for said in (
            "from the plan only",
            "promised     16:13, kept in more than 9 of 10 such days",
            "price        725.00: 640.00 and glass seal 85.00",
            "done         Wipe",
            "in hand      apply bonnet right, piece 2 of 3",
            "now          Coat, layer 1 of 2: 0 of 3",
            "expected     15:45, in four days of five by 16:00",
        ):
            assert said in play.text
        # The clock that hurts first stays in sight and runs.
        assert "bonnet right: apply ▲ 0:30" in play.lines[0]
        await play.wind(5)
        assert "bonnet right: apply ▲ 0:35" in play.lines[0]
        await compare_sizes("caller", play)
        await play.press("w")
        await compare_sizes("caller_walk_in", play)
        await play.press("esc")
        assert play.called == "run"
        assert play.kinds == before


@SIZES
async def test_the_digits_of_the_time_are_read_from_afar(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with played(tmp_path, AGREED, size=size) as play:
        await midway(play)
        await play.press("c")
        if size == SMALL:
            assert "ready: by 16:00, from the plan only" in play.text
            return
        drawn = play.screen.query_one("#ready", Painted).canvas.lines
        assert sum(any(char in "█▀▄" for char in line) for line in drawn) >= 9


@SIZES
async def test_walk_in_shows_no_names_no_prices_and_no_other_job(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with played(tmp_path, opening(POLISH), on=False, size=size) as play:
        named = replace(AGREED, customer=play.bench.seal(CUSTOMER), number=2, vehicle="red coupe")
        job = play.bench.new_id()
        play.app.write(rules.open_job, job, named)
        extra = ev.AgreementNoted(play.bench.seal("glass seal"), "85.00")
        play.app.write(rules.note_job, job, extra)
        await play.press("esc", "i", "space", "esc")
        await play.choose("cut door")
        await play.press("space", "c", "j")
        private = ("Wanda", "red coupe", "725.00", "glass seal", "bottle green")
        for word in ("Wanda Nowak-Lindqvist, red", "725.00", "glass"):
            assert word in play.text, word
        assert whole(play) == []
        # And everything again once nobody looks on.
        for _ in range(2):
            await play.press("w")
            for word in private:
                assert word not in play.text, word
            assert "this car" in play.text
            assert "other job" not in play.text
            assert whole(play) == []
            await play.press("j", "W")
            assert "725.00" in play.text
        await play.press("w", "esc", "c")
        # It stays so for the next one who comes in, and says how to show all.
        assert "this car" in play.text
        assert "W show all" in play.text


async def test_j_asks_about_another_open_job(tmp_path: Path) -> None:
    vans = [replace(opening(WIPE, number=n), vehicle=f"van {n}") for n in (1, 2, 3)]
    async with played(tmp_path, *vans) as play:
        await play.choose("wipe whole car")
        await play.press("down", "space", "c")
        first = play.lines[0].split()[1]
        seen = [first]
        for _ in range(3):
            await play.press("j")
            seen.append(play.lines[0].split()[1])
        assert sorted(seen[:3]) == ["1", "2", "3"]
        assert seen[3] == first
        await play.press("j", "p")
        job = {j.id: j.opened.number for j in play.bench.jobs.values()}
        started = play.bench.rows[-1].event
        assert isinstance(started, ev.OtherWorkStarted)
        assert job[started.job] == int(seen[1])


@pytest.mark.parametrize(
    ("keys", "what"),
    [
        (("c", "p"), "phone"), (("c", "P"), "phone"), (("c", "space"), "phone"),
        (("c", "h"), "customer"), (("c", "down", "space"), "customer"),
        (("t", "c", "p"), "phone"),
    ],
)  # fmt: skip
async def test_a_letter_or_space_begins_the_call(
    tmp_path: Path, keys: tuple[str, ...], what: OtherKind
) -> None:
    async with played(tmp_path, AGREED) as play:
        before = play.app.presses
        await play.press(*keys)
        assert play.bench.rows[-1].event == ev.OtherWorkStarted(what, play.bench.rows[0].job)
        assert play.app.presses == before + 1
        assert play.called == "run"
        assert what.upper() in play.seen
        assert play.notice == f"Other work: {what}."
        await play.press(*keys)
        assert play.notice == "That is on already."


@pytest.mark.parametrize(
    ("flips", "kind"), [(0, "WorkPutDown"), (1, "StepFinished"), (2, "WorkPutDown")]
)
async def test_what_is_in_hand_is_put_down_or_finished(
    tmp_path: Path, flips: int, kind: str
) -> None:
    async with played(tmp_path, (POLISH,)) as play:
        await play.press("space", "c", *["f"] * flips, "p")
        assert play.kinds[-2:] == [kind, "OtherWorkStarted"]


async def test_a_toggle_survives_neither_walk_in_nor_esc(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("space", "c", "f")
        assert any("finished" in line for line in play.spoken)
        await play.press("esc", "c")
        assert all("finished" not in line for line in play.spoken)


async def test_keys_without_a_meaning_there_say_so_and_do_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, AGREED) as play:
        await play.press("c")
        before, lines = play.kinds, play.lines
        for key in ("a", "l", "q", "7", "left", "right", "?", "f5", "é"):
            await play.press(key)
            assert (play.called, play.kinds) == ("caller", before)
            assert "No such key here; esc leaves the list." in play.text
        said = [line for line in play.lines if "No such key" not in line]
        assert [line for line in lines if line in said] == said
        await play.press("backspace")
        assert play.called == "run"


async def test_an_answer_of_two_rows_takes_one_of_what_is_told(tmp_path: Path) -> None:
    async with played(tmp_path, AGREED, size=SMALL) as play:
        await play.press("space", "c")
        play.screen.sheet.say("Of the words of an answer none lies below the screen.")
        play.screen.paint()
        await play.settle()
        assert whole(play) == []
        assert play.lines[-1].strip() == "below the screen."


async def test_a_held_key_opens_the_screen_and_begins_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, AGREED) as play:
        before = play.kinds
        await play.hold("c", 20)
        assert play.called == "caller"
        assert play.kinds == before


@SIZES
async def test_without_a_job_it_says_so(tmp_path: Path, size: tuple[int, int]) -> None:
    async with played(tmp_path, on=False, size=size) as play:
        await play.press("escape", "i", "space", "c")
        assert isinstance(play.screen, CallerScreen)
        assert play.lines[0].split("  ")[0] == " Caller"
        if size != SMALL:
            assert "NO JOB OPEN" in play.seen
        assert whole(play) == []
        await play.press("p")
        assert play.bench.rows[-1].event == ev.OtherWorkStarted("phone", "")


async def test_off_the_clock_the_key_says_why(tmp_path: Path) -> None:
    async with played(tmp_path, AGREED, on=False) as play:
        await play.press("c")
        assert play.called == "run"
        assert play.notice == "You are not on the clock; I clocks you on."


async def test_in_few_columns_the_name_has_half_of_the_head_and_no_line_is_cut(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, (COAT,), size=SMALL) as play:
        await play.press("space", "c")
        assert play.lines[0].strip().startswith("bottle green estate")
        assert "…" not in play.text
        assert "F  put down: bonnet left" in play.text
        await play.press("f")
        assert "F  finished: bonnet left" in play.text
