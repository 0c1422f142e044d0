"""What one look at the cart tells: words, clocks, fields, the next line, advice."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from cartclock.engine.body.watch import Watch, watch
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.now.faces import Face, WorkTape, most_urgent
from cartclock.engine.now.glance import Glance, glance
from cartclock.engine.now.running import running, running_films, span_text, states
from cartclock.engine.plan.plan import Check, Handover, Stage, Wait, Work
from cartclock.engine.rules import rules
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import COAT, FALLOUT, POLISH, WIPE, opening

LATE = "since it closed: rinse all the same"
DOOR = Stage(
    "Door", ("door",), (Work("spray", 1.0), Wait("dwell", 60, 90, 240), Work("rinse", 1.0))
)


def take(book: Book, at_s: float, act: str = "take up", section: str = "") -> Move:
    """Takes up the first move of that kind (on that section)."""
    move = next(
        m for m in book.moves(at_s) if m.act == act and (not section or section in m.sections)
    )
    book.do(at_s, rules.take_up, move)
    return move


def look(book: Book, at_s: float, questions: int = 0) -> Glance:
    """The glance of the worker whose first shift it is, with the best move chosen."""
    scene = book.scene(at_s)
    chosen = next(iter(book.moves(at_s)), None)
    return glance(scene.jobs, scene.shift, us(at_s), chosen, questions)


@pytest.mark.parametrize(
    ("seconds", "said"),
    [
        (0, "0:00"), (0.2, "0:01"), (59.5, "1:00"), (60, "1:00"), (3599, "59:59"),
        (3600, "1:00:00"), (-0.2, "0:00"), (-1, "+0:01"), (-1.9, "+0:01"), (-61, "+1:01"),
        (-7261, "+2:01:01"),
    ],
)  # fmt: skip
def test_a_span_never_shows_less_time_than_is_left(seconds: float, said: str) -> None:
    assert span_text(round(seconds * 1e6)) == said


def test_off_the_clock() -> None:
    book = opened(WIPE, on=False)
    seen = look(book, 10)
    assert [(f.word, f.clock, f.field) for f in seen.faces] == [("OFF THE CLOCK", "", "off")]
    assert (seen.next_line, seen.on_the_clock, seen.head) == ("clock on", "", "1 open job")
    assert (seen.place, seen.stage, seen.count) == ("", "", "")


def test_off_the_clock_the_sentence_says_what_to_press_next() -> None:
    assert look(opened(WIPE, on=False), 10).faces[0].under == "SPACE clocks you on"
    bare = look(Book(), 10)
    assert bare.faces[0].under == "T, then +, opens a job; SPACE clocks you on"
    assert bare.head == "no open job"


def test_no_job_at_all() -> None:
    book = Book()
    book.press(0, ev.ClockedOn("carport"))
    seen = look(book, 65)
    assert (seen.head, seen.on_the_clock) == ("no open job", "1:05")
    assert seen.next_line == "nothing: T, then +, opens a job"
    assert (seen.faces[0].word, seen.faces[0].clock) == ("NO JOB OPEN", "")


def test_several_open_jobs_are_counted() -> None:
    book = opened(WIPE, on=False)
    book.press(0, opening(POLISH, number=2), job="job-2")
    assert look(book, 1).head == "2 open jobs"


def test_work_in_hand_counts_only_while_the_hands_are_on_it() -> None:
    book = opened(POLISH, COAT)
    take(book, 0)
    book.do(60, rules.put_down)
    take(book, 100, section="door")
    face = look(book, 130).faces[0]
    assert (face.word, face.where, face.clock, face.field) == ("CUT", "door", "1:30", "plain")
    assert (face.under, face.runs) == ("on it, planned 20:00", "up")
    assert face.tape == WorkTape(90 / 1200 / 2, None, "panel 1 of 2", "1 to come")
    take(book, 1200)
    take(book, 1800)
    seen = look(book, 1805)
    assert isinstance(seen.faces[0].tape, WorkTape)
    assert seen.faces[0].tape.left == "panel 2 of 2"
    assert (seen.head, seen.place) == ("bottle green estate", "Polish 1/2   1/2 done")
    assert (seen.stage, seen.count) == ("Polish 1/2", "1/2 done")


def test_work_over_all_sections_is_planned_once() -> None:
    book = opened(FALLOUT)
    take(book, 0)
    take(book, 10)
    take(book, 20)
    # The last window opens 120 s after its last touch.
    take(book, 30, act="stand by")
    take(book, 160)
    face = look(book, 170).faces[0]
    assert (face.word, face.where, face.under) == ("RINSE", "all 3", "on it, planned 3:00")


def test_work_without_planned_minutes_says_so() -> None:
    book = opened(Stage("Look", ("car",), (Work("look"),)))
    take(book, 0)
    assert look(book, 5).faces[0].under == "on it, no time planned"


@pytest.mark.parametrize(
    ("at_s", "word", "clock", "under", "second", "field"),
    [
        # The first touch at 0, the last at 60: opens at 120, closes at 240.
        (60, "WAIT", "1:00", "until it opens, then rinse", ("closes in", "3:00"), "wait"),
        (119, "WAIT", "0:01", "until it opens, then rinse", ("closes in", "2:01"), "wait"),
        (120, "RINSE", "1:00", "begin by then, 1 min of work", ("closes in", "2:00"), "ready"),
        (179, "RINSE", "0:01", "begin by then, 1 min of work", ("closes in", "1:01"), "ready"),
        (180, "RINSE", "1:00", "until it closes: begin now", ("closes at", "14:17"), "ready"),
        (239, "RINSE", "0:01", "until it closes: begin now", ("closes at", "14:17"), "ready"),
        (240, "LATE", "0:00", LATE, ("closed at", "14:17"), "late"),
        (300, "LATE", "1:00", LATE, ("closed at", "14:17"), "late"),
    ],
)
def test_a_window_to_its_next_mark(
    at_s: float, word: str, clock: str, under: str, second: tuple[str, str], field: str
) -> None:
    book = opened(DOOR)
    take(book, 0)
    take(book, 60, act="stand by")
    (face,) = look(book, at_s).faces
    assert (face.word, face.clock, face.under, face.field) == (word, clock, under, field)
    assert (face.second, face.where) == (second, "door")
    assert face.runs == ("up" if field == "late" else "down")


def test_a_face_has_another_key_in_another_state_and_the_same_within_one() -> None:
    book = opened(DOOR)
    take(book, 0)
    take(book, 60, act="stand by")
    keys = [look(book, at_s).faces[0].key for at_s in (60, 100, 120, 200, 240, 300)]
    assert keys[0] == keys[1] != keys[2] == keys[3] != keys[4] == keys[5]


@pytest.mark.parametrize(
    ("planned_s", "at_s", "word", "clock", "under", "field"),
    [
        (600, 60, "BREAK", "9:00", "then back to work, 14:23", "break"),
        (600, 599, "BREAK", "0:01", "then back to work, 14:23", "break"),
        (600, 600, "BACK TO WORK", "0:00", "since the heat break was over", "back"),
        (600, 660, "BACK TO WORK", "1:00", "since the heat break was over", "back"),
        (None, 660, "BREAK", "11:00", "no end planned", "break"),
    ],
)
def test_a_break_and_back_to_work_stand_on_grounds_of_their_own(
    planned_s: int | None, at_s: float, word: str, clock: str, under: str, field: str
) -> None:
    book = opened(WIPE)
    book.do(0, rules.take_break, "heat", planned_s)
    (face,) = look(book, at_s).faces
    assert (face.word, face.clock, face.under, face.field) == (word, clock, under, field)
    assert face.large == ("BACK TO WORK" if field == "back" else "heat")
    assert (face.second[-1] == "10:00") == (planned_s is not None)


def test_other_work_names_whose_it_is() -> None:
    book = opened(WIPE)
    book.do(0, rules.start_other, "phone", JOB)
    face = look(book, 90).faces[0]
    assert (face.word, face.clock) == ("PHONE", "1:30")
    assert face.under == "other work, for bottle green estate"
    book.do(100, rules.start_other, "driving", "")
    assert look(book, 101).faces[0].under == "other work, for the cart"


def test_with_free_hands_the_line_says_until_when_there_is_nothing_to_take_up() -> None:
    # From 14:13:20; one section, laid by 14:14:20, open from 14:15:20.
    book = opened(replace(COAT, sections=("roof",), panels={}))
    take(book, 0)
    assert look(book, 30).next_line == "stand by for roof"
    take(book, 60, act="stand by")
    assert look(book, 70).next_line == "wait until 14:15: roof"
    assert look(book, 120).next_line == "level roof"
    take(book, 120)
    take(book, 240)
    book.do(300, rules.take_up, next(m for m in book.moves(300) if m.act == "stand by"))
    # Finished at 14:18:20, and the gap lasts an hour: not before 15:19, to the minute.
    assert look(book, 310).next_line == "wait until 15:19: roof"


def test_what_hurts_first_comes_first_and_nothing_that_runs_is_left_out() -> None:
    book = opened(COAT)
    take(book, 0)
    take(book, 90, section="bonnet right")
    take(book, 130, section="roof")
    seen = look(book, 152)
    assert [(f.word, f.where) for f in seen.faces] == [
        ("LEVEL", "bonnet left"), ("APPLY", "roof"), ("WAIT", "bonnet right"),
    ]  # fmt: skip
    assert seen.faces[2].line == "bonnet right: wait 0:38"
    # Off the clock the windows run on and are shown.
    book.do(153, rules.clock_off, {"window_open": "it rains"})
    seen = look(book, 154)
    assert [(f.word, f.where) for f in seen.faces] == [
        ("LEVEL", "bonnet left"),
        ("WAIT", "bonnet right"),
        ("APPLY", "roof"),
        ("OFF THE CLOCK", ""),
    ]
    assert seen.next_line == "clock on"


def test_late_before_ready_before_waiting() -> None:
    book = opened(COAT)
    take(book, 0)
    take(book, 90, section="bonnet right")
    take(book, 130, section="roof")
    book.do(170, rules.put_down)
    jobs = book.jobs()
    assert [w.section for _job, w in running(jobs, us(175))] == ["bonnet left", "bonnet right"]
    # At 305 the left one closed; at 185 both are ready and the left one closes first.
    for at_s in (185, 305):
        assert [film.where for film in running_films(jobs, us(at_s))] == [
            "bonnet left",
            "bonnet right",
        ]
    assert look(book, 305).faces[0].field == "late"


def test_sections_taken_up_together_are_one_film() -> None:
    both = Stage(
        "Glass", ("left", "right"),
        (Work("spray", 1.0), Wait("dwell", 60, 90, 240), Work("wipe", 2.0)), press="stage",
    )  # fmt: skip
    book = opened(both)
    take(book, 0)
    take(book, 60, act="stand by")
    (face,) = look(book, 130).faces
    assert (face.where, face.word) == ("all 2", "WIPE")
    # Two sections at two minutes each: begun now it is too late already.
    assert (face.under, face.clock) == ("until it closes: begin now", "1:50")
    assert len(running(book.jobs(), us(130))) == 2


def test_a_gap_is_no_clock_of_the_hands() -> None:
    book = opened(COAT)
    book.press(0, ev.SectionSkipped("Coat", ("bonnet right", "roof")))
    take(book, 0)
    for at_s in (130, 200):
        take(book, at_s)
    book.do(260, rules.take_up, Move("end"))
    assert running(book.jobs(), us(300)) == []
    assert look(book, 300).faces[0].word == "NOTHING IN HAND"


def test_states_tell_every_clock_that_runs_shown_or_not() -> None:
    book = opened(COAT)
    take(book, 0)
    take(book, 90, section="bonnet right")
    take(book, 130, section="roof")
    scene = book.scene(152)
    fields = [field for _key, field in states(scene.jobs, scene.shift, us(152))]
    assert sorted(fields) == ["plain", "ready", "wait"]
    assert states({}, None, us(0)) == ()


def test_the_most_urgent_face_comes_first() -> None:
    def face(field: str) -> Face:
        return Face("", "", "", "", field, field)  # type: ignore[arg-type]  # a Field by name

    fields = ["off", "wait", "soon", "plain", "break", "back", "ask", "ready", "rest", "late"]
    ordered = [f.field for f in most_urgent([face(field) for field in fields])]
    assert ordered == fields[::-1]


@pytest.mark.parametrize(
    ("doing", "said"),
    [
        ("hands", "finish: wipe whole car"),
        ("break", "end the break, nothing in hand"),
        ("other", "end this, nothing in hand"),
    ],
)
def test_the_end_is_named_by_what_it_ends(doing: str, said: str) -> None:
    book = opened(WIPE)
    if doing == "hands":
        take(book, 0)
    elif doing == "break":
        book.do(0, rules.take_break, "rest", 600)
    else:
        book.do(0, rules.start_other, "photos", "")
    scene = book.scene(10)
    seen = glance(scene.jobs, scene.shift, us(10), Move("end"))
    assert seen.next_line == said


def test_advice_names_what_is_too_big_and_questions_wait_for_the_film() -> None:
    book = opened(DOOR)
    take(book, 0)
    # The last touch at 200: it opens at 260 and closed at 240.
    take(book, 200, act="stand by")
    assert look(book, 205, questions=1).notices == (
        "door closes before it opens: too big at this pace.",
    )
    assert look(book, 240 + 3599, questions=1).notices[1:] == ()
    assert look(book, 240 + 3600, questions=1).notices[1:] == ("1 question about today (G)",)
    assert look(opened(DOOR), 5, questions=3).notices == ("3 questions about today (G)",)
    assert look(opened(DOOR), 5).notices == ()


def test_promise_and_looks_that_were_missed_wait_for_the_film() -> None:
    checked = replace(DOOR, check=Check(60, 120, "panel", "light over it"))
    second = replace(DOOR, name="Sill", sections=("sill",))
    book = Book()
    job = replace(opening(checked, second), promised_us=us(3600))
    kept_in = Handover("PT12H", "Door", "label of the pack")
    book.press(0, replace(job, plan=replace(job.plan, handover=kept_in)))
    book.press(0, ev.ClockedOn("carport"))
    for at_s, stage, section in ((0, "Door", "door"), (1000, "Sill", "sill")):
        book.press(at_s, ev.WorkStarted(stage, (section,), Turn()))
        book.press(at_s + 60, ev.StepFinished(stage, (section,), Turn(), Marks(60, 90, 240)))
        book.press(at_s + 130, ev.WorkStarted(stage, (section,), Turn(step=2)))
        book.press(at_s + 150, ev.StepFinished(stage, (section,), Turn(step=2)))
    assert book.odd() == []

    def waits(at_s: float) -> list[bool]:
        told = Book()
        told.rows = [row for row in book.rows if row.at_us <= us(at_s)]
        said = "\n".join(look(told, at_s).notices)
        return [part not in said for part in ("Not to be handed over", "Look again (Z): light")]

    assert waits(900) == [False, False]
    # From the first touch of the other film until it is off.
    assert waits(1010) == waits(1070) == waits(1140) == [True, True]
    assert waits(1200) == [False, False]


def body(book: Book, at_s: float) -> Watch:
    scene = book.scene(at_s)
    assert scene.shift is not None
    return watch(scene.shift, scene.jobs, scene.now_us)


def seen(book: Book, at_s: float) -> Glance:
    """The glance with the watch over the worker."""
    scene = book.scene(at_s)
    return glance(scene.jobs, scene.shift, scene.now_us, None, 0, body(book, at_s), ("news",))


def test_a_called_rest_takes_the_place_of_every_clock() -> None:
    book = opened(WIPE)
    book.press(0, ev.ReadingTaken(air_c=35, rh=40))
    book.press(0, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    book.press(1800, ev.RestCalled("NIOSH limit", 900), by="machine")
    found = seen(book, 1925)
    assert [face.word for face in found.faces] == ["REST NOW"]
    assert found.faces[0].under == "where it is cool, from SPACE on; screening estimate"
    assert found.faces[0].second == ("due since", "2:05")
    # Amber: red is for a film that is late.
    assert found.faces[0].field == "rest"
    assert "news" in found.notices
    assert ("rest", "rest") in states(book.jobs(), book.shift(), us(1925), body(book, 1925))
    assert ("rest", "rest") not in states(book.jobs(), book.shift(), us(1925))


def test_a_rest_never_hides_a_film_that_runs() -> None:
    book = opened(COAT)
    book.press(0, ev.ReadingTaken(air_c=40, rh=40))
    book.press(0, ev.CheckedIn(60))
    book.press(0, ev.WorkStarted("Coat", ("bonnet left",), Turn()))
    book.press(1800, ev.StepFinished("Coat", ("bonnet left",), Turn(), Marks(45, 90, 3600)))
    found = seen(book, 1810)
    assert found.faces[0].word == "WAIT"
    assert any("as soon as the film is done: bonnet left." in n for n in found.notices)
    closed = seen(book, 3601)
    assert closed.faces[0].word in ("ARE YOU WELL?", "REST NOW")
    assert [face.line for face in closed.faces[1:]] == ["bonnet left: late 0:01"]


@pytest.mark.parametrize(
    ("overdue_s", "loudness", "word"),
    [(0, 0, "NOTHING IN HAND"), (60, 1, "NOTHING IN HAND"), (300, 2, "ARE YOU WELL?"),
     (600, 3, "ARE YOU WELL?")],
)  # fmt: skip
def test_a_check_in_fills_the_screen_once_it_is_loud(
    overdue_s: int, loudness: int, word: str
) -> None:
    book = opened(WIPE)
    book.press(0, ev.CheckedIn(600))
    found = body(book, 600 + overdue_s)
    assert found.check_in.loudness == loudness
    assert seen(book, 600 + overdue_s).faces[0].word == word
    rings = {
        key
        for at_s in range(600 + overdue_s, 600 + overdue_s + 60)
        for key, _field in states(book.jobs(), book.shift(), us(at_s), body(book, at_s))
    }
    assert len(rings) == {0: 1, 1: 1, 2: 3, 3: 12}[loudness]


def test_the_set_up_of_a_test_spot_stands_before_the_questions() -> None:
    spot = Stage("Test spot", ("spot",), (Work("polish", 20.0),), trial=True)
    book = opened(spot, Stage("Polish", ("roof",), (Work("polish", 10.0),)))
    assert look(book, 1).notices == ()
    book.press(5, ev.TrialJudged("Test spot", "spot", "foam pad, speed 4", True))
    # The spot itself comes next: there the set-up is still to be found.
    assert look(book, 10).notices == ()
    take(book, 10)
    assert look(book, 20, questions=1).notices == (
        "set-up for Polish: foam pad, speed 4",
        "1 question about today (G)",
    )


def test_what_a_wave_passes_over_is_a_line_while_a_film_is_in_play() -> None:
    cut = replace(WIPE, name="Cut", sections=("bonnet left", "roof", "door"))
    book = opened(cut, replace(WIPE, name="Panel wipe"), COAT)
    assert not [line for line in look(book, 5).notices if line.startswith("Also left")]
    book.press(10, ev.WorkStarted("Coat", ("bonnet left",), Turn()))
    assert "Also left: Cut 3, wipe whole car." in look(book, 15).notices
    book.press(20, ev.StepFinished("Coat", ("bonnet left",), Turn(), Marks(60, 100, 300)))
    book.press(21, ev.SectionSkipped("Cut", ("roof", "door")))
    assert "Also left: wipe bonnet left, wipe whole car." in look(book, 30).notices
    book.press(31, ev.SectionSkipped("Cut", ("bonnet left",)))
    book.press(32, ev.WorkStarted("Panel wipe", ("whole car",), Turn()))
    assert not [line for line in look(book, 35).notices if line.startswith("Also left")]
