"""What is intended: stages, sections and steps, as parsed from a plan file.

Everything here is resolved: section lists are expanded from the body shape,
durations are whole seconds, the aftercare's durations stay ISO 8601 text because
days and months have no length until a date is known. Reading and checking the
file is `engine.store.plan_file.reader`; these Structs assume a plan that passed it.
"""

from __future__ import annotations

from collections.abc import Collection
from math import exp, fsum, log
from typing import Annotated, Literal

from msgspec import Meta, Struct

EXAMPLE = "example"

Effort = Literal["rest", "light", "moderate", "heavy"]
Order = Literal["each", "all", "wave"]
PressPer = Literal["section", "panel", "stage"]
Unit = Literal["ml", "g", "drops", "each"]
FlashKind = Literal["", "solvent", "moisture cure", "water"]

# The longest a plan may say: a year, and a day's work. An event that says more is of another
# program, and nothing is reckoned of it. Our own judgement.
LONGEST_S = 366 * 86_400
MOST_MINUTES = 1440.0
Seconds = Annotated[int, Meta(ge=0, le=LONGEST_S)]
Minutes = Annotated[float, Meta(ge=0.0, le=MOST_MINUTES)]


class Limits(Struct, frozen=True, forbid_unknown_fields=True):
    """In which climate a product may be applied, by its label; None where it is silent.

    Fields:
        panel_low_c, panel_high_c: panel temperature in C, -30 to 100, low not above high.
        air_low_c, air_high_c: air temperature in C, -30 to 60, low not above high.
        rh_low, rh_high: relative humidity in percent, 1 to 100, low not above high; a product
            that cures with moisture has a lower end too.
    """

    panel_low_c: float | None = None
    panel_high_c: float | None = None
    air_low_c: float | None = None
    air_high_c: float | None = None
    rh_low: float | None = None
    rh_high: float | None = None


class Product(Struct, frozen=True, forbid_unknown_fields=True):
    """One product of the cart.

    Fields:
        id: short name that steps refer to, unique in the plan.
        name: what paper and screen call it.
        unit: unit of `pack` and of the amounts in steps.
        pack: content of a full pack in `unit`, > 0; None if not given.
        price: price of a full pack as a decimal text ("18.50"), currency from settings.
        mix: "ready", "10:1" (10 water + 1 product), "1 in 10", "5 %".
        family: chemical family, for what must not meet; "" if not given.
        hazards: H-codes and signal word, copied from the data sheet of the pack in hand.
        limits: in which climate it may be applied, by its label; None if not given.
        dry_s: seconds that what was laid must not get wet, from the label; None if not given.
        if_wet: what to do if it got wet inside that time; "" if nothing is said.
        drops_per_ml: calibration of the bottle, > 0, only with unit "drops"; None: as water.
    """

    id: str
    name: str
    unit: Unit = "ml"
    pack: float | None = None
    price: str | None = None
    mix: str = "ready"
    family: str = ""
    hazards: tuple[str, ...] = ()
    limits: Limits | None = None
    dry_s: Seconds | None = None
    if_wet: str = ""
    drops_per_ml: float | None = None


class Vibration(Struct, frozen=True, forbid_unknown_fields=True):
    """Declared vibration of a tool, from its manual.

    Fields:
        a: vibration total value in m/s2, >= 0.
        k: uncertainty K in m/s2, >= 0.
        contact: share of the hands-on time in which the tool really runs, 0 to 1.
    """

    a: float
    k: float = 0.0
    contact: float = 1.0


class Tool(Struct, frozen=True, forbid_unknown_fields=True):
    """A tool that a work step names.

    Fields:
        id: short name that steps refer to, unique in the plan.
        name: what paper and screen call it; the id if left out.
        vibration: None if not declared.
        noise_dba: level at the ear in dB(A) from a meter or the manual; None if not known.
    """

    id: str
    name: str = ""
    vibration: Vibration | None = None
    noise_dba: float | None = None


class Use(Struct, frozen=True):
    """What one section takes of a product.

    Fields:
        product: id of a `Product`.
        amount: of the mix as applied, in the product's unit, >= 0.
        first: amount for the first section of the stage (priming); None: the same.
    """

    product: str
    amount: float
    first: float | None = None


WearKind = Literal["pad", "towel"]


class Wear(Struct, frozen=True):
    """A pad or towel that a work step wears.

    Fields:
        kind: which of the two.
        name: what it is called; steps of one stage that name the same use the same one.
        sections: after how many sections a fresh one is offered, >= 1; common practice of whoever
            wrote the plan, no source.
    """

    kind: WearKind
    name: str
    sections: int


class LabelRow(Struct, frozen=True, forbid_unknown_fields=True):
    """One row of a label's flash range at its reference climate.

    Fields:
        low_s, high_s: the printed range in seconds, 0 < low_s <= high_s.
        air_c: reference air temperature in C; None if the label gives none.
        rh: reference relative humidity in percent; None if the label gives none.
    """

    low_s: Seconds
    high_s: Seconds
    air_c: float | None = None
    rh: float | None = None


class Work(Struct, frozen=True, tag="work"):
    """A step done by hand.

    Fields:
        say: the verb on the screen ("rinse"), also the step's name.
        minutes: planned minutes for one section (with `over` "all": for the whole press), >= 0.
        uses: amounts for one section.
        over: "all" if one press covers every section that waits for this step.
        tool: id of a `Tool`; "" if bare hands.
        wears: the pad and the towel that the step wears, at most one of each.
    """

    say: str
    minutes: Minutes = 0.0
    uses: tuple[Use, ...] = ()
    over: Literal["section", "all"] = "section"
    tool: str = ""
    wears: tuple[Wear, ...] = ()


class Wait(Struct, frozen=True, tag="wait"):
    """A step done by chemistry: dwell or flash.

    Fields:
        say: "dwell" or "flash".
        opens_s: seconds after the last touch, >= 0.
        due_s: seconds after the last touch at which the work is expected.
        closes_s: seconds after the first touch.
        kind: what makes it flash; "" for a dwell.
        label: printed ranges this wait was taken from; empty for a plain dwell.
        example: True while the numbers are the starter's and not the pack's.
    """

    say: Literal["dwell", "flash"]
    opens_s: Seconds
    due_s: Seconds
    closes_s: Seconds
    kind: FlashKind = ""
    label: tuple[LabelRow, ...] = ()
    example: bool = False


Step = Work | Wait


class Gap(Struct, frozen=True):
    """The wait between two layers, all in seconds after the last touch of the layer.

    Fields:
        opens_s, due_s, closes_s: 0 <= opens_s <= due_s <= closes_s.
        example: True while the numbers are the starter's and not the pack's.
    """

    opens_s: Seconds
    due_s: Seconds
    closes_s: Seconds
    example: bool = False


class Cure(Struct, frozen=True):
    """How long the last layer must be left alone.

    Fields:
        at_least_s: seconds after the last touch.
        below_c: under this air or panel temperature in C the cure takes `then_s`; None: never.
        then_s: seconds instead of `at_least_s`; None with `below_c` None.
        example: True while the numbers are the starter's and not the pack's.
    """

    at_least_s: Seconds
    below_c: float | None = None
    then_s: Seconds | None = None
    example: bool = False


class Check(Struct, frozen=True):
    """A second look after each layer.

    Fields:
        after_s, closes_s: seconds after the last touch.
        per: what one look covers.
        say: what to do ("light over it").
    """

    after_s: Seconds
    closes_s: Seconds
    per: PressPer = "panel"
    say: str = "look again"


class HighSpot(Struct, frozen=True):
    """A remedy for a high spot by its age; the last one of a stage has no `until_s`.

    Fields:
        do: what to do.
        until_s: age in seconds up to which this remedy holds; None: from then on.
        redo: stages that are done again on the panel before the layer is.
    """

    do: str
    until_s: Seconds | None = None
    redo: tuple[str, ...] = ()


class Condition(Struct, frozen=True):
    """A stage waits for the climate.

    Fields:
        quantity: "panel_c", "air_c" or "rh".
        below: True for "<", False for ">".
        value: in C or percent.
        look_s: seconds between two looks.
    """

    quantity: Literal["panel_c", "air_c", "rh"]
    below: bool
    value: float
    look_s: Seconds


class Stage(Struct, frozen=True):
    """One kind of work over the vehicle.

    Fields:
        name: unique in the job.
        sections: unique names in working order, at least one.
        steps: begins and ends with Work, no two Waits in a row.
        kind: "coat" if the gate applies, otherwise "".
        effort: of the whole stage; `effort_by` overrules it by section or panel name.
        weights: section or panel name -> how much longer than the minutes of the steps a section
            there takes, > 0; 1 where it is not named.
        order: each (all steps on one section), all (one step over all sections),
            wave (the next section while the last one waits).
        press: what one press covers.
        panels: section -> panel where they differ ("bonnet left" -> "bonnet").
        layers: >= 1; `gap` lies between two of them.
        trial: True for test spots, whose accepted set-up goes to the later sections.
    """

    name: str
    sections: tuple[str, ...]
    steps: tuple[Step, ...]
    kind: Literal["", "coat"] = ""
    effort: Effort = "moderate"
    effort_by: dict[str, Effort] = {}
    weights: dict[str, float] = {}
    order: Order = "each"
    press: PressPer = "section"
    panels: dict[str, str] = {}
    layers: int = 1
    gap: Gap | None = None
    cure: Cure | None = None
    check: Check | None = None
    high_spot: tuple[HighSpot, ...] = ()
    condition: Condition | None = None
    trial: bool = False

    def panel(self, section: str) -> str:
        """The panel a section belongs to; the section itself if it is a whole panel."""
        return self.panels.get(section, section)

    def effort_of(self, section: str) -> Effort:
        """Effort on one section: by its name, else by its panel, else the stage's."""
        return self.effort_by.get(section, self.effort_by.get(self.panel(section), self.effort))

    def weight_of(self, section: str) -> float:
        """Weight of one section: by its name, else by its panel, else 1."""
        if not self.weights:
            return 1.0
        return self.weights.get(section, self.weights.get(self.panel(section), 1.0))

    @property
    def usual_weight(self) -> float:
        """The geometric mean of the weights of all sections: by how much their mean length, by its
        logarithm, is longer than the minutes of the steps.
        """
        if not self.weights:
            return 1.0
        return exp(fsum(log(self.weight_of(name)) for name in self.sections) / len(self.sections))

    def usual_minutes(self, work: Work) -> float:
        """Planned minutes of one piece of a step, on the section of the usual weight."""
        return work.minutes if work.over == "all" else work.minutes * self.usual_weight

    def minutes_of(self, work: Work, sections: Collection[str]) -> float:
        """Planned minutes of one press of a step on some of its sections."""
        if work.over == "all":
            return work.minutes
        if not self.weights:
            return work.minutes * len(sections)
        return work.minutes * fsum(map(self.weight_of, sections))


CareAbout = Literal["water", "touch", "wash", ""]


class Aftercare(Struct, frozen=True):
    """One thing the customer is told, with its time.

    Fields:
        say: the sentence.
        source: where the time comes from ("label of the pack"); "example" in starters.
        until: ISO 8601 duration: an end ("PT48H" elapsed, "P7D" calendar); "" if none.
        from_: ISO 8601 duration: a beginning; "" if none.
        every: ISO 8601 duration: repeated; "" if none.
        times: how often `every` repeats, >= 1.
        after: stage whose last finished section is the anchor; "" for the job's close.
        visit: True if the customer comes to the shop (moved to the next open day).
        if_not: what to do if it went wrong; "" if nothing is said.
        about: what it speaks of, so that papers tell its end or beginning among their dates;
            "" for anything else, or if the file does not say.
    """

    say: str
    source: str
    until: str = ""
    from_: str = ""
    every: str = ""
    times: int = 1
    after: str = ""
    visit: bool = False
    if_not: str = ""
    about: CareAbout = ""


class Handover(Struct, frozen=True):
    """How long after a stage the vehicle is not handed over.

    Fields:
        not_before: ISO 8601 duration ("PT12H" elapsed, "P1D" calendar).
        after: stage whose last finished section is the anchor.
        source: where the time comes from ("label of the pack"); "example" in starters.
    """

    not_before: str
    after: str
    source: str


class Rhythm(Struct, frozen=True):
    """The worker's own rhythm: after `work_s` seconds of work, `rest_s` seconds of rest."""

    work_s: Seconds
    rest_s: Seconds


class Plan(Struct, frozen=True):
    """A whole plan; names of stages are unique, ids of products and tools too.

    Fields:
        shape: body of the vehicle, one of `engine.plan.shapes.SHAPES`; "" if the file told none
            or the plan was read before files told it.
        covers: section -> panels of that body it goes over, where its name tells them not.
    """

    name: str
    stages: tuple[Stage, ...]
    products: tuple[Product, ...] = ()
    tools: tuple[Tool, ...] = ()
    aftercare: tuple[Aftercare, ...] = ()
    rhythm: Rhythm | None = None
    handover: Handover | None = None
    shape: str = ""
    covers: dict[str, tuple[str, ...]] = {}

    def product(self, product_id: str) -> Product | None:
        """The product with that id, or None."""
        return next((p for p in self.products if p.id == product_id), None)
