"""What is written on the command line of one figure, and how its answer is printed.

A number that cannot be read is a ValueError with a sentence; `answering` makes of it, and of
a figure's own refusal, bad input.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from fractions import Fraction
from functools import wraps
from typing import TYPE_CHECKING, Any

import click

from cartclock.engine.trouble import PlanFault, Refused
from cartclock.tui.commands.door import BAD_INPUT, leave, say, settled

if TYPE_CHECKING:
    from cartclock.engine.figures.air import TemperatureUnit
    from cartclock.engine.figures.bounds import Bound

ESTIMATE = "Screening estimate."
ALONE = "A temperature alone is in the unit of the settings; 20C and 68F count as written."
"""What a command's help says of temperatures."""

for_programs = click.option("--json", "as_json", is_flag=True, help="For a program that reads it.")


class Wrong(click.ClickException):
    """Bad input: its sentence on stderr, nothing on stdout."""

    exit_code = BAD_INPUT

    def show(self, file: Any = None) -> None:
        """The sentence alone."""
        click.echo(self.message, err=True)


def answering(command: Callable[..., tuple[Sequence[str], Mapping[str, object]]]) -> Any:
    """Prints what a command found as lines or as JSON; a figure's refusal is bad input.

    Everything is reckoned before the first line is printed.
    """

    @wraps(command)
    def run(as_json: bool, **options: Any) -> None:
        try:
            lines, data = command(**options)
        except PlanFault as faults:
            raise Wrong(str(faults)) from None
        except ValueError as why:
            said = str(why)
            raise Wrong(said if said.endswith((".", "?")) else f"{said}.") from None
        if as_json:
            click.echo(json.dumps(data, indent=2))
        else:
            say("\n".join(lines))

    return run


def mind_day(day: str) -> None:
    """Ends the command if this is neither a date, ISO 8601, nor empty."""
    import datetime

    try:
        if day and datetime.date.fromisoformat(day).isoformat() != day:
            raise ValueError
    except ValueError:
        leave(BAD_INPUT, f"{day!r} is not a date; write it like 2026-10-24.")


def mind_letters(*words: str) -> None:
    """Ends the command if one of these has a byte that is no letter: no word of a log has."""
    for word in words:
        try:
            word.encode()
        except UnicodeEncodeError:
            leave(BAD_INPUT, f"{word!r} is no word: it has a byte that is no letter.")


def settled_unit() -> TemperatureUnit:
    """The unit of the settings, in which a figure alone is written; raises PlanFault."""
    return settled(aloud=False).temperature


def temperature(name: str, text: str, of: Bound) -> float:
    """Degrees C in the range of what they are of; a figure alone is of the settings' unit, as on
    the screens, one with its unit is taken as written.
    """
    from cartclock.engine.figures.temperature import written_degrees
    from cartclock.engine.rules.readings import degrees_c

    try:
        value, written = written_degrees(text)
    except ValueError as why:
        raise ValueError(f"{name}: {why}") from None
    unit = written or settled_unit()
    try:
        return degrees_c(of.named(name), value, unit)
    except Refused as why:
        said = str(why)
    if written is None:
        other: TemperatureUnit = "F" if unit == "C" else "C"
        with suppress(Refused):
            degrees_c(of, value, other)
            said += f" Without its unit a figure is in {unit} here; write {value:g}{other}."
    raise ValueError(said)


def humidity(name: str, text: str) -> float:
    """Relative humidity in percent."""
    from cartclock.engine.figures.bounds import check
    from cartclock.engine.figures.measured import HUMIDITY

    value = number(name, text)
    check(value, HUMIDITY.named(name))
    return value


def number(name: str, text: str) -> float:
    """A plain decimal number; a percent sign behind it is passed over."""
    found = re.fullmatch(r"([+-]?[0-9]{1,9}(?:\.[0-9]{1,9})?)\s*%?", text.strip())
    if found is None:
        raise ValueError(f"{name}: {text!r} is not a number; write it like 40 or 0.5")
    return float(found[1])


def exact(name: str, text: str) -> Fraction:
    number(name, text)
    return Fraction(text.strip().rstrip("% "))


def seconds(text: str) -> float:
    from cartclock.engine.store.plan_file.duration import NotADuration, step_seconds

    if re.fullmatch(r"[0-9]{1,6}(\.[0-9]{1,3})?", text.strip()):
        return float(text)
    try:
        return float(step_seconds(text.strip()))
    except NotADuration:
        raise ValueError(
            f"{text!r} is not a time; write seconds like 60, or 60s, 2m, 1m30s"
        ) from None


def split(name: str, text: str, like: str, *counts: int) -> list[str]:
    parts = [part.strip() for part in text.split("/")]
    if len(parts) not in counts or not all(parts):
        raise ValueError(f"{name}: {text!r} cannot be read; write it like {like}")
    return parts


def shown(value: float | None) -> float | None:
    return None if value is None else round(value, 6)
