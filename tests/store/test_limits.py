"""Limits of a label in a plan file, and in a log that is older than they are."""

from __future__ import annotations

import msgspec

from cartclock.engine.facts.events import JobOpened
from cartclock.engine.figures.gate import LabelLimits
from cartclock.engine.plan.plan import Limits
from cartclock.engine.store.codec import encode
from cartclock.engine.store.plan_file.reader import read_plan
from tests.kit.plans import GATED, opening

TEXT = """
format = 1
name = "Coat"
[[product]]
id = "coat"
name = "Coating"
{limits}
[[stage]]
name = "Coat"
kind = "coat"
sections = ["roof"]
[[stage.step]]
work = "apply"
uses = {{ coat = 10 }}
"""


def limits(line: str) -> Limits | None:
    return read_plan(TEXT.format(limits=line), "plan.toml").products[0].limits


def test_limits_are_read_each_by_itself() -> None:
    assert limits("") is None
    assert limits("limits = {}") == Limits()
    assert limits("limits = { rh_low = 30 }") == Limits(rh_low=30.0)
    found = limits(
        "limits = { panel_low_c = 5, panel_high_c = 30, air_low_c = -2.5, air_high_c = 28, "
        "rh_low = 30, rh_high = 80 }"
    )
    assert found == Limits(5.0, 30.0, -2.5, 28.0, 30.0, 80.0)
    assert limits("limits = { air_low_c = 15, air_high_c = 15 }") == Limits(
        air_low_c=15.0, air_high_c=15.0
    )


def test_the_gate_takes_the_ends_of_the_ranges() -> None:
    ends = limits(
        "limits = { panel_low_c = -30, panel_high_c = 100, air_low_c = -30, air_high_c = 60, "
        "rh_low = 1, rh_high = 100 }"
    )
    assert ends is not None
    # The gate refuses by itself what it cannot take.
    LabelLimits(**msgspec.structs.asdict(ends))


def test_a_log_without_limits_is_read_as_before() -> None:
    _kind, _version, body = (str(part) for part in encode(opening(GATED)))
    assert '"limits":null' in body
    old = body.replace('"limits":null,', "")
    assert msgspec.json.decode(old, type=JobOpened) == opening(GATED)
