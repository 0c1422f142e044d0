"""Incidents: what can be noted, what is said more of one, and who is told of it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.press import Press
from cartclock.engine.record.customer import customer_sheet
from cartclock.engine.record.record import record
from cartclock.engine.rules import rules
from cartclock.engine.rules.incidents import amend_incident, note_incident
from cartclock.engine.trouble import Refused
from cartclock.engine.vehicle.incidents import Incident, incidents
from tests.kit.day import Day

FILE = "ab" * 32


@pytest.fixture
def day(tmp_path: Path) -> Iterator[Day]:
    day = Day(tmp_path, plan=1)
    yield day
    day.bench.close()


def noted(day: Day, panel: str = "roof") -> Press:
    """The press that notes a spill, five minutes late."""
    day.clock.wind(600)
    event = ev.IncidentNoted(panel, "spill")
    return day.bench.do_as("me", 300_000_000, note_incident, day.job, event).press


def known(day: Day) -> tuple[Incident, ...]:
    return tuple(incidents(day.bench.jobs[day.job], day.bench.text).values())


def test_what_is_said_later_belongs_to_its_incident(day: Day) -> None:
    bench = day.bench
    first, second = noted(day), noted(day, "bonnet")
    done = ev.IncidentAmended(first.seq, done=bench.seal("rinsed at once"))
    bench.do(amend_incident, day.job, done)
    photo = ev.FileAttached(FILE, bench.seal("/photos/roof.jpg"))
    bench.do(amend_incident, day.job, ev.IncidentAmended(first.seq, photo=FILE), photo)
    bench.do(amend_incident, day.job, ev.IncidentAmended(second.seq, photo=FILE), photo)
    bench.do(amend_incident, day.job, ev.IncidentAmended(second.seq, told=True))
    roof, bonnet = known(day)
    assert (roof.panel, roof.text, roof.photos) == ("roof", "spill; rinsed at once", (FILE,))
    assert (roof.told, bonnet.told, bonnet.photos) == (False, True, (FILE,))
    assert bonnet.at_us - roof.at_us == 600_000_000
    # A file is attached once, whatever it shows.
    attached = [row for row in bench.rows if row.kind == "FileAttached"]
    assert [row.press.seq for row in attached] == [attached[0].seq]
    bench.undo()
    assert not known(day)[1].told
    bench.strike(first)
    assert [one.panel for one in known(day)] == ["bonnet"]
    with pytest.raises(Refused, match="does not stand"):
        bench.do(amend_incident, day.job, done)


def test_a_complaint_may_come_after_the_close(day: Day) -> None:
    bench = day.bench
    bench.do(rules.close_job, day.job, {"unfinished": "the owner came early"})
    event = ev.IncidentNoted("whole vehicle", "complaint")
    press = bench.do(note_incident, day.job, event).press
    bench.do(amend_incident, day.job, ev.IncidentAmended(press.seq, told=True))
    assert [(one.what, one.told) for one in known(day)] == [("complaint", True)]


def test_what_cannot_be_is_refused_in_a_sentence(day: Day) -> None:
    job = day.job
    press = noted(day)
    photo = ev.FileAttached(FILE, day.bench.seal("p"))
    shows = ev.IncidentAmended(press.seq, photo=FILE)
    day.bench.do(amend_incident, job, shows, photo)
    for rule, of, args, why in (
        (
            note_incident,
            "none",
            (ev.IncidentNoted("roof", "spill"),),
            "The job was not opened by then.",
        ),
        (note_incident, job, (ev.IncidentNoted(" ", "spill"),), "A panel has 1 to 60 characters"),
        (amend_incident, job, (ev.IncidentAmended(999),), "That incident does not stand"),
        (
            amend_incident,
            job,
            (ev.IncidentAmended(press.seq, origin="x"),),
            "That incident does not",
        ),
        (amend_incident, job, (shows, photo), "That photo shows it already."),
    ):
        with pytest.raises(Refused, match=why):
            rule(day.bench.scene(), of, *args)


def test_a_forgotten_word_leaves_the_incident(day: Day) -> None:
    press = noted(day)
    for told in (True, False):
        event = ev.IncidentAmended(press.seq, done=day.bench.seal("rinsed"), told=told)
        day.bench.do(amend_incident, day.job, event)
        job = day.bench.jobs[day.job]
        found = record(job, day.bench.shifts, {job.id: job}, day.bench.now_us)
        assert [one.text for one in found.incidents] == ["spill; forgotten"]
        said = [one.text for one in customer_sheet(found).notes]
        assert said == (["spill"] if told else [])
