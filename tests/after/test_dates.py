"""Aftercare dates and clock times: published examples, month ends, clock changes."""

from __future__ import annotations

import calendar
import csv
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.after.dues import Duration, dues, parsed_duration
from cartclock.engine.dates import (
    clock_text,
    hour_minutes,
    hours_text,
    instant,
    local,
    spoken,
    spoken_day,
)
from cartclock.engine.plan.plan import Aftercare

ZONES = (
    "UTC",
    "America/New_York",
    "Europe/Berlin",
    "Europe/Dublin",
    "Australia/Sydney",
    "Australia/Lord_Howe",
    "America/Phoenix",
    "Asia/Kolkata",
    "Pacific/Apia",
)
HOUR_US = 3_600_000_000
# 2000 to 2037: the years for which zone rules are written out.
INSTANTS = st.integers(946_684_800_000_000, 2_140_000_000_000_000)


def rows(name: str) -> list[dict[str, str]]:
    """The rows of a table of check values; its first line names the source."""
    lines = (Path(__file__).parent / "vectors" / name).read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# source: ")
    found = list(csv.DictReader(lines[1:]))
    assert found
    return found


def us(text: str) -> int:
    """Microseconds UTC of an ISO 8601 text that carries its offset."""
    at = datetime.fromisoformat(text)
    assert at.tzinfo is not None
    return round(at.timestamp()) * 1_000_000


def care(**keys: object) -> Aftercare:
    """An aftercare with these keys."""
    return Aftercare(say="Keep it dry.", source="label of the pack", **keys)  # type: ignore[arg-type]  # keys vary by test


CLOCK_CHANGES = rows("dst_48h_7d.csv")
CLOCK_CHANGE_IDS = [f"RFC 5545 3.3.6 {r['zone']} {r['job end']}" for r in CLOCK_CHANGES]


@pytest.mark.parametrize("row", CLOCK_CHANGES, ids=CLOCK_CHANGE_IDS)
def test_hours_are_elapsed_and_days_are_calendar(row: dict[str, str]) -> None:
    zone, anchor_us = row["zone"], us(row["job end"])
    (dry,) = dues(care(until="PT48H"), anchor_us, zone)
    assert dry.at_us == us(row["+48 h elapsed (correct)"])
    assert dry.day == ""
    assert dry.at_us == us(row["same in UTC for DTSTART"])

    (week,) = dues(care(from_="P7D"), anchor_us, zone)
    assert (week.at_us, week.day) == (None, row["+7 days as DATE"])
    (same_week,) = dues(care(from_="P1W"), anchor_us, zone)
    assert same_week.day == week.day

    (hours,) = dues(care(until="PT168H"), anchor_us, zone)
    assert hours.at_us == us(row["+168 h elapsed"])


@pytest.mark.parametrize("row", CLOCK_CHANGES, ids=CLOCK_CHANGE_IDS)
def test_clock_time_48_h_on_is_wrong_only_where_the_clocks_change(row: dict[str, str]) -> None:
    (dry,) = dues(care(until="PT48H"), us(row["job end"]), row["zone"])
    assert dry.at_us is not None
    wall = us(row["aware+timedelta(hours=48) (wall clock: wrong for elapsed)"])
    passed_h = float(row["hours really passed in that"])
    assert (dry.at_us - wall) / HOUR_US == 48 - passed_h


GAP_FOLD = rows("dst_gap_fold.csv")


@pytest.mark.parametrize(
    "row", GAP_FOLD, ids=[f"RFC 5545 3.3.5 {r['zone']} {r['local']}" for r in GAP_FOLD]
)
def test_times_that_are_missing_or_double(row: dict[str, str]) -> None:
    text = row["local"].replace("T", " ").removesuffix(":00")
    assert instant(text, row["zone"]) == us(row["zoneinfo fold=0 UTC"])
    assert instant(text, row["zone"]) != us(row["zoneinfo fold=1 UTC"])


DURATIONS = rows("rfc5545_durations.csv")


@pytest.mark.parametrize(
    "row",
    [r for r in DURATIONS if r["RFC 5545 dur-value?"] == "yes" and not r["text"].startswith("-")],
    ids=lambda r: f"RFC 5545 3.3.6 {r['text']}",
)
def test_durations_of_the_standard(row: dict[str, str]) -> None:
    found = parsed_duration(row["text"])
    assert found.calendar is (not row["kind"].startswith("exact"))
    if row["seconds if exact"]:
        assert found.elapsed_us == int(row["seconds if exact"]) * 1_000_000


@pytest.mark.parametrize("text", ["P1W2D", "PT0.5H", "48H"], ids="RFC 5545 3.3.6 no {}".format)
def test_not_durations_by_the_standard(text: str) -> None:
    assert any(r["text"] == text and r["RFC 5545 dur-value?"].startswith("no") for r in DURATIONS)
    with pytest.raises(ValueError, match="is not a duration"):
        parsed_duration(text)


@pytest.mark.parametrize(
    "text",
    ["", "P", "PT", "P1DT", "-PT15M", "+P1D", "p7d", "P7D ", "P7D\n", "P٣D", "P1M1Y", "P1H", "P1T"],
)
def test_durations_that_cannot_be_read(text: str) -> None:
    with pytest.raises(ValueError, match="is not a duration"):
        parsed_duration(text)


@pytest.mark.parametrize("text", ["P0D", "PT0H", "P0W", "P0Y0M0DT0H0M0S"])
def test_a_duration_of_nothing_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="has no length"):
        parsed_duration(text)


@pytest.mark.parametrize(
    ("text", "parts", "words"),
    [
        ("PT48H", Duration(hours=48), "48 hours"),
        ("PT1H", Duration(hours=1), "1 hour"),
        ("PT90M", Duration(minutes=90), "90 minutes"),
        ("P7D", Duration(days=7), "7 days"),
        ("P2W", Duration(weeks=2), "2 weeks"),
        ("P6M", Duration(months=6), "6 months"),
        ("PT6M", Duration(minutes=6), "6 minutes"),
        ("P1Y", Duration(years=1), "1 year"),
        ("P1DT12H", Duration(days=1, hours=12), "1 day 12 hours"),
    ],
    ids=str,
)
def test_a_duration_is_said_as_the_label_says_it(text: str, parts: Duration, words: str) -> None:
    assert parsed_duration(text) == parts
    assert str(parts) == words


@pytest.mark.parametrize(
    ("end", "text", "day"),
    [
        ("2026-01-31", "P1M", "2026-02-28"),
        ("2024-01-31", "P1M", "2024-02-29"),
        ("2026-08-31", "P6M", "2027-02-28"),
        ("2024-02-29", "P1Y", "2025-02-28"),
        ("2024-02-29", "P4Y", "2028-02-29"),
        ("2024-02-29", "P1Y1M", "2025-03-29"),
        ("2026-12-31", "P1D", "2027-01-01"),
        ("2028-02-28", "P1D", "2028-02-29"),
        ("2026-01-31", "P1M1D", "2026-03-01"),
    ],
    ids=lambda value: f"common practice, no source: {value}" if value[0] == "P" else value,
)
def test_month_ends_and_leap_days(end: str, text: str, day: str) -> None:
    (due,) = dues(care(until=text), instant(f"{end} 18:00", "Europe/Berlin"), "Europe/Berlin")
    assert (due.day, due.at_us) == (day, None)


def test_repeats_are_counted_from_the_anchor() -> None:
    anchor_us = instant("2026-01-31 17:00", "Europe/Berlin")
    found = dues(care(every="P1M", times=4, visit=True), anchor_us, "Europe/Berlin")
    assert [due.day for due in found] == ["2026-02-28", "2026-03-31", "2026-04-30", "2026-05-31"]
    assert [(due.nth, due.of) for due in found] == [(1, 4), (2, 4), (3, 4), (4, 4)]
    assert {(due.kind, due.visit, due.duration) for due in found} == {("every", True, "1 month")}

    leap = dues(care(every="P1Y", times=4), instant("2024-02-29 12:00", "UTC"), "UTC")
    assert [due.day for due in leap] == ["2025-02-28", "2026-02-28", "2027-02-28", "2028-02-29"]


def test_repeats_of_hours_are_elapsed() -> None:
    anchor_us = us("2026-10-24T14:00:00+02:00")
    found = dues(care(every="PT24H", times=2), anchor_us, "Europe/Berlin")
    assert [spoken(due.at_us or 0, "Europe/Berlin") for due in found] == [
        "Sun 25 Oct 2026 13:00",
        "Mon 26 Oct 2026 13:00",
    ]


def test_one_item_may_owe_a_beginning_an_end_and_repeats() -> None:
    item = care(from_="P7D", until="P14D", every="P6M", times=2)
    found = dues(item, instant("2026-05-01 10:00", "UTC"), "UTC")
    assert [(due.kind, due.day, due.nth, due.of) for due in found] == [
        ("from", "2026-05-08", 1, 1),
        ("until", "2026-05-15", 1, 1),
        ("every", "2026-11-01", 1, 2),
        ("every", "2027-05-01", 2, 2),
    ]
    assert dues(care(), 0, "UTC") == ()


def test_a_due_carries_what_the_plan_says() -> None:
    item = Aftercare(say="Keep it dry.", source="example", until="PT48H", if_not="Dry it at once.")
    (due,) = dues(item, 0, "UTC")
    assert (due.say, due.source, due.if_not) == ("Keep it dry.", "example", "Dry it at once.")
    assert due.example is True
    (own,) = dues(care(until="PT48H"), 0, "UTC")
    assert (own.example, own.source, own.duration) == (False, "label of the pack", "48 hours")


def test_the_day_is_that_of_the_zone() -> None:
    anchor_us = us("2026-06-01T23:30:00+00:00")
    for zone, day in [("UTC", "2026-06-08"), ("Europe/Berlin", "2026-06-09")]:
        assert dues(care(from_="P7D"), anchor_us, zone)[0].day == day


def test_days_with_hours_go_the_days_first() -> None:
    # One night with the change: the day is 23 h long, the 12 h are 12 h.
    anchor_us = us("2026-03-28T14:00:00+01:00")
    (due,) = dues(care(until="P1DT12H"), anchor_us, "Europe/Berlin")
    assert (due.at_us, due.day) == (us("2026-03-30T02:00:00+02:00"), "")
    # The day ends in the hour that is missing: the offset before the gap counts.
    (gap,) = dues(care(until="P1DT1H"), us("2026-03-28T02:30:00+01:00"), "Europe/Berlin")
    assert gap.at_us == us("2026-03-29T04:30:00+02:00")


@pytest.mark.parametrize("text", ["P9000Y", "P999999M", "P999999W", "PT99999999H"])
def test_dates_beyond_the_calendar_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"leaves the calendar|is not a duration"):
        dues(care(until=text), 0, "UTC")


def test_no_repeats_are_refused() -> None:
    with pytest.raises(ValueError, match="0 repeats"):
        dues(care(every="P6M", times=0), 0, "UTC")


@pytest.mark.parametrize("zone", ["", "Nowhere/Land", "Europe", "../etc", "/etc", "a\0b", "local"])
def test_an_unknown_zone_is_named(zone: str) -> None:
    for asked in (
        lambda: local(0, zone),
        lambda: spoken(0, zone),
        lambda: instant("2026-01-01 00:00", zone),
        lambda: dues(care(until="PT48H"), 0, zone),
        lambda: dues(care(until="P7D"), 0, zone),
    ):
        with pytest.raises(ValueError, match="is not a time zone") as caught:
            asked()
        assert f'"{zone}"' in str(caught.value)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "2026-11-26",
        "26.11.2026 14:00",
        "2026-11-26T14:00",
        "2026-11-26 14:00:00",
        " 2026-11-26 14:00",
    ],
)
def test_a_text_that_is_no_clock_time(text: str) -> None:
    with pytest.raises(ValueError, match="is not a time"):
        instant(text, "UTC")


@pytest.mark.parametrize("text", ["2026-02-29 10:00", "2026-13-01 10:00", "2026-01-01 24:30"])
def test_a_clock_time_that_no_calendar_has(text: str) -> None:
    with pytest.raises(ValueError, match="is not in the calendar"):
        instant(text, "UTC")


def test_an_instant_outside_the_calendar_is_refused() -> None:
    for at_us in (10**18, -(10**18)):
        with pytest.raises(ValueError, match="outside the calendar"):
            local(at_us, "UTC")


@pytest.mark.parametrize(
    ("at", "zone", "text"),
    [
        ("2026-11-26T13:00:59+00:00", "Europe/Berlin", "Thu 26 Nov 2026 14:00"),
        ("2026-03-09T19:00:00+00:00", "America/New_York", "Mon 9 Mar 2026 15:00"),
        ("2026-11-01T05:30:00+00:00", "America/New_York", "Sun 1 Nov 2026 01:30 EDT (UTC-04:00)"),
        ("2026-11-01T06:30:00+00:00", "America/New_York", "Sun 1 Nov 2026 01:30 EST (UTC-05:00)"),
        ("2026-11-01T07:00:00+00:00", "America/New_York", "Sun 1 Nov 2026 02:00"),
        ("2026-04-04T14:45:00+00:00", "Australia/Lord_Howe", "Sun 5 Apr 2026 01:45 UTC+11:00"),
        ("2026-04-04T15:15:00+00:00", "Australia/Lord_Howe", "Sun 5 Apr 2026 01:45 UTC+10:30"),
    ],
)
def test_an_instant_is_said_with_its_zone_only_when_needed(at: str, zone: str, text: str) -> None:
    assert spoken(us(at), zone) == text


def test_a_day_is_said_from_a_date_and_from_its_text() -> None:
    assert spoken_day(date(2026, 11, 26)) == spoken_day("2026-11-26") == "Thu 26 Nov 2026"
    assert spoken_day("2028-02-29") == "Tue 29 Feb 2028"
    with pytest.raises(ValueError):
        spoken_day("2026-02-29")


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0, "0:00"),
        (0.9, "0:00"),
        (-0.9, "0:00"),
        (9, "0:09"),
        (309, "5:09"),
        (3599, "59:59"),
        (3600, "1:00:00"),
        (3909, "1:05:09"),
        (50400, "14:00:00"),
        (-7, "-0:07"),
        (-3909, "-1:05:09"),
    ],
)
def test_a_length_on_a_clock(seconds: float, text: str) -> None:
    assert clock_text(seconds) == text


def test_a_table_and_a_sentence_round_a_length_alike() -> None:
    for seconds, text in ((29.9, "0:00"), (30, "0:01"), (3599, "1:00"), (38098.2, "10:35")):
        assert hour_minutes(seconds) == text
        hours, minutes = text.split(":")
        words = [f"{int(hours)} h"] * (hours != "0") + [f"{int(minutes)} min"] * (text != "1:00")
        assert hours_text(seconds) == " ".join(words)


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0, "0 min"),
        (29.9, "0 min"),
        (-29.9, "0 min"),
        (30, "1 min"),
        (-30, "-1 min"),
        (2100, "35 min"),
        (27300, "7 h 35 min"),
        (27329.9, "7 h 35 min"),
        (27330, "7 h 36 min"),
        (28799, "8 h"),
        (28800, "8 h"),
        (-2100, "-35 min"),
        (-27300, "-7 h 35 min"),
    ],
)
def test_a_length_in_hours(seconds: float, text: str) -> None:
    assert hours_text(seconds) == text


@given(INSTANTS, st.sampled_from(ZONES), st.integers(1, 999), st.integers(1, 5))
def test_elapsed_hours_are_the_same_in_every_zone(
    anchor_us: int, zone: str, hours: int, times: int
) -> None:
    found = dues(care(until=f"PT{hours}H", every=f"PT{hours}H", times=times), anchor_us, zone)
    assert [due.at_us for due in found] == [
        anchor_us + n * hours * HOUR_US for n in [1, *range(1, times + 1)]
    ]


@given(INSTANTS, st.sampled_from(ZONES), st.integers(1, 60), st.integers(1, 5))
def test_months_keep_the_day_or_end_the_month(
    anchor_us: int, zone: str, months: int, times: int
) -> None:
    start = local(anchor_us, zone).date()
    for due in dues(care(every=f"P{months}M", times=times), anchor_us, zone):
        year, month = divmod(start.year * 12 + start.month - 1 + due.nth * months, 12)
        last = calendar.monthrange(year, month + 1)[1]
        assert due.day == date(year, month + 1, min(start.day, last)).isoformat()


@given(INSTANTS, st.sampled_from(ZONES), st.integers(1, 400))
def test_days_count_on_the_calendar(anchor_us: int, zone: str, days: int) -> None:
    start = local(anchor_us, zone).date()
    (due,) = dues(care(until=f"P{days}D"), anchor_us, zone)
    assert date.fromisoformat(due.day) == date(start.year, start.month, start.day) + timedelta(days)


@given(INSTANTS, st.sampled_from(ZONES))
def test_a_clock_time_read_back_is_the_instant_or_its_first_twin(at_us: int, zone: str) -> None:
    at_us -= at_us % 60_000_000
    here = local(at_us, zone)
    back = instant(f"{here:%Y-%m-%d %H:%M}", zone)
    if here.fold == 0:
        assert back == at_us
    else:
        assert back < at_us
        assert f"{local(back, zone):%Y-%m-%d %H:%M}" == f"{here:%Y-%m-%d %H:%M}"
        assert spoken(back, zone) != spoken(at_us, zone)


@given(st.integers(-(10**7), 10**7))
def test_a_clock_text_read_back_is_the_length(seconds: int) -> None:
    text = clock_text(seconds)
    total = 0
    for part in text.removeprefix("-").split(":"):
        total = total * 60 + int(part)
    assert (-total if text.startswith("-") else total) == seconds
