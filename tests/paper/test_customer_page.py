"""The customer's paper in print: one page, letters that can be read, alike on both sizes.

The jobs are invented, their names and numbers synthetic.
"""

from __future__ import annotations

import re

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.sealed import Sealed
from cartclock.engine.paper.facts import PaperFacts, Size
from cartclock.engine.paper.forms.message import message
from cartclock.engine.paper.papers import PAPERS
from cartclock.engine.paper.shop_head import ShopHead
from cartclock.engine.plan.plan import Aftercare, Cure, Stage, Use, Work
from cartclock.engine.record.record import Record
from tests.kit.book import Book
from tests.kit.papers import SECRET, papers_with
from tests.kit.pdf import Sheet, drawn_on, sheets
from tests.kit.sessions import result
from tests.paper.test_forms import planted
from tests.record.test_customer_sheet import DRY, VISIT, book_of, lay, recorded

pytestmark = pytest.mark.xdist_group("demo sessions")

SHOP = ShopHead("The Two Lamps", ("Yard 4", "Harbour Lane, Port Quillon"), "000 555 014")
PANELS = ("bonnet", "roof", "tailgate", "passenger front door", "driver rear door", "driver sill")
# Letters of seven scripts in a name; no font that comes along has Thai.
NAMES = "Eléonore Ørsted, Ελεονώρα Παπαδάκη, Юлия Ёжикова, ليلى, שרה"
LONG_NOTE = "two fingers long, through the clear coat, not felt with a nail; " * 4
THAI = "สมชาย"


def full(name: str = NAMES) -> Record:
    """A job with much to say: six damages with words, four visits, a long name, two lots."""
    coat = Stage(
        "Coat", PANELS, (Work("apply", 1.0, (Use("coat", 5),)),), kind="coat",
        cure=Cure(3600, 15.0, 7200),
    )  # fmt: skip
    wash = Aftercare("No shampoo and no polish.", "label", until="P14D", after="Coat", about="wash")
    first = Aftercare(
        "First wash: pH-neutral shampoo, two buckets, shade.", "label", from_="P14D", after="Coat",
        about="wash",
    )  # fmt: skip
    cares = (replace(DRY, about="water", until="PT48H"), wash, first, replace(VISIT, times=4))
    book = book_of(
        coat, cares=cares, customer=Sealed("who", ""), plate=Sealed("plate", ""), price="1200.00",
        vehicle="graphite SUV with five doors and a roof of glass",
    )  # fmt: skip
    book.press(5, ev.PackOpened("coat", 100, lot="C-0417"))
    texts = {"who": name, "plate": "PQ 214 TL"}
    for number, panel in enumerate(PANELS):
        texts[f"note {number}"] = LONG_NOTE
        book.press(6, ev.DamageNoted(panel, "scratch", Sealed(f"note {number}", "")))
    lay(book, 80, "Coat", *PANELS)
    book.press(200, ev.JobClosed())
    return recorded(book, 300, texts)


def printed(record: Record, size: Size = "A4", paper: str = "sheet") -> list[Sheet]:
    return sheets(
        PAPERS[paper].made("pdf", PaperFacts(record, shop=SHOP, currency="EUR", size=size))
    )


def demos() -> list[Record]:
    names = ("two_day_van", "dry_heat_estate", "three_washes")
    return [record for name in names for record in result(name).papers]


def test_it_is_one_page_with_no_letter_under_eight_points() -> None:
    for record in (*demos(), full()):
        for size in ("A4", "Letter"):
            (page,) = printed(record, size)
            assert page.smallest >= 7.99
            left, low, right, top = page.live
            for one in page.said:
                assert left - 0.1 <= one.x <= right and low - 0.1 <= one.y <= top
            # The first date is the largest thing on it, and is there once.
            largest = max(page.said, key=lambda one: one.size)
            assert re.fullmatch(
                r"[A-Z][a-z]{2} \d+ [A-Z][a-z]{2}(, \d\d:\d\d| \d{4})", largest.text
            )
            assert [one.text for one in page.said if one.size > largest.size * 0.6] == [
                largest.text
            ]


def test_where_much_is_to_be_said_dates_stay_whole_and_damages_give_way() -> None:
    (page,) = printed(full())
    for said in ("Wed 23 Sep, 14:16", "Mon 21 Sep, 16:16", "Tue 6 Oct 2026", "Sun 21 Mar 2027"):
        assert said in page.text
    assert page.text.count(", seen by") == 4
    assert "In full on the arrival sheet." in page.text and "two fingers" not in page.text
    for number, panel in enumerate(PANELS, 1):
        assert f"({number}) {panel}" in " ".join(page.text.split())
    # A text has no pages, and says it all.
    text = PAPERS["sheet"].made("text", PaperFacts(full(), shop=SHOP)).decode()
    assert " ".join(text.split()).count("two fingers long") == 24 and "In full" not in text
    few = replace(full(), condition=replace(full().condition, damages=full().condition.damages[:1]))
    assert "two fingers long" in " ".join(printed(few)[0].text.split())


def test_both_sizes_of_paper_say_the_same_in_the_same_places() -> None:
    for record in (demos()[0], full()):
        (a4,), (letter,) = printed(record), printed(record, "Letter")
        assert [one.text for one in a4.said] == [one.text for one in letter.said]
        for one, other in zip(a4.said, letter.said, strict=True):
            assert one.size == other.size
            assert one.x - a4.live[0] == pytest.approx(other.x - letter.live[0], abs=0.1)
            assert one.y - a4.live[1] == pytest.approx(other.y - letter.live[1], abs=0.1)


def test_names_of_every_script_are_set_or_their_letters_named() -> None:
    (page,) = printed(full())
    assert "could not be set" not in page.text
    for name in ("Eléonore Ørsted", "Ελεονώρα Παπαδάκη", "Юлия Ёжикова"):
        assert name in page.text
    # Set from right to left; Arabic in the joined forms that its neighbours ask for.
    assert "הרש" in page.text
    assert "ﻰﻠﻴﻟ" in page.text
    facts = PaperFacts(full(THAI), shop=SHOP)
    text = PAPERS["sheet"].made("text", facts).decode()
    html = PAPERS["sheet"].made("html", facts).decode()
    assert THAI in text and THAI in html
    page = printed(full(THAI))[0]
    drawn = page.text.replace(" ", "")
    named = re.findall(r"U\+(0E[0-9A-F]{2})", page.text)
    assert all(letter in drawn or f"{ord(letter):04X}" in named for letter in THAI)


_INK = re.compile(rb"(?P<push>\bq\b)|(?P<pop>\bQ\b)|(?P<grey>[\d.]+) g\b|(?P<text>\bTj\b)")


def inks(pdf: bytes, page: int) -> tuple[set[float], set[float]]:
    """Greys of letters and of everything that is filled on a page, 0 black to 1 white."""
    letters: set[float] = set()
    filled: set[float] = set()
    grey, stack = 0.0, [0.0]
    for found in _INK.finditer(drawn_on(pdf, page)):
        if found["push"]:
            stack.append(grey)
        elif found["pop"]:
            grey = stack.pop()
        elif found["grey"]:
            grey = float(found["grey"])
            filled.add(grey)
        else:
            letters.add(grey)
    return letters, filled


def contrast(one: float, other: float) -> float:
    """WCAG 2.2: contrast of two greys."""
    high, low = sorted(
        (
            grey / 12.92 if grey <= 0.04045 else ((grey + 0.055) / 1.055) ** 2.4
            for grey in (one, other)
        ),
        reverse=True,
    )
    return (high + 0.05) / (low + 0.05)


def test_letters_and_grounds_keep_seven_to_one_in_grey() -> None:
    for paper in ("sheet", "windscreen"):
        pdf = PAPERS[paper].made("pdf", PaperFacts(demos()[0], shop=SHOP))
        assert not re.search(rb"\b(rg|RG|k|K|scn|SCN)\s", drawn_on(pdf, 0))
        letters, filled = inks(pdf, 0)
        # Black or white, and white on black alone.
        assert letters <= {0.0, 1.0}
        for ground in filled - {0.0, 1.0}:
            # Dark tape has no letters on it.
            assert contrast(0.0, ground) >= 7.0 or ground == pytest.approx(0.33)


def test_no_private_word_comes_on_a_paper_that_leaves_the_shop() -> None:
    found = papers_with(planted)
    facts = PaperFacts(found.record, shop=found.shop)
    said = {
        name: "".join(page.text for page in sheets(PAPERS[name].made("pdf", facts)))
        for name in ("sheet", "windscreen")
    }
    said["card"] = PAPERS["windscreen"].made("text", facts).decode()
    said["card in HTML"] = PAPERS["windscreen"].made("html", facts).decode()
    said["message"] = message(found.record, found.shop.name, found.shop.phone)
    assert planted("vehicle") in said["sheet"] and planted("vehicle") in said["card"]
    for name, text in said.items():
        for private in SECRET:
            assert planted(private) not in "".join(text.split()), (name, private)


DOORS = ("upper doors", "lower doors")
SEAL = Stage("Seal", ("front", "rear"), (Work("apply", 1.0, (Use("sealant", 5),)),), kind="coat")


def laid_on(
    names: tuple[str, ...], left: str = "", stages: tuple[Stage, ...] = (), shape: str = "hatchback"
) -> str:
    """The sheet, in one line, of a coat on these sections; `left` is one that is left out."""
    cares = tuple(
        Aftercare(f"{name} it dry.", "label", until="P1D", after=name) for name in ("Coat", "Seal")
    )
    coat = replace(SEAL, name="Coat", sections=(*names, left) if left else names)
    book = book_of(coat, *stages, cares=cares[: 1 + len(stages)])
    opened = book.rows[0].event
    assert isinstance(opened, ev.JobOpened)
    book = Book()
    book.press(0, replace(opened, plan=replace(opened.plan, shape=shape)))
    book.press(0, ev.ClockedOn("carport"))
    lay(book, 80, "Coat", *names)
    if left:
        book.press(400, ev.SectionSkipped("Coat", (left,), "no time"))
    if stages:
        lay(book, 500, "Seal", "rear")
        book.press(600, ev.SectionSkipped("Seal", ("front",), "no time"))
    made = PAPERS["sheet"].made("text", PaperFacts(recorded(book, 900), shop=SHOP))
    return " ".join(made.decode().split())


def test_what_lies_on_no_panel_is_told_by_its_name_and_no_panel_is_called_bare() -> None:
    found = laid_on(("bonnet", *DOORS), "roof")
    assert "A1 on bonnet A1 also on upper doors, lower doors" in found
    # What the stage itself left is bare for certain, and no more than that.
    assert "Nothing on: roof." in found
    assert "Nothing on" not in laid_on(("bonnet", *DOORS))
    # Half a name on a panel is not the whole of it.
    half = laid_on(("bonnet and trim", "roof"))
    assert "A1 also on bonnet and trim" in half and "Nothing on" not in half
    # Where all are placed the others have nothing on them.
    whole = laid_on(("bonnet", "roof"))
    assert "also on" not in whole and "Nothing on: tailgate, " in whole


def test_what_another_stage_left_is_not_called_bare_where_names_differ() -> None:
    # "front" of the one may be "bonnet" of the other.
    for shape in ("hatchback", ""):
        found = laid_on(("bonnet", *DOORS), "roof", (SEAL,), shape)
        assert "Nothing on" not in found


def remedied(closed_s: float, now_s: float) -> str:
    """The sheet, in one line, of a job with two remedies, closed and printed at these seconds."""
    dry = replace(DRY, about="water", until="PT1H", if_not="Dry it at once.")
    wash = Aftercare("No shampoo.", "label", until="PT3H", after="Coat", about="wash")
    lime = Aftercare(
        "Lift bird lime off.", "label", from_="P1D", after="Coat", if_not="Leave it alone."
    )
    coat = Stage("Coat", ("roof",), (Work("apply", 1.0, (Use("coat", 5),)),), kind="coat")
    book = book_of(coat, cares=(dry, wash, lime))
    lay(book, 80, "Coat", "roof")
    book.press(closed_s, ev.JobClosed())
    made = PAPERS["sheet"].made("text", PaperFacts(recorded(book, now_s), shop=SHOP))
    return " ".join(made.decode().split())


def test_what_to_do_stands_only_with_the_line_it_belongs_to() -> None:
    told = remedied(600, 700)
    assert re.search(r"IF IT HAPPENS ALL THE SAME -+ Dry it at once\. Not sure\? 000", told)
    said = "Lift bird lime off. If it happens all the same: Leave it alone."
    assert said in told and told.count("Leave it alone.") == told.count("Not sure?") == 1
    # The hour was over when it left, or is over when this is printed.
    for closed_s, now_s in ((4000, 4100), (600, 4100)):
        told = remedied(closed_s, now_s)
        assert "IF IT HAPPENS" not in told and "Dry it" not in told
        assert said in told and told.count("Not sure?") == 1
