"""What the screen says of films: LOOK, what is too big, what is to be watched and kept wet."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.dates import local
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.section import Window
from cartclock.engine.facts.turn import Marks
from cartclock.engine.films.film_advice import CUT, WATCH, WATCH_IT, WIDE, film_notices, keep_wet
from cartclock.engine.films.flashing import NO_PANEL
from cartclock.engine.now.faces import Face, TimeTape, film_face
from cartclock.engine.now.glance import Glance, glance
from cartclock.engine.now.running import running_films, states
from cartclock.engine.plan.plan import Plan, Product, Stage
from cartclock.engine.rules import changes, rules
from cartclock.engine.trouble import Refused
from tests.kit.book import JOB, Book, opened, us
from tests.kit.films import FLASH, HOT, Films, coat, labelled
from tests.kit.plans import COAT, FALLOUT
from tests.kit.setting import record_text

CLOSES = "the close"
# Columns of a face where two stand side by side, without its edges.
NARROW = 38


def look(films_: Films) -> Glance:
    bench = films_.bench
    chosen = next(iter(bench.moves()), None)
    return glance(bench.jobs, bench.shift(), bench.now_us, chosen, own=bench.own())


def said(films_: Films) -> tuple[str, ...]:
    bench = films_.bench
    chosen = next(iter(bench.moves()), None)
    shift = bench.shift()
    return film_notices(bench.jobs, shift, bench.now_us, chosen, bench.own())


def to_watch(films_: Films) -> bool:
    """Whether it is said that the film is to be watched, alone or after why it is looked at."""
    return any(line == WATCH or line.endswith(WATCH_IT) for line in said(films_))


def face(films_: Films, window: Window, at_s: float) -> Face:
    """The film's face so long after its last touch."""
    (film,) = running_films(films_.bench.jobs, window.last_us)
    found = film_face(film, window.last_us + round(at_s * 1e6))
    assert len(found.under) <= NARROW
    return found


# The face.


@pytest.mark.parametrize(
    ("at_s", "word", "clock", "second", "field"),
    [
        # The worked case: opens 18, expected 36, off by 72, and closes 300 after the first touch.
        (0, "WAIT", "0:18", ("closes in", "4:40"), "wait"),
        (17, "WAIT", "0:01", ("closes in", "4:23"), "wait"),
        (18, "LOOK", "0:54", ("expected in", "0:18"), "ready"),
        (36, "LOOK", "0:36", ("closes in", "4:04"), "ready"),
        (71, "LOOK", "0:01", ("closes in", "3:29"), "ready"),
        (72, "LEVEL", "3:28", ("closes at", CLOSES), "ready"),
        (279, "LEVEL", "0:01", ("closes at", CLOSES), "ready"),
        (280, "LATE", "0:00", ("closed at", CLOSES), "late"),
    ],
)
def test_a_film_is_looked_at_until_it_is_seen_or_must_be_off(
    tmp_path: Path, at_s: float, word: str, clock: str, second: tuple[str, str], field: str
) -> None:
    laid = Films(tmp_path)
    laid.read()
    window = laid.lay()
    found = face(laid, window, at_s)
    closes = f"{local(window.closes_us, 'UTC'):%H:%M}"
    shown = tuple(part.replace(closes, CLOSES) for part in found.second)
    assert (found.word, found.clock, shown, found.field) == (word, clock, second, field)
    assert found.runs == ("up" if word == "LATE" else "down")
    assert isinstance(found.tape, TimeTape)
    # The marks of the worked case, the work begun at the latest a minute before the close.
    at_marks = [(at_us - window.last_us) // 1_000_000 for at_us, _word in found.tape.marks]
    assert at_marks == [18, 36, 72, 280]
    assert [word.split(" ")[0] for _at, word in found.tape.marks][1:3] == ["due", "off"]


def test_seen_ready_the_work_is_named(tmp_path: Path) -> None:
    laid = Films(tmp_path)
    laid.read()
    window = laid.lay()
    laid.clock.wind(30)
    assert face(laid, window, 30).word == "LOOK"
    laid.see(window)
    found = face(laid, window, 30)
    assert (found.word, found.clock, found.second) == ("LEVEL", "0:42", ("closes in", "4:10"))
    assert face(laid, window, 300).word == "LATE"
    laid.bench.undo()
    assert face(laid, window, 30).word == "LOOK"


def test_the_close_may_hurt_before_the_mark_to_be_off_by(tmp_path: Path) -> None:
    laid = Films(tmp_path, coat(labelled(closes_s=120)))
    laid.read()
    # Levelling takes a minute and the film closes 100 s after the last touch.
    window = laid.lay()
    found = face(laid, window, 20)
    assert (found.word, found.clock) == ("LOOK", "0:20")
    assert found.under == "begin by then; W: it is ready"
    assert found.second == ("expected in", "0:16")
    assert isinstance(found.tape, TimeTape)
    marks = [((at - window.last_us) / 1e6, said.split(" ")[0]) for at, said in found.tape.marks]
    assert marks == [(18, "opened"), (36, "due"), (40, "begin"), (100, "closes")]


def test_every_change_of_the_word_is_a_new_state_and_rings(tmp_path: Path) -> None:
    laid = Films(tmp_path)
    laid.read()
    window = laid.lay()
    seen = [face(laid, window, at_s) for at_s in (0, 10, 18, 60, 72, 200, 280, 400)]
    assert [one.key == two.key for one, two in pairwise(seen)] == [
        True, False, True, False, True, False, True,
    ]  # fmt: skip
    laid.clock.wind(20)
    bench = laid.bench
    told = dict(states(bench.jobs, bench.shift(), bench.now_us))
    assert told[face(laid, window, 20).key] == "ready"


def test_a_flash_without_a_label_keeps_its_words() -> None:
    book = opened(COAT)
    book.press(0, HOT)
    book.do(10, rules.take_up, book.moves(10)[0])
    book.do(20, rules.take_up, Move("end", why="end"))
    scene = book.scene(90)
    (found,) = (film_face(film, us(90)) for film in running_films(scene.jobs, us(90)))
    assert (found.word, found.clock, found.second) == ("LEVEL", "1:40", ("closes in", "3:40"))
    assert found.under == "begin by then, 2 min of work"


# Wet and hot.


@pytest.mark.parametrize(
    ("reading", "why"),
    [
        (ev.ReadingTaken(panel_c=30.0), ""),
        (ev.ReadingTaken(panel_c=30.5), "panel 30.5 C"),
        (ev.ReadingTaken(panel_c=25.0, place="sun"), "direct sun"),
        (ev.ReadingTaken(air_c=38.0), ""),
    ],
)
def test_a_remover_dries_fast_on_a_hot_panel_and_in_the_sun(
    reading: ev.ReadingTaken, why: str
) -> None:
    book = opened(FALLOUT)
    book.press(0, reading)
    assert keep_wet(book.shift(), us(3599)) == why
    assert keep_wet(book.shift(), us(3600)) == ""
    assert keep_wet(None, us(1)) == ""
    book.do(10, rules.take_up, book.moves(10)[0])
    book.do(20, rules.take_up, Move("end", why="end"))
    scene = book.scene(30)
    seen = glance(scene.jobs, scene.shift, us(30), None)
    assert seen.faces[0].word == ("KEEP WET" if why else "WAIT")
    assert seen.faces[0].second == ("closes in", "4:40")
    # No drying is predicted: the marks are the plan's.
    assert seen.faces[0].clock == "1:50"
    ready = glance(scene.jobs, scene.shift, us(150), None).faces[0]
    assert ready.word == "RINSE"
    early = "rinse early, it dries fast here"
    assert ready.under == (early if why else "until it closes: begin now")
    assert (ready.clock, ready.second) == ("2:40", ("closes at", "14:18"))
    assert all(len(one.under) <= NARROW for one in (*seen.faces, ready))
    keep = f"{why[:1].upper()}{why[1:]}: keep it wet, rinse early."
    assert (keep in seen.notices) == bool(why)
    assert keep not in glance(scene.jobs, scene.shift, us(400), None).notices


# Too big.


def test_a_section_too_big_is_said_before_it_is_begun(tmp_path: Path) -> None:
    laid = Films(tmp_path, coat(minutes=1.5))
    assert not any("too big" in one for one in said(laid))
    laid.read()
    too_big = "panel 1 is too big at this temperature: apply takes 1:30, off by 1:12. " + CUT
    assert said(laid)[0] == too_big
    laid.begin()
    assert said(laid)[0] == too_big
    # At the label's own climate it is not.
    laid.read(ev.ReadingTaken(air_c=20, rh=50, panel_c=20))
    assert not any("too big" in one for one in said(laid))


def test_the_label_alone_may_be_too_short_for_a_section(tmp_path: Path) -> None:
    laid = Films(tmp_path, coat(sections=("bonnet",), minutes=4.5))
    laid.begin()
    # Nothing is left to cut, so no key is named.
    assert said(laid)[0] == "bonnet is too big: apply takes 4:30, off by 2:00."


def test_cutting_what_is_left_is_one_press(tmp_path: Path) -> None:
    laid = Films(tmp_path, coat(sections=("left", "right")))
    bench = laid.bench
    cuts = {name: (f"{name} 1", f"{name} 2") for name in ("left", "right")}
    press = bench.do(changes.split_several, laid.job, "Coat", cuts)
    assert [row.kind for row in press.rows] == ["SectionSplit"] * 2
    assert [s.name for s in bench.jobs[laid.job].of("Coat")] == [
        "left 1", "left 2", "right 1", "right 2",
    ]  # fmt: skip
    bench.undo()
    assert [s.name for s in bench.jobs[laid.job].of("Coat")] == ["left", "right"]
    for wrong in ({}, {"left": ("a", "b"), "right": ("b", "c")}):
        with pytest.raises(Refused):
            bench.do(changes.split_several, laid.job, "Coat", wrong)


def test_what_ran_out_of_its_window_names_the_key_while_there_is_something_to_cut() -> None:
    book = opened(coat(FLASH))
    book.do(0, rules.take_up, book.moves(0)[0])
    book.do(290, rules.take_up, Move("end", why="end"))
    scene = book.scene(295)
    notice = glance(scene.jobs, scene.shift, us(295), None).notices[0]
    assert notice == "panel 1 closes before it opens: too big at this pace. " + CUT


# What is watched, and how far the marks can be believed.


def test_the_first_film_of_a_coat_is_to_be_watched_and_one_in_another_climate(
    tmp_path: Path,
) -> None:
    laid = Films(tmp_path)
    laid.read()
    first = laid.lay()
    assert to_watch(laid)
    laid.clock.wind(40)
    laid.see(first)
    assert not to_watch(laid)
    laid.level(first)
    for reading, asked in (
        (replace(HOT, panel_c=34.9), False),
        (replace(HOT, panel_c=35.0), True),
        (replace(HOT, air_c=30.0), True),
        (replace(HOT, rh=49.9), False),
        (replace(HOT, rh=50.0), True),
        (HOT, False),
    ):
        laid.read(reading)
        window = laid.lay()
        assert to_watch(laid) == asked, reading
        laid.clock.wind(40)
        laid.level(window)
    # Watched there, the next one there is not asked for.
    laid.read(replace(HOT, rh=50.0))
    laid.film(40)
    laid.lay()
    assert not to_watch(laid)


def test_what_could_not_be_learned_from_is_not_asked_for(tmp_path: Path) -> None:
    laid = Films(tmp_path)
    window = laid.lay()
    assert said(laid) == (NO_PANEL,)
    laid.clock.wind(400)
    laid.read()
    assert window.state(laid.bench.now_us) == "LATE"
    assert not to_watch(laid)


def test_how_far_the_marks_can_be_believed_is_said(tmp_path: Path) -> None:
    laid = Films(tmp_path)
    assert said(laid) == ()
    laid.read()
    assert said(laid) == ()
    laid.begin()
    assert said(laid) == (f"No section watched yet: {WIDE}.",)
    laid.read(replace(HOT, panel_c=50.0))
    early, why = said(laid)
    assert early == "May be ready early: look from 0:05."
    assert why.startswith("Panel 50 C is outside 5 to 45 C")
    laid.clock.wind(20)
    laid.bench.do(rules.take_up, Move("end", why="end"))
    # Why it is looked at before the label says stands in the line that is read.
    assert said(laid) == (f"{early} {WATCH_IT}", why)
    (window,) = laid.bench.jobs[laid.job].running
    laid.see(window)
    assert said(laid) == (why,)
    laid.bench.undo()
    laid.bench.undo()
    laid.bench.do(rules.put_down)
    laid.learn()
    laid.read()
    laid.begin()
    assert said(laid) == ()
    laid.bench.do(rules.put_down)
    assert look(laid).notices == ()
    laid.bench.do(rules.clock_off, {"window_open": "it is done again"})
    assert said(laid) == ()


# On paper.


def lines(laid: Films) -> list[str]:
    record = Shop(laid.bench.log).record("1", laid.bench.now_us)
    text = record_text(record)
    assert all(len(line) <= 80 for line in text.splitlines())
    return text.splitlines()


def test_the_record_says_by_when_a_film_was_to_be_off(tmp_path: Path) -> None:
    laid = Films(tmp_path)
    laid.read()
    laid.film(40)
    (asked,) = Shop(laid.bench.log).record("1", laid.bench.now_us).windows
    assert (asked.due_us - asked.last_us, asked.off_by_us) == (
        36_000_000, asked.last_us + 72_000_000,
    )  # fmt: skip
    assert asked.seen_us == asked.last_us + 40_000_000
    found = lines(laid)
    assert any(line.endswith("; flash, to be off by 1:12") for line in found)
    assert any("remarks: seen 0:40" in line for line in found)
    laid.read(ev.ReadingTaken(air_c=20, rh=50, panel_c=20))
    laid.film(90, watched=False)
    told = " ".join(" ".join(lines(laid)).split())
    assert re.findall(r"off by (\d:\d\d)", told) == ["1:12", "2:00"]


def test_a_plan_without_products_has_its_marks_too() -> None:
    stage = coat()
    bare = replace(stage, steps=(replace(stage.steps[0], uses=()), *stage.steps[1:]))
    book = Book()
    plan = Plan("bare", (bare,), (Product("coat", "Coating"),))
    book.press(0, ev.JobOpened(plan, "", 1, "bottle green estate"), ev.ClockedOn("carport"))
    book.press(0, HOT)
    book.do(10, rules.take_up, book.moves(10)[0])
    book.do(20, rules.take_up, Move("end", why="end"))
    assert book.jobs()[JOB].running[0].marks == Marks(18, 36, 300, 72)


def test_stages_are_what_the_tests_say() -> None:
    assert isinstance(coat(), Stage) and coat().steps[1] == FLASH
