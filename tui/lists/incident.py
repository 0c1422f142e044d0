"""The lists about something that went wrong: what and where first, all the rest afterwards.

The panel writes it; what happened, what was done about it, a photo and whether the customer is
told are lines of one list, each a press of its own, asked for when no film is in play.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import get_args

from cartclock.engine.dates import spoken_near
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.customer_events import IncidentKind
from cartclock.engine.facts.in_play import film_in_play
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.press import Press
from cartclock.engine.rules import typed
from cartclock.engine.rules.incidents import amend_incident, note_incident
from cartclock.engine.trouble import Refused, StoreFault
from cartclock.engine.vehicle.incidents import Incident, incidents
from cartclock.engine.vehicle.panels import panels
from cartclock.tui.lists.ago import Ago
from cartclock.tui.lists.attaching import Read, open_attaching
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.panels import job_of, nothing, open_panels, titled_of
from cartclock.tui.told.in_view import in_hand, zone_of
from cartclock.tui.widgets.sheet import Line

HOT_INCIDENTS = "sdebco"
WHOLE = "whole vehicle"
HINT = "0-9: minutes ago   space: take it   esc: nothing is written"


def open_incident(host: Host, job_id: str) -> None:
    """What went wrong; those that are noted can be gone on with."""
    ago = Ago()
    what: IncidentKind
    lines = []
    for what, hot in zip(get_args(IncidentKind), HOT_INCIDENTS, strict=True):
        said = partial(ago.behind, what)
        pick = partial(_where, host, job_id, what, ago)
        lines.append(Line(said, pick, hot=hot, type=ago.type))
    for press, one in reversed(_known(host, job_id).items()):
        lines.append(Line(f"more of: {_named(host, one)}", partial(_more, host, job_id, press)))
    host.sheet.open(titled_of(host, job_id, "what went wrong?"), lines, HINT)


def _where(host: Host, job_id: str, what: IncidentKind, ago: Ago) -> None:
    """The panel writes it. The one in hand comes first."""
    job = job_of(host, job_id)
    hands = in_hand(host.cart.bench)
    first = ""
    if hands is not None and hands.job == job_id:
        first = job.sections[hands.stage, hands.sections[0]].panel

    def write(panel: str) -> None:
        bench = host.cart.bench
        event = ev.IncidentNoted(panel, what)
        told = host.cart.told(
            bench.do_as(bench.worker, ago.minutes * MINUTE_US, note_incident, job_id, event)
        )
        now = host.cart.workplace.moment
        if film_in_play(now.jobs.values(), now.now_us):
            host.say(f"Noted: {what}, {panel}. N, I adds what was done.")
            return
        _more(host, job_id, told.rows[0].press)

    named = ago.behind(what)
    # A stage may be one of the whole vehicle, which is then among the panels.
    order = tuple(dict.fromkeys((*panels(job), WHOLE)))
    open_panels(host, job_id, f"{named}: where?", lambda panel: "", write, order, first)


def _known(host: Host, job_id: str) -> dict[Press, Incident]:
    return incidents(job_of(host, job_id), host.cart.bench.text)


def _named(host: Host, one: Incident) -> str:
    bench = host.cart.bench
    return f"{one.what}, {one.panel}, {spoken_near(one.at_us, bench.now_us, zone_of(bench))}"


def _more(host: Host, job_id: str, press: Press, why: str = "", at: int = 0) -> None:
    """What else is said of it; esc leaves what was noted as it is."""
    one = _known(host, job_id)[press]
    origin, seq = press

    def write(event: ev.IncidentAmended, at: int, file: ev.FileAttached | None = None) -> None:
        try:
            host.cart.write(amend_incident, job_id, event, file)
        except (Refused, StoreFault) as refused:
            _more(host, job_id, press, f"{refused} ", at)
        else:
            _more(host, job_id, press, at=at + 1)

    def words(asked: str, before: str, event: Callable[[str], ev.IncidentAmended], at: int) -> None:
        def said(text: str) -> None:
            if text and text != before:
                write(event(typed.note(text)), at)
            else:
                _more(host, job_id, press, at=at)

        back = partial(_more, host, job_id, press, at=at)
        title = titled_of(host, job_id, asked)
        host.sheet.open_text(title, said, before, closed=back, proposed=True)

    def done(text: str) -> ev.IncidentAmended:
        return ev.IncidentAmended(seq, done=host.cart.bench.seal(text), origin=origin)

    def happened(text: str) -> ev.IncidentAmended:
        return ev.IncidentAmended(seq, words=host.cart.bench.seal(text), origin=origin)

    told = "yes" if one.told else "no"
    lines = [
        Line(
            f"what was done: {one.done or '-'}",
            partial(words, "what was done about it", one.done, done, 0),
            hot="d",
        ),
        Line(
            f"what happened: {one.words or '-'}",
            partial(words, "what happened", one.words, happened, 1),
            hot="w",
        ),
        Line(
            f"photo, by its path: {len(one.photos) or '-'}",
            partial(_photo, host, job_id, press, write),
            hot="p",
        ),
        Line(
            f"on the customer's sheet: {told}",
            partial(write, ev.IncidentAmended(seq, told=not one.told, origin=origin), 2),
            hot="c",
        ),
    ]
    hint = "up, down: choose   space: write it   esc: done"
    host.sheet.open(why + titled_of(host, job_id, _named(host, one)), lines, hint, at=at)


def _photo(
    host: Host,
    job_id: str,
    press: Press,
    write: Callable[[ev.IncidentAmended, int, ev.FileAttached | None], None],
) -> None:
    def said(text: str) -> None:
        if not text:
            nothing(host)
            return

        def taken(read: list[Read]) -> None:
            (found,) = read
            if isinstance(found, Refused):
                _more(host, job_id, press, f"{found} ", at=2)
                return
            path = host.cart.bench.seal(found.path)
            # Of no section: a photo of a panel is counted among those of its damage.
            file = ev.FileAttached(found.sha256, path, found.what)
            origin, seq = press
            write(ev.IncidentAmended(seq, photo=found.sha256, origin=origin), 2, file)

        open_attaching(host, titled_of(host, job_id, "photo"), [text], taken)

    back = partial(_more, host, job_id, press, at=2)
    host.sheet.open_text(titled_of(host, job_id, "path of the photo"), said, closed=back)
