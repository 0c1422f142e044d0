"""The papers on Record: filed first, then printed or not, with or without a printer.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.now.faces import EXAMPLE_TIMES
from cartclock.engine.paper.papers import PAPERS
from cartclock.engine.plan.plan import Stage, Wait, Work
from cartclock.engine.rules import holding
from cartclock.engine.store.views import VIEWS
from cartclock.engine.store.whole.audit import audit
from tests.kit.plans import WIPE
from tests.kit.stage import HOME, SMALL, Play, compare_sizes, played, whole

LP = pytest.mark.skipif(os.name != "posix", reason="lp is a command of these systems")
FOLDER = "job-0001-bottle-green-estate"


def lp(folder: Path, script: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The only command there is to print with; "" for none."""
    bin_ = folder / "bin"
    bin_.mkdir()
    if script:
        (bin_ / "lp").write_text(f"#!/bin/sh\n{script}\n")
        (bin_ / "lp").chmod(0o755)
    monkeypatch.setenv(
        "PATH", f"{bin_}{os.pathsep}/usr/bin{os.pathsep}/bin" if script else str(bin_)
    )


async def answered(play: Play) -> str:
    """What stands in the notice line when nothing works beside the clocks any more."""
    await play.app.workers.wait_for_complete()
    await play.settle()
    return " ".join(play.notice.split())


def issued(play: Play) -> list[str]:
    found = [row.event for row in play.bench.rows if isinstance(row.event, ev.PaperIssued)]
    return [f"{one.paper} {one.revision}" for one in found]


async def test_the_list_opens_by_its_letter_and_esc_writes_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        rows = list(play.bench.rows)
        await play.press("e", "n")
        assert play.sheet.title == "Bottle green estate: papers"
        printed = [paper for paper in PAPERS.values() if paper.hot and paper.of != "vehicle"]
        assert len(play.spoken) == len(printed) + len(["write the files only"])
        await compare_sizes("list_papers", play)
        await play.press("esc")
        assert not play.sheet.is_open
        assert play.called == "record"
        assert play.bench.rows == rows
        assert not (tmp_path / "papers").exists()


async def test_without_a_job_the_key_says_why(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        await play.press("e", "n")
        assert play.notice == "There is no job to print anything of."
        assert not play.sheet.is_open


@LP
@pytest.mark.parametrize(
    ("letter", "document"), [("c", "sheet"), ("r", "record"), ("a", "arrival")]
)
async def test_a_paper_is_printed_and_the_answer_is_lps(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, letter: str, document: str
) -> None:
    lp(tmp_path, f'echo "$@" > "{tmp_path}/words"; echo request id is office-7', monkeypatch)
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("e", "n", letter)
        said = await answered(play)
        assert f"{document}. Revision 1. Sent to print: request id is office-7." in said
        assert issued(play) == [f"{document} 1"]
        (file,) = (tmp_path / "papers" / FOLDER).iterdir()
        assert str(file) in (tmp_path / "words").read_text()
        assert play.odd() == []


@LP
async def test_the_clocks_run_while_the_printer_is_asked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    gate = tmp_path / "gate"
    lp(tmp_path, f'while [ ! -e "{gate}" ]; do sleep 0.05; done; echo done', monkeypatch)
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("space", "e", "n", "r")
        assert play.notice == "Printing."
        await play.wind(30)
        await play.press("u")
        assert play.called == "run"
        assert play.bench.moves()
        gate.touch()
        assert "Sent to print: done." in await answered(play)


@LP
async def test_what_lp_complains_of_stands_on_the_screen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lp(tmp_path, "echo 'lp: [/x] no such destination' >&2; exit 1", monkeypatch)
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("e", "n", "r")
        said = await answered(play)
        assert said.startswith("lp did not take it: lp: [/x] no such destination.")
        for size in (SMALL, HOME):
            await play.resize(size)
            assert whole(play) == []


async def test_without_a_printer_the_file_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lp(tmp_path, "", monkeypatch)
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("e", "n", "d")
        said = await answered(play)
        assert said.startswith("This computer has no lp command to print with. Open the file")
        (file,) = (tmp_path / "papers" / "days").iterdir()
        assert file.name in said.replace(" ", "")
        assert issued(play) == []


async def test_the_files_are_written_without_a_printer(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lp(tmp_path, "", monkeypatch)
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("e", "n", "f")
        files = {path.stem for path in (tmp_path / "papers").rglob("*") if path.is_file()}
        assert {"sheet-r1", "record-r1", "arrival-r1", "day-2026-09-21-r1"} <= files
        assert sorted(issued(play))[:1] == ["arrival 1"]
        assert " files written: " in " ".join(play.notice.split())
        assert play.odd() == []


async def test_a_folder_that_cannot_be_written_is_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "papers").write_text("no folder")
    async with played(tmp_path, (WIPE,)) as play:
        rows = list(play.bench.rows)
        await play.press("e", "n", "f")
        assert "cannot be written" in " ".join(play.notice.split())
        await play.press("n", "r")
        assert "cannot be" in await answered(play)
        assert play.bench.rows == rows


async def test_example_times_are_asked_about_before_a_paper_leaves(tmp_path: Path) -> None:
    steps = (Work("apply", 1.0), Wait("flash", 60, 100, 300, example=True), Work("level", 1.0))
    async with played(tmp_path, (Stage("Coat", ("roof",), steps),)) as play:
        await play.press("e", "n", "f")
        assert play.sheet.title.startswith("Times of this job are examples, from no label.")
        await play.press("space")
        assert issued(play) == []
        await play.press("n", "f", "down", "space")
        assert issued(play) != []


async def test_a_window_of_example_times_says_so_under_its_digits(tmp_path: Path) -> None:
    steps = (Work("apply", 1.0), Wait("flash", 60, 100, 300, example=True), Work("level", 1.0))
    async with played(tmp_path, (Stage("Coat", ("roof",), steps),)) as play:
        await play.press("space")
        await play.wind(60)
        await play.choose("stand by")
        await play.press("space")
        assert play.glance.faces[0].aside == EXAMPLE_TIMES
        assert EXAMPLE_TIMES in play.text


async def test_a_vehicle_in_parts_has_its_papers_in_the_list_and_in_the_log(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lp(tmp_path, "", monkeypatch)
    async with played(tmp_path, (WIPE,), (WIPE,)) as play:
        whole_job, part = play.bench.jobs
        play.bench.do(holding.say_part, part, whole_job)
        await play.press("e", "n")
        assert play.spoken[4:6] == [
            "print the record of a vehicle worked on in parts",
            "print the customer's sheet of a vehicle worked on in parts",
        ]
        await play.press("v")
        await answered(play)
        await play.press("n", "t")
        await answered(play)
        await play.press("n", "v")
        await answered(play)
        assert issued(play) == ["vehicle 1", "together 1", "vehicle 2"]
        # Nothing lies among the papers that the log does not know.
        papers = tmp_path / "papers"
        third = play.app.outlet.issue("vehicle", whole_job, "text")
        assert "Revision 3, replaces revision 2 of " in third.path.read_text()
        assert audit(play.bench.log.path, VIEWS, papers).papers == ()
