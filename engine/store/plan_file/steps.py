"""Steps of a plan file: work by hand, and waits for chemistry with their windows."""

from __future__ import annotations

import math
from typing import get_args

from cartclock.engine.figures.measured import AIR, HUMIDITY, USE
from cartclock.engine.plan.plan import MOST_MINUTES, WearKind
from cartclock.engine.store.plan_file.duration import spelled
from cartclock.engine.store.plan_file.tables import Table, instead_of, quoted

_USES = "uses = { shampoo = 40 }"
_LABEL = 'label = [ { air_c = 20, rh = 50, low = "60s", high = "180s" } ]'
_BOTH = 'a step says work = "rinse" (hands) or wait = "dwell" or "flash" (chemistry)'

# No vehicle is cut into more sections than that for one pad.
_MOST_SECTIONS = 99


def read_step(table: Table, products: dict[str, str], tools: tuple[str, ...]) -> dict[str, object]:
    """A step with its tag under "type", ready for `engine.plan.plan.Work` or `Wait`.

    Args:
        table: the `[[stage.step]]` table; faults go to its list.
        products: id -> unit of the plan's products.
        tools: ids of the plan's tools.

    Returns:
        Field values; "type" is "" if the table says neither or both.
    """
    hands, chemistry = "work" in table.values, "wait" in table.values
    if hands and chemistry:
        table.fault("wait", f"stands beside work; {_BOTH}, so make two steps of it")
    elif hands:
        return _work(table, products, tools)
    elif chemistry:
        return _wait(table)
    else:
        # The misspelt key itself is the better message where there is one.
        for key in table.values:
            if instead_of(key, ("work", "wait"), "-") != "-":
                table.fault(key, f"no such key; {instead_of(key, ('work', 'wait'))}")
                break
        else:
            table.fault("work", f"missing; {_BOTH}")
    return {"type": ""}


def _work(table: Table, products: dict[str, str], tools: tuple[str, ...]) -> dict[str, object]:
    step: dict[str, object] = {
        "type": "work",
        "say": table.text("work", 'work = "rinse"'),
        "minutes": table.number("minutes", 0, MOST_MINUTES, default=0.0),
        "uses": _uses(table, products),
        "over": table.word("over", ("section", "all"), "section"),
    }
    tool = table.text("tool", 'tool = "polisher"', required=False)
    if tool is not None and tool not in tools:
        otherwise = f'add [[tool]] with id = "{tool}"'
        table.fault(
            "tool", f"no tool has the id {quoted(tool)}; {instead_of(tool, tools, otherwise)}"
        )
    step["tool"] = tool or ""
    step["wears"] = [one for kind in get_args(WearKind) for one in _wear(table, kind)]
    table.done("a work step")
    return step


def _wear(table: Table, kind: WearKind) -> list[dict[str, object]]:
    like = f'{kind} = {{ name = "soft {kind}", sections = 4 }}'
    wear = table.sub(kind, like)
    if wear is None:
        return []
    name = wear.text("name", f'name = "soft {kind}"')
    sections = wear.whole("sections", 1, _MOST_SECTIONS)
    wear.done(f"a {kind}")
    return [{"kind": kind, "name": name, "sections": sections}]


def _uses(table: Table, products: dict[str, str]) -> list[dict[str, object]]:
    uses = table.sub("uses", _USES)
    if uses is None:
        return []
    named = [key for key in uses.values if key != "first"]
    first = uses.number("first", USE.low, USE.high)
    if "first" in uses.values and len(named) != 1:
        uses.fault(
            "first",
            f"stands beside {len(named)} products; priming goes with exactly one, "
            "so give it a step of its own, like uses = { coat = 10, first = 15 }",
        )
    taken: list[dict[str, object]] = []
    for key in named:
        amount = uses.number(key, USE.low, USE.high)
        if key in products:
            taken.append({"product": key, "amount": amount, "first": first})
        else:
            otherwise = f"add [[product]] with id = {quoted(key)}"
            uses.fault(key, f"no product has this id; {instead_of(key, products, otherwise)}")
    return taken


def _wait(table: Table) -> dict[str, object]:
    say = table.word("wait", ("dwell", "flash"))
    kind = table.word("kind", ("solvent", "moisture cure", "water"), "")
    rows = [_label_row(row) for row in table.rows("label", _LABEL, "label row")]
    if say == "dwell" and kind:
        table.fault("kind", 'a dwell does not flash; leave kind out, or write wait = "flash"')
    if say == "dwell" and rows:
        table.fault("label", "a dwell has no flash range; write opens, due and closes instead")
    ranges = [span for span, _ in rows if span is not None]
    labelled = say != "dwell" and "label" in table.values
    opens = table.seconds("opens", required=not labelled)
    due = table.seconds("due", required=False)
    closes = table.seconds("closes", required=not labelled, least=1)
    if labelled and ranges:
        if "opens" not in table.values:
            opens = min(low for low, _ in ranges)
        if "due" not in table.values:
            due = round(math.sqrt(ranges[0][0] * ranges[0][1]))
        if "closes" not in table.values:
            closes = max(high for _, high in ranges)
    elif labelled and not table.values["label"]:
        table.fault("label", 'has no row; write one like { low = "60s", high = "180s" }')
    elif "due" not in table.values:
        due = opens
    origin = ", from the label," if labelled and "due" not in table.values else ""
    check_marks(table, opens, due, closes, origin)
    example = table.flag("example")
    table.done("a wait step")
    return {
        "type": "wait",
        "say": say,
        "opens_s": opens,
        "due_s": due,
        "closes_s": closes,
        "kind": kind,
        "label": [row for _, row in rows],
        "example": example,
    }


def _label_row(row: Table) -> tuple[tuple[int, int] | None, dict[str, object]]:
    low = row.seconds("low", least=1)
    high = row.seconds("high", least=1)
    span = (low, high) if low is not None and high is not None and low <= high else None
    if low is not None and high is not None and span is None:
        row.fault(
            "high",
            f"{spelled(high)} is shorter than low ({spelled(low)}); write the shorter time as low",
        )
    air_c = row.number("air_c", AIR.low, AIR.high)
    rh = row.number("rh", HUMIDITY.low, HUMIDITY.high)
    row.done("a label row")
    return span, {"low_s": low, "high_s": high, "air_c": air_c, "rh": rh}


def check_marks(
    table: Table, opens: int | None, due: int | None, closes: int | None, due_origin: str = ""
) -> None:
    """Fault marks, in seconds, that do not run opens <= due <= closes.

    A mark of None was faulted already. `due_origin` says where a due that the file does not
    write was taken from.
    """
    run = "the marks run opens, due, closes"
    if opens is not None and closes is not None and opens > closes:
        table.fault(
            "closes",
            f"{spelled(closes)} is before opens ({spelled(opens)}); {run}, so write a later one",
        )
    elif opens is not None and due is not None and due < opens:
        table.fault(
            "due",
            f"{spelled(due)}{due_origin} is before opens ({spelled(opens)}); {run}, "
            "so write a later one",
        )
    elif due is not None and closes is not None and due > closes:
        table.fault(
            "due",
            f"{spelled(due)}{due_origin} is after closes ({spelled(closes)}); {run}, "
            "so write an earlier one",
        )
