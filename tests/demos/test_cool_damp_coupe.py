"""The damp day, line by line: what was asked and left, what was laid when, and the dates."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from cartclock.demo_sessions.script import file_text
from cartclock.engine.facts import events as ev
from cartclock.engine.figures.air import dew_point_c
from tests.kit.sessions import result

pytestmark = pytest.mark.xdist_group("demo sessions")

NAME = "cool_damp_coupe"
ZONE = ZoneInfo("Europe/Lisbon")
RECORD = file_text(NAME, "record.txt")
LINES = RECORD.splitlines()


def clock(at_us: int) -> str:
    return datetime.fromtimestamp(at_us / 1e6, ZONE).strftime("%H:%M")


def chapter(name: str) -> list[str]:
    begins = next(at for at, line in enumerate(LINES) if line.startswith(name))
    ends = next(
        at for at in range(begins + 2, len(LINES)) if at + 1 < len(LINES) and
        LINES[at + 1].startswith("----")
    )  # fmt: skip
    return [line for line in LINES[begins + 2 : ends] if line]


def test_it_takes_about_a_hundred_presses() -> None:
    presses = len(result(NAME).played.keys)
    assert 60 <= presses <= 110
    assert LINES[-1] == f"{presses} presses"
    assert f"in {presses}\nkey presses" in file_text(NAME, "about.md")


def test_the_gate_was_asked_three_times_and_never_overruled() -> None:
    questions = [(at, title) for at, title in result(NAME).seen if "Coat all the same?" in title]
    damp = (
        "Screening estimate: panel 2.5 C under the dew point + 3 C; "
        "air humidity 90.0 %; the label's highest is 80 %: 10.0 % short."
    )
    assert questions == [
        ("10:12", f"{damp} Coat all the same?"),
        ("10:12", f"{damp} Planning curve: met about 13:00; measure then. Coat all the same?"),
        ("14:07", "The reading of the panel is 64 min old: no verdict. Coat all the same?"),
    ]
    assert all(not row.event.over for row in result(NAME).events(ev.WorkStarted))  # type: ignore[attr-defined]  # rows of one kind
    assert "Overruled     nothing" in LINES


def test_nothing_was_coated_before_the_gate_was_met() -> None:
    begun = [r for r in result(NAME).events(ev.WorkStarted) if r.event.stage == "Coat"]  # type: ignore[attr-defined]  # rows of one kind
    readings = result(NAME).events(ev.ReadingTaken)
    assert [clock(row.at_us) for row in readings] == ["10:10", "13:02", "14:07"]
    assert min(row.at_us for row in begun) > readings[1].at_us
    assert clock(min(row.at_us for row in begun)) == "13:11"
    (forecast,) = result(NAME).events(ev.DayExpected)
    assert forecast.event == ev.DayExpected(8.0, 17.0)


def test_every_coated_section_has_its_margin() -> None:
    coat = RECORD.split("\nCoat: ")[1].split("\n- looked at")[0]
    # A reading stands before the first section that it holds for.
    parts = re.split(r"\n- read Thu 12 Nov ", coat)[1:]
    figures = (
        r"(\d\d:\d\d): air (\S+) C, humidity (\S+) %, panel (\S+) C, (\S+) C over dew point \+ 3 C"
    )
    laid = []
    for part in parts:
        read = re.match(figures, " ".join(part.split()))
        assert read is not None
        air_c, rh, panel_c, margin_c = (float(read[group]) for group in (2, 3, 4, 5))
        assert 0.0 <= panel_c - dew_point_c(air_c, rh) - 3.0 - margin_c < 0.1
        rows = re.findall(r"(?m)^  (\S.*?) +(\d\d:\d\d)-\d\d:\d\d", part)
        laid += [(read[1], read[5], name, begun) for name, begun in rows]
    assert [row[2] for row in laid] == [
        "passenger side", "boot lid", "driver side", "bonnet left", "bonnet right", "roof",
        "bonnet left",
    ]  # fmt: skip
    assert {row[:2] for row in laid[:-1]} == {("13:02", "+0.8")}
    assert laid[-1][:2] == ("14:07", "+1.9")
    begun = [r for r in result(NAME).events(ev.WorkStarted) if r.event.stage == "Coat"]  # type: ignore[attr-defined]  # rows of one kind
    applied = [clock(r.at_us) for r in begun if r.event.turn.step == 0]  # type: ignore[attr-defined]  # rows of one kind
    assert [row[3] for row in laid] == applied


def test_the_section_found_high_was_laid_again() -> None:
    (note,) = result(NAME).events(ev.NoteWritten)
    again = [r for r in result(NAME).events(ev.SectionReopened) if r.event.stage == "Coat"]  # type: ignore[attr-defined]  # rows of one kind
    checked = result(NAME).events(ev.SectionChecked)
    assert [row.event for row in checked] == [
        ev.SectionChecked("Coat", ("passenger side", "boot lid", "driver side"), "fine"),
        ev.SectionChecked("Coat", ("bonnet left",), "high spot", "polish out, wipe, coat again"),
        ev.SectionChecked("Coat", ("bonnet right", "roof"), "fine"),
        ev.SectionChecked("Coat", ("bonnet left",), "fine"),
    ]
    assert [row.event.sections for row in again] == [("bonnet left",)]  # type: ignore[attr-defined]  # rows of one kind
    assert note.at_us < again[0].at_us
    flat = " ".join(RECORD.split())
    assert "Bonnet left: high at the re-check. Polished out, wiped, coated again." in flat


def test_the_dates_count_from_the_section_laid_last() -> None:
    coated = [r for r in result(NAME).events(ev.StepFinished) if r.event.stage == "Coat"]  # type: ignore[attr-defined]  # rows of one kind
    last = coated[-1]
    assert last.event.sections == ("bonnet left",)  # type: ignore[attr-defined]  # rows of one kind
    # Ends are printed at the next whole minute.
    at = datetime.fromtimestamp(last.at_us / 1e6, ZONE) + timedelta(seconds=59)
    dry, wash = at + timedelta(hours=48), at + timedelta(days=10)
    assert f"\n  not before {dry:%a} {dry.day} {dry:%b %Y %H:%M}   May get wet\n" in RECORD
    # The tenth day is still one of them.
    free = wash + timedelta(days=1)
    assert f"\n  not before {free:%a} {free.day} {free:%b %Y} 00:00   May be washed\n" in RECORD
    # The roof was laid while a panel of 14 C stood, so its longer cure ends last.
    roof = next(r for r in reversed(coated) if r.event.sections == ("roof",))  # type: ignore[attr-defined]  # rows of one kind
    laid = datetime.fromtimestamp(roof.at_us / 1e6, ZONE) + timedelta(seconds=59)
    cured = laid + timedelta(hours=24)
    said = f"not before {cured:%a} {cured.day} {cured:%b %Y %H:%M}"
    assert re.search(rf"\n  {said} +Coat: cured\n", RECORD)
    assert at + timedelta(hours=12) < cured
