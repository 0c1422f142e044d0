"""The aftercare as a message for the customer's phone: short, the most important date first.

What must be kept comes first, by its end; then what may be done from a day on; then visits;
the shop's phone always stands at the end. What has no room is left out by whole entries, and
the message says that the sheet has it.
"""

from __future__ import annotations

import unicodedata

from cartclock.engine.after.aftercare import Care
from cartclock.engine.after.dates import ToldDate
from cartclock.engine.after.dues import Due
from cartclock.engine.dates import local
from cartclock.engine.paper.forms.calendar_form import plain
from cartclock.engine.record.customer import due_text, until_text
from cartclock.engine.record.record import Record

MOST_LETTERS = 600
REST = "The sheet has the rest."
# How many dates of one row of repeats are named.
_NAMED = 2

# What phones send as one octet a letter (3GPP TS 23.038, default alphabet; from memory) has none
# of these, and each has a plain letter that says the same.
_PLAIN = str.maketrans(
    {
        "‘": "'", "’": "'", "‚": ",", "“": '"', "”": '"', "„": '"', "«": '"', "»": '"',
        "–": "-", "—": "-", "‐": "-", "‑": "-", "−": "-", "…": "...", "×": "x", "·": ".",
        "•": "-", "\u00a0": " ", "\u2009": " ", "\u202f": " ", "\u00ad": "", "\u200b": "",
        "°": " deg", "µ": "u", "μ": "u", "½": "1/2", "¼": "1/4", "¾": "3/4", "→": "->",
        "\n": " ", "\t": " ",
    }
)  # fmt: skip


def message(record: Record, shop: str = "", phone: str = "") -> str:
    """At most `MOST_LETTERS` characters of plain text, one entry a line.

    shop, phone: who sends it, at the end; "" for nothing. Dates that have passed are left out.
    The vehicle is the first thing to go where there is no room, then the last entries, then
    the shop's name.
    """
    lines = _sentences(record)
    who = [part for part in (_plain(shop), _plain(phone)) if part]
    rest = [REST] if _undated(record) else []
    whole = "\n".join([_plain(f"{record.vehicle}:"), *lines, *rest, *who])
    if len(whole) <= MOST_LETTERS:
        return whole
    last = [*rest, *who]
    if len("\n".join([*lines, *last])) > MOST_LETTERS:
        last = [REST, *who]
    if len("\n".join([*lines[:1], *last])) > MOST_LETTERS:
        # No phone number is that long.
        last = [REST, *(part for part in who[-1:] if len(part) <= MOST_LETTERS // 3)]
    kept: list[str] = []
    for sentence in lines:
        if len("\n".join([*kept, sentence, *last])) > MOST_LETTERS:
            break
        kept.append(sentence)
    return "\n".join([*kept, *last])


def _plain(text: str) -> str:
    composed = unicodedata.normalize("NFC", plain(text))
    return " ".join(composed.translate(_PLAIN).split())


def _undated(record: Record) -> bool:
    """True if the sheet says something that has no date yet."""
    return any(care.state == "not yet" or care.no_day for care in record.cares)


def _sentences(record: Record) -> list[str]:
    ranked = [
        (0, f"{local(date.at_us, record.zone):%Y-%m-%d %H:%M:%S}", _plain(said))
        for date in record.dates
        if date.at_us is not None and date.at_us > record.now_us and (said := _date(date, record))
    ]
    for care in record.cares:
        for rank, when, said in _of(care, record):
            example = " (example)" if care.example else ""
            ranked.append((rank, when, _plain(f"{said}{example}")))
    ranked.sort(key=lambda entry: entry[:2])
    if not ranked:
        why = next((care.why for care in record.cares if care.state == "not yet"), "")
        return [_plain(f"No date yet: {why}.")] if why else ["No dates."]
    return [said for _rank, _when, said in ranked]


def _date(date: ToldDate, record: Record) -> str:
    """What is to be left until a date; "" where the aftercare says it, or nothing is."""
    if date.about == "leave" or date.line:
        return ""
    left = "Do not touch it" if date.about == "touch" else "No water on it"
    return f"Until {until_text(date, record.zone)}: {left}.{' (example)' if date.example else ''}"


def _of(care: Care, record: Record) -> list[tuple[int, str, str]]:
    """(rank, what it is sorted by, sentence) of the dates of one aftercare."""
    found = []
    for due in care.dues:
        if due.visit or due.kind == "every":
            continue
        day = due_text(due, record.zone)
        if due.kind == "until" and not _passed(due, record):
            found.append((0, _sorted_by(due, record.zone), f"Until {day}: {care.say}"))
        elif due.kind == "from":
            found.append((1, _sorted_by(due, record.zone), f"From {day}: {care.say}"))
    visits = [d for d in care.dues if (d.visit or d.kind == "every") and not _passed(d, record)]
    if visits:
        named = ", ".join(due_text(due, record.zone) for due in visits[:_NAMED])
        more = f" and {len(visits) - _NAMED} more" if len(visits) > _NAMED else ""
        # A sentence's own full stop would stand before the dates.
        say = care.say.removesuffix(".")
        found.append((2, _sorted_by(visits[0], record.zone), f"{say}: {named}{more}."))
    return found


def _sorted_by(due: Due, zone: str) -> str:
    """Sorts by time; a day comes after the hours of that day."""
    if due.at_us is None:
        return f"{due.day} 24"
    return f"{local(due.at_us, zone):%Y-%m-%d %H:%M:%S}"


def _passed(due: Due, record: Record) -> bool:
    if due.at_us is not None:
        return due.at_us <= record.now_us
    return due.day < local(record.now_us, record.zone).date().isoformat()
