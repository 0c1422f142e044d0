"""The rooms of the engine: mapped, in order, each public name once, decisions where they bind."""

from __future__ import annotations

import ast
import re
import tomllib
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
MAP = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
ENGINE = "cartclock.engine."
CONTRACTS = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"][
    "importlinter"
]["contracts"]


def _order() -> list[str]:
    """The rooms of the engine from the top down, as the contract has them."""
    (layers,) = [one["layers"] for one in CONTRACTS if one["type"] == "layers"]
    return [layer.removeprefix(ENGINE) for layer in layers if layer.startswith(ENGINE)]


def test_every_room_has_its_place_in_the_order() -> None:
    beside = {path.stem for path in (ROOT / "engine").glob("*.py")} - {"__init__"}
    rooms = {path.parent.name for path in (ROOT / "engine").glob("*/__init__.py")}
    assert beside.isdisjoint(rooms)
    assert set(_order()) == beside | rooms
    assert len(_order()) == len(set(_order()))


def test_the_map_draws_the_rooms_in_the_order_of_the_contract() -> None:
    drawn = MAP.split("```")[1].partition("engine/\n")[2]
    names = [
        name
        for line in drawn.splitlines()
        for name in re.findall(r"(\w+)(?:/|\.py)", re.split(r"\s{3,}\S+ \w", line.strip())[0])
    ]
    # Files that stand beside one another on a line know nothing of each other.
    assert sorted(names) == sorted(_order())
    folders = [name for name in names if (ROOT / "engine" / name).is_dir()]
    assert folders == [name for name in _order() if (ROOT / "engine" / name).is_dir()]


def test_every_file_that_the_map_names_is_there() -> None:
    named = set(re.findall(r"`((?:engine|tui|tests|demo_sessions)/[\w./]*)`", MAP))
    assert len(named) > 20
    # NAME stands for any.
    assert not [name for name in named if "NAME" not in name and not (ROOT / name).exists()]


def _public(path: Path) -> Iterator[str]:
    """Names that a module defines for others: classes, functions, constants, names of types."""
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        names: list[str] = []
        match node:
            case ast.ClassDef() | ast.FunctionDef() | ast.AsyncFunctionDef():
                names = [node.name]
            case ast.Assign(value=ast.Call(func=ast.Name(id="TypeVar" | "ParamSpec"))):
                continue  # a letter that stands for any type inside its module
            case ast.Assign():
                names = [
                    one.id
                    for target in node.targets
                    for one in ast.walk(target)
                    if isinstance(one, ast.Name)
                ]
            case ast.AnnAssign(target=ast.Name(id=name)):
                names = [name]
        yield from (name for name in names if not name.startswith("_"))


def test_each_public_name_of_the_engine_stands_once() -> None:
    found = defaultdict(list)
    for path in sorted((ROOT / "engine").rglob("*.py")):
        for name in set(_public(path)):
            found[name].append(str(path.relative_to(ROOT)))
    assert not {name: where for name, where in found.items() if len(where) > 1}


DECISIONS = sorted(
    path for part in ("engine", "tui") for path in (ROOT / part).rglob("DECISIONS.md")
)


@pytest.mark.parametrize("path", DECISIONS, ids=lambda path: str(path.relative_to(ROOT)))
def test_decisions_are_numbered_without_holes(path: Path) -> None:
    numbers = re.findall(r"^## (\d+)\. \S", path.read_text(encoding="utf-8"), re.M)
    assert [int(number) for number in numbers] == list(range(1, len(numbers) + 1))
    assert numbers


def test_every_decision_that_code_points_at_is_there() -> None:
    pointing = re.compile(r"((?:engine|tui)/[\w/]*DECISIONS\.md) (\d+)")
    lost = []
    for part in ("engine", "tui", "demo_sessions", "tests"):
        for source in sorted((ROOT / part).rglob("*.py")):
            for name, number in pointing.findall(source.read_text(encoding="utf-8")):
                path = ROOT / name
                text = path.read_text(encoding="utf-8") if path.exists() else ""
                if f"## {number}. " not in text:
                    lost.append(f"{source.relative_to(ROOT)}: {name} {number}")
    assert not lost, "\n".join(lost)
