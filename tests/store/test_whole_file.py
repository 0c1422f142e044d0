"""A disk that fails in the midst of any file that the program writes beside its log: nothing of
half a file has a name, what was there stays, and it can be done again."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from stat import S_ISDIR

import pytest

from cartclock.engine.store.laptop.paper_file import place_file
from cartclock.engine.store.laptop.show_key import show_key
from cartclock.engine.store.plan_file.text import write_text
from cartclock.engine.store.settling import settle
from cartclock.engine.store.whole_file import replaced_file
from cartclock.engine.trouble import Refused, StoreFault

ROOT = Path(__file__).parents[2]
LONG = "Ines " * 20_000


def paper(folder: Path) -> None:
    place_file(folder / "papers" / "record-r1.txt", LONG.encode())


def plan(folder: Path) -> None:
    write_text(folder / "plan.toml", LONG)


def settings(folder: Path) -> None:
    settle(folder / "settings.toml", {"worker": LONG[:60]})


def key(folder: Path) -> None:
    show_key(folder / "log.db")


def key_anew(folder: Path) -> None:
    show_key(folder / "log.db", anew=True)


WRITERS = (paper, plan, settings, key, key_anew)


@contextmanager
def nothing_longer_than(count: int) -> Iterator[None]:
    """The system takes so many bytes of a file and refuses the next."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (count, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def files(folder: Path) -> dict[str, bytes]:
    return {str(one): one.read_bytes() for one in folder.rglob("*") if one.is_file()}


@pytest.fixture
def home(tmp_path: Path) -> Path:
    (tmp_path / "settings.toml").write_text('# mine\nzone = "Europe/Madrid"\n')
    return tmp_path


@pytest.mark.parametrize("write", WRITERS)
def test_a_disk_that_is_full_in_the_midst_of_a_file(
    home: Path, write: Callable[[Path], None]
) -> None:
    if write is key_anew:
        key(home)
    before = files(home)
    for count in (0, 8, 31):
        with nothing_longer_than(count), pytest.raises((Refused, StoreFault)) as said:
            write(home)
        assert str(said.value).endswith("File too large.")
        assert files(home) == before
    write(home)
    after = files(home)
    assert len(after.keys() - before.keys()) == (write not in (settings, key_anew))
    assert after != before


@pytest.mark.parametrize("write", WRITERS)
def test_a_file_is_on_the_disk_before_it_has_its_name_and_its_name_before_it_is_told(
    home: Path, write: Callable[[Path], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    """For a power failure: what has a name is whole, and what is told of is there."""
    done: list[str] = []
    sync, link, replace = os.fsync, os.link, os.replace

    def synced(handle: int) -> None:
        done.append("folder" if S_ISDIR(os.fstat(handle).st_mode) else "file")
        sync(handle)

    def named(by: Callable[[Path, Path], None]) -> Callable[[Path, Path], None]:
        def call(one: Path, other: Path) -> None:
            done.append("name")
            by(one, other)

        return call

    monkeypatch.setattr(os, "fsync", synced)
    monkeypatch.setattr(os, "link", named(link))
    monkeypatch.setattr(os, "replace", named(replace))
    write(home)
    assert done[-3:] == ["file", "name", "folder"]
    # A new folder is there, too: its own name is on the disk before.
    assert done[:-3] == (["folder"] if write is paper else [])


KILLED = """
import os, signal, sys
from pathlib import Path
from cartclock.engine.store import whole_file
real = getattr(os, sys.argv[2])

def killed(*words, **named):
    if sys.argv[3] == "behind":
        real(*words, **named)
    os.kill(os.getpid(), signal.SIGKILL)

setattr(os, sys.argv[2], killed)
whole_file.replaced_file(Path(sys.argv[1]), b"new" * 40_000)
"""


@pytest.mark.parametrize("moment", ["before", pytest.param("behind", marks=pytest.mark.long)])
@pytest.mark.parametrize("call", ["replace", pytest.param("fsync", marks=pytest.mark.long)])
def test_killed_in_the_midst_of_it_the_old_file_or_the_new_one_is_whole(
    tmp_path: Path, call: str, moment: str
) -> None:
    path = tmp_path / "settings.toml"
    path.write_bytes(b"old")
    words = (str(path), call, moment)
    done = subprocess.run([sys.executable, "-c", KILLED, *words], cwd=ROOT, check=False)
    assert done.returncode < 0
    whole = b"new" * 40_000 if (call, moment) == ("replace", "behind") else b"old"
    assert path.read_bytes() == whole
    replaced_file(path, b"next")
    assert path.read_bytes() == b"next"
