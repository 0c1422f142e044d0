"""Products: every product in one line, packs opened and weighed, amounts put right.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from rich.cells import cell_len

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.events import JobOpened
from cartclock.engine.facts.turn import Turn
from cartclock.engine.plan.plan import Plan, Product
from cartclock.engine.products.reminders import BeforeWork
from cartclock.engine.rules import packs, rules
from cartclock.engine.store.settings import Settings
from cartclock.tui.face.page import Bar, Cells, Tape
from cartclock.tui.keys import KEYS, SCREENS, on_screen
from cartclock.tui.screens.products import ProductsScreen
from tests.kit.page import page_of, read, said
from tests.kit.plans import COAT, FALLOUT, WEARING, WIPE
from tests.kit.stage import HOME, SMALL, Play, compare_sizes, played, whole

FALLOUT_PRODUCT = Product(
    "fallout",
    "Iron fallout remover",
    mix="10:1",
    pack=1000.0,
    price="18.50",
    family="thioglycolate",
    hazards=("Warning", "H317"),
)
PRODUCTS = (FALLOUT_PRODUCT, Product("coat", "Coating", unit="drops"))
# Reminders have tests of their own.
SETTINGS = Settings(currency="EUR", reminders=BeforeWork(products=False))


def job(*products: Product, zone: str = "UTC") -> JobOpened:
    """A job with windows and both products."""
    plan = Plan("tiny", (FALLOUT, COAT), products or PRODUCTS)
    return JobOpened(plan, "", 1, "bottle green estate", zone=zone)


def fits(play: Play) -> bool:
    """True if the picture is whole, lines measured in cells and not in letters."""
    faults = [fault for fault in whole(play) if not fault.startswith("line longer")]
    return faults == [] and all(cell_len(line) <= play.app.size.width for line in play.lines)


def pack(play: Play, *events: ev.PackOpened | ev.PackWeighed) -> None:
    """Packs opened and weighed without the screen."""
    for event in events:
        if isinstance(event, ev.PackOpened):
            play.bench.do(packs.open_pack, event)
        else:
            play.bench.do(packs.weigh, event)


# What the screen shows.

LONG_NAME = "Shampoo, pH neutral, two buckets"


async def test_the_screen_in_the_middle_of_a_job(tmp_path: Path) -> None:
    async with played(tmp_path, job(), settings=SETTINGS) as play:
        pack(
            play,
            ev.PackOpened("fallout", 1000.0, "ml", "A17", "2027-03-31", "18.50"),
            ev.PackWeighed("fallout", 800.0),
            ev.PackOpened("coat", 30.0, "ml", "K4", "2026-09-20", "60.00", "Small bottle"),
            ev.PackWeighed("coat", 2.0),
            ev.PackOpened("wax", 200.0, "g", name="Wax of another plan"),
        )
        await play.press("space")
        await play.wind(60)
        await play.press("space", "o")
        assert play.called == "products"
        assert said(play) == [
            "Iron fallout remover   794.5 ml   A17   Wed 31 Mar 2027   0.10",
            "Small bottle   LOW 2 ml   K4   EXPIRED Sun 20 Sep 2026",
            "Wax of another plan   not weighed",
        ]
        assert "PRODUCTS   1 of 3 low or expired" in play.lines[0]
        assert play.lines[1].strip() == "bottle green estate   0.10 EUR so far"
        await compare_sizes("products", play)
        await play.press("space")
        assert play.sheet.title == (
            "Iron fallout remover: 794.5 ml, lot A17, to Wed 31 Mar 2027, this job 60 ml, 0.10 EUR"
        )
        await compare_sizes("products_choose", play)


async def test_an_empty_log_says_where_products_come_from(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        await play.press("o")
        assert said(play) == ["No product yet: + on Today opens a job, whose plan names them."]
        assert whole(play) == []
        await play.press("space")
        assert play.notice == "There is no product yet."
        await play.resize(SMALL)
        assert whole(play) == []
        # From Today, which an empty log begins on.
        await play.press("esc")
        assert play.called == "today"


@pytest.mark.parametrize("name", ["n" * 60, "漆" * 30, "a [bold]b[/] c", "e\u0301" * 30],
                         ids=["long", "wide", "markup", "combining"])  # fmt: skip
async def test_long_and_strange_names_keep_the_columns(tmp_path: Path, name: str) -> None:
    async with played(tmp_path, job(Product("x", name)), settings=SETTINGS) as play:
        pack(play, ev.PackOpened("x", 500.0, lot="L" * 60, expires="2026-01-01"))
        await play.press("o")
        for size in (HOME, SMALL):
            await play.resize(size)
            assert fits(play)
            assert "EXPIRED" in play.text
            assert "not weighed" in play.text
            await play.press("space", "p")
            assert fits(play)
            await play.press("esc")


async def test_more_products_than_rows_stay_in_sight(tmp_path: Path) -> None:
    many = [Product(f"p{n}", f"Product number {n}") for n in range(30)]
    async with played(tmp_path, job(*many), size=SMALL, settings=SETTINGS) as play:
        await play.press("o", *["down"] * 29)
        assert play.screen.at == 29  # type: ignore[attr-defined]  # Products is a list
        assert len(said(play)) == 30
        assert sum(line.startswith("> Product number") for line in play.lines) == 1


async def test_a_pack_and_a_reading_are_strips(tmp_path: Path) -> None:
    async with played(tmp_path, job(), settings=SETTINGS) as play:
        await play.press("o")
        assert not any(char in play.text for char in "▄▁")
        pack(play, ev.PackOpened("fallout", 1000.0, "ml"), ev.PackWeighed("fallout", 250.0))
        play.bench.do(rules.note_shift, ev.ReadingTaken(air_c=20.0, rh=50.0))
        await play.wind(1800)
        rows = page_of(play).rows
        strips = [cell for row in rows if isinstance(row, Cells) for cell in row.cells]
        assert Bar(0.25) in strips
        now_us = play.bench.now_us
        (strip,) = (strip for strip in strips if isinstance(strip, Tape))
        assert (strip.start, strip.marks) == (now_us - 1_800_000_000, (now_us + 1_800_000_000,))
        # It is drawn anew each minute.
        assert now_us - 60_000_000 < strip.now <= now_us
        assert "reading of 14:13, holds an hour" in read(play)
        # What holds no more is not told.
        await play.wind(1800)
        assert "reading of" not in read(play)


async def test_it_works_from_every_screen_and_esc_goes_back(tmp_path: Path) -> None:
    async with played(tmp_path, job(), settings=SETTINGS) as play:
        # On Help letters find.
        for screen in (name for name in SCREENS if name != "help"):
            # A sign of being unwell opens the page of advice; D is another key on Run.
            # On Help letters are what is looked for.
            if screen == "help":
                continue
            ways = {
                "advice": ("f", "space"),
                "outlook": ("p", "d"),
                "card": ("p", "h", "right"),
                "charts": ("p", "tab"),
                "tomorrow": ("p", "d", "m"),
                "estimate": ("p", "d", "n"),
            }
            letters = [key.keys[0] for key in KEYS if key.id == screen]
            await play.press(*ways.get(screen, letters), "o")
            assert play.called == "products", screen
            await play.press("esc")
            assert play.called == ("run" if screen == "products" else screen)
            await play.press("esc", "esc")
            assert play.called == "run", screen


async def test_a_repaint_reads_nothing_from_the_log(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with played(tmp_path, job(), settings=SETTINGS) as play:
        pack(play, ev.PackWeighed("coat", 2.0))
        await play.press("o")
        read: list[str] = []
        log = play.bench.log
        for name in ("rows_after", "rows_of", "all_rows", "cart_rows"):
            monkeypatch.setattr(log, name, lambda *args, name=name: read.append(name))
        for _ in range(90):
            play.clock.wind(1)
            play.app.repaint()
        await play.settle()
        assert read == []


# Packs.


async def test_a_pack_is_opened_with_all_that_is_on_it(tmp_path: Path) -> None:
    async with played(tmp_path, job(), on=False, settings=SETTINGS) as play:
        await play.press("o", "down", "space", "p")
        assert play.sheet.title == "New pack: Coating"
        await play.press("down", *"30", "l")
        await play.type("K4")
        await play.press(*["down"] * 3, *"2027-03-31", "down", *"60.00", "n")
        await play.type("Small bottle")
        ends = (
            "write it: in use from now on",
            " 30 ml",
            " K4",
            " 2027-03-31",
            " 60.00",
            "Small bottle",
        )
        assert [line.endswith(end) for line, end in zip(play.spoken, ends, strict=True)] == [
            True
        ] * 6
        before = play.kinds
        assert "PackOpened" not in before
        await play.press("space")
        row = play.bench.rows[-1]
        assert row.event == ev.PackOpened(
            "coat", 30.0, "ml", "K4", "2027-03-31", "60.00", "Small bottle"
        )
        assert (row.shift, row.job) == ("", "")
        assert play.notice == "Pack opened: Small bottle, lot K4."
        # The next pack begins as this one.
        await play.press("space", "p")
        assert play.spoken[1].endswith("30 ml")
        assert play.spoken[4].endswith("60.00")
        assert play.spoken[2].endswith("not noted")


async def test_the_plans_pack_is_offered_and_takes_two_picks(tmp_path: Path) -> None:
    async with played(tmp_path, job(), settings=SETTINGS) as play:
        await play.press("o", "space", "p", "w")
        assert play.bench.rows[-1].event == ev.PackOpened("fallout", 1000.0, "ml", price="18.50")


async def test_what_the_jobs_of_the_day_used_is_weighed_when_they_are_handed_over(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, job(), settings=SETTINGS) as play:
        await sprayed(play)
        (opened,) = play.bench.jobs
        play.bench.do(rules.put_down)
        over = {"unfinished": "tomorrow", "windows": "tomorrow", "not_looked": "tomorrow"}
        play.bench.do(rules.close_job, opened, over)
        for on in (True, False):
            if not on:
                play.bench.do(rules.clock_off)
            await play.press("o")
            # The coating of the plan was not used, so nothing of it is to be weighed.
            assert [line.split("   ")[:2] for line in said(play)] == [
                ["Iron fallout remover", "not weighed"]
            ]
            await play.press("esc")
        await play.press("o", "space", "p", "w")
        assert play.bench.rows[-1].event == ev.PackOpened("fallout", 1000.0, "ml", price="18.50")
        await play.press("space", "w", *"412.5", "space")
        assert play.bench.rows[-1].event == ev.PackWeighed("fallout", 412.5)
        assert said(play)[0].split("   ")[1] == "412.5 ml"
        assert play.odd() == []


async def test_a_wrong_value_is_refused_and_what_was_typed_stays(tmp_path: Path) -> None:
    cases = [
        (1, "0", "A pack holds more than 0"),
        (1, "-5", "A pack holds more than 0"),
        (1, "..", "it holds: .. is no number"),
        (3, "2027-02-30", "'2027-02-30' is not a date"),
        (4, "1.2345", "'1.2345' is not a price"),
    ]
    async with played(tmp_path, job(), settings=SETTINGS) as play:
        before = play.kinds
        for downs, typed, said in cases:
            await play.press("o", "space", "p", *["down"] * downs, *typed, "space")
            assert play.sheet.title.startswith(said), typed
            assert play.spoken[downs].split()[-1] in (typed, "ml"), typed
            assert typed in play.spoken[downs], typed
            assert play.kinds == before, typed
            await play.press("esc")
            assert not play.sheet.is_open, typed
            assert play.kinds == before, typed


async def test_backspace_wipes_the_line_it_stands_on(tmp_path: Path) -> None:
    async with played(tmp_path, job(), settings=SETTINGS) as play:
        await play.press("o", "space", "p", "down", "backspace")
        assert play.spoken[1].endswith("not noted")
        await play.press("space")
        assert play.sheet.title == "it holds: nothing was typed; type it like 500."


async def test_what_is_left_is_weighed_and_taken_back(tmp_path: Path) -> None:
    async with played(tmp_path, job(), settings=SETTINGS) as play:
        await play.press("o", "space", "w", *"412.5", "space")
        assert play.bench.rows[-1].event == ev.PackWeighed("fallout", 412.5)
        assert said(play)[0].split("   ")[1] == "412.5 ml"
        assert play.notice == "Weighed: 412.5 left of Iron fallout remover."
        before = play.kinds
        await play.press("space", "w", "-", "3", "space")
        assert play.sheet.title.startswith("What is left is from 0")
        await play.press("esc")
        assert play.kinds == before
        await play.press("u", "backspace")
        assert play.kinds[-1] == "PressStruck"
        assert play.notice == "Taken back: weighed: 412.5 left of Iron fallout remover."
        await play.press("o")
        assert "not weighed" in said(play)[0]
        assert play.odd() == []


async def test_a_pack_opened_off_the_clock_is_struck_and_restored_in_the_log(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, job(), on=False, settings=SETTINGS) as play:
        await play.press("o", "space", "p", "w", "l")
        await play.press("space", "down", "space")
        assert play.kinds[-1] == "PressStruck"
        await play.press("o")
        await play.press("space")
        assert "by the book" not in play.sheet.title
        await play.press("esc", "l", "down", "space", "down", "space")
        assert play.kinds[-1] == "PressRestored"
        await play.press("o", "space")
        assert "by the book 1000 ml" in play.sheet.title
        assert play.odd() == []


# Amounts.


async def sprayed(play: Play) -> None:
    """The first section sprayed, 60 ml booked."""
    await play.press("space")
    await play.wind(60)
    await play.press("space")
    assert "ProductUsed" in play.kinds


@pytest.mark.parametrize(("letter", "by"), [("n", -60.0), ("h", -30.0), ("t", 60.0)])
async def test_two_presses_correct_what_a_step_booked(
    tmp_path: Path, letter: str, by: float
) -> None:
    async with played(tmp_path, job(), settings=SETTINGS) as play:
        await sprayed(play)
        for size in (HOME, SMALL):
            await play.resize(size)
            await play.press("a")
            assert whole(play) == []
            assert "The last 60 ml Iron fallout remover, left, were really: N none, H half, T" in (
                play.sheet.title
            )
            assert "T twice" in play.text
            await play.press("esc")
        before = len(play.kinds)
        await play.press("a", letter)
        assert [row.event for row in play.bench.rows[before:]] == [ev.UseCorrected("fallout", by)]
        # Once put right it is not offered again, so that a bounce corrects nothing twice.
        await play.press("a")
        assert play.sheet.title == "Bottle green estate: used so far"
        before = len(play.kinds)
        await play.press(letter)
        assert len(play.kinds) == before
        assert play.odd() == []


async def test_opening_the_list_and_space_change_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, job(), settings=SETTINGS) as play:
        await sprayed(play)
        before = play.kinds
        await play.press("a", "space")
        await play.press("a", "up", "space")
        assert play.kinds == before


async def test_several_products_of_one_step_are_corrected_by_one_press(tmp_path: Path) -> None:
    async with played(tmp_path, job(), settings=SETTINGS) as play:
        await play.press("space")
        (opened,) = play.bench.jobs
        both = ev.ProductUsed("Coat", ("roof",), Turn(), {"coat": 10.0, "fallout": 20.0})
        play.bench.do(_book, opened, both)
        await play.press("a", "h")
        rows = play.bench.rows[-2:]
        assert [row.event for row in rows] == [
            ev.UseCorrected("coat", -5.0), ev.UseCorrected("fallout", -10.0),
        ]  # fmt: skip
        assert rows[0].press == rows[1].press


def _book(scene: object, job_id: str, event: ev.ProductUsed) -> tuple[object, ...]:
    from cartclock.engine.facts.rows import Draft

    return (Draft(event, job_id),)


async def test_the_amount_of_this_job_is_put_right_from_here_too(tmp_path: Path) -> None:
    async with played(tmp_path, job(), settings=SETTINGS) as play:
        await sprayed(play)
        await play.press("o", "space", "a")
        assert (
            play.sheet.title == "Bottle green estate: Iron fallout remover, of the mix as applied"
        )
        await play.press(*"45", "space")
        assert play.bench.rows[-1].event == ev.UseCorrected("fallout", -15.0)
        before = play.kinds
        await play.press("space", "a", "space")
        assert play.notice == "That is what is booked already."
        assert play.kinds == before


# The data sheet, and what Run says.


async def test_the_data_sheet_is_read(tmp_path: Path) -> None:
    async with played(tmp_path, job(), settings=SETTINGS) as play:
        before = play.kinds
        await play.press("o", "space", "r")
        text = " ".join(line.strip() for line in play.spoken)
        for part in ("hazard: Warning", "hazard: H317", "family: thioglycolate",
                     "10 parts water + 1 part product = 11 parts", "full pack: 1000 ml, 18.50 EUR",
                     "dwell (Fallout): opens 2:00, due 3:00, closes 5:00"):  # fmt: skip
            assert part in text
        await compare_sizes("products_sheet", play)
        await play.press("space")
        assert not play.sheet.is_open
        assert play.kinds == before


async def test_run_says_that_it_will_not_last_and_that_a_lot_expired(tmp_path: Path) -> None:
    async with played(tmp_path, job(), settings=SETTINGS) as play:
        pack(play, ev.PackOpened("coat", 30.0, lot="K4", expires="2026-09-21"))
        await play.wind(60)
        assert "Coating: lot K4 expired, last day Mon 21 Sep 2026." not in play.glance.notices
        await play.wind(10 * 3600)
        assert "Coating: lot K4 expired, last day Mon 21 Sep 2026." in play.glance.notices
        pack(play, ev.PackWeighed("coat", 3.0))
        await play.wind(60)
        said = "Coating will not last for this job: 3 ml left, 3.5 ml needed."
        assert play.glance.notices[0] == said
        pack(play, ev.PackWeighed("coat", 3.5))
        await play.wind(1)
        assert said not in play.glance.notices


async def test_what_is_said_of_a_pack_waits_for_a_film_in_play(tmp_path: Path) -> None:
    async with played(tmp_path, job(), settings=SETTINGS) as play:
        pack(play, ev.PackOpened("coat", 30.0), ev.PackWeighed("coat", 3.0))
        await play.wind(60)
        said = "Coating will not last for this job: 3 ml left, 3.5 ml needed."
        assert said in play.glance.notices
        await play.choose("apply bonnet left")
        await play.press("space")
        await play.wind(10)
        assert not [one for one in play.glance.notices if one.startswith("Coating will not last")]
        # It is put down, and dry for an hour.
        await play.press("h")
        await play.wind(2 * 3600)
        assert [one for one in play.glance.notices if one.startswith("Coating will not last")]


async def test_the_record_shows_lots_and_cost(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,), job(), settings=SETTINGS) as play:
        await play.choose("spray")
        await sprayed(play)
        pack(play, ev.PackOpened("fallout", 1000.0, lot="A17", price="18.50"))
        await play.wind(60)
        await play.press("space", "e")
        text = read(play)
        assert "lot A17" in text
        assert "lot not noted" in text
        assert "cost EUR" in text
        assert "0.20" in text


def test_every_key_of_the_screen_has_a_meaning_there() -> None:
    for key in on_screen(KEYS, "products"):
        assert hasattr(ProductsScreen, f"press_{key.id}"), key.id


@pytest.mark.parametrize(("columns", "shown"), [(80, LONG_NAME), (40, "Shampoo, pH neutral…")])
async def test_a_name_is_cut_only_where_the_amount_needs_the_room(
    tmp_path: Path, columns: int, shown: str
) -> None:
    plan = Plan("tiny", (WIPE,), (Product("shampoo", LONG_NAME, "ml"), Product("wax", "Wax", "g")))
    opened = ev.JobOpened(plan, "", 1, "bottle green estate")
    async with played(tmp_path, opened, size=(columns, 24)) as play:
        await play.press("a")
        first, second = play.spoken
        assert first.startswith(f"{shown} ")
        # The amounts stand in one column.
        assert first.index("0 ml") == second.index("0 g")
        assert whole(play) == []


# Pads and towels.


@pytest.mark.parametrize("size", [HOME, SMALL])
async def test_pads_and_towels_are_shown_and_a_fresh_one_is_taken_there(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with played(tmp_path, (WEARING,), size=size) as play:
        for _ in range(6):
            await play.press("space")
            await play.wind(60)
        await play.press("o")
        text = " ".join(play.text.split())
        assert "pads and towels" in text
        assert size == SMALL or "To wash: 1 pad, 1 towel." in text
        assert "CHANGE 2 of 2" in text
        assert fits(play)
        await compare_sizes("products_worn", play)
        await play.press(*["down"] * 2, "space")
        assert play.sheet.title == "Bottle green estate: soft pad"
        assert play.spoken == ["fresh soft pad after 2 sections"]
        assert whole(play) == []
        await play.press("space")
        assert play.bench.rows[-1].event == ev.FreshTaken("Polish", "pad", "soft pad", 2)
        text = " ".join(play.text.split())
        assert "0 of 2 1" in text and "CHANGE" not in text
        # A letter does it from any line, as on Run.
        await play.press("up", "up", "a", "w")
        assert play.bench.rows[-1].event == ev.FreshTaken("Polish", "towel", "short towel", 2)
        assert play.called == "products"
        assert play.odd() == []


async def test_off_the_clock_nothing_is_worn(tmp_path: Path) -> None:
    async with played(tmp_path, (WEARING,), on=False) as play:
        await play.press("o")
        assert "pads and towels" not in play.text
        await play.press("a")
        assert "You are not on the clock" in " ".join(play.text.split())
