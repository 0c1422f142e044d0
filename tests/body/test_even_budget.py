"""The budget of even work in closed form, against the budget that looks at every window."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from cartclock.engine.body.budget import LONGEST_REST_US, Ahead, Air, PlannedWork, budget
from cartclock.engine.body.even_budget import TimeLeft, even_work, rest_first, time_left
from cartclock.engine.body.hour_account import HourAccount
from cartclock.engine.body.stretch import LEAST_WORK_MINUTES, TWO_HOURS_US, Stretch, last
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.plan.plan import Effort
from cartclock.engine.times import Length

EFFORTS: tuple[Effort, ...] = ("light", "moderate", "heavy")
# Both look for the end of what is left to a millisecond.
ROUND_US = 1500

efforts = st.sampled_from(EFFORTS)
airs = st.builds(
    Air,
    wbgt_c=st.floats(20.0, 31.0),
    rest_wbgt_c=st.floats(16.0, 31.0),
    adjusted_f=st.none() | st.floats(75.0, 108.0),
    index_f=st.none() | st.floats(80.0, 100.0),
    guard_c=st.sampled_from((0.0, 0.5)),
    guard_f=st.sampled_from((0.0, 1.0)),
)


@st.composite
def pasts(draw: st.DrawFn, air: Air) -> list[Stretch]:
    """Some hours, with rests between, in an air that was warmer or cooler."""
    made = []
    kinds = st.tuples(st.sampled_from(("rest", "rest", *EFFORTS)), st.integers(1, 25 * MINUTE_US))
    for effort, length_us in draw(st.lists(kinds, max_size=14)):
        warmer_c, warmer_f = (
            draw(st.sampled_from((0.0, 0.0, -0.5, 0.7, -3.0, -6.0))),
            draw(st.integers(-2, 2)),
        )
        here_c = air.rest_wbgt_c if effort == "rest" else air.wbgt_c + warmer_c
        adjusted = None if air.adjusted_f is None else air.adjusted_f + warmer_f
        made.append(Stretch(Length(length_us), effort, here_c, adjusted))
    return made


class Asked:
    """Work of an effort in an air, behind what was worked: the budget and the closed form."""

    def __init__(
        self,
        air: Air,
        effort: Effort,
        used: bool,
        past: list[Stretch],
        meal_us: int | None = None,
        stood_us: int | None = None,
    ) -> None:
        self.air, self.effort, self.used, self.past = air, effort, used, past
        self.meal_us, self.stood_us = meal_us, stood_us
        self.account, self.work = HourAccount(past), even_work(effort, air, used)

    def budget(self, next_us: int) -> tuple[int, int, str]:
        pieces = (PlannedWork(TWO_HOURS_US, self.effort),)
        plan = Ahead(pieces, Length(0), Length(next_us), meal_us=self.meal_us)
        past = last(self.past, self.air.rest_wbgt_c)
        found = budget(past, plan, self.air, self.used, self.stood_us)
        return HOUR_US if found.left_us is None else found.left_us, found.rest_us, found.grade

    def left(self) -> TimeLeft | None:
        return time_left(self.account, self.work, self.meal_us, self.stood_us)

    def agree_on_a_rest(self, left: TimeLeft, next_us: int, guess_us: int) -> None:
        """A piece that does not fit, whatever is guessed of the rest."""
        rest_us = rest_first(self.account, self.work, left, next_us, self.meal_us, guess_us)
        _left_us, called_us, grade = self.budget(next_us)
        if rest_us is not None:
            assert rest_us == (0 if not grade else called_us or LONGEST_REST_US)


@given(st.data(), airs, efforts, st.booleans())
def test_it_says_what_the_budget_says(
    data: st.DataObject, air: Air, effort: Effort, used: bool
) -> None:
    assume(even_work(effort, air, used).steady >= LEAST_WORK_MINUTES)
    past = data.draw(pasts(air))
    meal = data.draw(st.none() | st.integers(1, 200 * MINUTE_US))
    stood = data.draw(st.none() | st.integers(1, 80 * MINUTE_US))
    asked = Asked(air, effort, used, past, meal, stood)
    left = asked.left()
    # Where it says nothing the budget is asked.
    assume(left is not None)
    assert left is not None
    assert abs(asked.budget(0)[0] - left.us) <= ROUND_US
    if left.us < HOUR_US:
        next_us = left.us + data.draw(st.integers(MINUTE_US, 40 * MINUTE_US))
        asked.agree_on_a_rest(left, next_us, data.draw(st.integers(0, 10)) * 5 * MINUTE_US)


@pytest.mark.parametrize(
    ("wbgt_c", "rest_wbgt_c", "guard_c", "effort", "past"),
    [
        # The hour is over between two edges and at neither: harder work leaves it, in cooler air.
        (28.0, 28.0, 0.5, "moderate", [(16, "heavy", 25.0)]),
        (27.9, 27.9, 0.0, "light", [(24, "heavy", 21.9)]),
        (27.6, 25.6, 0.5, "light", [(24, "heavy", 21.6), (24, "rest", 29.6)]),
        # The rest place is warmer than what was, so a longer rest may keep less.
        (28.7, 28.7, 0.5, "moderate", [(9, "rest", 27.7)]),
        (30.4, 29.9, 0.5, "light", [(8, "rest", 27.4)]),
        # A longer rest keeps more, so it is looked for from the one that is guessed.
        (28.5, 27.0, 0.0, "moderate", [(30, "moderate", 28.5)]),
        (28.5, 27.0, 0.5, "moderate", [(20, "heavy", 28.5), (20, "light", 28.5)]),
    ],
)  # fmt: skip
def test_whatever_is_worst_and_whatever_is_guessed_it_says_the_same(
    wbgt_c: float,
    rest_wbgt_c: float,
    guard_c: float,
    effort: Effort,
    past: list[tuple[int, Effort, float]],
) -> None:
    """The cases are synthetic, of those that a program tried by chance."""
    air = Air(wbgt_c, rest_wbgt_c, adjusted_f=None, index_f=None, guard_c=guard_c)
    worked = [Stretch(Length(minutes * MINUTE_US), what, c, None) for minutes, what, c in past]
    asked = Asked(air, effort, False, worked)
    left = asked.left()
    assert left is not None
    assert left.us < HOUR_US
    assert abs(asked.budget(0)[0] - left.us) <= ROUND_US
    for more in range(1, 41):
        for guess in range(0, 50, 5):
            asked.agree_on_a_rest(left, left.us + more * MINUTE_US, guess * MINUTE_US)


@pytest.mark.parametrize(
    "past",
    [
        [(50, "moderate"), (4, "rest"), (50, "moderate")],
        # Long enough, both together.
        [(40, "moderate"), (3, "rest"), (2, "cooler"), (50, "moderate")],
        [(50, "moderate"), (2, "rest"), (2, "cooler"), (50, "moderate")],
        [(30, "moderate"), (4, "rest"), (30, "moderate"), (4, "rest"), (40, "moderate")],
        # Nothing but the end of it is seen yet, which counts as a rest.
        [(20, "moderate"), (6, "rest"), (116, "moderate")],
        # Over just when two hours begin.
        [(20, "moderate"), (4, "rest"), (120, "moderate")],
    ],
)  # fmt: skip
def test_a_rest_too_short_to_count_is_work_once_it_is_over(past: list[tuple[int, str]]) -> None:
    """The cases are synthetic."""
    air = Air(20.0, 20.0, adjusted_f=None, index_f=95.0)
    worked = [
        Stretch(Length(minutes * MINUTE_US), "moderate", 20.0, None)
        if what == "moderate"
        else Stretch(Length(minutes * MINUTE_US), "rest", 20.0 - (what == "cooler"), None)
        for minutes, what in past
    ]
    # Who has just stood by for five minutes is not called by the hour.
    asked = Asked(air, "moderate", True, worked, stood_us=0)
    left = asked.left()
    assert left is not None
    assert left.rule == "two hours"
    assert abs(asked.budget(0)[0] - left.us) <= ROUND_US
    for more in range(1, 41):
        asked.agree_on_a_rest(left, left.us + more * MINUTE_US, 0)


@pytest.mark.parametrize(
    "past",
    [
        # It is not over.
        [(50, "moderate"), (4, "rest")],
        # Two hours begin in the middle of it.
        [(20, "moderate"), (4, "rest"), (118, "moderate")],
    ],
)  # fmt: skip
def test_of_a_short_rest_that_is_not_over_or_half_out_of_sight_the_budget_is_asked(
    past: list[tuple[int, Effort]],
) -> None:
    """The cases are synthetic."""
    air = Air(20.0, 20.0, adjusted_f=None, index_f=95.0)
    worked = [Stretch(Length(minutes * MINUTE_US), what, 20.0, None) for minutes, what in past]
    assert Asked(air, "moderate", True, worked).left() is None


@settings(max_examples=20)
@given(st.data(), airs)
def test_what_was_worked_is_told_again_and_a_copy_goes_on_apart(
    data: st.DataObject, air: Air
) -> None:
    past = data.draw(pasts(air))
    account = HourAccount(past)
    told = last(account.stretches(), air.rest_wbgt_c)
    # Neighbours that are alike are one.
    assert sum(one.length_us for one in told) == TWO_HOURS_US
    at_us, seen = 0, {}
    for one in told:
        at_us += one.length_us
        seen[at_us] = one.effort, one.wbgt_c, one.adjusted_f
    at_us = 0
    for one in last(past, air.rest_wbgt_c):
        at_us += one.length_us
        of = seen[min(end for end in seen if end >= at_us)]
        assert of == (one.effort, one.wbgt_c, one.adjusted_f)
    before_us = account.now_us
    account.copy().add(MINUTE_US, "heavy", 40.0, None)
    assert account.now_us == before_us
