"""By when the next layer must be on, as Run says it."""

from __future__ import annotations

from msgspec.structs import replace

from cartclock.engine.ahead.foreseen import by_the_plan
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.films.recoat import recoat_sentences
from cartclock.engine.films.waves import wave_minutes
from cartclock.engine.now.glance import glance, standing_part
from cartclock.engine.plan.plan import Gap, Stage, Work
from tests.kit.book import JOB, Book, opened, us

MINUTE, HOUR = 60, 3600
PANELS = ("bonnet", "roof", "tailgate")
COAT = Stage(
    "Coat",
    PANELS,
    (Work("apply", 10.0),),
    kind="coat",
    layers=2,
    gap=Gap(2 * HOUR, 4 * HOUR, 6 * HOUR),
)
GAP = Marks(2 * HOUR, 4 * HOUR, 6 * HOUR)


def first_layer(*names: str) -> Book:
    """Panels laid once at ten minutes each from 14:13:20 on."""
    book = opened(COAT)
    for number, name in enumerate(names):
        book.press(number * 10 * MINUTE, ev.WorkStarted("Coat", (name,), Turn()))
        book.press((number + 1) * 10 * MINUTE, ev.StepFinished("Coat", (name,), Turn(), GAP))
    return book


def said(book: Book, at_s: float) -> tuple[tuple[str, ...], tuple[str, ...]]:
    return recoat_sentences(book.jobs(), us(at_s))


def test_nothing_is_said_before_a_gap_opens() -> None:
    book = first_layer(*PANELS)
    assert said(book, 2 * HOUR + 10 * MINUTE - 1) == ((), ())
    assert said(book, 2 * HOUR + 10 * MINUTE)[1] != ()


def test_an_open_layer_says_by_when_the_first_and_the_last_must_be_laid() -> None:
    book = first_layer(*PANELS)
    line = "Coat: layer 2 closes 20:23, the last 20:43; 3 sections to lay, about 30 min."
    assert said(book, 3 * HOUR) == ((), (line,))
    # What is laid is left out.
    book.press(3 * HOUR, ev.WorkStarted("Coat", ("bonnet",), Turn(1, 2, 0)))
    book.press(3 * HOUR + 10 * MINUTE, ev.StepFinished("Coat", ("bonnet",), Turn(1, 2, 0)))
    line = "Coat: layer 2 closes 20:33, the last 20:43; 2 sections to lay, about 20 min."
    assert said(book, 4 * HOUR) == ((), (line,))


def test_it_presses_once_the_layer_no_longer_fits_in_before_the_first_closes() -> None:
    book = first_layer(*PANELS)
    # The bonnet closes six hours after ten minutes; three panels take thirty.
    mark_s = 6 * HOUR + 10 * MINUTE - 30 * MINUTE
    assert said(book, mark_s - 1)[0] == ()
    assert len(said(book, mark_s)[0]) == 1
    # Whose hands need twice as long is told half an hour sooner.
    sooner = us(mark_s - 30 * MINUTE)
    ((line,), _quiet) = recoat_sentences(book.jobs(), sooner, lambda _job: {("Coat", 0): 2.0})
    assert line.endswith("3 sections to lay, about 60 min.")


def test_a_layer_that_closed_says_on_which_sections() -> None:
    book = first_layer(*PANELS)
    presses, quiet = said(book, 6 * HOUR + 11 * MINUTE)
    assert quiet == ()
    assert presses == ("Coat: layer 2 closed 20:23 on bonnet: the label says what is done then.",)


def test_on_another_day_it_is_said_which() -> None:
    long = replace(GAP, closes_s=30 * HOUR)
    book = opened(COAT)
    book.press(0, ev.WorkStarted("Coat", ("roof",), Turn()))
    book.press(10 * MINUTE, ev.StepFinished("Coat", ("roof",), Turn(), long))
    (line,) = said(book, 16 * HOUR)[1]
    assert line.startswith("Coat: layer 2 closes ") and "20:23" in line and "roof to lay" in line


def test_run_says_it_and_where_it_presses_before_what_can_wait() -> None:
    book = first_layer(*PANELS)
    for at_s in (3 * HOUR, 6 * HOUR):
        seen = glance(book.jobs(), book.shift(), us(at_s), None, questions=1)
        places = [at for at, line in enumerate(seen.notices) if line.startswith("Coat: layer 2")]
        assert len(places) == 1
        asked = next(at for at, line in enumerate(seen.notices) if "about today" in line)
        assert places[0] < asked
    before = glance(book.jobs(), book.shift(), us(6 * HOUR), None, news=("of the packs",)).notices
    assert before.index("of the packs") > next(
        at for at, line in enumerate(before) if line.startswith("Coat: layer 2")
    )


def test_run_says_how_long_it_takes_as_the_finish_has_it() -> None:
    book = first_layer(*PANELS)
    jobs, shift, at_us = book.jobs(), book.shift(), us(3 * HOUR)
    ahead = by_the_plan(jobs, shift)
    minutes = wave_minutes(book.job(), "Coat", 2, ahead.factors(JOB))
    # The plan says thirty; what is expected is more before anything is learned.
    assert minutes > 31
    told = standing_part(jobs, shift, at_us, None, ahead=ahead).recoat
    assert told == recoat_sentences(jobs, at_us, ahead.factors)
    assert told[1][0].endswith(f"3 sections to lay, about {minutes:.0f} min.")


def test_off_the_clock_nothing_is_said_of_it() -> None:
    book = first_layer(*PANELS)
    book.press(2 * HOUR, ev.ClockedOff())
    seen = glance(book.jobs(), book.shift(), us(3 * HOUR), None)
    assert not any("layer 2 closes" in line for line in seen.notices)
