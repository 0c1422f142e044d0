"""Whatever stands in a plan file, it is read or faulted and never anything else."""

from __future__ import annotations

import copy
import datetime
import json
import tomllib
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from cartclock.engine.plan.plan import Wait, Work
from cartclock.engine.store.plan_file.reader import read_plan
from cartclock.engine.trouble import PlanFault

GOOD = (Path(__file__).parent / "good_plan.toml").read_text(encoding="utf-8")


def toml(value: object) -> str:
    """A value as TOML, tables inline; control characters escaped."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(k)} = {toml(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(toml(v) for v in value) + "]"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    if isinstance(value, bool):
        return "true" if value else "false"
    return repr(value)


def slots(value: object) -> list[tuple[Any, Any]]:
    """Every (container, key) of a tree."""
    found: list[tuple[Any, Any]] = []
    if isinstance(value, dict | list):
        for key in value if isinstance(value, dict) else range(len(value)):
            found.append((value, key))
            found += slots(value[key])
    return found


WORDS = [
    "2m",
    "0s",
    "P7D",
    "PT48H",
    "coat",
    "Coat",
    "body",
    "estate",
    "first",
    "flash",
    "dwell",
    "all",
    "panel_c < 30",
    "10:1",
    "",
    " ",
    "rh > 1e9",
    "stage",
]
texts = st.text(st.characters(codec="utf-8"), max_size=80) | st.sampled_from(WORDS)
scalars = (
    st.booleans() | st.integers(-(10**20), 10**20) | st.floats() | texts | st.dates() | st.times()
)
values = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3),
    max_leaves=6,
)


def document(tree: dict[str, Any]) -> str:
    """A tree as a TOML document, one line for every top key."""
    return "\n".join(f"{json.dumps(key)} = {toml(value)}" for key, value in tree.items())


def test_the_writer_of_this_test_loses_nothing() -> None:
    assert read_plan(document(tomllib.loads(GOOD)), "plan.toml") == read_plan(GOOD, "plan.toml")


def check_read(text: str) -> None:
    """The text reads to a plan that keeps the rules, or it is a `PlanFault`; nothing else."""
    try:
        plan = read_plan(text, "plan.toml")
    except PlanFault as fault:
        assert fault.faults
        assert all(line.startswith("plan.toml: ") for line in fault.faults)
        assert all(line.isprintable() for line in fault.faults)
        return
    for stage in plan.stages:
        assert len(set(stage.sections)) == len(stage.sections) > 0
        assert isinstance(stage.steps[0], Work)
        assert isinstance(stage.steps[-1], Work)
        assert (stage.layers > 1) is (stage.gap is not None)
        for step in stage.steps:
            if isinstance(step, Wait):
                assert 0 <= step.opens_s <= step.due_s <= step.closes_s
            else:
                assert all(plan.product(use.product) for use in step.uses)
                assert 0 <= step.minutes < float("inf")


@settings(max_examples=150)
@given(data=st.data())
def test_any_value_anywhere_is_read_or_faulted(data: st.DataObject) -> None:
    tree = copy.deepcopy(tomllib.loads(GOOD))
    for _ in range(data.draw(st.integers(1, 3))):
        places = slots(tree)
        container, key = places[data.draw(st.integers(0, len(places) - 1))]
        change = data.draw(st.sampled_from(["set", "drop", "add", "swap"]))
        if change == "drop":
            del container[key]
            if not tree:
                break
        elif change == "add" and isinstance(container, dict):
            container[data.draw(texts)] = data.draw(values)
        elif change == "swap":
            other, name = places[data.draw(st.integers(0, len(places) - 1))]
            container[key] = copy.deepcopy(other[name])
        else:
            container[key] = data.draw(values)
    check_read(document(tree))


@settings(max_examples=100)
@given(
    at=st.integers(0, len(GOOD)),
    cut=st.integers(0, 12),
    put=st.text(max_size=6) | st.sampled_from(["[", "]", "{", "}", '"', "\n", "=", "[[stage]]\n"]),
)
def test_any_slip_of_the_hand_is_read_or_faulted(at: int, cut: int, put: str) -> None:
    check_read(GOOD[:at] + put + GOOD[at + cut :])
