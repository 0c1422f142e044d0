"""How long `check-log` takes on a log of ten years, and whether it says all the while how far.

The log is synthetic (`tests.kit.years`).

    python -m pytest -m long tests/benchmarks/test_check_speed.py -s
"""

from __future__ import annotations

import re
import resource
import sys
from itertools import pairwise
from pathlib import Path
from time import monotonic

import pytest

from tests.kit.terminal import terminal
from tests.kit.years import years_log

ROWS = 1_000_000
# From the second second on it is said every half second; a busy machine may take longer.
SILENT_S = 5.0
# On a machine that has other work to do.
PATIENCE_S = 1200.0
MOST_MB = 1_000


@pytest.mark.long
@pytest.mark.parametrize("known", [False, True], ids=["without its history", "with its history"])
def test_a_million_rows_are_looked_at_and_it_is_said_how_far(
    tmp_path: Path, known: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    count = years_log(tmp_path, ROWS)
    if not known:
        for path in tmp_path.glob("history.db*"):
            path.unlink()
    began = monotonic()
    with terminal(tmp_path, "-m", "cartclock.tui.cli", "check-log", own=False) as child:
        assert child.ended(PATIENCE_S) == 0, child.wrote[-600:]
    took_s = monotonic() - began
    shown = re.findall(rb"\r([a-z][a-z ]+): +(\d+)%", bytes(child.wrote))
    times = [began, *(at for at, _many in child.came)]
    silent_s = max(later - sooner for sooner, later in pairwise(times))
    mb = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1024
    parts: dict[str, list[int]] = {}
    for what, percent in shown:
        parts.setdefault(what.decode(), []).append(int(percent))
    with capsys.disabled():
        sys.stdout.write(
            f"\ncheck-log of {count} rows {'with' if known else 'without'} history: {took_s:.0f} s,"
            f" never longer than {silent_s:.1f} s without a word, at most {mb} MB;"
            f" told of {', '.join(parts)}\n"
        )
    assert f"{count} rows, every link holds".encode() in child.wrote
    assert {"the file", "the rows", "the jobs", "the shifts"} <= parts.keys()
    assert ("what is known of all jobs" in parts) is known
    for percents in parts.values():
        assert percents == sorted(percents)
    assert silent_s < SILENT_S
    assert mb < MOST_MB
