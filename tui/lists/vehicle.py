"""The lists about the vehicle: odometer, damage, paint, what is agreed, photos, set-ups.

Each ends where it began, so that a walk round the vehicle is one list after the other until
esc. A value that cannot be is asked again with what was typed.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import get_args, get_type_hints

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.plan.amounts import in_currency
from cartclock.engine.rules import choices, typed
from cartclock.engine.rules.arrival import odometer_warning
from cartclock.engine.trouble import Refused
from cartclock.engine.vehicle.panels import panels
from cartclock.engine.vehicle.vehicle import vehicle_record
from cartclock.tui.lists.attaching import Read, open_attaching
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.paint import open_gloss, open_thickness
from cartclock.tui.lists.panels import job_of, nothing, open_panels, titled_of, write_fact
from cartclock.tui.lists.photos import open_new
from cartclock.tui.lists.titles import titled
from cartclock.tui.lists.whose import open_whose
from cartclock.tui.told.in_view import in_hand, job_in_view
from cartclock.tui.told.photos import count_text
from cartclock.tui.widgets.sheet import Line

DAMAGES: tuple[str, ...] = get_args(get_type_hints(ev.DamageNoted)["what"])
HOT_DAMAGES = "csdreokatum"


def open_vehicle(host: Host) -> None:
    """What can be noted about the vehicle of the job in view."""
    job = choices.some(job_in_view(host.cart.bench, host.cart.workplace.chosen), choices.NO_JOB)
    opened = job.opened
    lists: tuple[tuple[str, str, Callable[[Host, str], None]], ...] = (
        ("whose, price, promise", "w", open_whose),
        ("odometer", "o", open_odometer),
        ("damage", "d", open_damage),
        ("thickness of the paint", "t", open_thickness),
        ("gloss", "g", open_gloss),
        ("agreed with the customer", "a", open_agreed),
        ("photo or file, by its path", "p", open_file),
        ("set-up of a test spot", "s", open_trial),
    )
    lines = [Line(said, partial(press, host, job.id), hot=hot) for said, hot, press in lists]
    new = host.cart.workplace.photos.found
    if new:
        said = f"{count_text(new)}: what they show"
        lines.insert(0, Line(said, partial(open_new, host, job.id), hot="n"))
    host.sheet.open(titled(host, opened.vehicle, "what to note?"), lines)


# Odometer.


def open_odometer(host: Host, job_id: str, why: str = "", before: str = "") -> None:
    """The odometer, in the unit it was read in before; "mi" behind the number says miles."""
    looks = vehicle_record(job_of(host, job_id)).odometers
    usual = looks[-1].unit if looks else "km"
    other = "mi" if usual == "km" else "km"

    def said(text: str) -> None:
        if not text:
            nothing(host)
            return

        def warn() -> None:
            warning = odometer_warning(job_of(host, job_id))
            if warning:
                host.say(f"Written. {warning}")

        again = partial(open_odometer, host, job_id, before=text)
        event = partial(typed.odometer, text, usual)
        write_fact(host, job_id, event, warn, lambda reason: again(why=reason))

    title = titled_of(host, job_id, f"odometer in {usual} ({other}: write it behind)")
    host.sheet.open_text(title, said, before, why=why)


# Damage.


def open_damage(host: Host, job_id: str, first: str = "") -> None:
    """Damage, panel by panel until esc."""
    found: dict[str, dict[str, None]] = {}
    for one in vehicle_record(job_of(host, job_id)).damages:
        found.setdefault(one.panel, {})[one.what] = None
    then = partial(_damage, host, job_id)
    told = {panel: ", ".join(whats) for panel, whats in found.items()}
    order = panels(job_of(host, job_id))
    title = "damage on which panel?"
    open_panels(host, job_id, title, lambda panel: told.get(panel, ""), then, order, first)


def _damage(host: Host, job_id: str, panel: str, why: str = "") -> None:
    noting = [False]
    then = partial(open_damage, host, job_id, panel)

    def write(what: str, text: str = "") -> None:
        def event() -> Struct:
            note = host.cart.bench.seal(typed.note(text)) if text else None
            return ev.DamageNoted(panel, what, note)  # type: ignore[arg-type]  # a word of the type

        write_fact(host, job_id, event, then, partial(_damage, host, job_id, panel))

    def take(what: str) -> None:
        if noting[0]:
            title = titled_of(host, job_id, f"note on the {what}, {panel}")
            host.sheet.open_text(title, partial(write, what))
        else:
            write(what)

    def flip(step: int = 1) -> None:
        noting[0] = not noting[0]

    lines = [
        Line(what, partial(take, what), hot=hot)
        for what, hot in zip(DAMAGES, HOT_DAMAGES, strict=True)
    ]
    said = lambda: f"with a note: {'yes' if noting[0] else 'no'}"  # noqa: E731  # one line of a list
    lines.append(Line(said, flip, hot="n", turn=flip, stays=True))
    title = titled_of(host, job_id, f"damage, {panel}")
    host.sheet.open(f"{why} {title}".lstrip(), lines)


# What is agreed, files, set-ups.


def open_agreed(host: Host, job_id: str) -> None:
    """Something agreed with the customer, and what it adds to the price."""

    def said(text: str) -> None:
        if not text:
            nothing(host)
            return
        _ask_price(host, job_id, text)

    host.sheet.open_text(titled_of(host, job_id, "agreed with the customer"), said)


def _ask_price(host: Host, job_id: str, text: str, before: str = "", why: str = "") -> None:
    def said(digits: str) -> None:
        def event() -> Struct:
            return ev.AgreementNoted(host.cart.bench.seal(typed.note(text)), typed.price(digits))

        def total() -> None:
            known = vehicle_record(job_of(host, job_id))
            extras = in_currency(known.extras_total, host.cart.settings.currency)
            host.say(f"Agreed; the extras add {extras}.")

        again = partial(_ask_price, host, job_id, text, digits)
        write_fact(host, job_id, event, total, again)

    currency = host.cart.settings.currency
    unit = f" in {currency}" if currency else ""
    title = titled_of(host, job_id, f"what it adds to the price{unit}, or nothing")
    host.sheet.open_text(title, said, before, why=why)


def open_file(host: Host, job_id: str, why: str = "", before: str = "") -> None:
    """A photo or another file by its path; its digest is kept, the file stays where it is."""

    def said(text: str) -> None:
        if not text:
            nothing(host)
            return

        def write(read: list[Read]) -> None:
            def event() -> Struct:
                (found,) = read
                if isinstance(found, Refused):
                    raise found
                hands = in_hand(host.cart.bench)
                own = hands is not None and hands.job == job_id and len(hands.sections) == 1
                section = hands.sections[0] if hands is not None and own else ""
                path = host.cart.bench.seal(found.path)
                return ev.FileAttached(found.sha256, path, found.what, section)

            again = partial(open_file, host, job_id, before=text)
            write_fact(host, job_id, event, lambda: None, lambda reason: again(why=reason))

        open_attaching(host, titled_of(host, job_id, "photo or file"), [text], write)

    title = titled_of(host, job_id, "path of the photo or file")
    host.sheet.open_text(title, said, before, why=why)


def open_trial(host: Host, job_id: str) -> None:
    """A set-up tried on a test spot, accepted or not."""
    job = job_of(host, job_id)
    spots = choices.trial_spots(job)
    if len(spots) == 1:
        _set_up(host, job_id, *spots[0])
        return
    lines = [
        Line(f"{section} ({stage})", partial(_set_up, host, job_id, stage, section))
        for stage, section in spots
    ]
    host.sheet.open(titled_of(host, job_id, "set-up tried on which spot?"), lines)


def _set_up(
    host: Host, job_id: str, stage: str, section: str, why: str = "", before: str = ""
) -> None:
    def said(text: str) -> None:
        if not text:
            nothing(host)
            return

        def judge(accepted: bool) -> None:
            event = ev.TrialJudged(stage, section, text, accepted)
            again = partial(_set_up, host, job_id, stage, section, before=text)
            write_fact(host, job_id, lambda: event, lambda: None, lambda reason: again(why=reason))

        lines = [
            Line("accepted: goes to the later sections", partial(judge, True), hot="a"),
            Line("not accepted", partial(judge, False), hot="n"),
        ]
        host.sheet.open(titled_of(host, job_id, f"{section}, {text}"), lines)

    title = titled_of(host, job_id, f"set-up on {section}: pad, product, speed")
    host.sheet.open_text(title, said, before, why=why)
