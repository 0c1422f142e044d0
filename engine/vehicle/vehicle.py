"""What is known of the vehicle: how it arrived, what its paint measured, what was agreed.

All of it is read from the facts of the job, so what is struck is not known any more. Of
several quick readings of a panel the newest counts, spots add up, and "not measurable" is a
value that ends what was read before it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.sealed import Sealed
from cartclock.engine.facts.shift import Hands
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.times import Instant
from cartclock.engine.vehicle.panels import panels, polishes, verbs

Agreed = Callable[[Sealed | None], str]

# Exact by definition of the international yard and pound (1959).
METRES: dict[str, Decimal] = {"km": Decimal(1000), "mi": Decimal("1609.344")}
_PRICE = re.compile(r"-?[0-9]{1,7}(\.[0-9]{1,3})?")


class Odometer(Struct, frozen=True):
    """One look at the odometer; `warning`: a sentence if it runs backwards, else ""."""

    at_us: Instant
    reading: int
    unit: str
    warning: str


class Damage(Struct, frozen=True):
    """Damage found; `note`: in a person's words, "" if none."""

    at_us: Instant
    panel: str
    what: str
    note: str


class Build(Struct, frozen=True):
    """Total build of a panel in micrometres; both ends None: not measurable.

    Fields:
        at_us: the newest reading.
        low_um, high_um: over the quick reading and the spots.
        spots: means of three readings, in order.
    """

    at_us: Instant
    low_um: float | None = None
    high_um: float | None = None
    spots: tuple[float, ...] = ()


class Gloss(Struct, frozen=True):
    """Gloss of a panel; `gu` None: not measurable."""

    at_us: Instant
    gu: float | None
    angle: int


class PanelPaint(Struct, frozen=True):
    """What was read on a panel before and after the work; None: not read."""

    panel: str
    before: Build | None = None
    after: Build | None = None
    gloss_before: Gloss | None = None
    gloss_after: Gloss | None = None

    @property
    def change_um(self) -> tuple[float, float] | None:
        """Lowest after minus lowest before, and of the highest; None unless all are known."""
        one, two = self.before, self.after
        if one is None or one.low_um is None or one.high_um is None:
            return None
        if two is None or two.low_um is None or two.high_um is None:
            return None
        return round(two.low_um - one.low_um, 1), round(two.high_um - one.high_um, 1)

    @property
    def change_gu(self) -> float | None:
        """Gloss after minus before; None unless both were read at one angle."""
        one, two = self.gloss_before, self.gloss_after
        if one is None or two is None or one.angle != two.angle:
            return None
        return None if one.gu is None or two.gu is None else round(two.gu - one.gu, 1)


class Extra(Struct, frozen=True):
    """Something agreed with the customer; `price`: what it adds, None if nothing is said."""

    at_us: Instant
    text: str
    price: Decimal | None


SHOWS = ("before", "after", "damage", "test spot")
"""What a photo of a job is taken for."""


class Attached(Struct, frozen=True):
    """A file that belongs to the job; `path`: where it was, private; `shows`: one of SHOWS, "" if
    nobody said.
    """

    at_us: Instant
    sha256: str
    path: str
    what: str
    section: str
    shows: str = ""


def shows_damage(file: Attached | ev.FileAttached, panel: str) -> bool:
    """True of a photo that was attached to the panel on which damage was found."""
    return file.what == "photo" and file.section == panel


class Trial(Struct, frozen=True):
    """A set-up that was tried, and what was thought of it."""

    at_us: Instant
    stage: str
    section: str
    set_up: str
    accepted: bool


class VehicleRecord(Struct, frozen=True):
    """What is known of the vehicle; damages and paints in the order of `panels`."""

    odometers: tuple[Odometer, ...] = ()
    damages: tuple[Damage, ...] = ()
    paints: tuple[PanelPaint, ...] = ()
    extras: tuple[Extra, ...] = ()
    files: tuple[Attached, ...] = ()
    trials: tuple[Trial, ...] = ()

    @property
    def extras_total(self) -> Decimal:
        """What the extras add together."""
        return sum((extra.price or Decimal(0) for extra in self.extras), Decimal(0))


def _unsaid(sealed: Sealed | None) -> str:
    return ""


def vehicle_record(job: Job, said: Agreed = _unsaid) -> VehicleRecord:
    """Everything known of the vehicle; `said` gives a private text, "" where there is none."""
    odometers: list[Odometer] = []
    damages: list[Damage] = []
    paints: dict[str, PanelPaint] = {}
    extras: list[Extra] = []
    files: list[Attached] = []
    trials: list[Trial] = []
    for row in job.facts:
        at_us = row.at_us
        match row.event:
            case ev.OdometerRead(reading, unit):
                warning = _backwards(odometers, reading, unit)
                odometers.append(Odometer(at_us, reading, unit, warning))
            case ev.DamageNoted(panel, what, note):
                damages.append(Damage(at_us, panel, what, said(note)))
            case ev.PaintRead(panel=panel) as read:
                known = paints.get(panel, PanelPaint(panel))
                if read.when == "before":
                    known = replace(known, before=_build(known.before, read, at_us))
                else:
                    known = replace(known, after=_build(known.after, read, at_us))
                paints[panel] = known
            case ev.GlossRead(panel, when, gu, angle):
                known = paints.get(panel, PanelPaint(panel))
                gloss = Gloss(at_us, gu, angle)
                if when == "before":
                    paints[panel] = replace(known, gloss_before=gloss)
                else:
                    paints[panel] = replace(known, gloss_after=gloss)
            case ev.AgreementNoted(text, price):
                extras.append(Extra(at_us, said(text), price_of(price)))
            case ev.FileAttached(sha256, path, what, section, shows):
                files.append(Attached(at_us, sha256, said(path), what, section, shows))
            case ev.TrialJudged(stage, section, set_up, accepted):
                trials.append(Trial(at_us, stage, section, set_up, accepted))
    rank = {panel: index for index, panel in enumerate(panels(job))}
    return VehicleRecord(
        odometers=tuple(odometers),
        damages=tuple(sorted(damages, key=lambda one: rank.get(one.panel, len(rank)))),
        paints=tuple(sorted(paints.values(), key=lambda one: rank.get(one.panel, len(rank)))),
        extras=tuple(extras),
        files=tuple(files),
        trials=tuple(trials),
    )


def _build(known: Build | None, read: ev.PaintRead, at_us: Instant) -> Build:
    if not read.spots and read.low_um is None and read.high_um is None:
        return Build(at_us)
    before = known or Build(at_us)
    spots = before.spots + read.spots
    ends: list[float] = list(spots)
    if read.spots:
        # What of the ends did not come from the spots came from a quick reading.
        ends += [um for um in (before.low_um, before.high_um) if um is not None]
    else:
        ends += [um for um in (read.low_um, read.high_um) if um is not None]
    return Build(at_us, min(ends), max(ends), spots)


def _backwards(before: list[Odometer], reading: int, unit: str) -> str:
    if not before or reading * METRES[unit] >= before[-1].reading * METRES[before[-1].unit]:
        return ""
    last = before[-1]
    return f"{reading} {unit} is less than the {last.reading} {last.unit} read before."


def price_of(text: str | None) -> Decimal | None:
    """A price as written in an event; None if there is none or it is not one."""
    return Decimal(text) if text is not None and _PRICE.fullmatch(text) else None


# Set-ups.


def _trials(job: Job) -> list[ev.TrialJudged]:
    return [row.event for row in job.facts if isinstance(row.event, ev.TrialJudged)]


def set_up_for(job: Job, stage: str) -> str:
    """The set-up accepted on a test spot that the stage is to be worked with; "" if none.

    It goes from a trial stage to the later ones that do the same work: the same verb, the
    same tool, or polishing as well. The newest accepted one counts, unless the same was
    turned down since.
    """
    names = [one.name for one in job.stages]
    if stage not in names or job.stage(stage).trial:
        return ""
    place = names.index(stage)
    verdicts: dict[str, tuple[str, bool]] = {}
    for trial in _trials(job):
        if trial.stage in names[:place] and _alike(job.stage(trial.stage), job.stage(stage)):
            key = trial.set_up.casefold()
            verdicts.pop(key, None)
            verdicts[key] = (trial.set_up, trial.accepted)
    return next((text for text, accepted in reversed(verdicts.values()) if accepted), "")


def _alike(trial: Stage, stage: Stage) -> bool:
    tools = [{s.tool for s in one.steps if isinstance(s, Work)} - {""} for one in (trial, stage)]
    same = bool(verbs(trial) & verbs(stage) or tools[0] & tools[1])
    return same or (polishes(trial) and polishes(stage))


def set_up_notice(jobs: Mapping[str, Job], hands: Hands | None, chosen: Move | None) -> str:
    """The set-up of what is in hand, else of what comes next: "set-up for Polish: ..."; or ""."""
    for at in (hands, chosen):
        job = None if at is None else jobs.get(at.job)
        if at is None or job is None:
            continue
        set_up = set_up_for(job, at.stage)
        if set_up:
            return f"set-up for {at.stage}: {set_up}"
    return ""
