"""Films that were watched until ready: what a worker's own flash times are learned from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import ClassVar

import msgspec
from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.view import Subject, TableLine, View
from cartclock.engine.figures.flash import FilmKind, FlashClimate, OwnFlash
from cartclock.engine.films.flashing import MOST_OWN, Own, WatchedFlash, learned, watched_flashes
from cartclock.engine.plan.plan import LabelRow
from cartclock.engine.store.codec import json_list
from cartclock.engine.store.library import KNOWN_JOBS, Library
from cartclock.engine.store.views.newest import did_it_last
from cartclock.engine.times import Instant

# Films of older jobs are not learned from. Our own judgement.
MOST_FILM_JOBS = 40


class WatchedJob(Struct, frozen=True):
    """The watched films of a job, and when one was last seen ready (None: never)."""

    last_us: Instant | None
    films: tuple[WatchedFlash, ...]


class Films(View[WatchedJob]):
    """Watched films by worker and product."""

    name, version, of = "films", 4, "job"
    kinds = ev.taken_by("films")
    tables: ClassVar = {
        "seen": (
            "CREATE TABLE seen (id TEXT PRIMARY KEY, last_us INTEGER NOT NULL)"
            " STRICT, WITHOUT ROWID",
            "CREATE INDEX seen_last ON seen (last_us DESC, id DESC)",
        ),
        # `label` are the rows of the label as JSON.
        "film_line": (
            "CREATE TABLE film_line (id TEXT NOT NULL, worker TEXT NOT NULL,"
            " product TEXT NOT NULL, kind TEXT NOT NULL, label TEXT NOT NULL,"
            " seen_us INTEGER NOT NULL, seconds REAL NOT NULL, panel_c REAL NOT NULL,"
            " air_c REAL NOT NULL, rh REAL NOT NULL, moving INTEGER NOT NULL) STRICT",
            "CREATE INDEX film_line_seen ON film_line (id, worker, product, seen_us)",
            "CREATE INDEX film_line_product ON film_line (worker, product, seen_us DESC)",
        ),
    }

    def part(self, seen: Subject) -> WatchedJob:
        return WatchedJob(
            _last_us(seen.job), tuple(watched_flashes(seen.job, seen.shifts.values()))
        )

    def lines(self, id_: str, part: WatchedJob) -> list[TableLine]:
        found: list[TableLine] = [
            ("film_line", (id_, one.worker, one.product, one.kind, *_told(one)))
            for one in part.films
        ]
        if part.last_us is not None:
            found.append(("seen", (id_, part.last_us)))
        return found

    def own(self, library: Library, worker: str) -> Own:
        """The worker's films that are learned from, by product; read when one is asked for."""
        return _OfWorker(self, library, worker)

    def learned(self, library: Library, worker: str) -> Own:
        """As `own`, read now."""
        found = library.once(self, worker, lambda: self._newest(library, worker))
        return _learned(found)

    def _newest(self, library: Library, worker: str) -> tuple[WatchedFlash, ...]:
        """The newest of each product, so many as are learned from, of the newest jobs."""
        parts = dict(library.parts(self))
        last = [(job, part.last_us) for job, part in parts.items()]
        jobs = did_it_last(library, "seen", last, MOST_FILM_JOBS)
        found = [
            _film(worker, *line)
            for line in library.rows(
                f"SELECT {_COLUMNS} FROM film_line WHERE rowid IN"
                " (SELECT row FROM (SELECT rowid AS row, row_number() OVER"
                " (PARTITION BY product ORDER BY seen_us DESC) AS nth FROM film_line"
                " WHERE id IN (SELECT value FROM json_each(?)) AND worker = ?) WHERE nth <= ?)",
                json_list(jobs - parts.keys()),
                worker,
                MOST_OWN,
            )
        ]
        for job in jobs & parts.keys():
            found += [one for one in parts[job].films if one.worker == worker]
        return tuple(sorted(found, key=_order))

    def of_product(
        self, library: Library, worker: str, product: str, most: int
    ) -> tuple[WatchedFlash, ...]:
        """The newest films of a product that a worker watched, whatever job they were laid in,
        the oldest first."""
        found = [_film(worker, *line) for line in library.rows(_OF_PRODUCT, worker, product, most)]
        for _job, part in library.parts(self):
            own = (one for one in part.films if (one.worker, one.product) == (worker, product))
            found += own
        return tuple(sorted(found, key=_order)[-most:])


_COLUMNS = "product, kind, label, seen_us, seconds, panel_c, air_c, rh, moving"
_OF_PRODUCT = (
    f"SELECT {_COLUMNS} FROM film_line WHERE worker = ? AND product = ?"
    f" AND {KNOWN_JOBS} ORDER BY seen_us DESC LIMIT ?"
)


class _OfWorker(Mapping[str, tuple[OwnFlash, ...]]):
    def __init__(self, view: Films, library: Library, worker: str) -> None:
        self._view, self._library, self._worker = view, library, worker

    def __getitem__(self, product: str) -> tuple[OwnFlash, ...]:
        return self._view.learned(self._library, self._worker)[product]

    def __iter__(self) -> Iterator[str]:
        return iter(self._view.learned(self._library, self._worker))

    def __len__(self) -> int:
        return len(self._view.learned(self._library, self._worker))


def _last_us(job: Job) -> Instant | None:
    seen = (window.seen_us for window in job.every_window if window.seen_us is not None)
    return max(seen, default=None)


def _order(one: WatchedFlash) -> tuple[object, ...]:
    # Films seen at one instant are told in one order, from memory as from the file.
    return one.seen_us, one.product, one.kind, _told(one)


@lru_cache(maxsize=8)
def _learned(found: tuple[WatchedFlash, ...]) -> Own:
    """Of sixty films it takes forty milliseconds: again only where one of them is another."""
    return learned(found)


def _told(one: WatchedFlash) -> tuple[str, int, float, float, float, float, int]:
    """Label, instant and flash as the columns have them."""
    climate = one.flash.climate
    label = msgspec.convert(msgspec.to_builtins(one.label), tuple[LabelRow, ...])
    return (
        msgspec.json.encode(label).decode(),
        one.seen_us,
        # A row that was just pressed may hold whole numbers where one read back holds fractions.
        float(one.flash.seconds),
        float(climate.panel_c),
        float(climate.air_c),
        float(climate.rh),
        int(climate.moving),
    )


def _film(
    worker: str,
    product: str,
    kind: FilmKind,
    label: str,
    seen_us: Instant,
    seconds: float,
    panel_c: float,
    air_c: float,
    rh: float,
    moving: int,
) -> WatchedFlash:
    flash = OwnFlash(seconds, FlashClimate(panel_c, air_c, rh, bool(moving)))
    return WatchedFlash(product, kind, _label(label), worker, seen_us, flash)


@lru_cache(maxsize=256)
def _label(text: str) -> tuple[LabelRow, ...]:
    return msgspec.json.decode(text, type=tuple[LabelRow, ...])


FILMS = Films()
