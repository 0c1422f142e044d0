"""Papers as plain text: never wider than the page, inert, and true to the minute."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.cells import cell_len

from cartclock.engine.dates import instant, up_to_minute
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.sealed import Sealed
from cartclock.engine.facts.turn import Turn
from cartclock.engine.letters import cells
from cartclock.engine.paper.chapters.time_sheet import use_of
from cartclock.engine.paper.page.columns import LEAST_WIDTH, WIDTH
from cartclock.engine.paper.said import (
    apportioned,
    between,
    exact_text,
    hour,
    places,
)
from cartclock.engine.plan.plan import Aftercare, Cure, Gap, Plan, Product, Stage, Use, Wait, Work
from cartclock.engine.record.day import day
from cartclock.engine.record.record import Proof, record
from cartclock.engine.rules import changes, rules
from tests.kit.book import JOB, T0_US, Book, us
from tests.kit.setting import day_text, record_text

STEERING = re.compile(
    "[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028\u2029\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff]"
)
HARD = (
    "引擎盖左側のボンネット塗装面および屋根全体そして後部ドア左側面全体そして前部フェンダー",
    "x" * 200,
    "bonnet \x1b[31mred\x1b[0m \x1b]0;title\x07 \x9b2J left",
    "e\u0301\u0302\u0303" * 60,
    "👨‍👩‍👧‍👦" * 30,
    "🏴\u200d☠️ ❤️‍🔥 1️⃣ ☎️" * 12,
    "line one\nline two\r\nline three\x85four\u2028five\tsix",
    "\u202egnp.exe\u2066 turned \ufeff\u200f",
    "Ｆｕｌｌ　ｗｉｄｔｈ" * 12,
    "a  b   c" * 30,
    "กำลังขัดเงา" * 20,
    "[/x] [bold] {0} %s \\n",
)
TEXTS = st.one_of(
    st.sampled_from(HARD),
    st.text(
        st.one_of(
            st.characters(),
            st.sampled_from("\x1b\u200d\ufe0f\u0301漢👩🏽ﷺ \n"),
        ),
        min_size=1,
        max_size=120,
    ),
)


def driven(words: list[str], zone: str = "Europe/Berlin") -> Book:
    """A job in which these words stand wherever a person or a plan can put some."""
    word = iter(words * 40)

    def name(suffix: str) -> str:
        return f"{next(word)}{suffix}"

    coat, wash = name("coat"), name("wash")
    sections = (name("1"), name("2"))
    coating = Stage(
        coat,
        sections,
        (Work(name("apply"), 1.0, (Use("p", 10),)), Wait("flash", 60, 90, 300), Work("level", 1.0)),
        layers=2,
        gap=Gap(60, 7200, 86400, True),
        cure=Cure(43200, 15.0, 86400),
    )
    washing = Stage(wash, (name("3"), name("4")), (Work(name("rinse"), 5.0),))
    cares = (
        Aftercare(name("dry"), name("pack"), until="PT48H", after=coat, if_not=name("towel")),
        Aftercare(name("visit"), "example", every="P6M", times=3, visit=True),
    )
    plan = Plan(name("plan"), (coating, washing), (Product("p", name("p"), mix="10:1"),), (), cares)
    book = Book()
    sealed = Sealed("r", "00")
    book.press(
        0,
        ev.JobOpened(plan, "", 1, name("car"), zone, sealed, sealed, sealed, us(90_000), "640.00"),
    )
    book.press(0, ev.ClockedOn(name("place"), zone=zone))
    book.press(5, ev.ReadingTaken(31, 40, 34, 36, 28, "sun", "windy", us(9000)))
    at_s = 10.0
    for _ in range(9):
        move = book.moves(at_s)[0]
        book.do(at_s, rules.take_up, move, {"layer_early": name("early")})
        at_s += 70
    # Its film is left half done, which is asked about.
    book.do(at_s, rules.take_break, "meal", over={"film_left": name("left")})
    book.do(at_s + 1500, rules.start_other, "phone", JOB)
    book.do(at_s + 1600, rules.start_other, "driving")
    at_s += 3000
    book.press(at_s, ev.NoteWritten(sealed, coat, sections[0]))
    book.press(at_s, ev.DamageNoted(name("panel"), "dent", sealed))
    book.press(at_s, ev.PaintRead(name("panel"), "before", 90, 120.5))
    book.press(at_s, ev.PaintRead(name("panel"), "after", 95.3, 95.3, (95.3,)))
    book.press(at_s, ev.GlossRead(name("panel"), "before", 1.5))
    book.press(at_s, ev.OdometerRead(84210), ev.OdometerRead(84200, "km"))
    book.press(at_s, ev.TrialJudged(name("stage"), name("spot"), name("pad"), True))
    book.press(at_s, ev.AgreementNoted(sealed, "40.00"), ev.AgreementNoted(sealed, "-5"))
    book.press(at_s, ev.UseCorrected("p", -3.25, name("spilt")))
    book.press(at_s, ev.WaterTouched(wash, washing.sections))
    book.do(at_s, changes.skip, JOB, wash, washing.sections[:1], name("why"))
    book.press(at_s, ev.GapFound(us(at_s - 900), us(at_s - 300)), by="machine")
    book.press(at_s, ev.GapJudged(us(at_s - 900), us(at_s - 600), "rest"))
    book.press(at_s + 1, ev.PressStruck(book.rows[-1].press.seq, name("wrong")))
    return book


def papers(
    book: Book, note: str, at_s: float, round_minutes: int = 15, width: int = WIDTH
) -> tuple[str, str]:
    """The record and the day as text."""
    shift = book.shift()
    found = record(
        book.job(),
        {shift.id: shift},
        book.jobs(),
        us(at_s),
        rows=book.rows,
        text=lambda ref: note,
        proof=Proof(len(book.rows), "0f" * 32),
    )
    date = day("2026-09-21", "Europe/Berlin", {shift.id: shift}, book.jobs(), us(at_s))
    told = record_text(found, round_minutes, width=width)
    return told, day_text(date, round_minutes, width)


def keeps_to_the_page(text: str, width: int = WIDTH) -> None:
    assert text.endswith("\n")
    assert not text.endswith("\n\n")
    for line in text.splitlines():
        assert cells(line) <= width, line
        assert cell_len(line) <= width, line
        assert not line.endswith(" ")
    assert STEERING.search(text.replace("\n", "")) is None


@pytest.mark.parametrize("word", HARD, ids=range(len(HARD)))
def test_no_line_is_wider_than_the_page_and_nothing_steers(word: str) -> None:
    book = driven([word])
    for width in (LEAST_WIDTH, 61, WIDTH):
        for text in papers(book, word, 6000, width=width):
            keeps_to_the_page(text, width)


@settings(max_examples=15)
@given(st.lists(TEXTS, min_size=1, max_size=6), st.integers(LEAST_WIDTH, WIDTH))
def test_nothing_a_person_can_type_breaks_the_page(words: list[str], width: int) -> None:
    for text in papers(driven(words), words[0], 6000, width=width):
        keeps_to_the_page(text, width)


@given(st.lists(st.integers(0, 10**11), min_size=1, max_size=20), st.sampled_from([60, 10**6]))
def test_apportioned_parts_add_up_to_the_whole_and_are_less_than_a_unit_off(
    parts: list[int], unit: int
) -> None:
    for whole in {sum(parts) // unit, -(-sum(parts) // unit)}:
        told = apportioned(parts, whole, unit)
        assert sum(told) == whole
        assert all(abs(t * unit - part) < unit for t, part in zip(told, parts, strict=True))


def table(text: str, head: str, end: str) -> dict[str, list[int]]:
    """The minutes of every line of a table of hours by its label."""
    part = text[text.index(head) : text.index(end, text.index(head))]
    found = re.findall(r"^  (\S.*?) {2,}((?:\d+:\d\d *)+)$", part, re.M)
    return {
        label: [int(h) * 60 + int(m) for h, m in re.findall(r"(\d+):(\d\d)", figures)]
        for label, figures in found
    }


def test_the_hours_on_paper_are_rounded_from_exact_sums() -> None:
    book = driven(["x"])
    shift = book.shift()
    made = record(book.job(), {shift.id: shift}, book.jobs(), us(6000), rows=book.rows)
    text = record_text(made)
    assert "Every figure is rounded by itself to the nearest minute" in text
    uses = table(text, "HOURS", "hands on, by stage")
    assert uses.pop("On the clock") == [100]
    exact: dict[str, int] = {}
    for share in made.shares:
        label = use_of(share, made.job)
        exact[label] = exact.get(label, 0) + share.length_us
    assert sum(exact.values()) == 6000 * 1_000_000
    assert uses == {label: [(us_ + 30_000_000) // 60_000_000] for label, us_ in exact.items()}
    # The parts of a line by stage come to the line, to a minute each.
    stages = table(text, "hands on, by stage", "standing by")
    assert abs(sum(m for (m,) in stages.values()) - uses["Hands on"][0]) <= len(stages)


@pytest.mark.parametrize(
    ("each_s", "part", "total"),
    [(29.4, "0:00", "0:01"), (30, "0:01", "0:01"), (89.6, "0:01", "0:03")],
)
def test_a_total_and_its_parts_are_each_rounded_to_the_nearest(
    each_s: float, part: str, total: str
) -> None:
    stages = tuple(Stage(name, (name,), (Work("do", 1.0),)) for name in ("Cut", "Finish"))
    book = Book()
    book.press(0, ev.JobOpened(Plan("two", stages), "", 1, "car", "UTC"))
    book.press(0, ev.ClockedOn())
    for index, stage in enumerate(stages):
        book.press(index * each_s, ev.WorkStarted(stage.name, (stage.name,), Turn()))
        book.press((index + 1) * each_s, ev.StepFinished(stage.name, (stage.name,), Turn()))
    book.press(2 * each_s, ev.ClockedOff())
    said = [" ".join(line.split()) for line in papers(book, "", 900)[0].splitlines()]
    assert f"Hands on {total}" in said
    for name in ("Cut", "Finish"):
        assert f"{name} {part}" in said


def test_an_end_is_told_up_to_the_next_minute_and_never_before() -> None:
    assert up_to_minute(60_000_001) == 120_000_000
    assert up_to_minute(60_000_000) == 60_000_000
    plan = Plan(
        "Coat only",
        (Stage("Coat", ("roof",), (Work("apply", 1.0),), cure=Cure(43200)),),
        aftercare=(Aftercare("Dry.", "label of the pack", until="PT1H", after="Coat"),),
    )
    short = Book()
    short.press(0, ev.JobOpened(plan, "", 1, "car", "UTC"))
    short.press(0, ev.ClockedOn())
    short.do(10, rules.take_up, short.moves(10)[0])
    short.do(50, rules.take_up, short.moves(50)[-1])
    text, _day = papers(short, "", 60)
    # The last touch is Mon 21 Sep 2026 14:14:10 UTC.
    assert "  not before Mon 21 Sep 2026 15:15 " in text and "Until then: Dry." in text
    assert "  not before Tue 22 Sep 2026 02:15 " in text


def test_the_paper_says_what_is_an_example_what_is_not_dated_and_that_local_law_comes_first() -> (
    None
):
    text, date = papers(driven(["x"]), "note", 6000)
    flat = " ".join(text.split())
    assert "example, replace from the pack" in flat
    assert "no date: dated when the job is closed" in flat
    assert "Breaks are judged by 29 CFR 785." in flat
    for paper in (flat, " ".join(date.split())):
        assert "The law of the place and your own contract come first" in paper
        assert re.search("\\b(safe|compliant)\\b", paper, re.IGNORECASE) is None
    assert "note xcoat, x1: note (private)" in flat


def test_clock_times_are_rounded_only_if_asked_and_only_when_the_shift_is_over() -> None:
    book = Book()
    plan = driven(["x"]).rows[0].event.plan
    # 14:13:20 UTC is 16:13:20 in Berlin; 16:15 to 18:15 in quarters.
    book.press(0, ev.JobOpened(plan, "", 1, "car", "Europe/Berlin"))
    book.press(0, ev.ClockedOn())
    book.do(10, rules.take_up, book.moves(10)[0])
    book.do(600, rules.take_break, "meal", finish=True)
    assert "785.48" not in papers(book, "", 700, 15)[0]
    # The meal, 16:23:20 to 16:58:20, is 16:30 to 17:00 in quarters.
    book.do(2700, rules.take_up, book.moves(2700)[-1])
    # A short rest counts and takes nothing off.
    book.do(3600, rules.take_break, "rest")
    book.do(4500, rules.take_up, book.moves(4500)[-1])
    book.do(7000, rules.clock_off, {"window_open": "dry"})
    flat = " ".join(papers(book, "", 8000, 15)[0].split())
    assert (
        "Clock times rounded to 15 min (29 CFR 785.48(b)): 16:15 to 18:15, 2 h; "
        "without the breaks that do not count, rounded alike, 1 h 30 min." in flat
    )
    assert "785.48" not in papers(book, "", 8000, 0)[0]


def test_a_date_stands_where_it_changes_and_a_repeated_hour_says_which() -> None:
    zone = "America/New_York"
    first = instant("2026-11-01 01:30", zone)
    assert hour(first, zone) == "01:30 EDT"
    assert hour(first + 3_600_000_000, zone, seconds=True) == "01:30:00 EST"
    assert between(first, first + 2 * 3_600_000_000, zone).endswith(" to 02:30")
    assert between(T0_US, us(10 * 3600), "UTC") == "Mon 21 Sep 2026 14:13 to Tue 22 Sep 2026 00:13"
    assert exact_text(45_296) == "12:34:56"


SIX = ("bonnet", "roof", "boot lid", "left", "right", "bumper")


@pytest.mark.parametrize(
    ("names", "everything", "said"),
    [
        (SIX, SIX, "all of it"),
        (SIX[1:], SIX, "all but bonnet"),
        (SIX[:2], SIX, "bonnet, roof"),
        # Not nearly all of it.
        (SIX[:3], SIX, "bonnet, roof, boot lid"),
        (("roof", "left"), ("roof", "left"), "roof, left"),
    ],
)
def test_nearly_all_of_it_is_said_so(
    names: tuple[str, ...], everything: tuple[str, ...], said: str
) -> None:
    assert places(names, everything) == said
