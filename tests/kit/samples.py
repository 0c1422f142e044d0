"""One event of every kind, and strategies for events that may or may not be possible."""

from __future__ import annotations

from hypothesis import strategies as st
from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.imported import ImportedRows
from cartclock.engine.facts.sealed import Sealed
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.plan.plan import Stage
from cartclock.engine.times import Length
from tests.kit.book import us
from tests.kit.plans import COAT, DRY_CARE, FALLOUT, LEAVES, POLISH, WIPE, opening, opening_told

SEALED = Sealed("ref", "0" * 64)
FIRST = Turn()
MARKS = Marks(60, 100, 300)
LEFT = ("bonnet left",)


def _otherwise(**fields: object) -> Stage:
    """The coat with its flash otherwise."""
    apply, flash, *more = COAT.steps
    return replace(COAT, steps=(apply, replace(flash, **fields), *more))


OF_THE_LABEL, QUICKER = _otherwise(closes_s=360), _otherwise(opens_s=20, due_s=30)
FEWER = replace(COAT, steps=COAT.steps[:3])

# kind -> an event of that kind; what names a section names the first one of COAT.
SAMPLES: dict[str, Struct] = {
    type(event).__name__: event
    for event in (
        ev.ClockedOn("carport"),
        ev.ClockedOff(),
        ev.BreakTaken("rest", 600),
        ev.BreakEnded(),
        ev.OtherWorkStarted("phone"),
        ev.OtherWorkAssigned("job-1"),
        ev.OtherWorkEnded(),
        ev.ReadingTaken(31.5, 40.0, 44.0, 46.0, 27.5, "sun", "windy"),
        ev.ClothingSaid("double layer"),
        ev.RoofSaid(True),
        ev.DayExpected(9.0, 21.5),
        ev.DrinkTaken(250),
        ev.FeltUnwell(("headache", "cramps")),
        ev.CheckedIn(1800),
        ev.HotDaysSaid(9),
        ev.CautionsRead(("Wheel acid", "Panel wipe")),
        ev.RestOverruled("film is flashing"),
        ev.BreakJudged(us(0), True),
        ev.GapJudged(us(0), us(60), "not known"),
        ev.ClockJudged(),
        ev.GapFound(us(0), us(60)),
        ev.ClockStepped(-5_000_000),
        ev.RestCalled("heat", 900, "soon"),
        opening(COAT),
        ev.JobAmended("customer", SEALED),
        ev.StageAdded(WIPE, "Coat"),
        ev.StageRevised(COAT, OF_THE_LABEL, "label of the pack"),
        ev.StageMoved("Coat"),
        ev.AftercareRevised(DRY_CARE, replace(DRY_CARE, until="PT24H", source="label of the pack")),
        ev.HandoverRevised(LEAVES, replace(LEAVES, not_before="PT24H")),
        ev.SectionAdded("Coat", "boot lid"),
        ev.SectionSplit("Coat", "bonnet left", ("bonnet left 1", "bonnet left 2")),
        ev.WorkStarted("Coat", LEFT, FIRST),
        ev.WorkPutDown("Coat", LEFT, FIRST),
        ev.StepFinished("Coat", LEFT, FIRST, MARKS),
        ev.WindowSeen("Coat", LEFT, FIRST),
        ev.MarksRevised("Coat", LEFT, FIRST, Marks(1, 2, 3)),
        ev.SectionSkipped("Coat", LEFT, "film on it"),
        ev.SectionReopened("Coat", LEFT, Turn(2, 1, 0), "high spot"),
        ev.ProductUsed("Coat", LEFT, FIRST, {"coat": 10.0}),
        ev.UseCorrected("coat", -2.5, "spilt"),
        ev.WaterTouched("Coat", LEFT),
        ev.SectionChecked("Coat", LEFT, "high spot", "re-wet and level"),
        ev.PaintRead("bonnet", "before", 98.0, 121.0, (98.0, 121.0)),
        ev.GlossRead("bonnet", "after", 86.5, 20),
        ev.OdometerRead(84210, "mi"),
        ev.TrialJudged("Coat", "bonnet left", "finishing pad, speed 4", True),
        ev.DamageNoted("bonnet", "chip", SEALED),
        ev.AgreementNoted(SEALED, "40.00"),
        ev.NoteWritten(SEALED, "Coat", "bonnet left"),
        ev.FileAttached("0" * 64, SEALED),
        ev.FreshTaken("Polish", "pad", "soft pad", 4),
        ev.BeforeCoatRead("Coat", Turn(1, 1, 0), ("Drink: none noted today",)),
        ev.PaperIssued("record", 1, "0" * 64),
        ev.IncidentNoted("bonnet", "spill"),
        ev.IncidentAmended(9, SEALED, SEALED, True, "0" * 64),
        ev.CallBackPromised(us(3600), SEALED),
        ev.CallBackMoved(9, us(7200)),
        ev.CallBackEnded(9, "called"),
        ev.PromiseTold("moved", us(7200), SEALED),
        ev.KeysTaken(SEALED),
        ev.PaymentNoted("card"),
        ev.JobClosed(),
        ev.JobReopened("forgot the sills"),
        ev.JobGiven("0a1b"),
        ev.JobTaken("cart", 9, "0" * 64, 3, 2),
        ev.PartSaid("job-2"),
        ev.PackOpened("coat", 50.0),
        ev.PackWeighed("coat", 31.0),
        ev.JobImported(
            *("job", 7, "white van", us(0), None, us(3600)),
            (ImportedRows("other", 9, "0" * 64, "0-4,7", "0" * 64),),
        ),
        ev.PressStruck(3),
        ev.PressRestored(3),
        ev.PressMoved(3, us(0)),
        ev.TimeCorrected(3, us(60), Length(-3600_000_000), 9),
        ev.Unknown("Levitated", 2, "{}"),
    )
}

_STAGES = st.sampled_from(["Coat", "Fallout", "Nowhere"])
_NAMES = st.sampled_from(["bonnet left", "bonnet right", "roof", "left", "right", "new", ""])
_SOME = st.lists(_NAMES, max_size=3).map(tuple)
_TURNS = st.builds(Turn, st.integers(0, 3), st.integers(0, 3), st.integers(-1, 5))
_MARKS = st.builds(Marks, st.integers(0, 99), st.integers(0, 99), st.integers(0, 99))
_TIMES = st.integers(0, 3600).map(us)
_STRANGE = st.one_of(
    st.sampled_from([opening(), opening_told(COAT, FALLOUT), opening(FALLOUT)]),
    st.builds(ev.StageAdded, st.sampled_from([COAT, POLISH]), _STAGES | st.just("")),
    st.builds(ev.StageRevised, *2 * (st.sampled_from([COAT, OF_THE_LABEL, QUICKER, FEWER]),)),
    st.builds(ev.StageMoved, _STAGES, _STAGES | st.just("")),
    st.builds(ev.SectionAdded, _STAGES, _NAMES, _NAMES, _NAMES),
    st.builds(ev.SectionSplit, _STAGES, _NAMES, _SOME),
    *(st.builds(kind, _STAGES, _SOME, _TURNS)
      for kind in (ev.WorkStarted, ev.WorkPutDown, ev.WindowSeen, ev.SectionReopened)),
    st.builds(ev.StepFinished, _STAGES, _SOME, _TURNS, st.none() | _MARKS, st.booleans()),
    st.builds(ev.MarksRevised, _STAGES, _SOME, _TURNS, _MARKS),
    st.builds(ev.SectionSkipped, _STAGES, _SOME),
    st.builds(ev.WaterTouched, _STAGES, _SOME),
    st.builds(ev.SectionChecked, _STAGES, _SOME, st.sampled_from(["fine", "high spot"])),
    st.builds(ev.ProductUsed, _STAGES, _SOME, _TURNS, st.just({"coat": 1.0})),
    st.builds(ev.GapJudged, _TIMES, _TIMES, st.sampled_from(["off", "rest", "phone"])),
    st.builds(ev.GapFound, _TIMES, _TIMES),
)  # fmt: skip

# Events of every kind: the samples, and such as name what is not there or is in no order.
ANY_EVENT: st.SearchStrategy[Struct] = st.sampled_from(list(SAMPLES.values())) | _STRANGE
