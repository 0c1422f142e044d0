"""What a job is made of: the vehicle, what was done to it, and what was told of it."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from cartclock.engine.facts.sealed import Sealed, Words
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.plan.plan import Aftercare, Handover, Plan, Product, Stage, Tool, WearKind
from cartclock.engine.times import Instant


class JobOpened(Struct, frozen=True):
    """A job began to exist.

    Fields:
        plan: the whole plan as parsed.
        plan_sha256: hex digest of the plan file's text, under which the text is kept.
        number: the job's handle on this cart, from 1.
        vehicle: what it looks like ("bottle green estate").
        zone: the customer's IANA time zone.
        customer, plate, phone: private texts; None if not taken.
        promised_us: promised hand-over, job time; None if none.
        price: agreed price as a decimal text; None if none.
    """

    plan: Plan
    plan_sha256: str
    number: int
    vehicle: str
    zone: str = "UTC"
    customer: Sealed | None = None
    plate: Sealed | None = None
    phone: Sealed | None = None
    promised_us: Instant | None = None
    price: str | None = None


Amended = Literal["customer", "plate", "phone", "price", "promised_us"]


class JobAmended(Struct, frozen=True):
    """One thing said when the job was opened is otherwise; with None it is said no more.

    Fields:
        what: which field of `JobOpened`.
        text: the customer, the plate or the phone.
        price, promised_us: as in `JobOpened`.
    """

    what: Amended
    text: Sealed | None = None
    price: str | None = None
    promised_us: Instant | None = None


class StageAdded(Struct, frozen=True):
    """A stage that the plan did not have, put behind the stage `after` ("": first).

    Fields:
        products, tools: that its steps name; one whose id the plan has already is the plan's.
    """

    stage: Stage
    after: str = ""
    products: tuple[Product, ...] = ()
    tools: tuple[Tool, ...] = ()


ChangeSource = Literal["label of the pack", "by hand"]


class StageRevised(Struct, frozen=True):
    """A stage is otherwise for all of it that is still to come.

    Fields:
        was: the stage as it stood.
        stage: as it is from here on, of the same name and sections; of a stage that was begun only
            minutes, amounts, lengths of time and remedies are others.
        source: where the change comes from.
    """

    was: Stage
    stage: Stage
    source: ChangeSource = "by hand"


class StageMoved(Struct, frozen=True):
    """A stage is done behind the stage `after` ("": first)."""

    stage: str
    after: str = ""


class AftercareRevised(Struct, frozen=True):
    """A line of the aftercare has another length of time, or another source.

    Fields:
        was: the line as it stood; care: as it is from here on.
    """

    was: Aftercare
    care: Aftercare


class HandoverRevised(Struct, frozen=True):
    """How long after its stage the vehicle is not handed over is another length, or has another
    source.

    Fields:
        was: as it stood; handover: as it is from here on.
    """

    was: Handover
    handover: Handover


class SectionAdded(Struct, frozen=True):
    """A section that the stage did not have, put behind `after` ("": last)."""

    stage: str
    section: str
    panel: str = ""
    after: str = ""


class SectionSplit(Struct, frozen=True):
    """A section never touched was cut into others, which take its place."""

    stage: str
    section: str
    into: tuple[str, ...]


class WorkStarted(Struct, frozen=True):
    """Hands on these sections. `over` holds the reason for each rule overruled."""

    stage: str
    sections: tuple[str, ...]
    turn: Turn
    over: dict[str, Words] = {}


class WorkPutDown(Struct, frozen=True):
    """Hands off these sections, the step not finished."""

    stage: str
    sections: tuple[str, ...]
    turn: Turn


class StepFinished(Struct, frozen=True):
    """The work step is done on these sections.

    Fields:
        marks: marks of the wait that begins now, frozen; None if none begins.
        shared: True if the times were shared out evenly afterwards.
    """

    stage: str
    sections: tuple[str, ...]
    turn: Turn
    marks: Marks | None = None
    shared: bool = False


class WindowSeen(Struct, frozen=True):
    """The worker watched the film and saw it ready."""

    stage: str
    sections: tuple[str, ...]
    turn: Turn


class MarksRevised(Struct, frozen=True):
    """New marks for a running window."""

    stage: str
    sections: tuple[str, ...]
    turn: Turn
    marks: Marks


class SectionSkipped(Struct, frozen=True):
    """These sections will not be done."""

    stage: str
    sections: tuple[str, ...]
    why: Words = ""


class SectionReopened(Struct, frozen=True):
    """These sections are to be done again, from `turn` on (its pass is a new one)."""

    stage: str
    sections: tuple[str, ...]
    turn: Turn
    why: Words = ""


class ProductUsed(Struct, frozen=True):
    """Amounts that went on these sections, by product id, in the product's unit, as applied."""

    stage: str
    sections: tuple[str, ...]
    turn: Turn
    amounts: dict[str, float]


class FreshTaken(Struct, frozen=True):
    """A fresh pad or towel was taken in place of the one in use.

    Fields:
        stage: of the work that wears it.
        what, name: a pad or a towel, and what the plan calls it.
        sections: on how many the one before was used, >= 0.
    """

    stage: str
    what: WearKind
    name: str
    sections: int


class UseCorrected(Struct, frozen=True):
    """The amount booked for a product was off by `by` (may be negative), in its unit."""

    product: str
    by: float
    why: Words = ""


class WaterTouched(Struct, frozen=True):
    """Water got on these sections."""

    stage: str
    sections: tuple[str, ...]


Found = Literal["fine", "high spot", "missed place", "smear", "hologram", "lint", "not looked at"]
"""What a second look finds, in words of the trade; common practice, no source."""


class SectionChecked(Struct, frozen=True):
    """The newest layer on these sections was looked at again, or will not be.

    Fields:
        found: what was seen.
        remedy: what is done about it, or why nobody looks; "" if nothing.
    """

    stage: str
    sections: tuple[str, ...]
    found: Found
    remedy: str = ""


class BeforeCoatRead(Struct, frozen=True):
    """The page before a layer of a coat was read.

    Fields:
        stage, turn: the layer that is begun; the first step of it.
        said: what it said of rest, drink, content of the packs and gate, a sentence each.
    """

    stage: str
    turn: Turn
    said: tuple[str, ...]


class PaintRead(Struct, frozen=True):
    """Total film build of a panel by gauge, micrometres; both None: not measurable there.

    Fields:
        panel: where.
        when: before or after the work on the paint.
        low_um, high_um: lowest and highest reading; of a spot its mean, twice.
        spots: means of three readings within 4 cm (SSPC-PA 2); empty for a quick reading.
    """

    panel: str
    when: Literal["before", "after"]
    low_um: float | None = None
    high_um: float | None = None
    spots: tuple[float, ...] = ()


class GlossRead(Struct, frozen=True):
    """Gloss of a panel in gloss units (ISO 2813) at `angle` degrees; None: not measurable there."""

    panel: str
    when: Literal["before", "after"]
    gu: float | None = None
    angle: Literal[60, 20] = 60


class OdometerRead(Struct, frozen=True):
    """What the odometer shows, in whole `unit`."""

    reading: int
    unit: Literal["km", "mi"] = "km"


class TrialJudged(Struct, frozen=True):
    """A set-up (pad, product, speed) was tried on a section of a trial stage, and judged."""

    stage: str
    section: str
    set_up: str
    accepted: bool


# A version is one more with every word: an older program sets aside what it does not know.
DamageKind = Literal[
    "chip",
    "scratch",
    "dent",
    "repaint",
    "etching",
    "overspray",
    "kerbed wheel",
    "crack",
    "stain",
    "rust",
    "missing part",
]


class DamageNoted(Struct, frozen=True):
    """Damage found on a panel."""

    panel: str
    what: DamageKind
    note: Sealed | None = None


class AgreementNoted(Struct, frozen=True):
    """Something agreed with the customer; `price`: what it adds, decimal text."""

    text: Sealed
    price: str | None = None


class NoteWritten(Struct, frozen=True):
    """A note. `private`: never on the customer's paper."""

    text: Sealed
    stage: str = ""
    section: str = ""
    private: bool = True


class FileAttached(Struct, frozen=True):
    """A file that belongs to the job, by its digest; `path`: where it was, private; `shows`: what
    a photo was taken for, one of `engine.vehicle.vehicle.SHOWS`, "" if nobody said.
    """

    sha256: str
    path: Sealed
    what: str = "photo"
    section: str = ""
    shows: str = ""


class PaperIssued(Struct, frozen=True):
    """A paper left the laptop."""

    paper: str
    revision: int
    sha256: str


class JobClosed(Struct, frozen=True):
    """The vehicle was handed over. `over` holds the reason for each rule overruled."""

    over: dict[str, Words] = {}


class JobGiven(Struct, frozen=True):
    """The job goes to another cart; nothing more is done on it here.

    Fields:
        to: how the identity of the only installation begins that may take it; "": whichever the
            shop lets.
    """

    to: str = ""


class JobTaken(Struct, frozen=True):
    """This cart goes on with a job that another had; what was in hand there lies held.

    Fields:
        of: identity of the installation that had it.
        seq, digest: the newest of its rows that counts for the job; later ones are set aside.
        number: what the job is called on this cart, from 1.
        tenure: 2 for the first hand-over of the job, one more each time.
    """

    of: str
    seq: int
    digest: str
    number: int
    tenure: int


class PartSaid(Struct, frozen=True):
    """The job is a part of another one on the same vehicle, which is worked elsewhere or by others.

    Fields:
        whole: id of that job; "": it stands by itself.
    """

    whole: str


class JobReopened(Struct, frozen=True):
    """The job goes on after its close."""

    why: Words = ""
