"""Lengths of time as a plan file writes them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.store.plan_file.duration import (
    NotADuration,
    iso_extent,
    spelled,
    step_seconds,
)

DAY_S = 86_400


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("90s", 90), ("2m", 120), ("1h30m", 5400), ("5m30s", 330), ("0s", 0), ("90m", 5400)],
)
def test_step_durations(text: str, seconds: int) -> None:
    assert step_seconds(text) == seconds


@pytest.mark.parametrize(
    "text", ["", "5", "5x", "-5m", "1.5m", "5 m", "30s5m", "1d", "٣s", "9000h", "m", "5M"]
)
def test_no_step_durations(text: str) -> None:
    with pytest.raises(NotADuration):
        step_seconds(text)


@given(st.integers(0, 366 * DAY_S))
def test_spelled_reads_back(seconds: int) -> None:
    assert step_seconds(spelled(seconds)) == seconds


@pytest.mark.parametrize(
    ("text", "shortest", "longest"),
    [
        ("PT48H", 48 * 3600, 48 * 3600),
        ("PT1H30M", 5400, 5400),
        ("P7D", 7 * DAY_S, 7 * DAY_S),
        ("P2W", 14 * DAY_S, 14 * DAY_S),
        ("P6M", 168 * DAY_S, 186 * DAY_S),
        ("P1Y", 365 * DAY_S, 366 * DAY_S),
        ("P1Y6M", 533 * DAY_S, 552 * DAY_S),
    ],
)
def test_iso_durations(text: str, shortest: int, longest: int) -> None:
    assert iso_extent(text) == (shortest, longest)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "P",
        "PT",
        "P1DT",
        "P0D",
        "PT0H",
        "-P7D",
        "P-7D",
        "P1DT12H",
        "P1W1D",
        "p7d",
        "P1.5D",
        "7D",
        "P7",
        "P51Y",
        "P1D2M",
        "P999999999Y",
        "PT48H ",
        "P0DT1H",
    ],
)
def test_no_iso_durations(text: str) -> None:
    with pytest.raises(NotADuration):
        iso_extent(text)
