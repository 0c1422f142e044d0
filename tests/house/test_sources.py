"""Every figure says where it comes from and how far that was verified, by one list of sources."""

from __future__ import annotations

import inspect
import io
import pkgutil
import re
import tokenize
from collections.abc import Iterator
from functools import cache
from importlib import import_module
from pathlib import Path
from types import FunctionType

import pytest

import cartclock.engine.figures

ROOT = Path(__file__).parents[2]
OPENED = "read in the issuing body's text"
LIBRARY = "read in an open library's source"
HEARD = "read second-hand"
MEMORY = "from memory"
# What each mark may be weakened to.
WEAKER = {
    OPENED: {OPENED, HEARD, MEMORY},
    LIBRARY: {LIBRARY, HEARD, MEMORY},
    HEARD: {HEARD, MEMORY},
}
OWN = ("common practice", "our own judgement", "our own choice", "by definition", MEMORY)
ANY = re.compile("|".join((*WEAKER, *OWN)), re.I)
# A name of the code in whose docstring the source stands.
ELSEWHERE = re.compile(r"`[\w.]+`|the constants")
# Where a mark or what it marks may begin; a module without any of it is not taken to pieces.
BEGINS = re.compile(r"\bread(?: in| second-hand|\s*$)|\bmemory\b|Source:", re.I | re.M)
# What reads like a mark: allowed or not.
LIKE_A_MARK = re.compile(r"\bread (?:in|on|at|from|by|second|third|over)\b[^.;,:)]*", re.I)


def listed() -> dict[str, str]:
    """Source -> how far it was read, as `engine/figures/SOURCES.md` has it."""
    text = (ROOT / "engine/figures/SOURCES.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| (.+?) \| (read .+?) \|$", text, re.M)
    assert len(rows) == len(dict(rows)), "a source stands there twice"
    return dict(rows)


SOURCES = listed()


def _pattern(name: str) -> re.Pattern[str]:
    return re.compile(r"[ ,]+".join(map(re.escape, re.split("[ ,]+", name))), re.I)


PATTERNS = {name: _pattern(name) for name in sorted(SOURCES, key=len, reverse=True)}


def named(text: str) -> list[str]:
    """The listed sources that a text names, the longer name before one that is part of it."""
    found = []
    for name, pattern in PATTERNS.items():
        text, count = pattern.subn(" ", text)
        found += [name] if count else []
    return found


@cache
def blocks(text: str) -> tuple[str, ...]:
    """Every string and every run of comments of a module, each in one line."""
    return tuple(_blocks(text))


def _blocks(text: str) -> Iterator[str]:
    run: list[str] = []
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type == tokenize.COMMENT:
            run.append(token.string.lstrip("#: "))
            continue
        if token.type == tokenize.NL:
            continue
        if run:
            yield " ".join(run)
            run = []
        if token.type == tokenize.STRING:
            yield " ".join(token.string.split())


def faults(text: str) -> list[str]:
    """What is wrong with the sources that a module names."""
    if not BEGINS.search(text):
        return []
    found = []
    for block in blocks(text):
        start = 0
        for mark in re.finditer(f"{'|'.join(WEAKER)}|{MEMORY}", block, re.I):
            clause = block[start : mark.start()].rpartition("Source:")[2]
            start = mark.end()
            said = mark[0].lower()
            names = named(clause)
            found += [
                f"{name}: {said}, but it was {SOURCES[name]}"
                for name in names
                if said not in WEAKER[SOURCES[name]]
            ]
            if said != MEMORY and not names and not ELSEWHERE.search(clause):
                found.append(f"not in the list of sources: {clause[-80:]}")
        is_prose = block.startswith(('"""', 'r"""')) or not block.startswith(('"', "'", "f", "r"))
        if "Source:" in block and is_prose:
            told = block.partition("Source:")[2]
            if not ANY.search(told) and not ELSEWHERE.search(told):
                found.append(f"no mark: {told[:80]}")
            found += [
                f"no mark of ours: {like}"
                for like in LIKE_A_MARK.findall(told)
                if not ANY.match(like)
            ]
    return found


MODULES = [
    path
    for folder in ("engine", "tui", "tests")
    for path in sorted((ROOT / folder).rglob("*.py"))
    if path.name != Path(__file__).name
]


def _figures() -> list[FunctionType]:
    found: dict[str, FunctionType] = {}
    for module in pkgutil.iter_modules(cartclock.engine.figures.__path__):
        loaded = import_module(f"cartclock.engine.figures.{module.name}")
        for name, value in vars(loaded).items():
            own = isinstance(value, FunctionType) and value.__module__ == loaded.__name__
            if own and not name.startswith("_"):
                found[f"{module.name}.{name}"] = value
    return list(found.values())


@pytest.mark.parametrize("figure", _figures(), ids=lambda f: f"{f.__module__}.{f.__name__}")
def test_a_figure_names_its_source_in_its_docstring_or_its_module(figure: FunctionType) -> None:
    doc = " ".join((inspect.getdoc(figure) or "").split())
    module_doc = " ".join((inspect.getdoc(inspect.getmodule(figure)) or "").split())
    assert doc, "no docstring"
    marked = (
        ANY.search(doc) or ANY.search(module_doc) or re.search(r"source as for `\w+`", doc, re.I)
    )
    assert marked, f"{figure.__name__} says no source"


def test_every_source_is_in_the_list_and_says_no_more_than_was_read() -> None:
    wrong = {str(path.relative_to(ROOT)): faults(path.read_text("utf-8")) for path in MODULES}
    assert {path: said for path, said in wrong.items() if said} == {}


def test_no_source_stands_in_the_list_that_nothing_rests_on() -> None:
    left = set(SOURCES)
    for path in MODULES:
        text = path.read_text("utf-8")
        if any(name.split()[0] in text for name in left):
            # A name goes over no end of a line.
            left -= set(named("\n".join(blocks(text))))
    assert left == set()
    assert set(SOURCES.values()) <= set(WEAKER)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("Source: 89 FR 70698; read second-hand.", ""),
        ("Source: 89 FR 70698; from memory.", ""),
        ("Source: our own judgement.", ""),
        ("Source: as for `level`, read in the issuing body's text.", ""),
        ("Source: 89 FR 70698, read in the issuing body's text.", "89 FR 70698: read in"),
        ("Source: NIOSH 2016-106, table 6-2; read in the issuing body's text.", ""),
        ("Source: NIOSH 2016-106; read in the issuing body's text.", "NIOSH 2016-106: read in"),
        ("Source: ISO 7243; read in an open library's source.", "ISO 7243: read in"),
        # Marks and sources that nobody agreed on.
        ("Source: NIOSH 2017-126; read on the maker's page.", "no mark"),
        ("Source: NIOSH 2017-126; read third-hand, our own judgement.", "no mark of ours: read t"),
        ("Source: NIOSH 2017-126; verified.", "no mark"),
        ("Source: Standard 9999-1; read in the issuing body's text.", "not in the list"),
        ("Source: somebody said so.", "no mark"),
    ],
)
def test_a_made_up_mark_or_source_is_found(text: str, fault: str) -> None:
    found = faults(f'X = 1\n"""What it is. {text}"""\n')
    assert bool(found) == bool(fault), found
    assert all(any(one.startswith(part) for one in found) for part in [fault] if fault)
    assert bool(faults(f"# What it is. {text}\nX = 1\n")) == bool(fault)
