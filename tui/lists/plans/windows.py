"""The values of a window on the lines of a list: lengths of time turned or typed, and whose they
are.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from math import sqrt
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.dates import clock_text
from cartclock.engine.facts.job_events import ChangeSource
from cartclock.engine.plan.plan import Check, Cure, Gap, LabelRow, Stage, Wait
from cartclock.engine.rules.typed import entered
from cartclock.engine.trouble import Refused, StoreFault
from cartclock.tui.lists.host import Host
from cartclock.tui.widgets.sheet import Line
from cartclock.tui.widgets.values import Number

# From so many seconds on a length is entered in minutes, and in hours. Our own judgement: figures
# of three digits at most.
_MINUTES_FROM, _HOURS_FROM = 20 * 60, 6 * 3600
_SECONDS = {"s": 1, "min": 60, "h": 3600}
_STEPS = {"s": 5.0, "min": 1.0, "h": 0.5}

Keep = Callable[[Stage, ChangeSource], object]
"""Takes a changed stage, and where the change comes from."""
Timed = Wait | Gap | Cure | Check
VALUES = "left, right or digits: change   space: take it   esc: nothing"
HINT = "left, right or digits: change   Y: from the label   space: take it   esc: nothing"


class Span:
    """A length of time, turned or typed in the unit that suits it: seconds, minutes or hours."""

    def __init__(self, name: str, seconds: int | None, longest_s: int) -> None:
        self.name, self.was_s = name, seconds
        unit = "s" if longest_s < _MINUTES_FROM else "min" if longest_s < _HOURS_FROM else "h"
        if seconds is not None and seconds % _SECONDS[unit] and unit == "h":
            unit = "min"
        self.unit = unit
        self._each = _SECONDS[unit]
        value = None if seconds is None else seconds / self._each
        self.number = Number(name, unit, value, _STEPS[unit], value)

    def text(self) -> str:
        """Name, value, and what a clock would show."""
        seconds = self.seconds
        shown = f" = {clock_text(seconds)}" if seconds is not None and seconds >= 60 else ""
        return f"{self.number.text()}{shown if self.unit == 's' else ''}"

    @property
    def seconds(self) -> int | None:
        """Whole seconds; None if nothing is entered."""
        if not self.number.entered:
            return self.was_s
        return None if self.number.value is None else round(self.number.value * self._each)

    @property
    def given(self) -> int:
        """Whole seconds; refuses if there are none, or fewer than none."""
        return round(entered(self.name, self.seconds))

    def line(self) -> Line:
        """As a line of a list."""
        return Line(self.text, turn=self.number.turn, type=self.number.type)


class OfTheLabel:
    """Whether the lengths are from the label of the pack.

    Args:
        example: they are the starter's so far.
    """

    def __init__(self, example: bool) -> None:
        self.example, self.said = example, False

    def text(self) -> str:
        """Yes, or what they are otherwise."""
        no = "no, an example" if self.example else "no"
        return f"from the label: {'yes' if self.said else no}"

    def flip(self) -> None:
        """Says the other."""
        self.said = not self.said

    def line(self) -> Line:
        """As a line of a list."""
        return Line(self.text, turn=lambda _step: self.flip())

    @property
    def source(self) -> ChangeSource:
        """Where what was entered comes from."""
        return "label of the pack" if self.said else "by hand"

    @property
    def still(self) -> bool:
        """Whether the lengths are still examples."""
        return self.example and not self.said


class _Window(Struct, frozen=True):
    """A window as lines, and how it is made of them again."""

    lines: Sequence[Line]
    made: Callable[[], Timed]
    label: OfTheLabel


def window_of(window: Timed) -> _Window:
    """The lines of one window."""
    label = OfTheLabel(getattr(window, "example", False))
    if isinstance(window, Wait):
        return _of_wait(window, label)
    if isinstance(window, Gap):
        spans = [
            Span("opens", window.opens_s, window.closes_s),
            Span("due", window.due_s, window.closes_s),
            Span("closes", window.closes_s, window.closes_s),
        ]

        def gap() -> Gap:
            opens, due, closes = (span.given for span in spans)
            return Gap(opens, due, closes, label.still)

        return _Window([*(span.line() for span in spans), label.line()], gap, label)
    if isinstance(window, Cure):
        return _of_cure(window, label)
    after = Span("look after", window.after_s, window.closes_s)
    closes = Span("look before", window.closes_s, window.closes_s)

    def check() -> Check:
        return replace(window, after_s=after.given, closes_s=closes.given)

    return _Window([after.line(), closes.line()], check, label)


def _of_wait(wait: Wait, label: OfTheLabel) -> _Window:
    rows = [(_low(row, wait), _high(row, wait)) for row in wait.label]
    opens = Span("opens", wait.opens_s, wait.closes_s)
    due = Span("due", wait.due_s, wait.closes_s)
    closes = Span("closes", wait.closes_s, wait.closes_s)

    def made() -> Wait:
        labelled = tuple(
            replace(row, low_s=low.given, high_s=high.given)
            for row, (low, high) in zip(wait.label, rows, strict=True)
        )
        found = replace(
            wait,
            label=labelled,
            opens_s=opens.given,
            due_s=due.given,
            closes_s=closes.given,
            example=label.still,
        )
        return _following(wait, found) if labelled != wait.label else found

    lines = [span.line() for pair in rows for span in pair]
    return _Window([*lines, opens.line(), due.line(), closes.line(), label.line()], made, label)


def _following(was: Wait, wait: Wait) -> Wait:
    """The wait with those marks after its label that went by the label before and were not entered
    themselves.
    """
    before, after = _by_label(was.label), _by_label(wait.label)
    marks = {
        name: after[name]
        for name in ("opens_s", "due_s", "closes_s")
        if getattr(was, name) == before[name] == getattr(wait, name)
    }
    return replace(wait, **marks)


def _by_label(rows: Sequence[LabelRow]) -> dict[str, int]:
    """The marks that a label alone gives."""
    return {
        "opens_s": min(row.low_s for row in rows),
        "due_s": round(sqrt(rows[0].low_s * rows[0].high_s)),
        "closes_s": max(row.high_s for row in rows),
    }


def _low(row: LabelRow, wait: Wait) -> Span:
    return Span(f"label{_climate(row)} from", row.low_s, wait.closes_s)


def _high(row: LabelRow, wait: Wait) -> Span:
    return Span(f"label{_climate(row)} to", row.high_s, wait.closes_s)


def _climate(row: LabelRow) -> str:
    return "" if row.air_c is None else f" {row.air_c:g} C"


def _of_cure(cure: Cure, label: OfTheLabel) -> _Window:
    at_least = Span("at least", cure.at_least_s, cure.at_least_s)
    lines = [at_least.line()]
    then = None
    below = Number("below", "C", cure.below_c, 1.0, cure.below_c)
    if cure.then_s is not None:
        then = Span("then", cure.then_s, cure.then_s)
        lines += [Line(below.text, turn=below.turn, type=below.type), then.line()]

    def made() -> Cure:
        cold = None if then is None else then.given
        return Cure(at_least.given, below.value, cold, label.still)

    return _Window([*lines, label.line()], made, label)


def open_window(
    host: Host,
    title: str,
    window: Timed,
    keep: Callable[[Any, ChangeSource], object],
    back: Callable[[], object],
) -> None:
    """Opens the lines of a window.

    keep: is given the window as it was entered, of the same kind, and where it comes from.
    back: what esc does.
    """
    found = window_of(window)

    def take() -> None:
        keep(found.made(), found.label.source)

    open_labelled(host, title, found.lines, found.label, take, back)


def open_labelled(
    host: Host,
    title: str,
    lines: Sequence[Line],
    label: OfTheLabel,
    take: Callable[[], object],
    back: Callable[[], object],
    at: int = 0,
) -> None:
    """Opens values of which Y says that they are from the label; their line is the last one.

    take, back: what SPACE does, and esc.
    """

    def said() -> None:
        label.flip()
        open_labelled(host, title, lines, label, take, back, len(lines) - 1)

    def taken() -> None:
        again = partial(open_labelled, host, title, lines, label, take, back, host.sheet.at)
        or_again(host, take, again)

    host.sheet.open(title, lines, HINT, done=taken, closed=back, letters={"y": said}, at=at)


def open_values(
    host: Host,
    title: str,
    lines: Sequence[Line],
    take: Callable[[], object],
    back: Callable[[], object],
    at: int = 0,
) -> None:
    """Opens values that are turned or typed.

    take, back: what SPACE does, and esc.
    """

    def taken() -> None:
        again = partial(open_values, host, title, lines, take, back, host.sheet.at)
        or_again(host, take, again)

    host.sheet.open(title, lines, VALUES, done=taken, closed=back, at=at)


def or_again(host: Host, do: Callable[[], object], again: Callable[[], object]) -> None:
    """Does something; where that cannot be, the list is opened again with what was entered, and
    says why.
    """
    try:
        do()
    except (Refused, StoreFault) as why:
        again()
        host.sheet.say(str(why))
