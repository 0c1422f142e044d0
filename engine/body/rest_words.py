"""The rest in words: what is ahead, how long, by which rule, for a line of the screen.

The words are for somebody who is tired: the class of the work, minutes, and the rule by name.
"""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.body.climate import OPEN_SKY
from cartclock.engine.body.pace import Pace
from cartclock.engine.body.watch import degrees, index_text
from cartclock.engine.figures.air import TemperatureUnit
from cartclock.engine.plan.plan import Effort

EFFORT_WORDS: dict[Effort, str] = {
    "rest": "rest",
    "light": "light work",
    "moderate": "medium work",
    "heavy": "hard work",
}
RULE_WORDS: dict[str, str] = {
    "NIOSH limit": "hour's limit",
    "NIOSH table": "work table",
    "15 min in 2 h at heat index 90 F": "15 min in 2 h",
    "an hour without a break": "an hour at it",
    "the plan's own rhythm": "plan's rhythm",
    "you do not feel well": "you do not feel well",
}
"""The rules of a log as they are said on a line; one that is not here is said as it is."""


def why_called(found: Pace, unit: TemperatureUnit) -> tuple[str, ...]:
    """Why a rest is called: the rule, and the heat and the work that it speaks of; from the longest
    to the shortest.
    """
    rule = RULE_WORDS.get(found.rule, found.rule)
    judged, heat = found.judged_by, ""
    if judged is not None and found.rule in ("NIOSH limit", "NIOSH table"):
        heat = "" if judged.wbgt_c is None else f"WBGT {degrees(judged.wbgt_c, unit)}"
    elif judged is not None and found.rule == "15 min in 2 h at heat index 90 F":
        heat = index_text(judged, unit)
    heat = f"{heat}, old" if heat and found.why_none else heat
    work = EFFORT_WORDS[found.ahead]
    parts = (f"{rule}: {work} at {heat}", f"{rule}: {heat}") if heat else ()
    return (*parts, rule)


def left_minutes(found: Pace) -> int | None:
    """Minutes of work left, from a quarter of an hour on in fives; None: over an hour."""
    return whole_minutes(found.left_s)


def whole_minutes(left_s: int | None) -> int | None:
    """The same of any work that is left, in seconds."""
    if left_s is None:
        return None
    minutes = max(0, left_s) // 60
    return minutes // 5 * 5 if minutes >= 15 else minutes


def pace_line(found: Pace, width: int = 78) -> str:
    """What is ahead, its class and the rule, or why there is no verdict.

    Args:
        width: columns there are, 40 to 78; what has no room is left out.
    """
    minutes, rest = left_minutes(found), found.rest_minutes
    why = found.why_none
    if found.no_work_time:
        said = _no_work_time(found)
    elif minutes is None:
        quiet = "an hour at it: 5 min off the hands with the next cup"
        if found.meal and not why:
            return "no rest due before the meal, which is one"
        return why or (quiet if found.hour_at_it else "no rest due within the hour")
    else:
        rule = RULE_WORDS.get(found.rule, found.rule)
        work = EFFORT_WORDS[found.ahead]
        # The piece gives way before the rule does, and the rule before the class.
        of = [f"{found.named} ({_class(work)})", work] if found.named else [work]
        said = _calls(found, rest, rule) or _time_left(found, of, minutes, rule)
    said = [f"{one}; {why}" for one in said[:1] if why] + [
        f"old: {one}" if why else one for one in said
    ]
    return next((one for one in said if len(one) <= width), said[-1])


def _time_left(found: Pace, of: Sequence[str], minutes: int, rule: str) -> list[str]:
    """How much time is left and the rest behind it, the longest first, or what stands in its place
    where no rest here makes more of it.

    of: what the time is left for, the last one by the class of its work alone.
    """
    rest = found.rest_minutes
    if not rest:
        then = "lighter work" if found.eased else _cooler(found)
        why = "for no rest here is enough"
        return [
            *(f"{one}: {minutes} min left, then {then}, {why}" for one in of),
            *(f"{one}: {minutes} min left, then {then}" for one in of),
            f"{of[-1]}: {minutes} min left",
        ]
    return [
        *(
            f"{one}: {told} ({rule})"
            for one in of
            for told in (
                f"{minutes} min left, then a {rest} min rest",
                f"{minutes} min, then {rest} min rest",
            )
        ),
        f"{of[-1]}: {minutes} min, then {rest} min rest",
    ]


def _no_work_time(found: Pace) -> list[str]:
    """What is said where no rest makes work of it, the longest first."""
    if found.climate is not None and found.climate.off_table:
        return [
            "no work time here: off the heat index table, extreme danger",
            "no work time here: extreme danger",
        ]
    work = EFFORT_WORDS[found.ahead]
    if found.eased and found.eases_to is not None:
        long = _long(found)
        return [
            f"no work time here for {work}, but lighter work: {found.eased}{long}",
            f"no {work} here, but {found.eased}{long}",
            f"no {work} here, but lighter work{long}",
        ]
    place = _cooler(found)
    return [
        f"no work time here for {work}: {place}, the evening or tomorrow",
        f"no {work} here: {place}, the evening or tomorrow",
        f"no work time here for {work}",
    ]


def _cooler(found: Pace) -> str:
    sky = found.climate is not None and found.climate.reading.place in OPEN_SKY
    return "the shade" if sky else "a cooler place"


def _long(found: Pace) -> str:
    minutes = whole_minutes(found.eased_s)
    return "" if minutes is None else f", {minutes} min"


def _calls(found: Pace, rest: int, rule: str) -> list[str]:
    """How a rest that is called stands on the line, the longest first; empty if none is."""
    if not rest:
        return _calls_none(found)
    match found.grade:
        case "soon" if found.effort == "rest":
            return [f"{rest} min more rest before the next piece ({rule})", f"{rest} min more rest"]
        case "now" if found.effort == "rest":
            return [f"{rest} min more rest ({rule})", f"{rest} min more rest"]
        case "soon" if found.between:
            return [
                *([f"{rest} min rest first, before {found.named} ({rule})"] if found.named else []),
                f"{rest} min rest first, before the next piece ({rule})",
                f"{rest} min rest first ({rule})",
                f"{rest} min rest first",
            ]
        case "soon" if not found.in_the_piece:
            return [f"this piece, then {rest} min rest ({rule})", f"this, then {rest} min rest"]
        case "film":
            return [
                f"after this film {rest} min rest ({rule}); lay no new one",
                f"after this film {rest} min rest, lay no new one",
                f"after this film {rest} min rest",
            ]
        case "now":
            return [f"{rest} min rest now ({rule})", f"{rest} min rest now"]
        case _:
            return []


def _calls_none(found: Pace) -> list[str]:
    """The same where no rest here buys work of it again."""
    match found.grade:
        case "soon" | "now" if found.eased and found.effort != "rest":
            return [
                f"this piece, then lighter work: {found.eased}{_long(found)}",
                "this piece, then lighter work",
            ]
        case "soon" | "now" if found.effort == "rest":
            return ["no work time here yet: a cooler place or a cooler hour", "no work time yet"]
        case "soon" | "now":
            return [
                "this piece, then a cooler place or a cooler hour",
                "this piece, then a cooler place",
            ]
        case "film":
            return [
                "after this film a cooler place or a cooler hour; lay no new one",
                "after this film a cooler place",
            ]
        case _:
            return []


def short_pace_line(found: Pace, width: int = 24) -> str:
    """The same in few columns; "old" stands for a reading that gives no verdict.

    Args:
        width: columns there are, at least 24; the rule is named where it has room.
    """
    said = _in_few_columns(found)
    ruled = f"{said} ({RULE_WORDS.get(found.rule, found.rule)})"
    tells = found.left_s is not None and found.rest_s > 0 and not found.no_work_time
    return ruled if tells and len(ruled) <= width else said


def _in_few_columns(found: Pace) -> str:
    """What is ahead in at most 24 columns, without the rule."""
    old = "old: " if found.why_none else ""
    minutes, rest = left_minutes(found), found.rest_minutes
    if found.no_work_time and found.climate is not None and found.climate.off_table:
        return "no work: extreme danger"
    if found.no_work_time and found.eased:
        return "no, but lighter work"
    if found.no_work_time:
        return f"no work: {_cooler(found)}"
    if minutes is None:
        return _quietly(found)
    if found.grade and not rest:
        if found.grade == "film":
            return "after film a cooler place"
        if found.effort == "rest":
            return "no work time here yet"
        return "then lighter work" if found.eased else "then a cooler place"
    match found.grade:
        case "soon" | "now" if found.effort == "rest":
            return f"{old}{rest} min more rest"
        case "soon" if found.between:
            return f"{old}{rest} min rest first"
        case "soon" if not found.in_the_piece:
            return f"{old}then {rest} min rest"
        case "film":
            return f"after film {rest} min rest"
        case "now":
            return f"{old}{rest} min rest now"
    work = _class(EFFORT_WORDS[found.ahead])
    return f"{old}{work} {minutes} min, rest {rest}" if rest else f"{old}{work} {minutes} min left"


def _quietly(found: Pace) -> str:
    """The same where no rest is due: why nothing is judged, or what is to come."""
    if found.why_none:
        if found.climate is None:
            return "heat and gate unknown: R"
        age = "old: " if found.climate.wbgt_c is not None else ""
        return f"reading {age}no verdict"
    if found.meal:
        return "no rest before the meal"
    return "an hour at it: 5 min off" if found.hour_at_it else "no rest within the hour"


def _class(work: str) -> str:
    return work.removesuffix(" work")
