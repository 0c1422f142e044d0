"""The list of papers on Record: each is filed first and then printed, or only filed.

The printer has its time beside the clocks; what it answers comes into the notice line of
whatever screen is on top by then.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from cartclock.engine.desk.outlet import printed_form
from cartclock.engine.desk.parts import in_parts
from cartclock.engine.paper.papers import PAPERS, Paper
from cartclock.engine.trouble import Refused, StoreFault
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.keys_taken import open_keys_taken
from cartclock.tui.lists.titles import titled
from cartclock.tui.widgets.sheet import Line


def _printed(host: Host, job_id: str) -> dict[str, Paper]:
    """The papers that can be printed of a job by their names: those of a vehicle with all its parts
    where it is one of them."""
    several = in_parts(host.cart.shop, job_id, host.cart.workplace.moment.now_us)
    return {
        name: paper
        for name, paper in PAPERS.items()
        if paper.hot and (several or paper.of != "vehicle")
    }


def open_papers(host: Host, job_id: str) -> None:
    """Opens the list; nothing is written before a pick."""
    outlet = host.cart.outlet
    vehicle = outlet.shop.find(job_id).vehicle
    lines = [
        Line(
            f"print {paper.said}",
            partial(_meant, host, job_id, partial(_print, host, document, job_id)),
            hot=paper.hot,
        )
        for document, paper in _printed(host, job_id).items()
    ]
    written = partial(_meant, host, job_id, partial(_file, host, job_id))
    lines.append(Line("write the files only", written, "f"))
    if outlet.shop.find(job_id).closed_us is not None:
        keys = partial(open_keys_taken, host, job_id)
        lines.append(Line("who took the keys, paid how", keys, "k"))
    host.sheet.open(titled(host, vehicle, "papers"), lines)


def _meant(host: Host, job_id: str, go_on: Callable[[], None]) -> None:
    """Goes on; asks first where the paper may have times that are from no label."""
    if not host.cart.shop.examples(job_id, host.cart.workplace.moment.now_us):
        go_on()
        return
    lines = [
        Line("no, the label's times come first", lambda: host.say("Nothing was written.")),
        Line("yes, with example times", go_on),
    ]
    host.sheet.open("Times of this job are examples, from no label. Hand out all the same?", lines)


def _handle(host: Host, document: str, job_id: str) -> str:
    return host.cart.outlet.date if PAPERS[document].of == "day" else job_id


def _print(host: Host, document: str, job_id: str) -> None:
    cart = host.cart
    handle = _handle(host, document, job_id)

    async def printed() -> None:
        try:
            said = await cart.outlet.print(document, handle)
        except (Refused, StoreFault) as why:
            said = str(why)
        cart.say(said)
        cart.repaint()

    cart.say("Printing.")
    cart.beside(printed(), "print")


def _file(host: Host, job_id: str) -> None:
    outlet = host.cart.outlet
    issued = [
        outlet.issue(document, _handle(host, document, job_id), printed_form(document))
        for document in _printed(host, job_id)
    ]
    fresh = sum(one.fresh for one in issued)
    folders = dict.fromkeys(str(one.path.parent) for one in issued)
    kept = "" if fresh == len(issued) else f", {len(issued) - fresh} as they were"
    host.cart.say(f"{fresh} files written{kept}: {', '.join(folders)}")
