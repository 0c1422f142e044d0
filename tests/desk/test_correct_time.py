"""Job time that was wrong from a press on: said afterwards, it is as if it had been right."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.desk.copies import Copies
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.words import main_row
from cartclock.engine.press import Press
from cartclock.engine.rules import packs, rules
from cartclock.engine.store.settings import Settings
from cartclock.engine.store.views import VIEWS
from cartclock.engine.store.whole.audit import audit
from cartclock.engine.times import Instant
from tests.kit.blank import bench_at
from tests.kit.day import Day, refused, told
from tests.kit.reckoner import SECOND_US, reckoned

MINUTE = 60
HOUR = 3600
ZONE = "UTC"
# What only one of two like days has.
BETWEEN = ("TimeCorrected", "PackWeighed")


@pytest.fixture
def day(tmp_path: Path) -> Day:
    """A job of washing and wheels, ten minutes into the first step."""
    found = Day(tmp_path, plan=1)
    found.take(10 * MINUTE)
    return found


def booted(day: Day, wrong_s: int, off_s: int = 5 * MINUTE) -> None:
    """The laptop is off for a while, and its clock is wrong by so much afterwards."""
    day.bench.beat()
    day.clock.wind(off_s)
    day.clock.reboot("boot-2", wrong_s)
    day.again().wake()


def after_boot(day: Day) -> Press:
    """What is pressed then; the press by which it is put right later."""
    (gap,) = day.bench.questions()
    chosen = day.bench.do(rules.judge_gap, gap.from_us, gap.to_us, "away").press
    day.clock.wind(3 * MINUTE)
    day.take(4 * MINUTE)
    day.take(2 * MINUTE)
    day.bench.do_as("me", 60 * SECOND_US, rules.note_shift, ev.DrinkTaken(250))
    day.bench.do_as("me", 30 * SECOND_US, rules.take_break, "meal", 900)
    day.clock.wind(20 * MINUTE)
    (move,) = [move for move in day.bench.moves() if move.act == "end"]
    day.bench.do(rules.take_up, move)
    (asked,) = day.bench.questions()
    day.bench.do(rules.judge_break, asked.from_us, False)
    return chosen


def shifted(day: Day, press: Press, by_s: int) -> None:
    entered_us = day.bench.log.press_rows(press)[0].entered_us
    day.bench.correct_time(press, Instant(entered_us + by_s * SECOND_US), ZONE)


def goes_on(day: Day, wrong_s: int) -> None:
    """Another half hour, another start with the right clock, and the end of the shift."""
    day.bench.do(rules.start_other, "phone", day.job)
    day.clock.wind(3 * MINUTE)
    day.bench.tick()
    day.bench.do(rules.note_shift, ev.DrinkTaken(200))
    day.bench.beat()
    day.clock.wind(10 * MINUTE)
    day.clock.reboot("boot-3", -wrong_s)
    day.again().wake()
    assert not day.bench.time_unsure
    day.bench.do(rules.clock_off)


def looks(day: Day) -> list[object]:
    """Everything that is known: folds, hours, the papers, what views say."""
    rows = day.bench.log.all_rows()
    # What the clocks showed stays what it was.
    plain = [replace(row, wall_us=Instant(0)) for row in rows if row.kind not in BETWEEN]
    jobs, shifts, odd = told(plain)
    assert odd == [] and day.whole()
    now_us = day.bench.now_us
    hours = [reckoned(rows, shift, now_us) for shift in shifts]
    shop = Shop(day.bench.log, library=day.bench.library)
    record = shop.traced("1", now_us).record
    said = {name: getattr(record, name) for name in record.__struct_fields__}
    del said["trail"], said["proof"]
    return [plain, jobs, shifts, hours, now_us, said]


@pytest.mark.parametrize("wrong_s", [3 * HOUR, 30 * HOUR, 4 * MINUTE])
def test_a_day_whose_time_was_put_right_is_the_day_with_the_right_clock(
    tmp_path: Path, wrong_s: int
) -> None:
    found = []
    for name, off_s in (("right", 0), ("wrong", wrong_s)):
        (tmp_path / name).mkdir()
        day = Day(tmp_path / name, plan=2)
        day.take(10 * MINUTE)
        booted(day, off_s)
        chosen = after_boot(day)
        if off_s:
            shifted(day, chosen, -off_s)
        else:
            # So that the presses behind have the same numbers.
            day.bench.do(packs.weigh, ev.PackWeighed("fallout", 100.0))
        goes_on(day, off_s)
        told_of = looks(day)
        assert not audit(day.path, VIEWS).wrong
        found.append(told_of)
        day.bench.close()
    assert found[0] == found[1]


def test_from_where_the_time_was_wrong_is_where_the_laptop_was_started(day: Day) -> None:
    booted(day, 3 * HOUR)
    found = day.bench.log.head.seq
    day.take(60)
    day.take(60)
    newest = day.bench.newest_press()
    assert newest is not None
    shifted(day, newest, -3 * HOUR)
    (fix,) = [row for row in day.bench.log.all_rows() if row.kind == "TimeCorrected"]
    # The gap that was found at that start is the first row of it.
    assert (fix.event.press, fix.event.by_us) == (found, -3 * HOUR * SECOND_US)
    assert fix.event.until is None and fix.at_us == fix.entered_us == day.bench.now_us
    (gap,) = day.bench.shift().gaps  # type: ignore[union-attr]  # a shift is on
    assert gap.to_us - gap.from_us == 5 * MINUTE * SECOND_US
    assert day.whole()
    # Undo takes back what was pressed before, and the time stays right.
    assert day.bench.undo().rows[0].corrects == newest


def test_a_time_that_was_said_wrong_is_put_right_from_that_answer_on(day: Day) -> None:
    """As where the answer was 400 days ahead."""
    day.clock.reboot("boot-2", -2 * HOUR)
    day.again()
    before_us = day.bench.now_us
    said = day.bench.say_time(Instant(before_us + 400 * 24 * HOUR * SECOND_US)).press
    day.take(60)
    shifted(day, said, 60 - 400 * 24 * HOUR)
    assert day.bench.now_us == before_us + 120 * SECOND_US
    assert [row.entered_us for row in day.bench.log.press_rows(said)] == [
        before_us + 60 * SECOND_US
    ]
    assert day.whole()


def test_a_later_start_with_its_own_time_keeps_it(day: Day) -> None:
    booted(day, 3 * HOUR)
    wrong = day.take(60)
    day.bench.beat()
    day.clock.wind(30)
    # The next morning; the clock was set right meanwhile.
    day.clock.reboot("boot-3", 16 * HOUR - 3 * HOUR)
    day.again().wake()
    right = day.bench.do(rules.note_shift, ev.DrinkTaken(250)).press
    now_us = day.bench.now_us
    (was,) = {row.entered_us for row in day.bench.log.press_rows(right)}
    shifted(day, wrong, -3 * HOUR)
    fix = day.bench.log.all_rows()[-1]
    assert isinstance(fix.event, ev.TimeCorrected) and fix.event.until is not None
    assert (day.bench.now_us, fix.entered_us) == (now_us, now_us)
    assert [row.entered_us for row in day.bench.log.press_rows(right)] == [was]
    assert day.whole()


def test_a_start_without_a_press_whose_clock_is_right_stays_right(day: Day) -> None:
    day.bench.do(rules.clock_off)
    booted(day, 3 * HOUR)
    wrong = day.bench.do(rules.note_job, day.job, ev.DamageNoted("roof", "dent")).press
    # Set right an hour later, so that it seems to run back.
    day.clock.wind(HOUR)
    day.clock.reboot("boot-3", -3 * HOUR)
    day.again().wake()
    assert day.bench.time_unsure
    shifted(day, wrong, -3 * HOUR)
    fix = day.bench.log.all_rows()[-1]
    assert fix.sure and fix.entered_us == day.clock.wall_us == day.bench.now_us
    assert not day.bench.time_unsure and day.whole()
    assert day.again().now_us == day.clock.wall_us


@pytest.mark.parametrize(
    ("wrong_s", "by_s", "sentence"),
    [
        (3 * HOUR, 0, "That is the time it has already."),
        (3 * HOUR, -4 * HOUR, "then that would be before Mon 21 Sep 2026 14:23"),
    ],
)
def test_what_cannot_be_is_refused_and_says_what_stands_instead(
    day: Day, wrong_s: int, by_s: int, sentence: str
) -> None:
    booted(day, wrong_s)
    press, before = day.take(60), day.bench.log.head
    assert sentence in str(refused(lambda: shifted(day, press, by_s)))
    assert day.bench.log.head == before and day.whole()


def test_nothing_overtakes_a_later_start(day: Day) -> None:
    press = day.take(60)
    booted(day, 0, HOUR)
    day.bench.do(rules.note_shift, ev.DrinkTaken(250))
    no = refused(lambda: shifted(day, press, 2 * HOUR))
    assert "would be overtaken" in str(no) and "put that time right first" in str(no)
    shifted(day, press, HOUR // 2)
    assert day.whole()


def test_an_answer_that_has_no_length_any_more_stands_in_the_way(day: Day) -> None:
    booted(day, 3 * HOUR)
    (gap,) = day.bench.questions()
    middle_us = Instant(gap.from_us + 2 * HOUR * SECOND_US)
    first = day.bench.do(rules.judge_gap, gap.from_us, middle_us, "meal").press
    day.bench.do(rules.judge_gap, middle_us, gap.to_us, "driving")
    press = day.take(60)
    right_us = Instant(day.bench.log.press_rows(press)[0].entered_us - 3 * HOUR * SECOND_US)
    no = refused(lambda: day.bench.correct_time(press, right_us, ZONE))
    assert first in no.standing
    told = day.bench.correct_time(press, right_us, ZONE, no.standing)
    assert day.whole()
    # What is struck with it is entered at the right time, whoever reads it.
    rows = day.bench.log.all_rows()
    assert rows[-len(told.rows) :] == list(told.rows) and len(told.rows) > 1
    assert all(one.entered_us <= other.entered_us for one, other in pairwise(rows))
    assert main_row(told.rows).kind == "TimeCorrected"
    assert day.bench.now_us == right_us + 60 * SECOND_US


def test_another_program_and_the_next_start_read_it_so(day: Day) -> None:
    other = bench_at(day.path, day.clock, "helper", day.entropy)
    booted(day, 3 * HOUR)
    press = day.take(60)
    other.follow()
    shifted(day, press, -3 * HOUR)
    now_us = day.bench.now_us
    other.follow()
    assert other.now_us == now_us
    assert other.log.all_rows() == day.bench.log.all_rows()
    other.close()
    assert day.again().now_us == now_us and not day.bench.time_unsure
    assert not audit(day.path, VIEWS).wrong


def test_what_the_library_answers_is_what_is_reckoned_anew(day: Day) -> None:
    day.bench.do(rules.note_shift, ev.ReadingTaken(air_c=24.0, rh=50.0))
    day.bench.library.settle()
    booted(day, 3 * HOUR)
    day.bench.do(packs.open_pack, ev.PackOpened("fallout", 500.0, expires="2027-01-01"))
    press = day.take(60)
    day.take(60)
    day.bench.do(rules.note_shift, ev.ReadingTaken(air_c=31.0, rh=40.0))
    day.bench.library.settle()
    shifted(day, press, -3 * HOUR)
    day.bench.library.settle()
    # The history beside the log is made anew there and compared.
    assert not audit(day.path, VIEWS).wrong


def test_a_record_that_left_is_replaced_and_says_what_was_put_right(day: Day) -> None:
    booted(day, 3 * HOUR)
    press = day.take(60)
    day.bench.do(rules.note_job, day.job, ev.PaperIssued("record", 1, ""))
    now_us = day.bench.now_us
    shop = Shop(day.bench.log, library=day.bench.library)
    copies = Copies(shop, Settings(zone=ZONE), day.path.parent, lambda: day.bench.now_us)
    assert "time put right" not in copies.copy("record", "1", "text").decode()
    shifted(day, press, -3 * HOUR)
    paper = copies.copy("record", "1", "text").decode()
    revision = copies.facts_of_job("record", "1").revision
    assert revision is not None and (revision.number, revision.replaces) == (2, 1)
    (change,) = revision.changes
    assert (change.kind, change.to_us) == ("moved", change.at_us - 3 * HOUR * SECOND_US)
    assert "time put right" in paper and "the time was 3 h ahead" in paper
    assert day.bench.now_us == now_us - 3 * HOUR * SECOND_US
    assert "the time was 3 h ahead" in copies.copy("day", "2026-09-21", "text").decode()


def test_the_rows_are_read_as_the_page_of_the_file_says(day: Day) -> None:
    """By what stands in the table alone, as somebody else's program would read it."""
    booted(day, 3 * HOUR)
    first = day.take(2 * MINUTE)
    day.bench.do_as("me", 60 * SECOND_US, rules.note_shift, ev.DrinkTaken(250))
    shifted(day, first, -2 * HOUR)
    day.take(MINUTE)
    # Once more, because it was an hour more.
    shifted(day, first, -HOUR)
    day.bench.do(rules.note_shift, ev.DrinkTaken(100))
    db = day.bench.log._db
    rows = [list(row) for row in db.execute("SELECT seq, kind, at_us, entered_us, body FROM rows")]
    for seq, kind, _at_us, _entered_us, body in list(rows):
        if kind != "TimeCorrected":
            continue
        fix = json.loads(body)
        behind = seq if fix["until"] is None else min(seq, fix["until"])
        for row in rows[fix["press"] : behind]:
            stays = row[2] < fix["from_us"] and row[2] <= fix["from_us"] + fix["by_us"]
            row[2] += 0 if stays else fix["by_us"]
            row[3] += fix["by_us"]
    assert [(row.seq, row.kind, row.at_us, row.entered_us) for row in day.bench.log.all_rows()] == [
        tuple(row[:4]) for row in rows
    ]
    assert [row[3] for row in rows] == sorted(row[3] for row in rows)
    assert day.whole()
