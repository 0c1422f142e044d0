"""Products on paper: what was used, from which lot, at what cost; and a data sheet in lines."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.dates import clock_text, spoken
from cartclock.engine.facts.words import amount_text
from cartclock.engine.figures import mix
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.page.table import Column, Note, TableRow
from cartclock.engine.plan.amounts import in_currency, per_ml
from cartclock.engine.plan.plan import Plan, Product, Wait, Work
from cartclock.engine.products.chemistry import family_name
from cartclock.engine.products.consumption import Consumed, LotUse, rounded, total
from cartclock.engine.products.supply import amount_words, last_day_text
from cartclock.engine.record.applied import Used

_COLUMNS = (Column("", 39), Column("", 14, right=True), Column())


def put_products(
    medium: Medium,
    used: Sequence[Used],
    consumed: Sequence[Consumed],
    zone: str,
    currency: str = "",
    cost: bool = True,
) -> None:
    """The chapter of the products used; nothing if none was.

    consumed: the same products by lot and cost; may be empty. currency: stands behind money.
    cost: False for a paper on which no cost may stand.
    """
    if not used:
        return
    by_product = {one.product: one for one in consumed}
    rows: list[TableRow | Note] = []
    for one in used:
        said = one.mix if one.mix not in ("", "ready") else ""
        amount = amount_text(one.amount, one.unit)
        rows.append(_row(one.name, amount, said and f"mix {said}", 1))
        rows += [_row(part.stage, amount_text(part.amount, one.unit)) for part in one.stages]
        for mended in one.mended:
            sign = "+" if mended.by > 0 else ""
            amount = sign + amount_text(mended.by, one.unit)
            rows.append(_row(f"put right {spoken(mended.at_us, zone)}", amount, mended.why))
        found = by_product.get(one.product)
        if found is not None:
            rows += _consumed(found, currency if cost else None)
    if cost:
        rows += _total(consumed, currency)
    medium.heading("Products used", "as applied")
    medium.table(_COLUMNS, rows)


def _row(label: str, amount: str, more: str = "", level: int = 2) -> TableRow:
    return TableRow((label, amount, more), level)


def _consumed(one: Consumed, currency: str | None) -> list[TableRow | Note]:
    rows: list[TableRow | Note] = []
    if one.amount is not None and one.mix not in ("", "ready") and one.unit != "each":
        rows.append(_row("from the pack", amount_words(one.amount, one.stock_unit)))
    for lot in one.lots if one.changed_lot else ():
        rows.append(_row(_lot(lot), amount_words(lot.applied, one.unit)))
        for stage in dict.fromkeys(stage for stage, _section in lot.sections):
            names = [section for other, section in lot.sections if other == stage]
            rows.append(Note(f"{stage}: {', '.join(names)}", 3, True))
    if not one.changed_lot and one.lots[0].lot:
        rows.append(Note(_lot(one.lots[0]), 2, True))
    if one.cost is not None and currency is not None:
        rows.append(_row("cost", in_currency(rounded(one.cost), currency)))
    return rows


def _lot(lot: LotUse) -> str:
    name = f"lot {lot.lot}" if lot.lot else "lot not noted"
    return f"{name}, last day {last_day_text(lot.expires)}" if lot.expires else name


def _total(consumed: Sequence[Consumed], currency: str) -> list[TableRow | Note]:
    whole = total(consumed)
    if whole is None:
        return []
    rows: list[TableRow | Note] = [_row("Cost of products", in_currency(whole, currency), "", 1)]
    without = [one.name for one in consumed if one.cost is None]
    if without:
        rows.append(Note(f"without {', '.join(without)}: no price is noted", 2, True))
    return rows


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
