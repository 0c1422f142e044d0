"""Limits, work minutes, verdict bands and clothing."""

from __future__ import annotations

import math
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.figures.heat import (
    CLASS_WATTS,
    CLOTHING_C,
    class_watts,
    limit_verdict,
    ral_c,
    rel_c,
    wbgt_no_sun_c,
    wbgt_sun_c,
    work_minutes_per_hour,
)
from cartclock.engine.figures.limits import EffortClass
from cartclock.engine.plan.plan import Effort
from tests.figures.check_values import numbers, rows

LIMITS = numbers("niosh_limits", "watts_total", "ral_c", "rel_c")
MINUTES = rows("work_minutes_from_limits")
NIOSH = "NIOSH 2016-106 (read second-hand)"
REST_W = 115.0

WBGT = st.floats(-20.0, 60.0)
WATTS = st.floats(100.0, 600.0)


@pytest.mark.parametrize(
    ("watts", "ral", "rel"), LIMITS, ids=[f"{NIOSH} RAL and REL: {row[0]:g} W" for row in LIMITS]
)
def test_limits(watts: float, ral: float, rel: float) -> None:
    assert ral_c(watts) == pytest.approx(ral, abs=0.01)
    assert rel_c(watts) == pytest.approx(rel, abs=0.01)


@pytest.mark.parametrize(
    ("effort", "ral", "rel"),
    [
        ("rest", 30.84, 33.00),
        ("light", 28.10, 30.76),
        ("moderate", 24.97, 28.21),
        ("heavy", 22.99, 26.59),
        ("very heavy", 21.60, 25.47),
    ],
    ids=lambda value: f"{NIOSH} classes: {value}",
)
def test_limits_of_the_classes(effort: EffortClass, ral: float, rel: float) -> None:
    assert ral_c(class_watts(effort)) == pytest.approx(ral, abs=0.01)
    assert rel_c(class_watts(effort)) == pytest.approx(rel, abs=0.01)


def test_every_effort_of_a_plan_has_its_watts() -> None:
    for effort in get_args(Effort):
        assert class_watts(effort) == CLASS_WATTS[effort]
    assert list(CLASS_WATTS) == list(get_args(EffortClass))


@pytest.mark.parametrize(
    "row",
    MINUTES,
    ids=[
        f"{NIOSH} limits, worked by hand: {row['wbgt_eff_c']} C {row['class']} {row['limit']} "
        f"{row['rest_place']}"
        for row in MINUTES
    ],
)
def test_whole_work_minutes(row: dict[str, str]) -> None:
    wbgt = float(row["wbgt_eff_c"])
    rest = wbgt if row["rest_place"] == "same" else 24.0
    watts = CLASS_WATTS[row["class"]]
    minutes = work_minutes_per_hour(wbgt, rest, watts, REST_W, row["limit"] == "REL")
    assert math.floor(minutes + 1e-6) == int(row["work_min_per_h"] or "0")
    # No work time is told by exactly nought, not by a hair of a minute.
    assert (minutes == 0.0) == (row["work_min_per_h"] == "")


@pytest.mark.parametrize(
    ("wbgt", "acclimatized", "minutes"),
    [
        (28.21, True, 60.0),
        (29.05, True, 45.0),
        (30.05, True, 30.0),
        (31.31, True, 15.0),
        (24.97, False, 60.0),
        (26.00, False, 45.0),
        (27.23, False, 30.0),
        (28.77, False, 15.0),
    ],
    ids=lambda value: f"{NIOSH} limits, moderate, rest in place: {value}",
)
def test_work_minutes_resting_in_place(wbgt: float, acclimatized: bool, minutes: float) -> None:
    found = work_minutes_per_hour(wbgt, wbgt, 300.0, REST_W, acclimatized)
    assert found == pytest.approx(minutes, abs=0.1)


@given(wbgt=st.floats(20.0, 35.0), watts=st.floats(150.0, 600.0), acclimatized=st.booleans())
def test_work_minutes_in_place_equal_the_closed_form(
    wbgt: float, watts: float, acclimatized: bool
) -> None:
    at_one, slope = (56.7, 11.5) if acclimatized else (59.9, 14.1)
    bearable = 10.0 ** ((at_one - wbgt) / slope)
    share = min(1.0, max(0.0, (bearable - REST_W) / (watts - REST_W)))
    found = work_minutes_per_hour(wbgt, wbgt, watts, REST_W, acclimatized)
    assert found == pytest.approx(60.0 * share, abs=1e-6)


@given(work=WBGT, rest=WBGT, watts_work=WATTS, watts_rest=WATTS, acclimatized=st.booleans())
def test_no_larger_share_of_work_is_within_the_limit(
    work: float, rest: float, watts_work: float, watts_rest: float, acclimatized: bool
) -> None:
    minutes = work_minutes_per_hour(work, rest, watts_work, watts_rest, acclimatized)
    limit = rel_c if acclimatized else ral_c

    def over(share: float) -> float:
        watts = watts_rest + share * (watts_work - watts_rest)
        return rest + share * (work - rest) - limit(watts)

    assert 0.0 <= minutes <= 60.0
    if minutes > 0.0:
        assert over(minutes / 60.0) <= 1e-6
    first = math.floor(minutes) + 1
    for later in range(first, 61):
        assert over(later / 60.0) > -1e-6


def test_a_cooler_rest_place_buys_work_time_own_run_of_the_chain() -> None:
    garage = wbgt_no_sun_c(35.0, 40.0, 0.1)
    room = wbgt_no_sun_c(26.0, 50.0, 0.1)
    assert round(work_minutes_per_hour(garage, garage, 300.0, REST_W, False)) == 21
    assert round(work_minutes_per_hour(garage, room, 300.0, REST_W, False)) == 43


@given(
    work=WBGT,
    rest=WBGT,
    watts=WATTS,
    acclimatized=st.booleans(),
    hotter=st.floats(0.0, 10.0),
    harder=st.floats(0.0, 300.0),
    cooler=st.floats(0.0, 10.0),
)
def test_harder_or_hotter_never_gives_more_and_a_cooler_rest_never_less(
    work: float,
    rest: float,
    watts: float,
    acclimatized: bool,
    hotter: float,
    harder: float,
    cooler: float,
) -> None:
    now = work_minutes_per_hour(work, rest, watts, REST_W, acclimatized)
    more_watts = min(600.0, watts + harder)
    hot = work_minutes_per_hour(work + hotter, rest, watts, REST_W, acclimatized)
    hard = work_minutes_per_hour(work, rest, more_watts, REST_W, acclimatized)
    cool = work_minutes_per_hour(work, rest - cooler, watts, REST_W, acclimatized)
    assert hot <= now + 1e-6
    assert hard <= now + 1e-6
    assert cool >= now - 1e-6


@given(
    air=st.floats(10.0, 50.0),
    rh=st.floats(1.0, 100.0),
    speed=st.floats(0.0, 5.0),
    warmer=st.floats(0.0, 10.0),
    damper=st.floats(0.0, 50.0),
    effort=st.sampled_from(get_args(EffortClass)),
    acclimatized=st.booleans(),
)
def test_from_the_air_to_the_minutes_hotter_or_damper_never_gives_more(
    air: float,
    rh: float,
    speed: float,
    warmer: float,
    damper: float,
    effort: EffortClass,
    acclimatized: bool,
) -> None:
    def minutes(air_c: float, humidity: float) -> float:
        wbgt = wbgt_no_sun_c(air_c, humidity, speed)
        return work_minutes_per_hour(wbgt, wbgt, class_watts(effort), REST_W, acclimatized)

    now = minutes(air, rh)
    assert minutes(air + warmer, rh) <= now + 1e-4
    assert minutes(air, min(100.0, rh + damper)) <= now + 1e-4


@given(
    air=st.floats(10.0, 50.0),
    rh=st.floats(1.0, 100.0),
    solar=st.floats(0.0, 1000.0),
    sunnier=st.floats(0.0, 400.0),
    acclimatized=st.booleans(),
)
def test_from_the_sky_to_the_minutes_sunnier_never_gives_more(
    air: float, rh: float, solar: float, sunnier: float, acclimatized: bool
) -> None:
    def minutes(solar_wm2: float) -> float:
        wbgt = wbgt_sun_c(air, rh, 1.0, solar_wm2, 0.7, 0.9)
        return work_minutes_per_hour(wbgt, 24.0, 300.0, REST_W, acclimatized)

    assert minutes(solar + sunnier) <= minutes(solar) + 1e-6


@pytest.mark.parametrize(
    ("margin", "acclimatized", "word"),
    [
        (2.01, True, "clear"),
        (2.0, True, "caution"),
        (0.0, True, "caution"),
        (-2.0, True, "caution"),
        (-2.01, True, "over"),
        (2.4, False, "caution"),
        (2.51, False, "clear"),
        (-2.5, False, "caution"),
        (-2.51, False, "over"),
    ],
    ids=lambda value: f"our own judgement: {value}",
)
def test_verdict_bands(margin: float, acclimatized: bool, word: str) -> None:
    assert limit_verdict(margin, acclimatized) == word


def test_clothing_published_adjustments_of_the_wbgt() -> None:
    assert list(CLOTHING_C.values()) == [0.0, 0.5, 1.0, 3.0, 11.0]
