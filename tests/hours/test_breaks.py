"""Hours worked: the classes of breaks and the rounding of clock times."""

from __future__ import annotations

import csv
import math
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.dates import local
from cartclock.engine.facts.events import ClockedOn
from cartclock.engine.facts.shift_events import BreakKind
from cartclock.engine.hours.breaks import LOCAL_LAW, RULE_SETS, US_FEDERAL, break_class, rounded_us

MINUTE_US = 60_000_000
VECTORS = Path(__file__).parent / "vectors"
KINDS: tuple[BreakKind, ...] = get_args(BreakKind)
SECTIONS = {"rest": "785.18", "heat": "785.18", "meal": "785.19", "away": "785.16"}
STEPS = (5, 6, 15)
ZONES = (
    "UTC",
    "America/New_York",
    "America/St_Johns",
    "Europe/Berlin",
    "Australia/Lord_Howe",
    "Asia/Kathmandu",
    "Asia/Gaza",
)
# 2000 to 2037: the years for which zone rules are written out.
INSTANTS = st.integers(946_684_800_000_000, 2_140_000_000_000_000)
MINUTES = st.floats(0, 24 * 60)


def rows(name: str) -> list[dict[str, str]]:
    """The rows of a table of check values; its first line names the source."""
    lines = (VECTORS / name).read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# source: ")
    found = list(csv.DictReader(lines[1:]))
    assert found
    return found


def published() -> list[tuple[BreakKind, float, bool, str]]:
    """Kind, minutes, relieved and class; the table's rest is also a heat break, waiting is away."""
    kinds: dict[str, tuple[BreakKind, ...]] = {
        "rest": ("rest", "heat"),
        "meal": ("meal",),
        "waiting": ("away",),
    }
    return [
        (kind, float(row["minutes"]), row["completely relieved"] == "True", row["class"])
        for row in rows("breaks_29cfr785.csv")
        for kind in kinds[row["kind"]]
    ]


@pytest.mark.parametrize(
    ("kind", "minutes", "relieved", "wanted"),
    [
        pytest.param(*row, id=f"29 CFR {SECTIONS[row[0]]} {row[0]} {row[1]:g} relieved={row[2]}")
        for row in published()
    ],
)
def test_published_classes(kind: BreakKind, minutes: float, relieved: bool, wanted: str) -> None:
    assert break_class(kind, minutes, relieved, US_FEDERAL) == wanted


@pytest.mark.parametrize(
    ("kind", "minutes", "wanted"),
    [
        pytest.param("rest", 20.0, "counted", id="29 CFR 785.18 rest of 20 min"),
        pytest.param("rest", 20.99, "counted", id="29 CFR 785.18 about 20, our own judgement"),
        pytest.param("rest", 21.0, "ask", id="29 CFR 785.18 rest over about 20 min"),
        pytest.param("heat", 21.0, "ask", id="29 CFR 785.18 heat break over about 20 min"),
        pytest.param("meal", 20.0, "counted", id="29 CFR 785.18 meal of 20 min"),
        pytest.param("meal", 21.0, "ask", id="29 CFR 785.19(a) meal over about 20 min"),
        pytest.param("meal", 29.99, "ask", id="29 CFR 785.19(a) meal just under 30 min"),
        pytest.param("meal", 30.0, "not counted", id="29 CFR 785.19(a) meal of 30 min"),
        pytest.param("rest", 240.0, "ask", id="29 CFR 785.18 a long rest is no meal"),
        pytest.param("away", 5.0, "ask", id="29 CFR 785.16 short time away"),
        pytest.param("away", 240.0, "ask", id="29 CFR 785.16 long time away"),
        pytest.param("rest", 0.0, "counted", id="29 CFR 785.18 no length"),
    ],
)
def test_edges_of_a_relieved_break(kind: BreakKind, minutes: float, wanted: str) -> None:
    assert break_class(kind, minutes, True, US_FEDERAL) == wanted


@given(st.sampled_from(KINDS), MINUTES)
def test_not_relieved_is_always_counted(kind: BreakKind, minutes: float) -> None:
    assert break_class(kind, minutes, False, US_FEDERAL) == "counted"


@given(st.sampled_from(KINDS), st.booleans(), MINUTES, MINUTES)
def test_a_longer_break_never_counts_more(
    kind: BreakKind, relieved: bool, one: float, other: float
) -> None:
    rank = ["counted", "ask", "not counted"]
    short, long = sorted((one, other))
    assert rank.index(break_class(kind, short, relieved, US_FEDERAL)) <= rank.index(
        break_class(kind, long, relieved, US_FEDERAL)
    )


@given(st.sampled_from(KINDS), st.booleans(), MINUTES)
def test_without_a_rule_set_nothing_is_judged(
    kind: BreakKind, relieved: bool, minutes: float
) -> None:
    assert break_class(kind, minutes, relieved, "none") == "not judged"


@pytest.mark.parametrize("name", ["", "None", "29 CFR", "29 cfr 785", "EU"])
def test_an_unknown_rule_set_is_named(name: str) -> None:
    with pytest.raises(ValueError, match="is not a rule set") as caught:
        break_class("rest", 10, True, name)
    assert f'"{name}"' in str(caught.value)


@pytest.mark.parametrize("minutes", [-0.1, math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("rule_set", RULE_SETS)
def test_a_length_that_cannot_be(minutes: float, rule_set: str) -> None:
    with pytest.raises(ValueError, match="a break cannot last"):
        break_class("rest", minutes, True, rule_set)


@pytest.mark.parametrize("rule_set", RULE_SETS)
def test_a_kind_that_is_none(rule_set: str) -> None:
    with pytest.raises(ValueError, match='"nap" is not a kind of break'):
        break_class("nap", 10, True, rule_set)  # type: ignore[arg-type]  # a wrong kind on purpose


def test_the_shift_begins_under_a_known_rule_set() -> None:
    assert ClockedOn().rule_set in RULE_SETS


def test_the_law_of_the_place_comes_first() -> None:
    assert LOCAL_LAW.startswith("The law of the place")
    assert "screening estimate" in LOCAL_LAW


DAY_US = round(datetime(2026, 6, 1, tzinfo=UTC).timestamp()) * 1_000_000
ROUNDED = rows("rounding_785_48.csv")


@pytest.mark.parametrize(
    "row",
    ROUNDED,
    ids=[
        f"29 CFR 785.48(b) {r['start min of day']}-{r['stop']} to {r['step']} min" for r in ROUNDED
    ],
)
def test_published_rounding(row: dict[str, str]) -> None:
    step = int(row["step"])
    start, stop = (
        (rounded_us(DAY_US + int(row[name]) * MINUTE_US, step, "UTC") - DAY_US) / MINUTE_US
        for name in ("start min of day", "stop")
    )
    assert (start, stop) == (int(row["rounded start"]), int(row["rounded stop"]))
    assert stop - start == int(row["rounded min"])
    assert stop - start - int(row["exact min"]) == int(row["error"])


@pytest.mark.parametrize(
    ("at", "step", "zone", "wanted"),
    [
        ("2026-06-01T08:02:29.999999+00:00", 5, "UTC", "2026-06-01T08:00:00+00:00"),
        ("2026-06-01T08:02:30+00:00", 5, "UTC", "2026-06-01T08:05:00+00:00"),
        ("2026-06-01T08:03:00+00:00", 6, "UTC", "2026-06-01T08:06:00+00:00"),
        ("2026-06-01T23:52:30+00:00", 15, "UTC", "2026-06-02T00:00:00+00:00"),
        # Kathmandu is 5 h 45 min ahead: its sixths of an hour are not those of UTC.
        ("2026-06-01T02:22:00+00:00", 6, "Asia/Kathmandu", "2026-06-01T02:21:00+00:00"),
        # Two minutes before the clocks go forward, the next step is their new time.
        ("2026-03-29T00:58:00+00:00", 15, "Europe/Berlin", "2026-03-29T01:00:00+00:00"),
        # The second of the repeated hours stays the second.
        ("2026-10-25T01:07:00+00:00", 15, "Europe/Berlin", "2026-10-25T01:00:00+00:00"),
        ("2026-10-25T00:53:00+00:00", 15, "Europe/Berlin", "2026-10-25T01:00:00+00:00"),
    ],
    ids=lambda value: f"29 CFR 785.48(b) to {value} min" if isinstance(value, int) else value,
)
def test_rounding_on_the_local_clock(at: str, step: int, zone: str, wanted: str) -> None:
    at_us, wanted_us = (
        (datetime.fromisoformat(text) - datetime(1970, 1, 1, tzinfo=UTC)) for text in (at, wanted)
    )
    found = rounded_us(round(at_us.total_seconds() * 1_000_000), step, zone)
    assert found == round(wanted_us.total_seconds() * 1_000_000)


@pytest.mark.parametrize("step", [-5, 1, 10, 30, 60])
def test_other_steps_are_refused(step: int) -> None:
    with pytest.raises(ValueError, match="are not rounded to"):
        rounded_us(DAY_US, step, "UTC")


@pytest.mark.parametrize("step", [0, 5, 6, 15])
def test_rounding_in_an_unknown_zone_is_refused(step: int) -> None:
    with pytest.raises(ValueError, match='"Nowhere/Land" is not a time zone'):
        rounded_us(DAY_US, step, "Nowhere/Land")


@given(INSTANTS, st.sampled_from(ZONES))
def test_no_rounding_changes_nothing(at_us: int, zone: str) -> None:
    assert rounded_us(at_us, 0, zone) == at_us


@given(INSTANTS, st.sampled_from(STEPS), st.sampled_from(ZONES))
def test_rounding_is_near_whole_and_done_once(at_us: int, step: int, zone: str) -> None:
    found = rounded_us(at_us, step, zone)
    assert -step * MINUTE_US < 2 * (at_us - found) < step * MINUTE_US or (
        2 * (found - at_us) == step * MINUTE_US
    )
    here = local(found, zone)
    assert (here.hour * 60 + here.minute) % step == 0
    assert (here.second, here.microsecond) == (0, 0)
    assert rounded_us(found, step, zone) == found


@given(
    INSTANTS, st.integers(0, 3 * 3600 * 1_000_000), st.sampled_from(STEPS), st.sampled_from(ZONES)
)
def test_a_later_time_never_rounds_to_an_earlier(
    at_us: int, later_us: int, step: int, zone: str
) -> None:
    assert rounded_us(at_us, step, zone) <= rounded_us(at_us + later_us, step, zone)


def clock_changes(zone: str) -> list[int]:
    """The instants, to the half minute, from which on a zone's clock is another in that year."""

    def offset(at_us: int) -> timedelta | None:
        return local(at_us, zone).utcoffset()

    found = []
    for day in range(365):
        before_us = DAY_US + day * 1440 * MINUTE_US
        after_us = before_us + 1440 * MINUTE_US
        if offset(before_us) == offset(after_us):
            continue
        while after_us - before_us > MINUTE_US // 2:
            middle_us = (before_us + after_us) // 2
            if offset(middle_us) == offset(before_us):
                before_us = middle_us
            else:
                after_us = middle_us
        found.append(after_us)
    return found


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("step", STEPS)
def test_rounding_keeps_order_through_the_nights_the_clocks_change(zone: str, step: int) -> None:
    changes = clock_changes(zone)
    assert bool(changes) is (zone not in ("UTC", "Asia/Kathmandu"))
    for change_us in changes:
        # No clock is changed by more than an hour; a step reaches a quarter of an hour further.
        from_us = change_us - change_us % (MINUTE_US // 2) - 90 * MINUTE_US
        found = [rounded_us(from_us + m * MINUTE_US // 2, step, zone) for m in range(360)]
        assert found == sorted(found)
        for once_us in set(found):
            assert rounded_us(once_us, step, zone) == once_us
