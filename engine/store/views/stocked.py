"""What jobs say of the stock: how plans name the products, and what was drawn from the packs."""

from __future__ import annotations

from fractions import Fraction
from typing import ClassVar

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.view import Subject, TableLine, View
from cartclock.engine.plan.amounts import StockUnit
from cartclock.engine.products.booked import Drawn, Named, Place, booked_by, drawn, named
from cartclock.engine.products.item import Item
from cartclock.engine.products.stock import PackLog, Stock, item
from cartclock.engine.store.library import Library

# So many of these fit into what SQLite adds up without a fault: a whole number of 64 bits.
_SMALL = 2**40

_Sum = tuple[StockUnit, Fraction, int]


class StockedJob(Struct, frozen=True):
    """The products its plan names, and what it drew of the packs."""

    named: tuple[Named, ...]
    drawn: tuple[Drawn, ...]


class Stocked(View[StockedJob]):
    """The half of the stock that is a sum over jobs; the other is `PackLog`."""

    name, version, of = "stocked", 1, "job"
    kinds = ev.taken_by("stocked")
    tables: ClassVar = {
        "named": (
            "CREATE TABLE named (id TEXT NOT NULL, product TEXT NOT NULL, name TEXT NOT NULL,"
            " unit TEXT NOT NULL, per_ml TEXT NOT NULL, opened_us INTEGER NOT NULL,"
            " number INTEGER NOT NULL, PRIMARY KEY (id, product)) STRICT, WITHOUT ROWID",
            "CREATE INDEX named_newest ON named (product, opened_us DESC, number DESC, id DESC)",
            "CREATE INDEX named_drops ON named (product, opened_us DESC, number DESC, id DESC)"
            " WHERE per_ml <> ''",
        ),
        # What counts as `num / den`; an amount that is too fine for that stands in `rest`.
        "drawn": (
            "CREATE TABLE drawn (id TEXT NOT NULL, product TEXT NOT NULL, unit TEXT NOT NULL,"
            " num INTEGER NOT NULL, den INTEGER NOT NULL, rest TEXT NOT NULL,"
            " times INTEGER NOT NULL, first_us INTEGER NOT NULL, last_us INTEGER NOT NULL,"
            " PRIMARY KEY (id, product)) STRICT, WITHOUT ROWID",
            "CREATE INDEX drawn_since ON drawn"
            " (product, last_us, first_us, unit, den, num, times, rest)",
        ),
    }

    def part(self, seen: Subject) -> StockedJob:
        job = seen.job
        return StockedJob(named(job.id, job.opened_us, job.opened), drawn(booked_by(job)))

    def lines(self, id_: str, part: StockedJob) -> list[TableLine]:
        found: list[TableLine] = []
        for one in part.named:
            opened_us, number, _job = one.opened
            per_ml = "" if one.per_ml is None else str(one.per_ml)
            values = (id_, one.product, one.name, one.unit, per_ml, opened_us, number)
            found.append(("named", values))
        for took in part.drawn:
            num, den = took.amount.as_integer_ratio()
            exact = (num, den, "") if max(abs(num), den) < _SMALL else (0, 1, str(took.amount))
            span = (took.times, took.first[0], took.last[0])
            found.append(("drawn", (id_, took.product, took.unit, *exact, *span)))
        return found

    # Asking.

    def stock(self, library: Library) -> Stock:
        """What is on the cart; `Item.unread` says of how many jobs it could not be told yet."""
        return library.once(self, ("stock", library.left("job")), lambda: self._stock(library))

    def _stock(self, library: Library) -> Stock:
        packs = library.packs
        parts = dict(library.parts(self))
        over = [one for part in parts.values() for one in part.named]
        products = {*packs.opened, *packs.weighed, *(one.product for one in over)}
        products |= {took.product for part in parts.values() for took in part.drawn}
        for table in self.tables:
            products |= _products(library, table)
        return Stock(
            {one: self._item(library, one, packs, parts) for one in sorted(products)}, packs
        )

    def _item(
        self, library: Library, product: str, packs: PackLog, parts: dict[str, StockedJob]
    ) -> Item:
        over = [one for part in parts.values() for one in part.named if one.product == product]
        names = [*_newest(library, product, "named_newest"), *over]
        drops = [
            one
            for one in (*_newest(library, product, "named_drops"), *over)
            if one.per_ml is not None
        ]
        return item(
            product,
            packs,
            max(names, key=_age, default=None),
            max(drops, key=_age).per_ml if drops else None,
            lambda since: self._since(library, product, since, parts),
            lambda since: library.left("job", None if since is None else since[0]),
        )

    def _since(
        self, library: Library, product: str, since: Place, parts: dict[str, StockedJob]
    ) -> list[_Sum]:
        """What was drawn behind a place.

        Jobs of which all counts behind it are added up by the file, fractions of one
        denominator at a time, so that the sum is exact; the few it falls into are told use by use.
        """
        since_us = since[0]
        asked = (product, since_us, since_us)
        found: list[_Sum] = [
            (unit, Fraction(num, den), times)
            for unit, num, den, times in library.rows(
                f"SELECT unit, sum(num), den, sum(times) {_BEHIND} AND rest = ''"
                " GROUP BY unit, den",
                *asked,
            )
        ]
        found += [
            (unit, Fraction(rest), times)
            for unit, rest, times in library.rows(
                f"SELECT unit, rest, times {_BEHIND} AND rest <> ''", *asked
            )
        ]
        cut = {job for (job,) in library.rows(f"SELECT id {_FROM} AND first_us <= ?", *asked)}
        for job, part in parts.items():
            for took in part.drawn:
                if took.product != product or took.last[0] < since_us:
                    continue
                if took.first[0] > since_us:
                    found.append((took.unit, took.amount, took.times))
                else:
                    cut.add(job)
        for job in cut:
            subject = library.subject("job", job)
            uses = () if subject is None else booked_by(subject.job)
            behind = drawn(use for use in uses if use.product == product and use.counts > since)
            found += [(took.unit, took.amount, took.times) for took in behind]
        return found


_FROM = (
    "FROM drawn WHERE id NOT IN (SELECT id FROM left_out WHERE of = 'job')"
    " AND product = ? AND last_us >= ?"
)
_BEHIND = f"{_FROM} AND first_us > ?"


def _age(one: Named) -> tuple[int, int, str]:
    return one.opened


def _products(library: Library, table: str) -> set[str]:
    """The products of a table, from one to the next by its index."""
    found = library.rows(
        f"WITH RECURSIVE one (p) AS (SELECT min(product) FROM {table} UNION ALL"
        f" SELECT (SELECT min(product) FROM {table} WHERE product > p) FROM one"
        " WHERE p IS NOT NULL) SELECT p FROM one WHERE p IS NOT NULL AND EXISTS"
        f" (SELECT 1 FROM {table} WHERE product = p"
        " AND id NOT IN (SELECT id FROM left_out WHERE of = 'job'))"
    )
    return {product for (product,) in found}


def _newest(library: Library, product: str, index: str) -> list[Named]:
    """The newest line of a product by one of the indexes, if there is one."""
    only = " AND per_ml <> ''" if index == "named_drops" else ""
    return [
        Named(product, name, unit, Fraction(per_ml) if per_ml else None, (opened_us, number, job))
        for job, name, unit, per_ml, opened_us, number in library.rows(
            f"SELECT id, name, unit, per_ml, opened_us, number FROM named INDEXED BY {index}"
            f" WHERE product = ?{only} AND id NOT IN (SELECT id FROM left_out WHERE of = 'job')"
            " ORDER BY opened_us DESC, number DESC, id DESC LIMIT 1",
            product,
        )
    ]


STOCKED = Stocked()
