"""What is to be done about signs of being unwell, as a page: what comes first stands in large."""

from __future__ import annotations

from cartclock.engine.body.signs import Advice
from cartclock.engine.letters import wrapped
from cartclock.tui.face.canvas import Ground
from cartclock.tui.face.laying import MARGIN, RIM, large_rows
from cartclock.tui.face.lettering import HEIGHTS
from cartclock.tui.face.page import Air, Large, Page, PageRow, Words

BACK = "esc: back to the clocks"
# Lines that the first thing takes at most in large letters. Our own judgement.
_MOST = 3


def advice_page(advice: Advice, width: int, height: int) -> Page:
    """The page: nothing of it is ever out of sight so that another part can be large or airy.

    Args:
        width, height: of what is shown of it, in cells.
    """
    here = f"You are at: {advice.here}" if advice.here else ""
    said = tuple(sentence for sentence in (here, *advice.lines, BACK) if sentence)
    room = max(20, width - MARGIN - RIM)
    left = height - 1 - sum(len(wrapped(sentence, room)) for sentence in said)
    rows: list[PageRow] = []
    # Where to come to is read out by somebody who has the telephone at the ear.
    for text in filter(None, (advice.title, advice.here)):
        for highest in HEIGHTS:
            large = Large(text, highest, _MOST)
            if 0 < (taken := large_rows(large, width)) <= left:
                rows.append(large)
                left -= taken
                break
    airy = left >= len(said)
    for sentence in said:
        rows += [*([Air()] if airy else []), Words(sentence)]
    ground: Ground = "late" if advice.serious else "page"
    return Page(advice.title, tuple(rows), reading=True, ground=ground)
