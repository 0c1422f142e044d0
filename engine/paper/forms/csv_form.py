"""Two tables for a spreadsheet: where the time went piece by piece, and what was used.

Lines end with CR LF and cells are quoted where needed (RFC 4180). A spreadsheet takes a cell
that begins with certain signs for a formula; text that does gets an apostrophe before it, and
numbers of this program are written as numbers.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction

from cartclock.engine.dates import local
from cartclock.engine.hours.account import Account
from cartclock.engine.letters import inert
from cartclock.engine.paper.said import apportioned
from cartclock.engine.products.consumption import Consumed, rounded
from cartclock.engine.record.record import Record

SEGMENTS = ("start", "end", "seconds", "kind", "what", "job", "stage", "section")
PRODUCT_COLUMNS = (
    "product",
    "lot",
    "amount",
    "unit",
    "from the pack",
    "pack unit",
    "cost",
    "currency",
)

# The signs of a formula, and their wide forms, which some programs read alike.
_FORMULA = frozenset("=+-@|＝＋－＠")

# Digits behind the point where no decimal number is exact.
_PLACES = 6


def text_cell(text: str) -> str:
    """A text as a cell: one line, steering nothing, never a formula."""
    said = inert(text).replace("\n", " ")
    begins = said.lstrip()[:1]
    return f"'{said}" if begins in _FORMULA or text[:1] in ("\t", "\r", "\n") else said


def _number(value: Fraction) -> str:
    """Exact if a decimal number of some places can be, else rounded to `_PLACES`."""
    scaled = value * 10**_PLACES
    return f"{Decimal(round(scaled)).scaleb(-_PLACES).normalize():f}"


def _written(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(heads)
    writer.writerows(rows)
    return out.getvalue()


def segments_csv(accounts: Iterable[Account], zone: str) -> str:
    """The pieces of shifts in order, whole: their seconds add up to all of them.

    accounts: of a record or of a day's shifts. Instants are ISO 8601 with the offset of
    `zone`, seconds are exact. Of another job than the record's only its number is told.
    """
    rows = []
    for account in accounts:
        numbers = {share.job: share.number for share in account.shares if share.job}
        for piece in account.pieces:
            rows.append(
                (
                    local(piece.start_us, zone).isoformat(),
                    local(piece.end_us, zone).isoformat(),
                    _number(Fraction(piece.length_us, 1_000_000)),
                    piece.kind,
                    piece.what,
                    str(numbers[piece.job]) if piece.job else "",
                    text_cell(piece.stage),
                    text_cell("; ".join(piece.sections)),
                )
            )
    return _written(SEGMENTS, rows)


def products_csv(record: Record, currency: str = "") -> str:
    """What was used, a line for each lot of each product; what is not known stays empty.

    The costs of a product's lots are rounded so that they add up to the record's cost of it.
    """
    consumed = {one.product: one for one in record.products}
    rows: list[tuple[str, ...]] = []
    for used in record.used:
        found = consumed.get(used.product)
        if found is None:
            amount = _number(Fraction(repr(used.amount)))
            rows.append(
                (text_cell(used.name), "", amount, used.unit, "", "", "", text_cell(currency))
            )
            continue
        costs = _costs(found)
        for lot, cost in zip(found.lots, costs, strict=True):
            rows.append(
                (
                    text_cell(found.name),
                    text_cell(lot.lot),
                    _number(lot.applied),
                    found.unit,
                    "" if lot.amount is None else _number(lot.amount),
                    found.stock_unit,
                    "" if cost is None else str(cost),
                    text_cell(currency),
                )
            )
    return _written(PRODUCT_COLUMNS, rows)


def _costs(one: Consumed) -> list[Decimal | None]:
    """The cost of each lot in hundredths that add up to the product's."""
    known = [lot.cost for lot in one.lots if lot.cost is not None]
    if one.cost is None or len(known) < len(one.lots):
        return [None if lot.cost is None else rounded(lot.cost) for lot in one.lots]
    # Parts of a hundredth are counted in a whole number of them, which is exact.
    unit = 1
    for cost in known:
        unit *= (cost * 100).denominator
    parts = [int(cost * 100 * unit) for cost in known]
    whole = int(rounded(one.cost).scaleb(2))
    return [Decimal(cents).scaleb(-2) for cents in apportioned(parts, whole, unit)]
