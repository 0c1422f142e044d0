"""Plans as text: what is written reads back to the same plan, and a derived file keeps the rest."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from cartclock.engine.plan.plan import Gap, Plan, Product, Stage, Use, Wait, Work
from cartclock.engine.store.plan_file.derived import derived
from cartclock.engine.store.plan_file.reader import read_plan, starter, starters
from cartclock.engine.store.plan_file.writer import plan_text
from cartclock.engine.trouble import PlanFault, Refused
from tests.kit.any_plan import plans


@settings(max_examples=15)
@given(plans())
def test_a_plan_reads_back_as_it_was(plan: Plan) -> None:
    text = plan_text(plan)
    tomllib.loads(text)
    assert read_plan(text, "plan") == plan


@settings(max_examples=10)
@given(plans(), plans())
def test_any_plan_is_derived_from_any_other(one: Plan, other: Plan) -> None:
    text = plan_text(one)
    made = derived(text, other)
    assert read_plan(made, "plan") == other
    assert derived(text, one) == text


def commented(text: str) -> str:
    """A comment above every table and behind every line."""
    lines = []
    for number, line in enumerate(text.splitlines()):
        if line.startswith("[["):
            lines.append(f"# above {number}")
        lines.append(f"{line}  # behind {number}" if line and line[-1] not in "[," else line)
    return "\n".join(lines) + "\n"


@settings(max_examples=15)
@given(plans(), st.data())
def test_comments_stay_with_what_did_not_change(plan: Plan, data: st.DataObject) -> None:
    """The stages in another order, and one with a step more."""
    # A remedy names stages before its own, which another order would put behind it.
    bare = tuple(replace(stage, high_spot=()) for stage in plan.stages)
    text = commented(plan_text(replace(plan, stages=bare)))
    order = data.draw(st.permutations(bare))
    more = replace(order[-1], steps=(*order[-1].steps, Work("inspect", 3.0)))
    other = replace(plan, stages=(*order[:-1], more))
    made = derived(text, other)
    assert read_plan(made, "plan") == other
    assert sorted(made.splitlines()) == sorted(
        [*text.splitlines(), "[[stage.step]]", 'work = "inspect"', "minutes = 3"]
        + [""] * (made.count("\n\n") - text.count("\n\n"))
    )


@pytest.mark.parametrize("name", starters())
def test_only_the_lines_of_what_changed_are_others(name: str) -> None:
    text = starter(name)
    plan = read_plan(text, name)
    for place, stage in enumerate(plan.stages):
        steps = tuple(
            replace(step, closes_s=step.closes_s + 30, example=False)
            if isinstance(step, Wait)
            else step
            for step in stage.steps
        )
        others = (*plan.stages[:place], replace(stage, steps=steps), *plan.stages[place + 1 :])
        other = replace(plan, stages=others)
        made = derived(text, other)
        assert read_plan(made, name) == other
        gone = set(text.splitlines()) - set(made.splitlines())
        assert all(line.startswith(("closes =", "example =")) for line in gone), gone
        assert made.count("#") == text.count("#") - sum(
            "#" in line for line in gone if line.startswith("example")
        )


def test_windows_line_ends_and_a_mark_in_front_stay() -> None:
    text = "\ufeff" + starter("maintenance_wash").replace("\n", "\r\n")
    plan = read_plan(text, "wash")
    work = plan.stages[0].steps[0]
    assert isinstance(work, Work)
    first = replace(plan.stages[0], steps=(replace(work, minutes=99.5), *plan.stages[0].steps[1:]))
    other = replace(plan, stages=(first, *plan.stages[1:]))
    made = derived(text, other)
    assert read_plan(made, "wash") == other
    assert made.startswith("\ufeff") and made.count("\r\n") == text.count("\r\n")


def test_tables_of_their_own_inside_a_stage_and_below_it_are_found() -> None:
    text = """format = 1
name = "Wash"
[[stage]]  # the only one
name = "Coat"
sections = ["roof"]
layers = 2
[stage.gap]
opens = "1h"  # of the pack
closes = "9h"
[[stage.step]]
work = "apply"
[stage.step.uses]
coat = 10  # drops
[[product]]
id = "coat"
name = "Coating"
[rhythm]
work = "50m"
rest = "10m"
"""
    plan = read_plan(text, "coat")
    work = plan.stages[0].steps[0]
    assert isinstance(work, Work)
    stage = replace(
        plan.stages[0],
        gap=Gap(7200, 7200, 32400),
        steps=(replace(work, minutes=2.0, uses=(Use("coat", 12.0),)),),
    )
    other = replace(plan, stages=(stage,))
    made = derived(text, other)
    assert read_plan(made, "coat") == other
    assert "# the only one" in made and '[rhythm]\nwork = "50m"' in made


def test_what_stands_in_another_way_is_refused_and_nothing_is_guessed() -> None:
    text = (
        'format = 1\nname = "Wash"\n[[stage]]\nname = "Wash"\nsections = ["roof"]\n'
        'step = [{ work = "wash", minutes = 4 }]\n'
    )
    plan = read_plan(text, "wash")
    other = replace(plan, stages=(replace(plan.stages[0], steps=(Work("wash", 5.0),)),))
    with pytest.raises(Refused, match="by hand"):
        derived(text, other)


def test_what_a_file_must_not_say_is_refused_with_what_would_be_right() -> None:
    plan = Plan("Wash", (Stage("Wash", ("roof",), (Work("wash", 5.0), Wait("dwell", 1, 2, 3))),))
    with pytest.raises(PlanFault, match="a stage cannot end with a wait; add the work"):
        plan_text(plan)
    text = plan_text(replace(plan, stages=(replace(plan.stages[0], steps=(Work("wash", 5.0),)),)))
    with pytest.raises(PlanFault, match="a stage cannot end with a wait; add the work"):
        derived(text, plan)


def test_what_no_file_has_words_for_is_refused() -> None:
    """Priming of one of two products: the file's word for it names none of them."""
    uses = (Use("a", 1.0, 2.0), Use("b", 1.0))
    found = (Product("a", "A"), Product("b", "B"))
    plan = Plan("Wash", (Stage("Wash", ("roof",), (Work("wash", 5.0, uses),)),), found)
    with pytest.raises(Refused, match="No plan file has words"):
        plan_text(plan)
