"""The list of papers on Record: each is filed first and then printed, or only filed.

The printer has its time beside the clocks; what it answers comes into the notice line of
whatever screen is on top by then.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from engine.outlet import DAY, printed_form
from engine.trouble import Refused, StoreFault
from tui.widgets.sheet import Line

if TYPE_CHECKING:
    from tui.screens.record import RecordScreen

_PAPERS = (
    ("sheet", "print the customer's sheet", "c"),
    ("record", "print the record", "r"),
    ("arrival", "print the arrival sheet", "a"),
    (DAY, "print the day", "d"),
)


def open_papers(screen: RecordScreen, job_id: str) -> None:
    """Opens the list; nothing is written before a pick."""
    outlet = screen.cart.outlet
    vehicle = outlet.shop.find(job_id).vehicle
    lines = [
        Line(text, partial(_print, screen, document, job_id), hot=hot)
        for document, text, hot in _PAPERS
    ]
    lines.append(Line("write the files only", screen.guarded(partial(_file, screen, job_id)), "f"))
    screen.sheet.open(f"Papers: {vehicle}", lines)


def _handle(screen: RecordScreen, document: str, job_id: str) -> str:
    return screen.cart.outlet.date if document == DAY else job_id


def _print(screen: RecordScreen, document: str, job_id: str) -> None:
    cart = screen.cart
    handle = _handle(screen, document, job_id)

    async def printed() -> None:
        try:
            said = await cart.outlet.print(document, handle)
        except (Refused, StoreFault) as why:
            said = str(why)
        cart.say(said)
        cart.repaint()

    cart.say("Printing.")
    cart.run_worker(printed(), group="print")


def _file(screen: RecordScreen, job_id: str) -> None:
    outlet = screen.cart.outlet
    issued = [
        outlet.issue(document, _handle(screen, document, job_id), printed_form(document))
        for document, _text, _hot in _PAPERS
    ]
    fresh = sum(one.fresh for one in issued)
    folders = dict.fromkeys(str(one.path.parent) for one in issued)
    kept = "" if fresh == len(issued) else f", {len(issued) - fresh} as they were"
    screen.cart.say(f"{fresh} files written{kept}: {', '.join(folders)}")
