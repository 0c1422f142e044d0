"""What is to be done about signs of being unwell, as a page: what comes first stands in large."""

from __future__ import annotations

from collections.abc import Iterator

from cartclock.engine.body.signs import Advice
from cartclock.engine.letters import wrapped
from cartclock.tui.face.canvas import Ground
from cartclock.tui.face.laying import MARGIN, RIM, large_rows
from cartclock.tui.face.lettering import HEIGHTS
from cartclock.tui.face.page import Air, Large, Page, PageRow, Words

BACK = "esc: back to the clocks"
MORE = "down: what to do until help comes"
# Lines that one thing takes at most in large letters. Our own judgement.
_MOST = 3


def advice_page(advice: Advice, width: int, height: int) -> Page:
    """The page: whom to call and where help has to come to as large as they fit, then what to do.

    Both are read out by somebody who has the telephone at the ear. Where one of them has large
    letters only if something else is out of sight, the first one has them, and a line says how
    to read on; without a place to be said nothing is out of sight.

    Args:
        width, height: of what is shown of it, in cells.
    """
    here = f"You are at: {advice.here}" if advice.here else ""
    shop = f"The shop is at: {advice.shop}" if advice.shop else ""
    where = tuple(sentence for sentence in (here, shop) if sentence)
    said = (*where, *advice.lines, BACK)
    room = max(20, width - MARGIN - RIM)
    rows = height - 1
    left = rows - sum(len(wrapped(sentence, room)) for sentence in said)
    large = next(_fitting(advice, width, left), ())
    if not large and advice.serious and here:
        large = next(_fitting(advice, width, rows // 2), ())
    taken = sum(large_rows(one, width) for one in large)
    airy = left - taken >= len(said)
    body: list[PageRow] = [*large, *(Words(sentence, bold=True) for sentence in where)]
    body += [Words(MORE)] if taken > max(left, 0) else []
    for sentence in said[len(where) :]:
        body += [*([Air()] if airy else []), Words(sentence)]
    ground: Ground = "late" if advice.serious else "page"
    return Page(advice.title, tuple(body), reading=True, ground=ground)


def _fitting(advice: Advice, width: int, rows: int) -> Iterator[tuple[Large, ...]]:
    """What may stand in large in so many rows, the best first: title and place, the title high
    where both fit, else the title alone, or the place.
    """
    titles = [Large(advice.title, height, _MOST) for height in HEIGHTS]
    # Behind a telephone number a house number must not be read as more of it.
    places = [Large(f"at {advice.here}", height, _MOST) for height in HEIGHTS if advice.here]
    both = [(title, place) for title in titles for place in places]
    for found in (*both, *((one,) for one in titles), *((one,) for one in places)):
        taken = [large_rows(one, width) for one in found]
        if all(taken) and sum(taken) <= rows:
            yield found
