"""The one table of sections on paper: what rows share is said once, and nothing is lost."""

from __future__ import annotations

import re

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import believed_rows
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.letters import cells
from cartclock.engine.paper.chapters.sections import put_sections
from cartclock.engine.paper.chapters.ten_lines import outcomes_text
from cartclock.engine.paper.chapters.window_strips import windows_text
from cartclock.engine.paper.page.text.medium import WIDTH, Text
from cartclock.engine.plan.plan import Gap, Stage, Work
from cartclock.engine.products.stock import pack_log
from cartclock.engine.record.record import Record, record
from cartclock.engine.rules import rules
from tests.kit.book import JOB, Book, opened, us
from tests.kit.plans import WIPE
from tests.record.test_coated import FINE, MARKS, ONE, book_of, lay

SECTIONS = ("bonnet left", "bonnet right", "the whole of the very long roof of the estate")
COAT = Stage("Coat", SECTIONS, (Work("apply", 1.0),), kind="coat")
DAMP = ev.ReadingTaken(air_c=16.0, rh=71.0, panel_c=13.0)
TWO = replace(ONE, sections=("roof", "bonnet"))


def recorded(book: Book, at_s: float = 9000) -> Record:
    assert book.odd() == []
    shifts = {name: book.shift(name) for name in {row.shift for row in book.rows} - {""}}
    packs = pack_log(believed_rows(book.rows))
    return record(book.job(), shifts, book.jobs(), us(at_s), rows=book.rows, lots=packs.lot_at)


def chapter(book: Book, at_s: float = 9000) -> list[str]:
    page = Text()
    put_sections(page, recorded(book, at_s))
    lines = str(page).splitlines()
    assert all(cells(line) <= WIDTH for line in lines)
    return lines


def flat(lines: list[str]) -> str:
    return " ".join(" ".join(lines).split())


def test_a_layer_says_once_what_its_rows_share() -> None:
    book = book_of(TWO)
    book.press(1, ev.PackOpened("coat", 600, "drops", lot="A1"))
    book.press(5, FINE)
    lay(book, 10, "roof")
    lay(book, 300, "bonnet")
    lines = chapter(book)
    head = lines.index("Coat: Mon 21 Sep; Coating, lot A1; flash, to be off by 3:20")
    assert lines[head + 1 : head + 4] == [
        "- read Mon 21 Sep 14:13: air 22.5 C, humidity 50 %, panel 22 C, +7.4 C over dew",
        "  point + 3 C",
        "  roof                                 14:13-14:13    14:16    1:00-4:40    2:00",
    ]
    assert re.fullmatch(r"  bonnet +14:18-14:18 +14:21 +1:00-4:40 +2:00", lines[head + 4])
    assert flat(lines).count("lot A1") == flat(lines).count("humidity 50 %") == 1


def test_a_lot_and_a_reading_stand_again_where_they_change() -> None:
    book = book_of(TWO)
    book.press(1, ev.PackOpened("coat", 600, "drops", lot="A1"))
    book.press(5, FINE)
    lay(book, 10, "roof")
    book.press(250, ev.PackOpened("coat", 600, "drops", lot="B2"))
    book.press(260, replace(FINE, rh=45.0))
    lay(book, 300, "bonnet")
    said = flat(chapter(book))
    order = ["Coating, lot A1", "humidity 50 %", " roof ", "humidity 45 %", "lot B2", " bonnet "]
    places = [said.index(words) for words in order]
    assert places == sorted(places)


def test_early_late_and_seen_are_remarks_of_their_row() -> None:
    book = book_of(replace(ONE, sections=("roof", "bonnet")))
    for at_s, name, taken_s in ((10, "roof", 60), (1000, "bonnet", 400)):
        book.press(at_s, ev.WorkStarted("Coat", (name,), Turn()))
        book.press(at_s + 20, ev.StepFinished("Coat", (name,), Turn(), MARKS))
        book.press(at_s + 40, ev.WindowSeen("Coat", (name,), Turn(1, 1, 2)))
        book.press(at_s + taken_s, ev.WorkStarted("Coat", (name,), Turn(1, 1, 2)))
        book.press(at_s + taken_s + 9, ev.StepFinished("Coat", (name,), Turn(1, 1, 2)))
    said = flat(chapter(book))
    assert "only apply, level; early by 0:20; seen 0:20" in said
    assert "only apply, level; late by 1:40; seen 0:20" in said
    # Without a reading there is no verdict, and it was not asked about.
    assert said.count("No reading of panel, air and humidity: no verdict") == 1
    assert said.count("nothing was asked: a window ran, or it was entered later") == 1


def laid(
    book: Book, at_s: float, name: str, long_s: float, taken_s: float, marks: Marks = MARKS
) -> None:
    """Lays from that second on for `long_s`, and levels `taken_s` after the last touch."""
    last_s = at_s + long_s
    book.press(at_s, ev.WorkStarted("Coat", (name,), Turn()))
    book.press(last_s, ev.StepFinished("Coat", (name,), Turn(), marks))
    for step, begin_s, end_s in ((2, taken_s, taken_s + 9), (3, taken_s + 9, taken_s + 18)):
        book.press(last_s + begin_s, ev.WorkStarted("Coat", (name,), Turn(1, 1, step)))
        book.press(last_s + end_s, ev.StepFinished("Coat", (name,), Turn(1, 1, step)))


def test_the_figures_of_a_row_agree_to_the_second() -> None:
    book = book_of(TWO)
    book.press(5, FINE)
    # Closes 279.3 s after the last touch, taken 295.1 s after it: late by 15.8 s.
    laid(book, 10.3, "roof", 20.7, 295.1)
    laid(book, 1000.9, "bonnet", 20.6, 200.9)
    said = flat(chapter(book))
    assert re.search(r"1:00-4:39 4:55 remarks: late by 0:16", said)
    # The nearest to its close is told of the same seconds: 4:39 less 3:21.
    assert re.search(r"1:00-4:39 3:21", said)
    record_ = recorded(book)
    words = windows_text(record_.windows, {})
    assert "latest by 0:16" in words and "nearest to the close 1:18" in words
    assert "latest by 0:16; nearest to the close 1:18" in outcomes_text(record_.windows)


def test_a_film_that_closed_before_it_opened_is_told_in_words_and_no_time_is_under_0() -> None:
    book = book_of(TWO)
    book.press(5, FINE)
    # The roof closes 50 s after its last touch and opens at 60; the bonnet closed 100 s before it.
    laid(book, 10, "roof", 250, 70)
    laid(book, 1000, "bonnet", 400, 1)
    said = flat(chapter(book))
    assert (
        "from 1:00 1:10 remarks: its first part had closed 0:10 before its last one opened; "
        "late by 0:20" in said
    )
    assert (
        "from 1:00 0:01 remarks: its first part had closed 2:40 before its last one opened; "
        "late by 1:41" in said
    )
    assert not re.search(r"1:00-|-\d:\d\d ", said)


def test_by_when_a_film_was_to_be_off_is_said_once_and_only_what_differs_again() -> None:
    book = book_of(replace(ONE, sections=("roof", "bonnet", "boot lid", "sill")))
    book.press(5, FINE)
    laid(book, 10, "roof", 20, 150)
    laid(book, 600, "bonnet", 20, 201)
    laid(book, 1200, "boot lid", 20, 310)
    laid(book, 2400, "sill", 20, 100, Marks(60, 100, 300, 120))
    said = flat(chapter(book))
    assert "flash, to be off by 3:20 where nothing else is said, 2 of 4 taken later" in said
    assert said.count("to be off by 3:20") == 1
    assert re.search(r"sill \S+ \S+ 1:00-4:40 1:40 remarks: to be off by 2:00", said)
    assert "One that is taken later, and before it closes, is still in the window." in said
    assert "3 of 4 in the window" in windows_text(recorded(book).windows, {})


def test_without_a_label_nothing_is_said_of_being_off() -> None:
    book = book_of(ONE)
    laid(book, 10, "roof", 20, 100, Marks(60, 100, 300))
    assert "off by" not in flat(chapter(book))


def test_a_gap_is_told_to_the_minute_and_its_figures_agree() -> None:
    two = replace(COAT, sections=SECTIONS[:1], layers=2, gap=Gap(3600, 7200, 86400))
    book = opened(two)
    for at_s, turn in ((100, Turn()), (3000.5, Turn(1, 2))):
        book.press(at_s, ev.WorkStarted("Coat", SECTIONS[:1], turn))
        gap = Marks(3600, 7200, 86400) if turn.layer == 1 else None
        book.press(at_s + 60, ev.StepFinished("Coat", SECTIONS[:1], turn, gap))
    said = flat(chapter(book))
    taken, early = re.search(r"taken 0:(\d\d) h", said), re.search(r"gap early by 0:(\d\d)", said)
    assert taken and early and int(taken[1]) + int(early[1]) == 60


def test_what_was_overruled_at_the_gate_stands_with_its_reading() -> None:
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
    said = flat(chapter(book))
    for words in (
        "- No reading of panel, air and humidity: no verdict - coated all the same: the meter is "
        "at home bonnet left",
        "humidity 71 %, panel 13 C, -0.8 C over dew point + 3 C - coated all the same: only a test "
        "spot bonnet right",
        "panel 22 C, +7.4 C over dew point + 3 C the whole of the very long roof of",
    ):
        assert words in said, words


def test_what_only_warned_is_said_once_and_where_it_ends_is_seen() -> None:
    book = opened(replace(COAT, condition=None))
    book.press(5, replace(DAMP, place="sun"))
    for at_s, name in ((10, SECTIONS[0]), (20, SECTIONS[1])):
        book.press(at_s, ev.WorkStarted("Coat", (name,), Turn()))
        book.press(at_s + 5, ev.StepFinished("Coat", (name,), Turn()))
    said = flat(chapter(book))
    assert said.count("only warned: direct sun on the panel: it heats while you work") == 1
    assert said.count("nothing was asked: a window ran, or it was entered later") == 1


def test_layers_passes_and_gaps_are_named() -> None:
    two = replace(COAT, sections=SECTIONS[:1], layers=2)
    book = opened(two)
    book.press(5, FINE)
    for at_s, layer, pass_ in ((10, 1, 1), (20, 2, 1), (40, 2, 2)):
        if pass_ > 1:
            book.press(
                at_s, ev.SectionReopened("Coat", SECTIONS[:1], Turn(pass_, layer, 0), "lint")
            )
        turn = Turn(pass_, layer, 0)
        book.press(at_s, ev.WorkStarted("Coat", SECTIONS[:1], turn))
        book.press(at_s + 5, ev.StepFinished("Coat", SECTIONS[:1], turn))
    said = flat(chapter(book))
    assert said.count("Coat, layer 1 of 2: ") == said.count("Coat, layer 2 of 2: ") == 1
    assert said.count("remarks: pass 2") == 1
    assert "to be done again, 14:14: lint" in said


def test_a_layer_opened_again_for_what_was_found_tells_the_gap_that_was_waited() -> None:
    two = replace(COAT, sections=SECTIONS[:1], layers=2, gap=Gap(3600, 7200, 86400))
    book = opened(two)
    for at_s, turn in ((100, Turn()), (400, Turn(2)), (4660, Turn(2, 2))):
        if at_s == 400:
            book.press(390, ev.SectionReopened("Coat", SECTIONS[:1], turn, "high spot"))
        book.press(at_s, ev.WorkStarted("Coat", SECTIONS[:1], turn))
        gap = Marks(3600, 7200, 86400) if turn.layer == 1 else None
        book.press(at_s + 60, ev.StepFinished("Coat", SECTIONS[:1], turn, gap))
    said = flat(chapter(book))
    # From the last touch of the second pass, at 460 s, to 4660 s.
    assert "gap asked 1:00 to 24:00 h, taken 1:10 h" in said
    assert "left out" not in said


def test_what_ends_on_another_day_says_which() -> None:
    book = book_of(ONE)
    book.press(10, ev.WorkStarted("Coat", ("roof",), Turn()))
    book.press(20, ev.StepFinished("Coat", ("roof",), Turn(), MARKS))
    book.press(12 * 3600, ev.WorkStarted("Coat", ("roof",), Turn(1, 1, 2)))
    book.press(12 * 3600 + 9, ev.StepFinished("Coat", ("roof",), Turn(1, 1, 2)))
    assert re.search(r"roof +14:13-14:13 +02:13 ", "\n".join(chapter(book, 90_000)))
    assert "Tue" in "\n".join(chapter(book, 90_000))


def test_sections_worked_together_are_one_line_and_panels_stand_side_by_side() -> None:
    names = ("door", "wing", "roof")
    cut, finish = (Stage(name, names, (Work("do", 1.0),)) for name in ("Cut", "Finish"))
    wash = Stage("Wash", names, (Work("wash", 1.0),))
    book = book_of(wash, cut, finish)
    book.press(0, ev.WorkStarted("Wash", names, Turn()))
    book.press(60, ev.StepFinished("Wash", names, Turn()))
    for number, stage in enumerate(("Cut", "Finish")):
        for index, name in enumerate(names):
            at_s = 600 * (number + 1) + 120 * index
            book.press(at_s, ev.WorkStarted(stage, (name,), Turn()))
            book.press(at_s + 120, ev.StepFinished(stage, (name,), Turn()))
    book.press(2000, ev.SectionReopened("Finish", ("roof",), Turn(2), "haze"))
    lines = chapter(book)
    assert "Wash: Mon 21 Sep 14:13-14:14, door, wing, roof" in lines
    assert "Panel by panel: Cut Mon 21 Sep; Finish Mon 21 Sep" in lines
    assert re.search(r"\n  door +14:23-14:25 +14:33-14:35\n", "\n".join(lines))
    said = flat(lines)
    assert "- Finish, roof: to be done again, Mon 21 Sep 14:46: haze" in said
    assert "- Finish, Not done: roof" in said
    assert "All by me." in said


def test_two_workers_are_named_where_they_differ() -> None:
    book = book_of(TWO)
    book.press(1, ev.ClockedOn("carport"), worker="Mina")
    lay(book, 10, "roof")
    turn = Turn()
    book.press(300, ev.WorkStarted("Coat", ("bonnet",), turn), worker="Mina")
    book.press(320, ev.StepFinished("Coat", ("bonnet",), turn, MARKS), worker="Mina")
    for step, at_s in ((2, 440), (3, 480)):
        at = Turn(1, 1, step)
        book.press(at_s, ev.WorkStarted("Coat", ("bonnet",), at), worker="Mina")
        book.press(at_s + 30, ev.StepFinished("Coat", ("bonnet",), at), worker="Mina")
    said = flat(chapter(book))
    assert "All by" not in said
    assert "by: me" in said and "by: Mina" in said


def test_looks_that_found_all_fine_are_one_sentence() -> None:
    book = book_of(TWO)
    lay(book, 10, "roof")
    lay(book, 300, "bonnet")
    book.press(900, ev.SectionChecked("Coat", ("roof",), "fine", ""))
    book.press(960, ev.SectionChecked("Coat", ("bonnet",), "fine", ""))
    assert "- looked at, fine: Mon 21 Sep 14:28 roof; 14:29 bonnet" in chapter(book)


def test_a_long_name_in_wide_letters_stays_on_the_page() -> None:
    name = "引擎盖左側のボンネット塗装面" * 4
    book = book_of(replace(ONE, sections=(name,)))
    lay(book, 10, name)
    assert sum(line.count("引擎盖") for line in chapter(book)) == 4


def test_a_wash_has_no_gate_and_no_film() -> None:
    said = flat(chapter(opened(WIPE)))
    assert "over dew point" not in said and "lot" not in said
    assert "Not done" in said


def test_who_did_most_of_it_is_named_once_and_only_others_again() -> None:
    book = book_of(replace(ONE, sections=SECTIONS))
    book.press(1, ev.ClockedOn("carport"), worker="Mina")
    lay(book, 10, SECTIONS[0])
    lay(book, 300, SECTIONS[1])
    book.press(600, ev.WorkStarted("Coat", SECTIONS[2:], Turn()), worker="Mina")
    book.press(620, ev.StepFinished("Coat", SECTIONS[2:], Turn(), MARKS), worker="Mina")
    book.press(640, ev.SectionChecked("Coat", SECTIONS[:1], "fine", ""))
    book.press(650, ev.SectionChecked("Coat", SECTIONS[1:2], "fine", ""), worker="Mina")
    said = flat(chapter(book, 700))
    assert "By me where nobody else is named." in said
    assert "by me" not in said and said.count("by: Mina") == 1
    assert "looked at, fine: Mon 21 Sep 14:24 bonnet left; 14:24 by Mina bonnet right" in said


def test_what_is_still_in_hand_is_nobody_elses() -> None:
    book = book_of(TWO)
    lay(book, 10, "roof")
    book.press(300, ev.WorkStarted("Coat", ("bonnet",), Turn()))
    said = flat(chapter(book, 310))
    assert "All by me." in said and "by:" not in said and "nobody" not in said
