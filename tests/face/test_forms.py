"""A short form leaves words out or cuts them by a stated rule; it is never another word."""

from __future__ import annotations

import pytest

from cartclock.engine.plan.shapes import SHAPES, shape_sections
from cartclock.engine.vehicle.short_names import short_names
from cartclock.tui.face.lettering import CALLED, sentence_lines

# A sliding door is cut to what it does; every other cut is the beginning of its word.
CUT = {"SLIDE": "SLIDING"}


@pytest.mark.parametrize("called", CALLED)
def test_what_is_called_is_called_by_the_same_words_in_every_form(called: str) -> None:
    whole, *shorter = CALLED[called]
    assert whole == called
    for form in shorter:
        rest = iter(called.split())
        assert all(word in rest for word in form.split()), form


def begins(short: str, words: list[str]) -> bool:
    """Whether a word is one of these words, its beginning, or the first letters of several."""
    if any(word.startswith(CUT.get(short, short)) for word in words):
        return True
    letters = "".join(word[0] for word in words)
    return len(short) == 2 and short in letters


@pytest.mark.parametrize("shape", SHAPES)
def test_a_panel_is_called_by_its_own_words_in_every_form(shape: str) -> None:
    panels, _panel_of = shape_sections(shape)
    for pieces in (1, 2, 3, 4):
        for name in shape_sections(shape, dict.fromkeys(panels, pieces))[0]:
            words = name.upper().split()
            for form in short_names(name):
                assert all(begins(short, words) for short in form.split()), (name, form)


def test_the_lines_of_a_sentence_are_as_alike_as_they_can_be() -> None:
    """The longest one says how wide the letters are."""
    assert sentence_lines("Close the job all the same?", 8, 76, 3) == (
        "CLOSE THE JOB",
        "ALL THE SAME?",
    )
    assert sentence_lines("at 12 Orchard Lane, Newtown", 8, 77, 3) == (
        "AT 12 ORCHARD",
        "LANE, NEWTOWN",
    )
    # No more of them for that, and none where a word has no room.
    assert sentence_lines("Lay it all the same?", 6, 76, 3) == ("LAY IT ALL THE SAME?",)
    assert sentence_lines("Close the job all the same?", 8, 76, 1) == ()
    assert sentence_lines("Rückwärtsfahrkamera", 10, 30, 3) == ()
