"""However long the texts of persons are, a paper takes time by their length and no more."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from time import process_time

import pytest

from cartclock.engine.paper.shop_head import ShopHead
from tests.kit.papers import Papers, book_with, papers
from tests.kit.setting import customer_pdf, day_pdf, record_pdf

# Texts of about so many letters in each field, half of it first; where one types there is room
# for 2,000.
LETTERS = 10_000
# Twice the length may take so many times as long; were it squared, it would be four times.
MOST_TIMES = 3.0
KINDS = {
    "prose": "wash the roof before the sills, ",
    "one word": "x",
    "wide letters": "洗",
    "another way": "שטוף את הגג ",
    "marks on one letter": "\u0301",
    "line ends": "a\n",
    "markup": "<b>&amp;</b>",
}


def made(kind: str, letters: int) -> Papers:
    """The papers of a job in which every text is so long; each begins with what it is."""
    much = (KINDS[kind] * (letters // len(KINDS[kind]) + 1))[:letters]

    def word(name: str) -> str:
        return f"{name} {much}"

    book, texts = book_with(word)
    shop = ShopHead(word("shop"), (word("street"),), word("shop phone"))
    return papers(book, texts, shop)


def forms(of: Papers) -> Iterator[tuple[str, Callable[[], object]]]:
    """Every paper in every form, made when it is called."""
    yield "text, HTML, JSON of the record", lambda: of.forms("record")
    yield "of the customer's sheet", lambda: of.forms("customer")
    yield "of the arrival", lambda: of.forms("arrival")
    yield "of the day", lambda: of.forms("day")
    yield "PDF of the record", lambda: record_pdf(of.record)
    yield "PDF of the customer's sheet", lambda: customer_pdf(of.customer, of.shop)
    yield "PDF of the day", lambda: day_pdf(of.day)


def took(kind: str, letters: int) -> dict[str, float]:
    """Seconds of the processor for each form."""
    found = {}
    of = made(kind, letters)
    for name, make in forms(of):
        begun = process_time()
        assert make()
        found[name] = process_time() - begun
    return found


@pytest.mark.long
@pytest.mark.parametrize("kind", KINDS)
def test_twice_the_text_takes_twice_the_time(kind: str, capsys: pytest.CaptureFixture[str]) -> None:
    half, whole = took(kind, LETTERS // 2), took(kind, LETTERS)
    with capsys.disabled():
        said = "; ".join(f"{name} {took_s:.1f} s" for name, took_s in whole.items())
        sys.stdout.write(f"\n{kind}, {LETTERS} letters a field: {said}\n")
    # What is over in a moment says nothing of how it grows.
    grown = {name: whole[name] / half[name] for name in whole if whole[name] > 0.5}
    assert {name: times for name, times in grown.items() if times > MOST_TIMES} == {}
