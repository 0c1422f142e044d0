"""What must not meet: in a plan, and on the sections of a job."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.shift import Hands
from cartclock.engine.facts.turn import Turn
from cartclock.engine.plan.plan import Plan, Product, Stage, Use, Work
from cartclock.engine.products.chemistry import (
    FAMILIES,
    PAIRS,
    meeting_notice,
    meeting_notices,
    meeting_remarks,
    same_place,
    unknown_families,
)
from tests.kit.book import JOB, Book, us
from tests.kit.plans import opening

ACID = Product("acid", "Wheel acid", family="Fluoride ")
FALLOUT = Product("fallout", "Fallout remover", family="thioglycolate")
BLEACH = Product("bleach", "Mould remover", family="bleach")
GLASS = Product("glass", "Glass cleaner", family="ammonia")
SHAMPOO = Product("shampoo", "Shampoo", family="neutral")
NAMELESS = Product("x", "Something")
ALL = (ACID, FALLOUT, BLEACH, GLASS, SHAMPOO, NAMELESS)

LEFT, RIGHT = "front left wheel", "front right wheel"
WHEELS = Stage(
    "Wheels",
    (LEFT, RIGHT),
    (Work("spray", 1.0, (Use("acid", 40.0),)), Work("rinse", 1.0)),
    order="all",
)
IRON = Stage("Iron", (LEFT, "bonnet"), (Work("spray", 1.0, (Use("fallout", 40.0),)),))
SPRAY = Move("take up", JOB, "Iron", (LEFT,))


def plan(*products: Product) -> Plan:
    return Plan("tiny", (), products)


def book(*stages: Stage) -> Book:
    found = Book()
    found.press(0, replace(opening(*stages), plan=Plan("tiny", stages, ALL)))
    found.press(0, ev.ClockedOn("carport"))
    return found


def finish(found: Book, at_s: int, stage: str, sections: Sequence[str], step: int = 0) -> None:
    names = tuple(sections)
    found.press(at_s, ev.WorkStarted(stage, names, Turn(1, 1, step)))
    found.press(at_s + 5, ev.StepFinished(stage, names, Turn(1, 1, step)))


def notice(found: Book, at: Move | Hands | None = SPRAY, at_s: int = 100) -> str:
    return meeting_notice(found.job(), at, us(at_s))


# In a plan.


@pytest.mark.parametrize(
    ("one", "other", "why"),
    [
        ("acid", "bleach", "chlorine gas"),
        ("fluoride", "bleach", "chlorine gas"),
        ("acid", "thioglycolate", "without a full rinse between"),
        ("fluoride", "thioglycolate", "without a full rinse between"),
        ("bleach", "ammonia", "chloramine"),
    ],
    ids=lambda value: f"{value}, from memory or common practice, no source",
)
def test_pairs_are_named_in_either_order_with_their_source(one: str, other: str, why: str) -> None:
    first, second = Product("a", "First", family=one), Product("b", "Second", family=other.upper())
    for pair in ((first, second), (second, first)):
        (sentence,) = meeting_remarks(plan(*pair))
        assert "First" in sentence and "Second" in sentence
        assert why in sentence
        assert "memory" in sentence or "common practice" in sentence


def test_what_may_meet_is_not_named() -> None:
    assert meeting_remarks(plan(SHAMPOO, ACID, NAMELESS, replace(ACID, id="acid2"))) == ()
    assert len(meeting_remarks(plan(*ALL))) == 3
    assert meeting_remarks(plan()) == ()


def test_every_family_of_a_pair_is_known_and_says_something() -> None:
    known = {family.name: family for family in FAMILIES}
    for pair in PAIRS:
        for name in pair.one | pair.other:
            assert known[name].says and known[name].short, name
    for family in FAMILIES:
        assert family.source and family.what
        assert all(sentence.endswith(".") for sentence in family.says)


def test_an_unknown_family_is_told_with_the_near_miss() -> None:
    near = replace(FALLOUT, family="thioglycolat")
    far = replace(FALLOUT, name="Jelly", family="zzz")
    first, second = unknown_families(plan(near, far, SHAMPOO, NAMELESS))
    assert first.endswith('did you mean "thioglycolate"?')
    assert first.startswith('Fallout remover: the family "thioglycolat" is not known here')
    assert "known are fluoride, acid, bleach" in second


# On the same spot.


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("bonnet", "Bonnet", True),
        ("wheels", "front left wheel", True),
        ("left wheels", "front left wheel", True),
        ("front left wheel", "front right wheel", False),
        ("front left wheel", "rear left wheel", False),
        ("wheel", "door", False),
        ("whole car", "front left wheel", True),
        ("left side", "right side", False),
        ("left", "right", False),
        ("", "bonnet", False),
    ],
    ids=lambda value: f"{value}, our own judgement",
)
def test_names_of_the_same_spot(one: str, other: str, same: bool) -> None:
    assert same_place(one, other) is same
    assert same_place(other, one) is same


# In a job.


def test_a_family_on_top_of_its_other_is_told_until_a_rinse_is_finished() -> None:
    found = book(WHEELS, IRON)
    assert notice(found) == ""
    finish(found, 10, "Wheels", (LEFT, RIGHT))
    assert notice(found) == (
        f"{LEFT}: Wheel acid was used there and no rinse was finished since. "
        "Fallout remover must not meet it: rinse it off fully first."
    )
    finish(found, 20, "Wheels", (LEFT,), step=1)
    assert notice(found) == ""


def test_the_rinse_of_another_wheel_is_none() -> None:
    found = book(WHEELS, IRON)
    finish(found, 10, "Wheels", (LEFT, RIGHT))
    finish(found, 20, "Wheels", (RIGHT,), step=1)
    assert notice(found)


def test_a_rinse_before_the_acid_is_none() -> None:
    found = book(Stage("Rinse", (LEFT,), (Work("rinse", 1.0),)), WHEELS, IRON)
    finish(found, 10, "Rinse", (LEFT,))
    finish(found, 20, "Wheels", (LEFT,))
    assert notice(found)


def test_a_rinse_in_hand_ends_with_the_next_press_and_one_put_down_does_not() -> None:
    found = book(WHEELS, IRON)
    finish(found, 10, "Wheels", (LEFT,))
    found.press(20, ev.WorkStarted("Wheels", (LEFT,), Turn(1, 1, 1)))
    assert notice(found) == ""
    found.press(30, ev.WorkPutDown("Wheels", (LEFT,), Turn(1, 1, 1)))
    assert notice(found)


def test_acid_in_hand_or_put_down_is_on_the_wheel() -> None:
    found = book(WHEELS, IRON)
    found.press(10, ev.WorkStarted("Wheels", (LEFT,), Turn()))
    assert notice(found)
    found.press(20, ev.WorkPutDown("Wheels", (LEFT,), Turn()))
    assert notice(found)


def test_other_sections_other_products_and_nothing_are_no_notice() -> None:
    found = book(WHEELS, IRON)
    finish(found, 10, "Wheels", (LEFT, RIGHT))
    assert notice(found, replace(SPRAY, sections=("bonnet",))) == ""
    assert notice(found, Move("take up", JOB, "Wheels", (LEFT,), Turn(1, 1, 1))) == ""
    assert notice(found, None) == ""
    assert notice(found, Move("close", JOB)) == ""
    assert notice(found, replace(SPRAY, job="job-9")) == ""
    assert notice(found, replace(SPRAY, turn=Turn(1, 1, 7))) == ""


def test_it_goes_the_other_way_round_and_for_what_is_in_hand() -> None:
    found = book(IRON, WHEELS)
    finish(found, 10, "Iron", (LEFT,))
    found.press(20, ev.WorkStarted("Wheels", (LEFT,), Turn()))
    hands = Hands(JOB, "Wheels", (LEFT,), Turn())
    said = notice(found, hands)
    assert said.startswith(f"{LEFT}: Fallout remover was used there")
    assert meeting_notices(found.jobs(), hands, SPRAY, us(30))[0] == said
    assert meeting_notices(found.jobs(), None, None, us(30)) == ()


def test_a_panel_tells_where_a_section_with_another_name_lies() -> None:
    rims = Stage(
        "Rims", ("rim 1",), (Work("spray", 1.0, (Use("acid", 1.0),)),), panels={"rim 1": LEFT}
    )
    found = book(rims, IRON)
    finish(found, 10, "Rims", ("rim 1",))
    assert notice(found)
