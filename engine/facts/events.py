"""Every event there is: what was decided, told or found, as frozen facts.

An event says only what happened; when, by whom and in which press stands in its row
(`engine.facts.rows.Row`). The tag in `KINDS` is the `kind` column. A field may be added
with a default; any other change is a new version with an upcast (`engine.store.upcasts`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from msgspec import Struct

from cartclock.engine.plan.plan import Plan, Stage
from cartclock.engine.times import Instant, Length

BreakKind = Literal["rest", "meal", "heat", "away"]
OtherKind = Literal[
    "customer",
    "phone",
    "water and mixing",
    "moving the car",
    "pads and towels",
    "fetching",
    "photos",
    "driving",
    "setting up",
]
GapAnswer = Literal["as it stood", "not known", "off"] | BreakKind | OtherKind
ReadingPlace = Literal["indoors", "outdoor shade", "cloud", "sun"]
AirMovement = Literal["still", "not said", "fan", "windy"]
CallGrade = Literal["soon", "now", "not here"]


class Sealed(Struct, frozen=True):
    """A private text by reference: the text and its salt stand outside the log.

    Fields:
        ref: key of the private text.
        sha256: hex of SHA-256 over salt and text; stays when the text is forgotten.
    """

    ref: str
    sha256: str


class Said(str):
    """Words of a person, as a text like any other; on the disk only a reference stands for them.

    Fields:
        sealed: the reference; None for words that stand in the row itself, as the first version
            wrote them, and for such as are still to be written.
    """

    __slots__ = ("sealed",)
    sealed: Sealed | None

    def __new__(cls, text: str, sealed: Sealed | None = None) -> Said:
        said = super().__new__(cls, text)
        said.sealed = sealed
        return said


if TYPE_CHECKING:
    # A field takes any text; what is read from a log is `Said`.
    Words = str
else:
    Words = Said

# What is read for words whose text was forgotten.
FORGOTTEN = "forgotten"


class Turn(Struct, frozen=True, order=True, array_like=True):
    """Which time round a section is at: what the worker saw when the press was made.

    Fields:
        pass_: 1, and one more each time a section is reopened.
        layer: 1 to the stage's layers.
        step: index of a Work step in the stage's steps.
    """

    pass_: int = 1
    layer: int = 1
    step: int = 0


class Marks(Struct, frozen=True, array_like=True):
    """A window's marks in seconds: opens and due after the last touch, closes after the first.

    Fields:
        off_by_s: of a labelled flash, after the last touch: nine in ten are ready, and the
            label's longest is not passed; None for any other wait.
    """

    opens_s: int
    due_s: int
    closes_s: int
    off_by_s: int | None = None


# A shift's own events.


class ClockedOn(Struct, frozen=True):
    """A worker began a shift.

    Fields:
        place: where, in the worker's own words; "" if not said.
        rule_set: which rule set judges the breaks ("29 CFR 785", "none").
        zone: IANA time zone of the place.
        acclimatization: "acclimatized", "not acclimatized" or "" if not answered.
        because: the reason for it.
        clothing: what is worn, a key of `engine.figures.limits.CLOTHING_C`.
        latitude, longitude: of the place, degrees, north and east positive; None if not settled.
    """

    place: str = ""
    rule_set: str = "29 CFR 785"
    zone: str = "UTC"
    acclimatization: str = ""
    because: str = ""
    clothing: str = "work clothes"
    latitude: float | None = None
    longitude: float | None = None


class ClockedOff(Struct, frozen=True):
    """The shift ended. `over` holds the reason for each rule overruled."""

    over: dict[str, Words] = {}


class BreakTaken(Struct, frozen=True):
    """Hands rest.

    Fields:
        planned_s: intended length in seconds; None if open.
        over: the reason for each rule overruled.
    """

    what: BreakKind
    planned_s: int | None = None
    over: dict[str, Words] = {}


class BreakEnded(Struct, frozen=True):
    """Back at the cart."""


class OtherWorkStarted(Struct, frozen=True):
    """Work beside the vehicle.

    Fields:
        job: whose job it serves; "" if nobody's in particular.
        over: the reason for each rule overruled.
    """

    what: OtherKind
    job: str = ""
    over: dict[str, Words] = {}


class OtherWorkAssigned(Struct, frozen=True):
    """The other work that is on serves another job, from its beginning; "": nobody's."""

    job: str


class OtherWorkEnded(Struct, frozen=True):
    """The other work ended."""


class ReadingTaken(Struct, frozen=True):
    """The climate at the car.

    Fields:
        air_c, panel_c, globe_c, wbgt_c: degrees C; None if not measured.
        rh: percent; None if not measured.
        place: where the instruments stood.
        moving: how the air moves; "not said": as it mostly does at such a place.
        rain_at_us: when rain is expected, job time; None if not.
        confirmed: True if figures of it looked odd, and the worker was asked and kept them.
    """

    air_c: float | None = None
    rh: float | None = None
    panel_c: float | None = None
    globe_c: float | None = None
    wbgt_c: float | None = None
    place: ReadingPlace = "indoors"
    moving: AirMovement = "still"
    rain_at_us: Instant | None = None
    confirmed: bool = False


class ClothingSaid(Struct, frozen=True):
    """What is worn from here on: a key of `engine.figures.limits.CLOTHING_C`."""

    clothing: str


class RoofSaid(Struct, frozen=True):
    """Whether the roof or the door indoors is hot to the hand."""

    hot: bool


class DayExpected(Struct, frozen=True):
    """What the forecast says for today: the lowest and highest air temperature in C.

    Fields:
        low_c, high_c: -30 to 60 C, the low not above the high.
    """

    low_c: float
    high_c: float


class DrinkTaken(Struct, frozen=True):
    """A drink of `ml` millilitres, > 0."""

    ml: int


class FeltUnwell(Struct, frozen=True):
    """The worker named these signs."""

    signs: tuple[Words, ...]


class CheckedIn(Struct, frozen=True):
    """A lone worker says "I am well"; the next time is due after `every_s` seconds (0: no more)."""

    every_s: int


class HotDaysSaid(Struct, frozen=True):
    """The worker said on how many of the last 14 days the work was in the heat, 0 to 14.

    Fields:
        days: the answer.
        acclimatization, because: what it came to with the log's own days; as in `ClockedOn`.
    """

    days: int
    acclimatization: str = ""
    because: str = ""


class CautionsRead(Struct, frozen=True):
    """The worker read what is to be minded of products that are new on this cart.

    Fields:
        products: their names, at least one.
    """

    products: tuple[str, ...]


class RestOverruled(Struct, frozen=True):
    """A rest that was called is not taken now; the reason is the worker's own."""

    why: Words


class BreakJudged(Struct, frozen=True):
    """The worker said whether the break that holds the instant `within_us` counts as work."""

    within_us: Instant
    counted: bool


class GapJudged(Struct, frozen=True):
    """The worker said what a stretch of time was; a later answer covers an earlier one."""

    from_us: Instant
    to_us: Instant
    was: GapAnswer


class ClockJudged(Struct, frozen=True):
    """The clocks could not tell the time and the worker did; the row's time is the answer."""


class GapFound(Struct, frozen=True):
    """Found by the machine: the program did not run between these two job times."""

    from_us: Instant
    to_us: Instant


class ClockStepped(Struct, frozen=True):
    """Found by the machine: the wall clock was set by `by_us` microseconds within one boot."""

    by_us: Length


class RestCalled(Struct, frozen=True):
    """Told by the machine: a rest of `rest_s` seconds, by the rule named.

    Fields:
        grade: "soon": before the next piece is begun; "now": the limit or the table is reached;
            "not here": no rest here makes work of it.
    """

    rule: str
    rest_s: int
    grade: CallGrade = "now"


# A job's own events.


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
    """A stage that the plan did not have, put behind the stage `after` ("": first)."""

    stage: Stage
    after: str = ""


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
    """A file that belongs to the job, by its digest; `path`: where it was, private."""

    sha256: str
    path: Sealed
    what: str = "photo"
    section: str = ""


class PaperIssued(Struct, frozen=True):
    """A paper left the laptop."""

    paper: str
    revision: int
    sha256: str


class JobClosed(Struct, frozen=True):
    """The vehicle was handed over. `over` holds the reason for each rule overruled."""

    over: dict[str, Words] = {}


class JobReopened(Struct, frozen=True):
    """The job goes on after its close."""

    why: Words = ""


# The cart's own events.


class PackOpened(Struct, frozen=True):
    """A new pack of a product on the cart.

    Fields:
        product: the id that plans give it.
        content, unit: what a full pack holds, > 0; ml, g, drops or each.
        lot: as printed on the pack; "" if not noted.
        expires: last day of use as printed, ISO 8601 date; "" if not noted.
        price: of the pack, decimal text, currency from settings; None if not noted.
        name: what the bottle is called; "" if as in the plan.
    """

    product: str
    content: float
    unit: str = "ml"
    lot: str = ""
    expires: str = ""
    price: str | None = None
    name: str = ""


class PackWeighed(Struct, frozen=True):
    """What is left of a product, in its unit."""

    product: str
    left: float


# Corrections: nothing is edited; a later event takes back, restores or moves a press. Which one
# is said by its number and its `origin`, "" for the row's own: `Row.corrects` is the one reader.


class PressStruck(Struct, frozen=True):
    """A press (sequence number of its first row) does not stand."""

    press: int
    why: Words = ""
    origin: str = ""


class PressRestored(Struct, frozen=True):
    """A struck press stands again."""

    press: int
    origin: str = ""


class PressMoved(Struct, frozen=True):
    """A press happened at another time: its first row at `to_us`, the others as far behind."""

    press: int
    to_us: Instant
    origin: str = ""


class Unknown(Struct, frozen=True):
    """A row this version cannot read, kept as it stands; every fold sets it aside."""

    kind: str
    v: int
    body: str


Matter = Literal["shift", "job", "cart", "correction"]
# The customer's papers, and the sheet of the arrival.
OutsidePaper = Literal["customer", "arrival"]


class Kind(Struct, frozen=True):
    """What a kind of event is and touches.

    Fields:
        event: its class.
        of: what it is a matter of.
        v: version of its body, from 1; of an older one see `engine.store.upcasts`.
        after_close: it may follow the close of its job.
        any_time: it may stand in a shift that is over.
        views: names of the views (`engine.facts.view`) whose parts it may change, besides those
            that take every event of a job or a shift.
        papers: papers other than the record whose revision names its press; whether such a
            paper has changed is seen by the paper.
    """

    event: type[Struct]
    of: Matter
    v: int = 1
    after_close: bool = False
    any_time: bool = False
    views: tuple[str, ...] = ()
    papers: tuple[OutsidePaper, ...] = ()


_CUSTOMER: tuple[OutsidePaper, ...] = ("customer",)
_BOTH: tuple[OutsidePaper, ...] = ("customer", "arrival")

# The tag stands on the disk and under the digests: a literal that never changes, whatever the
# class is called.
KINDS: dict[str, Kind] = {
    # shift
    "ClockedOn": Kind(ClockedOn, "shift"),
    "ClockedOff": Kind(ClockedOff, "shift", v=2),
    "BreakTaken": Kind(BreakTaken, "shift", v=2),
    "BreakEnded": Kind(BreakEnded, "shift"),
    "OtherWorkStarted": Kind(OtherWorkStarted, "shift", v=2),
    "OtherWorkAssigned": Kind(OtherWorkAssigned, "shift"),
    "OtherWorkEnded": Kind(OtherWorkEnded, "shift"),
    "ReadingTaken": Kind(ReadingTaken, "shift", papers=_CUSTOMER),
    "ClothingSaid": Kind(ClothingSaid, "shift"),
    "RoofSaid": Kind(RoofSaid, "shift"),
    "DayExpected": Kind(DayExpected, "shift"),
    "DrinkTaken": Kind(DrinkTaken, "shift"),
    "FeltUnwell": Kind(FeltUnwell, "shift", v=2),
    "CheckedIn": Kind(CheckedIn, "shift"),
    "HotDaysSaid": Kind(HotDaysSaid, "shift"),
    "CautionsRead": Kind(CautionsRead, "shift"),
    "RestOverruled": Kind(RestOverruled, "shift", v=2),
    "BreakJudged": Kind(BreakJudged, "shift", any_time=True),
    "GapJudged": Kind(GapJudged, "shift", any_time=True),
    "ClockJudged": Kind(ClockJudged, "shift", any_time=True),
    "GapFound": Kind(GapFound, "shift", any_time=True),
    "ClockStepped": Kind(ClockStepped, "shift", any_time=True),
    "RestCalled": Kind(RestCalled, "shift", v=2, any_time=True),
    # job
    "JobOpened": Kind(JobOpened, "job", views=("products", "stocked"), papers=_BOTH),
    "JobAmended": Kind(JobAmended, "job", after_close=True, papers=_BOTH),
    "StageAdded": Kind(StageAdded, "job", papers=_CUSTOMER),
    "SectionAdded": Kind(SectionAdded, "job", papers=_CUSTOMER),
    "SectionSplit": Kind(SectionSplit, "job", papers=_CUSTOMER),
    "WorkStarted": Kind(WorkStarted, "job", v=2, views=("films",), papers=_CUSTOMER),
    "WorkPutDown": Kind(WorkPutDown, "job", papers=_CUSTOMER),
    "StepFinished": Kind(StepFinished, "job", views=("films", "timed"), papers=_CUSTOMER),
    "WindowSeen": Kind(WindowSeen, "job", views=("films",), papers=_CUSTOMER),
    "MarksRevised": Kind(MarksRevised, "job", views=("films",), papers=_CUSTOMER),
    "SectionSkipped": Kind(SectionSkipped, "job", v=2, views=("films",), papers=_CUSTOMER),
    "SectionReopened": Kind(SectionReopened, "job", v=2, papers=_CUSTOMER),
    "ProductUsed": Kind(ProductUsed, "job", views=("products", "stocked"), papers=_CUSTOMER),
    "UseCorrected": Kind(
        UseCorrected, "job", v=2, after_close=True, views=("stocked",), papers=_CUSTOMER
    ),
    "WaterTouched": Kind(WaterTouched, "job", after_close=True, papers=_CUSTOMER),
    "SectionChecked": Kind(SectionChecked, "job", papers=_CUSTOMER),
    "PaintRead": Kind(PaintRead, "job", papers=_BOTH),
    "GlossRead": Kind(GlossRead, "job", papers=_BOTH),
    "OdometerRead": Kind(OdometerRead, "job", papers=_BOTH),
    "TrialJudged": Kind(TrialJudged, "job", papers=_CUSTOMER),
    "DamageNoted": Kind(DamageNoted, "job", v=2, papers=_BOTH),
    "AgreementNoted": Kind(AgreementNoted, "job", after_close=True, papers=_BOTH),
    "NoteWritten": Kind(NoteWritten, "job", after_close=True, papers=_CUSTOMER),
    "FileAttached": Kind(FileAttached, "job", after_close=True, papers=_BOTH),
    "PaperIssued": Kind(PaperIssued, "job", after_close=True),
    "JobClosed": Kind(JobClosed, "job", v=2, papers=_CUSTOMER),
    "JobReopened": Kind(JobReopened, "job", v=2, papers=_CUSTOMER),
    # cart
    "PackOpened": Kind(PackOpened, "cart", views=("packs",)),
    "PackWeighed": Kind(PackWeighed, "cart", views=("packs",)),
    # correction
    "PressStruck": Kind(PressStruck, "correction", v=2),
    "PressRestored": Kind(PressRestored, "correction"),
    "PressMoved": Kind(PressMoved, "correction"),
}
TAGS: dict[type[Struct], str] = {kind.event: tag for tag, kind in KINDS.items()}


def taken_by(view: str) -> frozenset[str]:
    """The tags of the events that may change a part of the view of that name."""
    return frozenset(tag for tag, kind in KINDS.items() if view in kind.views)


def _events_of(of: Matter) -> tuple[type[Struct], ...]:
    return tuple(kind.event for kind in KINDS.values() if kind.of == of)


SHIFT_EVENTS = _events_of("shift")
JOB_EVENTS = _events_of("job")
CART_EVENTS = _events_of("cart")
CORRECTIONS = _events_of("correction")
