"""Every figure says where it comes from and how far that was verified."""

from __future__ import annotations

import inspect
import pkgutil
import re
from importlib import import_module
from types import FunctionType

import pytest

import cartclock.engine.figures

MARKS = re.compile(
    r"read in the issuing body's text|read second-hand|read in an open library's source"
    r"|from memory|common practice|our own judgement|by definition|source as for `\w+`",
    re.I,
)


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
    assert MARKS.search(doc) or MARKS.search(module_doc), f"{figure.__name__} says no source"
