"""Two workers at one car: what the second is offered."""

from __future__ import annotations

import pytest

from cartclock.engine.facts.move import Move
from cartclock.engine.now.helper import helper_move

DOOR = Move("take up", "job", "Polish", ("door",), why="order")
WING = Move("take up", "job", "Polish", ("wing",), why="order")
FILM = Move("take up", "job", "Coat", ("roof",), why="window")
LATE = Move("take up", "job", "Coat", ("roof",), why="late")
STAND = Move("stand by", "job", "Coat", ("roof",), why="window")
CLOSE, END = Move("close", "job", why="end"), Move("end", why="end")


@pytest.mark.parametrize(
    ("moves", "first", "taken"),
    [
        ((), DOOR, None),
        ((CLOSE,), None, None),
        ((DOOR, WING), None, DOOR),
        ((DOOR, WING), DOOR, WING),
        ((DOOR, WING), WING, DOOR),
        ((DOOR,), DOOR, DOOR),
        ((DOOR, END), DOOR, END),
        ((FILM, DOOR), FILM, FILM),
        ((LATE, DOOR), LATE, LATE),
        ((STAND, DOOR), STAND, STAND),
        ((CLOSE, WING), DOOR, WING),
    ],
)
def test_a_plain_section_is_left_to_the_first_and_a_film_waits_for_nobody(
    moves: tuple[Move, ...], first: Move | None, taken: Move | None
) -> None:
    assert helper_move(moves, first) == taken
