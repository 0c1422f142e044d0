"""One range for each quantity, whatever door it comes in by: hand, instrument, file, command."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from cartclock.engine.facts import events as ev
from cartclock.engine.figures import bounds, measured
from cartclock.engine.figures.bounds import Bound
from cartclock.engine.rules import rules
from cartclock.engine.rules.readings import HIGH, LOW, MEASURED
from cartclock.engine.store.laptop.instrument import read_printed
from cartclock.engine.store.plan_file.reader import read_plan
from cartclock.engine.store.settings import read_settings
from cartclock.engine.trouble import Asks, PlanFault, Refused
from cartclock.tui.commands.group import commands
from cartclock.tui.lists.reading import open_forecast, open_reading
from tests.kit.book import opened
from tests.kit.hosts import HandHost
from tests.kit.plans import COAT

PLAN = (Path(__file__).parents[1] / "store" / "good_plan.toml").read_text(encoding="utf-8")


def shown(value: float) -> str:
    return f"{value:g}"


# Each door says whether it takes one value, all others being plain.


def hand(name: str) -> Callable[[float], bool]:
    """Typed on its line of the reading list, in C."""

    def takes(value: float) -> bool:
        host = HandHost()
        open_reading(host)
        host.type(MEASURED[name].name, shown(value))
        taken = host.done()
        # What looks odd is asked about: it may be.
        return taken or host.list.title.endswith("is it right?")

    return takes


def hand_forecast(of: Bound) -> Callable[[float], bool]:
    other = HIGH if of is LOW else LOW

    def takes(value: float) -> bool:
        host = HandHost()
        open_forecast(host)
        host.type(of.name, shown(value))
        host.type(other.name, shown(of.high if other is HIGH else of.low))
        return host.done()

    return takes


def instrument(name: str) -> Callable[[float], bool]:
    """Printed by the reading command, and given to the rule that writes it."""

    def takes(value: float) -> bool:
        plain = {"air_c": "20", "rh": "50"} | {name: shown(value)}
        text = " ".join(f"{key}={said}" for key, said in plain.items())
        try:
            rules.note_shift(opened(COAT).scene(100), read_printed(text))
        except Asks:
            return True
        except Refused:
            return False
        return True

    return takes


def rule(name: str) -> Callable[[float], bool]:
    def takes(value: float) -> bool:
        fields: dict[str, Any] = {name: value}
        try:
            rules.note_shift(opened(COAT).scene(100), ev.ReadingTaken(**fields))
        except Refused:
            return False
        return True

    return takes


def command(words: str) -> Callable[[float], bool]:
    def takes(value: float) -> bool:
        said = ["work-out", *words.replace("?", shown(value)).split()]
        result = CliRunner().invoke(commands, said)
        assert result.exit_code in (0, 2), result.exception
        return result.exit_code == 0

    return takes


def plan(before: str, after: str) -> Callable[[float], bool]:
    assert before in PLAN

    def takes(value: float) -> bool:
        try:
            read_plan(PLAN.replace(before, after.replace("?", shown(value))), "plan.toml")
        except PlanFault:
            return False
        return True

    return takes


def settings(text: str) -> Callable[[float], bool]:
    def takes(value: float) -> bool:
        try:
            read_settings(text.replace("?", shown(value)), "settings.toml")
        except PlanFault:
            return False
        return True

    return takes


UNTIL = 'until = "panel_c < 30"'
LABEL = "{ air_c = 20, rh = 50,"
UNIT = 'unit = "drops"'
DOORS: dict[str, dict[str, Callable[[float], bool]]] = {
    "air_c": {
        "heat": command("heat --rh 50 --air=?"),
        "heat rest": command("heat --air 30 --rh 50 --rest ?/50"),
        "air": command("air --rh 50 --air=?"),
        "flash": command("flash --panel 20 --rh 50 --label 60 --air=?"),
        "flash at": command("flash --panel 20 --air 20 --rh 50 --label 60 --at ?/50"),
        "flash own": command("flash --panel 20 --air 20 --rh 50 --label 60 --own 48@20/?/50"),
        "settings": settings("rest_place = { air_c = ?, rh = 50 }"),
        "condition": plan(UNTIL, 'until = "air_c < ?"'),
        "label": plan(LABEL, "{ air_c = ?, rh = 50,"),
        "low limit": plan(UNIT, f"{UNIT}\nlimits = {{ air_low_c = ? }}"),
        "high limit": plan(UNIT, f"{UNIT}\nlimits = {{ air_high_c = ? }}"),
        "cure": plan("below_c = 15", "below_c = ?"),
    },
    "rh": {
        "heat": command("heat --air 30 --rh=?"),
        "heat rest": command("heat --air 30 --rh 50 --rest 26/?"),
        "air": command("air --air 30 --rh=?"),
        "flash": command("flash --panel 20 --air 20 --label 60 --rh=?"),
        "flash at": command("flash --panel 20 --air 20 --rh 50 --label 60 --at 20/?"),
        "flash own": command("flash --panel 20 --air 20 --rh 50 --label 60 --own 48@20/20/?"),
        "settings": settings("rest_place = { air_c = 26, rh = ? }"),
        "condition": plan(UNTIL, 'until = "rh < ?"'),
        "label": plan(LABEL, "{ air_c = 20, rh = ?,"),
        "low limit": plan(UNIT, f"{UNIT}\nlimits = {{ rh_low = ? }}"),
        "high limit": plan(UNIT, f"{UNIT}\nlimits = {{ rh_high = ? }}"),
    },
    "panel_c": {
        "air": command("air --air 20 --rh 50 --panel=?"),
        "flash": command("flash --air 20 --rh 50 --label 60 --panel=?"),
        "flash own": command("flash --panel 20 --air 20 --rh 50 --label 60 --own 48@?/20/50"),
        "condition": plan(UNTIL, 'until = "panel_c < ?"'),
        "low limit": plan(UNIT, f"{UNIT}\nlimits = {{ panel_low_c = ? }}"),
        "high limit": plan(UNIT, f"{UNIT}\nlimits = {{ panel_high_c = ? }}"),
    },
    "globe_c": {"heat": command("heat --air 30 --rh 50 --globe=?")},
    "wbgt_c": {"heat": command("heat --wbgt=?")},
}
for _name, _doors in DOORS.items():
    _doors |= {"hand": hand(_name), "instrument": instrument(_name), "rule": rule(_name)}
for _of in (LOW, HIGH):
    DOORS["air_c"][f"hand, {_of.name}"] = hand_forecast(_of)

EDGES = [
    pytest.param(takes, value, bound.holds(value), id=f"{name} {door} {value:g}")
    for name, bound in MEASURED.items()
    for door, takes in DOORS[name].items()
    for value in (bound.low, bound.high, bound.low - 0.5, bound.high + 0.5)
]


@pytest.mark.parametrize(("takes", "value", "may_be"), EDGES)
def test_every_door_gives_the_same_answer(
    takes: Callable[[float], bool], value: float, may_be: bool
) -> None:
    assert takes(value) is may_be


@pytest.mark.parametrize("name", MEASURED)
@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_refused_by_instrument_and_rule(name: str, value: float) -> None:
    assert not instrument(name)(value)
    assert not rule(name)(value)


@pytest.mark.parametrize(
    ("entered", "taken"),
    [
        (measured.AIR, bounds.AIR_C),
        (measured.PANEL, bounds.PANEL_C),
        (measured.GLOBE, bounds.GLOBE_C),
        (measured.WBGT_METER, bounds.WBGT_C),
        (measured.HUMIDITY, bounds.RH),
    ],
    ids=lambda bound: bound.name,
)
def test_what_may_be_entered_can_be_reckoned_with(entered: Bound, taken: Bound) -> None:
    assert taken.holds(entered.low) and taken.holds(entered.high)


def test_a_temperature_in_f_is_judged_as_it_was_typed() -> None:
    for text, may_be in (("-22", True), ("-22.1", False), ("140", True), ("140.1", False)):
        host = HandHost("F")
        open_reading(host)
        host.type("air", text)
        assert host.done() is may_be or host.list.title.endswith("is it right?")
        assert may_be or host.refusals == [f"air {text} F cannot be."]
