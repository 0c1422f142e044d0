"""Job time from the newest row and the two clocks."""

from __future__ import annotations

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US, Evidence, Placed, job_time
from cartclock.engine.store.clock import HandClock
from tests.kit.book import T0_US, row_at, us

# The newest row: job time 100 s, a quarter of an hour behind its wall clock.
WALL_US = us(100) + 15 * MINUTE_US
LAST = row_at(
    ev.DrinkTaken(1), 100, wall_us=WALL_US, boot="b1", tick_us=7_000_000, entered_us=us(100)
)


@pytest.mark.parametrize(
    ("now", "wanted"),
    [
        pytest.param(
            Evidence(WALL_US + 5_000_000, "b1", 12_000_000), Placed(us(105), True), id="same boot"
        ),
        pytest.param(Evidence(WALL_US, "b1", 7_000_000), Placed(us(100), True), id="same moment"),
        pytest.param(
            Evidence(WALL_US - HOUR_US, "b1", 12_000_000),
            Placed(us(105), True),
            id="wall set back",
        ),
        pytest.param(
            Evidence(WALL_US + 9 * HOUR_US, "b1", 12_000_000),
            Placed(us(105), True),
            id="wall set forward",
        ),
        pytest.param(
            Evidence(WALL_US + HOUR_US, "b2", 3),
            Placed(WALL_US + HOUR_US, True),
            id="new boot, later wall",
        ),
        pytest.param(
            Evidence(us(100), "b2", 99_000_000), Placed(us(100), True), id="new boot, same time"
        ),
        pytest.param(
            Evidence(us(100) - 1, "b2", 99_000_000),
            Placed(us(100), False),
            id="new boot, earlier wall",
        ),
        pytest.param(
            Evidence(WALL_US + MINUTE_US, "b1", 6_999_999),
            Placed(WALL_US + MINUTE_US, True),
            id="same boot, lower tick: by the wall",
        ),
        pytest.param(
            Evidence(us(40), "b1", 0), Placed(us(100), False), id="lower tick and earlier wall"
        ),
    ],
)
def test_place(now: Evidence, wanted: Placed) -> None:
    assert job_time(LAST, now) == wanted


def test_the_first_row_believes_the_wall() -> None:
    assert job_time(None, Evidence(1234, "b1", 9)) == Placed(1234, True)


def test_a_late_entry_does_not_hold_time_back() -> None:
    """Time goes on from when the row was entered, not from what it speaks of."""
    late = row_at(ev.DrinkTaken(1), 20, entered_us=us(100), boot="b1", tick_us=7_000_000)
    assert job_time(late, Evidence(us(0), "b1", 8_000_000)).at_us == us(101)
    assert job_time(late, Evidence(us(50), "b2", 0)) == Placed(us(100), False)


def test_job_time_never_falls_whatever_the_clocks_do() -> None:
    clock = HandClock(T0_US)
    last, was_us = None, 0
    for seconds, what in [
        (0, "wind"), (60, "wind"), (-3600, "wall"), (5, "wind"), (86400, "wall"), (1, "wind"),
        (30, "boot"), (-200_000, "wall"), (10, "boot"), (10, "wind"), (0, "boot"), (1, "wind"),
    ]:  # fmt: skip
        match what:
            case "wind":
                clock.wind(seconds)
            case "wall":
                clock.set_wall(seconds)
            case _:
                clock.reboot(f"b{was_us}", seconds)
        now = clock.read()
        placed = job_time(last, now)
        assert placed.at_us >= was_us
        was_us = placed.at_us
        last = row_at(ev.DrinkTaken(1), entered_us=was_us, boot=now.boot, tick_us=now.tick_us)
