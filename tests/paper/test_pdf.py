"""Papers as PDF, read back by the fonts' own tables: the same words as the text, page by page."""

from __future__ import annotations

import hashlib
import os
import re
import subprocess
import sys
import time
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.sealed import Sealed
from cartclock.engine.facts.shift import Hands
from cartclock.engine.paper.facts import Size
from cartclock.engine.paper.page.pdf.ink import CHAPTER
from cartclock.engine.paper.shop_head import NO_SHOP, ShopHead
from cartclock.engine.plan.plan import Plan, Stage, Wait, Work
from cartclock.engine.record.arrival import arrival_sheet
from cartclock.engine.record.customer import customer_sheet
from cartclock.engine.record.day import Day, day
from cartclock.engine.record.record import Proof, Record, record
from cartclock.engine.rules import rules
from tests.kit.book import JOB, Book, opened, us
from tests.kit.papers import papers_with
from tests.kit.pdf import Sheet, drawn_on, info, outside_streams, rectangles, sheets
from tests.kit.plans import COAT, FALLOUT, POLISH
from tests.kit.setting import (
    arrival_pdf,
    arrival_text,
    customer_pdf,
    customer_text,
    day_pdf,
    day_text,
    record_pdf,
    record_text,
)
from tests.paper.test_text import HARD, TEXTS, driven

SHOP = ShopHead("Glanz & Söhne", ("Gasse 3", "Oberfeld"), "+00 555 0142")
ZONE = "Europe/Berlin"
MOST_BYTES = 300_000


def record_of(book: Book, at_s: float, note: str = "a note") -> Record:
    shifts = {row.shift: book.shift(row.shift) for row in book.rows if row.shift}
    return record(
        book.job(),
        shifts,
        book.jobs(),
        us(at_s),
        rows=book.rows,
        text=lambda _ref: note,
        proof=Proof(len(book.rows), "0f" * 32),
    )


def day_of(book: Book, at_s: float) -> Day:
    shifts = {row.shift: book.shift(row.shift) for row in book.rows if row.shift}
    return day("2026-09-21", ZONE, shifts, book.jobs(), us(at_s))


def text_of(pages: list[Sheet]) -> str:
    return "\n".join(page.text for page in pages)


def words(text: str) -> Counter[str]:
    """The words of a paper without rules and without the case of its headings."""
    found = (word.rstrip(":;-") for word in text.casefold().split())
    return Counter(word for word in found if word and not set(word) <= set("#=./-"))


def without_tape(text: str) -> str:
    """A paper of text without the frame of a plate, the dashes of notes, and what says again in
    words what print draws as tape."""
    text = re.sub(r"^Stage: .*?\n\n", "\n", text, flags=re.MULTILINE | re.DOTALL)
    text = re.sub(r"^(Stage|Shift|Films|\S[^:\n]*?) {2,}[#=./ \w]*[#=./]{2}.*$", r"\1", text,
                  flags=re.MULTILINE)  # fmt: skip
    # What has no room in its line is said under it by the head of its column.
    text = re.sub(r"^ {6}(remarks|also|source|counted from): ", "", text, flags=re.MULTILINE)
    return re.sub(r"[\[\]]|^- ", "", text, flags=re.MULTILINE)


def long_day(sections: int = 30) -> Book:
    """Thirty sections with long names, two shifts, and a film on all but the last."""
    names = tuple(f"panel {n} under the long moulding of the left side" for n in range(sections))
    steps = (Work("apply", 1.0), Wait("flash", 60, 90, 300), Work("level", 1.0))
    book = opened(Stage("Coat", names, steps))
    at_s = 60.0
    book.press(at_s, ev.ReadingTaken(31, 40, 34, 36, 28, "sun", "windy"))
    for count in range(2 * sections - 2):
        if count == sections:
            doing = book.shift().doing
            if isinstance(doing, Hands):
                book.press(at_s, ev.WorkPutDown("Coat", doing.sections, doing.turn))
            book.press(at_s, ev.ClockedOff())
            at_s += 36_000
            book.press(at_s, ev.ClockedOn("carport"))
        book.do(at_s, rules.take_up, book.moves(at_s)[0])
        at_s += 90
    return book


# What it says.


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_record_says_every_word_of_the_text(paper: Size) -> None:
    found = record_of(driven(["Ödön", "Ελλάδα", "Жанна"]), 6000)
    pdf = text_of(sheets(record_pdf(found, SHOP, paper, 15, "EUR", search=None)))
    assert not words(without_tape(record_text(found, 15, "EUR"))) - words(pdf)


def test_the_day_says_every_word_of_the_text() -> None:
    found = day_of(driven(["Ödön", "Ελλάδα", "Жанна"]), 6000)
    pdf = text_of(sheets(day_pdf(found, SHOP, "A4", 15, search=None)))
    text, made, when = without_tape(day_text(found, 15)).rpartition("Made ")
    assert not words(text) - words(pdf)
    # When it was made stands at the foot of every page, and once.
    assert made and pdf.count(when.strip(" .\n")) == 1


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_customers_paper_and_the_arrival_sheet_say_every_word(paper: Size) -> None:
    found = record_of(driven(["Ödön", "Ελλάδα", "Жанна"]), 6000)
    customer, arrival = customer_sheet(found), arrival_sheet(found)
    for text, pdf in (
        (customer_text(customer, SHOP), customer_pdf(customer, SHOP, paper, search=None)),
        (
            arrival_text(arrival, SHOP, "EUR"),
            arrival_pdf(arrival, SHOP, paper, "EUR", search=None),
        ),
    ):
        # Lines to write on, the frames of a plate and a date, and a date drawn large.
        bare = re.sub(r"[_|\[\]\u2580\u2584\u2588]|\+-+\+", "", text)
        assert not words(bare) - words(text_of(sheets(pdf)))


def test_what_is_private_does_not_reach_the_customers_paper() -> None:
    book = opened(COAT)
    sealed = {name: Sealed(name, "00") for name in ("secret", "open")}
    book.press(0, ev.ReadingTaken(wbgt_c=31.4), ev.FeltUnwell(("headache",)))
    for at_s in (0, 90, 180):
        moves = book.moves(at_s)
        book.do(at_s, rules.take_up, moves[0], {"layer_early": "overruled for reasons"})
    book.press(200, ev.NoteWritten(sealed["secret"], private=True))
    book.press(201, ev.NoteWritten(sealed["open"]))
    book.press(202, ev.FileAttached("0" * 64, sealed["secret"]))
    shift = book.shift()
    found = record(
        book.job(),
        {shift.id: shift},
        book.jobs(),
        us(900),
        rows=book.rows,
        text={"secret": "XSECRETX", "open": "for the customer"}.get,
    )
    own, given = record_pdf(found, SHOP), customer_pdf(customer_sheet(found), SHOP)
    text = text_of(sheets(given))
    assert "for the customer" in text.casefold()
    for private in ("XSECRETX", "headache", "31.4", "WBGT", "Hours", "overruled for reasons"):
        assert private not in text
        assert private.encode() not in given
    assert "XSECRETX" in text_of(sheets(own))
    assert "headache" in text_of(sheets(own))


def test_what_is_missing_at_the_hand_over_is_left_open_to_be_written_by_hand() -> None:
    found = record_of(opened(POLISH), 60)
    pdf = arrival_pdf(arrival_sheet(found), SHOP, search=None)
    (page,) = sheets(pdf)
    for label in ("Customer", "Plate", "Odometer", "Ready", "Keys", "Left inside"):
        assert label in "  ".join(page.lines).split("  ")
    assert "As above: customer, date  For the shop, date" in page.lines


def test_what_is_not_known_is_said_before_everything_else_on_the_customers_paper() -> None:
    warned = replace(customer_sheet(record_of(opened(POLISH), 60)), warning="Keep it dry " * 20)
    pages = sheets(customer_pdf(warned, SHOP, search=None))
    alert = next(at for at, line in enumerate(pages[0].lines) if line.count("dry") > 3)
    heading = next(at for at, line in enumerate(pages[0].lines) if "bottle green" in line)
    assert 0 < alert - heading <= 3
    assert text_of(pages).count("dry") == 20
    endless = replace(warned, warning="Keep it dry " * 500)
    pages = sheets(customer_pdf(endless, SHOP, search=None))
    inside_the_frame(pages)
    assert text_of(pages).count("dry") == 500


def test_packed_and_readable_files_say_the_same() -> None:
    found = record_of(driven(["Ödön"]), 6000)
    packed, readable = (record_pdf(found, SHOP, compressed=c, search=None) for c in (True, False))
    assert sheets(packed) == sheets(readable)
    assert len(packed) < len(readable)


# Names under which a file acts.
ACTS = rb"/(JavaScript|JS|Launch|OpenAction|AA|URI|EmbeddedFile)\b"


@pytest.mark.parametrize("at", range(len(HARD)))
def test_text_of_persons_is_inert_and_stays_on_the_page(at: int) -> None:
    """Each word on the record and on one of the others; on all of them in `long`."""
    papers = ("day", "customer", "arrival")
    is_inert_on(HARD[at], "record", papers[at % len(papers)])


@pytest.mark.long
@pytest.mark.parametrize("at", range(len(HARD)))
def test_text_of_persons_is_inert_and_stays_on_every_page(at: int) -> None:
    is_inert_on(HARD[at], "record", "day", "customer", "arrival")


def is_inert_on(word: str, *papers: str) -> None:
    book, head = driven([word]), ShopHead(word, (word,), word)
    found = record_of(book, 6000, word)
    for paper in papers:
        match paper:
            case "record":
                pdf = record_pdf(found, head, search=None)
            case "day":
                pdf = day_pdf(day_of(book, 6000), ShopHead(word), search=None)
            case "customer":
                pdf = customer_pdf(customer_sheet(found), head, search=None)
            case _:
                pdf = arrival_pdf(arrival_sheet(found), head, search=None)
        inside_the_frame(sheets(pdf))
        assert not re.search(ACTS, outside_streams(pdf))


@settings(max_examples=12)
@given(st.lists(TEXTS, min_size=1, max_size=6))
def test_nothing_a_person_can_type_breaks_the_paper(typed: list[str]) -> None:
    inside_the_frame(sheets(record_pdf(record_of(driven(typed), 6000, typed[0]), search=None)))


def inside_the_frame(pages: list[Sheet]) -> None:
    for page in pages:
        assert page.said
        for one in page.said:
            assert page.live[0] - 12 <= one.x <= page.live[2] + 1, one
            assert 20 <= one.y <= page.size[1] - 20, one
            assert "\0" not in one.text, one


@pytest.mark.parametrize(
    "name", ["<script>alert(1)</script>", "=1+1", "<b>bold</b> &amp; <para>", "(a) \\b\\ )c("]
)
def test_markup_stands_as_it_was_typed(name: str) -> None:
    found = record_of(driven(["car"]), 6000, name)
    assert name in sheets(record_pdf(found, search=None))[0].lines


def test_accents_greek_and_cyrillic_come_out_right() -> None:
    name = "Łukasz Žižek, Ελλάδα, Юлия Ёж"
    pages = sheets(record_pdf(record_of(driven(["car"]), 6000, name), search=None))
    assert name in pages[0].lines
    assert "could not be set" not in text_of(pages)


def test_letters_that_cannot_be_set_are_named_at_the_end() -> None:
    pages = sheets(record_pdf(record_of(driven(["car"]), 6000, "王 wong"), search=None))
    assert "� wong" in pages[0].lines
    assert "1 letter could not be set: U+738B (� stands there instead)" in pages[-1].text


# How it stands on pages.


def test_pages_are_numbered_and_every_one_has_shop_title_and_date() -> None:
    pages = sheets(record_pdf(record_of(long_day(), 50_000), SHOP, search=None))
    assert len(pages) > 1
    first, *others = pages
    assert first.lines[:2] == ["Glanz & Söhne", "Job record"]
    assert "Gasse 3, Oberfeld, +00 555 0142" in first.lines and "job 1" in first.lines
    counted = f"Tue 22 Sep 2026 04:06   1 of {len(pages)}"
    assert first.lines[-1] == f"Glanz & Söhne, +00 555 0142  {counted}"
    for number, page in enumerate(others, 2):
        assert page.lines[0] == "Job record, job 1  Tue 22 Sep 2026 04:06"
        assert page.lines[-1] == f"Glanz & Söhne, +00 555 0142  {number} of {len(pages)}"


def test_a_shop_nobody_named_leaves_its_corner_empty() -> None:
    lines = sheets(record_pdf(record_of(driven(["car"]), 6000), NO_SHOP, search=None))[0].lines
    assert lines[:2] == ["Job record", "job 1"]


def test_a_long_name_of_the_shop_is_wrapped_and_at_the_foot_cut_with_dots() -> None:
    shop = ShopHead("Shop " * 60, ("Shop " * 20,), "1")
    page = sheets(record_pdf(record_of(driven(["car"]), 6000), shop, search=None))[0]
    head = "\n".join(page.lines[:-1])
    assert head.count("Shop") == 80
    assert "..." in page.lines[-1]
    assert page.smallest >= 7.0


def test_heads_stand_again_on_the_next_page_of_their_table() -> None:
    pages = sheets(record_pdf(record_of(long_day(48), 50_000), SHOP, search=None))
    turned = [page.lines for page in pages if page.lines[1].startswith("Sections (continued)")]
    assert turned
    for lines in turned:
        assert lines[2].startswith("section  from - to  off  asked  taken")


@pytest.mark.long
def test_a_long_text_in_every_field_is_set_in_a_time_in_proportion() -> None:
    found = papers_with(lambda name: f"{name} {'ab ' * 4_000}").record
    begun = time.process_time()
    made = record_pdf(found, search=None)
    # Heads as high as a page are not set again on every page.
    assert time.process_time() - begun < 10.0
    assert len(sheets(made)) > 100


# How many sections a day has: where a page ends moves by a row with each.
FEW_OR_MANY = pytest.mark.parametrize(
    "counts",
    [range(4, 30, 6), pytest.param(range(4, 30), marks=pytest.mark.long)],
    ids=["few", "many"],
)


@FEW_OR_MANY
def test_no_heading_is_the_last_of_its_page(counts: range) -> None:
    for sections in counts:
        book = long_day(sections)
        for pdf in (
            record_pdf(record_of(book, 50_000), search=None),
            day_pdf(day_of(book, 50_000)),
        ):
            for page in sheets(pdf):
                low = min(one.y for one in page.said if one.y >= page.foot)
                assert not [one for one in page.said if one.y == low and one.size == CHAPTER]


@FEW_OR_MANY
def test_no_head_of_a_table_stands_over_one_row_at_the_foot_of_its_page(counts: range) -> None:
    heads = ("section  from - to", "rest called  ")
    for sections in counts:
        pages = sheets(record_pdf(record_of(long_day(sections), 50_000), search=None))
        assert any(line.startswith(heads) for page in pages for line in page.lines)
        for page in pages[:-1]:
            assert not any(line.startswith(heads) for line in page.lines[-4:-1])


def test_nothing_is_drawn_over_the_foot() -> None:
    pages = sheets(record_pdf(record_of(long_day(), 50_000), SHOP, search=None))
    for page in pages:
        foot = f"{SHOP.name}, {SHOP.phone}", f" of {len(pages)}"
        low = [one.y for one in page.said if not one.text.endswith(foot)]
        assert min(low) >= page.foot


@pytest.mark.parametrize(
    ("paper", "size"),
    [("A4", (595.2756, 841.8898)), ("Letter", (612.0, 792.0))],
    ids=["A4, ISO 216: 210 x 297 mm", "Letter, ANSI/ASME Y14.1: 8.5 x 11 in"],
)
def test_both_papers_have_their_size(paper: Size, size: tuple[float, float]) -> None:
    book = driven(["car"])
    for pdf in (
        record_pdf(record_of(book, 6000), SHOP, paper, search=None),
        day_pdf(day_of(book, 6000), SHOP, paper, search=None),
    ):
        assert {page.size for page in sheets(pdf)} == {size}


def test_papers_are_small_enough_to_send() -> None:
    book = long_day()
    assert len(record_pdf(record_of(book, 50_000), SHOP)) < MOST_BYTES
    assert len(day_pdf(day_of(book, 50_000), SHOP)) < MOST_BYTES
    assert len(record_pdf(record_of(driven(list(HARD)), 6000), SHOP, search=None)) < MOST_BYTES


def test_every_font_is_in_the_file() -> None:
    pdf = record_pdf(record_of(driven(["car"]), 6000), SHOP, search=None)
    fonts = re.findall(rb"/BaseFont /(\S+)", pdf)
    assert fonts
    assert all(re.fullmatch(rb"[A-Z]{6}\+DejaVuSans\S*", font) for font in fonts)
    assert pdf.count(b"/FontFile2") == len(fonts)


def test_the_file_says_what_it_is_and_when_it_was_true_and_no_name() -> None:
    pdf = record_pdf(record_of(driven(["car"]), 6000, "Ottoline"), SHOP, search=None)
    said = info(pdf)
    assert b"(Job record, job 1)" in said
    assert b"(D:20260921155320+00'00')" in said
    assert b"Ottoline" not in said


def digest() -> str:
    """Of two papers with every hard word."""
    book = driven(list(HARD))
    papers = (
        record_pdf(record_of(book, 6000), SHOP, search=None),
        day_pdf(day_of(book, 6000), SHOP, search=None),
    )
    return hashlib.sha256(b"".join(papers)).hexdigest()


def test_the_same_paper_is_the_same_bytes_in_every_process() -> None:
    here = (os.environ.get("PYTHONHASHSEED"), os.environ.get("TZ"))
    there = {"PYTHONHASHSEED": "1" if here[0] != "1" else "2"}
    there |= {"TZ": "Asia/Tokyo" if here[1] != "Asia/Tokyo" else "UTC"}
    done = subprocess.run(
        [sys.executable, "-c", "from tests.paper.test_pdf import digest; print(digest())"],
        env={"PYTHONPATH": ".", **there},
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.strip() == digest()


# What is drawn.


def a_shift() -> Book:
    """Two hours: work, a call, a meal, work, and a film on the paint."""
    book = opened(FALLOUT)
    book.press(0, ev.ReadingTaken(31, 40, 34, 36, 28, "sun", "windy"))
    book.do(600, rules.take_up, book.moves(600)[0])
    # The film that is left half done is asked about.
    book.do(1800, rules.start_other, "phone", JOB, over={"film_left": "a call"})
    book.do(3600, rules.take_break, "meal")
    book.press(5400, ev.BreakEnded())
    return book


def test_the_shift_lies_to_scale_as_tape() -> None:
    pdf = record_pdf(record_of(a_shift(), 7200), search=None, compressed=False)
    page = sheets(pdf)[0]
    (row,) = [one for one in page.said if one.text == "Shift" and abs(one.x - page.live[0]) < 0.1]
    over = [one for one in page.said if re.fullmatch(r"\d\d", one.text) and one.size < 8]
    ticks = {one.text: one for one in over if 0 < one.y - row.y < 60}
    # The shift lies from 14:13:20 to 16:13:20, between the marks of 14 and 17.
    assert sorted(ticks) == ["14", "15", "16", "17"]
    hour = (ticks["16"].x - ticks["15"].x) / 60

    def minute(x: float) -> float:
        return (x - ticks["15"].x - 4.0) / hour + 47

    bars = [r for r in rectangles(pdf, 0) if abs(r.y - row.y) < 8 and r.height > 1.5]
    spans = {(round(minute(r.x)), round(minute(r.x + r.width))) for r in bars}
    # The meal lies low, from the 60th to the 90th minute.
    assert any(abs(start - 60) <= 1 and abs(end - 90) <= 1 for start, end in spans)


def test_rows_of_the_drawing_are_told_by_words_and_patterns_alone() -> None:
    pdf = record_pdf(record_of(a_shift(), 7200), search=None, compressed=False)
    for page in range(len(sheets(pdf))):
        assert not re.search(rb"\b(rg|RG|k|K|scn|SCN)\s", drawn_on(pdf, page))
    assert "hands on" in text_of(sheets(pdf))


def test_without_a_reading_no_verdict_on_heat_is_told() -> None:
    book = opened(POLISH)
    book.do(60, rules.take_up, book.moves(60)[0])
    for pdf in (record_pdf(record_of(book, 7200)), day_pdf(day_of(book, 7200))):
        text = text_of(sheets(pdf))
        assert "Peak hour" not in text
        assert "No reading was taken: no exposure can be said." in text


def test_a_window_is_a_cut_between_opens_and_closes() -> None:
    book = opened(COAT)
    for at_s in (0, 90, 180, 240, 360, 1000, 1600):
        book.do(at_s, rules.take_up, book.moves(at_s)[0])
    found = record_of(book, 2000)
    assert {window.outcome for window in found.windows} >= {"in the window", "late"}
    text = text_of(sheets(record_pdf(found, search=None)))
    drawn = text[text.index("Windows  one cut is one film") : text.index("Sections  asked")]
    assert "early  opens  closes  late" in drawn
    assert re.search(r"Coat 1: 1 of 2 in the window, 1 late, latest by \d", " ".join(drawn.split()))


@pytest.mark.parametrize("seconds", [0, 1, 59, 61, 3599, 90_000, 900_000])
def test_an_empty_day_and_a_shift_of_any_length_have_a_paper(seconds: int) -> None:
    book = opened(POLISH)
    if seconds:
        book.do(seconds / 2, rules.take_up, book.moves(seconds / 2)[0])
    for pdf in (record_pdf(record_of(book, seconds)), day_pdf(day_of(book, seconds))):
        inside_the_frame(sheets(pdf))
    nothing = day("2020-01-01", ZONE, {}, {}, us(0))
    assert "No shift began on this date." in text_of(sheets(day_pdf(nothing)))


# Who carries it.


def test_nothing_but_these_modules_loads_the_printing_library() -> None:
    code = (
        "import sys, pkgutil, importlib, cartclock.engine.paper, cartclock.tui.cli\n"
        "for folder in ('', 'page.', 'sheets.', 'forms.'):\n"
        "    inside = importlib.import_module(f'cartclock.engine.paper.{folder}'.rstrip('.'))\n"
        "    for found in pkgutil.iter_modules(inside.__path__, "
        "f'cartclock.engine.paper.{folder}'):\n"
        "        if not found.ispkg: importlib.import_module(found.name)\n"
        "import cartclock.engine.desk.bench, cartclock.engine.desk.shop, cartclock.tui.app\n"
        "print('\\n'.join(sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = {name.split(".")[0] for name in done.stdout.split()}
    assert "cartclock.engine.paper.sheets.record" in done.stdout.split()
    assert not loaded & {"reportlab", "PIL"}


def test_a_plan_of_many_stages_has_a_row_for_each() -> None:
    stages = tuple(Stage(f"Stage {n}", ("all",), (Work("wipe", 1.0),)) for n in range(70))
    book = Book()
    book.press(0, ev.JobOpened(Plan("many", stages), "", 1, "car"))
    book.press(0, ev.ClockedOn("carport"))
    for n in range(70):
        book.do(30 * n, rules.take_up, book.moves(30 * n)[0])
    pages = sheets(record_pdf(record_of(book, 2500), search=None))
    inside_the_frame(pages)
    told = text_of(pages)
    assert all(re.search(rf"^Stage {n}  \d:\d\d", told, re.MULTILINE) for n in range(69))


def full_day() -> Book:
    """Eleven hours on many stages: a reading, a call, its answer, a drink and a break in each."""
    stages = tuple(
        Stage(f"Stage {n} of the day", ("all",), (Work("wipe", 1.0),)) for n in range(24)
    )
    book = opened(*stages)
    for hour in range(11):
        at_s = 3600.0 * hour
        book.do(at_s, rules.take_up, book.moves(at_s)[0])
        book.press(at_s + 20, ev.ReadingTaken(36, 40, 34))
        book.press(at_s + 30, ev.RestCalled("NIOSH table", 900), by="machine")
        book.press(at_s + 40, ev.RestOverruled("this one first, then I rest"))
        book.press(at_s + 50, ev.DrinkTaken(250))
        book.do(at_s + 1800, rules.take_up, book.moves(at_s + 1800)[0])
        book.do(at_s + 3000, rules.take_break, "rest")
    book.press(11 * 3600, ev.ClockedOff())
    return book


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_full_day_is_one_page_in_letters_that_can_be_read(paper: Size) -> None:
    (page,) = sheets(day_pdf(day_of(full_day(), 40_000), SHOP, paper, search=None))
    assert page.smallest >= 7.0 - 0.01
    assert "11 rests called" in page.text
    # What a fuller day leaves out, it says where to find.
    told = "not taken at" in page.text
    assert told != ("on the records of the jobs" in page.text)
