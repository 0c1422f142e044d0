"""A job in ten lines, for whoever has half a minute."""

from __future__ import annotations

from collections.abc import Sequence

from cartclock.engine.after.dates import MAY, ToldDate
from cartclock.engine.body.strain import Strain, vibration_text
from cartclock.engine.dates import hours_text, up_to_minute
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.figures.air import TemperatureUnit, full_degrees
from cartclock.engine.paper.chapters.time_sheet import on_clock_text
from cartclock.engine.paper.degrees import over_dew_point, reckoned_text
from cartclock.engine.paper.page.medium import Medium
from cartclock.engine.paper.said import (
    counted,
    lasted,
    rests_text,
    short_day,
    short_moment,
)
from cartclock.engine.record.applied import NEVER_TAKEN, Asked
from cartclock.engine.record.cuts import OUTCOMES, nearest_us, outcome_counts, worst_us
from cartclock.engine.record.record import Record
from cartclock.engine.record.summary import Summary, summary

OUTCOME_WORDS = {
    **{name: name for name in OUTCOMES},
    "left": NEVER_TAKEN,
    "running": "still running",
}
"""How a window ended, as it is counted."""


def put_ten_lines(medium: Medium, record: Record, unit: TemperatureUnit) -> None:
    """What the job came to, a line a question; nothing on what it had none of.

    unit: of temperatures.
    """
    found = summary(record)
    medium.heading("The job in ten lines", "heat and body: screening estimates")
    pairs = (
        ("Hours", _hours(found)),
        ("Coat", _coat(found, record.zone)),
        ("Windows", outcomes_text(record.windows)),
        ("High spots", _spots(found)),
        ("Gate", _gate(found, unit)),
        ("Body", _body(found, unit)),
        ("Overruled", _overruled(found)),
        ("Put right", _put_right(found)),
        ("Still open", _open(found)),
        ("Dates", "; ".join(_date(one, record.zone, unit) for one in record.dates)),
    )
    medium.facts([pair for pair in pairs if pair[1]])


def _said(length_us: int) -> str:
    return hours_text(length_us / SECOND_US)


def _hours(found: Summary) -> str:
    own = [
        f"{what} {_said(length_us)}"
        for what, length_us in (
            ("hands on", found.hands_us),
            ("standing by", found.standing_us),
            ("other work", found.other_us),
        )
        if length_us
    ]
    said = [
        f"on the clock {on_clock_text(found.clock_us, found.off_us)}",
        f"this job {_said(found.own_us)}" + (f": {', '.join(own)}" if own else ""),
    ]
    if found.breaks_us:
        said.append(f"breaks {_said(found.breaks_us)}")
    return "; ".join(said)


def _coat(found: Summary, zone: str) -> str:
    if found.coat is None:
        return ""
    coat = found.coat
    said = [counted(coat.sections, "section")]
    if coat.layers > 1:
        said.append(f"{coat.layers} layers")
    said.append(f"begun {short_moment(coat.begun_us, zone)}")
    if coat.last_us is not None:
        said.append(f"last touch {short_moment(coat.last_us, zone)}")
    return ", ".join(said)


def outcomes_text(windows: Sequence[Asked]) -> str:
    """How windows ended, and how near to its close a film came; "" without a window."""
    if not windows:
        return ""
    films = [one for one in windows if one.kind != "gap"]
    counts = ", ".join(
        f"{count} {OUTCOME_WORDS[name]}" for name, count in outcome_counts(windows).items()
    )
    said = [f"{len(windows)} asked: {counts}"]
    if late_us := worst_us(films):
        said.append(f"latest by {lasted(late_us)}")
    if (left_us := nearest_us(films)) is not None:
        said.append(f"nearest to the close {lasted(left_us)}")
    if seen := sum(one.seen_us is not None for one in films):
        said.append(f"{seen} seen ready")
    return "; ".join(said)


def _spots(found: Summary) -> str:
    if found.coat is None:
        return ""
    water = f"water on {counted(found.wet, 'film')}" if found.wet else "no film got wet"
    return f"{counted(found.high_spots, 'high spot')}; {water}"


def _gate(found: Summary, unit: TemperatureUnit) -> str:
    if found.gate is None:
        return ""
    gate = found.gate
    said = [f"{counted(gate.begun, 'layer')} begun on a section"]
    if gate.lowest_c is not None:
        said.insert(0, f"lowest {over_dew_point(gate.lowest_c, unit)}")
    if gate.without:
        said.append(f"{gate.without} without a verdict")
    said.append(f"overruled {_times(gate.overruled)}" if gate.overruled else "never overruled")
    return "; ".join(said)


def _body(found: Summary, unit: TemperatureUnit) -> str:
    said = []
    if found.called or found.refused:
        rests = rests_text(found.called, found.taken, found.too_short)
        said.append(f"{rests}, {found.refused} refused")
    else:
        said.append("no rest called")
    if found.peak is not None and found.peak.peak is not None:
        peak = found.peak.peak
        wbgt, limit = reckoned_text(peak.wbgt_c, unit), reckoned_text(peak.limit_c, unit)
        said.append(f"peak hour WBGT {wbgt}, limit {limit}: {found.peak_band}")
    else:
        said.append("no whole hour with readings: no verdict on heat")
    said += _most_strain(found.strains)
    return "; ".join(said)


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


def _most_strain(strains: Sequence[Strain]) -> list[str]:
    """The shift with the most vibration, and the one with the most noise."""
    shaken = [(one.points, one) for one in strains if one.points is not None]
    loud = [(one.dose_percent, one) for one in strains if one.dose_percent is not None]
    said = []
    if shaken:
        most = max(shaken, key=lambda found: found[0])[1]
        floor = "at least " if most.undeclared else ""
        said.append(f"vibration: {floor}{vibration_text(most)}")
    if loud:
        dose, most = max(loud, key=lambda found: found[0])
        floor = "at least " if most.unmeasured else ""
        said.append(f"noise: dose {floor}{dose:.0f} %")
    return said


def _overruled(found: Summary) -> str:
    said = [f"{rule.replace('_', ' ')} {count}" for rule, count in found.overruled.items()]
    return ", ".join(said) or "nothing"


def _put_right(found: Summary) -> str:
    said = []
    if found.corrected:
        said.append(f"{counted(found.corrected, 'press', 'presses')} corrected")
    if found.late:
        said.append(f"{found.late} entered late")
    if found.gaps:
        said.append(f"the program did not run {_times(found.gaps)}")
    return "; ".join(said) or "nothing"


def _open(found: Summary) -> str:
    said = [f"{stage} on {counted(count, 'section')}" for stage, count in found.not_done.items()]
    said = [f"not done: {', '.join(said)}"] if said else []
    if found.not_looked:
        said.append(f"{counted(found.not_looked, 'layer')} not looked at")
    if found.questions:
        said.append(f"{counted(found.questions, 'question')} not answered")
    if found.never_off:
        said.append(f"{counted(found.never_off, 'shift')} never clocked off")
    return "; ".join(said) or "nothing"


def _date(one: ToldDate, zone: str, unit: TemperatureUnit) -> str:
    may = MAY[one.about].lower()
    if one.at_us is None:
        return f"{may}: known when {one.stage} is finished"
    # A wash has a day, and no hour of it.
    said = short_day if one.about == "wash" else short_moment
    beside = ["example"] if one.example else []
    if one.below_c is not None:
        degrees = full_degrees(one.below_c, unit)
        if one.mild_us is not None:
            beside.append(f"at {degrees} and more {said(up_to_minute(one.mild_us), zone)}")
        if one.cold_us is not None:
            beside.append(f"under {degrees} {said(up_to_minute(one.cold_us), zone)}")
    also = f" ({'; '.join(beside)})" if beside else ""
    return f"{may} from {said(up_to_minute(one.at_us), zone)}{also}"
