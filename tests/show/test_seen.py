"""What the pages say: what Run says, and nothing in which a name can stand."""

from __future__ import annotations

import re
from pathlib import Path

import msgspec
import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.plan.plan import Stage
from cartclock.engine.rules import rules
from cartclock.tui.show.follow import CART, CUSTOMER, Follower
from cartclock.tui.show.seen import CartPage, CustomerPage, LostPage, standing
from tests.kit.plans import COAT, POLISH, opening
from tests.kit.run_states import STATES
from tests.kit.stage import PLAIN, Play, played

VEHICLE, HELPER = "Zebedee's XQ 123", "Wendeline"
NAMES = re.compile("zebedee|xq 123|wendeline|\\bme\\b", re.IGNORECASE)


def pages(play: Play) -> dict[str, CartPage | CustomerPage | LostPage]:
    """What every page says of the log that is played on."""
    wanted = [CART, *(CUSTOMER + job for job in play.bench.jobs)]
    follower = Follower(lambda: play.bench, play.app.workplace.settings)
    return dict(follower.look(wanted))


def named(*stages: Stage) -> ev.JobOpened:
    return replace(opening(*stages), vehicle=VEHICLE)


@pytest.mark.parametrize("state", STATES)
async def test_of_every_state_the_words_of_run_and_no_name(tmp_path: Path, state: str) -> None:
    shown = STATES[state]
    jobs = [named(*stages) for stages in shown.jobs]
    async with played(tmp_path, *jobs) as play:
        await shown.reach(play)
        found = pages(play)
        cart = found[CART]
        assert isinstance(cart, CartPage)
        assert tuple(one.field for one in cart.matters) == shown.fields
        faces = play.app.sight.look().faces
        for one, face in zip(cart.matters, faces, strict=True):
            assert (one.word, one.runs, one.second) == (face.beside, face.runs, face.second)
            assert one.digits == face.clock or face.key in ("off", "no job")
            assert one.under == face.under or face.key.startswith(("other/", "off", "no job"))
        assert not NAMES.search(msgspec.json.encode(list(found.values())).decode())


async def test_digits_are_told_as_a_length_that_the_page_can_go_on_with(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,)) as play:
        await STATES["past_an_hour"].reach(play)
        (one,) = pages(play)[CART].matters  # type: ignore[union-attr]  # a page of the cart
        assert (one.digits, one.seconds, one.runs) == ("1:05:20", 3920, "up")


async def test_the_tape_is_told_in_shares_that_run_on_to_the_mark(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await STATES["one_window"].reach(play)
        (one,) = pages(play)[CART].matters  # type: ignore[union-attr]  # a page of the cart
        strip = one.strip
        assert strip is not None
        assert strip.marks == tuple(sorted(strip.marks))
        # 0:35 are left to the first mark, which is where it opens.
        assert strip.gone + 35 * strip.rate == pytest.approx(strip.marks[0], abs=1e-4)
        assert strip.opens == strip.marks[0]
        assert strip.words[0][1].startswith("opens ")


async def test_a_question_says_that_it_waits_and_not_what_it_is(tmp_path: Path) -> None:
    shown = STATES["before_the_coat"]
    async with played(tmp_path, named(*shown.stages)) as play:
        await shown.reach(play)
        await play.press("space")
        assert play.app.sight.look().faces[0].field == "ask"
        (one,) = pages(play)[CART].matters  # type: ignore[union-attr]  # a page of the cart
        assert (one.names, one.digits, one.under) == (
            ("ANSWER",), "", "a question waits at the cart",
        )  # fmt: skip


async def test_the_customer_is_told_stage_and_ready_time_and_nothing_else(tmp_path: Path) -> None:
    assert CustomerPage.__struct_fields__ == ("at", "stage", "place", "ready")
    async with played(tmp_path, named(POLISH, COAT)) as play:
        (job,) = play.bench.jobs
        first = pages(play)[CUSTOMER + job]
        assert isinstance(first, CustomerPage)
        assert (first.stage, first.place) == ("Polish", "stage 1 of 2")
        assert re.fullmatch(r"ready (\w{3} )?\d\d:\d\d", first.ready)
        await play.press("space")
        await play.wind(30)
        assert pages(play)[CUSTOMER + job].stage == "Polish"  # type: ignore[union-attr]
        play.bench.do(rules.clock_off)
        play.bench.do(rules.close_job, job, {"unfinished": "the owner came early"})
        assert pages(play)[CUSTOMER + job] == CustomerPage("14:13", "Finished", "", "")
        assert pages(play)[CART].matters[0].field == "off"  # type: ignore[union-attr]


async def test_a_program_that_gives_no_sign_of_life_is_lost(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        play.bench.beat()
        heard = pages(play)[CART]
        assert isinstance(heard, CartPage)
        # The clock goes on, and nothing beats.
        play.clock.wind(179.0)
        assert isinstance(pages(play)[CART], CartPage)
        play.clock.wind(10.0)
        assert pages(play)[CART] == LostPage(heard.at)


async def test_only_what_runs_on_is_no_news(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await STATES["one_window"].reach(play)
        before = pages(play)[CART]
        await play.wind(1)
        after = pages(play)[CART]
        assert before != after
        assert standing(before) == standing(after)
        await play.wind(60)
        assert standing(pages(play)[CART]) != standing(before)


async def test_a_helper_is_named_nowhere(tmp_path: Path) -> None:
    async with played(tmp_path, named(COAT), settings=replace(PLAIN, helper=HELPER)) as play:
        await play.press("i", "down", "space")
        await play.press("space", "enter")
        await play.wind(20)
        assert HELPER in play.text
        found = pages(play)
        assert not NAMES.search(msgspec.json.encode(list(found.values())).decode())
        assert len(found[CART].matters) == 1  # type: ignore[union-attr]  # a page of the cart
