"""The budget of even work in closed form, against the budget that looks at every window."""

from __future__ import annotations

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from cartclock.engine.body.budget import LONGEST_REST_US, Ahead, Air, PlannedWork, budget
from cartclock.engine.body.even_budget import even_work, rest_first, time_left
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
        warmer_c, warmer_f = draw(st.sampled_from((0.0, 0.0, -0.5, 0.7))), draw(st.integers(-2, 2))
        here_c = air.rest_wbgt_c if effort == "rest" else air.wbgt_c + warmer_c
        adjusted = None if air.adjusted_f is None else air.adjusted_f + warmer_f
        made.append(Stretch(Length(length_us), effort, here_c, adjusted))
    return made


@given(st.data(), airs, efforts, st.booleans())
def test_it_says_what_the_budget_says(
    data: st.DataObject, air: Air, effort: Effort, used: bool
) -> None:
    work = even_work(effort, air, used)
    assume(work.steady >= LEAST_WORK_MINUTES)
    past = data.draw(pasts(air))
    meal = data.draw(st.none() | st.integers(1, 200 * MINUTE_US))
    stood = data.draw(st.none() | st.integers(1, 80 * MINUTE_US))
    account = HourAccount(past)
    left = time_left(account, work, meal, stood)
    # Where it says nothing the budget is asked.
    assume(left is not None)
    assert left is not None

    def asked(next_us: int) -> tuple[int, int, str]:
        pieces = (PlannedWork(TWO_HOURS_US, effort),)
        plan = Ahead(pieces, Length(0), Length(next_us), meal_us=meal)
        found = budget(last(past, air.rest_wbgt_c), plan, air, used, stood)
        return HOUR_US if found.left_us is None else found.left_us, found.rest_us, found.grade

    assert abs(asked(0)[0] - left.us) <= ROUND_US
    if left.us >= HOUR_US:
        return
    # A piece that does not fit, whatever is guessed of the rest.
    next_us = left.us + data.draw(st.integers(MINUTE_US, 40 * MINUTE_US))
    guess_us = data.draw(st.integers(0, 10)) * 5 * MINUTE_US
    rest_us = rest_first(account, work, left, next_us, meal, guess_us)
    _left_us, called_us, grade = asked(next_us)
    if rest_us is not None:
        assert rest_us == (0 if not grade else called_us or LONGEST_REST_US)


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
