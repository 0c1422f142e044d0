"""How long hands were on a job so far, stage by stage, of everybody who worked on it."""

from __future__ import annotations

from collections.abc import Iterable

from cartclock.engine.facts.shift import Shift
from cartclock.engine.hours.partition import partition
from cartclock.engine.times import Instant, Length


def hands_on(job_id: str, shifts: Iterable[Shift], now_us: Instant) -> dict[str, Length]:
    """Stage -> microseconds of hands on it up to `now_us`; stages nobody touched are left out.

    shifts: every shift it was worked in, whole.
    """
    found: dict[str, Length] = {}
    for shift in shifts:
        # Without jobs nothing is stood by, and hands are what they are.
        for piece in partition(shift, {}, now_us):
            if piece.job == job_id and piece.kind == "hands":
                found[piece.stage] = Length(found.get(piece.stage, 0) + piece.length_us)
    return found
