"""A reading from a command of the worker's own, such as one that asks a hygrometer.

The command prints `air_c=31.5 rh=44` and may add `panel_c`, `globe_c` and `wbgt_c`. It runs
beside the program and may fail or hang: that is a sentence, never a stop.
"""

from __future__ import annotations

import re
import shlex

from cartclock.engine.facts import events as ev
from cartclock.engine.figures.bounds import check
from cartclock.engine.rules.readings import MEASURED
from cartclock.engine.store.laptop.child import answer_of
from cartclock.engine.trouble import Refused

# Our own judgement: an instrument that is there answers within so long.
INSTRUMENT_TIMEOUT_S = 20.0
_LONGEST = 4000


def read_printed(text: str, last: ev.ReadingTaken | None = None) -> ev.ReadingTaken:
    """The reading that a text names as `key=value`, parted by blanks, commas or line ends.

    Args:
        text: what the command printed; words that are no `key=value` are passed over.
        last: the reading before, for the place and the air movement.

    Raises Refused: air or humidity is missing, or a value is none or cannot be.
    """
    found: dict[str, float] = {}
    for key, value in re.findall(r"([a-z_]+)\s*=\s*([^\s,;]+)", text):
        bound = MEASURED.get(key)
        if bound is None:
            continue
        try:
            number = float(value)
            check(number, bound.named(key))
        except ValueError as why:
            raise Refused(f"The reading command printed {key}={value[:20]!r}: {why}.") from None
        found[key] = number
    missing = [key for key in ("air_c", "rh") if key not in found]
    if missing:
        raise Refused(f"The reading command printed no {' and no '.join(missing)}.")
    before = ev.ReadingTaken() if last is None else last
    return ev.ReadingTaken(
        air_c=found["air_c"],
        rh=found["rh"],
        panel_c=found.get("panel_c"),
        globe_c=found.get("globe_c"),
        wbgt_c=found.get("wbgt_c"),
        place=before.place,
        moving=before.moving,
    )


async def polled(
    command: str, last: ev.ReadingTaken | None = None, timeout_s: float = INSTRUMENT_TIMEOUT_S
) -> ev.ReadingTaken:
    """Runs the command once, without a shell, and reads what it prints.

    Raises Refused with a sentence: it cannot be started, hangs, fails or prints no reading.
    """
    try:
        answer = await answer_of(shlex.split(command) or [""], timeout_s)
    except TimeoutError:
        raise Refused(f"The reading command did not answer within {timeout_s:g} s.") from None
    except (OSError, ValueError) as why:
        raise Refused(f"The reading command cannot be started: {why}.") from None
    if answer.code:
        raise Refused(f"The reading command failed with code {answer.code}.")
    return read_printed(answer.said.decode("utf-8", "replace"), last)
