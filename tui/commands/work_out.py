"""`cartclock work-out`: one figure at a time, with its terms, away from any job.

stdout is data, stderr is talk; bad input leaves with 2 and one sentence. What a branch needs
is imported where it begins.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import click

from cartclock.engine.times import Instant
from cartclock.tui.commands.flash import flash
from cartclock.tui.commands.given import (
    ALONE,
    ESTIMATE,
    answering,
    for_programs,
    humidity,
    number,
    settled_unit,
    shown,
    split,
    temperature,
)
from cartclock.tui.commands.mix import mix


@click.group("work-out", epilog=ALONE, context_settings={"help_option_names": ["-h", "--help"]})
def work_out() -> None:
    """Reckon one thing: mix, flash, heat, air, vapour."""


work_out.add_command(mix)
work_out.add_command(flash)


# Heat.


@work_out.command(epilog=ALONE)
@click.option("--air", help="Air temperature.")
@click.option("--rh", help="Relative humidity in percent.")
@click.option("--globe", help="Black globe temperature.")
@click.option("--wbgt", help="WBGT from a meter.")
@click.option(
    "--place",
    type=click.Choice(["indoors", "outdoor shade", "cloud", "sun"]),
    default="indoors",
    show_default=True,
)
@click.option(
    "--moving",
    type=click.Choice(["still", "fan", "windy"]),
    default="still",
    show_default=True,
    help="How the air moves.",
)
@click.option(
    "--effort",
    type=click.Choice(["light", "moderate", "heavy"]),
    default="moderate",
    show_default=True,
)
@click.option("--acclimatized", is_flag=True, help="Used to the heat for a week or two.")
@click.option("--rest", "rest_place", help="Where rests are taken, AIR/RH; else the work place.")
@for_programs
@answering
def heat(
    air: str | None,
    rh: str | None,
    globe: str | None,
    wbgt: str | None,
    place: str,
    moving: str,
    effort: str,
    acclimatized: bool,
    rest_place: str | None,
) -> tuple[Sequence[str], Mapping[str, object]]:
    """Heat index, WBGT and how many minutes of the hour may be work."""
    from cartclock.engine.body.climate import climate
    from cartclock.engine.body.heat_hour import heat_hour, heat_lines
    from cartclock.engine.facts.events import ReadingTaken
    from cartclock.engine.figures.measured import AIR, GLOBE, WBGT_METER

    words: Any = {"place": place, "moving": moving}
    reading = ReadingTaken(
        air_c=None if air is None else temperature("--air", air, AIR),
        rh=None if rh is None else humidity("--rh", rh),
        globe_c=None if globe is None else temperature("--globe", globe, GLOBE),
        wbgt_c=None if wbgt is None else temperature("--wbgt", wbgt, WBGT_METER),
        **words,
    )
    if reading.wbgt_c is None and (reading.air_c is None or reading.rh is None):
        raise ValueError("give --air and --rh, or --wbgt from a meter")
    if (reading.air_c is None) != (reading.rh is None):
        raise ValueError("--air and --rh go together; give both or neither")
    rest = None
    if rest_place is not None:
        rest_air, rest_rh = split("--rest", rest_place, "26/50", 2)
        rest = ReadingTaken(
            air_c=temperature("--rest", rest_air, AIR), rh=humidity("--rest", rest_rh)
        )
    effort_: Any = effort
    hour = heat_hour(climate(Instant(0), reading), effort_, acclimatized, rest)
    one = hour.climate
    data = {
        "heat_index_f": shown(one.index_f),
        "heat_index_bin": one.index_bin if one.index_f is not None or one.off_table else None,
        "heat_index_at_least": one.at_least,
        "wbgt_c": shown(one.wbgt_c),
        "wbgt_from": one.wbgt_from,
        "ral_c": shown(hour.ral_c),
        "rel_c": shown(hour.rel_c),
        "limit": "REL" if acclimatized else "RAL",
        "band": hour.band,
        "limit_minutes": shown(hour.limit_minutes),
        "cool_minutes": shown(hour.cool_minutes),
        "table_minutes": hour.table_minutes,
        "minutes": shown(hour.minutes),
        "cautions": list(hour.cautions),
        "screening_estimate": True,
    }
    return heat_lines(hour, settled_unit()), data


# Air and vapour.


@work_out.command(epilog=ALONE)
@click.option("--air", required=True, help="Air temperature.")
@click.option("--rh", required=True, help="Relative humidity in percent.")
@click.option("--panel", help="Panel temperature, measured.")
@click.option("--sun", is_flag=True, help="Direct sun on the panel.")
@for_programs
@answering
def air(
    air: str, rh: str, panel: str | None, sun: bool
) -> tuple[Sequence[str], Mapping[str, object]]:
    """Dew point and wet bulb; with a panel, how near it is to the dew and what the gate says."""
    from cartclock.engine.facts.words import said_in
    from cartclock.engine.figures import air as figures
    from cartclock.engine.figures.gate import findings
    from cartclock.engine.figures.measured import AIR, PANEL

    air_c, percent = temperature("--air", air, AIR), humidity("--rh", rh)
    panel_c = None if panel is None else temperature("--panel", panel, PANEL)
    if sun and panel_c is None:
        raise ValueError("--sun is on a panel; measure it and give --panel too")
    dew_c = figures.dew_point_c(air_c, percent)
    wet_c = figures.wet_bulb_c(air_c, percent)
    name = "frost point" if dew_c < figures.TRIPLE_POINT_C else "dew point"
    lines = [
        f"air        {_both(air_c)}, {percent:g} % RH",
        f"{name:<11}{_both(dew_c)}",
        f"wet bulb   {_both(wet_c)}",
    ]
    data: dict[str, object] = {"dew_point_c": shown(dew_c), "wet_bulb_c": shown(wet_c)}
    if panel_c is not None:
        found, unit = findings(panel_c, air_c, percent, sun=sun), settled_unit()
        at_panel = figures.panel_rh(panel_c, air_c, percent)
        lines += [
            f"panel      {_both(panel_c)}, {at_panel:.1f} % RH at the panel",
            "",
            *(f"{one.weight:<5}{said_in(one.says, unit)}" for one in found),
            f"{ESTIMATE} The panel around the corner is another one; limits of the label come "
            "first.",
        ]
        data["panel_rh"] = shown(at_panel)
        data["dew_margin_k"] = shown(figures.dew_margin_k(panel_c, air_c, percent))
        data["gate"] = [
            {"rule": f.rule, "weight": f.weight, "says": f.says, "margin": shown(f.margin)}
            for f in found
        ]
    return lines, data


def _both(celsius: float) -> str:
    from cartclock.engine.figures.air import fahrenheit

    return f"{celsius:.1f} C ({fahrenheit(celsius):.1f} F)"


@work_out.command()
@click.option("--ml", required=True, help="How much of the wipe is used, in ml.")
@click.option("--share", default="1", show_default=True, help="Of it alcohol: 0.7, or 70%.")
@click.option("--room", required=True, help="Volume in m3, or LENGTHxWIDTHxHEIGHT in m: 6x4x2.5.")
@for_programs
@answering
def vapour(ml: str, share: str, room: str) -> tuple[Sequence[str], Mapping[str, object]]:
    """Isopropyl alcohol in the air of a closed room, once all of a wipe evaporated."""
    from cartclock.engine.figures import vapour as figures

    wipe_ml = number("--ml", ml)
    alcohol = number("--share", share) / (100.0 if share.strip().endswith("%") else 1.0)
    sides = [number("--room", side) for side in room.lower().removesuffix("m3").split("x")]
    if len(sides) not in (1, 3):
        raise ValueError(f"--room: {room!r} cannot be read; write it like 60, or 6x4x2.5")
    room_m3 = sides[0] if len(sides) == 1 else figures.garage_m3(*sides)
    ppm = figures.isopropyl_ppm(wipe_ml, alcohol, room_m3)
    mg_m3 = figures.isopropyl_mg_m3(wipe_ml, alcohol, room_m3)
    lines = [
        f"{wipe_ml:g} ml, {alcohol * 100:g} % isopropyl alcohol, in {room_m3:g} m3: "
        f"{mg_m3:.0f} mg/m3",
        figures.vapour_text(ppm),
    ]
    limits = {
        "average of the day": figures.AVERAGE_LIMIT_PPM,
        "short term": figures.SHORT_TERM_LIMIT_PPM,
        "immediately dangerous": figures.DANGER_PPM,
    }
    reaches = {}
    if alcohol > 0.0:
        for name, limit in limits.items():
            reaches[name] = figures.wipe_ml_to(limit, alcohol, room_m3)
            lines.append(f"  {name:<22}{limit:>5.0f} ppm, from {reaches[name]:.0f} ml on")
    data = {
        "ppm": shown(ppm),
        "mg_m3": shown(mg_m3),
        "level": figures.level(ppm),
        "advice": figures.vapour_text(ppm),
        "ml_to": {name: shown(value) for name, value in reaches.items()},
    }
    return lines, data
