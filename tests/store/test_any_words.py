"""Whatever is typed behind a command is a sentence and an exit code, or what was meant."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from itertools import product
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from cartclock.tui.commands.door import BAD_INPUT, DONE, REFUSED
from cartclock.tui.commands.group import commands
from tests.kit.damaged import copied, killed_log

# Open screens, a server, an alarm or a connection to another computer.
NOT_TRIED = {"demo", "show", "test-alarm", "shop"}
# The last is how Python hands on a byte that is no letter (docs.python.org, os.fsencode).
WORDS = (
    "9" * 5_000, "9" * 20, str(2**63), "-1", "0", "", "  ", "~nobody-there/x", "x" * 100_000,
    "../" * 2_000, "\x1b[2J", "%s%n{}", "٣", "1e999", "nan", "inf", "-", "--", "@", "/dev/null",
    "/dev/full", ".", "/", "*", "1:0:0:0", "9" * 400 + ":1", "2026-13-45", "9999-12-31",
    "0001-01-01", "-9" * 50, "1/0", "[bold]x[/bold]", "\u202eabc", "é" * 3_000, "\udcff",
)  # fmt: skip


def places() -> Iterator[tuple[list[str], click.Parameter, list[str]]]:
    """Every place for a word: the command's name, what the word stands for, and the other words
    that the command wants in front of it and behind, "1" for each."""
    context = click.Context(commands)
    left: list[tuple[list[str], click.Command]] = [
        ([name], command)
        for name in commands.list_commands(context)
        if name not in NOT_TRIED and (command := commands.get_command(context, name)) is not None
    ]
    while left:
        path, command = left.pop()
        if isinstance(command, click.Group):
            inner = (command.get_command(context, name) for name in command.list_commands(context))
            left += [([*path, str(one.name)], one) for one in inner if one is not None]
            continue
        arguments = [one for one in command.params if isinstance(one, click.Argument)]
        wanted = [str(one.name) for one in arguments if one.required]
        for one in command.params:
            if isinstance(one, click.Argument) or not getattr(one, "is_flag", False):
                yield path, one, wanted


PLACES = list(places())


def tried(path: list[str], of: click.Parameter, wanted: list[str], word: str) -> str:
    """What was wrong with what a command made of a word; "" if nothing was."""
    line = [*path, *(word if name == of.name else "1" for name in wanted)]
    if isinstance(of, click.Option):
        line += [of.opts[0], word]
    elif of.name not in wanted:
        line.append(word)
    done = CliRunner().invoke(commands, line, input="")
    said = (
        f"{path} {of.name} {word[:20]!r}: {done.exit_code} {done.exception!r} {done.stderr[:200]}"
    )
    if done.exit_code not in {DONE, REFUSED, BAD_INPUT} or "\x1b" in done.output:
        return said
    # Nothing is refused without a word.
    return "" if done.exit_code == DONE or done.stderr.endswith("\n") else said


@pytest.fixture(scope="module")
def killed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return killed_log(tmp_path_factory.mktemp("words"))


@pytest.fixture
def home(killed: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("CARTCLOCK_HOME", str(tmp_path / "home"))
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    return copied(killed, tmp_path / "home").parent


def test_any_word_is_a_sentence_or_what_was_meant(home: Path) -> None:
    """A word at each place, every word at some."""
    assert len(PLACES) > len(WORDS)
    wrong = [tried(*place, WORDS[at % len(WORDS)]) for at, place in enumerate(PLACES)]
    assert [one for one in wrong if one] == []


@pytest.mark.long
def test_every_word_at_every_place(home: Path, killed: Path) -> None:
    wrong = []
    for place, word in product(PLACES, WORDS):
        wrong.append(tried(*place, word))
        if place[0] in (["restore"], ["forget"]):
            shutil.rmtree(home)
            copied(killed, home)
    assert [one for one in wrong if one] == []


@pytest.mark.parametrize(
    ("line", "code", "said"),
    [
        (["history", "--plan", "\udcff"], BAD_INPUT, "it has a byte that is no letter"),
        (["history", "--most", "9" * 20], BAD_INPUT, "not in the range"),
        (["outlook", "--day", "9999-12-31"], BAD_INPUT, "where the calendar ends"),
        (["backup", ""], REFUSED, "name a file, not only its folder"),
        (["record", "9" * 5_000], REFUSED, "There is no job 9999"),
    ],
)
def test_what_no_log_has_is_refused_by_its_name(
    home: Path, line: list[str], code: int, said: str
) -> None:
    done = CliRunner().invoke(commands, line)
    assert done.exit_code == code and said in done.stderr and len(done.stderr) < 300
    assert not (home / "fault.txt").exists()
