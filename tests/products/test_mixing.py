"""What is left to mix of a step: counted, primed, poured, and in the end used up exactly."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.shift import Hands
from cartclock.engine.facts.turn import Turn
from cartclock.engine.figures import mix
from cartclock.engine.plan.plan import Gap, Plan, Product, Stage, Use, Wait, Work
from cartclock.engine.products.mixing import (
    Recipe,
    of_step,
    ratio_of,
    recipe_lines,
    recipes,
    shares,
)
from cartclock.engine.rules import rules
from tests.kit.book import JOB, Book, us
from tests.kit.plans import opening
from tests.kit.samples import FIRST

SHAMPOO = Product("shampoo", "Shampoo", mix="500:1")
FOAM = Product("foam", "Foam", mix="10:1")
SEAL = Product("seal", "Sealant")
SIX = tuple("abcdef")
WASH = Stage("Wash", SIX, (Work("wash", 3.0, (Use("shampoo", 1500.0), Use("seal", 5.0))),))
LAYERS = Stage(
    "Layers",
    ("a", "b", "c"),
    (
        Work("spray", 1.0, (Use("foam", 100.0, 150.0),)),
        Wait("dwell", 60, 90, 600),
        Work("wipe", 1.0),
        Work("spray again", 1.0, (Use("foam", 10.0),)),
    ),
    order="wave",
    layers=2,
    gap=Gap(0, 60, 86400),
)


def book(*stages: Stage, products: tuple[Product, ...] = (SHAMPOO, FOAM, SEAL)) -> Book:
    """A job with these products, the worker on the clock at second 0."""
    found = Book()
    opened = opening(*stages)
    found.press(0, replace(opened, plan=Plan("tiny", stages, products)))
    found.press(0, ev.ClockedOn("carport"))
    return found


def one(job: Job, stage: str = "Wash", turn: Turn = FIRST) -> Recipe:
    (found,) = recipes(job, stage, turn)
    return found


def test_the_recipe_of_six_sections_in_words() -> None:
    name, amounts, reading = recipe_lines(one(book(WASH).job()))
    assert name == "Shampoo 500:1, wash (Wash)"
    assert amounts == ("for 6 sections: 9000 ml: 18 ml Shampoo, 8982 ml water; product into water")
    assert reading == "500:1 is read as 500 parts water + 1 part product = 501 parts"


def test_what_is_finished_or_skipped_is_left_out_and_what_is_in_hand_counts() -> None:
    found = book(WASH)
    found.press(10, ev.WorkStarted("Wash", ("a",), Turn()))
    assert one(found.job()).sections == 6
    found.press(20, ev.StepFinished("Wash", ("a",), Turn()))
    found.press(20, ev.SectionSkipped("Wash", ("b",)))
    assert (one(found.job()).sections, one(found.job()).total) == (4, 6000)
    found.press(30, ev.SectionSkipped("Wash", SIX[2:]))
    assert recipes(found.job(), "Wash", Turn()) == ()


def test_a_section_done_again_counts_again() -> None:
    found = book(WASH)
    found.press(10, ev.SectionSkipped("Wash", SIX))
    found.press(20, ev.SectionReopened("Wash", ("a", "b"), Turn(2, 1, 0)))
    assert one(found.job(), turn=Turn(2, 1, 0)).total == 3000


def test_every_layer_takes_its_own_priming() -> None:
    found = book(LAYERS)
    first = one(found.job(), "Layers")
    assert (first.sections, first.layers, first.total, first.priming) == (3, 2, 700, 100)
    assert "for 3 sections, 2 layers: 700 ml (100 ml of it priming)" in recipe_lines(first)[1]
    found.press(10, ev.WorkStarted("Layers", ("a",), Turn()))
    found.press(20, ev.StepFinished("Layers", ("a",), Turn()))
    then = one(found.job(), "Layers")
    assert (then.sections, then.total, then.priming) == (3, 550, 50)


def test_a_cut_section_counts_as_its_parts() -> None:
    found = book(WASH)
    found.press(10, ev.SectionSplit("Wash", "a", ("a left", "a right")))
    assert one(found.job()).sections == 7


def test_a_product_as_it_comes_is_not_mixed() -> None:
    assert [recipe.product.id for recipe in recipes(book(WASH).job(), "Wash", Turn())] == [
        "shampoo"
    ]
    assert ratio_of(SEAL) is None
    assert ratio_of(replace(SEAL, mix="")) is None
    assert ratio_of(replace(SEAL, mix="as you like")) is None


def test_what_is_in_hand_goes_before_what_is_chosen_if_it_mixes_anything() -> None:
    job = book(WASH, LAYERS).job()
    chosen = Move("take up", JOB, "Wash", ("a",))
    spraying = Hands(JOB, "Layers", ("a",), Turn())
    wiping = Hands(JOB, "Layers", ("a",), Turn(1, 1, 2))
    assert of_step(job, spraying, chosen)[0].product.id == "foam"
    assert of_step(job, wiping, chosen)[0].product.id == "shampoo"
    assert of_step(job, None, None) == ()
    assert of_step(job, wiping, None) == ()
    assert of_step(job, None, replace(chosen, job="job-9")) == ()
    assert of_step(job, None, Move("end", why="end")) == ()
    assert of_step(job, replace(spraying, job="job-9"), None) == ()


def booked(found: Book) -> Fraction:
    amounts = [
        Fraction(str(row.event.amounts.get("foam", 0.0)))
        for row in found.rows
        if isinstance(row.event, ev.ProductUsed)
    ]
    return sum(amounts, Fraction(0))


def left(found: Book) -> Fraction:
    """Of foam, over both steps that use it."""
    job = found.job()
    steps = [Turn(), Turn(1, 1, 3)]
    return sum((r.total for turn in steps for r in recipes(job, "Layers", turn)), Fraction(0))


@given(data=st.data())
def test_what_is_left_and_what_is_booked_are_always_the_whole(data: st.DataObject) -> None:
    found = book(LAYERS)
    whole = left(found)
    assert whole == 700 + 60
    at_s = 10.0
    while moves := [m for m in found.moves(at_s) if m.act == "take up"]:
        move = data.draw(st.sampled_from(moves))
        found.do(at_s, rules.take_up, move, over={"layer_early": "drawn"})
        at_s += data.draw(st.integers(1, 400))
        assert booked(found) + left(found) == whole
    found.do(at_s, rules.take_up, Move("end", why="end"))
    assert left(found) == 0
    assert booked(found) == whole


@given(
    total=st.fractions(Fraction(1, 1000), 10**7),
    parts=st.fractions(Fraction(1, 1000), 10**4),
)
def test_product_and_water_add_up_in_print_too(total: Fraction, parts: Fraction) -> None:
    ratio = mix.Ratio(Fraction(1), parts, "parts")
    recipe = Recipe(SHAMPOO, ratio, "Wash", "wash", 1, 1, total, Fraction(0))
    assert recipe.neat + recipe.water == total
    assert recipe.neat * parts == recipe.water
    whole, neat, water = (Fraction(text) for text in shares(total, recipe.neat))
    assert neat + water == whole
    assert neat >= 0 and water >= 0
    # Half of the last place, of the larger places at most.
    assert abs(whole - total) <= Fraction(1, 2)
    assert abs(neat - recipe.neat) <= max(Fraction(1, 200), recipe.neat / 20)


@pytest.mark.parametrize(
    ("total", "neat", "printed"),
    [
        (Fraction(9000), Fraction(9000, 501), ("9000", "18", "8982")),
        (Fraction(500), Fraction(500, 11), ("500", "45.5", "454.5")),
        (Fraction(10), Fraction(10, 1001), ("10", "0.01", "9.99")),
        (Fraction(1), Fraction(1, 3001), ("1", "0.0003", "0.9997")),
        (Fraction(2000), Fraction(2000), ("2000", "2000", "0")),
    ],
    ids=lambda value: f"{value}, our own judgement",
)
def test_amounts_are_rounded_as_they_can_be_poured(
    total: Fraction, neat: Fraction, printed: tuple[str, str, str]
) -> None:
    assert shares(total, neat) == printed


def test_the_book_is_at_its_time() -> None:
    assert book(WASH).job().opened_us == us(0)
