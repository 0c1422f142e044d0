"""What to remind of before the work begins, and before a product is used for the first time.

Signal word and H-codes are those that the plan has from the data sheet; the sentences are
those of the family. Fluoride comes first and is asked about in every job, because its burns
are noticed too late.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from msgspec import Struct

from cartclock.engine.facts.events import CautionsRead, ProductUsed
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.shift import Shift
from cartclock.engine.plan.plan import Plan, Product, Work
from cartclock.engine.products.chemistry import (
    FLUORIDE,
    family_of,
    meeting_names,
    meeting_remarks,
    unknown_families,
)
from cartclock.engine.products.mixing import ratio_of

NO_AUTHORITY = (
    "Copied from the plan, which has it from the data sheet of the pack; our table is no authority."
)

PRODUCT_INTO_WATER = "Product into water, never water into product."
NO_FOOD_BOTTLES = (
    "Never into a bottle that food or drink came in; write on every bottle what is in it."
)
SECTION_8 = "Gloves are those that section 8 of each data sheet names."
"""Source of all three: common practice, no source."""


class BeforeWork(Struct, frozen=True):
    """What is said before the work, as settled.

    Fields:
        products: False silences what is said of products, fluoride excepted.
        before_coat: False leaves the page before each layer of a coat off.
    """

    products: bool = True
    before_coat: bool = True


class Reminder(Struct, frozen=True):
    """What is to be known of one product.

    Fields:
        product: its name.
        hazards: signal word and H-codes as the plan has them; empty if it has none.
        says: sentences of its family.
        source: of the sentences; "" without one.
        strong: True for what may hurt late and badly.
        new: True if this cart never had it.
        short: the sentences in a few words; "" if the family has none.
    """

    product: str
    hazards: tuple[str, ...]
    says: tuple[str, ...]
    source: str
    strong: bool
    new: bool = False
    short: str = ""

    @property
    def heading(self) -> str:
        """The product with what its data sheet says."""
        if self.hazards:
            return f"{self._named}: {', '.join(self.hazards)}"
        return f"{self._named}: no H-codes in the plan; read its data sheet"

    @property
    def _named(self) -> str:
        return f"New on this cart: {self.product}" if self.new else self.product

    @property
    def brief(self) -> str:
        """The same with what its family says, in one sentence."""
        codes = f" ({', '.join(self.hazards)})" if self.hazards else ""
        said = self.short or " ".join(self.says).rstrip(".") or "read its data sheet"
        return f"{self._named}{codes}: {said}."


class Briefing(Struct, frozen=True):
    """What to read before the work begins.

    Fields:
        reminders: the strong ones first, then the new ones, then in the order of the plans.
        meets: products that must not meet, and why.
        general: what holds for all of them.
        apart: products that must not meet, without the reason.
    """

    reminders: tuple[Reminder, ...] = ()
    meets: tuple[str, ...] = ()
    general: tuple[str, ...] = ()
    apart: tuple[str, ...] = ()

    @property
    def lines(self) -> tuple[str, ...]:
        """The page to be read, a paragraph each: what is strong and new in full, of all others a
        sentence.
        """
        found: list[str] = []
        for one in self.reminders:
            full = one.strong and one.new
            found += [one.heading, *_under(one)] if full else [one.brief]
        return (*found, *self.apart)

    @property
    def in_full(self) -> tuple[str, ...]:
        """All there is as paragraphs; those with leading blanks belong to the one above."""
        found: list[str] = []
        for one in self.reminders:
            found += [one.heading, *_under(one)]
        found += self.meets
        return (*found, *self.general)


def _under(one: Reminder) -> list[str]:
    return [f"  {sentence}" for sentence in one.says]


def products_used(plan: Plan) -> tuple[Product, ...]:
    """The products that the steps of a plan use, in the plan's order."""
    used = {
        use.product
        for stage in plan.stages
        for step in stage.steps
        if isinstance(step, Work)
        for use in step.uses
    }
    return tuple(product for product in plan.products if product.id in used)


def reminder_of(product: Product, known: frozenset[str] | None = None) -> Reminder | None:
    """What to remind of; None if neither the plan nor a family says anything. `known`: keys of
    the products this cart had; None: whether it is new is nothing to say.
    """
    family = family_of(product)
    says = () if family is None else family.says
    if not says and not product.hazards:
        return None
    source = family.source if family is not None and says else ""
    strong = family is not None and family.name == FLUORIDE
    new = known is not None and key_of(product) not in known
    short = "" if family is None else family.short
    return Reminder(product.name, product.hazards, says, source, strong, new, short)


def reminders(
    plans: Sequence[Plan], fluoride_only: bool = False, known: frozenset[str] | None = None
) -> Briefing:
    """The page for what these plans use; a product of the same name and family comes once.

    Args:
        fluoride_only: True where the worker has silenced the others.
        known: as in `reminder_of`.
    """
    found: dict[Reminder, None] = {}
    mixed = False
    for plan in plans:
        for product in products_used(plan):
            mixed = mixed or ratio_of(product) is not None
            one = reminder_of(product, known)
            if one is not None and (one.strong or not fluoride_only):
                found[one] = None
    if not found:
        return Briefing()
    ordered = tuple(sorted(found, key=lambda one: (not one.strong, not one.new)))
    if fluoride_only:
        return Briefing(ordered)
    met = tuple(dict.fromkeys(sentence for plan in plans for sentence in meeting_remarks(plan)))
    pouring = (PRODUCT_INTO_WATER,) if mixed else ()
    general = (*pouring, NO_FOOD_BOTTLES, SECTION_8, NO_AUTHORITY)
    apart = dict.fromkeys(sentence for plan in plans for sentence in meeting_names(plan))
    return Briefing(ordered, met, general, tuple(apart))


def plan_remarks(plan: Plan) -> tuple[str, ...]:
    """What a check of a plan says of its chemistry, whole sentences; none of it is a fault."""
    page = reminders([plan], fluoride_only=True)
    strong = (f"{one.heading}: {' '.join(one.says)} ({one.source})" for one in page.reminders)
    return (*meeting_remarks(plan), *strong, *unknown_families(plan))


# First use.


def key_of(product: Product) -> str:
    """What makes a product the same in two plans: its name, capitals aside."""
    return _key(product.name)


def _key(name: str) -> str:
    return " ".join(name.casefold().split())


def used_products(rows: Iterable[Row], jobs: Mapping[str, Job]) -> frozenset[str]:
    """Keys of the products that these rows book.

    jobs: those the rows are of, with what their plans took in since they were opened.
    """
    found = set()
    for row in rows:
        if isinstance(row.event, ProductUsed) and row.job in jobs:
            plan = jobs[row.job].opened.plan
            products = (plan.product(name) for name in row.event.amounts)
            found |= {key_of(product) for product in products if product is not None}
    return frozenset(found)


def known_to(shift: Shift | None, known: frozenset[str] | None) -> frozenset[str] | None:
    """Keys of the products that are not new to the worker of a shift: those that this cart had,
    and those that were read about in the shift. None if `known` is.
    """
    if shift is None or known is None:
        return known
    read = [row.event for row in shift.facts if isinstance(row.event, CautionsRead)]
    return known | {_key(name) for event in read for name in event.products}


def touched(job: Job) -> frozenset[str]:
    """Ids of products that this job has used, or has in hand or put down."""
    found = set(job.used)
    places = [(s.stage, s.turn) for s in job.stints]
    places += [(s.stage, s.turn) for s in job.sections.values() if s.state in ("in hand", "held")]
    for stage, turn in set(places):
        try:
            work = job.work(stage, turn)
        except KeyError:
            continue
        found |= {use.product for use in work.uses}
    return frozenset(found)


KnownProducts = Callable[[], frozenset[str] | None]
"""Gives the keys (`key_of`) of the products that are not new; None: nobody knows, or new ones are
not to be asked about."""


def no_log() -> None:
    """The answer where there is no log to look into."""


def first_use(job: Job, move: Move, known: KnownProducts) -> str:
    """The question before a product is used for the first time; "" if there is none to ask.

    known: asked only where the work brings a product that the job has not had. Fluoride is asked
    about at its first use in every job.
    """
    return first_use_question(first_used(job, move, known))


def first_use_question(new: Mapping[Product, str]) -> str:
    """The same of what `first_used` found."""
    return f"{' '.join(new.values())} Go on all the same?" if new else ""


def first_used(job: Job, move: Move, known: KnownProducts) -> dict[Product, str]:
    """The products that a move uses for the first time, each with what is to be known of it first;
    as in `first_use`.
    """
    try:
        work = job.work(move.stage, move.turn)
    except KeyError:
        return {}
    used = touched(job)
    said: dict[Product, str] = {}
    for use in work.uses:
        product = job.opened.plan.product(use.product)
        if product is None or product.id in used:
            continue
        one = reminder_of(product, known())
        if one is not None and (one.strong or (one.new and (one.short or one.hazards))):
            said[product] = one.brief
    return said
