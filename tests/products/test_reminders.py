"""The page before the work, and the question before the first use."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import believed_rows
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.now.scene import Scene
from cartclock.engine.plan.plan import Plan, Product, Stage, Use, Wait, Work
from cartclock.engine.products.chemistry import FLUORIDE_SAYS
from cartclock.engine.products.reminders import (
    NO_AUTHORITY,
    NO_FOOD_BOTTLES,
    PRODUCT_INTO_WATER,
    SECTION_8,
    first_use,
    key_of,
    plan_remarks,
    reminders,
    touched,
    used_products,
)
from cartclock.engine.rules import rules
from cartclock.engine.trouble import Asks
from tests.kit.book import JOB, Book
from tests.kit.plans import opening

ACID = Product("acid", "Wheel acid", family="fluoride", hazards=("Danger", "H314"), mix="10:1")
WIPE = Product("wipe", "Panel wipe", family="solvent")
SOAP = Product("soap", "Soap", family="neutral")
ODD = Product("odd", "Odd stuff", hazards=("H317",))
SPARE = Product("spare", "Bleach on the shelf", family="bleach")
ALL = (SOAP, WIPE, ACID, ODD, SPARE)
STAGE = Stage(
    "Wheels",
    ("left", "right"),
    (
        Work("spray", 1.0, (Use("acid", 40.0), Use("soap", 1.0))),
        Wait("dwell", 60, 90, 300),
        Work("rinse", 1.0),
    ),
    order="wave",
)
LAST = Stage("Wipe", ("bonnet",), (Work("wipe", 1.0, (Use("wipe", 5.0), Use("odd", 1.0))),))
FOAM = Product("foam", "Foam", family="alkaline")
WASHING = Stage("Wash", ("roof",), (Work("foam", 1.0, (Use("foam", 5.0),)),))
UP = Move("take up", JOB, "Wheels", ("left",))
WIPING = Move("take up", JOB, "Wipe", ("bonnet",))
PLAN = Plan("tiny", (STAGE, LAST), ALL)


def book(plan: Plan = PLAN) -> Book:
    found = Book()
    found.press(0, replace(opening(*plan.stages), plan=plan))
    found.press(0, ev.ClockedOn("carport"))
    return found


def scene(found: Book, at_s: float, *known: str) -> Scene:
    return replace(found.scene(at_s), known_products=lambda: frozenset(known))


# The page.


def test_the_page_has_what_is_used_the_strongest_first() -> None:
    page = reminders([PLAN])
    assert [one.product for one in page.reminders] == ["Wheel acid", "Panel wipe", "Odd stuff"]
    acid, wipe, odd = page.reminders
    assert acid.strong and not wipe.strong
    assert acid.heading == "Wheel acid: Danger, H314"
    assert wipe.heading == "Panel wipe: no H-codes in the plan; read its data sheet"
    assert odd.says == ()
    assert "MMWR 64(32) 2015" in acid.source
    assert page.general == (PRODUCT_INTO_WATER, NO_FOOD_BOTTLES, SECTION_8, NO_AUTHORITY)
    # What stands on the shelf meets what is used.
    assert any("Bleach on the shelf" in sentence for sentence in page.meets)
    text = "\n".join(page.in_full)
    for words in ("pain comes late", "rinse at once", "medical help", "no flame", "H317"):
        assert words in text


def test_what_is_to_be_read_is_a_sentence_each_and_what_is_strong_and_new_in_full() -> None:
    assert reminders([PLAN], known=frozenset({"wheel acid", "odd stuff"})).lines == (
        "Wheel acid (Danger, H314): burns deep and hurts late; on skin rinse at once and get "
        "medical help.",
        "New on this cart: Panel wipe: no flame, no spark; open the door.",
        "Odd stuff (H317): read its data sheet.",
        "Wheel acid (fluoride) and Bleach on the shelf (bleach) must not meet.",
    )
    new = reminders([PLAN], known=frozenset())
    assert new.lines[:2] == ("New on this cart: Wheel acid: Danger, H314", f"  {FLUORIDE_SAYS[0]}")
    # A family of which nothing is asked says all it has.
    foam = Plan("foam", (WASHING,), (FOAM,))
    assert reminders([foam]).lines == (
        "Foam: Alkaline: keep it out of the eyes and never let it dry.",
    )


@pytest.mark.parametrize(
    "words",
    ["about 530 ppm", "the short-term limit is 500", "screening estimate"],
    ids=lambda words: f"NIOSH Pocket Guide, isopropyl alcohol: {words}",
)
def test_the_solvent_says_what_a_closed_garage_does(words: str) -> None:
    assert words in " ".join(reminders([PLAN]).in_full)


def test_silenced_it_still_says_fluoride() -> None:
    page = reminders([PLAN], fluoride_only=True)
    assert [one.product for one in page.reminders] == ["Wheel acid"]
    assert page.meets == page.general == ()
    calm = replace(PLAN, stages=(LAST,))
    assert reminders([calm], fluoride_only=True).lines == ()


def test_the_same_product_of_two_plans_comes_once_and_nothing_says_nothing() -> None:
    assert reminders([PLAN, PLAN]) == reminders([PLAN])
    assert reminders([]).lines == ()
    assert reminders([Plan("soap", (), (SOAP,))]).lines == ()


def test_a_check_says_the_pairs_the_fluoride_and_the_unknown() -> None:
    pair, acid, unknown = plan_remarks(
        replace(PLAN, products=(SOAP, WIPE, ACID, replace(ODD, family="sope"), SPARE))
    )
    assert "must not meet" in pair
    assert acid.startswith("Wheel acid: Danger, H314: Fluoride goes deep")
    assert '"sope" is not known here' in unknown
    assert plan_remarks(Plan("soap", (), (SOAP,))) == ()


# The first use.


def test_fluoride_is_asked_about_in_every_job_and_the_reason_stands_in_the_log() -> None:
    found = book()
    with pytest.raises(Asks, match=r"^Wheel acid \(Danger, H314\): burns deep") as asked:
        rules.take_up(scene(found, 5, key_of(ACID)), UP)
    assert asked.value.rule_id == "first_use"
    (draft,) = rules.take_up(scene(found, 5, key_of(ACID)), UP, {"first_use": "read"})
    assert draft.event == ev.WorkStarted("Wheels", ("left",), Turn(), {"first_use": "read"})


def test_it_is_asked_once() -> None:
    found = book()
    found.do(5, rules.take_up, UP, {"first_use": "read"})
    right = replace(UP, sections=("right",))
    assert rules.take_up(scene(found, 10), right)
    found.do(10, rules.put_down)
    assert rules.take_up(scene(found, 20), UP)
    assert touched(found.job()) == {"acid", "soap"}


def test_a_product_new_to_the_cart_is_asked_about_if_there_is_anything_to_say() -> None:
    found = book()
    with pytest.raises(Asks) as asked:
        rules.take_up(scene(found, 5), WIPING)
    assert str(asked.value) == (
        "New on this cart: Panel wipe: no flame, no spark; open the door. "
        "New on this cart: Odd stuff (H317): read its data sheet. Go on all the same?"
    )
    with pytest.raises(Asks, match=r"^New on this cart: Odd stuff"):
        rules.take_up(scene(found, 5, key_of(WIPE)), WIPING)
    assert rules.take_up(scene(found, 5, key_of(WIPE), key_of(ODD)), WIPING)
    # Nobody knows what the cart had: only fluoride is asked about.
    assert rules.take_up(found.scene(5), WIPING)
    with pytest.raises(Asks):
        rules.take_up(found.scene(5), UP)


def test_nothing_is_asked_while_a_film_is_in_play() -> None:
    found = book()
    found.do(5, rules.take_up, UP, {"first_use": "read"})
    found.press(10, ev.StepFinished("Wheels", ("left",), Turn(), Marks(60, 90, 300)))
    assert rules.take_up(scene(found, 20), WIPING)
    with pytest.raises(Asks):
        rules.take_up(scene(found, 5 + 300 + 3600), WIPING)
    assert rules.take_up(scene(found, 5 + 300 + 3599), WIPING)


def test_a_step_that_is_none_asks_nothing() -> None:
    job = book().job()
    assert first_use(job, replace(UP, turn=Turn(1, 1, 9)), frozenset) == ""
    assert first_use(job, Move("take up", JOB, "Nowhere", ("left",)), frozenset) == ""
    assert first_use(job, replace(UP, turn=Turn(1, 1, 2)), frozenset) == ""


def known(found: Book) -> frozenset[str]:
    return used_products(believed_rows(found.rows), {JOB: found.job()})


def test_what_a_cart_knows_is_what_was_booked_and_not_struck() -> None:
    found = book()
    press = found.press(5, ev.ProductUsed("Wheels", ("left",), Turn(), {"acid": 40.0, "gone": 1.0}))
    assert known(found) == {"wheel acid"}
    strike = found.press(9, ev.PressStruck(press))
    assert known(found) == frozenset()
    assert strike > press
    found.press(10, ev.PressRestored(press))
    assert known(found) == {"wheel acid"}
    assert key_of(replace(ACID, name=" WHEEL  Acid")) == key_of(ACID)


def test_a_product_that_came_with_a_stage_is_known_from_its_use() -> None:
    found = book()
    bonnet = Stage("Bonnet", ("bonnet",), (Work("wipe", 1.0, (Use("gloss", 5.0),)),))
    found.press(5, ev.StageAdded(bonnet, products=(Product("gloss", "Gloss"),)))
    assert known(found) == frozenset()
    found.press(9, ev.ProductUsed("Bonnet", ("bonnet",), Turn(), {"gloss": 5.0}))
    assert known(found) == {"gloss"}
