"""What happened to a section, in words."""

from __future__ import annotations

from cartclock.engine.paper.said import hour, short_day, short_moment
from cartclock.engine.record.applied import Remark


def remark_text(remark: Remark, zone: str, unnamed: str, day: str = "") -> str:
    """A remark with its time: "high spot Wed 20 May 08:20: polish out".

    unnamed: of whom it need not be told that they said so. day: as `short_day` says it, of which
    only the hour is told.
    """
    by = f" by {remark.worker}" if remark.worker not in ("", unnamed) else ""
    same = short_day(remark.at_us, zone) == day
    when = f"{(hour if same else short_moment)(remark.at_us, zone)}{by}"
    why = f": {remark.why}" if remark.why else ""
    match remark.what:
        case "left out":
            return f"left out {when}{why or ', no reason given'}"
        case "done again":
            return f"to be done again, {when}{why or ', no reason given'}"
        case "cut in two":
            return f"cut {when} into {remark.why}"
        case "water":
            return f"water on it {when}{why}"
        case "fine":
            return f"looked at {when}: fine"
        case "not looked at" if not remark.worker:
            return f"not looked at{why}"
        case found:
            return f"{found} {when}{why}"
