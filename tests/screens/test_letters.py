"""Large letters: every capital, scales, what fits, what has no big form."""

from __future__ import annotations

import string
from itertools import combinations

import pytest

from cartclock.tui.widgets.letters import (
    MOST_SCALE,
    POINTS,
    fitting,
    lettered,
    plain_capitals,
    rows_of,
    sentence,
)


def drawn(text: str, scale: int = 1) -> tuple[str, ...]:
    lines = lettered(text, scale)
    assert lines is not None
    return lines


@pytest.mark.parametrize("char", string.ascii_uppercase + string.digits + ":-.'/+?, ")
def test_every_letter_has_one_form_in_every_scale(char: str) -> None:
    for scale in range(1, MOST_SCALE + 1):
        lines = drawn(char, scale)
        assert len(lines) == rows_of(scale) == -(-POINTS * scale // 2)
        assert len({len(line) for line in lines}) == 1
        assert set("".join(lines)) <= set(" ▀▄█")
        assert bool("".join(lines).strip()) == (char != " ")
    assert len(drawn(char, 2)[0]) == 2 * len(drawn(char)[0])


def test_no_two_letters_look_alike() -> None:
    # A zero is an O: the word and the place tell them apart.
    letters = [c for c in string.ascii_uppercase + string.digits if c not in "05"]
    for one, other in combinations(letters, 2):
        assert drawn(one) != drawn(other), one + other


def test_a_letter_is_drawn_as_it_is_set() -> None:
    assert drawn("LIT") == (
        "█   █ ▀█▀",
        "█   █  █ ",
        "▀▀▀ ▀  ▀ ",
    )


def test_marks_are_left_off_and_other_scripts_have_no_big_form() -> None:
    assert plain_capitals("schräg é") == "SCHRAG E"
    assert plain_capitals("洗") is None
    assert plain_capitals("") is None
    assert lettered("洗", 1) is None
    assert fitting("洗", 80, 9) == ()


@pytest.mark.parametrize(
    ("text", "width", "height", "said", "scale"),
    [
        ("RINSE", 78, 8, "RINSE", 3),
        ("RINSE", 78, 7, "RINSE", 2),
        ("RINSE", 38, 8, "RINSE", 2),
        ("RINSE", 38, 4, "RINSE", 1),
        ("RINSE", 38, 2, "", 0),
        ("RINSE", 16, 9, "", 0),
        ("LATE: LEVEL", 78, 3, "LATE: LEVEL", 1),
        ("LATE: LEVEL", 38, 3, "LATE", 1),
        ("level and second towel", 38, 3, "level and", 1),
        ("", 38, 9, "", 0),
    ],
)
def test_what_fits_is_whole_words_as_large_as_can_be(
    text: str, width: int, height: int, said: str, scale: int
) -> None:
    assert fitting(text, width, height) == (lettered(said, scale) if said else ())


@pytest.mark.parametrize(
    ("text", "width", "height", "lines", "scale"),
    [
        ("Close the job all the same?", 78, 9, ("Close the job all", "the same?"), 1),
        ("Close the job all the same?", 78, 5, (), 0),
        ("Close it?", 78, 9, ("Close it?",), 2),
        ("Close it?", 20, 9, ("Close", "it?"), 1),
        ("Close it?", 12, 9, (), 0),
        ("", 78, 9, (), 0),
        ("Close 洗?", 78, 9, (), 0),
    ],
)
def test_a_sentence_is_whole_or_not_there(
    text: str, width: int, height: int, lines: tuple[str, ...], scale: int
) -> None:
    found = sentence(text, width, height)
    wanted = [row.center(width) for line in lines for row in drawn(line, scale)]
    assert found == tuple(wanted)
    assert len(found) <= height
