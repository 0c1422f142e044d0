"""History: every job of the log, found by letters, and the record of each.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.desk.exchange import import_job
from cartclock.engine.facts.rows import HOUR_US
from cartclock.engine.history.answers import PastJob, Sought
from cartclock.engine.history.job_lines import lines_of_job
from cartclock.engine.store.clock import HandClock
from cartclock.engine.times import Length
from cartclock.tui.commands.history import _lines
from cartclock.tui.face.laying import laid, strip_text
from cartclock.tui.face.page import Against, Heading, Page, Words, entries
from cartclock.tui.pages.history import MOST_SHOWN, NO_JOB, history_page
from tests.kit.book import Book
from tests.kit.carried import out
from tests.kit.day import Day
from tests.kit.page import chosen, read, said
from tests.kit.plans import COAT, POLISH, WIPE, opening
from tests.kit.stage import START_US, compare_sizes, played


async def test_a_job_is_found_by_letters_and_its_record_shown(tmp_path: Path) -> None:
    second = replace(opening(POLISH, number=2), vehicle="chalk white van")
    async with played(tmp_path, (WIPE,), second) as play:
        await play.press("space")
        await play.wind(300)
        await play.press("space", "t", "h")
        assert play.called == "history"
        assert said(play) == [
            "2   21 Sep 2026   chalk white van   tiny   1:00   open",
            "1   21 Sep 2026   bottle green estate   tiny   0:05   open",
        ]
        await compare_sizes("history", play)
        await play.press(*"GREEN")
        assert [line.split("   ")[0] for line in said(play)] == ["1"]
        assert "find  GREEN█   1 of 2 jobs" in read(play)
        await play.press("enter")
        assert play.called == "record"
        assert "bottle green estate" in play.text
        await play.press("esc")
        assert play.called == "history"
        # What was typed is still there.
        await play.press(*["backspace"] * 5, "t", "enter")
        assert play.called == "record"
        await play.press("esc")
        await play.press("q", "x")
        assert said(play) == ["No job says that."]
        await play.press("enter")
        assert play.notice == "No job says that; backspace wipes a letter."
        await play.press("f1")
        assert play.notice == "That key has no meaning here; letters find, esc goes back."
        await play.press("?")
        assert play.called == "help"
        await play.press("esc", "esc")
        assert play.called == "run"
        assert play.odd() == []


async def test_a_job_that_is_not_in_sight_has_its_record(tmp_path: Path) -> None:
    clock = HandClock(START_US)
    async with played(tmp_path, (WIPE,), clock=clock) as play:
        await play.press("space")
        await play.wind(300)
        await play.press("t", "space", "down", "space", "u", "i", "o")
    clock.wind(5 * 86400)
    third = replace(opening(COAT, number=3), vehicle="pearl coupe")
    async with played(tmp_path, third, clock=clock, seed="later") as play:
        await play.press("i", "space")
        await play.press("i", "o")
    clock.wind(5 * 86400)
    async with played(tmp_path, clock=clock, seed="again") as play:
        (open_now,) = play.bench.jobs.values()
        assert open_now.opened.vehicle == "pearl coupe"
        await play.press("t", "h", *"estate", "enter")
        assert play.called == "record"
        assert "bottle green estate" in play.text
        await play.press("n")
        assert "bottle green estate" in play.sheet.title.lower()


async def test_every_word_that_is_typed_must_stand_in_it(tmp_path: Path) -> None:
    second = replace(opening(POLISH, number=2), vehicle="chalk white van")
    async with played(tmp_path, (WIPE,), second) as play:
        await play.press("t", "h", *"van", "space", "space", *"wh")
        assert "find  van wh█   1 of 2 jobs" in read(play)
        await play.press(*"x")
        assert said(play) == ["No job says that."]
        # Days stand among the words, and the head says how they were taken.
        await play.press(*["backspace"] * 3, *"sep", "space", *"2026")
        assert "1 of 2 jobs, Sep 2026" in read(play)
        await play.press(*["backspace"] * 8, *"aug", "space", *"2026")
        assert said(play) == ["No job says that."]


async def test_only_some_are_looked_at(tmp_path: Path) -> None:
    second = replace(opening(POLISH, number=2), vehicle="chalk white van")
    async with played(tmp_path, (WIPE,), second) as play:
        await play.press("space")
        await play.wind(300)
        # Job 1 is done and handed over.
        await play.press("space", "t", "up", "space", "down", "space")
        await play.press("t", "h", "/")
        assert play.spoken == ["all jobs", "open ones", "closed ones", "plan: tiny"]
        await play.press("down", "space")
        assert [line.split("   ")[0] for line in said(play)] == ["2"]
        assert "1 of 2 jobs, open" in read(play)
        await play.press("/", "down", "down", "down", "space")
        assert "1 of 2 jobs, open, tiny" in read(play)
        await play.press("/", "space")
        assert len(said(play)) == 2


def past_job(price: int | None = None, hands_h: float = 2) -> PastJob:
    book = Book()
    book.press(0, opening(WIPE))
    line = lines_of_job(book.job(), ()).job
    hands_us = Length(round(hands_h * HOUR_US))
    line = replace(line, state="closed", price=price, hands_us=hands_us)
    return PastJob("one", line, Length(0), Length(0))


def test_of_very_many_the_newest_are_laid_out_and_it_says_that_there_are_more() -> None:
    page = history_page([past_job()] * MOST_SHOWN, True, 2500, "", 3, Sought(plan="tiny"))
    assert entries(page) == MOST_SHOWN
    assert page.rows[-1] == Words("And older ones; letters find them.")
    (head, _table) = page.fixed
    assert isinstance(head, Heading)
    assert head.beside == "the newest 100 of 2500 jobs, tiny, 3 still to be read"


def test_a_job_is_one_line_whatever_its_plan_is_called() -> None:
    one = past_job(12000, 100)
    line = replace(one.line, plan="One-step correction and coat of everything there is")
    page = history_page([replace(one, line=line)] * 3, False, 3, "", 0, Sought(), "EUR")
    for width in (60, 80, 100, 120):
        assert len(laid(page, width).lines) == 3


def test_what_an_hour_brought_stands_there_only_where_there_is_a_price() -> None:
    def heads(page: Page) -> list[str]:
        return [column.head for column in page.tables[0].columns]

    priced = history_page([past_job(12000), past_job()], False, 2, "", 0, Sought(), "EUR")
    assert "EUR/h" in heads(priced)
    assert "60" in priced.rows[0].cells  # type: ignore[union-attr]  # a row of cells
    assert "60" not in priced.rows[1].cells  # type: ignore[union-attr]  # a row of cells
    without = history_page([past_job()], False, 1, "", 0, Sought(), "EUR")
    assert "EUR/h" not in heads(without)
    assert "an hour" in heads(history_page([past_job(12000)], False, 1, "", 0, Sought()))


def test_what_is_still_open_has_no_money_an_hour_yet() -> None:
    one = past_job(12050, 1)
    still = replace(one, line=replace(one.line, state="open"))
    page = history_page([still, one], False, 2, "", 0, Sought(), "EUR")
    # Half a unit is raised.
    assert [row.cells[-2] for row in page.rows] == ["", "121"]  # type: ignore[union-attr]
    assert [row.split()[-1] for row in _lines([still, one], 120)[1:]] == ["open", "120.50"]


@pytest.mark.parametrize("width", [40, 60, 80, 120])
@pytest.mark.parametrize("currency", ["EUR", ""])
def test_of_which_hours_money_is_stands_in_the_head_at_every_width(
    width: int, currency: str
) -> None:
    named = f"{currency}/h" if currency else "an hour"
    one = past_job(12000, 9)
    one = replace(one, line=replace(one.line, vehicle="bottle green estate", number=998))
    page = history_page([one] * 3, False, 3, "", 0, Sought(), currency)
    top = [piece.text for line in laid(page, width).fixed for piece in line.pieces]
    assert named in top
    # The shell names the same hours so.
    assert "all work" in _lines([one], 120)[0]
    assert [text for text in top if text.endswith(f"{named} of all work")]
    assert "13" in [piece.text for line in laid(page, width).lines for piece in line.pieces]
    without = history_page([past_job()], False, 1, "", 0, Sought(), currency)
    assert "all work" not in str(without.fixed)


def test_the_name_of_a_plan_is_whole_where_there_is_room() -> None:
    plan = "One-step correction and coat"
    one = past_job(12000, 9)
    one = replace(one, line=replace(one.line, plan=plan, vehicle="chalk white van with roof rack"))
    page = history_page([one] * 3, False, 3, "", 0, Sought(), "EUR")
    wide = laid(page, 120).lines[0]
    assert {plan, "chalk white van with roof rack"} < {piece.text for piece in wide.pieces}
    # Where there is less, the beginning of it is still told.
    assert any(piece.text.startswith("One-step") for piece in laid(page, 80).lines[0].pieces)


async def test_without_a_job_it_says_so(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        await play.press("h")
        assert said(play) == [NO_JOB]
        for key in ("enter", "right"):
            await play.press(key)
            assert (play.called, play.notice) == ("history", NO_JOB)
        # It is so: this key opens one there.
        assert "+ on Today" in NO_JOB
        # No letters find one where there is none, and no filter.
        await play.press("a", "enter")
        assert (said(play), play.notice) == ([NO_JOB], NO_JOB)
        await play.press("backspace", "esc", "t", "+")
        assert play.sheet.title == "New job: which plan?"


def test_a_log_that_is_still_to_be_read_is_no_empty_one() -> None:
    (row,) = history_page([], False, 0, "", 3, Sought()).rows
    assert row == Words("No job is read yet.", entry=True)


async def test_quick_presses_go_through_the_jobs_each(tmp_path: Path) -> None:
    jobs = [opening(WIPE, number=at + 1) for at in range(4)]
    async with played(tmp_path, *jobs, on=False) as play:
        await play.press("t", "h")
        play.fingers.step = 0.2
        await play.press("down", "down", "down", "up")
        assert chosen(play).split()[0] == "2"


@pytest.mark.parametrize(
    ("taken", "planned", "drawn"),
    [(5, 10, "▄▄▄▄▄▁▁▁▁▁"), (10, 5, "▄▄▄▄ ▄▄▄▄▄"), (5, 5, "▄▄▄▄▄     "), (0, 3, "▁▁▁       ")],
)
def test_the_plan_is_a_low_line_or_a_cut(taken: float, planned: float, drawn: str) -> None:
    assert strip_text(Against(taken, planned, 10), 10) == drawn


async def test_an_imported_job_is_listed_and_shown_and_nothing_is_issued(tmp_path: Path) -> None:
    other = Day(tmp_path, seed=7)
    other.take(70)
    file = out(other.bench, "1").content
    other.bench.close()
    (tmp_path / "here").mkdir()
    async with played(tmp_path / "here", (WIPE,)) as play:
        import_job(play.bench, file)
        await play.press("t", "h")
        (line,) = [line.split("   ") for line in said(play) if line.endswith("imported")]
        assert (line[0], line[2]) == (other.job[:4], "bottle green estate")
        await play.press(*["down"] * said(play).index("   ".join(line)), "enter")
        assert play.called == "record"
        # The plan of that job; the own one's is called otherwise.
        assert "\n  coat\n" in play.text
        await play.press("n")
        assert play.notice.startswith("This job was imported: it is worked on, and papers of it")
        assert not (tmp_path / "here" / "papers").exists()
