"""Every event there is: what was decided, told or found, as frozen facts.

An event says only what happened; when, by whom and in which press stands in its row
(`engine.facts.rows.Row`). The tag in `KINDS` is the `kind` column. A field may be added
with a default; any other change is a new version with an upcast (`engine.store.upcasts`).
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from cartclock.engine.facts.cart_events import (
    JobImported,
    PackOpened,
    PackWeighed,
    PressMoved,
    PressRestored,
    PressStruck,
    TimeCorrected,
)
from cartclock.engine.facts.customer_events import (
    CallBackEnded,
    CallBackMoved,
    CallBackPromised,
    IncidentAmended,
    IncidentNoted,
    KeysTaken,
    PaymentNoted,
    PromiseTold,
)
from cartclock.engine.facts.job_events import (
    AftercareRevised,
    AgreementNoted,
    BeforeCoatRead,
    DamageNoted,
    FileAttached,
    FreshTaken,
    GlossRead,
    HandoverRevised,
    JobAmended,
    JobClosed,
    JobGiven,
    JobOpened,
    JobReopened,
    JobTaken,
    MarksRevised,
    NoteWritten,
    OdometerRead,
    PaintRead,
    PaperIssued,
    PartSaid,
    ProductUsed,
    SectionAdded,
    SectionChecked,
    SectionReopened,
    SectionSkipped,
    SectionSplit,
    StageAdded,
    StageMoved,
    StageRevised,
    StepFinished,
    TrialJudged,
    UseCorrected,
    WaterTouched,
    WindowSeen,
    WorkPutDown,
    WorkStarted,
)
from cartclock.engine.facts.shift_events import (
    BreakEnded,
    BreakJudged,
    BreakTaken,
    CautionsRead,
    CheckedIn,
    ClockedOff,
    ClockedOn,
    ClockJudged,
    ClockStepped,
    ClothingSaid,
    DayExpected,
    DrinkTaken,
    FeltUnwell,
    GapFound,
    GapJudged,
    HotDaysSaid,
    OtherWorkAssigned,
    OtherWorkEnded,
    OtherWorkStarted,
    ReadingTaken,
    RestCalled,
    RestOverruled,
    RoofSaid,
)


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
    "StageAdded": Kind(StageAdded, "job", views=("products", "stocked"), papers=_CUSTOMER),
    "StageRevised": Kind(StageRevised, "job", views=("films", "lessons"), papers=_CUSTOMER),
    "StageMoved": Kind(StageMoved, "job", papers=_CUSTOMER),
    "AftercareRevised": Kind(AftercareRevised, "job", papers=_CUSTOMER),
    "HandoverRevised": Kind(HandoverRevised, "job", papers=_CUSTOMER),
    "SectionAdded": Kind(SectionAdded, "job", papers=_CUSTOMER),
    "SectionSplit": Kind(SectionSplit, "job", papers=_CUSTOMER),
    "WorkStarted": Kind(WorkStarted, "job", v=2, views=("films",), papers=_CUSTOMER),
    "WorkPutDown": Kind(WorkPutDown, "job", papers=_CUSTOMER),
    "StepFinished": Kind(StepFinished, "job", views=("films", "lessons"), papers=_CUSTOMER),
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
    "BeforeCoatRead": Kind(BeforeCoatRead, "job"),
    "FreshTaken": Kind(FreshTaken, "job"),
    "PaintRead": Kind(PaintRead, "job", papers=_BOTH),
    "GlossRead": Kind(GlossRead, "job", papers=_BOTH),
    "OdometerRead": Kind(OdometerRead, "job", papers=_BOTH),
    "TrialJudged": Kind(TrialJudged, "job", papers=_CUSTOMER),
    "DamageNoted": Kind(DamageNoted, "job", v=2, papers=_BOTH),
    "AgreementNoted": Kind(AgreementNoted, "job", after_close=True, papers=_BOTH),
    "NoteWritten": Kind(NoteWritten, "job", after_close=True, papers=_CUSTOMER),
    "FileAttached": Kind(FileAttached, "job", after_close=True, papers=_BOTH),
    "PaperIssued": Kind(PaperIssued, "job", after_close=True),
    "IncidentNoted": Kind(IncidentNoted, "job", after_close=True, papers=_CUSTOMER),
    "IncidentAmended": Kind(IncidentAmended, "job", after_close=True, papers=_CUSTOMER),
    "CallBackPromised": Kind(CallBackPromised, "job", after_close=True),
    "CallBackMoved": Kind(CallBackMoved, "job", after_close=True),
    "CallBackEnded": Kind(CallBackEnded, "job", after_close=True),
    "PromiseTold": Kind(PromiseTold, "job", after_close=True),
    "KeysTaken": Kind(KeysTaken, "job", after_close=True, papers=_CUSTOMER),
    "PaymentNoted": Kind(PaymentNoted, "job", after_close=True),
    "JobClosed": Kind(JobClosed, "job", v=2, papers=_CUSTOMER),
    "JobReopened": Kind(JobReopened, "job", v=2, papers=_CUSTOMER),
    "JobGiven": Kind(JobGiven, "job"),
    "JobTaken": Kind(
        JobTaken, "job", views=("films", "lessons", "products", "stocked"), papers=_BOTH
    ),
    "PartSaid": Kind(PartSaid, "job", after_close=True),
    # cart
    "PackOpened": Kind(PackOpened, "cart", views=("packs",)),
    "PackWeighed": Kind(PackWeighed, "cart", views=("packs",)),
    "JobImported": Kind(JobImported, "cart"),
    # correction
    "PressStruck": Kind(PressStruck, "correction", v=2),
    "PressRestored": Kind(PressRestored, "correction"),
    "PressMoved": Kind(PressMoved, "correction"),
    "TimeCorrected": Kind(TimeCorrected, "correction"),
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
