"""Words that must not stand in the program: verdicts it cannot give, marks of unfinished work."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TEXTS = [
    path
    for folder in ("engine", "tui", "demo_sessions")
    for ending in ("*.py", "*.toml", "*.md", "*.txt", "*.tcss", "*.html", "*.css", "*.js")
    for path in sorted((ROOT / folder).rglob(ending))
] + [ROOT / "README.md", ROOT / "DEVELOPERS.md", ROOT / "CHANGELOG.md"]

# No instrument of a cart can say that a person is out of danger or within the law.
VERDICTS = re.compile(r"\b(safe|safely|compliant|compliance)\b", re.I)
UNFINISHED = re.compile(r"\b(TODO|FIXME|XXX|HACK)\b")


@pytest.mark.parametrize("path", TEXTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_verdict_and_no_unfinished_mark(path: Path) -> None:
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        assert not VERDICTS.search(line), f"{path.name}:{number}: {line.strip()}"
        assert not UNFINISHED.search(line), f"{path.name}:{number}: {line.strip()}"
