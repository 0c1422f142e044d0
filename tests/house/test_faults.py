"""The deliberate faults of faults.toml: each is made in a copy of the tree and must be found.

A row whose text does not stand exactly once in its file is an error: the code has moved on, and
the row has to be written anew. So is a fault that makes a test impossible to collect.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tomllib
from itertools import count
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
FAULTS = tomllib.loads(Path(__file__).with_name("faults.toml").read_text(encoding="utf-8"))["fault"]
NO_COPIES = shutil.ignore_patterns("__pycache__", ".*", "build", "dist", "*.egg-info")
# How pytest ends: nothing failed, or something that ran did.
PASSED, FAILED = 0, 1
LONGEST_S = 600
# Times of files, no two alike and none of them now.
SECONDS = count(1_000_000_000)


def ends(tree: Path, *tests: str) -> tuple[int, str]:
    """The exit code of these tests in a tree, and what they printed."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("PY")}
    # What is installed leads to the original; this link leads to the copy, and comes before it.
    kept["PYTHONPATH"] = str(tree / "installed")
    how = ("-x", "-n", "0", "-m", "", "-p", "no:cacheprovider", "--hypothesis-profile", "found")
    done = subprocess.run(
        [sys.executable, "-m", "pytest", *how, *tests],
        cwd=tree,
        env=kept,
        capture_output=True,
        text=True,
        timeout=LONGEST_S,
        check=False,
    )
    return done.returncode, done.stdout + done.stderr


@pytest.fixture(scope="module")
def tree(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the tree in which every test that is named passes."""
    found = tmp_path_factory.mktemp("faults") / "tree"
    shutil.copytree(ROOT, found, ignore=NO_COPIES)
    (found / "installed").mkdir()
    (found / "installed" / "cartclock").symlink_to(found, target_is_directory=True)
    code, printed = ends(found, *{row["test"] for row in FAULTS})
    assert code == PASSED, printed
    return found


def test_every_fault_has_its_line() -> None:
    moved = []
    for row in FAULTS:
        found = (ROOT / row["file"]).read_text(encoding="utf-8").count(row["text"])
        if found != 1:
            moved.append(f"{row['file']}: stands {found} times: {row['text']!r}")
    assert not moved, "write these rows of faults.toml anew:\n" + "\n".join(moved)


@pytest.mark.long
@pytest.mark.parametrize("row", FAULTS, ids=lambda row: f"{row['file']}: {row['instead']!r}")
def test_a_deliberate_fault_is_found(row: dict[str, str], tree: Path) -> None:
    source, copy = ROOT / row["file"], tree / row["file"]
    text = source.read_text(encoding="utf-8")
    assert text.count(row["text"]) == 1
    copy.write_text(text.replace(row["text"], row["instead"]), encoding="utf-8")
    # Python tells by size and second whether what a file compiled to fits: two faults of one file
    # can have both in common.
    second = next(SECONDS)
    os.utime(copy, (second, second))
    try:
        code, printed = ends(tree, row["test"])
    finally:
        # With its old time, by which Python tells that what the fault compiled to does not fit.
        shutil.copy2(source, copy)
    assert code == FAILED, f"{row['test']} ends with {code}:\n{printed}"
