"""The card of a vehicle: from History, from Today, and in front of a new job."""

from __future__ import annotations

from pathlib import Path

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.rules.amending import amend
from cartclock.tui.face.page import Cells, Words
from cartclock.tui.pages.card import BY_NAME, card_page
from tests.history.test_vehicle_card import card_of, visit
from tests.kit.page import read
from tests.kit.plans import POLISH, WIPE, opening
from tests.kit.stage import Play, compare_sizes, played
from tests.record.test_customer_sheet import COAT, SOAP, VISIT, book_of, coated, lay


async def pick(play: Play, word: str) -> None:
    """Picks the line of the open list that begins with a word."""
    at = next(at for at, line in enumerate(play.spoken) if line.startswith(word))
    await play.press(*["down"] * at, "space")


async def test_from_history_the_card_of_the_chosen_vehicle(tmp_path: Path) -> None:
    second = replace(opening(POLISH, number=2), vehicle="chalk white van")
    third = replace(opening(WIPE, number=3), vehicle="Chalk white VAN")
    async with played(tmp_path, (WIPE,), second, third) as play:
        await play.press("t", "h", *"white", "right")
        assert play.called == "card"
        text = read(play)
        assert "Chalk white VAN   here 2 times" in text
        assert BY_NAME in text
        assert "The log has nothing of: owed, on it, paint then, damage then." in text
        assert "bottle green" not in text
        await play.press("space")
        assert play.notice == "No new job waits here: + on Today opens one."
        await play.press("e")
        assert play.called == "record"
        await play.press("esc")
        assert play.called == "card"


async def test_from_today_the_card_of_a_job(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("t", "space")
        await pick(play, "its vehicle's card")
        assert play.called == "card"
        assert "bottle green estate   here once" in read(play)
        await play.press("esc")
        assert play.called == "today"


async def test_a_new_job_on_a_vehicle_that_was_here_shows_its_card_first(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("t", "+")
        await pick(play, "maintenance")
        await pick(play, "estate")
        await play.type("Bottle green estate")
        assert play.called == "card"
        assert "SPACE goes on with the new job." in read(play)
        await compare_sizes("card", play)
        before = len(play.bench.rows)
        await play.press("space")
        assert play.called == "today"
        assert play.sheet.title.startswith("Bottle green estate: customer")
        await play.press("esc")
        opened = play.bench.rows[before].event
        assert isinstance(opened, ev.JobOpened)
        assert (opened.number, opened.vehicle) == (2, "Bottle green estate")
        # It is asked once: there is no job left that waits.
        await play.press("esc", "t", "space")
        await pick(play, "its vehicle's card")
        assert "SPACE goes on" not in read(play)
        assert "here 2 times" in read(play)


def with_plate(play: Play, number: int, plate: str) -> None:
    """Notes the plate of a job."""
    job = next(one.id for one in play.bench.jobs.values() if one.opened.number == number)
    play.bench.do(amend, job, ev.JobAmended("plate", play.bench.seal(plate)))


async def test_a_plate_tells_a_vehicle_that_is_called_otherwise(tmp_path: Path) -> None:
    second = replace(opening(POLISH, number=2), vehicle="Aunt's car")
    third = replace(opening(POLISH, number=3), vehicle="bottle green estate")
    async with played(tmp_path, (WIPE,), second, third) as play:
        with_plate(play, 1, "AB 12 CD")
        with_plate(play, 2, "ab 12 cd")
        with_plate(play, 3, "ZZ 99 XX")
        await play.press("t", "h", *"AUNT", "right")
        text = read(play)
        assert "Aunt's car, ab 12 cd   here 2 times" in text
        assert BY_NAME not in text
        # Another plate is another vehicle, whatever it is called.
        assert "3   21 Sep" not in text
        await play.press("esc", "esc", "t", "+")
        await pick(play, "maintenance")
        await pick(play, "estate")
        await play.type("somebody's car")
        await play.type("a name")
        assert play.sheet.title.startswith("Somebody's car: plate")
        await play.type("Ab 12 cD")
        assert play.called == "card"
        assert "here 2 times" in read(play)
        before = len(play.bench.rows)
        # To go back loses nothing of what was said.
        await play.press("esc")
        assert play.called == "today"
        assert play.sheet.title.startswith("Somebody's car: phone")
        await play.press("esc")
        opened = play.bench.rows[before].event
        assert isinstance(opened, ev.JobOpened)
        assert opened.plate is not None
        assert opened.customer is not None


async def test_the_card_is_shown_once_for_one_opening(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        with_plate(play, 1, "AB 12 CD")
        await play.press("t", "+")
        await pick(play, "maintenance")
        await pick(play, "estate")
        await play.type("bottle green estate")
        await play.press("space")
        await play.type("")
        await play.type("AB 12 CD")
        assert play.called == "today"
        assert play.sheet.title.startswith("Bottle green estate: phone")


async def test_esc_on_the_card_opens_no_job(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("t", "+")
        await pick(play, "maintenance")
        await pick(play, "estate")
        await play.type("bottle green estate")
        before = play.kinds
        await play.press("esc")
        assert play.called == "today"
        assert not play.sheet.is_open
        assert play.kinds == before


def test_the_page_says_what_is_owed_what_is_on_it_and_what_was_read() -> None:
    book = coated(VISIT, SOAP)
    book.press(200, ev.PaintRead("roof", "before", 98, 121))
    book.press(200, ev.DamageNoted("roof", "scratch"))
    card = card_of(visit("one", 1, 0, book), now_s=7200)
    (found,) = card.visits
    page = card_page(replace(card, visits=(found, ("zero", found[1]))))
    texts = [
        row.text if isinstance(row, Words) else row.cells
        for row in page.rows
        if isinstance(row, Words | Cells)
    ]
    assert any("Inspection" in str(text) for text in texts)
    assert any(text[0] == "Coat" and "Coating, 1 layer" in text[1] for text in texts)
    assert any(text[0] == "roof" and text[1].startswith("98 to 121 µm before") for text in texts)
    assert ("roof", "scratch, job 1") in texts
    assert texts[-1] == "Told of 1 of 2 visits, the newest; the others have their records."


def test_a_lot_noted_for_a_part_of_a_film_is_told_as_that() -> None:
    book = book_of(COAT)
    lay(book, 80, "Coat", "roof")
    book.press(110, ev.PackOpened("coat", 600, "drops", lot="B2"))
    lay(book, 120, "Coat", "bonnet")
    page = card_page(card_of(visit("one", 1, 0, book), now_s=7200))
    (film,) = (row.cells[1] for row in page.rows if isinstance(row, Cells) and len(row.cells) == 2)
    assert film == "Coating, lot not noted and B2, 1 layer, 21 Sep 2026, job 1"


def test_what_is_still_to_be_read_is_not_said_to_be_nothing() -> None:
    card = card_of(visit("one", 1, 0, coated()), now_s=7200)
    texts = [row.text for row in card_page(card, unread=3).rows if isinstance(row, Words)]
    assert texts[0] == "Not all is here yet: 3 jobs still to be read."
    assert not any("has nothing" in text for text in texts)
    texts = [row.text for row in card_page(card).rows if isinstance(row, Words)]
    assert "The log has nothing of: owed, paint then, damage then." in texts


def test_what_is_owed_stands_in_the_order_in_which_it_is_due() -> None:
    soap, wax = replace(SOAP, until="P200D"), replace(SOAP, say="No wax.", until="P9D")
    book = coated(soap, VISIT, wax)
    page = card_page(card_of(visit("one", 1, 0, book), now_s=7200))
    owed = [row.text for row in page.rows if isinstance(row, Words) and row.hang]
    assert [text.rpartition(": ")[2] for text in owed] == [
        "No wax.", "Inspection.", "No shampoo.", "Inspection."
    ]  # fmt: skip
