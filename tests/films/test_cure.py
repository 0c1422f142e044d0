"""The queue of long windows: gaps, cures and second looks, their marks and their words.

All figures are invented round numbers for tests, no source, and no advice.
"""

from __future__ import annotations

import pytest

from cartclock.engine.after.aftercare import cures
from cartclock.engine.dates import instant
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.films.cure import (
    Curing,
    SecondLook,
    age_text,
    curings,
    due,
    high_spot_remedy,
    long_text,
    look_sentences,
    look_states,
    look_text,
    queue,
)
from cartclock.engine.films.cure import looks as waiting
from cartclock.engine.hours.account import readings
from cartclock.engine.now.glance import glance
from cartclock.engine.now.running import states
from cartclock.engine.plan.plan import Check, Cure, Gap, HighSpot, Plan, PressPer, Stage, Work
from cartclock.engine.rules import changes, looks, rules
from cartclock.engine.trouble import Refused
from tests.kit.book import JOB, T0_US, Book, us

HOUR_US, HOUR_S, MINUTE_S = 3_600_000_000, 3600, 60
SPOTS = (HighSpot("re-wet and level", 1800), HighSpot("polish out, wipe, coat again"))
# One press lays a section; the look after 20 to 40 minutes, the cure 12 h, in the cold 24 h.
COAT = Stage(
    "Coat",
    ("bonnet left", "bonnet right", "roof", "boot"),
    (Work("lay", 1.0),),
    panels={"bonnet left": "bonnet", "bonnet right": "bonnet"},
    cure=Cure(12 * HOUR_S, 15.0, 24 * HOUR_S),
    check=Check(20 * MINUTE_S, 40 * MINUTE_S, "panel", "light over it"),
    high_spot=SPOTS,
)
LEFT, RIGHT = "bonnet left", "bonnet right"


def opened(stage: Stage = COAT, zone: str = "UTC", start_s: float = 0, number: int = 1) -> Book:
    """A book with a job of one stage, and the worker on the clock."""
    book = Book()
    book.press(start_s, ev.JobOpened(Plan("one", (stage,)), "", number, "grey van", zone))
    book.press(start_s, ev.ClockedOn(zone=zone))
    return book


def lay(book: Book, at_s: float, *names: str) -> None:
    """Lays sections together so that `at_s` is their last touch."""
    turn = book.job().sections["Coat", names[0]].turn
    book.press(at_s - 30, ev.WorkStarted("Coat", names, turn))
    book.press(at_s, ev.StepFinished("Coat", names, turn))
    assert book.odd() == []


def stage_with(per: PressPer, after_s: int = 1200, closes_s: int = 2400) -> Stage:
    return Stage(
        "Coat", COAT.sections, COAT.steps, panels=COAT.panels, check=Check(after_s, closes_s, per)
    )


def one(book: Book) -> SecondLook:
    (look,) = waiting(book.job())
    return look


def texts(book: Book, at_s: float) -> list[str]:
    """The queue in words."""
    jobs = book.jobs()
    found = queue(jobs, {"me 1": book.shift()}, us(at_s))
    return [long_text(entry, jobs[entry.job], us(at_s)) for entry in found]


# Second looks.


@pytest.mark.parametrize(
    ("after_us", "state"),
    [
        (0, "WAIT"),
        (1200 * 1_000_000 - 1, "WAIT"),
        (1200 * 1_000_000, "READY"),
        (2400 * 1_000_000 - 1, "READY"),
        (2400 * 1_000_000, "LATE"),
    ],
)
def test_a_look_is_due_from_its_mark_to_the_microsecond(after_us: int, state: str) -> None:
    book = opened()
    lay(book, 100, "roof")
    look, now_us = one(book), us(100) + after_us
    assert look.state(now_us) == state
    assert bool(due(book.jobs(), now_us)) is (state != "WAIT")
    (entry,) = [e for e in queue(book.jobs(), {}, now_us) if e.kind == "check"]
    assert (entry.state, entry.at_us) == (
        state,
        us(1300) if state == "WAIT" else us(2500),
    )
    assert (look.sections, look.first_us, look.last_us) == (("roof",), us(100), us(100))


@pytest.mark.parametrize(
    ("per", "wanted"),
    [
        ("section", [(LEFT,), (RIGHT,), ("roof",)]),
        ("panel", [(LEFT, RIGHT), ("roof",)]),
        ("stage", [(LEFT, RIGHT, "roof")]),
    ],
)
def test_what_one_look_covers(per: PressPer, wanted: list[tuple[str, ...]]) -> None:
    book = opened(stage_with(per))
    for at_s, name in ((100, LEFT), (280, RIGHT), (460, "roof")):
        lay(book, at_s, name)
    assert [look.sections for look in waiting(book.job())] == wanted
    last = waiting(book.job())[-1]
    # It opens with the last of them and closes with the first.
    assert last.opens_us == us(460 + 1200)
    assert last.closes_us == {"section": us(2860), "panel": us(2860), "stage": us(2500)}[per]


def test_what_was_laid_too_far_apart_is_looked_at_apart() -> None:
    for apart_s, together in ((600, True), (600.000001, False)):
        book = opened()
        lay(book, 100, LEFT)
        lay(book, 100 + apart_s, RIGHT)
        assert len(waiting(book.job())) == (1 if together else 2), apart_s


def test_nothing_joins_a_look_that_is_open_already() -> None:
    stage = stage_with("stage", 300, 3000)
    for apart_s, together in ((299.999999, True), (300, False)):
        book = opened(stage)
        lay(book, 100, LEFT)
        assert one(book).state(us(100 + 300)) == "READY"
        lay(book, 100 + apart_s, RIGHT)
        assert len(waiting(book.job())) == (1 if together else 2), apart_s


def test_sections_taken_together_are_looked_at_together_whatever_the_width() -> None:
    book = opened(stage_with("stage", 0, 0))
    book.press(10, ev.WorkStarted("Coat", (LEFT, "roof"), Turn()))
    book.press(100, ev.StepFinished("Coat", (LEFT, "roof"), Turn()))
    assert one(book).sections == (LEFT, "roof")
    assert one(book).state(us(100)) == "LATE"


def test_an_answer_takes_only_its_section_out_and_moves_no_mark() -> None:
    book = opened()
    lay(book, 100, LEFT)
    lay(book, 400, RIGHT)
    before = one(book)
    book.do(1700, looks.find_fine, JOB, "Coat", (LEFT,))
    after = one(book)
    assert after.sections == (RIGHT,)
    assert (after.opens_us, after.closes_us) == (before.opens_us, before.closes_us)
    assert (after.first_us, after.last_us) == (us(400), us(400))
    book.do(1701, looks.find, JOB, "Coat", RIGHT, "high spot")
    assert waiting(book.job()) == ()


def test_a_section_laid_anew_is_looked_at_anew_and_the_others_are_not() -> None:
    book = opened()
    lay(book, 100, LEFT, RIGHT)
    book.do(1700, looks.find_fine, JOB, "Coat", (LEFT, RIGHT))
    book.do(1800, changes.redo, JOB, "Coat", (LEFT,), "high spot")
    assert waiting(book.job()) == ()
    lay(book, 2000, LEFT)
    assert one(book).sections == (LEFT,)
    assert one(book).opens_us == us(2000 + 1200)


def test_only_finished_sections_of_open_jobs_wait_for_a_look() -> None:
    book = opened()
    book.press(10, ev.WorkStarted("Coat", ("roof",), Turn()))
    book.press(11, ev.SectionSkipped("Coat", ("boot",)))
    assert waiting(book.job()) == ()
    book.press(20, ev.StepFinished("Coat", ("roof",), Turn()))
    assert len(waiting(book.job())) == 1
    book.press(30, ev.JobClosed())
    assert waiting(book.job()) == () == queue(book.jobs(), {}, us(9999))


def test_each_layer_is_looked_at_until_the_next_one_covers_it() -> None:
    two = Stage(
        "Coat",
        ("roof",),
        COAT.steps,
        layers=2,
        gap=Gap(3600, 7200, 86400),
        check=Check(1200, 2400),
    )
    book = opened(two)
    book.press(10, ev.WorkStarted("Coat", ("roof",), Turn()))
    book.press(100, ev.StepFinished("Coat", ("roof",), Turn(), Marks(3600, 7200, 86400)))
    first, gap = queue(book.jobs(), {}, us(200))
    assert (gap.kind, gap.state, gap.at_us) == ("gap", "WAIT", us(3700))
    assert (first.kind, first.at_us) == ("check", us(1300))
    late = next(one for one in queue(book.jobs(), {}, us(3000)) if one.kind == "check")
    assert late.state == "LATE"
    assert long_text(late, book.job(), us(3000)).endswith(", can be seen until layer 2 covers it")
    assert one(book).layer == 1
    book.press(4000, ev.WorkStarted("Coat", ("roof",), Turn(1, 2, 0)))
    book.press(4100, ev.StepFinished("Coat", ("roof",), Turn(1, 2, 0)))
    (check,) = queue(book.jobs(), {}, us(4200))
    assert (check.kind, check.at_us) == ("check", us(5300))
    assert one(book).layer == 2


def test_a_layer_two_too_early_is_asked() -> None:
    two = Stage("Coat", ("roof",), COAT.steps, layers=2, gap=Gap(3600, 7200, 86400))
    book = opened(two)
    book.do(10, rules.take_up, book.moves(10)[0])
    book.do(100, rules.take_up, next(m for m in book.moves(100) if m.act == "end"))
    early = next(m for m in book.moves(200) if m.turn.layer == 2 and m.act == "take up")
    with pytest.raises(rules.Asks) as asks:
        rules.take_up(book.scene(200), early)
    assert asks.value.rule_id == "layer_early"
    assert rules.take_up(book.scene(3700), early)


# High spots.


@pytest.mark.parametrize(
    ("age_us", "do", "last"),
    [
        (0, "re-wet and level", False),
        (1800 * 1_000_000 - 1, "re-wet and level", False),
        (1800 * 1_000_000, "polish out, wipe, coat again", True),
        (10**13, "polish out, wipe, coat again", True),
    ],
)
def test_the_remedy_goes_by_the_age_to_the_microsecond(age_us: int, do: str, last: bool) -> None:
    spot = high_spot_remedy(COAT, age_us)
    assert spot is not None
    assert (spot.do, spot.until_s is None) == (do, last)


def test_a_stage_without_remedies_has_none() -> None:
    assert high_spot_remedy(stage_with("panel"), 0) is None
    young = Stage("C", ("a",), COAT.steps, high_spot=(HighSpot("x", 5),))
    assert high_spot_remedy(young, 5_000_000) is None


def test_only_what_is_done_is_looked_at() -> None:
    book = opened()
    book.press(10, ev.WorkStarted("Coat", ("roof",), Turn()))
    scene = book.scene(20)
    for names, said in (
        (("roof",), "roof is in hand; only what is done is looked at again."),
        (("boot",), "boot is to do; only what is done is looked at again."),
        (("sill",), "There is no section sill in Coat."),
        ((), "Name what was looked at."),
    ):
        with pytest.raises(Refused) as no:
            looks.find_fine(scene, JOB, "Coat", names)
        assert str(no.value) == said
    with pytest.raises(Refused) as no:
        looks.find(scene, JOB, "Coat", "roof", "high spot")
    assert str(no.value) == "roof is in hand; only what is done is looked at again."
    with pytest.raises(Refused, match=r"There is no stage Wax\."):
        looks.find_fine(scene, JOB, "Wax", ("roof",))
    book.press(30, ev.StepFinished("Coat", ("roof",), Turn()))
    book.press(40, ev.JobClosed())
    with pytest.raises(Refused, match=r"That job is not open\."):
        looks.find_fine(book.scene(50), JOB, "Coat", ("roof",))


# Cures.


def cure_of(book: Book, name: str) -> Curing:
    (found,) = [
        c for c in curings(book.job(), "Coat", readings([book.shift()])) if c.section == name
    ]
    return found


def read(book: Book, at_s: float, air_c: float | None, panel_c: float | None = None) -> None:
    book.press(at_s, ev.ReadingTaken(air_c=air_c, panel_c=panel_c))


@pytest.mark.parametrize(
    ("taken", "hours", "cold"),
    [
        ([(100, 20.0, None)], 12, None),
        ([(100, 14.9, None)], 24, 14.9),
        ([(100, 15.0, None)], 12, None),
        ([(100, 20.0, 14.5)], 24, 20.0),
        # Before the last touch it no longer stood, after the cure it did not count.
        ([(100, 5.0, None), (1000, 20.0, None)], 12, None),
        ([(100, 5.0, None), (1000.000001, 20.0, None)], 24, 5.0),
        ([(100, 20.0, None), (1000 + 12 * HOUR_S, 5.0, None)], 12, None),
        ([(100, 20.0, None), (1000 + 12 * HOUR_S - 1e-6, 5.0, None)], 24, 5.0),
        # The first cold one is named.
        ([(2000, 9.0, None), (3000, 2.0, None)], 24, 9.0),
        # Nothing read of air or panel says nothing.
        ([(100, 5.0, None), (500, None, None), (900, 16.0, None)], 12, None),
        ([], 24, None),
        ([(1000 + 12 * HOUR_S, 20.0, None)], 24, None),
    ],
)
def test_a_cure_is_longer_if_a_cold_reading_stood_during_it(
    taken: list[tuple[float, float | None, float | None]], hours: int, cold: float | None
) -> None:
    book = opened()
    before = [one for one in taken if one[0] <= 970]
    for at_s, air_c, panel_c in before:
        read(book, at_s, air_c, panel_c)
    lay(book, 1000, "roof")
    for at_s, air_c, panel_c in taken[len(before) :]:
        read(book, at_s, air_c, panel_c)
    found = cure_of(book, "roof")
    assert found.cured_us == us(1000) + hours * HOUR_US
    assert found.stretched is (cold is not None)
    if cold is not None:
        assert found.reading is not None and found.reading.reading.air_c == cold


def test_a_section_laid_anew_starts_its_own_cure_only() -> None:
    book = opened()
    read(book, 10, 20.0)
    lay(book, 1000, "roof", "boot")
    book.do(2000, changes.redo, JOB, "Coat", ("roof",), "high spot")
    taken = readings([book.shift()])
    assert [c.section for c in curings(book.job(), "Coat", taken)] == ["boot"]
    lay(book, 5000, "roof")
    assert cure_of(book, "roof").cured_us == us(5000) + 12 * HOUR_US
    assert cure_of(book, "boot").cured_us == us(1000) + 12 * HOUR_US
    entries = [e for e in queue(book.jobs(), {"me 1": book.shift()}, us(6000)) if e.kind == "cure"]
    assert [(e.sections, e.state, e.at_us) for e in entries] == [
        (("boot",), "WAIT", us(1000) + 12 * HOUR_US),
        (("roof",), "WAIT", us(5000) + 12 * HOUR_US),
    ]
    # us(1000) is Mon 21 Sep 2026 14:30 UTC.
    assert [text for text in texts(book, 6000) if "leave" in text] == [
        "Coat, boot: leave alone until Tue 22 Sep 2026 02:30",
        "Coat, roof, laid anew: leave alone until Tue 22 Sep 2026 03:37",
    ]


def test_a_cure_is_over_to_the_microsecond() -> None:
    book = opened(Stage("Coat", ("roof",), COAT.steps, cure=Cure(60)))
    lay(book, 100, "roof")
    for now_us, state in ((us(160) - 1, "WAIT"), (us(160), "READY")):
        (entry,) = queue(book.jobs(), {}, now_us)
        assert (entry.state, entry.at_us) == (state, us(160))
    # us(160) is 14:16:00 UTC; a cure over is never told too early.
    assert texts(book, 100) == ["Coat: leave alone until Mon 21 Sep 2026 14:16"]
    assert texts(book, 160) == ["Coat: cured since Mon 21 Sep 2026 14:16"]


def test_paper_and_queue_reckon_a_cure_alike() -> None:
    book = opened()
    read(book, 10, 20.0)
    lay(book, 1000, LEFT, RIGHT)
    lay(book, 4000, "roof", "boot")
    read(book, 5000, 11.0)
    (paper,) = cures(book.job(), readings([book.shift()]))
    entries = [e for e in queue(book.jobs(), {"me 1": book.shift()}, us(6000)) if e.kind == "cure"]
    assert [entry.at_us for entry in entries] == [paper.not_before_us] == [us(4000) + 24 * HOUR_US]


# The queue.


def test_the_earliest_next_mark_comes_first_over_all_jobs() -> None:
    book = opened()
    read(book, 10, 20.0)
    second = Stage("Seal", ("roof",), (Work("spread", 1.0),), check=Check(600, 1200))
    book.press(20, ev.JobOpened(Plan("two", (second,)), "", 2, "red coupe"), job="job-2")
    lay(book, 100, "roof")
    book.press(200, ev.WorkStarted("Seal", ("roof",), Turn()), job="job-2")
    book.press(300, ev.StepFinished("Seal", ("roof",), Turn()), job="job-2")
    found = queue(book.jobs(), {"me 1": book.shift()}, us(400))
    assert [(e.job, e.kind, e.at_us) for e in found] == [
        ("job-2", "check", us(900)),
        (JOB, "check", us(1300)),
        (JOB, "cure", us(100) + 12 * HOUR_US),
    ]


def test_the_words_of_the_queue() -> None:
    book = opened()
    read(book, 10, 12.0)
    lay(book, 640, LEFT)
    lay(book, 1000, RIGHT)
    cure = "Coat: leave alone until Tue 22 Sep 2026 14:30, cold: air 12 C at 14:13"
    # Opened by the last at 14:50:00, closed by the first at 15:04:00.
    assert texts(book, 1100) == ["Coat: light over bonnet from 14:50 to 15:04", cure]
    assert texts(book, 2200) == [
        "Coat: light over bonnet, laid 20-26 min ago, until 15:04",
        cure,
    ]
    assert texts(book, 3100) == [
        "Coat: light over bonnet, laid 35-41 min ago, late since 15:04",
        cure,
    ]


def test_without_a_reading_a_cure_says_so() -> None:
    book = opened(Stage("Coat", ("roof",), COAT.steps, cure=COAT.cure))
    lay(book, 1000, "roof")
    assert texts(book, 1100) == [
        "Coat: leave alone until Tue 22 Sep 2026 14:30, no reading: as if cold"
    ]


def test_a_plan_that_names_no_place_still_says_where() -> None:
    book = opened(stage_with("panel"))
    lay(book, 100, "roof")
    assert look_text(book.job(), one(book), us(1320)) == "look again: roof, laid 20 min ago"


@pytest.mark.parametrize(
    ("first_s", "last_s", "said"),
    [
        (0, 0, "24 min"),
        (-360, 0, "24-30 min"),
        (0, 59, "24 min"),
        (-7200 + 1440, 0, "24 min to 2 h"),
        (-36000, -36000, "10 h 24 min"),
    ],
)
def test_how_long_ago(first_s: float, last_s: float, said: str) -> None:
    assert age_text(us(first_s), us(last_s), us(1440 + 59)) == said


@pytest.mark.parametrize(
    ("laid", "zone", "now", "said"),
    [
        ("2026-09-21 23:30", "UTC", "2026-09-21 23:31", "from 23:50 to Tue 22 Sep 00:10"),
        ("2026-09-21 23:30", "UTC", "2026-09-22 00:01", "laid 31 min ago, until 00:10"),
        # At 02:00 the clocks of New York go back to 01:00.
        ("2026-11-01 00:50", "America/New_York", "2026-11-01 00:55",
         "from 01:10 EDT (UTC-04:00) to 01:30 EDT (UTC-04:00)"),
        ("2026-10-25 00:45", "Europe/Lisbon", "2026-10-25 00:46",
         "from 01:05 WEST (UTC+01:00) to 01:25 WEST (UTC+01:00)"),
        # At 01:00 the clocks of Lisbon go forward to 02:00.
        ("2026-03-29 00:45", "Europe/Lisbon", "2026-03-29 00:46", "from 02:05 to 02:25"),
    ],
    ids=["before midnight", "after midnight", "back", "back in Lisbon", "forward"],
)  # fmt: skip
def test_times_over_midnight_and_a_change_of_the_clocks(
    laid: str, zone: str, now: str, said: str
) -> None:
    at_s = (instant(laid, zone) - T0_US) / 1e6
    now_s = (instant(now, zone) - T0_US) / 1e6
    book = opened(zone=zone, start_s=at_s - 100)
    lay(book, at_s, "roof")
    assert said in texts(book, now_s)[0]


# What Run says of it.


def test_a_due_look_is_a_notice_and_rings_once() -> None:
    book = opened()
    lay(book, 100, LEFT)
    lay(book, 200, RIGHT)
    lay(book, 300, "boot")

    def rung(at_s: float) -> set[tuple[str, str]]:
        found = states(book.jobs(), None, us(at_s))
        return {(key, field) for key, field in found if key.startswith("check/")}

    assert {field for _key, field in rung(1000)} == {"wait"}
    assert look_sentences(book.jobs(), us(1399)) == ()
    ready = rung(1400)
    assert [key.split("/")[3] for key, field in sorted(ready) if field == "ready"] == [LEFT, RIGHT]
    # Late is no news, and neither is what is left when one section is answered.
    book.do(1450, looks.find_fine, JOB, "Coat", (LEFT,))
    for at_s in (1450, 1499, 2700, 9000):
        assert {one for one in rung(at_s) if RIGHT in one[0]} <= ready, at_s
    assert look_sentences(book.jobs(), us(1460)) == (
        "Look again (Z): light over bonnet right, laid 21 min ago.",
    )
    assert look_sentences(book.jobs(), us(2600)) == (
        "Look again (Z): light over boot, laid 38 min ago.",
    )
    assert look_sentences(book.jobs(), us(2600), late=True) == (
        "Look again (Z): light over bonnet right, laid 40 min ago, late.",
    )
    assert look_sentences(book.jobs(), us(2700), late=True)[0].endswith(
        " 41 min ago, late; 1 more."
    )
    book.press(2590, ev.ReadingTaken(rain_at_us=us(9000)))
    seen = glance(book.jobs(), book.shift(), us(2600), None, 2)
    assert [said[:23] for said in seen.notices] == [
        "Look again (Z): light o",
        "Look again (Z): light o",
        "2 questions about today",
    ]
    assert look_states(book.jobs(), us(2600)) == states(book.jobs(), None, us(2600))
