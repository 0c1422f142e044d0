"""A shift as tape along its hours: what was in hand, how, and where films were in play."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from cartclock.engine.body.course import Course
from cartclock.engine.body.margin_hours import MarginHour, margin_hours
from cartclock.engine.dates import local
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.figures.air import TemperatureUnit
from cartclock.engine.figures.limits import LimitVerdict
from cartclock.engine.hours.account import Account
from cartclock.engine.hours.partition import Piece, PieceKind
from cartclock.engine.paper.degrees import signed_margin
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.page.strip import Lies, Means, Strip, StripScale, StripSpan
from cartclock.engine.paper.said import hour
from cartclock.engine.record.applied import Asked
from cartclock.engine.times import Instant

LEGEND: Means = (
    ("full", "hands on"),
    ("half", "standing by"),
    ("hatch", "other work"),
    ("low", "break"),
)

HEAT_LEGEND: Means = (("full", "over"), ("half", "caution"), ("low", "clear"))
_HEAT: dict[LimitVerdict, Lies] = {"over": "full", "caution": "half", "clear": "low"}

# So many hours have a mark each; of a longer shift only every second, third.
_MOST_MARKS = 14
_LIES: dict[PieceKind, Lies] = {
    "hands": "full",
    "standing by": "half",
    "other": "hatch",
    "break": "low",
    "off": "low",
}


def heat_legend(unit: TemperatureUnit) -> str:
    """What the row of heat is of, for its legend."""
    return f"Heat, least {unit} under the limit by the hour, screening estimate"


def put_strips_of(
    medium: Medium,
    account: Account,
    windows: Iterable[Asked],
    zone: str,
    name: Callable[[Piece], str],
    heat: Course | None = None,
    unit: TemperatureUnit = "C",
) -> None:
    """Rows of tape: names where another begins, the pieces, films, and the heat by the hour.

    windows: of all jobs of the shift, those of other shifts among them. name: what a piece in
    hand is called. heat: of the same shift; None: no row of it. unit: of its margins.
    """
    base_us = _hour_before(account.on_us, zone)
    hours = max(1, -(-(account.end_us - base_us) // HOUR_US))
    step = -(-hours // _MOST_MARKS)
    marks = [(at, Instant(base_us + at * HOUR_US)) for at in range(0, hours + 1, step)]
    scale = StripScale(hours, tuple((at, f"{local(us, zone):%H}") for at, us in marks))

    def place(at_us: int) -> float:
        return min(hours, max(0.0, (at_us - base_us) / HOUR_US))

    strips = [
        Strip("Stage", *_names(account, zone, name, place)),
        Strip("Shift", tuple(_pieces(account.pieces, place))),
    ]
    films = _films(account, windows)
    if films:
        spans = (StripSpan(place(start), place(end), "half") for start, end in films)
        strips.append(Strip("Films", tuple(spans)))
    hot = () if heat is None else margin_hours(heat, base_us)
    if hot:
        spans = (
            StripSpan(
                place(one.from_us),
                place(one.to_us),
                _HEAT[one.verdict],
                signed_margin(one.margin_c, unit),
            )
            for one in hot
        )
        strips.append(Strip("Heat", tuple(spans), _heat_words(hot, zone, unit)))
    medium.strips(scale, strips)


def _heat_words(hot: Iterable[MarginHour], zone: str, unit: TemperatureUnit) -> str:
    return ", ".join(
        f"{hour(one.from_us, zone)} {one.verdict} {signed_margin(one.margin_c, unit)}"
        for one in hot
    )


def _hour_before(at_us: Instant, zone: str) -> int:
    here = local(at_us, zone)
    return at_us - ((here.minute * 60 + here.second) * 1_000_000 + here.microsecond)


def _names(
    account: Account, zone: str, name: Callable[[Piece], str], place: Callable[[int], float]
) -> tuple[tuple[StripSpan, ...], str]:
    """Where each name begins, up to the next; and the same in words."""
    begun: list[tuple[str, int]] = []
    for piece in account.pieces:
        if piece.kind in ("hands", "standing by") and (not begun or begun[-1][0] != name(piece)):
            begun.append((name(piece), piece.start_us))
    ends = [start for _name, start in begun[1:]]
    ends += [account.end_us] if begun else []
    spans = tuple(
        StripSpan(place(start), place(end), "none", said)
        for (said, start), end in zip(begun, ends, strict=True)
        if end > start
    )
    return spans, ", ".join(f"{hour(Instant(start), zone)} {said}" for said, start in begun)


def _pieces(pieces: Sequence[Piece], place: Callable[[int], float]) -> Iterable[StripSpan]:
    """One piece of tape for what is laid alike without a hole between."""
    run: list[Piece] = []
    for piece in pieces:
        if run and (piece.kind != run[-1].kind or piece.stage != run[-1].stage):
            yield _span(run, place)
            run = []
        run.append(piece)
    if run:
        yield _span(run, place)


def _span(run: Sequence[Piece], place: Callable[[int], float]) -> StripSpan:
    lies = _LIES.get(run[0].kind, "none")
    return StripSpan(place(run[0].start_us), place(run[-1].end_us), lies)


def _films(account: Account, windows: Iterable[Asked]) -> list[tuple[int, int]]:
    """When a film was in play in this shift, from last touch to taken up; joined."""
    found: list[tuple[int, int]] = []
    for one in sorted(windows, key=lambda window: window.last_us):
        end = one.closes_us if one.ended_us is None else one.ended_us
        start, end = max(one.last_us, account.on_us), min(end, account.end_us)
        if one.kind == "gap" or end <= start:
            continue
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        else:
            found.append((start, end))
    return found
