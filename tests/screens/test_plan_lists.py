"""The plan changed and made at the cart, by keys alone: for this job, for good, and a new one."""

from __future__ import annotations

import errno
import os
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.plan.plan import Handover, Stage, Wait, Work
from cartclock.engine.rules import plan_changes, rules
from cartclock.engine.store.plan_file.reader import read_plan, starter, with_body
from tests.kit.plans import COAT, DRY_CARE, FALLOUT, LEAVES, POLISH, opening_told
from tests.kit.stage import Play, compare_sizes, played
from tests.screens.test_plan import go_to

SEAL = Stage(
    "Seal",
    ("door", "wing"),
    (Work("apply", 2.0), Wait("flash", 60, 100, 300, example=True), Work("buff", 1.0)),
)
OWN = """# by hand: mine
format = 1
name = "Quick seal"
[[stage]]
name = "Seal"
sections = ["roof", "bonnet"]
[[stage.step]]
work = "apply"   # thin
minutes = 2
[[stage.step]]
wait = "flash"
opens = "1m"
closes = "5m"
example = true   # not from the pack yet
[[stage.step]]
work = "buff"    # at once
minutes = 1
"""


DAY = (Path(__file__).parents[2] / "tui/DAY.md").read_text(encoding="utf-8")


def starting(name: str, body: str) -> ev.JobOpened:
    """A job of a starter."""
    return ev.JobOpened(read_plan(with_body(starter(name), body), name), "", 1, "green estate")


async def pick(play: Play, *texts: str) -> None:
    """Picks a line of each list that opens one behind the other, by what it says."""
    for text in texts:
        found = [n for n, line in enumerate(play.spoken) if text in line]
        assert found, (text, play.spoken)
        await play.press(*["down"] * ((found[0] - _at(play)) % len(play.spoken)), "space")


def _at(play: Play) -> int:
    return play.sheet._at


async def otherwise(play: Play, stage: str) -> None:
    """To Plan, and the list of what is otherwise of a stage."""
    await play.press("p")
    await go_to(play, stage)
    await play.press("space")
    await pick(play, "minutes, amounts, windows")


async def test_a_flash_is_taken_from_the_label_and_a_film_in_play_keeps_its_own(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, (SEAL, POLISH)) as play:
        await play.choose("apply door")
        await play.press("space")
        await play.wind(60)
        await play.press("space")
        (before,) = next(iter(play.bench.jobs.values())).running
        await otherwise(play, "Seal")
        assert "flash behind apply: opens 1:00, due 1:40, closes 5:00 (example)" in play.spoken
        await compare_sizes("plan_stage", play)
        await pick(play, "flash behind apply")
        await compare_sizes("plan_window", play)
        await play.press(*"90", "down", "right", "down", *"240")
        assert [line.split()[1] for line in play.spoken[:3]] == ["90", "105", "240"]
        await play.press("y", "space")
        job = next(iter(play.bench.jobs.values()))
        assert job.stage("Seal").steps[1] == Wait("flash", 90, 105, 240)
        assert job.running == [before]
        assert "closes 4:00, was 5:00" in play.notice
        assert "no longer an example" in play.notice and "What lies keeps its own." in play.notice
        event = play.bench.rows[-1].event
        assert isinstance(event, ev.StageRevised) and event.source == "label of the pack"
        await play.press("u", "backspace")
        assert next(iter(play.bench.jobs.values())).stage("Seal") == SEAL
        assert play.odd() == []


async def test_minutes_and_amounts_are_typed(tmp_path: Path) -> None:
    async with played(tmp_path, (FALLOUT,)) as play:
        await otherwise(play, "Fallout")
        await pick(play, "spray")
        await play.press(*"2.5", "down", "right", "space")
        (job,) = play.bench.jobs.values()
        spray = job.stage("Fallout").steps[0]
        assert isinstance(spray, Work)
        assert (spray.minutes, spray.uses[0].amount) == (2.5, 65.0)


async def test_what_is_left_empty_or_wrong_is_refused_and_the_list_stays_with_what_was_entered(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, (SEAL,)) as play:
        rows = len(play.bench.rows)
        await otherwise(play, "Seal")
        # What is still an example is chosen.
        assert play.spoken[_at(play)].startswith("flash behind apply")
        await play.press("space", "backspace", "down", *"105", "up", "space")
        assert "opens: enter a number" in play.text
        assert play.spoken[0].endswith("not measured (was 60 s)")
        assert play.spoken[1].split()[1] == "105"
        assert _at(play) == 0
        await play.press(*"900", "y", "up", "space")
        assert "opens, due, closes" in play.text
        assert [line.split()[1] for line in play.spoken[:2]] == ["900", "105"]
        assert play.spoken[3].endswith("yes") and _at(play) == 2
        await play.press("up", "up", *"60", "down", *"100", "y", "space")
        assert "Nothing of Seal is otherwise." in play.text
        await play.press("down", *"70", "y", "space")
        job = next(iter(play.bench.jobs.values()))
        assert job.stage("Seal").steps[1] == Wait("flash", 70, 100, 300)
        await play.press("u", "backspace")
        for keys in (["esc"], ["q", "z", "esc"], ["space", "esc", "esc"]):
            await otherwise(play, "Seal")
            await play.press(*keys)
            while play.sheet.is_open:
                await play.press("esc")
        assert len(play.bench.rows) == rows + 2
        assert next(iter(play.bench.jobs.values())).stage("Seal") == SEAL


async def test_what_the_customer_is_told_is_taken_from_the_label(tmp_path: Path) -> None:
    async with played(tmp_path, opening_told(COAT)) as play:
        await play.press("p", "space", "a")
        assert play.spoken == ["until 48 hours (example): no rain on the coat"]
        await compare_sizes("plan_aftercare", play)
        await play.press("space", *"1000", "space")
        assert "Write 1 to 999." in play.text
        await play.press(*"24", "y", "space")
        assert "until 24 hours, was 48 hours; label of the pack" in play.notice
        await play.press("space", "h")
        await compare_sizes("plan_handover", play)
        await play.press("right", "space")
        assert "Hand-over: 13 hours, was 12 hours" in play.notice
        (job,) = play.bench.jobs.values()
        plan = job.opened.plan
        assert plan.handover == replace(LEAVES, not_before="PT13H")
        assert plan.aftercare == (replace(DRY_CARE, until="PT24H", source="label of the pack"),)
        # For good they stand in the new file.
        await play.press("space", "g", *["backspace"] * 20)
        await play.type("of the label")
        text = (tmp_path / "plans" / "of_the_label.toml").read_text(encoding="utf-8")
        assert read_plan(text, "made").aftercare == plan.aftercare
        assert play.odd() == []


async def test_a_plan_that_tells_the_customer_nothing_says_so(tmp_path: Path) -> None:
    async with played(tmp_path, (SEAL,)) as play:
        await play.press("p", "space", "a")
        assert play.notice == "The plan of this job tells no aftercare."
        await play.press("space", "h")
        assert play.notice == "The plan of this job names no time before a hand-over."


async def test_steps_come_go_and_move_until_the_stage_is_begun(tmp_path: Path) -> None:
    def steps() -> list[str]:
        (job,) = play.bench.jobs.values()
        return [step.say for step in job.stage("Polish").steps]

    async with played(tmp_path, (POLISH,)) as play:
        await otherwise(play, "Polish")
        await pick(play, "a step is added", "add a step", "behind finish", "dwell, and the work")
        await play.type("wipe")
        assert steps() == ["cut", "finish", "dwell", "wipe"]
        await otherwise(play, "Polish")
        await pick(play, "a step is added", "earlier: finish")
        assert steps() == ["finish", "cut", "dwell", "wipe"]
        await otherwise(play, "Polish")
        await pick(play, "a step is added", "take out: wipe")
        assert "A stage begins and ends with a step done by hand" in play.text
        await pick(play, "take out: cut")
        assert "two waits" in play.notice or steps() == ["finish", "dwell", "wipe"]
        await play.press("u", "space")
        await otherwise(play, "Polish")
        await pick(play, "a step is added", "add a step", "first", "work by hand")
        await play.type("dust")
        assert play.sheet.says.startswith("Polish was begun: its steps and layers stay.")
        assert play.typing and play.app.focused.value == "dust"
        assert play.odd() == []


async def test_a_stage_goes_to_another_place_and_one_of_another_plan_comes(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH, COAT)) as play:
        await play.press("p")
        await go_to(play, "Coat")
        await play.press("space")
        await pick(play, "do it at another place", "first")
        (job,) = play.bench.jobs.values()
        assert [stage.name for stage in job.stages] == ["Coat", "Polish"]
        await go_to(play, "Polish")
        await play.press("space")
        await pick(play, "another stage behind it", "maintenance wash", "pre-wash")
        (job,) = play.bench.jobs.values()
        assert [stage.name for stage in job.stages] == [
            "Coat",
            "Polish",
            "Wheels and pre-wash",
        ]
        assert job.opened.plan.product("foam") is not None
        assert play.odd() == []


async def test_for_good_is_a_new_file_and_no_other_is_touched(tmp_path: Path) -> None:
    folder = tmp_path / "plans"
    folder.mkdir()
    (folder / "quick_seal.toml").write_text(OWN, encoding="utf-8")
    async with played(tmp_path) as play:
        plan, bench = read_plan(OWN, "own"), play.bench
        opened = ev.JobOpened(plan, bench.keep_plan(OWN), 1, "slate van")
        bench.do(rules.open_job, bench.new_id(), opened)
        play.app.repaint()
        await otherwise(play, "Seal")
        await pick(play, "flash behind apply")
        assert play.app.shop.examples("1", bench.now_us)
        await play.press("down", "down", *"400", "y", "space")
        assert not play.app.shop.examples("1", bench.now_us)
        await play.press("up", "space")
        await pick(play, "keep this plan for good")
        await play.press("enter")
        assert "quick_seal_2.toml is written" in play.notice
        made = (folder / "quick_seal_2.toml").read_text(encoding="utf-8")
        assert made == OWN.replace('"Quick seal"', '"Quick seal 2"').replace(
            'closes = "5m"', 'closes = "6m40s"'
        ).replace("example = true   # not from the pack yet\n", "")
        assert (folder / "quick_seal.toml").read_text(encoding="utf-8") == OWN
        await play.press("space")
        await pick(play, "keep this plan for good")
        await play.press(*["backspace"] * 20)
        await play.type("Quick seal 2")
        assert "quick_seal_2.toml is just that already" in play.notice
        assert sorted(path.name for path in folder.iterdir()) == [
            "quick_seal.toml",
            "quick_seal_2.toml",
        ]


async def test_two_programs_change_one_stage(tmp_path: Path) -> None:
    async with played(tmp_path, (SEAL,)) as play:
        await otherwise(play, "Seal")
        await pick(play, "flash behind apply")
        (job,) = play.bench.jobs.values()
        other = replace(SEAL, effort="heavy")
        play.bench.do(plan_changes.revise_stage, job.id, SEAL, other, "by hand")
        await play.press(*"80", "space")
        assert "Seal was changed meanwhile; look at it again." in play.text
        assert next(iter(play.bench.jobs.values())).stage("Seal") == other


@pytest.mark.parametrize("size", [(80, 24), (40, 12)])
async def test_a_new_plan_is_made_of_two_starters_and_opens_a_job(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with played(tmp_path, on=False, size=size) as play:
        await play.press("+")
        await pick(play, "a new plan", "one step correction")
        if size == (80, 24):
            await compare_sizes("plan_making", play)
        await pick(play, "panels in pieces")
        await play.press("down", *"2", "space")
        await pick(play, "Rinse and dry", "another stage behind it", "decontamination", "Sealant")
        await pick(play, "Tape", "take it out")
        await pick(play, "Polish:", "order")
        await pick(play, "aftercare", "no rain")
        await play.press(*"24", "y", "space", "esc")
        # A second stage of that plan is where the first was.
        await pick(play, "Sealant:", "another stage behind it")
        assert play.spoken[_at(play)] == "decontamination and sealant"
        await play.press("esc")
        await pick(play, "hand-over: no time named", "Coat")
        await play.press("right", "y", "space")
        await pick(play, "called")
        await play.press(*["backspace"] * 60)
        await play.type("Seal, then coat")
        await play.press("w")
        assert "seal_then_coat.toml is written" in play.notice
        text = (tmp_path / "plans" / "seal_then_coat.toml").read_text(encoding="utf-8")
        plan = read_plan(text, "made")
        names = [stage.name for stage in plan.stages]
        assert names[names.index("Rinse and dry") + 1] == "Sealant" and "Tape" not in names
        polish = next(stage for stage in plan.stages if stage.name == "Polish")
        assert {"bonnet left", "bonnet right"} <= set(polish.sections)
        assert [care.until for care in plan.aftercare if care.source != "example"] == ["PT24H"]
        assert plan.handover == Handover("PT13H", "Coat", "label of the pack")
        assert "# " in text
        await pick(play, "Seal, then coat")
        await play.type("white van")
        await play.press("esc")
        (job,) = play.bench.jobs.values()
        assert job.opened.plan == plan


async def test_a_flash_of_a_coat_and_a_plan_of_two_starters_in_as_many_keys_as_the_manual_says(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, starting("one_step_correction_and_coat", "estate")) as play:
        keys = ["p", *["down"] * 13, "space", "w", "space", "9", "0", "y", "space"]
        assert f"{len(keys)} keys and 24 s" in DAY
        await play.press(*keys)
        assert "opens 1:30, was 1:15" in play.notice and "no longer an example" in play.notice
        keys = [*"+", "up", "space", "down", "down", "space"]
        keys += ["up", "space", "s", "space", "up", "up", "space", "w"]
        assert f"{len(keys)} keys and 16 s" in DAY
        await play.press("t", *keys)
        assert "one_step_correction_and_coat.toml is written" in play.notice
        (path,) = (tmp_path / "plans").iterdir()
        names = [stage.name for stage in read_plan(path.read_text("utf-8"), "made").stages]
        assert names[-2:] == ["Inspection", "Sealant"]


async def test_a_new_plan_is_left_only_when_said_twice(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        await play.press("+")
        await pick(play, "a new plan", "maintenance wash")
        await play.press("esc")
        assert play.sheet.title == "The new plan is not written yet."
        await play.press("esc")
        assert play.sheet.title.startswith("New plan: ")
        await play.press("esc", "l")
        assert not play.sheet.is_open and not (tmp_path / "plans").exists()


async def test_what_no_file_may_say_is_said_and_the_new_plan_stays(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        await play.press("+")
        await pick(play, "a new plan", "maintenance wash", "called")
        await play.type("x" * 70)
        await play.press("w")
        assert "write at most 60" in play.text
        assert play.sheet.title.startswith("New plan: ")
        await pick(play, "Wash:", "minutes, amounts", "a step is added", "take out")
        assert "A stage begins and ends" in play.text
        assert not (tmp_path / "plans").exists()


async def test_a_full_disk_leaves_no_file_and_the_new_plan_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with played(tmp_path, on=False) as play:
        await play.press("+")
        await pick(play, "a new plan", "maintenance wash")
        real = os.fsync

        def full(handle: int) -> Any:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

        monkeypatch.setattr(os, "fsync", full)
        await play.press("w")
        monkeypatch.setattr(os, "fsync", real)
        assert "cannot be written: No space left on device" in play.text.replace("\n", " ")
        assert play.sheet.title.startswith("New plan: ")
        assert list((tmp_path / "plans").iterdir()) == []
        await play.press("w")
        assert [path.name for path in (tmp_path / "plans").iterdir()] == ["maintenance_wash.toml"]


async def test_a_pack_of_the_shelf_takes_the_place_of_a_product(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        bench = play.bench
        bench.do(_opened)
        await play.press("+")
        await pick(play, "a new plan", "maintenance wash", "products from the shelf")
        await pick(play, "Shampoo", "Blue soap")
        await play.press("w")
        (made,) = (tmp_path / "plans").iterdir()
        plan = read_plan(made.read_text(encoding="utf-8"), "made")
        assert plan.product("soap") is not None and plan.product("shampoo") is None


def _opened(scene: Any) -> Any:
    from cartclock.engine.facts.rows import Draft

    return (Draft(ev.PackOpened("soap", 1000.0, "ml", name="Blue soap")),)
