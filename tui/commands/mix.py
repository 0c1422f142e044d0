"""`cartclock work-out mix`: product and water, with the three readings of a ratio."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING

import click

from cartclock.tui.commands.given import answering, exact, for_programs

if TYPE_CHECKING:
    from cartclock.engine.figures.mix import Amounts, Ratio

READINGS = {"parts": "parts", "in": "total", "onto": "onto"}


@click.command()
@click.argument("ratio", required=False)
@click.option("--make", required=True, help="How much: 500ml, 2l, 16oz, 1gal.")
@click.option(
    "--reading",
    type=click.Choice(list(READINGS)),
    help="parts: 10 water and 1 product. in: 1 in 10 of the mix. onto: 1 onto 10 of water.",
)
@click.option("--stock", help="Strength of the stock in percent, instead of a ratio.")
@click.option("--wanted", help="Strength that is wanted, in percent.")
@click.option("--drops-per-ml", help="Give the product in drops too, so many to the ml.")
@for_programs
@answering
def mix(
    ratio: str | None,
    make: str,
    reading: str | None,
    stock: str | None,
    wanted: str | None,
    drops_per_ml: str | None,
) -> tuple[Sequence[str], Mapping[str, object]]:
    """Product and water for RATIO ("10:1", "1 in 10", "5 %"), or for a strength."""
    from cartclock.engine.figures import mix as figures

    volume = figures.volume_ml(make)
    per_ml = None if drops_per_ml is None else exact("--drops-per-ml", drops_per_ml)
    if ratio is None or stock is not None or wanted is not None:
        if ratio is not None or stock is None or wanted is None:
            raise ValueError(
                "give a ratio like 10:1, or --stock and --wanted in percent, not half of each"
            )
        if reading is not None:
            raise ValueError("--reading says how a ratio is read; a strength is of the total")
        strong, weak = exact("--stock", stock), exact("--wanted", wanted)
        poured = figures.stock_amounts(strong, weak, volume)
        water_parts = figures.parts_water(strong, weak)
        said = (
            f"{figures.decimal_text(strong, 3)} % to {figures.decimal_text(weak, 3)} %: "
            f"1 part stock + {figures.decimal_text(water_parts, 6)} parts water"
        )
        lines = [said, *_poured(poured, "stock", per_ml)]
        if poured.water_ml:
            lines.append(figures.WATER_FIRST)
        data = {"words": said, "parts_water": str(water_parts), **_pouring(poured, per_ml)}
        return lines, data
    chosen = figures.ratio(ratio, READINGS[reading] if reading else None)  # type: ignore[arg-type]  # the words of the choice are those of the type
    poured = figures.amounts(chosen, volume)
    lines = [f"{ratio.strip()} read as {figures.words(chosen)}"]
    lines += _poured(poured, "product", per_ml)
    lines += [sentence for sentence in (figures.pouring_order(chosen),) if sentence]
    others = _other_readings(ratio, chosen)
    if others:
        lines.append("")
        lines.append("The same text can be read in other ways:")
        for name, other in others.items():
            one = figures.amounts(other, volume)
            lines.append(f"  --reading {name}: {figures.words(other)}: {_short(one)}")
    data = {
        "reading": chosen.reading,
        "words": figures.words(chosen),
        "percent": float(figures.percent(chosen)),
        **_pouring(poured, per_ml),
        "others": {
            name: {"words": figures.words(other), **_pouring(figures.amounts(other, volume), None)}
            for name, other in others.items()
        },
    }
    return lines, data


def _other_readings(text: str, chosen: Ratio) -> dict[str, Ratio]:
    """The other ways to read a text with a colon or a lone number; empty where there are none."""
    from cartclock.engine.figures import mix as figures

    found = {}
    for name, reading in READINGS.items():
        try:
            other = figures.ratio(text, reading)  # type: ignore[arg-type]  # the words of the table are those of the type
        except ValueError:
            continue
        if other != chosen and other.water and other.reading != chosen.reading:
            found[name] = other
    return found


def _poured(poured: Amounts, product: str, per_ml: Fraction | None) -> list[str]:
    from cartclock.engine.figures import mix as figures
    from cartclock.engine.products.mixing import shares

    total, neat, water = shares(poured.total_ml, poured.product_ml)
    rows = [(product, neat, poured.product_ml), ("water", water, poured.water_ml)]
    rows.append(("together", total, poured.total_ml))
    lines = [
        f"  {name:<9}{text:>10} ml {figures.decimal_text(figures.ounces(ml), 2):>10} US fl oz"
        for name, text, ml in rows
    ]
    if per_ml is not None:
        count = figures.decimal_text(figures.drops(poured.product_ml, per_ml), 0)
        lines.append(
            f"  {product:<9}{count:>10} drops, {figures.decimal_text(per_ml, 3)} to the ml"
        )
    return lines


def _short(poured: Amounts) -> str:
    from cartclock.engine.products.mixing import shares

    _total, neat, water = shares(poured.total_ml, poured.product_ml)
    return f"{neat} ml product, {water} ml water"


def _pouring(poured: Amounts, per_ml: Fraction | None) -> dict[str, object]:
    from cartclock.engine.figures import mix as figures

    data: dict[str, object] = {
        "product_ml": float(poured.product_ml),
        "water_ml": float(poured.water_ml),
        "total_ml": float(poured.total_ml),
        "product_ml_exact": str(poured.product_ml),
        "water_ml_exact": str(poured.water_ml),
        "product_us_fl_oz": float(figures.ounces(poured.product_ml)),
        "water_us_fl_oz": float(figures.ounces(poured.water_ml)),
    }
    if per_ml is not None:
        data["drops"] = float(figures.drops(poured.product_ml, per_ml))
    return data
