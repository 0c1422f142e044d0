"""What a cart tells its shop of its jobs and shifts: the lines of its own fold, each job and shift
with all of its lines, so that they can be replaced whole."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from typing import Any

import msgspec
from msgspec import Struct

from cartclock.engine.joined.on_cart import stock_lines
from cartclock.engine.joined.tables import (
    CALLED_THERE,
    FIGURE_TABLES,
    FILM_LINES,
    STOCK,
    WINDOWS,
)
from cartclock.engine.store.codec import sha256_of
from cartclock.engine.store.export import table_rows
from cartclock.engine.store.library import Library
from cartclock.engine.store.log import Log
from cartclock.engine.store.views import VIEWS

FOLD_VERSION = 1
"""Of what is told: figures of an older one never stand in for those of a newer one."""

_encode = msgspec.json.Encoder(order="sorted").encode


class Figures(Struct, frozen=True):
    """What is told of one job, shift or product on the cart.

    Fields:
        id: of the job or shift, or made for the product.
        lines: table -> its lines by column.
    """

    id: str
    lines: dict[str, list[dict[str, Any]]]

    @property
    def digest(self) -> str:
        """By which it is known whether the shop has it already, hex SHA-256."""
        return sha256_of(_encode(self.lines))


def every_figure(log: Log, alive: Callable[[], object] = lambda: None) -> tuple[Figures, ...]:
    """The figures of all jobs, shifts and products of a log, by id; jobs that were imported are not
    its own.

    Raises StoreFault, and Refused while another program holds what is known of the log.
    """
    try:
        library = Library(log, VIEWS, kept="copy")
    except (sqlite3.Error, OSError):
        library = Library(log, VIEWS, kept="memory")
    try:
        while library.left():
            library.slice(1.0)
            alive()
        library.settle()
        found: dict[str, dict[str, list[dict[str, Any]]]] = {}
        for table in FIGURE_TABLES:
            for line in table_rows(library, table):
                told = {CALLED_THERE.get(name, name): value for name, value in line.items()}
                found.setdefault(told.pop("id"), {}).setdefault(table, []).append(told)
        for lines in found.values():
            # Films have no key: they come in the order in which they were written down.
            lines.get(FILM_LINES, []).sort(key=_encode)
        open_jobs = []
        for id_, lines in found.items():
            for job in lines.get("job_line", ()):
                # What was given away is told by the cart that has it.
                if job["origin"] or job["state"] == "given":
                    lines.clear()
                elif job["closed_us"] is None:
                    open_jobs.append(id_)
        for id_ in open_jobs:
            if windows := _windows(library, id_):
                found[id_][WINDOWS] = windows
        for id_, line in stock_lines(library, log.origin):
            found[id_] = {STOCK: [line]}
        return tuple(Figures(id_, lines) for id_, lines in sorted(found.items()) if lines)
    finally:
        library.close()


def _windows(library: Library, job: str) -> list[dict[str, Any]]:
    """The films of a job that run, that which closes first in front."""
    seen = library.subject("job", job)
    if seen is None:
        return []
    running = [
        section.window for section in seen.job.sections.values() if section.window is not None
    ]
    return [
        {
            "stage": one.stage,
            "section": one.section,
            "kind": one.kind,
            "opens_us": one.opens_us,
            "due_us": one.due_us,
            "closes_us": one.closes_us,
        }
        for one in sorted(running, key=lambda one: (one.closes_us, one.stage, one.section))
    ]
