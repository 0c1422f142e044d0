"""Two hours of the plan with their efforts, and films in play."""

from __future__ import annotations

from pathlib import Path

from msgspec.structs import replace

from cartclock.engine.ahead.sequence import sequence
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_play import film_in_play, in_play
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.now.moment import Facts, moment
from cartclock.engine.plan.plan import Work
from cartclock.engine.rules import rules
from tests.kit.book import opened, us
from tests.kit.day import Day
from tests.kit.plans import COAT, POLISH, opening


def names(day: Day) -> list[str]:
    return [section.name for section in in_play(day.bench.jobs[day.job], day.bench.now_us)]


def test_a_film_is_in_play_from_first_touch_to_the_end_of_its_last_step(tmp_path: Path) -> None:
    day = Day(tmp_path)
    assert names(day) == []
    day.take(60)
    assert names(day) == ["left"]
    day.take(60)
    assert names(day) == ["left", "right"]
    # Both closed long ago; late is in play as well.
    day.clock.wind(400)
    assert names(day) == ["left", "right"]
    rinse = next(m for m in day.bench.moves() if m.say == "rinse")
    day.bench.do(rules.take_up, rinse)
    day.clock.wind(120)
    assert names(day) == ["left", "right"]
    day.bench.do(rules.take_break, "rest", finish=True)
    assert names(day) == []


def test_a_late_film_is_in_play_and_one_that_dried_an_hour_ago_is_not(tmp_path: Path) -> None:
    day = Day(tmp_path)
    day.take(60)
    day.bench.do(rules.put_down)
    window = 300
    day.clock.wind(window)
    assert names(day) == ["left"]
    day.clock.wind(3600)
    assert names(day) == []
    assert not film_in_play(day.bench.jobs.values(), day.bench.now_us)


def test_work_behind_work_is_no_film() -> None:
    book = opened(replace(POLISH, steps=(Work("cut", 5.0), Work("wipe off", 1.0))))
    book.press(0, ev.WorkStarted("Polish", ("door",), Turn()))
    book.press(60, ev.StepFinished("Polish", ("door",), Turn()))
    book.press(60, ev.WorkStarted("Polish", ("door",), Turn(step=1)))
    assert book.odd() == []
    assert in_play(book.job(), us(70)) == ()


def test_a_film_put_down_half_off_closes_when_its_own_window_did() -> None:
    book = opened(COAT)
    level, marks = Turn(step=2), (Marks(60, 100, 300), Marks(60, 100, 9000))
    for at_s, name, mark in ((0, "bonnet left", marks[0]), (100, "bonnet right", marks[1])):
        book.press(at_s, ev.WorkStarted("Coat", (name,), Turn()))
        book.press(at_s + 60, ev.StepFinished("Coat", (name,), Turn(), mark))
    # The other film was taken up after it, and closes hours later.
    for at_s, name in ((200, "bonnet left"), (260, "bonnet right")):
        book.press(at_s, ev.WorkStarted("Coat", (name,), level))
        book.press(at_s + 20, ev.WorkPutDown("Coat", (name,), level))
    assert book.odd() == []
    spent_s = 300 + 3600
    both = ["bonnet left", "bonnet right"]
    assert [one.name for one in in_play(book.job(), us(spent_s - 1))] == both
    assert [one.name for one in in_play(book.job(), us(spent_s))] == both[1:]


def test_a_gap_between_layers_is_no_film(tmp_path: Path) -> None:
    day = Day(tmp_path, plan=0)
    for _ in range(40):
        move = next((m for m in day.bench.moves() if m.act == "take up"), None)
        job = day.bench.jobs[day.job]
        if move is None or any(w.kind == "gap" for w in job.running):
            break
        day.take(150)
    day.bench.do(rules.take_break, "rest", finish=True)
    job = day.bench.jobs[day.job]
    assert any(w.kind == "gap" for w in job.running)
    assert all(w.kind != "gap" for w in job.films)
    assert len(names(day)) == len(job.films)


def test_the_piece_in_hand_comes_first_and_is_never_nothing(tmp_path: Path) -> None:
    day = Day(tmp_path, plan=2)
    day.take(60)
    job = day.bench.jobs[day.job]
    ahead = sequence([job], day.bench.now_us)
    # A panel of two sections, three minutes each, of which one is gone.
    assert ahead.in_hand_us == 5 * MINUTE_US
    assert ahead.pieces[0].length_us == 5 * MINUTE_US
    assert ahead.next_us == 3 * MINUTE_US
    day.clock.wind(600)
    over = sequence([job], day.bench.now_us)
    assert over.in_hand_us == round(0.2 * 6 * MINUTE_US)


def test_a_film_counts_from_laying_to_finishing_and_waits_as_light_work(tmp_path: Path) -> None:
    day = Day(tmp_path)
    ahead = sequence([day.bench.jobs[day.job]], day.bench.now_us)
    # Spray 1 min, dwell from its opening 2 min, rinse over all 2 min.
    assert ahead.next_us == 5 * MINUTE_US
    assert ahead.in_hand_us == 0
    assert "light" in {piece.effort for piece in ahead.pieces}
    assert sum(piece.length_us for piece in ahead.pieces) <= 3 * HOUR_US
    assert not ahead.film


def test_what_is_ahead_is_the_work_that_the_large_key_names_with_its_class() -> None:
    book = opened(replace(POLISH, effort="light"))
    book.press(0, opening(replace(POLISH, effort="heavy"), number=2), job="job-2")
    book.press(0, ev.ReadingTaken(air_c=33, rh=40))
    said = {}
    for at_s, job in ((60, "job-1"), (200, "job-2")):
        book.press(at_s, ev.WorkStarted("Polish", ("door",), Turn()), job=job)
        book.press(at_s + 60, ev.WorkPutDown("Polish", ("door",), Turn()), job=job)
        assert book.odd() == []
        facts = Facts(len(book.rows), 0, book.jobs(), {"me": book.shift()}, {"me": {}}, None, None)
        me = moment(facts, "me", "", us(at_s + 61), True).me
        assert me.watch is not None
        said[me.moves[0].job] = me.watch.pace.ahead
    assert said == {"job-1": "light", "job-2": "heavy"}
