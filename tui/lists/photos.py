"""The lists about new photos: what one shows, and on which panel, until all of them are told."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from cartclock.engine.dates import local
from cartclock.engine.facts import events as ev
from cartclock.engine.rules.arrival import note_vehicle
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused, StoreFault
from cartclock.engine.vehicle.panels import panels
from cartclock.engine.vehicle.picture import PhotoFile
from cartclock.engine.vehicle.vehicle import SHOWS
from cartclock.tui.lists.attaching import Read, open_attaching
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.panels import job_of, titled_of
from cartclock.tui.told.in_view import in_hand
from cartclock.tui.told.photos import count_text
from cartclock.tui.widgets.sheet import Line

_HOT = {"before": "b", "after": "a", "damage": "d", "test spot": "t"}


def open_new(
    host: Host, job_id: str, why: str = "", shows: str = SHOWS[0], panel: str = ""
) -> None:
    """What the oldest of the new photos shows; then the next one, until esc or none is left.

    Args:
        why: what is said in front of the title.
        shows, panel: what was said of the photo before, which is offered again.
    """
    found = host.cart.workplace.photos.found
    if not found:
        host.say("Every new photo is told of." if not why else why.strip())
        host.paint()
        return
    alike = [False]

    def meant() -> tuple[PhotoFile, ...]:
        return found if alike[0] else found[:1]

    def flip(_step: int = 1) -> None:
        alike[0] = not alike[0]

    def take(said: str) -> None:
        _ask_panel(host, job_id, meant(), said, panel)

    def pass_over() -> None:
        host.cart.workplace.photos.pass_over(meant())
        open_new(host, job_id, shows=shows, panel=panel)

    kinds = [*SHOWS, ""]
    lines = [
        Line(kind or "something else", partial(take, kind), hot=_HOT.get(kind, "e"))
        for kind in kinds
    ]
    lines.append(Line("not of this work: it is told of no more", pass_over, hot="n"))
    if len(found) > 1:
        said = lambda: f"all {len(found)} alike: {'yes' if alike[0] else 'no'}"  # noqa: E731  # one line of a list
        lines.append(Line(said, flip, hot="l", turn=flip, stays=True))
    title = why + titled_of(host, job_id, f"{_named(host, found)}: what does it show?")
    host.sheet.open(title, lines, at=kinds.index(shows))


def _named(host: Host, found: Sequence[PhotoFile]) -> str:
    """The oldest of them, when it was taken by its own clock, and how many there are."""
    one = found[0]
    taken = local(Instant(round(one.at_s * 1e6)), host.cart.settings.zone)
    said = f"{one.name}, {taken:%d %b %H:%M}"
    return said if len(found) == 1 else f"{said}, of {count_text(found)}"


def _ask_panel(
    host: Host, job_id: str, photos: Sequence[PhotoFile], shows: str, before: str
) -> None:
    order = list(panels(job_of(host, job_id)))
    hands = in_hand(host.cart.bench)
    own = hands is not None and hands.job == job_id and len(hands.sections) == 1
    first = before or (hands.sections[0] if hands is not None and own else "")
    if first and first not in order:
        order.insert(0, first)
    at = order.index(first) if first else 0
    order = [*order[at:], *order[:at]]
    write: Callable[[str], None] = partial(_attach, host, job_id, photos, shows)

    def named(text: str) -> None:
        if text:
            write(text)
        else:
            open_new(host, job_id, shows=shows, panel=before)

    asked = titled_of(host, job_id, "which panel or part?")
    lines = [Line(panel, partial(write, panel)) for panel in order]
    whole = Line("no panel: the whole vehicle", partial(write, ""), hot="w")
    # Whoever says nothing of a panel presses once more, and no further down.
    lines.insert(1 if first else 0, whole)
    lines.append(Line("another part", partial(host.sheet.open_text, asked, named)))
    what = shows or "something else"
    many = "" if len(photos) == 1 else f"{len(photos)} photos, "
    host.sheet.open(titled_of(host, job_id, f"{many}{what}: which panel?"), lines)


def _attach(host: Host, job_id: str, photos: Sequence[PhotoFile], shows: str, panel: str) -> None:
    """Attaches them by path and digest, a press each; what cannot be is told of no more."""
    cart = host.cart

    def write(found: list[Read]) -> None:
        refused = ""
        for photo, one in zip(photos, found, strict=True):
            try:
                if isinstance(one, Refused):
                    raise one
                path = cart.bench.seal(one.path)
                event = ev.FileAttached(one.sha256, path, one.what, panel, shows)
                cart.write(note_vehicle, job_id, event)
            except Refused as why:
                said = str(why)
                named = "" if said.startswith(photo.name) else f"{photo.name}: "
                refused = f"{named}{said} "
                cart.workplace.photos.pass_over((photo,))
            except StoreFault as why:
                refused = f"{why} "
                break
        open_new(host, job_id, refused, shows, panel)

    title = titled_of(host, job_id, f"{count_text(photos)}: {panel or 'the whole vehicle'}")
    open_attaching(host, title, [photo.path for photo in photos], write)
