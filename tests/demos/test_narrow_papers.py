"""Every paper of every demo session in lines of 40 cells: nothing is cut, nothing is missing."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from cartclock.demo_sessions.session import sessions
from cartclock.engine.letters import cells
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.page.columns import LEAST_WIDTH
from cartclock.engine.paper.page.text.medium import Text
from cartclock.engine.paper.papers import PAPERS
from cartclock.engine.paper.sheet import Sheet, render
from cartclock.engine.paper.shop_head import ShopHead
from tests.kit.sessions import result

pytestmark = pytest.mark.xdist_group("demo sessions")

SHOP = ShopHead("The bench in the long shed", ("Mill Lane 3, Lower Harbour",), "+00 555 0143")
TAPE = "_#=./|+-▀▄█…():;,"
# Over tape stand hours or days; a short line has no room for each of them.
SCALE = re.compile(r"(?:(?:\d\d?|Mon|Tue|Wed|Thu|Fri|Sat|Sun|early|opens|closes|late)\s*)+")


def made(sheet: Sheet, facts: PaperFacts, width: int) -> str:
    return render(sheet, facts, Text(width)).decode()


def papers(name: str) -> Iterator[tuple[str, Sheet, PaperFacts]]:
    """Every paper of a session that is set, with what it is of."""
    found = result(name)
    facts = [PaperFacts(one, shop=SHOP, currency="EUR") for one in found.papers]
    facts += [PaperFacts(day=one, shop=SHOP) for one in found.days]
    for one in facts:
        for kind, paper in PAPERS.items():
            if paper.sheet and paper.of == ("job" if one.day is None else "day"):
                yield kind, paper.as_sheet, one


def words(text: str) -> set[str]:
    """Words without tape, rules and the scale over it; what no line of 40 cells can hold, too."""
    lines = (line for line in text.splitlines() if not SCALE.fullmatch(line.strip()))
    found = {word.strip(TAPE) for line in lines for word in line.split()}
    return {word for word in found if len(word) <= LEAST_WIDTH}


# The one with the fewest rows always, the others before a release.
@pytest.mark.parametrize(
    "name",
    [
        one if one == "cool_damp_coupe" else pytest.param(one, marks=pytest.mark.long)
        for one in sessions()
    ],
)
def test_every_word_of_a_wide_line_is_in_the_narrow_ones(name: str) -> None:
    count = 0
    for kind, sheet, facts in papers(name):
        wide, narrow = made(sheet, facts, 0), made(sheet, facts, LEAST_WIDTH)
        assert max(map(cells, narrow.splitlines())) <= LEAST_WIDTH, kind
        assert words(wide) - words(narrow) == set(), kind
        # A digest is the only word that is longer than a line.
        assert len([word for word in wide.split() if cells(word.strip(TAPE)) > LEAST_WIDTH]) <= 1
        count += 1
    assert count >= 6
