"""The heat, vibration and noise of shifts on the page."""

from __future__ import annotations

import re

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.shift_events import CallGrade
from cartclock.engine.letters import cells
from cartclock.engine.paper.chapters.exposure import put_exposures
from cartclock.engine.paper.page.text.medium import WIDTH, Text
from cartclock.engine.plan.plan import Plan, Stage, Tool, Vibration, Work
from cartclock.engine.record.day import day
from cartclock.engine.record.exposure import RECORD_CAUTION, exposure_record
from cartclock.engine.record.record import record
from cartclock.engine.rules import rules
from tests.kit.book import Book, us
from tests.kit.setting import day_text, record_text

ZONE = "Europe/Berlin"
POLISHER = Tool("polisher", "long throw polisher", Vibration(4.5, 1.5, 0.5), 91.0)
BARE = Tool("brush", "wheel brush")


def begun(on: ev.ClockedOn, *tools: Tool) -> Book:
    """A book with one job of one polishing stage, the worker clocked on at second 0."""
    tool = tools[0].id if tools else ""
    stages = tuple(
        Stage(name, ("door", "wing"), (Work("cut", 20.0, tool=tool),))
        for name, tool in (("Polish", tool), ("Wheels", tools[-1].id if tools else ""))
    )
    book = Book()
    book.press(0, ev.JobOpened(Plan("Polish", stages, tools=tools), "", 1, "grey van", ZONE))
    book.press(0, on)
    return book


def take(book: Book, at_s: float, stage: str = "Polish") -> None:
    """The worker takes up the first section of a stage."""
    book.do(at_s, rules.take_up, next(m for m in book.moves(at_s) if m.stage == stage))


def hot_day(
    word: str = "finish this door", signs: tuple[str, ...] = ("headache", "dizziness")
) -> Book:
    """Readings by estimate and by meter, rests called, drinks, signs, a polisher, 3 h 20 min."""
    book = begun(ev.ClockedOn(f"carport {word}", acclimatization="acclimatized",
                              because=f"9 hot days by the log {word}"), POLISHER)  # fmt: skip
    book.press(600, ev.ReadingTaken(35, 40))
    take(book, 900)
    book.press(1500, ev.DrinkTaken(240))
    book.press(3000, ev.ReadingTaken(wbgt_c=30.0))
    book.press(3600, ev.RestCalled("NIOSH limit", 900), by="machine")
    book.press(3700, ev.RestOverruled(word))
    book.press(4500, ev.RestCalled("NIOSH limit", 900), by="machine")
    book.do(4800, rules.take_break, "heat", 1200, finish=True)
    take(book, 6000)
    book.press(6400, ev.FeltUnwell(signs))
    book.press(7200, ev.RestCalled("the plan's own rhythm", 600), by="machine")
    book.press(7200, ev.DrinkTaken(1300))
    book.press(8000, ev.DrinkTaken(200))
    book.press(11_000, ev.ReadingTaken(40, 70))
    book.press(11_100, ev.HotDaysSaid(9))
    book.do(12_000, rules.clock_off)
    return book


def chapter(book: Book, at_s: float = 12_000) -> str:
    """The chapter of the book's first shift."""
    page = Text()
    put_exposures(page, [exposure_record(book.shift(), book.jobs(), us(at_s))], ZONE)
    return str(page)


def flat(text: str) -> str:
    """The text with every run of white space as one space."""
    return " ".join(text.split())


HOT_DAY = """\
Acclimatized, 9 hot days by the log finish this door. Judged by the exposure
limit (REL) of NIOSH 2016-106.
Mon 21 Sep    Told Mon 21 Sep 19:18: 9 of the last 14 days in the heat. Clear,
              more than 2 C under the limit, 0:25; caution, within 2 C of it,
              1:15; over, more than 2 C over it, 0:17; no verdict, no reading
              in force, 1:23. Peak hour: 16:33 to 17:33, caution: WBGT 29.0 C,
              effort 300 W, limit 28.2 C, 0.8 C over it.
              Drinks: 1740 ml, 3 times; most in an hour 1500 ml, Mon 21 Sep
              2026 17:26 to 18:26, over the 1400 ml never to be exceeded. Signs
              of illness Mon 21 Sep 18:00: headache, dizziness (private).
              Tools: long throw polisher 2:45 in hand, ran 1:23. Vibration:
              near the action value (99 points of 100), 2.5 m/s2 A(8). Noise:
              dose 69 % (NIOSH), 83.4 dB(A) over 8 h: below action; from the
              lower action value on.
Vibration: action value 2.5, limit value 5 m/s2 A(8) (2002/44/EC). Noise: lower
action value 80 dB(A).
  rest called                        rule
  Mon 21 Sep 17:13  15 min, at once  NIOSH limit
      what became of it: not taken at 17:15: finish this door
  17:28             15 min, at once  NIOSH limit
      what became of it: heat from 17:33 to 17:53, 0:20
  18:13             10 min, at once  the plan's own rhythm
      what became of it: no rest within 15 min
"""


def test_a_hot_day_on_the_page() -> None:
    text = chapter(hot_day())
    head = text.index("Acclimatized")
    assert text[head : text.index("\nThese figures")] == HOT_DAY
    assert flat(text[:head]).endswith(RECORD_CAUTION)
    assert "HEAT, RESTS, VIBRATION, NOISE" in text
    rest = flat(text[text.index("These figures") :])
    assert "give or take 30 %; instruments within 1 C and 5 % humidity" in rest


def test_rests_called_with_no_reading_in_force_are_told_by_which_they_were() -> None:
    book = begun(ev.ClockedOn(), POLISHER)
    book.press(600, ev.ReadingTaken(35, 40))
    take(book, 900)
    said = "With no reading in force 1 rest was called by the last one there was."
    book.press(4199, ev.RestCalled("NIOSH limit", 900), by="machine")
    assert said not in flat(chapter(book))
    book.press(4200, ev.RestCalled("NIOSH table", 900), by="machine")
    # That no break was taken and what the plan asks for is known without a reading.
    book.press(6000, ev.RestCalled("an hour without a break", 300), by="machine")
    book.press(7000, ev.RestCalled("the plan's own rhythm", 600), by="machine")
    assert f"no verdict, no reading in force, 2:20. {said} Peak hour" in flat(chapter(book))
    book.press(8000, ev.RestCalled("15 min in 2 h at heat index 90 F", 900), by="machine")
    many = "With no reading in force 2 rests were called by the last one there was."
    assert many in flat(chapter(book))
    made = day("2026-09-21", ZONE, {"me 1": book.shift()}, book.jobs(), us(12_000))
    assert many in flat(day_text(made))


def test_every_reading_stands_in_one_table_with_what_it_says_of_coat_and_body() -> None:
    book = hot_day()
    made = record(book.job(), {"me 1": book.shift()}, book.jobs(), us(12_000), rows=book.rows)
    text = record_text(made)
    table = text[text.index("READINGS") : text.index("HEAT, RESTS")]
    assert re.search(r"Mon 21 Sep 16:23 +35 +40 +28\.1 +99 F \(37 C\), extreme", table)
    assert re.search(r"17:03 +- +- +30\.0 +none +meter", table)
    assert re.search(r"19:16 +40 +70 +36\.7 +off the table, +estimate", table)


def test_the_day_tells_its_rests_in_a_sentence() -> None:
    book = hot_day()
    made = day("2026-09-21", ZONE, {"me 1": book.shift()}, book.jobs(), us(12_000))
    assert (
        "3 rests called, 1 taken: 17:13 15 min, at once, not taken at 17:15: finish this door; "
        "17:28 15 min, at once, heat from 17:33 to 17:53, 0:20; 18:13 10 min, at once, no rest "
        "within 15 min."
    ) in flat(day_text(made))


def test_without_a_reading_one_line_says_so_and_no_verdict_stands_anywhere() -> None:
    book = begun(ev.ClockedOn())
    take(book, 60)
    lines = chapter(book).splitlines()
    assert [line for line in lines if line][2:] == [
        "Mon 21 Sep    No reading was taken: no exposure can be said."
    ]
    book.press(100, ev.ReadingTaken(panel_c=44.0))
    assert "No reading says how hot it was: no exposure can be said." in chapter(book)
    assert not re.search("clear|caution|over|Peak", chapter(book))


def test_rests_drinks_and_signs_are_told_without_a_reading_too() -> None:
    book = begun(ev.ClockedOn())
    book.press(60, ev.RestCalled("the plan's own rhythm", 600), by="machine")
    book.press(70, ev.DrinkTaken(240))
    book.press(80, ev.FeltUnwell(("cramps",)))
    text = chapter(book, 90)
    for part in ("No reading was taken", "not begun yet", "240 ml, once", "cramps (private)"):
        assert part in flat(text)


@pytest.mark.parametrize("name", ["record", "day"])
def test_the_chapter_stands_in_the_record_and_in_the_day(name: str) -> None:
    book = hot_day()
    shifts = {"me 1": book.shift()}
    made = record(book.job(), shifts, book.jobs(), us(12_000), rows=book.rows)
    if name == "record":
        text = record_text(made)
    else:
        text = day_text(day("2026-09-21", ZONE, shifts, book.jobs(), us(12_000)))
    said = chapter(book).split("  rest called")[0]
    assert said in text


def test_of_several_shifts_each_has_its_own_under_its_time_and_the_caution_stands_once() -> None:
    book = hot_day()
    book.press(90_000, ev.ClockedOn(zone=ZONE))
    take(book, 90_000)
    book.do(91_000, rules.clock_off)
    shifts = {name: book.shift(name) for name in ("me 1", "me 2")}
    made = record(book.job(), shifts, book.jobs(), us(99_000), rows=book.rows)
    text = record_text(made)
    assert flat(text).count(RECORD_CAUTION) == 1
    text = text[text.index("HEAT, RESTS") :]
    first, second = text.index("\nMon 21 Sep "), text.index("\nTue 22 Sep ")
    assert first < text.index("Peak hour") < second < text.index("No reading was taken")


def test_a_tool_without_figures_gets_none_and_makes_the_others_a_floor() -> None:
    book = begun(ev.ClockedOn(), POLISHER, BARE)
    take(book, 0, "Polish")
    book.do(2 * 3600, rules.put_down)
    take(book, 2 * 3600, "Wheels")
    text = flat(chapter(book, 3 * 3600))
    assert "Vibration: under the action value (72 points of 100), at least 2.1 m/s2 A(8)." in text
    assert "Noise: at least dose 50 % (NIOSH)" in text
    assert "wheel brush 1:00 in hand, ran 1:00." in text
    assert RECORD_CAUTION in text
    alone = begun(ev.ClockedOn(), BARE)
    take(alone, 0)
    assert "no figure, no value declared that could be used" in flat(chapter(alone, 60))
    assert "no figure, no level known that could be used" in flat(chapter(alone, 60))


def test_without_a_whole_hour_of_readings_there_is_no_peak() -> None:
    book = begun(ev.ClockedOn())
    book.press(0, ev.ReadingTaken(30, 40))
    text = flat(chapter(book, 3599))
    assert "Peak hour: none was read whole." in text
    assert "Acclimatization not answered. Judged by the alert limit (RAL)" in text


@pytest.mark.parametrize(
    ("said", "because", "told"),
    [
        ("acclimatized", "Acclimatized: 9 hot days.", "Acclimatized: 9 hot days. "),
        ("not acclimatized", "new here.", "Not acclimatized, new here. "),
        ("not acclimatized", "", "Not acclimatized. "),
    ],
    ids=["a whole sentence", "a reason", "no reason"],
)
def test_the_reason_is_told_once_and_ends_with_one_full_stop(
    said: str, because: str, told: str
) -> None:
    book = begun(ev.ClockedOn(acclimatization=said, because=because))
    book.press(0, ev.ReadingTaken(30, 40))
    assert f"{told}Judged by the " in flat(chapter(book))


def test_an_index_that_reads_low_is_a_floor_and_a_rest_can_go_on() -> None:
    book = begun(ev.ClockedOn())
    book.press(0, ev.ReadingTaken(33.33, 70))
    book.press(60, ev.RestCalled("NIOSH table", 900), by="machine")
    book.do(120, rules.take_break, "rest")
    assert "rest from 16:15, 0:10 so far" in chapter(book, 720)
    made = day("2026-09-21", ZONE, {"me 1": book.shift()}, book.jobs(), us(720))
    assert "at least 112 F (45" in flat(day_text(made))


HARD = (
    "引擎盖左側のボンネット塗装面および屋根全体そして後部ドア左側面全体そして前部フェンダー",
    "x" * 200,
    "bonnet \x1b[31mred\x1b[0m \x1b]0;title\x07 \x9b2J left",
    "\u202egnp.exe\u2066 turned \ufeff\u200f",
    "[/x] [bold] {0} %s \\n",
)


@pytest.mark.parametrize("word", HARD, ids=range(len(HARD)))
def test_no_line_is_wider_than_the_page_and_nothing_steers(word: str) -> None:
    text = chapter(hot_day(word, (word, "cramps")))
    for line in text.splitlines():
        assert cells(line) <= WIDTH
        assert not line.endswith(" ")
    assert not re.search(
        "[\x00-\x09\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]", text
    )


def test_no_verdict_that_nobody_can_give() -> None:
    assert not re.search(r"\b(safe|safely|compliant|compliance)\b", chapter(hot_day()), re.I)


def test_a_call_says_its_grade_and_what_was_done() -> None:
    said = flat(chapter(hot_day()))
    assert "15 min, at once NIOSH limit what became of it: not taken at 17:15: finish" in said
    soon = called("soon", 900)
    soon.press(130, ev.BreakTaken("heat", 900))
    soon.press(130 + 600, ev.BreakEnded())
    said = flat(chapter(soon, 2000))
    assert "15 min, soon NIOSH limit" in said
    assert ", 0:05 too short" in said
    made = day("2026-09-21", ZONE, {"me 1": soon.shift()}, soon.jobs(), us(2000))
    assert "1 rest called, 1 taken, 1 of them too short" in flat(day_text(made))
    none = flat(chapter(called("not here", 0), 2000))
    assert "no work here NIOSH limit" in none
    assert "0 min" not in none.split("rest called")[1].split("These figures")[0]


def called(grade: CallGrade, rest_s: int) -> Book:
    """A shift with one call of a rest."""
    book = begun(ev.ClockedOn())
    book.press(0, ev.ReadingTaken(36, 24))
    book.press(120, ev.RestCalled("NIOSH limit", rest_s, grade), by="machine")
    return book
