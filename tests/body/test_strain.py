"""Vibration and noise of a shift: what counts as time in hand, and the values it is held to."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cartclock.engine.body.strain import NEAR_SHARE, Strain, sentences, strain, tool_times
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.turn import Turn
from cartclock.engine.plan.plan import Plan, Stage, Tool, Vibration, Work
from tests.figures.check_values import rows
from tests.kit.book import JOB, Book, us

MINUTE_S, HOUR_S = 60, 3600
HOUR_US = 3_600_000_000
NIOSH_TIMES = [row for row in rows("noise_durations_niosh") if row["source"].startswith("NIOSH")]

# Invented round values, no source; the check values bring their own.
POLISHER = Tool("polisher", "Polisher", Vibration(4.0, 1.0, 0.8), 84.0)
BUFFER = Tool("buffer", "", Vibration(2.0, 0.5), None)
BLOWER = Tool("blower", "Blower", None, 91.0)
MITT = Tool("mitt", "Mitt")


def plan(*tools: Tool, name: str = "tiny") -> Plan:
    """One section, a step for every tool, and a last one with bare hands."""
    steps = (*(Work(f"use {tool.id}", 30.0, tool=tool.id) for tool in tools), Work("wipe", 5.0))
    return Plan(name, (Stage("Polish", ("door",), steps),), tools=tools)


class Cart:
    """A shift by seconds on a book with one job of these tools."""

    def __init__(self, *tools: Tool) -> None:
        self.book = Book()
        self.book.press(0, ev.JobOpened(plan(*tools), "", 1, "bottle green estate"))
        self.book.press(0, ev.ClockedOn("carport"))

    def use(self, step: int, from_s: float, to_s: float | None, job: str = JOB) -> Cart:
        """Takes a step in hand, and finishes it unless `to_s` is None."""
        turn = Turn(1, 1, step)
        self.book.press(from_s, ev.WorkStarted("Polish", ("door",), turn), job=job)
        if to_s is not None:
            self.book.press(to_s, ev.StepFinished("Polish", ("door",), turn), job=job)
        return self

    def at(self, at_s: float) -> Strain:
        """The strain at that second."""
        assert self.book.odd() == []
        return strain(self.book.shift(), self.book.jobs(), us(at_s))


def one(a: float, hours: float, *, k: float = 0.0, contact: float = 1.0) -> Strain:
    """One tool of that vibration, in hand for so long."""
    tool = Tool("tool", "", Vibration(a, k, contact))
    return Cart(tool).use(0, 0, None).at(hours * HOUR_S)


def loud(dba: float, hours: float) -> Strain:
    """One tool of that level, in hand for so long."""
    return Cart(Tool("tool", "", None, dba)).use(0, 0, None).at(hours * HOUR_S)


# Published values.


@pytest.mark.parametrize(
    ("a", "hours", "points", "state"),
    [
        (5.0, 3.0, 150.0, "over action"),
        (2.5, 8.0, 100.0, "over action"),
        (5.0, 8.0, 400.0, "over limit"),
        (2.5, 4.0, 50.0, "below action"),
    ],
    ids=[
        "HSE ready-reckoner: 5 m/s2 3 h is 150 points",
        "2002/44/EC, HSE: action value, 100 points",
        "2002/44/EC, HSE: limit value, 400 points",
        "HSE ready-reckoner, computed: 2.5 m/s2 4 h",
    ],
)
def test_vibration_of_one_tool(a: float, hours: float, points: float, state: str) -> None:
    found = one(a, hours)
    assert found.points == pytest.approx(points, abs=1e-9)
    assert found.a8_ms2 == pytest.approx(a * math.sqrt(hours / 8.0), abs=1e-9)
    assert found.vibration == state


def test_the_uncertainty_is_added_and_only_contact_counts_2002_44_ec() -> None:
    found = one(4.0, 2.5, k=1.0, contact=0.8)
    # 5 m/s2 for two hours of trigger time.
    assert found.points == pytest.approx(100.0, abs=1e-9)
    (tool,) = found.tools
    assert (tool.hands_us, tool.run_us) == (2.5 * HOUR_US, 2.0 * HOUR_US)
    assert tool.a_ms2 == 5.0


@pytest.mark.parametrize(
    "row",
    NIOSH_TIMES,
    ids=[f"NIOSH REL for noise, {r['source']}: {r['level dBA']} dBA" for r in NIOSH_TIMES],
)
def test_a_full_noise_dose(row: dict[str, str]) -> None:
    found = loud(float(row["level dBA"]), float(row["published hours"]))
    assert found.dose_percent == pytest.approx(100.0, abs=1e-6)


@pytest.mark.parametrize(
    ("dba", "hours", "noise", "lower_action"),
    [
        (79.9, 8.0, "below action", False),
        (80.0, 8.0, "below action", True),
        (84.0, 7.9, "below action", True),
        (84.2, 8.0, "near", True),
        (85.0, 8.0, "over action", True),
        (86.9, 8.0, "over action", True),
        (87.0, 8.0, "over limit", True),
    ],
    ids=lambda value: f"European noise directive, 80 85 87 dBA; NIOSH 85 dBA: {value}",
)
def test_noise_states(dba: float, hours: float, noise: str, lower_action: bool) -> None:
    found = loud(dba, hours)
    assert (found.noise, found.lower_action) == (noise, lower_action)


def test_near_is_four_fifths_of_the_action_value_our_own_judgement() -> None:
    hours = 8.0 * NEAR_SHARE
    assert one(2.5, hours - 0.001).vibration == "below action"
    assert one(2.5, hours + 0.001).vibration == "near"
    assert one(2.5, 7.999).vibration == "near"
    assert one(5.0, 7.999).vibration == "over action"


# What counts as time in hand.


def test_breaks_other_work_waiting_and_bare_hands_do_not_count() -> None:
    cart = Cart(POLISHER)
    cart.use(0, 60, 660).use(1, 660, 900)
    book = cart.book
    book.press(900, ev.BreakTaken("rest"))
    book.press(1500, ev.BreakEnded(), ev.OtherWorkStarted("phone", JOB))
    book.press(2000, ev.OtherWorkEnded())
    assert tool_times(book.shift(), book.jobs(), us(4000)) == {POLISHER: 600_000_000}


def test_steps_on_the_same_section_are_told_apart() -> None:
    cart = Cart(POLISHER, BUFFER).use(0, 0, 100).use(1, 100, 250).use(2, 250, None)
    times = tool_times(cart.book.shift(), cart.book.jobs(), us(1000))
    assert times == {POLISHER: 100_000_000, BUFFER: 150_000_000}


def test_what_was_said_to_be_no_work_does_not_count() -> None:
    cart = Cart(POLISHER).use(0, 0, 1000)
    cart.book.press(1000, ev.GapJudged(us(200), us(500), "off"))
    cart.book.press(1000, ev.GapJudged(us(500), us(600), "phone"))
    cart.book.press(1000, ev.GapJudged(us(550), us(600), "as it stood"))
    times = tool_times(cart.book.shift(), cart.book.jobs(), us(2000))
    assert times == {POLISHER: 650_000_000}


def test_the_same_tool_in_two_jobs_is_one_and_another_declaration_is_another() -> None:
    cart = Cart(POLISHER)
    worn = Tool("polisher", "Polisher", Vibration(6.0, 1.0, 0.8), 84.0)
    for job, tool in (("job-2", POLISHER), ("job-3", worn)):
        cart.book.press(0, ev.JobOpened(plan(tool), "", 2, "grey van"), job=job)
    cart.use(0, 0, 600).use(0, 600, 1500, job="job-2").use(0, 1500, 1800, job="job-3")
    times = tool_times(cart.book.shift(), cart.book.jobs(), us(1800))
    assert times == {POLISHER: 1_500_000_000, worn: 300_000_000}
    found = cart.at(1800)
    expected = (25.0 * 1500 + 49.0 * 300) * 0.8 / 3600 / 8 / 6.25 * 100
    assert found.points == pytest.approx(expected, abs=1e-9)


def test_the_tool_in_hand_is_named_from_its_first_instant() -> None:
    cart = Cart(POLISHER).use(0, 100, None)
    found = cart.at(100)
    assert found.tool_now is not None
    assert (found.tool_now.name, found.tool_now.hands_us) == ("Polisher", 0)
    assert Cart(POLISHER).at(100).tool_now is None
    assert Cart(POLISHER).use(0, 0, 100).at(200).tool_now is None


def test_a_shift_without_tools_has_nothing_to_say() -> None:
    found = Cart(POLISHER).use(0, 0, None).at(0)
    assert not found.points
    assert sentences(found) == ()
    assert Cart().at(900).vibration == Cart().at(900).noise == "no figure"


# How much longer.


@pytest.mark.parametrize("contact", [1.0, 0.8, 0.25])
def test_the_values_are_reached_when_it_was_said(contact: float) -> None:
    tool = Tool("tool", "", Vibration(6.0, 1.0, contact), 92.0)
    cart = Cart(tool, BUFFER).use(0, 0, 300).use(1, 300, 900)
    found = cart.at(900).tools[0]
    by_hand_s = (100.0 * 8 * 6.25 / 100 - 49.0 * contact / 12 - 6.25 / 6) / 49.0 / contact * 3600
    assert found.action_left_s == int(by_hand_s)
    longer = Cart(tool).use(0, 0, None)
    start = longer.at(0).tools[0]
    assert start.action_left_s is not None
    assert start.limit_left_s is not None
    assert start.noise_left_s is not None
    for left_s, states in (
        (start.action_left_s, ("near", "over action")),
        (start.limit_left_s, ("over action", "over limit")),
    ):
        before, after = longer.at(left_s - 1), longer.at(left_s + 1)
        assert (before.vibration, after.vibration) == states
    noise = longer.at(start.noise_left_s - 1), longer.at(start.noise_left_s + 1)
    assert (noise[0].noise, noise[1].noise) == ("near", "over action")


def test_nothing_is_left_once_a_value_is_passed() -> None:
    found = one(10.0, 3.0).tools[0]
    assert (found.action_left_s, found.limit_left_s) == (0, 0)
    assert loud(100.0, 1.0).tools[0].noise_left_s == 0


def test_a_tool_that_does_not_shake_is_never_too_much() -> None:
    found = one(0.0, 3.0)
    assert (found.points, found.tools[0].action_left_s) == (0.0, None)
    assert one(9.0, 3.0, contact=0.0).tools[0].limit_left_s is None


# No declared value, no figure.


def test_nothing_declared_gives_no_figure_and_says_so() -> None:
    found = Cart(MITT).use(0, 0, None).at(HOUR_S)
    assert (found.a8_ms2, found.points, found.vibration) == (None, None, "no figure")
    assert (found.dose_percent, found.lex_dba, found.noise) == (None, None, "no figure")
    assert (found.undeclared, found.unmeasured) == (("Mitt",), ("Mitt",))
    assert sentences(found) == (
        "No vibration that could be used is declared for Mitt: no figure for it.",
        "No noise level that could be used is known for Mitt: no figure for it.",
    )
    # Put down, it is no more for anybody to hear of on the day.
    assert sentences(Cart(MITT).use(0, 0, 600).at(HOUR_S)) == ()
    (tool,) = found.tools
    assert (tool.points, tool.dose_percent, tool.action_left_s) == (None, None, None)
    assert tool.hands_us == HOUR_US


def test_what_is_declared_counts_beside_what_is_not() -> None:
    cart = Cart(POLISHER, BLOWER, BUFFER).use(0, 0, 600).use(1, 600, 1200).use(2, 1200, 1800)
    found = cart.at(1800)
    assert (found.undeclared, found.unmeasured) == (("Blower",), ("buffer",))
    expected = (25.0 * 600 * 0.8 + 6.25 * 600) / 3600 / 8 / 6.25 * 100
    assert found.points == pytest.approx(expected, abs=1e-9)
    doses = 600 / 3600 * (0.8 / 8 * 2 ** (-1 / 3) + 1 / 8 * 4) * 100
    assert found.dose_percent == pytest.approx(doses, abs=1e-9)


@pytest.mark.parametrize(
    "vibration",
    [
        Vibration(math.nan),
        Vibration(-1.0),
        Vibration(3.0, -1.0),
        Vibration(3.0, math.nan),
        Vibration(400.0),
        Vibration(99.0, 2.0),
    ],
    ids=str,
)
def test_an_impossible_declaration_gives_no_figure(vibration: Vibration) -> None:
    found = Cart(Tool("tool", "", vibration)).use(0, 0, None).at(HOUR_S)
    assert (found.points, found.vibration, found.undeclared) == (None, "no figure", ("tool",))


@pytest.mark.parametrize("dba", [math.nan, -3.0, 300.0])
def test_an_impossible_level_gives_no_figure(dba: float) -> None:
    found = loud(dba, 1.0)
    assert (found.dose_percent, found.noise, found.unmeasured) == (None, "no figure", ("tool",))


@pytest.mark.parametrize("contact", [math.nan, -0.5, 7.0])
def test_an_impossible_share_counts_as_the_whole_time(contact: float) -> None:
    assert one(5.0, 3.0, contact=contact).points == pytest.approx(150.0)


def test_more_than_a_day_in_hand_is_no_day() -> None:
    assert one(3.0, 24.0).points is not None
    found = one(3.0, 24.1)
    assert (found.points, found.vibration) == (None, "no figure")
    assert found.tools[0].hands_us == 24.1 * HOUR_US


def test_a_tool_the_plan_does_not_know_has_no_figure() -> None:
    steps = (Work("polish", 5.0, tool="gone"),)
    book = Book()
    opened = ev.JobOpened(Plan("p", (Stage("Polish", ("door",), steps),)), "", 1, "grey van")
    book.press(0, opened)
    book.press(0, ev.ClockedOn())
    book.press(0, ev.WorkStarted("Polish", ("door",), Turn()))
    found = strain(book.shift(), book.jobs(), us(HOUR_S))
    assert found.undeclared == ("gone",)


# Sentences.


@pytest.mark.parametrize(
    ("hours", "begins"),
    [
        (1.5, ()),
        (
            1.68,
            (
                "Vibration: near the action value (84 points of 100), 2.3 m/s2 A(8); "
                "19 min more with tool",
            ),
        ),
        (
            2.88,
            (
                "Vibration: over the action value (144 points of 100), 3.0 m/s2 A(8); "
                "307 min more with",
            ),
        ),
        (
            8.5,
            (
                "Vibration: over the limit value (425 points of 400), 5.2 m/s2 A(8). "
                "Put the tool down",
            ),
        ),
    ],
)
def test_sentences_of_vibration(hours: float, begins: tuple[str, ...]) -> None:
    said = [s for s in sentences(one(5.0, hours)) if "noise" not in s]
    assert len(said) == len(begins)
    assert all(s.startswith(b) for s, b in zip(said, begins, strict=True))


@pytest.mark.parametrize(
    ("dba", "begins"),
    [
        (79.0, ()),
        (81.0, ("Over the lower action value of 80 dB(A): noise dose 40 %, 81.0 dB(A) over 8 h",)),
        (84.5, ("Near a full day of noise: noise dose 89 %",)),
        (86.0, ("The day's noise is used up: noise dose 126 %",)),
        (90.0, ("Over the limit value: noise dose 317 %",)),
    ],
)
def test_sentences_of_noise(dba: float, begins: tuple[str, ...]) -> None:
    said = [s for s in sentences(loud(dba, 8.0)) if "declared" not in s]
    assert len(said) == len(begins)
    assert all(s.startswith(b) for s, b in zip(said, begins, strict=True))


# What must always hold.


@settings(max_examples=40)
@given(
    spells=st.lists(st.tuples(st.integers(0, 2), st.floats(1.0, 3000.0)), max_size=6),
    more_s=st.floats(0.0, 3000.0),
)
def test_time_in_hand_only_adds_up(spells: list[tuple[int, float]], more_s: float) -> None:
    tools = (POLISHER, BUFFER, BLOWER)
    book = Book()
    book.press(0, ev.ClockedOn())
    at_s, by_tool = 0.0, dict.fromkeys(tools, 0.0)
    for number, (index, seconds) in enumerate(spells):
        job, turn = f"job-{number}", Turn(1, 1, index)
        book.press(at_s, ev.JobOpened(plan(*tools), "", number, "grey van"), job=job)
        # Earlier steps of the section take no time.
        for step in range(index):
            earlier = Turn(1, 1, step)
            book.press(at_s, ev.WorkStarted("Polish", ("door",), earlier), job=job)
            book.press(at_s, ev.StepFinished("Polish", ("door",), earlier), job=job)
        book.press(at_s, ev.WorkStarted("Polish", ("door",), turn), job=job)
        at_s += seconds
        book.press(at_s, ev.WorkPutDown("Polish", ("door",), turn), job=job)
        by_tool[tools[index]] += seconds
        at_s += 60.0
    assert book.odd() == []
    shift, jobs = book.shift(), book.jobs()
    times = tool_times(shift, jobs, us(at_s))
    for tool, seconds in by_tool.items():
        assert times.get(tool, 0) / 1e6 == pytest.approx(seconds, abs=1e-3)
    # Without a tool in hand nothing grows.
    assert strain(shift, jobs, us(at_s + more_s)) == strain(shift, jobs, us(at_s))
