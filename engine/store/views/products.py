"""The products that were ever used on this cart."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.view import Subject, TableLine, View
from cartclock.engine.products.booked import rows_told
from cartclock.engine.products.reminders import used_products
from cartclock.engine.store.library import KNOWN_JOBS, Library


class Products(View[frozenset[str]]):
    """Keys (`engine.products.reminders.key_of`) of the products a job has used."""

    name, version, of = "products", 1, "job"
    kinds = ev.taken_by("products")
    tables: ClassVar = {
        "used_product": (
            "CREATE TABLE used_product (id TEXT NOT NULL, product TEXT NOT NULL,"
            " PRIMARY KEY (id, product)) STRICT, WITHOUT ROWID",
            "CREATE INDEX used_product_jobs ON used_product (product)",
        ),
    }

    def part(self, seen: Subject) -> frozenset[str]:
        return used_products(rows_told(seen.job), seen.jobs)

    def take(
        self, part: frozenset[str], rows: Sequence[Row], seen: Subject
    ) -> frozenset[str] | None:
        return part | used_products(rows, seen.jobs)

    def lines(self, id_: str, part: frozenset[str]) -> list[TableLine]:
        return [("used_product", (id_, product)) for product in sorted(part)]

    def known(self, library: Library) -> frozenset[str] | None:
        """Keys of the products ever used; None while jobs are still to be read."""
        return library.once(self, "known", lambda: self._known(library))

    def _known(self, library: Library) -> frozenset[str] | None:
        if library.left("job"):
            return None
        # From one key to the next by the index, however many jobs used each.
        found = library.rows(
            "WITH RECURSIVE one (p) AS (SELECT min(product) FROM used_product UNION ALL"
            " SELECT (SELECT min(product) FROM used_product WHERE product > p) FROM one"
            " WHERE p IS NOT NULL) SELECT p FROM one WHERE p IS NOT NULL AND EXISTS"
            " (SELECT 1 FROM used_product WHERE product = p"
            f" AND {KNOWN_JOBS})"
        )
        over = {key for _id, part in library.parts(self) for key in part}
        return frozenset(over | {key for (key,) in found})


PRODUCTS = Products()
