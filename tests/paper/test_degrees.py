"""Temperatures on paper in the unit of the settings; what programs read stays in C."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.words import in_both, said_in
from cartclock.engine.figures.air import full_degrees
from cartclock.engine.paper.degrees import (
    degrees_apart,
    over_dew_point,
    reckoned_apart,
    signed_margin,
)
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.papers import PAPERS
from cartclock.engine.plan.plan import Cure
from cartclock.engine.record.record import Record
from tests.kit.care import CURED, begun, coat, record_of

# Ice, boiling water, where both scales meet, and one more: exact by definition of the scales.
FIXED = [(0.0, "32 F"), (100.0, "212 F"), (-40.0, "-40 F"), (37.0, "98.6 F")]
# In C alone; what the program said in C has the same beside it in brackets.
IN_C = re.compile(r"[\d.]+ C\b(?! \()")
# Sentences of the program, and the same by hand: a temperature T is 1.8 T + 32, a difference D is
# 1.8 D, by the definition of the scales.
SAID = (
    ("air 30 C, panel 47.5 C, sun", "air 30 C (86 F), panel 47.5 C (117.5 F), sun"),
    ("expected today: -5 to 17 C", "expected today: -5 to 17 C (23 to 62.6 F)"),
    ("stays over 15 C today", "stays over 15 C (59 F) today"),
    (
        "panel 5.6 C over the dew point + 3, air 20 C",
        "panel 5.6 C (10 F) over the dew point + 3 C (5.4 F), air 20 C (68 F)",
    ),
    # What is short is raised, what is enough is cut: 4.68 F and 10.08 F.
    (
        "panel 2.6 C under the dew point + 3",
        "panel 2.6 C (4.7 F) under the dew point + 3 C (5.4 F)",
    ),
    (
        "instruments within 1.0 C and 5 %: 2.5 C of caution",
        "instruments within 1.0 C (1.8 F) and 5 %: 2.5 C (4.5 F) of caution",
    ),
    ("Rain suit: 10 C added for clothing.", "Rain suit: 10 C (18 F) added for clothing."),
    ("Shade: 1.5 C above the same air", "Shade: 1.5 C (2.7 F) above the same air"),
    ("finished: level roof (Coat, layer 2)", "finished: level roof (Coat, layer 2)"),
)
ALONE = (
    (
        "panel 0.8 C under the dew point + 3 C (screening estimate)",
        "panel 1.5 F under the dew point + 5.4 F (screening estimate)",
    ),
    (
        "6.0 C is 2.9 C above the dew point of 3.1 C; 3 C above it is wanted: 0.1 C short",
        "42.8 F is 5.2 F above the dew point of 37.6 F; 5.4 F above it is wanted: 0.2 F short",
    ),
    (
        "panel 33.2 C; the label's highest is 35 C: 1.8 C to spare; over 30 C: wait",
        "panel 91.8 F; the label's highest is 95 F: 3.2 F to spare; over 86 F: wait",
    ),
    ("the air is under 25 C from 17:00", "the air is under 77 F from 17:00"),
    ("panel 34 C: keep it wet, 20 min", "panel 93.2 F: keep it wet, 20 min"),
)
ENGINE = Path(__file__).parents[2] / "engine"
# Where the program says degrees in words that a paper takes over, each with how it is told.
SAYING = {
    "films/gate.py": ["} C {side} the dew point + {DEW_MARGIN_K", "} C"],
    "films/film_advice.py": ["} C"],
    "films/curve.py": ["} C from {when}", "} C today", "} C"],
    "figures/gate.py": [
        "} C is {abs(_cut(above_k))", "} C {side} the dew point of ", "} C",
        "} C above it is wanted", "} C",
    ],
    "facts/words.py": [
        "full_degrees(high_c, unit)", "full_degrees(reading.air_c, unit)",
        "full_degrees(reading.panel_c, unit)", "full_degrees(reading.globe_c, unit)",
        "full_degrees(reading.wbgt_c, unit)",
    ],
    "record/exposure.py": [
        "} C and {RH_OFF} % humidity", "} C of caution ", "} C added for clothing.",
        "} C above the same air indoors.", "} C added to the estimate.",
    ],
}  # fmt: skip


@pytest.mark.parametrize(("value_c", "said"), FIXED)
def test_a_temperature_is_moved_and_scaled(value_c: float, said: str) -> None:
    assert full_degrees(value_c, "F") == said


def test_a_difference_is_scaled_alone() -> None:
    assert (degrees_apart(0, "F"), degrees_apart(100, "F"), degrees_apart(3, "F")) == (
        "0 F", "180 F", "5.4 F",
    )  # fmt: skip
    assert reckoned_apart(2.0, "F") == "3.6 F"


def test_what_is_short_never_reads_as_enough() -> None:
    # -0.01 K is -0.018 F; rounded it would be nothing, and the gate would seem met.
    assert (signed_margin(-0.01), signed_margin(-0.01, "F")) == ("-0.1", "-0.1")
    assert over_dew_point(5.55, "F") == "+9.9 F over dew point + 5.4 F"


@pytest.mark.parametrize(("in_c", "beside"), SAID)
def test_what_the_program_said_in_c_has_the_same_in_f_beside_it(in_c: str, beside: str) -> None:
    assert in_both(in_c, "C") == in_c
    assert in_both(in_c, "F") == beside


@pytest.mark.parametrize(("in_c", "alone"), ALONE)
def test_a_screen_says_it_in_f_alone(in_c: str, alone: str) -> None:
    assert said_in(in_c, "C") == in_c
    assert said_in(in_c, "F") == alone


@pytest.mark.parametrize("file", SAYING)
def test_every_sentence_with_degrees_is_known_as_a_temperature_or_a_difference(file: str) -> None:
    """A new one is first looked at: `in_both` takes what it does not know for a temperature."""
    text = (ENGINE / file).read_text(encoding="utf-8")
    assert re.findall(r"\} C\b[^\",;:]*|full_degrees\(.*?\)", text) == SAYING[file]


@pytest.fixture(name="cold")
def a_record_of_a_cold_coat() -> Record:
    """A coat read at 14 and 12 C, whose cure takes longer under 15 C, in a shift with a verdict."""
    cure = Cure(12 * 3600, 15.0, 24 * 3600)
    book = begun(stages=(replace(CURED, kind="coat", cure=cure),))
    book.press(0, ev.ReadingTaken(air_c=14.0, rh=50, panel_c=12.0, globe_c=16.0))
    coat(book, 0, "bonnet", "roof")
    return record_of(book, 1300)


@pytest.mark.parametrize(
    ("paper", "form"),
    [("record", "text"), ("record", "html"), ("aftercare", "text"), ("sheet", "text")],
)
def test_papers_say_every_temperature_as_the_settings_ask(
    cold: Record, paper: str, form: str
) -> None:
    said_c, said_f = (
        " ".join(re.sub(r"<[^>]+>", "\n\n", made.decode()).split())
        for made in (PAPERS[paper].made(form, PaperFacts(cold, unit=unit)) for unit in ("C", "F"))
    )
    assert not IN_C.findall(said_f)
    if paper == "sheet":
        return
    for in_c, in_f in (("14 C", "57.2 F"), ("under 15 C", "under 59 F")):
        assert in_c in " ".join(said_c.split())
        assert in_f in " ".join(said_f.split())


@pytest.mark.parametrize("paper", ["record", "sheet", "arrival"])
def test_what_programs_read_stays_in_the_unit_of_its_key(cold: Record, paper: str) -> None:
    made = {PAPERS[paper].made("json", PaperFacts(cold, unit=unit)) for unit in ("C", "F")}
    assert len(made) == 1
    if paper == "record":
        assert b'"panel_c":12.0' in made.pop().replace(b" ", b"")
