"""The HTML of every demo session printed by a browser: what is one page is one page there, too."""

from __future__ import annotations

import base64
import re
from pathlib import Path

import pytest

from cartclock.demo_sessions.session import sessions
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.papers import PAPERS
from cartclock.engine.paper.shop_head import ShopHead
from tests.kit.browser import Tab, browser, chromium
from tests.kit.sessions import result

pytestmark = [
    pytest.mark.xdist_group("demo sessions"),
    pytest.mark.long,
    pytest.mark.skipif(not chromium(), reason="needs a Chromium, which is none of the project's"),
]
SHOP = ShopHead("The bench in the long shed", ("Mill Lane 3, Lower Harbour",), "+00 555 0143")
# Width and height in inches, ISO 216 and ANSI/ASME Y14.1.
SIZES = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}
ONE_PAGE = ("sheet", "arrival", "windscreen")


def pages(tab: Tab, file: Path, size: tuple[float, float]) -> int:
    """How many pages a browser prints of a file."""
    tab.go(file.as_uri())
    tab.until("document.readyState === 'complete'")
    wide, high = size
    made = tab.ask("Page.printToPDF", paperWidth=wide, paperHeight=high, preferCSSPageSize=True)
    return len(re.findall(rb"/Type\s*/Page\b", base64.b64decode(made["data"])))


def test_a_paper_of_one_page_is_one_in_a_browsers_print(tmp_path: Path) -> None:
    found: list[str] = []
    with browser() as tab:
        tab.ask("Page.enable")
        for name in sessions():
            for job in result(name).papers:
                facts = PaperFacts(job, shop=SHOP, currency="EUR")
                for kind in ONE_PAGE:
                    file = tmp_path / f"{kind}-{name}-{job.number}.html"
                    file.write_bytes(PAPERS[kind].made("html", facts))
                    counts = {of: pages(tab, file, size) for of, size in SIZES.items()}
                    found += [f"{file.stem}: {counts}"] if set(counts.values()) != {1} else []
    assert found == []
