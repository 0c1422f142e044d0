"""What the work step in hand still needs of a mix, and how it is poured.

A step's amounts are of the mix as applied. What is left to do is counted section by section
and layer by layer, with the priming of a layer not begun yet; the ratio of the product then
says how much of it is product and how much water. Amounts are fractions and add up exactly;
they are rounded where they are printed, and there too the parts add up to the whole.
"""

from __future__ import annotations

from fractions import Fraction

from msgspec import Struct

from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.section import work_of
from cartclock.engine.facts.shift import Hands
from cartclock.engine.facts.turn import Turn
from cartclock.engine.facts.words import sections_text
from cartclock.engine.figures import mix
from cartclock.engine.plan.plan import Product, Stage, Use, Work

# From here on a tenth says nothing more; our own judgement.
_WHOLE_FROM = 100

INTO_WATER = "product into water"


class Recipe(Struct, frozen=True):
    """What to mix of one product for the rest of a step.

    Fields:
        product: as the plan has it.
        ratio: how its `mix` was read.
        stage, say: which step.
        sections: sections on which the step is still to be finished, the one in hand counted.
        layers: layers in which it still comes; 1 in a stage of one layer.
        total: of the mix, in the product's unit, exact; priming of layers not begun included.
        priming: of it, what the first sections take more than the others.
    """

    product: Product
    ratio: mix.Ratio
    stage: str
    say: str
    sections: int
    layers: int
    total: Fraction
    priming: Fraction

    @property
    def neat(self) -> Fraction:
        """Product in the mix, in its unit, exact."""
        return self.total * mix.percent(self.ratio) / 100

    @property
    def water(self) -> Fraction:
        """Water in the mix, in the product's unit, exact."""
        return self.total - self.neat


def shares(total: Fraction, neat: Fraction) -> tuple[str, str, str]:
    """Total, product and water as printed; the printed parts add up to the printed total.

    total, neat: 0 <= neat <= total. Whole numbers where each part is large, otherwise up to
    two decimals, more where a part would print as nothing.

    Source: what is rounded how is our own judgement.
    """
    water = total - neat
    parts = [part for part in (neat, water) if part]
    smallest = min(parts, default=Fraction(0))
    places = 0 if smallest >= _WHOLE_FROM else 1 if smallest >= 1 else 2
    while places < 9 and any(round(part * 10**places) == 0 for part in parts):
        places += 1
    whole = Fraction(round(total * 10**places), 10**places)
    poured = Fraction(round(neat * 10**places), 10**places)
    return (
        mix.decimal_text(whole, places),
        mix.decimal_text(poured, places),
        mix.decimal_text(whole - poured, places),
    )


def ratio_of(product: Product) -> mix.Ratio | None:
    """How a product is mixed; None if it is used as it comes or its text says no ratio.

    A plan of an older log may say what is read no longer; then nothing is reckoned from it.
    """
    try:
        found = mix.ratio(product.mix)
    except ValueError:
        return None
    return found if found.water else None


def mixed_uses(job: Job, work: Work) -> tuple[tuple[Use, Product, mix.Ratio], ...]:
    """The products of a work step that are mixed with water."""
    found = []
    for use in work.uses:
        product = job.opened.plan.product(use.product)
        ratio = None if product is None else ratio_of(product)
        if product is not None and ratio is not None:
            found.append((use, product, ratio))
    return tuple(found)


def _exact(amount: float) -> Fraction:
    # A plan says 0.1 and means a tenth, which a float is not.
    return Fraction(str(amount))


def left_by_layer(job: Job, stage: Stage, step: int) -> dict[int, int]:
    """Layer -> sections on which that step is still to be finished in it; 0 is left out.

    step: index of a work step of the stage. What is in hand is not finished.
    """
    left: dict[int, int] = {}
    for section in job.of(stage.name):
        if section.over:
            continue
        first = section.turn.layer + (section.turn.step > step)
        for layer in range(first, stage.layers + 1):
            left[layer] = left.get(layer, 0) + 1
    return dict(sorted(left.items()))


def recipes(job: Job, stage_name: str, turn: Turn) -> tuple[Recipe, ...]:
    """What to mix for the rest of a step of a stage, in the order of its uses.

    Empty if the step uses nothing that is mixed with water, or nothing is left of it. Raises
    KeyError for a stage or a step that is none.
    """
    stage = job.stage(stage_name)
    work = work_of(stage, turn)
    left = left_by_layer(job, stage, turn.step)
    sections = sum(not s.over and (s.turn.layer, s.turn.step) <= (stage.layers, turn.step)
                   for s in job.of(stage_name))  # fmt: skip
    found = []
    for use, product, ratio in mixed_uses(job, work):
        amount = _exact(use.amount)
        more = Fraction(0) if use.first is None else _exact(use.first) - amount
        primed = sum(not _begun(job, stage_name, layer, turn.step) for layer in left)
        total = amount * sum(left.values()) + more * primed
        if total > 0:
            found.append(
                Recipe(
                    product, ratio, stage_name, work.say, sections, len(left), total, more * primed
                )
            )
    return tuple(found)


def _begun(job: Job, stage: str, layer: int, step: int) -> bool:
    """True once a section of the layer was finished with this step: it took the priming."""
    return any(
        (stint.stage, stint.turn.layer, stint.turn.step) == (stage, layer, step)
        for stint in job.stints
    )


def of_step(job: Job, hands: Hands | None, move: Move | None) -> tuple[Recipe, ...]:
    """What to mix for the step in hand; if that mixes nothing, for the one chosen.

    hands: what is in hand of this job; None if nothing is. move: the chosen move; None if
    none is, and passed over if it is another job's or no work.
    """
    found: tuple[Recipe, ...] = ()
    if hands is not None and hands.job == job.id:
        found = recipes(job, hands.stage, hands.turn)
    if not found and move is not None and move.job == job.id and move.sections:
        found = recipes(job, move.stage, move.turn)
    return found


def recipe_lines(recipe: Recipe) -> tuple[str, ...]:
    """A recipe in sentences: how much, what it is poured of, and how the ratio was read."""
    unit = "" if recipe.product.unit == "each" else f" {recipe.product.unit}"
    total, neat, water = shares(recipe.total, recipe.neat)
    where = sections_text(recipe.sections)
    if recipe.layers > 1:
        where += f", {recipe.layers} layers"
    primed = ""
    if recipe.priming:
        primed = f" ({mix.decimal_text(recipe.priming)}{unit} of it priming)"
    return (
        f"{recipe.product.name} {recipe.product.mix}, {recipe.say} ({recipe.stage})",
        f"for {where}: {total}{unit}{primed}: {neat}{unit} {recipe.product.name}, "
        f"{water}{unit} water; {INTO_WATER}",
        f"{recipe.product.mix} is read as {mix.words(recipe.ratio)}",
    )
