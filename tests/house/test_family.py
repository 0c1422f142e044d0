"""Cases that run as one test fail as so many: each is run, and each that fails is named."""

from __future__ import annotations

from collections.abc import Callable
from types import SimpleNamespace

import pytest

from tests.kit.family import Failing, Family


def fit(n: int) -> None:
    assert n < 3, "too large"


def named(n: int) -> None:
    with pytest.raises(ValueError, match="no"):
        int(str(n))


def family(request: pytest.FixtureRequest, test: Callable[[int], None]) -> tuple[Family, list[int]]:
    """A family of five cases, and a list of those that were run."""
    run: list[int] = []

    def case(n: int) -> None:
        run.append(n)
        test(n)

    cases = [SimpleNamespace(id=f"NIOSH: {n}", params={"n": n}) for n in range(5)]
    first = SimpleNamespace(obj=case, repr_failure=lambda found: str(found.value))
    given = {"parent": request.node.parent, "name": "test_it"}
    return Family.from_parent(first=first, cases=cases, **given), run


@pytest.mark.parametrize(("test", "wrong"), [(fit, [3, 4]), (named, [0, 1, 2, 3, 4])])
def test_every_case_is_run_and_every_one_that_fails_is_named(
    test: Callable[[int], None], wrong: list[int], request: pytest.FixtureRequest
) -> None:
    found, run = family(request, test)
    with pytest.raises(Failing) as caught:
        found.runtest()
    assert run == [0, 1, 2, 3, 4]
    told = found.repr_failure(caught)
    assert told.startswith(f"{len(wrong)} of 5 cases: test_it[NIOSH: {wrong[0]}]")
    here = request.node.parent.nodeid
    assert [n for n in range(5) if f"{here}::test_it[NIOSH: {n}]\n" in told] == wrong


def test_a_family_of_which_nothing_fails_passes(request: pytest.FixtureRequest) -> None:
    found, run = family(request, lambda n: None)
    found.runtest()
    assert run == [0, 1, 2, 3, 4]


@pytest.mark.parametrize("n", [1, 2])
def test_cases_that_ask_for_nothing_are_one_test(n: int) -> None:
    assert n


@pytest.mark.parametrize("n", [1, 2])
def test_cases_that_ask_for_more_are_tests(n: int, request: pytest.FixtureRequest) -> None:
    assert request.node.name == f"test_cases_that_ask_for_more_are_tests[{n}]"


def test_which_cases_are_one_test(request: pytest.FixtureRequest) -> None:
    here = [item for item in request.session.items if item.parent is request.node.parent]
    kinds = {item.name: type(item) for item in here}
    families = (item for item in here if isinstance(item, Family))
    family = next(one for one in families if one.name.endswith("_are_one_test"))
    assert [case.params for case in family.cases] == [{"n": 1}, {"n": 2}]
    assert "test_cases_that_ask_for_more_are_tests[1]" in kinds
    assert Family not in {kind for name, kind in kinds.items() if "[" in name}
