"""When the next rest comes: decided once, said on a line and as the second figure of a face."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from cartclock.engine.body.rest_words import left_minutes
from cartclock.engine.body.watch import Watch

Comes = Literal["", "after the film", "after the piece", "in minutes", "due"]


class NextRest(Struct, frozen=True):
    """The rest that comes next.

    Fields:
        comes: "" if none is within the hour or it was put off a while ago.
        left_minutes: work until then, rounded as it is told; 0 unless it comes in minutes.
        rest_minutes: how long it must be; 0 where no rest here would do.
    """

    comes: Comes = ""
    left_minutes: int = 0
    rest_minutes: int = 0

    @property
    def text(self) -> str:
        """In few words; "" if none comes."""
        rest = f"{self.rest_minutes} min rest" if self.rest_minutes else "rest"
        match self.comes:
            case "after the film":
                return f"after this film {rest}"
            case "after the piece":
                return f"then {rest}"
            case "in minutes":
                left = f"{self.left_minutes} min"
                return f"rest in {left}" if self.rest_minutes else f"work time {left}"
            case "due":
                return "rest is due"
            case "":
                return ""

    @property
    def figure(self) -> tuple[str, str]:
        """As a second figure behind what it is; ("", "") if none comes."""
        length = f"{self.rest_minutes} MIN" if self.rest_minutes else ""
        match self.comes:
            case "after the film":
                return "rest after this film", length
            case "after the piece":
                return "then a rest of", length
            case "in minutes":
                what = "rest due in" if self.rest_minutes else "work time left"
                return what, f"{self.left_minutes} MIN"
            case "due":
                return "rest is due", length
            case "":
                return "", ""


def next_rest(watch: Watch | None) -> NextRest:
    """When the next rest comes for somebody who is watched over."""
    if watch is None or watch.pace.left_s is None or watch.rest == "overruled":
        return NextRest()
    pace = watch.pace
    rest = pace.rest_minutes if pace.rest_s else 0
    if watch.rest == "after the film":
        return NextRest("after the film", 0, rest)
    if watch.rest == "after the piece" and not pace.in_the_piece:
        return NextRest("after the piece", 0, rest)
    minutes = left_minutes(pace)
    return NextRest("in minutes", minutes, rest) if minutes else NextRest("due", 0, rest)
