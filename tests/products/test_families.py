"""Every family, every two families and every family on top of every other: none left out.

What must not meet is written out here once more, from memory or common practice, no source: the
table of the program is checked against it, and whoever adds a family has to say what it meets.
"""

from __future__ import annotations

from itertools import combinations_with_replacement, product

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.turn import Turn
from cartclock.engine.paper.chapters.products import data_sheet
from cartclock.engine.plan.plan import Plan, Product, Stage, Use, Work
from cartclock.engine.products.chemistry import (
    FAMILIES,
    FLUORIDE,
    family_name,
    family_of,
    meeting_notice,
    meeting_remarks,
)
from cartclock.engine.products.reminders import first_use, key_of, plan_remarks, reminders
from cartclock.engine.rules import rules
from cartclock.engine.trouble import Asks
from tests.kit.book import JOB, Book, us
from tests.kit.plans import opening

# Each family with those it must not meet, both ways.
MUST_NOT_MEET: dict[str, set[str]] = {
    "fluoride": {"bleach", "thioglycolate"},
    "acid": {"bleach", "thioglycolate"},
    "bleach": {"fluoride", "acid", "ammonia"},
    "ammonia": {"bleach"},
    "thioglycolate": {"fluoride", "acid"},
    "solvent": set(),
    "alkaline": set(),
    "neutral": set(),
    "coating": set(),
    "sealant": set(),
    "polish": set(),
}
# A worker is stopped once before the first use of what can hurt at once.
ASKED = {"fluoride", "acid", "bleach", "ammonia", "thioglycolate", "solvent"}
# A page before the work says nothing of what only wets, fills or shines.
SILENT = {"neutral", "sealant", "polish"}
NAMES = [family.name for family in FAMILIES]
SPOT = ("bonnet",)


def of(name: str, family: str) -> Product:
    return Product(name, name, family=family)


def plan(*families: str) -> Plan:
    """A plan that uses a product of each family on one panel, stage by stage, and never rinses."""
    names = [f"product {number}" for number in range(len(families))]
    stages = tuple(Stage(name, SPOT, (Work("spread", 1.0, (Use(name, 5.0),)),)) for name in names)
    return Plan("tiny", stages, tuple(map(of, names, families)))


def begun(*families: str) -> Book:
    """The job of that plan, with the worker on the clock and nothing done."""
    found, planned = Book(), plan(*families)
    found.press(0, replace(opening(*planned.stages), plan=planned))
    found.press(0, ev.ClockedOn("carport"))
    return found


def take_up(number: int) -> Move:
    return Move("take up", JOB, f"product {number}", SPOT)


def test_the_families_are_these() -> None:
    assert set(NAMES) == set(MUST_NOT_MEET)
    assert len(NAMES) == len(set(NAMES))
    for name, others in MUST_NOT_MEET.items():
        assert all(name in MUST_NOT_MEET[other] for other in others)


@pytest.mark.parametrize(("one", "other"), combinations_with_replacement(NAMES, 2))
def test_a_plan_names_every_two_that_must_not_meet_and_no_others(one: str, other: str) -> None:
    for first, second in ((one, other), (other, one)):
        planned = plan(first, second.upper())
        named = meeting_remarks(planned)
        assert len(named) == (second in MUST_NOT_MEET[first])
        for sentence in named:
            names = f"product 0 ({first}) and product 1 ({second})"
            assert sentence.startswith(f"{names} must not meet: ")
            assert sentence.endswith(("from memory).", "no source)."))
        assert tuple(line for line in plan_remarks(planned) if "must not meet" in line) == named


@pytest.mark.parametrize(("below", "above"), product(NAMES, NAMES))
def test_on_a_panel_every_family_is_told_from_every_other(below: str, above: str) -> None:
    book = begun(below, above)
    assert meeting_notice(book.job(), take_up(1), us(5)) == ""
    book.press(10, ev.WorkStarted("product 0", SPOT, Turn()))
    book.press(20, ev.StepFinished("product 0", SPOT, Turn()))
    told = meeting_notice(book.job(), take_up(1), us(30))
    assert bool(told) is (above in MUST_NOT_MEET[below])
    if told:
        assert told == (
            "bonnet: product 0 was used there and no rinse was finished since. "
            "product 1 must not meet it: rinse it off fully first."
        )


@pytest.mark.parametrize("name", NAMES)
def test_a_family_is_known_and_says_before_the_work_what_it_has_to_say(name: str) -> None:
    spelled = of("a", f" {name.title()} ")
    family = family_of(spelled)
    assert family is not None
    assert family.name == name
    assert f"family: {name}" in data_sheet(plan(name), spelled)
    page = reminders([plan(name)])
    assert [one.says for one in page.reminders] == ([] if name in SILENT else [family.says])
    assert [one.strong for one in page.reminders] == ([] if name in SILENT else [name == FLUORIDE])
    # Nothing is said of a family that the check calls unknown.
    assert not any("not known here" in line for line in plan_remarks(plan(name)))


def test_a_name_of_two_words_is_one_however_it_is_spaced() -> None:
    assert family_name(of("a", " Two\t  Words ")) == "two words"
    assert not any(line.startswith("family:") for line in data_sheet(plan(), of("a", " ")))


@pytest.mark.parametrize("name", NAMES)
def test_the_first_use_of_a_family_is_asked_about_where_it_can_hurt(name: str) -> None:
    book = begun(name)
    new = replace(book.scene(5), known_products=frozenset)
    had = frozenset({key_of(of("product 0", name))})
    known = replace(book.scene(5), known_products=lambda: had)
    for scene, asked in ((new, name in ASKED), (known, name == FLUORIDE)):
        question = first_use(book.job(), take_up(0), scene.known_products)
        assert bool(question) is asked
        if asked:
            with pytest.raises(Asks) as no:
                rules.take_up(scene, take_up(0))
            assert (no.value.rule_id, str(no.value)) == ("first_use", question)
        else:
            assert rules.take_up(scene, take_up(0))
