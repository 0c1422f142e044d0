"""What was applied, on paper: products, lots, times, and what became of the waits."""

from __future__ import annotations

from msgspec.structs import replace

from cartclock.engine.letters import cells
from cartclock.engine.paper.page.text import Text
from cartclock.engine.paper.sheets.coated import put_coated
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.record.applied import Remark
from cartclock.engine.record.coated import Coated, Put
from tests.kit.book import us
from tests.record.test_coated import FINE, ONE, book_of, found, lay

LAID = Coated(
    stage="Coat",
    section="bonnet left",
    panel="bonnet",
    pass_=1,
    layer=1,
    layers=1,
    products=(Put("coat", "Coating", ("A1",)),),
    first_us=us(0),
    last_us=us(60),
    levelled_us=us(400),
    opens_us=us(120),
    expected_us=us(150),
    closes_us=us(360),
    taken_us=us(300),
    outcome="in the window",
)


def chapter(*coated: Coated, zone: str = "UTC") -> list[str]:
    page = Text()
    put_coated(page, coated, zone)
    return str(page).splitlines()


def test_every_layer_with_its_products_and_times() -> None:
    late = replace(LAID, section="roof", taken_us=us(390), outcome="late", off_us=30_000_000)
    wet = Remark(us(7200), "water", "Dry it at once.")
    assert chapter(LAID, replace(late, water=(wet,)), replace(LAID, section="tail", water=(wet,)),
                   replace(LAID, pass_=2, products=(), last_us=None, taken_us=None,
                           outcome="")) == [
        "",
        "APPLIED, SECTION BY SECTION                             waits in minutes:seconds",
        "-" * 80,
        "                         first  last   levelled  expected  taken",
        "Coat: Coating, lot A1",
        "  Mon 21 Sep 2026",
        "  bonnet left            14:13  14:14  14:20         1:30   4:00  in the window",
        "  roof                   14:13  14:14  14:20         1:30   5:30  late by 0:30",
        "  tail                   14:13  14:14  14:20         1:30   4:00  in the window",
        "  roof, tail: water on it Mon 21 Sep 2026 16:13: Dry it at once.",
        "Coat, pass 2: worked over, nothing laid",
        "  Mon 21 Sep 2026",
        "  bonnet left            14:13  -      14:20            -      -",
    ]  # fmt: skip


def test_layers_products_and_lots_are_named() -> None:
    two = replace(
        LAID,
        layer=2,
        layers=2,
        products=(Put("a", "Base", ("A1", "B2")), Put("b", "Top", ())),
        outcome="running",
        taken_us=None,
        levelled_us=None,
    )
    lines = chapter(two, replace(two, products=()))
    assert "Coat, layer 2: Base, lot A1 and B2; Top, lot not noted" in lines
    assert "Coat, layer 2: no product noted" in lines
    assert lines[6].endswith("-  running")


def test_what_ends_on_another_day_says_which() -> None:
    lines = chapter(replace(LAID, levelled_us=us(12 * 3600)))
    assert lines[-2:] == [
        "  bonnet left            14:13  14:14  02:13         1:30   4:00  in the window",
        "                                       Tue",
    ]


def test_a_long_name_in_wide_letters_stays_on_the_page() -> None:
    lines = chapter(replace(LAID, section="引擎盖左側のボンネット塗装面" * 4, outcome="late"))
    assert max(map(cells, lines)) <= 80
    assert "引擎盖" in lines[6]


def test_nothing_applied_has_no_chapter() -> None:
    assert chapter() == [""]
    assert found(book_of(Stage("Wash", ("body",), (Work("wash"),)))) == ()


def test_the_chapter_of_a_job_that_was_driven() -> None:
    book = book_of(ONE)
    book.press(5, FINE)
    lay(book, 10, "roof")
    assert chapter(*found(book))[-1].split() == [
        "roof", "14:13", "14:13", "14:16", "1:40", "2:00", "in", "the", "window"
    ]  # fmt: skip
