"""One word for one thing: what a person reads has none of the words that stand for something else.

The texts are taken from where they are made: every key, every help of a command, every string
of the code that is a sentence, the pictures of the screens, the records of the demos, the pages.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import click
import pytest

from cartclock.tui.commands.group import commands
from cartclock.tui.keys import HELPER, KEYS
from tests.house.test_docs import manual

ROOT = Path(__file__).parents[2]

# A pattern, and the word that is taken instead of what it finds.
WORDS = {
    r"\bun(do|did|doing)\b": "take back",
    r"\bskip(s|ped|ping)?\b": "leave out",
    # `split = { bonnet = 2 }` is the key of a plan file.
    r"\bsplit(s|ting)?\b(?! =)": "cut in two",
    # So is `redo`.
    r"(?<!`)\bredo(es|ne|ing)?\b(?! =)": "do again",
    r"\bcheck(s|ed|ing)?[ -]in\b|\bsigns? of life\b": "I am well",
    r"\bsections? \d+ (to \d+ )?of \d": "panel 7 of 18",
    r"\byour usual\b|\busual \d": "yours: 3:40",
    r"(enter|space): next\b|\bnext, undo\b": "goes on, take up",
    r"\b(spc|bksp|pgdn|pgup|amt|ans|chk|prt|hlp)\b": "the whole word, or none",
    r"\bup above\b|\bdown below\b": "nothing: the key says it",
    r"\[[ x~>=-]\]": "the state in words",
    r"\btime was over\b": "may get wet since",
    r"leaves before it may get wet\.": "It must still stay dry: until",
    r"No reading yet": "Heat and gate unknown: R enters a reading",
    r"vibration \d|vibration over": "vibration: over the action value (104 points of 100)",
    r"\bcartclock (record|day|sheet|arrival|aftercare|print)\b": "cartclock paper",
    r"[Nn]o check is due|checks that are due": "look",
}
OLD = {re.compile(pattern): word for pattern, word in WORDS.items()}


def faults(text: str) -> list[str]:
    """Each old word in a text, with the one that is taken instead."""
    return [
        f"{found.group()!r}, not {word!r}: {text[max(0, found.start() - 40) : found.end() + 40]!r}"
        for pattern, word in OLD.items()
        for found in pattern.finditer(text)
    ]


@cache
def sentences(path: Path) -> tuple[tuple[int, str], ...]:
    """Line and text of every string of a module that has a space in it and is no docstring; a 7
    stands for what is filled in.

    What has no space is a name: an id, a key of a file, a kind of an event.
    """
    return tuple(_sentences(path))


def _sentences(path: Path) -> Iterator[tuple[int, str]]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    passed: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            passed.add(id(node.value))
        text = ""
        if isinstance(node, ast.JoinedStr):
            passed |= {id(part) for part in node.values}
            text = "".join(
                str(part.value) if isinstance(part, ast.Constant) else "7" for part in node.values
            )
        elif isinstance(node, ast.Constant) and id(node) not in passed:
            text = node.value if isinstance(node.value, str) else ""
        if " " in text:
            yield node.lineno, text


def helps(command: click.Command, name: str = "cartclock") -> Iterator[tuple[str, str]]:
    """Name and help of a command and of all that are under it and listed."""
    context = click.Context(command, info_name=name)
    yield name, command.get_help(context)
    if isinstance(command, click.Group):
        for under in command.list_commands(context):
            found = command.get_command(context, under)
            if found is not None and not found.hidden:
                yield from helps(found, f"{name} {under}")


MODULES = sorted(path for part in ("engine", "tui") for path in (ROOT / part).rglob("*.py"))
# What a file calls a key is no word of the program: plan files have `split`.
OF_FILES = {"PLAN.md", "PAPERS.md", "FORMAT.md"}
PAGES = [
    *(page for page in manual() if page.name not in OF_FILES),
    *sorted((ROOT / "tests" / "screens" / "goldens").glob("*.txt")),
    *sorted((ROOT / "tests" / "paper" / "goldens").glob("*.txt")),
    *sorted((ROOT / "demo_sessions").glob("*/record.txt")),
    *sorted((ROOT / "demo_sessions").glob("*/about.md")),
    *sorted((ROOT / "demo_sessions").glob("*/steps.toml")),
]


def test_there_is_something_to_read() -> None:
    assert len(MODULES) > 150
    assert len(PAGES) > 150
    assert sum(len(sentences(path)) for path in MODULES) > 2000


@pytest.mark.parametrize("text", ["S skip", "3 sections, section 2 of 4", "[x] door", "bksp undo"])
def test_an_old_word_is_found(text: str) -> None:
    assert faults(text)


def test_no_key_has_an_old_word() -> None:
    for key in (*KEYS, HELPER):
        assert faults(f"{key.face} {key.label}: {key.help}") == [], key.id
        # The settings call a key by its id, the row of keys by its label.
        assert faults(key.id.replace("_", " ")) == [], key.id


def test_no_command_has_an_old_word() -> None:
    for name, text in helps(commands):
        assert faults(" ".join(text.split())) == [], name


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_sentence_of_the_code_has_an_old_word(path: Path) -> None:
    for line, text in sentences(path):
        assert faults(text) == [], f"{path.name}:{line}"


@pytest.mark.parametrize("path", PAGES, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_page_and_no_picture_has_an_old_word(path: Path) -> None:
    assert faults(path.read_text(encoding="utf-8")) == []
