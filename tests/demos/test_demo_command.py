"""`cartclock demo` without a terminal, as a program of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from cartclock.demo_sessions.script import file_text

ROOT = Path(__file__).parents[2]


def demo(home: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """The command, with a home of its own and no terminal at either end."""
    kept = {"PATH", "LANG", "LC_ALL", "SYSTEMROOT"}
    environment = {key: value for key, value in os.environ.items() if key in kept}
    return subprocess.run(
        [sys.executable, "-m", "cartclock.tui.cli", "demo", *words],
        cwd=ROOT,
        env={**environment, "HOME": str(home), "USERPROFILE": str(home)},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )


@pytest.mark.parametrize("words", [(), ("three_washes", "--plain")])
def test_it_prints_the_record_and_leaves_nothing(tmp_path: Path, words: tuple[str, ...]) -> None:
    done = demo(tmp_path, *words)
    assert (done.returncode, done.stderr) == (0, "")
    name = words[0] if words else "dry_heat_estate"
    assert done.stdout == file_text(name, "record.txt")
    assert list(tmp_path.rglob("*.db*")) == []


def test_a_name_that_is_none(tmp_path: Path) -> None:
    done = demo(tmp_path, "wet_cold_caravan")
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == (
        "There is no demo session wet_cold_caravan. "
        "There are: cool_damp_coupe, dry_heat_estate, three_washes, two_day_van, "
        "two_layers_and_a_saloon.\n"
    )
