"""Style and types are part of the tests: one command tells whether a change may stay."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
OURS = ["engine", "tui", "demo_sessions"]


# mypy knows nothing of the names under which the folders are installed: there a link shows it.
MAPPED = ROOT / ".mypy_cache/mapped/cartclock"


def _run(*command: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_ruff_finds_nothing() -> None:
    _run("ruff", "check", "--no-cache", *OURS, "tests")


def test_everything_is_formatted() -> None:
    _run("ruff", "format", "--check", "--no-cache", *OURS, "tests")


def test_types_hold_under_strict() -> None:
    MAPPED.parent.mkdir(parents=True, exist_ok=True)
    if not MAPPED.is_symlink():
        MAPPED.symlink_to(ROOT, target_is_directory=True)
    _run("mypy")


def test_every_lint_exception_gives_its_reason() -> None:
    bare = []
    pattern = re.compile(r"#\s*(noqa|type:\s*ignore|fmt:\s*(?:off|skip))[^#]*$")
    for folder in OURS:
        for path in (ROOT / folder).rglob("*.py"):
            for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
                found = pattern.search(line)
                if found and not found.group(1).startswith("fmt"):
                    bare.append(f"{path.relative_to(ROOT)}:{number}: {line.strip()}")
    assert not bare, "\n".join(bare)
