"""A disk that loses what was not synced, and one that fails at any call (`disk.c`).

The C file is compiled where a compiler is there; what a crash leaves is put together from the
journal of what a real program asked of its disk.
"""

from __future__ import annotations

import os
import random
import shutil
import struct
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from msgspec import Struct

ROOT = Path(__file__).parents[2]
COMPILER = shutil.which("cc") or shutil.which("gcc")
_HEAD = struct.Struct("=iiqq")
WRITE, SYNC, CUT, SAID = 1, 2, 3, 4
NAMES = {1: "log.db", 2: "log.db-wal"}
# How a program presses that is killed, or whose disk fails: three rows, then it is said.
PRESSING = """
import os, sys
from pathlib import Path
from cartclock.engine.facts.events import DrinkTaken
from cartclock.engine.facts.rows import Evidence, Row
from cartclock.engine.press import Press
from cartclock.engine.store.log import Log

def press(log):
    first = log.head.seq + 1
    log.append([
        Row(log.origin, seq, Press(log.origin, first), "s", "", "me", seq, seq, seq, "b", seq,
            True, "worker", DrinkTaken(seq + 1))
        for seq in range(first, first + 3)
    ])
    os.write(1, b"written %d\\n" % log.head.seq)

log = Log.open(Path(sys.argv[1]))
"""
# A disk writes so much at once or not at all.
SECTOR = 512


class Asked(Struct, frozen=True):
    """One thing a program asked of its disk, or said.

    what: WRITE, SYNC, CUT or SAID.
    """

    what: int
    file: int
    offset: int
    data: bytes


def compiled(folder: Path, name: str = "disk") -> Path:
    """The disk, or the clock of `wall.c`, to be loaded in front of libc."""
    made = folder / f"{name}.so"
    source = Path(__file__).with_name(f"{name}.c")
    assert COMPILER is not None
    subprocess.run(
        [COMPILER, "-shared", "-fPIC", "-O1", "-o", str(made), str(source), "-ldl"],
        check=True,
        capture_output=True,
    )
    return made


def on_the_disk(disk: Path, folder: Path, program: str, *words: str) -> str:
    """Runs a program on that disk; answers what it said. What it asked is in `journal`."""
    done = subprocess.run(
        [sys.executable, "-c", program, str(folder / "log.db"), *words],
        cwd=ROOT,
        env={
            **os.environ,
            "LD_PRELOAD": str(disk),
            "CARTCLOCK_JOURNAL": str(folder.parent / "journal"),
        },
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def journal(path: Path) -> list[Asked]:
    """What was asked of the disk, in order."""
    content, at = path.read_bytes(), 0
    found: list[Asked] = []
    while at < len(content):
        what, file, offset, count = _HEAD.unpack_from(content, at)
        at += _HEAD.size
        data = content[at : at + count] if what in (WRITE, SAID) else b""
        at += len(data)
        found.append(Asked(what, file, offset, data))
    return found


def crashes(asked: list[Asked], count: int, seed: int) -> Iterator[tuple[dict[str, bytes], bytes]]:
    """What may lie on the disk after so many power failures, and what had been said.

    They come behind each thing that was asked as often as behind the others, in an order of chance:
    enough of them meet every write and every sync. Whatever was written since the last sync of a
    file is there, or not, or in part, whatever came before or behind it.
    """
    chance = random.Random(seed)
    ends = chance.sample(range(1, len(asked) + 1), len(asked))
    for number in range(count):
        end = ends[number % len(ends)]
        files: dict[int, bytearray] = {1: bytearray(), 2: bytearray()}
        # Behind which place nothing of a file was synced.
        synced = dict.fromkeys(files, 0)
        for at, one in enumerate(asked[:end]):
            if one.what == SYNC:
                synced[one.file] = at
        for at, one in enumerate(asked[:end]):
            if one.what not in (WRITE, CUT):
                continue
            loose = at > synced[one.file]
            if loose and chance.random() < 0.5:
                continue
            if one.what == CUT:
                del files[one.file][one.offset :]
                continue
            data = one.data
            if loose and chance.random() < 0.3:
                data = data[: chance.randrange(len(data)) // SECTOR * SECTOR]
            content = files[one.file]
            content.extend(bytes(max(0, one.offset + len(data) - len(content))))
            content[one.offset : one.offset + len(data)] = data
        said = b"".join(one.data for one in asked[:end] if one.what == SAID)
        yield {NAMES[file]: bytes(content) for file, content in files.items()}, said
