"""Plan files: from TOML text to a checked `Plan`, or to every fault of the text at once."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Iterable, Mapping

import msgspec

from cartclock.engine.figures.bounds import Bound
from cartclock.engine.figures.measured import AIR, HUMIDITY, PACK, PANEL
from cartclock.engine.figures.mix import ratio
from cartclock.engine.plan.plan import Plan
from cartclock.engine.store.plan_file.body import read_body
from cartclock.engine.store.plan_file.duration import ISO_LIKE
from cartclock.engine.store.plan_file.stages import read_stage
from cartclock.engine.store.plan_file.starters import examples, starter, starters, with_body
from cartclock.engine.store.plan_file.tables import LONGEST_SENTENCE, Table, instead_of, quoted
from cartclock.engine.trouble import PlanFault

__all__ = ["examples", "plan_digest", "read_plan", "starter", "starters", "with_body"]

FORMAT = 1
# Of sections in all, and of whatever stands in a list: our own judgement, a vehicle has a tenth.
MOST_LINES = 2_000
MOST_TIMES = 120

_RHYTHM = 'rhythm = { work = "50m", rest = "10m" }'
_HANDOVER = 'handover = { not_before = "PT12H", after = "Coat", source = "label of the pack" }'
_IF_WET = 'if_wet = "Dry it with a soft towel at once."'
_SOURCE = 'source = "label of the pack"'
_MIX = 'write it like "ready", "10:1" (10 water + 1 product), "1 in 10" or "5 %"'
_LIMITS = "limits = { panel_low_c = 5, panel_high_c = 30 }"
_CLIMATE: tuple[tuple[str, str, Bound], ...] = (
    ("panel_low_c", "panel_high_c", PANEL),
    ("air_low_c", "air_high_c", AIR),
    ("rh_low", "rh_high", HUMIDITY),
)
_VIBRATION = "vibration = { a = 4.5, k = 1.5, contact = 0.8 }"
_PRICE = re.compile(r"[0-9]{1,7}(\.[0-9]{1,3})?")
_TOML_LINE = re.compile(r"\s*\(at line ([0-9]+), column [0-9]+\)")
_AT_END = " (at end of document)"


def plan_digest(text: str) -> str:
    """SHA-256 of the text in UTF-8 as 64 lower-case hex digits."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def read_plan(text: str, file: str) -> Plan:
    """The plan a TOML text describes.

    Args:
        text: content of the file; a byte order mark is passed over.
        file: the file's name as every fault shall begin with it.

    Raises:
        PlanFault: one sentence for every fault of the text: file, stage, step, key, what is
            wrong, what would be right. For text that is no TOML the first fault alone, with
            its line.
    """
    faults: list[str] = []
    values = _toml(text, file)
    if too_many := _too_many(values):
        raise PlanFault((f"{file}: {too_many}",))
    top = Table(values, file, faults, whole_file=True)
    _format(top)
    name = top.text("name", 'name = "Maintenance wash"')
    products = [_product(row) for row in top.rows("product", "[[product]]")]
    tools = [_tool(row) for row in top.rows("tool", "[[tool]]")]
    _unique(top, "product", [product["id"] for product in products])
    _unique(top, "tool", [tool["id"] for tool in tools])
    units = {str(product["id"]): str(product["unit"]) for product in products if product["id"]}
    tool_ids = tuple(str(tool["id"]) for tool in tools if tool["id"])
    stages: list[dict[str, object]] = []
    rows = top.rows("stage", "[[stage]]")
    for row in rows:
        before = tuple(str(stage["name"]) for stage in stages if stage["name"])
        stages.append(read_stage(row, units, tool_ids, before))
    if top.values.get("stage", []) == []:
        top.fault("stage", "missing; a plan has at least one [[stage]]")
    _unique(top, "stage", [stage["name"] for stage in stages])
    stage_names = tuple(str(stage["name"]) for stage in stages if stage["name"])
    aftercare = [_aftercare(row, stage_names) for row in top.rows("aftercare", "[[aftercare]]")]
    _unique(top, "aftercare", [line["say"] for line in aftercare])
    rhythm = _rhythm(top)
    handover = _handover(top, stage_names)
    shape, covers = read_body(top, rows, _section_names(stages))
    top.done("a plan")
    if faults:
        raise PlanFault(tuple(faults))
    fields = {
        "name": name,
        "stages": stages,
        "products": products,
        "tools": tools,
        "aftercare": aftercare,
        "rhythm": rhythm,
        "handover": handover,
        "shape": shape,
        "covers": covers,
    }
    return msgspec.convert(fields, Plan)


def _too_many(values: Mapping[str, object]) -> str:
    """Which list of a file is longer than any plan's, before every line of it is looked at; ""
    for none."""
    sections = 0
    for name, rows in values.items():
        if not isinstance(rows, list):
            continue
        if len(rows) > MOST_LINES:
            return f"{len(rows):,} of {quoted(name)}; a plan has at most {MOST_LINES:,}."
        listed = [row.get("sections") for row in rows if isinstance(row, dict)]
        sections += sum(len(one) for one in listed if isinstance(one, list))
    if sections > MOST_LINES:
        return f"{sections:,} sections; a plan has at most {MOST_LINES:,}."
    return ""


def _section_names(stages: Iterable[Mapping[str, object]]) -> Iterable[str]:
    for stage in stages:
        names = stage["sections"]
        if isinstance(names, tuple):
            yield from names


def _rhythm(top: Table) -> dict[str, object] | None:
    row = top.sub("rhythm", _RHYTHM)
    if row is None:
        return None
    rhythm: dict[str, object] = {
        "work_s": row.seconds("work", least=60),
        "rest_s": row.seconds("rest", least=60),
    }
    row.done("a rhythm")
    return rhythm


def _handover(top: Table, stages: tuple[str, ...]) -> dict[str, object] | None:
    row = top.sub("handover", _HANDOVER)
    if row is None:
        return None
    not_before = row.iso("not_before")
    if "not_before" not in row.values:
        row.fault("not_before", f"missing, {ISO_LIKE}")
    after = row.text("after", 'after = "Coat"')
    if after is not None and stages and after not in stages:
        row.fault("after", f"no stage has the name {quoted(after)}; {instead_of(after, stages)}")
    handover: dict[str, object] = {
        "not_before": not_before[0] if not_before else "",
        "after": after,
        "source": row.text("source", _SOURCE),
    }
    row.done("a hand-over")
    return handover


def _toml(text: str, file: str) -> dict[str, object]:
    try:
        return tomllib.loads(text.removeprefix("\ufeff"))
    except RecursionError:
        fault = f"{file}: lists or tables are nested too deep; a plan needs three levels"
        raise PlanFault((fault,)) from None
    except ValueError as error:
        said = str(error)
        where = _TOML_LINE.search(said)
        line = f"line {where[1]}: " if where else ""
        if said.endswith(_AT_END):
            line = f"line {max(1, len(text.splitlines()))}: "
        # Without a line it is no syntax fault but a number with thousands of digits.
        reason = quoted(_TOML_LINE.sub("", said).removesuffix(_AT_END))[1:-1]
        hint = "look there and on the line before for a missing quotation mark, bracket or ="
        if "overwrite" in said or "twice" in said:
            hint = "a key stands twice in one table; keep one of them"
        fault = f"{file}: {line}this is not TOML ({reason}); {hint}"
        raise PlanFault((fault,)) from None


def _format(top: Table) -> None:
    value = top.raw("format")
    if value is None:
        top.fault("format", "missing; write format = 1 at the top of the file")
    elif isinstance(value, bool) or not isinstance(value, int) or value != FORMAT:
        top.fault("format", f"{quoted(value)} is not a format this program reads; write format = 1")


def _unique(top: Table, key: str, names: list[object]) -> None:
    seen: dict[object, int] = {}
    for number, name in enumerate(names, 1):
        if name is None:
            continue
        if name in seen:
            what = {"stage": "name", "aftercare": "sentence"}.get(key, "id")
            top.fault(
                key,
                f"number {seen[name]} and number {number} have the same {what}, {quoted(name)}; "
                "give each its own",
            )
        else:
            seen[name] = number


def _product(row: Table) -> dict[str, object]:
    product_id = row.text("id", 'id = "shampoo"')
    if product_id == "first":
        row.fault("id", '"first" is the word for priming in uses; choose another id')
    price = row.text("price", 'price = "18.50"', required=False)
    if price is not None and not _PRICE.fullmatch(price):
        row.fault("price", f'{quoted(price)} is not a price; write digits like "18.50"')
    product: dict[str, object] = {
        "id": product_id,
        "name": row.text("name", 'name = "Shampoo"'),
        "unit": row.word("unit", ("ml", "g", "drops", "each"), "ml"),
        "pack": row.number("pack", PACK.low, PACK.high, over_low=True),
        "price": price,
        "mix": _mix(row),
        "family": row.text("family", 'family = "thioglycolate"', required=False) or "",
        "hazards": _hazards(row),
        "limits": _limits(row),
        **_wet(row),
        "drops_per_ml": row.number("drops_per_ml", 0, 1000, over_low=True),
    }
    if "drops_per_ml" in row.values and product["unit"] not in ("drops", None):
        row.fault("drops_per_ml", 'stands without unit = "drops"; write that too, or take it out')
    row.done("a product")
    return product


def _limits(row: Table) -> dict[str, float | None] | None:
    inner = row.sub("limits", _LIMITS)
    if inner is None:
        return None
    limits: dict[str, float | None] = {}
    for low_key, high_key, bound in _CLIMATE:
        low, high = (inner.number(key, bound.low, bound.high) for key in (low_key, high_key))
        limits |= {low_key: low, high_key: high}
        if low is not None and high is not None and low > high:
            inner.fault(
                low_key,
                f"{quoted(low)} is above {high_key} ({quoted(high)}); write a lower one",
            )
    inner.done("limits")
    return limits


def _wet(row: Table) -> dict[str, object]:
    """How long what was laid must stay dry, and what to do if it did not."""
    dry_s = row.seconds("dry", required=False, least=1)
    if_wet = row.text("if_wet", _IF_WET, required=False, longest=LONGEST_SENTENCE)
    if if_wet is not None and "dry" not in row.values:
        row.fault("if_wet", 'stands without dry; write dry = "48h" too, or take if_wet out')
    return {"dry_s": dry_s, "if_wet": if_wet or ""}


def _hazards(row: Table) -> list[str]:
    value = row.raw("hazards")
    if value is None:
        return []
    if not isinstance(value, list):
        row.fault("hazards", f'{quoted(value)} is not a list; write hazards = ["H317"]')
        return []
    read = [row.plain("hazards", entry, 'a code like "H317"') for entry in value]
    return [hazard for hazard in read if hazard is not None]


def _mix(row: Table) -> str:
    """The text of a mixing ratio that `engine.figures.mix.ratio` reads; "ready" if left out."""
    text = row.text("mix", 'mix = "ready"', required=False)
    if text is None or text.lower() == "ready":
        return "ready"
    try:
        ratio(text)
    except ValueError as why:
        # The sentence begins with the text, which a fault shows in its own way.
        what = str(why).rpartition("; write")[0].removeprefix(f'"{text}"').removeprefix(repr(text))
        row.fault("mix", f"{quoted(text)}{what}; {_MIX}")
    return text


def _tool(row: Table) -> dict[str, object]:
    tool_id = row.text("id", 'id = "polisher"')
    name = row.text("name", 'name = "Polisher"', required=False)
    inner = row.sub("vibration", _VIBRATION)
    vibration: dict[str, object] | None = None
    if inner is not None:
        vibration = {
            "a": inner.number("a", 0, 100, required=True),
            "k": inner.number("k", 0, 100, default=0.0),
            "contact": inner.number("contact", 0, 1, default=1.0),
        }
        inner.done("a vibration value")
    noise_dba = row.number("noise_dba", 0, 140)
    row.done("a tool")
    return {
        "id": tool_id,
        "name": name or tool_id,
        "vibration": vibration,
        "noise_dba": noise_dba,
    }


def _aftercare(row: Table, stages: tuple[str, ...]) -> dict[str, object]:
    say = row.text("say", 'say = "Keep it dry."', longest=LONGEST_SENTENCE)
    source = row.text("source", _SOURCE)
    until, begin, every = row.iso("until"), row.iso("from"), row.iso("every")
    if not any(key in row.values for key in ("until", "from", "every")):
        row.fault("until", f"missing, and so are from and every; one of them is needed, {ISO_LIKE}")
    if until is not None and begin is not None and begin[1] >= until[2]:
        row.fault(
            "until",
            f"{quoted(until[0])} is not later than from ({quoted(begin[0])}); write a later end",
        )
    times = row.whole("times", 1, MOST_TIMES, 1)
    if "times" in row.values and "every" not in row.values:
        row.fault("times", 'stands without every; write every = "P6M" too, or take times out')
    after = row.text("after", 'after = "Coat"', required=False)
    if after is not None and stages and after not in stages:
        row.fault("after", f"no stage has the name {quoted(after)}; {instead_of(after, stages)}")
    line: dict[str, object] = {
        "say": say,
        "source": source,
        "until": until[0] if until else "",
        "from_": begin[0] if begin else "",
        "every": every[0] if every else "",
        "times": times,
        "after": after or "",
        "visit": row.flag("visit"),
        "if_not": row.text(
            "if_not", 'if_not = "Dry it at once."', required=False, longest=LONGEST_SENTENCE
        )
        or "",
        "about": row.word("about", ("water", "touch", "wash"), "") or "",
    }
    row.done("an aftercare line")
    return line
