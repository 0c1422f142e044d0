"""Times of day and dates as they are typed, on a calendar outside the project.

Weekdays by Sakamoto's congruence (from memory), clock changes of America/New_York 2026 as the
tz database has them: 8 March 02:00 and 1 November 02:00.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.dates import spoken
from cartclock.engine.rules.typed_time import read_in_full, time_ahead, time_forms, time_then
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused

DAYS = ("mon", "tue", "wednesday", "thurs", "fri", "sat", "sunday")
ZONE = "America/New_York"


def at(text: str, zone: str = ZONE) -> Instant:
    """An instant by the clock of a zone, reckoned by the standard library."""
    here = datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(zone))
    return Instant(int(here.astimezone(UTC).timestamp()) * 1_000_000)


# A Thursday.
NOW = at("2026-09-24 10:16")


def sakamoto(day: date) -> int:
    """0 for Monday."""
    shift = (0, 3, 2, 5, 0, 3, 5, 1, 4, 6, 2, 4)
    year = day.year - (day.month < 3)
    sunday = (year + year // 4 - year // 100 + year // 400 + shift[day.month - 1] + day.day) % 7
    return (sunday - 1) % 7


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("17:30", "2026-09-24 17:30"),
        ("17.30", "2026-09-24 17:30"),
        ("1730", "2026-09-24 17:30"),
        ("17", "2026-09-24 17:00"),
        ("today 17:30", "2026-09-24 17:30"),
        ("tomorrow 17:30", "2026-09-25 17:30"),
        ("Tomorrow  9:05", "2026-09-25 09:05"),
        ("+1 16:00", "2026-09-25 16:00"),
        ("+7 16", "2026-10-01 16:00"),
        ("fri 17:30", "2026-09-25 17:30"),
        ("Friday 16", "2026-09-25 16:00"),
        ("wed 8", "2026-09-30 08:00"),
        ("thu 9:00", "2026-10-01 09:00"),
        ("2026-09-24 17:30", "2026-09-24 17:30"),
        ("2027-02-28 0:00", "2027-02-28 00:00"),
    ],
)
def test_what_can_be_read_is_the_instant_it_stands_for(text: str, meant: str) -> None:
    assert time_ahead(text, NOW, ZONE) == at(meant)


def test_what_is_read_is_shown_in_full_with_its_weekday() -> None:
    assert read_in_full("fri 17:30", NOW, ZONE) == "Fri 25 Sep 2026 17:30"
    assert read_in_full("  ", NOW, ZONE) == ""


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "10:15",
            "10:15 has passed today; tomorrow 10:15 is Fri 25 Sep 2026 10:15.",
        ),
        ("2026-09-23 17:30", "Wed 23 Sep 2026 17:30 has passed."),
        (
            "thu 17:30",
            '"thu" is today: write today 17:30, or 2026-10-01 17:30 for Thu 1 Oct 2026.',
        ),
        ("tomorrow", '"tomorrow" has no time of day; write it like'),
        ("fri", '"fri" has no time of day; write it like'),
        ("24:00", '"24:00" is no time of a day; the last one is 23:59.'),
        ("17:60", '"17:60" is no time of a day; the last one is 23:59.'),
        ("fr 17:30", '"fr 17:30" is not a time; write it like'),
        ("someday 17:30", '"someday 17:30" is not a time; write it like'),
        ("2026-02-30 10:00", '"2026-02-30" is not in the calendar.'),
        ("9999-12-31 23:59", "9999-12-31 23:59 is not in the calendar."),
        ("at five in the evening", '"at five in the evening" is not a time; write it like'),
        ("17:30 EST", '"EST" is not what the clocks show on Thu 24 Sep 2026 17:30; that is EDT'),
    ],
)
def test_what_is_none_or_past_or_could_be_two_is_refused_with_what_stands_instead(
    text: str, said: str
) -> None:
    with pytest.raises(Refused) as refused:
        time_ahead(text, NOW, ZONE)
    assert str(refused.value).startswith(said)
    # Under the question, which names the forms itself, they are not said again.
    assert read_in_full(text, NOW, ZONE) == re.sub("; write it like.*", ".", str(refused.value))


@given(
    st.integers(1_767_225_600, 2_208_988_800),
    st.sampled_from(("UTC", "Asia/Tokyo", "America/Phoenix")),
)
def test_every_form_that_is_named_can_be_typed_and_lies_ahead(seconds: int, zone: str) -> None:
    """Zones whose clocks never change, so that no example is one that comes twice."""
    now_us = Instant(seconds * 1_000_000)
    *others, date_form = re.split(", | or ", time_forms(now_us, zone))
    for form in (*others, date_form):
        assert now_us < time_ahead(form, now_us, zone) < now_us + 12 * 86_400_000_000
    assert re.fullmatch(r"\d{4}-\d\d-\d\d 17:30", date_form)


def test_what_is_named_instead_of_a_time_that_was_is_of_its_own_day() -> None:
    with pytest.raises(Refused) as refused:
        time_then("soon", NOW, ZONE)
    said = str(refused.value)
    assert said == '"soon" has no time of day; write it like 17:30 or 2026-09-24 17:30.'


def test_every_instead_that_is_named_can_be_typed() -> None:
    assert time_ahead("tomorrow 10:15", NOW, ZONE) == at("2026-09-25 10:15")
    assert time_ahead("today 17:30", NOW, ZONE) == at("2026-09-24 17:30")
    assert time_ahead("2026-10-01 17:30", NOW, ZONE) == at("2026-10-01 17:30")


def test_a_time_that_comes_twice_is_told_apart_by_its_letters() -> None:
    now_us = at("2026-10-31 12:00")
    with pytest.raises(Refused, match=r"01:30 comes twice .*: write 01:30 EDT or 01:30 EST"):
        time_ahead("tomorrow 01:30", now_us, ZONE)
    summer = time_ahead("tomorrow 01:30 EDT", now_us, ZONE)
    winter = time_ahead("tomorrow 01:30 utc-05:00", now_us, ZONE)
    assert winter - summer == 3600 * 1_000_000
    assert spoken(winter, ZONE) == "Sun 1 Nov 2026 01:30 EST (UTC-05:00)"


def test_a_time_that_the_clocks_jump_over_is_refused() -> None:
    with pytest.raises(Refused, match="The clocks jump over 02:30 on Sun 8 Mar 2026"):
        time_ahead("2026-03-08 02:30", at("2026-03-01 12:00"), ZONE)


def test_where_it_can_only_be_ahead_an_hour_that_has_passed_is_one_of_tomorrow() -> None:
    assert time_ahead("10:00", NOW, ZONE, rolls=True) == at("2026-09-25 10:00")
    with pytest.raises(Refused, match="has passed"):
        time_ahead("today 10:00", NOW, ZONE, rolls=True)


def test_on_the_evening_before_the_clocks_change_both_of_the_hour_can_be_typed() -> None:
    """Clock changes of Europe/Paris 2026 as the tz database has them: 29 March, 25 October."""
    paris = "Europe/Paris"
    evening = at("2026-10-24 21:00", paris)
    with pytest.raises(Refused, match="write 02:30 CEST or 02:30 CET"):
        time_ahead("2:30", evening, paris, rolls=True)
    first = time_ahead("2:30 CEST", evening, paris, rolls=True)
    assert first == at("2026-10-25 02:30", paris)
    assert time_ahead("2:30 CET", evening, paris, rolls=True) == first + 3_600_000_000
    # Between the two only the second is ahead, and the day after has one.
    between = Instant(first + 600_000_000)
    with pytest.raises(Refused, match="comes twice"):
        time_ahead("2:30", between, paris, rolls=True)
    assert time_ahead("2:30 CET", between, paris, rolls=True) == first + 3_600_000_000
    # Jumped over: refused as long as its hour is ahead, else it is one of tomorrow.
    for early in ("2026-03-28 21:00", "2026-03-29 01:00"):
        with pytest.raises(Refused, match="jump over"):
            time_ahead("2:30", at(early, paris), paris, rolls=True)
    morning = at("2026-03-29 10:00", paris)
    assert time_ahead("2:30", morning, paris, rolls=True) == at("2026-03-30 02:30", paris)


@given(
    st.dates(date(2026, 1, 1), date(2040, 1, 1)),
    st.integers(0, 6),
    st.integers(0, 23),
)
def test_a_weekday_is_the_next_of_its_name(today: date, weekday: int, hour: int) -> None:
    now_us = at(f"{today} 12:00", "UTC")
    try:
        found = time_ahead(f"{DAYS[weekday]} {hour}", now_us, "UTC")
    except Refused:
        # Only the name of today, with an hour that is still ahead, could be two days.
        assert (sakamoto(today), hour > 12) == (weekday, True)
        return
    day = datetime.fromtimestamp(found / 1e6, UTC).date()
    assert sakamoto(day) == weekday
    assert timedelta(0) < day - today <= timedelta(days=7)


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("10:16", "2026-09-24 10:16"),
        ("07:16", "2026-09-24 07:16"),
        ("21:50", "2026-09-24 21:50"),
        ("22:30", "2026-09-23 22:30"),
        ("2016-09-24 10:16", "2016-09-24 10:16"),
        ("2036-01-02 9", "2036-01-02 09:00"),
    ],
)
def test_a_time_that_was_is_the_nearest_or_that_of_its_date(text: str, meant: str) -> None:
    assert time_then(text, NOW, ZONE) == at(meant)


@pytest.mark.parametrize("text", ["today 9:00", "fri 9:00", "+1 9:00", "soon", "2026-02-30 9:00"])
def test_a_time_that_was_is_told_by_a_date_or_none(text: str) -> None:
    with pytest.raises(Refused, match=r"\.$"):
        time_then(text, NOW, ZONE)
