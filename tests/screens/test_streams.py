"""Streams that are closed, full or of few letters: one sentence and an exit code, no traceback."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.kit.damaged import copied, killed_log

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("streams")
    return copied(killed_log(folder), folder / "home").parent


def shell(home: Path, line: str, **env: str) -> subprocess.CompletedProcess[bytes]:
    """A line of a shell in which `cartclock` is the program."""
    program = f'cartclock() {{ {sys.executable} -m cartclock.tui.cli "$@"; }}; {line}'
    return subprocess.run(
        ["/bin/sh", "-c", program],
        cwd=ROOT,
        env={**os.environ, "CARTCLOCK_HOME": str(home), **env},
        capture_output=True,
        timeout=60,
        check=False,
    )


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
@pytest.mark.parametrize("command", ["record 1", "check-log", "record 1 --form json", "now"])
def test_an_output_that_is_full(home: Path, command: str) -> None:
    done = shell(home, f"cartclock {command} > /dev/full")
    assert done.returncode == 1
    assert done.stderr == b"The system did not take it: No space left on device.\n"


@pytest.mark.parametrize("closed", ["<&-", ">&-", "2>&-", "<&- >&- 2>&-"])
def test_streams_that_are_closed(home: Path, closed: str) -> None:
    done = shell(home, f"cartclock now {closed}")
    assert (done.returncode, done.stderr) == (0, b"")
    assert bool(done.stdout) == (">&-" not in closed.replace("2>&-", ""))
    screens = shell(home, f"cartclock {closed}")
    assert screens.returncode == 1 and screens.stdout == b""


def test_an_output_of_few_letters(home: Path) -> None:
    done = shell(home, "cartclock record 2", PYTHONIOENCODING="latin-1")
    assert done.returncode == 0 and done.stderr == b""
    assert "white van ?" in done.stdout.decode("latin-1")
