"""What the shop keeps about its customer reaches no paper that leaves it, in any form."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.papers import PAPERS
from cartclock.engine.paper.shop_head import ShopHead
from tests.kit.papers import papers_with
from tests.kit.pdf import sheets

SHOP = ShopHead("synthetic shop", (), "000")
KEPT = ("incident panel", "incident words", "incident done", "call back", "told")
TOLD = ("told incident panel", "told incident words", "told incident done")
OUTSIDE = [name for name, paper in PAPERS.items() if paper.of == "job" and not paper.inside]


def planted(name: str) -> str:
    """A word that stands for itself and for nothing else, and is never folded."""
    return f"qz{name.replace(' ', '')}zq"


def forms(document: str) -> Iterator[tuple[str, str]]:
    """Every form of a paper as one line of text, letters as they are."""
    facts = PaperFacts(papers_with(planted).record, shop=SHOP, issued=True)
    for form in PAPERS[document].forms:
        made = PAPERS[document].made(form, facts)
        read = "".join(page.text for page in sheets(made)) if form == "pdf" else made.decode()
        yield form, "".join(read.split()).casefold()


@pytest.mark.parametrize("document", OUTSIDE)
def test_nothing_of_it_is_on_a_paper_that_leaves_the_shop(document: str) -> None:
    for form, text in forms(document):
        assert [name for name in KEPT if planted(name) in text] == [], form
        said = [name for name in TOLD if planted(name) in text]
        assert said == (list(TOLD) if document == "sheet" else []), form


def test_the_record_has_all_of_it() -> None:
    for form, text in forms("record"):
        if form not in ("csv", "products"):
            assert [name for name in (*KEPT, *TOLD) if planted(name) not in text] == [], form
