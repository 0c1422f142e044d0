"""Rain and water: what is inside its dry time, what a rain will catch, what can still be laid.

What was laid must stay dry for the longest `dry` of the products that the steps of its stage
use, from its last touch on. While a section is in hand or put down unfinished its last touch
has not come yet, so its dry time has not even begun. The times come from the labels; nothing
here knows whether it will really rain.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from msgspec import Struct

from cartclock.engine.dates import hours_text, spoken_near, up_to_minute
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.facts.section import SECOND_US, Section
from cartclock.engine.facts.shift import Shift
from cartclock.engine.facts.words import place_text
from cartclock.engine.plan.plan import Aftercare, Product, Stage, Work
from cartclock.engine.times import Instant

# How long an expected rain is spoken of after its time; our own judgement.
AFTER_RAIN_US = HOUR_US
_NAMED = 3


class Drying(Struct, frozen=True):
    """Something laid on a section that must stay dry for a while.

    Fields:
        job, stage, section: where.
        touched_us: its last touch; None while the work on it goes on.
        dry_s: how long it must stay dry from then on, seconds.
    """

    job: str
    stage: str
    section: str
    touched_us: Instant | None
    dry_s: int

    def dry_us(self, now_us: Instant) -> Instant:
        """When it is dry; at the earliest, if the work on it goes on at `now_us`."""
        touched_us = now_us if self.touched_us is None else self.touched_us
        return Instant(touched_us + self.dry_s * SECOND_US)


class Laying(Struct, frozen=True):
    """Sections still to be laid, and the latest last touch that is dry when the rain comes."""

    job: str
    stage: str
    sections: tuple[str, ...]
    until_us: Instant
    dry_s: int


class Wetting(Struct, frozen=True):
    """Water on sections of a stage at one moment; those laid anew since are left out."""

    stage: str
    sections: tuple[str, ...]
    at_us: Instant


def _products(job: Job, step: object) -> list[Product]:
    """The products of a step that must stay dry."""
    if not isinstance(step, Work):
        return []
    known = (job.opened.plan.product(use.product) for use in step.uses)
    return [product for product in known if product is not None and product.dry_s is not None]


def drying_product(job: Job, stage: Stage) -> Product | None:
    """The product of the stage's steps that must stay dry longest; None if none must."""
    found = [product for step in stage.steps for product in _products(job, step)]
    return max(found, key=lambda product: product.dry_s or 0, default=None)


def water_remedy(job: Job, stage_name: str) -> str:
    """What to do if water gets on a stage's work: the product's word, else the aftercare's; ""."""
    if stage_name not in job.order:
        return ""
    steps = job.stage(stage_name).steps
    found = [product for step in steps for product in _products(job, step) if product.if_wet]
    if found:
        return max(found, key=lambda product: product.dry_s or 0).if_wet
    return next((care.if_not for care in water_care(job, stage_name)), "")


def water_care(job: Job, stage_name: str) -> tuple[Aftercare, ...]:
    """The lines of the aftercare that speak of water on a stage, in the plan's order.

    Those that the plan says are about water. Where it says so of none: those that end, are about
    nothing else and say what to do if they are not kept; else all such that end.
    """
    cares = job.opened.plan.aftercare
    ending = tuple(care for care in cares if care.after == stage_name and care.until)
    told = tuple(care for care in ending if care.about == "water")
    if told:
        return told
    ending = tuple(care for care in ending if not care.about)
    return tuple(care for care in ending if care.if_not) or ending


def dryings(job: Job) -> tuple[Drying, ...]:
    """Everything laid on the vehicle that has a dry time, over or not, in working order."""
    found = []
    for stage in job.stages:
        product = drying_product(job, stage)
        if product is None or product.dry_s is None:
            continue
        steps = {index for index, step in enumerate(stage.steps) if _products(job, step)}
        put = {s.section for s in job.stints if s.stage == stage.name and s.turn.step in steps}
        for section in job.of(stage.name):
            begun = section.state in ("in hand", "held")
            if section.name in put or (begun and section.turn.step in steps):
                touched_us = _touched(job, section) if begun else section.finished_us
                found.append(Drying(job.id, stage.name, section.name, touched_us, product.dry_s))
    return tuple(found)


def _touched(job: Job, section: Section) -> Instant | None:
    """Last touch of unfinished work: to come while the job is open, at the latest its close."""
    return None if job.state == "open" else job.closed_us


def caught(job: Job, at_us: Instant) -> tuple[Drying, ...]:
    """What is inside its dry time at `at_us`: it begins with the last touch, its end is out."""
    return tuple(
        one
        for one in dryings(job)
        if one.touched_us is None or one.touched_us <= at_us < one.dry_us(at_us)
    )


def nothing_wet(jobs: Iterable[Job]) -> str:
    """Why there is nothing to mark: all of it is dry, or no plan says how long it takes."""
    known = list(jobs)
    if known and not any(drying_product(job, stage) for job in known for stage in job.stages):
        return (
            "No product of the plan has a dry time, so nothing is known to be wet; nothing was "
            'marked. A plan gives it like dry = "48h".'
        )
    return "Nothing is inside its dry time; nothing was marked."


def wettings(job: Job) -> tuple[Wetting, ...]:
    """The water that got on what is on the vehicle now, in order of time."""
    begun: dict[tuple[str, str, int], int] = {}
    for stint in job.stints:
        begun.setdefault((stint.stage, stint.section, stint.turn.pass_), stint.first_us)
    found = []
    for row in job.facts:
        if not isinstance(row.event, ev.WaterTouched):
            continue
        stage, at_us = row.event.stage, row.at_us
        names = tuple(
            name
            for name in row.event.sections
            if not any(
                first_us >= at_us and pass_ > 1
                for (its_stage, section, pass_), first_us in begun.items()
                if (its_stage, section) == (stage, name)
            )
        )
        if names:
            found.append(Wetting(stage, names, at_us))
    return tuple(found)


def rain_us(shift: Shift | None) -> Instant | None:
    """When the newest reading of the shift expects rain; None if it does not."""
    newest = None if shift is None else shift.last_reading
    return None if newest is None else newest.rain_at_us


def will_be_caught(job: Job, at_us: Instant, now_us: Instant) -> tuple[Drying, ...]:
    """What was laid by `now_us` and is not dry yet when the rain comes at `at_us`."""
    return tuple(one for one in dryings(job) if max(now_us, at_us) < one.dry_us(now_us))


def layings(job: Job, at_us: Instant) -> tuple[Laying, ...]:
    """What is still to be laid, and until when, to be dry when the rain comes at `at_us`."""
    found = []
    for stage in job.stages:
        product = drying_product(job, stage)
        left = tuple(section.name for section in job.of(stage.name) if not section.over)
        if product is not None and product.dry_s is not None and left:
            until_us = at_us - product.dry_s * SECOND_US
            found.append(Laying(job.id, stage.name, left, Instant(until_us), product.dry_s))
    return tuple(found)


def rain_sentences(
    jobs: Mapping[str, Job], shift: Shift | None, now_us: Instant
) -> tuple[str, ...]:
    """What is to be said about the rain that is expected: what it catches, what can be laid."""
    at_us = rain_us(shift)
    if shift is None or not shift.on_clock or at_us is None:
        return ()
    zone = shift.on.zone
    open_jobs = [job for job in jobs.values() if job.state == "open"]
    rain = spoken_near(at_us, now_us, zone)
    if now_us >= at_us:
        wet = [(job, caught(job, now_us)) for job in jobs.values()]
        if now_us - at_us >= AFTER_RAIN_US or not any(found for _job, found in wet):
            return ()
        names = "; ".join(_listed(job, found, now_us, zone) for job, found in wet if found)
        return (f"Rain was expected at {rain}. If it came, Y marks what is not dry: {names}.",)
    said = []
    for job in open_jobs:
        whose = f"{job.opened.vehicle}: " if len(open_jobs) > 1 else ""
        found = will_be_caught(job, at_us, now_us)
        if found:
            names = _listed(job, found, now_us, zone)
            said.append(f"{whose}rain at {rain} will catch {names}.")
    for job in open_jobs:
        whose = f"{job.opened.vehicle}: " if len(open_jobs) > 1 else ""
        for laying in layings(job, at_us):
            dry = hours_text(laying.dry_s)
            if now_us > laying.until_us:
                said.append(
                    f"{whose}{laying.stage} laid now is not dry when the rain comes at {rain}: "
                    f"it takes {dry}."
                )
            else:
                by = spoken_near(laying.until_us, now_us, zone)
                said.append(
                    f"{whose}{laying.stage}: last touch by {by}, to be dry ({dry}) "
                    f"before the rain at {rain}."
                )
    return tuple(f"{one[:1].upper()}{one[1:]}" for one in said)


def by_stage(found: Iterable[Drying]) -> dict[str, tuple[str, ...]]:
    """Stage -> its sections, both in the order given."""
    stages: dict[str, tuple[str, ...]] = {}
    for one in found:
        stages[one.stage] = (*stages.get(one.stage, ()), one.section)
    return stages


def _listed(job: Job, found: Iterable[Drying], now_us: Instant, zone: str) -> str:
    """Sections by stage in few words, with the time at which the last of them is dry."""
    every = tuple(found)
    said = []
    for stage, names in by_stage(every).items():
        here = [one for one in every if one.stage == stage]
        last_us = up_to_minute(max(one.dry_us(now_us) for one in here))
        where = ", ".join(names) if len(names) <= _NAMED else place_text(job, stage, names)
        soonest = " at the earliest" if any(one.touched_us is None for one in here) else ""
        said.append(f"{where} ({stage}, dry at {spoken_near(last_us, now_us, zone)}{soonest})")
    return ", ".join(said)
