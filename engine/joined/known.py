"""What other carts of the shop taught, as the last sending brought it: usual times and watched
films, gone by only where the worker's own on this cart are too few, and never mixed with them.

It stands in a file beside the log, so that a cart without a network has it; it is no evidence, and
a cart without it goes by its plan and the label, as ever.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from math import exp, fsum
from pathlib import Path

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.figures.flash import FilmKind, FlashClimate, OwnFlash
from cartclock.engine.films.flashing import LEAST_OWN, MOST_OWN, Own, WatchedFlash, learned
from cartclock.engine.hours.usual import LEAST_MEASURED, StepKey, Usual
from cartclock.engine.plan.plan import LabelRow
from cartclock.engine.store.plain_text import plain_text
from cartclock.engine.times import Instant

# So many others are named, more of them counted. Our own judgement.
_MOST_NAMED = 2


class ShopLesson(Struct, frozen=True):
    """What a step took one worker on other carts of the shop.

    Fields:
        worker, stage, verb, nth: whose hands, and what was done (`engine.hours.usual.StepKey`).
        n: measured pieces, > 0.
        ln_seconds: mean of the natural logarithms of their seconds.
        carts: on which.
    """

    worker: str
    stage: str
    verb: str
    nth: int
    n: int
    ln_seconds: float
    carts: tuple[str, ...]


class ShopFilm(Struct, frozen=True):
    """A film that was watched on another cart of the shop.

    Fields:
        worker, cart: who watched it, and where.
        product, kind, label: what flashed; the label as JSON.
        seen_us: when it was seen ready.
        seconds: how long it took.
        panel_c, air_c, rh, moving: where, as in `FlashClimate`.
    """

    worker: str
    cart: str
    product: str
    kind: FilmKind
    label: str
    seen_us: Instant
    seconds: float
    panel_c: float
    air_c: float
    rh: float
    moving: int

    @property
    def watched(self) -> WatchedFlash:
        """As it is learned from; raises ValueError for what cannot be."""
        climate = FlashClimate(self.panel_c, self.air_c, self.rh, bool(self.moving))
        label = msgspec.json.decode(self.label, type=tuple[LabelRow, ...])
        flash = OwnFlash(self.seconds, climate)
        return WatchedFlash(self.product, self.kind, label, self.worker, self.seen_us, flash)


class ShopKnown(Struct, frozen=True, dict=True):
    """What other carts of the shop taught.

    Fields:
        lessons, films: each of them.
    """

    lessons: tuple[ShopLesson, ...] = ()
    films: tuple[ShopFilm, ...] = ()

    @cached_property
    def _by_step(self) -> dict[StepKey, list[ShopLesson]]:
        found: dict[StepKey, list[ShopLesson]] = {}
        for one in self.lessons:
            found.setdefault((one.stage, one.verb, one.nth), []).append(one)
        return found

    def usual(self, worker: str, step: StepKey) -> Usual | None:
        """What a step usually takes: the same worker on other carts, else the others there; None if
        too little was measured."""
        every = self._by_step.get(step, [])
        own = [one for one in every if one.worker == worker]
        for some in (own, every):
            n = sum(one.n for one in some)
            if n >= LEAST_MEASURED:
                mean = fsum(one.n * one.ln_seconds for one in some) / n
                carts = [cart for one in some for cart in one.carts]
                return Usual(exp(mean), n, _whose(worker, (one.worker for one in some), carts))
        return None

    def films_of(self, worker: str) -> Own:
        """Films of each product that were watched elsewhere and are learned from: those of the same
        worker, else of all; none of a product of which too few were watched."""
        kept: dict[str, Own] = self.__dict__.setdefault("_films", {})
        if worker not in kept:
            kept[worker] = self._films_of(worker)
        return kept[worker]

    def _films_of(self, worker: str) -> Own:
        by_product: dict[str, list[ShopFilm]] = {}
        for one in self.films:
            by_product.setdefault(one.product, []).append(one)
        found: dict[str, tuple[OwnFlash, ...]] = {}
        for product, every in by_product.items():
            own = [one for one in every if one.worker == worker]
            for some in (own, every):
                taken = learned(list(_usable(some)))[product] if some else ()
                if len(taken) >= LEAST_OWN:
                    newest = some[-MOST_OWN:]
                    whose = _whose(
                        worker, (one.worker for one in newest), [one.cart for one in newest]
                    )
                    found[product] = tuple(replace(one, whose=whose) for one in taken)
                    break
        return found


NOTHING_KNOWN = ShopKnown()


def _usable(films: Iterable[ShopFilm]) -> Iterator[WatchedFlash]:
    for one in films:
        try:
            yield one.watched
        except (ValueError, msgspec.DecodeError):
            # A cart with other limits; this one does not reckon with it.
            continue


def _whose(worker: str, workers: Iterable[str], carts: Sequence[str]) -> str:
    """Whose it is: "yours on north-2", "Ines and Jo", "4 of the shop"."""
    names = sorted(set(workers))
    if names == [worker]:
        where = sorted(set(carts))
        return f"yours on {where[0]}" if len(where) == 1 else "yours on other carts"
    return " and ".join(names) if len(names) <= _MOST_NAMED else f"{len(names)} of the shop"


class OwnElseShop(Mapping[str, tuple[OwnFlash, ...]]):
    """A worker's own films, and of a product with too few of them those of the shop instead."""

    def __init__(self, own: Own, shop: Own) -> None:
        self._own, self._shop = own, shop

    def __getitem__(self, product: str) -> tuple[OwnFlash, ...]:
        if product not in self._shop:
            return self._own[product]
        own = self._own.get(product, ())
        return own if len(own) >= LEAST_OWN else self._shop[product]

    def __iter__(self) -> Iterator[str]:
        return iter(sorted({*self._own, *self._shop}))

    def __len__(self) -> int:
        return len({*self._own, *self._shop})


def known_file(log: Path) -> Path:
    """Where it stands, as JSON."""
    return log.with_name("shop-known.json")


class FromShop:
    """What the shop taught the cart of a log, read anew when a sending brought something.

    Fields:
        file: where it stands; of a cart without a shop it is not there.
    """

    def __init__(self, log: Path) -> None:
        self.file = known_file(log)
        self._seen: tuple[int, int] | None = None
        self._known = NOTHING_KNOWN

    @property
    def known(self) -> ShopKnown:
        """As the file says; nothing if there is none, or none that can be read."""
        try:
            found = self.file.stat()
            seen = found.st_mtime_ns, found.st_ino
        except OSError:
            self._seen, self._known = None, NOTHING_KNOWN
            return self._known
        if seen != self._seen:
            self._seen = seen
            try:
                self._known = msgspec.json.decode(plain_text(self.file), type=ShopKnown)
            except (OSError, UnicodeDecodeError, msgspec.DecodeError):
                self._known = NOTHING_KNOWN
        return self._known
