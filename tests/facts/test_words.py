"""Events, moves and readings in words."""

from __future__ import annotations

import pytest
from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.sealed import Sealed
from cartclock.engine.facts.turn import Turn
from cartclock.engine.facts.words import (
    amount_text,
    main_row,
    move_text,
    place_text,
    reading_text,
    row_text,
)
from tests.kit.book import JOB, opened, row_at, us
from tests.kit.plans import COAT, FALLOUT, WIPE
from tests.kit.samples import SAMPLES

A, B, ROOF = "bonnet left", "bonnet right", "roof"
JOBS = opened(COAT, FALLOUT, WIPE).jobs()

# kind -> what the sample of that kind says.
PHRASES = {
    "ClockedOn": "clocked on, carport",
    "ClockedOff": "clocked off",
    "BreakTaken": "break: rest",
    "BreakEnded": "break over",
    "OtherWorkStarted": "other work: phone",
    "OtherWorkAssigned": "other work was for job 1",
    "OtherWorkEnded": "other work over",
    "ReadingTaken": "reading: air 31.5 C, 40 % RH, panel 44 C, globe 46 C, WBGT 27.5 C, sun, windy",
    "ClothingSaid": "wearing: double layer",
    "RoofSaid": "the roof or the door is hot to the hand",
    "DayExpected": "expected today: 9 to 21.5 C",
    "DrinkTaken": "drank 250 ml",
    "FeltUnwell": "felt unwell: headache, cramps",
    "CheckedIn": "said: I am well",
    "HotDaysSaid": "worked in the heat on 9 of the last 14 days",
    "CautionsRead": "read what to mind of Wheel acid, Panel wipe",
    "RestOverruled": "rest not taken: film is flashing",
    "BreakJudged": "the break counts as work",
    "GapJudged": "a stretch was: not known",
    "ClockJudged": "said what time it is",
    "GapFound": "the program did not run for 1 min",
    "ClockStepped": "the clock was set by -5 s",
    "RestCalled": "a rest of 15 min was called before the next piece",
    "JobOpened": "job 1 opened: bottle green estate",
    "StageAdded": "stage added: Wipe",
    "StageRevised": "plan of Coat: flash behind apply: closes 6:00, was 5:00; "
    "from the label of the pack",
    "StageMoved": "stage moved: Coat, first",
    "AftercareRevised": "aftercare, no rain on the coat: until 24 hours, was 48 hours; "
    "label of the pack",
    "HandoverRevised": "hand-over: 24 hours, was 12 hours",
    "SectionAdded": "section added: boot lid (Coat)",
    "SectionSplit": "bonnet left cut into 2 (Coat)",
    "WorkStarted": "took up: apply bonnet left (Coat, layer 1)",
    "WorkPutDown": "put down: apply bonnet left (Coat, layer 1)",
    "StepFinished": "finished: apply bonnet left (Coat, layer 1)",
    "WindowSeen": "seen ready: bonnet left",
    "MarksRevised": "new marks: bonnet left",
    "SectionSkipped": "left out: bonnet left (Coat): film on it",
    "SectionReopened": "to be done again: bonnet left (Coat): high spot",
    "ProductUsed": "used: 10 drops Coating",
    "UseCorrected": "amount corrected: -2.5 Coating",
    "WaterTouched": "water on bonnet left (Coat)",
    "SectionChecked": "high spot on bonnet left (Coat): re-wet and level",
    "PaintRead": "paint read before: bonnet",
    "GlossRead": "gloss read after: bonnet",
    "OdometerRead": "odometer: 84210 mi",
    "TrialJudged": "set-up on bonnet left accepted",
    "DamageNoted": "damage: chip, bonnet",
    "JobAmended": "customer: noted",
    "AgreementNoted": "agreed with the customer",
    "NoteWritten": "note on bonnet left",
    "FileAttached": "attached: photo",
    "FreshTaken": "fresh pad: soft pad (Polish), after 4 sections",
    "BeforeCoatRead": "read before the coat: Coat, layer 1",
    "PaperIssued": "paper out: record, revision 1",
    "IncidentNoted": "incident: spill, bonnet",
    "IncidentAmended": "of an incident: what happened, what was done, photo, "
    "on the customer's sheet",
    "CallBackPromised": "to be called back: Mon 21 Sep 2026 15:13",
    "CallBackMoved": "call back moved to Mon 21 Sep 2026 16:13",
    "CallBackEnded": "called back",
    "PromiseTold": "promise moved: somebody was told",
    "KeysTaken": "who took the keys: noted",
    "PaymentNoted": "paid: card",
    "JobClosed": "job 1 closed",
    "JobReopened": "job 1 reopened",
    "JobGiven": "job 1 given to cart 0a1b",
    "JobTaken": "job 3 taken over from another cart",
    "PartSaid": "job 1: a part of another one",
    "PackOpened": "pack opened: Coating",
    "PackWeighed": "weighed: 31 left of Coating",
    "JobImported": "imported: job 7 of another laptop, white van",
    "PressStruck": "struck: press 3",
    "PressRestored": "restored: press 3",
    "PressMoved": "moved in time: press 3",
    "TimeCorrected": "the time was 1 h ahead: from press 3 on",
    "Unknown": "not understood by this version: Levitated",
}


@pytest.mark.parametrize("kind", SAMPLES)
def test_every_kind_has_a_phrase(kind: str) -> None:
    assert row_text(row_at(SAMPLES[kind], 0, job=JOB), JOBS) == PHRASES[kind]


def test_the_samples_are_every_kind() -> None:
    assert set(PHRASES) == {*ev.KINDS, "Unknown"} == set(SAMPLES)


@pytest.mark.parametrize("kind", SAMPLES)
def test_a_row_of_a_job_not_at_hand_still_has_a_phrase(kind: str) -> None:
    text = row_text(row_at(SAMPLES[kind], 0, job="job-9"), JOBS)
    assert text.strip() and "\n" not in text
    named = {"WorkStarted": "took up: Coat, bonnet left", "JobClosed": "job ? closed"}
    assert text == named.get(kind, text)


@pytest.mark.parametrize(
    ("event", "wanted"),
    [
        (ev.ClockedOn(), "clocked on"),
        (ev.BreakJudged(us(0), False), "the break does not count as work"),
        (ev.ClockStepped(3_600_000_000), "the clock was set by +3600 s"),
        (ev.SectionSkipped("Coat", (A, B)), "left out: bonnet left, bonnet right (Coat)"),
        (ev.SectionChecked("Coat", (A, B), "fine"),
         "looked at again, fine: bonnet left, bonnet right (Coat)"),
        (ev.SectionChecked("Coat", (A,), "high spot"), "high spot on bonnet left (Coat)"),
        (ev.WorkStarted("Coat", (A, B), Turn(2, 2, 2)),
         "took up: level bonnet (Coat, layer 2)"),
        (ev.WorkStarted("Fallout", ("left", "front"), Turn()),
         "took up: spray 2 sections (Fallout)"),
        (ev.WorkStarted("Wipe", ("whole car",), Turn(1, 1, 7)), "took up: work whole car (Wipe)"),
        (ev.ProductUsed("Coat", (A,), Turn(), {"coat": 2.25, "wax": 1.0}),
         "used: 2.2 drops Coating, 1  wax"),
        (ev.NoteWritten(Sealed("", "")), "note"),
        (ev.PackOpened("wax", 50.0, "g", "A17"), "pack opened: wax, lot A17"),
        (ev.PackOpened("coat", 50.0, name="Small bottle"), "pack opened: Small bottle"),
    ],
)  # fmt: skip
def test_phrases_that_depend_on_the_facts(event: Struct, wanted: str) -> None:
    assert row_text(row_at(event, 0), JOBS) == wanted


@pytest.mark.parametrize(
    ("stage", "names", "wanted"),
    [
        ("Coat", (ROOF,), "roof"),
        ("Coat", (A,), "bonnet left"),
        ("Coat", (A, B), "bonnet"),
        ("Coat", (B, A), "bonnet"),
        ("Coat", (A, ROOF), "2 sections"),
        ("Coat", (A, B, ROOF), "all 3"),
        ("Wipe", ("whole car",), "whole car"),
    ],
)
def test_places(stage: str, names: tuple[str, ...], wanted: str) -> None:
    assert place_text(JOBS[JOB], stage, names) == wanted


def test_a_part_of_a_panel_is_not_called_by_it() -> None:
    thirds = replace(
        COAT, sections=("b1", "b2", "b3", ROOF), panels=dict.fromkeys(("b1", "b2", "b3"), "bonnet")
    )
    job = opened(thirds).job()
    assert place_text(job, "Coat", ("b1", "b2")) == "2 sections"
    assert place_text(job, "Coat", ("b1", "b2", "b3")) == "bonnet"


@pytest.mark.parametrize(
    ("move", "wanted"),
    [
        (Move("end"), "put an end to this"),
        (Move("take up", JOB, "Coat", (A,), say="level"), "level bonnet left"),
        (Move("take up", JOB, "Coat", (A, B), say="level"), "level bonnet"),
        (Move("stand by", JOB, "Coat", (A,), say="level"), "stand by for bonnet left"),
        (Move("take up", JOB, "Fallout", ("left", "right", "front"), say="rinse"),
         "rinse all 3"),
    ],
)  # fmt: skip
def test_moves(move: Move, wanted: str) -> None:
    assert move_text(move, JOBS) == wanted


@pytest.mark.parametrize(
    ("amount", "unit", "wanted"),
    [
        (10.0, "ml", "10 ml"),
        (1000.0, "ml", "1000 ml"),
        (2.5, "drops", "2.5 drops"),
        (2.96, "g", "3 g"),
        (0.0, "g", "0 g"),
        (3.0, "each", "3"),
        (10.04, "ml", "10 ml"),
    ],
)
def test_amounts(amount: float, unit: str, wanted: str) -> None:
    assert amount_text(amount, unit) == wanted


def test_a_reading_leaves_out_what_was_not_measured() -> None:
    assert reading_text(ev.ReadingTaken()) == "indoors"
    assert reading_text(ev.ReadingTaken(0.0, place="cloud")) == "air 0 C, cloud"
    # Of 85 F typed the log keeps 29.44 C.
    whole = ev.ReadingTaken(29.44, 50.0, 21.0, globe_c=40.0, wbgt_c=25.0)
    assert (
        reading_text(whole, "F")
        == "air 85 F, 50 % RH, panel 69.8 F, globe 104 F, WBGT 77 F, indoors"
    )
    assert row_text(row_at(ev.DayExpected(8.0, 17.0), 0), JOBS, unit="F") == (
        "expected today: 46.4 to 62.6 F"
    )
    assert reading_text(ev.ReadingTaken(rh=55.5, moving="fan")) == "55.5 % RH, indoors, fan"


def test_a_correction_says_what_the_press_was_for() -> None:
    rows = [row_at(SAMPLES["StepFinished"], 0, job=JOB), row_at(SAMPLES["ProductUsed"], 0, job=JOB)]
    for event, verb in (
        (ev.PressStruck(3), "struck"),
        (ev.PressRestored(3), "restored"),
        (ev.PressMoved(3, 0), "moved in time"),
    ):
        said = row_text(row_at(event, 9), JOBS, main_row(rows))
        assert said == f"{verb}: {PHRASES['StepFinished']}"
