"""Which lines stand on Run at which size: the table alone, without a screen."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import pytest
from msgspec.structs import replace

import cartclock.tui.screens.run
from cartclock.engine.facts import events as ev
from cartclock.engine.now.glance import Face, glance
from cartclock.engine.now.moment import Facts, Moment, moment
from cartclock.engine.plan.plan import Stage, Wait, Work
from cartclock.tui.screens.cart import SAID_US
from cartclock.tui.screens.run_lines import (
    NOTICE_US,
    ROWS,
    Room,
    Row,
    Said,
    classes,
    clocks,
    fitting,
)
from tests.kit.book import Book, us
from tests.kit.plans import opening
from tests.kit.stage import played, whole

COAT = Stage(
    "Coat",
    ("bonnet", "roof", "boot", "sill"),
    (Work("apply", 3.0), Wait("flash", 300, 420, 900), Work("level", 1.0)),
)
WIDTHS = (20, 39, 40, 59, 60, 80, 120, 300)
HEIGHTS = (6, 7, 8, 12, 15, 16, 24, 35, 36, 60, 100)
HELPS = "ENTER  Ida: apply sill   now free 0:10"


def at_work(films: int = 3, hot: bool = True) -> Moment:
    """Films run, a section is in hand, and it is hot."""
    book = Book()
    book.press(0, opening(COAT))
    book.press(0, ev.ClockedOn("carport"))
    if hot:
        book.press(0, ev.ReadingTaken(air_c=33.0, rh=50.0, place="sun"))
    for number in range(films):
        section = (COAT.sections[number],)
        book.press(number * 60, ev.WorkStarted("Coat", section, ev.Turn()))
        marks = ev.Marks(300, 420, 900)
        book.press(number * 60 + 50, ev.StepFinished("Coat", section, ev.Turn(), marks))
    book.press(films * 60, ev.WorkStarted("Coat", ("sill",), ev.Turn()))
    assert book.odd() == []
    shift = book.shift()
    mine = {shift.worker: shift}
    facts = Facts(
        seq=len(book.rows),
        left=0,
        jobs=book.jobs(),
        shifts=mine,
        own={shift.worker: {}},
        known_products=None,
        rest_place=None,
    )
    return moment(facts, shift.worker, "", us(films * 60 + 20), True)


def said(now: Moment, **others: object) -> Said:
    """What the screen has to say; the answer was read long ago."""
    chosen = now.me.moves[0] if now.me.moves else None
    watch = now.me.watch
    seen = glance(now.jobs, now.me.shift, now.now_us, chosen, 1, watch, ("a notice", "another"))
    one = Said(
        now=now,
        seen=seen,
        at=0,
        beside=None,
        news=False,
        helps="",
        ago="",
        answer="bonnet done.",
        answered_us=now.now_us - SAID_US - 1,
        unit="C",
    )
    return replace(one, **others)


def shown(one: Said, width: int, height: int, listed: bool = False) -> set[str]:
    return set(fitting(one, Room(width, height, listed)))


BARE = {"faces", "list", "head", "on-clock"}
ALWAYS = {*BARE, "next", "keys", "notice", "pace-left", "pace-drink"}


@pytest.mark.parametrize(
    ("size", "lines"),
    [
        ((300, 100), {*ALWAYS, "windows", "climate", "notices", "moves"}),
        ((120, 36), {*ALWAYS, "windows", "climate", "notices", "moves"}),
        ((120, 35), {*ALWAYS, "windows", "of"}),
        ((80, 24), {*ALWAYS, "windows", "of"}),
        ((59, 24), {*ALWAYS, "windows"}),
        ((80, 15), {*ALWAYS, "windows"}),
        ((20, 6), {*ALWAYS, "windows"}),
    ],
)
def test_lines_at_work(size: tuple[int, int], lines: set[str]) -> None:
    assert shown(said(at_work()), *size) == lines


def test_where_nothing_crowds_the_moves_are_listed() -> None:
    quiet = said(at_work(films=0, hot=False))
    assert shown(quiet, 80, 24) == {*ALWAYS, "moves"}
    assert shown(quiet, 59, 24) == shown(quiet, 80, 15) == ALWAYS


def test_a_list_on_a_low_screen_takes_all_but_the_clock() -> None:
    one = said(at_work(), helps=HELPS)
    for width, height in product(WIDTHS, HEIGHTS):
        lines = shown(one, width, height, listed=True)
        assert lines == BARE if height < 16 else lines >= {*ALWAYS}
        assert lines.isdisjoint({"windows", "second", "climate", "moves", "notices", "of"})


def test_on_a_low_screen_answer_and_helper_take_turns() -> None:
    now = at_work()
    turns = set()
    for turn in range(2):
        at_us = (now.now_us // NOTICE_US + turn) * NOTICE_US
        lines = shown(said(now.at(max(at_us, now.now_us), True), helps=HELPS), 80, 12)
        assert len(lines & {"second", "notice"}) == 1
        turns |= lines & {"second", "notice"}
    assert turns == {"second", "notice"}
    # What was just answered stays until it was read.
    fresh = said(now, helps=HELPS, answered_us=now.now_us)
    assert fitting(fresh, Room(80, 12))["notice"] == "bonnet done."
    assert "second" not in fitting(fresh, Room(80, 12))


@pytest.mark.parametrize("listed", [False, True])
@pytest.mark.parametrize("helps", ["", HELPS])
def test_the_lower_rank_keeps_its_place_at_every_size(helps: str, listed: bool) -> None:
    """A line that stands has the same text whatever else there is room for, and what has more
    room never loses a line but the one that takes its place."""
    one = said(at_work(), helps=helps)
    for width, height in product(WIDTHS, HEIGHTS):
        space = Room(width, height, listed)
        lines = fitting(one, space)
        assert list(lines) == [row.id for row in sorted(ROWS, key=rank) if row.id in lines]
        assert all("\n" not in lines[id_] for id_ in ("head", "on-clock") if id_ in lines)
        assert {"moves", "of"} - lines.keys() != set()
        assert len(clocks(one, space)) >= 1
        marks = classes(one, space, lines)
        assert marks["windows"] == {"roomy": height >= 36, "low": height < 16}
        assert marks["notice"] == {
            "steady": height >= 16 and not listed,
            "crowded": height < 16 and not listed,
        }
        if width >= 60:
            assert len(lines) <= len(fitting(one, Room(width, 100, listed)))


def rank(row: Row) -> int:
    return row.rank


def test_off_the_clock_nothing_is_said_of_the_body() -> None:
    now = at_work()
    off = replace(now, me=replace(now.me, watch=None, moves=()))
    assert shown(said(off), 80, 24).isdisjoint({"pace-left", "pace-drink", "climate", "of"})


def test_a_narrow_screen_shows_one_clock_and_says_the_others() -> None:
    one = said(at_work())
    assert len(clocks(one, Room(80, 24))) == 2
    first, *others = clocks(one, Room(40, 24))
    text = fitting(one, Room(40, 24))["windows"]
    assert others
    for face in others:
        assert face.where in text
    assert first.where not in text


def test_the_helpers_clock_stands_beside_where_there_is_half_a_screen() -> None:
    beside = Face("IDA: APPLY", "0:10", "sill", "", "plain", "second/hands")
    one = said(at_work(films=0), beside=beside)
    assert clocks(one, Room(80, 24))[-1] == beside
    assert beside not in clocks(one, Room(40, 24))


TIDE = Row("tide", 10, lambda _said, _space: "the tide is out", lambda *_given: True)


def test_one_row_more_is_one_line_more() -> None:
    one = said(at_work())
    before = fitting(one, Room(80, 24))
    assert fitting(one, Room(80, 24), (*ROWS, TIDE)) == {**before, "tide": "the tide is out"}


async def test_one_row_more_needs_nothing_else_to_be_seen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    at = [row.id for row in ROWS].index("windows")
    monkeypatch.setattr(cartclock.tui.screens.run, "ROWS", (*ROWS[:at], TIDE, *ROWS[at:]))
    async with played(tmp_path, [COAT]) as play:
        assert [line for line in play.lines if "tide" in line] == [" the tide is out"]
        assert whole(play) == []


def test_ids_are_said_once_and_blocks_stand_together() -> None:
    ids = [row.id for row in ROWS]
    assert len(set(ids)) == len(ids)
    blocks = [row.block for row in ROWS if row.block]
    assert blocks == sorted(blocks, key=blocks.index)
    for block in set(blocks):
        sides = [row.right for row in ROWS if row.block == block]
        assert sides == [*[False] * (len(sides) - 1), True]


@pytest.mark.parametrize("width", [60, 80, 120])
def test_a_long_name_leaves_room_for_how_far_the_stage_is(width: int) -> None:
    one = said(at_work())
    place = "Coat 7/8   layer 1 of 2: 14/20"
    long = replace(
        one.seen, head="pewter estate with a roof rack and two bicycles on it", place=place
    )
    room = Room(width, 24)
    lines = {row.id: row.text(replace(one, seen=long), room) for row in ROWS}
    assert lines["head"].endswith(place)
    assert lines["head"].startswith("pewter" if width > 60 else "Coat")
    assert len(lines["head"]) + len(lines["on-clock"]) + 3 <= width


def test_of_many_notices_the_most_urgent_comes_back_in_every_other_turn() -> None:
    now = at_work(films=0, hot=False)
    many = tuple(f"Notice {n} says at some length what there is to be said." for n in range(9))
    shown_in_turn = []
    for turn in range(24):
        one = said(now)
        one = replace(one, seen=replace(one.seen, notices=many))
        later = replace(now, now_us=(now.now_us // NOTICE_US + 1 + turn) * NOTICE_US)
        one = replace(one, now=later, answered_us=later.now_us - SAID_US - 1)
        shown_in_turn.append(fitting(one, Room(80, 24))["notice"])
    first = [many[0] in text for text in shown_in_turn]
    assert first in ([True, False] * 12, [False, True] * 12)
    text = " ".join(shown_in_turn)
    assert all(notice in text for notice in many)
