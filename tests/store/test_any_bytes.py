"""Whatever bytes stand where the program reads: a sentence or what was meant, in seconds.

Good files are changed here and there, by Hypothesis; everything of them is invented. By default
some dozens of each; `python -m pytest -m long tests/store/test_any_bytes.py -s` goes on for ten
minutes in all, each kind for its share, or for CARTCLOCK_FUZZ_S seconds.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import time
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import Any
from unicodedata import category

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn, SearchStrategy

from cartclock.engine.store.hours_file import read_hours, text_of
from cartclock.engine.store.laptop.instrument import read_printed
from cartclock.engine.store.plan_file.reader import starter, starters
from cartclock.engine.store.views import VIEWS
from cartclock.engine.store.whole.audit import audit
from cartclock.engine.trouble import PlanFault, Refused
from cartclock.tui.commands.group import commands
from tests.kit.damaged import copied, dump, killed_log
from tests.kit.terminal import terminal
from tests.screens.test_terminal import HASTY, clocked_on, hail, lasting, rows
from tests.store.test_exchange import forged
from tests.store.test_settings import FULL

# All kinds together, seconds.
FUZZ_S = float(os.environ.get("CARTCLOCK_FUZZ_S", "600"))
# So long may one file take, on a machine that has other work to do.
SLOWEST_S = 20.0
HOURS = "time,air_c,rh,dew_c\n" + "".join(
    f"2026-07-24 {hour:02d}:00,{15 + hour / 2},{80 - hour},9\n" for hour in range(5, 20)
)
PRINTED = "garage: air_c=31.5, rh=44; panel_c=38 globe_c=40 wbgt_c = 27.25\n"

NUMBERS = (
    b"0", b"-1", b"0.1", b"-0.0", b"nan", b"-inf", b"1e308", b"1e-300", b"99999999999999999999",
    b"9" * 5_000, b"1_0", b"0x7fffffffffffffff", b"true", b'""', b"[]", b"{}", b"1979-05-27",
    b"9999-12-31T23:59:59Z", b"'''", b"2038-01-19",
)  # fmt: skip
VALUES = (
    None, True, 0, -1, 1.5, 2**53, 2**63 - 1, -(2**63), 10**30, "", "x" * 3_000, "\x00", "\x1b[2J",
    "9999-12-31", "Nowhere/Land", [], {}, [[]], [None], ["x"], {"x": 1}, [1, [2, [3]]],
)  # fmt: skip
WORDS = (
    b'"', b"'", b'"""', b"[", b"]]", b"{", b"}", b"=", b".", b",", b"#", b"\\", b"\\u0000", b"\x00",
    b"\n", b"\r", b"\x1b[2J", b"\x9b", b"\xff", b"\xed\xa0\x80", b"\xe2\x80\xae", b"\xef\xbb\xbf",
    b"[[stage]]\n", b"[[stage.step]]\n", b"a" * 3_000, b"\xcc\x81" * 300, b"-", b"%", b"1:9999",
)  # fmt: skip


def _number(data: bytearray, at: int) -> tuple[int, int]:
    """Where the next number behind a place stands; nothing long where there is none."""
    begin = next((n for n in range(at, len(data)) if data[n : n + 1].isdigit()), at)
    end = next((n for n in range(begin, len(data)) if data[n] not in b"0123456789."), begin)
    return begin, end


@st.composite
def changed(draw: DrawFn, *wholes: bytes) -> bytes:
    """One of these files, changed in some places."""
    data = bytearray(draw(st.sampled_from(wholes)))
    for _ in range(draw(st.integers(1, 5))):
        at = draw(st.integers(0, max(0, len(data) - 1)))
        to = at + draw(st.integers(1, 120))
        match draw(st.sampled_from(("bit", "number", "word", "cut", "twice", "move", "any"))):
            case "bit" if data:
                data[at] ^= 1 << draw(st.integers(0, 7))
            case "number":
                begin, end = _number(data, at)
                data[begin:end] = draw(st.sampled_from(NUMBERS))
            case "word":
                data[at:at] = draw(st.sampled_from(WORDS))
            case "cut":
                del data[at:to]
            case "twice":
                data[at:at] = data[at:to]
            case "move":
                taken = bytes(data[at:to])
                del data[at:to]
                elsewhere = draw(st.integers(0, len(data)))
                data[elsewhere:elsewhere] = taken
            case _:
                data[at:at] = draw(st.binary(max_size=30))
    return bytes(data)


class Tried:
    """What is tried with one kind of file, and what comes of it.

    Fields:
        count: how many files were tried; taken: how many of them were read as good ones.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.count = self.taken = 0

    def files(self) -> SearchStrategy[Any]:
        raise NotImplementedError

    def look(self, file: Any) -> bool:
        """Whether it was taken for a good one; fails where that went wrong."""
        raise NotImplementedError

    def some(self, count: int) -> None:
        """Tries so many."""

        @settings(max_examples=count)
        @given(self.files())
        def tried(file: Any) -> None:
            began = time.monotonic()
            self.taken += self.look(file)
            self.count += 1
            assert time.monotonic() - began < SLOWEST_S

        tried()

    def run(self, line: str, *codes: int) -> int:
        """A command of the shell, which ends with one of these codes and no traceback."""
        done = CliRunner().invoke(
            commands,
            line.split(),
            env={"CARTCLOCK_HOME": str(self.folder / "home")},
            # So that nothing is taken out which a terminal would get.
            color=True,
        )
        if done.exit_code not in codes:
            raise AssertionError(done.stderr) from done.exception
        assert not [c for c in done.stdout + done.stderr if category(c) == "Cc" and c != "\n"]
        assert bool(done.stderr) >= bool(done.exit_code)
        return done.exit_code


class Plans(Tried):
    """A plan file: looked at, and a job of it reckoned."""

    def files(self) -> SearchStrategy[bytes]:
        wholes = [starter(name).encode() for name in starters()]
        return changed(*wholes, (Path(__file__).parent / "good_plan.toml").read_bytes())

    def look(self, file: bytes) -> bool:
        path = self.folder / "plan.toml"
        path.write_bytes(file)
        code = self.run(f"check {path}", 0, 1, 2)
        assert self.run(f"estimate {path} --low 12 --high 24 --dew 8", 0, 1, 2) or not code
        return not code


class Setting(Tried):
    """The settings: what they are read for stands in `now` and in a paper."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        copied(killed_log(folder / "work"), folder / "home")

    def files(self) -> SearchStrategy[bytes]:
        return changed(FULL.encode())

    def look(self, file: bytes) -> bool:
        (self.folder / "home" / "settings.toml").write_bytes(file)
        code = self.run("now", 0, 2)
        assert self.run("record 1", 0, 2) == code
        return not code


class Hours(Tried):
    """A table of hours."""

    def files(self) -> SearchStrategy[bytes]:
        return changed(HOURS.encode())

    def look(self, file: bytes) -> bool:
        path = self.folder / "hours.csv"
        path.write_bytes(file)
        try:
            found = read_hours(text_of(path), path.name, date(2026, 7, 24))
        except PlanFault as faults:
            assert faults.faults
            return False
        assert found and all(-30 <= air_c <= 60 for air_c, _dew_c in found.values())
        return True


class Printed(Tried):
    """What an instrument printed."""

    def files(self) -> SearchStrategy[bytes]:
        return st.one_of(changed(PRINTED.encode()), st.binary(max_size=4096))

    def look(self, file: bytes) -> bool:
        try:
            read = read_printed(file.decode("utf-8", "replace"))
        except Refused:
            return False
        assert read.air_c is not None and -30 <= read.air_c <= 60
        return True


class Logs(Tried):
    """The files of a log: what is wrong is named, or nobody would miss it; papers are made or a
    sentence says why not."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        self.whole = copied(killed_log(folder / "work"), folder / "whole")
        self.good = dump(self.whole)

    def files(self) -> SearchStrategy[tuple[str, int, int]]:
        names = [p.name for p in self.whole.parent.iterdir() if not p.name.endswith("-shm")]
        return st.tuples(st.sampled_from(sorted(names)), st.integers(0, 2**64), st.integers(1, 8))

    def look(self, file: tuple[str, int, int]) -> bool:
        name, seed, times = file
        log = copied(self.whole, self.folder / "home")
        chance = random.Random(seed)
        data = bytearray((log.parent / name).read_bytes())
        for _ in range(times):
            at, many = chance.randrange(len(data)), chance.choice((1, 1, 16, 512, 4096))
            match chance.choice(("bit", "bit", "noise", "nought", "cut", "put")):
                case "bit":
                    data[at] ^= 1 << chance.randrange(8)
                case "noise":
                    data[at : at + many] = chance.randbytes(many)
                case "nought":
                    data[at : at + many] = bytes(many)
                case "cut":
                    del data[-many:]
                case _:
                    data[at:at] = chance.randbytes(many)
            if not data:
                break
        (log.parent / name).write_bytes(data)
        found = audit(log, VIEWS).wrong
        assert found or dump(log) in (self.good, {**self.good, "asking": []}), file
        for line in ("record 1", "now", "history"):
            self.run(line, 0, 1)
        return not found


class Exports(Tried):
    """A job carried from another laptop: bytes of the file changed, or rows of it by somebody who
    puts its digests right again."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        home = copied(killed_log(folder / "work"), folder / "home").parent
        self.run(f"export 1 --private --out {folder / 'good'}", 0)
        self.good = (folder / "good").read_bytes()
        shutil.rmtree(home)

    def files(self) -> SearchStrategy[bytes]:
        return st.one_of(changed(self.good), st.integers(0, 2**64).map(self._forged))

    def _forged(self, seed: int) -> bytes:
        chance = random.Random(seed)

        def change(rows: list[list[Any]]) -> None:
            for _ in range(chance.randint(1, 3)):
                row = chance.choice(rows)
                if chance.random() < 0.5:
                    row[chance.randrange(2, len(row) - 1)] = chance.choice(VALUES)
                    continue
                with suppress(ValueError, TypeError, IndexError, AttributeError):
                    body = json.loads(row[15])
                    name = chance.choice(sorted(body))
                    other = json.loads(chance.choice(rows)[15])
                    body[name] = chance.choice([*VALUES, *other.values()])
                    row[15] = json.dumps(body, sort_keys=True, separators=(",", ":"))

        try:
            return forged(self.good, change)
        except (TypeError, ValueError):
            # Of what is no row no digest can be taken.
            return self.good

    def look(self, file: bytes) -> bool:
        home = self.folder / "home"
        shutil.rmtree(home, ignore_errors=True)
        home.mkdir()
        path = self.folder / "job"
        path.write_bytes(file)
        if self.run(f"import {path}", 0, 1, 2):
            return False
        self.run("check-log", 0)
        self.run("history", 0)
        job = json.loads(file.partition(b"\n")[0])["job"]
        self.run(f"record {job}", 0)
        self.run("now", 0)
        return True


class Keys(Tried):
    """Bytes down a real terminal, some of them pasted; none that leave the program by its keys."""

    def files(self) -> SearchStrategy[list[tuple[int, int, bool]]]:
        hails = st.tuples(st.integers(0, 2**32), st.integers(1, 700), st.booleans())
        return st.lists(hails, min_size=1, max_size=20)

    def look(self, file: list[tuple[int, int, bool]]) -> bool:
        home = self.folder / "home"
        shutil.rmtree(home)
        home.mkdir()
        with terminal(home, "-c", HASTY, warm=True) as child:
            clocked_on(child)
            for seed, length, pasted in file:
                sent = hail(seed, length)
                child.send(b"\x1b[200~" + sent + b"\x1b[201~" if pasted else sent)
                child.pause(0.05)
                assert child.child.poll() is None
            lasting(child, SLOWEST_S)
        assert "ClockedOn" in rows(home)
        return True


# How many are tried by default; in the long run each has a share of the time.
KINDS: dict[type[Tried], int] = {
    Plans: 8, Setting: 10, Hours: 50, Printed: 50, Logs: 5, Exports: 8, Keys: 1
}  # fmt: skip
each = pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__.lower())


def tried(kind: type[Tried], folder: Path) -> Tried:
    (folder / "home").mkdir()
    return kind(folder)


@each
def test_any_bytes_are_a_sentence_or_what_was_meant(tmp_path: Path, kind: type[Tried]) -> None:
    tried(kind, tmp_path).some(KINDS[kind])


@pytest.mark.long
@each
def test_any_bytes_for_minutes(
    tmp_path: Path, kind: type[Tried], capsys: pytest.CaptureFixture[str]
) -> None:
    one = tried(kind, tmp_path)
    ends_at = time.monotonic() + FUZZ_S / len(KINDS)
    while time.monotonic() < ends_at:
        one.some(max(1, KINDS[kind] // 2))
    with capsys.disabled():
        name = kind.__name__.lower()
        print(f"\n{name}: {one.count} tried, {one.taken} taken for good")  # noqa: T201  the figures are what this long run is for
    assert 0 < one.taken <= one.count
