"""Simulated work of hot days: stages dealt out piece by piece, films laid in waves.

Synthetic: sections, minutes and effort classes are invented, after the trade's common practice.
"""

from __future__ import annotations

from copy import copy

from msgspec import Struct

from cartclock.engine.plan.plan import Effort

_ESTATE: tuple[tuple[str, Effort], ...] = (
    ("roof", "moderate"),
    ("bonnet", "moderate"),
    ("passenger front wing", "moderate"),
    ("passenger mirror", "moderate"),
    ("passenger front door", "moderate"),
    ("passenger rear door", "moderate"),
    ("passenger sill", "heavy"),
    ("passenger rear quarter", "moderate"),
    ("tailgate", "moderate"),
    ("rear bumper", "heavy"),
    ("driver rear quarter", "moderate"),
    ("driver sill", "heavy"),
    ("driver rear door", "moderate"),
    ("driver front door", "moderate"),
    ("driver mirror", "moderate"),
    ("driver front wing", "moderate"),
    ("front bumper", "heavy"),
)


class Part(Struct, frozen=True):
    """A section of a simulated stage: minutes of work, and for a film of waiting and finishing."""

    name: str
    effort: Effort
    minutes: float
    waits: float = 0.0
    finish: float = 0.0


class Piece(Struct, frozen=True):
    """What is taken up at once; `film`: one is in play at its end; `lays`: a new one begins."""

    name: str
    minutes: float
    effort: Effort
    stands_by: bool = False
    film: bool = False
    lays: bool = False


Stage = tuple[Part, ...]


def _body(overhead: bool, **split: int) -> list[tuple[str, Effort]]:
    found: list[tuple[str, Effort]] = []
    for name, effort in _ESTATE:
        last = name.split()[-1]
        here: Effort = "heavy" if name == "roof" and overhead else effort
        for index in range(split.get(last, 1)):
            low: Effort = "heavy" if last == "door" and index == 1 else here
            found.append((f"{name} {index + 1}" if last in split else name, low))
    return found


def _solo(stage: str, parts: list[tuple[str, Effort]], minutes: float) -> Stage:
    return tuple(Part(f"{stage} {name}", effort, minutes) for name, effort in parts)


def _wave(
    stage: str, parts: list[tuple[str, Effort]], lay: float, wait: float, end: float
) -> Stage:
    return tuple(Part(f"{stage} {name}", effort, lay, wait, end) for name, effort in parts)


_WHOLE: list[tuple[str, Effort]] = [("whole vehicle", "light")]
_RING: list[tuple[str, Effort]] = [
    (name, "moderate")
    for name in ("roof and glass", "bonnet", "passenger side", "rear", "driver side", "front")
]
_WHEELS: list[tuple[str, Effort]] = [(f"wheel {number}", "moderate") for number in range(1, 5)]


def polish_day(overhead: bool) -> tuple[Stage, ...]:
    """A day of correction and one layer of a coat."""
    body = _body(overhead)
    return (
        _solo("arrival", _WHOLE, 25),
        _wave("wheels", _WHEELS, 0.5, 1.5, 4),
        _solo("wash", _RING, 4),
        _wave("fallout", _RING, 1, 2, 1.5),
        _solo("clay", body, 3),
        _solo("dry", _RING, 4),
        _solo("tape", _WHOLE, 25),
        _solo("test spot", [("bonnet", "moderate")], 20),
        _solo("cut", _body(overhead, bonnet=4, roof=4, door=2), 10),
        _solo("blow out", [("whole vehicle", "moderate")], 20),
        _solo("wipe", body, 1.5),
        _wave("coat", _body(overhead, bonnet=2, roof=2), 1.5, 2, 2),
        _solo("inspect", _WHOLE, 20),
    )


def coat_day(overhead: bool) -> tuple[Stage, ...]:
    """A day of finishing, two layers, and a wash of a second vehicle."""
    body, coated = _body(overhead), _body(overhead, bonnet=2, roof=2)
    return (
        _solo("finish", body, 6),
        _solo("wipe", body, 1.5),
        _wave("coat 1", coated, 1.5, 2, 2),
        _solo("tidy", _WHOLE, 25),
        _solo("glass", _RING, 5),
        _wave("coat 2", coated, 1.5, 2, 2),
        _solo("inspect", _WHOLE, 20),
        _wave("wheel coat", _WHEELS, 4, 3, 3),
        _wave("wheels", _WHEELS, 0.5, 1.5, 4),
        _solo("wash", _RING, 4),
        _wave("fallout", _RING, 1, 2, 1.5),
        _solo("clay", body, 3),
        _solo("dry", _RING, 4),
        _wave("sealant", body, 1, 3, 1.5),
        _solo("inspect again", _WHOLE, 15),
    )


def wash_day(overhead: bool) -> tuple[Stage, ...]:
    """Five maintenance washes with a sealant."""
    one = (
        _wave("wheels", _WHEELS, 0.5, 1.5, 4),
        _wave("foam", [("whole vehicle", "moderate")], 2, 3, 4),
        _solo("wash", _RING, 4),
        _solo("dry", _RING, 4),
        _solo("inside", [("front", "light"), ("rear", "moderate"), ("boot", "moderate")], 12),
        _wave("sealant", _body(overhead), 1, 3, 1.5),
        _solo("handover", _WHOLE, 10),
    )
    return one * 5


class Work:
    """The planned sequence; in a wave the next film is laid while one waits."""

    def __init__(self, stages: tuple[Stage, ...]) -> None:
        self.stages = stages
        self._stage = self._index = 0
        self._waiting: tuple[tuple[Part, float], ...] = ()
        self._clock = 0.0

    @property
    def film(self) -> bool:
        """True while a film waits."""
        return bool(self._waiting)

    @property
    def over(self) -> bool:
        """True after the last piece."""
        return self._stage >= len(self.stages)

    def next(self, lays: bool = True) -> Piece | None:
        """The next piece; `lays` False: no further film is laid. None if there is nothing."""
        if self.over:
            return None
        parts = self.stages[self._stage]
        can_lay = self._index < len(parts)
        if self._waiting:
            part, opens = self._waiting[0]
            if opens <= self._clock + 1e-9:
                self._waiting = self._waiting[1:]
                self._clock += part.finish
                if not can_lay and not self._waiting:
                    self._stage, self._index = self._stage + 1, 0
                return Piece(f"{part.name}: finish", part.finish, part.effort, film=self.film)
            if not lays or not can_lay or len(self._waiting) >= 2:
                minutes, self._clock = opens - self._clock, opens
                return Piece("stand by", minutes, "light", stands_by=True, film=True)
        part = parts[self._index]
        if part.waits and not lays:
            return None
        self._index += 1
        self._clock += part.minutes
        if part.waits:
            self._waiting = (*self._waiting, (part, self._clock + part.waits))
            return Piece(f"{part.name}: lay", part.minutes, part.effort, film=True, lays=True)
        if self._index >= len(parts):
            self._stage, self._index = self._stage + 1, 0
        return Piece(part.name, part.minutes, part.effort)

    def ahead(self, minutes: float) -> list[tuple[float, Effort]]:
        """(minutes, effort) of what follows, at least so many minutes of it or all there is."""
        later, found, total = copy(self), [], 0.0
        while total < minutes:
            piece = later.next()
            if piece is None:
                break
            found.append((piece.minutes, piece.effort))
            total += piece.minutes
        return found

    def next_unit(self) -> float:
        """Minutes of the next piece, a film from laying to finishing."""
        later = copy(self)
        piece = later.next()
        total = 0.0
        while piece is not None:
            total += piece.minutes
            piece = later.next(lays=False) if piece.film else None
        return total
