"""A disk that loses what was not synced or fails at any call loses no press that was answered."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from cartclock.engine.store.log import Log
from cartclock.engine.trouble import StoreFault
from tests.kit.disk import COMPILER, PRESSING, SAID, compiled, crashes, journal, on_the_disk

pytestmark = pytest.mark.skipif(COMPILER is None, reason="no compiler for the disk of tests/kit")

# Power failures put together from one run: so many by default, and in the long run.
CRASHES, MANY_CRASHES = 60, 8_000

# Presses, and every few of them the heartbeat, which moves rows into the log itself.
PRESSES = f"""{PRESSING}
if len(sys.argv) > 2:
    log._db.execute(sys.argv[2])
os.write(1, b"begun\\n")
for number in range(24):
    press(log)
    if number % 5 == 4:
        log.beat(number, Evidence(number, "b", number))
        os.write(1, b"beat\\n")
log.close()
"""

# Each call of a press and of a heartbeat fails once, and for as long as it lasts; then there is
# room again, and the same press is made once more.
FAILING = """
import ctypes, errno, json, sys
from pathlib import Path
from cartclock.engine.facts.events import DrinkTaken
from cartclock.engine.facts.rows import Evidence, Row
from cartclock.engine.press import Press
from cartclock.engine.store.log import Log
from cartclock.engine.trouble import StoreFault

disk = ctypes.CDLL(None)
log = Log.open(Path(sys.argv[1]))
number, told = 0, []

def press():
    global number
    seq = log.head.seq + 1
    number += 1
    log.append([
        Row(log.origin, seq, Press(log.origin, seq), "s", "", "me", seq, seq, seq, "b", seq,
            True, "worker", DrinkTaken(number))
    ])
    return number

answered, refused, unknown = [press()], [], []
for error in (errno.ENOSPC, errno.EIO):
    for after in range(12):
        for times in (1, 1000):
            disk.fail(after, error, times)
            try:
                answered.append(press())
                log.beat(1, Evidence(1, "b", 1))
            except StoreFault as why:
                told.append(str(why))
                if answered[-1] != number:
                    (unknown if "not known" in str(why) else refused).append(number)
            disk.fail(-1, 0, 0)
            for _again in range(2):
                try:
                    log.refresh()
                    answered.append(press())
                    break
                except StoreFault as why:
                    told.append(str(why))
                    refused.append(number)
log.close()
with Log.open(Path(sys.argv[1])) as again:
    there = [row.event.ml for row in again.all_rows()]
    print(json.dumps([answered, refused, unknown, there, again.check(), sorted(set(told))]))
"""


@pytest.fixture(scope="module")
def disk(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return compiled(tmp_path_factory.mktemp("disk"))


def lost(disk: Path, folder: Path, count: int, *pragma: str) -> Iterator[str]:
    """Presses that were answered and are not there after a power failure, and logs not whole."""
    cart = folder / "cart"
    cart.mkdir()
    on_the_disk(disk, cart, PRESSES, *pragma)
    asked = journal(folder / "journal")
    begun = next(at for at, one in enumerate(asked) if one.what == SAID)
    assert sum(one.what == SAID for one in asked) == 29 and begun > 5
    for number, (files, said) in enumerate(crashes(asked, count, seed=3)):
        left = folder / str(number)
        left.mkdir()
        for name, content in files.items():
            (left / name).write_bytes(content)
        answered = [int(line.split()[1]) for line in said.split(b"\n") if b"written" in line]
        try:
            with Log.open(left / "log.db") as log:
                rows, broken = len(log.all_rows()), log.check()
        except StoreFault as why:
            yield f"{number}: {why}"
            continue
        if rows <= max(answered, default=-1) or rows % 3 or broken:
            yield f"{number}: {rows} rows of {answered[-1:]}, {broken}"
        for name in (*files, "log.db-shm", "log.db-head"):
            (left / name).unlink(missing_ok=True)


def test_a_power_failure_loses_no_press_that_was_answered(disk: Path, tmp_path: Path) -> None:
    assert list(lost(disk, tmp_path, CRASHES)) == []


@pytest.mark.long
def test_many_power_failures_lose_no_press(disk: Path, tmp_path: Path) -> None:
    assert list(lost(disk, tmp_path, MANY_CRASHES)) == []


def test_without_syncs_presses_are_lost(disk: Path, tmp_path: Path) -> None:
    assert len(list(lost(disk, tmp_path, CRASHES, "PRAGMA synchronous = OFF"))) > CRASHES / 4


def test_a_disk_that_fails_at_any_call(disk: Path, tmp_path: Path) -> None:
    """Full, with room made again, or at fault: one sentence, and no press is halved or doubled."""
    (tmp_path / "cart").mkdir()
    said = json.loads(on_the_disk(disk, tmp_path / "cart", FAILING))
    answered, refused, unknown, there, broken, told = said
    assert broken == [] and len(refused) > 10
    assert set(answered) <= set(there) <= {*answered, *unknown}
    assert len(set(there)) == len(there) and not {*refused} & {*there}
    assert any("the disk is full" in one for one in told)
    assert any("the disk reports a fault" in one for one in told)
    assert all(one.endswith(").") and "\n" not in one for one in told)
