"""M: what is to be mixed for the sections left, and the start of mixing."""

from __future__ import annotations

from pathlib import Path

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.events import JobOpened
from cartclock.engine.facts.shift import Other
from cartclock.engine.plan.plan import Plan, Product, Stage, Use, Work
from tests.kit.plans import opening
from tests.kit.stage import HOME, LARGE, SMALL, compare, played, whole

LONG = "Shampoo with a name that is far too long for any line of it"
WASH = Stage(
    "Wash",
    ("roof", "bonnet", "left", "right", "front", "rear"),
    (Work("wash", 3.0, (Use("shampoo", 1500.0), Use("seal", 5.0))),),
)
DRY = Stage("Dry", ("whole car",), (Work("dry", 5.0),))


def job(*stages: Stage, name: str = "Shampoo") -> JobOpened:
    products = (Product("shampoo", name, mix="500:1"), Product("seal", "Sealant"))
    return replace(opening(*stages), plan=Plan("tiny", stages, products))


async def test_m_shows_the_recipe_and_esc_writes_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, job(WASH, DRY)) as play:
        await play.press("space")
        before = play.kinds
        await play.press("m")
        assert play.sheet.title == "Bottle green estate: mix for what is left"
        text = " ".join(" ".join(play.spoken).split())
        assert "for 6 sections: 9000 ml: 18 ml Shampoo, 8982 ml water; product into water" in text
        assert "500 parts water + 1 part product = 501 parts" in text
        assert "Sealant" not in text
        for size in (HOME, SMALL, LARGE):
            await play.press("esc")
            await play.resize(size)
            await play.press("m")
            assert whole(play) == []
            compare("list_mix", play)
        await play.press("esc")
        assert play.kinds == before


async def test_mixing_is_started_by_its_line_only(tmp_path: Path) -> None:
    async with played(tmp_path, job(WASH)) as play:
        await play.press("space")
        before = play.kinds
        await play.press("m", "down", "down", "down", "space")
        assert play.kinds == before
        assert not play.sheet.is_open
        assert "Nothing was written" in play.notice
        await play.press("m", "space")
        assert play.kinds[len(before) :] == ["WorkPutDown", "OtherWorkStarted"]
        shift = play.bench.shift()
        (job_id,) = play.bench.jobs
        assert shift is not None and shift.doing == Other("water and mixing", job_id)
        # Mixing goes on, and what it is for can be read again.
        await play.press("m", "w")
        assert play.notice == "That is on already."
        assert play.odd() == []


async def test_what_is_in_hand_can_be_finished_by_it(tmp_path: Path) -> None:
    async with played(tmp_path, job(WASH)) as play:
        await play.press("space", "m", "f", "w")
        assert play.kinds[-3:] == ["StepFinished", "ProductUsed", "OtherWorkStarted"]
        await play.press("m")
        assert any("for 5 sections: 7500 ml" in line for line in play.spoken)
        await play.press("esc", "backspace")
        # What the press was for comes first.
        assert play.notice == (
            "Taken back: other work: water and mixing; finished: wash roof (Wash); "
            "used: 5 ml Sealant, 1500 ml Shampoo."
        )


async def test_m_is_greyed_where_nothing_is_mixed(tmp_path: Path) -> None:
    async with played(tmp_path, job(DRY), on=False) as play:
        await play.press("m")
        assert "You are not on the clock" in play.notice
        await play.press("i", "space", "m")
        assert play.notice == "This step uses nothing that is mixed."
        assert not play.sheet.is_open
        assert "mix" in play.screen.reasons()


async def test_without_a_job_there_is_nothing_to_mix(tmp_path: Path) -> None:
    async with played(tmp_path) as play:
        await play.press("u", "m")
        assert "No job is open" in play.notice or "not on the clock" in play.notice


async def test_a_long_name_is_folded_on_a_narrow_screen(tmp_path: Path) -> None:
    async with played(tmp_path, job(WASH, name=LONG), size=(40, 12)) as play:
        await play.press("m")
        assert whole(play) == []
        assert max(map(len, play.spoken)) <= 36
        assert LONG.split()[-1] in " ".join(play.spoken)


async def test_a_correction_afterwards_counts(tmp_path: Path) -> None:
    async with played(tmp_path, job(WASH)) as play:
        await play.press("s", "space", "m")
        assert any("for 5 sections: 7500 ml" in line for line in play.spoken)
        await play.press("esc", "backspace", "m")
        assert any("for 6 sections: 9000 ml" in line for line in play.spoken)
        assert not any(isinstance(row.event, ev.OtherWorkStarted) for row in play.bench.rows)
