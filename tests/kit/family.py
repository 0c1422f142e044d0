"""Cases of one test that ask for nothing but their values, run as one test that names each.

Most tests are one line with a row of a table, and making, setting up, reporting and dealing out
each of them takes ten times as long as the line. A failure names every case that fails, with its
source; where cases are chosen, by an id or a word, each is a test of its own.
"""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from typing import Any

import pytest
from _pytest.python import CallSpec2

# What every test is given here without asking.
GIVEN = {"event_loop_policy"}

_CASES = pytest.StashKey[dict[tuple[str, str], list[CallSpec2]]]()


class Failing(Exception):
    """Some cases of a family failed."""

    def __init__(self, found: list[tuple[str, BaseException]]) -> None:
        super().__init__(", ".join(name for name, _why in found))
        self.found = found


class Family(pytest.Item):
    """The cases of one test."""

    def __init__(self, first: pytest.Function, cases: list[CallSpec2], **given: Any) -> None:
        super().__init__(**given)
        self.first, self.cases = first, cases

    def runtest(self) -> None:
        failed: list[tuple[str, BaseException]] = []
        skipped: list[BaseException] = []
        for case in self.cases:
            try:
                self.first.obj(**case.params)
            except pytest.skip.Exception as why:
                skipped.append(why)
            except (Exception, pytest.fail.Exception) as why:
                failed.append((f"{self.name}[{case.id}]", why))
        if failed:
            raise Failing(failed)
        if len(skipped) == len(self.cases):
            raise skipped[0]

    def repr_failure(self, excinfo: pytest.ExceptionInfo[BaseException], style: Any = None) -> Any:
        if not isinstance(excinfo.value, Failing):
            return super().repr_failure(excinfo, style)
        found = excinfo.value.found
        head = f"{len(found)} of {len(self.cases)} cases: {excinfo.value}"
        file = self.nodeid.removesuffix(self.name)
        told = (
            f"{file}{name}\n{self.first.repr_failure(pytest.ExceptionInfo.from_exception(why))}"
            for name, why in found
        )
        return "\n\n".join([head, *told])

    def reportinfo(self) -> tuple[Any, int | None, str]:
        path, line, _name = self.first.reportinfo()
        return path, line, self.name


def fold(metafunc: pytest.Metafunc) -> None:
    """Has only the first case of a family made, and keeps what the others are called with."""
    option, test = metafunc.config.option, metafunc.definition
    chosen = option.keyword or any("[" in arg for arg in metafunc.config.args)
    asks = {*metafunc.fixturenames} - GIVEN
    marks = {mark.name for mark in test.iter_markers()} - {"parametrize", "waits"}
    # What it is called with has no public name.
    calls = metafunc._calls
    if chosen or marks or len(calls) < 2 or any(call.marks for call in calls):
        return
    of_its_own = hasattr(test.obj, "hypothesis") or inspect.iscoroutinefunction(test.obj)
    if asks - {*calls[0].params} or of_its_own:
        return
    kept = metafunc.config.stash.setdefault(_CASES, {})
    kept[test.parent.nodeid, test.originalname] = [*calls]
    del calls[1:]


def families(items: list[pytest.Item], config: pytest.Config) -> Iterator[pytest.Item]:
    """The tests in their order, with a family for the first of its cases."""
    kept = config.stash.get(_CASES, {})
    for item in items:
        named = isinstance(item, pytest.Function) and (item.parent.nodeid, item.originalname)
        if named not in kept:
            yield item
        else:
            given = {"parent": item.parent, "name": item.originalname}
            yield Family.from_parent(first=item, cases=kept[named], **given)
