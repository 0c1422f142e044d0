"""One list of elements, three media: each says every word, keeps to its page, and is inert."""

from __future__ import annotations

import re
from html import unescape
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cartclock.engine.letters import cells
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.page.columns import LEAST_WIDTH, WIDTH, Line
from cartclock.engine.paper.page.date import Date
from cartclock.engine.paper.page.html.medium import Html
from cartclock.engine.paper.page.medium import Medium, SheetHead
from cartclock.engine.paper.page.pdf.frame import LIVE, SIZES
from cartclock.engine.paper.page.pdf.ink import BODY, LEAST, SMALL
from cartclock.engine.paper.page.pdf.medium import Pdf
from cartclock.engine.paper.page.strip import Lies, Strip, StripScale, StripSpan
from cartclock.engine.paper.page.table import Column, Group, Note, TableRow
from cartclock.engine.paper.page.text.medium import Text
from cartclock.engine.paper.papers import PAPERS, PRINTED, Paper, medium
from cartclock.engine.paper.sheet import Sheet, render
from cartclock.engine.paper.shop_head import ShopHead
from tests.kit.pdf import sheets
from tests.paper.test_text import HARD, STEERING, TEXTS

ROWS = 90
LIES: tuple[Lies, ...] = ("full", "half", "low", "hatch", "none")
GROUPS = (
    Column("section", 20), Column("off", 9, right=True), Column("found", 90, rank=3),
    Column("remarks", 9, rank=2, remark=True),
)  # fmt: skip
GROUPED = TableRow(("roof", "19:12", "cold", "polished"), bold=True)
COLUMNS = (Column("panel", 20), Column("C", 6, right=True), Column())


def put_all(medium: Medium, text: str, rows: int = 2) -> None:
    """Every element that takes text, with this text."""
    medium.alert(f"alert {text}")
    medium.head(SheetHead(f"number {text}", 0, "UTC", ShopHead(f"shop {text}", (text,), text)))
    medium.lead(f"lead {text}", f"plate {text}", [f"under {text}"], f"price {text}")
    medium.facts([("fact", f"value {text}")])
    medium.heading(f"heading {text}", f"remark {text}")
    medium.words(f"words {text}", 1, hangs=True)
    medium.gap()
    found: list[TableRow | Note] = [Note(f"note {text}", 1)]
    found += [TableRow((f"cell {text}", "12", f"last {text}"), 1)] * rows
    medium.table(COLUMNS, found)
    group = Group(f"group {text}", f"shared {text}", (Note(f"holds {text}"), GROUPED))
    medium.groups(GROUPS, [group, Group(rows=(TableRow((f"own {text}", "", "", text)),))])
    medium.dates([
        Date(f"until {text}", f"when {text}", f"because {text}", first=True, example=True),
        Date(f"after {text}", f"then {text}", f"why {text}"),
        Date("next", f"other {text}"),
    ])  # fmt: skip
    medium.strips(StripScale(2, ((0, f"day {text}"), (1, "two")), True, frozenset({1})), [
        Strip(f"strip {text}", (StripSpan(0, 1.5, "full", "says"), StripSpan(1.5, 2, "low")),
              f"tape {text}")
    ])  # fmt: skip
    medium.strips(StripScale(9, ((0, "06"), (9, "15"))), [
        Strip("hours", tuple(StripSpan(at, at + 1, lies, text) for at, lies in enumerate(LIES)))
    ])  # fmt: skip
    medium.beside(lambda m: m.words(f"left {text}"), lambda m: m.words(f"right {text}"), 0.4)
    medium.words(f"small {text}", small=True)
    medium.blanks([f"blank {text}"])
    medium.turn()
    medium.large(f"over {text}", [f"large {text}"], [f"below {text}"], f"foot {text}")
    medium.sign(["customer", "shop"])


def test_a_price_is_heavier_and_larger_than_what_stands_beside_it() -> None:
    lines = ("first", "last")
    told = Sheet("", lambda medium, _facts: medium.lead("van", "", lines, "Price 1200.00"))
    (page,) = sheets(render(told, PaperFacts(), Pdf("A4", None, False)))
    price = next(one for one in page.said if "1200.00" in one.text)
    last = next(one for one in page.said if one.text == "last")
    assert (price.y, price.size > 1.2 * last.size) == (last.y, True)
    assert price.font != last.font


def test_a_card_of_a_sentence_is_set_in_smaller_letters_than_one_of_a_clock_time() -> None:
    card = Html()
    card.large("over", ("Tue 22 Sep", "03:34", "No cure and no dry time is known."), (), "")
    found = card.finished().decode()
    assert re.findall(r'<p class="(line|said)">([^<]*)', found) == [
        ("line", "Tue 22 Sep"), ("line", "03:34"), ("said", "No cure and no dry time is known."),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("letters", "class_"), [((22, 6, 6, 6), "groups"), ((23, 13, 6), "groups"),
                            ((23, 14, 6), "groups folds"), ((23, 14, 23, 14), "groups"),
                            ((30, 0), "groups folds")],
)  # fmt: skip
def test_on_a_telephone_only_a_table_without_room_folds(
    letters: tuple[int, ...], class_: str
) -> None:
    # Four of them are two halves of a list, which stand under each other there.
    heads = ("section", "from - to") * 2 if len(letters) == 4 else ("section", "1", "2", "all")
    columns = [Column(head, size) for head, size in zip(heads, letters, strict=False)]
    paper = Html()
    paper.groups(columns, [Group(rows=(TableRow(("x",) * len(letters)),))])
    assert f'<table class="{class_}">' in paper.finished().decode()


def sheet_of(text: str, rows: int = 2) -> Sheet:
    return Sheet("Scratch", lambda medium, _facts: put_all(medium, text, rows))


def words(text: str) -> set[str]:
    """Words without rules, lines to write on and case; letters set apart are one word."""
    text = re.sub(r"\b(\w) (?=\w\b)", r"\1", text.casefold())
    return {word.strip(":;") for word in text.split() if not re.fullmatch("[-=_]+", word)}


def visible(html: str) -> str:
    body = html[html.index("<body>") :]
    return unescape(re.sub("<[^>]*>", " ", body))


def test_every_medium_says_every_word() -> None:
    told = {"alert", "number", "lead", "fact", "value", "heading", "remark", "words", "note",
            "cell", "last", "panel", "blank", "large", "over", "below", "foot",
            "customer", "scratch", "tail", "plate",
            "under", "group", "shared", "holds", "roof", "19:12", "own", "until", "when",
            "because", "(example)", "after", "then", "why", "next", "other", "day", "strip", "two",
            "left", "right", "small", "hours", "remarks", "polished", "cold"}  # fmt: skip
    texts = [render(sheet_of("tail"), PaperFacts(), Text(width)).decode() for width in (0, 40)]
    html = render(sheet_of("tail"), PaperFacts(), Html()).decode()
    pages = sheets(render(sheet_of("tail"), PaperFacts(), Pdf("A4", None)))
    pdf = "\n".join(page.text for page in pages)
    assert all(told <= words(text) for text in texts)
    assert told <= words(visible(html))
    assert told <= words(pdf)


def is_inert_in_every_medium(typed: str) -> None:
    for width in (LEAST_WIDTH, WIDTH):
        text = render(sheet_of(typed), PaperFacts(), Text(width)).decode()
        for line in text.split("\n"):
            assert cells(line) <= width
            assert STEERING.search(line) is None
    html = render(sheet_of(typed), PaperFacts(), Html()).decode()
    assert STEERING.search(html.replace("\n", "")) is None
    tags = set(re.findall(r"<(/?\w+)", html[html.index("<body>") :]))
    bare = render(sheet_of("x"), PaperFacts(), Html()).decode()
    assert tags - {"br"} <= set(re.findall(r"<(/?\w+)", bare[bare.index("<body>") :]))
    for page in sheets(render(sheet_of(typed), PaperFacts(), Pdf("A4", None))):
        for said in page.said:
            assert page.live[0] - 12 <= said.x <= page.live[2] + 1
            assert STEERING.search(said.text) is None


@pytest.mark.parametrize("typed", (*HARD, "<script>x</script><b>", "]]>&amp;<!--"))
def test_what_was_typed_steers_no_medium(typed: str) -> None:
    is_inert_in_every_medium(typed)


@settings(max_examples=15)
@given(TEXTS)
def test_nothing_that_can_be_typed_steers_a_medium(typed: str) -> None:
    is_inert_in_every_medium(typed)


@given(
    st.lists(st.tuples(st.integers(1, 12), st.booleans()), min_size=1, max_size=4),
    st.integers(0, 2),
)
def test_columns_never_take_more_than_the_line(sizes: list[tuple[int, bool]], level: int) -> None:
    columns = (Column("", 20), *(Column("", letters, right) for letters, right in sizes))
    for made in (columns, (*columns, Column())):
        line = Line(made, ["x"] * len(made), level)
        assert line.indent + sum(map(abs, line.widths)) <= WIDTH
        # What stands further in moves no column but the first.
        flat = Line(made, ["x"] * len(made), 0)
        assert line.widths[1:-1] == flat.widths[1:-1]


# Pages of a sheet.


def one_page(rows: int, floor_pt: float = 7.0) -> tuple[int, list[float]]:
    """Pages of a sheet of so many rows, and the letters tried on the way."""
    tried: list[float] = []

    class Counted(Pdf):
        def begin(
            self, title: str, lying: bool = False, body_pt: float = BODY, least_pt: float = LEAST
        ) -> None:
            super().begin(title, lying, body_pt, least_pt)
            tried.append(self._body_pt)

        def smaller(self, floor_pt: float) -> Pdf | None:
            less = super().smaller(floor_pt)
            return None if less is None else Counted("A4", None, body_pt=less._body_pt)

    def put(medium: Medium, _facts: PaperFacts) -> None:
        medium.table(COLUMNS, [TableRow(("cell", "12", "last"))] * rows)

    sheet = Sheet("One", put, pages=1, floor_pt=floor_pt)
    return len(sheets(render(sheet, PaperFacts(), Counted("A4", None)))), tried


def test_a_sheet_of_one_page_gets_smaller_letters_and_no_smaller_than_its_floor() -> None:
    few = next(n for n in range(1, ROWS) if one_page(n, BODY)[0] == 2)
    assert one_page(few - 1) == (1, [BODY])
    pages, tried = one_page(few)
    assert (pages, len(tried) > 1) == (1, True)
    assert all(later < before for before, later in pairwise(tried))
    pages, tried = one_page(ROWS)
    # What does not fit turns the page: nothing is left out.
    assert pages > 1
    assert min(tried) >= 7.0


def test_smaller_letters_keep_the_margins() -> None:
    pages = sheets(render(sheet_of("x" * 300, ROWS), PaperFacts(), Pdf("A4", None, body_pt=7.2)))
    width, height = SIZES["A4"]
    assert len(pages) > 1
    for page in pages:
        assert page.size == pytest.approx((width, height), abs=0.001)
        assert page.smallest == pytest.approx(max(LEAST, SMALL * 7.2 / BODY))
        left, low, right, top = page.live
        assert (right - left, top - low) == pytest.approx(LIVE)
        for said in page.said:
            assert left - 12 <= said.x <= right + 1
            assert low <= said.y <= top
    foot = [said for said in pages[0].said if said.text.endswith(f"of {len(pages)}")]
    assert len(foot) == 1 and foot[0].y < pages[0].foot


def test_a_lying_sheet_is_printed_across() -> None:
    sheet = Sheet("Card", sheet_of("x").put, lying=True)
    width, height = SIZES["Letter"]
    assert {page.size for page in sheets(render(sheet, PaperFacts(), Pdf("Letter", None)))} == {
        (height, width)
    }


# The table of papers.


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS)
def test_every_row_names_a_sheet_and_media_that_are_there(paper: Paper) -> None:
    set_forms = [form for form, maker in paper.forms.items() if maker is None]
    for form in set_forms:
        assert medium(form, PaperFacts()) is not None
    if paper.sheet:
        assert isinstance(paper.as_sheet, Sheet)
    assert bool(set_forms) is bool(paper.sheet)
    # A command tells what it does, and what is under one is given by its flag.
    assert bool(paper.help) is not bool(paper.under)
    assert not paper.under or not PAPERS[paper.under].under
    assert set(paper.flags) <= set(paper.forms)
    if paper.hot:
        assert set(PRINTED) & set(paper.forms)


def test_no_two_papers_are_printed_by_one_letter_or_made_of_one_sheet() -> None:
    for names in (
        [paper.hot for paper in PAPERS.values() if paper.hot],
        [paper.sheet for paper in PAPERS.values() if paper.sheet],
        [paper.as_sheet.title for paper in PAPERS.values() if paper.sheet],
    ):
        assert len(names) == len(set(names))


def test_a_form_that_is_not_set_is_none() -> None:
    with pytest.raises(ValueError, match="nothing is set in csv"):
        medium("csv", PaperFacts())
    with pytest.raises(ValueError, match="this paper is not set"):
        assert PAPERS["message"].as_sheet


def test_a_time_keeps_its_line_and_hatching_is_called_as_it_is_drawn() -> None:
    columns = Column("section", 23), Column("from - to", 13), Column("taken", 6, right=True)
    rows = TableRow(("roof", "07:13-07:17", "2:02")), TableRow(("x", "y" * 14, ""))

    def put(page: Medium, facts: PaperFacts) -> None:
        page.groups(columns, [Group("", "", rows)])
        page.legend((("hatch", "other work"),))

    said = render(Sheet("Paper", put), PaperFacts(), Html()).decode()
    assert said.count('class="short"') == 1
    assert re.search(r'<td class="short"[^>]*>07:13-07:17</td>', said)
    assert "dashed: other work" in said and "hatched" not in said.split("<body")[1]
