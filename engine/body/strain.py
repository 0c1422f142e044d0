"""What the tools of a shift did to hands and ears so far, and how long each may still be used.

A level comes from the plan, which has it from the tool's manual or a meter; a tool without
one gets no figure. Only time really in hand counts, and of it only the share in which the
tool runs. The shift is taken as the day. Screening estimate: declared values are measured
on a bench, and a worn pad or a tight grip gives more.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Literal

from msgspec import Struct

from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.shift import Hands, Shift
from cartclock.engine.figures import body
from cartclock.engine.figures.bounds import HOURS
from cartclock.engine.hours.partition import Piece, partition
from cartclock.engine.plan.plan import Tool
from cartclock.engine.times import Instant, Length

StrainState = Literal["no figure", "below action", "near", "over action", "over limit"]

NEAR_SHARE = 0.8
"""From this share of an action value on a state is "near"; in points and dose, which grow
evenly with time. Source: our own judgement."""

FULL_DOSE_PERCENT = 100.0
"""Noise dose of a full day at 85 dB(A). Source: NIOSH criteria for noise exposure; read in the
issuing body's text."""


class ToolStrain(Struct, frozen=True):
    """One tool of the shift.

    Fields:
        tool: as the plan declares it; the same tool in two jobs is one.
        hands_us: time in hand.
        run_us: of it, the share in which the tool ran; all of it where no share is declared.
        a_ms2: declared value plus its uncertainty, m/s2; None if none is declared or it
            cannot be.
        points: exposure points so far; None with `a_ms2` None.
        noise_dba: level at the ear, dB(A); None if none is known or it cannot be.
        dose_percent: noise dose so far; None with `noise_dba` None.
        action_left_s, limit_left_s: seconds in hand, with this tool alone from now on, until
            vibration reaches the action and the limit value; 0 once it has; None if it never
            will or nothing is declared.
        noise_left_s: the same until the noise dose is full.
    """

    tool: Tool
    hands_us: Length
    run_us: Length
    a_ms2: float | None
    points: float | None
    noise_dba: float | None
    dose_percent: float | None
    action_left_s: int | None
    limit_left_s: int | None
    noise_left_s: int | None

    @property
    def name(self) -> str:
        """What screen and paper call it."""
        return self.tool.name or self.tool.id


class Strain(Struct, frozen=True):
    """Vibration and noise of a shift so far.

    Fields:
        tools: those taken in hand, in order of first use.
        in_hand: index in `tools` of the one in hand now; None if none is.
        a8_ms2: vibration A(8), m/s2; None if no tool used has a declared value.
        points: the same in points.
        vibration: state of it.
        dose_percent: NIOSH noise dose; None if no tool used has a level.
        lex_dba: LEX,8h in dB(A); None without noise.
        noise: state of it; "over action" from a full dose on, "over limit" from 87 dB(A).
        lower_action: True from the lower action value of noise on, 80 dB(A).
        undeclared, unmeasured: names of tools used without a vibration value, without a
            level; the figures above are then a floor.
    """

    tools: tuple[ToolStrain, ...]
    in_hand: int | None
    a8_ms2: float | None
    points: float | None
    vibration: StrainState
    dose_percent: float | None
    lex_dba: float | None
    noise: StrainState
    lower_action: bool
    undeclared: tuple[str, ...]
    unmeasured: tuple[str, ...]

    @property
    def tool_now(self) -> ToolStrain | None:
        """The tool in hand now; None if none is."""
        return None if self.in_hand is None else self.tools[self.in_hand]


def _tool(hands: Hands, jobs: Mapping[str, Job]) -> Tool | None:
    """The tool of what is in hand; None for bare hands."""
    job = jobs.get(hands.job)
    if job is None:
        return None
    try:
        tool_id = job.work(hands.stage, hands.turn).tool
    except KeyError:
        return None
    if not tool_id:
        return None
    return next((t for t in job.opened.plan.tools if t.id == tool_id), Tool(tool_id))


def tool_times(
    shift: Shift, jobs: Mapping[str, Job], now_us: Instant, told: Iterable[Piece] | None = None
) -> dict[Tool, int]:
    """Tool -> microseconds in hand up to `now_us`, in order of first use.

    told: the shift's partition up to `now_us`, where it is at hand already.

    What the worker said afterwards was no work is left out. A tool just taken up stands
    there with 0.
    """
    told = partition(shift, jobs, now_us) if told is None else told
    pieces = [piece for piece in told if piece.kind == "hands"]
    times: dict[Tool, int] = {}
    first = 0
    for span in shift.spans_to(now_us):
        while first < len(pieces) and pieces[first].end_us <= span.start_us:
            first += 1
        if not isinstance(span.doing, Hands):
            continue
        tool = _tool(span.doing, jobs)
        if tool is None:
            continue
        at = first
        while at < len(pieces) and pieces[at].start_us < span.end_us:
            start_us = max(pieces[at].start_us, span.start_us)
            end_us = min(pieces[at].end_us, span.end_us)
            times[tool] = times.get(tool, 0) + max(0, end_us - start_us)
            at += 1
    if isinstance(shift.doing, Hands):
        tool = _tool(shift.doing, jobs)
        if tool is not None:
            times.setdefault(tool, 0)
    return times


def _declared(tool: Tool) -> float | None:
    """Declared value plus uncertainty in m/s2; None if there is none or it cannot be."""
    if tool.vibration is None:
        return None
    a, k = tool.vibration.a, tool.vibration.k
    if not (a >= 0.0 and k >= 0.0):
        return None
    try:
        body.vibration_a8([(a + k, 0.0)])
    except ValueError:
        return None
    return a + k


def _level(tool: Tool) -> float | None:
    """Level at the ear in dB(A); None if there is none or it cannot be."""
    if tool.noise_dba is None:
        return None
    try:
        body.noise_hours(tool.noise_dba)
    except ValueError:
        return None
    return tool.noise_dba


def _contact(tool: Tool) -> float:
    """Share of the time in hand in which the tool runs; 1 where none fit to use is declared."""
    contact = 1.0 if tool.vibration is None else tool.vibration.contact
    return contact if 0.0 <= contact <= 1.0 else 1.0


def _left_s(left: float, per_hour: float) -> int | None:
    """Seconds in hand until `left` is used up at so much an hour; None: never."""
    if left <= 0.0:
        return 0
    return None if per_hour <= 0.0 else int(left / per_hour * 3600.0)


def strain(
    shift: Shift, jobs: Mapping[str, Job], now_us: Instant, pieces: Iterable[Piece] | None = None
) -> Strain:
    """Vibration and noise of a shift up to `now_us`, over all its jobs.

    jobs: at least those of the shift. pieces: as for `tool_times`. More than 24 hours with tools
    in hand are no day: then there is no figure.

    Source: A(8) and its values of 2002/44/EC, points of the HSE ready-reckoner, noise dose of
    NIOSH, all read in the issuing body's text; LEX,8h from memory; counting noise only while
    the tool runs, and the shift as the day, our own judgement.
    """
    times = tool_times(shift, jobs, now_us, pieces)
    runs = {tool: round(hands_us * _contact(tool)) for tool, hands_us in times.items()}
    a_day = sum(runs.values()) <= HOURS.high * HOUR_US
    shaking = {t: a for t in times if a_day and (a := _declared(t)) is not None}
    sounding = {t: dba for t in times if a_day and (dba := _level(t)) is not None}
    shakes = [(a, runs[t] / HOUR_US) for t, a in shaking.items()]
    sounds = [(dba, runs[t] / HOUR_US) for t, dba in sounding.items()]
    points = body.vibration_points(shakes) if shakes else None
    dose = body.noise_dose(sounds) if sounds else None
    lex = body.noise_lex_8h(sounds) if sounds else None
    tools = tuple(
        _one(
            tool,
            Length(hands_us),
            Length(runs[tool]),
            shaking.get(tool),
            sounding.get(tool),
            points,
            dose,
        )
        for tool, hands_us in times.items()
    )
    now = _tool(shift.doing, jobs) if isinstance(shift.doing, Hands) else None
    return Strain(
        tools=tools,
        in_hand=None if now is None else list(times).index(now),
        a8_ms2=body.vibration_a8(shakes) if shakes else None,
        points=points,
        vibration=_state(points, body.VIBRATION_ACTION_POINTS, body.VIBRATION_LIMIT_POINTS),
        dose_percent=dose,
        lex_dba=lex,
        noise=_noise_state(dose, lex),
        lower_action=lex is not None and lex >= body.NOISE_LOWER_ACTION_DBA,
        undeclared=tuple(t.name or t.id for t in times if t not in shaking),
        unmeasured=tuple(t.name or t.id for t in times if t not in sounding),
    )


def _one(
    tool: Tool,
    hands_us: Length,
    run_us: Length,
    a_ms2: float | None,
    noise_dba: float | None,
    points: float | None,
    dose: float | None,
) -> ToolStrain:
    contact = _contact(tool)
    own_points = own_dose = action_s = limit_s = noise_s = None
    if a_ms2 is not None and points is not None:
        own_points = body.vibration_points([(a_ms2, run_us / HOUR_US)])
        per_hour = body.vibration_points([(a_ms2, 1.0)]) * contact
        action_s = _left_s(body.VIBRATION_ACTION_POINTS - points, per_hour)
        limit_s = _left_s(body.VIBRATION_LIMIT_POINTS - points, per_hour)
    if noise_dba is not None and dose is not None:
        own_dose = body.noise_dose([(noise_dba, run_us / HOUR_US)])
        per_hour = body.noise_dose([(noise_dba, 1.0)]) * contact
        noise_s = _left_s(FULL_DOSE_PERCENT - dose, per_hour)
    return ToolStrain(
        tool,
        hands_us,
        run_us,
        a_ms2,
        own_points,
        noise_dba,
        own_dose,
        action_s,
        limit_s,
        noise_s,
    )


def _state(value: float | None, action: float, limit: float) -> StrainState:
    if value is None:
        return "no figure"
    if value >= limit:
        return "over limit"
    if value >= action:
        return "over action"
    return "near" if value >= NEAR_SHARE * action else "below action"


def _noise_state(dose: float | None, lex: float | None) -> StrainState:
    if lex is not None and lex >= body.NOISE_LIMIT_DBA:
        return "over limit"
    return _state(dose, FULL_DOSE_PERCENT, float("inf"))


def sentences(found: Strain) -> tuple[str, ...]:
    """What is to be said of a strain, the worst first; empty if there is nothing to say.

    That a tool has no figure is told while it is in hand: afterwards it helps nobody on the day.
    """
    said = [*_of_vibration(found), *_of_noise(found)]
    name = "" if found.in_hand is None else found.tools[found.in_hand].name
    if name in found.undeclared:
        said.append(f"No vibration that could be used is declared for {name}: no figure for it.")
    if name in found.unmeasured:
        said.append(f"No noise level that could be used is known for {name}: no figure for it.")
    return tuple(said)


VALUES = {
    "below action": "under the action value",
    "near": "near the action value",
    "over action": "over the action value",
    "over limit": "over the limit value",
}
"""State of the vibration of a day -> in words."""


def vibration_text(found: Strain) -> str:
    """ "over the action value (104 points of 100)"; "" without a figure."""
    said = VALUES.get(found.vibration)
    if said is None or found.points is None:
        return ""
    over_limit = found.vibration == "over limit"
    most = body.VIBRATION_LIMIT_POINTS if over_limit else body.VIBRATION_ACTION_POINTS
    return f"{said} ({found.points:.0f} points of {most:.0f})"


def _of_vibration(found: Strain) -> Iterable[str]:
    if found.a8_ms2 is None or found.points is None:
        return
    so_far = f"Vibration: {vibration_text(found)}, {found.a8_ms2:.1f} m/s2 A(8)"
    tool = found.tool_now
    match found.vibration:
        case "over limit":
            yield f"{so_far}. Put the tool down for today."
        case "over action":
            left = "" if tool is None else _left(tool, tool.limit_left_s, "the limit value")
            yield f"{so_far}{left}."
        case "near":
            left = "" if tool is None else _left(tool, tool.action_left_s, "the action value")
            yield f"{so_far}{left}."
        case _:
            return


def _of_noise(found: Strain) -> Iterable[str]:
    if found.dose_percent is None or found.lex_dba is None:
        return
    so_far = f"noise dose {found.dose_percent:.0f} %, {found.lex_dba:.1f} dB(A) over 8 h"
    tool = found.tool_now
    match found.noise:
        case "over limit":
            yield f"Over the limit value: {so_far}. No more noise today without protection."
        case "over action":
            yield f"The day's noise is used up: {so_far}. Wear ear protection."
        case "near":
            left = "" if tool is None else _left(tool, tool.noise_left_s, "the full dose")
            yield f"Near a full day of noise: {so_far}{left}."
        case _:
            if found.lower_action:
                yield f"Over the lower action value of 80 dB(A): {so_far}. Use ear protection."


def _left(tool: ToolStrain, left_s: int | None, until: str) -> str:
    if left_s is None:
        return ""
    return f"; {left_s * 1_000_000 // MINUTE_US} min more with {tool.name} until {until}"
