"""The gate's chapter on paper: every section with its reading, its margin and its reason."""

from __future__ import annotations

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.turn import Turn
from cartclock.engine.films.margins import layers_begun
from cartclock.engine.paper.page.text import Text
from cartclock.engine.paper.sheets.gate import put_gate
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.record.record import record
from cartclock.engine.rules import rules
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import WIPE
from tests.kit.setting import record_text

SECTIONS = ("bonnet left", "bonnet right", "the whole of the very long roof of the estate")
COAT = Stage("Coat", SECTIONS, (Work("apply", 1.0),), kind="coat")
DAMP = ev.ReadingTaken(air_c=16.0, rh=71.0, panel_c=13.0)
FINE = ev.ReadingTaken(air_c=22.5, rh=50.0, panel_c=22.0)


def coated() -> Book:
    """Overruled without a reading, overruled on a damp panel, then all met."""
    book = opened(COAT)
    for at_s, reading, name, over in (
        (60, None, SECTIONS[0], {"coat_gate": "the meter is at home"}),
        (600, DAMP, SECTIONS[1], {"coat_gate": "only a test spot"}),
        (1200, FINE, SECTIONS[2], {}),
    ):
        if reading is not None:
            book.press(at_s - 30, reading)
        book.do(at_s, rules.take_up, Move("take up", JOB, "Coat", (name,)), over=over)
        book.do(at_s + 60, rules.take_up, Move("end"))
    return book


def chapter(book: Book) -> list[str]:
    page = Text()
    put_gate(page, layers_begun(book.job(), [book.shift()]), "UTC")
    return str(page).splitlines()


def test_every_section_with_reading_margin_and_reason() -> None:
    assert chapter(coated()) == [
        "",
        "GATE BEFORE THE COAT                                          screening estimate",
        "-" * 80,
        "Coat                   begun    read       panel C   air C   RH % over dew + 3 C",
        "  Mon 21 Sep 2026",
        "  bonnet left          14:14    -                -       -      -     no verdict",
        "    No reading of panel, air and humidity: no verdict.",
        "    coated all the same: the meter is at home",
        "  bonnet right         14:23    14:22           13      16     71           -0.8",
        "    coated all the same: only a test spot",
        "  the whole of the     14:33    14:32           22    22.5     50           +7.4",
        "  very long roof of",
        "  the estate",
    ]


def test_what_was_never_asked_says_so_and_the_same_is_said_once() -> None:
    book = opened(replace(COAT, condition=None))
    book.press(5, replace(DAMP, place="sun"))
    for at_s, name in ((10, SECTIONS[0]), (20, SECTIONS[1])):
        book.press(at_s, ev.WorkStarted("Coat", (name,), Turn()))
        book.press(at_s + 5, ev.StepFinished("Coat", (name,), Turn()))
    lines = chapter(book)
    assert lines[-4:-1] == [
        "    only warned: direct sun on the panel: it heats while you work; move into the",
        "      shade or wait",
        "    nothing was asked: a window ran, or it was entered later",
    ]
    assert lines[-1].startswith("  bonnet right")


def test_layers_and_passes_are_named() -> None:
    two = replace(COAT, sections=SECTIONS[:1], layers=2)
    book = opened(two)
    book.press(5, FINE)
    for at_s, layer, pass_ in ((10, 1, 1), (20, 2, 1), (40, 2, 2)):
        if pass_ > 1:
            book.press(at_s, ev.SectionReopened("Coat", SECTIONS[:1], Turn(pass_, layer, 0)))
        turn = Turn(pass_, layer, 0)
        book.press(at_s, ev.WorkStarted("Coat", SECTIONS[:1], turn))
        book.press(at_s + 5, ev.StepFinished("Coat", SECTIONS[:1], turn))
    assert book.odd() == []
    flat = " ".join(" ".join(chapter(book)).split())
    assert flat.count("Coat, layer 1 begun") == flat.count("Coat, layer 2 begun") == 1
    assert flat.count("bonnet left, pass 2 ") == 1
    assert flat.count("bonnet left ") == 2


def test_the_record_has_the_chapter_and_a_wash_has_none() -> None:
    for book, there in ((coated(), True), (opened(WIPE), False)):
        made = record(book.job(), {"me 1": book.shift()}, book.jobs(), us(3600), rows=book.rows)
        text = record_text(made)
        assert ("GATE BEFORE THE COAT" in text) is there
        assert max(map(len, text.splitlines())) <= 80
        if there:
            assert "coat gate: the meter is at home" in " ".join(text.split())
