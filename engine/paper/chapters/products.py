"""Products on paper: what was used, from which lot, at what cost; and a data sheet in lines."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from cartclock.engine.dates import clock_text, spoken
from cartclock.engine.facts.words import amount_text
from cartclock.engine.figures import mix
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.page.table import Column, Group, Note, TableRow
from cartclock.engine.plan.amounts import in_currency, per_ml
from cartclock.engine.plan.plan import Plan, Product, Wait, Work
from cartclock.engine.products.chemistry import family_name
from cartclock.engine.products.consumption import Consumed, LotUse, rounded, total
from cartclock.engine.products.supply import amount_words, last_day_text
from cartclock.engine.record.applied import Used

_NAME, _APPLIED = Column("product", 22), Column("applied", 10, right=True)
_MIX, _PACK = Column("mix", 5), Column("from pack", 9, right=True)
_LOT, _STAGES = Column("lot", 12), Column("stages", 24, rank=2, remark=True)


def put_products(
    medium: Medium,
    used: Sequence[Used],
    consumed: Sequence[Consumed],
    zone: str,
    currency: str = "",
) -> None:
    """The chapter of the products used; nothing if none was.

    consumed: the same products by lot and cost; may be empty. currency: stands behind money.
    """
    if not used:
        return
    by_product = {one.product: one for one in consumed}
    whole = total(consumed)
    lots = any(lot.lot for one in consumed for lot in one.lots)
    columns = [_NAME, _APPLIED, _MIX, _PACK]
    columns += [_LOT] if lots else []
    columns += [_STAGES]
    if whole is not None:
        columns.append(Column(f"cost {currency}".strip(), 10, right=True))
    rows: list[TableRow | Note] = []
    for one in used:
        found = by_product.get(one.product)
        cells = [
            one.name,
            amount_text(one.amount, one.unit),
            "" if one.mix == "ready" else one.mix,
            _from_pack(found),
            *([_lots(found)] if lots else []),
            _stages(one),
            *([] if whole is None else [_cost(found)]),
        ]
        rows.append(TableRow(tuple(cells)))
        rows += _more(one, found, zone)
    if whole is not None:
        blank = [""] * (len(columns) - 2)
        rows.append(TableRow(("all together", *blank, str(whole)), bold=True))
        without = [one.name for one in consumed if one.cost is None]
        if without:
            rows.append(Note(f"without {', '.join(without)}: no price is noted"))
    if not lots:
        rows.append(Note("no lot was noted"))
    medium.heading("Products", "as applied; from the pack by the mix")
    medium.groups(columns, [Group("", "", tuple(rows))])


def _from_pack(one: Consumed | None) -> str:
    if one is None or one.amount is None or one.mix in ("", "ready") or one.unit == "each":
        return ""
    return amount_words(one.amount, one.stock_unit)


def _lots(one: Consumed | None) -> str:
    if one is None:
        return "not noted"
    if one.changed_lot:
        return f"{len(one.lots)} lots"
    return one.lots[0].lot or "not noted" if one.lots else "not noted"


def _cost(one: Consumed | None) -> str:
    return "-" if one is None or one.cost is None else str(rounded(one.cost))


def _stages(one: Used) -> str:
    """Where it went; with its amounts where it went to several stages, or some was put right."""
    if len(one.stages) == 1 and not one.mended:
        return one.stages[0].stage
    return ", ".join(f"{part.stage} {amount_text(part.amount, one.unit)}" for part in one.stages)


def _more(one: Used, found: Consumed | None, zone: str) -> Iterable[Note]:
    """What was put right, and of several lots which went where."""
    for mended in one.mended:
        sign = "+" if mended.by > 0 else ""
        why = f": {mended.why}" if mended.why else ""
        by = f"{sign}{amount_text(mended.by, one.unit)}"
        yield Note(f"{one.name}: put right {spoken(mended.at_us, zone)}, {by}{why}")
    for lot in () if found is None else found.lots:
        if found is not None and found.changed_lot:
            stages = dict.fromkeys(stage for stage, _section in lot.sections)
            where = "; ".join(
                f"{stage}: {', '.join(name for of, name in lot.sections if of == stage)}"
                for stage in stages
            )
            amount = amount_words(lot.applied, one.unit)
            yield Note(f"{_lot(lot)}, {amount}{f' on {where}' if where else ''}")
        elif lot.expires:
            yield Note(f"{one.name}: {_lot(lot)}")


def _lot(lot: LotUse) -> str:
    name = f"lot {lot.lot}" if lot.lot else "lot not noted"
    return f"{name}, last day {last_day_text(lot.expires)}" if lot.expires else name


def data_sheet(plan: Plan, product: Product, currency: str = "") -> tuple[str, ...]:
    """What the plan holds of a product's label and data sheet, one thing a line.

    It is what the worker copied; the sheet of the pack in hand comes first. currency: stands
    behind its price.
    """
    found = ["Copied by whoever wrote the plan; the sheet of the pack comes first."]
    found += [f"hazard: {one}" for one in product.hazards] or ["hazards: none copied"]
    if family := family_name(product):
        found.append(f"family: {family}")
    found.append(f"mix: {_mix(product.mix)}")
    if product.pack is not None:
        price = "" if product.price is None else f", {in_currency(product.price, currency)}"
        found.append(f"full pack: {amount_text(product.pack, product.unit)}{price}")
    if product.unit == "drops":
        given = "by the bottle" if product.drops_per_ml else "as water, not calibrated"
        found.append(f"drops: {mix.decimal_text(per_ml(product))} in 1 ml, {given}")
    found += _limits(product)
    if product.dry_s is not None:
        found.append(f"must not get wet for {clock_text(product.dry_s)}")
    if product.if_wet:
        found.append(f"if it got wet: {product.if_wet}")
    return (*found, *_labels(plan, product.id))


def _limits(product: Product) -> list[str]:
    limits = product.limits
    if limits is None:
        return []
    said = []
    for what, low, high, unit in (
        ("panel", limits.panel_low_c, limits.panel_high_c, "C"),
        ("air", limits.air_low_c, limits.air_high_c, "C"),
        ("humidity", limits.rh_low, limits.rh_high, "%"),
    ):
        if low is not None or high is not None:
            ends = [f"from {low:g} {unit}" if low is not None else ""]
            ends.append(f"to {high:g} {unit}" if high is not None else "")
            said.append(f"{what} {' '.join(end for end in ends if end)}")
    return [f"by the label: {', '.join(said)}"] if said else []


def _mix(text: str) -> str:
    try:
        ratio = mix.ratio(text)
    except ValueError:
        return text
    words = mix.words(ratio)
    said = words if text == "ready" else f"{text}, {words}"
    advice = mix.pouring_order(ratio)
    return f"{said}. {advice}" if advice else said


def _labels(plan: Plan, product_id: str) -> list[str]:
    """The waits behind the steps that use it, with the printed ranges they come from."""
    found = []
    for stage in plan.stages:
        for step, wait in zip(stage.steps, stage.steps[1:], strict=False):
            if not isinstance(step, Work) or not isinstance(wait, Wait):
                continue
            if product_id not in [use.product for use in step.uses]:
                continue
            example = "; example, replace from the pack" if wait.example else ""
            found.append(
                f"{wait.say} ({stage.name}): opens {clock_text(wait.opens_s)}, due "
                f"{clock_text(wait.due_s)}, closes {clock_text(wait.closes_s)}{example}"
            )
            for row in wait.label:
                at = [] if row.air_c is None else [f"{row.air_c:g} C"]
                at += [] if row.rh is None else [f"{row.rh:g} % RH"]
                where = f"at {', '.join(at)}" if at else "no climate printed"
                found.append(f"label, {where}: {clock_text(row.low_s)} to {clock_text(row.high_s)}")
    return found
