"""Products on paper: shares, lots by section, cost; the data sheet in lines."""

from __future__ import annotations

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import believed_rows
from cartclock.engine.letters import cells
from cartclock.engine.paper.chapters.products import data_sheet, put_products
from cartclock.engine.paper.page.text.medium import WIDTH, Text
from cartclock.engine.plan.plan import LabelRow, Limits, Plan, Product, Stage, Use, Wait, Work
from cartclock.engine.products.consumption import consumed
from cartclock.engine.products.stock import pack_log
from cartclock.engine.record.applied import used as used_of
from tests.kit.book import Book
from tests.products.test_stock import begun, changed_lot, used


def paper(book: Book, currency: str = "EUR") -> list[str]:
    page = Text()
    products = consumed(book.job(), pack_log(believed_rows(book.rows)))
    put_products(page, used_of(book.job()), products, "UTC", currency)
    lines = str(page).splitlines()
    assert all(cells(line) <= WIDTH for line in lines)
    return lines


def one_job() -> Book:
    book = changed_lot()
    del book.rows[2]
    used(book, 80, "fallout", 60.0)
    used(book, 81, "towel", 3.0)
    return book


def test_the_whole_chapter() -> None:
    assert paper(one_job()) == [
        "",
        "PRODUCTS                                    as applied; from the pack by the mix",
        "-" * 80,
        "  product                    applied  mix    from pack  lot             cost EUR",
        "  Iron fallout remover         60 ml  10:1      5.5 ml  not noted           0.10",
        "      stages: Fallout",
        "  Coating                   47 drops                    2 lots              4.26",
        "      stages: Coat 45 drops",
        "- Coating: put right Mon 21 Sep 2026 14:14, +2 drops",
        "- lot A17, last day Wed 31 Mar 2027, 25 drops on Coat: bonnet left, bonnet right",
        "- lot B2, 22 drops on Coat: roof, bonnet right",
        "  Levelling towel                  3                    not noted              -",
        "      stages: Coat",
        "  all together                                                              4.36",
        "- without Levelling towel: no price is noted",
    ]


def test_no_currency_no_price_no_use() -> None:
    assert any(line.endswith(" 4.26") for line in paper(one_job(), ""))
    book = begun()
    assert paper(book) == [""]
    used(book, 1, "coat", 10.0)
    lines = paper(book)
    assert not any("cost" in line.lower() for line in lines)
    assert lines[-1] == "- no lot was noted"


def test_one_lot_takes_one_line() -> None:
    book = begun()
    book.press(1, ev.PackOpened("coat", 30.0, "ml", "A17", "2027-03-31"))
    used(book, 2, "coat", 10.0)
    assert paper(book)[-1] == "- Coating: lot A17, last day Wed 31 Mar 2027"


def test_long_lots_and_names_of_control_codes_stay_on_the_page() -> None:
    book = begun()
    book.press(1, ev.PackOpened("coat", 30.0, "ml", "L" * 60, "2027-03-31"))
    used(book, 2, "coat", 10.0, "bonnet left")
    book.press(3, ev.PackOpened("coat", 30.0, "ml", "\x1b[2J\n" + "漆" * 30))
    used(book, 4, "coat", 10.0)
    lines = paper(book)
    assert all(line.isprintable() for line in lines)
    assert sum(line.count("漆") for line in lines) == 30


def test_without_packs_there_is_neither_cost_nor_lot() -> None:
    book = begun()
    used(book, 1, "fallout", 60.0)
    page = Text()
    put_products(page, used_of(book.job()), (), "UTC", "EUR")
    assert str(page).splitlines()[3:] == [
        "  product                    applied  mix    from pack  stages",
        "  Iron fallout remover         60 ml  10:1              Fallout",
        "- no lot was noted",
    ]


LABEL = (LabelRow(60, 180, 20.0, 50.0), LabelRow(40, 200))
COATED = Stage(
    "Coat",
    ("roof",),
    (
        Work("apply", 1, (Use("coat", 10),)),
        Wait("flash", 60, 100, 330, "moisture cure", LABEL, True),
        Work("level", 1),
    ),
)


def test_the_data_sheet() -> None:
    coat = Product("coat", "Coating", unit="drops", pack=600.0, price="60.00",
                   hazards=("Danger", "H225"), family="solvent", drops_per_ml=22.5)  # fmt: skip
    assert data_sheet(Plan("x", (COATED,), (coat,)), coat, "EUR") == (
        "Copied by whoever wrote the plan; the sheet of the pack comes first.",
        "hazard: Danger",
        "hazard: H225",
        "family: solvent",
        "mix: as it comes, no water",
        "full pack: 600 drops, 60.00 EUR",
        "drops: 22.5 in 1 ml, by the bottle",
        "flash (Coat): opens 1:00, due 1:40, closes 5:30; example, replace from the pack",
        "label, at 20 C, 50 % RH: 1:00 to 3:00",
        "label, no climate printed: 0:40 to 3:20",
    )


def test_a_bare_data_sheet() -> None:
    bare = Product("x", "X", unit="drops", mix="1 in 10")
    assert data_sheet(Plan("x", (COATED,), (bare,)), bare)[1:] == (
        "hazards: none copied",
        "mix: 1 in 10, 1 part product in 10 parts of the finished mix: 9 parts water + 1 part "
        "product. Water first, then the product into the water.",
        "drops: 20 in 1 ml, as water, not calibrated",
    )
    assert "mix: a splash" in data_sheet(Plan("x", ()), replace(bare, mix="a splash"))


def test_the_data_sheet_tells_the_limits_and_the_dry_time() -> None:
    coat = Product(
        "coat",
        "Coating",
        limits=Limits(panel_low_c=10.0, panel_high_c=30.0, rh_high=80.0),
        dry_s=172_800,
        if_wet="Dry it with a soft towel.",
    )
    said = data_sheet(Plan("x", (COATED,), (coat,)), coat)
    assert "by the label: panel from 10 C to 30 C, humidity to 80 %" in said
    assert "must not get wet for 48:00:00" in said
    assert "if it got wet: Dry it with a soft towel." in said
