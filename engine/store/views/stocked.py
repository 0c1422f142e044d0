"""What jobs say of the stock: how plans name the products, and what was drawn from the packs."""

from __future__ import annotations

from fractions import Fraction
from typing import ClassVar

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.facts.view import Subject, TableLine, View
from cartclock.engine.plan.amounts import StockUnit
from cartclock.engine.products.booked import Drawn, Named, Place, booked_here, drawn, named
from cartclock.engine.products.item import Item
from cartclock.engine.products.stock import PackSum, Stock, item
from cartclock.engine.store.library import KNOWN_JOBS, Library
from cartclock.engine.store.views.packs import PACKS
from cartclock.engine.times import Instant

# So many of these fit into what SQLite adds up without a fault: a whole number of 64 bits.
_SMALL = 2**40
# Jobs are added up by blocks of so much time; our own judgement: a few jobs a block, and a few
# blocks a year.
BLOCK_US = 90 * 24 * HOUR_US

_Sum = tuple[StockUnit, Fraction, int]


class StockedJob(Struct, frozen=True):
    """The products its plan names, and what it drew of the packs."""

    named: tuple[Named, ...]
    drawn: tuple[Drawn, ...]


class Stocked(View[StockedJob]):
    """The half of the stock that is a sum over jobs; the other is `PACKS`."""

    name, version, of = "stocked", 4, "job"
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
            "CREATE INDEX drawn_first ON drawn"
            " (product, first_us, last_us, unit, den, num, times, rest)",
            "CREATE INDEX drawn_rest ON drawn (product, first_us) WHERE rest <> ''",
            # The lines without a `rest` added up, by the blocks that they begin and end in.
            "CREATE TABLE drawn_block (product TEXT NOT NULL, begins INTEGER NOT NULL,"
            " ends INTEGER NOT NULL, unit TEXT NOT NULL, den INTEGER NOT NULL,"
            " num INTEGER NOT NULL, times INTEGER NOT NULL,"
            " PRIMARY KEY (product, begins, ends, unit, den)) STRICT, WITHOUT ROWID",
            "CREATE TRIGGER drawn_added AFTER INSERT ON drawn WHEN NEW.rest = '' BEGIN"
            f" INSERT INTO drawn_block VALUES (NEW.product, NEW.first_us / {BLOCK_US},"
            f" NEW.last_us / {BLOCK_US}, NEW.unit, NEW.den, NEW.num, NEW.times)"
            " ON CONFLICT DO UPDATE SET num = num + excluded.num,"
            " times = times + excluded.times; END",
            "CREATE TRIGGER drawn_gone AFTER DELETE ON drawn WHEN OLD.rest = '' BEGIN"
            " UPDATE drawn_block SET num = num - OLD.num, times = times - OLD.times"
            f" WHERE product = OLD.product AND begins = OLD.first_us / {BLOCK_US}"
            f" AND ends = OLD.last_us / {BLOCK_US} AND unit = OLD.unit AND den = OLD.den;"
            " DELETE FROM drawn_block WHERE times = 0 AND product = OLD.product"
            f" AND begins = OLD.first_us / {BLOCK_US}; END",
        ),
    }

    def part(self, seen: Subject) -> StockedJob:
        job = seen.job
        return StockedJob(named(job.id, job.opened_us, job.opened), drawn(booked_here(job)))

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
        asked = ("stock", library.left("job"))
        return library.once(self, asked, lambda: self._stock(library), PACKS)

    def drawing(
        self, library: Library, product: str, from_us: Instant, until_us: Instant
    ) -> set[str]:
        """The jobs that drew from a product in a stretch of time, or before it and after it."""
        found = {id_ for (id_,) in library.rows(_DRAWING, product, from_us, until_us)}
        return found | {
            id_
            for id_, part in library.parts(self)
            for took in part.drawn
            if took.product == product and took.first[0] < until_us and took.last[0] >= from_us
        }

    def _stock(self, library: Library) -> Stock:
        sums = PACKS.sums(library)
        parts = dict(library.parts(self))
        over = [one for part in parts.values() for one in part.named]
        products = {*sums, *(one.product for one in over)}
        products |= {took.product for part in parts.values() for took in part.drawn}
        for table in self.tables:
            products |= _products(library, table)
        return Stock(
            {
                one: self._item(library, one, sums.get(one, PackSum()), parts)
                for one in sorted(products)
            }
        )

    def _item(
        self, library: Library, product: str, summed: PackSum, parts: dict[str, StockedJob]
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
            summed,
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
        denominator at a time, so that the sum is exact: by whole blocks of time, and job by job
        in the block it falls into. The few jobs it falls into are told use by use.
        """
        since_us, block = since[0], since[0] // BLOCK_US
        whole_us = (block + 1) * BLOCK_US
        found = _summed(library, _BLOCKS, product, block)
        found += _summed(library, _LINES, product, since_us + 1, whole_us)
        # Of the blocks, what is told otherwise since.
        found += [
            (unit, -amount, -times)
            for unit, amount, times in _summed(library, _LEFT_OUT, product, whole_us)
        ]
        found += [
            (unit, Fraction(rest), times)
            for unit, rest, times in library.rows(_FINE, product, since_us)
        ]
        ((first,),) = library.rows(_FIRST, product, block)
        oldest_us = since_us if first is None else first * BLOCK_US
        cut = {job for (job,) in library.rows(_CUT, product, oldest_us, since_us)}
        cut |= {job for (job,) in library.rows(_FINE_CUT, product, since_us)}
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
            uses = () if subject is None else booked_here(subject.job)
            behind = drawn(use for use in uses if use.product == product and use.counts > since)
            found += [(took.unit, took.amount, took.times) for took in behind]
        return found


_SUM = "SELECT unit, den, sum(num), sum(times) FROM"
# Blocks that begin behind that of the place.
_BLOCKS = f"{_SUM} drawn_block WHERE product = ? AND begins > ? GROUP BY unit, den"
# Jobs that begin behind the place, in its own block.
_LINES = (
    f"{_SUM} drawn WHERE product = ? AND first_us >= ? AND first_us < ? AND rest = ''"
    f" AND {KNOWN_JOBS} GROUP BY unit, den"
)
_LEFT_OUT = (
    f"{_SUM} drawn WHERE id IN (SELECT id FROM left_out WHERE of = 'job') AND product = ?"
    " AND +first_us >= ? AND rest = '' GROUP BY unit, den"
)
_FINE = (
    "SELECT unit, rest, times FROM drawn INDEXED BY drawn_rest"
    " WHERE product = ? AND first_us > ? AND rest <> ''"
    f" AND {KNOWN_JOBS}"
)
# The first block in which a job began that the place may fall into.
_FIRST = "SELECT min(begins) FROM drawn_block WHERE product = ?1 AND begins <= ?2 AND ends >= ?2"
_DRAWING = (
    f"SELECT id FROM drawn WHERE product = ?1 AND first_us < ?3 AND last_us >= ?2 AND {KNOWN_JOBS}"
)
_CUT = (
    "SELECT id FROM drawn WHERE product = ?1 AND first_us BETWEEN ?2 AND ?3 AND last_us >= ?3"
    f" AND {KNOWN_JOBS}"
)
_FINE_CUT = (
    "SELECT id FROM drawn INDEXED BY drawn_rest"
    " WHERE product = ?1 AND first_us <= ?2 AND last_us >= ?2 AND rest <> ''"
    f" AND {KNOWN_JOBS}"
)


def _summed(library: Library, query: str, *values: object) -> list[_Sum]:
    """What a query adds up: unit, denominator, numerators, uses."""
    return [
        (unit, Fraction(num, den), times) for unit, den, num, times in library.rows(query, *values)
    ]


def _age(one: Named) -> tuple[int, int, str]:
    return one.opened


def _products(library: Library, table: str) -> set[str]:
    """The products of a table, from one to the next by its index."""
    found = library.rows(
        f"WITH RECURSIVE one (p) AS (SELECT min(product) FROM {table} UNION ALL"
        f" SELECT (SELECT min(product) FROM {table} WHERE product > p) FROM one"
        " WHERE p IS NOT NULL) SELECT p FROM one WHERE p IS NOT NULL AND EXISTS"
        f" (SELECT 1 FROM {table} WHERE product = p"
        f" AND {KNOWN_JOBS})"
    )
    return {product for (product,) in found}


def _newest(library: Library, product: str, index: str) -> list[Named]:
    """The newest line of a product by one of the indexes, if there is one."""
    only = " AND per_ml <> ''" if index == "named_drops" else ""
    return [
        Named(product, name, unit, Fraction(per_ml) if per_ml else None, (opened_us, number, job))
        for job, name, unit, per_ml, opened_us, number in library.rows(
            f"SELECT id, name, unit, per_ml, opened_us, number FROM named INDEXED BY {index}"
            f" WHERE product = ?{only} AND {KNOWN_JOBS}"
            " ORDER BY opened_us DESC, number DESC, id DESC LIMIT 1",
            product,
        )
    ]


STOCKED = Stocked()
