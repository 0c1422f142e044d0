"""What is known of the vehicle: folds of its facts, sentences, refusals, set-ups."""

from __future__ import annotations

import math
from collections.abc import Callable
from decimal import Decimal
from itertools import permutations
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import JOB_TABLE
from cartclock.engine.facts.turn import Turn
from cartclock.engine.figures.measured import BUILD, GLOSS
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.plan.shapes import shape_sections
from cartclock.engine.rules import rules
from cartclock.engine.rules.arrival import note_vehicle, odometer_warning
from cartclock.engine.trouble import Refused
from cartclock.engine.vehicle.paint import (
    build_sentence,
    build_text,
    build_words,
    gloss_hint,
    spot_um,
)
from cartclock.engine.vehicle.panels import paint_when, painted, panels
from cartclock.engine.vehicle.vehicle import (
    Build,
    Gloss,
    PanelPaint,
    price_of,
    set_up_for,
    set_up_notice,
    vehicle_record,
)
from tests.kit.book import JOB, Book, opened, us
from tests.kit.samples import SEALED

CP = "common practice, no source"
SECTIONS, PANELS = shape_sections("saloon", {"bonnet": 2, "door": 2})
WASH = Stage("Wash", ("roof and glass", "bonnet", "wheels"), (Work("wash", 3.0),), press="stage")
SPOT = Stage("Test spot", ("bonnet test spot",), (Work("polish", 20.0),), trial=True)
POLISH = Stage("Polish", SECTIONS, (Work("polish", 10.0),), panels=PANELS, press="panel")
COAT = Stage("Coat", ("roof", "bonnet"), (Work("apply", 5.0),))


def noted(*events: Struct, stages: tuple[Stage, ...] = (WASH, SPOT, POLISH, COAT)) -> Book:
    """A book in which these facts were noted by the rule, ten seconds apart."""
    book = opened(*stages)
    for number, event in enumerate(events, 1):
        book.do(10 * number, note_vehicle, JOB, event)
    return book


def work(book: Book, at_s: float, stage: str, section: str) -> None:
    """Works a section of one step of a stage, three seconds long."""
    turn = Turn()
    book.press(at_s, ev.WorkStarted(stage, (section,), turn))
    book.press(at_s + 3, ev.StepFinished(stage, (section,), turn))
    assert book.odd() == []


# Panels.


def test_panels_stand_once_in_the_order_of_the_stage_that_goes_round_the_body() -> None:
    found = panels(noted().job())
    body = list(dict.fromkeys(PANELS.get(name, name) for name in SECTIONS))
    assert list(found[: len(body)]) == body
    # What no body has comes behind, a test spot is no panel.
    assert found[len(body) :] == ("roof and glass", "wheels")
    assert len(found) == len(set(found))


def test_a_panel_whose_section_was_cut_or_added_is_there_once() -> None:
    book = opened(POLISH)
    book.press(5, ev.SectionSplit("Polish", "roof", ("roof left", "roof right")))
    book.press(6, ev.SectionAdded("Polish", "fuel flap"))
    found = panels(book.job())
    assert found.count("roof") == 1
    assert found[-1] == "fuel flap"


def test_a_plan_of_test_spots_alone_has_their_panels() -> None:
    assert panels(opened(SPOT).job()) == ("bonnet test spot",)


def test_paint_is_read_on_panels_of_the_body_and_never_on_a_wheel() -> None:
    found = panels(noted().job())
    assert {"roof and glass", "wheels"} <= set(found)
    assert painted(noted().job()) == found[:-2]


def test_a_job_without_a_body_is_read_where_there_may_be_paint() -> None:
    places = ("whole vehicle", "left side", "front left wheel", "windscreen", "frame")
    wash = Stage("Wash", places, (Work("wash", 5.0),))
    assert painted(opened(wash).job()) == ("left side", "frame")


# Thickness.


@pytest.mark.parametrize(
    ("readings", "mean"),
    [((100.0, 101.0, 103.0), 101.3), ((0.0, 0.0, 0.0), 0.0), ((5000.0, 5000.0, 5000.0), 5000.0)],
    ids=["SSPC-PA 2: mean of three", "SSPC-PA 2: zero", "SSPC-PA 2: the most"],
)
def test_a_spot(readings: tuple[float, ...], mean: float) -> None:
    assert spot_um(readings) == mean


tenths = st.integers(0, 50_000).map(lambda tenth: tenth / 10)


@given(st.tuples(tenths, tenths, tenths))
def test_a_spot_lies_among_its_readings_whatever_their_order(
    readings: tuple[float, float, float],
) -> None:
    mean = spot_um(readings)
    assert min(readings) <= mean <= max(readings)
    assert abs(mean - sum(readings) / 3) <= 0.05 + 1e-9
    assert {spot_um(order) for order in permutations(readings)} == {mean}


@given(st.lists(st.floats(), max_size=5))
def test_a_spot_is_refused_exactly_if_it_is_not_three_readings_in_range(
    readings: list[float],
) -> None:
    fits = len(readings) == 3 and all(0 <= um <= BUILD.high for um in readings)
    try:
        spot_um(readings)
    except Refused as why:
        assert not fits
        assert str(why).endswith(".")
    else:
        assert fits


um = st.none() | st.floats() | st.floats(0, BUILD.high)


@given(um, um)
def test_a_reading_is_refused_exactly_if_it_cannot_be(
    low: float | None, high: float | None
) -> None:
    ends = [end for end in (low, high) if end is not None]
    fits = all(math.isfinite(end) and 0 <= end <= BUILD.high for end in ends)
    fits = fits and (len(ends) < 2 or ends[0] <= ends[1])
    try:
        note_vehicle(noted().scene(100), JOB, ev.PaintRead("roof", "before", low, high))
    except Refused as why:
        assert not fits
        assert str(why).endswith(".")
    else:
        assert fits


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (100, 180, "like a factory build, about 100 to 180"),
        (79.9, 120, "thin, under 80"),
        (80, 120, "on the thin side, under 100"),
        (99.9, 120, "on the thin side, under 100"),
        (120, 180.1, "above a usual factory build, over 180"),
        (120, 200, "above a usual factory build, over 180"),
        (120, 200.1, "over 200, as after a respray"),
        (60, 400, "thin, under 80; over 200, as after a respray"),
        (None, 120, "like a factory build, about 100 to 180"),
        (None, None, ""),
    ],
    ids=lambda value: f"{value} ({CP})" if isinstance(value, str) else None,
)
def test_what_a_build_is_like(low: float | None, high: float | None, words: str) -> None:
    assert build_words(low, high) == words
    sentence = build_sentence(low, high)
    assert (CP in sentence) == bool(words)
    assert sentence.endswith(".")


@given(st.floats(0, BUILD.high), st.floats(0, BUILD.high))
def test_no_sentence_speaks_of_what_is_left_of_a_layer(one: float, two: float) -> None:
    said = build_sentence(min(one, two), max(one, two)).lower()
    assert "total build" in said
    assert "clear" not in said
    assert "left" not in said


def test_the_text_of_a_build() -> None:
    assert build_text(98.0, 121.5) == "98 to 121.5 µm"
    assert build_text(98.0, 98.0) == build_text(None, 98.0) == "98 µm"
    assert build_text(None, None) == "not measurable"


def builds(*events: Struct) -> PanelPaint:
    """What is known of the only panel that was read."""
    (paint,) = vehicle_record(noted(*events).job()).paints
    return paint


def read(
    low: float | None = None,
    high: float | None = None,
    when: Any = "before",
    spots: tuple[float, ...] = (),
) -> ev.PaintRead:
    """A reading of the roof."""
    return ev.PaintRead("roof", when, low, high, spots)


def spot(mean: float) -> ev.PaintRead:
    """A spot on the roof."""
    return read(mean, mean, spots=(mean,))


@pytest.mark.parametrize(
    ("events", "wanted"),
    [
        ((read(98, 121),), Build(us(10), 98, 121)),
        ((read(),), Build(us(10))),
        ((read(98, 121), read(90, 95)), Build(us(20), 90, 95)),
        ((read(98, 121), spot(130)), Build(us(20), 98, 130, (130,))),
        ((spot(130), read(98, 121)), Build(us(20), 98, 130, (130,))),
        ((spot(110), spot(90)), Build(us(20), 90, 110, (110, 90))),
        ((read(98, 121), spot(110), read()), Build(us(30))),
        ((read(), read(98, 121)), Build(us(20), 98, 121)),
        ((spot(90), read(98, 121), read(99, 120)), Build(us(30), 90, 120, (90,))),
    ],
    ids=[
        "quick", "not measurable", "the newest quick one", "a spot with it", "a spot before it",
        "spots", "not measurable after all", "measurable after all", "quick ones beside a spot",
    ],
)  # fmt: skip
def test_readings_of_a_panel(events: tuple[Struct, ...], wanted: Build) -> None:
    assert builds(*events).before == wanted


@given(st.lists(tenths, min_size=1, max_size=6))
def test_spots_alone_span_from_the_lowest_to_the_highest(means: list[float]) -> None:
    book = opened(POLISH)
    for at_s, mean in enumerate(means, 1):
        book.press(at_s, spot(mean))
    (paint,) = vehicle_record(book.job()).paints
    assert paint.before == Build(us(len(means)), min(means), max(means), tuple(means))


def test_the_change_needs_both_ends_on_both_days() -> None:
    assert builds(read(98, 121), read(96.5, 119, "after")).change_um == (-1.5, -2.0)
    assert builds(read(98, 121)).change_um is None
    assert builds(read(98, 121), read(when="after")).change_um is None
    assert builds(read(96, 119, "after")).change_um is None


# Gloss.


@pytest.mark.parametrize(
    ("gu", "angle", "said"),
    [
        (70, 60, ""),
        (70.1, 60, "Over 70 GU: use 20 degrees (ISO 2813)."),
        (88, 20, ""),
        (100, 20, ""),
        (101, 60, "101 GU is more than the black glass of the scale has: read it again."),
        (None, 60, ""),
    ],
    ids=["ISO 2813: 70", "ISO 2813: over 70", "steep", "from memory: 100", "from memory: over 100",
         "not measurable"],
)  # fmt: skip
def test_the_hint_on_gloss(gu: float | None, angle: int, said: str) -> None:
    assert gloss_hint(gu, angle) == said


@given(st.none() | st.floats() | st.floats(-10, 2100), st.sampled_from([20, 60, 85]))
def test_a_gloss_is_refused_exactly_if_it_cannot_be(gu: float | None, angle: Any) -> None:
    fits = angle in GLOSS and (gu is None or 0 <= gu <= GLOSS[angle].high)
    try:
        note_vehicle(noted().scene(100), JOB, ev.GlossRead("roof", "before", gu, angle))
    except Refused as why:
        assert not fits
        assert str(why).endswith(".")
    else:
        assert fits


def test_gloss_before_and_after_and_its_change() -> None:
    paint = builds(
        ev.GlossRead("roof", "before", 62.0),
        ev.GlossRead("roof", "before", 61.0),
        ev.GlossRead("roof", "after", 69.5),
    )
    assert paint.gloss_before == Gloss(us(20), 61.0, 60)
    assert paint.change_gu == 8.5
    steep = ev.GlossRead("roof", "after", 80.0, 20)
    assert builds(ev.GlossRead("roof", "before", 62.0), steep).change_gu is None
    assert builds(ev.GlossRead("roof", "before")).gloss_before == Gloss(us(10), None, 60)


# Odometer, damage, extras, files.


def test_an_odometer_that_runs_backwards_is_told_of_and_not_refused() -> None:
    book = noted(ev.OdometerRead(84210), ev.OdometerRead(84100), ev.OdometerRead(84100))
    looks = vehicle_record(book.job()).odometers
    assert [look.warning for look in looks] == [
        "",
        "84100 km is less than the 84210 km read before.",
        "",
    ]
    assert odometer_warning(book.job()) == ""
    assert odometer_warning(noted().job()) == ""


@pytest.mark.parametrize(
    ("miles", "km", "warned"),
    [(1000, 1610, False), (1000, 1609, True)],
    ids=["mile of 1609.344 m by definition: more", "mile of 1609.344 m by definition: less"],
)
def test_miles_and_kilometres_are_compared_as_lengths(miles: int, km: int, warned: bool) -> None:
    book = noted(ev.OdometerRead(miles, "mi"), ev.OdometerRead(km, "km"))
    assert bool(odometer_warning(book.job())) == warned


def test_damage_stands_by_panel_in_the_order_of_the_panels() -> None:
    book = noted(
        ev.DamageNoted("wheels", "scratch"),
        ev.DamageNoted("windscreen", "chip"),
        ev.DamageNoted("bonnet", "chip", SEALED),
        ev.DamageNoted("roof", "etching"),
        ev.DamageNoted("bonnet", "dent"),
    )
    found = vehicle_record(book.job(), lambda sealed: "kerb" if sealed else "").damages
    assert [(one.panel, one.what, one.note) for one in found] == [
        ("roof", "etching", ""),
        ("bonnet", "chip", "kerb"),
        ("bonnet", "dent", ""),
        ("wheels", "scratch", ""),
        ("windscreen", "chip", ""),
    ]


@given(st.lists(st.decimals(-999, 9999, places=2)))
def test_extras_add_up_exactly(prices: list[Decimal]) -> None:
    book = opened(POLISH)
    for at_s, price in enumerate(prices, 1):
        book.press(at_s, ev.AgreementNoted(SEALED, f"{price:f}"))
    book.press(99, ev.AgreementNoted(SEALED), ev.AgreementNoted(SEALED, "a beer"))
    found = vehicle_record(book.job())
    assert found.extras_total == sum(prices)
    assert [extra.price for extra in found.extras][-2:] == [None, None]


@pytest.mark.parametrize("text", ["", "a", "1.", ".5", "1e3", "NaN", "Infinity", "1,5", "١", "1 "])
def test_what_is_no_price(text: str) -> None:
    assert price_of(text) is None
    with pytest.raises(Refused, match=r"digits, like 18\.50"):
        note_vehicle(noted().scene(5), JOB, ev.AgreementNoted(SEALED, text))


def test_what_is_struck_is_not_known_any_more() -> None:
    book = noted(read(98, 121), spot(130), ev.OdometerRead(5))
    book.press(50, ev.PressStruck(book.rows[-2].seq))
    found = vehicle_record(book.job())
    assert found.paints == (PanelPaint("roof", Build(us(10), 98, 121)),)
    assert len(found.odometers) == 1


# Before or after.


def test_a_reading_is_one_after_once_the_panel_was_polished() -> None:
    book = opened(WASH, replace(SPOT, panels={"bonnet test spot": "bonnet"}), POLISH)
    work(book, 10, "Wash", "bonnet")
    # A spot of a panel is not the panel.
    work(book, 20, "Test spot", "bonnet test spot")
    assert paint_when(book.job(), "bonnet") == "before"
    work(book, 30, "Polish", "bonnet left")
    assert paint_when(book.job(), "bonnet") == "after"
    assert paint_when(book.job(), "roof") == "before"
    book.press(40, ev.WorkStarted("Polish", ("roof",), Turn()))
    assert paint_when(book.job(), "roof") == "before"


@pytest.mark.parametrize(
    ("name", "say", "when"),
    [
        ("Finish", "polish", "after"),
        ("Correction", "first pass", "after"),
        ("Day two", "wet sand and refine", "after"),
        ("Wash", "execute", "before"),
        ("Clay", "clay", "before"),
    ],
    ids=lambda value: f"{value} ({CP})",
)
def test_the_words_of_the_plan_tell_what_polishes(name: str, say: str, when: str) -> None:
    book = opened(Stage(name, ("roof",), (Work(say),)))
    work(book, 10, name, "roof")
    assert paint_when(book.job(), "roof") == when


# Set-ups.


def tried(set_up: str, accepted: bool = True, stage: str = "Test spot") -> ev.TrialJudged:
    """A set-up judged on the test spot."""
    return ev.TrialJudged(stage, f"bonnet {stage.lower()}", set_up, accepted)


@pytest.mark.parametrize(
    ("events", "wanted"),
    [
        ((), ""),
        ((tried("wool", False),), ""),
        ((tried("wool"),), "wool"),
        ((tried("wool"), tried("foam")), "foam"),
        ((tried("foam"), tried("wool", False)), "foam"),
        ((tried("wool"), tried("foam"), tried("Foam", False)), "wool"),
        ((tried("wool", False), tried("wool")), "wool"),
        ((tried("wool"), tried("foam"), tried("wool")), "wool"),
    ],
)
def test_the_newest_accepted_set_up_goes_to_the_polish(
    events: tuple[Struct, ...], wanted: str
) -> None:
    assert set_up_for(noted(*events).job(), "Polish") == wanted


def test_a_set_up_goes_only_to_later_stages_of_the_same_work() -> None:
    job = noted(tried("wool")).job()
    assert [stage.name for stage in job.stages if set_up_for(job, stage.name)] == ["Polish"]
    assert set_up_for(job, "Nowhere") == ""
    early = noted(tried("wool"), stages=(POLISH, SPOT)).job()
    assert set_up_for(early, "Polish") == ""
    again = replace(SPOT, name="Test spot two", sections=("bonnet test spot two",))
    both = noted(tried("wool"), stages=(SPOT, again, POLISH)).job()
    assert set_up_for(both, "Test spot two") == ""


@pytest.mark.parametrize(
    ("trial", "later", "same"),
    [
        (Work("try", tool="polisher"), Work("level", tool="polisher"), True),
        (Work("apply"), Work("apply"), True),
        (Work("cut"), Work("refine"), True),
        (Work("apply"), Work("level"), False),
        (Work("try"), Work("level", tool="polisher"), False),
    ],
    ids=["tool", "verb", "both polish", "other work", "no tool"],
)
def test_what_is_the_same_work(trial: Work, later: Work, same: bool) -> None:
    stages = (replace(SPOT, steps=(trial,)), Stage("Next", ("roof",), (later,)))
    assert bool(set_up_for(noted(tried("wool"), stages=stages).job(), "Next")) == same


def test_the_notice_is_of_what_is_in_hand_or_else_of_what_is_next() -> None:
    book = noted(tried("wool"), stages=(SPOT, POLISH, COAT))
    assert set_up_notice(book.jobs(), None, None) == ""
    (first, *_) = [move for move in book.moves(50) if move.stage == "Polish"]
    assert set_up_notice(book.jobs(), None, first) == "set-up for Polish: wool"
    book.do(50, rules.take_up, first)
    hands = book.shift().doing
    coat = next(move for move in book.moves(60) if move.stage == "Coat")
    assert set_up_notice(book.jobs(), hands, coat) == "set-up for Polish: wool"  # type: ignore[arg-type]  # hands are on it
    assert set_up_notice(book.jobs(), None, coat) == ""
    assert set_up_notice({}, None, first) == ""


# The rule.


@pytest.mark.parametrize(
    ("event", "said"),
    [
        (ev.OdometerRead(-1), "An odometer shows 0 to 9999999."),
        (ev.OdometerRead(10_000_000), "An odometer shows 0 to 9999999."),
        (ev.DamageNoted(" ", "chip"), "A panel has 1 to 60 characters and no control characters."),
        (ev.PaintRead("a\nb", "before"),
         "A panel has 1 to 60 characters and no control characters."),
        (ev.GlossRead("x" * 61, "before"),
         "A panel has 1 to 60 characters and no control characters."),
        (ev.TrialJudged("Polish", "roof", "wool", True), "Polish is no trial stage."),
        (ev.TrialJudged("Sanding", "roof", "wool", True), "There is no stage Sanding."),
        (ev.TrialJudged("Test spot", "roof", "wool", True),
         "There is no section roof in Test spot."),
        (ev.TrialJudged("Test spot", "bonnet test spot", " ", True),
         "A set-up has 1 to 200 characters and no control characters."),
        (ev.TrialJudged("Test spot", "bonnet test spot", "a\x1b[2J", True),
         "A set-up has 1 to 200 characters and no control characters."),
        (ev.PaperIssued("record", 1, ""), "That is nothing to note about the vehicle."),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_in_a_sentence(event: Struct, said: str) -> None:
    with pytest.raises(Refused) as why:
        note_vehicle(noted().scene(100), JOB, event)
    assert str(why.value) == said


def test_a_file_is_attached_once() -> None:
    attached = ev.FileAttached("ab" * 32, SEALED)
    book = noted(attached)
    with pytest.raises(Refused, match="attached already"):
        note_vehicle(book.scene(50), JOB, attached)
    book.do(60, note_vehicle, JOB, ev.FileAttached("cd" * 32, SEALED))
    assert [file.sha256[:2] for file in vehicle_record(book.job()).files] == ["ab", "cd"]


KINDS: list[tuple[Struct, bool]] = [
    (ev.AgreementNoted(SEALED, "5"), True),
    (ev.FileAttached("ab" * 32, SEALED), True),
    (read(98, 121), False),
    (ev.GlossRead("roof", "after", 60.0), False),
    (ev.OdometerRead(84210), False),
    (ev.DamageNoted("roof", "dent"), False),
    (tried("wool"), False),
]


@pytest.mark.parametrize(("event", "late"), KINDS, ids=lambda value: type(value).__name__)
def test_after_the_close_the_rule_says_what_the_table_says(event: Struct, late: bool) -> None:
    book = noted()
    book.press(50, ev.JobClosed())
    assert (type(event).__name__ in JOB_TABLE["closed"]) == late
    do: Callable[[], object] = lambda: note_vehicle(book.scene(60), JOB, event)  # noqa: E731  # tried once or twice
    if late:
        assert do()
    else:
        with pytest.raises(Refused, match=r"^That job is not open\.$"):
            do()
    with pytest.raises(Refused, match=r"^That job is not open\.$"):
        note_vehicle(book.scene(60), "job-9", event)


def test_an_old_reading_without_spots_is_read_as_it_was() -> None:
    old = b'{"high_um":121.0,"low_um":98.0,"panel":"roof","when":"before"}'
    assert msgspec.json.decode(old, type=ev.PaintRead) == read(98.0, 121.0)
