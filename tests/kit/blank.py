"""Logs with nothing in them: made once for a run, and copied to where a test begins one.

The tables of a new log and of what is known beside it take longer to make than most tests need
for everything else. Tests of how a log is made open it themselves. `tests/desk/test_blank.py`
sets a copy against a log that was made.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path

from cartclock.engine.desk.bench import Bench
from cartclock.engine.store.clock import Clock, HandClock

# What a new log draws for its origin, and the files that come of it.
ORIGIN_BYTES = 16
MADE: dict[bytes, dict[str, bytes]] = {}


def bench_at(path: Path, clock: Clock, worker: str, entropy: Callable[[int], bytes]) -> Bench:
    """As `Bench.open`, quick where a new log draws an origin that another one drew."""
    if path.parent.is_dir() and not any(path.parent.glob("*.db*")):
        origin = entropy(ORIGIN_BYTES)
        if origin not in MADE:
            MADE[origin] = _made(path.name, origin)
        for name, content in MADE[origin].items():
            path.with_name(name).write_bytes(content)
            path.with_name(name).chmod(0o600)
    return Bench.open(path, clock, worker, entropy)


def _made(name: str, origin: bytes) -> dict[str, bytes]:
    with tempfile.TemporaryDirectory() as folder:
        Bench.open(
            Path(folder) / name, HandClock(0), entropy=lambda length: origin[:length]
        ).close()
        return {file.name: file.read_bytes() for file in Path(folder).iterdir()}
