"""The gate before a coating: what asks, what warns, and the margins it prints."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.figures.air import DEW_MARGIN_K, PANEL_RH_STOP, dew_margin_k, panel_rh
from cartclock.engine.figures.gate import (
    GateRule,
    LabelLimits,
    Weight,
    dew_findings,
    findings,
    worst,
)
from tests.figures.check_values import rows

WORKED = rows("surface_gate_worked")
RULES = (
    "dew margin",
    "panel humidity",
    "air humidity",
    "panel temperature",
    "air temperature",
    "sun",
)
# The table's dew point formula is not ours; it lies 0.01 to 0.02 C lower.
FORMULAS_APART_C = 0.03
FORMULAS_APART_RH = 0.2

AIR = st.floats(-40.0, 60.0)
RH = st.floats(1.0, 100.0)
PANEL = st.floats(-40.0, 120.0)


def weights(
    panel_c: float,
    air_c: float,
    rh: float,
    limits: LabelLimits | None = None,
    sun: bool = False,
) -> dict[GateRule, Weight]:
    answers = findings(panel_c, air_c, rh, limits or LabelLimits(), sun)
    assert tuple(answer.rule for answer in answers) == RULES
    return {answer.rule: answer.weight for answer in answers}


@pytest.mark.parametrize(
    "row",
    WORKED,
    ids=[
        ("ISO 8502-4 practice, read second-hand, " if "published" in row["case"] else "worked, ")
        + f"air {row['air C']} C {row['RH']} % panel {row['panel C']} C"
        for row in WORKED
    ],
)
def test_panels_against_the_dew_point(row: dict[str, str]) -> None:
    panel_c, air_c, rh = (float(row[name]) for name in ("panel C", "air C", "RH"))
    margin, at_panel = dew_findings(panel_c, air_c, rh)
    assert (margin.weight == "met") == (row["ok(>=3K)"] == "True")
    assert margin.margin == pytest.approx(
        float(row["margin K"]) - DEW_MARGIN_K, abs=FORMULAS_APART_C
    )
    assert at_panel.margin == pytest.approx(
        PANEL_RH_STOP - float(row["RH at panel %"]), abs=FORMULAS_APART_RH
    )


def test_the_table_has_both_verdicts_and_no_row_at_the_edge() -> None:
    margins = [float(row["margin K"]) for row in WORKED]
    assert any(margin < DEW_MARGIN_K for margin in margins)
    assert all(abs(margin - DEW_MARGIN_K) > 0.5 for margin in margins)


def test_both_forms_of_the_rule_are_said_with_their_margins() -> None:
    margin, at_panel = dew_findings(13.0, 16.0, 71.0)
    assert margin.says == (
        "panel 13.0 C is 2.2 C above the dew point of 10.8 C; 3 C above it is wanted: 0.8 C short"
    )
    assert at_panel.says.endswith("up to 85 % is wanted: 1.2 % short")
    assert "2.0 C below the dew point" in dew_findings(20.0, 22.0, 100.0)[0].says
    assert "to spare" in dew_findings(30.0, 22.0, 50.0)[0].says


def test_a_plain_cool_day_meets_everything() -> None:
    assert set(weights(22.0, 22.0, 50.0).values()) == {"met"}
    assert worst(findings(22.0, 22.0, 50.0)) == "met"
    assert worst([]) == "met"


@pytest.mark.parametrize(
    ("panel_c", "air_c", "rh", "sun", "rule"),
    [
        pytest.param(31.0, 25.0, 40.0, False, "panel temperature", id="common practice, no source"),
        pytest.param(
            36.0,
            25.0,
            40.0,
            False,
            "panel temperature",
            id="handbooks, usual 10-35 C, read second-hand: high",
        ),
        pytest.param(
            9.0,
            12.0,
            30.0,
            False,
            "panel temperature",
            id="handbooks, usual 10-35 C, read second-hand: low",
        ),
        pytest.param(29.0, 36.0, 30.0, False, "air temperature", id="usual range: air high"),
        pytest.param(12.0, 9.0, 50.0, False, "air temperature", id="usual range: air low"),
        pytest.param(25.0, 25.0, 40.0, True, "sun", id="sun: common practice, no source"),
    ],
)
def test_without_a_label_limit_it_only_warns(
    panel_c: float, air_c: float, rh: float, sun: bool, rule: GateRule
) -> None:
    found = weights(panel_c, air_c, rh, sun=sun)
    assert found.pop(rule) == "warn"
    assert set(found.values()) == {"met"}


@pytest.mark.parametrize(
    ("limits", "rule", "margin"),
    [
        (LabelLimits(panel_high_c=24.0), "panel temperature", -1.0),
        (LabelLimits(panel_low_c=27.0), "panel temperature", -2.0),
        (LabelLimits(air_high_c=24.5), "air temperature", -0.5),
        (LabelLimits(air_low_c=26.0), "air temperature", -1.0),
        (LabelLimits(rh_high=35.0), "air humidity", -5.0),
        (LabelLimits(rh_low=45.0), "air humidity", -5.0),
    ],
)
def test_over_a_label_limit_it_asks(limits: LabelLimits, rule: GateRule, margin: float) -> None:
    answers = {answer.rule: answer for answer in findings(25.0, 25.0, 40.0, limits)}
    broken = answers.pop(rule)
    assert (broken.weight, broken.of_label, broken.unit) == (
        "ask",
        True,
        "%" if "humidity" in rule else "C",
    )
    assert broken.margin == pytest.approx(margin)
    assert "the label's" in broken.says
    assert "short" in broken.says
    assert {answer.weight for answer in answers.values()} == {"met"}
    assert worst(findings(25.0, 25.0, 40.0, limits, sun=True)) == "ask"


def test_the_label_takes_the_place_of_the_usual_limit() -> None:
    damp = 86.0
    assert weights(40.0, 30.0, damp)["air humidity"] == "ask"
    assert weights(40.0, 30.0, damp, LabelLimits(rh_high=90.0))["air humidity"] == "met"
    hot = LabelLimits(panel_high_c=50.0, air_high_c=45.0)
    assert weights(40.0, 38.0, 30.0)["air temperature"] == "warn"
    assert weights(40.0, 38.0, 30.0, hot)["air temperature"] == "met"
    # Within its label, a panel over 30 C still gets the advice of the trade.
    assert weights(40.0, 38.0, 30.0, hot)["panel temperature"] == "warn"
    # A label that speaks of one end leaves the usual limit at the other.
    assert weights(8.0, 20.0, 20.0, hot)["panel temperature"] == "warn"


def test_on_a_limit_is_within_it_and_a_hair_over_is_not() -> None:
    limits = LabelLimits(panel_low_c=25.0, panel_high_c=25.0)
    assert weights(25.0, 25.0, 40.0, limits)["panel temperature"] == "met"
    over = findings(25.01, 25.0, 40.0, limits)[3]
    assert over.weight == "ask"
    # Printed margins are cut against the panel, so a broken limit never reads 0.0 short.
    assert over.says.endswith("0.1 C short")


@given(panel=PANEL, air=AIR, rh=RH)
def test_findings_follow_the_figures(panel: float, air: float, rh: float) -> None:
    found = weights(panel, air, rh)
    assert (found["dew margin"] == "ask") == (dew_margin_k(panel, air, rh) < DEW_MARGIN_K)
    assert (found["panel humidity"] == "ask") == (panel_rh(panel, air, rh) > PANEL_RH_STOP)
    for answer in findings(panel, air, rh):
        if answer.margin is None:
            assert answer.rule == "sun"
        else:
            assert (answer.margin >= 0.0) == (answer.weight == "met")


@given(panel=PANEL, air=AIR, rh=RH, damper=st.floats(0.0, 50.0))
def test_damper_air_never_gives_a_larger_margin(
    panel: float, air: float, rh: float, damper: float
) -> None:
    dry, damp = (dew_findings(panel, air, value) for value in (rh, min(100.0, rh + damper)))
    for before, after in zip(dry, damp, strict=True):
        assert before.margin is not None and after.margin is not None
        assert after.margin <= before.margin + 1e-6


@pytest.mark.parametrize("name", ["panel_c", "air_c", "rh"])
@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, 500.0])
def test_impossible_readings_are_refused_by_name(name: str, value: float) -> None:
    taken: dict[str, Any] = {"panel_c": 20.0, "air_c": 20.0, "rh": 50.0, name: value}
    with pytest.raises(ValueError, match=rf"^{name}: "):
        findings(**taken)


@pytest.mark.parametrize(
    ("wrong", "name"),
    [
        ({"panel_high_c": math.nan}, "panel_high_c"),
        ({"air_low_c": -41.0}, "air_low_c"),
        ({"rh_high": 101.0}, "rh_high"),
        ({"panel_low_c": 30.0, "panel_high_c": 10.0}, "panel_low_c"),
        ({"rh_low": 60.0, "rh_high": 40.0}, "rh_low"),
    ],
)
def test_impossible_label_limits_are_refused_by_name(wrong: dict[str, float], name: str) -> None:
    with pytest.raises(ValueError, match=rf"^{name}: "):
        LabelLimits(**wrong)
