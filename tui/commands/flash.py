"""`cartclock work-out flash`: when a film is ready, term by term."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import click

from cartclock.tui.commands.given import (
    ALONE,
    ESTIMATE,
    answering,
    for_programs,
    humidity,
    seconds,
    settled_unit,
    shown,
    split,
    temperature,
)

if TYPE_CHECKING:
    from cartclock.engine.figures.air import TemperatureUnit
    from cartclock.engine.figures.flash import FlashClimate as FlashClimate
    from cartclock.engine.figures.flash import LabelRange, OwnFlash


@click.command(epilog=ALONE)
@click.option("--panel", required=True, help="Panel temperature.")
@click.option("--air", required=True, help="Air temperature.")
@click.option("--rh", required=True, help="Relative humidity in percent.")
@click.option("--label", "labels", required=True, multiple=True, help="Seconds, 60-120, or 2m-5m.")
@click.option("--at", "ats", multiple=True, help="Climate of the label, AIR/RH like 20/50.")
@click.option(
    "--kind",
    type=click.Choice(["solvent", "moisture cure", "water"]),
    default="solvent",
    show_default=True,
)
@click.option("--moving", is_flag=True, help="A fan or wind on the panel.")
@click.option(
    "--own",
    "owns",
    multiple=True,
    help="A section you watched, SECONDS@PANEL/AIR/RH like 48@31/32/42.",
)
@for_programs
@answering
def flash(
    panel: str,
    air: str,
    rh: str,
    labels: Sequence[str],
    ats: Sequence[str],
    kind: str,
    moving: bool,
    owns: Sequence[str],
) -> tuple[Sequence[str], Mapping[str, object]]:
    """When a film is ready at this panel and air, term by term."""
    from cartclock.engine.figures import flash as figures
    from cartclock.engine.figures.measured import AIR, PANEL

    panel_c, air_c = temperature("--panel", panel, PANEL), temperature("--air", air, AIR)
    at = figures.FlashClimate(panel_c, air_c, humidity("--rh", rh), moving)
    rows = _label_rows(labels, ats)
    own = [_own_flash(text) for text in owns]
    kind_: Any = kind
    reckoned = figures.terms(rows, at, own, kind_)
    found = figures.predict(rows, at, own, kind_)
    unit = settled_unit()
    lines = [f"{kind} film, {_spoken_climate(at, unit)}"]
    for row in rows:
        where = "no climate named" if row.climate is None else _spoken_climate(row.climate, unit)
        lines.append(f"label: {row.low_s:g} to {row.high_s:g} s, {where}")
    lines += [f"watched: {one.seconds:g} s, {_spoken_climate(one.climate, unit)}" for one in own]
    if reckoned is None:
        lines += ["", "No reckoning: nothing to start from, or the film does not dry here."]
    else:
        lines += ["", f"  {'term':<24}{'x':>9}{'slope':>9}{'times':>9}"]
        for term in reckoned.terms:
            x = term.x + 0.0
            lines.append(f"  {term.words:<24}{x:>9.3f}{term.slope:>9.3f}{term.times:>9.3f}")
        lines.append(
            f"  all multiplied: {reckoned.p50_s:.0f} s; four in five from {reckoned.p10_s:.0f} to "
            f"{reckoned.p90_s:.0f} s"
        )
    lines += [""]
    lines += found.refusals
    lines += [] if found.look_s is None else [figures.early_text(found, f"{found.look_s:.0f} s")]
    lines += [
        f"start looking  {found.p10_s:>6.0f} s",
        f"expected       {found.p50_s:>6.0f} s",
        f"nine in ten    {found.p90_s:>6.0f} s",
        f"off by         {found.off_by_s:>6.0f} s",
        f"{ESTIMATE} The timer advises, the eye decides.",
    ]
    data = {
        "terms": []
        if reckoned is None
        else [
            {"words": t.words, "x": shown(t.x), "slope": shown(t.slope), "times": shown(t.times)}
            for t in reckoned.terms
        ],
        "reckoned_s": None if reckoned is None else shown(reckoned.p50_s),
        "p10_s": shown(found.p10_s),
        "p50_s": shown(found.p50_s),
        "p90_s": shown(found.p90_s),
        "off_by_s": shown(found.off_by_s),
        "refusals": list(found.refusals),
        "look_s": None if found.look_s is None else shown(found.look_s),
    }
    return lines, data


def _spoken_climate(climate: FlashClimate, unit: TemperatureUnit) -> str:
    from cartclock.engine.figures.air import full_degrees

    moving = ", moving air" if climate.moving else ""
    panel, air = full_degrees(climate.panel_c, unit), full_degrees(climate.air_c, unit)
    said = f"panel and air {air}" if panel == air else f"panel {panel}, air {air}"
    return f"{said}, {climate.rh:g} % RH{moving}"


def _label_rows(labels: Sequence[str], ats: Sequence[str]) -> list[LabelRange]:
    """Rows of the label; a label's panel is as warm as its air."""
    from cartclock.engine.figures.flash import FlashClimate, LabelRange
    from cartclock.engine.figures.measured import AIR

    if ats and len(ats) != len(labels):
        raise ValueError("--at: give one for each --label, or none at all")
    rows = []
    for index, text in enumerate(labels):
        low, _, high = text.partition("-")
        low_s = seconds(low)
        high_s = seconds(high) if high else low_s
        climate = None
        if ats:
            air, rh = split("--at", ats[index], "20/50", 2)
            air_c = temperature("--at", air, AIR)
            climate = FlashClimate(air_c, air_c, humidity("--at", rh))
        rows.append(LabelRange(climate, low_s, high_s))
    return rows


def _own_flash(text: str) -> OwnFlash:
    from cartclock.engine.figures.flash import FlashClimate, OwnFlash
    from cartclock.engine.figures.measured import AIR, PANEL

    took, _, where = text.partition("@")
    panel, air, rh = split("--own", where, "48@31/32/42", 3)
    panel_c, air_c = temperature("--own", panel, PANEL), temperature("--own", air, AIR)
    climate = FlashClimate(panel_c, air_c, humidity("--own", rh))
    return OwnFlash(seconds(took), climate)
