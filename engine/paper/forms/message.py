"""The dates for the customer's phone: what the sheet tells, a date a line.

The dates come first, then what to do if it happens all the same, then what else has a date; the
shop's phone always stands at the end. What has no room is left out by whole entries, and the
message says that the sheet has it.
"""

from __future__ import annotations

import unicodedata

from cartclock.engine.after.aftercare import Care
from cartclock.engine.after.dues import Due
from cartclock.engine.dates import local
from cartclock.engine.paper.forms.calendar_form import plain
from cartclock.engine.paper.keep import dates_to_keep, remedies
from cartclock.engine.record.customer import CustomerSheet, customer_sheet, due_text
from cartclock.engine.record.record import Record

MOST_LETTERS = 300
"""Two messages of a phone joined are 306 letters (3GPP TS 23.040; from memory)."""

REST = "The sheet has the rest."

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

    shop, phone: who sends it; "" for nothing. Dates that have passed are left out. Where there
    is no room the vehicle goes before any date does.
    """
    sheet = customer_sheet(record)
    dates = _dates(sheet)
    ask = f"Questions: {_plain(phone)}" if phone else ""
    if len(ask) > MOST_LETTERS // 3:
        # No phone number is that long.
        ask = ""
    head = _head(sheet, _plain(shop))
    others = [*map(_plain, remedies(sheet)), *_others(sheet)]
    rest = REST if _undated(sheet) else ""
    if not dates and not others:
        why = next((care.why for care in sheet.cares if care.state == "not yet"), "")
        dates = [_plain(f"No date yet: {why}.")] if why else ["No dates."]
    whole = [head, *dates, *others, rest, ask]
    if _length(whole) <= MOST_LETTERS:
        return "\n".join(line for line in whole if line)
    kept: list[str] = []
    for said in dates:
        if _length([*kept, said, REST, ask]) > MOST_LETTERS:
            break
        kept.append(said)
    if _length([head, *kept, REST, ask]) > MOST_LETTERS:
        head = ""
    for said in others:
        if _length([head, *kept, said, REST, ask]) <= MOST_LETTERS:
            kept.append(said)
    left = len(kept) < len(dates) + len(others) or rest
    return "\n".join(line for line in (head, *kept, REST if left else "", ask) if line)


def _length(lines: list[str]) -> int:
    return len("\n".join(line for line in lines if line))


def _head(sheet: CustomerSheet, shop: str) -> str:
    vehicle = _plain(sheet.vehicle)
    done = "is done." if sheet.state == "closed" else "is in the shop."
    return f"{shop}: your {vehicle} {done}" if shop else f"Your {vehicle} {done}"


def _plain(text: str) -> str:
    composed = unicodedata.normalize("NFC", plain(text))
    return " ".join(composed.translate(_PLAIN).split())


def _undated(sheet: CustomerSheet) -> bool:
    """True if the sheet says something that has no date yet."""
    return any(care.state == "not yet" or care.no_day for care in sheet.cares)


def _dates(sheet: CustomerSheet) -> list[str]:
    found = []
    for date in dates_to_keep(sheet):
        when = date.when if date.known else f"{date.when}: {date.note}"
        found.append(_plain(f"{date.label} {when}.{' (example)' if date.example else ''}"))
    return found


def _others(sheet: CustomerSheet) -> list[str]:
    """What stands among no dates: ends before beginnings, each by its time."""
    told = {said for date in sheet.dates for said in date.sayings()}
    found = [
        entry for care in sheet.cares if care.say not in told for entry in _entries(care, sheet)
    ]
    return [said for _rank, _when, said in sorted(found)]


def _entries(care: Care, sheet: CustomerSheet) -> list[tuple[int, str, str]]:
    """(rank, what it is sorted by, sentence) of the dates of one aftercare."""
    found: list[tuple[int, str, str]] = []
    example = " (example)" if care.example else ""
    for due in care.dues:
        if due.kind == "until" and _passed(due, sheet):
            continue
        kind = {"until": "Until", "from": "From"}.get(due.kind, "On")
        said = f"{kind} {due_text(due, sheet.zone)}: {care.say}{example}"
        found.append((due.kind != "until", _sorted_by(due, sheet.zone), _plain(said)))
    return found


def _sorted_by(due: Due, zone: str) -> str:
    """Sorts by time; a day comes after the hours of that day."""
    if due.at_us is None:
        return f"{due.day} 24"
    return f"{local(due.at_us, zone):%Y-%m-%d %H:%M:%S}"


def _passed(due: Due, sheet: CustomerSheet) -> bool:
    if due.at_us is not None:
        return due.at_us <= sheet.now_us
    return due.day < local(sheet.now_us, sheet.zone).date().isoformat()
