"""Plan files: good ones read whole, bad ones faulted whole, never anything else."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.plan.plan import Gap, Handover, HighSpot, Plan, Use, Wait, Wear, Work
from cartclock.engine.store.plan_file.reader import plan_digest, read_plan
from cartclock.engine.trouble import PlanFault

CP = "common practice, no source"
BAD = sorted((Path(__file__).parent / "bad_plans").glob("*.toml"))
DAY_S = 86_400

GOOD = (Path(__file__).parent / "good_plan.toml").read_text(encoding="utf-8")


def good() -> Plan:
    return read_plan(GOOD, "plan.toml")


def faults(text: str) -> tuple[str, ...]:
    with pytest.raises(PlanFault) as caught:
        read_plan(text, "plan.toml")
    return caught.value.faults


def without_flash_keys(line: str) -> str:
    return GOOD.replace('closes = "5m30s"\n', line)


class TestGoodPlan:
    def test_products_and_tools(self) -> None:
        plan = good()
        fallout = plan.product("fallout")
        assert fallout is not None
        assert (fallout.unit, fallout.pack, fallout.price, fallout.mix) == (
            "ml",
            1000.0,
            "18.50",
            "1 in 10",
        )
        assert fallout.hazards == ("H317",)
        (tool,) = plan.tools
        assert tool.name == tool.id == "polisher"
        assert tool.vibration is not None
        assert (tool.vibration.a, tool.vibration.k, tool.vibration.contact) == (4.5, 1.5, 0.8)

    def test_a_bottle_may_be_calibrated(self) -> None:
        text = GOOD.replace('unit = "drops"', 'unit = "drops"\ndrops_per_ml = 22.5')
        coat = read_plan(text, "plan.toml").product("coat")
        assert coat is not None and coat.drops_per_ml == 22.5
        plain = good().product("coat")
        assert plain is not None and plain.drops_per_ml is None

    def test_a_plain_stage(self) -> None:
        stage = good().stages[0]
        assert stage.sections == ("left side", "low doors")
        assert (stage.effort_of("left side"), stage.effort_of("low doors")) == ("light", "heavy")
        assert stage.steps == (
            Work(say="spray", minutes=1.5, uses=(Use("fallout", 60.0),)),
            Wait(say="dwell", opens_s=120, due_s=120, closes_s=300),
            Work(say="rinse", minutes=3.0, over="all"),
        )

    def test_a_coat_stage(self) -> None:
        stage = good().stages[1]
        assert stage.sections[:3] == ("driver mirror", "driver front wing", "front bumper")
        assert stage.sections[3:7] == ("roof left", "roof right", "bonnet left", "bonnet right")
        assert stage.sections[-1] == "driver front door"
        assert stage.panel("bonnet left") == "bonnet"
        assert stage.effort_of("driver sill") == "heavy"
        assert stage.gap == Gap(3600, 3 * 3600, DAY_S, example=True)
        assert stage.cure is not None
        assert (stage.cure.below_c, stage.cure.then_s) == (15.0, DAY_S)
        assert stage.high_spot == (HighSpot("re-wet and level", 1800), HighSpot("polish out"))
        assert stage.condition is not None
        assert (stage.condition.quantity, stage.condition.below, stage.condition.value) == (
            "panel_c",
            True,
            30.0,
        )
        assert stage.trial
        apply = stage.steps[0]
        assert isinstance(apply, Work)
        assert apply.uses == (Use("coat", 10.0, 15.0),)
        assert apply.tool == "polisher"

    def test_a_section_may_weigh_more_than_another(self) -> None:
        weights = 'weights = { bonnet = 1.5, "bonnet left" = 2, "driver mirror" = 0.4 }'
        text = GOOD.replace('effort_by = "body"\n', f'effort_by = "body"\n{weights}\n')
        stage = read_plan(text, "plan.toml").stages[1]
        told = [stage.weight_of(name) for name in ("bonnet left", "bonnet right", "driver mirror")]
        assert told == [2.0, 1.5, 0.4]
        apply = stage.steps[0]
        assert isinstance(apply, Work)
        both = stage.minutes_of(apply, ("bonnet left", "roof left"))
        assert both == pytest.approx(apply.minutes * 3.0)
        plain = good().stages[1]
        assert (plain.weight_of("bonnet left"), plain.usual_weight) == (1.0, 1.0)
        # What one press covers whole takes what the step says.
        rinse = good().stages[0].steps[2]
        assert isinstance(rinse, Work)
        assert stage.minutes_of(rinse, stage.sections) == rinse.minutes

    def test_a_step_may_wear_a_pad_and_a_towel(self) -> None:
        pad = 'pad = { name = "soft pad", sections = 4 }'
        towel = 'towel = { name = "short towel", sections = 1 }'
        tool = 'tool = "polisher"\n'
        plan = read_plan(GOOD.replace(tool, f"{tool}{pad}\n{towel}\n"), "plan.toml")
        (wearing,) = [
            step
            for stage in plan.stages
            for step in stage.steps
            if isinstance(step, Work) and step.tool
        ]
        assert wearing.wears == (Wear("pad", "soft pad", 4), Wear("towel", "short towel", 1))

    def test_aftercare(self) -> None:
        dry, look = good().aftercare
        assert (dry.until, dry.after, dry.if_not, dry.visit) == (
            "PT48H",
            "Coat",
            "Dry it at once.",
            False,
        )
        assert (look.from_, look.every, look.times, look.visit, look.after) == (
            "P7D",
            "P6M",
            4,
            True,
            "",
        )

    def test_a_flash_takes_what_it_lacks_from_its_label(self) -> None:
        flash = good().stages[1].steps[1]
        assert isinstance(flash, Wait)
        # Smallest low of both rows; sqrt(60 * 180) = 103.9 of the first row; closes as written.
        assert (flash.opens_s, flash.due_s, flash.closes_s) == (40, 104, 330)
        assert [row.air_c for row in flash.label] == [20.0, None]

    def test_a_flash_without_closes_ends_with_its_label(self) -> None:
        flash = read_plan(without_flash_keys(""), "plan.toml").stages[1].steps[1]
        assert isinstance(flash, Wait)
        assert flash.closes_s == 200

    def test_a_flash_keeps_the_marks_it_writes(self) -> None:
        text = without_flash_keys('opens = "10s"\ndue = "20s"\ncloses = "30s"\n')
        flash = read_plan(text, "plan.toml").stages[1].steps[1]
        assert isinstance(flash, Wait)
        assert (flash.opens_s, flash.due_s, flash.closes_s) == (10, 20, 30)

    def test_how_long_the_vehicle_stays_after_the_coat(self) -> None:
        key = 'handover = { not_before = "PT12H", after = "Coat", source = "label of the pack" }'
        plan = read_plan(GOOD.replace("format = 1\n", f"format = 1\n{key}\n"), "plan.toml")
        assert plan.handover == Handover("PT12H", "Coat", "label of the pack")
        assert good().handover is None

    def test_the_body_and_what_its_sections_cover(self) -> None:
        assert (good().shape, good().covers) == ("estate", {})
        told = 'shape = "estate"\ncovers = { "left side" = ["passenger sill", "roof"] }\n'
        plan = read_plan(told + GOOD, "plan.toml")
        assert plan.covers == {"left side": ("passenger sill", "roof")}
        assert replace(plan, covers={}) == good()
        # Of two bodies neither is the plan's.
        both = GOOD.replace('["left side", "low doors"]', '{ body = "van" }').replace(
            'effort_by = { "low doors" = "heavy" }\n', ""
        )
        assert read_plan(both, "plan.toml").shape == ""

    def test_a_byte_order_mark_and_other_line_ends_change_nothing(self) -> None:
        assert read_plan("\ufeff" + GOOD.replace("\n", "\r\n"), "plan.toml") == good()

    def test_spaces_at_the_ends_of_a_name_are_cut(self) -> None:
        assert read_plan(GOOD.replace('"Coating"', '" Coating "'), "plan.toml") == good()

    def test_how_long_what_was_laid_stays_dry(self) -> None:
        text = GOOD.replace('id = "coat"\n', 'id = "coat"\ndry = "48h"\nif_wet = "Dry it."\n', 1)
        assert text != GOOD
        coat, fallout = (read_plan(text, "plan.toml").product(key) for key in ("coat", "fallout"))
        assert coat is not None and fallout is not None
        assert (coat.dry_s, coat.if_wet) == (2 * DAY_S, "Dry it.")
        assert (fallout.dry_s, fallout.if_wet) == (None, "")

    @pytest.mark.parametrize(
        "mix", ["ready", "10:1", "1:10", "10", "2.5 : 1", "1 in 10", "5 %", "5%", "0.00001 %"]
    )
    def test_mixing_ratios(self, mix: str) -> None:
        plan = read_plan(GOOD.replace("1 in 10", mix), "plan.toml")
        assert plan.products[0].mix == mix

    def test_ready_is_one_word_however_it_is_written(self) -> None:
        plan = read_plan(GOOD.replace("1 in 10", "READY"), "plan.toml")
        assert plan.products[0].mix == "ready"

    @pytest.mark.parametrize("mix", ["-10:1", "0 in 10", "; write me", "10:1:1", "1e3:1", "ready!"])
    def test_what_is_no_mixing_ratio_is_shown_once(self, mix: str) -> None:
        (fault,) = faults(GOOD.replace("1 in 10", mix))
        assert fault.startswith('plan.toml: product 1: mix: "' + mix + '"')
        assert fault.count(mix) == 1
        assert fault.endswith('or "5 %"')


class TestBadPlans:
    def test_there_are_enough_of_them(self) -> None:
        assert len(BAD) >= 30

    @pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
    def test_every_fault_is_named(self, path: Path) -> None:
        found = faults(path.read_text(encoding="utf-8"))
        golden = path.with_suffix(".txt").read_text(encoding="utf-8")
        assert "\n".join(found) + "\n" == golden

    def test_a_fault_never_breaks_its_line(self) -> None:
        found = faults(GOOD.replace('"Coat"\nkind', '"Co\\nat\\u202e"\nkind'))
        assert all(line.isprintable() for line in found)
        assert any("U+000A" in line for line in found)

    def test_numbers_with_thousands_of_digits_are_faults(self) -> None:
        for digits in ("9" * 400, "9" * 5000, "0x" + "f" * 5000):
            (found,) = faults(GOOD.replace("minutes = 3\n", f"minutes = {digits}\n"))
            assert found.startswith("plan.toml: ")

    def test_endless_nesting_is_a_fault(self) -> None:
        (found,) = faults("a = " + "[" * 100_000)
        assert "nested too deep" in found

    def test_an_empty_file_lacks_three_keys(self) -> None:
        assert [line.split(": ")[1] for line in faults("")] == ["format", "name", "stage"]

    def test_first_is_no_id(self) -> None:
        found = faults(GOOD.replace('id = "coat"', 'id = "first"'))
        assert any("choose another id" in line for line in found)


@pytest.mark.parametrize(
    ("text", "digest"),
    [("abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad")],
    ids=["FIPS 180-4 one-block message abc, from memory"],
)
def test_the_digest_is_sha256_in_hex(text: str, digest: str) -> None:
    assert plan_digest(text) == digest


def test_the_digest_is_of_the_utf_8_bytes() -> None:
    assert plan_digest("é") == hashlib.sha256(b"\xc3\xa9").hexdigest()
    assert len(plan_digest("\udc80")) == 64
