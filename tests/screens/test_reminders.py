"""The page before the work, the question before the first use, the notice of what meets."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.events import JobOpened
from cartclock.engine.facts.turn import Turn
from cartclock.engine.plan.plan import Plan, Product, Stage, Use, Work
from cartclock.engine.products.reminders import BeforeWork
from cartclock.engine.rules import changes, rules
from cartclock.engine.store.settings import Settings
from cartclock.tui.lists.reminders import open_reminders
from tests.kit.plans import opening
from tests.kit.stage import HOME, LARGE, SMALL, Play, compare, played, whole

ACID = Product("acid", "Wheel acid", family="fluoride", hazards=("Danger", "H314"))
FALLOUT = Product("fallout", "Fallout remover", family="thioglycolate")
SOAP = Product("soap", "Soap", family="neutral")
WHEEL = ("front left wheel",)
WHEELS = Stage("Wheels", WHEEL, (Work("spray acid", 1.0, (Use("acid", 40.0),)),))
IRON = Stage("Iron", WHEEL, (Work("spray fallout", 1.0, (Use("fallout", 40.0),)),))
WASH = Stage("Wash", ("roof",), (Work("wash", 1.0, (Use("soap", 5.0),)),))
SILENT = Settings(reminders=BeforeWork(products=False))


def job(*stages: Stage, number: int = 1) -> JobOpened:
    plan = Plan("tiny", stages, (SOAP, FALLOUT, ACID))
    return replace(opening(*stages, number=number), plan=plan)


async def opened(play: Play) -> list[str]:
    """Opens the page; what went on after it."""
    went: list[str] = []
    open_reminders(play.app.run_screen, lambda: went.append("on"))
    await play.settle()
    return went


async def read_on(play: Play, title: str = "Before you begin") -> list[str]:
    """Presses SPACE as long as the page is open; every row of it that was seen."""
    seen: list[str] = []
    while play.sheet.is_open and play.sheet.title == title:
        seen += [row.strip() for row in play.text.splitlines()]
        await play.press("space")
    return seen


# The page.


@pytest.mark.parametrize("size", [HOME, SMALL], ids="{0[0]}x{0[1]}".format)
async def test_space_goes_on_only_behind_the_last_line(
    size: tuple[int, int], tmp_path: Path
) -> None:
    async with played(tmp_path, job(WASH, IRON, WHEELS), size=size) as play:
        went = await opened(play)
        lines = [line.strip() for line in play.spoken]
        seen = [row.strip() for row in play.text.splitlines()]
        await play.press("space")
        assert went == []
        assert "CautionsRead" not in play.kinds
        text = " ".join(seen + await read_on(play))
        assert [line for line in lines if line not in text] == []
        assert went == ["on"]
        assert play.kinds[-1] == "CautionsRead"


async def test_the_page_is_read_and_the_work_goes_on(tmp_path: Path) -> None:
    async with played(tmp_path, job(WASH, IRON, WHEELS)) as play:
        before = play.kinds
        went = await opened(play)
        assert play.sheet.title == "Before you begin"
        text = " ".join(" ".join(play.spoken).split())
        assert text.startswith("New on this cart: Wheel acid: Danger, H314 Fluoride goes deep")
        for words in ("get medical help", "must not meet"):
            assert words in text
        assert went == []
        await play.press("m")
        text = " ".join(" ".join(play.spoken).split())
        for words in ("Never let it dry", "food or drink", "no authority"):
            assert words in text
        assert whole(play) == []
        await play.press("space")
        assert (play.sheet.title, went) == ("Before you begin", [])
        await read_on(play)
        assert went == ["on"]
        for size in (HOME, SMALL, LARGE):
            await play.resize(size)
            await opened(play)
            assert whole(play) == []
            compare("list_before_you_begin", play)
            await play.press("esc")
        assert not play.sheet.is_open
        assert await opened(play) == []
        await play.press("esc")
        assert not play.sheet.is_open
        assert play.kinds == [*before, "CautionsRead"]


async def test_a_page_without_a_line_goes_on_at_once(tmp_path: Path) -> None:
    async with played(tmp_path, job(WASH)) as play:
        assert await opened(play) == ["on"]
        assert not play.sheet.is_open
        open_reminders(play.app.run_screen)
        assert not play.sheet.is_open


async def test_silenced_the_page_says_fluoride_alone(tmp_path: Path) -> None:
    async with played(tmp_path, job(IRON, WHEELS), settings=SILENT) as play:
        await opened(play)
        text = " ".join(play.spoken)
        assert "Wheel acid" in text
        assert "Fallout" not in text


async def test_silenced_without_fluoride_nothing_is_said(tmp_path: Path) -> None:
    async with played(tmp_path, job(IRON), settings=SILENT) as play:
        assert await opened(play) == ["on"]


async def test_narrow_lines_are_folded(tmp_path: Path) -> None:
    async with played(tmp_path, job(IRON, WHEELS), size=(40, 12)) as play:
        await opened(play)
        assert whole(play) == []
        assert max(map(len, play.spoken)) <= 36


async def test_a_day_with_what_is_known_is_two_small_screens(tmp_path: Path) -> None:
    async with played(tmp_path, job(WASH, IRON, WHEELS), size=SMALL) as play:
        play.app.write(rules.note_shift, ev.CautionsRead(("Wheel acid", "Fallout remover")))
        await opened(play)
        await play.press("space")
        assert "read on" in play.text
        await play.press("space")
        # At the last line the keys say that it is read.
        assert "space: read, go on" in play.text and "space: read on" not in play.text
        await play.press("space")
        assert not play.sheet.is_open


async def test_every_other_key_works_over_the_page_and_it_is_read_on_behind_it(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, job(WASH, IRON, WHEELS), size=SMALL) as play:
        went = await opened(play)
        # What steps through the work is held, and a key that cannot work says why.
        before = play.kinds
        await play.press("left", "right", "w")
        assert "No window runs." in " ".join(play.text.split())
        await play.press("q")
        assert play.sheet.title.startswith("Leave the program?")
        await play.press("space")
        assert (play.sheet.title, play.kinds) == ("Before you begin", before)
        await play.press("c")
        assert play.called == "caller"
        await play.press("esc")
        assert (play.called, play.sheet.title) == ("run", "Before you begin")
        await play.press("k", "space")
        assert play.kinds == [*before, "DrinkTaken"]
        assert (play.sheet.title, went) == ("Before you begin", [])
        assert whole(play) == []
        # Whoever goes to something else has left it.
        await play.press("b", "r")
        assert (play.kinds[-1], play.sheet.is_open, went) == ("BreakTaken", False, ["on"])


# The first use.


async def test_a_new_product_is_asked_about_once_on_this_cart(tmp_path: Path) -> None:
    async with played(tmp_path, job(IRON, WASH), job(IRON, number=2)) as play:
        before = play.kinds
        await play.press("space")
        assert play.sheet.title.startswith("New on this cart: Fallout remover: never after acid")
        assert play.spoken == ["no, leave it as it is", "yes: read", "yes, in my own words ..."]
        assert whole(play) == []
        await play.press("esc")
        assert play.kinds == before
        await play.press("space", "down", "space")
        started = play.bench.rows[-1].event
        assert isinstance(started, ev.WorkStarted)
        assert started.over == {"first_use": "read"}
        await play.press("space")
        assert play.kinds[-1] == "WorkStarted"
        # The other job uses what this cart knows by now.
        while play.app.workplace.moves[0].act != "end":
            await play.press("space")
            assert not play.sheet.is_open
            if play.kinds.count("WorkStarted") == 3:
                break
        assert play.bench.rows[-1].event == ev.WorkStarted("Iron", WHEEL, Turn())


async def test_taken_back_it_is_new_again(tmp_path: Path) -> None:
    async with played(tmp_path, job(IRON, WASH)) as play:
        await play.press("space", "down", "space", "space")
        assert play.bench.known_products == {"fallout remover"}
        await play.press("backspace", "backspace")
        assert play.bench.known_products == frozenset()
        await play.press("space")
        assert play.sheet.is_open


async def test_a_restart_asks_again_and_knows_what_was_used(tmp_path: Path) -> None:
    async with played(tmp_path, job(IRON, WASH), job(IRON, number=2)) as play:
        await play.press("space")
        clock = play.clock
    async with played(tmp_path, clock=clock, seed="second") as play:
        assert play.sheet.title.startswith("New on this cart: Fallout remover")
        await play.press("down", "space", "space")
        clock = play.clock
    async with played(tmp_path, clock=clock, seed="third") as play:
        assert play.bench.known_products == {"fallout remover"}


@pytest.mark.parametrize(
    ("stage", "asked"), [(IRON, False), (WHEELS, True)], ids=["fallout", "fluoride"]
)
async def test_silenced_only_fluoride_is_asked_about(
    tmp_path: Path, stage: Stage, asked: bool
) -> None:
    async with played(tmp_path, job(stage, WASH), settings=SILENT) as play:
        await play.press("space")
        assert play.sheet.is_open is asked
        assert ("burns deep" in play.sheet.title) is asked


async def test_what_is_new_is_asked_at_clocking_on_and_not_at_the_bucket(tmp_path: Path) -> None:
    async with played(tmp_path, job(IRON, WASH), on=False) as play:
        await play.press("space", "space")
        assert play.sheet.title == "Before you begin"
        text = " ".join(" ".join(play.spoken).split())
        assert text.startswith("New on this cart: Fallout remover: never after acid")
        # Read on at the end of the page: everything that is new was read.
        await read_on(play)
        assert play.bench.rows[-1].event == ev.CautionsRead(("Fallout remover",))
        await play.press("space")
        assert not play.sheet.is_open
        assert play.bench.rows[-1].event == ev.WorkStarted("Iron", WHEEL, Turn())
        assert play.odd() == []


async def test_what_was_left_unread_is_asked_about_at_its_first_use(tmp_path: Path) -> None:
    async with played(tmp_path, job(IRON, WASH), on=False) as play:
        await play.press("space", "space", "esc")
        assert "CautionsRead" not in play.kinds
        await play.press("space")
        assert play.sheet.title.startswith("New on this cart: Fallout remover")


async def test_a_stage_that_is_over_is_not_asked_about(tmp_path: Path) -> None:
    async with played(tmp_path, job(IRON, WASH), job(WASH, number=2)) as play:
        for job_id, one in play.bench.jobs.items():
            if "Iron" in one.order:
                play.app.write(changes.skip, job_id, "Iron", WHEEL, "done elsewhere")
        assert await opened(play) == ["on"]
        assert not play.sheet.is_open


async def test_of_a_job_opened_on_the_clock_what_is_new_is_asked_at_once(tmp_path: Path) -> None:
    async with played(tmp_path, job(WASH)) as play:
        await play.press("t", "+")
        at = next(n for n, said in enumerate(play.spoken) if "decontamination" in said)
        await play.press(*["down"] * at, "space", "space")
        await play.type("white van")
        await play.press("enter", "enter", "enter", "enter", "enter")
        assert play.sheet.title == "Before you begin"
        assert "New on this cart" in " ".join(play.spoken)
        await read_on(play)
        assert play.kinds[-1] == "CautionsRead"


# What meets.


async def test_fallout_on_a_wheel_with_acid_is_told_before_it_is_taken_up(tmp_path: Path) -> None:
    async with played(tmp_path, job(WHEELS, IRON), settings=SILENT) as play:
        assert play.glance.notices == ()
        await play.press("space", "down", "space")
        (said,) = play.glance.notices
        assert said.startswith("front left wheel: Wheel acid was used there")
        await play.wind(30)
        assert "must not meet it" in " ".join(play.text.split())
        assert whole(play) == []
        await play.press("space")
        assert play.glance.notices == (said,)
