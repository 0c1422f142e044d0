"""May I coat? The gate's answer for a stage, from the newest reading and the labels.

The gate asks and warns, it never forbids: who stands at the panel may know why it is right
today. What is missing or over an hour old gives no verdict, never a good one. All of it is a
screening estimate: the panel that was measured is not the panel around the corner.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache
from typing import Literal

from msgspec import Struct
from msgspec.structs import asdict

from cartclock.engine.dates import age_said
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_force import STALE_US, is_in_force, newest_reading, reading_in_force
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US, Row
from cartclock.engine.facts.section import Section
from cartclock.engine.facts.shift import Hands, Shift
from cartclock.engine.facts.turn import Turn
from cartclock.engine.figures import gate
from cartclock.engine.figures.air import DEW_MARGIN_K
from cartclock.engine.figures.gate import Finding, LabelLimits
from cartclock.engine.films.condition import NAMES, age_minutes, condition_state
from cartclock.engine.films.curve import condition_about, gate_about
from cartclock.engine.films.waves import (
    PLANNED,
    Factors,
    wave_minutes,
    wave_since_us,
    wave_then_us,
)
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.times import Instant

GATE, CONDITION, READING_ENDS = "coat_gate", "condition", "reading_ends"
# A reading so young is not taken anew for a wave that lasts longer than it. Our own judgement.
YOUNG_US = 15 * MINUTE_US
SCREENING_ESTIMATE = "screening estimate"


class GateVerdict(Struct, frozen=True):
    """What the gate says of a stage at one moment.

    Fields:
        row: the newest reading of the panel; None if there is none.
        why_none: why there is no verdict, a whole sentence; "" if there is one.
        findings: every rule with its answer and margin; empty without a verdict.
        limits: of the labels.
    """

    row: Row | None = None
    why_none: str = ""
    findings: tuple[Finding, ...] = ()
    limits: LabelLimits = gate.NO_LIMITS

    @property
    def at_us(self) -> Instant | None:
        """When that reading was taken; None if there is none."""
        return None if self.row is None else self.row.at_us

    @property
    def reading(self) -> ev.ReadingTaken | None:
        """That reading; None if there is none."""
        event = None if self.row is None else self.row.event
        return event if isinstance(event, ev.ReadingTaken) else None

    @property
    def weight(self) -> Literal["none", "met", "warn", "ask"]:
        """The heaviest answer; "none" without a verdict."""
        return "none" if self.why_none else gate.worst(self.findings)

    @property
    def dew_margin_c(self) -> float | None:
        """How far the panel is over the dew point and 3 C on top; None without a verdict."""
        return next((f.margin for f in self.findings if f.rule == "dew margin"), None)

    @property
    def line(self) -> str:
        """The margin in one short line; why there is no verdict if there is none."""
        margin_c = self.dew_margin_c
        return (
            self.why_none if margin_c is None else f"{margin_text(margin_c)} ({SCREENING_ESTIMATE})"
        )

    def said(self, weight: gate.Weight) -> list[str]:
        """The answers of one weight in words; of both forms of the dew point rule the first."""
        said: list[str] = []
        for one in self.findings:
            if one.weight != weight or (one.rule == "panel humidity" and said):
                continue
            dew = one.rule == "dew margin" and one.margin is not None
            said.append(margin_text(one.margin or 0.0) if dew else one.says)
        return said


def margin_text(margin_c: float) -> str:
    """A margin over the dew point and 3 C more, cut down: short never reads like enough."""
    cut_c = math.floor(round(margin_c * 10.0, 6)) / 10.0
    side = "over" if margin_c >= 0.0 else "under"
    return f"panel {abs(cut_c):.1f} C {side} the dew point + {DEW_MARGIN_K:g} C"


def limits_of(job: Job, stage: Stage) -> LabelLimits:
    """The limits of every product that the stage's work takes, the strictest of each.

    Raises ValueError if one of them cannot be, or if no climate meets them all.
    """
    found: dict[str, float] = {}
    ids = {use.product for step in stage.steps if isinstance(step, Work) for use in step.uses}
    for product in job.opened.plan.products:
        if product.id not in ids or product.limits is None:
            continue
        for name, value in asdict(product.limits).items():
            if value is not None:
                strictest = max if "_low" in name else min
                found[name] = strictest(found.get(name, value), value)
    return LabelLimits(**found)


def gate_verdict(
    job: Job,
    stage_name: str,
    shift: Shift | None,
    now_us: Instant,
    wave_us: Instant | None = None,
) -> GateVerdict:
    """The gate's answer for a stage with the reading in force at `now_us`.

    wave_us: when the wave began that runs; a reading that was in force then holds until its end.
    None: none runs, or it is not asked about.

    In force is the newest reading of the shift that has the panel, for an hour. A reading of
    the air alone, as the heat asks for, leaves it in force; one of the panel without air or
    humidity does not, for the dew point that belongs to it is not known.

    Raises KeyError if the job has no such stage.
    """
    stage = job.stage(stage_name)
    row = newest_reading(shift, now_us, "panel_c")
    if row is None or not isinstance(row.event, ev.ReadingTaken):
        return GateVerdict(why_none="No reading of panel, air and humidity: no verdict.")
    reading = row.event
    if not (is_in_force(row.at_us, now_us) or _in_force_then(shift, wave_us)):
        age = age_said(age_minutes(row.at_us, now_us))
        return GateVerdict(row, f"The reading of the panel is {age} old: no verdict.")
    panel_c, air_c, rh = reading.panel_c, reading.air_c, reading.rh
    if panel_c is None or air_c is None or rh is None:
        missing = " and ".join(NAMES[n] for n in ("air_c", "rh") if getattr(reading, n) is None)
        return GateVerdict(row, f"The reading of the panel has no {missing}: no verdict.")
    try:
        limits = limits_of(job, stage)
    except ValueError as wrong:
        return GateVerdict(row, f"The limits of the labels cannot be met ({wrong}): no verdict.")
    try:
        found = _findings(panel_c, air_c, rh, limits, reading.place == "sun")
    except ValueError as wrong:
        return GateVerdict(row, f"The reading cannot be ({wrong}): no verdict.")
    return GateVerdict(row, "", found, limits)


def _in_force_then(shift: Shift | None, wave_us: Instant | None) -> bool:
    """True if a reading of the panel was in force when the wave began."""
    return wave_us is not None and reading_in_force(shift, wave_us, "panel_c") is not None


# Solving for the dew point takes its time, and every repaint asks again.
@lru_cache(maxsize=256)
def _findings(
    panel_c: float, air_c: float, rh: float, limits: LabelLimits, sun: bool
) -> tuple[Finding, ...]:
    return gate.findings(panel_c, air_c, rh, limits, sun)


def overruled(
    job: Job, stage: str, rule_id: str, shift: Shift | None, since_us: int | None, until_us: int
) -> str:
    """The reason with which a rule was overruled for a stage in this shift; "" if it was not.

    shift: None if that is not known. since_us: when the reading in force was taken, for a
    newer one is judged anew; None if there is none. until_us: later reasons do not count.
    """
    if shift is None:
        return ""
    for row in reversed(job.overruled):
        event = row.event
        if (
            isinstance(event, ev.WorkStarted)
            and (row.shift, event.stage) == (shift.id, stage)
            and rule_id in event.over
            and (since_us is None or row.at_us >= since_us)
            and row.at_us <= until_us
        ):
            return event.over[rule_id] or "no reason given"
    return ""


# Questions.


def asks(
    job: Job,
    stage_name: str,
    sections: Iterable[str],
    turn: Turn,
    shift: Shift,
    now_us: Instant,
    wave_us: Instant | None,
    factors: Factors = PLANNED,
) -> list[tuple[str, str]]:
    """What is to be asked before work of a stage is taken up: rule id and sentence.

    wave_us: when the wave began on that layer that runs; None if none does. factors: of the work.

    Only before a layer is begun. A section that was put down half laid goes on without a
    question, and so does every other one once the reading in force was overruled.
    """
    stage = job.stage(stage_name)
    if turn.step != 0 or all(job.sections[stage_name, name].state == "held" for name in sections):
        return []
    found: list[tuple[str, str]] = []
    if stage.kind == "coat":
        one = gate_verdict(job, stage_name, shift, now_us, wave_us)
        if one.weight in ("none", "ask") and not overruled(
            job, stage_name, GATE, shift, one.at_us, now_us
        ):
            found.append((GATE, f"{_why(shift, one, now_us)} Coat all the same?"))
        ends = "" if wave_us is not None else _ends(job, stage, turn.layer, one, now_us, factors)
        if ends and not overruled(job, stage_name, READING_ENDS, shift, one.at_us, now_us):
            found.append((READING_ENDS, f"{ends} Coat all the same?"))
    if stage.condition is not None:
        seen = condition_state(stage.condition, shift, now_us)
        # Without a reading the gate of a coat has asked already.
        open_ = seen.met is False or (seen.met is None and stage.kind != "coat")
        if open_ and not overruled(job, stage_name, CONDITION, shift, seen.at_us, now_us):
            about = condition_about(shift, stage.condition, now_us) if seen.met is False else ""
            said = " ".join(filter(None, (f"{_capital(seen.says)}.", about)))
            found.append((CONDITION, f"{said} Begin {stage_name} all the same?"))
    return found


def _ends(
    job: Job, stage: Stage, layer: int, found: GateVerdict, now_us: Instant, factors: Factors
) -> str:
    """That a reading that is met grows old before a wave is over; "" if not, or if it is young."""
    if found.weight not in ("met", "warn") or found.at_us is None:
        return ""
    if now_us - found.at_us < YOUNG_US:
        return ""
    age = age_minutes(found.at_us, now_us)
    minutes = wave_minutes(job, stage.name, layer, factors)
    if minutes <= STALE_US / MINUTE_US - age:
        return ""
    return f"The panel was read {age} min ago, and this layer takes about {minutes:.0f} min."


def _why(shift: Shift, found: GateVerdict, now_us: Instant) -> str:
    """Why the gate asks, in whole sentences."""
    if found.why_none or found.row is None:
        return found.why_none
    said = f"{_capital(SCREENING_ESTIMATE)}: {'; '.join(found.said('ask'))}."
    return f"{said} {gate_about(shift, found.row, found.limits, now_us)}".rstrip()


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


# What Run says.


def stage_ahead(job: Job, shift: Shift, chosen: str = "") -> Stage | None:
    """The stage of which a layer can be begun: the one in hand, else the chosen, else the next."""
    hands = shift.doing
    own = [hands.stage] if isinstance(hands, Hands) and hands.job == job.id else []
    for name in (*own, chosen, *(stage.name for stage in job.stages)):
        if name in job.order and any(_begins(section) for section in job.of(name)):
            return job.stage(name)
    return None


def gate_notices(
    job: Job, shift: Shift | None, now_us: Instant, chosen: str = ""
) -> tuple[str, ...]:
    """What is to be said before the next layer of a coat, the most urgent first.

    chosen: the stage that the large key would take up; "" for the next one.
    """
    if shift is None or not shift.on_clock:
        return ()
    stage = stage_ahead(job, shift, chosen)
    if stage is None:
        return ()
    lines = _gate_lines(job, stage, shift, now_us)
    if stage.condition is not None:
        seen = condition_state(stage.condition, shift, now_us)
        again = seen.again(now_us) or "R takes a reading"
        if not seen.met:
            lines.append(f"{stage.name}: {seen.says}; {again}.")
    return tuple(lines)


def _gate_lines(job: Job, stage: Stage, shift: Shift, now_us: Instant) -> list[str]:
    if stage.kind != "coat":
        return []
    found = _verdict_ahead(job, stage, shift, now_us)
    lines = [f"{stage.name}: {found.line}."]
    match found.weight:
        case "none":
            lines = [f"{stage.name}: {_why(shift, found, now_us)} R takes a reading."]
        case "ask":
            lines = [f"{stage.name}: {_why(shift, found, now_us)}"]
        case "warn":
            lines.insert(
                0, f"{stage.name}: {'; '.join(found.said('warn'))} ({SCREENING_ESTIMATE})."
            )
    why = overruled(job, stage.name, GATE, shift, found.at_us, now_us)
    return [*lines, f"Overruled: {why}."] if why and found.weight != "met" else lines


def pressing(job: Job, shift: Shift | None, now_us: Instant, chosen: str = "") -> bool:
    """True if the notices say more than the margin of a coat that meets everything."""
    stage = None if shift is None else stage_ahead(job, shift, chosen)
    if shift is None or stage is None:
        return False
    if stage.condition is not None and not condition_state(stage.condition, shift, now_us).met:
        return True
    return stage.kind == "coat" and _verdict_ahead(job, stage, shift, now_us).weight != "met"


def _verdict_ahead(job: Job, stage: Stage, shift: Shift, now_us: Instant) -> GateVerdict:
    """The gate's answer for the next layer of a stage, of which there is one."""
    layer = min(section.turn.layer for section in job.of(stage.name) if _begins(section))
    return gate_verdict(
        job, stage.name, shift, now_us, wave_since_us(job, stage.name, layer, now_us)
    )


def _begins(section: Section) -> bool:
    """True if a layer of a section can be begun."""
    gap = section.window is not None and section.window.kind == "gap"
    return gap or (section.state == "todo" and section.turn.step == 0)


# What the record says.


def margin_at(
    job: Job, stage_name: str, layer: int, shift: Shift | None, at_us: Instant
) -> tuple[GateVerdict, str]:
    """The gate's answer when a section was first touched, and the reason it was overruled with.

    layer: that was begun on it. shift: the one it was touched in, None if that is not known.
    at_us: the first touch. A reading that was in force when the wave began holds to its end, as it
    did at the gate, unless the gate asked because it was old. The reason is "" where the gate was
    met or nobody was asked, as while a window ran.
    """
    found = gate_verdict(job, stage_name, shift, at_us)
    if found.at_us is not None and not is_in_force(found.at_us, at_us):
        wave_us = wave_then_us(job, stage_name, layer, at_us)
        if not overruled(job, stage_name, GATE, shift, found.at_us + STALE_US, at_us):
            found = gate_verdict(job, stage_name, shift, at_us, wave_us)
    why = ""
    if found.weight in ("none", "ask"):
        why = overruled(job, stage_name, GATE, shift, found.at_us, at_us)
    return found, why
