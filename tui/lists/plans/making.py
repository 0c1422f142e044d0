"""A new plan made by keys: stages of starters and own plans, body, cuts, order, products and
aftercare, and at the end a new file.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import get_args

from msgspec.structs import replace

from cartclock.engine.facts.job_events import ChangeSource
from cartclock.engine.plan.amounts import COUNTED
from cartclock.engine.plan.drafting import (
    cut_panels,
    with_cuts,
    with_moved,
    with_product,
    with_revised,
    with_shape,
    with_stage,
    without_stage,
)
from cartclock.engine.plan.plan import EXAMPLE, Aftercare, Handover, Order, Plan, Product, Stage
from cartclock.engine.plan.shapes import MOST_PIECES, SHAPES, panel_order
from cartclock.engine.rules import choices
from cartclock.engine.rules.typed import entered
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.plans.choosing import choose_stage, plans_at_hand
from cartclock.tui.lists.plans.customer import handover_text, open_aftercare, open_handover
from cartclock.tui.lists.plans.of_job import written
from cartclock.tui.lists.plans.stage import StageList
from cartclock.tui.lists.plans.windows import open_values, or_again
from cartclock.tui.widgets.sheet import Line
from cartclock.tui.widgets.values import Choice, Number

NO_OTHER_PACK = "The log knows no other pack counted like that; open one on Products (O)."
# What a hand-over is given that no label was looked at for: an example, and marked so. Our own
# judgement, common practice, no source.
NEW_HANDOVER = Handover("PT12H", "", EXAMPLE)
# The lines before the stages.
_FIRST_STAGE = 7


def open_making(host: Host, made: Callable[[], object]) -> None:
    """Asks which plan the new one is made of, and opens it.

    made: what goes on once it is written.
    """

    def picked(text: str, plan: Plan) -> None:
        named = replace(plan, name=host.cart.shelf.free_name(plan.name))
        Making(host, text, named, made).open()

    plans = plans_at_hand(host)
    lines = [Line(name, partial(picked, text, plan)) for name, text, plan in plans]
    host.sheet.open("A new plan, made of which?", lines)


class Making:
    """The lists of one plan that is being made.

    Args:
        host: where they open.
        text: of the file that it is made of.
        plan: as it is so far.
        made: what goes on once it is written.
    """

    def __init__(self, host: Host, text: str, plan: Plan, made: Callable[[], object]) -> None:
        self.host, self.text, self.plan = host, text, plan
        self._made = made
        # The plan and the stage that were taken from it last.
        self._picked = ("", "")

    def open(self, at: int = 0) -> None:
        """The plan as a list: what it is, and every stage."""
        plan = self.plan
        cuts = ", ".join(f"{panel} {count}" for panel, count in cut_panels(plan).items())
        lines = [
            Line("write it into a new file", self._write, hot="w"),
            Line(f"called: {plan.name}", self._name, hot="n"),
            Line(f"body: {plan.shape or 'none'}", self._shape, hot="b"),
            Line(f"panels in pieces: {cuts or 'none'}", self._cuts, hot="c"),
            Line("products from the shelf ...", self._products, hot="p"),
            Line("aftercare ...", self._aftercare, hot="a"),
            Line(_leaves(plan), self._handover, hot="h"),
        ]
        lines += [
            Line(f"{nth} {stage.name}: {_size(stage)}", partial(self._stage, stage.name))
            for nth, stage in enumerate(plan.stages, 1)
        ]
        hint = "up, down: choose   space: change it   W: write it   esc: leave it"
        self.host.sheet.open(f"New plan: {plan.name}", lines, hint, closed=self._leave, at=at)

    def _at(self, name: str = "") -> int:
        """The line of a stage; the first of them for none."""
        names = [stage.name for stage in self.plan.stages]
        return _FIRST_STAGE + (names.index(name) if name in names else 0)

    def _take(self, plan: Plan, at: int) -> None:
        self.plan = plan
        self.open(at)

    def _leave(self) -> None:
        lines = [
            Line("go on with it", self.open),
            Line("leave it: nothing is written", self.host.paint, hot="l"),
        ]
        self.host.sheet.open("The new plan is not written yet.", lines, closed=self.open)

    def _write(self) -> None:
        def write() -> None:
            told = written(self.host, self.plan, self.text)
            self._made()
            self.host.say(told)

        # What was made stays, to be put right.
        or_again(self.host, write, self.open)

    def _name(self) -> None:
        def named(name: str) -> None:
            self._take(replace(self.plan, name=name), 1)

        self.host.sheet.open_text(
            "What is it called?", named, self.plan.name, closed=self.open, proposed=True
        )

    # The body.

    def _shape(self) -> None:
        lines = [Line(shape, partial(self._take_shape, shape)) for shape in SHAPES]
        at = SHAPES.index(self.plan.shape) if self.plan.shape in SHAPES else 0
        self.host.sheet.open("Which body?", lines, closed=self.open, at=at)

    def _take_shape(self, shape: str) -> None:
        self._take(with_shape(self.plan, shape), 2)

    def _cuts(self) -> None:
        order = panel_order(self.plan.shape) if self.plan.shape in SHAPES else ()
        cut = cut_panels(self.plan)
        wide = max(map(len, order), default=0)
        pieces = {
            panel: Number(f"{panel:<{wide}}", "in pieces", float(cut.get(panel, 1)), 1.0)
            for panel in order
        }

        def take() -> None:
            given = {p: round(entered(p, one.value)) for p, one in pieces.items() if one.entered}
            self._take(with_cuts(self.plan, given), 3)

        lines = [Line(one.text, turn=one.turn, type=one.type) for one in pieces.values()]
        title = f"Panels in pieces, 1 to {MOST_PIECES}, where a stage goes over the whole body"
        open_values(self.host, title, lines, take, self.open)

    # Stages.

    def _stage(self, name: str) -> None:
        stage = next(one for one in self.plan.stages if one.name == name)
        order = Choice("order", get_args(Order), stage.order)

        def turned() -> None:
            chosen = next(word for word in get_args(Order) if word == order.value)
            self._take(with_revised(self.plan, replace(stage, order=chosen)), self._at(name))

        lines = [
            Line("minutes, amounts, windows ...", partial(self._otherwise, stage), hot="w"),
            Line(order.text, turned, turn=order.turn),
            Line("earlier", partial(self._move, name, -1), hot="e"),
            Line("later", partial(self._move, name, 1), hot="l"),
            Line("another stage behind it ...", partial(self._more, name), hot="s"),
            Line("take it out", partial(self._take_out, name), hot="x"),
        ]
        hint = "left, right: each, all or wave   space: take it   esc: back"
        self.host.sheet.open(name, lines, hint, closed=partial(self.open, self._at(name)))

    def _otherwise(self, stage: Stage) -> None:
        def keep(changed: Stage, _source: ChangeSource) -> None:
            self.host.cart.shelf.refuse_stage(changed, self.plan)
            self.plan = with_revised(self.plan, changed)
            self._otherwise(changed)

        back = partial(self.open, self._at(stage.name))
        StageList(self.host, stage, self.plan, keep, back).open()

    def _move(self, name: str, by: int) -> None:
        self.plan = with_moved(self.plan, name, by)
        self.open(self._at(name))

    def _more(self, name: str) -> None:
        def picked(stage: Stage, source: Plan) -> None:
            self._picked = (source.name, stage.name)
            plan = with_stage(self.plan, stage, source, name)
            self._take(plan, self._at(name) + 1)

        choose_stage(self.host, self.plan.shape, picked, self.open, self._picked)

    def _take_out(self, name: str) -> None:
        at = self._at(name)
        self._take(without_stage(self.plan, name), at)

    # Products and aftercare.

    def _products(self) -> None:
        lines = [
            Line(f"{product.name} ({product.unit})", partial(self._shelf, product.id))
            for product in self.plan.products
        ]
        title = "Which product is another one on your shelf?"
        self.host.sheet.open(title, lines, closed=self.open)

    def _shelf(self, id_: str) -> None:
        """The packs known to the log that are counted as the product is and not in the plan yet."""
        product = choices.some(self.plan.product(id_), choices.NO_PRODUCT)
        taken = {one.id for one in self.plan.products}
        named = {one.id: one for plan in self._other_plans() for one in plan.products}
        packed = [
            item
            for item in self.host.cart.shop.stock().items.values()
            if item.product not in taken and (item.pack is not None or item.weighed_us is not None)
        ]
        lines = []
        for item in sorted(packed, key=lambda one: one.called.casefold()):
            known = named.get(item.product, Product(item.product, item.name, product.unit))
            if known.unit == product.unit and item.unit in ("", COUNTED[product.unit]):
                lines.append(Line(item.called, partial(self._swap, id_, known)))
        if not lines:
            self.open(4)
            self.host.sheet.say(NO_OTHER_PACK)
            return
        title = f"What is used in place of {product.name}?"
        self.host.sheet.open(title, lines, closed=self._products)

    def _other_plans(self) -> list[Plan]:
        """What is known of products: plans of jobs at hand, and the worker's own."""
        jobs = self.host.cart.bench.jobs.values()
        own = self.host.cart.shelf.own_plans().values()
        return [*(job.opened.plan for job in jobs), *(plan for _text, plan in own)]

    def _swap(self, id_: str, product: Product) -> None:
        self._take(with_product(self.plan, id_, product), 4)

    def _aftercare(self) -> None:
        if not self.plan.aftercare:
            self.open(5)
            self.host.sheet.say("The plan it is made of tells no aftercare.")
            return

        def take(place: int, care: Aftercare) -> None:
            cares = self.plan.aftercare
            self.plan = replace(self.plan, aftercare=(*cares[:place], care, *cares[place + 1 :]))
            self._aftercare()

        open_aftercare(self.host, self.plan.aftercare, take, partial(self.open, 5))

    def _handover(self) -> None:
        if self.plan.handover is not None:
            self._leave_after(self.plan.handover)
            return
        lines = [
            Line(stage.name, partial(self._leave_after, replace(NEW_HANDOVER, after=stage.name)))
            for stage in self.plan.stages
        ]
        title, back = "The hand-over waits after which stage?", partial(self.open, 6)
        self.host.sheet.open(title, lines, closed=back, at=len(lines) - 1)

    def _leave_after(self, handover: Handover) -> None:
        def take(other: Handover) -> None:
            self._take(replace(self.plan, handover=other), 6)

        open_handover(self.host, handover, take, partial(self.open, 6))


def _leaves(plan: Plan) -> str:
    return "hand-over: no time named" if plan.handover is None else handover_text(plan.handover)


def _size(stage: Stage) -> str:
    many = len(stage.sections)
    return f"{many} section{'' if many == 1 else 's'}, {stage.order}"
