"""The calendar file: RFC 5545 to the octet, read back by other programs, and updated in place."""

from __future__ import annotations

import csv
import json
import os
import shutil
import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar
from msgspec.structs import replace

from cartclock.engine.after.aftercare import cares
from cartclock.engine.after.entries import Entry, handed_out
from cartclock.engine.after.visits import Closed
from cartclock.engine.dates import up_to_minute
from cartclock.engine.facts import events as ev
from cartclock.engine.paper.forms.calendar_form import (
    calendar_file,
    file_name,
    folded_line,
    plain,
    uid,
)
from cartclock.engine.plan.plan import Aftercare, Product
from cartclock.engine.record.record import Record
from cartclock.engine.rules import changes, rules
from cartclock.engine.trouble import Refused
from tests.kit.book import JOB, us
from tests.kit.care import CURED, DRY, VISIT, WASH, coat, finished, record_of, second

VECTORS = Path(__file__).parent / "vectors"


def vectors(name: str) -> list[dict[str, str]]:
    """The rows of a table of check values; its first line names the source."""
    lines = (VECTORS / name).read_text(encoding="utf-8").splitlines(keepends=True)
    assert lines[0].startswith("# source: ")
    found = list(csv.DictReader(lines[1:]))
    assert found
    return found


def unfolded(made: bytes) -> list[str]:
    """The content lines of a file, checked as RFC 5545 section 3.1 has them on the way."""
    assert made.endswith(b"\r\n")
    assert made.count(b"\n") == made.count(b"\r") == made.count(b"\r\n")
    for line in made.split(b"\r\n"):
        assert len(line) <= 75
        line.decode("utf-8")
    return made.replace(b"\r\n ", b"").decode("utf-8").removesuffix("\r\n").split("\r\n")


def events(made: bytes) -> list[Any]:
    """The events of a file as icalendar reads them."""
    unfolded(made)
    calendar = icalendar.Calendar.from_ical(made)
    assert (str(calendar["version"]), "method" in calendar) == ("2.0", False)
    assert str(calendar["prodid"])
    return list(calendar.walk("VEVENT"))


def made_of(*items: Aftercare, revision: int = 1, at_s: float = 1300, **facts: Any) -> bytes:
    return calendar_file(record_of(finished(*items, **facts), at_s), revision)


# What the entries say.


def test_hours_are_instants_in_utc_and_no_duration() -> None:
    (dry,) = events(made_of(DRY, zone="Australia/Lord_Howe"))
    assert dry["dtstart"].to_ical() == b"20260921T143320Z"
    # 14:33:20 + 48 h, raised to the minute: an end is never told too early.
    assert dry["dtend"].to_ical() == b"20260923T143400Z"
    assert "duration" not in dry
    assert (str(dry["summary"]), str(dry["status"])) == ("Keep it dry.", "CONFIRMED")
    assert (dry["sequence"], str(dry["transp"])) == (1, "TRANSPARENT")
    assert dry["dtstamp"].to_ical() == b"20260921T143500Z"


def test_days_are_dates_with_an_end_that_is_not_among_them() -> None:
    until = Aftercare("No shampoo.", "label of the pack", until="P7D", after="Coat")
    wash, soap = events(made_of(WASH, until))
    # The day with which one ends is none on which the other begins.
    assert wash["dtstart"].dt == date(2026, 9, 29)
    assert wash["dtend"].dt == date(2026, 9, 30)
    assert wash["dtstart"].params["VALUE"] == "DATE"
    # From the day of the last touch to the seventh day after it, that one included.
    assert (soap["dtstart"].dt, soap["dtend"].dt) == (date(2026, 9, 21), date(2026, 9, 29))


def test_a_beginning_and_an_end_of_one_kind_are_one_stretch() -> None:
    both = Aftercare("Wash by hand.", "label of the pack", from_="P7D", until="P1M", after="Coat")
    (one,) = events(made_of(both))
    assert (one["dtstart"].dt, one["dtend"].dt) == (date(2026, 9, 28), date(2026, 10, 22))
    mixed = Aftercare("Wash.", "label of the pack", from_="PT24H", until="P7D", after="Coat")
    begins, ends = events(made_of(mixed))
    # A moment is shown for an hour.
    assert begins["dtend"].dt - begins["dtstart"].dt == timedelta(hours=1)
    assert begins["dtstart"].dt == datetime(2026, 9, 22, 14, 34, tzinfo=UTC)
    assert ends["dtend"].dt == date(2026, 9, 29)


def test_a_cure_is_an_entry_too_and_flagged_while_it_is_an_example() -> None:
    book = finished(DRY, stages=(CURED,))
    cure, _dry = events(calendar_file(record_of(book, 1300), 1))
    assert str(cure["summary"]) == "Coat: leave it alone, it cures."
    assert cure["dtend"].dt - cure["dtstart"].dt == timedelta(hours=24, seconds=40)
    flagged = Aftercare("Keep it dry.", "example", until="PT48H", after="Coat")
    (dry,) = events(made_of(flagged))
    assert "source: example, replace from the pack" in str(dry["description"])


def test_a_visit_on_a_closed_day_says_from_which_day_it_was_moved_and_why() -> None:
    book = finished(VISIT)
    book.do(7200, rules.close_job, JOB)
    record = record_of(book, 7300, Closed(frozenset({7})))
    first, second_one = events(calendar_file(record, 1, (), "The shed", "+351 555 0100"))
    assert first["dtstart"].dt == date(2027, 3, 22)
    said = str(first["description"]).split("\n")
    assert "Moved from Sun 21 Mar 2027: closed on Sundays." in said
    assert said[0] == "grey van" and said[-1] == "The shed, +351 555 0100"
    assert (str(first["location"]), str(first["transp"])) == ("The shed", "OPAQUE")
    assert "Moved" not in str(second_one["description"])
    assert "Every 6 months from the close of the job" in str(second_one["description"])


def alarm(event: Any) -> tuple[str, timedelta]:
    """(what it is related to, how far from there) of the one alarm of an event."""
    (found,) = event.walk("VALARM")
    assert str(found["action"]) == "DISPLAY"
    if found["trigger"].params.get("RELATED") != "END":
        assert str(found["description"]) == str(event["summary"])
    return found["trigger"].params.get("RELATED", "START"), found["trigger"].dt


def test_every_entry_speaks_up_once() -> None:
    soap = Aftercare("No shampoo.", "label of the pack", until="P7D", after="Coat")
    come = Aftercare("Come.", "label of the pack", from_="P14D", after="Coat", visit=True)
    found = [alarm(event) for event in events(made_of(DRY, WASH, soap, come))]
    assert found == [
        ("END", timedelta()),
        ("START", timedelta(hours=9)),
        # The day ends at midnight: at nine in the morning of it.
        ("END", timedelta(hours=-15)),
        ("START", timedelta(hours=-15)),
    ]


def test_at_an_end_the_phone_says_what_begins_and_never_to_keep_it_on() -> None:
    soap = Aftercare("No shampoo.", "label of the pack", until="P7D", after="Coat", about="wash")
    long = replace(DRY, until="PT1H")

    def said(*items: Aftercare) -> list[tuple[str, str]]:
        book = finished(*items, stages=(CURED,))
        book.do(1300, rules.close_job, JOB)
        made = Calendar.from_ical(calendar_file(record_of(book, 1400), 1))
        return [
            (str(event["summary"]), str(event.walk("VALARM")[0]["description"]))
            for event in made.walk("VEVENT")
        ]

    assert said(DRY, soap) == [
        ("Coat: leave it alone, it cures.", "From now on it may be touched."),
        ("Keep it dry.", "From now on it may get wet again."),
        ("No shampoo.", "To the end of today: No shampoo."),
    ]
    # The product must stay dry for longer than the aftercare says: the later end is told.
    book = finished(long, stages=(CURED,), products=(Product("coat", "Coating", dry_s=24 * 3600),))
    record = record_of(book, 1300)
    wet = next(one.at_us for one in record.dates if one.about == "wet")
    (event,) = (
        one
        for one in Calendar.from_ical(calendar_file(record, 1)).walk("VEVENT")
        if str(one["summary"]) == "Keep it dry."
    )
    assert wet is not None and event["dtend"].dt.timestamp() * 1e6 == up_to_minute(wet)


def test_no_date_is_refused_in_a_sentence() -> None:
    with pytest.raises(Refused) as why:
        calendar_file(record_of(finished(VISIT), 1300), 1)
    assert str(why.value) == "There is no date for a calendar: dated when the job is closed."
    with pytest.raises(Refused):
        calendar_file(record_of(finished(), 1300), 1)
    with pytest.raises(ValueError, match="no revision"):
        made_of(DRY, revision=-1)


def test_what_got_wet_and_what_to_do_stand_in_the_text() -> None:
    item = Aftercare("Dry.", "label", until="PT48H", after="Coat", if_not="Dab it off.")
    book = finished(item)
    book.press(1300, ev.WaterTouched("Coat", ("roof",)))
    (dry,) = events(calendar_file(record_of(book, 1400), 1))
    said = str(dry["description"])
    assert "Got wet on Mon 21 Sep 2026, 14:35; roof." in said and "Dab it off." in said


def test_the_same_record_gives_the_same_octets_and_the_file_a_plain_name() -> None:
    record = record_of(finished(DRY, WASH), 1300)
    assert calendar_file(record, 1) == calendar_file(record, 1)
    assert file_name(record, 2) == "aftercare-job-7-2026-09-21-r2.ics"


# Clock changes. Offsets of the job's end and of 48 elapsed hours later, and the seventh day.

CHANGES = [
    ("America/New_York", "2026-03-07T14:00:00-05:00", "2026-03-09T15:00:00-04:00", "2026-03-14"),
    ("America/New_York", "2026-10-31T14:00:00-04:00", "2026-11-02T13:00:00-05:00", "2026-11-07"),
    ("Australia/Adelaide", "2026-04-04T14:00:00+10:30", "2026-04-06T13:00:00+09:30", "2026-04-11"),
    ("Australia/Adelaide", "2026-10-03T14:00:00+09:30", "2026-10-05T15:00:00+10:30", "2026-10-10"),
    ("Australia/Lord_Howe", "2026-04-04T14:00:00+11:00", "2026-04-06T13:30:00+10:30", "2026-04-11"),
    ("Australia/Lord_Howe", "2026-10-03T14:00:00+10:30", "2026-10-05T14:30:00+11:00", "2026-10-10"),
    ("Europe/Lisbon", "2026-03-28T14:00:00+00:00", "2026-03-30T15:00:00+01:00", "2026-04-04"),
    ("Europe/Lisbon", "2026-10-24T14:00:00+01:00", "2026-10-26T13:00:00+00:00", "2026-10-31"),
    ("America/Phoenix", "2026-03-07T14:00:00-07:00", "2026-03-09T14:00:00-07:00", "2026-03-14"),
    ("America/Phoenix", "2026-10-31T14:00:00-07:00", "2026-11-02T14:00:00-07:00", "2026-11-07"),
]


@pytest.mark.parametrize(
    ("zone", "end", "dry", "day"),
    CHANGES,
    ids=[f"RFC 5545 3.3.6, zone database, by hand: {z} {e[:10]}" for z, e, _d, _w in CHANGES],
)
def test_48_hours_and_7_days_over_a_clock_change(zone: str, end: str, dry: str, day: str) -> None:
    at_s = second(end)
    book = finished(DRY, WASH, zone=zone, at_s=at_s)
    kept, wash = events(calendar_file(record_of(book, at_s + 60), 1))
    assert kept["dtstart"].dt == datetime.fromisoformat(end)
    assert kept["dtend"].dt == datetime.fromisoformat(dry)
    assert kept["dtend"].dt - kept["dtstart"].dt == timedelta(hours=48)
    assert wash["dtstart"].dt == date.fromisoformat(day)
    (said, _wash) = cares(book.job())
    assert [due.at_us for due in said.dues] == [us(second(dry))]


@pytest.mark.parametrize(
    ("end", "length", "day"),
    [
        ("2026-01-31", "P1M", "2026-02-28"),
        ("2028-01-31", "P1M", "2028-02-29"),
        ("2026-08-31", "P6M", "2027-02-28"),
        ("2028-02-29", "P1Y", "2029-02-28"),
        ("2028-02-28", "P1D", "2028-02-29"),
    ],
    ids=lambda value: f"common practice, no source: {value}" if value[0] == "P" else value,
)
def test_month_ends_and_29_february(end: str, length: str, day: str) -> None:
    item = Aftercare("Look.", "label of the pack", every=length, after="Coat")
    at_s = second(f"{end}T18:00:00+00:00")
    (look,) = events(calendar_file(record_of(finished(item, at_s=at_s), at_s), 1))
    assert look["dtstart"].dt == date.fromisoformat(day)


@pytest.mark.parametrize(
    ("end", "utc"),
    [
        # 02:30 of 2007-03-11 is missing there: with the offset before the gap it is 07:30 UTC.
        ("2007-03-10T02:30:00-05:00", "20070311T073000Z"),
        # 01:30 of 2007-11-04 comes twice: the first one is 05:30 UTC.
        ("2007-11-03T01:30:00-04:00", "20071104T053000Z"),
    ],
    ids=["RFC 5545 3.3.5 gap", "RFC 5545 3.3.5 fold"],
)
def test_a_clock_time_that_is_missing_or_double(end: str, utc: str) -> None:
    # A day and then no hours to speak of: the anchor's clock time on the next day, and a minute.
    item = Aftercare("Dry.", "label of the pack", until="P1DT1M", after="Coat")
    at_s = second(end)
    record = record_of(finished(item, zone="America/New_York", at_s=at_s), at_s)
    (dry,) = events(calendar_file(record, 1))
    wanted = datetime.strptime(utc, "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC)
    assert dry["dtend"].dt == wanted + timedelta(minutes=1)


# A schedule that is handed out again.


def again(book: Any, at_s: float, revision: int) -> dict[str, Any]:
    """The schedule at that second as an update of what was handed out before."""
    earlier = handed_out(JOB, book.rows, "aftercare")
    made = calendar_file(record_of(book, at_s), revision, earlier)
    found = {str(event["uid"]): event for event in events(made)}
    assert len(found) == len(events(made))
    book.press(at_s, ev.PaperIssued("aftercare", revision, ""))
    return found


def test_a_schedule_handed_out_again_updates_and_cancels_and_takes_up_again() -> None:
    book = finished(DRY, VISIT)
    first = again(book, 1300, 1)
    book.do(1400, changes.redo, JOB, "Coat", ("roof",), "high spot")
    dropped = again(book, 1500, 2)
    assert dropped.keys() == first.keys()
    (gone,) = dropped.values()
    assert (str(gone["status"]), gone["sequence"], gone.walk("VALARM")) == ("CANCELLED", 2, [])
    coat(book, 2000, "roof")
    (back,) = again(book, 3000, 3).values()
    assert (str(back["status"]), back["sequence"]) == ("CONFIRMED", 3)
    assert back["dtstart"].dt - first[str(back["uid"])]["dtstart"].dt == timedelta(seconds=1400)
    book.do(3100, rules.close_job, JOB)
    more = again(book, 3200, 4)
    assert len(more) == 3 and {event["sequence"] for event in more.values()} == {4}


def test_the_identity_is_the_jobs_the_plans_and_the_entrys() -> None:
    one = uid("job-1", "ab", "until/Keep it dry.")
    assert one == uid("job-1", "ab", "until/Keep it dry.")
    others = {
        uid("job-2", "ab", "until/Keep it dry."),
        uid("job-1", "cd", "until/Keep it dry."),
        uid("job-1", "ab", "from/Keep it dry."),
        uid("job-1ab", "", "until/Keep it dry."),
    }
    assert one not in others and len(others) == 4


@given(
    st.integers(0, 400_000_000),
    st.integers(0, 400_000_000),
    st.sampled_from(["UTC", "America/New_York", "Australia/Lord_Howe"]),
    st.integers(0, 9),
)
def test_the_identities_stay_whatever_the_times(a_s: int, b_s: int, zone: str, rev: int) -> None:
    def found(at_s: int, revision: int, zone: str) -> list[str]:
        book = finished(DRY, WASH, VISIT, zone=zone, at_s=at_s)
        book.do(at_s + 60, rules.close_job, JOB)
        made = calendar_file(record_of(book, at_s + 120), revision)
        return [str(event["uid"]) for event in events(made)]

    one = found(a_s, rev, zone)
    assert len(set(one)) == len(one) == 4
    assert one == found(b_s, rev + 1, "UTC")


# Text.


def with_say(say: str, vehicle: str = "grey van") -> tuple[Record, bytes]:
    item = Aftercare(say, "label of the pack", until="PT48H", after="Coat")
    record = record_of(finished(item, vehicle=vehicle), 1300)
    return record, calendar_file(record, 1)


ESCAPES = vectors("rfc5545_escape.csv")


@pytest.mark.parametrize(
    "row", ESCAPES, ids=[f"RFC 5545 3.3.11: {r['RFC 5545 TEXT']}" for r in ESCAPES]
)
def test_text_is_escaped(row: dict[str, str]) -> None:
    said = row["input (python unicode_escape)"].encode("latin-1", "backslashreplace")
    text = said.decode("unicode_escape")
    _record, made = with_say(text)
    assert f"SUMMARY:{row['RFC 5545 TEXT']}" in unfolded(made)
    (event,) = events(made)
    assert str(event["summary"]) == plain(text)


FOLDED = {
    "74 ascii": "a" * 74,
    "75 ascii": "a" * 75,
    "76 ascii": "a" * 76,
    "149": "a" * 149,
    "150": "a" * 150,
    "2-byte at edge": "a" * 74 + "é" + "a" * 5,
    "3-byte at edge": "a" * 73 + "水" + "a" * 5,
    "4-byte at edge": "a" * 72 + "🚗" + "a" * 80,
    "all 3-byte": "水" * 60,
    "empty": "",
}


@pytest.mark.parametrize(
    "row", vectors("rfc5545_fold.csv"), ids=lambda row: f"RFC 5545 3.1: {row['case']}"
)
def test_lines_are_folded(row: dict[str, str]) -> None:
    line = FOLDED[row["case"]]
    assert len(line.encode()) == int(row["input octets"])
    made = folded_line(line)
    octets = [str(len(part)) for part in made.split(b"\r\n")]
    assert ";".join(octets) == row["octets of each physical line"]
    assert (made.replace(b"\r\n ", b"").decode() == line) is (row["unfold == input"] == "True")


HOSTILE = [
    "x\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nSUMMARY:mine",
    "x\nATTACH:http://example.invalid/x",
    "x\rX-EVIL:1",
    "x\u2028X-EVIL:1\u2029X-EVIL:2\x85X-EVIL:3\x0bX-EVIL:4\x0cX-EVIL:5",
    "\x1b[31mred\x1b]8;;http://example.invalid\x07link\x9b2J",
    "\ud800 half \udfff",
    "abc\u202egnp.exe\u2066",
    "🚗" * 200,
    ";,:\\\\n\\;\"'" * 30,
    "\x00",
    "e\u0301" * 100,
]


# Names of the content lines of a calendar with one entry.
ONE_ENTRY = [*["BEGIN"] * 3, "VERSION", "PRODID", "UID", "SEQUENCE", "DTSTAMP", "DTSTART", "DTEND",
             "SUMMARY", "DESCRIPTION", "STATUS", "TRANSP", "ACTION", "DESCRIPTION", "TRIGGER",
             *["END"] * 3]  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_stays_text(text: str) -> None:
    for say, vehicle in ((f"Dry. {text}", "van"), ("Dry.", f"van {text}")):
        item = Aftercare(say, "label of the pack", until="PT48H", after="Coat")
        made = calendar_file(record_of(finished(item, vehicle=vehicle), 1300), 1, (), text, text)
        names = [line.split(":")[0].split(";")[0] for line in unfolded(made)]
        assert sorted(names) == sorted(ONE_ENTRY)
        (event,) = events(made)
        assert str(event["summary"]) == plain(say)
        body = made.decode()
        assert all(c == "\r" or c == "\n" or c == "\t" or c.isprintable() for c in body)


@given(st.text(max_size=200))
def test_any_text_comes_back_as_it_went_in(text: str) -> None:
    _record, made = with_say(text)
    (event,) = events(made)
    assert str(event["summary"]) == plain(text)
    assert plain(plain(text)) == plain(text)


def test_the_part_is_brought_in_only_when_a_calendar_is_written() -> None:
    code = (
        "import sys, cartclock.engine.paper.forms.calendar_form; print('icalendar' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


def test_an_entry_goes_by_days_or_by_instants() -> None:
    assert Entry("x", "from", "say", (), from_day="2026-01-01", to_day="2026-01-02").by_day
    assert not Entry("x", "from", "say", (), from_us=1, to_us=1).by_day


# Another reader.

READ = """
const ICAL = require(process.argv[1]);
const text = require("fs").readFileSync(0, "utf-8");
const all = new ICAL.Component(ICAL.parse(text)).getAllSubcomponents("vevent");
console.log(JSON.stringify(all.map((one) => {
  const event = new ICAL.Event(one);
  return [event.uid, event.summary, event.description, event.startDate.toString(),
          event.endDate.toString(), event.sequence, one.getFirstPropertyValue("status"),
          one.getAllSubcomponents("valarm").length];
})));
"""


@pytest.mark.long
def test_ical_js_reads_the_same() -> None:
    """CARTCLOCK_ICAL_JS names the file of the module, such as .../ical.js/dist/ical.es5.cjs."""
    module, node = os.environ.get("CARTCLOCK_ICAL_JS", ""), shutil.which("node")
    if not node or not module or not Path(module).is_file():
        pytest.skip("node and CARTCLOCK_ICAL_JS are needed")
    book = finished(DRY, WASH, VISIT, Aftercare("水; é, \\ \n🚗" * 20, "label", until="P9D"))
    book.do(7200, rules.close_job, JOB)
    earlier = (Entry("until/Gone.", "until", "Gone.", (), from_us=us(0), to_us=us(3600)),)
    made = calendar_file(record_of(book, 7300), 3, earlier, "Shed", "+351 555 0100")
    done = subprocess.run([node, "-e", READ, module], input=made, capture_output=True, check=True)
    read = json.loads(done.stdout)
    wanted = []
    for event in events(made):
        begin, end = (
            value.strftime("%Y-%m-%dT%H:%M:%SZ")
            if isinstance(value, datetime)
            else value.isoformat()
            for value in (event["dtstart"].dt, event["dtend"].dt)
        )
        texts = [str(event[key]) for key in ("uid", "summary", "description")]
        alarms = len(event.walk("VALARM"))
        wanted.append([*texts, begin, end, event["sequence"], str(event["status"]), alarms])
    assert read == wanted
    assert len(read) == 6 and read[-1][-2:] == ["CANCELLED", 0]
