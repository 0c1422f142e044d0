"""What Run says, as words by name: for a reader of screens, and for another program.

Nothing is reckoned here. A telling is a glance with the question that stands in its place, and two
of them are compared without the lengths of time in them, which are others every second.
"""

from __future__ import annotations

import re
from typing import Literal

from msgspec import Struct

from cartclock.engine.now.glance import Glance

# A length or a count-down within a sentence: "3:20", "+1:05:20", "12 min", "40 s", "1 h 05".
_LENGTHS = re.compile(r"[+-]?\d+(?::\d\d)+|\d+ h \d\d\b|\d+ (?:h|min|s)\b")
# The key "+", or one between two figures: a reader of screens leaves the sign out.
_PLUS = re.compile(r"(?<!\S)\+(?![^\s,.;:])")


class ToldClock(Struct, frozen=True):
    """One clock of Run.

    Fields:
        state: its word in capitals, WAIT or LATE among others.
        panel: section or kind; "" if there is none.
        digits: as Run shows them; "" for none.
        runs: "down" to what they run to, "up" since; "" if they stand.
        to: what the digits run to, and without digits what is to be known; "" if nothing is said.
        second: the second figure with what it is in front; "" if there is none.
    """

    state: str
    panel: str
    digits: str
    runs: Literal["", "down", "up"]
    to: str
    second: str


class Telling(Struct, frozen=True):
    """Everything Run says at one instant.

    Fields:
        at: date and time of day with the offset from UTC, ISO 8601.
        vehicle: the vehicle in hand, or how many jobs are open.
        stage: stage in hand and how much of it is done; "" if none is.
        on_the_clock: time since clocking on; "" when off.
        clocks: all that runs, the one that hurts first in front; at least one.
        question: what waits for an answer; "" if nothing does.
        next: what SPACE does; "" if nothing.
        next_vehicle: where it does so, if not at the vehicle at hand.
        notices: lines of advice, the most urgent first.
    """

    at: str
    vehicle: str
    stage: str
    on_the_clock: str
    clocks: tuple[ToldClock, ...]
    question: str
    next: str
    next_vehicle: str
    notices: tuple[str, ...]


def telling(seen: Glance, at: str, question: str = "") -> Telling:
    """The telling of a glance.

    Args:
        at: the instant of the glance, ISO 8601.
        question: what waits for an answer in the place of the clocks; "" if nothing does.
    """
    return Telling(
        at=at,
        vehicle=seen.head,
        stage=seen.place,
        on_the_clock=seen.on_the_clock,
        # A question stands in the place of the clocks: what was pressed is not begun.
        clocks=(ToldClock("ANSWER", "", "", "", "", ""),) if question else _clocks(seen),
        question=question,
        next=seen.next_line,
        next_vehicle=seen.next_vehicle,
        notices=seen.notices,
    )


def _clocks(seen: Glance) -> tuple[ToldClock, ...]:
    return tuple(
        ToldClock(one.word, one.where, one.clock, one.runs, one.under, " ".join(one.second).strip())
        for one in seen.faces
    )


def _named(told: Telling) -> list[tuple[str, str]]:
    """Name and words of every line, in the order in which they matter."""
    found = [("question", told.question)]
    for number, clock in enumerate(told.clocks, 1):
        which = "" if number == 1 else f" {number}"
        digits = " ".join(part for part in (clock.runs, clock.digits) if part and clock.digits)
        found += [
            (f"state{which}", clock.state),
            (f"panel{which}", clock.panel),
            # Without digits nothing runs, and the words stand alone.
            (
                f"{'digits' if digits else 'about'}{which}",
                ", ".join(part for part in (digits, clock.to) if part),
            ),
            (f"also{which}", clock.second),
        ]
    found += [
        ("space", told.next),
        ("at vehicle", told.next_vehicle),
        *(("notice", text) for text in told.notices),
        ("vehicle", told.vehicle),
        ("stage", told.stage),
        ("on the clock", told.on_the_clock),
    ]
    return [(name, _heard(text)) for name, text in found if text]


def _heard(text: str) -> str:
    return _PLUS.sub("plus", text)


def _still(text: str) -> str:
    return _LENGTHS.sub("0", text)


def lines(told: Telling) -> list[str]:
    """Every line, `name: words`."""
    return [f"{name}: {text}" for name, text in _named(told)]


def changed(before: Telling, after: Telling) -> list[str]:
    """The lines that say something else than before, whatever the clocks show; then those that are
    over, as `over: name: words`.
    """
    was, is_so = ([(n, _still(t)) for n, t in _named(told)] for told in (before, after))
    # A line of which there is one at most is not over when it says something else.
    names = {name for name, _ in is_so if name != "notice"}
    new = [line for line, key in zip(lines(after), is_so, strict=True) if key not in was]
    over = [
        f"over: {line}"
        for line, key in zip(lines(before), was, strict=True)
        if key not in is_so and key[0] not in names
    ]
    return new + over


def minute_lines(told: Telling) -> list[str]:
    """What is said at a whole minute although nothing is another: the time, and the clocks."""
    clocks = [line for line in lines(told) if line.startswith(("digits", "also"))]
    return [f"time: {told.at[11:16]}", *clocks]
