"""Today: how a job begins, is worked on, is closed and goes on.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.settings import Settings
from cartclock.tui.keys import KEYS, on_screen
from cartclock.tui.pages.today import CLOCK_ON
from cartclock.tui.screens.today import TodayScreen
from tests.kit.page import chosen, said
from tests.kit.plans import COAT, POLISH, WIPE, opening
from tests.kit.stage import SMALL, START_US, Play, compare_sizes, played, whole

OWN = """
format = 1
name = "Quick wipe"
[[stage]]
name = "Wipe"
sections = ["roof", "sides"]
[[stage.step]]
work = "wipe"
minutes = 5
"""


async def pick(play: Play, word: str) -> None:
    """Picks the line of the open list that begins so."""
    at = next(i for i, line in enumerate(play.spoken) if line.startswith(word))
    await play.press(*["down"] * at, "space")


async def test_an_empty_log_begins_on_today(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        assert play.called == "today"
        assert "No job yet: + opens one from a plan." in play.text
        await compare_sizes("today_empty", play)
        await play.press("space")
        assert play.sheet.title == "New job: which plan?"
        await play.press("esc", "esc")
        assert play.called == "run"
        assert "OFF THE CLOCK" in play.seen
        assert play.bench.rows == []


async def test_off_the_clock_today_says_how_to_clock_on(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,), on=False) as play:
        await play.press("t")
        assert said(play)[1] == CLOCK_ON
        # It is so: these keys do it.
        assert CLOCK_ON == "Off the clock: U, then SPACE."
        await play.press("u", "space", "space")
        assert play.kinds[-1] == "ClockedOn"
        await play.press("esc", "t")
        assert CLOCK_ON not in said(play)


async def test_an_answer_does_not_outlast_a_look_at_another_screen(tmp_path: Path) -> None:
    async with played(tmp_path) as play:
        await play.press("u")
        assert "NO JOB OPEN" in play.seen
        await play.press("space")
        assert play.notice == "There is nothing to take up: open a job on Today (T)."
        await play.press("t", "u")
        assert play.called == "run"
        assert play.notice == ""
        assert "nothing to take up: open" not in play.text


async def test_a_new_job_from_a_starter(tmp_path: Path) -> None:
    settings = Settings(zone="Europe/Lisbon")
    async with played(tmp_path, on=False, settings=settings) as play:
        await play.press("+")
        assert "maintenance wash" in play.spoken
        await pick(play, "two layer coat")
        assert play.sheet.title == "Which body?"
        await compare_sizes("today_body", play)
        await pick(play, "estate")
        assert play.typing
        await play.type("bottle green [estate] q")
        for word in ("customer", "plate", "phone", "price", "promised"):
            assert play.sheet.title.startswith(f"Bottle green [estate] q: {word}")
            await play.type("tomorrow 18:30" if word == "promised" else "")
        opened = play.bench.rows[-1].event
        assert isinstance(opened, ev.JobOpened)
        assert opened.vehicle == "bottle green [estate] q"
        assert (opened.number, opened.zone) == (1, "Europe/Lisbon")
        assert opened.promised_us == 1_790_098_200_000_000
        assert play.bench.log.plan_text(opened.plan_sha256) is not None
        assert any("bonnet" in name for stage in opened.plan.stages for name in stage.sections)
        assert "promised Tue 22 Sep 18:30" in said(play)[0]
        assert play.called == "today"
        await compare_sizes("today_one", play)


async def test_a_date_that_is_none_can_be_mended(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        await play.press("+")
        await pick(play, "maintenance")
        await pick(play, "van")
        await play.type("white van")
        await play.press("enter", "enter", "enter", "enter")
        await play.type("tomorrow")
        assert play.times_said('"tomorrow" has no time of day.') == 1
        assert play.bench.rows == []
        # What was typed is still there.
        await play.press(*["backspace"] * len("tomorrow"))
        await play.type("2026-02-30 10:00")
        assert play.times_said("is not in the calendar") == 1
        await play.press(*["backspace"] * 16)
        await play.type("")
        opened = play.bench.rows[-1].event
        assert isinstance(opened, ev.JobOpened)
        assert (opened.vehicle, opened.promised_us) == ("white van", None)


async def test_a_job_needs_a_word_for_the_vehicle(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        await play.press("+")
        await pick(play, "maintenance")
        await pick(play, "van")
        await play.type("   ")
        assert play.text.count("A job needs a word for the vehicle") == 1
        # The line stands open for the word.
        assert play.sheet.is_text
        await play.press("esc")
        for keys in (["esc"], ["space", "esc"], ["space", "space", "a", "esc"]):
            await play.press("+", *keys)
            assert play.bench.rows == []
            assert not play.sheet.is_open


@pytest.mark.parametrize("size", [(80, 24), (40, 12)])
async def test_what_is_refused_stands_in_its_line_to_be_mended(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    too_long = "silver hatchback with the name of somebody's aunt and stickers on it"
    async with played(tmp_path, on=False, size=size) as play:
        await play.press("+")
        await pick(play, "maintenance")
        await pick(play, "van")
        await play.type(too_long)
        assert play.times_said("60 letters at most: take 8 out of these 68.") == 1
        assert (play.bench.rows, play.sheet.title) == ([], "The vehicle in a few words")
        # It is said of what was entered, and of no other text.
        await play.press("backspace")
        assert play.times_said("letters at most") == 0
        assert play.sheet.says == ""
        await play.press("t")
        assert play.times_said("60 letters at most: take 8 out of these 68.") == 1
        await play.press(*["backspace"] * len(" on it"), "enter")
        assert play.times_said("60 letters at most: take 2 out of these 62.") == 1
        await play.press(*["backspace"] * len(" stickers"), *"dog", "enter", "esc")
        opened = play.bench.rows[-1].event
        assert isinstance(opened, ev.JobOpened)
        assert opened.vehicle == "silver hatchback with the name of somebody's aunt anddog"


async def test_an_own_plan_file_opens_a_job(tmp_path: Path) -> None:
    (tmp_path / "plans").mkdir()
    (tmp_path / "plans" / "quick [b].toml").write_text(OWN, encoding="utf-8")
    async with played(tmp_path, on=False) as play:
        await play.press("+")
        assert play.spoken[-1] == "Quick wipe   quick [b].toml"
        await play.press("up", "space")
        await play.type("white van")
        await play.press("esc")
        opened = play.bench.rows[-1].event
        assert isinstance(opened, ev.JobOpened)
        assert opened.plan.name == "Quick wipe"
        assert play.bench.log.plan_text(opened.plan_sha256) == OWN


async def test_an_own_plan_is_listed_by_its_name_and_its_file_where_there_is_room(
    tmp_path: Path,
) -> None:
    (tmp_path / "plans").mkdir()
    twice, once = "Quick wipe of the whole long van", "Wash and seal of the long van"
    names = {"a": twice, "b": twice, "c": once}
    for file, name in names.items():
        text = OWN.replace("Quick wipe", name)
        (tmp_path / "plans" / f"{file}.toml").write_text(text, encoding="utf-8")
    (tmp_path / "plans" / "d.toml").write_text("format = 1", encoding="utf-8")
    async with played(tmp_path, on=False) as play:
        await play.press("+")
        two = [f"{twice}   {file}.toml" for file in "ab"]
        assert play.spoken[-4:] == [*two, f"{once}   c.toml", "d.toml"]
        await play.press("esc")
        await play.resize(SMALL)
        await play.press("+")
        # Two of one name are told apart by their files.
        two = [f"Quick wipe of the whol…   {file}.toml" for file in "ab"]
        assert play.spoken[-4:] == [*two, once, "d.toml"]
        assert whole(play) == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (OWN.replace("sections", "sektions"), "sections: missing"),
        (OWN.replace("format = 1", "format = 1 1"), "quick.toml"),
        (OWN.replace('work = "wipe"', "wok = 1").replace("name", "nam"), "(the first of"),
        (b"\xff\xfe", "not UTF-8"),
    ],
    ids=["key", "TOML", "several", "bytes"],
)
async def test_a_plan_file_with_faults_says_the_first(
    tmp_path: Path, text: str | bytes, said: str
) -> None:
    (tmp_path / "plans").mkdir()
    raw = text if isinstance(text, bytes) else text.encode()
    (tmp_path / "plans" / "quick.toml").write_bytes(raw)
    async with played(tmp_path, on=False) as play:
        await play.press("+", "up", "space")
        assert said in play.notice
        assert "quick.toml" in play.notice
        assert not play.sheet.is_open
        assert play.bench.rows == []


async def test_two_jobs_and_work_on_the_second(tmp_path: Path) -> None:
    second = opening(POLISH, number=2)
    async with played(tmp_path, (WIPE,), second) as play:
        assert "wipe whole car" in play.next_line
        await play.press("t", "down", "space")
        assert play.spoken == [
            "work on it", "hand it over and close it", "show its record", "whose, price, promise",
            "its vehicle's card", "forget name, plate, notes", "to another cart ...",
        ]  # fmt: skip
        await play.press("space")
        assert play.called == "run"
        assert "cut door" in play.next_line
        await play.press("space")
        (work,) = [row for row in play.bench.rows if row.kind == "WorkStarted"]
        assert play.bench.jobs[work.job].opened is not None
        assert play.bench.jobs[work.job].opened.number == 2  # type: ignore[union-attr]  # just seen


async def test_work_on_it_off_the_clock_is_refused(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,), on=False) as play:
        await play.press("t", "space", "space")
        assert play.called == "today"
        assert "are you on the clock (I)?" in play.notice


async def test_a_job_is_closed_and_opened_again(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("space")
        await play.wind(300)
        # What is in hand is finished with it; nothing is left, so nothing is asked.
        await play.press("t", "space", "down", "space")
        assert play.kinds[-1] == "JobClosed"
        assert said(play) == ["1  bottle green estate   closed"]
        assert play.lines[0].split()[1:5] == ["TODAY", "0", "open", "jobs"]
        await play.press("space")
        assert play.spoken == [
            "open it again", "show its record", "whose, price, promise",
            "its vehicle's card", "forget name, plate, notes",
            "who took the keys, paid how", "call back at a time ...", "something went wrong",
        ]  # fmt: skip
        await play.press("space")
        assert play.kinds[-1] == "JobReopened"
        assert "all stages are done" in said(play)[0]
        assert play.odd() == []


async def test_the_cursor_stays_on_the_job_acted_upon_wherever_it_comes_to_stand(
    tmp_path: Path,
) -> None:
    jobs = [replace(opening(WIPE, number=at + 1), vehicle=f"van {at + 1}") for at in range(4)]
    async with played(tmp_path, *jobs) as play:
        one, two = list(play.bench.jobs)[:2]
        play.bench.do(rules.close_job, one, {"unfinished": "enough for a test"})
        await play.press("t", "up", "up", "up")
        assert chosen(play).startswith("2  van 2")
        play.bench.do(rules.close_job, two, {"unfinished": "enough for a test"})
        await play.wind(1)
        # What is handed over stands behind the open ones.
        assert [line[:8] for line in said(play)] == ["3  van 3", "4  van 4", "1  van 1", "2  van 2"]
        assert chosen(play).startswith("2  van 2")
        await play.press("space", "space")
        assert play.kinds[-1] == "JobReopened"
        assert [line[:8] for line in said(play)] == ["2  van 2", "3  van 3", "4  van 4", "1  van 1"]
        assert chosen(play).startswith("2  van 2")
        # What comes to stand in front of it from elsewhere does not take its place either.
        play.bench.do(rules.reopen_job, one, "goes on")
        await play.wind(1)
        assert chosen(play).startswith("2  van 2")
        await play.press("down")
        assert chosen(play).startswith("3  van 3")
        assert play.odd() == []


async def test_its_record_is_shown_and_forgotten(tmp_path: Path) -> None:
    second = opening(POLISH, number=2)
    async with played(tmp_path, (WIPE,), second) as play:
        await play.press("t", "down", "space", "down", "down", "space")
        assert play.called == "record"
        assert play.app.record_of
        await play.press("esc", "e")
        assert play.app.record_of == ""


async def test_the_gaps_of_a_layer_are_one_line_below_the_jobs(tmp_path: Path) -> None:
    clock = HandClock(START_US)
    async with played(tmp_path, (COAT,), clock=clock) as play:
        await play.wind(600)
        await play.press("p", "space", "down", "down", "down", "space", "1", "0", "space", "t")
        assert said(play)[0].endswith("now   Coat, layer 2 of 2: 0 of 3")
        # One line for the gaps of a layer, however many sections it has.
        assert said(play)[1:] == ["Coat, 3 sections: layer 2   opens 15:17, the last 15:24"]
        await play.press("down", "space")
        assert play.notice == "Choose a job with up and down."
    clock.wind(3600)
    async with played(tmp_path, clock=clock, seed="again") as play:
        await play.press("t")
        assert "closes Tue 22 Sep" in said(play)[1]


async def test_the_lists_of_the_shift_open_on_run(tmp_path: Path) -> None:
    titles = {"b": "Break", "x": "Other work", "r": "Reading", "k": "Drink", "i": "On the clock"}
    async with played(tmp_path, (WIPE,)) as play:
        for key, title in titles.items():
            await play.press("t", key)
            assert play.called == "run"
            assert play.sheet.title.startswith(title)
            assert whole(play) == []
            await play.press("esc", "t", "g")
            assert play.called == "today"
            assert play.notice == "There are no questions about today."


async def test_greyed_keys_say_why(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,), on=False) as play:
        await play.press("t")
        for key in "bxrkc":
            await play.press(key)
            assert play.called == "today"
            assert play.notice == "You are not on the clock; I clocks you on."


def test_every_key_of_the_screen_has_a_meaning_there() -> None:
    for key in on_screen(KEYS, "today"):
        assert hasattr(TodayScreen, f"press_{key.id}"), key.id


async def test_an_answer_goes_with_the_next_key(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,), on=False) as play:
        await play.press("t", "k")
        said = play.notice
        assert said
        await play.press("+")
        assert play.sheet.is_open
        assert play.notice != said
