"""Until when an answer about now holds: an instant that notes what it is compared with.

Whatever is said of a cart at an instant is a function of its rows and of that instant. Between
two rows it changes only where a comparison with the instant turns out differently, so an instant
that goes on (`Now`) can tell by itself until when an answer holds: it notes, for each
comparison, when that would turn. Nobody keeps a list of marks, and what is written tomorrow
names its next moment without being asked.

Sums and differences with numbers go on as the instant does, and so do whole parts of them
(`// SECOND_US`). What cannot be followed (a fraction, a text, a key of a dictionary) takes the
number as it is and is taken to be another as soon as the number is.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from typing import Any, Generic, TypeVar, cast

from msgspec import Struct
from msgspec.structs import astuple, replace

from cartclock.engine.times import Instant, Length

T = TypeVar("T")

NEVER_US = 2**62
"""An instant that does not come."""


class _Marks:
    """The instant that is looked at, and the earliest one at which something would be another."""

    __slots__ = ("now_us", "until_us")

    def __init__(self, now_us: Instant) -> None:
        self.now_us, self.until_us = now_us, NEVER_US

    def note(self, ahead_us: int) -> None:
        self.until_us = min(self.until_us, self.now_us + max(1, ahead_us))


class Now:
    """The whole part of (`us` + `slope` times the microseconds that went by) / `part`.

    It stands where an `int` of microseconds is asked for and answers like one.

    Args:
        us: the number at the instant that is looked at.
        slope: 1 if it grows with time, -1 if it falls.
        part: 1 for microseconds, a million for whole seconds; > 0.
        marks: where comparisons are noted.
    """

    __slots__ = ("marks", "part", "slope", "us")

    def __init__(self, us: int, slope: int, part: int, marks: _Marks) -> None:
        self.us, self.slope, self.part, self.marks = us, slope, part, marks

    def at(self, now_us: Instant) -> int:
        """The number it is at that instant; of one that goes on, one that goes on with it."""
        us = self.us + self.slope * (bare(now_us) - self.marks.now_us)
        if isinstance(now_us, Now):
            return cast(int, Now(us, self.slope, self.part, now_us.marks))
        return us // self.part

    @property
    def bare(self) -> int:
        """The number it is at the instant that is looked at; nothing is noted."""
        return self.us // self.part

    def _next_us(self) -> Length:
        """Microseconds until it is another number."""
        over = self.us % self.part
        return Length(self.part - over if self.slope > 0 else over + 1)

    def _taken(self) -> int:
        """The number, for what cannot be followed."""
        self.marks.note(self._next_us())
        return self.bare

    def _under(self, limit: int) -> bool:
        """Whether `us` is under the limit; notes when that turns."""
        under = self.us < limit
        if under and self.slope > 0:
            self.marks.note(limit - self.us)
        elif not under and self.slope < 0:
            self.marks.note(self.us - limit + 1)
        return under

    def _beside(self, other: Now) -> int | None:
        """By how much `us` is more than the other's; None if the two do not go on alike."""
        alike = (self.slope, self.part) == (other.slope, other.part)
        return self.us - other.us if alike else None

    def __lt__(self, other: Any) -> bool:
        if isinstance(other, Now):
            apart = self._beside(other)
            if apart is not None and (apart >= 0 or apart <= -self.part):
                return apart < 0
            return self._taken() < other._taken()
        if not math.isfinite(other):
            return bool(other > 0)
        return self._under(math.ceil(other) * self.part)

    def __ge__(self, other: Any) -> bool:
        return not self < other

    def __le__(self, other: Any) -> bool:
        if isinstance(other, Now):
            return not other < self
        if not math.isfinite(other):
            return bool(other > 0)
        return self._under((math.floor(other) + 1) * self.part)

    def __gt__(self, other: Any) -> bool:
        return not self <= other

    def __eq__(self, other: object) -> bool:
        if isinstance(other, Now):
            apart = self._beside(other)
            if apart is not None and (apart == 0 or abs(apart) >= self.part):
                return apart == 0
            return self._taken() == other._taken()
        if not isinstance(other, int | float) or not math.isfinite(other):
            return False
        return other == math.floor(other) and not self < other and self <= other

    def __ne__(self, other: object) -> bool:
        return not self == other

    def __bool__(self) -> bool:
        return self != 0

    def __hash__(self) -> int:
        return hash(self._taken())

    def __neg__(self) -> Now:
        # The whole part is rounded down; turned around it would be rounded up.
        return Now(self.part - 1 - self.us, -self.slope, self.part, self.marks)

    def __pos__(self) -> Now:
        return self

    def __abs__(self) -> Now:
        return -self if self < 0 else self

    def __round__(self, _digits: int | None = None) -> Now:
        return self

    def __add__(self, other: Any) -> Any:
        if isinstance(other, Now):
            if other.part == self.part == 1 and other.slope == -self.slope:
                return self.us + other.us
            return self._taken() + other._taken()
        if isinstance(other, int):
            return Now(self.us + other * self.part, self.slope, self.part, self.marks)
        return self._taken() + other

    __radd__ = __add__

    def __sub__(self, other: Any) -> Any:
        return self + -other

    def __rsub__(self, other: Any) -> Any:
        return -self + other

    def __floordiv__(self, other: Any) -> Any:
        if isinstance(other, int) and other > 0:
            return Now(self.us, self.slope, self.part * other, self.marks)
        return self._taken() // other

    def __rfloordiv__(self, other: Any) -> Any:
        return other // self._taken()

    def __mod__(self, other: Any) -> Any:
        return self._taken() % other

    def __divmod__(self, other: Any) -> Any:
        return self // other, self % other

    def __mul__(self, other: Any) -> Any:
        return self._taken() * other

    __rmul__ = __mul__

    def __truediv__(self, other: Any) -> Any:
        return self._taken() / other

    def __rtruediv__(self, other: Any) -> Any:
        return other / self._taken()

    def __int__(self) -> int:
        return self._taken()

    __index__ = __int__

    def __float__(self) -> float:
        return float(self._taken())

    def __format__(self, spec: str) -> str:
        return format(self._taken(), spec)

    def __str__(self) -> str:
        return str(self._taken())

    def __repr__(self) -> str:
        return f"Now({self.us}, {self.slope}, {self.part})"


def bare(us: int) -> int:
    """The plain number of an instant or a length that may go on; nothing is noted.

    For arithmetic that cannot be followed. Whoever takes it says with `holds` for how long what
    was made of it may be told.
    """
    return us.bare if isinstance(us, Now) else us


def holds(us: int, for_us: int) -> None:
    """What was made of the bare `us` may be told for so many microseconds, >= 1, and not longer."""
    if isinstance(us, Now):
        us.marks.note(for_us)


class Lasting(Generic[T]):
    """An answer and until when it holds. Two of them are never equal.

    Fields:
        until_us: before this instant nothing of the answer is another but the lengths of time
            and the instants in it that go on by themselves; `at` moves those.
    """

    def __init__(self, value: T, until_us: int) -> None:
        self._value, self.until_us = value, until_us
        self._moved = _mover(value)

    def at(self, now_us: Instant) -> T:
        """The answer at an instant not before it was made and before `until_us`.

        An answer may be made of others: to an instant that goes on (the one that `lasting` gives)
        it is noted how long this one holds, and its lengths go on with that instant.
        """
        holds(now_us, self.until_us - bare(now_us))
        return self._value if self._moved is None else cast(T, self._moved(now_us))


def lasting(answer: Callable[[int], T], now_us: Instant) -> Lasting[T]:
    """What `answer` says of an instant, and until when it says the same.

    Args:
        answer: a function of nothing that changes but the instant it is given.
        now_us: job time, microseconds.
    """
    marks = _Marks(now_us)
    # It answers like the int that every function of an instant takes.
    now = cast(int, Now(now_us, 1, 1, marks))
    try:
        value = answer(now)
    except (TypeError, AttributeError):
        # A part of a library took no other number than a plain one. The plain one may be told,
        # for no longer than this instant; and what is a fault, is one with it as well.
        return Lasting(answer(now_us), now_us + 1)
    return Lasting(value, marks.until_us)


class Kept(Generic[T]):
    """An answer that is made anew when it may be another, and only then."""

    def __init__(self) -> None:
        self._of: object = None
        self._lasting: Lasting[T] | None = None
        self._made_us = 0

    @property
    def until_us(self) -> int:
        """Until when the newest answer holds; at once if there is none."""
        return 0 if self._lasting is None else self._lasting.until_us

    def at(self, now_us: Instant, of: object, answer: Callable[[int], T]) -> T:
        """The answer at an instant, which may go on as in `Lasting.at`.

        Args:
            of: everything else that the answer is a function of; compared by `==`.
            answer: as in `lasting`.
        """
        kept, plain_us = self._lasting, Instant(bare(now_us))
        if kept is None or of != self._of or not self._made_us <= plain_us < kept.until_us:
            kept = self._lasting = lasting(answer, plain_us)
            self._of, self._made_us = of, plain_us
        return kept.at(now_us)


def _mover(value: Any) -> Callable[[Instant], Any] | None:
    """What makes the same with plain numbers in place of what goes on; None if nothing in it does.

    It touches nothing but what goes on: a list of hundreds is moved at each second.
    """
    # What a log holds does not go on, and a job is long: folds, which are not frozen, are not
    # looked into.
    match value:
        case Now():
            return value.at
        case tuple() | list():
            movers = _movers(enumerate(value), value)
            return _in_a_row(value, movers) if movers else None
        case dict():
            movers = _movers(value.items(), value.values())
            return (lambda now_us: {**value, **_told(movers, now_us)}) if movers else None
        case Struct() if value.__struct_config__.frozen:
            parts = astuple(value)
            movers = _movers(zip(value.__struct_fields__, parts, strict=True), parts)
            return (lambda now_us: replace(value, **_told(movers, now_us))) if movers else None
        case _:
            return None


# Most parts are of these kinds, and none of them goes on.
_STILL = frozenset({str, int, float, bool, bytes, type(None)})
_Movers = tuple[tuple[Any, Callable[[Instant], Any]], ...]


def _movers(placed: Iterable[tuple[Any, Any]], parts: Iterable[Any]) -> _Movers:
    """The parts that go on, each with its place and what moves it."""
    # Hundreds of moves say nothing that goes on; that is seen of all parts of one at once.
    if _STILL.issuperset(map(type, parts)):
        return ()
    return tuple(
        (place, mover)
        for place, part in placed
        if type(part) not in _STILL and (mover := _mover(part)) is not None
    )


def _told(movers: _Movers, now_us: Instant) -> dict[Any, Any]:
    return {place: mover(now_us) for place, mover in movers}


def _in_a_row(value: Sequence[Any], movers: _Movers) -> Callable[[Instant], Any]:
    def moved(now_us: Instant) -> Any:
        row = list(value)
        for place, mover in movers:
            row[place] = mover(now_us)
        return tuple(row) if isinstance(value, tuple) else row

    return moved
