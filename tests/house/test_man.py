"""The manual pages: one of every command, of the texts that --help has, as man reads them."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from cartclock.tui.commands.group import commands


def ran(*words: str) -> Result:
    return CliRunner().invoke(commands, list(words))


def unmarked(page: str) -> str:
    for mark in (r"\fB", r"\fP", r"\fI"):
        page = page.replace(mark, "")
    return page.replace(r"\-", "-")


def test_every_page_is_written_and_none_has_an_error(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert ran("man", "--write").exit_code == 0
    folder = tmp_path / "man" / "man1"
    pages = {path.name: path.read_text() for path in folder.iterdir()}
    listed = commands.list_commands(commands.make_context("cartclock", ["man"]))
    assert {f"cartclock-{name}.1" for name in listed} < set(pages)
    assert "cartclock-paper-record.1" in pages
    for name, page in pages.items():
        assert page.startswith('.TH "CARTCLOCK'), name
        assert "\x1b" not in page
        # A line of text that begins so would be a command of roff.
        known = {".TH", ".SH", ".PP", ".TP", ".B"}
        begun = {line.split()[0] for line in page.splitlines() if line.startswith((".", "'"))}
        assert begun <= known, name
    # Written anew with a newer version, unasked.
    assert ran("man", "--write").exit_code == 0
    if found := shutil.which("mandoc"):
        subprocess.run(
            [found, "-T", "lint", "-W", "error", *map(str, folder.iterdir())], check=True
        )
    if found := shutil.which("man"):
        done = subprocess.run(
            [found, "--warnings", "-l", str(folder / "cartclock.1")],
            capture_output=True, text=True, check=False, env={"PATH": "/usr/bin:/bin", "LANG": "C"},
        )  # fmt: skip
        if done.returncode == 0:
            assert "Without a command the screens open." in done.stdout
            assert done.stderr == ""


@pytest.mark.parametrize("words", [(), ("demo",), ("paper", "record"), ("today",)], ids=str)
def test_a_page_says_what_help_says(words: tuple[str, ...]) -> None:
    page = unmarked(ran("man", *words).stdout)
    told = ran(*words, "--help").stdout
    options = [line.split()[0].rstrip(",") for line in told.splitlines() if line.startswith("  -")]
    assert options
    assert all(option in page for option in options)


def test_a_page_of_no_command_is_refused() -> None:
    assert ran("man", "polishing").exit_code == 2
    assert ran("man", "demo", "more").exit_code == 2
