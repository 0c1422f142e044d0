"""Who took the keys and how it is paid: noted of a closed job; the customer reads the name."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from cartclock.engine.record.arrival import arrival_sheet
from cartclock.engine.record.customer import customer_sheet, handed_over_text
from cartclock.engine.record.record import Record, record
from cartclock.engine.rules import rules
from cartclock.engine.rules.handover import note_handover
from cartclock.engine.trouble import Refused
from tests.kit.day import Day
from tests.kit.setting import arrival_text, customer_text, record_text


@pytest.fixture
def day(tmp_path: Path) -> Iterator[Day]:
    day = Day(tmp_path, plan=1)
    yield day
    day.bench.close()


def close(day: Day) -> None:
    day.clock.wind(60)
    day.bench.do(rules.close_job, day.job, {"unfinished": "the owner came early"})


def made(day: Day) -> Record:
    bench, job = day.bench, day.bench.jobs[day.job]
    text = bench.log.private_text
    return record(job, bench.shifts, {job.id: job}, bench.now_us, rows=bench.rows, text=text)


def test_the_record_tells_both_and_the_customer_reads_the_name(day: Day) -> None:
    close(day)
    bench = day.bench
    bench.do(note_handover, day.job, bench.seal("Ada Example"), "card")
    found = made(day)
    assert [(one.kind, one.text) for one in found.dealings] == [
        ("paid", "card"),
        ("keys", "taken by Ada Example"),
    ]
    sheet = customer_sheet(found)
    assert handed_over_text(sheet) == "Mon 21 Sep 2026 14:14 to Ada Example"
    assert "card" not in str(sheet)
    # What is said later covers it; the close without a name stands alone.
    bench.do(note_handover, day.job, bench.seal("Bo Example"))
    assert customer_sheet(made(day)).handed_to == "Bo Example"
    for _ in range(2):
        bench.undo()
    assert handed_over_text(customer_sheet(made(day))) == "Mon 21 Sep 2026 14:14"
    bench.do(note_handover, day.job, bench.seal("Ada Example"))
    bench.do(rules.reopen_job, day.job, "forgot the sills")
    assert customer_sheet(made(day)).handed_to == ""


def test_what_cannot_be_is_refused_in_a_sentence(day: Day) -> None:
    with pytest.raises(Refused, match="The job is not handed over yet; close it first"):
        day.bench.do(note_handover, day.job, None, "cash")
    close(day)
    with pytest.raises(Refused, match="Nothing was said"):
        day.bench.do(note_handover, day.job)
    assert [row.kind for row in day.bench.jobs[day.job].facts] == []


def test_the_customers_paper_does_not_say_how_it_was_paid(day: Day) -> None:
    close(day)
    day.bench.do(note_handover, day.job, day.bench.seal("Ada Example"), "transfer")
    found = made(day)
    customer = customer_text(customer_sheet(found))
    assert "to Ada Example" in customer
    assert "transfer" not in customer + arrival_text(arrival_sheet(found))
    assert "transfer" in record_text(found)
