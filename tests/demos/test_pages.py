"""PAGES.md says how many pages each paper of each demo session takes in print, and its letters.

It is written from the papers: with CARTCLOCK_WRITE_DOCS=1 in the environment anew, otherwise it is
compared.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.demo_sessions.session import sessions
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.page.pdf.medium import Pdf
from cartclock.engine.paper.papers import PAPERS
from cartclock.engine.paper.sheet import Sheet, render
from cartclock.engine.paper.shop_head import ShopHead
from tests.kit.pdf import Sheet as Page
from tests.kit.pdf import sheets
from tests.kit.sessions import result

pytestmark = [pytest.mark.xdist_group("demo sessions"), pytest.mark.long]

PAGE = Path(__file__).parents[2] / "engine" / "paper" / "PAGES.md"
SHOP = ShopHead("The bench in the long shed", ("Mill Lane 3, Lower Harbour",), "+00 555 0143")
HEAD = """\
# Pages in print

How many pages each paper of the demo sessions takes, and its smallest letter in points, on A4 and
Letter alike. This page is written from the papers by
`CARTCLOCK_WRITE_DOCS=1 python -m pytest -m long tests/demos/test_pages.py`.

| session | paper | of | pages | smallest letter |
|---|---|---|---|---|
"""


def printed(sheet: Sheet, facts: PaperFacts) -> list[Page]:
    """The pages on A4, which say the same on Letter."""
    found: list[list[Page]] = []
    for size in ("A4", "Letter"):
        found.append(sheets(render(sheet, replace(facts, size=size), Pdf(size, None, False))))
    a4, letter = found
    assert [page.lines for page in a4] == [page.lines for page in letter]
    return a4


def row(name: str, kind: str, of: str, pages: Sequence[Page]) -> str:
    least = min(page.smallest for page in pages)
    return f"| {name} | {kind} | {of} | {len(pages)} | {least:.1f} |"


def test_the_page_says_what_the_papers_take() -> None:
    rows = []
    for name in sessions():
        found = result(name)
        of: list[tuple[str, PaperFacts]] = [
            (f"job {one.number}", PaperFacts(one, shop=SHOP, currency="EUR"))
            for one in found.papers
        ]
        of += [(one.date, PaperFacts(day=one, shop=SHOP)) for one in found.days]
        for what, facts in of:
            for kind, paper in PAPERS.items():
                if "pdf" in paper.forms and paper.of == ("job" if facts.day is None else "day"):
                    sheet = paper.as_sheet
                    pages = printed(sheet, facts)
                    rows.append(row(name, kind, what, pages))
                    assert sheet.pages is None or len(pages) <= sheet.pages, rows[-1]
                    assert min(page.smallest for page in pages) >= sheet.least_pt - 0.01, rows[-1]
    text = HEAD + "\n".join(rows) + "\n"
    if os.environ.get("CARTCLOCK_WRITE_DOCS"):
        PAGE.write_text(text, encoding="utf-8")
    assert PAGE.read_text(encoding="utf-8") == text
