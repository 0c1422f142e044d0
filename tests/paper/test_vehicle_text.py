"""The chapters of the vehicle on paper: what they say, what they leave out, how wide they are."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.sealed import Sealed
from cartclock.engine.letters import cells
from cartclock.engine.paper.page.text.medium import WIDTH
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.plan.shapes import shape_sections
from cartclock.engine.record.record import record
from tests.kit.book import Book, us
from tests.kit.plans import opening
from tests.kit.setting import record_text

SECTIONS, PANELS = shape_sections("hatchback")
POLISH = Stage("Polish", SECTIONS, (Work("polish", 10.0),), panels=PANELS)
SPOT = Stage("Test spot", ("bonnet test spot",), (Work("polish", 20.0),), trial=True)
TEXTS = {"a": "parked under limes", "b": "headlamps too", "c": "/photos/roof.jpg"}


def sealed(ref: str) -> Sealed:
    """A private text by its letter."""
    return Sealed(ref, "00")


def paper(*events: Struct, price: str | None = "640.00", currency: str = "") -> list[str]:
    """The lines of the record of a job in which these facts stand, a minute apart."""
    book = Book()
    book.press(0, replace(opening(SPOT, POLISH), price=price))
    for minute, event in enumerate(events, 1):
        book.press(60 * minute, event)
    found = record(
        book.job(), {}, book.jobs(), us(3600), rows=book.rows, text=lambda ref: TEXTS.get(ref, ref)
    )
    return record_text(found, currency=currency).splitlines()


def chapter(lines: list[str], name: str) -> list[str]:
    """The lines of a chapter, without its head; none if there is no such chapter."""
    heads = [at for at, line in enumerate(lines) if line.startswith(name)]
    if not heads:
        return []
    after = lines[heads[0] + 2 :]
    ends = [at for at, line in enumerate(after) if line.startswith("---")]
    return after[: ends[0] - 2] if ends else after


def test_the_vehicle_on_arrival() -> None:
    lines = paper(
        ev.OdometerRead(84210),
        ev.OdometerRead(84200),
        ev.DamageNoted("bonnet", "chip"),
        ev.DamageNoted("roof", "etching", sealed("a")),
        ev.DamageNoted("bonnet", "dent"),
        ev.AgreementNoted(sealed("b"), "40.00"),
        ev.AgreementNoted(sealed("gone"), "-5.5"),
        ev.AgreementNoted(sealed("no wax"), None),
        ev.FileAttached("ab" * 32, sealed("c")),
    )
    assert chapter(lines, "VEHICLE ON ARRIVAL") == [
        "Odometer      84210 km, Mon 21 Sep 2026 14:14",
        "Odometer      84200 km, Mon 21 Sep 2026 14:15. 84200 km is less than the 84210",
        "              km read before.",
        "Damage        roof                    etching, Mon 21 Sep 2026 14:17: parked",
        "                                      under limes",
        "              bonnet                  chip, Mon 21 Sep 2026 14:16",
        "                                      dent, Mon 21 Sep 2026 14:18",
        "Agreed        headlamps too                                                40.00",
        "              gone                                                         -5.50",
        "              no wax",
        "              extras together                                              34.50",
        "              with the price agreed before                                674.50",
    ]
    # Said once: the notes keep what has no chapter of its own.
    notes = chapter(lines, "NOTES, OVERRULED")
    assert " ".join(notes[0].split()) == ("Mon 21 Sep 14:22 file photo: /photos/roof.jpg (private)")
    assert "PAINT READINGS" not in "\n".join(lines)


@pytest.mark.parametrize(("currency", "said"), [("", ""), ("PLN", " PLN")])
def test_every_price_of_the_record_names_the_currency_as_the_arrival_sheet_does(
    currency: str, said: str
) -> None:
    agreed = (ev.AgreementNoted(sealed("b"), "40"), ev.AgreementNoted(sealed("a"), "2.5"))
    lines = [" ".join(x.split()) for x in paper(*agreed, price="640", currency=currency)]
    assert any(line.endswith(f"agreed 640.00{said}") for line in lines)
    for line in (
        "Agreed headlamps too 40.00",
        "parked under limes 2.50",
        "extras together 42.50",
        "with the price agreed before 682.50",
    ):
        assert f"{line}{said}" in lines


def test_paint_readings_before_and_after() -> None:
    lines = paper(
        ev.PaintRead("roof", "before", 98, 121),
        ev.PaintRead("roof", "before", 101.3, 101.3, (101.3,)),
        ev.PaintRead("front bumper", "before"),
        ev.PaintRead("bonnet", "before", 70, 240),
        ev.GlossRead("roof", "before", 78.5, 20),
        ev.GlossRead("roof", "after", 84.0, 20),
        ev.PaintRead("roof", "after", 96.5, 119),
        ev.PaintRead("roof", "after", 100.0, 100.0, (100.0,)),
        ev.GlossRead("driver sill", "before", None),
        ev.TrialJudged("Test spot", "bonnet test spot", "wool, speed 5", False),
        ev.TrialJudged("Test spot", "bonnet test spot", "foam, speed 4", True),
    )
    found = chapter(lines, "PAINT READINGS")
    assert found[:15] == [
        "                          before            after             change",
        "roof                      98 to 121         96.5 to 119       -1.5 to -2",
        "  spots                   101.3             100",
        "  gloss                   78.5 GU at 20     84 GU at 20       +5.5 GU",
        "  before: on the thin side, under 100",
        "  after: on the thin side, under 100",
        "bonnet                    70 to 240         -",
        "  before: thin, under 80; over 200, as after a respray",
        "driver sill",
        "  gloss                   not measurable    -",
        "front bumper              not measurable    -",
        "",
        "Micrometres of total build, lowest to highest reading: a gauge tells all layers",
        "together and none of them alone. A factory build is about 100 to 180, under 80",
        "to 100 it is thin, over 200 mostly a respray (common practice, no source). The",
    ]
    assert found[-2:] == [
        "Test spot, bonnet test spot: wool, speed 5: not accepted, Mon 21 Sep 2026 14:23",
        "Test spot, bonnet test spot: foam, speed 4: accepted, Mon 21 Sep 2026 14:24",
    ]
    flat = " ".join(lines)
    assert "mean of three readings within 4 cm (SSPC-PA 2)" in flat
    assert "clear" not in flat.lower()
    assert "VEHICLE ON ARRIVAL" not in flat


@pytest.mark.parametrize(
    ("event", "gone"),
    [
        (ev.PaintRead("roof", "before", 98, 121), ("SSPC-PA 2", "ISO 2813", "VEHICLE")),
        (ev.OdometerRead(5), ("PAINT READINGS", "Agreed")),
        (ev.AgreementNoted(sealed("b")), ("extras together", "agreed before", "Odometer")),
        (ev.NoteWritten(sealed("a")), ("VEHICLE", "PAINT READINGS")),
    ],
    ids=lambda value: type(value).__name__,
)
def test_nothing_is_said_of_what_nobody_noted(event: Struct, gone: tuple[str, ...]) -> None:
    flat = "\n".join(paper(event))
    for words in gone:
        assert words not in flat


def test_without_an_agreed_price_there_is_no_whole() -> None:
    flat = "\n".join(paper(ev.AgreementNoted(sealed("b"), "40"), price=None))
    assert "40.00" in flat
    assert "with the price agreed before" not in flat


names = st.text(st.sampled_from("ab 漢👩🏽\u0301\x1b\n"), min_size=1, max_size=70)


@given(names, names, st.floats(0, 5000), st.tuples(*[st.floats(0, 5000)] * 5))
def test_any_name_and_any_number_keep_to_the_page(
    name: str, other: str, um: float, spots: tuple[float, ...]
) -> None:
    lines = paper(
        ev.DamageNoted(name, "overspray", sealed(other)),
        ev.PaintRead(name, "before", um, um),
        ev.PaintRead(name, "after", um, um, spots),
        ev.GlossRead(other, "after", um),
        ev.AgreementNoted(sealed(other), "1234567.125"),
        ev.TrialJudged(name, other, name, True),
    )
    assert all(cells(line) <= WIDTH for line in lines)
    assert not re.search("[\x00-\x08\x1b]", "".join(lines))
