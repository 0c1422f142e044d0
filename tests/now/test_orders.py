"""The order in which a stage is worked: each, all, wave; what one press covers."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.plan.plan import Stage, Wait, Work
from cartclock.engine.rules import rules
from tests.kit.book import Book, opened, us
from tests.kit.plans import COAT, FALLOUT, POLISH

A, B, ROOF = "bonnet left", "bonnet right", "roof"


def plain_day(*stages: Stage) -> list[str]:
    """Verbs and sections of a day in which the first move is always taken up in good time."""
    book, at_s = opened(*stages), 0.0
    seen: list[str] = []
    while True:
        move = book.moves(at_s)[0]
        if move.act == "end":
            return seen
        if move.act == "stand by" and book.scene(at_s).on.state == "free":
            assert move.opens_us is not None
            at_s = (move.opens_us - us(0)) / 1e6
            continue
        book.do(at_s, rules.take_up, move)
        if move.act == "take up":
            seen.append(f"{move.say} {'+'.join(move.sections)}")
            at_s += move.minutes * 60


def test_order_each_finishes_a_section_before_the_next() -> None:
    assert plain_day(POLISH) == ["cut door", "finish door", "cut wing", "finish wing"]


def test_order_all_does_one_step_over_all() -> None:
    stage = replace(POLISH, order="all")
    assert plain_day(stage) == ["cut door", "cut wing", "finish door", "finish wing"]


def test_order_wave_levels_one_while_the_next_flashes() -> None:
    """A opens at 210 s, when B (done at 180 s) is flashing; B closes before A could be buffed."""
    steps = (COAT.steps[0], Wait("flash", 120, 150, 400), *COAT.steps[2:])
    assert plain_day(replace(COAT, steps=steps, layers=1, gap=None)) == [
        f"apply {A}", f"apply {B}", f"level {A}", f"level {B}", f"buff {A}", f"buff {B}",
        f"apply {ROOF}", f"level {ROOF}", f"buff {ROOF}",
    ]  # fmt: skip


def test_order_wave_waits_where_the_next_would_take_too_long() -> None:
    """A opens at 150 s, the next apply would be done at 180 s."""
    assert plain_day(replace(COAT, layers=1, gap=None)) == [
        f"{say} {name}" for name in (A, B, ROOF) for say in ("apply", "level", "buff")
    ]


def test_order_wave_goes_on_with_what_is_begun_before_what_is_not() -> None:
    book = opened(COAT)
    for at_s, turn in ((1, Turn()), (2, Turn(1, 1, 2))):
        book.press(at_s, ev.WorkStarted("Coat", (B,), turn))
        book.press(at_s, ev.StepFinished("Coat", (B,), turn))
    assert [f"{m.say} {m.sections[0]}" for m in book.moves(9)] == [
        f"buff {B}", f"apply {A}", f"apply {ROOF}",
    ]  # fmt: skip


def test_layers_come_one_after_the_other() -> None:
    stage = Stage("Seal", ("a", "b"), (Work("seal", 1.0),), layers=2)
    assert plain_day(stage) == ["seal a", "seal b", "seal a", "seal b"]


def test_stages_come_one_after_the_other() -> None:
    wipe = Stage("Wipe", ("whole car",), (Work("wipe", 5.0),))
    assert plain_day(wipe, replace(POLISH, sections=("door",))) == [
        "wipe whole car", "cut door", "finish door",
    ]  # fmt: skip


def slow(opens_s: int, closes_s: int) -> Stage:
    spray, _, rinse = FALLOUT.steps
    return replace(FALLOUT, steps=(spray, Wait("dwell", opens_s, opens_s, closes_s), rinse))


def test_over_all_takes_every_section_with_one_press() -> None:
    assert plain_day(slow(600, 1800)) == [
        "spray left", "spray right", "spray front", "rinse left+right+front",
    ]  # fmt: skip


def test_over_all_does_not_let_the_first_close_for_the_sake_of_the_last() -> None:
    """Left opens at 210 s and closes at 300 s; front would be sprayed only at 270 s."""
    assert plain_day(slow(120, 300)) == [
        "spray left", "spray right", "rinse left+right", "spray front", "rinse front",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("press", "wanted"),
    [
        ("section", ["cut bonnet left", "cut bonnet right", "cut roof"]),
        ("panel", ["cut bonnet left+bonnet right", "cut roof"]),
        ("stage", ["cut bonnet left+bonnet right+roof"]),
    ],
)
def test_what_one_press_covers(press: str, wanted: list[str]) -> None:
    stage = replace(COAT, steps=POLISH.steps, layers=1, gap=None, order="all", press=press)
    book = opened(stage)
    found = book.moves(0)
    assert [f"{m.say} {'+'.join(m.sections)}" for m in found] == wanted
    assert found[0].minutes == 20.0 * len(found[0].sections)


# Groups over windows.


def sprayed(*times: tuple[str, float, float]) -> Book:
    book = opened(FALLOUT)
    for name, from_s, to_s in times:
        book.press(from_s, ev.WorkStarted("Fallout", (name,), Turn()))
        book.press(to_s, ev.StepFinished("Fallout", (name,), Turn(), Marks(120, 180, 300)))
    return book


def test_one_press_over_all_waits_for_the_last_to_open() -> None:
    """Opens at 130, 140, 150; the first closes at 300; the rinse takes 180 s for all."""
    book = sprayed(("left", 0, 10), ("right", 10, 20), ("front", 20, 30))
    move = book.moves(30)[0]
    assert (move.act, move.say, move.sections) == ("stand by", "rinse", ("left", "right", "front"))
    assert (move.minutes, move.closes_us) == (3.0, us(300))
    assert (move.opens_us, move.begin_by_us) == (us(130), us(130))


@pytest.mark.parametrize("later_s", [20, 60, 70])
def test_one_press_over_all_begins_when_the_first_opens_if_there_is_no_room(later_s: int) -> None:
    """The first opens at 140 and closes at 300 s; the rinse of 180 s cannot wait for the other."""
    book = sprayed(("left", 0, 20), ("right", later_s, later_s + 20))
    book.press(100, ev.SectionSkipped("Fallout", ("front",)))
    move = book.moves(100)[0]
    assert (move.opens_us, move.begin_by_us) == (us(140), us(140))


def test_one_press_over_all_with_room_waits_for_all() -> None:
    quick = replace(FALLOUT, steps=(*FALLOUT.steps[:2], Work("rinse", 0.5, over="all")))
    book = opened(quick)
    for name, at_s in (("left", 0), ("right", 40)):
        book.press(at_s, ev.WorkStarted("Fallout", (name,), Turn()))
        book.press(at_s + 20, ev.StepFinished("Fallout", (name,), Turn(), Marks(120, 180, 300)))
    move = next(m for m in book.moves(60) if m.say == "rinse")
    assert (move.opens_us, move.closes_us, move.begin_by_us) == (us(180), us(300), us(270))
