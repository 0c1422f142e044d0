"""Every cell of the shift's table; two workers on one job; no event upsets a fold."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts import job as jobs_
from cartclock.engine.facts import shift as shifts_
from cartclock.engine.facts.rows import Odd, Row
from cartclock.engine.facts.shift import (
    SHIFT_TABLE,
    Break,
    Free,
    Hands,
    Other,
    Shift,
    Span,
    shift_after,
)
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.plan.plan import Plan
from cartclock.engine.press import Press
from tests.kit.book import JOB, opened, row_at, us, without_odd
from tests.kit.plans import COAT, opening
from tests.kit.samples import ANY_EVENT, SAMPLES

A, B = "bonnet left", "bonnet right"

# What the worker is at after the event; "-": it cannot be. Work is in hand on one section;
# what is left of several has a test of its own.
WORDS = """
                 new   free    hands  break  other  off
ClockedOn        free  -       -      -      -      -
ClockedOff       -     off     -      -      -      -
BreakTaken       -     break   -      -      -      -
BreakEnded       -     -       -      free   -      -
OtherWorkStarted -     other   -      -      -      -
OtherWorkEnded   -     -       -      -      free   -
OtherWorkAssigned -    -       -      -      other  -
WorkStarted      -     hands   -      -      -      -
WorkPutDown      -     -       free   -      -      -
StepFinished     -     -       free   -      -      -
"""
STATES = ["new", "free", "hands", "break", "other", "off"]
CELLS = [
    (state, kind, word)
    for line in WORDS.strip().splitlines()[1:]
    for kind, *words in [line.split()]
    for state, word in zip(STATES, words, strict=True)
]
# Facts: "in": only while on the clock; "on": from clocking on for ever after. What the machine
# tells is "on": where the worker says later when the shift was over, it may lie behind the end.
FACTS = {
    "ReadingTaken": "in",
    "ClothingSaid": "in",
    "RoofSaid": "in",
    "DayExpected": "in",
    "DrinkTaken": "in",
    "FeltUnwell": "in",
    "CheckedIn": "in",
    "HotDaysSaid": "in",
    "CautionsRead": "in",
    "RestOverruled": "in",
    "GapFound": "on",
    "ClockStepped": "on",
    "RestCalled": "on",
    "BreakJudged": "on",
    "GapJudged": "on",
    "ClockJudged": "on",
}
TAKES: dict[str, set[str]] = {"in": {"free", "hands", "break", "other"}, "on": {*STATES} - {"new"}}
SPOKEN = {
    "new": "nobody is clocked on",
    "free": "nothing is in hand",
    "hands": "work is in hand",
    "break": "a break is on",
    "other": "other work is on",
    "off": "the shift is over",
}


def shift_in(state: str) -> Shift | None:
    book = opened(COAT, on=state != "new")
    match state:
        case "hands":
            book.press(10, ev.WorkStarted("Coat", (A,), Turn()))
        case "break":
            book.press(10, ev.BreakTaken("meal"))
        case "other":
            book.press(10, ev.OtherWorkStarted("fetching"))
        case "off":
            book.press(10, ev.ClockedOff())
    assert book.odd() == []
    shift = book.folded().shifts.get("me 1")
    assert ("new" if shift is None else shift.state) == state
    return shift


@pytest.mark.parametrize(
    ("state", "kind", "word"), CELLS, ids=[f"{state}, {kind}" for state, kind, _ in CELLS]
)
def test_cell(state: str, kind: str, word: str) -> None:
    before = shift_in(state)
    row = row_at(SAMPLES[kind], 30, 99)
    after, odd = shift_after(before, row)
    if word == "-":
        assert odd == Odd(row, f"{kind} cannot be while {SPOKEN[state]}")
        assert after is None or after.odd == [odd]
        assert without_odd(after) == before
    else:
        assert after is not None and odd is None and after.odd == []
        assert (after.state, after.on_clock) == (word, word != "off")
        if kind == "OtherWorkAssigned":
            # Whose it is says nothing of when.
            assert before is not None
            assert (after.since_us, after.spans) == (before.since_us, before.spans)
            return
        assert after.since_us == (us(30) if word != "off" else after.off_us)
        assert after.since_press == Press("cart", 99)
        assert len(after.spans) == (0 if before is None else len(before.spans) + 1)


def test_the_table_names_nothing_else() -> None:
    assert list(SHIFT_TABLE) == STATES
    assert {*FACTS} | {k for _, k, _ in CELLS} >= {kind.__name__ for kind in ev.SHIFT_EVENTS}
    for state, cells in SHIFT_TABLE.items():
        assert set(cells) == {k for s, k, word in CELLS if s == state and word != "-"}


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("kind", FACTS)
def test_facts_change_nothing_done(kind: str, state: str) -> None:
    before = shift_in(state)
    after, odd = shift_after(before, row_at(SAMPLES[kind], 30, 99))
    if state in TAKES[FACTS[kind]]:
        assert before is not None and after is not None and odd is None
        assert after != before
        assert (after.state, after.doing, after.spans) == (state, before.doing, before.spans)
    else:
        assert odd is not None
        assert without_odd(after) == before


@pytest.mark.parametrize(
    "event", [ev.GapJudged(us(9), us(9), "off"), ev.GapFound(us(9), us(8))], ids=["equal", "turned"]
)
def test_a_stretch_that_ends_before_it_begins(event: Struct) -> None:
    after, _odd = shift_after(shift_in("free"), row_at(event, 30))
    assert [odd.why for odd in after.odd] == ["a stretch ends before it begins"]
    assert (after.gaps, after.answers) == ([], [])


def test_there_is_neither_job_nor_shift_before_it_has_begun() -> None:
    early = row_at(ev.DrinkTaken(250), 0, 0)
    on, off = row_at(ev.ClockedOn("carport"), 5, 1), row_at(ev.ClockedOff(), 10, 2)
    aside = [Odd(early, "DrinkTaken cannot be while nobody is clocked on")]
    assert shifts_.fold_shift([early]) == (None, aside)
    shift, odd = shifts_.fold_shift([early, on])
    assert shift is not None and shift.odd == odd == aside
    assert (shift.id, shift.worker, shift.on.place, shift.on_us) == ("me 1", "me", "carport", us(5))
    assert (shift.on_clock, shift.off_us) == (True, None)
    shift, odd = shifts_.fold_shift([early, on, off])
    assert shift is not None and odd == aside
    assert (shift.on_clock, shift.off_us) == (False, us(10))
    noted = row_at(ev.OdometerRead(5), 0, 3)
    aside = [Odd(noted, "OdometerRead cannot be while the job is new")]
    assert jobs_.fold_job([noted]) == (None, aside)
    job, odd = jobs_.fold_job([noted, row_at(opening(COAT), 5, 4)])
    assert job is not None and job.odd == odd == aside
    assert (job.id, job.opened.number, job.opened_us, job.state) == (JOB, 1, us(5), "open")


def test_what_was_done_is_kept_without_holes() -> None:
    book = opened(COAT)
    book.press(10, ev.WorkStarted("Coat", (A, B), Turn()))
    book.press(20, ev.StepFinished("Coat", (B,), Turn()))
    assert book.shift().doing == Hands(JOB, "Coat", (A,), Turn())
    book.press(25, ev.WorkPutDown("Coat", (A,), Turn()), ev.BreakTaken("rest", 600))
    book.press(40, ev.BreakEnded(), ev.OtherWorkStarted("phone", JOB))
    book.press(55, ev.OtherWorkEnded())
    shift = book.shift()
    both = Hands(JOB, "Coat", (A, B), Turn())
    assert shift.spans_to(us(60)) == [
        Span(us(0), us(10), Free(), Press("cart", 1)),
        Span(us(10), us(20), both, Press("cart", 2)),
        Span(us(20), us(25), replace(both, sections=(A,)), Press("cart", 3)),
        Span(us(25), us(40), Break("rest", 600), Press("cart", 4)),
        Span(us(40), us(55), Other("phone", JOB), Press("cart", 6)),
        Span(us(55), us(60), Free(), Press("cart", 8)),
    ]
    assert shift.spans_to(us(55)) == shift.spans
    assert shift.jobs == [JOB] and shift.worker == "me"


def test_what_was_done_for_a_second_is_kept_too() -> None:
    book = opened(COAT)
    book.press(10, ev.WorkStarted("Coat", (A,), Turn()))
    book.press(11, ev.WorkPutDown("Coat", (A,), Turn()))
    assert [(span.start_us, span.end_us) for span in book.shift().spans] == [
        (us(0), us(10)),
        (us(10), us(11)),
    ]


@pytest.mark.parametrize(
    "event",
    [
        ev.WorkPutDown("Coat", (B,), Turn()),
        ev.WorkPutDown("Coat", (A, B), Turn()),
        ev.WorkPutDown("Coat", (), Turn()),
        ev.StepFinished("Coat", (A,), Turn(1, 1, 2)),
        ev.StepFinished("Wipe", (A,), Turn()),
    ],
)
@pytest.mark.parametrize("job", [JOB, "job-2"])
def test_only_what_is_in_hand_can_be_put_down(event: Struct, job: str) -> None:
    before = shift_in("hands")
    after, _odd = shift_after(before, row_at(event, 30, job=job))
    assert [odd.why for odd in after.odd] == ["something else is in hand"]
    assert without_odd(after) == before


# Two workers.


def test_another_workers_section_is_refused() -> None:
    book = opened(COAT)
    book.press(0, ev.ClockedOn(), worker="mate")
    book.press(10, ev.WorkStarted("Coat", (A,), Turn()))
    before = book.job()
    for event in (ev.WorkPutDown("Coat", (A,), Turn()), ev.StepFinished("Coat", (A,), Turn())):
        after, _odd = jobs_.job_after(before, row_at(event, 20, worker="mate", shift="mate 1"))
        assert [odd.why for odd in after.odd] == [f"{A} is in the hands of me"]
        assert without_odd(after) == before
    again = row_at(ev.WorkStarted("Coat", (A,), Turn()), 20, worker="mate", shift="mate 1")
    assert [odd.why for odd in jobs_.job_after(before, again)[0].odd] == [f"{A} is in hand"]


def test_two_workers_hand_one_section_on() -> None:
    book = opened(COAT)
    book.press(0, ev.ClockedOn(), worker="mate")
    book.press(10, ev.WorkStarted("Coat", (A,), Turn()))
    book.press(12, ev.WorkStarted("Coat", (B,), Turn()), worker="mate")
    book.press(20, ev.StepFinished("Coat", (A,), Turn(), Marks(60, 100, 300)))
    book.press(85, ev.StepFinished("Coat", (B,), Turn()), worker="mate")
    book.press(90, ev.WorkStarted("Coat", (A,), Turn(1, 1, 2)), worker="mate")
    book.press(95, ev.StepFinished("Coat", (A,), Turn(1, 1, 2)), worker="mate")
    assert book.odd() == []
    job = book.job()
    assert [(stint.section, stint.worker) for stint in job.stints] == [
        (A, "me"), (B, "mate"), (A, "mate"),
    ]  # fmt: skip
    assert job.shifts == ["me 1", "mate 1"]


def test_a_shift_is_one_workers() -> None:
    before = shift_in("free")
    after, _odd = shift_after(before, row_at(ev.BreakTaken("rest"), 30, worker="mate"))
    assert [odd.why for odd in after.odd] == ["this is the shift of me"]
    assert without_odd(after) == before


def test_nobody_works_off_the_clock() -> None:
    after, _odd = jobs_.job_after(
        opened(COAT).job(), row_at(ev.WorkStarted("Coat", (A,), Turn()), 20, shift="")
    )
    assert [odd.why for odd in after.odd] == ["nobody is clocked on"]
    assert after.sections["Coat", A].state == "todo"


# Totality: any event on any state is taken, or set aside with nothing else changed.

EVENTS = st.lists(ANY_EVENT, max_size=14)
FORE = st.sampled_from([[], [opening(COAT)], [ev.ClockedOn()], [opening(COAT), ev.ClockedOn()]])


@settings(max_examples=400)
@given(FORE, EVENTS)
def test_no_event_upsets_a_fold(fore: list[Struct], events: list[Struct]) -> None:
    rows: list[Row] = []
    folds: list[tuple[jobs_.Job | Shift | None, list[Odd]]] = [(None, []), (None, [])]
    for index, event in enumerate([*fore, *events]):
        row = row_at(event, index, index, job=JOB)
        rows.append(row)
        anew = [jobs_.fold_job(rows), shifts_.fold_shift(rows)]
        for at, one_more in enumerate((jobs_.job_after, shift_after)):
            was, before = folds[at]
            after, odd = one_more(was, row)  # type: ignore[operator]  # each with its own fold
            now, aside = anew[at]
            if odd is None:
                assert aside == before
            else:
                assert aside == [*before, odd] and odd.row == row and odd.why
                assert without_odd(after) == without_odd(was)
            assert without_odd(now) == without_odd(after)
            assert now is None or now.odd == aside
            folds[at] = now, aside


@pytest.mark.parametrize("kind", SAMPLES)
def test_every_kind_is_known_to_some_fold_or_set_aside(kind: str) -> None:
    row = row_at(SAMPLES[kind], 0, job=JOB)
    assert (kind in ev.KINDS) == (kind != "Unknown")
    job, odd = jobs_.fold_job([row])
    assert (job is None, len(odd)) == ((False, 0) if kind == "JobOpened" else (True, 1))


def test_an_opening_with_a_stage_twice_changes_nothing() -> None:
    """The plan reader refuses such a plan; a log from elsewhere may still hold one."""
    opened_twice = replace(opening(), plan=Plan("twice", (COAT, COAT)))
    after, odd = jobs_.job_after(None, row_at(opened_twice, 0))
    assert after is None
    assert odd is not None and odd.why == "a stage Coat is there already"
