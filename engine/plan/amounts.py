"""Amounts and money as exact fractions, and what a mix takes from the pack.

Stock is counted in `ml` (drops by the bottle's calibration), `g` or `each`.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from cartclock.engine.figures import mix
from cartclock.engine.plan.plan import Product

StockUnit = Literal["ml", "g", "each", ""]
PRICE = re.compile(r"[0-9]{1,7}(\.[0-9]{1,3})?")

# What a unit of a plan or of a pack is counted in.
COUNTED: dict[str, StockUnit] = {"ml": "ml", "drops": "ml", "g": "g", "each": "each"}


# The same amounts come again and again, and fractions are slow.
@lru_cache(maxsize=4096)
def exact(number: float) -> Fraction:
    """A number as the decimal that was written: 0.1 is one tenth. 0 for what is no number."""
    return Fraction(repr(number)) if math.isfinite(number) else Fraction(0)


def money(text: str | None) -> Fraction | None:
    """A price from its decimal text; None if there is none or it is no price."""
    return Fraction(text) if text is not None and PRICE.fullmatch(text) else None


def whole_money(amount: float) -> int:
    """Money in whole units; half a one is raised. amount: >= 0."""
    return math.floor(amount + 0.5)


def in_currency(amount: object, currency: str) -> str:
    """Money as it is said: "18.50 PLN"; the amount alone where no currency was named."""
    return f"{amount} {currency}".rstrip()


def per_ml(product: Product) -> Fraction:
    """Drops in a millilitre of a product: its bottle's calibration, else that of water.

    Source: `engine.figures.mix.WATER_DROPS_PER_ML`.
    """
    return _per_ml(product.drops_per_ml)


def _per_ml(calibrated: float | None) -> Fraction:
    given = exact(calibrated or 0.0)
    return given if given > 0 else mix.WATER_DROPS_PER_ML


def share(product: Product) -> Fraction | None:
    """Product in one part of the mix as applied, over 0 to 1; None for a mix that is no ratio.

    Pieces are never mixed: `each` is 1.
    """
    return _share(product.unit, product.mix)


@lru_cache(maxsize=256)
def _share(unit: str, text: str) -> Fraction | None:
    if unit == "each":
        return Fraction(1)
    try:
        return mix.percent(mix.ratio(text)) / 100
    except ValueError:
        return None


def concentrate(product: Product, applied: Fraction) -> Fraction | None:
    """What an amount of the mix as applied takes from the pack, in the stock's unit.

    applied: in the plan's unit. None for a mix that is no ratio.
    """
    return _concentrate(product.unit, product.mix, product.drops_per_ml, applied)


def _concentrate(
    unit: str, text: str, calibrated: float | None, applied: Fraction
) -> Fraction | None:
    part = _share(unit, text)
    if part is None:
        return None
    return part * (applied / _per_ml(calibrated) if unit == "drops" else applied)


@lru_cache(maxsize=4096)
def taken(unit: str, text: str, calibrated: float | None, number: float) -> Fraction | None:
    """`concentrate` of a number as it was written, by unit, mix and calibration."""
    return _concentrate(unit, text, calibrated, exact(number))


def full_pack(product: Product) -> Fraction:
    """Content of a full pack by the plan, in the stock's unit; 0 if not given."""
    content = exact(product.pack or 0.0)
    return content / per_ml(product) if product.unit == "drops" else content
