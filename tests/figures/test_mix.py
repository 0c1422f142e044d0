"""Mixing: three readings of a ratio, exact amounts, units, drops."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.figures.mix import (
    UNIT_ML,
    WATER_DROPS_PER_ML,
    WATER_FIRST,
    RatioReading,
    amounts,
    decimal_text,
    drops,
    drops_ml,
    drops_per_ml,
    ounces,
    parts_water,
    percent,
    pouring_order,
    ratio,
    stock_amounts,
    volume_ml,
    words,
)
from tests.figures.check_values import rows

READINGS = rows("dilution_readings")
CDC = rows("dilution_cdc")
CHART = rows("dilution_janitorial_chart")
C1V1 = rows("dilution_c1v1")
UNITS = rows("units_ml")
PRINTED = 0.00005001
RATIO_READINGS: tuple[RatioReading, ...] = ("parts", "total", "onto")

NUMBER = st.decimals("0.001", "99999", places=3).map(str)
VOLUME = st.fractions(min_value=Fraction(1, 1000), max_value=1_000_000, max_denominator=10_000)
STRENGTH = st.fractions(min_value=Fraction(1, 1000), max_value=100, max_denominator=1000)


@pytest.mark.parametrize(
    "row", READINGS, ids=[f"our own judgement: {row['text']} {row['reading']}" for row in READINGS]
)
def test_readings_worked_by_hand(row: dict[str, str]) -> None:
    mixed = ratio(row["text"])
    assert mixed.reading == row["reading"]
    poured = amounts(mixed, Fraction(row["finished mix ml"]))
    assert float(poured.product_ml) == pytest.approx(float(row["product ml"]), abs=PRINTED)
    assert float(poured.water_ml) == pytest.approx(float(row["water ml"]), abs=PRINTED)
    assert float(percent(mixed)) == pytest.approx(float(row["product %v/v"]), abs=PRINTED)


@pytest.mark.parametrize(
    "row", CDC, ids=[f"CDC guideline for disinfection, {row['source']}" for row in CDC]
)
def test_parts_of_water_of_the_guideline(row: dict[str, str]) -> None:
    found = parts_water(Fraction(row["stock %"]), Fraction(row["target %"]))
    assert found == int(row["published"])
    # The same mix by parts has the wanted strength, exactly.
    assert percent(ratio(f"{found}:1")) * Fraction(row["stock %"]) / 100 == Fraction(
        row["target %"]
    )


@pytest.mark.parametrize(
    "row",
    CHART,
    ids=[
        f"printed janitorial chart: {row['ratio product:water']}, {row['container']}"
        for row in CHART
    ],
)
def test_the_janitorial_chart(row: dict[str, str]) -> None:
    total_ml = Fraction(row["finished mix fl oz"]) * UNIT_ML["us fl oz"]
    found_oz = float(ounces(amounts(ratio(row["ratio product:water"]), total_ml).product_ml))
    assert found_oz == pytest.approx(float(row["parts rule fl oz"]), abs=PRINTED)
    # The chart rounds each cell to ounces of its own; how far stands in its row.
    published_oz = float(row["published concentrate fl oz (rounded)"])
    told = float(row["published vs rule"].rstrip("%"))
    assert (published_oz / found_oz - 1.0) * 100.0 == pytest.approx(told, abs=0.0501)


@pytest.mark.parametrize(
    "row", C1V1, ids=[f"C1 V1 = C2 V2: {row['c1 %']} to {row['c2 %']} %" for row in C1V1]
)
def test_stock_and_water(row: dict[str, str]) -> None:
    strong, weak, total = (Fraction(row[name]) for name in ("c1 %", "c2 %", "v2 ml"))
    poured = stock_amounts(strong, weak, total)
    assert float(poured.product_ml) == pytest.approx(float(row["v1 ml"]), abs=PRINTED)
    assert float(poured.water_ml) == pytest.approx(float(row["diluent ml"]), abs=PRINTED)
    assert strong * poured.product_ml == weak * total


@pytest.mark.parametrize("row", UNITS, ids=[f"from memory: {row['unit']}" for row in UNITS])
def test_units_are_exact(row: dict[str, str]) -> None:
    name = row["unit"].replace("_", " ").replace("floz", "fl oz")
    ml = Fraction(row["ml (exact by definition)"])
    assert UNIT_ML[name] == ml
    assert volume_ml(f"2 {name}") == 2 * ml


@pytest.mark.parametrize(
    ("text", "ml"),
    [
        ("500ml", "500"),
        ("2 l", "2000"),
        ("1.5 L", "1500"),
        ("3 litres", "3000"),
        ("16 oz", "473.176473"),
        ("16 fl. oz.", "473.176473"),
        ("1 gal", "3785.411784"),
        ("2 gallons", "7570.823568"),
        (" 1 imp gal ", "4546.09"),
        ("75 cl", "750"),
    ],
)
def test_volumes_as_they_are_written(text: str, ml: str) -> None:
    assert volume_ml(text) == Fraction(ml)


def test_units_hang_together() -> None:
    assert UNIT_ML["us gal"] == 128 * UNIT_ML["us fl oz"] == 4 * UNIT_ML["us qt"]
    assert UNIT_ML["imp gal"] == 160 * UNIT_ML["imp fl oz"] == 8 * UNIT_ML["imp pt"]
    assert ounces(volume_ml("1 gal")) == 128


@pytest.mark.parametrize(
    ("text", "reading", "said", "product", "water"),
    [
        ("10:1", None, "10 parts water + 1 part product = 11 parts", "1000/11", "10000/11"),
        ("1:10", None, "10 parts water + 1 part product = 11 parts", "1000/11", "10000/11"),
        (
            "10:1",
            "total",
            "1 part product in 10 parts of the finished mix: 9 parts water + 1 part product",
            "100",
            "900",
        ),
        (
            "1 in 10",
            None,
            "1 part product in 10 parts of the finished mix: 9 parts water + 1 part product",
            "100",
            "900",
        ),
        (
            "1:10",
            "onto",
            "1 part product onto 10 parts water: the volume named is the water, the mix is more",
            "100",
            "1000",
        ),
        (
            "2.5 %",
            None,
            "2.5 parts product in 100 parts of the finished mix: "
            "97.5 parts water + 2.5 parts product",
            "25",
            "975",
        ),
        ("ready", None, "as it comes, no water", "1000", "0"),
        ("100 %", None, "as it comes, no water", "1000", "0"),
    ],
)
def test_three_readings_and_their_words(
    text: str, reading: RatioReading | None, said: str, product: str, water: str
) -> None:
    mixed = ratio(text, reading)
    assert words(mixed) == said
    poured = amounts(mixed, 1000)
    assert (poured.product_ml, poured.water_ml) == (Fraction(product), Fraction(water))
    assert pouring_order(mixed) == (WATER_FIRST if poured.water_ml else "")


@given(first=NUMBER, second=NUMBER, reading=st.sampled_from(RATIO_READINGS), volume=VOLUME)
def test_parts_add_up_exactly_in_both_orders(
    first: str, second: str, reading: RatioReading, volume: Fraction
) -> None:
    mixed = ratio(f"{first}:{second}", reading)
    assert mixed == ratio(f"{second} : {first}", reading)
    poured = amounts(mixed, volume)
    named_ml = poured.water_ml if reading == "onto" else poured.total_ml
    assert named_ml == volume
    assert poured.product_ml + poured.water_ml == poured.total_ml
    assert poured.product_ml > 0
    assert 100 * poured.product_ml / poured.total_ml == percent(mixed)


@given(strong=STRENGTH, weak=STRENGTH, volume=VOLUME)
def test_three_ways_to_a_strength_agree(strong: Fraction, weak: Fraction, volume: Fraction) -> None:
    stock, wanted = max(strong, weak), min(strong, weak)
    poured = stock_amounts(stock, wanted, volume)
    assert poured.total_ml == volume
    assert poured.water_ml == poured.product_ml * parts_water(stock, wanted)
    assert poured.product_ml * stock == volume * wanted


@pytest.mark.parametrize("text", ["0:0", "0:10", "10:0", "-1:10", "10:-1", "0", "0 in 10", "0 %"])
def test_a_part_of_nothing_is_refused_in_a_sentence(text: str) -> None:
    with pytest.raises(ValueError, match="a part is zero or negative; write"):
        ratio(text)


@pytest.mark.parametrize("text", ["11 in 10", "101 %"])
def test_more_product_than_mix_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="more product than there is mix"):
        ratio(text)


@pytest.mark.parametrize(
    "text", ["", "ten to one", "1:2:3", "nan:1", "1e3:1", "1/2", "10,5:1", "1 in", "9" * 40 + ":1"]
)
def test_what_is_no_ratio_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="is not a ratio; write it like"):
        ratio(text)


def test_a_share_of_the_total_takes_no_other_reading() -> None:
    assert ratio("1 in 10", "total") == ratio("1 in 10")
    for reading in ("parts", "onto"):
        with pytest.raises(ValueError, match="cannot be read as"):
            ratio("5 %", reading)
    unknown: Any = "shares"
    with pytest.raises(ValueError, match=r"^reading: "):
        ratio("10:1", unknown)


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("10 furlongs", "is no unit of volume"),
        ("10 kg", "is no unit of volume"),
        ("500", "is not a volume"),
        ("1,000 ml", "is not a volume"),
        ("nan ml", "is not a volume"),
        ("0 ml", "is not over 0"),
        ("-5 ml", "is not over 0"),
        ("1001 l", "is not over 0"),
    ],
)
def test_what_is_no_volume_is_refused(text: str, what: str) -> None:
    with pytest.raises(ValueError, match=what):
        volume_ml(text)


@pytest.mark.parametrize("value", [math.nan, math.inf, 0.5, 0, -1, Fraction(-1, 2), True, 10**9])
def test_impossible_amounts_are_refused_by_name(value: Any) -> None:
    for name, figure in (
        ("volume_ml", lambda: amounts(ratio("10:1"), value)),
        ("stock_percent", lambda: parts_water(value, 1)),
        ("wanted_percent", lambda: parts_water(50, value)),
        ("total_ml", lambda: stock_amounts(50, 1, value)),
        ("drops", lambda: drops_per_ml(value, 1)),
        ("ml", lambda: drops_per_ml(20, value)),
        ("ml", lambda: drops(value)),
        ("per_ml", lambda: drops(1, value)),
        ("count", lambda: drops_ml(value)),
    ):
        with pytest.raises(ValueError, match=rf"^{name}: "):
            figure()


def test_water_makes_nothing_stronger() -> None:
    with pytest.raises(ValueError, match=r"^wanted_percent: 10 is over the stock's 5"):
        parts_water(5, 10)
    assert parts_water(5, 5) == 0


def test_drops_by_the_bottle() -> None:
    assert WATER_DROPS_PER_ML == 20
    assert drops(Fraction(1, 2)) == 10
    own = drops_per_ml(60, 2)
    assert own == 30
    assert drops_ml(10, own) == Fraction(1, 3)
    assert drops(drops_ml(7, own), own) == 7


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [
        (Fraction(1000, 11), 1, "90.9"),
        (Fraction(5), 1, "5"),
        (Fraction(1, 20), 1, "0"),
        (Fraction(3, 20), 1, "0.2"),
        (Fraction(7, 1000), 3, "0.007"),
        (Fraction(-5, 2), 1, "-2.5"),
        (Fraction(199, 2), 0, "100"),
    ],
)
def test_rounding_is_for_print_only(value: Fraction, places: int, text: str) -> None:
    assert decimal_text(value, places) == text


@given(value=st.fractions(min_value=-1000, max_value=1000), places=st.integers(0, 9))
def test_print_is_within_half_a_place(value: Fraction, places: int) -> None:
    assert abs(Fraction(decimal_text(value, places)) - value) <= Fraction(1, 2 * 10**places)
