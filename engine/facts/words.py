"""Events and moves as a worker would say them: one line each, no codes. Degrees that were said in
C, in another unit."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence

from cartclock.engine.dates import hours_text, spoken
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.job_events import ChangeSource
from cartclock.engine.facts.layers import layer_text
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.shift_events import CallGrade
from cartclock.engine.facts.stage_changes import care_change, changes_text, handover_change
from cartclock.engine.facts.turn import Turn, time_round
from cartclock.engine.figures.air import (
    DEW_MARGIN_K,
    TemperatureUnit,
    apart_in_unit,
    bare_degrees,
    full_degrees,
)

# Degrees in a sentence that was said in C: "30 C", "8 to 17 C".
_SAID = re.compile(r"(-?\d+(?:\.\d+)?)(?: to (-?\d+(?:\.\d+)?))? C\b")
# What is said of how far two temperatures are apart, behind the figure and before it.
_APART = re.compile(
    r" (?:(?P<less>(?:under|below) the dew point|over the limit|short\b)"
    r"|(?:over|above) the dew point|under the limit|to spare\b"
    r"|above it is wanted|of caution|added |above the same )"
)
_WITHIN, _ON_TOP = "within ", "the dew point + "
# Older records say it without its unit.
_ASKED = re.compile(rf"({re.escape(_ON_TOP)}{DEW_MARGIN_K:g})\b(?! C\b)")


def amount_text(amount: float, unit: str) -> str:
    """An amount with its unit: at most one decimal, none where it is whole."""
    number = f"{amount:.1f}".removesuffix(".0")
    return number if unit == "each" else f"{number} {unit}"


def place_text(job: Job, stage: str, sections: tuple[str, ...]) -> str:
    """Sections in few words: a name, "all 4", a panel if all of it, or a number."""
    if len(sections) == 1:
        return sections[0]
    there = job.of(stage)
    if len(sections) == len(there):
        return f"all {len(there)}"
    panels = {s.panel for s in there if s.name in sections}
    if len(panels) == 1:
        panel = panels.pop()
        if sum(s.panel == panel for s in there) == len(sections):
            return panel
    return f"{len(sections)} sections"


def move_text(move: Move, jobs: Mapping[str, Job]) -> str:
    """A move in few words: "level bonnet left", "stand by for bonnet left"."""
    if move.act == "rest":
        planned = f"{move.minutes:.0f} min" if move.minutes else "no end planned"
        return f"heat break, {planned}"
    if move.act == "end":
        return "put an end to this"
    if move.act == "close":
        return f"hand over and close: {jobs[move.job].opened.vehicle}"
    if move.act == "change":
        return move.say
    where = place_text(jobs[move.job], move.stage, move.sections)
    if move.act == "look":
        layer = layer_text(move.turn.layer, jobs[move.job].stage(move.stage).layers)
        return f"look over {where}{', ' + layer if layer else ''}"
    if move.act == "stand by":
        return f"stand by for {where}"
    whys = {
        section.why
        for name in move.sections
        for section in [jobs[move.job].sections.get((move.stage, name))]
        if section is not None and section.state == "todo"
    }
    why = whys.pop() if len(whys) == 1 else ""
    return f"{move.say} {where}{'; ' + why if why else ''}"


def sections_text(count: int) -> str:
    """A number of sections: "1 section", "4 sections"."""
    return f"{count} section{'' if count == 1 else 's'}"


def _work(job: Job | None, stage: str, sections: tuple[str, ...], turn: Turn) -> str:
    if job is None or stage not in job.order:
        return f"{stage}, {', '.join(sections)}"
    try:
        say = job.work(stage, turn).say
    except KeyError:
        say = "work"
    layer = f", layer {turn.layer}" if job.stage(stage).layers > 1 else ""
    times = (time_round(turn, _worked(job, stage, name)) for name in sections)
    time = max(times, default=1)
    again = f", pass {time}" if time > 1 else ""
    return f"{say} {place_text(job, stage, sections)} ({stage}{layer}{again})"


def _worked(job: Job, stage: str, section: str) -> Iterable[Turn]:
    return (one.turn for one in job.stints if (one.stage, one.section) == (stage, section))


def main_row(rows: Sequence[Row]) -> Row:
    """The row that says what a press was for: its last, but for the amounts it booked, and for what
    was struck with a time that was put right.

    rows: of one press, at least one.
    """
    if isinstance(rows[0].event, ev.TimeCorrected):
        return rows[0]
    return next((row for row in reversed(rows) if row.kind != "ProductUsed"), rows[-1])


def row_text(
    row: Row, jobs: Mapping[str, Job], meant: Row | None = None, unit: TemperatureUnit = "C"
) -> str:
    """What a row says, as a short phrase.

    Args:
        meant: of a correction, what the press said that it speaks of; None: its number is said.
        unit: of temperatures.
    """
    job = jobs.get(row.job)
    said = "" if meant is None else row_text(meant, jobs, unit=unit)
    match row.event:
        case ev.ClockedOn(place=place, planned_s=planned_s):
            stay = "" if planned_s is None else f", for {planned_s / 60:.0f} min"
            return f"clocked on{', ' + place if place else ''}{stay}"
        case ev.ClockedOff():
            return "clocked off"
        case ev.BreakTaken(what):
            return f"break: {what}"
        case ev.BreakEnded():
            return "break over"
        case ev.OtherWorkStarted(what):
            return f"other work: {what}"
        case ev.OtherWorkAssigned(job_id):
            whose = f"job {_number(jobs.get(job_id))}" if job_id else "nobody in particular"
            return f"other work was for {whose}"
        case ev.OtherWorkEnded():
            return "other work over"
        case ev.ReadingTaken() as reading:
            return f"reading: {reading_text(reading, unit)}"
        case ev.ClothingSaid(clothing):
            return f"wearing: {clothing}"
        case ev.RoofSaid(hot):
            return f"the roof or the door is {'' if hot else 'not '}hot to the hand"
        case ev.DayExpected(low_c, high_c):
            return f"expected today: {bare_degrees(low_c, unit)} to {full_degrees(high_c, unit)}"
        case ev.DrinkTaken(ml):
            return f"drank {ml} ml"
        case ev.FeltUnwell(signs):
            return f"felt unwell: {', '.join(signs)}"
        case ev.CheckedIn():
            return "said: I am well"
        case ev.HotDaysSaid(days):
            return f"worked in the heat on {days} of the last 14 days"
        case ev.CautionsRead(products):
            return f"read what to mind of {', '.join(products)}"
        case ev.RestOverruled(why):
            return f"rest not taken: {why}"
        case ev.BreakJudged(counted=counted):
            return f"the break {'counts' if counted else 'does not count'} as work"
        case ev.GapJudged(was=was):
            return f"a stretch was: {was}"
        case ev.ClockJudged():
            return "said what time it is"
        case ev.GapFound(from_us, to_us):
            return f"the program did not run for {round((to_us - from_us) / 60e6)} min"
        case ev.ClockStepped(by_us):
            return f"the clock was set by {by_us / 1e6:+.0f} s"
        case ev.RestCalled(rest_s=rest_s, grade=grade):
            return call_text(grade, rest_s)
        case ev.JobOpened(number=number, vehicle=vehicle):
            return f"job {number} opened: {vehicle}"
        case ev.JobAmended() as amended:
            return _amendment(job, amended)
        case ev.StageAdded(stage):
            return f"stage added: {stage.name}"
        case ev.StageRevised(was, stage, source):
            changed = changes_text(was, stage)
            return f"plan of {stage.name}: {changed}; {source_text(source)}"
        case ev.StageMoved(stage_name, after):
            return f"stage moved: {stage_name}, {f'behind {after}' if after else 'first'}"
        case ev.AftercareRevised(was, care):
            return f"aftercare, {care.say}: {care_change(was, care)}"
        case ev.HandoverRevised(was, handover):
            return f"hand-over: {handover_change(was, handover)}"
        case ev.SectionAdded(stage, section):
            return f"section added: {section} ({stage})"
        case ev.SectionSplit(stage, section, into):
            return f"{section} cut into {len(into)} ({stage})"
        case ev.WorkStarted(stage, sections, turn):
            return f"took up: {_work(job, stage, sections, turn)}"
        case ev.WorkPutDown(stage, sections, turn):
            return f"put down: {_work(job, stage, sections, turn)}"
        case ev.StepFinished(stage, sections, turn):
            return f"finished: {_work(job, stage, sections, turn)}"
        case ev.WindowSeen(sections=sections):
            return f"seen ready: {', '.join(sections)}"
        case ev.MarksRevised(sections=sections):
            return f"new marks: {', '.join(sections)}"
        case ev.SectionSkipped(stage, sections, why):
            return f"left out: {', '.join(sections)} ({stage}){': ' + why if why else ''}"
        case ev.SectionReopened(stage, sections, _turn, why):
            return f"to be done again: {', '.join(sections)} ({stage}){': ' + why if why else ''}"
        case ev.ProductUsed(amounts=amounts):
            return f"used: {_amounts(job, amounts)}"
        case ev.UseCorrected(product, by):
            return f"amount corrected: {by:+g} {_product(job, product)}"
        case ev.WaterTouched(stage, sections):
            return f"water on {', '.join(sections)} ({stage})"
        case ev.SectionChecked(stage, sections, found, remedy):
            names = f"{', '.join(sections)} ({stage})"
            if found == "fine":
                return f"looked at again, fine: {names}"
            said = found if found == "not looked at" else f"{found} on"
            return f"{said} {names}{': ' + remedy if remedy else ''}"
        case ev.FreshTaken(stage, what, name, sections):
            return f"fresh {what}: {name} ({stage}), after {sections_text(sections)}"
        case ev.BeforeCoatRead(stage, turn):
            return f"read before the coat: {stage}, layer {turn.layer}"
        case ev.PaintRead(panel, when):
            return f"paint read {when}: {panel}"
        case ev.GlossRead(panel, when):
            return f"gloss read {when}: {panel}"
        case ev.OdometerRead(reading, distance):
            return f"odometer: {reading} {distance}"
        case ev.TrialJudged(_stage, section, _set_up, accepted):
            return f"set-up on {section} {'accepted' if accepted else 'not accepted'}"
        case ev.DamageNoted(panel, what):
            return f"damage: {what}, {panel}"
        case ev.AgreementNoted():
            return "agreed with the customer"
        case ev.NoteWritten(section=section):
            return f"note{' on ' + section if section else ''}"
        case ev.FileAttached(what=what, section=section, shows=shows):
            of = ", ".join(part for part in (shows, section) if part)
            return f"attached: {what}{', ' + of if shows else ''}"
        case ev.PaperIssued(paper, revision):
            return f"paper out: {paper}, revision {revision}"
        case ev.IncidentNoted(panel, what):
            return f"incident: {what}, {panel}"
        case ev.IncidentAmended() as more:
            return f"of an incident: {', '.join(_incident_parts(more)) or 'nothing more'}"
        case ev.CallBackPromised(at_us):
            return f"to be called back: {spoken(at_us, _zone(job))}"
        case ev.CallBackMoved(_press, at_us):
            return f"call back moved to {spoken(at_us, _zone(job))}"
        case ev.CallBackEnded(how=how):
            return "called back" if how == "called" else "call back let go"
        case ev.PromiseTold(who=who) as told:
            return f"promise {told.cause_text}: {'somebody was' if who else 'nobody'} told"
        case ev.KeysTaken():
            return "who took the keys: noted"
        case ev.PaymentNoted(how):
            return "to be paid later" if how == "later" else f"paid: {how}"
        case ev.JobClosed():
            return f"job {_number(job)} closed"
        case ev.JobGiven(to):
            return f"job {_number(job)} given to {f'cart {to[:8]}' if to else 'another cart'}"
        case ev.JobTaken(number=number):
            return f"job {number} taken over from another cart"
        case ev.PartSaid(whole):
            return f"job {_number(job)}: {'a part of another one' if whole else 'no part'}"
        case ev.JobReopened():
            return f"job {_number(job)} reopened"
        case ev.PackOpened(product, lot=lot, name=name):
            return f"pack opened: {name or _named(product, jobs)}{', lot ' + lot if lot else ''}"
        case ev.PackWeighed(product, left):
            return f"weighed: {left:g} left of {_named(product, jobs)}"
        case ev.JobImported(number=number, vehicle=vehicle):
            return f"imported: job {number} of another laptop, {vehicle}"
        case ev.PressStruck(press):
            return f"struck: {said or f'press {press}'}"
        case ev.PressRestored(press):
            return f"restored: {said or f'press {press}'}"
        case ev.PressMoved(press):
            return f"moved in time: {said or f'press {press}'}"
        case ev.TimeCorrected(press, by_us=by_us):
            off = "ahead" if by_us < 0 else "behind"
            return f"the time was {hours_text(abs(by_us) / 1e6)} {off}: from press {press} on"
        case ev.Unknown(kind):
            return f"not understood by this version: {kind}"
        case _:
            return f"not understood by this version: {row.kind}"


def source_text(source: ChangeSource) -> str:
    """Where a change of the plan comes from."""
    return "by hand" if source == "by hand" else f"from the {source}"


def note_text(note: ev.NoteWritten, job: Job) -> str:
    """For whom a note is, and of what: the vehicle, and its section if it was of one."""
    where = ", ".join(part for part in (job.opened.vehicle, note.section) if part)
    return f"for the {'shop' if note.private else 'customer too'}: {where}"


def _incident_parts(event: ev.IncidentAmended) -> list[str]:
    """What is said of it; of private texts only that they are."""
    sheet = "" if event.told is None else f"{'' if event.told else 'not '}on the customer's sheet"
    parts = (
        "what happened" if event.words else "",
        "what was done" if event.done else "",
        "photo" if event.photo else "",
        sheet,
    )
    return [part for part in parts if part]


def _amendment(job: Job | None, event: ev.JobAmended) -> str:
    """What is otherwise; of a private text only that it is."""
    if event.what == "price":
        return "no price agreed" if event.price is None else f"price: {event.price}"
    if event.what == "promised_us":
        if event.promised_us is None:
            return "no promise"
        return f"promised for {spoken(event.promised_us, _zone(job))}"
    return f"{event.what}: {'none' if event.text is None else 'noted'}"


def _zone(job: Job | None) -> str:
    return "UTC" if job is None else job.opened.zone


def _number(job: Job | None) -> str:
    return "?" if job is None else str(job.opened.number)


def _product(job: Job | None, product_id: str) -> str:
    product = None if job is None else job.opened.plan.product(product_id)
    return product_id if product is None else product.name


def _named(product_id: str, jobs: Mapping[str, Job]) -> str:
    """What the plan of any of these jobs calls a product; the id if none does."""
    names = (_product(job, product_id) for job in jobs.values())
    return next((name for name in names if name != product_id), product_id)


def _amounts(job: Job | None, amounts: Mapping[str, float]) -> str:
    said = []
    for product_id, amount in amounts.items():
        product = None if job is None else job.opened.plan.product(product_id)
        name, unit = (product.name, product.unit) if product else (product_id, "")
        said.append(f"{amount_text(amount, unit)} {name}")
    return ", ".join(said)


def call_text(grade: CallGrade, rest_s: int) -> str:
    """What a call of a rest said."""
    minutes = -(-rest_s // 60)
    match grade:
        case "soon":
            return f"a rest of {minutes} min was called before the next piece"
        case "now":
            return f"a rest of {minutes} min was called at once"
        case "not here":
            return "no work time here: a cooler place or a cooler hour was called for"


def reading_text(reading: ev.ReadingTaken, unit: TemperatureUnit = "C") -> str:
    """A reading in one line; what was not measured is left out. unit: of temperatures."""
    parts = []
    if reading.air_c is not None:
        parts.append(f"air {full_degrees(reading.air_c, unit)}")
    if reading.rh is not None:
        parts.append(f"{reading.rh:g} % RH")
    if reading.panel_c is not None:
        parts.append(f"panel {full_degrees(reading.panel_c, unit)}")
    if reading.globe_c is not None:
        parts.append(f"globe {full_degrees(reading.globe_c, unit)}")
    if reading.wbgt_c is not None:
        parts.append(f"WBGT {full_degrees(reading.wbgt_c, unit)}")
    parts.append(reading.place)
    if reading.moving not in ("not said", "still"):
        parts.append(reading.moving)
    if reading.confirmed:
        parts.append("looks odd, asked about and kept")
    return ", ".join(parts)


def in_both(said: str, unit: TemperatureUnit) -> str:
    """A sentence of the program that was said in C, with the same figures in `unit` beside them.

    "expected today: 8 to 17 C (46.4 to 62.6 F)". How far two are apart is told from what stands
    beside it, and cut so that what is short never reads as enough. In C it stays as it is.
    """
    return _said_anew(said, unit, "{0} ({1})")


def said_in(said: str, unit: TemperatureUnit) -> str:
    """The same with the figures in `unit` alone, for a screen: "expected today: 46.4 to 62.6 F"."""
    return _said_anew(said, unit, "{1}")


def _said_anew(said: str, unit: TemperatureUnit, form: str) -> str:
    if unit == "C":
        return said
    return _SAID.sub(
        lambda found: form.format(found[0], _reckoned(found, unit)), _ASKED.sub(r"\1 C", said)
    )


def _reckoned(found: re.Match[str], unit: TemperatureUnit) -> str:
    """Degrees that were found in a sentence, in another unit."""
    apart = _APART.match(found.string, found.end())
    if apart is None and not found.string.endswith((_WITHIN, _ON_TOP), 0, found.start()):
        ends = [bare_degrees(float(one), unit) for one in found.groups() if one is not None]
        return f"{' to '.join(ends)} {unit}"
    wide = apart_in_unit(float(found[1]), unit)
    cut = math.ceil if apart is not None and apart["less"] else math.floor
    return f"{cut(round(wide * 10.0, 6)) / 10.0:g} {unit}"
