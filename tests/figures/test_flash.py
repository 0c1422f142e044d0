"""The flash of a film: the worked cases, what is learned, and where the label stands alone."""

from __future__ import annotations

import math
import random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cartclock.engine.figures.flash import (
    FILM_KINDS,
    SCATTER,
    SLOPE_SDS,
    SLOPES,
    FilmKind,
    FlashClimate,
    LabelRange,
    OwnFlash,
    early_text,
    outlier,
    predict,
    t_quantile,
    terms,
)
from cartclock.engine.figures.gate import LabelLimits
from tests.figures.check_values import rows

WORKED = rows("flash_worked")
THREE_DIGITS = 5e-4
KIND_OF: dict[str, FilmKind] = {"moisture": "moisture cure", "solvent": "solvent", "water": "water"}

REFERENCE = FlashClimate(20.0, 20.0, 50.0)
LABEL = LabelRange(REFERENCE, 60.0, 120.0)
HOT = FlashClimate(32.0, 33.0, 40.0)
LOGS = [
    OwnFlash(seconds, FlashClimate(panel, air, rh))
    for seconds, panel, air, rh in (
        (48.0, 31.0, 32.0, 42.0),
        (52.0, 30.0, 31.0, 45.0),
        (41.0, 33.0, 34.0, 38.0),
        (55.0, 28.0, 30.0, 48.0),
    )
]


def worked(row: dict[str, str]) -> tuple[LabelRange, FlashClimate, list[OwnFlash], FilmKind]:
    kind = KIND_OF[row["kind"]]
    reference = FlashClimate(float(row["ref_ts"]), float(row["ref_t"]), float(row["ref_rh"]))
    low = float(row["label_lo"])
    label = LabelRange(reference, low, float(row["label_hi"] or low))
    own = []
    for item in filter(None, row["logs(sec:ts:t:rh:moving;...)"].split(";")):
        seconds, panel, air, rh, moving = (float(part) for part in item.split(":"))
        own.append(OwnFlash(seconds, FlashClimate(panel, air, rh, moving == 1.0)))
    moves = row["moving"] == "1"
    climate = FlashClimate(float(row["ts"]), float(row["t"]), float(row["rh"]), moves)
    return label, climate, own, kind


@pytest.mark.parametrize("row", WORKED, ids=[f"our own judgement: {r['case']}" for r in WORKED])
def test_the_line_of_the_worked_cases(row: dict[str, str]) -> None:
    found = terms(*worked(row))
    assert found is not None
    for name in ("p10_s", "p50_s", "p90_s"):
        assert getattr(found, name) == pytest.approx(float(row[name]), rel=THREE_DIGITS)


@pytest.mark.parametrize(
    ("case", "why"),
    [
        ("label only, hot dry", []),
        ("4 own logs, hot dry", []),
        ("label only, at reference", []),
        ("solvent wipe, single label value", ["at any time from 8 to 33 s: no time is expected."]),
        ("solvent wipe with fan", ["0.38 times", "at any time from 5 to 26 s"]),
        ("water-based, damp", ["257 s: the label's longest"]),
        (
            "refuse: panel in sun",
            ["Panel 58 C is outside 5 to 45 C", "0.11 times", "at any time from 3 to 28 s"],
        ),
        ("refuse: near dew point", ["above the dew point"]),
        (
            "refuse: outside label RH",
            ["air humidity 75.0 %; the label's highest is 70 %"],
        ),
    ],
)
def test_a_refused_line_says_why_in_degrees_times_and_seconds(case: str, why: list[str]) -> None:
    row = next(row for row in WORKED if row["case"] == case)
    label, climate, own, kind = worked(row)
    limits = LabelLimits(rh_high=70.0) if "label RH" in case else LabelLimits()
    found = predict(label, climate, own, kind, limits)
    assert len(found.refusals) == len(why)
    for sentence, part in zip(found.refusals, why, strict=True):
        assert part.lower() in sentence.lower()
        assert sentence[0].isupper() and sentence.endswith(".")
    if why:
        assert (found.p10_s, found.p90_s) == (label.low_s, label.high_s)
        longest = "longest" in why[-1]
        middle_s = math.sqrt(label.low_s * label.high_s)
        assert found.p50_s == pytest.approx(label.high_s if longest else middle_s)
    elif "reference" not in case:
        for name in ("p10_s", "p50_s", "p90_s"):
            assert getattr(found, name) == pytest.approx(float(row[name]), rel=THREE_DIGITS)
    assert found.off_by_s == min(found.p90_s, label.high_s)


T_TABLE = {
    1: (3.078, 6.314, 12.706, 31.821, 63.657),
    2: (1.886, 2.920, 4.303, 6.965, 9.925),
    3: (1.638, 2.353, 3.182, 4.541, 5.841),
    6: (1.440, 1.943, 2.447, 3.143, 3.707),
    7: (1.415, 1.895, 2.365, 2.998, 3.499),
    10: (1.372, 1.812, 2.228, 2.764, 3.169),
    19: (1.328, 1.729, 2.093, 2.539, 2.861),
    30: (1.310, 1.697, 2.042, 2.457, 2.750),
    60: (1.296, 1.671, 2.000, 2.390, 2.660),
    100: (1.290, 1.660, 1.984, 2.364, 2.626),
}


@pytest.mark.parametrize(
    ("degrees", "tail", "published"),
    [
        pytest.param(
            degrees,
            tail,
            value,
            id=f"upper critical values of t, read second-hand: {degrees} {tail}",
        )
        for degrees, line in T_TABLE.items()
        for tail, value in zip((0.10, 0.05, 0.025, 0.01, 0.005), line, strict=True)
    ],
)
def test_quantiles_of_the_published_table(degrees: int, tail: float, published: float) -> None:
    assert t_quantile(1.0 - tail, degrees) == pytest.approx(published, abs=0.000501)
    assert t_quantile(tail, degrees) == pytest.approx(-published, abs=0.000501)


def test_quantiles_between() -> None:
    assert t_quantile(0.5, 6) == pytest.approx(0.0, abs=1e-9)
    # Many degrees of freedom give the normal distribution.
    assert t_quantile(0.9, 5000) == pytest.approx(1.28155, abs=5e-4)
    for probability, degrees in ((0.0, 6), (1.0, 6), (math.nan, 6), (0.9, 0)):
        with pytest.raises(ValueError, match=r"^(probability|degrees): "):
            t_quantile(probability, degrees)


def test_the_label_is_the_answer_at_its_own_climate() -> None:
    for kind in FILM_KINDS:
        for label in (LABEL, LabelRange(REFERENCE, 60.0, 600.0), LabelRange(REFERENCE, 30.0, 30.0)):
            found = predict(label, REFERENCE, [], kind)
            middle = math.sqrt(label.low_s * label.high_s)
            assert (found.p10_s, found.p90_s, found.refusals) == (label.low_s, label.high_s, ())
            assert found.p50_s == pytest.approx(middle)
    # A wide label is refused as soon as the panel is another.
    assert predict(LabelRange(REFERENCE, 60.0, 600.0), HOT, [], "moisture cure").refusals
    # A degree of the thermometer's own error is not another climate.
    near = predict(LABEL, FlashClimate(20.4, 20.2, 51.0), [], "moisture cure")
    assert (near.p10_s, near.p90_s) == (60.0, 120.0)


def test_own_sections_sharpen_the_label_at_its_own_climate() -> None:
    own = [OwnFlash(70.0, REFERENCE)] * 8
    found = predict(LABEL, REFERENCE, own, "moisture cure")
    assert found.refusals == ()
    assert 65.0 < found.p50_s < 76.0
    assert found.p90_s < 120.0
    slow = predict(LABEL, REFERENCE, [OwnFlash(400.0, REFERENCE)] * 8, "moisture cure")
    assert slow.refusals == ()
    assert (slow.p50_s, slow.off_by_s) == (120.0, 120.0)


def test_the_terms_multiply_to_the_expected_time() -> None:
    found = terms(LABEL, HOT, LOGS, "moisture cure")
    assert found is not None
    assert math.prod(term.times for term in found.terms) == pytest.approx(found.p50_s)
    assert len({term.words for term in found.terms}) == 4
    assert found.degrees == 6 + len(LOGS)
    bare = terms(LABEL, HOT, [], "moisture cure")
    assert bare is not None
    assert [term.slope for term in bare.terms[1:]] == list(SLOPES)
    assert bare.terms[0].times == pytest.approx(math.sqrt(60.0 * 120.0))


def test_a_label_without_a_climate_is_the_label_only() -> None:
    bare = [LabelRange(None, 40.0, 90.0), LabelRange(None, 30.0, 100.0)]
    found = predict(bare, HOT, LOGS, "solvent")
    assert (found.p10_s, found.p90_s, found.off_by_s) == (30.0, 90.0, 90.0)
    assert found.refusals == ("The label names no climate for its time: the label only.",)
    assert terms(bare, HOT, LOGS, "solvent") is None
    assert outlier(OwnFlash(9.0, HOT), bare, LOGS, "solvent") is None
    # One row that names its climate is enough.
    assert terms([*bare, LABEL], HOT, LOGS, "solvent") is not None


def test_several_rows_set_level_and_slope() -> None:
    steep = [LABEL, LabelRange(FlashClimate(30.0, 30.0, 50.0), 20.0, 40.0)]
    one, two = (terms(label, HOT, [], "solvent") for label in (LABEL, steep))
    assert one is not None and two is not None
    by_label = (
        math.log(3.0) / -two.terms[1].x * (1 / 293.15 - 1 / 305.15) / (1 / 293.15 - 1 / 303.15)
    )
    assert one.terms[1].slope == 1.0
    assert by_label * 0.8 < two.terms[1].slope < by_label
    assert two.spread < one.spread
    for row in steep:
        assert row.climate is not None
        found = predict(steep, row.climate, [], "solvent")
        assert (found.p10_s, found.p90_s, found.refusals) == (row.low_s, row.high_s, ())
    gentle = [LABEL, LabelRange(FlashClimate(30.0, 30.0, 50.0), 35.0, 70.0)]
    between = predict(gentle, FlashClimate(25.0, 25.0, 50.0), [], "solvent")
    assert between.refusals == ()
    assert 49.5 < between.p50_s < 84.8
    assert between.off_by_s == 70.0
    # Between rows that lie far apart, the nearer one's longest time holds.
    held = predict(steep, FlashClimate(26.0, 26.0, 50.0), [], "solvent")
    assert (held.p50_s, held.off_by_s) == (40.0, 40.0)
    assert held.refusals[-1].endswith("the label's longest is shown.")
    # Two identical rows say no more than one.
    twice = terms([LABEL, LABEL], HOT, [], "solvent")
    assert twice is not None
    assert twice.p50_s == pytest.approx(one.p50_s)
    assert twice.spread == pytest.approx(one.spread, rel=0.01)


def test_own_sections_near_open_a_climate_far_from_the_label() -> None:
    far = FlashClimate(44.0, 40.0, 30.0)
    near = [OwnFlash(30.0, FlashClimate(43.0, 40.0, 30.0))]
    assert any("times the label's" in why for why in predict(LABEL, far, [], "solvent").refusals)
    five, six = (predict(LABEL, far, near * count, "solvent") for count in (5, 6))
    assert any("with 5 own watched sections" in why for why in five.refusals)
    assert six.refusals == ()
    assert 27.0 < six.p50_s < 33.0
    unwatched = [OwnFlash(30.0, near[0].climate, watched=False)] * 6
    assert any("with 0 own" in why for why in predict(LABEL, far, unwatched, "solvent").refusals)


def test_water_does_not_dry_from_a_wet_panel() -> None:
    wet = FlashClimate(10.0, 20.0, 80.0)
    found = predict(LABEL, wet, [], "water")
    assert any("below the dew point" in why for why in found.refusals)
    assert (found.p10_s, found.off_by_s) == (60.0, 120.0)
    assert terms(LABEL, wet, [], "water") is None
    # A section logged on a wet panel has no place on the line and teaches nothing.
    assert terms(LABEL, HOT, [OwnFlash(500.0, wet)], "water") == terms(LABEL, HOT, [], "water")


@pytest.mark.parametrize(
    ("climate", "part"),
    [
        (FlashClimate(46.0, 25.0, 50.0), "Panel 46 C"),
        (FlashClimate(4.0, 4.0, 20.0), "Panel 4 C"),
        (FlashClimate(40.0, 46.0, 20.0), "Air 46 C"),
        (FlashClimate(30.0, 25.0, 91.0), "Humidity 91 %"),
        (FlashClimate(25.0, 25.0, 9.0), "Humidity 9 %"),
    ],
)
def test_outside_the_range_of_the_model(climate: FlashClimate, part: str) -> None:
    assert any(why.startswith(part) for why in predict(LABEL, climate, [], "solvent").refusals)


def test_label_limits_are_the_gates() -> None:
    limits = LabelLimits(panel_high_c=30.0)
    assert predict(LABEL, HOT, [], "moisture cure").refusals == ()
    (why,) = predict(LABEL, HOT, [], "moisture cure", limits).refusals
    assert "label's highest is 30 C: 2.0 C short: no time is expected." in why


# A line that is refused still says when to look.


def refused_cases() -> list[dict[str, str]]:
    return [row for row in WORKED if row["refusals"] and row["kind"] != "water"]


@pytest.mark.parametrize("row", refused_cases(), ids=[row["case"] for row in refused_cases()])
def test_a_refused_line_before_the_labels_first_mark_says_to_look_early(
    row: dict[str, str],
) -> None:
    """The worked cases of the model, our own judgement."""
    label, climate, own, kind = worked(row)
    limits = LabelLimits(rh_high=70.0) if "label RH" in row["case"] else LabelLimits()
    found = predict(label, climate, own, kind, limits)
    assert found.refusals
    if float(row["p50_s"]) >= label.low_s:
        assert found.look_s is None
        return
    assert found.look_s == pytest.approx(min(label.low_s, float(row["p10_s"])), rel=THREE_DIGITS)
    assert early_text(found, "then") == "May be ready early: look from then."
    # No time is expected: the marks are the label's.
    assert (found.p10_s, found.p90_s) == (label.low_s, label.high_s)


def test_from_three_own_films_near_the_climate_on_they_set_the_look() -> None:
    """At 33 C with a label of 60 to 180 s; films near 41 s, and synthetic slow ones near 100 s."""
    wide = LabelRange(REFERENCE, 60.0, 180.0)
    here = FlashClimate(33.0, 33.0, 45.0)
    limits = LabelLimits(panel_high_c=30.0)
    alone = predict(wide, here, [], "moisture cure", limits)
    assert alone.near == 0
    for seconds in (41.0, 100.0):
        own = [OwnFlash(seconds + more, here) for more in (-2.0, 0.0, 2.0, 1.0, -1.0)]
        two, three = (predict(wide, here, own[:n], "moisture cure", limits) for n in (2, 3))
        assert two.near == 0
        assert three.near == 3
        assert three.look_s is not None
        assert seconds / 2 < three.look_s < seconds
        assert "3 films you watched near this climate" in early_text(three, "0:30")
        # Too far away they set nothing; nor do wipes at our own mark.
        far = [OwnFlash(seconds, FlashClimate(18.0, 20.0, 50.0))] * 5
        assert predict(wide, here, far, "moisture cure", limits).near == 0
        wiped = [OwnFlash(seconds, here, watched=False)] * 5
        assert predict(wide, here, wiped, "moisture cure", limits).near == 0


def test_expected_behind_the_labels_longest_nothing_is_early() -> None:
    cold = FlashClimate(10.0, 10.0, 40.0)
    found = predict(LABEL, cold, [OwnFlash(300.0, cold)] * 4, "moisture cure")
    assert any("longest" in why for why in found.refusals)
    assert (found.look_s, early_text(found, "")) == (None, "")


def test_a_forgotten_press_is_asked_about() -> None:
    asked = outlier(OwnFlash(600.0, HOT), LABEL, LOGS, "moisture cure")
    assert asked is not None
    assert "600 s" in asked and "44 s" in asked and asked.endswith("?")
    assert outlier(OwnFlash(4.0, HOT), LABEL, LOGS, "moisture cure") is not None
    assert outlier(OwnFlash(60.0, HOT), LABEL, LOGS, "moisture cure") is None
    found = terms(LABEL, HOT, LOGS, "moisture cure")
    assert found is not None
    edge_s = found.p50_s * math.exp(3.0 * found.spread)
    assert outlier(OwnFlash(edge_s * 0.999, HOT), LABEL, LOGS, "moisture cure") is None
    assert outlier(OwnFlash(edge_s * 1.001, HOT), LABEL, LOGS, "moisture cure") is not None


def some_climate(draw: random.Random) -> FlashClimate:
    air = draw.uniform(16.0, 34.0)
    return FlashClimate(
        air + draw.uniform(-1.0, 4.0), air, draw.uniform(30.0, 65.0), draw.random() < 0.2
    )


def true_seconds(
    draw: random.Random, climate: FlashClimate, level: float, slopes: list[float]
) -> float:
    """A section as the world makes it, reckoned without the program's own line."""
    kelvin, there = climate.panel_c + 273.15, REFERENCE.panel_c + 273.15
    x1 = 45_000.0 / 8.314 * (1.0 / there - 1.0 / kelvin)
    return math.exp(level - slopes[0] * x1 - slopes[2] * climate.moving + draw.gauss(0.0, SCATTER))


def test_the_band_holds_four_in_five_of_synthetic_sections() -> None:
    draw = random.Random(20)
    held = asked = 0
    for _ in range(120):
        level = draw.gauss(math.log(math.sqrt(60.0 * 120.0)), math.log(2.0) / 2.563)
        slopes = [draw.gauss(m, sd) for m, sd in zip(SLOPES, SLOPE_SDS, strict=True)]
        own: list[OwnFlash] = []
        for _ in range(12):
            climate = some_climate(draw)
            seconds = true_seconds(draw, climate, level, slopes)
            found = terms(LABEL, climate, own, "solvent")
            assert found is not None
            asked += 1
            held += found.p10_s <= seconds <= found.p90_s
            own.append(OwnFlash(seconds, climate))
    assert asked == 1440
    assert 0.75 <= held / asked <= 0.86


def learned_s(watched_only: bool) -> float:
    """What is expected after forty sections of a worker who wipes at our first mark.

    Every fifth section is watched to the moment it is ready, at 90 s give or take; the
    others are wiped when the screen says to start looking.
    """
    draw = random.Random(7)
    own: list[OwnFlash] = []
    for count in range(40):
        found = terms(LABEL, REFERENCE, own, "solvent")
        assert found is not None
        ready_s = 90.0 * math.exp(draw.gauss(0.0, 0.2))
        if count % 5 == 0:
            own.append(OwnFlash(ready_s, REFERENCE))
        else:
            own.append(OwnFlash(found.p10_s, REFERENCE, watched=not watched_only))
    found = terms(LABEL, REFERENCE, own, "solvent")
    assert found is not None
    return found.p50_s


def test_who_wipes_at_our_mark_does_not_drag_the_model() -> None:
    assert learned_s(watched_only=True) == pytest.approx(90.0, rel=0.15)
    # The same day, taking the wipes for what the film did: our own advice comes back.
    assert learned_s(watched_only=False) < 60.0


PANEL = st.floats(-40.0, 120.0)
AIR = st.floats(-40.0, 60.0)
RH = st.floats(1.0, 100.0)
CLIMATE = st.builds(FlashClimate, PANEL, AIR, RH, st.booleans())
OWN = st.lists(st.builds(OwnFlash, st.floats(1.0, 3600.0), CLIMATE, st.booleans()), max_size=6)
ROW = st.builds(
    lambda climate, low, times: LabelRange(climate, low, low * times),
    CLIMATE,
    st.floats(5.0, 600.0),
    st.floats(1.0, 5.0),
)
KIND = st.sampled_from(FILM_KINDS)


@settings(max_examples=80)
@given(
    label=st.lists(ROW, min_size=1, max_size=3),
    here=CLIMATE,
    own=OWN,
    kind=KIND,
    hotter=st.floats(0.0, 60.0),
)
def test_a_hotter_panel_never_flashes_slower(
    label: list[LabelRange], here: FlashClimate, own: list[OwnFlash], kind: FilmKind, hotter: float
) -> None:
    there = FlashClimate(min(120.0, here.panel_c + hotter), here.air_c, here.rh, here.moving)
    cool, hot = (terms(label, climate, own, kind) for climate in (here, there))
    if cool is not None:
        assert hot is not None
        assert hot.p50_s <= cool.p50_s * (1.0 + 1e-6)
        assert hot.p10_s <= hot.p50_s <= hot.p90_s


SHOP = st.builds(FlashClimate, st.floats(5.0, 45.0), st.floats(5.0, 40.0), st.floats(15.0, 85.0))
SHOP_OWN = st.lists(st.builds(OwnFlash, st.floats(15.0, 200.0), SHOP), max_size=5)


@settings(max_examples=80)
@given(here=SHOP, own=SHOP_OWN, kind=KIND, hotter=st.floats(0.0, 20.0))
def test_a_hotter_panel_is_never_expected_later(
    here: FlashClimate, own: list[OwnFlash], kind: FilmKind, hotter: float
) -> None:
    there = FlashClimate(min(45.0, here.panel_c + hotter), here.air_c, here.rh)
    cool, hot = (predict(LABEL, climate, own, kind) for climate in (here, there))
    for found in (cool, hot):
        assert found.p10_s <= found.p50_s <= found.off_by_s + 1e-9 or found.off_by_s < found.p50_s
        assert found.off_by_s == min(found.p90_s, 120.0)
    if not cool.refusals and not hot.refusals:
        assert hot.p50_s <= cool.p50_s * (1.0 + 1e-6)


@settings(max_examples=60)
@given(label=st.lists(ROW, min_size=1, max_size=3), here=CLIMATE, own=OWN, kind=KIND)
def test_unwatched_sections_change_nothing(
    label: list[LabelRange], here: FlashClimate, own: list[OwnFlash], kind: FilmKind
) -> None:
    watched = [flash for flash in own if flash.watched]
    assert predict(label, here, own, kind) == predict(label, here, watched, kind)


@settings(max_examples=60)
@given(climate=SHOP, own=SHOP_OWN, seconds=st.floats(15.0, 200.0))
def test_learning_a_section_moves_toward_it(
    climate: FlashClimate, own: list[OwnFlash], seconds: float
) -> None:
    before, after = (
        terms(LABEL, climate, sections, "solvent")
        for sections in (own, [*own, OwnFlash(seconds, climate)])
    )
    assert before is not None and after is not None
    if before.terms[1].slope > 0.0 and after.terms[1].slope > 0.0:
        assert (
            min(before.p50_s, seconds) * 0.999 <= after.p50_s <= max(before.p50_s, seconds) * 1.001
        )


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, 500.0])
def test_impossible_climates_are_refused_by_name(value: float) -> None:
    for name in ("panel_c", "air_c", "rh"):
        taken: dict[str, Any] = {"panel_c": 20.0, "air_c": 20.0, "rh": 50.0, name: value}
        with pytest.raises(ValueError, match=rf"^{name}: "):
            FlashClimate(**taken)


@pytest.mark.parametrize("value", [math.nan, math.inf, 0.0, -5.0, 1e6])
def test_impossible_times_are_refused_by_name(value: float) -> None:
    with pytest.raises(ValueError, match=r"^low_s: "):
        LabelRange(None, value, 60.0)
    with pytest.raises(ValueError, match=r"^(low|high)_s: "):
        LabelRange(None, 60.0, value)
    with pytest.raises(ValueError, match=r"^seconds: "):
        OwnFlash(value, HOT)


def test_a_label_and_a_kind_must_be_there() -> None:
    unknown: Any = "wax"
    with pytest.raises(ValueError, match=r"^low_s: 60 is above high_s, 30"):
        LabelRange(None, 60.0, 30.0)
    with pytest.raises(ValueError, match=r"^kind: 'wax' is none of solvent"):
        predict(LABEL, HOT, [], unknown)
    with pytest.raises(ValueError, match=r"^label: no row"):
        predict([], HOT, [], "solvent")
