"""Papers leave the laptop: filed once, never over another file, with their revision in the log."""

from __future__ import annotations

import asyncio
import base64
import hashlib
import os
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from time import monotonic

import pytest

from cartclock.engine.dates import instant
from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.copies import Copies, forms
from cartclock.engine.desk.outlet import Outlet, printed_form
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Draft
from cartclock.engine.paper.papers import PAPERS
from cartclock.engine.plan.plan import Aftercare, Plan, Stage, Work
from cartclock.engine.press import Press
from cartclock.engine.rules import changes, rules
from cartclock.engine.rules.arrival import note_vehicle
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.laptop import paper_file
from cartclock.engine.store.laptop.printer import printed
from cartclock.engine.store.settings import Premises, Printing, Settings
from cartclock.engine.trouble import Refused, StoreFault
from tests.kit.pdf import sheets
from tests.kit.pictures import jpeg, png
from tests.kit.setting import record_text

ZONE = "Europe/Berlin"
PLAN = Plan(
    "Maintenance wash",
    (Stage("Wash", ("body", "wheels"), (Work("rinse", 10.0),)),),
    aftercare=(Aftercare("Dry it.", "label of the pack", until="PT1H", after="Wash"),),
)
LP = pytest.mark.skipif(os.name != "posix", reason="lp is a command of these systems")


@pytest.fixture
def clock() -> HandClock:
    return HandClock(instant("2026-10-24 10:00", ZONE))


@pytest.fixture
def bench(tmp_path: Path, clock: HandClock) -> Iterator[Bench]:
    bench = Bench.open(tmp_path / "log.db", clock)
    yield bench
    bench.close()


@pytest.fixture
def outlet(bench: Bench, tmp_path: Path) -> Outlet:
    return Outlet(bench, Shop(bench.log), Settings(zone=ZONE), tmp_path / "papers")


def opened(bench: Bench, vehicle: str = "bottle green estate") -> str:
    job = bench.new_id()
    number = Shop(bench.log).next_number()
    bench.do(rules.open_job, job, ev.JobOpened(PLAN, "", number, vehicle, ZONE))
    return job


def worked(bench: Bench, clock: HandClock, job: str) -> None:
    """Both sections done and the job closed, on the clock and off again."""
    bench.do(rules.clock_on, ev.ClockedOn("yard", zone=ZONE))
    for _ in range(2):
        bench.do(rules.take_up, next(m for m in bench.moves() if m.job == job))
        clock.wind(600)
    bench.do(rules.take_up, next(m for m in bench.moves() if m.act == "end"))
    bench.do(rules.close_job, job)
    bench.do(rules.clock_off)
    clock.wind(60)


def papers(bench: Bench) -> list[ev.PaperIssued]:
    rows = bench.log.all_rows()
    return [row.event for row in rows if isinstance(row.event, ev.PaperIssued)]


# Names and files.


@pytest.mark.parametrize(
    ("number", "vehicle", "name"),
    [
        (42, "bottle green estate", "job-0042-bottle-green-estate"),
        (7, "  XY/../..\\x:*?  ", "job-0007-xy-x"),
        (12345, "", "job-12345"),
        (1, "Łódź żółty 2,0", "job-0001-łódź-żółty-2-0"),
        (3, "\x1b[31m", "job-0003-31m"),
        (5, "a" * 39 + " b" * 40, "job-0005-" + "a" * 39),
    ],
)
def test_a_jobs_folder_has_its_number_and_its_vehicle(number: int, vehicle: str, name: str) -> None:
    assert paper_file.job_folder(number, vehicle) == name


def test_a_file_is_placed_whole_and_over_no_other(tmp_path: Path) -> None:
    path = tmp_path / "papers" / "job" / "record-r1.txt"
    paper_file.place_file(path, b"one")
    with pytest.raises(Refused, match="is there already; nothing was written"):
        paper_file.place_file(path, b"two")
    (path.parent / "gone").symlink_to(tmp_path / "nowhere")
    with pytest.raises(Refused, match="is there already"):
        paper_file.place_file(path.parent / "gone", b"two")
    assert path.read_bytes() == b"one"
    assert sorted(one.name for one in path.parent.iterdir()) == ["gone", "record-r1.txt"]


def test_a_file_that_came_meanwhile_is_not_replaced(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "record-r1.txt"
    real = os.link

    def link(made: Path, to: Path) -> None:
        to.write_bytes(b"theirs")
        real(made, to)

    monkeypatch.setattr(os, "link", link)
    with pytest.raises(Refused, match="is there already"):
        paper_file.place_file(path, b"mine")
    assert path.read_bytes() == b"theirs"
    assert list(tmp_path.iterdir()) == [path]


def test_a_disk_without_hard_links_takes_a_file_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def link(made: Path, to: Path) -> None:
        raise OSError("not supported here")

    monkeypatch.setattr(os, "link", link)
    path = tmp_path / "record-r1.txt"
    paper_file.place_file(path, b"one")
    assert path.read_bytes() == b"one"
    assert list(tmp_path.iterdir()) == [path]


def test_a_folder_that_takes_nothing_is_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "papers").write_text("a file where the folder should be")
    with pytest.raises(StoreFault, match="cannot be written: "):
        paper_file.place_file(tmp_path / "papers" / "record-r1.txt", b"one")


def test_revisions_are_read_off_the_names(tmp_path: Path) -> None:
    for name in ("record-r2.pdf", "record-r2.txt", "record-r10.txt", "record-rx.txt", "a-r3.txt"):
        (tmp_path / name).touch()
    found = paper_file.revisions(tmp_path, "record")
    assert {number: len(paths) for number, paths in found.items()} == {2: 2, 10: 1}
    assert paper_file.revisions(tmp_path / "none", "record") == {}


# Copies.


def test_a_copy_is_the_text_of_always_and_leaves_no_trace(
    bench: Bench, clock: HandClock, outlet: Outlet
) -> None:
    worked(bench, clock, opened(bench))
    head = bench.log.head
    text = record_text(outlet.shop.record("1", bench.now_us), 0, "EUR")
    assert outlet.copy("record", "1", "text").decode() == text
    assert outlet.copy("day", "2026-10-24", "text").decode().startswith("DAY")
    assert bench.log.head == head
    assert not outlet.folder.exists()


@pytest.mark.parametrize(
    ("document", "handle", "form", "says"),
    [
        ("letter", "1", "text", "There is no paper 'letter'; there are sheet, "),
        ("record", "1", "smoke", "The paper record has no form 'smoke'; it has text"),
        ("record", "9", "text", "There is no job 9."),
        ("day", "24.10.", "text", "'24.10.' is not a date"),
    ],
)
def test_what_there_is_not_is_refused(
    bench: Bench, outlet: Outlet, document: str, handle: str, form: str, says: str
) -> None:
    opened(bench)
    head = bench.log.head
    for do in (outlet.copy, outlet.issue):
        with pytest.raises(Refused) as refused:
            do(document, handle, form)
        assert str(refused.value).startswith(says)
    assert bench.log.head == head
    assert not outlet.folder.exists()


# What is issued.


def test_an_issued_paper_is_a_file_and_a_row_with_its_digest(
    bench: Bench, clock: HandClock, outlet: Outlet
) -> None:
    worked(bench, clock, opened(bench))
    issued = outlet.issue("record", "1", "text")
    assert issued.path == outlet.folder / "job-0001-bottle-green-estate" / "record-r1.txt"
    assert issued.fresh
    assert str(issued) == "Job 1, bottle green estate: record. Revision 1."
    sha256 = hashlib.sha256(issued.path.read_bytes()).hexdigest()
    assert papers(bench) == [ev.PaperIssued("record", 1, sha256)]
    assert b"JOB RECORD" in issued.path.read_bytes()


def test_while_nothing_changes_the_paper_stays_the_one_that_is_out(
    bench: Bench, clock: HandClock, outlet: Outlet
) -> None:
    worked(bench, clock, opened(bench))
    first = outlet.issue("record", "1", "text")
    before = first.path.read_bytes()
    clock.wind(86_400)
    outlet.issue("aftercare", "1", "text")
    again = outlet.issue("record", "1", "text")
    assert (again.path, again.fresh, again.revision) == (first.path, False, first.revision)
    assert str(again).endswith("record. Revision 1. As it was; nothing has changed since.")
    assert first.path.read_bytes() == before
    assert [one.paper for one in papers(bench)] == ["record", "aftercare"]


def test_reopened_corrected_and_closed_again_it_is_the_next_revision(
    bench: Bench, clock: HandClock, outlet: Outlet
) -> None:
    job = opened(bench)
    worked(bench, clock, job)
    first = outlet.issue("record", "1", "text")
    content = first.path.read_bytes()
    at_us = bench.now_us
    clock.wind(7200)
    bench.do(rules.reopen_job, job, "wheel brushed once more")
    bench.do(rules.note_job, job, ev.NoteWritten(bench.seal("wheel"), private=False))
    bench.do(rules.close_job, job)
    second = outlet.issue("record", "1", "text")
    assert second.path.name == "record-r2.txt"
    assert second.revision.replaces == 1
    assert second.revision.replaces_us == at_us
    when = "Sat 24 Oct 2026"
    assert str(second) == (
        "Job 1, bottle green estate: record. "
        f"Revision 2, replaces revision 1 of {when} 10:21. "
        f"Changed: added: job 1 reopened, {when} 12:21; added: note, {when} 12:21; "
        f"added: job 1 closed, {when} 12:21."
    )
    text = second.path.read_text()
    assert f"Revision 2, replaces revision 1 of {when} 10:21." in text
    assert f"added: job 1 reopened, {when} 12:21" in text
    assert "Revision 1." in content.decode()
    assert first.path.read_bytes() == content
    assert [one.revision for one in papers(bench)] == [1, 2]
    assert outlet.issue("record", "1", "text").revision == second.revision


def test_a_correction_of_its_hours_makes_a_new_record_and_leaves_the_aftercare(
    bench: Bench, clock: HandClock, outlet: Outlet
) -> None:
    worked(bench, clock, opened(bench))
    for document in ("record", "aftercare"):
        outlet.issue(document, "1", "text")
    off = next(row for row in bench.log.all_rows() if isinstance(row.event, ev.ClockedOff))
    bench.move(off.press, off.at_us + 30_000_000)
    assert outlet.issue("record", "1", "text").path.name == "record-r2.txt"
    assert not outlet.issue("aftercare", "1", "text").fresh


def test_no_press_that_the_record_shows_can_be_struck_unnoticed(
    bench: Bench, clock: HandClock, outlet: Outlet
) -> None:
    job = opened(bench)
    bench.do(rules.clock_on, ev.ClockedOn("yard", zone=ZONE))
    drink = bench.do(rules.note_shift, ev.DrinkTaken(250)).press
    said = bench.do(rules.note_shift, ev.HotDaysSaid(9)).press
    bench.do(rules.take_up, next(m for m in bench.moves() if m.job == job))
    clock.wind(600)
    bench.do(rules.close_job, job, {"unfinished": "sold"})
    bench.do(rules.clock_off)
    outlet.issue("record", "1", "text")
    outlet.issue("sheet", "1", "text")
    bench.strike(drink)
    bench.strike(said)
    second = outlet.issue("record", "1", "text")
    assert second.path.name == "record-r2.txt"
    assert [(change.kind, change.what) for change in second.revision.changes] == [
        ("struck", "drank 250 ml"),
        ("struck", "worked in the heat on 9 of the last 14 days"),
    ]
    assert "nothing has changed" not in str(second)
    # What the customer reads is as it was.
    assert not outlet.issue("sheet", "1", "text").fresh


# What a worker presses of the body and the day.
BESIDE_THE_WORK = {
    "a rest overruled": ev.RestOverruled("two panels, then I rest"),
    "a drink": ev.DrinkTaken(250),
    "unwell": ev.FeltUnwell(("headache",)),
    "a day expected": ev.DayExpected(9.0, 21.0),
    "a sign of life": ev.CheckedIn(1800),
    "hot days said": ev.HotDaysSaid(9),
}
NOON_US = instant("2026-10-24 12:00", ZONE)


def shown(outlet: Outlet, document: str) -> str:
    """The printed paper, without which rows it was made of and which papers went out."""
    made = Copies(outlet.shop, outlet.settings, outlet.folder, lambda: NOON_US)
    text = made.copy(document, "1", "text").decode().rpartition("\nMade ")[0] or ""
    return "\n".join(line for line in text.splitlines() if not re.search(r"\d +paper ", line))


@pytest.mark.parametrize(
    "name",
    [
        pytest.param(name, marks=() if number < 3 else pytest.mark.long)
        for number, name in enumerate(BESIDE_THE_WORK)
    ],
)
def test_a_paper_has_changed_if_it_shows_something_else_and_only_then(
    bench: Bench, clock: HandClock, outlet: Outlet, name: str
) -> None:
    worked(bench, clock, opened(bench))
    documents = ("record", "sheet", "arrival", "aftercare")
    for document in documents:
        outlet.issue(document, "1", "text")
    before = {document: shown(outlet, document) for document in documents}
    entered: list[Press] = []

    def enter() -> None:
        drafts = (Draft(BESIDE_THE_WORK[name]),)
        entered.append(bench.do_as(bench.worker, 600_000_000, lambda _scene: drafts).press)

    # Entered late for a minute of the work, then nothing, struck, restored: the paper is a new one
    # if a reader would see something else, and the one that is out if not.
    for change, differs in (
        (enter, True),
        (lambda: None, False),
        (lambda: bench.strike(entered[0]), True),
        (lambda: bench.restore(entered[0]), True),
    ):
        change()
        for document in documents:
            text = shown(outlet, document)
            assert (text != before[document]) == (differs and document == "record")
            assert outlet.issue(document, "1", "text").fresh == (text != before[document])
            before[document] = text


def test_two_presses_struck_are_two_changes_of_the_next_record(
    bench: Bench, clock: HandClock, outlet: Outlet
) -> None:
    worked(bench, clock, opened(bench))
    drinks = [
        bench.do_as(bench.worker, ago_us, rules.note_shift, ev.DrinkTaken(250)).press
        for ago_us in (900_000_000, 600_000_000)
    ]
    outlet.issue("record", "1", "text")
    for press in drinks:
        bench.strike(press)
    second = outlet.issue("record", "1", "text")
    assert second.path.name == "record-r2.txt"
    assert [change.kind for change in second.revision.changes] == ["struck", "struck"]
    assert "nothing has changed" not in str(second)
    assert not outlet.issue("record", "1", "text").fresh


def test_the_record_of_a_job_at_work_is_a_new_one_every_time(
    bench: Bench, clock: HandClock, outlet: Outlet
) -> None:
    opened(bench)
    bench.do(rules.clock_on, ev.ClockedOn("yard", zone=ZONE))
    names = []
    for _ in range(3):
        names.append(outlet.issue("record", "1", "text").path.name)
        clock.wind(60)
    assert names == ["record-r1.txt", "record-r2.txt", "record-r3.txt"]


def test_a_file_that_was_changed_by_hand_stays_and_is_no_revision(
    bench: Bench, clock: HandClock, outlet: Outlet
) -> None:
    worked(bench, clock, opened(bench))
    first = outlet.issue("record", "1", "text")
    first.path.write_text("mine now")
    second = outlet.issue("record", "1", "text")
    assert (second.path.name, second.fresh) == ("record-r2.txt", True)
    assert first.path.read_text() == "mine now"


def test_a_file_that_was_thrown_away_is_made_again(
    bench: Bench, clock: HandClock, outlet: Outlet
) -> None:
    worked(bench, clock, opened(bench))
    first = outlet.issue("record", "1", "text")
    first.path.unlink()
    again = outlet.issue("record", "1", "text")
    assert (again.path, again.fresh, again.revision.number) == (first.path, True, 1)


def test_a_paper_whose_row_was_struck_keeps_its_file_and_its_number(
    bench: Bench, clock: HandClock, outlet: Outlet
) -> None:
    worked(bench, clock, opened(bench))
    first = outlet.issue("record", "1", "text")
    bench.undo()
    second = outlet.issue("record", "1", "text")
    assert (second.path.name, second.revision.replaces) == ("record-r2.txt", 0)
    assert first.path.exists()


def test_without_a_row_there_is_no_file(
    bench: Bench, clock: HandClock, outlet: Outlet, tmp_path: Path
) -> None:
    opened(bench)
    other = Bench.open(tmp_path / "log.db", clock)
    opened(other, "grey van")
    other.close()
    with pytest.raises(Refused, match="wrote meanwhile"):
        outlet.issue("aftercare", "1", "text")
    assert list((outlet.folder / "job-0001-bottle-green-estate").iterdir()) == []
    assert outlet.issue("aftercare", "1", "text").revision.number == 1


def test_a_closed_job_out_of_sight_has_its_papers_too(
    bench: Bench, clock: HandClock, outlet: Outlet
) -> None:
    worked(bench, clock, opened(bench))
    clock.wind(86_400)
    worked(bench, clock, opened(bench, "grey van"))
    bench.load()
    assert len(bench.jobs) == 1
    assert outlet.issue("record", "1", "text").revision.number == 1
    assert outlet.issue("record", "2", "text").path.parent.name == "job-0002-grey-van"
    assert bench.log.check() == []


def test_a_days_papers_lie_apart_and_each_is_a_file_of_its_own(
    bench: Bench, clock: HandClock, outlet: Outlet
) -> None:
    worked(bench, clock, opened(bench))
    clock.wind(86_400)
    assert outlet.date == "2026-10-24"
    assert outlet.copy("day", "", "text") == outlet.copy("day", "2026-10-25", "text")
    names = [outlet.issue("day", outlet.date, "text").path for _ in range(2)]
    assert [path.name for path in names] == ["day-2026-10-24-r1.txt", "day-2026-10-24-r2.txt"]
    assert {path.parent for path in names} == {outlet.folder / "days"}
    assert papers(bench) == []


def test_the_customers_papers_name_the_revision_and_no_press(
    bench: Bench, clock: HandClock, outlet: Outlet
) -> None:
    job = opened(bench)
    worked(bench, clock, job)
    outlet.issue("aftercare", "1", "text")
    bench.do(rules.reopen_job, job, "streaks on the roof")
    bench.do(rules.clock_on, ev.ClockedOn("yard", zone=ZONE))
    bench.do(changes.redo, job, "Wash", ("body",), "streaks on the roof")
    bench.do(rules.take_up, next(m for m in bench.moves() if m.job == job))
    clock.wind(600)
    bench.do(rules.close_job, job)
    text = outlet.issue("aftercare", "1", "text").path.read_text()
    assert "Revision 2, replaces revision 1 of " in text
    assert "reopened" not in text


@pytest.mark.parametrize("document", ["sheet", "record"])
@pytest.mark.parametrize("form", ["text", "html", "json"])
def test_sheet_and_record_say_in_every_form_which_one_they_replace(
    bench: Bench, clock: HandClock, outlet: Outlet, document: str, form: str
) -> None:
    job = opened(bench)
    worked(bench, clock, job)
    first = outlet.issue(document, "1", form).path.read_text()
    assert "Revision 1." in first
    bench.do(rules.reopen_job, job, "streaks on the roof")
    bench.do(rules.close_job, job)
    second = outlet.issue(document, "1", form).path.read_text()
    assert "Revision 2, replaces revision 1 of Sat 24 Oct 2026 10:21." in second
    # What was pressed in between is the shop's own.
    assert ("added: job 1 reopened" in second) == (document == "record")
    assert "Revision" not in outlet.copy(document, "1", form).decode()


def test_an_arrival_sheet_stands_while_the_work_goes_on(
    bench: Bench, clock: HandClock, outlet: Outlet
) -> None:
    job = opened(bench)
    first = outlet.issue("arrival", "1", "text")
    bench.do(rules.clock_on, ev.ClockedOn("yard", zone=ZONE))
    bench.do(rules.take_up, next(m for m in bench.moves() if m.job == job))
    clock.wind(60)
    assert outlet.issue("arrival", "1", "text").path == first.path
    bench.do(note_vehicle, job, ev.OdometerRead(84_210, "km"))
    second = outlet.issue("arrival", "1", "text")
    assert second.path.name == "arrival-r2.txt"
    assert "84210" in second.path.read_text().replace(" ", "").replace(",", "")


@pytest.mark.parametrize("form", ["text", "html", "json", "pdf"])
def test_an_arrival_sheet_says_in_every_form_which_one_it_replaces(
    bench: Bench, outlet: Outlet, form: str
) -> None:
    def said(content: bytes) -> str:
        if form == "pdf":
            return " ".join(" ".join(page.text for page in sheets(content)).split())
        return content.decode()

    job = opened(bench)
    assert "Revision 1." in said(outlet.issue("arrival", "1", form).path.read_bytes())
    bench.do(note_vehicle, job, ev.OdometerRead(84_210, "km"))
    second = said(outlet.issue("arrival", "1", form).path.read_bytes())
    assert "Revision 2, replaces revision 1 of Sat 24 Oct 2026 10:00." in second
    # What was pressed in between is the shop's own.
    assert "added" not in second
    assert "Revision" not in said(outlet.copy("arrival", "1", form))


def test_windscreen_and_message_name_no_revision(
    bench: Bench, clock: HandClock, outlet: Outlet
) -> None:
    worked(bench, clock, opened(bench))
    for document in ("windscreen", "message"):
        issued = outlet.issue(document, "1", "text").path.read_bytes()
        assert issued == outlet.copy(document, "1", "text")


def attach(bench: Bench, outlet: Outlet, job: str, path: Path, section: str = "") -> str:
    one = outlet.shop.attachment(str(path))
    event = ev.FileAttached(one.sha256, bench.seal(one.path), one.what, section)
    bench.do(note_vehicle, job, event)
    return one.sha256


def test_attached_pictures_stand_on_the_record_and_not_on_the_customers_sheet(
    bench: Bench, outlet: Outlet, tmp_path: Path
) -> None:
    job = opened(bench)
    (tmp_path / "a.png").write_bytes(png())
    (tmp_path / "b.jpg").write_bytes(jpeg())
    (tmp_path / "c.jpg").write_bytes(b"no picture")
    (tmp_path / "d.txt").write_bytes(png(9, 9))
    digests = [attach(bench, outlet, job, path, "body") for path in sorted(tmp_path.glob("?.*"))]
    html = outlet.copy("record", "1", "html").decode()
    assert html.count("<img ") == 2
    assert base64.b64encode(png()).decode() in html
    assert all(digest[:12] in html for digest in digests[:3])
    assert "not a JPEG or PNG picture." in html
    assert outlet.copy("record", "1", "pdf").count(b"/DCTDecode") == 2
    (tmp_path / "a.png").write_bytes(png(5, 5))
    (tmp_path / "b.jpg").unlink()
    changed = outlet.copy("record", "1", "html").decode()
    assert "<img " not in changed
    assert "changed since it was attached." in changed
    assert "not where it was when it was attached." in changed
    assert b"/DCTDecode" not in outlet.copy("record", "1", "pdf")
    for document in ("sheet", "arrival"):
        assert b"<img " not in outlet.copy(document, "1", "html")
        assert b"photo" not in outlet.copy(document, "1", "text")


def test_a_photo_of_damage_makes_a_new_customers_sheet_and_another_photo_does_not(
    bench: Bench, clock: HandClock, outlet: Outlet, tmp_path: Path
) -> None:
    job = opened(bench)
    bench.do(note_vehicle, job, ev.DamageNoted("body", "dent"))
    worked(bench, clock, job)
    assert outlet.issue("sheet", "1", "text").revision.number == 1
    for name, section, number in (("a.png", "wheels", 1), ("b.png", "body", 2)):
        (tmp_path / name).write_bytes(png(5, number))
        attach(bench, outlet, job, tmp_path / name, section)
        issued = outlet.issue("sheet", "1", "text")
        assert issued.revision.number == number
    assert "1 photo of it, Sat 24 Oct 2026, kept in the shop" in issued.path.read_text()


def test_the_shops_head_stands_on_the_papers(
    bench: Bench, clock: HandClock, tmp_path: Path
) -> None:
    shop = Premises("The Green Carport", ("12 Orchard Lane",), "555 0100")
    settings = Settings(zone=ZONE, shop=shop)
    outlet = Outlet(bench, Shop(bench.log), settings, tmp_path / "papers")
    worked(bench, clock, opened(bench))
    for document, form in (("sheet", "text"), ("arrival", "html"), ("message", "text"),
                           ("windscreen", "text"), ("aftercare", "ics")):  # fmt: skip
        text = outlet.copy(document, "1", form).decode().replace("\r\n ", "")
        assert "The Green Carport" in text, document
        assert "555 0100" in text, document


def test_a_second_form_is_of_the_revision_that_stands(
    bench: Bench, clock: HandClock, outlet: Outlet
) -> None:
    worked(bench, clock, opened(bench))
    text = outlet.issue("aftercare", "1", "text")
    clock.wind(60)
    calendar = outlet.issue("aftercare", "1", "ics")
    assert (calendar.path.name, calendar.fresh) == ("aftercare-r1.ics", True)
    assert calendar.revision == text.revision
    assert b"SEQUENCE:1" in calendar.path.read_bytes()
    assert [(one.paper, one.revision) for one in papers(bench)] == [("aftercare", 1)] * 2


def test_a_date_that_dropped_out_is_cancelled_in_the_next_calendar(
    bench: Bench, clock: HandClock, outlet: Outlet
) -> None:
    job = opened(bench)
    worked(bench, clock, job)
    outlet.issue("aftercare", "1", "ics")
    bench.do(rules.reopen_job, job)
    bench.do(changes.redo, job, "Wash", ("body",), "streaks")
    calendar = outlet.issue("aftercare", "1", "ics")
    text = calendar.path.read_text()
    assert "STATUS:CANCELLED" in text
    assert "SEQUENCE:2" in text
    assert "STATUS:CONFIRMED" not in text


@pytest.mark.parametrize("document", PAPERS)
def test_every_form_of_every_paper_is_made_and_filed(
    bench: Bench, clock: HandClock, outlet: Outlet, document: str
) -> None:
    job = opened(bench)
    handle = "" if PAPERS[document].of == "day" else "1"
    if document == "aftercare":
        with pytest.raises(Refused, match="There is no date for a calendar"):
            outlet.copy(document, handle, "ics")
    for form in set(forms(document)) - {"ics"}:
        assert outlet.copy(document, handle, form)
    worked(bench, clock, job)
    paths = [outlet.issue(document, handle, form).path for form in forms(document)]
    assert len({path.name for path in paths}) == len(paths)
    assert all(path.stat().st_size for path in paths)


# The printer.


def fake_lp(folder: Path, script: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Puts an `lp` before every other command of the path."""
    folder.mkdir()
    lp = folder / "lp"
    lp.write_text(f"#!/bin/sh\n{script}\n")
    lp.chmod(0o755)
    monkeypatch.setenv("PATH", f"{folder}{os.pathsep}{os.environ['PATH']}")


@LP
@pytest.mark.parametrize("queue", ["", "office"])
async def test_lp_is_given_title_paper_queue_and_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, queue: str
) -> None:
    says = f'printf "%s|" "$@" > "{tmp_path}/words"; echo "request id is office-12 (1 file(s))"'
    fake_lp(tmp_path / "bin", says, monkeypatch)
    file = tmp_path / "a paper.pdf"
    said = await printed(file, "Job 1: sheet", "Letter", queue)
    assert said == f"Sent to print: request id is office-12 (1 file(s)). The file: {file}"
    chosen = "-d|office|" if queue else ""
    words = (tmp_path / "words").read_text()
    assert words == f"-t|Job 1: sheet|-o|media=Letter|{chosen}{file}|"


@LP
async def test_what_lp_complains_of_is_told_and_the_file_is_kept(
    bench: Bench, outlet: Outlet, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened(bench)
    says = "printf 'lp: Error - no\\033[31m default destination.\\n' >&2; exit 1"
    fake_lp(tmp_path / "bin", says, monkeypatch)
    with pytest.raises(Refused) as refused:
        await outlet.print("record", "1")
    said = str(refused.value)
    assert said.startswith("lp did not take it: lp: Error - no[31m default destination. ")
    assert "settings" in said
    (file,) = (outlet.folder / "job-0001-bottle-green-estate").iterdir()
    assert said.endswith(str(file))
    assert file.read_bytes()


@LP
async def test_an_lp_that_fails_without_a_word_is_told_by_its_code(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fake_lp(tmp_path / "bin", "exit 3", monkeypatch)
    with pytest.raises(Refused, match="lp did not take it: it failed with code 3"):
        await printed(tmp_path / "a.pdf", "a")


@LP
async def test_an_lp_that_hangs_is_ended_with_all_it_started(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fake_lp(tmp_path / "bin", f'sleep 60 & echo $! > "{tmp_path}/pid"; wait', monkeypatch)
    said = tmp_path / "pid"
    for timeout_s in (0.5, 2.0, 8.0):
        asked = f"lp did not answer within {timeout_s:g} s.*The file is kept: "
        with pytest.raises(Refused, match=asked):
            await printed(tmp_path / "a.pdf", "a", timeout_s=timeout_s)
        # A busy machine may not have come to start anything by then.
        if said.exists() and said.read_text().strip():
            break
    state = Path("/proc") / said.read_text().strip() / "stat"

    def dead() -> bool:
        """Gone, or not yet fetched by whoever is its parent now."""
        try:
            return state.read_text().rpartition(")")[2].split()[0] == "Z"
        except OSError:
            return True

    # On a busy machine what is killed has to come to a core before it dies.
    end = monotonic() + 10
    while sys.platform == "linux" and not dead():
        assert monotonic() < end
        await asyncio.sleep(0.01)


async def test_without_lp_the_file_and_what_to_do_are_named(
    bench: Bench, outlet: Outlet, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened(bench)
    monkeypatch.setenv("PATH", str(tmp_path / "empty"))
    with pytest.raises(Refused, match=r"no lp command to print with\. Open the file and print it"):
        await outlet.print("record", "1")
    (file,) = (outlet.folder / "job-0001-bottle-green-estate").iterdir()
    assert file.stem == "record-r1"


@LP
async def test_a_second_print_is_of_the_same_file(
    bench: Bench, clock: HandClock, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    worked(bench, clock, opened(bench))
    settings = Settings(zone=ZONE, printing=Printing(queue="office"))
    outlet = Outlet(bench, Shop(bench.log), settings, tmp_path / "papers")
    fake_lp(tmp_path / "bin", f'echo "$@" >> "{tmp_path}/words"', monkeypatch)
    for _ in range(2):
        said = await outlet.print("record", "1")
    assert "As it was; nothing has changed since." in said
    assert "Sent to print: lp took it." in said
    first, second = (tmp_path / "words").read_text().splitlines()
    assert first == second
    assert first.endswith(f"record-r1.{printed_form('record').replace('text', 'txt')}")
    assert "media=A4 -d office" in first


# Files that go in.


def test_a_file_is_attached_once_and_not_if_it_is_too_big(
    bench: Bench, outlet: Outlet, tmp_path: Path
) -> None:
    job = opened(bench)
    photo, film = tmp_path / "a.jpg", tmp_path / "b.mp4"
    photo.write_bytes(b"picture")
    with film.open("wb") as file:
        file.truncate(500_000_000)
    one = outlet.shop.attachment(str(photo))
    event = ev.FileAttached(one.sha256, bench.seal(one.path), one.what)
    bench.do(note_vehicle, job, event)
    with pytest.raises(Refused, match="attached already"):
        bench.do(note_vehicle, job, event)
    with pytest.raises(Refused, match=r"b\.mp4 has 500 MB; at most 500 are taken"):
        outlet.shop.attachment(str(film))
