"""What there is to say of the packs of each product: what they come to, and which was in force."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import Any, ClassVar, NamedTuple

import msgspec
from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Row, believed_rows
from cartclock.engine.facts.view import Subject, TableLine, View, goes_on
from cartclock.engine.press import Press
from cartclock.engine.products.stock import PackSum, pack_log
from cartclock.engine.store.library import KNOWN_PRODUCTS, Library
from cartclock.engine.times import Instant

# Later than any instant: a lot is in force until the next pack is opened.
FOR_EVER_US = Instant(2**62)


class LotTime(NamedTuple):
    """A lot, and from when on and until when it was in force; `FOR_EVER_US`: it still is."""

    lot: str
    from_us: Instant
    until_us: Instant


class Packed(Struct, frozen=True):
    """What its packs and weighings come to, and the rows that say so, as written."""

    summed: PackSum
    rows: Sequence[Row]

    @property
    def openings(self) -> list[tuple[Row, bool]]:
        """The rows that open a pack, struck ones among them; True if nothing put it right."""
        corrected = {row.corrects for row in self.rows}
        return [
            (row, goes_on(row) and row.press not in corrected)
            for row in self.rows
            if isinstance(row.event, ev.PackOpened)
        ]

    def lots(self, product: str) -> list[LotTime]:
        """When each noted lot of its packs was in force."""
        opened = pack_log(believed_rows(self.rows)).opened.get(product, ())
        ends = [*(row.at_us for row in opened[1:]), FOR_EVER_US]
        return [
            LotTime(row.event.lot, row.at_us, until_us)
            for row, until_us in zip(opened, ends, strict=False)
            if isinstance(row.event, ev.PackOpened) and row.event.lot
        ]


def _letters(lot: str) -> str:
    """A lot as it is looked for: its letters and digits, capitals or not."""
    return "".join(sign for sign in lot.casefold() if sign.isalnum())


def _from_each_part(lot: str) -> list[str]:
    """The letters of a lot from the beginning of each of its parts on: of "GC-4471" "gc4471" and
    "4471". Who looks for one reads off the pack what stands out there.
    """
    parts = "".join(sign if sign.isalnum() else " " for sign in lot.casefold()).split()
    return ["".join(parts[at:]) for at in range(len(parts))]


def _plain(value: Any) -> str:
    # Only fractions have no form of their own in JSON.
    return str(value)


def _fraction(kind: type, value: Any) -> Fraction:
    return Fraction(value)


class Packs(View[Packed]):
    """The half of the stock that is no sum over jobs (`engine.products.stock.PackSum`), and the
    packs of each product by the time they were opened."""

    name, version, of = "packs", 3, "product"
    kinds = ev.taken_by("packs")
    tables: ClassVar = {
        # `told` is a PackSum as JSON.
        "pack_sum": ("CREATE TABLE pack_sum (id TEXT PRIMARY KEY, told TEXT NOT NULL) STRICT",),
        # As written; `plain` is 1 if it was entered when it happened and nothing put it right.
        "pack": (
            "CREATE TABLE pack (id TEXT NOT NULL, origin TEXT NOT NULL, seq INTEGER NOT NULL,"
            " press INTEGER NOT NULL, at_us INTEGER NOT NULL, plain INTEGER NOT NULL,"
            " PRIMARY KEY (id, origin, seq)) STRICT, WITHOUT ROWID",
            "CREATE INDEX pack_opened ON pack (id, plain, at_us, seq, press)",
        ),
        # Lots, from when on and until when they were in force.
        "lot": (
            "CREATE TABLE lot (id TEXT NOT NULL, letters TEXT NOT NULL, lot TEXT NOT NULL,"
            " from_us INTEGER NOT NULL, until_us INTEGER NOT NULL) STRICT",
            "CREATE INDEX lot_product ON lot (id, lot, from_us, until_us)",
        ),
        # The same by what of them is looked for.
        "lot_part": (
            "CREATE TABLE lot_part (id TEXT NOT NULL, letters TEXT NOT NULL, lot TEXT NOT NULL)"
            " STRICT",
            "CREATE INDEX lot_part_letters ON lot_part (letters, id, lot)",
            "CREATE INDEX lot_part_product ON lot_part (id)",
        ),
    }

    def part(self, seen: Subject) -> Packed:
        return Packed(pack_log(believed_rows(seen.packs)).sum_of(seen.id), seen.packs)

    def lines(self, id_: str, part: Packed) -> list[TableLine]:
        found: list[TableLine] = []
        if part.summed != PackSum():
            told = msgspec.json.encode(part.summed, enc_hook=_plain).decode()
            found.append(("pack_sum", (id_, told)))
        for row, plain in part.openings:
            press = row.press
            found.append(("pack", (id_, row.origin, row.seq, press.seq, row.at_us, int(plain))))
        lots = part.lots(id_)
        found += [("lot", (id_, _letters(one.lot), *one)) for one in lots]
        # A lot of two packs has its letters once.
        parts = {(id_, letters, one.lot) for one in lots for letters in _from_each_part(one.lot)}
        found += [("lot_part", line) for line in sorted(parts)]
        return found

    # Asking.

    def sums(self, library: Library) -> dict[str, PackSum]:
        """What the packs come to of every product that was ever opened or weighed."""
        found = {
            product: msgspec.json.decode(told, type=PackSum, dec_hook=_fraction)
            for product, told in library.rows(
                f"SELECT id, told FROM pack_sum WHERE {KNOWN_PRODUCTS}"
            )
        }
        over = {product: part.summed for product, part in library.parts(self)}
        return found | {product: summed for product, summed in over.items() if summed != PackSum()}

    def in_force(
        self, library: Library, products: Iterable[str], since_us: Instant, until_us: Instant
    ) -> set[Press]:
        """The presses that say which packs of these products were in force in a stretch of time.

        Also as it was told before something was put right: every pack of theirs that was entered
        late, struck or moved is among them.
        """
        over = dict(library.parts(self))
        found: set[Press] = set()
        for product in products:
            if product in over:
                found |= {row.press for row, _plain in over[product].openings}
                continue
            asked = library.rows(
                "SELECT origin, press FROM pack WHERE id = ?1 AND plain = 0"
                " UNION ALL SELECT origin, press FROM pack WHERE id = ?1 AND plain = 1"
                " AND at_us BETWEEN ?2 AND ?3"
                " UNION ALL SELECT * FROM (SELECT origin, press FROM pack WHERE id = ?1"
                " AND plain = 1 AND at_us < ?2 ORDER BY at_us DESC, seq DESC LIMIT 1)",
                product,
                since_us,
                until_us,
            )
            found |= {Press(origin, press) for origin, press in asked}
        return found

    def lot_times(self, library: Library, beginning: str) -> list[tuple[str, LotTime]]:
        """The lots of which a part begins with these letters and digits, with their products."""
        wanted = _letters(beginning)
        if not wanted:
            return []
        found = [
            (product, LotTime(*told))
            for product, *told in library.rows(
                "SELECT id, lot, from_us, until_us FROM lot WHERE (id, lot) IN"
                " (SELECT id, lot FROM lot_part WHERE letters >= ? AND letters < ?)"
                f" AND {KNOWN_PRODUCTS}",
                wanted,
                # Behind every letter and digit.
                f"{wanted}{chr(0x10FFFF)}",
            )
        ]
        for product, part in library.parts(self):
            for one in part.lots(product):
                if any(letters.startswith(wanted) for letters in _from_each_part(one.lot)):
                    found.append((product, one))
        return found


PACKS = Packs()
