"""The marks of a flash: they follow label, reading and what was watched, and then they stand."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.section import Window
from cartclock.engine.facts.turn import Marks
from cartclock.engine.figures.flash import FlashClimate, OwnFlash, terms
from cartclock.engine.films.flashing import (
    MOST_OWN,
    NO_AIR,
    NO_KIND,
    NO_PANEL,
    NOT_USABLE,
    WatchedFlash,
    climate_at,
    forecast,
    label_rows,
    learned,
    seen_text,
    watched_flashes,
)
from cartclock.engine.plan.plan import LabelRow, Wait
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.plan_file.reader import read_plan
from cartclock.engine.store.plan_file.starters import starter
from cartclock.engine.trouble import Refused
from tests.kit.book import Book, opened, us
from tests.kit.films import FLASH, HOT, OWN, ROW, Films, coat, labelled
from tests.kit.plans import COAT, FALLOUT

LABEL_ALONE = Marks(60, 85, 300, 120)
HERE = FlashClimate(32, 33, 40)
LOGS = tuple(
    OwnFlash(seconds, FlashClimate(r.panel_c or 0, r.air_c or 0, r.rh or 0)) for seconds, r in OWN
)


def laid(*readings: tuple[float, ev.ReadingTaken], at_s: float = 100, wait: Wait = FLASH) -> Marks:
    """The marks of the first section, its last touch at that second."""
    book = opened(coat(wait))
    for when_s, reading in readings:
        book.press(when_s, reading)
    return finish_first(book, at_s)


def finish_first(book: Book, at_s: float) -> Marks:
    move = next(m for m in book.moves(at_s) if m.act == "take up" and m.turn.step == 0)
    book.do(at_s - 20, rules.take_up, move)
    (finished,) = (
        event
        for event in book.do(at_s, rules.take_up, Move("end", why="end"))
        if isinstance(event, ev.StepFinished)
    )
    assert finished.marks is not None
    return finished.marks


def moving(climate: FlashClimate) -> FlashClimate:
    """The same with a fan on."""
    return FlashClimate(climate.panel_c, climate.air_c, climate.rh, True)


# What the marks follow.


def test_marks_follow_the_reading_by_the_worked_case() -> None:
    # Our own judgement: label 60 to 120 s at 20 C and 50 %, here 36 s, 18 to 72.
    assert laid((0, HOT)) == Marks(18, 36, 300, 72)


def test_four_own_watched_sections_move_them_by_the_worked_case() -> None:
    # Our own judgement: with four own sections 44 s, 30 to 63.
    assert forecast(FLASH, HERE, LOGS).marks == Marks(30, 44, 300, 63)


def test_at_the_labels_own_climate_the_label_is_the_answer() -> None:
    at_home = ev.ReadingTaken(air_c=20, rh=50, panel_c=20)
    assert laid((0, at_home)) == Marks(60, 85, 300, 120)
    assert forecast(FLASH, FlashClimate(20, 20, 50)).refusals == ()


@pytest.mark.parametrize(
    ("readings", "why"),
    [
        ((), NO_PANEL),
        (((0, replace(HOT, panel_c=None)),), NO_PANEL),
        (((0, replace(HOT, rh=None)),), NO_AIR),
        (((0, ev.ReadingTaken(panel_c=32)),), NO_AIR),
        (((0, replace(HOT, rh=0.0)),), NOT_USABLE),
        (((0, ev.ReadingTaken()),), NO_PANEL),
    ],
)
def test_without_a_usable_reading_the_label_stands_alone(
    readings: tuple[tuple[float, ev.ReadingTaken], ...], why: str
) -> None:
    assert laid(*readings) == LABEL_ALONE
    book = opened(coat())
    for when_s, reading in readings:
        book.press(when_s, reading)
    assert climate_at(book.shift(), us(100)) == why
    assert why.endswith(": the label only.")


@pytest.mark.parametrize(("age_s", "fresh"), [(3599, True), (3600, False), (3700, False)])
def test_a_reading_holds_for_an_hour(age_s: float, fresh: bool) -> None:
    marks = laid((0, HOT), at_s=age_s)
    assert marks == (Marks(18, 36, 300, 72) if fresh else LABEL_ALONE)


def test_the_newest_of_each_counts_and_none_that_comes_later() -> None:
    cool = ev.ReadingTaken(air_c=20, rh=50, panel_c=20)
    assert laid((0, cool), (30, HOT)) == Marks(18, 36, 300, 72)
    # A panel alone leaves the air's reading in force.
    assert laid((0, replace(HOT, panel_c=20)), (30, ev.ReadingTaken(panel_c=32))) == Marks(
        18, 36, 300, 72
    )
    book = opened(coat())
    book.press(0, cool)
    book.press(200, HOT)
    found = climate_at(book.shift(), us(199))
    assert isinstance(found, FlashClimate) and found.panel_c == 20
    assert climate_at(None, us(0)) == NO_PANEL


def test_moving_air_brings_them_forward() -> None:
    mild = FlashClimate(24, 25, 50)
    still, fan = forecast(FLASH, mild, LOGS), forecast(FLASH, moving(mild), LOGS)
    assert still.reckoned and fan.reckoned
    assert fan.marks.due_s < still.marks.due_s
    book = opened(coat())
    for how, there in (("still", HERE), ("fan", moving(HERE)), ("windy", moving(HERE))):
        book.press(0, replace(HOT, moving=how))
        assert climate_at(book.shift(), us(1)) == there


def test_refused_by_the_model_the_label_stands_alone() -> None:
    # The panel is out of the range the line is trusted in.
    found = forecast(FLASH, FlashClimate(4, 4, 50))
    assert (found.reckoned, found.early) == (False, "")
    assert found.marks.opens_s == LABEL_ALONE.opens_s
    assert found.refusals[0].startswith("Panel 4 C is outside 5 to 45 C")
    # Expected behind the label's longest, that is shown as expected.
    damp = forecast(labelled("water"), FlashClimate(14, 14, 82))
    assert not damp.reckoned and (damp.marks.due_s, damp.marks.off_by_s) == (120, 120)
    assert damp.marks.opens_s == 60
    unsaid = forecast(labelled(""), HERE)
    assert (unsaid.refusals, unsaid.marks) == ((NO_KIND,), LABEL_ALONE)
    bare = forecast(labelled("solvent", LabelRow(60, 120)), HERE)
    assert bare.marks == LABEL_ALONE and "names no climate" in bare.refusals[0]


def test_where_the_line_is_refused_and_the_film_may_be_ready_the_look_comes_early() -> None:
    """Label 60 to 180 s at 20 C: at 33 C and 45 % the line says 41 s, too wide to be told."""
    wide = labelled("moisture cure", LabelRow(60, 180, 20, 50))
    wide = replace(wide, due_s=104)
    found = forecast(wide, FlashClimate(33, 33, 45))
    assert not found.reckoned
    assert found.marks == Marks(17, 17, 300, 180)
    assert found.early == "May be ready early: look from 0:17."
    assert "no time is expected" in found.refusals[0]
    window = finished_window(wide, ev.ReadingTaken(air_c=33, rh=45, panel_c=33))
    assert window.expected_us is None
    # Five films that were watched near 41 s set it.
    own = tuple(OwnFlash(s, FlashClimate(33, 33, 45)) for s in (40, 41, 42, 41, 40))
    told = forecast(replace(wide, closes_s=300), FlashClimate(33, 33, 45), own)
    assert 25 <= told.marks.opens_s < 41


def finished_window(wait: Wait, reading: ev.ReadingTaken) -> Window:
    """The window of the first section of a coat with that wait."""
    book = opened(coat(wait))
    book.press(0, reading)
    finish_first(book, 100)
    (window,) = book.job().running
    return window


@pytest.mark.parametrize("name", ["one_step_correction_and_coat", "two_layer_coat_overnight"])
def test_the_starters_coats_follow_the_climate_where_the_model_allows(name: str) -> None:
    """Over 1209 climates: panel 10 to 40 C, air as warm and 2 C either way, 30 to 90 % RH."""
    (coat_,) = (s for s in read_plan(starter(name), name).stages if s.name == "Coat")
    (wait,) = (step for step in coat_.steps if isinstance(step, Wait))
    places = [
        FlashClimate(panel, panel + over, rh)
        for panel in range(10, 41)
        for rh in range(30, 91, 5)
        for over in (-2, 0, 2)
    ]
    told = [forecast(wait, place) for place in places]
    follow = sum(one.reckoned for one in told)
    early = sum(one.early != "" for one in told)
    assert (len(told), follow, early) == (1209, 506, 428)
    rows = label_rows(wait.label, "moisture cure")
    for place, one in zip(places, told, strict=True):
        reckoned = terms(rows, place, (), "moisture cure")
        assert reckoned is not None
        # Whatever is refused, nobody is told to look after the film is expected.
        if reckoned.p50_s < wait.opens_s:
            assert one.marks.opens_s <= round(reckoned.p50_s)
        if not one.reckoned:
            assert one.marks.opens_s <= wait.opens_s


def test_a_solvents_label_needs_no_humidity() -> None:
    row = LabelRow(60, 120, 20)
    assert label_rows((row,), "solvent")[0].climate == FlashClimate(20, 20, 50)
    for kind in ("moisture cure", "water"):
        assert label_rows((row,), kind)[0].climate is None
    assert forecast(labelled("solvent", row), HERE).reckoned
    # A humidity that cannot be reckoned with is no climate, and no error.
    assert label_rows((LabelRow(60, 120, 20, 0),), "water")[0].climate is None


def test_other_waits_keep_the_plans_marks() -> None:
    book = opened(FALLOUT)
    book.press(0, HOT)
    assert finish_first(book, 100) == Marks(120, 180, 300)
    book = opened(COAT)
    book.press(0, HOT)
    assert finish_first(book, 100) == Marks(60, 100, 300)


SHOP = st.builds(
    FlashClimate, st.floats(-5.0, 60.0), st.floats(0.0, 45.0), st.floats(5.0, 95.0), st.booleans()
)
SHOP_OWN = st.lists(st.builds(OwnFlash, st.floats(5.0, 600.0), SHOP), max_size=6).map(tuple)
ROWS = st.builds(
    lambda low, more, air, rh: LabelRow(low, low + more, air, rh),
    st.integers(1, 600),
    st.integers(0, 900),
    st.none() | st.integers(0, 40),
    st.none() | st.integers(0, 100),
)


@settings(max_examples=150)
@given(
    rows=st.lists(ROWS, min_size=1, max_size=3).map(tuple),
    ends=st.tuples(*[st.integers(0, 900)] * 3).map(sorted),
    kind=st.sampled_from(["", "solvent", "moisture cure", "water"]),
    climate=SHOP | st.just(NO_PANEL),
    own=SHOP_OWN,
)
def test_marks_are_never_out_of_order(
    rows: tuple[LabelRow, ...],
    ends: list[int],
    kind: str,
    climate: FlashClimate | str,
    own: tuple[OwnFlash, ...],
) -> None:
    wait = Wait("flash", *ends, kind=kind, label=rows)  # type: ignore[arg-type]  # a kind by name
    found = forecast(wait, climate, own)
    marks = found.marks
    assert marks.off_by_s is not None
    assert 0 <= marks.opens_s <= marks.due_s <= marks.off_by_s <= marks.closes_s == ends[2]
    assert found.reckoned == (found.refusals == ())
    if not found.reckoned and not found.early:
        assert marks.opens_s == ends[0] and marks.due_s >= ends[1]
    if found.early and "watched" not in found.early:
        # It is looked at early, and no time is expected.
        assert marks.opens_s == marks.due_s <= ends[0]


@settings(max_examples=80)
@given(
    panel_c=st.floats(5.0, 45.0),
    hotter=st.floats(0.0, 25.0),
    air_c=st.floats(5.0, 40.0),
    rh=st.floats(15.0, 85.0),
    kind=st.sampled_from(["solvent", "moisture cure", "water"]),
    own=st.lists(
        st.builds(
            OwnFlash,
            st.floats(15.0, 200.0),
            st.builds(FlashClimate, st.floats(10.0, 40.0), st.floats(10.0, 35.0), st.just(50.0)),
        ),
        max_size=5,
    ).map(tuple),
)
def test_a_hotter_panel_never_has_later_marks(
    panel_c: float,
    hotter: float,
    air_c: float,
    rh: float,
    kind: str,
    own: tuple[OwnFlash, ...],
) -> None:
    wait = labelled(kind)  # type: ignore[arg-type]  # a kind by name
    there = min(45.0, panel_c + hotter)
    for known in ((), own):
        cool, hot = (forecast(wait, FlashClimate(c, air_c, rh), known) for c in (panel_c, there))
        if not (cool.reckoned and hot.reckoned):
            continue
        assert hot.marks.due_s <= cool.marks.due_s
        if not known and panel_c > 22:
            # Away from all that was seen the band also widens; with no own sections on the far
            # side of it every mark comes forward.
            assert hot.marks.opens_s <= cool.marks.opens_s
            assert (hot.marks.off_by_s or 0) <= (cool.marks.off_by_s or 0)


# Once told, they stand.


def test_a_later_reading_moves_no_running_window(tmp_path: Path) -> None:
    films = Films(tmp_path)
    films.read()
    first = films.lay()
    films.read(ev.ReadingTaken(air_c=20, rh=50, panel_c=20))
    second = films.lay()
    running = {w.section: w.marks for w in films.bench.jobs[films.job].running}
    assert running == {
        first.section: Marks(18, 36, 300, 72),
        second.section: Marks(60, 85, 300, 120),
    }


def test_undo_and_redo_bring_the_marks_back_as_they_were_told(tmp_path: Path) -> None:
    films = Films(tmp_path)
    films.read()
    told = films.lay()
    struck = films.bench.undo().rows[0].corrects
    assert struck is not None
    films.read(ev.ReadingTaken(air_c=20, rh=50, panel_c=20))
    # Finished anew it follows the newer reading; restored it is what was told then.
    films.bench.do(rules.take_up, Move("end", why="end"))
    (anew,) = films.bench.jobs[films.job].running
    assert anew.marks == Marks(60, 85, 300, 120)
    films.bench.undo()
    films.bench.restore(struck)
    (again,) = films.bench.jobs[films.job].running
    assert again == told and again.marks == Marks(18, 36, 300, 72)


def test_a_late_press_knows_only_the_readings_of_its_time(tmp_path: Path) -> None:
    films = Films(tmp_path)
    films.begin()
    films.clock.wind(600)
    films.read()
    films.clock.wind(60)
    films.bench.do_as("me", 300_000_000, rules.take_up, Move("end", why="end"))
    (window,) = films.bench.jobs[films.job].running
    assert window.marks == LABEL_ALONE


def test_the_moves_reckon_with_the_marks_that_will_be_told(tmp_path: Path) -> None:
    films = Films(tmp_path, coat(minutes=1.5))
    films.begin()
    films.clock.wind(20)
    stand_by = next(m for m in films.bench.moves() if m.act == "stand by")
    now_us = films.bench.now_us
    assert stand_by.opens_us == now_us + 60_000_000
    films.read()
    stand_by = next(m for m in films.bench.moves() if m.act == "stand by")
    assert stand_by.opens_us == now_us + 18_000_000


def test_a_film_to_be_looked_at_leaves_the_hands_the_time_it_has() -> None:
    # Looked at from 18 s on, off by 72 s: a section of 60 s goes between, one of 75 s does not.
    for minutes, act in ((1.0, "take up"), (1.25, "stand by")):
        book = opened(replace(coat(minutes=minutes), order="wave"))
        book.press(0, HOT)
        book.do(10, rules.take_up, book.moves(10)[0])
        assert book.moves(30)[0].act == act, minutes


# What is learned from.


def test_watched_sections_move_the_marks_of_the_next_one(tmp_path: Path) -> None:
    films = Films(tmp_path)
    films.learn()
    films.read()
    assert films.lay().marks == Marks(30, 44, 300, 63)
    assert films.bench.own()["coat"] == LOGS


def test_who_wipes_at_our_mark_without_watching_teaches_nothing(tmp_path: Path) -> None:
    # Synthetic: the film is ready after 90 s, and the worker wipes when the screen says so.
    films = Films(tmp_path)
    films.read()
    before = films.lay()
    films.clock.wind(before.marks.due_s)
    films.level(before)
    for _ in range(6):
        films.read()
        films.film(films.lay().marks.due_s, watched=False)
    films.read()
    assert films.lay().marks == before.marks
    assert films.bench.own().get("coat", ()) == ()


def test_a_few_watched_among_wipes_at_our_mark_are_believed_alone(tmp_path: Path) -> None:
    # Synthetic, as above; every third film is watched to its 90 s.
    films = Films(tmp_path)
    for count in range(9):
        films.read()
        window = films.lay()
        films.clock.wind(90 if count % 3 == 0 else window.marks.opens_s)
        if count % 3 == 0:
            films.see(window)
        films.level(window)
    assert [round(own.seconds) for own in films.bench.own()["coat"]] == [90, 90, 90]
    films.read()
    assert 60 < films.lay().marks.due_s <= 95


def test_a_struck_press_is_unlearned_and_learned_again(tmp_path: Path) -> None:
    films = Films(tmp_path)
    reading = films.read()
    window = films.lay()
    films.clock.wind(50)
    seen = films.see(window)
    assert len(films.bench.own()["coat"]) == 1
    films.bench.strike(seen)
    assert films.bench.own().get("coat", ()) == ()
    films.bench.restore(seen)
    assert len(films.bench.own()["coat"]) == 1
    # Where nobody knows the climate nothing can be learned.
    films.bench.strike(reading)
    assert films.bench.own().get("coat", ()) == ()
    films.bench.restore(reading)
    films.bench.move(seen, films.bench.now_us - 10_000_000)
    assert [own.seconds for own in films.bench.own()["coat"]] == [40.0]


def test_an_older_closed_job_of_the_log_counts(tmp_path: Path) -> None:
    films = Films(tmp_path)
    films.learn()
    films.bench.do(rules.close_job, films.job, {"unfinished": "enough for a test"})
    films.bench.do(rules.clock_off)
    films.bench.close()
    later = Films(tmp_path, seed=2)
    later.again()
    assert films.job not in later.bench.jobs
    later.read()
    assert later.lay().marks == Marks(30, 44, 300, 63)
    # Another worker's hands are another film.
    assert later.bench.own("helper").get("coat", ()) == ()
    assert dict(later.bench.own("me")) == {"coat": LOGS}
    assert len(later.bench.own("helper")) == 0


def test_sections_under_one_press_are_one_film(tmp_path: Path) -> None:
    films = Films(tmp_path, replace(coat(sections=("left", "right")), press="stage"))
    films.read()
    window = films.lay()
    films.clock.wind(44)
    (row,) = films.bench.do(rules.see, films.job, "Coat", window.section).rows
    assert isinstance(row.event, ev.WindowSeen) and set(row.event.sections) == {"left", "right"}
    assert [own.seconds for own in films.bench.own()["coat"]] == [44.0]


def one(seconds: float, at_s: int = 0, product: str = "coat") -> WatchedFlash:
    return WatchedFlash(product, "moisture cure", (ROW,), "me", us(at_s), OwnFlash(seconds, HERE))


def test_one_that_is_far_off_is_not_learned_from() -> None:
    found = [*(one(44 + n, n) for n in range(4)), one(600, 5), one(3, 6), one(50, 7)]
    assert [own.seconds for own in learned(found[::-1])["coat"]] == [44, 45, 46, 47, 50]
    both = learned([one(44, 0), one(60, 1, "other")])
    assert {product: len(own) for product, own in both.items()} == {"coat": 1, "other": 1}
    many = learned([one(44, n) for n in range(MOST_OWN + 9)])
    assert len(many["coat"]) == MOST_OWN


@pytest.mark.parametrize(
    ("seconds", "reading", "said"),
    [
        (44, HOT, "44 s seen and learned from."),
        (500, HOT, "500 s is far off: not learned from."),
        (44, ev.ReadingTaken(rh=40.0), f"44 s seen, not learned from. {NO_PANEL}"),
    ],
)
def test_what_becomes_of_a_film_seen(
    tmp_path: Path, seconds: float, reading: ev.ReadingTaken, said: str
) -> None:
    films = Films(tmp_path)
    films.read(reading)
    window = films.lay()
    films.clock.wind(seconds)
    bench = films.bench
    facts = (bench.jobs[films.job], "Coat", window.section, bench.shift(), bench.now_us)
    assert seen_text(*facts, bench.own()) == said
    films.see(window)
    assert (len(bench.own().get("coat", ())) == 1) == said.endswith("learned from.") * (
        "not" not in said
    )


def test_a_film_that_closed_before_it_opened_is_not_learned_from(tmp_path: Path) -> None:
    """Laid for all but a quarter of a minute of the five: what is ready is neither end of it."""
    films = Films(tmp_path, coat(minutes=4.75))
    films.read()
    window = films.lay(285)
    assert window.too_big
    films.clock.wind(44)
    bench = films.bench
    facts = (bench.jobs[films.job], "Coat", window.section, bench.shift(), bench.now_us)
    assert seen_text(*facts, bench.own()) == (
        "44 s seen, not learned from: the film closed before it opened."
    )
    films.see(window)
    assert bench.own().get("coat", ()) == ()


def test_a_film_seen_ready_before_marks_without_width_close_is_learned_from(
    tmp_path: Path,
) -> None:
    """Where the marks have it ready only as it closes, it is they that are wrong."""
    films = Films(tmp_path, coat(replace(FLASH, due_s=60, closes_s=60)))
    films.read(ev.ReadingTaken(air_c=20, rh=50, panel_c=20))
    window = films.lay(5)
    assert window.marks.opens_s == window.marks.closes_s == 60
    films.clock.wind(50)
    films.see(window)
    assert [own.seconds for own in films.bench.own()["coat"]] == [50.0]


def test_nothing_is_said_of_what_has_no_label() -> None:
    book = opened(FALLOUT)
    finish_first(book, 100)
    (window,) = book.job().running
    assert seen_text(book.job(), "Fallout", window.section, book.shift(), us(130), {}) == ""
    assert seen_text(book.job(), "Fallout", "front", book.shift(), us(130), {}) == ""
    assert watched_flashes(book.job(), [book.shift()]) == []


def test_what_cannot_be_placed_is_not_watched(tmp_path: Path) -> None:
    films = Films(tmp_path)
    films.read()
    films.film(44)
    job = films.bench.jobs[films.job]
    shift = films.bench.shift()
    assert shift is not None and len(watched_flashes(job, [shift])) == 1
    # Not in a shift of another worker, of another time, or seen in the same instant.
    assert watched_flashes(job, []) == []
    assert watched_flashes(job, [replace(shift, worker="helper")]) == []
    assert watched_flashes(job, [replace(shift, on_us=films.bench.now_us)]) == []
    at_once = [replace(w, seen_us=w.last_us) for w in job.windows]
    assert watched_flashes(replace(job, windows=at_once), [shift]) == []


def test_two_programs_on_one_log_know_what_the_other_watched(tmp_path: Path) -> None:
    films = Films(tmp_path)
    films.read()
    other = type(films.bench).open(tmp_path / "log.db", HandClock(films.bench.now_us))
    assert other.own().get("coat", ()) == ()
    films.film(44)
    with pytest.raises(Refused):
        other.do(rules.note_shift, ev.DrinkTaken(200))
    assert [own.seconds for own in other.own()["coat"]] == [44.0]
