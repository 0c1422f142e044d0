"""One climate, one effort: the two answers, the smaller of them, and what they are worth."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.body.climate import climate
from cartclock.engine.body.heat_hour import HEAT_CAUTION, HeatHour, heat_hour, heat_lines
from cartclock.engine.facts.events import ReadingTaken


def hour(
    air_c: float | None, rh: float | None, acclimatized: bool = False, **more: Any
) -> HeatHour:
    rest = more.pop("rest", None)
    effort = more.pop("effort", "moderate")
    return heat_hour(climate(0, ReadingTaken(air_c, rh, **more)), effort, acclimatized, rest)


@pytest.mark.parametrize(
    ("wbgt_c", "acclimatized", "minutes"),
    [(28.21, True, 60), (29.05, True, 45), (30.05, True, 30), (31.31, True, 15),
     (24.97, False, 60), (26.00, False, 45), (27.23, False, 30), (28.77, False, 15)],
    ids=lambda value: f"NIOSH 2016-106 limits, moderate work, rest in place: {value}",
)  # fmt: skip
def test_minutes_by_the_limit(wbgt_c: float, acclimatized: bool, minutes: int) -> None:
    found = hour(None, None, acclimatized, wbgt_c=wbgt_c).limit_minutes
    assert found == pytest.approx(minutes, abs=0.3)


def test_what_the_cool_buys() -> None:
    found = hour(35.0, 40.0)
    assert found.limit_minutes == pytest.approx(21, abs=0.5)
    assert found.cool_minutes == pytest.approx(43, abs=0.5)
    # Resting there for real is the same answer.
    rest = ReadingTaken(air_c=26.0, rh=50.0)
    assert hour(35.0, 40.0, rest=rest).limit_minutes == found.cool_minutes
    assert "in the cool" in "\n".join(heat_lines(found))
    assert "in the cool" not in "\n".join(heat_lines(hour(35.0, 40.0, rest=rest)))


def test_the_smaller_answer_is_named() -> None:
    dry = hour(43.0, 15.0, acclimatized=True)
    humid = hour(32.0, 90.0)
    assert dry.table_minutes is not None and dry.limit_minutes is not None
    assert dry.minutes == min(dry.table_minutes, dry.limit_minutes)
    assert humid.minutes == humid.limit_minutes
    assert humid.table_minutes is not None and humid.limit_minutes is not None
    assert humid.limit_minutes < humid.table_minutes


def test_who_measures_in_fahrenheit_reads_it_alone() -> None:
    """A temperature T is 1.8 T + 32, a difference 1.8 D, by the definition of the scales."""
    found = hour(None, None, True, wbgt_c=31.0)
    in_c, in_f = heat_lines(found), heat_lines(found, "F")
    assert not [line for line in in_f if " C" in line]
    assert f"{31.0:.1f} C by" in in_c[0] and f"{31.0 * 1.8 + 32:.1f} F by" in in_f[0]
    # Over by what is short, which is raised.
    assert found.limit_c == pytest.approx(28.2, abs=0.05)
    assert in_c[2].endswith("2.8 C over the limit") and in_f[2].endswith("5.1 F over the limit")
    under = hour(None, None, True, wbgt_c=27.0)
    assert heat_lines(under)[2].endswith("1.2 C under the limit")
    assert heat_lines(under, "F")[2].endswith("2.1 F under the limit")
    assert "(40 C)" in heat_lines(hour(32.0, 70.0))[0]
    assert " C" not in heat_lines(hour(32.0, 70.0), "F")[0]


def test_cautions() -> None:
    said = " ".join(hour(35.0, 75.0).cautions)
    assert "reads low" in said
    assert "table ends at 60 %" in said
    assert "without a globe" in said
    assert "off its table" in " ".join(hour(48.0, 30.0).cautions)
    assert "no work time here" in " ".join(hour(38.0, 60.0).cautions)
    hotter = hour(26.0, 40.0, rest=ReadingTaken(air_c=33.0, rh=50.0))
    assert "hotter than the work" in " ".join(hotter.cautions)
    assert hour(20.0, 50.0, wbgt_c=16.0).cautions == ()


def test_without_a_wbgt_there_is_no_verdict() -> None:
    found = hour(None, 40.0)
    assert (found.band, found.limit_minutes, found.minutes) == ("", None, None)
    lines = heat_lines(found)
    assert "band         no WBGT, no verdict" in lines
    assert lines[-1] == HEAT_CAUTION


@given(
    air_c=st.floats(-40, 60),
    rh=st.floats(1, 100),
    acclimatized=st.booleans(),
    effort=st.sampled_from(["light", "moderate", "heavy"]),
)
def test_any_climate_has_an_answer_and_the_estimate_beside_it(
    air_c: float, rh: float, acclimatized: bool, effort: str
) -> None:
    found = hour(air_c, rh, acclimatized, effort=effort)
    lines = heat_lines(found)
    assert lines[-1] == HEAT_CAUTION
    assert found.minutes is None or 0 <= found.minutes <= 60
    if found.band == "over":
        assert found.limit_minutes is not None and found.limit_minutes < 60
