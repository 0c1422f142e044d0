"""Isopropyl alcohol in a closed garage against the published limits."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.figures.vapour import (
    AVERAGE_LIMIT_PPM,
    DANGER_PPM,
    SHORT_TERM_LIMIT_PPM,
    Level,
    garage_m3,
    isopropyl_mg_m3,
    isopropyl_ppm,
    level,
    vapour_text,
    wipe_ml_to,
)
from tests.figures.check_values import rows

WORKED = rows("isopropyl_vapour")
ML = st.floats(0.0, 10_000.0)
SHARE = st.floats(0.01, 1.0)
ROOM = st.floats(5.0, 100_000.0)


@pytest.mark.parametrize(
    "row",
    WORKED,
    ids=[
        "NIOSH Pocket Guide, isopropyl alcohol: "
        f"{row['wipe used ml']} ml of {row['alcohol v/v']} in {row['garage m3']} m3"
        for row in WORKED
    ],
)
def test_vapour_of_the_worked_garages(row: dict[str, str]) -> None:
    used = float(row["wipe used ml"]), float(row["alcohol v/v"]), float(row["garage m3"])
    mg_m3 = float(row["mg/m3 if all evaporates, no ventilation"])
    assert isopropyl_mg_m3(*used) == pytest.approx(mg_m3, abs=0.051)
    ppm = isopropyl_ppm(*used)
    assert ppm == pytest.approx(float(row["ppm (1 ppm=2.46 mg/m3 NIOSH)"]), abs=0.051)
    assert (ppm > AVERAGE_LIMIT_PPM) == (row["> REL TWA 400"] == "True")
    assert (ppm > SHORT_TERM_LIMIT_PPM) == (row["> ST 500"] == "True")


@pytest.mark.parametrize(
    ("limit_ppm", "printed_mg_m3"),
    [
        pytest.param(AVERAGE_LIMIT_PPM, 980.0, id="NIOSH Pocket Guide, isopropyl alcohol, TWA"),
        pytest.param(SHORT_TERM_LIMIT_PPM, 1225.0, id="NIOSH Pocket Guide, isopropyl alcohol, ST"),
    ],
)
def test_limits_in_both_printed_units(limit_ppm: float, printed_mg_m3: float) -> None:
    # The guide rounds the second to the nearest 5 mg/m3.
    ml = wipe_ml_to(limit_ppm, 1.0, 60.0)
    assert isopropyl_mg_m3(ml, 1.0, 60.0) == pytest.approx(printed_mg_m3, abs=5.0)


@pytest.mark.parametrize(
    ("ppm", "name"),
    [
        (0.0, "under the limits"),
        (400.0, "under the limits"),
        (400.1, "over the average"),
        (500.0, "over the average"),
        (500.1, "over the short term"),
        (2000.0, "over the short term"),
        (2000.1, "dangerous"),
    ],
)
def test_levels_and_their_sentences(ppm: float, name: Level) -> None:
    assert level(ppm) == name
    said = vapour_text(ppm)
    assert said.startswith(f"about {ppm:.0f} ppm, ")
    assert "screening estimate" in said


def test_every_sentence_says_what_to_do() -> None:
    said = [vapour_text(ppm) for ppm in (100.0, 450.0, 600.0, 3000.0)]
    assert len(set(said)) == 4
    assert all("open the door" in sentence for sentence in said[:3])
    assert "nothing that sparks" in said[3]
    assert f"{DANGER_PPM:g} ppm" in said[3]


@given(ml=ML, share=SHARE, room=ROOM, more=st.floats(0.0, 5_000.0))
def test_more_wipe_or_a_smaller_room_is_never_thinner(
    ml: float, share: float, room: float, more: float
) -> None:
    here = isopropyl_ppm(ml, share, room)
    assert isopropyl_ppm(min(10_000.0, ml + more), share, room) >= here
    assert isopropyl_ppm(ml, share, max(5.0, room / 2.0)) >= here


@given(limit=st.floats(1.0, 2000.0), share=SHARE, room=st.floats(5.0, 500.0))
def test_the_amount_to_a_limit_reaches_it(limit: float, share: float, room: float) -> None:
    ml = wipe_ml_to(limit, share, room)
    if ml <= 10_000.0:
        assert isopropyl_ppm(ml, share, room) == pytest.approx(limit)


def test_a_room_is_measured_in_three_sides() -> None:
    assert garage_m3(6.0, 4.0, 2.5) == pytest.approx(60.0)
    with pytest.raises(ValueError, match=r"^garage_m3: "):
        garage_m3(1.0, 1.0, 1.0)


@pytest.mark.parametrize("value", [math.nan, math.inf, -1.0, 1e9])
def test_impossible_input_is_refused_by_name(value: float) -> None:
    for name in ("wipe_ml", "alcohol_share", "garage_m3"):
        taken = {"wipe_ml": 100.0, "alcohol_share": 0.7, "garage_m3": 60.0, name: value}
        for figure in (isopropyl_mg_m3, isopropyl_ppm):
            with pytest.raises(ValueError, match=rf"^{name}: "):
                figure(**taken)
    for name in ("length_m", "width_m", "height_m"):
        with pytest.raises(ValueError, match=rf"^{name}: "):
            garage_m3(**{"length_m": 6.0, "width_m": 4.0, "height_m": 2.5, name: value})
    for name in ("limit_ppm", "alcohol_share", "garage_m3"):
        taken = {"limit_ppm": 400.0, "alcohol_share": 0.7, "garage_m3": 60.0, name: value}
        with pytest.raises(ValueError, match=rf"^{name}: "):
            wipe_ml_to(**taken)
    for judged in (level, vapour_text):
        with pytest.raises(ValueError, match=r"^ppm: "):
            judged(value)


@pytest.mark.parametrize("name", ["limit_ppm", "alcohol_share"])
def test_nothing_reaches_no_limit(name: str) -> None:
    taken = {"limit_ppm": 400.0, "alcohol_share": 0.7, "garage_m3": 60.0, name: 0.0}
    with pytest.raises(ValueError, match=rf"^{name}: "):
        wipe_ml_to(**taken)
