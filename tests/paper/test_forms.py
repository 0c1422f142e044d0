"""The papers in all their forms: inert, true to the log, and no more than their reader needs."""

from __future__ import annotations

import csv
import io
import json
import re
from html import unescape
from html.parser import HTMLParser
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cartclock.engine.letters import cells, inert
from cartclock.engine.paper.forms.csv_form import (
    PRODUCT_COLUMNS,
    SEGMENTS,
    products_csv,
    segments_csv,
    text_cell,
)
from cartclock.engine.paper.page.html.element import element
from cartclock.engine.paper.page.text.medium import WIDTH
from cartclock.engine.products.consumption import rounded
from tests.kit.papers import HANDED, MONEY, OPEN, SECRET, STAGES, WHO, Papers, papers_with
from tests.record.test_record import example, recorded

STEERING = re.compile(
    "[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028\u2029\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff]"
)
HOSTILE = (
    "<script>alert(1)</script>",
    "</style><img src=x onerror=alert(1)>",
    "\"'><svg onload=alert(1)>&amp;",
    "=1+1",
    "@SUM(A1)",
    "-2+3",
    "+4",
    "\t=cmd",
    "\r\n=1+1",
    "a\x1b[31mred\x1b[0m\x1b]0;title\x07\x00\x7f\x9b2J",
    "one\ntwo\r\nthree\u2028four\\n;,",
    "\u202egnp.exe\u2066 turned \u200f\ufeff",
    "-->]]>{{x}}${x}%s",
    "引擎盖左側のボンネット塗装面および屋根全体そして後部ドア左側面全体",
    "x" * 200,
)
ANY_TEXT = st.one_of(
    st.sampled_from(HOSTILE),
    st.text(st.one_of(st.characters(), st.sampled_from("<>&\"'=+-@\x1b\n\u202e")), min_size=1),
)
TAGS = frozenset(
    ["html", "head", "meta", "title", "style", "body", "main", "header", "h1", "h2", "p", "span",
     "section", "div", "table", "colgroup", "col", "thead", "tbody", "tr", "th", "td", "dl", "dt",
     "dd", "br", "svg", "g", "rect", "polygon", "text", "b", "line",
     "ul", "li"]
)  # fmt: skip
ATTRIBUTES = frozenset(
    ["charset", "http-equiv", "content", "name", "lang", "class", "scope", "colspan", "style",
     "viewbox", "preserveaspectratio", "role", "aria-label", "aria-hidden", "x", "y", "width",
     "height", "points", "font-size", "font-weight", "fill", "x1", "x2", "y1", "y2", "data-head",
     "stroke", "stroke-width", "text-anchor", "fill-opacity", "transform"]
)  # fmt: skip


class Reading(HTMLParser):
    """What a browser finds: elements with their attributes, and the text."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: set[str] = set()
        self.attributes: list[tuple[str, str | None]] = []
        self.words: list[str] = []
        self.open: list[str] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes += attrs
        if tag not in ("meta", "br", "col", "img"):
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes += attrs

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open[-1:] != ["style"]:
            self.words.append(data)

    def handle_comment(self, data: str) -> None:
        raise AssertionError(f"a comment: {data}")


def is_inert(found: Papers) -> None:
    """Nothing that a person wrote steers anything in any form of any paper."""
    for who in WHO:
        forms = found.forms(who)
        for line in forms["text"].split("\n"):
            assert cells(line) <= WIDTH, line
            assert STEERING.search(line) is None
        html = forms["html"]
        assert STEERING.search(html.replace("\n", "")) is None
        read = Reading(html)
        assert read.tags <= TAGS
        assert read.open == []
        assert {name for name, _value in read.attributes} <= ATTRIBUTES
        assert all(
            re.fullmatch(r"width:\d+%|--across:\d|--share:\d+%", value or "")
            for name, value in read.attributes
            if name == "style"
        )
        assert forms["json"].isascii()
        assert STEERING.search(forms["json"].replace("\n", "")) is None
        assert not set("<>&") & set(forms["json"])
        json.loads(forms["json"])
    for table in (segments_csv(found.record.accounts, "UTC"), products_csv(found.record, "EUR")):
        assert STEERING.search(table.replace("\r\n", "")) is None
        assert "\n" not in table.replace("\r\n", "")
        for row in rows(table):
            for cell in row:
                begins_number = re.fullmatch(r"-?\d+(\.\d+)?", cell)
                assert begins_number or cell[:1] not in ("=", "+", "-", "@", "\t"), cell


def rows(table: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(table, newline="")))


def apart(word: str, name: str) -> str:
    """The word; stages and sections need names of their own."""
    return f"{word}{name}" if name.startswith(("section", "coat", "wash")) else word


@pytest.mark.parametrize("word", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_words_are_inert_in_every_form(word: str) -> None:
    found = papers_with(lambda name: apart(word, name))
    is_inert(found)
    read = " ".join(Reading(found.forms("customer")["html"]).words)
    assert "".join(inert(word).split()) in "".join(read.split())
    body = json.loads(found.forms("record")["json"])["record"]
    assert body["customer"] == word


@settings(max_examples=20)
@given(st.lists(ANY_TEXT, min_size=1, max_size=8))
def test_nothing_a_person_can_type_gets_out_of_its_place(words: list[str]) -> None:
    at = dict(zip((*OPEN, *SECRET, *STAGES, HANDED), words * 60, strict=False))
    is_inert(papers_with(lambda name: apart(at[name], name)))


def planted(name: str) -> str:
    """A word that stands for itself and for nothing else."""
    return f"qz{name.replace(' ', '')}zq"


def plain(form: str, text: str) -> str:
    """What a reader of the form finds, in one line."""
    if form == "html":
        text = unescape(re.sub(r"<br>", "", text))
    if form == "json":
        text = json.dumps(json.loads(text), ensure_ascii=False)
    return "".join(text.split())


@pytest.mark.parametrize("form", ["text", "html", "json"])
def test_the_customer_reads_what_is_theirs_and_nothing_that_is_the_shops(form: str) -> None:
    found = papers_with(planted)
    customer = plain(form, found.forms("customer")[form])
    for name in OPEN:
        assert planted(name) in customer, name
    for name in SECRET:
        assert planted(name) not in customer, name
    # What a program reads names the stage that a date hangs on.
    assert planted("wash stage") not in customer
    assert form == "json" or planted("coat stage") not in customer
    # The sum of what was agreed is told, and no part of it.
    assert "695.30" in customer
    for money in (*MONEY, "55.13"):
        assert money not in customer
    # The same words are in the shop's own paper, so that the test could fail.
    shop = plain(form, found.forms("record")[form])
    for name in SECRET:
        assert planted(name) in shop, name
    assert MONEY[0] in shop


@pytest.mark.parametrize("form", ["text", "html", "json"])
def test_the_sheet_to_sign_has_prices_and_none_of_what_is_private(form: str) -> None:
    arrival = plain(form, papers_with(planted).forms("arrival")[form])
    # The phone number is what the customer gives with the keys.
    for name in set(SECRET) - {"phone"}:
        assert planted(name) not in arrival, name
    for name in ("note", "told incident panel", "told incident done"):
        assert planted(name) not in arrival, name
    assert all(price in arrival for price in (MONEY[0], "55.13", "695.30"))
    assert MONEY[1] not in arrival
    for name in ("customer", "plate", "phone", "vehicle", "damage note", "agreed", "plan"):
        assert planted(name) in arrival, name


@settings(max_examples=15)
@given(st.text(st.characters(), max_size=12), st.sampled_from(SECRET))
def test_no_private_word_reaches_the_customer_whatever_stands_around_it(
    around: str, name: str
) -> None:
    def word(of: str) -> str:
        return f"{around}{planted(of)}{around}" if of == name else planted(of)

    forms = papers_with(word).forms("customer")
    for form, text in forms.items():
        assert planted(name) not in plain(form, text)


def test_no_hours_on_the_customers_paper() -> None:
    text = papers_with(planted).forms("customer")["text"]
    assert re.search(r"\d h\b|\d min\b|\d:\d\d:\d\d|on the clock|hands on", text, re.I) is None


@pytest.mark.parametrize("who", WHO)
def test_html_is_one_file_that_loads_and_runs_nothing(who: str) -> None:
    html = papers_with(planted).forms(who)["html"]
    assert html.startswith('<!DOCTYPE html>\n<html lang="en">')
    assert re.search(r"<script|<link|<img|src=|href=|url\(|@import|https?:", html) is None
    assert "prefers-color-scheme: dark" in html
    assert "@page" in html
    assert "default-src &#x27;none&#x27;" in html
    assert html.count("<h1>") == 1


@pytest.mark.parametrize("who", WHO)
def test_html_says_what_the_text_says(who: str) -> None:
    forms = papers_with(planted).forms(who)
    read = "".join("".join(Reading(forms["html"]).words).split()).casefold()
    missing = [
        word
        for word in re.findall(r"[\w.:/]+", forms["text"])
        if word.strip("_") and word.casefold() not in read
    ]
    # Only what the page's width has cut is not there in one piece.
    assert len(missing) <= 0.05 * len(forms["text"].split()), missing


def test_every_length_of_the_log_is_in_json_and_csv() -> None:
    found = papers_with(planted)
    body = json.loads(found.forms("record")["json"])
    accounts = body["record"]["accounts"]
    clock_us = found.record.clock_us
    # The worker until the end of the record, and a helper for fifty seconds.
    assert clock_us == (9000 + 50) * 1_000_000
    assert body["totals"] == {"clock_us": clock_us, "own_us": found.record.own_us}
    pieces = [piece for account in accounts for piece in account["pieces"]]
    assert sum(piece["end_us"] - piece["start_us"] for piece in pieces) == clock_us
    assert sum(share["length_us"] for share in body["record"]["shares"]) == clock_us
    shares = [share for account in accounts for share in account["shares"]]
    hands_us = sum(share["length_us"] for share in shares if share["kind"] == "hands")
    assert hands_us == (2 * (20 + 50) + 28) * 1_000_000
    head, *lines = rows(segments_csv(found.record.accounts, "UTC"))
    assert tuple(head) == SEGMENTS
    assert sum(float(line[2]) for line in lines) == 9000 + 50
    assert sum(float(line[2]) for line in lines if line[3] == "hands") == 140 + 28
    # Without a hole, but where the helper's shift begins.
    assert sum(before[1] != after[0] for before, after in pairwise(lines)) == 1
    assert {line[5] for line in lines if line[3] == "hands"} == {"1"}
    assert {line[7] for line in lines if line[3] == "hands"} == {
        planted("section one"),
        planted("section two"),
        f"{planted('section one')} wash",
    }
    day = json.loads(found.forms("day")["json"])
    assert day["totals"]["clock_us"] == clock_us


def test_of_another_job_only_its_number_is_told() -> None:
    made = recorded(example(), 6000)
    _head, *lines = rows(segments_csv(made.accounts, "UTC"))
    assert sum(float(line[2]) for line in lines) == made.clock_us / 1e6 == 85 * 60
    other = [line for line in lines if line[5] == "2"]
    assert sum(float(line[2]) for line in other) == 600
    assert {tuple(line[6:]) for line in other} == {("", "")}
    assert {line[6] for line in lines if line[5] == "1"} >= {"Iron fallout", "Polish"}
    told = "".join(line[6] for line in lines if line[5] == "")
    assert told == ""


def test_products_by_lot_add_up_to_the_record() -> None:
    found = papers_with(planted)
    head, *lines = rows(products_csv(found.record, "EUR"))
    assert tuple(head) == PRODUCT_COLUMNS
    # One pack of 1 ml at 731.19: two sections at 1 ml each, and half a millilitre put right.
    (line,) = lines
    assert line == [
        planted("product"),
        planted("lot"),
        "2.5",
        "ml",
        "2.5",
        "ml",
        "1827.98",
        "EUR",
    ]
    (one,) = found.record.products
    assert one.cost is not None
    assert line[6] == str(rounded(one.cost))


def test_instants_stand_twice_and_lengths_once() -> None:
    body = json.loads(papers_with(planted).forms("record")["json"])["record"]
    assert body["opened_us"] == 1_790_000_000_000_000
    assert body["opened_at"] == "2026-09-21T16:13:20+02:00"
    assert body["closed_us"] is None and body["closed_at"] is None
    share = body["shares"][0]
    assert "length_at" not in share
    assert body["trail"]["told_time_us"] == body["trail"]["told_time_at"] == []
    (window, _other) = body["windows"]
    assert "off_at" not in window and "off_by_at" in window


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("=1+1", "'=1+1"),
        ("+4", "'+4"),
        ("-2", "'-2"),
        ("@a", "'@a"),
        ("\t=1", "' =1"),
        ("  =1", "'  =1"),
        ("\n=1", "' =1"),
        ("plain = text", "plain = text"),
        ("a,b\nc", "a,b c"),
        ("", ""),
    ],
)
def test_a_cell_is_no_formula(text: str, wanted: str) -> None:
    assert text_cell(text) == wanted


def test_only_an_element_is_markup() -> None:
    made = element("p", "<b>", element("b", "&"), title="\"'\n<")
    assert str(made) == '<p title="&quot;&#x27; &lt;">&lt;b&gt;<b>&amp;</b></p>'
