"""Stages of a plan file: their sections, steps and the waits of hours that belong to a stage."""

from __future__ import annotations

import re

from cartclock.engine.figures.measured import AIR
from cartclock.engine.plan.plan import Effort
from cartclock.engine.plan.shapes import (
    MOST_PIECES,
    SHAPES,
    effort_by_body,
    matches,
    panel_order,
    shape_sections,
)
from cartclock.engine.rules.readings import MEASURED
from cartclock.engine.store.plan_file.duration import spelled
from cartclock.engine.store.plan_file.steps import check_marks, read_step
from cartclock.engine.store.plan_file.tables import Table, instead_of, quoted, visible

EFFORTS: tuple[Effort, ...] = ("rest", "light", "moderate", "heavy")
PER = ("section", "panel", "stage")
MOST_LAYERS = 10
# No section takes so many times the minutes of its stage. Our own judgement.
MOST_WEIGHT = 20.0

_SECTIONS = 'sections = ["roof", "bonnet"] or sections = { body = "estate" }'
_WEIGHTS = 'weights = { bonnet = 1.5, "driver mirror" = 0.4 }'
_PANELS = 'panels = { "bonnet left" = "bonnet", "bonnet right" = "bonnet" }'
_GAP = 'gap = { opens = "1h", due = "3h", closes = "24h" }'
_CURE = 'cure = { at_least = "12h", below_c = 15, then = "24h" }'
_CHECK = 'check = { after = "20m", closes = "40m", per = "panel", say = "light over it" }'
_SPOTS = 'high_spot = [ { until = "30m", do = "level again" }, { do = "polish out" } ]'
_REDO = 'redo = ["Polish", "Panel wipe"]'
_CONDITION = 'condition = { until = "panel_c < 30", look = "15m" }'
_BOUNDS = {name: MEASURED[name] for name in ("panel_c", "air_c", "rh")}
_UNTIL = re.compile(r"\s*([a-z_]+)\s*([<>])\s*(-?[0-9]{1,4}(?:\.[0-9]{1,4})?)\s*")


def read_stage(
    table: Table, products: dict[str, str], tools: tuple[str, ...], before: tuple[str, ...] = ()
) -> dict[str, object]:
    """A stage as field values for `engine.plan.plan.Stage`; faults go to the table's list.

    Args:
        table: the `[[stage]]` table.
        products: id -> unit of the plan's products.
        tools: ids of the plan's tools.
        before: names of the stages before this one.
    """
    name = table.text("name", 'name = "Wash"')
    if name is not None:
        table.place = f"{table.place.rpartition(': ')[0]}: stage {quoted(name)}"
    kind = table.word("kind", ("coat",), "")
    sections, panels, shape = _sections(table)
    effort = table.word("effort", EFFORTS, "moderate")
    efforts = _effort_by(table, sections, panels, shape, effort)
    weights = _weights(table, sections, panels)
    steps = _steps(table, products, tools)
    layers = table.whole("layers", 1, MOST_LAYERS, 1)
    gap = _gap(table)
    if layers is not None and layers > 1 and "gap" not in table.values:
        table.fault("gap", f"missing; {layers} layers need the time between two, like {_GAP}")
    if layers == 1 and gap is not None:
        table.fault("gap", "one layer has no gap; write layers = 2 or take the gap out")
    stage: dict[str, object] = {
        "name": name,
        "sections": sections,
        "steps": steps,
        "kind": kind,
        "effort": effort,
        "effort_by": efforts,
        "weights": weights,
        "order": table.word("order", ("each", "all", "wave"), "each"),
        "press": table.word("press", PER, "section"),
        "panels": panels,
        "layers": layers,
        "gap": gap,
        "cure": _cure(table),
        "check": _check(table),
        "high_spot": _high_spots(table, before),
        "condition": _condition(table),
        "trial": table.flag("trial"),
    }
    table.done("a stage")
    return stage


def _sections(table: Table) -> tuple[tuple[str, ...], dict[str, str], str]:
    value = table.raw("sections")
    if value is None:
        table.fault("sections", f"missing; write {_SECTIONS}")
    elif isinstance(value, dict):
        if table.raw("panels") is not None:
            table.fault("panels", "stands beside a body, which has its own; take panels out")
        return _body(table.inner(value, "sections"))
    elif not isinstance(value, list):
        table.fault("sections", f"{quoted(value)} is not a list; write {_SECTIONS}")
    elif not value:
        table.fault("sections", f"the list is empty; write {_SECTIONS}")
    else:
        read = [table.plain("sections", entry, 'a name like "roof"') for entry in value]
        names = [name for name in read if name is not None]
        for name in dict.fromkeys(name for name in names if names.count(name) > 1):
            table.fault(
                "sections", f"{quoted(name)} stands there twice; give every section its own name"
            )
        return tuple(names), _panels(table, names), ""
    return (), {}, ""


def _panels(table: Table, sections: list[str]) -> dict[str, str]:
    """Section -> panel, of sections that are named one by one."""
    panels = table.sub("panels", _PANELS)
    found: dict[str, str] = {}
    for section in panels.values if panels else ():
        assert panels is not None, "there is something in it"
        panel = panels.text(section, 'a panel like "bonnet"')
        if sections and section not in sections:
            hint = instead_of(section, sections, "name one of the sections of this stage")
            panels.fault(section, f"no such section; {hint}")
        elif panel is not None and panel != section:
            found[section] = panel
    return found


def _body(table: Table) -> tuple[tuple[str, ...], dict[str, str], str]:
    shape = table.word("body", SHAPES)
    first = table.text("from", 'from = "passenger front wing"', required=False)
    round_car = table.flag("round")
    split = table.sub("split", "split = { bonnet = 2, roof = 2 }")
    table.done("a body")
    order = panel_order(shape) if shape else ()
    if shape and first is not None and first not in order:
        table.fault("from", f"{_article(shape)} has no {quoted(first)}; {instead_of(first, order)}")
        first = None
    cuts: dict[str, int] = {}
    for part in split.values if split else ():
        count = split.whole(part, 1, MOST_PIECES) if split else None
        if split and shape and not any(matches(part, panel) for panel in order):
            hint = instead_of(
                part, order, 'name a panel or what panels share, like "bonnet" or "door"'
            )
            split.fault(part, f"{_article(shape)} has no such panel; {hint}")
        elif count is not None:
            cuts[part] = count
    if not shape:
        return (), {}, ""
    return *shape_sections(shape, cuts, first or "", round_car), shape


def _article(shape: str) -> str:
    return f"an {shape}" if shape in ("estate", "SUV") else f"a {shape}"


def _effort_by(
    table: Table,
    sections: tuple[str, ...],
    panels: dict[str, str],
    shape: str,
    effort: str | None,
) -> dict[str, str]:
    value = table.raw("effort_by")
    like = 'effort_by = { "low doors" = "heavy" }'
    if value is None:
        return {}
    if value == "body":
        plain: Effort | None = next((known for known in EFFORTS if known == effort), None)
        if not isinstance(table.values.get("sections"), dict):
            table.fault(
                "effort_by", f'"body" needs sections = {{ body = "estate" }}; or write {like}'
            )
        return dict(effort_by_body(shape, sections, panels, plain)) if shape and plain else {}
    if not isinstance(value, dict):
        table.fault("effort_by", f'{quoted(value)} is not a table; write {like} or "body"')
        return {}
    inner = table.inner(value, "effort_by")
    found: dict[str, str] = {}
    for place in value:
        word = inner.word(place, EFFORTS)
        if _is_there(inner, place, sections, panels) and word is not None:
            found[place] = word
    return found


def _is_there(table: Table, place: str, sections: tuple[str, ...], panels: dict[str, str]) -> bool:
    """Whether a stage has a section or panel of that name; a fault if it has none."""
    known = tuple(dict.fromkeys((*sections, *panels.values())))
    if not known or place in known:
        return True
    shown = ", ".join(visible(name) for name in known[:6])
    more = ", …" if len(known) > 6 else ""
    otherwise = f"this stage has {shown}{more}"
    table.fault(place, f"no such section or panel; {instead_of(place, known, otherwise)}")
    return False


def _weights(table: Table, sections: tuple[str, ...], panels: dict[str, str]) -> dict[str, float]:
    inner = table.sub("weights", _WEIGHTS)
    found: dict[str, float] = {}
    for place in inner.values if inner is not None else ():
        assert inner is not None
        weight = inner.number(place, 0.0, MOST_WEIGHT, over_low=True)
        if _is_there(inner, place, sections, panels) and weight is not None:
            found[place] = weight
    return found


def _steps(
    table: Table, products: dict[str, str], tools: tuple[str, ...]
) -> list[dict[str, object]]:
    rows = table.rows("step", '[[stage.step]] with work = "rinse"')
    if table.values.get("step", []) == []:
        table.fault("step", 'missing; write [[stage.step]] and under it work = "rinse"')
    steps = [read_step(row, products, tools) for row in rows]
    kinds = [step["type"] for step in steps]
    if kinds and kinds[0] == "wait":
        rows[0].fault("wait", "a stage cannot begin with a wait; put the work that starts it first")
    if len(kinds) > 1 and kinds[-1] == "wait":
        rows[-1].fault("wait", "a stage cannot end with a wait; add the work that ends it")
    for row, kind, before in zip(rows[1:], kinds[1:], kinds, strict=False):
        if kind == before == "wait":
            row.fault("wait", "two waits in a row; put work between them or make them one wait")
    return steps


def _gap(table: Table) -> dict[str, object] | None:
    gap = table.sub("gap", _GAP)
    if gap is None:
        return None
    opens, closes = gap.seconds("opens"), gap.seconds("closes", least=1)
    due = gap.seconds("due", required=False)
    if "due" not in gap.values:
        due = opens
    check_marks(gap, opens, due, closes)
    example = gap.flag("example")
    gap.done("a gap")
    return {"opens_s": opens, "due_s": due, "closes_s": closes, "example": example}


def _cure(table: Table) -> dict[str, object] | None:
    cure = table.sub("cure", _CURE)
    if cure is None:
        return None
    at_least = cure.seconds("at_least", least=1)
    below_c = cure.number("below_c", AIR.low, AIR.high)
    then = cure.seconds("then", required=False, least=1)
    for key, other in (("below_c", "then"), ("then", "below_c")):
        if key in cure.values and other not in cure.values:
            cure.fault(key, f"stands without {other}; the two go together, like {_CURE}")
    if at_least is not None and then is not None and then < at_least:
        cure.fault(
            "then",
            f"{spelled(then)} is shorter than at_least ({spelled(at_least)}); "
            "a colder cure takes longer",
        )
    example = cure.flag("example")
    cure.done("a cure")
    return {"at_least_s": at_least, "below_c": below_c, "then_s": then, "example": example}


def _check(table: Table) -> dict[str, object] | None:
    check = table.sub("check", _CHECK)
    if check is None:
        return None
    after, closes = check.seconds("after"), check.seconds("closes", least=1)
    if after is not None and closes is not None and after > closes:
        check.fault(
            "closes",
            f"{spelled(closes)} is before after ({spelled(after)}); write a later one",
        )
    say = check.text("say", 'say = "light over it"', required=False)
    per = check.word("per", PER, "panel")
    check.done("a check")
    return {"after_s": after, "closes_s": closes, "per": per, "say": say or "look again"}


def _high_spots(table: Table, stages: tuple[str, ...]) -> list[dict[str, object]]:
    rows = table.rows("high_spot", _SPOTS)
    spots: list[dict[str, object]] = []
    before = 0
    for row in rows:
        last = row is rows[-1]
        do = row.text("do", 'do = "re-wet and level"')
        until = row.seconds("until", required=False, least=1)
        if last and "until" in row.values:
            row.fault("until", "the last remedy holds from then on; take its until out")
        elif not last and "until" not in row.values:
            row.fault("until", "missing; only the last remedy goes without, like " + _SPOTS)
        if until is not None and until <= before:
            row.fault(
                "until",
                f"{spelled(until)} is not later than the one before ({spelled(before)}); "
                "put the remedies in the order of their times",
            )
        before = until or before
        redo = _redo(row, stages)
        row.done("a high spot remedy")
        spots.append({"do": do, "until_s": until, "redo": redo})
    return spots


def _redo(row: Table, stages: tuple[str, ...]) -> tuple[str, ...]:
    """The stages that a remedy does again on the panel."""
    value = row.raw("redo")
    if value is None:
        return ()
    if not isinstance(value, list):
        row.fault("redo", f"{quoted(value)} is not a list; write {_REDO}")
        return ()
    read = [row.plain("redo", entry, 'a name like "Polish"') for entry in value]
    for name in read:
        if name is not None and name not in stages:
            row.fault(
                "redo",
                f"no stage before this one has the name {quoted(name)}; {instead_of(name, stages)}",
            )
    return tuple(name for name in read if name is not None)


def _condition(table: Table) -> dict[str, object] | None:
    condition = table.sub("condition", _CONDITION)
    if condition is None:
        return None
    look = condition.seconds("look", least=1)
    until = condition.text("until", 'until = "panel_c < 30"')
    condition.done("a condition")
    match = _UNTIL.fullmatch(until) if until else None
    if until and (match is None or match[1] not in _BOUNDS):
        name = match[1] if match else until.split()[0]
        hint = instead_of(name, _BOUNDS, 'write it like "panel_c < 30", "air_c > 12" or "rh < 80"')
        condition.fault("until", f"{quoted(until)} is not understood; {hint}")
    elif match is not None:
        bound = _BOUNDS[match[1]]
        if not bound.holds(float(match[3])):
            span = f"{bound.low:g} to {bound.high:g}"
            condition.fault("until", f"{quoted(until)} is out of range; write a number from {span}")
        return {
            "quantity": match[1],
            "below": match[2] == "<",
            "value": float(match[3]),
            "look_s": look,
        }
    return None
