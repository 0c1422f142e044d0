"""Every refusal and every question of the rules, as the worker reads it."""

from __future__ import annotations

import ast
import inspect
import math
from collections.abc import Callable
from types import ModuleType
from typing import Any

import pytest
from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.body.pace import Pace
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import Draft
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.figures.air import TemperatureUnit
from cartclock.engine.figures.measured import AIR
from cartclock.engine.films.before_coat import ALL_THERE
from cartclock.engine.now.scene import Scene
from cartclock.engine.plan.plan import Check, Condition, Handover, Plan, Product
from cartclock.engine.rules import changes, readings, rules
from cartclock.engine.rules.rules import Drafts
from cartclock.engine.trouble import Asks, Refused
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import COAT, GATED, WIPE, opening
from tests.kit.sentences import raised_at, raising_lines

A, B, ROOF = "bonnet left", "bonnet right", "roof"
MARKS = Marks(60, 100, 300)


def started(*names: str) -> ev.WorkStarted:
    return ev.WorkStarted("Coat", names, Turn())


def skipped(*names: str) -> ev.SectionSkipped:
    return ev.SectionSkipped("Coat", names)


def having(*events: Struct) -> Callable[[], Book]:
    """A book with a coat to lay, the worker on the clock, and these events at 10 s."""

    def book() -> Book:
        found = opened(COAT, WIPE)
        found.press(0, ev.ClockedOn(), worker="mate")
        for event in events:
            found.press(10, event)
        return found

    return book


def windowed(*names: str) -> Callable[[], Book]:
    return having(started(*names), ev.StepFinished("Coat", names, Turn(), MARKS))


def gapped() -> Book:
    """A's gap opens at 3620 s."""
    book = having()()
    for step in (0, 2, 3):
        gap = Marks(3600, 7200, 86400) if step == 3 else None
        turn = Turn(1, 1, step)
        book.press(10 + step, ev.WorkStarted("Coat", (A,), turn))
        book.press(20 if step == 3 else 10 + step, ev.StepFinished("Coat", (A,), turn, gap))
    return book


def with_fluoride() -> Book:
    """A coat to lay whose product burns."""
    opening_ = opening(COAT)
    acid = Product("coat", "Wheel acid", unit="drops", family="fluoride", hazards=("H314",))
    book = Book()
    book.press(0, replace(opening_, plan=replace(opening_.plan, products=(acid,))))
    book.press(0, ev.ClockedOn())
    return book


def laid_early() -> Book:
    """The stage that the hand-over waits for is done at 10 s, Mon 21 Sep 2026 14:13:30 UTC."""
    opening_ = opening(WIPE, COAT)
    waits = Handover("PT12H", "Wipe", "label of the pack")
    book = Book()
    book.press(0, replace(opening_, plan=replace(opening_.plan, handover=waits)))
    book.press(0, ev.ClockedOn())
    whole = ev.WorkStarted("Wipe", ("whole car",), Turn())
    book.press(0, whole)
    book.press(10, ev.StepFinished("Wipe", ("whole car",), Turn()))
    return book


def unseen() -> Book:
    """One section done that nobody looked at again."""
    book = opened(replace(WIPE, check=Check(60, 120)))
    for event in (ev.WorkStarted, ev.StepFinished):
        book.press(10, event("Wipe", ("whole car",), Turn()))
    return book


def off() -> Book:
    return opened(COAT, on=False)


FRESH, CLOSED, MINE = having(), having(ev.JobClosed()), having(started(A))
STAGES_MISSING = replace(opening(), plan=Plan("nothing", ()))
END = Move("end", why="end")
UP = Move("take up", JOB, "Coat", (A,))
UP_B, STAND_BY = replace(UP, sections=(B,)), replace(UP, act="stand by")
WARM = replace(COAT, condition=Condition("panel_c", False, 12.0, 900))
USED = ev.ProductUsed("Coat", (A,), Turn(), {"coat": 15.0})


def wipe(**fields: Any) -> Any:
    return replace(WIPE, name="New", **fields)


def take_up_with_the_page(scene: Scene, move: Move) -> Drafts:
    return rules.take_up(scene, move, before_coat=True)


def take_up_near_a_rest(scene: Scene, move: Move) -> Drafts:
    """Work taken up two minutes before a rest."""
    near = Pace("caution", "", None, 0, "moderate", 125, 900, "", "NIOSH limit", 25.0, 30.0, 40.0)
    return rules.take_up(scene, move, pace=near)


def take_up_in_the_oven(scene: Scene, move: Move) -> Drafts:
    """Work taken up where no rest makes work of it."""
    none = Pace("over", "", None, 0, "moderate", 0, 0, "not here", "NIOSH limit", 25.0, 5.0, 9.0)
    return rules.take_up(scene, move, rest_called=True, pace=none)


def take_up_tired(scene: Scene, move: Move) -> Drafts:
    """Work taken up although a rest was called."""
    return rules.take_up(scene, move, rest_called=True)


INSIDE = "That stretch is not inside the shift."

# Book, who presses, rule, its arguments, the sentence.
Case = tuple[Callable[[], Book], str, Callable[..., Drafts], tuple[Any, ...], str]
OF_RULES: list[Case] = [
    (off, "me", rules.clock_off, (), "You are not on the clock. Clock on first."),
    (off, "me", rules.note_shift, (ev.DrinkTaken(1),), "You are not on the clock. Clock on first."),
    (off, "me", rules.take_up, (UP,), "You are not on the clock. Clock on first."),
    (FRESH, "me", rules.clock_on, (ev.ClockedOn(),), "You are on the clock already."),
    (CLOSED, "me", rules.take_up, (UP,), "That job is not open."),
    (FRESH, "me", rules.close_job, ("job-9",), "That job is not open."),
    (windowed(A), "me", rules.clock_off, (),
     "A film is still in play on bonnet left. Clock off all the same?"),
    (windowed(A, B, ROOF), "me", rules.clock_off, (),
     "A film is still in play on bonnet left, bonnet right, roof. Clock off all the same?"),
    (MINE, "me", rules.start_other, ("phone", JOB),
     "The film on bonnet left is half done and closes at 14:18. Put it down all the same?"),
    (windowed(A), "me", rules.take_break, ("meal", 1800),
     "The film on bonnet left closes at 14:18. Leave it all the same?"),
    (FRESH, "me", rules.open_job, (JOB, opening(WIPE)), "That job is open already."),
    (FRESH, "me", rules.open_job, ("job-2", STAGES_MISSING), "The plan has no stages."),
    (FRESH, "me", rules.take_up, (END,), "Nothing is in hand."),
    (FRESH, "me", rules.take_up, (replace(UP, act="change"),),
     "A fresh pad or towel is written from its list."),
    (FRESH, "me", rules.take_up, (STAND_BY,), "Nothing is in hand; wait for bonnet left."),
    (FRESH, "me", rules.take_up, (replace(STAND_BY, opens_us=us(300)),),
     "Nothing is in hand; wait until 14:19: bonnet left."),
    (MINE, "me", rules.take_up, (replace(UP, turn=Turn(1, 1, 3)),),
     "bonnet left is not at that step any more."),
    (MINE, "mate", rules.take_up, (UP,), "bonnet left is in the hands of me."),
    (having(skipped(A)), "me", rules.take_up, (UP,), "bonnet left is left out."),
    (windowed(A), "me", rules.take_up, (UP,), "bonnet left is not at that step any more."),
    (gapped, "me", rules.take_up, (replace(UP, turn=Turn(1, 2, 0)),),
     "Layer 2 on bonnet left is early: its gap opens in 59 min. Lay it all the same?"),
    (FRESH, "me", rules.take_up, (replace(UP, sections=("sill",)),),
     "There is no section sill in Coat."),
    (with_fluoride, "me", rules.take_up, (UP,),
     "Wheel acid (H314): burns deep and hurts late; on skin rinse at once and get medical help. "
     "Go on all the same?"),
    (FRESH, "me", take_up_tired, (UP,),
     "A rest is called for. Go on working all the same?"),
    (FRESH, "me", take_up_in_the_oven, (UP,),
     "No work time here: a cooler place or a cooler hour. Go on working all the same?"),
    (lambda: opened(GATED), "me", take_up_near_a_rest, (UP,),
     "Screening estimate: a rest of 15 min falls due in 2 min, and this layer takes about 14 min. "
     "Coat all the same?"),
    (lambda: opened(GATED), "me", rules.take_up, (UP,),
     "No reading of panel, air and humidity: no verdict. Coat all the same?"),
    (lambda: opened(GATED), "me", take_up_with_the_page, (UP,),
     "Before Coat, layer 1 of 2. All there?"),
    (lambda: opened(WIPE, GATED), "me", rules.take_up, (UP,),
     "Not done before the coat: Wipe 1. Coat all the same?"),
    (lambda: opened(WARM), "me", rules.take_up, (UP,),
     "Panel not measured, wanted over 12 C. Begin Coat all the same?"),
    (FRESH, "me", rules.expect_day, (9.0, None), "Both are needed: today's low and today's high."),
    (FRESH, "me", rules.put_down, (), "Nothing is in hand."),
    (having(ev.BreakTaken("rest")), "me", rules.take_break, ("rest",), "That break is on already."),
    (having(ev.OtherWorkStarted("phone")), "me", rules.start_other, ("phone",),
     "That is on already."),
    (FRESH, "me", rules.note_job, ("job-9", USED), "There is no such job."),
    (FRESH, "me", rules.open_job, ("job-2", replace(opening(WIPE), price="1,5")),
     "'1,5' is not a price; write digits like 18.50."),
    (FRESH, "me", rules.note_job, (JOB, ev.UseCorrected("coat", math.inf)),
     "More than 1000000 of it cannot be used on one job."),
    (FRESH, "me", rules.note_job, (JOB, ev.UseCorrected("wax", 1.0)),
     "The plan has no product wax."),
    (having(USED, ev.UseCorrected("coat", -5.0)), "me", rules.note_job,
     (JOB, ev.UseCorrected("coat", -10.5)), "That would leave less than nothing used."),
    (FRESH, "me", rules.see, (JOB, "Coat", A), "No window runs on bonnet left."),
    (gapped, "me", rules.see, (JOB, "Coat", A), "No window runs on bonnet left."),
    (MINE, "mate", rules.close_job, (JOB,), "bonnet left is in the hands of me."),
    (FRESH, "me", rules.close_job, (JOB,),
     "4 sections are not done. Close the job all the same?"),
    (having(skipped(A, B), ev.SectionSkipped("Wipe", ("whole car",)), started(ROOF)), "me",
     rules.close_job, (JOB,), "1 section is not done. Close the job all the same?"),
    (FRESH, "me", rules.take_up, (replace(UP, act="look"),),
     "What was seen is written from the list of looks."),
    (unseen, "me", rules.close_job, (JOB,),
     "1 panel was not looked at again: whole car. Close the job all the same?"),
    (laid_early, "me", rules.close_job, (JOB, {"unfinished": "rain"}),
     "Not to be handed over before 02:14 tomorrow: 12 hours after Wipe, label of the pack. "
     "Close the job all the same?"),
    (FRESH, "me", rules.reopen_job, (JOB,), "That job is not closed."),
    (FRESH, "me", rules.assign_other, (JOB,), "No other work was on then."),
    (having(ev.OtherWorkStarted("phone", JOB)), "me", rules.assign_other, (JOB,),
     "It is booked so already."),
    (having(ev.OtherWorkStarted("phone")), "me", rules.assign_other, ("no-job",),
     "That job was not open then."),
    (off, "me", rules.judge_gap, (us(0), us(1), "off"), "There is no shift to speak of."),
    (FRESH, "me", rules.judge_gap, (us(-1), us(1), "off"), INSIDE),
    (FRESH, "me", rules.judge_gap, (us(1), us(1), "off"), INSIDE),
    (FRESH, "me", rules.judge_gap, (us(1), us(101), "off"), INSIDE),
    (off, "me", rules.judge_break, (us(0), True), "There is no shift to speak of."),
    (FRESH, "me", rules.judge_break, (us(0), True), "There was no break at that time."),
    (FRESH, "me", changes.add_section, (JOB, "Sills", "x"), "There is no stage Sills."),
]  # fmt: skip


def typed_air(_scene: Scene, value: float, unit: TemperatureUnit) -> Drafts:
    """A reading of the air alone, as it was typed."""
    return (Draft(ev.ReadingTaken(air_c=readings.degrees_c(AIR, value, unit))),)


def noted(event: Struct, sentence: str) -> Case:
    return (FRESH, "me", rules.note_shift, (event,), sentence)


OF_READINGS: list[Case] = [
    (FRESH, "me", typed_air, (199.0, "F"), "air 199 F cannot be."),
    (FRESH, "me", typed_air, (-30.1, "C"), "air -30.1 C cannot be."),
    noted(ev.ReadingTaken(air_c=-30.1), "air -30.1 C cannot be."),
    noted(ev.ReadingTaken(rh=math.nan), "humidity nan % RH cannot be."),
    noted(ev.ReadingTaken(panel_c=100.5), "panel 100.5 C cannot be."),
    noted(ev.ReadingTaken(globe_c=math.inf), "globe inf C cannot be."),
    noted(ev.ReadingTaken(wbgt_c=61.0), "WBGT meter 61 C cannot be."),
    noted(ev.ReadingTaken(rain_at_us=us(100 + 2881 * 60)), "rain in 2881 min cannot be."),
    noted(ev.ReadingTaken(place="sun"), "Nothing was measured; type or turn a value first."),
    noted(ev.DayExpected(9.0, 61.0), "today's high 61 C cannot be."),
    noted(ev.DayExpected(-31.0, 9.0), "today's low -31 C cannot be."),
    noted(ev.DayExpected(9.5, 9.0), "The low, 9.5 C, is above the high, 9 C."),
    noted(ev.DrinkTaken(0), "drink 0 ml cannot be."),
    noted(ev.CheckedIn(-60), "I am well again in -1 min cannot be."),
    noted(ev.HotDaysSaid(15), "days of work in the heat 15 cannot be."),
    noted(ev.CautionsRead(()), "Name the product."),
    noted(
        ev.ClothingSaid("a coat"),
        "'a coat' is not in the list: work clothes, SMS coverall, polyolefin coverall, "
        "double layer, vapour barrier.",
    ),
    noted(ev.FeltUnwell(()), "Name the sign."),
    noted(ev.ClockedOff(), "That is nothing to note of a shift."),
    (FRESH, "me", rules.take_break, ("rest", 241 * 60), "length of a break 241 min cannot be."),
]
NAME = "A name has 1 to 60 characters and no control characters."
ENDS = "The end of that stretch must lie after its beginning and not ahead."
NEEDS = "A stage needs sections and steps, the last one done by hand."
OF_CHANGES: list[Case] = [
    (having(skipped(A)), "me", changes.skip, (JOB, "Coat", (A,)),
     "bonnet left is left out already."),
    (MINE, "mate", changes.skip, (JOB, "Coat", (A,)), "bonnet left is in the hands of me."),
    (FRESH, "me", changes.redo, (JOB, "Coat", (A,)),
     "bonnet left is to do; only what is done or left out is done again."),
    (having(skipped(A)), "me", changes.redo, (JOB, "Coat", (A,), "", 3), "Coat has no layer 3."),
    (having(skipped(A)), "me", changes.redo, (JOB, "Coat", (A,), "", 0), "Coat has no layer 0."),
    (MINE, "me", changes.split, (JOB, "Coat", A, ("a", "b")),
     "bonnet left was touched already; only an untouched section can be cut."),
    (having(skipped(A), ev.SectionReopened("Coat", (A,), Turn(2, 1, 0))), "me", changes.split,
     (JOB, "Coat", A, ("a", "b")),
     "bonnet left was touched already; only an untouched section can be cut."),
    (FRESH, "me", changes.split, (JOB, "Coat", A, ("a",)),
     "A section is cut into at least two, with different names."),
    (FRESH, "me", changes.split, (JOB, "Coat", A, ("a", "a")),
     "A section is cut into at least two, with different names."),
    (FRESH, "me", changes.split, (JOB, "Coat", A, ("a", ROOF)), "Coat has a section roof already."),
    (FRESH, "me", changes.split, (JOB, "Coat", A, ("a", " ")), NAME),
    (FRESH, "me", changes.split_several, (JOB, "Coat", {A: ("a", "b"), B: ("b", "c")}),
     "Coat would have a section twice."),
    (FRESH, "me", changes.split_several, (JOB, "Coat", {}),
     "Name the sections that are to be cut."),
    (FRESH, "me", changes.add_section, (JOB, "Coat", "x" * 61), NAME),
    (FRESH, "me", changes.add_section, (JOB, "Coat", "a\nb"), NAME),
    (FRESH, "me", changes.add_section, (JOB, "Coat", ROOF), "Coat has a section roof already."),
    (FRESH, "me", changes.add_stage, (JOB, COAT), "There is a stage Coat already."),
    (FRESH, "me", changes.add_stage, (JOB, wipe(sections=())), NEEDS),
    (FRESH, "me", changes.add_stage, (JOB, wipe(steps=COAT.steps[:2])), NEEDS),
    (FRESH, "me", changes.add_stage, (JOB, wipe(steps=COAT.steps[1:])),
     "A stage begins with a step done by hand and has no two waits in a row."),
    (FRESH, "me", changes.add_stage, (JOB, wipe(sections=("a", "a"))),
     "A stage has no section twice."),
    (FRESH, "me", changes.fill_in, (JOB, "Coat", (), us(0), us(9)),
     "Name the sections that were done, each once."),
    (FRESH, "me", changes.fill_in, (JOB, "Coat", (A, A), us(0), us(9)),
     "Name the sections that were done, each once."),
    (MINE, "me", changes.fill_in, (JOB, "Coat", (B,), us(0), us(9)),
     "bonnet left is in hand and must be among them."),
    (FRESH, "me", changes.fill_in, (JOB, "Coat", (A,), us(9), us(9)), ENDS),
    (FRESH, "me", changes.fill_in, (JOB, "Coat", (A,), us(9), us(101)), ENDS),
    (having(skipped(A)), "me", changes.fill_in, (JOB, "Coat", (A,), us(11), us(19)),
     "bonnet left is left out."),
    (having(started(A)), "mate", changes.fill_in, (JOB, "Coat", (A,), us(11), us(19)),
     "bonnet left is in hand."),
]  # fmt: skip


ALL = OF_RULES + OF_CHANGES + OF_READINGS


def sentence(case: Case) -> Refused | Asks:
    """What the worker reads if the press is made at 100 s; nothing is written."""
    made, worker, rule, facts, _ = case
    book = made()
    assert book.odd() == []
    with pytest.raises((Refused, Asks)) as found:
        rule(book.scene(100, worker), *facts)
    assert isinstance(found.value, Refused | Asks)
    return found.value


def ids(cases: list[Case]) -> list[str]:
    return [f"{case[2].__name__}: {case[4]}" for case in cases]


@pytest.mark.parametrize("case", ALL, ids=ids(ALL))
def test_sentence(case: Case) -> None:
    trouble = sentence(case)
    assert str(trouble) == case[4]
    asks = ("all the same?", ALL_THERE)
    assert isinstance(trouble, Asks) == case[4].endswith(asks)


@pytest.mark.parametrize(
    ("module", "cases"),
    [(rules, OF_RULES), (changes, OF_CHANGES), (readings, OF_READINGS)],
    ids=["rules", "changes", "readings"],
)
def test_every_sentence_was_reached(module: ModuleType, cases: list[Case]) -> None:
    reached = {raised_at(module, sentence(case)) for case in cases}
    assert reached - {None} == set(raising_lines(module))


def test_the_questions_name_their_rule() -> None:
    asked = {trouble.rule_id for trouble in map(sentence, OF_RULES) if isinstance(trouble, Asks)}
    assert asked == {
        "window_open", "layer_early", "unfinished", "rest_due", "first_use", "coat_gate",
        "condition", "handover_early", "not_looked", "undone_before", "rest_in_wave",
        "film_left", "before_coat",
    }  # fmt: skip


def test_more_films_than_three_are_counted() -> None:
    book = opened(replace(COAT, sections=("a", "b", "c", "d", "e")))
    names = ("a", "b", "c", "d", "e")
    book.press(10, started(*names), ev.StepFinished("Coat", names, Turn(), MARKS))
    with pytest.raises(Asks, match=r"in play on a, b, c and 2 more\. Clock off"):
        rules.clock_off(book.scene(20))


@pytest.mark.parametrize("name", ["a\x7fb", "a\x9b2Jb", "a\x85b"], ids=["DEL", "CSI", "NEL"])
def test_delete_and_the_upper_control_characters_are_refused_too(name: str) -> None:
    with pytest.raises(Refused, match=NAME):
        changes.add_section(FRESH().scene(100), JOB, "Coat", name)


@pytest.mark.parametrize("module", [rules, changes], ids=["rules", "changes"])
def test_no_refusal_hangs_on_an_assert(module: ModuleType) -> None:
    """An assert is gone where Python runs with -O."""
    tree = ast.parse(inspect.getsource(module))
    assert [node.lineno for node in ast.walk(tree) if isinstance(node, ast.Assert)] == []


def test_an_unknown_stage_is_refused_and_no_fault() -> None:
    scene = FRESH().scene(100)
    for rule in (changes.skip, changes.redo):
        with pytest.raises(Refused, match="There is no section x in Sills"):
            rule(scene, JOB, "Sills", ("x",))
    with pytest.raises(Refused):
        changes.fill_in(scene, JOB, "Sills", ("x",), us(0), us(9))


@pytest.mark.parametrize(
    "fields",
    [
        pytest.param({"steps": COAT.steps[1:]}, id="begins with a wait"),
        pytest.param({"sections": ("a", "a")}, id="a section twice"),
        pytest.param({"sections": ("a", "b\x1b[2J")}, id="control characters"),
        pytest.param({"steps": (*COAT.steps[:2], *COAT.steps[1:])}, id="two waits in a row"),
    ],
)
def test_a_stage_that_no_plan_file_could_hold_is_refused(fields: dict[str, Any]) -> None:
    with pytest.raises(Refused):
        changes.add_stage(FRESH().scene(100), JOB, wipe(**fields))
