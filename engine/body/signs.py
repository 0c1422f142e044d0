"""Signs of being unwell, what is to be done about them, and the lone worker's sign of life.

Symptoms come before every number of this program. What is said here is no medical advice.
The program has no line to the outside: it never calls anybody.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.shift import Shift
from cartclock.engine.times import Instant

Seriousness = Literal["", "stop", "skin", "emergency"]
_RANK: dict[Seriousness, int] = {"": 0, "stop": 1, "skin": 2, "emergency": 3}


class Sign(Struct, frozen=True):
    """A sign a worker can name.

    Fields:
        say: its words, as stored in `FeltUnwell`.
        seriousness: "emergency" needs help at once; "skin" is a chemical burn; "stop" ends
            the work for now.
        hint: what else to know of it; "" if nothing.
    """

    say: str
    seriousness: Seriousness
    hint: str = ""


SIGNS: tuple[Sign, ...] = (
    Sign("confusion", "emergency"),
    Sign("slurred speech", "emergency"),
    Sign("collapse", "emergency"),
    Sign("hot skin", "emergency"),
    Sign("burning skin after wheel cleaner", "skin"),
    Sign("headache", "stop"),
    Sign("dizziness", "stop"),
    Sign("nausea", "stop"),
    Sign("weakness", "stop"),
    Sign("cramps", "stop"),
    Sign("heavy sweating", "stop"),
    Sign("thirst", "stop"),
    Sign("very dark urine", "stop", "Very dark urine: see a doctor today."),
)
"""One list, the serious ones first.

Source: signs of heat illness as NIOSH names them; from memory. Burning skin: MMWR 64(32)
2015, read in the issuing body's text."""

NOT_MEDICAL = "This is not medical advice. When in doubt, get help."

_THE_NUMBER = "the emergency number"
EMERGENCY_TITLE = "CALL THE EMERGENCY NUMBER"
EMERGENCY_LINES: tuple[str, ...] = (
    "Call the emergency number now. This program cannot call anybody.",
    "Get into the shade or a cool room. Take off outer clothes.",
    "Cool with water and ice: head, neck, armpits, groin.",
    "Do not stay alone: shout, ring somebody, stay on the line.",
    NOT_MEDICAL,
)
"""Full screen for a sign of heat stroke.

Source: NIOSH first aid for heat stroke; from memory."""

SKIN_TITLE = "RINSE AND GET MEDICAL HELP"
SKIN_LINES: tuple[str, ...] = (
    "Rinse with plenty of water at once and take off what got wet.",
    "Fluoride in a wheel cleaner goes deep and the pain comes late:",
    "get medical help even if it looks small. Take the data sheet along.",
    NOT_MEDICAL,
)
"""For skin that burns after wheel cleaner.

Source: MMWR 64(32) 2015, burns by hydrofluoric acid in vehicle washing; read in the issuing
body's text; rinsing and undressing common practice, no source."""

STOP_TITLE = "STOP AND COOL DOWN"
STOP_LINES: tuple[str, ...] = (
    "Stop work. Rest in the coolest place there is.",
    "Drink water in small cups.",
    "Tell somebody. If it gets worse or does not pass, call the emergency number.",
    NOT_MEDICAL,
)
"""For the milder signs.

Source: NIOSH first aid for heat exhaustion and cramps; from memory."""


class Emergency(Struct, frozen=True):
    """Whom to call, and what to say where one is; both as settled and said at clocking on.

    Fields:
        number: the emergency number; "" if nobody settled it.
        here: where the worker is; "" if nobody said it.
        shop: the shop's address where that is another thing than `here`; else "".
    """

    number: str = ""
    here: str = ""
    shop: str = ""


NO_EMERGENCY = Emergency()


def whom_to_call(number: str, place: str, shop: str, lines: Sequence[str]) -> Emergency:
    """Whom to call and where to: what was said at clocking on, without that the shop's address.

    Whoever works elsewhere must not read the shop's address into a telephone as where help has to
    come to; whether a place that was said is a corner of the shop, only the worker knows.

    Args:
        place: as said at clocking on; "" if nothing was, or off the clock.
        shop, lines: what the shop is called and its address, a line each; "" and none if not
            settled.
    """
    address = ", ".join(lines)
    known = {said.casefold() for said in (shop, address, *lines)}
    if not address or not place:
        return Emergency(number, place or address)
    if place.casefold() in known:
        return Emergency(number, address)
    return Emergency(number, place, address)


class Advice(Struct, frozen=True):
    """What is to be done about the signs named.

    Fields:
        seriousness: of the worst of them; "" if none was named.
        title: in capitals, for the full screen; "" if none was named.
        lines: whole sentences, in order.
        here, shop: where help has to come to, as in `Emergency`; "" if nobody is called.
    """

    seriousness: Seriousness
    title: str
    lines: tuple[str, ...]
    here: str = ""
    shop: str = ""

    @property
    def serious(self) -> bool:
        """True if somebody else has to help."""
        return self.seriousness in ("emergency", "skin")


def seriousness(signs: Sequence[str]) -> Seriousness:
    """Of the worst of the signs; "" for none. Words that are not in `SIGNS` count as "stop"."""
    known = {sign.say: sign.seriousness for sign in SIGNS}
    found: list[Seriousness] = [known.get(say.strip().lower(), "stop") for say in signs]
    return max(found, key=_RANK.__getitem__, default="")


def first_aid(signs: Sequence[str], emergency: Emergency = NO_EMERGENCY) -> Advice:
    """What is to be done about these signs; the burn is named beside an emergency too."""
    worst = seriousness(signs)
    named = {say.strip().lower() for say in signs}
    hints = tuple(sign.hint for sign in SIGNS if sign.say in named and sign.hint)
    burns = any(sign.say in named for sign in SIGNS if sign.seriousness == "skin")
    number = emergency.number
    match worst:
        case "emergency":
            title = f"CALL {number}" if number else EMERGENCY_TITLE
            lines = (*EMERGENCY_LINES, *(SKIN_LINES[:-1] if burns else ()))
            called = tuple(line.replace(_THE_NUMBER, number or _THE_NUMBER) for line in lines)
            return Advice(worst, title, called, emergency.here, emergency.shop)
        case "skin":
            by = (f"The emergency number is {number}.",) if number else ()
            lines = (*SKIN_LINES[:-1], *by, SKIN_LINES[-1], *hints)
            return Advice(worst, SKIN_TITLE, lines, emergency.here, emergency.shop)
        case "stop":
            lines = (*STOP_LINES[:-1], *hints, STOP_LINES[-1])
            whom = f"{_THE_NUMBER}, {number}" if number else _THE_NUMBER
            return Advice(
                worst, STOP_TITLE, tuple(line.replace(_THE_NUMBER, whom) for line in lines)
            )
        case "":
            return Advice(worst, "", ())


NEVER_CALLS = "It never calls anybody: agree with somebody who comes looking."

# Minutes overdue from which a missing sign of life is as loud as the place in this row; our
# own judgement.
LOUDER_FROM_MINUTES: tuple[int, ...] = (0, 1, 5, 10)


class CheckIn(Struct, frozen=True):
    """The lone worker's next sign of life.

    Fields:
        every_s: the agreed period in seconds; 0 if none is agreed.
        due_us: when it is due; None if none is agreed or the shift is over.
        due_in_s: seconds until then, 0 once it is due.
        overdue_s: seconds since then, 0 before.
        loudness: 0 to 3.
    """

    every_s: int
    due_us: Instant | None
    due_in_s: int
    overdue_s: int
    loudness: int

    @property
    def overdue(self) -> bool:
        """True from the moment it is due."""
        return self.due_us is not None and self.due_in_s == 0

    @property
    def sentence(self) -> str:
        """What is to be said; "" if nothing was agreed or it is not due."""
        if not self.overdue:
            return ""
        minutes = self.overdue_s * SECOND_US // MINUTE_US
        late = f"overdue by {minutes} min" if minutes else "due"
        return f'Your "I am well" is {late}. {NEVER_CALLS}'


def check_in(shift: Shift, now_us: Instant) -> CheckIn:
    """The next sign of life at `now_us`, by the newest `CheckedIn`; every other press is none."""
    found = [
        (row.at_us, row.event.every_s)
        for row in shift.facts
        if isinstance(row.event, ev.CheckedIn) and row.at_us <= now_us
    ]
    at_us, every_s = found[-1] if found else (0, 0)
    if every_s <= 0 or shift.doing is None:
        return CheckIn(0, None, 0, 0, 0)
    due_us = at_us + every_s * SECOND_US
    if now_us < due_us:
        # Rounded up: 0 means due.
        return CheckIn(every_s, Instant(due_us), -(-(due_us - now_us) // SECOND_US), 0, 0)
    late_us = now_us - due_us
    loudness = sum(late_us >= minutes * MINUTE_US for minutes in LOUDER_FROM_MINUTES) - 1
    return CheckIn(every_s, Instant(due_us), 0, late_us // SECOND_US, loudness)
