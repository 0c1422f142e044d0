"""The page before a coat: when it is asked for, what it says, and what is written of it."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from cartclock.engine.body.watch import watch
from cartclock.engine.dates import spoken_near
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.call_backs import CallBack
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.films.before_coat import BEFORE_COAT, page_due
from cartclock.engine.films.gate import GATE
from cartclock.engine.films.waves import PLANNED, Factors, wave_minutes
from cartclock.engine.now.before_coat import ASKED_NEXT, EYES, BeforeCoat, before_coat
from cartclock.engine.plan.plan import Product, Use, Work
from cartclock.engine.products.stock import stock
from cartclock.engine.record.record import record
from cartclock.engine.rules import rules
from cartclock.engine.rules.before_coat import read_before_coat
from cartclock.engine.rules.rest_in_wave import REST_IN_WAVE
from cartclock.engine.trouble import Asks, Refused
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import COAT, WIPE, opening

A, B, ROOF = "bonnet left", "bonnet right", "roof"
FINE = ev.ReadingTaken(air_c=22.0, rh=50.0, panel_c=22.0)
LAID = Work("apply", 5.0, (Use("coat", 4.0, first=6.0),))
STAGE = replace(COAT, kind="coat", steps=(LAID, *COAT.steps[1:]))
GAP_S = 3600


def up(*names: str, turn: Turn | None = None) -> Move:
    return Move("take up", JOB, "Coat", names or (A,), turn or Turn())


def car() -> Book:
    """A coat of two layers ahead, the gate met, a pack of 20 ml weighed."""
    products = (Product("coat", "Coating", pack=50.0),)
    book = Book()
    job = opening(STAGE)
    book.press(0, replace(job, plan=replace(job.plan, products=products)), job=JOB)
    book.press(1, ev.ClockedOn())
    book.press(2, FINE)
    book.press(3, ev.PackOpened("coat", 50.0, "ml"), job="")
    book.press(4, ev.PackWeighed("coat", 20.0), job="")
    return book


def page(book: Book, at_s: float, move: Move) -> BeforeCoat:
    shift = book.scene(at_s).on
    jobs = {JOB: book.job()}
    there = stock(book.rows)
    return before_coat(book.job(), move, shift, watch(shift, jobs, us(at_s)), there, us(at_s))


def asked(book: Book, at_s: float, move: Move, worker: str = "me") -> str:
    """Which rule asks, the page asked for; "" if none does."""
    try:
        rules.take_up(book.scene(at_s, worker), move, before_coat=True)
    except Asks as asks:
        return asks.rule_id
    return ""


def layer(book: Book, at_s: float, name: str, turn: Turn) -> None:
    for step in (0, 2, 3):
        book.press(at_s, ev.WorkStarted("Coat", (name,), replace(turn, step=step)))
        book.press(at_s, ev.StepFinished("Coat", (name,), replace(turn, step=step)))


def test_it_is_asked_once_before_a_layer_and_again_on_another_day() -> None:
    book = car()
    assert asked(book, 60, up()) == BEFORE_COAT
    book.do(60, read_before_coat, up(), ("Drink: none noted today",))
    assert asked(book, 70, up()) == asked(book, 70, up(ROOF)) == ""
    layer(book, 80, A, Turn())
    unread = car()
    layer(unread, 80, A, Turn())
    # Nor is it asked in the middle of a layer that was begun without it.
    assert asked(unread, 90, up(B)) == ""
    book.press(100, ev.ClockedOff())
    book.press(30000, ev.ClockedOn())
    book.press(30001, FINE)
    assert page_due(book.job(), up(B), us(30000))
    assert asked(book, 30060, up(B)) == BEFORE_COAT


def test_a_panel_laid_anew_brings_no_page_and_a_layer_does() -> None:
    book = car()
    for at_s, name in ((80, A), (90, B), (100, ROOF)):
        layer(book, at_s, name, Turn())
    second = Turn(1, 2, 0)
    assert page_due(book.job(), up(turn=second), us(1))
    for at_s, name in ((280, A), (290, B), (300, ROOF)):
        layer(book, at_s, name, second)
    again = Turn(2, 1, 0)
    book.press(3000, ev.SectionReopened("Coat", (ROOF,), again, "dust"))
    assert not page_due(book.job(), up(ROOF, turn=again), us(1))
    book.press(3100, ev.SectionReopened("Coat", (A, B), again, "dust"))
    assert page_due(book.job(), up(turn=again), us(1))


def test_nothing_is_asked_in_front_of_a_film() -> None:
    book = car()
    book.press(60, ev.JobOpened(opening(COAT).plan, "", 2, "van"), job="job-2")
    book.press(61, ev.WorkStarted("Coat", (A,), Turn()), job="job-2")
    book.press(70, ev.StepFinished("Coat", (A,), Turn(), Marks(60, 100, 300)), job="job-2")
    assert asked(book, 80, up()) == ""
    # An hour past its close the film is nothing that anybody waits for.
    assert asked(book, 4000, up()) == BEFORE_COAT


def test_what_is_known_is_judged_with_its_figures() -> None:
    book = car()
    book.press(600, ev.DrinkTaken(250))
    book.press(700, ev.BreakTaken("rest"))
    book.press(1300, ev.BreakEnded())
    judged = page(book, 1900, up()).judged
    # 5 + 1 + 2 minutes on each of three sections; 6 + 4 + 4 ml a layer.
    takes = sum(s.minutes for s in STAGE.steps if isinstance(s, Work)) * len(STAGE.sections)
    assert judged == (
        f"Rest: 10 min, 10 min ago; none due within the hour, this layer about {takes:.0f} min "
        "(screening estimate)",
        "Drink: 21 min ago",
        "Coating: 20 ml left; this layer 14 ml, with those to come 28 ml: enough for this layer, "
        "8 ml short of all",
        "Gate: panel 7.8 C over the dew point + 3 C (screening estimate)",
    )
    assert page(book, 1900, up()).eyes == EYES


def test_where_no_rest_makes_work_time_the_page_says_so_and_names_no_next_one() -> None:
    book = car()
    shift, jobs = book.scene(1900).on, {JOB: book.job()}
    found = watch(shift, jobs, us(1900))
    ends = replace(found, pace=replace(found.pace, left_s=900, rest_s=0))
    first, *_ = before_coat(book.job(), up(), shift, ends, stock(book.rows), us(1900)).judged
    assert first.startswith("Rest: none, clocked on 31 min ago; 15 min of work left, and no rest")


def test_the_page_tells_a_layer_by_the_minutes_that_are_expected() -> None:
    book = car()
    shift, there = book.scene(60).on, stock(book.rows)

    def rest(factors: Factors) -> str:
        told = before_coat(book.job(), up(), shift, None, there, us(60), factors=factors)
        return next(line for line in told.judged if line.startswith("Rest: "))

    minutes = wave_minutes(book.job(), "Coat", 1)
    assert f"this layer about {minutes:.0f} min" in rest(PLANNED)
    slow = {("Coat", index): 3.0 for index in range(len(STAGE.steps))}
    assert f"this layer about {3 * minutes:.0f} min" in rest(slow)
    # A reading that lasts for the layer as planned is asked about where it takes longer.
    late, at_s = book.scene(2000).on, 2000
    plain = before_coat(book.job(), up(), late, None, there, us(at_s))
    long = before_coat(book.job(), up(), late, None, there, us(at_s), factors=slow)
    assert (plain.asks, long.asks) == (False, True)


def test_too_little_is_said_with_what_is_short_and_by_what_was_really_used() -> None:
    book = car()
    layer(book, 80, A, Turn())
    book.press(100, ev.ProductUsed("Coat", (A,), Turn(), {"coat": 6.0}))
    book.press(110, ev.UseCorrected("coat", 6.0))
    said = page(book, 200, up(B)).judged[0]
    # Twice what was booked went on: 8 ml each on two sections, and 8 left of the 20.
    assert said == (
        "Coating: 8 ml left; this layer 16 ml, with those to come 44 ml at your use so far: "
        "8 ml SHORT"
    )


def test_what_was_never_weighed_gets_no_verdict_and_the_gate_says_that_it_asks() -> None:
    book = opened(STAGE)
    shift = book.scene(60).on
    said = before_coat(book.job(), up(), shift, None, None, us(60))
    judged = said.judged
    assert said.lines[0] == f"Gate: no reading that holds; {ASKED_NEXT}"
    assert said.lines[-1] == EYES
    assert judged[0] == "Gate: no reading that holds"
    assert judged[1].startswith("Rest: none, clocked on")
    assert judged[2:] == (
        "Drink: none noted today",
        "Coating: not weighed (O); this layer 0.7 ml, with those to come 1.4 ml",
    )
    assert asked(book, 60, up()) == BEFORE_COAT
    book.do(60, read_before_coat, up(), judged)
    assert asked(book, 60, up()) == GATE


def test_a_call_back_that_falls_into_the_layer_is_told_and_nobody_is_named() -> None:
    book = car()
    takes_s = round(wave_minutes(book.job(), "Coat", 1) * 60)
    times_s = (60 + takes_s, 61, 60, 59 + takes_s)
    calls = [CallBack(JOB, us(10), "me", us(at_s), None) for at_s in times_s]
    shift = book.scene(60).on
    said = before_coat(book.job(), up(), shift, None, stock(book.rows), us(60), calls).judged
    zone = book.job().opened.zone
    at = [spoken_near(us(at_s), us(60), zone) for at_s in (60, 61, 59 + takes_s)]
    # They tell against beginning, and so they come before what does not.
    assert said[:3] == (
        f"Call back: since {at[0]} (C)",
        f"Call back: {at[1]}, within this layer (C)",
        f"Call back: {at[2]}, within this layer (C)",
    )
    assert not any(line.startswith("Call back:") for line in said[3:])


def test_the_record_tells_when_it_was_read_and_what_it_said() -> None:
    book = car()
    said = page(book, 60, up()).judged
    # A sentence's own full stop is left off where the next one follows it.
    book.do(60, read_before_coat, up(), tuple(f"{one}." for one in said))
    job = book.job()
    found = record(job, {s.id: s for s in [book.scene(70).on]}, {JOB: job}, us(70))
    (noted,) = [one for one in found.noted if one.kind == "before the coat"]
    assert (noted.at_us, noted.worker) == (us(60), "me")
    assert noted.where.startswith("Coat")
    assert noted.text == "; ".join(("read", *said))


def test_a_rest_that_falls_into_the_layer_is_settled_before_the_page() -> None:
    book = car()
    shift = book.scene(60).on
    near = replace(watch(shift, {JOB: book.job()}, us(60)).pace, left_s=120, rest_s=900)
    with pytest.raises(Asks) as rest:
        rules.take_up(book.scene(60), up(), pace=near, before_coat=True)
    over = {rest.value.rule_id: "I rest between two films"}
    with pytest.raises(Asks) as asked_next:
        rules.take_up(book.scene(60), up(), over, pace=near, before_coat=True)
    assert (rest.value.rule_id, asked_next.value.rule_id) == (REST_IN_WAVE, BEFORE_COAT)
    book.do(60, read_before_coat, up(), ())
    (started,) = book.do(70, rules.take_up, up(), over, pace=near, before_coat=True)
    assert isinstance(started, ev.WorkStarted) and started.over == over


def test_a_page_of_what_lays_no_coat_is_refused() -> None:
    book = opened(WIPE)
    move = Move("take up", JOB, "Wipe", WIPE.sections[:1], Turn())
    with pytest.raises(Refused, match=r"^Wipe lays no coat\.$"):
        read_before_coat(book.scene(10), move, ())


def test_what_is_new_is_read_on_the_same_page() -> None:
    acid = Product("coat", "Coating", family="ceramic", hazards=("Danger", "H314"))
    book = Book()
    job = opening(STAGE)
    book.press(0, replace(job, plan=replace(job.plan, products=(acid,))), job=JOB)
    book.press(1, ev.ClockedOn())
    scene = replace(book.scene(60), known_products=frozenset)
    with pytest.raises(Asks, match=r"^Before Coat.*New on this cart: Coating .* All there\?$"):
        rules.take_up(scene, up(), before_coat=True)
    drafts = read_before_coat(scene, up(), ())
    assert [type(draft.event) for draft in drafts] == [ev.BeforeCoatRead, ev.CautionsRead]
