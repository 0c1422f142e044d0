"""The record of a job and the account of a shift: known totals, and totals against the log."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from itertools import product

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.sealed import Sealed
from cartclock.engine.facts.shift import Shift
from cartclock.engine.facts.turn import Turn
from cartclock.engine.plan.plan import Check, Plan, Product, Stage, Use, Wait, Work
from cartclock.engine.record.applied import stages
from cartclock.engine.record.day import day
from cartclock.engine.record.record import RECKONING, Proof, Record, record
from cartclock.engine.rules import changes, rules
from cartclock.engine.trouble import Asks, Refused
from tests.kit.book import JOB, Book, us
from tests.kit.cost import ratio

OTHER = "job-2"
FALLOUT = Stage(
    "Iron fallout",
    ("left side", "right side"),
    (
        Work("spray", 1.0, (Use("fallout", 50.0, 80.0),)),
        Wait("dwell", 120, 180, 300),
        Work("rinse", 2.0),
    ),
    order="all",
)
POLISH = Stage("Polish", ("door", "wing"), (Work("cut", 10.0),))
LAMP = Stage("Inspection", ("whole vehicle",), (Work("walk round", 20.0),))
PRODUCTS = (Product("fallout", "Iron fallout remover"),)
PLAN = Plan("Decontamination and polish", (FALLOUT, POLISH, LAMP), PRODUCTS)


def opening(number: int = 1) -> ev.JobOpened:
    """The event that opens a job by the plan above."""
    return ev.JobOpened(PLAN, "", number, "bottle green estate", "Europe/Berlin")


def shifts(book: Book) -> dict[str, Shift]:
    """Every shift of the book by its id."""
    return {name: book.shift(name) for name in {row.shift for row in book.rows} - {""}}


def recorded(
    book: Book, at_s: float, job: str = JOB, texts: dict[str, str] | None = None
) -> Record:
    """The record of a job of the book at that second."""
    return record(
        book.job(job),
        shifts(book),
        book.jobs(),
        us(at_s),
        rows=book.rows,
        text=(texts or {}).get,
        proof=Proof(len(book.rows), "ab" * 32),
    )


def take(book: Book, at_s: float, say: str, *sections: str, job: str = JOB) -> int:
    """Takes that work up; returns the number of the press."""
    move = next(
        m
        for m in book.moves(at_s)
        if (m.act, m.job, m.say) == ("take up", job, say) and m.sections == sections
    )
    press = len(book.rows)
    book.do(at_s, rules.take_up, move)
    return press


def example() -> Book:
    """One shift with two jobs, every length a whole number of minutes.

    0 clocked on, 1 spray left, 2 spray right, 3 free, 5 rinse left (in the window), 7 rinse
    right (at its close: it opened 2 and closes 5 minutes after), 9 meal of 30, 39 phone for
    the job, 42 cut of the other job's door, 52 nothing in hand, 60 cut door, 70 cut wing,
    80 setting up, 85 clocked off.
    """
    book = Book()
    book.press(0, opening())
    book.press(0, opening(2), job=OTHER)
    book.press(0, ev.ClockedOn("carport"))
    take(book, 60, "spray", "left side")
    take(book, 120, "spray", "right side")
    book.do(180, rules.take_up, next(m for m in book.moves(180) if m.act == "stand by"))
    take(book, 300, "rinse", "left side")
    take(book, 420, "rinse", "right side")
    book.do(540, rules.take_break, "meal", finish=True)
    book.do(540 + 1800, rules.start_other, "phone", JOB)
    take(book, 2520, "spray", "left side", job=OTHER)
    book.do(3120, rules.take_up, book.moves(3120)[-1])
    take(book, 3600, "cut", "door")
    take(book, 4200, "cut", "wing")
    book.do(4800, rules.start_other, "setting up", finish=True)
    book.do(5100, rules.clock_off, {"window_open": "the hose is empty"})
    return book


def minutes(found: Record, kind: str, what: str = "", job: str = "", stage: str = "") -> float:
    """Minutes of one use in the record."""
    lengths = [
        s.length_us
        for s in found.shares
        if (s.kind, s.what, s.job, s.stage) == (kind, what, job, stage)
    ]
    return sum(lengths) / 60e6


def test_the_example_has_the_totals_reckoned_by_hand() -> None:
    found = recorded(example(), 6000)
    assert minutes(found, "hands", job=JOB, stage="Iron fallout") == 1 + 1 + 2 + 2
    assert minutes(found, "standing by", job=JOB, stage="Iron fallout") == 2
    assert minutes(found, "other", "phone", JOB) == 3
    assert minutes(found, "hands", job=JOB, stage="Polish") == 20
    assert minutes(found, "hands", job=OTHER, stage="Iron fallout") == 0
    assert minutes(found, "hands", job=OTHER, stage="") == 10
    assert minutes(found, "other", "setting up") == 5
    assert minutes(found, "break", "meal") == 30
    # 52 to 60, of which the other job's dwell closes 5 minutes after its first touch at 42.
    assert minutes(found, "unassigned") == 1 + 8
    assert found.clock_us == 85 * 60_000_000
    assert found.own_us == (6 + 2 + 3 + 20) * 60_000_000
    assert sum(share.length_us for share in found.shares) == found.clock_us


def test_shares_of_this_job_stand_in_the_order_of_its_plan_and_name_the_other_by_number() -> None:
    found = recorded(example(), 6000)
    assert [s.stage for s in found.shares if s.job == JOB and s.kind == "hands"] == [
        "Iron fallout",
        "Polish",
    ]
    assert {s.number for s in found.shares if s.job == OTHER} == {2}


def test_a_relieved_meal_of_half_an_hour_does_not_count() -> None:
    found = recorded(example(), 6000)
    (meal,) = [s for s in found.shares if s.kind == "break"]
    assert (meal.what, meal.counts) == ("meal", "not counted")


@pytest.mark.parametrize(
    ("section", "outcome", "off_s"),
    [("left side", "in the window", 0), ("right side", "late", 0)],
)
def test_a_window_says_what_was_asked_and_what_became_of_it(
    section: str, outcome: str, off_s: int
) -> None:
    found = recorded(example(), 6000)
    (window,) = [w for w in found.windows if w.section == section]
    assert (window.outcome, window.off_us) == (outcome, off_s * 1_000_000)
    assert window.opens_us == window.last_us + 120_000_000
    assert window.closes_us == window.last_us - 60_000_000 + 300_000_000


def test_a_window_taken_early_says_by_how_much() -> None:
    book = Book()
    book.press(0, opening())
    book.press(0, ev.ClockedOn())
    take(book, 60, "spray", "left side")
    take(book, 120, "spray", "right side")
    take(book, 150, "rinse", "left side")
    left, right = recorded(book, 160).windows
    assert (left.outcome, left.off_us) == ("early", 90_000_000)
    assert (right.outcome, right.off_us, right.ended_us) == ("running", 0, None)
    # First touch at 120, so it closes at 420.
    assert recorded(book, 500).windows[1].off_us == 80_000_000


def test_products_are_summed_with_what_was_put_right() -> None:
    book = example()
    book.press(5200, ev.UseCorrected("fallout", -15.5, "measured again"))
    (used,) = recorded(book, 6000).used
    assert (used.name, used.unit) == ("Iron fallout remover", "ml")
    assert used.amount == 80 + 50 - 15.5
    assert [(part.stage, part.amount) for part in used.stages] == [("Iron fallout", 130)]
    assert [(one.by, one.why) for one in used.mended] == [(-15.5, "measured again")]


def test_sections_tell_what_was_done_and_what_happened_to_them() -> None:
    book = example()
    book.do(5200, changes.skip, JOB, "Inspection", ("whole vehicle",), "too dark")
    book.do(5300, changes.redo, JOB, "Polish", ("door",), "haze")
    book.press(5400, ev.WaterTouched("Polish", ("wing",)))
    fallout, polish, lamp = recorded(book, 6000).stages
    (left,) = fallout.sections[0].applied
    assert (left.first_us, left.last_us, left.steps) == (us(60), us(420), ("spray", "rinse"))
    assert (left.whole, left.workers, left.shared) == (True, ("me",), False)
    assert [(r.what, r.why) for r in polish.sections[0].remarks] == [("done again", "haze")]
    assert polish.sections[0].state == "todo"
    assert [(r.what, r.at_us) for r in polish.sections[1].remarks] == [("water", us(5400))]
    assert (lamp.sections[0].state, lamp.sections[0].applied) == ("left out", ())
    assert [(r.what, r.why) for r in lamp.sections[0].remarks] == [("left out", "too dark")]


def test_a_redone_section_has_one_line_for_each_pass() -> None:
    book = example()
    book.do(5200, changes.redo, JOB, "Polish", ("door",), "haze")
    book.press(5300, ev.ClockedOn())
    take(book, 5400, "cut", "door")
    book.do(6000, rules.put_down)
    polish = recorded(book, 6100).stages[1]
    assert [a.pass_ for a in polish.sections[0].applied] == [1]
    take(book, 6100, "cut", "door")
    book.do(6400, rules.take_up, book.moves(6400)[-1])
    first, second = recorded(book, 6500).stages[1].sections[0].applied
    assert (first.pass_, first.last_us) == (1, us(4200))
    assert (second.pass_, second.first_us, second.last_us) == (2, us(5400), us(6400))


def test_shared_times_and_a_split_are_said() -> None:
    book = Book()
    book.press(0, opening())
    book.press(0, ev.ClockedOn())
    book.do(10, changes.split, JOB, "Polish", "door", ("door low", "door high"))
    book.do(1800, changes.fill_in, JOB, "Polish", ("door low", "door high"), us(600), us(1500))
    found = recorded(book, 1900)
    split, low, high, _wing = found.stages[1].sections
    assert (split.state, [r.why for r in split.remarks]) == ("cut in two", ["door low, door high"])
    assert [a.shared for s in (low, high) for a in s.applied] == [True, True]
    (late,) = found.trail.late
    assert (late.entered_us, late.at_us, late.rows) == (us(1800), us(600), 4)


def test_private_texts_come_through_the_mapping_and_forgotten_ones_say_so() -> None:
    book = Book()
    sealed = Sealed("r1", "00"), Sealed("r2", "00")
    book.press(0, msgspec.structs.replace(opening(), customer=sealed[1]))
    book.press(1, ev.NoteWritten(sealed[0], "Polish", "door"))
    book.press(2, ev.NoteWritten(sealed[1], private=False))
    found = recorded(book, 10, texts={"r1": "soft paint"})
    assert found.customer == "forgotten"
    assert [(n.where, n.text, n.private) for n in found.noted] == [
        ("Polish, door", "soft paint", True),
        ("", "forgotten", False),
    ]
    assert found.plate == ""


def test_each_time_it_was_closed_and_opened_again_is_told_with_the_reason() -> None:
    book = example()
    for at_s, why in ((5200, "the sills were forgotten"), (6000, "")):
        book.press(at_s, ev.JobClosed())
        book.press(at_s + 60, ev.JobReopened(why))
    told = [one for one in recorded(book, 7000).noted if one.kind == "opened again"]
    assert [(one.at_us, one.private, one.text) for one in told] == [
        (us(5260), True, "closed Mon 21 Sep 2026 17:40; the sills were forgotten"),
        (us(6060), True, "closed Mon 21 Sep 2026 17:53; no reason given"),
    ]


def test_corrections_late_entries_and_overruled_rules_are_told() -> None:
    book = example()
    struck = next(r.press.seq for r in book.rows if isinstance(r.event, ev.OtherWorkStarted))
    book.press(5200, ev.PressStruck(struck, "it was the other customer"))
    book.press(5300, ev.PressRestored(struck))
    book.press(5400, ev.PressMoved(struck, us(2400)))
    book.press(5500, ev.WaterTouched("Polish", ("door",)), entered_s=5600)
    trail = recorded(book, 6000).trail
    assert [(c.kind, c.why) for c in trail.corrections] == [
        ("struck", "it was the other customer"),
        ("restored", ""),
        ("moved", ""),
    ]
    assert [c.was_us for c in trail.corrections] == [us(2340)] * 3
    assert trail.corrections[2].to_us == us(2400)
    assert [(o.rule, o.why) for o in trail.overruled] == [("window_open", "the hose is empty")]
    assert [(e.at_us, e.entered_us) for e in trail.late] == [(us(5500), us(5600))]


def test_a_correction_of_another_job_alone_is_not_this_jobs_matter() -> None:
    book = example()
    only = book.press(5150, ev.WaterTouched("Polish", ("door",)), job=OTHER)
    book.press(5200, ev.PressStruck(only))
    assert recorded(book, 6000).trail.corrections == ()
    assert len(recorded(book, 6000, OTHER).trail.corrections) == 1


def test_gaps_clock_steps_and_rows_set_aside_are_told() -> None:
    book = Book()
    book.press(0, opening())
    book.press(0, ev.ClockedOn())
    book.press(60, ev.GapFound(us(10), us(50)), by="machine")
    book.press(70, ev.ClockStepped(3_600_000_000), by="machine")
    take(book, 80, "spray", "left side")
    book.press(90, ev.WindowSeen("Iron fallout", ("door",), Turn()))
    book.press(100, ev.BreakTaken("rest"))
    # Neither the job nor the shift can take it; it is told once.
    book.press(110, ev.StepFinished("Polish", ("door",), Turn()))
    trail = recorded(book, 200).trail
    assert [(g.from_us, g.to_us) for g in trail.gaps] == [(us(10), us(50))]
    assert [(s.at_us, s.by_us) for s in trail.steps] == [(us(70), 3_600_000_000)]
    assert [one.why for one in trail.aside] == [
        "there is no section door in Iron fallout",
        "BreakTaken cannot be while work is in hand",
        "door is to do",
    ]


def test_a_shift_that_served_the_job_only_by_phone_is_among_its_shifts() -> None:
    book = example()
    book.press(9000, ev.ClockedOn("workshop"))
    book.do(9060, rules.start_other, "phone", JOB)
    book.do(9180, rules.clock_off)
    found = recorded(book, 9999)
    assert [a.place for a in found.accounts] == ["carport", "workshop"]
    assert minutes(found, "other", "phone", JOB) == 3 + 2
    assert [a.place for a in recorded(book, 9999, OTHER).accounts] == ["carport"]


def test_a_record_goes_through_json_whole() -> None:
    found = recorded(example(), 6000)
    decoded = msgspec.json.decode(msgspec.json.encode(found), type=Record)
    assert decoded == found
    assert (found.reckoning, found.proof.rows) == (RECKONING, len(example().rows))


def test_a_shift_past_midnight_belongs_to_the_date_on_which_it_began() -> None:
    book = Book()
    zone = "UTC"
    # us(0) is Mon 21 Sep 2026 14:13:20 UTC.
    book.press(0, opening())
    book.press(8 * 3600, ev.ClockedOn("carport"))
    book.press(11 * 3600, ev.ClockedOff())
    first = day("2026-09-21", zone, shifts(book), book.jobs(), us(99_999))
    second = day("2026-09-22", zone, shifts(book), book.jobs(), us(99_999))
    assert [part.past_midnight for part in first.shifts] == [True]
    assert sum(share.length_us for share in first.shares) == 3 * 3_600_000_000
    assert [(job.number, job.opened_here) for job in first.jobs] == [(1, True)]
    assert (second.shifts, second.jobs) == ((), ())


ACTS = st.tuples(
    st.sampled_from(["first", "any", "rest", "meal", "phone", "photos", "down", "undo"]),
    st.integers(0, 50),
    st.integers(1, 40_000_000).map(lambda ticks: ticks / 100_000),
)


def played(acts: list[tuple[str, int, float]]) -> tuple[Book, float]:
    """A book of two jobs in which these acts were tried, one after the other."""
    book, at_s = Book(), 0.0
    book.press(0, opening())
    book.press(0, opening(2), job=OTHER)
    book.press(0, ev.ClockedOn())
    for act, pick, seconds in acts:
        at_s = round(at_s + seconds, 6)
        moves = book.moves(at_s)
        try:
            match act:
                case "first" | "any" if moves:
                    book.do(at_s, rules.take_up, moves[pick % len(moves) if act == "any" else 0])
                case "rest" | "meal":
                    book.do(at_s, rules.take_break, act)
                case "phone":
                    book.do(at_s, rules.start_other, "phone", OTHER if pick % 2 else JOB)
                case "photos":
                    book.do(at_s, rules.start_other, "photos", "", finish=bool(pick % 2))
                case "down":
                    book.do(at_s, rules.put_down)
                case "undo" if pick > 25 and book.rows[-1].press.seq > 2:
                    last = book.rows[-1]
                    if not isinstance(last.event, ev.PressStruck):
                        book.press(at_s, ev.PressStruck(last.press.seq))
        except (Asks, Refused):
            continue
    return book, round(at_s + 30, 6)


def naive(book: Book, end_us: int) -> Counter[tuple[str, str, str]]:
    """Microseconds by what the last event began, from raw rows without the folds."""
    struck = {r.corrects for r in book.rows if isinstance(r.event, ev.PressStruck)}
    total: Counter[tuple[str, str, str]] = Counter()
    doing, since_us, in_hand = ("free", "", ""), us(0), 0
    for row in book.rows:
        if row.press in struck:
            continue
        after = doing
        match row.event:
            case ev.WorkStarted(stage, sections):
                after, in_hand = ("hands", row.job, stage), len(sections)
            case ev.WorkPutDown(sections=sections) | ev.StepFinished(sections=sections):
                in_hand -= len(sections)
                after = doing if in_hand else ("free", "", "")
            case ev.BreakTaken(what):
                after = ("break", what, "")
            case ev.OtherWorkStarted(what, job):
                after = ("other", what, job)
            case ev.BreakEnded() | ev.OtherWorkEnded():
                after = ("free", "", "")
        total[doing] += row.at_us - since_us
        doing, since_us = after, row.at_us
    total[doing] += end_us - since_us
    return +total


@settings(max_examples=60)
@given(st.lists(ACTS, min_size=1, max_size=14))
def test_totals_equal_the_log_to_the_microsecond(acts: list[tuple[str, int, float]]) -> None:
    book, end_s = played(acts)
    wanted = naive(book, us(end_s))
    for job in (JOB, OTHER):
        found = recorded(book, end_s, job)
        if not found.accounts:
            assert not any(job in use for use in wanted)
            continue
        assert found.clock_us == us(end_s) - us(0) == wanted.total()
        got: Counter[tuple[str, str, str]] = Counter()
        for share in found.shares:
            match share.kind:
                case "hands":
                    got["hands", share.job, share.stage] += share.length_us
                case "break":
                    got["break", share.what, ""] += share.length_us
                case "other":
                    got["other", share.what, share.job] += share.length_us
                case _:
                    got["free", "", ""] += share.length_us
        # Of another job only that it took the time, not what it was worked at.
        own: Counter[tuple[str, str, str]] = Counter()
        for (kind, of, stage), length_us in wanted.items():
            stands = kind != "hands" or of == job
            own[kind, of, stage if stands else ""] += length_us
        assert got == own


def _laid(panels: int) -> Callable[[], object]:
    """The stages of a record whose every panel was laid, two layers of it, and never looked at."""
    names = tuple(f"panel {n}" for n in range(panels))
    coat = Stage("Coat", names, (Work("apply", 1.0),), layers=2, check=Check(60, 600, "panel", ""))
    book = Book()
    book.press(0, ev.JobOpened(Plan("coat", (coat,)), "", 1, "green estate"))
    book.press(0, ev.ClockedOn("carport"))
    for at_s, (layer, name) in enumerate(product((1, 2), names)):
        turn = Turn(layer=layer)
        book.press(2 * at_s, ev.WorkStarted("Coat", (name,), turn))
        book.press(2 * at_s + 1, ev.StepFinished("Coat", (name,), turn))
    job, own = book.job(), [row for row in book.rows if row.job]
    (told,) = stages(job, own)
    assert [remark.what for one in told.sections for remark in one.remarks] == (
        ["not looked at"] * panels
    )
    return lambda: stages(job, own)


@pytest.mark.parametrize("panels", [16, pytest.param(50, marks=pytest.mark.long)])
def test_a_record_grows_as_the_work_does(panels: int) -> None:
    """Eight times the panels take about eight times as long; each beside all the others, 64."""
    assert ratio(_laid(8 * panels), _laid(panels)) < 12


def test_a_page_read_before_a_stage_that_was_struck_since_is_still_told() -> None:
    book = Book()
    book.press(0, opening())
    coat = Stage("Coat", ("bonnet",), (Work("apply", 5.0),), kind="coat", layers=2)
    added = book.press(10, ev.StageAdded(coat, "Polish"))
    book.press(20, ev.BeforeCoatRead("Coat", Turn(1, 1, 0), ("Drink: none noted today.",)))
    assert [note.where for note in recorded(book, 30).noted] == ["Coat, layer 1 of 2"]
    book.press(40, ev.PressStruck(added))
    assert [note.where for note in recorded(book, 50).noted] == ["Coat"]


def test_a_changed_plan_is_told_from_what_to_what_and_whose_figure_it_is() -> None:
    book = Book()
    stage = Stage("Seal", ("bonnet",), (Work("apply"), Wait("flash", 60, 60, 300), Work("buff")))
    polish = Stage("Polish", ("bonnet",), (Work("cut"),))
    book.press(0, ev.JobOpened(Plan("tiny", (stage, polish)), "", 1, "bottle green estate"))
    closes = (stage.steps[0], Wait("flash", 60, 60, 600), stage.steps[2])
    book.press(10, ev.StageRevised(stage, replace(stage, steps=closes), "label of the pack"))
    book.press(20, ev.StageMoved("Seal", "Polish"))
    assert [(note.kind, note.where, note.text) for note in recorded(book, 30).noted] == [
        ("plan", "Seal", "flash behind apply: closes 10:00, was 5:00; from the label of the pack"),
        ("plan", "Seal", "moved, behind Polish"),
    ]
