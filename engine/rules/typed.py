"""What a person types, as the value it stands for; what stands for none is refused."""

from __future__ import annotations

import math
import re

from cartclock.engine.facts import events as ev
from cartclock.engine.plan.amounts import PRICE
from cartclock.engine.trouble import Refused

# The most letters of a note, of the words for a vehicle, and of a name; our own judgement.
NOTE_MOST = 2000
VEHICLE_MOST = 60
NAME_MOST = 100
_THOUSANDS = re.compile(r"(-?[1-9][0-9]{0,2})\.([0-9]{3})")


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
    """The words of a person; refuses more than `NOTE_MOST` letters."""
    return _at_most(text, NOTE_MOST)


def vehicle(text: str) -> str:
    """The words for a vehicle; refuses none and more than `VEHICLE_MOST` letters."""
    if not text:
        raise Refused("A job needs a word for the vehicle, like: bottle green estate.")
    return _at_most(text, VEHICLE_MOST)


def _at_most(text: str, most: int) -> str:
    if len(text) > most:
        raise Refused(f"{most} letters at most: take {len(text) - most} out of these {len(text)}.")
    return text


def price(text: str) -> str | None:
    """A price as decimal text, a comma read as a point; None for nothing typed.

    Raises Refused where a point or comma could part thousands as well as hundredths.
    """
    said = text.replace(",", ".")
    thousands = _THOUSANDS.fullmatch(said)
    if thousands is not None:
        whole, rest = thousands.groups()
        raise Refused(f"{text} could be {whole}{rest} or {whole}.{rest[:2]}; write one of them.")
    return said or None


def refuse_price(price: str | None) -> None:
    """Refuses a price that is no decimal number."""
    if price is not None and not PRICE.fullmatch(price):
        raise Refused(f"{price!r} is not a price; write digits like 18.50.")


def name(text: str) -> str:
    """A customer, a plate or a phone number, as they are printed."""
    if len(text) > NAME_MOST or not text.isprintable():
        raise Refused(f"That has 1 to {NAME_MOST} characters and no control characters.")
    return text


def helper_name(text: str, worker: str) -> str:
    """The name of somebody who helps; in the log each worker needs one of their own."""
    found = name(text.strip())
    if not found or found == worker:
        raise Refused(f"Whoever helps needs a name, another one than {worker}.")
    return found


def entered(name: str, value: float | None) -> float:
    """A number of a list, 0 or more; refuses if there is none, by the name of its line."""
    if value is None or not 0 <= value < math.inf:
        raise Refused(f"{name}: enter a number, 0 or more.")
    return value
