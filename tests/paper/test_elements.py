"""Elements of a paper as what they are made of: columns that give way, tape, a large date."""

from __future__ import annotations

import pytest

from cartclock.engine.paper.page.date import Date
from cartclock.engine.paper.page.strip import Strip, StripScale, StripSpan, strip_words
from cartclock.engine.paper.page.table import Column, TableRow, Under, shared_line
from cartclock.engine.paper.page.text.date_text import date_lines, large_lines
from cartclock.engine.paper.page.text.strip_text import strip_lines

COLUMNS = (
    Column("section", 20),
    Column("off", 6, right=True),
    Column("reading", 30, rank=3),
    Column("remarks", 30, rank=2, remark=True),
)


@pytest.mark.parametrize(
    ("room", "gone"), [(92, ()), (91, (2,)), (60, (2,)), (59, (2, 3)), (5, (1, 2, 3))]
)
def test_columns_give_way_by_rank_and_no_other_does(room: int, gone: tuple[int, ...]) -> None:
    found = shared_line(COLUMNS, room)
    assert found.gone == gone
    assert set(found.kept) | set(found.gone) == {0, 1, 2, 3}
    # Together they take the whole of the line.
    if room > 20:
        assert sum(found.letters) + 2 * (len(found.kept) - 1) == pytest.approx(room)


def test_what_gave_way_is_said_under_its_row_where_it_changes_and_a_remark_always() -> None:
    under = Under(COLUMNS, (2, 3))
    rows = [
        ("roof", "9", "cold", "drop"), ("bonnet", "9", "cold", "drop"), ("wing", "9", "", ""),
        ("door", "9", "", ""), ("sill", "9", "warm", ""),
    ]  # fmt: skip
    assert [under.words(TableRow(cells)) for cells in rows] == [
        "reading: cold; remarks: drop",
        "remarks: drop",
        "reading: -",
        "",
        "reading: warm",
    ]


def test_tape_is_told_apart_by_its_sign_and_lies_to_scale() -> None:
    scale = StripScale(10, ((0, "06"), (5, "11"), (10, "16")))
    spans = (
        StripSpan(0, 5, "full", "Cut"), StripSpan(5, 6, "half"), StripSpan(6, 7, "low"),
        StripSpan(7, 10, "hatch"),
    )  # fmt: skip
    head, row = strip_lines(scale, [Strip("Shift", spans)], 47)
    assert row == "Shift  " + "####### Cut ########====....////////////"
    assert head.index("11") == 7 + 20 and head.endswith("16") and len(head) == 47


def test_days_stand_over_their_columns_and_the_words_behind_the_cut() -> None:
    scale = StripScale(
        3, tuple((at, f"{day}\n{at + 1}") for at, day in enumerate(("Mo", "Tu", "We"))), True
    )
    strip = Strip("Wet", (StripSpan(0, 1, "full"), StripSpan(1, 3, "low", "from 9")), "from Tu 9")
    names, numbers, row = strip_lines(scale, [strip], 41)
    assert (names.split(), numbers.split()) == (["Mo", "Tu", "We"], ["1", "2", "3"])
    assert names.index("Tu") == numbers.index("2") == row.index(".")
    assert "from 9" in row
    assert strip_words(strip) == "from Tu 9" and strip_words(Strip("x", strip.spans)) == "from 9"


def test_a_date_is_drawn_where_the_family_has_its_letters_and_always_told_in_words() -> None:
    lines = list(date_lines([Date("Keep it dry until", "Sun 5 Apr, 18:17", "No rain.", True)], 80))
    assert {len(line) for line in lines} == {80}
    assert "KEEP IT DRY UNTIL" in lines[1] and lines[1].endswith("Sun 5 Apr, 18:17 |")
    assert any("█" in line for line in lines)
    # A zone behind the clock has signs that are not drawn, and little room draws nothing.
    told = "Sun 25 Oct, 01:30 WET (UTC+00:00)"
    assert large_lines("王", 80) == () and large_lines("Sun 5 Apr, 18:17", 20) == ()
    assert told in "\n".join(date_lines([Date("Keep it dry until", told, "", True)], 80))
