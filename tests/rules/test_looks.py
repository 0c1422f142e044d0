"""Second looks, layer by layer: what they write, what follows, and what closing a job asks."""

from __future__ import annotations

import re

import pytest
from msgspec.structs import replace

from cartclock.engine.ahead.foreseen import by_the_plan
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_play import film_runs
from cartclock.engine.facts.layers import progress_text
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.films.cure import looks as waiting
from cartclock.engine.now.caller import answer
from cartclock.engine.now.glance import glance
from cartclock.engine.now.looking import look_moves
from cartclock.engine.now.scene import Scene
from cartclock.engine.plan.plan import Check, Gap, HighSpot, Stage, Wait, Work
from cartclock.engine.record.applied import stages
from cartclock.engine.record.day import day
from cartclock.engine.record.record import record
from cartclock.engine.rules import changes, looks, rules
from cartclock.engine.rules.choices import to_redo
from cartclock.engine.trouble import Asks, Refused
from tests.kit.book import JOB, Book, opened, us
from tests.kit.setting import day_text, record_text

LEFT, RIGHT, ROOF = "bonnet left", "bonnet right", "roof"
GAP = Marks(3600, 7200, 86400)
YOUNG, OLD = HighSpot("re-wet and level", 1800), HighSpot("polish out, coat again", None, ("Cut",))
# Invented round numbers: two layers an hour apart, looked at from 20 to 40 min after each.
COAT = Stage(
    "Coat",
    (LEFT, RIGHT, ROOF),
    (Work("apply", 1.0), Work("level", 1.0)),
    order="each",
    panels={LEFT: "bonnet", RIGHT: "bonnet"},
    layers=2,
    gap=Gap(3600, 7200, 86400),
    check=Check(1200, 2400, "panel", "light over it"),
    high_spot=(YOUNG, OLD),
)
CUT = Stage("Cut", ("bonnet", ROOF), (Work("cut", 5.0),))


def lay(book: Book, at_s: float, *names: str, layer: int = 1, pass_: int = 1) -> None:
    """One layer on these sections, all of it with its last touch at `at_s`."""
    for step in (0, 1):
        turn = Turn(pass_, layer, step)
        book.press(at_s - 20 + 10 * step, ev.WorkStarted("Coat", names, turn))
        marks = GAP if step and layer == 1 else None
        book.press(at_s - 10 + 10 * step, ev.StepFinished("Coat", names, turn, marks))


def cut_and_laid() -> Book:
    """Everything cut, and layer 1 on all sections, its last touch at 100 s."""
    book = opened(CUT, COAT)
    book.press(10, ev.WorkStarted("Cut", ("bonnet", ROOF), Turn()))
    book.press(20, ev.StepFinished("Cut", ("bonnet", ROOF), Turn()))
    lay(book, 100, LEFT, RIGHT, ROOF)
    assert book.odd() == []
    return book


def looked(book: Book) -> list[tuple[int, tuple[str, ...]]]:
    return [(look.layer, look.sections) for look in waiting(book.job())]


def test_a_layer_is_looked_at_while_it_lies_open_and_is_covered_by_the_next() -> None:
    book = cut_and_laid()
    assert looked(book) == [(1, (LEFT, RIGHT)), (1, (ROOF,))]
    # Late, and still to be seen.
    book.do(3000, looks.find_fine, JOB, "Coat", (ROOF,))
    book.press(4000, ev.WorkStarted("Coat", (LEFT,), Turn(1, 2, 0)))
    assert looked(book) == [(1, (RIGHT,))]
    with pytest.raises(Refused, match="bonnet left is in hand"):
        looks.find_fine(book.scene(4001), JOB, "Coat", (LEFT,))
    book.press(4001, ev.WorkPutDown("Coat", (LEFT,), Turn(1, 2, 0)))
    lay(book, 5000, ROOF, layer=2)
    assert looked(book) == [(1, (RIGHT,)), (2, (ROOF,))]


def test_a_young_high_spot_is_work_on_the_last_step_of_its_layer_alone() -> None:
    book = cut_and_laid()
    events = book.do(1400, looks.find, JOB, "Coat", LEFT, "high spot", "remedy")
    assert events == [
        ev.SectionChecked("Coat", (LEFT,), "high spot", "re-wet and level"),
        ev.SectionReopened("Coat", (LEFT,), Turn(2, 1, 1), "high spot: re-wet and level"),
    ]
    assert len({row.press for row in book.rows[-2:]}) == 1
    first = book.moves(1401)[0]
    if first.act == "look":
        first = book.moves(1401)[1]
    assert (first.stage, first.sections, first.say) == ("Coat", (LEFT,), "level")
    # It is looked at anew afterwards, and layer 2 follows behind a gap of its own.
    book.do(1500, rules.take_up, first)
    book.do(1600, rules.take_up, Move("end", why="end"))
    section = book.job().sections["Coat", LEFT]
    assert (section.state, section.turn) == ("waiting", Turn(2, 2, 0))
    assert (1, (LEFT,)) in looked(book)


@pytest.mark.parametrize(
    ("then", "turn", "do"),
    [
        ("layer", Turn(2, 2, 0), "polish out, coat again, this layer only"),
        ("all", Turn(2, 1, 0), "polish out, coat again, all layers"),
        ("remedy", Turn(2, 2, 0), "polish out, coat again, this layer only"),
    ],
)
def test_an_old_high_spot_is_polished_out_on_its_panel_before_the_layer_is_laid_anew(
    then: looks.Then, turn: Turn, do: str
) -> None:
    book = cut_and_laid()
    lay(book, 5000, LEFT, RIGHT, ROOF, layer=2)
    events = book.do(9000, looks.find, JOB, "Coat", LEFT, "high spot", then)
    why = f"high spot: {do}"
    assert events == [
        ev.SectionChecked("Coat", (LEFT,), "high spot", do),
        ev.SectionReopened("Cut", ("bonnet",), Turn(2, 1, 0), why),
        ev.SectionReopened("Coat", (LEFT,), turn, why),
    ]
    named = [(m.say, m.sections) for m in book.moves(9001) if m.act == "take up"]
    assert named[:2] == [("cut", ("bonnet",)), ("apply", (LEFT,))]
    assert book.job().sections["Coat", RIGHT].state == "done"


def test_what_is_done_again_before_it_is_the_section_of_the_same_name_alone() -> None:
    cut = Stage("Cut", (LEFT, RIGHT), (Work("cut", 5.0),), panels=COAT.panels)
    book = opened(cut, COAT)
    book.press(10, ev.WorkStarted("Cut", (LEFT, RIGHT), Turn()))
    book.press(20, ev.StepFinished("Cut", (LEFT, RIGHT), Turn()))
    lay(book, 100, LEFT, RIGHT)
    book.do(5000, looks.find, JOB, "Coat", LEFT, "high spot", "remedy")
    states = {name: book.job().sections["Cut", name].state for name in (LEFT, RIGHT)}
    assert states == {LEFT: "todo", RIGHT: "done"}


def test_a_layer_to_be_laid_anew_is_not_looked_at_until_it_lies_again() -> None:
    book = opened(COAT)
    lay(book, 100, ROOF)
    lay(book, 5000, ROOF, layer=2)
    assert looked(book) == [(2, (ROOF,))]
    book.do(8000, looks.find, JOB, "Coat", ROOF, "high spot", "layer")
    assert book.job().sections["Coat", ROOF].turn == Turn(2, 2, 0)
    assert looked(book) == []
    assert looks.lying_open([book.job()]) == []
    lay(book, 9000, ROOF, layer=2, pass_=2)
    assert looked(book) == [(2, (ROOF,))]


def test_work_of_another_stage_on_the_panel_covers_no_layer() -> None:
    book = opened(COAT, replace(CUT, name="Inspect"))
    lay(book, 100, ROOF)
    book.press(200, ev.WorkStarted("Inspect", (ROOF,), Turn()))
    book.press(300, ev.StepFinished("Inspect", (ROOF,), Turn()))
    assert book.odd() == []
    assert looked(book) == [(1, (ROOF,))]
    (one,) = looks.lying_open([book.job()])
    assert one[2].touched_us == us(100)


def test_what_is_noted_only_leaves_the_section_as_it_is() -> None:
    book = cut_and_laid()
    (event,) = book.do(1400, looks.find, JOB, "Coat", ROOF, "lint")
    assert event == ev.SectionChecked("Coat", (ROOF,), "lint")
    assert book.job().sections["Coat", ROOF].state == "waiting"
    assert looked(book) == [(1, (LEFT, RIGHT))]


def test_a_stage_without_remedies_is_done_again_or_noted() -> None:
    book = opened(replace(COAT, high_spot=()))
    lay(book, 100, ROOF)
    with pytest.raises(Refused, match="The plan has no remedy for that"):
        looks.find(book.scene(1400), JOB, "Coat", ROOF, "smear", "remedy")
    events = book.do(1400, looks.find, JOB, "Coat", ROOF, "smear", "layer")
    assert events[-1] == ev.SectionReopened(
        "Coat", (ROOF,), Turn(2, 1, 0), "smear: do it again, this layer only"
    )


def test_a_section_between_two_layers_can_be_done_again() -> None:
    book = cut_and_laid()
    assert {(one.stage, one.name) for one in to_redo(book.job())} >= {
        ("Coat", LEFT),
        ("Coat", ROOF),
    }
    book.do(200, changes.redo, JOB, "Coat", (ROOF,), "dust in it")
    assert book.job().sections["Coat", ROOF].turn == Turn(2, 1, 0)
    assert [w.section for w in book.job().running] == [LEFT, RIGHT]
    assert book.job().windows[-1].ended_us == us(200)


@pytest.mark.parametrize("kind", [ev.SectionChecked, ev.SectionReopened])
def test_inside_a_layer_neither_a_look_nor_doing_again_can_be(kind: type) -> None:
    book = opened(COAT)
    book.press(10, ev.WorkStarted("Coat", (ROOF,), Turn()))
    book.press(20, ev.StepFinished("Coat", (ROOF,), Turn()))
    more = ("fine",) if kind is ev.SectionChecked else (Turn(2, 1, 0),)
    book.press(30, kind("Coat", (ROOF,), *more))
    assert book.odd() == ["roof is not between two layers"]


# As something to be taken up.


def test_a_due_look_is_a_move_before_the_next_section() -> None:
    book = opened(COAT)
    lay(book, 100, LEFT, RIGHT)
    assert book.moves(1299)[0].act == "take up"
    first, second = book.moves(1300)[:2]
    assert (first.act, first.sections, first.turn.layer) == ("look", (LEFT, RIGHT), 1)
    assert (second.act, second.sections) == ("take up", (ROOF,))
    # It is one while it is late as well, and not any more once it is answered.
    assert book.moves(9000)[0].act == "look"
    book.do(9000, looks.leave_unseen, JOB, "Coat", (LEFT, RIGHT), "no light for it")
    assert "look" not in {m.act for m in book.moves(9001)}


@pytest.mark.parametrize(("closes_s", "act"), [(105, "look"), (104, "stand by")])
def test_a_look_waits_for_a_film_that_can_hardly_be_worked_in_time(closes_s: int, act: str) -> None:
    """A minute to level, from 40 s behind the last touch on, which is 5 s behind the first; a look
    takes half a minute."""
    coat = replace(
        COAT, steps=(Work("apply", 1.0), Wait("flash", 40, 60, closes_s), Work("level", 1.0))
    )
    book = opened(coat)
    for name, at_s in ((LEFT, 0), (ROOF, 1300)):
        book.press(at_s, ev.WorkStarted("Coat", (name,), Turn()))
        book.press(at_s + 5, ev.StepFinished("Coat", (name,), Turn(), Marks(40, 60, closes_s)))
        if name == LEFT:
            book.press(at_s + 50, ev.WorkStarted("Coat", (name,), Turn(step=2)))
            book.press(at_s + 60, ev.StepFinished("Coat", (name,), Turn(step=2), GAP))
    assert book.odd() == []
    assert book.moves(1306)[0].act == act
    assert [move.act for move in book.moves(1306)].count("look") == 1


def test_taking_up_a_look_ends_what_is_in_hand_and_writes_nothing_seen() -> None:
    book = opened(COAT)
    lay(book, 100, LEFT, RIGHT)
    book.press(1000, ev.WorkStarted("Coat", (ROOF,), Turn()))
    look = next(m for m in book.moves(1400) if m.act == "look")
    events = book.do(1400, rules.take_up, look)
    assert [type(event) for event in events] == [ev.StepFinished]
    with pytest.raises(Refused, match="from the list of looks"):
        rules.take_up(book.scene(1401), look)


# Closing.


def test_closing_a_job_asks_about_panels_never_looked_at() -> None:
    book = cut_and_laid()
    lay(book, 5000, LEFT, RIGHT, ROOF, layer=2)
    with pytest.raises(Asks) as asks:
        rules.close_job(book.scene(5100), JOB)
    assert (asks.value.rule_id, str(asks.value)) == (
        "not_looked",
        "2 panels were not looked at again: bonnet, roof. Close the job all the same?",
    )
    book.do(5200, looks.find_fine, JOB, "Coat", (LEFT, RIGHT))
    with pytest.raises(Asks, match="1 panel was not looked at again: roof"):
        rules.close_job(book.scene(5300), JOB)
    book.do(5400, rules.close_job, JOB, {"not_looked": "no light for it"})


def test_closing_a_job_is_asked_about_while_a_film_of_another_lies() -> None:
    film = Stage("Film", (ROOF,), (Work("lay", 1.0), Wait("flash", 60, 120, 600), Work("off", 1.0)))
    book, other = cut_and_laid(), opened(film)
    lay(book, 5000, LEFT, RIGHT, ROOF, layer=2)
    other.press(4000, ev.WorkStarted("Film", (ROOF,), Turn()))
    other.press(4060, ev.StepFinished("Film", (ROOF,), Turn(), Marks(60, 120, 600)))

    def beside(at_s: float) -> Scene:
        scene = book.scene(at_s)
        return replace(scene, jobs={**scene.jobs, "second": other.job()})

    # Ending a job is no work that could wait; whoever levels the film may be another worker.
    assert film_runs(beside(5100).jobs.values(), us(5100))
    with pytest.raises(Asks, match="2 panels were not looked at again"):
        rules.close_job(beside(5100), JOB)
    assert rules.close_job(beside(5100), JOB, {"not_looked": "no light for it"})


def test_what_the_closing_press_finishes_was_not_looked_at_either() -> None:
    book = cut_and_laid()
    lay(book, 5000, LEFT, RIGHT, layer=2)
    for step in (0, 1):
        book.press(5001, ev.WorkStarted("Coat", (ROOF,), Turn(1, 2, step)))
        if step == 0:
            book.press(5001, ev.StepFinished("Coat", (ROOF,), Turn(1, 2, step)))
    with pytest.raises(Asks, match="2 panels were not looked at again: bonnet, roof"):
        rules.close_job(book.scene(5100), JOB)


def test_closing_asks_nothing_where_every_panel_was_looked_at_or_left_for_a_reason() -> None:
    book = cut_and_laid()
    lay(book, 5000, LEFT, RIGHT, ROOF, layer=2)
    book.do(6300, looks.find_fine, JOB, "Coat", (LEFT, RIGHT))
    book.do(6400, looks.leave_unseen, JOB, "Coat", (ROOF,), "no time for it")
    assert look_moves([book.job()], us(9000)) == []
    assert rules.close_job(book.scene(6500), JOB)


def test_the_record_says_what_was_looked_at_and_which_layers_never_were() -> None:
    book = cut_and_laid()
    book.do(1400, looks.find_fine, JOB, "Coat", (LEFT,))
    book.do(1500, looks.find, JOB, "Coat", RIGHT, "lint")
    lay(book, 5000, LEFT, RIGHT, ROOF, layer=2)
    book.do(6300, looks.find_fine, JOB, "Coat", (LEFT, ROOF))
    book.do(6500, rules.close_job, JOB, {"not_looked": "no light for it"})
    (coat,) = [one for one in stages(book.job(), book.rows) if one.stage == "Coat"]
    told = {one.section: [(r.what, r.at_us, r.why) for r in one.remarks] for one in coat.sections}
    assert told == {
        LEFT: [("fine", us(1400), ""), ("fine", us(6300), "")],
        RIGHT: [
            ("lint", us(1500), ""),
            ("not looked at", us(6500), "layer 2 of 2, the job was closed"),
        ],
        ROOF: [
            ("not looked at", us(4980), "layer 1 of 2, more came on it"),
            ("fine", us(6300), ""),
        ],
    }


def of_record(book: Book, at_s: float, *workers: str) -> str:
    shifts = {f"{worker} 1": book.shift(f"{worker} 1") for worker in ("me", *workers)}
    found = record(book.job(), shifts, book.jobs(), us(at_s), rows=book.rows)
    return " ".join(record_text(found).split())


def test_the_printed_record_names_layer_by_layer_the_panels_never_looked_at() -> None:
    book = cut_and_laid()
    # One after the other, so that more came on each at another time.
    for at_s, name in ((5000, LEFT), (5100, RIGHT), (5200, ROOF)):
        lay(book, at_s, name, layer=2)
    book.do(6400, looks.find_fine, JOB, "Coat", (RIGHT,))
    book.do(6500, rules.close_job, JOB, {"not_looked": "no light for it"})
    text = of_record(book, 6600)
    assert f"{LEFT}, {RIGHT}, {ROOF}: not looked at: layer 1 of 2, more came on it" in text
    assert f"{LEFT}, {ROOF}: not looked at: layer 2 of 2, the job was closed" in text
    assert re.search(rf"looked at, fine: Mon 21 Sep \d\d:\d\d {RIGHT}", text)


def test_the_record_says_who_looked_where_two_worked() -> None:
    book = cut_and_laid()
    book.do(1400, looks.find_fine, JOB, "Coat", (LEFT,))
    alone = of_record(book, 1600)
    assert "All by me." in alone
    assert f"looked at, fine: Mon 21 Sep 14:36 {LEFT}" in alone
    book.press(1410, ev.ClockedOn("carport"), worker="mate")
    book.do(1420, looks.find, JOB, "Coat", RIGHT, "lint", worker="mate")
    book.press(1430, ev.OtherWorkStarted("fetching", JOB), worker="mate")
    book.press(1490, ev.OtherWorkEnded(), worker="mate")
    text = of_record(book, 1600, "mate")
    assert "By me where nobody else is named." in text
    assert f"looked at, fine: Mon 21 Sep 14:36 {LEFT}" in text
    assert re.search(rf"{RIGHT}.* lint 14:37 by mate", text)
    (coat,) = [one for one in stages(book.job(), book.rows) if one.stage == "Coat"]
    assert [r.worker for one in coat.sections for r in one.remarks] == ["me", "mate"]


def test_the_record_says_who_looked_who_never_worked_on_it() -> None:
    book = cut_and_laid()
    book.press(1390, ev.ClockedOn("carport"), worker="mate")
    book.do(1400, looks.find_fine, JOB, "Coat", (LEFT,), worker="mate")
    text = of_record(book, 1600, "mate")
    assert f"looked at, fine: Mon 21 Sep 14:36 by mate {LEFT}" in text


# Layers counted.


def test_a_stage_is_counted_by_layers_and_done_when_all_are_on() -> None:
    book = opened(COAT)
    assert progress_text(book.job(), "Coat") == "layer 1 of 2: 0/3"
    lay(book, 100, LEFT, RIGHT)
    assert progress_text(book.job(), "Coat") == "layer 1 of 2: 2/3"
    lay(book, 200, ROOF)
    assert progress_text(book.job(), "Coat") == "layer 2 of 2: 0/3"
    lay(book, 5000, LEFT, RIGHT, ROOF, layer=2)
    assert progress_text(book.job(), "Coat") == "3/3 done"


def test_the_paper_of_the_day_says_how_far_each_layer_came() -> None:
    book = opened(COAT)
    lay(book, 100, LEFT, RIGHT)

    def said() -> str:
        shifts = {"me 1": book.shift()}
        return " ".join(day_text(day("2026-09-21", "UTC", shifts, book.jobs(), us(9000))).split())

    assert "(layer 1 of 2 on 2 of 3 done)" in said()
    assert "layer 2" not in said()
    lay(book, 200, ROOF)
    lay(book, 5000, LEFT, layer=2)
    assert "(layer 1 of 2 on 3 of 3, layer 2 of 2 on 1 of 3 done)" in said()


def test_run_and_a_caller_are_told_how_far_the_layer_is() -> None:
    book = opened(COAT)
    lay(book, 100, LEFT, RIGHT)

    def said(at_s: float) -> tuple[str, str]:
        jobs, shift = book.jobs(), book.shift()
        seen = glance(jobs, shift, us(at_s), book.moves(at_s)[0])
        told = dict(answer(book.job(), jobs, shift, by_the_plan(jobs, shift), us(at_s)).lines)
        return seen.place, told["now"]

    assert said(110) == ("Coat 1/1   layer 1 of 2: 2/3", "Coat, layer 1 of 2: 2 of 3")
    lay(book, 200, ROOF)
    lay(book, 5000, LEFT, layer=2)
    assert said(5010) == ("Coat 1/1   layer 2 of 2: 1/3", "Coat, layer 2 of 2: 1 of 3")
