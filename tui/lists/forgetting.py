"""Name, plate, phone, notes and photos' paths of a job, forgotten on asking."""

from __future__ import annotations

from cartclock.engine.desk.forgetting import BACKUPS_ELSEWHERE, forget, to_forget
from cartclock.engine.trouble import StoreFault
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.panels import job_of
from cartclock.tui.lists.titles import titled
from cartclock.tui.widgets.sheet import Line


def open_forgetting(host: Host, job_id: str) -> None:
    """What would be forgotten, with the papers that tell it or without them."""
    cart = host.cart
    what = to_forget(cart.shop, job_id, cart.outlet.folder)
    papers = "1 paper" if len(what.papers) == 1 else f"{len(what.papers)} papers"
    texts = "1 text" if what.held == 1 else f"{what.held} texts"

    def done(with_papers: bool) -> None:
        try:
            left = forget(cart.shop, what, with_papers)
        except StoreFault as why:
            host.say(str(why))
            return
        cart.bench.load(tuple(cart.bench.jobs), tuple(cart.bench.shifts))
        host.say(" ".join(left) or f"Forgotten. {BACKUPS_ELSEWHERE}")

    lines = [
        Line("keep it", lambda: host.say("Kept.")),
        Line(f"forget {texts} for ever", lambda: done(False)),
    ]
    if what.papers:
        said = f"forget them and remove {papers} that were issued"
        lines.append(Line(said, lambda: done(True)))
    title = titled(host, job_of(host, job_id).opened.vehicle, "forget name, plate, notes?")
    host.sheet.open(title, lines)
