"""Which revision a paper is and what changed since the last one went out."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from cartclock.engine.after.entries import entries, handed_out, issues
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Row
from cartclock.engine.record.arrival import arrival_sheet
from cartclock.engine.record.customer import customer_sheet
from cartclock.engine.record.revision import (
    Change,
    Reader,
    Revision,
    change_text,
    revision_of,
    revision_text,
)
from cartclock.engine.rules import changes, rules
from tests.kit.book import JOB, Book, us
from tests.kit.care import CURED, DRY, VISIT, WASH, begun, coat, finished, record_of
from tests.kit.samples import SAMPLES, SEALED


def out(book: Book, at_s: float, number: int, paper: str = "aftercare") -> int:
    return book.press(at_s, ev.PaperIssued(paper, number, "0" * 64))


def revision(book: Book, paper: str = "aftercare", reader: Reader = "customer") -> Revision:
    """The revision that is made now: what the paper shows is its Struct, at one late moment."""

    def shown(rows: Sequence[Row]) -> object:
        then = Book()
        then.rows = list(rows)
        record = record_of(then, 9000, text=lambda _ref: "a note")
        if reader == "shop":
            return record
        return arrival_sheet(record) if reader == "arrival" else customer_sheet(record)

    return revision_of(book.job(), book.rows, paper, shown, reader)


def since(
    book: Book, paper: str = "aftercare", reader: Reader = "customer"
) -> list[tuple[str, str]]:
    """(kind, what) of the changes."""
    return [(change.kind, change.what) for change in revision(book, paper, reader).changes]


def test_the_first_replaces_nothing() -> None:
    book = finished()
    found = revision(book)
    assert (found.number, found.replaces_us, found.replaces, found.changes) == (1, None, 0, ())
    assert revision_text(found, "UTC") == "Revision 1."


def test_each_paper_counts_for_itself_and_goes_on_from_the_highest() -> None:
    book = finished()
    out(book, 1300, 1)
    out(book, 1400, 2)
    out(book, 1500, 1, "record")
    for paper, number, at_s in (("aftercare", 3, 1400), ("record", 2, 1500), ("invoice", 1, None)):
        found = revision(book, paper)
        assert (found.number, found.replaces) == (number, number - 1)
        assert found.replaces_us == (None if at_s is None else us(at_s))
    assert revision_text(revision(book), "Europe/Lisbon") == (
        "Revision 3, replaces revision 2 of Mon 21 Sep 2026 15:36."
    )


def test_an_issue_that_was_struck_did_not_go_out() -> None:
    book = finished()
    press = out(book, 1300, 1)
    book.press(1350, ev.PressStruck(press))
    assert revision(book).number == 1


def test_nothing_changed() -> None:
    book = finished()
    out(book, 1300, 1)
    assert since(book) == []


def test_what_was_added_struck_and_moved_is_told_in_order_of_time() -> None:
    book = finished(DRY)
    last = book.rows[-1].press.seq
    taken = next(row.press.seq for row in book.rows if row.kind == "WorkStarted")
    out(book, 1300, 1)
    book.press(1400, ev.PressMoved(taken, us(60)))
    book.press(1410, ev.PressStruck(last, "the roof was not finished"))
    book.do(1500, rules.take_up, next(m for m in book.moves(1500) if m.act == "end"))
    book.do(1600, rules.close_job, JOB)
    found = revision(book).changes
    assert [change_text(change, "UTC") for change in found] == [
        "moved: took up: apply bonnet (Coat), Mon 21 Sep 2026 14:13 to Mon 21 Sep 2026 14:14",
        "struck: finished: level roof (Coat), Mon 21 Sep 2026 14:33; the roof was not finished",
        "added: finished: level roof (Coat), Mon 21 Sep 2026 14:38",
        "added: job 7 closed, Mon 21 Sep 2026 14:40",
    ]


def test_only_the_outcome_counts() -> None:
    book = finished(DRY)
    last = book.rows[-1].press.seq
    out(book, 1300, 1)
    strike = book.press(1310, ev.PressStruck(last))
    book.press(1320, ev.PressRestored(last))
    added = book.press(1330, ev.OdometerRead(9000))
    book.press(1340, ev.PressStruck(added))
    move = book.press(1350, ev.PressMoved(last, us(1190)))
    book.press(1360, ev.PressStruck(move))
    assert since(book) == []
    assert strike > last


def test_a_press_struck_before_and_restored_after_is_restored() -> None:
    book = finished(DRY)
    last = book.rows[-1].press.seq
    book.press(1290, ev.PressStruck(last))
    out(book, 1300, 1)
    book.press(1310, ev.PressRestored(last))
    assert since(book) == [("restored", "finished: level roof (Coat)")]


def test_what_is_the_workers_own_stays_out_of_a_customers_paper() -> None:
    book = finished(DRY)
    out(book, 1300, 1)
    book.press(1310, ev.FeltUnwell(("headache",)))
    book.press(1320, ev.DrinkTaken(250))
    book.press(1330, ev.BreakTaken("rest"))
    book.press(1340, ev.BreakEnded())
    book.press(1350, ev.NoteWritten(SEALED, "Coat", "roof", private=True))
    book.press(1360, ev.NoteWritten(SEALED, "Coat", "roof", private=False))
    book.press(1370, ev.ReadingTaken(air_c=9.0, rh=60))
    book.press(1380, ev.RestCalled("heat", 900), by="machine")
    outside = [
        ("added", "note on roof"),
        ("added", "reading: air 9 C, 60 % RH, indoors"),
    ]
    assert since(book) == outside
    assert since(book, reader="shop") == [
        ("added", "felt unwell: headache"),
        ("added", "drank 250 ml"),
        ("added", "break: rest"),
        ("added", "break over"),
        ("added", "note on roof"),
        *outside,
    ]


def test_what_changes_nothing_that_is_shown_is_no_change() -> None:
    book = finished(DRY)
    out(book, 1300, 1)
    book.press(1350, ev.NoteWritten(SEALED, "Coat", "roof", private=True))
    book.press(1370, ev.ReadingTaken(air_c=9.0, rh=60))
    found = revision(book)
    assert (found.changed, found.changes) == (False, ())
    assert revision(book, reader="shop").changed


# What only the list of corrections and the events set aside show is named by no press.
UNNAMED = {"PressRestored", "Unknown"}


def test_whatever_the_record_shows_of_a_press_is_a_change_that_is_named() -> None:
    """Every kind of event, added behind an issue, changes the record or leaves it as it was."""
    silent = set()
    for tag, event in SAMPLES.items():
        book = finished(DRY)
        out(book, 1300, 1)
        # Struck in its turn, it must be seen again.
        press = book.press(1310, event)
        added = revision(book, reader="shop")
        assert bool(added.changes) == (added.changed and tag not in UNNAMED), tag
        if not added.changed:
            silent.add(tag)
            continue
        if tag == "TimeCorrected":
            # It is not struck: the time is said once more.
            continue
        out(book, 1320, 2)
        assert not revision(book, reader="shop").changed, tag
        book.press(1330, ev.PressStruck(press))
        struck = revision(book, reader="shop")
        # A strike is not taken back by a strike, but by restoring what it struck.
        assert struck.changed and bool(struck.changes) == (tag not in {*UNNAMED, "PressStruck"}), (
            tag
        )
    # A second clocking on is set aside, packs are another product's, papers are told
    # apart; what is worn and a roof count where a reading was taken, what is said more of an
    # incident or a call back where it was noted.
    assert silent == {
        "ClockedOn", "DayExpected", "CheckedIn", "CautionsRead", "PaperIssued", "PackOpened",
        "PackWeighed", "JobImported",
        "ClothingSaid", "RoofSaid", "IncidentAmended",
        "CallBackMoved", "CallBackEnded", "PartSaid",
    }  # fmt: skip


def test_another_job_and_another_shift_change_nothing() -> None:
    book = finished(DRY)
    out(book, 1300, 1)
    book.press(1310, ev.OdometerRead(1), job="job-2")
    book.press(1320, ev.ClockedOn(), worker="mate")
    book.press(1330, ev.ReadingTaken(air_c=9.0), worker="mate")
    assert since(book, reader="shop") == []


@pytest.mark.parametrize("kind", ["added", "struck", "restored", "moved"])
def test_a_change_in_words(kind: str) -> None:
    change = Change(kind, "seen ready: roof", us(0))  # type: ignore[arg-type]  # one of its kinds
    assert change_text(change, "UTC") == f"{kind}: seen ready: roof, Mon 21 Sep 2026 14:13"


# What was handed out.


def names(book: Book) -> list[str]:
    return [entry.identity for entry in handed_out(JOB, book.rows, "aftercare")]


def test_what_was_handed_out_is_what_the_log_said_then() -> None:
    book = finished(DRY, WASH, VISIT, stages=(CURED,))
    assert names(book) == []
    out(book, 1300, 1)
    first = ["cure/Coat", "until/Keep it dry.", "from/First wash."]
    assert names(book) == first
    book.do(1400, rules.close_job, JOB)
    assert names(book) == first
    out(book, 1500, 2)
    assert names(book) == [*first, "every/1/Inspection.", "every/2/Inspection."]
    # A coat that is redone has no dates, but what went out went out.
    book.do(1600, rules.reopen_job, JOB)
    book.do(1700, changes.redo, JOB, "Coat", ("roof",), "high spot")
    out(book, 1800, 3)
    assert len(names(book)) == 5
    assert len(issues(JOB, book.rows, "aftercare")) == 3
    record = record_of(book, 1900)
    assert entries(record.cares, record.cures, record.zone) == ()


def test_an_entry_handed_out_twice_is_told_as_it_was_last() -> None:
    book = finished(DRY)
    out(book, 1300, 1)
    book.do(1400, changes.redo, JOB, "Coat", ("roof",), "high spot")
    coat(book, 2000, "roof")
    out(book, 3000, 2)
    (entry,) = handed_out(JOB, book.rows, "aftercare")
    assert (entry.from_us, entry.to_us) == (us(2600), us(2600 + 48 * 3600))


def test_a_job_that_was_never_opened_handed_nothing_out() -> None:
    book = begun()
    assert handed_out("job-9", book.rows, "aftercare") == ()
