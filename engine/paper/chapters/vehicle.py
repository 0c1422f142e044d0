"""The vehicle on a page: how it arrived, what was agreed, what its paint measured."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from cartclock.engine.dates import spoken
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.page.table import Column, Note, TableRow
from cartclock.engine.plan.amounts import in_currency
from cartclock.engine.record.record import Record
from cartclock.engine.vehicle.paint import build_words, gloss_text
from cartclock.engine.vehicle.vehicle import Build, Gloss, PanelPaint, VehicleRecord, price_of

_PAINTS = (Column("", 25), Column("before", 17), Column("after", 17), Column("change", 17))
_DAMAGE = (Column("", 13), Column("", 23), Column())
_EXTRAS = (Column("", 13), Column(), Column("", 14, right=True))
_LEGEND = (
    "Micrometres of total build, lowest to highest reading: a gauge tells all layers together "
    "and none of them alone. A factory build is about 100 to 180, under 80 to 100 it is thin, "
    "over 200 mostly a respray (common practice, no source). The scatter of the gauge is in "
    "every change."
)
_SPOTS = "A spot is the mean of three readings within 4 cm (SSPC-PA 2)."
_GLOSS = "Gloss in gloss units (GU) at 60 degrees, over 70 GU at 20 degrees (ISO 2813)."


def put_vehicle(medium: Medium, record: Record, currency: str = "") -> None:
    """The chapters of the vehicle; nothing of what nobody noted."""
    known = record.condition
    if known.odometers or known.damages or known.extras:
        medium.heading("Vehicle on arrival")
        _put_odometer(medium, known, record.zone)
        _put_damage(medium, known, record.zone)
        _put_extras(medium, known, record, currency)
    if known.paints or known.trials:
        medium.heading("Paint readings")
        put_paints(medium, known.paints)
        _put_trials(medium, known, record.zone)


def _put_odometer(medium: Medium, known: VehicleRecord, zone: str) -> None:
    for look in known.odometers:
        warning = f". {look.warning}" if look.warning else ""
        medium.facts(
            [("Odometer", f"{look.reading} {look.unit}, {spoken(look.at_us, zone)}{warning}")]
        )


def _put_damage(medium: Medium, known: VehicleRecord, zone: str) -> None:
    if not known.damages:
        medium.facts([("Damage", "none was noted")])
        return
    rows: list[TableRow] = []
    for index, one in enumerate(known.damages):
        repeated = index > 0 and known.damages[index - 1].panel == one.panel
        note = f": {one.note}" if one.note else ""
        said = f"{one.what}, {spoken(one.at_us, zone)}{note}"
        rows.append(TableRow(("" if index else "Damage", "" if repeated else one.panel, said)))
    medium.table(_DAMAGE, rows)


def _put_extras(medium: Medium, known: VehicleRecord, record: Record, currency: str) -> None:
    if not known.extras:
        return
    rows: list[TableRow] = []
    for index, extra in enumerate(known.extras):
        price = "" if extra.price is None else money_text(extra.price, currency)
        rows.append(TableRow(("" if index else "Agreed", extra.text, price)))
    priced = [extra for extra in known.extras if extra.price is not None]
    if len(priced) > 1:
        rows.append(TableRow(("", "extras together", money_text(known.extras_total, currency))))
    whole = price_of(record.price or None)
    if priced and whole is not None:
        total = money_text(whole + known.extras_total, currency)
        rows.append(TableRow(("", "with the price agreed before", total)))
    medium.table(_EXTRAS, rows)


def money_text(amount: Decimal, currency: str) -> str:
    """Money with two decimals, with more only if it was written so, and the currency behind it."""
    said = f"{amount:.2f}" if amount == round(amount, 2) else f"{amount}"
    return in_currency(said, currency)


def price_text(written: str, currency: str) -> str:
    """A price as it was written; a number as money."""
    amount = price_of(written or None)
    return written if amount is None else money_text(amount, currency)


def put_paints(medium: Medium, paints: Iterable[PanelPaint]) -> None:
    """Readings by panel before and after the work, with what a gauge can tell; or nothing."""
    paints = tuple(paints)
    if not paints:
        return
    rows: list[TableRow | Note] = []
    for one in paints:
        if one.before is not None or one.after is not None:
            rows.append(TableRow((one.panel, *_builds(one))))
        else:
            rows.append(TableRow((one.panel, "", "", "")))
        rows += _spots(one)
        if one.gloss_before is not None or one.gloss_after is not None:
            texts = (_gloss(one.gloss_before), _gloss(one.gloss_after), _change_gu(one.change_gu))
            rows.append(TableRow(("gloss", *texts), 1))
        for when, build in (("before", one.before), ("after", one.after)):
            words = "" if build is None else build_words(build.low_um, build.high_um)
            if words:
                rows.append(Note(f"{when}: {words}", 1, True))
    medium.table(_PAINTS, rows)
    medium.gap()
    medium.words(_LEGEND)
    if any(build.spots for one in paints for build in (one.before, one.after) if build):
        medium.words(_SPOTS)
    if any(one.gloss_before or one.gloss_after for one in paints):
        medium.words(_GLOSS)


def _builds(one: PanelPaint) -> tuple[str, str, str]:
    change = one.change_um
    if change is None:
        said = ""
    else:
        said = " to ".join(dict.fromkeys(f"{um:+g}" if um else "0" for um in change))
    return _build(one.before), _build(one.after), said


def _build(build: Build | None) -> str:
    if build is None:
        return "-"
    ends = [f"{um:g}" for um in (build.low_um, build.high_um) if um is not None]
    return " to ".join(dict.fromkeys(ends)) or "not measurable"


def _spots(one: PanelPaint) -> list[TableRow]:
    before, after = (build.spots if build else () for build in (one.before, one.after))
    if not before and not after:
        return []
    texts = (", ".join(f"{um:g}" for um in spots) or "-" for spots in (before, after))
    return [TableRow(("spots", *texts, ""), 1)]


def _gloss(gloss: Gloss | None) -> str:
    return "-" if gloss is None else gloss_text(gloss.gu, gloss.angle)


def _change_gu(change: float | None) -> str:
    return "" if change is None else f"{change:+g} GU" if change else "0 GU"


def _put_trials(medium: Medium, known: VehicleRecord, zone: str) -> None:
    if known.trials and known.paints:
        medium.gap()
    for trial in known.trials:
        verdict = "accepted" if trial.accepted else "not accepted"
        said = f"{trial.stage}, {trial.section}: {trial.set_up}: {verdict}"
        medium.words(f"{said}, {spoken(trial.at_us, zone)}", hangs=True)
