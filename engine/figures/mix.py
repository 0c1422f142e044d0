"""Mixing product and water, exactly: what a ratio means, and how much of each.

A ratio on a label can be read in three ways and the bottle does not say which. One reading is
chosen, its words stand beside every amount, and the other two can be asked for. Amounts are
fractions, so the parts always add up; they are rounded where they are printed.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Literal, get_args

from msgspec import Struct

RatioReading = Literal["parts", "total", "onto"]
"""parts: 10:1 is 10 water and 1 product. total: it is 1 in 10 of the finished mix. onto: 1
product is poured onto 10 water, and the volume named is the water's."""

UNIT_ML: dict[str, Fraction] = {
    "ml": Fraction(1),
    "cl": Fraction(10),
    "l": Fraction(1000),
    "us fl oz": Fraction("29.5735295625"),
    "us qt": Fraction("946.352946"),
    "us gal": Fraction("3785.411784"),
    "imp fl oz": Fraction("28.4130625"),
    "imp pt": Fraction("568.26125"),
    "imp gal": Fraction("4546.09"),
}
"""Millilitres of each unit. Source: exact by definition; the definitions are from memory."""

_ALSO = {
    "litre": "l",
    "liter": "l",
    "oz": "us fl oz",
    "fl oz": "us fl oz",
    "ounce": "us fl oz",
    "qt": "us qt",
    "quart": "us qt",
    "gal": "us gal",
    "gallon": "us gal",
    "imp gallon": "imp gal",
}

WATER_DROPS_PER_ML = Fraction(20)
"""Drops of water in a millilitre; other liquids drop smaller or larger.

Source: USP <1101>; read in the issuing body's text."""

WATER_FIRST = "Water first, then the product into the water."
"""Source: common practice, no source."""

MOST_ML = 1_000_000

_NUMBER = r"([+-]?[0-9]{1,9}(?:\.[0-9]{1,9})?)"
_PARTS = re.compile(rf"{_NUMBER}\s*:\s*{_NUMBER}")
_SHARE = re.compile(rf"{_NUMBER}\s+in\s+{_NUMBER}", re.IGNORECASE)
_PERCENT = re.compile(rf"{_NUMBER}\s*%")
_ALONE = re.compile(_NUMBER)
_VOLUME = re.compile(rf"{_NUMBER}\s*([^\W\d_][^\d]*)")


class Ratio(Struct, frozen=True):
    """Parts of product and water, and how the text was read.

    product: parts, over 0. water: parts, 0 or more; 0 for a product used as it comes.
    reading: "onto" if the volume that will be named is the water's alone.
    """

    product: Fraction
    water: Fraction
    reading: RatioReading


class Amounts(Struct, frozen=True):
    """What goes into the bottle, in ml, exact; product and water add up to the total."""

    product_ml: Fraction
    water_ml: Fraction

    @property
    def total_ml(self) -> Fraction:
        return self.product_ml + self.water_ml


def _positive(name: str, value: Fraction | int, most: int) -> Fraction:
    # A float cannot carry a tenth, and NaN would pass into every amount.
    if isinstance(value, bool) or not isinstance(value, (int, Fraction)):
        raise ValueError(f"{name}: {value!r} is not an exact number; give a fraction")
    if not 0 < value <= most:
        raise ValueError(
            f"{name}: {decimal_text(Fraction(value), 6)} is not over 0 and up to {most}"
        )
    return Fraction(value)


def ratio(text: str, reading: RatioReading | None = None) -> Ratio:
    """A mixing ratio from its text: "10:1", "1:10", "10", "1 in 10", "5 %", "ready".

    reading: how to take a text with a colon or a lone number, "parts" if not given; the
    larger number is the water (by "total": the whole), in whichever order they stand. "1 in
    10" and "5 %" are of the total and take no other reading.

    Raises ValueError with a sentence: a text that is no ratio, a part that is zero or
    negative, more product than mix, an unknown or contradicting reading.

    Source: common practice, no source; which reading is the usual one is our own judgement.
    """
    if reading is not None and reading not in get_args(RatioReading):
        raise ValueError(f"reading: {reading!r} is none of {', '.join(get_args(RatioReading))}")
    plain = text.strip()
    if plain.lower() == "ready":
        return Ratio(Fraction(1), Fraction(0), "total")
    alone, parts, share, percent = (
        pattern.fullmatch(plain) for pattern in (_ALONE, _PARTS, _SHARE, _PERCENT)
    )
    if alone or parts:
        numbers = [Fraction(part) for part in parts.groups()] if parts else [Fraction(plain)]
        small, large = sorted([*numbers, Fraction(1)][:2])
        if small <= 0:
            raise ValueError(f'"{plain}": a part is zero or negative; write 10:1, or ready')
        water = large - small if reading == "total" else large
        return Ratio(small, water, reading or "parts")
    if share or percent:
        if reading not in (None, "total"):
            raise ValueError(f"{plain}: this is of the total and cannot be read as {reading!r}")
        found = share or percent
        assert found is not None
        part, whole = Fraction(found[1]), Fraction(found[2]) if share else Fraction(100)
        if part <= 0 or whole <= 0:
            raise ValueError(f'"{plain}": a part is zero or negative; write 1 in 10, or 5 %')
        if part > whole:
            raise ValueError(f'"{plain}": more product than there is mix; write 1 in 10, or 5 %')
        return Ratio(part, whole - part, "total")
    raise ValueError(f'{text!r} is not a ratio; write it like "10:1", "1 in 10", "5 %" or "ready"')


def _parts(count: Fraction) -> str:
    return f"{decimal_text(count, 6)} part{'' if count == 1 else 's'}"


def words(mixed: Ratio) -> str:
    """What a ratio was taken to mean, to stand beside every amount.

    Source: our own judgement.
    """
    if mixed.water == 0:
        return "as it comes, no water"
    product, water = f"{_parts(mixed.product)} product", f"{_parts(mixed.water)} water"
    total = mixed.product + mixed.water
    if mixed.reading == "total":
        return f"{product} in {_parts(total)} of the finished mix: {water} + {product}"
    if mixed.reading == "onto":
        return f"{product} onto {water}: the volume named is the water, the mix is more"
    return f"{water} + {product} = {_parts(total)}"


def pouring_order(mixed: Ratio) -> str:
    """In which order to pour; "" for a product used as it comes.

    Source: common practice, no source.
    """
    return WATER_FIRST if mixed.water else ""


def percent(mixed: Ratio) -> Fraction:
    """Product in the finished mix, in percent of its volume: over 0 to 100, exact.

    Source: by definition.
    """
    return 100 * mixed.product / (mixed.product + mixed.water)


def amounts(mixed: Ratio, volume_ml: Fraction | int) -> Amounts:
    """Product and water for a volume, in ml, exact.

    volume_ml: over 0 to 1000000, of the finished mix; for a ratio read "onto", of the water.

    Raises ValueError naming `volume_ml` not exact or out of range.

    Source: by definition.
    """
    volume = _positive("volume_ml", volume_ml, MOST_ML)
    if mixed.reading == "onto":
        return Amounts(volume * mixed.product / mixed.water, volume)
    product_ml = volume * mixed.product / (mixed.product + mixed.water)
    return Amounts(product_ml, volume - product_ml)


def parts_water(stock_percent: Fraction | int, wanted_percent: Fraction | int) -> Fraction:
    """Parts of water for one part of stock, exact; 0 if the stock is as strong as wanted.

    stock_percent, wanted_percent: over 0 to 100, wanted not above stock.

    Raises ValueError naming the argument not exact or out of range, and for a mix stronger
    than its stock.

    Source: CDC guideline for disinfection, appendix E; read in the issuing body's text.
    """
    stock = _positive("stock_percent", stock_percent, 100)
    wanted = _positive("wanted_percent", wanted_percent, 100)
    if wanted > stock:
        raise ValueError(
            f"wanted_percent: {decimal_text(wanted, 6)} is over the stock's "
            f"{decimal_text(stock, 6)}; "
            "water only makes it weaker"
        )
    return stock / wanted - 1


def stock_amounts(
    stock_percent: Fraction | int, wanted_percent: Fraction | int, total_ml: Fraction | int
) -> Amounts:
    """Stock and water for a mix of a wanted strength, in ml, exact: C1 V1 = C2 V2.

    stock_percent, wanted_percent: over 0 to 100, wanted not above stock. total_ml: of the
    finished mix, over 0 to 1000000.

    Raises ValueError as `parts_water`, and naming `total_ml` not exact or out of range.

    Source: conservation of the solute, by definition; it passes over that alcohol and water
    shrink a little when they are mixed.
    """
    water = parts_water(stock_percent, wanted_percent)
    total = _positive("total_ml", total_ml, MOST_ML)
    stock_ml = total / (water + 1)
    return Amounts(stock_ml, total - stock_ml)


def volume_ml(text: str) -> Fraction:
    """A volume in ml, exact, from text: "500ml", "2 l", "16 oz", "1 gal", "1 imp gal".

    Ounces, quarts and gallons are US fluid ones unless "imp" stands before them.

    Raises ValueError with a sentence: no number, an unknown unit, not over 0 and up to a
    million ml.

    Source: `UNIT_ML`, exact by definition.
    """
    found = _VOLUME.fullmatch(text.strip())
    if found is None:
        raise ValueError(f'{text!r} is not a volume; write it like "500 ml", "2 l" or "16 oz"')
    name = " ".join(found[2].lower().replace(".", " ").split())
    for spelling in (name, name.removesuffix("s")):
        unit = _ALSO.get(spelling, spelling)
        if unit in UNIT_ML:
            return _positive("volume", Fraction(found[1]) * UNIT_ML[unit], MOST_ML)
    raise ValueError(f"{found[2]!r} is no unit of volume here; write {', '.join(UNIT_ML)}")


def ounces(ml: Fraction | int) -> Fraction:
    """US fluid ounces, exact. Source: exact by definition."""
    return Fraction(ml) / UNIT_ML["us fl oz"]


def drops_per_ml(drops: int, ml: Fraction | int) -> Fraction:
    """The calibration of one bottle with one liquid: drops counted into a measured volume.

    drops: over 0 to 100000. ml: over 0 to 1000000; of a weighed liquid, grams divided by its
    density.

    Raises ValueError naming the argument not exact or out of range.

    Source: by definition.
    """
    return _positive("drops", drops, 100_000) / _positive("ml", ml, MOST_ML)


def drops(ml: Fraction | int, per_ml: Fraction | int = WATER_DROPS_PER_ML) -> Fraction:
    """Drops in a volume, exact; 20 to the ml unless the bottle's own calibration is given.

    ml: over 0 to 1000000. per_ml: over 0 to 1000.

    Raises ValueError naming the argument not exact or out of range.

    Source: USP <1101> for water, read in the issuing body's text; other liquids differ.
    """
    return _positive("ml", ml, MOST_ML) * _positive("per_ml", per_ml, 1000)


def drops_ml(count: int, per_ml: Fraction | int = WATER_DROPS_PER_ML) -> Fraction:
    """Volume of a number of drops, in ml, exact; arguments and source as for `drops`.

    Source: USP <1101> for water, read in the issuing body's text.
    """
    return _positive("count", count, 100_000) / _positive("per_ml", per_ml, 1000)


def decimal_text(value: Fraction, places: int = 1) -> str:
    """A fraction as decimal text, rounded half to even, without zeros at the end.

    places: 0 to 9. For print only: reckon on with the fraction.

    Source: by definition.
    """
    rounded = round(value * 10**places)
    whole, rest = divmod(abs(rounded), 10**places)
    tail = f"{rest:0{places}d}".rstrip("0") if places else ""
    return f"{'-' if rounded < 0 else ''}{whole}{'.' if tail else ''}{tail}"
