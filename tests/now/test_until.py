"""An instant that goes on answers like the number it is, and knows until when its answers hold."""

from __future__ import annotations

import math
import operator
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import Struct

from cartclock.engine.times import Instant
from cartclock.engine.until import NEVER_US, Kept, Lasting, bare, holds, lasting

NOW_US = 1_000_000

Step = tuple[str, int]
STEPS: dict[str, Callable[[int, int], int]] = {
    "add": lambda a, b: a + b,
    "added": lambda a, b: b + a,
    "less": lambda a, b: a - b,
    "taken from": lambda a, b: b - a,
    "parted": lambda a, b: a // (abs(b) + 1),
    "rest": lambda a, b: a % (abs(b) + 1),
    "turned": lambda a, _b: -a,
    "size": lambda a, _b: abs(a),
    "most": lambda a, b: max(a, b),
    "least": lambda a, b: min(b, a),
    "times": lambda a, b: a * b,
    "rounded": lambda a, _b: round(a),
}
ASKED: dict[str, Callable[[int, float], object]] = {
    "<": operator.lt,
    "<=": operator.le,
    ">": operator.gt,
    ">=": operator.ge,
    "==": operator.eq,
    "!=": operator.ne,
    "from the left": lambda a, b: (b < a, b <= a, b > a, b >= a, b == a),
    "if": lambda a, _b: "yes" if a else "no",
    "text": lambda a, _b: f"{a} {a:>5} {a!s}",
    "fraction": lambda a, b: (a / 7, a + 0.5, float(a), b - a),
    "key": lambda a, _b: {a: 1}[a],
    "place": lambda a, _b: [7, 8, 9][a % 3],
}
numbers = st.one_of(st.integers(-40, 40), st.integers(NOW_US - 40, NOW_US + 40))
steps = st.lists(st.tuples(st.sampled_from(sorted(STEPS)), numbers), max_size=4)
limits = st.one_of(numbers, numbers.map(lambda n: n + 0.5), st.just(math.inf), st.just(-math.inf))


def reckoned(made: list[Step], now_us: int) -> int:
    for name, number in made:
        now_us = STEPS[name](now_us, number)
    return now_us


@settings(max_examples=500)
@given(one=steps, other=st.none() | steps, asked=st.sampled_from(sorted(ASKED)), limit=limits)
def test_an_answer_holds_as_long_as_it_says(
    one: list[Step], other: list[Step] | None, asked: str, limit: float
) -> None:
    def answer(now_us: int) -> tuple[object, int]:
        found = reckoned(one, now_us)
        beside = limit if other is None else reckoned(other, now_us)
        return ASKED[asked](found, beside), found

    said = lasting(answer, NOW_US)
    assert said.until_us > NOW_US
    for now_us in range(NOW_US, min(said.until_us, NOW_US + 100)):
        assert said.at(now_us) == answer(now_us)


def test_a_mark_is_named_to_the_microsecond() -> None:
    opens_us, closes_us = NOW_US + 5_000, NOW_US + 9_000

    def state(now_us: int) -> str:
        return "WAIT" if now_us < opens_us else "READY" if now_us < closes_us else "LATE"

    waits = lasting(state, NOW_US)
    assert (waits.at(NOW_US), waits.until_us) == ("WAIT", opens_us)
    ready = lasting(state, opens_us)
    assert (ready.at(opens_us), ready.until_us) == ("READY", closes_us)
    assert lasting(state, closes_us).until_us == NEVER_US


def test_minutes_said_of_a_length_hold_a_minute() -> None:
    since_us = NOW_US - 90_000_000
    said = lasting(lambda now_us: f"{(now_us - since_us) // 1_000_000 // 60} min ago", NOW_US)
    assert (said.at(NOW_US), said.until_us) == ("1 min ago", NOW_US + 30_000_000)


class Clock(Struct, frozen=True):
    left_s: int
    of: tuple[str, ...] = ()


def test_lengths_in_an_answer_go_on_and_end_nothing() -> None:
    closes_us = NOW_US + 20_500_000
    said = lasting(lambda now_us: [Clock((closes_us - now_us) // 1_000_000)], NOW_US)
    assert said.until_us == NEVER_US
    assert [said.at(NOW_US + s * 1_000_000)[0].left_s for s in (0, 1, 20, 21)] == [20, 19, 0, -1]


def test_what_takes_a_plain_number_only_holds_no_longer_than_the_number() -> None:
    said = lasting(lambda now_us: now_us.bit_length(), NOW_US)
    assert (said.at(NOW_US), said.until_us) == (NOW_US.bit_length(), NOW_US + 1)
    with pytest.raises(TypeError):
        lasting(lambda now_us: now_us + "a fault stays a fault", NOW_US)  # type: ignore[operator]  # a fault on purpose


def test_who_takes_the_bare_number_says_how_long() -> None:
    def answer(now_us: int) -> float:
        holds(now_us, 10)
        return bare(now_us) ** 0.5

    said = lasting(answer, NOW_US)
    assert (said.at(NOW_US + 9), said.until_us) == (1000.0, NOW_US + 10)
    assert answer(NOW_US) == 1000.0


def test_kept_is_made_anew_when_it_may_be_another_and_only_then() -> None:
    made: list[int] = []
    kept: Kept[bool] = Kept()

    def late(now_us: int) -> bool:
        made.append(bare(now_us))
        return now_us >= 50

    asked = [(0, "a"), (49, "a"), (50, "a"), (99, "a"), (99, "b"), (98, "b")]
    assert [kept.at(now_us, of, late) for now_us, of in asked] == [False] * 2 + [True] * 4
    # At its mark, for something else, and where time has run back.
    assert made == [0, 50, 99, 98]


@settings(max_examples=150)
@given(inner=steps, asked=st.sampled_from(sorted(ASKED)), limit=limits, outer=steps)
def test_an_answer_made_of_a_kept_one_holds_no_longer(
    inner: list[Step], asked: str, limit: float, outer: list[Step]
) -> None:
    kept: Kept[tuple[object, int]] = Kept()

    def part(now_us: int) -> tuple[object, int]:
        found = reckoned(inner, now_us)
        return ASKED[asked](found, limit), found

    def answer(now_us: int) -> tuple[object, int, bool]:
        said, found = kept.at(Instant(now_us), None, part)
        return said, reckoned(outer, found), found < NOW_US + 7

    # The part is some instants old when the whole is made of it.
    kept.at(Instant(NOW_US - 3), None, part)
    said = lasting(answer, Instant(NOW_US))
    assert NOW_US < said.until_us <= kept.until_us
    for now_us in range(NOW_US, min(said.until_us, NOW_US + 50)):
        found = part(now_us)
        assert said.at(Instant(now_us)) == (
            found[0],
            reckoned(outer, found[1]),
            found[1] < NOW_US + 7,
        )


def test_two_answers_are_never_the_same_one() -> None:
    one: Lasting[int] = lasting(lambda _now_us: 1, 0)
    assert one != lasting(lambda _now_us: 1, 0)
