"""What is forgotten is in no file of the folder any more, and the log holds without it."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts import events as ev
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.log import Log
from cartclock.engine.store.restore import restore
from cartclock.engine.store.whole.backups import back_up, backups
from cartclock.tui.commands.group import commands
from tests.kit.damaged import WHO, killed_log
from tests.kit.films import START_US
from tests.kit.plans import WIPE
from tests.kit.stage import played

NOTE, PHOTO, WHY = "swirls on the left", "/photos/quillfeather roof.jpg", "ran out of drops"
KEPT = "white van"


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A log with a customer, a note, a photo and a reason; with backups of it, logs that were
    moved aside and went on, and papers that were issued.
    """
    path = killed_log(tmp_path)
    monkeypatch.setenv("CARTCLOCK_HOME", str(path.parent))
    bench = Bench.open(path, HandClock(START_US + 10**11))
    job = next(one.id for one in bench.jobs.values() if one.opened.number == 2)
    bench.do(rules.note_job, job, ev.NoteWritten(bench.seal("their dog is called Ziggurat")))
    bench.do(rules.note_job, job, ev.FileAttached("0" * 64, bench.seal(PHOTO)))
    bench.do(rules.close_job, job, over={"unfinished": WHY})
    bench.log.ask(f'{{"sentence":"Close the job of {WHO[0]}?"}}')
    bench.library.slice(60)
    bench.library.settle()
    bench.close()
    back_up(path, "2026-11-27")
    restore(back_up(path, "2026-11-28"), path, over_newer=True)
    for form in ("text", "pdf"):
        assert run("record", "2", "--folder", "--examples", "--form", form).exit_code == 0
    (path.parent / "fault.txt").write_text(f"ValueError: {WHO[0]}")
    return path


def run(*words: str) -> Result:
    return CliRunner().invoke(commands, list(words))


def files_with(folder: Path, *texts: str) -> set[str]:
    """Names of the files that hold one of these, in letters of any kind."""
    found = set()
    for path in folder.rglob("*"):
        content = path.read_bytes().lower() if path.is_file() else b""
        for text in texts:
            letters = (text.lower().encode(code) for code in ("utf-8", "utf-16-le", "utf-16-be"))
            if any(one in content for one in letters):
                found.add(path.name)
    return found


GONE = (*WHO, *WHO[0].split(), PHOTO, "quillfeather", "ziggurat", WHY)


def test_a_customer_is_in_no_file_any_more(log: Path) -> None:
    folder = log.parent
    before = files_with(folder, *GONE)
    assert {"log.db", "history.db", "fault.txt", "record-r1.txt"} <= before
    assert len(before & {path.name for path in backups(log)}) == 2
    assert any("aside" in name for name in before)
    asked = run("forget", WHO[0].upper())
    assert asked.exit_code == 1 and "Nothing was forgotten; --yes" in asked.stderr
    assert "Job 2, white van" in asked.stderr and "record-r1.txt" in asked.stderr
    assert f"Attached, and it stays: {PHOTO}" in asked.stderr
    assert files_with(folder, *GONE) == before
    done = run("forget", WHO[0], "--papers", "--yes")
    assert (done.exit_code, done.stdout.count("\n")) == (0, 1), done.stderr
    assert "Backups in other places still hold it" in done.stdout
    assert files_with(folder, *GONE) == set()
    assert not list((folder / "papers").rglob("record-r*"))
    # Everything else stands: the chain, the hours, the vehicle, the other job.
    assert KEPT in run("record", "2").stdout and "Zephyrine" not in run("record", "2").stdout
    assert files_with(folder, KEPT) and "log.db" in files_with(folder, NOTE)
    checked = run("check-log")
    assert checked.exit_code == 0, checked.stdout
    for path in backups(log):
        with Log.open(path) as copy:
            assert copy.check() == [] and copy.head.seq > 20
    # What is made of it from here on does not bring it back.
    assert run("forget", "2", "--yes").exit_code == 0
    assert run("record", "2", "--folder", "--examples").exit_code == 0
    assert files_with(folder, *GONE) == set()


def test_a_job_is_named_by_its_number_and_its_papers_may_stay(log: Path) -> None:
    done = run("forget", "2", "--yes")
    assert done.exit_code == 0 and "it stays" in done.stderr
    assert files_with(log.parent, *GONE) == {"record-r1.txt"}
    none = run("forget", "Nobody", "--yes")
    assert none.exit_code == 1 and "No customer goes by that name either." in none.stderr


def test_what_could_not_be_cleaned_is_said(log: Path) -> None:
    broken = log.with_name("log-saved-2026-11-01-120000.db")
    data = bytearray(backups(log)[0].read_bytes())
    data[4096 * 3 :] = os.urandom(len(data) - 4096 * 3)
    broken.write_bytes(data)
    done = run("forget", "2", "--yes")
    assert done.exit_code == 1 and f"{broken} could not be cleaned" in done.stderr
    assert "log.db" not in files_with(log.parent, *GONE)


@pytest.mark.parametrize("umask", [0o000, 0o022])
def test_what_names_persons_is_for_its_owner_alone(log: Path, umask: int) -> None:
    old = os.umask(umask)
    try:
        assert run("record", "1", "--folder", "--examples").exit_code == 0
        assert run("sheet", "2", "--out", str(log.parent / "sheet.txt")).exit_code == 0
        assert run("backup", str(log.parent / "copy.db")).exit_code == 0
        carried = str(log.parent / "job.jsonl")
        assert run("export", "2", "--private", "--out", carried).exit_code == 0
        back_up(log, "2026-11-30")
        with Log.open(log) as opened:
            opened.ask("?")
            modes = {
                path.name: path.stat().st_mode & 0o077
                for path in log.parent.rglob("*")
                if path.name != "fault.txt" and path.name not in {"cart"}
            }
    finally:
        os.umask(old)
    assert {name: mode for name, mode in modes.items() if mode} == {}


async def test_it_is_forgotten_on_today(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        (job,) = play.bench.jobs
        play.bench.do(rules.note_job, job, ev.NoteWritten(play.bench.seal("Ziggurat bites")))
        await play.press("t", "space")
        at = play.spoken.index("forget name, plate, notes")
        await play.press(*["down"] * at, "space")
        assert "forget name, plate, notes?" in play.text
        assert play.spoken == ["keep it", "forget 1 text for ever"]
        await play.press("down", "space")
        assert play.notice.startswith("Forgotten. Backups in other places")
        assert files_with(tmp_path, "ziggurat") == set()
        assert play.bench.log.check() == []
