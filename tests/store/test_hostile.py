"""What is read from outside is looked at before it is read: size, kind, depth; and what is asked of
another program ends, with all it started."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
import time
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.store.laptop.child import MOST_SAID, answer_of, let_go
from cartclock.engine.store.laptop.instrument import polled
from cartclock.engine.store.plain_text import plain_text
from cartclock.engine.store.plan_file.reader import read_plan
from cartclock.engine.store.settings import load_settings, read_settings
from cartclock.engine.trouble import PlanFault, Refused
from cartclock.tui.commands.group import commands
from tests.kit.damaged import copied, killed_log

pytestmark = pytest.mark.waits

# A machine that has other work to do takes many times as long as this needs.
PATIENCE_S = 10.0


def pipe(path: Path) -> None:
    os.mkfifo(path)


def folder(path: Path) -> None:
    path.mkdir()


def long(path: Path) -> None:
    with path.open("wb") as file:
        file.truncate(50_000_000)


def dotted(path: Path) -> None:
    path.write_text("a." * 100_000 + "b = 1\n")


def nested(path: Path) -> None:
    path.write_text("a = " + "[" * 100_000)


def many_sections(path: Path) -> None:
    names = ",".join(f'"{number}"' for number in range(60_000))
    path.write_text(f'format = 1\nname = "x"\n[[stage]]\nname = "s"\nsections = [{names}]\n')


def many_stages(path: Path) -> None:
    path.write_text("format = 1\n" + "[[stage]]\n" * 50_000)


def one_long_word(path: Path) -> None:
    path.write_text("a" * 900_000)


def no_text(path: Path) -> None:
    path.write_bytes(b"\xff\xfe" * 100)


HOSTILE = [pipe, folder, long, dotted, nested, many_sections, many_stages, one_long_word, no_text]


@pytest.mark.parametrize("made", HOSTILE, ids=lambda made: made.__name__)
def test_a_file_is_looked_at_before_it_is_read(
    tmp_path: Path, made: Callable[[Path], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CARTCLOCK_HOME", str(tmp_path / "home"))
    (tmp_path / "home").mkdir()
    began = time.monotonic()
    made(tmp_path / "plan.toml")
    plan = CliRunner().invoke(commands, ["check", str(tmp_path / "plan.toml")])
    made(tmp_path / "home" / "settings.toml")
    settings = CliRunner().invoke(commands, ["now"])
    assert time.monotonic() - began < PATIENCE_S
    said = {"plan.toml", "settings.toml"}
    for done in (plan, settings):
        assert isinstance(done.exception, SystemExit), done.exception
        assert done.exit_code in {1, 2} and done.stdout == "" and len(done.stderr) < 1_500
        # A setting that there is not is not heeded, and the command goes on, to find no log.
        lines = [one for one in done.stderr.splitlines() if not one.startswith("There is no log")]
        assert lines and all(Path(line.partition(":")[0]).name in said for line in lines)


@pytest.fixture(scope="module")
def killed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return killed_log(tmp_path_factory.mktemp("killed"))


@pytest.mark.parametrize("made", [pipe, folder], ids=lambda made: made.__name__)
@pytest.mark.parametrize("name", ["log.db", "log.db-wal", "log.db-head", "history.db", "hours.csv"])
def test_what_is_no_plain_file_is_not_waited_for(
    killed: Path,
    tmp_path: Path,
    name: str,
    made: Callable[[Path], None],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A pipe or a folder in the place of a file the program reads: a sentence and a code, or the
    program does without it."""
    home = copied(killed, tmp_path / "home").parent
    monkeypatch.setenv("CARTCLOCK_HOME", str(home))
    (home / name).unlink(missing_ok=True)
    made(home / name)
    hours = f"outlook --hours {home / 'hours.csv'}"
    given = [hours] if name == "hours.csv" else ["now", "record 1", f"backup {tmp_path / 'out.db'}"]
    for line in given:
        done = CliRunner().invoke(commands, line.split())
        assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
        refused = name in {"log.db", "log.db-wal", "hours.csv"}
        assert bool(done.exit_code) is refused
        assert done.stderr.count("no plain file") == refused
        assert done.stderr.count("\n") == (refused or line.startswith("backup"))
    # It is named where the log is not whole without it; a history is made anew
    # where it is not the folder of somebody else.
    mended = {"log.db-head", "hours.csv"}
    for line in ("check-log", "check-log --repair"):
        done = CliRunner().invoke(commands, line.split())
        assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
        assert done.exit_code == (name not in mended)
        mended |= {"history.db"} if made is pipe else set()


def test_a_home_that_is_nobody_s_is_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CARTCLOCK_HOME", "~nobody-of-that-name/x")
    done = CliRunner().invoke(commands, ["now"])
    assert done.exit_code == 1 and "names a home folder that is not there" in done.stderr


def test_prose_with_dots_is_no_depth(tmp_path: Path) -> None:
    text = "# " + "One sentence. And one more, e.g. this. " * 40 + "\nname = 'a.b.c'\n"
    (tmp_path / "plan.toml").write_text(text)
    assert plain_text(tmp_path / "plan.toml") == text


@given(st.one_of(st.text(), st.binary().map(lambda raw: raw.decode("latin-1"))))
def test_any_text_is_a_plan_or_settings_or_faults(text: str) -> None:
    for read in (
        lambda: read_plan(text, "plan.toml"),
        lambda: read_settings(text, "settings.toml", "UTC"),
    ):
        try:
            read()
        except PlanFault as faults:
            assert faults.faults


NAMES = ("name", "stage", "sections", "step", "minutes", "uses", "layers", "gap", "order", "kind")


@given(
    st.recursive(
        st.one_of(
            st.integers(),
            st.floats(),
            st.booleans(),
            st.text(st.characters(codec="ascii", exclude_characters='"\\'), max_size=8),
        ),
        lambda inner: st.one_of(
            st.lists(inner, max_size=4), st.dictionaries(st.sampled_from(NAMES), inner, max_size=4)
        ),
        max_leaves=30,
    )
)
def test_any_tables_are_a_plan_or_faults(value: object) -> None:
    """Words of a plan in places where they do not belong."""
    text = f'format = 1\nname = "x"\nstage = {_toml(value)}\n'
    try:
        read_plan(text, "plan.toml")
    except PlanFault as faults:
        assert faults.faults


def _toml(value: object) -> str:
    match value:
        case bool():
            return str(value).lower()
        case str():
            printable = "".join(c for c in value if c.isprintable())
            return f'"{printable}"'
        case list():
            return f"[{', '.join(map(_toml, value))}]"
        case dict():
            return f"{{{', '.join(f'{key} = {_toml(one)}' for key, one in value.items())}}}"
    return str(value)


# Other programs.


async def test_a_program_that_never_stops_talking_is_ended() -> None:
    began = time.monotonic()
    answer = await answer_of([sys.executable, "-c", "while True: print('air_c=21 rh=40')"], 30)
    assert len(answer.said) == MOST_SAID and answer.code == 0
    reading = await polled(f"{sys.executable} -c \"while True: print('air_c=21 rh=40')\"")
    assert (reading.air_c, reading.rh) == (21, 40)
    assert time.monotonic() - began < PATIENCE_S


READS = b"air_c=21 rh=40\n"
no_proc = pytest.mark.skipif(not Path("/proc/self").exists(), reason="no /proc to look into")


@no_proc
@pytest.mark.parametrize(
    ("line", "hangs"),
    [
        ("sleep 60 >/dev/null 2>&1 & echo $! > {told}; echo air_c=21 rh=40", False),
        # The child holds the pipe in which the program spoke.
        ("sleep 60 & echo $! > {told}; echo air_c=21 rh=40", False),
        ("sleep 60 >/dev/null 2>&1 & echo $! > {told}; sleep 60", True),
        ("for n in $(seq 100); do sleep 60 & echo $! >> {told}; done; echo air_c=21 rh=40", False),
        ("sh -c 'sleep 60 & echo $! > {told}; wait' & sleep 60", True),
        # It says nothing that is asked for, and complains for ever.
        ("yes >&2 & echo $! > {told}; wait", True),
    ],
    ids=["silent child", "child with the pipe", "hangs", "a hundred", "grandchild", "complains"],
)
async def test_no_child_of_it_is_left_behind(tmp_path: Path, line: str, hangs: bool) -> None:
    told = tmp_path / "pid"
    words = ["/bin/sh", "-c", line.format(told=told)]
    began = time.monotonic()
    if hangs:
        with pytest.raises(TimeoutError):
            await answer_of(words, 0.5)
    else:
        assert (await answer_of(words, 30)).said == READS
    assert time.monotonic() - began < PATIENCE_S
    children = told.read_text().split()
    assert children
    gone(children)


def gone(numbers: Iterable[str]) -> None:
    """Waits until none of these processes runs."""
    for number in numbers:
        child = Path("/proc") / number / "stat"
        for _ in range(500):
            # What was killed and not yet taken note of by whoever inherits it.
            if not child.exists() or child.read_text().split(") ")[1][0] == "Z":
                break
            time.sleep(0.02)
        else:
            raise AssertionError(f"{number} goes on")


@no_proc
async def test_nothing_of_it_is_held_open(tmp_path: Path) -> None:
    """Not even where a child took itself out of its session and keeps its pipes."""
    told = tmp_path / "pid"
    line = f"setsid sleep 60 & echo $! >> {told}; echo air_c=21 rh=40"
    before = len(list(Path("/proc/self/fd").iterdir()))
    try:
        for _ in range(3):
            assert (await answer_of(["/bin/sh", "-c", line], 30)).said == READS
        await asyncio.sleep(0)
        assert len(list(Path("/proc/self/fd").iterdir())) <= before
    finally:
        for number in told.read_text().split():
            # One that had not left the group yet was ended with it.
            with suppress(ProcessLookupError):
                os.kill(int(number), signal.SIGKILL)


async def test_a_command_that_cannot_be_split_is_a_sentence() -> None:
    with pytest.raises(Refused, match="cannot be started"):
        await polled("'")


def test_settings_are_read_as_ever(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text('worker = "Ines"\n')
    assert load_settings(tmp_path / "settings.toml").worker == "Ines"


async def test_what_is_ended_is_waited_for_also_by_who_is_told_to_stop() -> None:
    """Else a child that was killed would be left to nobody, and told of behind the loop."""
    still = asyncio.get_running_loop().create_future()
    waits = asyncio.ensure_future(let_go(still))
    for _ in range(3):
        await asyncio.sleep(0)
        waits.cancel()
        await asyncio.sleep(0)
        assert not waits.done()
    still.set_result(None)
    with pytest.raises(asyncio.CancelledError):
        await waits
    # Nobody was told to stop, and what never lets go is waited for no longer than that.
    await let_go(still)
    began = time.monotonic()
    await let_go(asyncio.get_running_loop().create_future(), 0.05)
    assert time.monotonic() - began < PATIENCE_S
