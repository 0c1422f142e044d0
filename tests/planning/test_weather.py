"""The air of a day by the hour: against the published curve, and from tables."""

from __future__ import annotations

import csv
import datetime
from functools import partial
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.planning.weather import by_forecast, by_reading, by_table
from cartclock.engine.store.hours_file import TABLE_BYTES, TABLE_ROWS, read_hours, text_of
from cartclock.engine.trouble import PlanFault, Refused
from tests.figures.check_values import numbers

DAY = datetime.date(2026, 7, 24)
ROWS = numbers("day_curve", "tmax", "tmin", "td", "hour", "T_ashrae", "RH_ashrae")
HEAD = "time,air_c,rh\n"


def test_a_forecast_is_the_published_curve() -> None:
    # Source of the table: ASHRAE fractions of the daily range, another vapour formula.
    for high_c, low_c, dew_c, hour, air_c, rh in ROWS:
        found = by_forecast(low_c, high_c, dew_c).hours[int(hour) % 24]
        assert found.air_c == pytest.approx(air_c, abs=1e-9)
        assert found.rh == pytest.approx(rh, abs=0.1)


def test_a_place_that_is_warmer_is_warmer_all_day_at_one_dew_point() -> None:
    plain, over = by_forecast(18, 30, 12), by_forecast(18, 30, 12, over_c=2.5)
    for one, other in zip(plain.hours, over.hours, strict=True):
        assert other.air_c - one.air_c == pytest.approx(2.5)
        assert other.dew_c == one.dew_c == 12
        assert other.rh < one.rh
    assert "2.5 C over it" in over.said
    assert "over" not in plain.said


def test_a_reading_lies_on_its_own_day() -> None:
    found = by_reading(28.0, 50.0, 11.0, 12.0, "11:00")
    assert found.hours[11].air_c == pytest.approx(28.0)
    assert found.hours[11].rh == pytest.approx(50.0)
    airs = [one.air_c for one in found.hours]
    assert max(airs) - min(airs) == pytest.approx(12.0)


@given(
    low_c=st.floats(-10, 30), range_c=st.floats(0, 25), dew_c=st.floats(-20, 35),
    over_c=st.floats(-5, 5),
)  # fmt: skip
def test_air_is_never_under_its_dew_point(
    low_c: float, range_c: float, dew_c: float, over_c: float
) -> None:
    for one in by_forecast(low_c, low_c + range_c, dew_c, over_c).hours:
        assert one.dew_c <= one.air_c
        assert 1 <= one.rh <= 100


def test_between_two_hours_a_straight_line_and_beyond_them_their_ends() -> None:
    found = by_table({6: (20.0, 10.0), 9: (26.0, 13.0)}, "morning.csv")
    assert [round(one.air_c, 6) for one in found.hours[5:11]] == [20, 20, 22, 24, 26, 26]
    assert found.hours[7].dew_c == pytest.approx(11.0)
    assert "06:00 to 09:00" in found.said


def test_a_table_of_hours_is_read_by_the_names_of_its_columns() -> None:
    text = (
        "station,Time,RH,air_c\nnorth,2026-07-24 05:00,80,18\nnorth,2026-07-24T06:00,75.5,19.5\n"
        "north,2026-07-24 06:30,70,20\nnorth,2026-07-25 05:00,10,40\n"
    )
    found = read_hours(text, "hours.csv", DAY)
    assert sorted(found) == [5, 6]
    assert found[5][0] == 18.0
    # Magnus over water gives 14.51 for 18 C and 80 %; from memory, another formula than ours.
    assert found[5][1] == pytest.approx(14.5, abs=0.1)


def test_fahrenheit_and_dew_point_and_hours_of_every_day() -> None:
    found = read_hours("time,air_f,dew_f\n05:00,68,50\n06:00,77,50\n", "hours.csv", DAY)
    assert found == {5: (pytest.approx(20), pytest.approx(10)), 6: (25, pytest.approx(10))}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "names no column for time"),
        ("time,air_c\n05:00,20\n", "no column for humidity; call it rh or dew_c or dew_f"),
        (HEAD, "no whole hour of 2026-07-24"),
        (HEAD + "five,20,50\n", 'line 2: "five" is no time'),
        (HEAD + "05:00,hot,50\n", 'air "hot" is not a number from -30 to 60 C'),
        (HEAD + "05:00,20,0\n", "humidity"),
        (HEAD + "05:00,nan,50\n", '"nan" is not a number'),
        (HEAD + "05:00,20,50\n05:00,21,50\n", "05:00 is there twice"),
        (HEAD + "05:00,20,50\n09:00,21,50\n", "from 05:00 to 09:00 nothing is told"),
        (HEAD + "05:00,20\n", 'humidity "" is not'),
        (HEAD + "x,1,1\n" * (TABLE_ROWS + 1), "is no time"),
        (HEAD + "2026-07-25 05:00,20,50\n" * (TABLE_ROWS + 1), f"more than {TABLE_ROWS} lines"),
        ("\r" + HEAD, "not a table"),
        (HEAD + '"' + "x" * 140_000 + '"\n', "not a table"),
    ],
)
def test_what_is_no_table_of_hours_is_named(
    text: str, said: str, request: pytest.FixtureRequest
) -> None:
    # The limit belongs to the process, and a library that was imported before may have raised it.
    request.addfinalizer(partial(csv.field_size_limit, csv.field_size_limit(131_072)))
    with pytest.raises(PlanFault, match=r"hours\.csv") as fault:
        read_hours(text, "hours.csv", DAY)
    sentences = str(fault.value).splitlines()
    assert said in str(fault.value)
    assert all(one.startswith("hours.csv") and one.endswith(".") for one in sentences)
    assert len(sentences) <= 5


def test_a_file_that_is_no_text_of_that_size_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "hours.csv"
    with pytest.raises(Refused, match="cannot be read: No such file"):
        text_of(path)
    path.write_bytes(b"\xef\xbb\xbftime")
    assert text_of(path) == "time"
    for data, said in ((b"\xff", "not UTF-8"), (b"x" * (TABLE_BYTES + 1), "larger than 256 KB")):
        path.write_bytes(data)
        with pytest.raises(PlanFault, match=said):
            text_of(path)
