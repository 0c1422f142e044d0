"""Commands of papers: stdout is the paper, talk on stderr, exit codes, nothing overwritten."""

from __future__ import annotations

import hashlib
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from msgspec.structs import replace

from cartclock.engine.dates import instant
from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.paper.papers import PAPERS
from cartclock.engine.plan.plan import Aftercare, Plan, Stage, Work
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import HandClock
from cartclock.tui.commands import papers
from cartclock.tui.commands.group import commands
from tests.kit.setting import day_text, record_text

ZONE = "Europe/Berlin"
DATE = "2025-10-24"
PLAN = Plan(
    "Maintenance wash",
    (Stage("Wash", ("body", "wheels"), (Work("rinse", 10.0),)),),
    aftercare=(Aftercare("Dry it.", "label of the pack", until="PT1H", after="Wash"),),
)
FOLDER = "job-0001-bottle-green-estate"


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A log with one closed job of a day long ago, and settings."""
    home = tmp_path / "home"
    home.mkdir()
    (home / "settings.toml").write_text(f'zone = "{ZONE}"\ncurrency = "PLN"\n')
    monkeypatch.setenv("CARTCLOCK_HOME", str(home))
    monkeypatch.chdir(tmp_path)
    clock = HandClock(instant(f"{DATE} 10:00", ZONE))
    bench = Bench.open(home / "log.db", clock)
    job = bench.new_id()
    bench.do(rules.open_job, job, ev.JobOpened(PLAN, "", 1, "bottle green estate", ZONE))
    bench.do(rules.clock_on, ev.ClockedOn("yard", zone=ZONE))
    for _ in range(2):
        bench.do(rules.take_up, next(m for m in bench.moves() if m.job == job))
        clock.wind(600)
    bench.do(rules.take_up, next(m for m in bench.moves() if m.act == "end"))
    bench.do(rules.close_job, job)
    bench.do(rules.clock_off)
    bench.close()
    return home


def ran(*words: str) -> Result:
    return CliRunner().invoke(commands, list(words))


def said(*words: str) -> str:
    result = ran(*words)
    assert (result.exit_code, result.stderr) == (0, "")
    return result.stdout


def refused(code: int, *words: str) -> str:
    result = ran(*words)
    assert (result.exit_code, result.stdout) == (code, "")
    return result.stderr


def events(home: Path, kind: type) -> list[object]:
    bench = Bench.open(home / "log.db", HandClock(instant("2026-01-01 00:00", ZONE)))
    try:
        assert bench.log.check() == []
        return [row.event for row in bench.log.all_rows() if isinstance(row.event, kind)]
    finally:
        bench.close()


def undated(text: str) -> list[str]:
    """Lines without the one that says when it was made."""
    return [line for line in text.splitlines() if not line.startswith("Made")]


def test_record_and_day_print_what_they_always_printed(home: Path) -> None:
    bench = Bench.open(home / "log.db", HandClock(instant("2025-10-25 00:00", ZONE)))
    shop = Shop(bench.log)
    record = record_text(shop.record("1", bench.now_us), 0, "PLN")
    day = day_text(shop.day(DATE, ZONE, bench.now_us), 0)
    bench.close()
    for words, text in (
        ("record 1", record),
        ("record 1 --form text", record),
        (f"day {DATE}", day),
    ):
        assert undated(said(*words.split())) == undated(text)
    assert said("day").startswith("DAY")
    assert not (home / "papers").exists()


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        ("record 9", 1, "There is no job 9. There is only 1 (bottle green estate)."),
        ("record 1 --form smoke", 2, "There is no form 'smoke' of record; there is text"),
        ("record 1 --json --form text", 2, "--json and --form text are two forms"),
        ("record 1 --out a --folder", 2, "--out and --folder are two places"),
        ("record 1 --width 50 --folder", 2, "--width is of a copy; what is issued has 80 letters"),
        ("record 1 --width 50 --json", 2, "--width is of text; the form json has no lines"),
        ("record 1 --width 39", 2, "39 is not in the range 40<=x<=80"),
        ("record 1 --out nowhere/a.txt", 1, "There is no folder nowhere; nothing was written."),
        ("record", 2, "Missing argument 'JOB'"),
        ("day 24.10.", 1, "'24.10.' is not a date; write it like 2026-10-24, today or yesterday."),
        ("aftercare 1 --ics --message", 2, "--ics, --message, --windscreen: give one of them"),
        ("aftercare 1 --ics --form text", 2, "--ics and --form are two forms; give one"),
        (
            "aftercare 1 --windscreen --json",
            2,
            "no form 'json' of windscreen; there is text, html, pdf",
        ),
        ("print 9", 1, "There is no job 9."),
        ("print 1 --what letter", 2, "'letter' is not one of 'sheet', 'record'"),
        ("attach 1", 2, "Missing argument 'FILES...'"),
        ("attach 9 a.jpg", 1, "There is no job 9."),
    ],
)
def test_what_cannot_be_is_a_sentence_and_a_code(
    home: Path, words: str, code: int, says: str
) -> None:
    assert says in refused(code, *words.split())
    assert not (home / "papers").exists()


def test_without_a_log_no_command_makes_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CARTCLOCK_HOME", str(tmp_path / "home"))
    for words in ("record 1", "aftercare 1 --folder", "print 1", "attach 1 a.jpg"):
        assert "There is no log yet" in refused(1, *words.split())
    assert not (tmp_path / "home").exists()


@pytest.mark.parametrize(
    ("document", "form"),
    [(document, form) for document, paper in PAPERS.items() for form in paper.forms],
    ids=str,
)
def test_every_form_comes_out_the_three_ways(home: Path, document: str, form: str) -> None:
    paper = PAPERS[document]
    of_day = paper.of == "day"
    handle = DATE if of_day else "1"
    words = [document, handle, "--form", form]
    if paper.under:
        words = [paper.under, handle, f"--{document}"]
    elif form in paper.flags:
        words = [document, handle, f"--{form}"]
    printed = ran(*words)
    assert (printed.exit_code, printed.stderr) == (0, "")
    assert printed.stdout_bytes
    if form == "json":
        short = ran(document, handle, "--json")
        assert json.loads(short.stdout).keys() == json.loads(printed.stdout).keys()
    out = ran(*words, "--out", "paper")
    assert (out.exit_code, out.stdout, out.stderr) == (0, "", "Written to paper.\n")
    content = Path("paper").read_bytes()
    assert content
    assert "paper is there already; nothing was written." in refused(1, *words, "--out", "paper")
    assert Path("paper").read_bytes() == content
    filed = ran(*words, "--folder")
    assert filed.exit_code == 0
    path = Path(filed.stdout.strip())
    assert path.parent == home / "papers" / ("days" if of_day else FOLDER)
    assert "Revision 1." in filed.stderr or of_day
    # Of a paper of a day the log has no row.
    issued = (
        []
        if of_day
        else [ev.PaperIssued(document, 1, hashlib.sha256(path.read_bytes()).hexdigest())]
    )
    assert events(home, ev.PaperIssued) == issued


def test_the_papers_stand_under_paper_and_the_short_form_gives_the_same(home: Path) -> None:
    listed = {line.split()[0] for line in said("--help").splitlines() if line.startswith("  ")}
    under = {line.split()[0] for line in said("paper", "--help").splitlines() if line[2:3].strip()}
    for name, paper in PAPERS.items():
        if paper.under:
            continue
        assert name in under
        assert name not in listed
        handle = DATE if paper.of == "day" else "1"
        long, short = said("paper", name, handle), said(name, handle)
        # Of two prints a moment apart only what tells the moment may differ.
        alike = [one == two for one, two in zip(long.split(), short.split(), strict=True)]
        assert sum(alike) >= len(alike) - 1


def test_the_second_time_the_folder_has_it_already(home: Path) -> None:
    first, second = (ran("record", "1", "--folder") for _ in range(2))
    assert first.stdout == second.stdout
    assert second.stderr.endswith("Revision 1. As it was; nothing has changed since.\n")
    assert len(events(home, ev.PaperIssued)) == 1


# Printing.


def test_a_width_is_that_of_the_lines_and_no_word_is_lost(home: Path) -> None:
    wide, narrow = said("record", "1"), said("record", "1", "--width", "50")
    assert max(map(len, wide.splitlines())) > 50 >= max(map(len, narrow.splitlines()))
    # The digest alone is longer than a line.
    words = {word for word in re.findall(r"\w+", wide) if len(word) <= 50}
    assert words <= set(re.findall(r"\w+", narrow))
    assert said("record", "1", "--width", "80") == wide


@pytest.mark.parametrize(("columns", "widest"), [(46, 46), (31, 40), (80, 80), (200, 80)])
def test_on_a_narrow_terminal_a_line_is_as_wide_as_it_and_in_a_file_never(
    monkeypatch: pytest.MonkeyPatch, columns: int, widest: int
) -> None:
    monkeypatch.setattr(papers, "get_terminal_size", lambda: os.terminal_size((columns, 24)))
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    assert papers.mind_width("text", None, kept=False) == widest
    assert papers.mind_width("text", None, kept=True) == 80
    assert papers.mind_width("text", 52, kept=False) == 52


@pytest.mark.skipif(os.name != "posix", reason="lp is a command of these systems")
@pytest.mark.parametrize(
    ("script", "code", "says"),
    [
        ("echo request id is office-1", 0, "Sent to print: request id is office-1. The file: "),
        ("echo no such queue >&2; exit 1", 1, "lp did not take it: no such queue. "),
    ],
    ids=["takes it", "refuses"],
)
def test_print_says_what_lp_says_and_keeps_the_file(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, script: str, code: int, says: str
) -> None:
    (tmp_path / "bin").mkdir()
    lp = tmp_path / "bin" / "lp"
    lp.write_text(f"#!/bin/sh\n{script}\n")
    lp.chmod(0o755)
    monkeypatch.setenv("PATH", f"{lp.parent}{os.pathsep}{os.environ['PATH']}")
    assert says in refused(code, "print", "1", "--what", "record")
    assert len(list((home / "papers" / FOLDER).iterdir())) == 1


def test_print_without_lp_names_the_file(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path / "empty"))
    says = refused(1, "print", DATE, "--what", "day")
    assert "Open the file and print it from there: " in says
    assert Path(says.rpartition("there: ")[2].strip()).exists()


# Files that go in.


def test_a_paper_with_example_times_is_issued_only_if_that_is_meant(home: Path) -> None:
    bench = Bench.open(home / "log.db", HandClock(instant(f"{DATE} 18:00", ZONE)))
    care = Aftercare("Dry it.", "example", until="PT1H", after="Wash")
    plan = replace(PLAN, aftercare=(care,))
    bench.do(rules.open_job, bench.new_id(), ev.JobOpened(plan, "", 2, "red van", ZONE))
    bench.close()
    for words in (("print", "2"), ("record", "2", "--folder")):
        assert refused(1, *words) == (
            "Times of this job are examples, from no label; nothing was issued. "
            "--examples issues it all the same.\n"
        )
    assert not (home / "papers").exists()
    assert "Times of" not in said("record", "2")
    for words in (("record", "2", "--folder", "--examples"), ("record", "1", "--folder")):
        given = ran(*words)
        assert given.exit_code == 0
        assert Path(given.stdout.strip()).exists()


def test_attach_takes_the_good_files_and_says_what_is_wrong_with_the_others(home: Path) -> None:
    Path("a.jpg").write_bytes(b"a picture")
    Path("b.txt").write_bytes(b"a text")
    Path("again.jpg").write_bytes(b"a picture")
    result = ran("attach", "1", "a.jpg", "none.jpg", ".", "again.jpg", "b.txt")
    assert result.exit_code == 1
    assert result.stderr.splitlines() == [
        "none.jpg is not there; nothing was written.",
        f"{Path.cwd().name} is no file; nothing was written.",
        "That file is attached already.",
    ]
    digests = [hashlib.sha256(text).hexdigest() for text in (b"a picture", b"a text")]
    assert result.stdout.splitlines() == [
        f"{digests[0]}  {Path('a.jpg').absolute()}",
        f"{digests[1]}  {Path('b.txt').absolute()}",
    ]
    found = events(home, ev.FileAttached)
    assert [(one.sha256, one.what, one.section) for one in found] == [  # type: ignore[attr-defined]  # of this kind
        (digests[0], "photo", ""),
        (digests[1], "file", ""),
    ]
    assert "a.jpg" in said("record", "1")


def test_attach_knows_kind_and_section(home: Path) -> None:
    Path("scan").write_bytes(b"a picture")
    says = refused(1, "attach", "1", "scan", "--section", "wheel")
    assert says == "The job has no section 'wheel'; did you mean 'wheels'?\n"
    assert events(home, ev.FileAttached) == []
    assert ran("attach", "1", "scan", "--section", "wheels", "--kind", "photo").exit_code == 0
    (one,) = events(home, ev.FileAttached)
    assert (one.what, one.section) == ("photo", "wheels")  # type: ignore[attr-defined]  # of this kind


@pytest.mark.skipif(os.name != "posix", reason="needs a terminal of its own")
@pytest.mark.skipif("pdf" not in PAPERS["record"].forms, reason="there is no such form")
def test_a_pdf_does_not_go_to_a_terminal(home: Path) -> None:
    ours, theirs = os.openpty()
    try:
        words = [sys.executable, "-m", "cartclock.tui.cli", "record", "1", "--form", "pdf"]
        done = subprocess.run(
            words, stdout=theirs, stderr=subprocess.PIPE, text=True, cwd=Path(__file__).parents[2]
        )
        assert done.returncode == 1
        assert "A pdf is no text for a terminal; write it with --out FILE" in done.stderr
    finally:
        os.close(ours)
        os.close(theirs)
