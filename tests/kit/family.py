"""Cases of one test that ask for nothing but their values, run as one test that names each.

Most tests are one line with a row of a table, and setting up, reporting and dealing out each of
them takes ten times as long as the line. The cases of a test are made and told as ever: a failure
names every case that fails, with its source, and one case alone is run by its own id.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import Any

import pytest

# What every test is given here without asking.
GIVEN = {"event_loop_policy"}


class Failing(Exception):
    """Some cases of a family failed."""

    def __init__(self, found: list[tuple[pytest.Function, BaseException]]) -> None:
        super().__init__(", ".join(case.name for case, _why in found))
        self.found = found


class Family(pytest.Item):
    """The cases of one test."""

    def __init__(self, cases: list[pytest.Function], **given: Any) -> None:
        super().__init__(**given)
        self.cases = cases

    def runtest(self) -> None:
        failed: list[tuple[pytest.Function, BaseException]] = []
        skipped: list[BaseException] = []
        for case in self.cases:
            try:
                case.obj(**case.callspec.params)
            except pytest.skip.Exception as why:
                skipped.append(why)
            except (Exception, pytest.fail.Exception) as why:
                failed.append((case, why))
        if failed:
            raise Failing(failed)
        if len(skipped) == len(self.cases):
            raise skipped[0]

    def repr_failure(self, excinfo: pytest.ExceptionInfo[BaseException], style: Any = None) -> Any:
        if not isinstance(excinfo.value, Failing):
            return super().repr_failure(excinfo, style)
        found = excinfo.value.found
        head = f"{len(found)} of {len(self.cases)} cases: {excinfo.value}"
        told = (
            f"{case.nodeid}\n{case.repr_failure(pytest.ExceptionInfo.from_exception(why))}"
            for case, why in found
        )
        return "\n\n".join([head, *told])

    def reportinfo(self) -> tuple[Any, int | None, str]:
        path, line, _name = self.cases[0].reportinfo()
        return path, line, self.name


def families(items: list[pytest.Item]) -> Iterator[pytest.Item]:
    """The tests in their order, with the cases that stand together as one."""
    for _, found in groupby(items, _test):
        cases = list(found)
        first = cases[0]
        if len(cases) == 1 or not isinstance(first, pytest.Function):
            yield from cases
            continue
        named = {"parent": first.parent, "name": first.originalname}
        yield Family.from_parent(cases=cases, **named)


def _test(item: pytest.Item) -> object:
    """What the cases of one test have in common; each other test is its own."""
    if not isinstance(item, pytest.Function) or not hasattr(item, "callspec"):
        return item
    asks = {*item.fixturenames} - {*item.callspec.params} - GIVEN
    marks = {mark.name for mark in item.iter_markers()} - {"parametrize"}
    inner = hasattr(item.obj, "hypothesis")
    return item if asks or marks or inner else (item.parent, item.originalname)
