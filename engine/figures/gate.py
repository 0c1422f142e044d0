"""The gate before a coating: panel against dew point, humidity, label limits, sun.

Each rule is answered by one sentence with its margin, whether it is met or not, so that the
worker sees how near a panel is and not only that it is refused. The gate asks and warns; it
never forbids, because who stands at the panel may know why it is right today.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Literal

from msgspec import Struct

from cartclock.engine.figures.air import (
    DEW_MARGIN_K,
    PANEL_RH_STOP,
    dew_margin_k,
    dew_point_c,
    panel_rh,
)
from cartclock.engine.figures.bounds import AIR_C, PANEL_C, RH, check

Weight = Literal["met", "warn", "ask"]
GateRule = Literal[
    "dew margin",
    "panel humidity",
    "air humidity",
    "panel temperature",
    "air temperature",
    "sun",
]

AIR_RH_STOP = 85.0
"""Relative humidity of the air, in percent, above which nothing is coated unless the label
gives a limit of its own.

Source: practice of ISO 8502-4, ASTM D3276 and SSPC-PA 1; read second-hand, in handbooks."""

USUAL_LOW_C = 10.0
USUAL_HIGH_C = 35.0
"""Usual application range, where the label gives none. Source: handbooks; read second-hand."""

WARM_PANEL_C = 30.0
"""A panel above this is coated later or in smaller sections.

Source: common practice, no source."""

_WEIGHTS: tuple[Weight, ...] = ("met", "warn", "ask")


class LabelLimits(Struct, frozen=True):
    """What the label of a product allows; None where it is silent.

    panel_low_c, panel_high_c: -40 to 120 C. air_low_c, air_high_c: -40 to 60 C.
    rh_low, rh_high: 1 to 100 %; a moisture-cure product has a lower limit too.

    Raises ValueError naming a limit that is out of range or a pair that is the wrong way
    round.
    """

    panel_low_c: float | None = None
    panel_high_c: float | None = None
    air_low_c: float | None = None
    air_high_c: float | None = None
    rh_low: float | None = None
    rh_high: float | None = None

    def __post_init__(self) -> None:
        for stem, end, bound in (
            ("panel", "_c", PANEL_C),
            ("air", "_c", AIR_C),
            ("rh", "", RH),
        ):
            names = f"{stem}_low{end}", f"{stem}_high{end}"
            low, high = (getattr(self, name) for name in names)
            for name, value in zip(names, (low, high), strict=True):
                if value is not None:
                    check(value, bound.named(name))
            if low is not None and high is not None and low > high:
                raise ValueError(f"{names[0]}: {low:g} is above {names[1]}, {high:g}")


NO_LIMITS = LabelLimits()


class Finding(Struct, frozen=True):
    """How one rule is answered.

    rule: which one.
    says: the sentence for the worker.
    weight: "met"; "warn" (shown, nothing asked); "ask" (coating asks for a reason).
    margin: distance to the nearest limit, below zero by how much it is broken; None for the
        sun, which has no number.
    unit: of the margin, "C" or "%"; "" without one.
    of_label: True if the limit stands on the label.
    """

    rule: GateRule
    says: str
    weight: Weight
    margin: float | None
    unit: str
    of_label: bool = False


def _cut(margin: float) -> float:
    """A margin as it is printed: cut down, so that 2.99 never reads like 3.0."""
    return math.floor(round(margin * 10.0, 6)) / 10.0


def _judged(margin: float, unit: str) -> str:
    cut = _cut(margin)
    return f"{cut:.1f} {unit} to spare" if margin >= 0.0 else f"{-cut:.1f} {unit} short"


def dew_findings(panel_c: float, air_c: float, rh: float) -> tuple[Finding, Finding]:
    """The dew point rule in both of its forms: as a margin, and as humidity at the panel.

    panel_c: -40 to 120 C, measured. air_c: -40 to 60 C. rh: 1 to 100 %. A panel exactly on
    a limit meets it.

    Raises ValueError naming the argument that is not a number or out of range.

    Source: practice of ISO 8502-4, ASTM D3276 and SSPC-PA 1; read second-hand, in handbooks.
    Either form asks; below 40 C the margin is the stricter one.
    """
    above_k = dew_margin_k(panel_c, air_c, rh)
    margin_k = above_k - DEW_MARGIN_K
    at_panel = panel_rh(panel_c, air_c, rh)
    spare = PANEL_RH_STOP - at_panel
    side = "above" if above_k >= 0.0 else "below"
    return (
        Finding(
            "dew margin",
            f"panel {panel_c:.1f} C is {abs(_cut(above_k)):.1f} C {side} the dew point of "
            f"{dew_point_c(air_c, rh):.1f} C; {DEW_MARGIN_K:g} C above it is wanted: "
            f"{_judged(margin_k, 'C')}",
            "met" if margin_k >= 0.0 else "ask",
            margin_k,
            "C",
        ),
        Finding(
            "panel humidity",
            f"air at the panel's temperature has {at_panel:.1f} % humidity; up to "
            f"{PANEL_RH_STOP:g} % is wanted: {_judged(spare, '%')}",
            "met" if spare >= 0.0 else "ask",
            spare,
            "%",
        ),
    )


def _range_finding(
    rule: GateRule,
    subject: str,
    value: float,
    unit: str,
    label: tuple[float | None, float | None],
    usual: tuple[float | None, float | None],
    usual_weight: Weight,
) -> Finding:
    sides = []
    for index, sign in enumerate((1.0, -1.0)):
        on_label, by_use = label[index], usual[index]
        limit = by_use if on_label is None else on_label
        if limit is not None:
            sides.append((sign * (value - limit), limit, on_label is not None, sign > 0.0))
    margin, limit, of_label, is_low = min(sides)
    whose = "the label's" if of_label else "the usual"
    way = "lowest" if is_low else "highest"
    weight: Weight = "met"
    if margin < 0.0:
        weight = "ask" if of_label else usual_weight
    return Finding(
        rule,
        f"{subject} {value:.1f} {unit}; {whose} {way} is {limit:g} {unit}: {_judged(margin, unit)}",
        weight,
        margin,
        unit,
        of_label,
    )


def _warm_panel(finding: Finding, panel_c: float) -> Finding:
    """The panel's finding, with the warning over 30 C where no limit speaks before it."""
    if finding.weight != "met" or panel_c <= WARM_PANEL_C:
        return finding
    says = f"{finding.says}; over {WARM_PANEL_C:g} C: wait for a cooler hour or cut the sections"
    return Finding(finding.rule, says, "warn", WARM_PANEL_C - panel_c, finding.unit, of_label=False)


def findings(
    panel_c: float,
    air_c: float,
    rh: float,
    limits: LabelLimits = NO_LIMITS,
    sun: bool = False,
) -> tuple[Finding, ...]:
    """Every rule of the gate with its answer: six findings, always in the same order.

    panel_c: -40 to 120 C, measured, never guessed. air_c: -40 to 60 C. rh: 1 to 100 %.
    limits: of the product's label. sun: True for direct sun on the panel.

    Over a limit of the label, under the dew point margin or in air too damp the weight is
    "ask"; outside the usual range, on a warm panel or in the sun it is "warn". A screening
    estimate: the panel in the shade of the reading is not the panel around the corner.

    Raises ValueError naming the argument that is not a number or out of range.

    Source: dew point and humidity by practice of ISO 8502-4, ASTM D3276 and SSPC-PA 1, and
    the usual 10 to 35 C, read second-hand; panel over 30 C and sun: common practice, no
    source; what asks and what only warns is our own judgement.
    """
    # First, because these check the readings that every later sentence prints.
    dew = dew_findings(panel_c, air_c, rh)
    usual = (USUAL_LOW_C, USUAL_HIGH_C)
    panel = _range_finding(
        "panel temperature",
        "panel",
        panel_c,
        "C",
        (limits.panel_low_c, limits.panel_high_c),
        usual,
        "warn",
    )
    shade = "direct sun on the panel: it heats while you work; move into the shade or wait"
    return (
        *dew,
        _range_finding(
            "air humidity",
            "air humidity",
            rh,
            "%",
            (limits.rh_low, limits.rh_high),
            (None, AIR_RH_STOP),
            "ask",
        ),
        _warm_panel(panel, panel_c),
        _range_finding(
            "air temperature",
            "air",
            air_c,
            "C",
            (limits.air_low_c, limits.air_high_c),
            usual,
            "warn",
        ),
        Finding("sun", shade if sun else "no direct sun", "warn" if sun else "met", None, ""),
    )


def worst(answers: Iterable[Finding]) -> Weight:
    """The heaviest weight among findings; "met" for none of them.

    Source: our own judgement.
    """
    return max((answer.weight for answer in answers), key=_WEIGHTS.index, default="met")
