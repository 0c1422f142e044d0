"""What a person types, as the value it stands for; what stands for none is refused."""

from __future__ import annotations

from cartclock.engine.facts import events as ev
from cartclock.engine.trouble import Refused

# Letters of a note that are kept, and of the words for a vehicle; our own judgement.
NOTE_MOST = 2000
VEHICLE_MOST = 60


def number(name: str, text: str) -> float:
    """A number by the name of what is typed."""
    try:
        return float(text)
    except ValueError:
        said = f"{text} is no number" if text else "nothing was typed"
        raise Refused(f"{name}: {said}; type it like 500.") from None


def odometer(text: str, usual: str) -> ev.OdometerRead:
    """A look at the odometer in whole "km" or "mi", as written behind the number.

    usual: the unit where none is written.
    """
    digits, unit = text.lower(), usual
    for name in ("km", "mi"):
        if digits.endswith(name):
            digits, unit = digits.removesuffix(name), name
    digits = digits.replace(" ", "")
    if not (digits.isascii() and digits.isdigit()):
        raise Refused("An odometer is read in whole numbers, like 84210 or 84210 mi.")
    return ev.OdometerRead(int(digits), "mi" if unit == "mi" else "km")


def note(text: str) -> str:
    """The words of a person, as many of them as are kept."""
    return text[:NOTE_MOST]


def vehicle(text: str) -> str:
    """The words for a vehicle, as many of them as are kept."""
    if not text:
        raise Refused("A job needs a word for the vehicle, like: bottle green estate.")
    return text[:VEHICLE_MOST]


def price(text: str) -> str | None:
    """A price as decimal text, a comma read as a point; None for nothing typed."""
    return text.replace(",", ".") or None
