"""The printed work/rest schedule and what its notes add to the air temperature."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.figures.heat import adjusted_air_f, niosh_table_minutes
from cartclock.engine.plan.plan import Effort
from tests.figures.check_values import rows

TABLE = rows("niosh_work_rest")
ADDS = rows("niosh_work_rest_adjustments")
SUN_NAMES = {
    "full sun (no clouds)": "full sun",
    "partly cloudy/overcast": "cloud",
    "shade/night/no shadows": "shade",
}
TABLE_6_2 = "NIOSH 2016-106 table 6-2"


@pytest.mark.parametrize("row", TABLE, ids=[f"{TABLE_6_2}: {row['adj_temp_f']} F" for row in TABLE])
def test_schedule(row: dict[str, str]) -> None:
    for effort in ("light", "moderate", "heavy"):
        cell = row[f"{effort}_work_min"]
        printed = None if cell == "caution" else int(cell)
        assert niosh_table_minutes(float(row["adj_temp_f"]), effort) == printed


def test_beyond_the_schedule_our_own_judgement() -> None:
    assert niosh_table_minutes(60.0, "heavy") == 60
    assert niosh_table_minutes(120.0, "light") is None
    assert niosh_table_minutes(99.2, "moderate") == niosh_table_minutes(100.0, "moderate") == 45
    assert niosh_table_minutes(94.0 + 1e-9, "heavy") == 60
    assert niosh_table_minutes(106.0, "rest") == niosh_table_minutes(106.0, "light") == 45


@pytest.mark.parametrize(
    "row",
    ADDS,
    ids=[f"NIOSH 2016-106 notes to table 6-2 (read second-hand): {r['value']}" for r in ADDS],
)
def test_adjustments(row: dict[str, str]) -> None:
    if row["kind"] == "sun":
        adjusted = adjusted_air_f(95.0, 30.0, SUN_NAMES[row["value"]])
    else:
        adjusted = adjusted_air_f(95.0, float(row["value"]), "shade")
    assert adjusted == (95.0 + float(row["add_f"]), False)


def test_between_and_beyond_the_printed_humidities_our_own_judgement() -> None:
    assert adjusted_air_f(95.0, 45.0, "shade") == (95.0 + 4.5, False)
    assert adjusted_air_f(95.0, 4.0, "shade") == (95.0 - 8.0, False)
    assert adjusted_air_f(95.0, 60.1, "cloud") == (95.0 + 7.0 + 9.0, True)
    assert adjusted_air_f(95.0, 100.0, "full sun") == (95.0 + 13.0 + 9.0, True)


@given(
    air=st.floats(60.0, 120.0),
    rh=st.floats(1.0, 100.0),
    hotter=st.floats(0.0, 20.0),
    damper=st.floats(0.0, 60.0),
    efforts=st.sampled_from([("light", "moderate"), ("moderate", "heavy"), ("light", "light")]),
    covers=st.sampled_from([("shade", "cloud"), ("cloud", "full sun"), ("shade", "shade")]),
)
def test_the_schedule_never_gives_more_for_hotter_damper_harder_or_sunnier(
    air: float,
    rh: float,
    hotter: float,
    damper: float,
    efforts: tuple[str, str],
    covers: tuple[str, str],
) -> None:
    mild = adjusted_air_f(air, rh, covers[0]).air_f
    harsh = adjusted_air_f(air + hotter, min(100.0, rh + damper), covers[1]).air_f
    before = niosh_table_minutes(mild, efforts[0]) or 0
    assert (niosh_table_minutes(harsh, efforts[1]) or 0) <= before


def test_every_effort_of_a_plan_is_read_in_a_column() -> None:
    for effort in get_args(Effort):
        assert niosh_table_minutes(80.0, effort) == 60
        assert niosh_table_minutes(112.0, effort) is None
