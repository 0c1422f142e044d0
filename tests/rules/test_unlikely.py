"""Readings that may be but look odd: asked about once, kept if insisted, marked on paper."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.events import ReadingTaken
from cartclock.engine.facts.words import reading_text
from cartclock.engine.figures.air import dew_point_c
from cartclock.engine.figures.measured import LIKELY
from cartclock.engine.rules import rules
from cartclock.engine.rules.readings import unlikely
from cartclock.engine.trouble import Asks
from tests.kit.book import Book, opened
from tests.kit.plans import COAT

INDOORS = ReadingTaken(air_c=26.0, rh=50.0, panel_c=26.0)


def figures(reading: ReadingTaken, before: ReadingTaken | None = None) -> list[str]:
    return [one.figure for one in unlikely(reading, before)]


# What looks odd.


@pytest.mark.parametrize(
    ("reading", "figure"),
    [
        (replace(INDOORS, panel_c=41.0), ""),
        (replace(INDOORS, panel_c=41.1), "panel over air, no sun"),
        (replace(INDOORS, panel_c=41.1, place="outdoor shade"), "panel over air, no sun"),
        (replace(INDOORS, panel_c=51.0, place="cloud"), ""),
        (replace(INDOORS, panel_c=51.5, place="cloud"), "panel over air, cloud"),
        (replace(INDOORS, panel_c=71.0, place="sun"), ""),
        (replace(INDOORS, panel_c=71.5, place="sun"), "panel over air, sun"),
        (replace(INDOORS, panel_c=11.0), ""),
        (replace(INDOORS, panel_c=10.5), "panel under air"),
        (replace(INDOORS, globe_c=41.5), "globe over air, no sun"),
        (replace(INDOORS, globe_c=41.5, place="sun"), ""),
        (replace(INDOORS, globe_c=61.5, place="sun"), "globe over air, sky"),
        (replace(INDOORS, globe_c=20.5), "globe under air"),
        (replace(INDOORS, wbgt_c=31.0), ""),
        (replace(INDOORS, wbgt_c=31.5), "WBGT over air"),
        (ReadingTaken(air_c=34.0, rh=79.0), ""),
        (ReadingTaken(air_c=34.0, rh=81.0), "dew point"),
        # Nothing to compare it with.
        (ReadingTaken(panel_c=80.0), ""),
        (ReadingTaken(rh=100.0), ""),
    ],
)
def test_figures_that_do_not_fit_each_other_are_odd(reading: ReadingTaken, figure: str) -> None:
    assert figures(reading) == ([figure] if figure else [])


@pytest.mark.parametrize(
    ("reading", "odd"),
    [
        (ReadingTaken(air_c=34.0, rh=31.0), []),
        (ReadingTaken(air_c=34.5, rh=31.0), ["air moved"]),
        (ReadingTaken(air_c=17.5, rh=80.0), ["air moved"]),
        # Dew point of 26 C and 50 %: 14.8 C.
        (ReadingTaken(air_c=26.0, rh=72.0), []),
        (ReadingTaken(air_c=26.0, rh=74.0), ["dew point moved"]),
        (ReadingTaken(air_c=26.0, rh=33.0), ["dew point moved"]),
        # Another place has another air.
        (ReadingTaken(air_c=36.0, rh=50.0, place="sun"), []),
    ],
)
def test_a_jump_the_day_does_not_make_is_odd(reading: ReadingTaken, odd: list[str]) -> None:
    assert figures(reading, INDOORS) == odd


def test_values_in_the_wrong_rows_are_odd() -> None:
    """26 C air, 58 % and a panel of 24 C, each typed one line too low or in another's line."""
    before = ReadingTaken(air_c=26.0, rh=58.0, panel_c=24.0)
    for air, rh, panel in ((26, 24, 58), (58, 26, 24), (24, 26, 58), (58, 24, 26)):
        swapped = ReadingTaken(air_c=float(air), rh=float(rh), panel_c=float(panel))
        assert unlikely(swapped, before), swapped


def test_each_threshold_carries_its_source() -> None:
    for figure, likely in LIKELY.items():
        assert likely.most_c > 0.0, figure
        assert likely.source, figure
    assert {one.figure for one in unlikely(replace(INDOORS, panel_c=60.0, wbgt_c=50.0))} <= set(
        LIKELY
    )


@given(
    air=st.floats(-30.0, 60.0), rh=st.floats(1.0, 100.0), over=st.floats(-5.0, 15.0),
    place=st.sampled_from(["indoors", "outdoor shade", "cloud", "sun"]),
)  # fmt: skip
def test_a_plain_reading_is_never_asked_about(
    air: float, rh: float, over: float, place: str
) -> None:
    reading = ReadingTaken(air_c=air, rh=rh, panel_c=air + over, place=place)  # type: ignore[arg-type]  # a place by name
    if dew_point_c(air, rh) <= 30.0 and over <= 14.999:
        assert unlikely(reading, reading) == ()


def test_it_is_said_in_the_workers_unit() -> None:
    (one,) = unlikely(replace(INDOORS, panel_c=58.0))
    assert one.says == "58 on the panel at 26 in the air, indoors"
    assert one.field == "panel_c"
    (one,) = unlikely(replace(INDOORS, panel_c=58.0), None, "F")
    assert one.says == "136.4 on the panel at 78.8 in the air, indoors"
    assert unlikely(ReadingTaken(air_c=35.0, rh=50.0), INDOORS)[0].says == (
        "air 35, it was 26 within the hour"
    )


# Asked about once.

ODD = replace(INDOORS, panel_c=58.0)


def taken(book: Book, at_s: float, reading: ReadingTaken) -> ReadingTaken:
    """The reading as it was written."""
    (written,) = book.do(at_s, rules.note_shift, reading)
    assert isinstance(written, ReadingTaken)
    return written


def test_an_odd_reading_is_asked_about_and_kept_if_insisted() -> None:
    book = opened(COAT)
    with pytest.raises(Asks) as asked:
        book.do(100, rules.note_shift, ODD)
    assert (asked.value.rule_id, str(asked.value)) == (
        rules.ODD_READING, "58 on the panel at 26 in the air, indoors: is it right?",
    )  # fmt: skip
    with pytest.raises(Asks, match=r"136\.4 on the panel at 78\.8 in the air, indoors"):
        rules.note_shift(book.scene(100), ODD, "F")
    assert taken(book, 101, replace(ODD, confirmed=True)) == replace(ODD, confirmed=True)


def test_what_does_not_look_odd_is_not_marked() -> None:
    book = opened(COAT)
    assert not taken(book, 100, INDOORS).confirmed
    assert not taken(book, 200, replace(INDOORS, confirmed=True)).confirmed


def test_the_same_oddity_is_not_asked_about_again_within_the_hour_and_another_one_is() -> None:
    book = opened(COAT)
    taken(book, 100, replace(ODD, confirmed=True))
    again = taken(book, 1000, replace(ODD, panel_c=57.0))
    assert again.confirmed
    with pytest.raises(Asks, match="WBGT meter"):
        book.do(1100, rules.note_shift, replace(ODD, wbgt_c=40.0))
    with pytest.raises(Asks, match="on the panel"):
        book.do(1000 + 3600, rules.note_shift, ODD)


def test_a_jump_is_measured_against_the_reading_in_force() -> None:
    book = opened(COAT)
    taken(book, 100, INDOORS)
    hot = ReadingTaken(air_c=38.0, rh=28.0)
    with pytest.raises(Asks, match="air 38, it was 26 within the hour"):
        book.do(200, rules.note_shift, hot)
    # A panel alone says nothing of the air, and after an hour the day may have made it.
    taken(book, 3000, ReadingTaken(panel_c=30.0))
    with pytest.raises(Asks, match="it was 26"):
        book.do(3600, rules.note_shift, hot)
    assert not taken(book, 100 + 3600, hot).confirmed


def test_the_record_marks_what_was_kept() -> None:
    book = opened(COAT)
    kept = taken(book, 100, replace(ODD, confirmed=True))
    assert reading_text(kept).endswith("indoors, looks odd, asked about and kept")
    assert "odd" not in reading_text(INDOORS)
    assert ev.ReadingTaken().confirmed is False
