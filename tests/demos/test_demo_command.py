"""`cartclock demo` without a terminal."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from cartclock.demo_sessions import session
from cartclock.demo_sessions.script import file_text
from cartclock.tui.commands.group import commands
from tests.kit.sessions import result

ROOT = Path(__file__).parents[2]


def demo(home: Path) -> subprocess.CompletedProcess[str]:
    """The command, with a home of its own and no terminal at either end."""
    kept = {"PATH", "LANG", "LC_ALL", "SYSTEMROOT"}
    environment = {key: value for key, value in os.environ.items() if key in kept}
    return subprocess.run(
        [sys.executable, "-m", "cartclock.tui.cli", "demo"],
        cwd=ROOT,
        env={**environment, "HOME": str(home), "USERPROFILE": str(home)},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )


@pytest.mark.long
def test_it_prints_the_record_and_leaves_nothing(tmp_path: Path) -> None:
    done = demo(tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == file_text("dry_heat_estate", "record.txt")
    assert list(tmp_path.rglob("*.db*")) == []


@pytest.mark.xdist_group("demo sessions")
def test_the_one_that_is_named_is_played(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(session, "play", lambda name: result(name).played)
    done = CliRunner().invoke(commands, ["demo", "three_washes", "--plain"])
    assert (done.exit_code, done.stderr) == (0, "")
    assert done.stdout == file_text("three_washes", "record.txt")


@pytest.mark.xdist_group("demo sessions")
def test_a_paper_of_it_is_that_of_its_last_job_or_day(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    given = result("two_layers_and_a_saloon").given
    widths = []

    def paper(_name: str, what: str, form: str, _of: str, width: int) -> bytes:
        widths.append(width)
        return given[what, form]

    monkeypatch.setattr(session, "paper", paper)

    def asked(*words: str) -> Result:
        return CliRunner().invoke(commands, ["demo", "two_layers_and_a_saloon", *words])

    sheet = asked("--paper", "sheet")
    assert (sheet.exit_code, sheet.stderr) == (0, "")
    assert "FOR THE CUSTOMER" in sheet.stdout
    assert "cherry red saloon" in sheet.stdout
    out = tmp_path / "day.json"
    day = asked("--paper", "day", "--form", "json", "--out", str(out))
    assert (day.exit_code, day.stdout) == (0, "")
    assert json.loads(out.read_bytes())["day"]["date"] == "2026-05-20"
    assert asked("--paper", "sheet", "--width", "40").exit_code == 0
    assert widths == [80, 80, 40]
    no_lines = asked("--paper", "sheet", "--form", "json", "--width", "40")
    assert (no_lines.exit_code, no_lines.stdout) == (2, "")
    assert "--width is of text; the form json has no lines of a width." in no_lines.stderr
    assert asked("--paper", "sheet", "--width", "39").exit_code == 2
    none = asked("--paper", "sheet", "--form", "csv")
    assert (none.exit_code, none.stdout) == (2, "")
    assert "There is no form 'csv' of sheet; there is text" in none.stderr


def test_a_name_that_is_none() -> None:
    done = CliRunner().invoke(commands, ["demo", "wet_cold_caravan"])
    assert (done.exit_code, done.stdout) == (1, "")
    assert done.stderr == (
        "There is no demo session wet_cold_caravan. "
        "There are: cool_damp_coupe, dry_heat_estate, three_washes, two_day_van, "
        "two_layers_and_a_saloon.\n"
    )
