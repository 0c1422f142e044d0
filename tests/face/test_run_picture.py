"""The picture of Run: what stands at which size, what gives way, and that nothing moves."""

from __future__ import annotations

from itertools import product
from typing import Any

import pytest
from msgspec.structs import replace

from cartclock.engine.letters import cells
from cartclock.engine.now.faces import Face, TimeTape, WorkTape
from cartclock.engine.times import Instant
from cartclock.tui.face.canvas import Canvas
from cartclock.tui.face.run_layout import layout
from cartclock.tui.face.run_picture import ROWS, Row, Told, face_picture, run_picture

NOW = Instant(1_790_000_000_000_000)
BLOCKS = set("█▀▄")
NO_BLOCKS = {ord(char): " " for char in "█▀▄▂▌▐"}
WIDTHS = (20, 33, 38, 40, 59, 60, 72, 80, 110, 120, 160, 300)
HEIGHTS = (3, 4, 5, 6, 7, 9, 11, 12, 15, 18, 22, 24, 30, 36, 40, 50, 100)


def at(seconds: float) -> Instant:
    return Instant(NOW + round(seconds * 1e6))


TAPE = TimeTape(
    at(-52), ((at(38), "opens 22:32"), (at(98), "due 22:33"), (at(398), "closes 22:38")), at(38)
)
WORK = Face(
    "POLISH", "2:15", "passenger front wing", "on it, yours 3:40", "plain", "hands", "up",
    ("rest due in", "25 MIN"), WorkTape(0.4, 0.35, "panel 7 of 18", "11 to come"),
)  # fmt: skip
WAIT = Face(
    "WAIT", "0:38", "bonnet left", "until it opens, then level", "wait", "w", "down",
    ("closes in", "6:38"), TAPE, "example times", "opens 22:32",
)  # fmt: skip
LEVEL = replace(WAIT, word="LEVEL", field="ready", key="r", clock="12:38")
LATE = replace(WAIT, word="LATE", field="late", key="l", runs="up", second=("closed at", "22:38"))
REST = Face("REST NOW", "15:00", "", "where it is cool", "rest", "rest", second=("due", "0:42"))
SOON = Face("REST SOON", "10:00", "", "before the next piece", "soon", "rest/soon")
FREE = Face("NOTHING IN HAND", "0:20", "", "since nothing is in hand", "plain", "free", "up")
OFF = Face("OFF THE CLOCK", "", "", "SPACE clocks you on", "off", "off")
ASK = Face("ANSWER", "0:05", "", "waits 0:05, nothing is begun", "ask", "ask")
LONG = replace(WORK, where="driver front door lower", clock="1:05:20", word="WALK ROUND, PHOTOS")
WIDE = replace(WORK, where="運転席側後部下方四分割面引戸後方", word="洗う")
NO_WAY = replace(LATE, tape=TimeTape(at(-52), ((at(-60), "closed 22:30"),), at(38)))

PLAIN = Told(
    now_us=NOW,
    time="22:31",
    date="Thu 26 Nov",
    ready="by the plan 23:40",
    vehicle="bottle green estate",
    stage="Coat 2/3   layer 1 of 2: 12/20",
    count="layer 1 of 2: 12/20",
    faces=(WORK,),
    question="",
    key="SPACE",
    whose="",
    move="polish passenger mirror",
    shortly=("polish P MIRROR", "polish P MIRR"),
    at="up, down: 1 of 4",
    moves=("then polish door", "then polish sill"),
    changed=False,
    helps="",
    heat=("hard work in this air: 25 min left, then a 15 min rest", "hard 25 min, rest 15"),
    drink="drink in 9 min",
    climate=("WBGT 27.1 C by estimate",),
    notices=("The pad has done 3 panels: clean it.", "A check is due at 15:10."),
    answer="",
    answer_turn=0,
    turn=0,
    keys=(("B", "break"), ("X", "other work"), ("R", "reading")),
    all_keys="?",
    listed=False,
)
FACES: dict[str, tuple[Face, ...]] = {
    "work": (WORK,),
    "wave": (LEVEL, WAIT, WAIT),
    "late": (LATE, LEVEL),
    "rest": (REST, WAIT),
    "soon": (WORK, SOON),
    "free": (FREE,),
    "off": (OFF,),
    "long": (LONG, WAIT),
    "wide": (WIDE, WIDE),
    "no way": (NO_WAY,),
}


def told(name: str = "work", **others: Any) -> Told:
    return replace(PLAIN, **{"faces": FACES[name], **others})


def sound(canvas: Canvas, width: int, height: int) -> None:
    assert [sum(map(cells, row)) for row in canvas.chars] == [width] * height


@pytest.mark.parametrize("name", FACES)
def test_every_state_is_drawn_at_every_size(name: str) -> None:
    # What takes turns does so in every eighth size at least; a list open or not, too. A state has
    # every other size, the next state the sizes between.
    sizes = [*enumerate(product(WIDTHS, HEIGHTS))][[*FACES].index(name) % 2 :: 2]
    for number, (width, height) in sizes:
        one = told(name, turn=number // 2 % 4, listed=number % 16 > 7)
        sound(run_picture(one, width, height), width, height)


@pytest.mark.long
@pytest.mark.parametrize("name", FACES)
def test_every_state_is_drawn_at_every_size_in_every_turn(name: str) -> None:
    for width, height, listed, turn in product(WIDTHS, HEIGHTS, (False, True), range(8)):
        one = told(name, turn=turn, listed=listed)
        sound(run_picture(one, width, height), width, height)


@pytest.mark.parametrize(("width", "height"), [(80, 24), (40, 12), (120, 40), (200, 50), (60, 18)])
@pytest.mark.parametrize("name", FACES)
def test_nothing_that_is_said_moves_name_or_digits(name: str, width: int, height: int) -> None:
    """Answers, notices, a helper and another film leave the large letters where they are."""
    place = layout(width, height)
    end = place.digits_top + -(-(place.digits + place.digits_off) // 2)
    plain = run_picture(told(name, notices=()), width, height).lines[1:end]
    assert any(char in "█▀▄" for line in plain for char in line) or name == "wide"
    for others in (
        {"answer": "A long answer that takes more than one line of the screen. " * 3},
        {"notices": tuple(f"notice {n} says something" for n in range(9))},
        {"helps": "ENTER  Ida: apply sill   now free 0:10"},
        {"changed": True, "whose": "White van"},
        {"turn": 1},
    ):
        assert run_picture(told(name, **others), width, height).lines[1:end] == plain


@pytest.mark.parametrize("turn", range(6))
@pytest.mark.parametrize(("width", "height"), [(80, 24), (40, 12), (120, 40), (20, 6)])
def test_space_stands_at_its_row_with_its_move(width: int, height: int, turn: int) -> None:
    row = run_picture(told("wave", turn=turn), width, height).lines[layout(width, height).space]
    assert row.startswith(" SPACE  polish ")


@pytest.mark.parametrize(
    ("width", "said"),
    [
        (66, "finish: apply passenger front door lower; laid too thick"),
        (56, "finish: apply P FRONT DOOR LOW"),
        (32, "finish: apply P F DOOR"),
    ],
)
def test_what_space_takes_up_is_said_in_fewer_words_and_never_cut(width: int, said: str) -> None:
    move = "finish: apply passenger front door lower; laid too thick"
    short = ("finish: apply P FRONT DOOR LOW", "finish: apply P F DOOR L")
    row = run_picture(told("work", move=move, shortly=short), width, 12).lines[11]
    assert said in row and "\N{HORIZONTAL ELLIPSIS}" not in row
    # What is shortened by words alone loses them whole.
    vehicle = "hand over and close: bottle green estate"
    row = run_picture(told("work", move=vehicle, shortly=()), width, 12).lines[11]
    assert row.split("  ")[1].strip() in vehicle and "\N{HORIZONTAL ELLIPSIS}" not in row


def test_between_the_sizes_the_letters_grow_with_the_columns() -> None:
    digits = [layout(width, 24).digits for width in range(41, 80)]
    assert digits == sorted(digits) and set(digits) == {10, 14, 17}
    # What has no column beside the digits stands below them, as many parts as have room.
    under = run_picture(told("wave"), 60, 24).lines[16]
    assert under.split("   ")[0].strip() == "LEVEL" and under.rstrip().endswith("closes in 6:38")
    assert "closes" not in run_picture(told("wave"), 48, 24).lines[16]


def test_a_narrow_strip_has_its_digits_and_no_half_of_a_word() -> None:
    for width in range(45, 80):
        rows = run_picture(told("wave"), width, 24).lines[20:]
        said = " ".join(line[width // 2 + 2 :].translate(NO_BLOCKS) for line in rows)
        assert " ".join(said.split()) in ("", "WAIT", "WAIT opens 22:32"), width
        assert sum(bool(set(line[width // 2 :]) & BLOCKS) for line in rows) >= 3


def test_the_first_is_large_and_the_second_a_strip_on_its_own_ground() -> None:
    canvas = run_picture(told("late"), 80, 24)
    grounds = [row[0].ground for row in canvas.looks]
    assert grounds == ["page", *["late"] * 18, "band", *["ready"] * 4]
    small = run_picture(told("late", turn=1), 40, 12)
    # There the strip takes turns with the tape.
    assert [row[0].ground for row in small.looks] == [*["late"] * 10, "ready", "band"]
    assert "bonnet left: level 12:38" in small.text
    assert [row[0].ground for row in run_picture(told("late"), 40, 12).looks][10] == "late"


def test_three_films_take_turns_with_the_keys_beside_space() -> None:
    said = {run_picture(told("wave", turn=turn), 80, 24).lines[19] for turn in range(2)}
    assert any("bonnet left: wait 0:38" in line for line in said)
    assert any("B break   ? keys" in line for line in said)
    # Where both have rows of their own they are not said once more.
    said = {run_picture(told("wave", turn=turn), 120, 40).lines[27] for turn in range(2)}
    assert all(line.rstrip().endswith("up, down: 1 of 4") for line in said)


def test_a_row_more_is_a_line_more_and_the_lowest_rank_stays() -> None:
    tide = Row("tide", 4, lambda _told, _space: ["the tide is out"])
    rows = (*ROWS[:3], tide, *ROWS[3:])
    assert "the tide is out" in run_picture(told(), 80, 24, rows).text
    full = told(answer="an answer " * 12, helps="ENTER  Ida: apply sill")
    lines = run_picture(full, 80, 24, rows).lines[20:23]
    # Three lines: the answer takes two of them, the helper the third.
    assert [line.split()[0] for line in lines] == ["an", "answer", "ENTER"]
    assert "the tide is out" not in run_picture(full, 80, 24, rows).text
    assert run_picture(full, 120, 40, rows).text.count("the tide is out") == 1


@pytest.mark.parametrize(("width", "height"), [(80, 24), (40, 12), (60, 18)])
def test_of_many_notices_each_has_its_turn_and_the_most_urgent_comes_back(
    width: int, height: int
) -> None:
    many = tuple(f"Notice {n} says at some length what there is to be said." for n in range(9))
    turns = [run_picture(told(notices=many, turn=turn), width, height).text for turn in range(72)]
    words = " ".join(turns).split()
    assert all(word in words for n in range(9) for word in many[n].split())
    if height > 12:
        assert ["Notice 0" in text for text in turns] == [True, False] * 36


def test_no_sentence_is_broken_off_unseen_and_no_line_holds_half_a_count() -> None:
    short = "Screening estimate; symptoms, medical advice and local codes come first."
    said = (short, "A tool has no figure.", " ".join(["word"] * 60))
    turns = [run_picture(told(notices=said, turn=turn, answer="x"), 80, 24) for turn in range(24)]
    lines = {line.strip() for canvas in turns for line in canvas.lines}
    assert short in lines
    assert not lines & {"2)", "3)", "of 3)", "(1 of 3)"}
    (cut,) = {line for line in lines if line.startswith("word word") and len(line) > 70}
    assert cut.endswith("…")


@pytest.mark.parametrize(
    ("under", "head"),
    [
        ("on it, yours: 3:04", "22:31  BRUSH AND RINSE on it"),
        ("until it closes: begin now", "22:31  BRUSH AND RINSE until it closes"),
    ],
)
def test_in_the_head_no_figure_is_cut_off_from_its_word(under: str, head: str) -> None:
    face = replace(WORK, word="BRUSH AND RINSE", under=under, to="")
    small = run_picture(told(faces=(face,), count=""), 40, 12)
    assert small.lines[0].strip() == head


def test_in_the_head_a_long_word_is_shortened_before_the_time_of_a_mark() -> None:
    said = "LEVEL AND SECOND TOWEL"
    narrow = replace(LEVEL, word=said, to="closes 22:38")
    head = run_picture(replace(PLAIN, faces=(narrow,)), 40, 12).lines[0]
    assert head.rstrip() == " 22:31  LEVEL AND SECOND closes 22:38"
    # Of a sentence without an end in sight its beginning is told, as ever.
    wordy = replace(narrow, to="until it opens, then level and buff")
    head = run_picture(replace(PLAIN, faces=(wordy,)), 40, 12).lines[0]
    assert head.rstrip() == " 22:31  LEVEL AND SECOND TOWEL until it"


def test_what_the_helper_takes_up_stands_beside_a_strip() -> None:
    helped = told("wave", helps="ENTER  Ida: apply sill", notices=(), heat=())
    assert all(
        "ENTER  Ida" in run_picture(replace(helped, turn=turn), 80, 24).text for turn in range(4)
    )


def test_what_the_helper_takes_up_ends_with_a_whole_word() -> None:
    text = "ENTER  Ina: stand by for passenger rear wheel   now spray passenger rear wheel 2:00"
    lines = run_picture(told("wave", helps=text, notices=(), heat=()), 80, 24).lines
    said = next(line for line in lines if "ENTER" in line).strip()
    assert "…" not in said
    assert text.startswith(f"{said} ")


def test_over_an_hour_word_and_second_figure_become_text() -> None:
    line = run_picture(told("long"), 80, 24).lines[16]
    assert line.strip().startswith("WALK ROUND, PHOTOS   on it, yours 3:40   rest due in 25 MIN")


@pytest.mark.parametrize(("width", "height"), [(80, 24), (120, 40), (200, 50)])
def test_minutes_to_the_rest_stand_in_letters_beside_the_digits(width: int, height: int) -> None:
    for minutes in (5, 15, 24, 48, 60):
        face = replace(WORK, second=("rest due in", f"{minutes} MIN"))
        text = "\n".join(run_picture(replace(told(), faces=(face,)), width, height).lines)
        assert "rest due in" in text
        assert "MIN" not in text


@pytest.mark.parametrize(
    "name",
    ["bonnet and passenger side", "rear and bumpers", "driver front door lower and sill"],
)
def test_a_name_too_long_for_its_letters_has_lower_ones(name: str) -> None:
    face = replace(WORK, where=name)
    top = run_picture(replace(told(), faces=(face,)), 80, 24).lines[1:7]
    # At least three rows, and nothing of it as text.
    assert sum(any(char in "█▀▄" for char in line) for line in top) >= 3
    assert set("".join(top)) <= set("█▀▄ ")


def test_a_name_of_another_script_is_shown_as_it_is() -> None:
    text = run_picture(told("wide"), 80, 24).text
    assert "運転席側後部下方四分割面引戸後方" in text
    assert "洗う" in text


@pytest.mark.parametrize("question", ["Close the job all the same?", "Rest? " * 30, "休む？"])
def test_a_question_has_the_whole_picture_at_every_size(question: str) -> None:
    asked = replace(PLAIN, faces=(ASK,), question=question, listed=True)
    for width, height in product(WIDTHS, HEIGHTS):
        canvas = run_picture(asked, width, height)
        sound(canvas, width, height)
        assert {look.ground for row in canvas.looks[1:] for look in row} == {"ask"}


def test_off_the_clock_the_digits_are_the_time_of_day() -> None:
    off = told("off", ready="", vehicle="", stage="")
    canvas = run_picture(off, 80, 24)
    assert canvas.lines[0].startswith(" Thu 26 Nov")
    assert any("█" in line for line in canvas.lines[7:16])
    with_digits = run_picture(replace(off, faces=(replace(OFF, clock="22:31"),)), 80, 24)
    assert canvas.lines[7:16] == with_digits.lines[7:16]


def test_a_face_alone_is_drawn_at_every_size() -> None:
    for face in (WORK, REST, OFF, WIDE):
        for width, height in product(WIDTHS, HEIGHTS):
            sound(face_picture(face, width, height), width, height)


@pytest.mark.parametrize("width", [40, 50, 60, 80, 120, 200])
def test_over_a_list_the_letters_are_as_high_as_its_rows_allow(width: int) -> None:
    """Whoever opens a list goes on reading the clock from where it was read."""
    free = layout(width, {40: 12, 120: 40, 200: 50}.get(width, 24))
    seen = []
    for height in range(5, 48):
        place = layout(width, height, listed=True)
        seen.append((place.name, place.digits))
        rows = -(-(place.digits + place.digits_off) // 2)
        marks = [at for at in (place.under, place.tape, place.labels) if at >= 0]
        assert place.digits_top + rows <= min([*marks, height])
        assert all(at < height for at in marks)
    # Never smaller with a row more, and whole from the row on in which everything stands.
    assert [name for name, _digits in seen] == sorted(name for name, _digits in seen)
    assert seen[-1] == (free.name, free.digits)
    full = max(free.labels, free.tape) + 1
    assert {pair for at, pair in enumerate(seen, 5) if at >= full} == {(free.name, free.digits)}


def test_over_a_list_of_seven_rows_name_and_digits_stand_as_without_it() -> None:
    place, free = layout(80, 24 - 7, listed=True), layout(80, 24)
    assert (place.name, place.digits) == (free.name, free.digits)


@pytest.mark.parametrize("height", [4, 5, 9, 10])
@pytest.mark.parametrize("turn", range(4))
def test_over_a_list_on_the_smallest_screens_the_word_of_the_hands_stays(
    height: int, turn: int
) -> None:
    said = {"answer": "Finished: apply bonnet left.", "notices": ("Heat and gate unknown: R.",)}
    plain = told("work", listed=True, turn=turn)
    head = run_picture(replace(plain, answer="", notices=()), 40, height).lines[0]
    assert run_picture(replace(plain, **said), 40, height).lines[0] == head
