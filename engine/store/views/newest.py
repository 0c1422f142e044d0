"""The jobs in which something was done last, of the file and of what goes over it."""

from __future__ import annotations

from collections.abc import Iterable
from heapq import nlargest

from cartclock.engine.store.library import KNOWN_JOBS, Library


def did_it_last(
    library: Library, table: str, last: Iterable[tuple[str, int | None]], most: int
) -> frozenset[str]:
    """Ids of so many jobs at most, those that did it last.

    table: a line of it is (id, last_us), one of each job that ever did it.
    last: the same of each job that goes over the file; None: it never did it.
    """
    found = library.rows(
        f"SELECT id, last_us FROM {table}"
        f" WHERE {KNOWN_JOBS}"
        " ORDER BY last_us DESC, id DESC LIMIT ?",
        most,
    )
    found += [(job, last_us) for job, last_us in last if last_us is not None]
    return frozenset(job for job, _last_us in nlargest(most, found, key=lambda one: one[::-1]))
