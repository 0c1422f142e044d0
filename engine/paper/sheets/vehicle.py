"""The vehicle on a page: how it arrived, what was agreed, what its paint measured."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from engine.job.dates import spoken
from engine.job.paint import build_words, gloss_text
from engine.job.record import Record
from engine.job.vehicle import Build, Gloss, PanelPaint, VehicleRecord, price_of
from engine.paper.page.text import Page

_WIDTHS = (-26, -18, -18, -18)
_UNDER = (-24, -18, -18, -18)
_LEGEND = (
    "Micrometres of total build, lowest to highest reading: a gauge tells all layers together "
    "and none of them alone. A factory build is about 100 to 180, under 80 to 100 it is thin, "
    "over 200 mostly a respray (common practice, no source). The scatter of the gauge is in "
    "every change."
)
_SPOTS = "A spot is the mean of three readings within 4 cm (SSPC-PA 2)."
_GLOSS = "Gloss in gloss units (GU) at 60 degrees, over 70 GU at 20 degrees (ISO 2813)."


def put_vehicle(page: Page, record: Record) -> None:
    """The chapters of the vehicle; nothing of what nobody noted."""
    known = record.condition
    if known.odometers or known.damages or known.extras:
        page.chapter("Vehicle on arrival")
        _put_odometer(page, known, record.zone)
        _put_damage(page, known, record.zone)
        _put_extras(page, known, record)
    if known.paints or known.trials:
        page.chapter("Paint readings")
        put_paints(page, known.paints)
        _put_trials(page, known, record.zone)


def _put_odometer(page: Page, known: VehicleRecord, zone: str) -> None:
    for look in known.odometers:
        warning = f". {look.warning}" if look.warning else ""
        page.field("Odometer", f"{look.reading} {look.unit}, {spoken(look.at_us, zone)}{warning}")


def _put_damage(page: Page, known: VehicleRecord, zone: str) -> None:
    if not known.damages:
        page.field("Damage", "none was noted")
        return
    for index, one in enumerate(known.damages):
        repeated = index > 0 and known.damages[index - 1].panel == one.panel
        note = f": {one.note}" if one.note else ""
        said = f"{one.what}, {spoken(one.at_us, zone)}{note}"
        texts = ("" if index else "Damage", "" if repeated else one.panel, said)
        page.columns(texts, (-14, -24, -42))


def _put_extras(page: Page, known: VehicleRecord, record: Record) -> None:
    if not known.extras:
        return
    for index, extra in enumerate(known.extras):
        price = "" if extra.price is None else money_text(extra.price)
        page.columns(("" if index else "Agreed", extra.text, price), (-14, -52, 14))
    priced = [extra for extra in known.extras if extra.price is not None]
    if len(priced) > 1:
        page.columns(("", "extras together", money_text(known.extras_total)), (-14, -52, 14))
    whole = price_of(record.price or None)
    if priced and whole is not None:
        total = money_text(whole + known.extras_total)
        page.columns(("", "with the price agreed before", total), (-14, -52, 14))


def money_text(amount: Decimal) -> str:
    """Money with two decimals, with more only if it was written so."""
    return f"{amount:.2f}" if amount == round(amount, 2) else f"{amount}"


def put_paints(page: Page, paints: Iterable[PanelPaint]) -> None:
    """Readings by panel before and after the work, with what a gauge can tell; or nothing."""
    paints = tuple(paints)
    if not paints:
        return
    page.heads(("", "before", "after", "change"), _WIDTHS)
    for one in paints:
        if one.before is not None or one.after is not None:
            page.columns((one.panel, *_builds(one)), _WIDTHS)
        else:
            page.columns((one.panel, "", "", ""), _WIDTHS)
        _put_spots(page, one)
        if one.gloss_before is not None or one.gloss_after is not None:
            texts = (_gloss(one.gloss_before), _gloss(one.gloss_after), _change_gu(one.change_gu))
            page.columns(("gloss", *texts), _UNDER, 2)
        for when, build in (("before", one.before), ("after", one.after)):
            words = "" if build is None else build_words(build.low_um, build.high_um)
            if words:
                page.line(f"{when}: {words}", 2, 2)
    page.line()
    page.line(_LEGEND)
    if any(build.spots for one in paints for build in (one.before, one.after) if build):
        page.line(_SPOTS)
    if any(one.gloss_before or one.gloss_after for one in paints):
        page.line(_GLOSS)


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


def _put_spots(page: Page, one: PanelPaint) -> None:
    before, after = (build.spots if build else () for build in (one.before, one.after))
    if before or after:
        texts = (", ".join(f"{um:g}" for um in spots) or "-" for spots in (before, after))
        page.columns(("spots", *texts, ""), _UNDER, 2)


def _gloss(gloss: Gloss | None) -> str:
    return "-" if gloss is None else gloss_text(gloss.gu, gloss.angle)


def _change_gu(change: float | None) -> str:
    return "" if change is None else f"{change:+g} GU" if change else "0 GU"


def _put_trials(page: Page, known: VehicleRecord, zone: str) -> None:
    if known.trials and known.paints:
        page.line()
    for trial in known.trials:
        verdict = "accepted" if trial.accepted else "not accepted"
        said = f"{trial.stage}, {trial.section}: {trial.set_up}: {verdict}"
        page.line(f"{said}, {spoken(trial.at_us, zone)}", hang=2)
