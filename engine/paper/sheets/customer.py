"""The customer's paper: one page for the glove box, its dates first."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.after.aftercare import Care
from cartclock.engine.after.dates import date_of
from cartclock.engine.after.dues import Due
from cartclock.engine.dates import spoken_day
from cartclock.engine.paper.chapters.parts import not_told_texts
from cartclock.engine.paper.chapters.vehicle import money_text, put_paints
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.keep import (
    dates_to_keep,
    first_days,
    remedies,
    visit_day,
    visit_name,
    when_text,
    with_examples,
)
from cartclock.engine.paper.page.medium import Medium, SheetHead
from cartclock.engine.paper.page.table import Column, Group, TableRow
from cartclock.engine.paper.page.view import VehicleView
from cartclock.engine.paper.sheet import Sheet
from cartclock.engine.paper.shop_head import ShopHead
from cartclock.engine.plan.shapes import panel_order
from cartclock.engine.record.customer import (
    CustomerSheet,
    FilmLaid,
    PhotosKept,
    Statement,
    Visit,
    customer_sheet,
    due_text,
    handed_over_text,
)
from cartclock.engine.record.revision import Revision, revision_text
from cartclock.engine.record.whole_vehicle import joined_sheet
from cartclock.engine.vehicle.plan_view import Driver

EXAMPLES = "(example): from no label. The shop replaces these dates before handing this over."
_SIGNS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_SIGNED = (Column("", 4), Column())
_MIND = (Column("", 30), Column())
# Tones of a drawing for one layer and for more; they tell nothing that the sign does not.
_ONE_LAYER, _MORE_LAYERS = 0.35, 0.8
_DRAWING = 0.47


def put_customer_sheet(medium: Medium, facts: PaperFacts) -> None:
    """The customer's paper of the job as it stands."""
    put_customer(medium, customer_sheet(facts.of_job), facts)


def put_together(medium: Medium, facts: PaperFacts) -> None:
    """The customer's paper of a vehicle with all its parts."""
    whole = facts.of_vehicle
    put_customer(medium, joined_sheet(whole), facts, alerts=not_told_texts(whole))


def put_brief_together(medium: Medium, facts: PaperFacts) -> None:
    """The same with the damages named by place alone."""
    whole = facts.of_vehicle
    put_customer(medium, joined_sheet(whole), facts, True, not_told_texts(whole))


def put_brief_sheet(medium: Medium, facts: PaperFacts) -> None:
    """The same with the damages named by place alone."""
    put_customer(medium, customer_sheet(facts.of_job), facts, brief=True)


def put_annex(medium: Medium, facts: PaperFacts) -> None:
    """Paint readings, on a page of their own; nothing where none were taken before and after."""
    put_annex_of(medium, customer_sheet(facts.of_job))


def put_annex_of(medium: Medium, sheet: CustomerSheet) -> None:
    """The same of a sheet in hand."""
    if sheet.paints:
        medium.turn()
        medium.heading("Paint readings before and after")
        put_paints(medium, sheet.paints)


CUSTOMER = Sheet(
    "For the customer",
    put_customer_sheet,
    pages=1,
    body_pt=9.8,
    floor_pt=8.6,
    least_pt=8.0,
    briefs=(put_brief_sheet,),
    annex=put_annex,
)


TOGETHER = Sheet(
    "For the customer, all parts",
    put_together,
    pages=1,
    body_pt=9.8,
    floor_pt=8.6,
    least_pt=8.0,
    briefs=(put_brief_together,),
)


def put_customer(
    medium: Medium,
    sheet: CustomerSheet,
    facts: PaperFacts,
    brief: bool = False,
    alerts: Sequence[str] = (),
) -> None:
    """All of the sheet.

    brief: damages are named by their place alone, and the arrival sheet is pointed at.
    alerts: sentences that are to be read before everything else.
    """
    shop, zone = facts.shop, sheet.zone
    medium.head(SheetHead(f"job {sheet.number}", sheet.now_us, zone, shop))
    price = _price(sheet, facts)
    said = f"Price agreed {price}" if price else ""
    medium.lead(sheet.vehicle, sheet.plate, _lead_lines(sheet), said)
    for sentence in alerts:
        medium.alert(sentence)
    dates = dates_to_keep(sheet, facts.unit)
    if with_examples(dates) or any(care.example for care in sheet.cares):
        medium.alert(EXAMPLES)
    if sheet.warning and date_of(sheet.dates, "wet") is None:
        medium.alert(sheet.warning)
    if dates:
        medium.dates(dates)
    days = first_days(sheet)
    if days is not None:
        medium.heading("The first days", "bar: not yet; line: allowed")
        medium.strips(*days)
    shape = _view(sheet, facts.driver)
    if sheet.laid and shape is not None:

        def left(side: Medium) -> None:
            side.heading("Where it is")
            side.view(shape)
            for said in _not_drawn(sheet):
                side.words(said, 1, True)

        medium.beside(left, lambda side: _put_sides(side, sheet, shop, brief), _DRAWING)
    else:
        _put_sides(medium, sheet, shop, brief)
    _put_others(medium, sheet, shop)
    _put_visits(medium, sheet)
    _put_source(medium, sheet, facts.out)
    medium.sign(("Keys and this sheet received: customer, date", "For the shop, date"))


def _price(sheet: CustomerSheet, facts: PaperFacts) -> str:
    if not facts.price:
        return ""
    if sheet.price is None:
        return sheet.price_text
    return money_text(sheet.price, facts.currency)


def _lead_lines(sheet: CustomerSheet) -> list[str]:
    zone = sheet.zone
    who = ", ".join(part for part in (sheet.customer, sheet.plan) if part)
    if sheet.closed_us is not None:
        when = f"Handed over {handed_over_text(sheet)}"
    else:
        when = "Not handed over yet: the work is not closed, and this can still change"
        leave = date_of(sheet.dates, "leave")
        if leave is not None and leave.at_us is not None:
            when += f"; not before {when_text(leave.at_us, zone, sheet.now_us)}, {leave.why}"
    return [who, when]


# What is on it.


def _view(sheet: CustomerSheet, driver: Driver = "") -> VehicleView | None:
    """Where each film lies; None of a body that nobody told."""
    if not sheet.shape:
        return None
    marks: dict[str, str] = {}
    tones: dict[str, float] = {}
    places = {one.name: one.places for one in sheet.covers}
    for sign, film in zip(_SIGNS, sheet.laid, strict=False):
        for section, layers in film.sections:
            for place in places.get(section, ()):
                marks[place] = " ".join(
                    dict.fromkeys([*marks.get(place, "").split(), f"{sign}{layers}"])
                )
                tones[place] = _ONE_LAYER if layers == 1 else _MORE_LAYERS
    if not marks:
        return None
    damages = tuple(
        (place, str(number))
        for number, one in enumerate(sheet.damages, 1)
        for place in places.get(one.panel, ())
    )
    return VehicleView(sheet.shape, driver, marks=marks, tones=tones, damages=damages)


def _unplaced(sheet: CustomerSheet) -> set[str]:
    """The sections that something lies on and that are on no place, or not whole on them."""
    placed = {one.name for one in sheet.covers if not one.part}
    return {name for film in sheet.laid for name, _layers in film.sections if name not in placed}


def _not_drawn(sheet: CustomerSheet) -> list[str]:
    """What lies where no drawing shows it, by the names of the sections, a sentence a sign."""
    unplaced = _unplaced(sheet)
    found: dict[str, list[str]] = {}
    for sign, film in zip(_SIGNS, sheet.laid, strict=False):
        for name, layers in film.sections:
            if name in unplaced:
                found.setdefault(f"{sign}{layers}", []).append(name)
    return [f"{sign} also on {', '.join(names)}" for sign, names in found.items()]


def _put_sides(medium: Medium, sheet: CustomerSheet, shop: ShopHead, brief: bool) -> None:
    if sheet.laid:
        medium.heading("What is on it")
        groups = [
            Group(rows=tuple(_film_rows(sign, film, sheet)))
            for sign, film in zip(_SIGNS, sheet.laid, strict=False)
        ]
        medium.groups(_SIGNED, groups)
        bare = _bare(sheet)
        if bare:
            medium.words(f"Nothing on: {', '.join(bare)}.", small=True)
    said = remedies(sheet)
    if said:
        medium.heading("If it happens all the same")
        for sentence in said:
            medium.words(sentence)
        _put_not_sure(medium, shop)
    _put_damages(medium, sheet, brief)
    _put_told(medium, sheet)


def _put_not_sure(medium: Medium, shop: ShopHead) -> None:
    if shop.phone:
        medium.words(f"Not sure? {shop.phone}, before you do anything.")


def _film_rows(sign: str, film: FilmLaid, sheet: CustomerSheet) -> list[TableRow]:
    names = ", ".join(put.name for put in film.products) or film.stage
    said = "1 layer" if film.layers == 1 else f"{film.layers} layers"
    for count in sorted({layers for _section, layers in film.fewer}):
        where = ", ".join(section for section, layers in film.fewer if layers == count)
        said += f" ({count} layer{'s' * (count > 1)}: {where})"
    if _view(sheet) is None:
        said += f" on {', '.join(section for section, _layers in film.sections)}"
    said += f", {film.lots_text}" if film.lots_text else ""
    row = TableRow(("", f"{said}, {days_text(film.days)}"))
    return [TableRow((f"{sign}{film.layers}", names), bold=True), row]


def _bare(sheet: CustomerSheet) -> list[str]:
    """Where nothing was put on: of a known body its panels, else what the stages name.

    A section that is on no panel may lie on any of them, so then only what every stage that laid
    something has left under the same name is bare for certain.
    """
    names = {section for film in sheet.laid for section, _layers in film.sections}
    if _view(sheet) is not None and not _unplaced(sheet):
        on = {place for one in sheet.covers if one.name in names for place in one.places}
        return [panel for panel in panel_order(sheet.shape) if panel not in on]
    left: dict[str, dict[str, None]] = {film.stage: {} for film in sheet.laid}
    for care in sheet.cares:
        left.get(care.after, {}).update(dict.fromkeys(care.without))
    first, *others = left.values()
    return [name for name in first if name not in names and all(name in one for one in others)]


def days_text(days: Sequence[str]) -> str:
    """The first day, and the last if it is another."""
    ends = dict.fromkeys((*days[:1], *days[-1:]))
    return " to ".join(spoken_day(day) for day in ends)


def photos_text(photos: PhotosKept) -> str:
    """How many there are and from when: "2 photos of it, Thu 26 Nov 2026, kept in the shop"."""
    many = "1 photo" if photos.count == 1 else f"{photos.count} photos"
    return f"{many} of it, {days_text(photos.days)}, kept in the shop"


def _put_damages(medium: Medium, sheet: CustomerSheet, brief: bool) -> None:
    if not sheet.damages:
        return
    medium.heading("Seen on it")
    if brief:
        named = [f"({number}) {one.panel}" for number, one in enumerate(sheet.damages, 1)]
        medium.words(f"{', '.join(named)}. In full on the arrival sheet.", small=True)
    else:
        _put_each(medium, sheet)
    if sheet.photos.count:
        medium.words(f"{photos_text(sheet.photos)}.", small=True)


def _put_each(medium: Medium, sheet: CustomerSheet) -> None:
    for number, one in enumerate(sheet.damages, 1):
        note = f", {one.note}" if one.note else ""
        # When it was seen says that it was there before the work, or was not.
        seen = when_text(one.at_us, sheet.zone, sheet.now_us)
        medium.words(f"({number}) {one.panel}: {one.what}{note}; seen {seen}", 0, True, True)


# What else is told.


def _put_others(medium: Medium, sheet: CustomerSheet, shop: ShopHead) -> None:
    """What of the aftercare stands among no dates, each with what to do if it is not kept."""
    told = {said for date in sheet.dates for said in date.sayings()}
    others = [care for care in sheet.cares if care.say not in told and _still(care, sheet)]
    if others:
        medium.heading("To mind")
        rows = [TableRow((_whens(care, sheet.zone), " ".join(care_words(care)))) for care in others]
        medium.groups(_MIND, [Group(rows=tuple(rows))])
        if any(care.if_not for care in others) and not remedies(sheet):
            _put_not_sure(medium, shop)


def _still(care: Care, sheet: CustomerSheet) -> bool:
    """False of an end that is over when it leaves."""
    return not care.dues or any(
        due.kind != "until" or due.at_us is None or due.at_us > sheet.leaves_us for due in care.dues
    )


def _whens(care: Care, zone: str) -> str:
    if care.no_day:
        # Those visits that have a day stand under "When to come back".
        return "no open day"
    return "\n".join(when_of(due, zone) for due in care.dues) or "not known yet"


def when_of(due: Due, zone: str) -> str:
    """When something ends, begins or comes round: "until Sun 5 Apr 2026 18:17"."""
    when = due_text(due, zone)
    if due.kind == "every":
        return f"{when} ({due.nth} of {due.of})" if due.of > 1 else f"on {when}"
    return f"{due.kind} {when}"


def care_words(care: Care) -> list[str]:
    """What is to be done, a sentence each."""
    said = [f"{care.say} (example)" if care.example else care.say]
    if care.state != "dated":
        said.append(f"{care.why[:1].upper()}{care.why[1:]}.")
    if care.no_day:
        said.append(care.no_day)
    if care.if_not:
        said.append(f"If it happens all the same: {care.if_not}")
    return said


def _put_told(medium: Medium, sheet: CustomerSheet) -> None:
    for name, told in (("Agreed or declined", sheet.agreed), ("Notes", sheet.notes)):
        if told:
            medium.heading(name)
            for one in told:
                medium.words(_told(one), 0, True, small=True)


def _told(one: Statement) -> str:
    return f"{one.where}: {one.text}" if one.where else one.text


def _put_visits(medium: Medium, sheet: CustomerSheet) -> None:
    if not sheet.visits:
        return
    says = list(dict.fromkeys(visit.say for visit in sheet.visits))
    medium.heading("When to come back", visit_name(says[0])[0] if len(says) == 1 else "")
    medium.blanks([visit_text(one, sheet.zone, len(says) > 1) for one in sheet.visits], 2)
    for one in sheet.visits:
        if one.moved_from:
            day = spoken_day(one.moved_from)
            said = f"{visit_day(one, sheet.zone)}: by the label {day}; the shop is closed then."
            medium.words(said, small=True)


def visit_text(visit: Visit, zone: str, named: bool) -> str:
    """The day of a visit, what for if it is `named`, which of several, and a line to sign."""
    said = visit_day(visit, zone)
    if named:
        said += f", {visit_name(visit.say)[0]}"
    which = [f"{visit.nth} of {visit.of}"] if visit.of > 1 else []
    which += ["example"] if visit.example else []
    return f"{said} ({', '.join(which)}), seen by" if which else f"{said}, seen by"


def _put_source(medium: Medium, sheet: CustomerSheet, revision: Revision | None) -> None:
    sources = dict.fromkeys(care.source for care in sheet.cares if care.source)
    said = ""
    if sources:
        said = f"Dates by: {', '.join(sources)}. "
    if sheet.laid:
        said += (
            "This sheet says what was laid and when, and what the label asks; it does not say "
            "how long it lasts. The label comes first."
        )
    if said:
        medium.words(said, small=True)
    if revision is not None:
        medium.words(revision_text(revision, sheet.zone), small=True)
