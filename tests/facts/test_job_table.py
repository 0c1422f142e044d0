"""Every cell of the job's table; sections together, layers, redo passes, splits, additions."""

from __future__ import annotations

import pytest
from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import JOB_TABLE, Job, job_after
from cartclock.engine.facts.rows import Odd
from cartclock.engine.facts.turn import Marks, Turn
from tests.kit.book import JOB, Book, opened, row_at, us, without_odd
from tests.kit.plans import COAT, FALLOUT, POLISH, WIPE, opening_told
from tests.kit.samples import MARKS, SAMPLES

A, B, ROOF = "bonnet left", "bonnet right", "roof"

# The state of the job after the event; "-": it cannot be.
WORDS = """
                 new     open    closed  given
JobOpened        open    -       -       -
JobAmended       -       open    closed  -
StageAdded       -       open    -       -
StageRevised     -       open    -       -
StageMoved       -       open    -       -
AftercareRevised -       open    -       -
HandoverRevised  -       open    -       -
SectionAdded     -       open    -       -
SectionSplit     -       open    -       -
WorkStarted      -       open    -       -
WorkPutDown      -       open    -       -
StepFinished     -       open    -       -
WindowSeen       -       open    -       -
MarksRevised     -       open    -       -
SectionSkipped   -       open    -       -
SectionReopened  -       open    -       -
ProductUsed      -       open    -       -
UseCorrected     -       open    closed  -
WaterTouched     -       open    closed  -
SectionChecked   -       open    -       -
BeforeCoatRead   -       open    -       -
FreshTaken       -       open    -       -
PaintRead        -       open    -       -
GlossRead        -       open    -       -
OdometerRead     -       open    -       -
TrialJudged      -       open    -       -
DamageNoted      -       open    -       -
AgreementNoted   -       open    closed  -
NoteWritten      -       open    closed  -
FileAttached     -       open    closed  -
PaperIssued      -       open    closed  -
IncidentNoted    -       open    closed  -
IncidentAmended  -       open    closed  -
CallBackPromised -       open    closed  -
CallBackMoved    -       open    closed  -
CallBackEnded    -       open    closed  -
PromiseTold      -       open    closed  -
KeysTaken        -       open    closed  -
PaymentNoted     -       open    closed  -
JobClosed        -       closed  -       -
JobReopened      -       -       open    -
JobGiven         -       given   -       -
JobTaken         -       open    -       open
PartSaid         -       open    closed  -
"""
CELLS = [
    (state, kind, word)
    for line in WORDS.strip().splitlines()[1:]
    for kind, *words in [line.split()]
    for state, word in zip(("new", "open", "closed", "given"), words, strict=True)
]
STRANGERS = [kind for kind in SAMPLES if kind not in {cell[1] for cell in CELLS}]
# What the sections must have gone through before an event of that kind fits.
BEFORE: dict[str, list[Struct]] = {
    "WorkPutDown": [ev.WorkStarted("Coat", (A,), Turn())],
    "StepFinished": [ev.WorkStarted("Coat", (A,), Turn())],
    "SectionReopened": [ev.SectionSkipped("Coat", (A,))],
    "WindowSeen": [
        ev.WorkStarted("Coat", (A,), Turn()),
        ev.StepFinished("Coat", (A,), Turn(), MARKS),
    ],
}
BEFORE["SectionChecked"] = [
    event
    for layer in (1, 2)
    for step in (0, 2, 3)
    for event in (
        ev.WorkStarted("Coat", (A,), Turn(1, layer, step)),
        ev.StepFinished("Coat", (A,), Turn(1, layer, step)),
    )
]
BEFORE["MarksRevised"] = BEFORE["WindowSeen"]


def job_in(state: str, kind: str) -> Book:
    if state == "new":
        return Book()
    book = Book()
    book.press(0, opening_told(COAT), ev.ClockedOn("carport"))
    if state == "open":
        book.press(5, *BEFORE.get(kind, []))
    else:
        book.press(10, ev.JobClosed() if state == "closed" else ev.JobGiven())
    assert book.odd() == [] and book.job().state == state
    return book


def fold_in(state: str, kind: str) -> Job | None:
    return job_in(state, kind).folded().jobs.get(JOB)


def fitting(kind: str) -> Struct:
    if kind == "WindowSeen":
        return ev.WindowSeen("Coat", (A,), Turn(1, 1, 2))
    if kind == "MarksRevised":
        return ev.MarksRevised("Coat", (A,), Turn(1, 1, 2), Marks(1, 2, 3))
    return SAMPLES[kind]


@pytest.mark.parametrize(
    ("state", "kind", "word"), CELLS, ids=[f"{state}, {kind}" for state, kind, _ in CELLS]
)
def test_cell(state: str, kind: str, word: str) -> None:
    before = fold_in(state, kind)
    row = row_at(fitting(kind), 30, 99)
    after, odd = job_after(before, row)
    if word == "-":
        assert odd == Odd(row, f"{kind} cannot be while the job is {state}")
        assert after is None or after.odd == [odd]
        assert without_odd(after) == before
    else:
        assert after is not None and odd is None and after.odd == []
        assert after.state == word
        assert after != before


@pytest.mark.parametrize("state", ["new", "open", "closed", "given"])
@pytest.mark.parametrize("kind", STRANGERS)
def test_what_is_no_job_event_is_set_aside(state: str, kind: str) -> None:
    before = fold_in(state, kind)
    row = row_at(SAMPLES[kind], 30, 99)
    after, odd = job_after(before, row)
    assert odd is not None and odd.row == row
    assert without_odd(after) == before


def test_the_table_names_nothing_else() -> None:
    assert set(JOB_TABLE) == {"new", "open", "closed", "given"}
    for state, cells in JOB_TABLE.items():
        assert set(cells) == {k for s, k, word in CELLS if s == state and word != "-"}


def test_close_and_reopen_keep_their_times() -> None:
    book = opened(COAT)
    book.press(50, ev.JobClosed())
    assert book.job().closed_us == us(50)
    book.press(60, ev.JobReopened())
    assert (book.job().state, book.job().closed_us, book.job().opened_us) == ("open", None, us(0))


def test_a_job_with_work_in_hand_cannot_close() -> None:
    book = opened(COAT)
    book.press(5, ev.WorkStarted("Coat", (A,), Turn()))
    after, _odd = job_after(book.job(), row_at(ev.JobClosed(), 30))
    assert [odd.why for odd in after.odd] == [f"{A} is still in hand"]
    assert (after.state, after.closed_us) == ("open", None)


def test_the_work_of_a_stage_in_one_turn() -> None:
    job = opened(COAT).job()
    assert job.work("Coat", Turn()) == COAT.steps[0]
    assert job.work("Coat", Turn(3, 2, 2)) == COAT.steps[2]
    for stage, turn in (("Coat", Turn(1, 1, 1)), ("Coat", Turn(1, 1, 4)), ("Wipe", Turn())):
        with pytest.raises(KeyError):
            job.work(stage, turn)


# Sections together.


def test_several_sections_together() -> None:
    book = opened(COAT)
    book.press(10, ev.WorkStarted("Coat", (A, B), Turn()))
    book.press(40, ev.StepFinished("Coat", (A,), Turn(), MARKS))
    book.press(50, ev.StepFinished("Coat", (B,), Turn(), MARKS))
    assert [(w.section, w.first_us, w.last_us) for w in book.job().running] == [
        (A, us(10), us(40)),
        (B, us(10), us(50)),
    ]
    book.press(99, ev.WorkStarted("Coat", (A, B), Turn(1, 1, 2)))
    job = book.job()
    assert [(w.section, w.ended_us) for w in job.windows] == [(A, us(99)), (B, us(99))]
    assert {job.sections["Coat", name].state for name in (A, B)} == {"in hand"}


@pytest.mark.parametrize(
    ("names", "why"),
    [
        ((A, ROOF), "roof is left out"),
        ((A, "mirror"), "there is no section mirror in Coat"),
        ((A, A), "a section is named twice or none is"),
        ((), "a section is named twice or none is"),
    ],
)
def test_all_sections_or_none(names: tuple[str, ...], why: str) -> None:
    book = opened(COAT)
    book.press(5, ev.SectionSkipped("Coat", (ROOF,)))
    before = book.job()
    after, _odd = job_after(before, row_at(ev.WorkStarted("Coat", names, Turn()), 10))
    assert [odd.why for odd in after.odd] == [why]
    assert without_odd(after) == before


# Layers, redo, split, added.


def walked(book: Book, at_s: float, *turns: Turn) -> None:
    for turn in turns:
        book.press(at_s, ev.WorkStarted("Coat", (A,), turn))
        book.press(at_s, ev.StepFinished("Coat", (A,), turn))


def test_layers_then_a_redo_of_the_second() -> None:
    book = opened(COAT)
    both = [Turn(1, layer, step) for layer in (1, 2) for step in (0, 2, 3)]
    walked(book, 10, *both)
    assert book.job().sections["Coat", A].state == "done"
    book.press(20, ev.SectionReopened("Coat", (A,), Turn(2, 2, 0), "high spot"))
    section = book.job().sections["Coat", A]
    assert (section.state, section.turn, section.why) == ("todo", Turn(2, 2, 0), "high spot")
    walked(book, 30, *(Turn(2, 2, step) for step in (0, 2, 3)))
    assert book.odd() == []
    job = book.job()
    assert (job.sections["Coat", A].state, job.sections["Coat", A].turn) == ("done", Turn(2, 2, 3))
    assert [stint.turn for stint in job.stints] == [*both, *(Turn(2, 2, s) for s in (0, 2, 3))]


@pytest.mark.parametrize(
    ("turn", "why"),
    [
        (Turn(1, 1, 0), f"{A} is at another turn"),
        (Turn(3, 1, 0), f"{A} is at another turn"),
        (Turn(2, 3, 0), "Coat has no layer 3"),
        (Turn(2, 0, 0), "Coat has no layer 0"),
        (Turn(2, 1, 1), "Coat has no such work step"),
        (Turn(2, 1, 9), "Coat has no such work step"),
    ],
)
def test_redo_is_one_pass_more_at_a_work_step(turn: Turn, why: str) -> None:
    book = opened(COAT)
    book.press(5, ev.SectionSkipped("Coat", (A,)))
    after, _odd = job_after(book.job(), row_at(ev.SectionReopened("Coat", (A,), turn), 10))
    assert [odd.why for odd in after.odd] == [why]


def test_split_takes_the_place_of_the_section() -> None:
    book = opened(COAT)
    book.press(5, ev.SectionSplit("Coat", B, ("b1", "b2")))
    job = book.job()
    assert [(s.name, s.panel, s.state) for s in job.of("Coat")] == [
        (A, "bonnet", "todo"),
        ("b1", "bonnet", "todo"),
        ("b2", "bonnet", "todo"),
        (ROOF, "roof", "todo"),
    ]


@pytest.mark.parametrize(
    ("into", "why"),
    [
        (("b1",), "a cut needs at least two different names"),
        (("b1", "b1"), "a cut needs at least two different names"),
        (("b1", ROOF), "a section roof is there already"),
        ((B, "b2"), f"a section {B} is there already"),
    ],
)
def test_split_needs_new_names(into: tuple[str, ...], why: str) -> None:
    before = opened(COAT).job()
    after, _odd = job_after(before, row_at(ev.SectionSplit("Coat", B, into), 10))
    assert [odd.why for odd in after.odd] == [why]
    assert without_odd(after) == before


def test_split_of_a_reopened_section_cannot_be() -> None:
    book = opened(COAT)
    book.press(5, ev.SectionSkipped("Coat", (A,)))
    book.press(6, ev.SectionReopened("Coat", (A,), Turn(2, 1, 0)))
    after, _odd = job_after(book.job(), row_at(ev.SectionSplit("Coat", A, ("a1", "a2")), 10))
    assert [odd.why for odd in after.odd] == [f"{A} was touched already"]


def test_added_stage_and_section_stand_where_they_were_put() -> None:
    book = opened(FALLOUT, COAT)
    book.press(5, ev.StageAdded(WIPE, "Fallout"), ev.StageAdded(POLISH))
    book.press(6, ev.SectionAdded("Coat", "boot", "", A), ev.SectionAdded("Coat", "sill", "low"))
    job = book.job()
    assert [stage.name for stage in job.stages] == ["Polish", "Fallout", "Wipe", "Coat"]
    assert [(s.name, s.panel) for s in job.of("Coat")] == [
        (A, "bonnet"), ("boot", "boot"), (B, "bonnet"), (ROOF, "roof"), ("sill", "low"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("event", "why"),
    [
        (ev.StageAdded(COAT), "a stage Coat is there already"),
        (ev.StageAdded(WIPE, "Nowhere"), "there is no stage Nowhere"),
        (ev.SectionAdded("Nowhere", "x"), "there is no stage Nowhere"),
        (ev.SectionAdded("Coat", ROOF), "a section roof is there already"),
        (ev.SectionAdded("Coat", "x", "", "y"), "there is no section y in Coat"),
        (ev.WorkStarted("Nowhere", (A,), Turn()), "there is no stage Nowhere"),
    ],
)
def test_added_in_no_place_cannot_be(event: Struct, why: str) -> None:
    before = opened(COAT).job()
    after, _odd = job_after(before, row_at(event, 10))
    assert [odd.why for odd in after.odd] == [why]
    assert without_odd(after) == before
