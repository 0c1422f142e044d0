"""The lists about products: a pack opened or weighed, an amount put right, the data sheet."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.words import amount_text, place_text
from cartclock.engine.figures.mix import decimal_text
from cartclock.engine.letters import cells, cropped, inert, padded, wrapped
from cartclock.engine.plan.amounts import exact
from cartclock.engine.plan.plan import Plan, Product
from cartclock.engine.products.consumption import rounded
from cartclock.engine.products.item import Item
from cartclock.engine.products.worn import all_worn
from cartclock.engine.rules import choices, packs, rules, typed
from cartclock.engine.trouble import Refused
from cartclock.tui.lists.fresh import fresh_lines
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.titles import of_job
from cartclock.tui.told.in_view import in_hand, job_in_view
from cartclock.tui.widgets.sheet import Do, Line
from cartclock.tui.widgets.values import Number

FORM = "space: write it   esc: nothing"
LABEL = 18
# What an amount with its unit, and the mark of the chosen line, take beside a name.
AMOUNT = 20


class Typed:
    """A text of digits, points and minus signs, typed on its line and kept as it was typed."""

    def __init__(self, name: str, unit: str = "", text: str = "", empty: str = "not noted") -> None:
        self.name, self.unit, self.written, self.empty = name, unit, text, empty
        self._fresh = True

    def text(self) -> str:
        shown = f"{self.written} {self.unit}".rstrip() if self.written else self.empty
        return f"{self.name:<{LABEL}} {shown}"

    def type(self, character: str) -> None:
        """Takes one more character; the first one begins anew, "" wipes."""
        kept = "" if self._fresh or not character else self.written
        self.written, self._fresh = (kept + character)[:20], False

    @property
    def number(self) -> float:
        """The text as a number; refuses one that is none."""
        return typed.number(self.name, self.written)


class PackForm:
    """A new pack, as it is being typed; it begins as the pack before, else as the plan's."""

    def __init__(self, product: Product | None, item: Item) -> None:
        before = item.pack
        unit: str = item.unit or "ml"
        content, price = "", ""
        if before is not None:
            content = _decimal(before.content)
            price = "" if before.rate is None else f"{rounded(before.rate * before.content)}"
        elif product is not None and product.pack is not None:
            unit, content = product.unit, _decimal(exact(product.pack))
            price = product.price or ""
        self.product, self.called = item.product, item.called
        self.unit = unit
        self.content = Typed("it holds", unit, content)
        self.price = Typed("price of the pack", "", price)
        self.expires = Typed("last day of use", empty="YYYY-MM-DD")
        self.lot = ""
        self.name = "" if before is None else before.name

    def lot_text(self) -> str:
        return f"{'lot':<{LABEL}} {self.lot or 'not noted'}"

    def name_text(self) -> str:
        return f"{'name on the bottle':<{LABEL}} {self.name or self.called}"

    @property
    def opened(self) -> ev.PackOpened:
        """The event; refuses a content that is no number."""
        return ev.PackOpened(
            product=self.product,
            content=self.content.number,
            unit=self.unit,
            lot=self.lot,
            expires=self.expires.written,
            price=self.price.written or None,
            name=self.name,
        )


def _decimal(value: Fraction) -> str:
    return decimal_text(value, 3)


def open_pack(
    host: Host, product: Product | None, item: Item, form: PackForm | None = None
) -> None:
    """A new pack: content, price, lot, last day, name; written with one press."""
    _pack_form(host, PackForm(product, item) if form is None else form, f"New pack: {item.called}")


def _pack_form(host: Host, form: PackForm, title: str) -> None:
    def again(said: str = "") -> None:
        _pack_form(host, form, said or f"New pack: {form.called}")

    def write() -> None:
        try:
            host.cart.write(packs.open_pack, form.opened)
        except Refused as why:
            # What was typed stays, to be mended.
            again(str(why))

    def lot(text: str) -> None:
        form.lot = text
        again()

    def name(text: str) -> None:
        form.name = text
        again()

    def asked(title: str, taken: Callable[[str], None], before: str) -> Do:
        return lambda: host.sheet.open_text(title, taken, before, proposed=True)

    lines = [
        Line("write it: in use from now on", write, hot="w"),
        Line(form.content.text, type=form.content.type),
        Line(form.lot_text, asked("Lot", lot, form.lot), hot="l"),
        Line(form.expires.text, type=form.expires.type),
        Line(form.price.text, type=form.price.type),
        Line(form.name_text, asked("Name", name, form.name), hot="n"),
    ]
    host.sheet.open(title, lines, FORM, done=write)


def weigh(host: Host, item: Item, unit: str, text: str = "", title: str = "") -> None:
    """What is left of it, all packs together."""
    left = Typed("left", unit, text)

    def write() -> None:
        try:
            host.cart.write(packs.weigh, ev.PackWeighed(item.product, left.number))
        except Refused as why:
            weigh(host, item, unit, left.written, str(why))

    said = title or f"{item.called}: what is left of all its packs, without the bottle"
    host.sheet.open(said, [Line(left.text, type=left.type)], FORM, done=write)


def mend(host: Host, job: Job, product_id: str) -> None:
    """What this job really used of it, as applied."""
    product = choices.product_of(job, product_id)
    before = round(job.used.get(product_id, 0.0), 3)
    step = 1.0 if product.unit in ("drops", "each") or before < 50 else 10.0
    number = Number("really used", product.unit, before, step)

    def write() -> None:
        value = before if number.value is None else number.value
        host.cart.write(packs.mend_use, job.id, {product_id: round(value - before, 3)})

    mixed = "" if product.mix == "ready" else ", of the mix as applied"
    lines = [Line(number.text, turn=number.turn, type=number.type)]
    title = of_job(host, job, f"{product.name}{mixed}")
    host.sheet.open(title, lines, FORM, done=write)


def read_sheet(host: Host, plan: Plan, product: Product) -> None:
    """What the plan holds of its label and data sheet, to be read."""
    from cartclock.engine.paper.chapters.products import data_sheet

    width = max(20, host.columns - 6)
    lines = [
        Line(part if index == 0 else f"  {part}")
        for text in data_sheet(plan, product, host.cart.settings.currency)
        for index, part in enumerate(wrapped(inert(text), width))
    ]
    host.sheet.open(product.name, lines, "space or esc: back", done=lambda: None)


def last_use(host: Host, job: Job) -> tuple[str, dict[str, Do]]:
    """What was booked last, and letters that put it right; ("", {}) once it was put right."""
    booked = [r for r in job.facts if isinstance(r.event, ev.ProductUsed | ev.UseCorrected)]
    event = booked[-1].event if booked else None
    if not isinstance(event, ev.ProductUsed) or not any(event.amounts.values()):
        return "", {}
    said = f"{len(event.amounts)} products"
    if len(event.amounts) == 1:
        ((product_id, amount),) = event.amounts.items()
        product = job.opened.plan.product(product_id)
        name, unit = (product_id, "") if product is None else (product.name, product.unit)
        said = f"{amount_text(amount, unit)} {name}"
    where = place_text(job, event.stage, event.sections)

    def by(share: float) -> Do:
        off = {product: amount * share for product, amount in event.amounts.items()}
        return lambda: host.cart.write(packs.mend_use, job.id, off)

    title = f". The last {said}, {where}, were really: N none, H half, T twice"
    return title, {"n": by(-1.0), "h": by(-0.5), "t": by(1.0)}


def _stage_at_hand(host: Host) -> str:
    """The stage of what is in hand, or of what would be taken up; "" without either."""
    hands = in_hand(host.cart.bench)
    move = host.cart.workplace.chosen
    return hands.stage if hands is not None else "" if move is None else move.stage


def open_amounts(host: Host) -> None:
    """What was used so far; left and right correct it."""
    now = host.cart.workplace.moment
    job = choices.some(
        job_in_view(host.cart.bench, host.cart.workplace.chosen), choices.NO_PRODUCTS
    )
    wears = () if now.me.on is None else all_worn(job, now.me.on)
    # What the stage at hand wears comes first, and has the letters.
    wears = tuple(sorted(wears, key=lambda one: one.stage != _stage_at_hand(host)))
    planned = job.opened.plan.products if wears else choices.products_of(job)
    used = job.used
    numbers: list[tuple[str, Number, float]] = []
    lines = []
    # As much of the names as leaves room for an amount beside them.
    room = max(LABEL, host.columns - AMOUNT)
    width = min(room, max((cells(inert(product.name)) for product in planned), default=0))
    for product in sorted(planned, key=lambda p: -used.get(p.id, 0.0)):
        before = round(used.get(product.id, 0.0), 1)
        step = 1.0 if product.unit in ("drops", "each") or before < 50 else 10.0
        name = padded(cropped(inert(product.name), width), width)
        number = Number(name, product.unit, before, step)
        numbers.append((product.id, number, before))
        lines.append(Line(number.text, turn=number.turn, type=number.type))

    # Behind the amounts, on which the list opens.
    lines += fresh_lines(host.cart.write, job.id, wears)

    def write() -> None:
        for product_id, number, before in numbers:
            by = (number.value if number.value is not None else before) - before
            if abs(by) > 1e-9:
                event = ev.UseCorrected(product_id, round(by, 3))
                host.cart.write(rules.note_job, job.id, event)

    last, letters = last_use(host, job)
    hint = "left, right, 0-9: really used   space: write it   esc: nothing"
    title = of_job(host, job, f"used so far{last}")
    host.sheet.open(title, lines, hint, done=write, letters=letters)
