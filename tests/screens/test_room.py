"""Every screen at every size: long names, nothing at all, twenty windows, room to spare."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.facts.events import JobOpened
from cartclock.engine.facts.move import Move
from cartclock.engine.letters import wrapped
from cartclock.engine.plan.plan import Stage, Wait, Work
from cartclock.engine.rules import rules
from cartclock.engine.store.settings import Settings
from cartclock.tui.face.room import (
    NOTICE_LINES,
    move_lines,
    notice_lines,
    notice_pages,
    window_lines,
)
from cartclock.tui.face.run_picture import Told
from cartclock.tui.told.run import TURN_US
from tests.kit.book import opened
from tests.kit.plans import COAT, POLISH, WIPE, opening
from tests.kit.stage import HOME, LARGE, SMALL, START_US, Play, played, whole

HUGE = (200, 50)
SIZES = (HOME, SMALL, LARGE, HUGE)
ODD_SIZES = ((59, 16), (60, 15), (100, 30), (80, 35), (80, 36))

# Sixty cells, in single and in double width.
SINGLE = "driver side lower rear quarter panel behind the sliding door"
DOUBLE = "運転席側後部下方四分割面引戸後方塗装面研磨仕上作業区域一番"
assert len(SINGLE) == 60
assert len(DOUBLE) == 29


def named(name: str) -> Stage:
    """Three sections of a wave, every word of it the name."""
    return Stage(
        name,
        tuple(f"{name}{n}" for n in range(3)),
        (Work(name, 1.5), Wait("flash", 60, 100, 300, kind="solvent"), Work(name, 2.0)),
        order="wave",
    )


MANY = Stage(
    "Tape", tuple(f"edge {n:02}" for n in range(1, 23)),
    (Work("spray", 0.1), Wait("dwell", 3600, 4000, 7200), Work("rinse", 1.0)), order="all",
)  # fmt: skip


async def windows(play: Play) -> None:
    """Twenty windows run, and a section is in hand."""
    for _ in range(21):
        move = next(move for move in play.bench.moves() if move.say == "spray")
        play.bench.do(rules.take_up, move)
        play.clock.wind(6)
    await play.wind(1)
    assert len([w for job in play.bench.jobs.values() for w in job.films]) == 20


async def wave(play: Play) -> None:
    """A section in hand while another waits."""
    await play.press("space")
    await play.wind(90)
    for _ in play.app.workplace.moves:
        if play.app.workplace.chosen is not None and play.app.workplace.chosen.act == "take up":
            break
        await play.press("down")
    await play.press("space")
    await play.wind(30)


async def late(play: Play) -> None:
    await wave(play)
    await play.wind(400)


async def hot(play: Play) -> None:
    """A reading with a verdict, a drink due, a sign named, an "I am well" overdue."""
    await play.press("r", "3", "3", "down", "4", "5", "space", "esc", "esc", "space")
    await play.press("j", "down", "space")
    await play.wind(4000)


async def nothing(play: Play) -> None:
    await play.press("escape")


async def resting(play: Play) -> None:
    await wave(play)
    await play.press("b", "m")
    await play.wind(30)


def long_job(name: str) -> JobOpened:
    return replace(opening(named(name)), vehicle=name, price="12345.00")


State = tuple[tuple[JobOpened, ...], Callable[[Play], Awaitable[None]], Settings]
ALONE = Settings()
STATES: dict[str, State] = {
    "no job": ((), nothing, ALONE),
    "nothing in hand": ((opening(COAT),), nothing, ALONE),
    "long names": ((long_job(SINGLE),), wave, ALONE),
    "long names late": ((long_job(SINGLE),), late, ALONE),
    "double width": ((long_job(DOUBLE),), wave, ALONE),
    "double width late": ((long_job(DOUBLE),), late, ALONE),
    "double width on a break": ((long_job(DOUBLE),), resting, ALONE),
    "twenty windows": ((opening(MANY),), windows, ALONE),
    "heat": ((opening(POLISH, COAT),), hot, ALONE),
    "two workers": ((long_job(SINGLE),), wave, Settings(helper=SINGLE[:20])),
    "two workers, double width": ((long_job(DOUBLE),), wave, Settings(helper=DOUBLE[:10])),
    "several jobs": (
        tuple(replace(opening(WIPE, number=n), vehicle=SINGLE) for n in range(1, 6)), wave, ALONE,
    ),
}  # fmt: skip


# What stands on a screen is most, widest or longest in these: each other size has one of them. Any
# state has to find room where there is least, and in `long` everywhere.
LARGEST = {
    "long names": ODD_SIZES,
    "double width late": (LARGE,),
    "twenty windows": (HUGE,),
    "several jobs": (HOME,),
}


# Of two states that differ in who works or in how late it is, one; in `long` all of them.
MOST = [name for name in STATES if name not in ("long names late", "double width", "two workers")]


@pytest.mark.parametrize("state", MOST)
async def test_nothing_overflows_and_no_key_is_hidden(tmp_path: Path, state: str) -> None:
    await overflows_nowhere(tmp_path, state, SMALL, *LARGEST.get(state, ()))


@pytest.mark.long
@pytest.mark.parametrize("state", STATES)
async def test_nothing_overflows_at_any_size(tmp_path: Path, state: str) -> None:
    await overflows_nowhere(tmp_path, state, *SIZES, *ODD_SIZES)


async def overflows_nowhere(tmp_path: Path, state: str, *sizes: tuple[int, int]) -> None:
    """Every screen and some lists at these sizes, of a state."""
    openings, reach, settings = STATES[state]
    async with played(tmp_path, *openings, settings=settings) as play:
        if not openings:
            await play.press("escape", "i", "space")
        if settings.helper:
            await play.press("i", "down", "space", "enter")
        await reach(play)
        for size in sizes:
            await play.resize(size)
            for key in ("u", "t", "p", "l", "e", "c"):
                await play.press("escape", key)
                await play.wind(1)
                assert whole(play) == [], (size, play.called)
                if key == "c":
                    await play.press("w")
                    assert whole(play) == [], (size, "walk-in")
            await play.press("escape", "escape")
            for key in ("x", "i"):
                await play.press(key)
                assert whole(play) == [], (size, key)
                await play.press("escape")
            if play.glance.faces[0].clock:
                assert play.digits() >= 3, size
        assert play.odd() == []


async def test_an_empty_log_is_whole_at_every_size(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        for size in (*SIZES, *ODD_SIZES):
            await play.resize(size)
            for key in ("u", "t", "p", "l", "e", "o", "?"):
                await play.press("escape", key)
                assert whole(play) == [], (size, play.called)


# Room to spare.


def told(play: Play) -> Told:
    """What Run tells."""
    found = play.app.run_screen.told
    assert found is not None
    return found


@pytest.mark.parametrize("size", [LARGE, HUGE], ids=["120x40", "200x50"])
async def test_a_large_screen_lists_many_windows_and_counts_the_others(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with played(tmp_path, (MANY,), size=size) as play:
        await windows(play)
        named = [n for n in range(1, 21) if f"edge {n:02}: wait" in play.text]
        # One stands in large, one in the strip, and what has no room is counted.
        left = len(told(play).faces) - 2 - len(named)
        assert len(named) >= 7
        assert not left or f"and {left} more" in play.text
        assert play.digits() >= 9


async def test_at_home_what_runs_besides_takes_turns_with_the_keys(tmp_path: Path) -> None:
    async with played(tmp_path, (MANY,)) as play:
        await windows(play)
        seen = set()
        # Each turn is seen twice.
        for _ in range(100):
            await play.leap(TURN_US / 2e6)
            seen |= {n for n in range(1, 23) if f"edge {n:02}: wait" in play.text}
        lines = [face.line for face in told(play).faces[2:]]
        assert {f"edge {n:02}" for n in seen} >= {line.split(":")[0] for line in lines}


async def test_a_large_screen_says_all_notices_at_once(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,), size=LARGE) as play:
        await hot(play)
        notices = play.glance.notices
        assert len(notices) > 1
        assert all(notice[:30] in play.text for notice in notices)
        await play.resize(HOME)
        assert not all(notice[:30] in play.text for notice in notices)
        # And an answer has a line of its own.
        await play.resize(LARGE)
        await play.press("k", "space")
        assert "Drank " in play.text
        assert notices[0][:30] in play.text


def test_windows_in_columns() -> None:
    few = ["roof: wait 0:30", "wing: late +1:00"]
    assert window_lines(few, 78, 24) == ["roof: wait 0:30   wing: late +1:00"]
    assert window_lines([], 78, 24) == []
    many = [f"edge {n:02}: wait 1:00:00" for n in range(20)]
    lines = window_lines(many, 78, 24)
    assert len(lines) == 2
    assert lines[-1].endswith("and 15 more")
    # In columns: what stands below one another begins in the same cell.
    assert [line.index("edge", 5) for line in lines] == [lines[0].index("edge", 5)] * 2
    assert window_lines(many, 38, 12) == ["and 20 more"]
    assert sum(line.count("edge") for line in window_lines(many, 118, 40)) == 20
    wide = window_lines([f"{SINGLE}: wait 1:00"] * 3, 78, 24)
    assert all(len(line) <= 78 for line in wide)


def test_moves_in_a_line_and_in_a_list() -> None:
    job = opened(WIPE).jobs()
    moves = [
        Move("take up", "job-1", "Wipe", ("whole car",), say="wipe", minutes=5.0),
        Move("take up", "job-1", "Wipe", ("whole car",), say="wipe", minutes=5.0,
             opens_us=START_US + 20_000_000, closes_us=START_US + 90_000_000),
        Move("take up", "job-1", "Wipe", ("whole car",), say="wipe",
             opens_us=START_US - 1, closes_us=START_US + 90_000_000),
        Move("end", why="end"),
    ]  # fmt: skip
    assert move_lines([], 0, {}, START_US) == []
    assert move_lines(moves, 3, job, START_US) == []
    assert move_lines(moves, 0, job, START_US) == [
        "then wipe whole car   planned 5:00, opens 0:20",
        "then wipe whole car   closes 1:30",
        "then put an end to this",
    ]


def test_notices_that_find_no_room_are_counted() -> None:
    assert notice_lines([], 78) == []
    assert notice_lines(["one", "two"], 78) == ["one", "two"]
    assert notice_lines([str(n) for n in range(9)], 78) == ["0", "1", "2", "3", "and 5 more"]
    long = notice_lines(["word " * 25, "last"], 38)
    assert len(long) == NOTICE_LINES
    assert long[-1] == "last"
    assert notice_lines(["first", "word " * 30, "last"], 38) == ["first", "and 2 more"]
    assert notice_lines(["word " * 60], 38) == ["and 1 more"]


def test_a_notice_that_does_not_fit_is_told_sentence_by_sentence() -> None:
    short = "Not so hot: 4 days of 14 by your answer."
    long = "Day 5: about the time of a usual day."
    assert notice_pages([f"{short} {long}"], 78, 2) == [f"{short} {long}"]
    assert notice_pages([f"{short} {long}"], 60, 1) == [short, long]
    # What comes behind it stands with its last sentence where there is room.
    assert notice_pages([f"{short} {long}", "And one."], 60, 1) == [short, f"{long} And one."]


@pytest.mark.parametrize("width", [38, 78])
def test_notices_take_turns_by_the_page_and_none_is_lost_or_cut_in_two(width: int) -> None:
    notices = [f"Notice {n} says what there is to be said of a thing." for n in range(7)]
    notices.append("2 questions about today (G)")
    for rows in (1, 2):
        pages = notice_pages(notices, width, rows)
        text = " ".join(pages)
        assert [text.index(notice) for notice in notices] == sorted(
            text.index(notice) for notice in notices
        )
        several = [page for page in pages if sum(notice in page for notice in notices) > 1]
        assert all(len(wrapped(page, width)) <= rows for page in several)
    assert len(notice_pages(notices, 78, 2)) <= 4
    assert notice_pages([], 78, 2) == []
    assert notice_pages(["one", "two."], 78, 2) == ["one. two."]
