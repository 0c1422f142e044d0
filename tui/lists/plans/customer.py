"""The lists of what the label asks of the customer: aftercare, and the hand-over."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from msgspec.structs import replace

from cartclock.engine.dates import iso_parts, iso_said, iso_text
from cartclock.engine.plan.plan import EXAMPLE, Aftercare, Handover
from cartclock.engine.rules.typed import entered
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.plans.windows import OfTheLabel, open_labelled
from cartclock.tui.widgets.sheet import Line
from cartclock.tui.widgets.values import Number

LABEL = "label of the pack"
_TIMES = ("until", "from_", "every")


def open_aftercare(
    host: Host,
    cares: Sequence[Aftercare],
    take: Callable[[int, Aftercare], object],
    back: Callable[[], object],
) -> None:
    """Every line of the aftercare; `take` is given the place of one and what it is now."""
    lines = [
        Line(f"{_until(care)}: {care.say}", partial(_open_care, host, cares, place, take, back))
        for place, care in enumerate(cares)
    ]
    at = next((place for place, care in enumerate(cares) if care.source == EXAMPLE), 0)
    host.sheet.open("Aftercare, as the packs have it", lines, closed=back, at=at)


def _open_care(
    host: Host,
    cares: Sequence[Aftercare],
    place: int,
    take: Callable[[int, Aftercare], object],
    back: Callable[[], object],
) -> None:
    care = cares[place]
    field, iso = next((f, t) for f in _TIMES if (t := getattr(care, f)))

    def taken(text: str, source: str) -> None:
        take(place, replace(care, source=source, **{field: text}))

    again = partial(open_aftercare, host, cares, take, back)
    _open_length(host, care.say, field.rstrip("_"), iso, care.source, taken, again)


def open_handover(
    host: Host,
    handover: Handover,
    take: Callable[[Handover], object],
    back: Callable[[], object],
) -> None:
    """How long after its stage the vehicle stays."""

    def taken(text: str, source: str) -> None:
        take(replace(handover, not_before=text, source=source))

    title = f"No hand-over so long after {handover.after}"
    _open_length(host, title, "after", handover.not_before, handover.source, taken, back)


def _open_length(
    host: Host,
    title: str,
    name: str,
    iso: str,
    source: str,
    taken: Callable[[str, str], object],
    back: Callable[[], object],
) -> None:
    """One length of time; `taken` is given it by ISO 8601, and its source."""
    parts = iso_parts(iso)
    word, many = parts[0]
    length = Number(name, word, float(many), 1.0, float(many))
    label = OfTheLabel(source == EXAMPLE)

    def take() -> None:
        text = iso_text(word, round(entered(name, length.value))) if length.entered else iso
        taken(text, LABEL if label.said else source)

    lines = [label.line()]
    if len(parts) == 1:
        # What is of months and days is changed in the file.
        lines.insert(0, Line(length.text, turn=length.turn, type=length.type))
    open_labelled(host, title, lines, label, take, back)


def handover_text(handover: Handover) -> str:
    """As the line of a list."""
    example = " (example)" if handover.source == EXAMPLE else ""
    return f"hand-over: not before {iso_said(handover.not_before)} after {handover.after}{example}"


def _until(care: Aftercare) -> str:
    said = {"until": care.until, "from": care.from_, "every": care.every}
    whole = " ".join(f"{word} {iso_said(iso)}" for word, iso in said.items() if iso)
    return f"{whole}{' (example)' if care.source == EXAMPLE else ''}"
