"""What is allowed is said by rules: the screens read keys and show what a rule answers."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2] / "tui"
MODULES = [str(path.relative_to(ROOT)) for path in ROOT.rglob("*.py")]
TROUBLES = {"Refused", "Asks", "PlanFault", "StoreFault"}
# Of the terminal and its letters, which nothing below tui knows.
OF_THE_TERMINAL = {
    ("commands/start.py", "The screens need a terminal that can place its cursor"),
    ("commands/papers.py", "is no text for a terminal"),
}
SIZES = {
    "screens/caller.py": "rows under the large figure",
    "terminal/driver.py": "cells that a terminal says it has",
    "terminal/wire.py": "parameters that set ink or ground",
    "widgets/plain.py": "code points that are no letters",
    "widgets/sheet.py": "rows of a title",
}


@cache
def tree_of(name: str) -> ast.Module:
    """A module of tui; read for the tests of its worker alone, not wherever this file is."""
    return ast.parse((ROOT / name).read_text())


def raised(tree: ast.AST) -> list[ast.Raise]:
    """Every statement that raises a trouble."""
    return [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.Raise)
        and isinstance(node.exc, ast.Call)
        and isinstance(node.exc.func, ast.Name)
        and node.exc.func.id in TROUBLES
    ]


def is_bound(node: ast.expr) -> bool:
    """True for a number, or for what stands for one: a capital name, a field low or high."""
    if isinstance(node, ast.UnaryOp):
        node = node.operand
    if isinstance(node, ast.Constant):
        return isinstance(node.value, int | float) and not isinstance(node.value, bool)
    if isinstance(node, ast.Attribute):
        return node.attr in ("low", "high") or node.attr.isupper()
    return isinstance(node, ast.Name) and node.id.isupper()


def ends(call: ast.AST, name: str) -> bool:
    """True for `min(...)` or `max(...)` with a bound among what it takes."""
    return (
        isinstance(call, ast.Call)
        and isinstance(call.func, ast.Name)
        and call.func.id == name
        and any(map(is_bound, call.args))
    )


def ranges(tree: ast.AST) -> list[ast.AST]:
    """Every range of numbers: `low <= x <= high`, a pair of numbers with a capital name, and a
    value cut to both of its ends."""
    found: list[ast.AST] = []
    for node in ast.walk(tree):
        match node:
            case ast.Compare(left, ops, [_, right]) if all(
                isinstance(op, ast.Lt | ast.LtE | ast.Gt | ast.GtE) for op in ops
            ):
                found += [node] if is_bound(left) and is_bound(right) else []
            case ast.Assign([ast.Name(name)], value) if name.isupper():
                pairs = value.values if isinstance(value, ast.Dict) else [value]
                found += filter(is_pair, pairs)
            case ast.Call(args=args) if ends(node, "max") and any(ends(arg, "min") for arg in args):
                found.append(node)
            case ast.Call(args=args) if ends(node, "min") and any(ends(arg, "max") for arg in args):
                found.append(node)
    return found


def is_pair(node: ast.expr) -> bool:
    return isinstance(node, ast.Tuple) and len(node.elts) == 2 and all(map(is_bound, node.elts))


@pytest.mark.parametrize("name", MODULES)
def test_no_refusal_is_made_in_tui(name: str) -> None:
    found = [ast.unparse(node) for node in raised(tree_of(name))]
    spoken = [said for file, said in OF_THE_TERMINAL if file == name]
    assert [said for said in found if not any(one in said for one in spoken)] == []
    assert len(found) == len(spoken)


@pytest.mark.parametrize("name", MODULES)
def test_no_range_is_kept_in_tui(name: str) -> None:
    if name not in SIZES:
        assert [ast.unparse(node) for node in ranges(tree_of(name))] == []


@pytest.mark.parametrize(
    "text",
    [
        "ok = 0 <= minutes <= 240",
        "ok = AIR.low <= value < AIR.high",
        "ok = -30.0 < value_c < MOST_C",
        "value = max(0, min(240, value))",
        "value = min(max(value, AIR.low), AIR.high)",
        "RANGE = (1.0, 100.0)",
        "class A:\n    RANGE_C = {'air': (-30.0, 60.0)}",
    ],
)
def test_a_range_would_be_found(text: str) -> None:
    assert len(ranges(ast.parse(text))) == 1


def test_a_refusal_would_be_found() -> None:
    assert raised(ast.parse("def f():\n    if x:\n        raise Refused('no')"))
