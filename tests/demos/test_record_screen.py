"""The record of every demo session on the screen, at 40 columns and at 80: all that print says."""

from __future__ import annotations

import re

import pytest

from cartclock.demo_sessions.session import sessions
from cartclock.engine.letters import cells
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.sheet import render
from cartclock.engine.paper.sheets.record import RECORD
from cartclock.engine.record.record import Record
from cartclock.tui.face.laying import laid
from cartclock.tui.pages.paper import Reading
from tests.demos.test_narrow_papers import TAPE, made, words
from tests.kit.sessions import result

pytestmark = pytest.mark.xdist_group("demo sessions")

# What tape means, and what stands over its middle: the screen says the words of a strip alone.
OF_TAPE = re.compile(
    r"(?m)^Tape: .*\n|^Heat, least C .*\n.*clear\.\n|^ +early .*late\n|^Made .*\n(?:.+\n)*"
)
# A plate without its frame, a tape that says no words, and what stands over the first column of a
# table whose texts stand under each other: there each of the others has its head with it.
NOT_SHOWN = {"[", "]", "films", "when", "product", "section"}


def on_screen(record: Record, width: int) -> list[str]:
    """The lines of the record as the screen lays them out."""
    reading = Reading()
    render(RECORD, PaperFacts(record), reading)
    lines = laid(reading.page, width).lines
    for line in lines:
        assert all(piece.x + cells(piece.text) <= width for piece in line.pieces)
    told = ["  ".join(piece.text for piece in line.pieces) for line in lines]
    return [reading.page.name, reading.page.said, *told]


# The one with the fewest rows always, the others before a release.
@pytest.mark.parametrize("width", [40, 80])
@pytest.mark.parametrize(
    "name",
    [
        one if one == "cool_damp_coupe" else pytest.param(one, marks=pytest.mark.long)
        for one in sessions()
    ],
)
def test_the_screen_says_every_word_of_the_paper(name: str, width: int) -> None:
    for record in result(name).papers:
        text = OF_TAPE.sub("", made(RECORD, PaperFacts(record), 0))
        shown = "\n".join(on_screen(record, width))
        said = {word.strip(TAPE).casefold() for word in shown.split()}
        assert {word.casefold() for word in words(text)} - said <= NOT_SHOWN
        assert "…" not in shown
