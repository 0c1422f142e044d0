"""Whole simulated days under the hour's budget: what is called, and what the body takes.

Synthetic days (`tests.kit.heat_day`). The limits and the table that they are judged by are
NIOSH 2016-106.
"""

from __future__ import annotations

import csv
from pathlib import Path
from statistics import mean, stdev

import pytest

from cartclock.engine.body.budget import Ahead, Air, budget
from cartclock.engine.body.budget import PlannedWork as Planned
from cartclock.engine.facts.rows import MINUTE_US
from tests.kit.heat_day import HeatDay, Mood, Outcome
from tests.kit.heat_weather import WEATHERS, Weather
from tests.kit.heat_work import Stage, coat_day, polish_day, wash_day

DAYS: dict[str, tuple[Stage, ...]] = {
    "polish": polish_day(False),
    "polish, overhead": polish_day(True),
    "coat": coat_day(False),
    "washes": wash_day(False),
}
VECTORS = Path(__file__).parent / "vectors" / "hot_days.csv"


def _rows(path: Path) -> list[dict[str, str]]:
    lines = path.read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# source: ")
    return list(csv.DictReader(lines[1:]))


ROWS = _rows(VECTORS)
OTHER_ROWS = _rows(VECTORS.with_name("other_hot_days.csv"))
PLANS = {"polish": polish_day, "coat": coat_day, "washes": wash_day}
# What is compared by climate; `jumps` an hour of work, the others a day.
FIGURES = ("calls", "red", "jumps", "over", "over_c", "table")
# What another arithmetic library may make of a figure of two places.
WORSE = 0.02
MOODS: tuple[Mood, ...] = ("obeys", "ends", "overrules")


class SteadyDay(HeatDay):
    """A day in one air, read on instruments without error."""

    def __init__(self, air_c: float, rh: float, used: bool, day: str) -> None:
        weather = Weather("steady", "indoors", air_c, air_c, -5.0)
        super().__init__(weather, DAYS[day], used, "obeys", 1)
        self.tool.readings = [(0.0, air_c, rh)]
        read = self.tool.air(600)
        self._air = Air(read.wbgt_c, read.wbgt_c, read.adjusted_f, read.index_f, read.off_table)
        self.tool.air = lambda minute: self._air  # type: ignore[method-assign]  # one air all day


def test_a_hot_day_is_paced_without_a_call_over_a_film() -> None:
    """One day in the default run; all of them in the long one."""
    weather = next(one for one in WEATHERS if one.name == "hot dry garage")
    found = HeatDay(weather, DAYS["polish"], False, "obeys", 1).play()
    assert 3 <= found.calls <= 8
    assert found.in_film == found.now == found.not_here == 0
    assert found.read_over == found.read_table == 0


@pytest.mark.long
@pytest.mark.parametrize("used", [False, True], ids=["NIOSH 2016-106 RAL", "NIOSH 2016-106 REL"])
@pytest.mark.parametrize("air_c", [24, 28, 30, 32, 34, 36, 38, 40])
def test_in_one_air_who_obeys_is_never_over_limit_or_table(air_c: int, used: bool) -> None:
    for rh in (15, 30, 45, 60, 75):
        for day in ("polish", "coat"):
            found = SteadyDay(air_c, rh, used, day).play()
            assert found.read_table == 0, (rh, day, found)
            # Where even resting is over the limit no work was given, so nothing is at work.
            assert found.read_over == 0, (rh, day, found)


@pytest.mark.long
@pytest.mark.parametrize("weather", WEATHERS, ids=lambda weather: weather.name)
def test_hot_days_by_climate(weather: Weather, capsys: pytest.CaptureFixture[str]) -> None:
    """Printed beside the same days of a second reckoner, and no worse than when it was written.

    Only the same days compare: three plans, three moods, both limits and two seeds of the readings,
    with an overhead roof in the second. A plan with fewer stages or one seed alone is worth more
    than a call a day.
    """
    row = next(row for row in ROWS if row["climate"] == weather.name)
    found: list[Outcome] = []
    for seed, overhead in ((1, False), (2, True)):
        for plan in PLANS.values():
            for mood in MOODS:
                for used in (False, True):
                    found.append(HeatDay(weather, plan(overhead), used, mood, seed).play())
    many = len(found)
    hours = sum(one.worked + one.stood_by for one in found) / 60
    ours = {
        "calls": sum(one.calls for one in found) / many,
        "red": sum(one.now + one.not_here for one in found) / many,
        "jumps": sum(one.jumps for one in found) / hours,
        "over": sum(one.over for one in found) / many,
        "over_c": sum(one.over_c_min for one in found) / many,
        "table": sum(one.table for one in found) / many,
        "busy": hours / many * 10,
    }
    with capsys.disabled():
        said = "  ".join(f"{name} {ours[name]:.2f}/{row[f'ref_{name}']}" for name in ours)
        went_on = sum(one.went_on for one in found) / many
        print(f"\n{weather.name:28}{said}  breaks that went on {went_on:.2f}")  # noqa: T201  the figures are what this long run is for
    assert sum(one.in_film for one in found) == 0
    for name in FIGURES:
        assert ours[name] <= float(row[f"ours_{name}"]) + WORSE, name
    assert ours["busy"] == pytest.approx(float(row["ours_busy"]), abs=0.5)


@pytest.mark.long
@pytest.mark.parametrize("climate", dict.fromkeys(row["climate"] for row in OTHER_ROWS))
def test_no_climate_is_worse_on_days_that_nothing_was_chosen_by(
    climate: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each row against the second reckoner's on the same six days, in twelve pairs of readings
    and plan. What may be the scatter of twelve, two standard errors, is not called worse.
    """
    weather = next(one for one in WEATHERS if one.name == climate)
    rows = [row for row in OTHER_ROWS if row["climate"] == climate]
    ours, others, more = ({name: list[float]() for name in FIGURES} for _ in range(3))
    for row in rows:
        seed = int(row["seed"])
        days = PLANS[row["plan"]](seed % 2 == 0)
        found = [
            HeatDay(weather, days, used, mood, seed).play()
            for mood in MOODS
            for used in (False, True)
        ]
        hours = mean(one.worked + one.stood_by for one in found) / 60
        six = {
            "calls": mean(one.calls for one in found),
            "red": mean(one.now + one.not_here for one in found),
            "jumps": mean(one.jumps for one in found) / hours,
            "over": mean(one.over for one in found),
            "over_c": mean(one.over_c_min for one in found),
            "table": mean(one.table for one in found),
        }
        for name in FIGURES:
            other = float(row[name]) / (float(row["hours"]) if name == "jumps" else 1)
            ours[name].append(six[name])
            others[name].append(other)
            more[name].append(six[name] - other)
    scatter = {name: stdev(more[name]) / len(rows) ** 0.5 for name in FIGURES}
    with capsys.disabled():
        said = "  ".join(
            f"{name} {mean(ours[name]):.2f}/{mean(others[name]):.2f}"
            f" ({mean(more[name]):+.2f} +- {scatter[name]:.2f})"
            for name in FIGURES
        )
        print(f"\n{climate:28}{said}")  # noqa: T201  the figures are what this long run is for
    assert len(rows) == 12
    for name in FIGURES:
        assert mean(more[name]) <= max(2 * scatter[name], 0.005), name


def test_the_hot_days_as_a_whole_are_better_than_the_second_reckoners() -> None:
    """Of the figures that the long run holds to; single climates are told in the known gaps."""
    for name in FIGURES:
        ours, other = (sum(float(row[f"{by}_{name}"]) for row in ROWS) for by in ("ours", "ref"))
        assert ours < other, name


def test_a_rest_that_buys_nothing_is_not_called_for_ever() -> None:
    """A piece longer than any rest can buy is begun, and the rest comes in between."""
    air = Air(28.2, 28.2, 98.0, 100.0)
    ahead = Ahead((Planned(120 * MINUTE_US, "moderate"),), 0, 40 * MINUTE_US)
    found = budget([], ahead, air, False)
    assert found.left_us is not None
    assert found.left_us > 15 * MINUTE_US
    assert found.grade == ""
