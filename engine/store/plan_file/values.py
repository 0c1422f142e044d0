"""A plan as the tables of its file: what `engine.store.plan_file.reader` reads, the other way.

Tables are plain dicts in the order in which they are written. The short form leaves out what the
reader fills in by itself; the full one says all of it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from cartclock.engine.plan.drafting import body_cut
from cartclock.engine.plan.plan import (
    Aftercare,
    Check,
    Condition,
    Cure,
    Gap,
    HighSpot,
    LabelRow,
    Limits,
    Plan,
    Product,
    Stage,
    Step,
    Tool,
    Use,
    Wait,
    Work,
)
from cartclock.engine.plan.shapes import effort_by_body
from cartclock.engine.store.plan_file.duration import spelled

Values = dict[str, Any]
# Over this a float of a plan is written as it is told; under it a whole number stands without ".0".
_WHOLE = 1e15


def top_values(plan: Plan) -> Values:
    """The keys above the first table of a plan's file."""
    rhythm, handover = plan.rhythm, plan.handover
    return _without(
        {
            "format": 1,
            "name": plan.name,
            "shape": plan.shape,
            "covers": {section: list(panels) for section, panels in plan.covers.items()},
            "rhythm": {}
            if rhythm is None
            else {"work": spelled(rhythm.work_s), "rest": spelled(rhythm.rest_s)},
            "handover": {}
            if handover is None
            else {
                "not_before": handover.not_before,
                "after": handover.after,
                "source": handover.source,
            },
        },
        {"shape": "", "covers": {}, "rhythm": {}, "handover": {}},
    )


def product_values(product: Product, full: bool = False) -> Values:
    """The keys of a `[[product]]`."""
    return _without(
        {
            "id": product.id,
            "name": product.name,
            "unit": product.unit,
            "pack": _number(product.pack),
            "price": product.price,
            "mix": product.mix,
            "family": product.family,
            "hazards": list(product.hazards),
            "limits": _limits(product.limits),
            "dry": None if product.dry_s is None else spelled(product.dry_s),
            "if_wet": product.if_wet,
            "drops_per_ml": _number(product.drops_per_ml),
        },
        {"mix": "ready", "family": "", "hazards": [], "if_wet": ""},
        full,
    )


def _limits(limits: Limits | None) -> Values | None:
    if limits is None:
        return None
    return _without({name: _number(getattr(limits, name)) for name in limits.__struct_fields__})


def tool_values(tool: Tool, full: bool = False) -> Values:
    """The keys of a `[[tool]]`."""
    shakes = tool.vibration
    vibration = None
    if shakes is not None:
        vibration = {
            "a": _number(shakes.a),
            "k": _number(shakes.k),
            "contact": _number(shakes.contact),
        }
    values = {
        "id": tool.id,
        "name": tool.name or tool.id,
        "vibration": vibration,
        "noise_dba": _number(tool.noise_dba),
    }
    return _without(values, {"name": tool.id}, full)


def stage_values(stage: Stage, shape: str, full: bool = False) -> Values:
    """The keys of a `[[stage]]`, its steps aside.

    shape: body of the plan's vehicle; "" if it has none.
    """
    sections, panels = _sections(stage, shape)
    return _without(
        {
            "name": stage.name,
            "kind": stage.kind,
            "press": stage.press,
            "order": stage.order,
            "effort": stage.effort,
            "sections": sections,
            "panels": panels,
            "effort_by": _effort_by(stage, shape, isinstance(sections, dict)),
            "weights": {place: _number(weight) for place, weight in stage.weights.items()},
            "layers": stage.layers,
            "gap": _gap(stage.gap),
            "cure": _cure(stage.cure),
            "check": _check(stage.check),
            "high_spot": [_high_spot(spot) for spot in stage.high_spot],
            "condition": _condition(stage.condition),
            "trial": stage.trial,
        },
        {
            "kind": "",
            "press": "section",
            "order": "each",
            "effort": "moderate",
            "panels": {},
            "effort_by": {},
            "weights": {},
            "layers": 1,
            "high_spot": [],
            "trial": False,
        },
        full,
    )


def _sections(stage: Stage, shape: str) -> tuple[Values | list[str], dict[str, str]]:
    """The sections by the body where they are just those, else their names and panels."""
    cut = body_cut(stage, shape)
    if cut is None:
        panels = {section: panel for section, panel in stage.panels.items() if section != panel}
        return list(stage.sections), panels
    found: Values = {"body": cut.shape}
    if cut.cuts:
        found["split"] = cut.cuts
    if cut.first:
        found["from"] = cut.first
    if cut.round_car:
        found["round"] = True
    return found, {}


def _effort_by(stage: Stage, shape: str, cut: bool) -> Mapping[str, str] | str:
    if stage.effort_by and cut:
        by_body = effort_by_body(shape, stage.sections, stage.panels, stage.effort)
        if by_body == stage.effort_by:
            return "body"
    return dict(stage.effort_by)


def _gap(gap: Gap | None) -> Values | None:
    if gap is None:
        return None
    return _without(
        {
            "opens": spelled(gap.opens_s),
            "due": spelled(gap.due_s),
            "closes": spelled(gap.closes_s),
            "example": gap.example,
        },
        {"due": spelled(gap.opens_s), "example": False},
    )


def _cure(cure: Cure | None) -> Values | None:
    if cure is None:
        return None
    return _without(
        {
            "at_least": spelled(cure.at_least_s),
            "below_c": _number(cure.below_c),
            "then": None if cure.then_s is None else spelled(cure.then_s),
            "example": cure.example,
        },
        {"example": False},
    )


def _check(check: Check | None) -> Values | None:
    if check is None:
        return None
    return _without(
        {
            "after": spelled(check.after_s),
            "closes": spelled(check.closes_s),
            "per": check.per,
            "say": check.say,
        },
        {"per": "panel", "say": "look again"},
    )


def _high_spot(spot: HighSpot) -> Values:
    until = None if spot.until_s is None else spelled(spot.until_s)
    return _without({"until": until, "do": spot.do, "redo": list(spot.redo)}, {"redo": []})


def _condition(condition: Condition | None) -> Values | None:
    if condition is None:
        return None
    # The reader takes a number here without an exponent.
    value = f"{condition.value:.4f}".rstrip("0").rstrip(".")
    sign = "<" if condition.below else ">"
    return {
        "until": f"{condition.quantity} {sign} {value}",
        "look": spelled(condition.look_s),
    }


def step_values(step: Step, full: bool = False) -> Values:
    """The keys of a `[[stage.step]]`."""
    return _work(step, full) if isinstance(step, Work) else _wait(step, full)


def _work(work: Work, full: bool) -> Values:
    values: Values = {
        "work": work.say,
        "minutes": _number(work.minutes),
        "uses": _uses(work.uses),
        "over": work.over,
        "tool": work.tool,
    }
    for kind in ("pad", "towel"):
        worn = next((one for one in work.wears if one.kind == kind), None)
        values[kind] = None if worn is None else {"name": worn.name, "sections": worn.sections}
    return _without(values, {"minutes": 0, "uses": {}, "over": "section", "tool": ""}, full)


def _uses(uses: tuple[Use, ...]) -> Values:
    found: Values = {use.product: _number(use.amount) for use in uses}
    if len(uses) == 1 and uses[0].first is not None:
        found["first"] = _number(uses[0].first)
    return found


def _wait(wait: Wait, full: bool) -> Values:
    opens_s, closes_s = None, None
    if wait.label:
        opens_s = min(row.low_s for row in wait.label)
        closes_s = max(row.high_s for row in wait.label)
        due_s = round(math.sqrt(wait.label[0].low_s * wait.label[0].high_s))
    else:
        due_s = wait.opens_s
    defaults: Values = {"kind": "", "label": [], "due": spelled(due_s), "example": False}
    if opens_s is not None and closes_s is not None:
        defaults |= {"opens": spelled(opens_s), "closes": spelled(closes_s)}
    return _without(
        {
            "wait": wait.say,
            "kind": wait.kind,
            "label": [_label_row(row) for row in wait.label],
            "opens": spelled(wait.opens_s),
            "due": spelled(wait.due_s),
            "closes": spelled(wait.closes_s),
            "example": wait.example,
        },
        defaults,
        full,
    )


def _label_row(row: LabelRow) -> Values:
    return _without(
        {
            "air_c": _number(row.air_c),
            "rh": _number(row.rh),
            "low": spelled(row.low_s),
            "high": spelled(row.high_s),
        }
    )


def aftercare_values(care: Aftercare, full: bool = False) -> Values:
    """The keys of an `[[aftercare]]`."""
    return _without(
        {
            "say": care.say,
            "until": care.until or None,
            "from": care.from_ or None,
            "every": care.every or None,
            "times": care.times if care.every else None,
            "after": care.after,
            "visit": care.visit,
            "source": care.source,
            "if_not": care.if_not,
            "about": care.about,
        },
        {"times": 1, "after": "", "visit": False, "if_not": "", "about": ""},
        full,
    )


def _number(value: float | None) -> float | int | None:
    """A number as the file says it: whole ones without a point."""
    if value is None or not value.is_integer() or abs(value) >= _WHOLE:
        return value
    return int(value)


def _without(values: Values, defaults: Values | None = None, full: bool = False) -> Values:
    """The values without what is None and, unless full, without what the reader fills in.

    What is empty has no words in the file and stands in no form.
    """
    known = defaults or {}
    found = {}
    for key, value in values.items():
        left_out = key in known and value == known[key]
        if value is None or (left_out and (not full or value in ("", [], {}))):
            continue
        found[key] = value
    return found
