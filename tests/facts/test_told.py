"""How a log with corrections and late entries is read."""

from __future__ import annotations

import pytest
from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Row, believed_rows, standing
from cartclock.engine.facts.turn import Turn
from cartclock.engine.press import Press
from tests.kit.book import JOB, Book, row_at, us
from tests.kit.plans import WIPE, opening

STRIKE, RESTORE, MOVE = ev.PressStruck, ev.PressRestored, ev.PressMoved


def drinks(*corrections: Struct) -> Book:
    """Press 0, 1, 2: a drink at 10 s, 20 s, 30 s; then the corrections, from press 3 on."""
    book = Book()
    for index in range(3):
        book.press(10 + 10 * index, ev.DrinkTaken(index))
    for index, event in enumerate(corrections):
        book.press(100 + index, event)
    return book


def heard(rows: list[Row]) -> list[tuple[int, float]]:
    """Which drink at which second."""
    return [(getattr(row.event, "ml", -1), (row.at_us - us(0)) / 1e6) for row in rows]


FIRST, SECOND, THIRD = (0, 10.0), (1, 20.0), (2, 30.0)


@pytest.mark.parametrize(
    ("corrections", "wanted"),
    [
        pytest.param([], [FIRST, SECOND, THIRD], id="nothing corrected"),
        pytest.param([STRIKE(1)], [FIRST, THIRD], id="struck"),
        pytest.param([STRIKE(1), RESTORE(1)], [FIRST, SECOND, THIRD], id="restored"),
        pytest.param([STRIKE(1), RESTORE(1), STRIKE(1)], [FIRST, THIRD], id="struck again"),
        pytest.param([STRIKE(0), STRIKE(2), RESTORE(0)], [FIRST, SECOND], id="one of two restored"),
        pytest.param([MOVE(2, us(15))], [FIRST, (2, 15.0), SECOND], id="moved before another"),
        pytest.param([MOVE(0, us(25))], [SECOND, (0, 25.0), THIRD], id="moved behind another"),
        pytest.param([MOVE(0, us(25)), MOVE(0, us(5))], [(0, 5.0), SECOND, THIRD], id="last move"),
        pytest.param([MOVE(0, us(25)), STRIKE(3)], [FIRST, SECOND, THIRD], id="struck move"),
        pytest.param(
            [MOVE(0, us(25)), MOVE(0, us(5)), STRIKE(4)],
            [SECOND, (0, 25.0), THIRD],
            id="of two moves the last struck",
        ),
        pytest.param(
            [MOVE(0, us(25)), STRIKE(3), RESTORE(3)],
            [SECOND, (0, 25.0), THIRD],
            id="move struck and restored",
        ),
        pytest.param([MOVE(0, us(25)), STRIKE(0)], [SECOND, THIRD], id="moved and struck"),
        pytest.param(
            [STRIKE(0), MOVE(0, us(25)), RESTORE(0)],
            [SECOND, (0, 25.0), THIRD],
            id="moved while struck",
        ),
        pytest.param([MOVE(0, us(30))], [SECOND, (0, 30.0), THIRD], id="same time: by seq"),
        pytest.param([MOVE(2, us(10))], [FIRST, (2, 10.0), SECOND], id="same time: still by seq"),
        pytest.param([STRIKE(7), MOVE(8, us(1))], [FIRST, SECOND, THIRD], id="no such press"),
    ],
)
def test_corrections(corrections: list[Struct], wanted: list[tuple[int, float]]) -> None:
    assert heard(believed_rows(drinks(*corrections).rows)) == wanted


def test_standing_tells_the_last_word_on_each_press() -> None:
    book = drinks(STRIKE(0), STRIKE(1), RESTORE(0), MOVE(2, us(5)))
    assert standing(book.rows) == {Press("cart", 0): True, Press("cart", 1): False}


def test_rows_of_one_press_move_and_fall_together() -> None:
    book = Book()
    book.press(5, ev.DrinkTaken(0))
    press = book.press(10, ev.DrinkTaken(1), ev.DrinkTaken(2))
    # As fill-in writes: a row of the same press that speaks of a later time.
    book.rows.append(row_at(ev.DrinkTaken(3), 18, 3, press=press))
    move = book.press(50, MOVE(press, us(2)))
    assert heard(believed_rows(book.rows)) == [(1, 2.0), (2, 2.0), (0, 5.0), (3, 10.0)]
    book.press(51, STRIKE(move))
    assert heard(believed_rows(book.rows)) == [(0, 5.0), (1, 10.0), (2, 10.0), (3, 18.0)]
    book.press(52, STRIKE(press))
    assert heard(believed_rows(book.rows)) == [(0, 5.0)]


def test_a_move_is_reckoned_from_the_time_first_written() -> None:
    """Two moves do not add up: each names the time of the press's first row."""
    book = drinks()
    press = book.press(40, ev.DrinkTaken(3))
    book.rows.append(row_at(ev.DrinkTaken(4), 44, 4, press=press))
    book.press(50, MOVE(press, us(35)))
    book.press(51, MOVE(press, us(36)))
    assert heard(believed_rows(book.rows))[3:] == [(3, 36.0), (4, 40.0)]


def test_evidence_and_identity_stay_when_a_press_is_moved() -> None:
    book = drinks(MOVE(1, us(29)))
    was, now = book.rows[1], believed_rows(book.rows)[1]
    assert now.at_us == us(29)
    assert (now.seq, now.press, now.entered_us, now.wall_us, now.tick_us) == (
        was.seq, was.press, was.entered_us, was.wall_us, was.tick_us,
    )  # fmt: skip


def test_a_late_entry_is_read_where_it_speaks_of() -> None:
    book = drinks()
    book.press(15, ev.DrinkTaken(9), entered_s=60)
    assert heard(believed_rows(book.rows)) == [FIRST, (9, 15.0), SECOND, THIRD]
    assert [row.entered_us for row in believed_rows(book.rows)] == [us(10), us(60), us(20), us(30)]


def test_a_late_entry_at_the_same_time_comes_behind() -> None:
    book = drinks()
    book.press(20, ev.DrinkTaken(9), entered_s=60)
    assert heard(believed_rows(book.rows)) == [FIRST, SECOND, (9, 20.0), THIRD]


def test_an_opening_comes_before_everything() -> None:
    book = Book()
    book.press(0, ev.ClockedOn())
    book.press(30, ev.WorkStarted("Wipe", ("whole car",), Turn()))
    opened = book.press(40, opening(WIPE))
    assert [row.press.seq for row in believed_rows(book.rows)] == [opened, 0, 1]
    assert book.odd() == []
    assert book.job(JOB).sections["Wipe", "whole car"].state == "in hand"
    assert book.job(JOB).opened_us == us(40)
    book.press(50, STRIKE(opened))
    assert [row.press.seq for row in believed_rows(book.rows)] == [0, 1]
    assert book.jobs() == {}
    assert book.odd() == ["WorkStarted cannot be while the job is new"]


def test_two_jobs_open_in_their_order() -> None:
    book = Book()
    book.press(20, opening(number=2), job="job-2")
    book.press(20, opening(number=1), job="job-1", entered_s=30)
    book.press(5, opening(number=3), job="job-3", entered_s=40)
    assert [row.job for row in believed_rows(book.rows)] == ["job-3", "job-2", "job-1"]


def test_told_leaves_the_rows_alone() -> None:
    book = drinks(MOVE(0, us(25)), STRIKE(1))
    before = list(book.rows)
    once = believed_rows(book.rows)
    assert book.rows == before
    assert believed_rows(once) == once
