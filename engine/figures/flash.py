"""How long a film flashes: the label's time, moved to this panel and air, and to this worker.

The logarithm of the time is a straight line in what drives the flash: heat of the panel,
water in the air, moving air. The label sets the level, general knowledge the slopes, and the
worker's own watched sections move both. The answer is a band, not a moment, and where the
line cannot be trusted the label stands alone, with the reason. The timer advises, the eye
decides.

Source of the model, its spreads and thresholds: our own judgement. Evaporation energy, from
vapour pressures (Antoine) of isopropyl alcohol 45.0, n-butyl acetate 44.4 and water 44.0
kJ/mol: read second-hand.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Literal

from msgspec import Struct

from cartclock.engine.figures.air import ZERO_C_K, panel_rh, root, saturation_pa
from cartclock.engine.figures.bounds import AIR_C, PANEL_C, RH, Bound, check
from cartclock.engine.figures.gate import NO_LIMITS, LabelLimits, findings

FilmKind = Literal["solvent", "moisture cure", "water"]

FILM_KINDS: tuple[FilmKind, ...] = ("solvent", "moisture cure", "water")
TERM_WORDS = ("level of the label", "panel and drying air", "water in the air", "moving air")
ENERGY_K = 45_000.0 / 8.314
SLOPES, SLOPE_SDS = (1.0, 0.25, 0.35), (0.30, 0.25, 0.30)
SCATTER, SCATTER_WORTH = 0.30, 6
"""Scatter of one section about the line, and how many sections that knowledge is worth."""

CENTRAL_80, SINGLE_SD = 2.563, 0.35
ROW_SD = 0.05
"""Rows of one label are rounded by about this much; the rest of their spread they share."""

REFERENCE_REACH = 0.03
"""A climate that moves no term by more than this is the label's own."""

MODEL_PANEL_C, MODEL_AIR_C, MODEL_RH = (5.0, 45.0), (0.0, 45.0), (10.0, 90.0)
FACTOR_RANGE = (0.4, 2.5)
OWN_NEAR, OWN_REACH = 6, 0.5
OWN_LOOK = 3
"""From so many own watched sections near a climate on, they say when to look."""

WIDEST, OUTLIER_SDS = 4.0, 3.0
_SECONDS = Bound("seconds", 0.1, 86_400.0, "s")


class FlashClimate(Struct, frozen=True):
    """panel_c: -40 to 120 C. air_c: -40 to 60 C. rh: 1 to 100 % (a solvent does not ask for
    it). moving: fan or wind on the panel. Raises ValueError naming what is out of range."""

    panel_c: float
    air_c: float
    rh: float
    moving: bool = False

    def __post_init__(self) -> None:
        check(self.panel_c, PANEL_C)
        check(self.air_c, AIR_C)
        check(self.rh, RH)


class LabelRange(Struct, frozen=True):
    """climate: what the label names, None if nothing. low_s, high_s: its range, 0.1 to 86400 s,
    equal for a single number. Raises ValueError naming what cannot be."""

    climate: FlashClimate | None
    low_s: float
    high_s: float

    def __post_init__(self) -> None:
        check(self.low_s, _SECONDS.named("low_s"))
        check(self.high_s, _SECONDS.named("high_s"))
        if self.low_s > self.high_s:
            raise ValueError(f"low_s: {self.low_s:g} is above high_s, {self.high_s:g}")


class OwnFlash(Struct, frozen=True):
    """seconds: 0.1 to 86400, last touch to ready. watched: the worker marked the moment the
    film was seen ready; a wipe at our own mark is False and teaches nothing. whose: who watched
    it and others like it, where that was not the worker; "" if it was."""

    seconds: float
    climate: FlashClimate
    watched: bool = True
    whose: str = ""

    def __post_init__(self) -> None:
        check(self.seconds, _SECONDS)


class Term(Struct, frozen=True):
    """x times slope, taken from the logarithm, is `times` on the time. The first term is the
    level, and its `times` is seconds; all multiplied give p50."""

    words: str
    x: float
    slope: float
    times: float


class Reckoning(Struct, frozen=True):
    """What the line gives, trusted or not. spread: of the logarithm, with `degrees` of
    freedom."""

    terms: tuple[Term, ...]
    p10_s: float
    p50_s: float
    p90_s: float
    spread: float
    degrees: int


class Prediction(Struct, frozen=True):
    """p10_s: start looking. p50_s: expected. p90_s: nine in ten are ready. off_by_s: the
    earlier of p90 and the label's longest. refusals: sentences; with any of them the marks are
    the label's alone. look_s: with refusals, when to start looking all the same, because the
    film may be ready before the label says, or own sections say when; None: at the label's first
    mark. near: so many own watched sections set it; 0: the label and the line did."""

    p10_s: float
    p50_s: float
    p90_s: float
    off_by_s: float
    refusals: tuple[str, ...]
    look_s: float | None = None
    near: int = 0


def _share_within(t: float, degrees: int) -> float:
    """Share of Student's t between -t and t, by the finite series for whole degrees."""
    angle, odd = math.atan(t / math.sqrt(degrees)), degrees % 2
    cosine = math.cos(angle)
    term = cosine if odd else 1.0
    total = term if degrees > 1 else 0.0
    for upper in range(2 + odd, degrees - 1, 2):
        term *= cosine * cosine * (upper - 1) / upper
        total += term
    series = math.sin(angle) * total
    return (angle + series) * 2.0 / math.pi if odd else series


@lru_cache(maxsize=512)
def t_quantile(probability: float, degrees: int) -> float:
    """Quantile of Student's t. probability: 0.0005 to 0.9995. degrees: whole, 1 to 100000.

    Raises ValueError naming the argument out of range.

    Source: Abramowitz and Stegun, 26.7.3 and 26.7.4, from memory; solved by halving.
    """
    check(probability, Bound("probability", 0.0005, 0.9995, ""))
    check(degrees, Bound("degrees", 1, 100_000, ""))
    within = abs(2.0 * probability - 1.0)
    t = root(lambda guess: _share_within(guess, degrees) - within, 0.0, 1000.0)
    return math.copysign(t, probability - 0.5)


def _pull_pa(climate: FlashClimate) -> float:
    """What carries water off the film, in Pa; 0 or less where the panel is wet with dew."""
    vapour_pa = saturation_pa(climate.air_c) * climate.rh / 100.0
    return vapour_pa * (100.0 / panel_rh(climate.panel_c, climate.air_c, climate.rh) - 1.0)


def _place(kind: FilmKind, climate: FlashClimate, origin: FlashClimate) -> list[float] | None:
    """The climate on the line: 1 and the three x with their sign; None where water stays."""
    x1 = ENERGY_K / (origin.panel_c + ZERO_C_K) - ENERGY_K / (climate.panel_c + ZERO_C_K)
    x2 = 0.0
    if kind == "water":
        pulls = _pull_pa(climate), _pull_pa(origin)
        if min(pulls) <= 0.0:
            return None
        x1 = math.log(pulls[0] / pulls[1])
    elif kind == "moisture cure":
        here, there = (
            saturation_pa(c.air_c) * c.rh / (c.air_c + ZERO_C_K) for c in (climate, origin)
        )
        x2 = math.log(here / there)
    return [1.0, -x1, -x2, float(origin.moving) - float(climate.moving)]


def _dot(left: Sequence[float], right: Sequence[float]) -> float:
    return math.fsum(a * b for a, b in zip(left, right, strict=True))


class _Line:
    """Normal-inverse-gamma knowledge of the line; `v` is its covariance over the scatter's."""

    def __init__(self, level: float, variance: float) -> None:
        self.m = [level, *SLOPES]
        spreads = (variance, *(sd * sd for sd in SLOPE_SDS))
        self.v = [[s / SCATTER**2 * (i == j) for j in range(4)] for i, s in enumerate(spreads)]
        self.degrees, self.b = SCATTER_WORTH, SCATTER_WORTH * SCATTER**2 / 2.0

    def move(self, x: Sequence[float], y: float, noise: float) -> float:
        """Take in y seen at x with a noise of so many scatters; the surprise, over its size."""
        k = [_dot(row, x) for row in self.v]
        miss, size = y - _dot(x, self.m), noise + _dot(x, k)
        self.m = [m + ki * miss / size for m, ki in zip(self.m, k, strict=True)]
        self.v = [
            [v - ki * kj / size for v, kj in zip(row, k, strict=True)]
            for row, ki in zip(self.v, k, strict=True)
        ]
        return miss * miss / size

    def learn(self, x: Sequence[float], y: float) -> None:
        self.b += self.move(x, y, 1.0) / 2.0
        self.degrees += 1

    def spread(self, x: Sequence[float]) -> float:
        own = _dot(x, [_dot(row, x) for row in self.v])
        return math.sqrt(2.0 * self.b / self.degrees * (1.0 + own))


def _rows(label: LabelRange | Sequence[LabelRange]) -> list[LabelRange]:
    rows = [label] if isinstance(label, LabelRange) else list(label)
    if not rows:
        raise ValueError("label: no row; give the time that is printed on the pack")
    return rows


def _usable(rows: Sequence[LabelRange], kind: FilmKind) -> list[tuple[LabelRange, FlashClimate]]:
    """Rows whose climate is named and, for water, dries at all."""
    if kind not in FILM_KINDS:
        raise ValueError(f"kind: {kind!r} is none of {', '.join(FILM_KINDS)}")
    named = [(row, row.climate) for row in rows if row.climate is not None]
    return [(row, climate) for row, climate in named if _place(kind, climate, climate)]


def _fitted(
    placed: Sequence[tuple[LabelRange, FlashClimate]], own: Sequence[OwnFlash], kind: FilmKind
) -> _Line:
    """The line through the rows of the label and the watched sections."""
    origin = placed[0][1]
    sds = [
        SINGLE_SD if row.low_s == row.high_s else math.log(row.high_s / row.low_s) / CENTRAL_80
        for row, _ in placed
    ]
    apart = [min(ROW_SD, sd) ** 2 for sd in sds]
    levels = [math.log(row.low_s * row.high_s) / 2.0 for row, _ in placed]
    line = _Line(levels[0], apart[0])
    for (_, climate), level, variance in list(zip(placed, levels, apart, strict=True))[1:]:
        x = _place(kind, climate, origin)
        if x is not None:
            line.move(x, level, variance / SCATTER**2)
    shared = math.fsum(sd * sd for sd in sds) / len(sds) - math.fsum(apart) / len(apart)
    line.v[0][0] += shared / SCATTER**2
    for flash in own:
        x = _place(kind, flash.climate, origin)
        if flash.watched and x is not None:
            line.learn(x, math.log(flash.seconds))
    if line.m[1] < 0.0:
        # A hotter panel does not flash slower, whatever a few sections seem to say: the
        # slope is held at nothing and the rest takes its most probable place beside it.
        line.b += line.move([0.0, 1.0, 0.0, 0.0], 0.0, 0.0) / 2.0
    return line


def terms(
    label: LabelRange | Sequence[LabelRange],
    climate: FlashClimate,
    own: Sequence[OwnFlash],
    kind: FilmKind,
) -> Reckoning | None:
    """The reckoning term by term, whether it may be trusted or not; for whoever asks to see it.

    Arguments, errors and source as for `predict`: our own judgement. None if no row of the
    label names a climate, or if water does not dry from this panel at all.
    """
    placed = _usable(_rows(label), kind)
    x = _place(kind, climate, placed[0][1]) if placed else None
    if x is None:
        return None
    line = _fitted(placed, own, kind)
    middle, spread = _dot(x, line.m), line.spread(x)
    reach = t_quantile(0.9, line.degrees) * spread
    p10_s, p50_s, p90_s = (math.exp(middle + way * reach) for way in (-1.0, 0.0, 1.0))
    parts = tuple(
        Term(words, xi, slope, math.exp(xi * slope))
        for words, xi, slope in zip(TERM_WORDS, x, line.m, strict=True)
    )
    return Reckoning(parts, p10_s, p50_s, p90_s, spread, line.degrees)


def outlier(
    flash: OwnFlash,
    label: LabelRange | Sequence[LabelRange],
    own: Sequence[OwnFlash],
    kind: FilmKind,
) -> str | None:
    """The question to ask before a section is learned from; None if it may be learned.

    flash: the section in doubt. own: those learned before, without it. Asked when the
    logarithm of its time is over 3 standard deviations from the line: a forgotten press.

    Raises ValueError as `predict`. Source: our own judgement.
    """
    reckoned = terms(label, flash.climate, own, kind)
    if reckoned is None:
        return None
    if abs(math.log(flash.seconds / reckoned.p50_s)) <= OUTLIER_SDS * reckoned.spread:
        return None
    return (
        f"It took {flash.seconds:.0f} s where about {reckoned.p50_s:.0f} s was expected. "
        "Was a press forgotten, or is it to be learned from?"
    )


def _sentence(doubt: str, end: str = "the label only") -> str:
    return f"{doubt[0].upper()}{doubt[1:]}: {end}."


def early_text(found: Prediction, when: str) -> str:
    """Why LOOK does not stand at the label's first mark, as a sentence; "" if it does.

    when: `look_s` in words.
    """
    if found.look_s is None:
        return ""
    if found.near:
        return f"Look from {when}, by {found.near} films you watched near this climate."
    return ready_early(when)


def ready_early(when: str) -> str:
    """That a film may be ready before its label says, as a sentence. when: in words."""
    return f"May be ready early: look from {when}."


def _near(climate: FlashClimate, own: Sequence[OwnFlash], kind: FilmKind) -> int:
    """How many own watched sections lie near a climate."""
    places = [_place(kind, flash.climate, climate) for flash in own if flash.watched]
    return sum(place is not None and abs(place[1]) < OWN_REACH for place in places)


def _model_doubts(
    reckoned: Reckoning,
    climate: FlashClimate,
    there: FlashClimate,
    own: Sequence[OwnFlash],
    kind: FilmKind,
) -> list[str]:
    """Why the line itself is not to be trusted here."""
    doubts = []
    for name, value, (low, high), unit in (
        ("panel", climate.panel_c, MODEL_PANEL_C, "C"),
        ("air", climate.air_c, MODEL_AIR_C, "C"),
        ("humidity", climate.rh, MODEL_RH, "%"),
    ):
        if not low <= value <= high:
            doubts.append(f"{name} {value:g} {unit} is outside {low:g} to {high:g} {unit}")
    moved = _place(kind, climate, there) or [0.0] * 4
    factor = math.exp(
        math.fsum(t.slope * dx for t, dx in zip(reckoned.terms[1:], moved[1:], strict=True))
    )
    near = _near(climate, own, kind)
    if not FACTOR_RANGE[0] <= factor <= FACTOR_RANGE[1] and near < OWN_NEAR:
        doubts.append(
            f"this climate makes it {factor:.2g} times the label's time, outside "
            f"{FACTOR_RANGE[0]:g} to {FACTOR_RANGE[1]:g}, with {near} own watched sections near "
            f"it, not {OWN_NEAR}"
        )
    width = reckoned.p90_s / reckoned.p10_s
    if width > WIDEST:
        doubts.append(
            f"it could be ready at any time from {reckoned.p10_s:.0f} to {reckoned.p90_s:.0f} s"
        )
    return doubts


def predict(
    label: LabelRange | Sequence[LabelRange],
    climate: FlashClimate,
    own: Sequence[OwnFlash],
    kind: FilmKind,
    limits: LabelLimits = NO_LIMITS,
) -> Prediction:
    """When the film is ready, after the last touch, in seconds; or the label alone, and why.

    label: one row or several of one product. climate: at the panel, now. own: this worker's
    sections with this product, of which only watched ones count. kind: one of `FILM_KINDS`.
    limits: of the label.

    At the climate of a row the label is the answer and nothing is refused; own sections
    sharpen it there too. Elsewhere each reason against the line is a sentence, and the marks
    are those of the nearest row; expected later than its longest time, that time is expected.
    A line that is not trusted with a time is trusted with a warning: expected before the row's
    shortest time, the film is looked at from `look_s` on, and from 3 own watched sections near
    the climate on they set it, earlier or later.

    Raises ValueError naming a kind that is none, or a label without a row.

    Source: our own judgement.
    """
    rows = _rows(label)
    placed = _usable(rows, kind)
    if not placed:
        low_s, high_s = min(row.low_s for row in rows), min(row.high_s for row in rows)
        why = _sentence("the label names no climate for its time")
        return Prediction(low_s, math.sqrt(low_s * high_s), high_s, high_s, (why,))
    moves = [_place(kind, climate, at) or [1.0, -math.inf, 0.0, 0.0] for _, at in placed]
    shifts = [[abs(s * dx) for s, dx in zip(SLOPES, move[1:], strict=True)] for move in moves]
    nearest = min(range(len(placed)), key=lambda i: (math.fsum(shifts[i]), placed[i][0].high_s))
    row, there = placed[nearest]
    middle_s = math.sqrt(row.low_s * row.high_s)
    reckoned = terms(rows, climate, own, kind)
    at_home = max(shifts[nearest]) <= REFERENCE_REACH
    if at_home and not any(flash.watched for flash in own):
        return Prediction(row.low_s, middle_s, row.high_s, row.high_s, ())
    doubts = [
        found.says
        for found in findings(climate.panel_c, climate.air_c, climate.rh, limits)
        if found.weight == "ask" and (found.of_label or found.rule == "dew margin")
    ]
    notes = []
    look_s: float | None = None
    near = 0
    if reckoned is not None:
        doubts += _model_doubts(reckoned, climate, there, own, kind)
        if reckoned.p50_s > row.high_s:
            notes.append(f"Expected after {reckoned.p50_s:.0f} s: the label's longest is shown.")
            middle_s = row.high_s
        elif doubts:
            near = _near(climate, own, kind)
            if near >= OWN_LOOK:
                look_s = min(reckoned.p10_s, row.high_s)
            elif reckoned.p50_s < row.low_s:
                look_s = min(reckoned.p10_s, row.low_s)
    if reckoned is None or ((doubts or notes) and not at_home):
        end = "the label only" if look_s is None else "no time is expected"
        refusals = (*(_sentence(doubt, end) for doubt in doubts), *notes)
        return Prediction(
            row.low_s,
            middle_s,
            row.high_s,
            row.high_s,
            refusals,
            look_s,
            near if near >= OWN_LOOK else 0,
        )
    p10_s, p50_s = min(reckoned.p10_s, row.high_s), min(reckoned.p50_s, row.high_s)
    return Prediction(p10_s, p50_s, reckoned.p90_s, min(reckoned.p90_s, row.high_s), ())
