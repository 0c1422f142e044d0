"""Every key that a plan file may have: what it means, and a line to go by.

The tables go by the names that `engine.store.plan_file.reader` gives them in a fault;
`tests/house/test_docs.py` holds them against what the reader asks for, and reads all the lines
together as one plan.
"""

from __future__ import annotations

from msgspec import Struct

from cartclock.engine.figures.bounds import Bound
from cartclock.engine.figures.measured import AIR, HUMIDITY, PACK, PANEL, USE
from cartclock.engine.plan.plan import MOST_MINUTES
from cartclock.engine.plan.shapes import MOST_PIECES, SHAPES
from cartclock.engine.products.chemistry import FAMILIES
from cartclock.engine.store.plan_file.reader import MOST_TIMES
from cartclock.engine.store.plan_file.stages import MOST_LAYERS, MOST_WEIGHT


class PlanKey(Struct, frozen=True):
    """A key. Fields: said: what it means; like: a line to go by."""

    said: str
    like: str


class PlanTable(Struct, frozen=True):
    """A table of the file. Fields: where: how it is written; keys: by name."""

    where: str
    keys: dict[str, PlanKey]


def _from(bound: Bound, unit: str) -> str:
    return f"{bound.low:g} to {bound.high:g} {unit}"


_EXAMPLE = (
    "`true` while the times are a starter's and not those of the pack in "
    "your hand; `check` names them, and no paper is issued with them unasked."
)
_COLD = "Under this temperature of air or panel in C it takes `then`; the two go together."

PLAN_TABLES: dict[str, PlanTable] = {
    "a plan": PlanTable(
        "at the top of the file, before the first table",
        {
            "format": PlanKey("Which rules the file goes by; needed.", "format = 1"),
            "name": PlanKey(
                "What screens and papers call the plan; needed.", 'name = "Two layers on an estate"'
            ),
            "shape": PlanKey(
                f"The body as papers draw it, if no stage names one: {', '.join(SHAPES)}.",
                'shape = "estate"',
            ),
            "covers": PlanKey(
                'Which panels a section goes over whose name says it not; "passenger side", '
                '"roof and bonnet" and "bonnet left" do.',
                'covers = { "passenger side low" = ["passenger sill"] }',
            ),
            "rhythm": PlanKey(
                "Your own rhythm: a rest after so much work, beside those of the heat.",
                'rhythm = { work = "50m", rest = "10m" }',
            ),
            "handover": PlanKey(
                "How long the vehicle stays after a stage. Run and Today say when it may "
                "go and whether the promise can be met; closing earlier asks.",
                'handover = { not_before = "PT12H", after = "Coat", source = "label of the pack" }',
            ),
            "product": PlanKey("The products, a table each.", "[[product]]"),
            "tool": PlanKey("The tools, a table each.", "[[tool]]"),
            "stage": PlanKey("The stages in their order, a table each; one at least.", "[[stage]]"),
            "aftercare": PlanKey("What the customer is told, a table each.", "[[aftercare]]"),
        },
    ),
    "a rhythm": PlanTable(
        "`rhythm = { … }`",
        {
            "work": PlanKey("Work before a rest, a minute or more.", 'work = "50m"'),
            "rest": PlanKey("How long the rest is.", 'rest = "10m"'),
        },
    ),
    "a hand-over": PlanTable(
        "`handover = { … }`",
        {
            "not_before": PlanKey(
                "How long after the stage, ISO 8601; needed.", 'not_before = "PT12H"'
            ),
            "after": PlanKey("The stage; needed.", 'after = "Coat"'),
            "source": PlanKey("Where that stands; needed.", 'source = "label of the pack"'),
        },
    ),
    "a product": PlanTable(
        "`[[product]]`",
        {
            "id": PlanKey(
                "Short name that steps refer to; needed, and what is learned goes by it.",
                'id = "coat"',
            ),
            "name": PlanKey(
                "What screens and papers call it; needed.",
                'name = "Coating, first and second layer"',
            ),
            "unit": PlanKey(
                "Of the pack and of the amounts in steps: ml, g, drops or each; ml if left out.",
                'unit = "drops"',
            ),
            "pack": PlanKey(
                f"What a full pack holds, up to {PACK.high:,.0f} in that unit.",
                "pack = 600",
            ),
            "price": PlanKey("Of a full pack, in the currency of the settings.", 'price = "58.00"'),
            "mix": PlanKey(
                'How it is mixed: `"ready"` if left out, `"10:1"` (10 water + 1 '
                'product), `"1 in 10"` or `"5 %"`.',
                'mix = "ready"',
            ),
            "family": PlanKey(
                f"For what must not meet: {', '.join(one.name for one in FAMILIES)}. "
                "Another word is let stand and named by `check`.",
                'family = "coating"',
            ),
            "hazards": PlanKey(
                "H-codes and signal word, copied from the data sheet of the pack.",
                'hazards = ["H226", "warning"]',
            ),
            "limits": PlanKey(
                "In which climate it may be applied, by its label; the gate goes by it.",
                "limits = { panel_low_c = 5, panel_high_c = 30, air_low_c = 5, "
                "air_high_c = 35, rh_low = 20, rh_high = 80 }",
            ),
            "dry": PlanKey("How long what was laid must not get wet.", 'dry = "12h"'),
            "if_wet": PlanKey(
                "What to do if it did; only with `dry`.",
                'if_wet = "Dry it with a soft towel at once."',
            ),
            "drops_per_ml": PlanKey(
                "Drops of this bottle, counted into a measured millilitre; the 20 of "
                "water if left out. Only with drops.",
                "drops_per_ml = 28",
            ),
        },
    ),
    "limits": PlanTable(
        "`limits = { … }` of a product, each of them may be left out",
        {
            f"{name}_{end}{unit}": PlanKey(
                f"{end.capitalize()}est {said}, {_from(bound, sign)}.",
                f"{name}_{end}{unit} = {like}",
            )
            for name, unit, said, bound, sign, likes in (
                ("panel", "_c", "panel temperature", PANEL, "C", (5, 30)),
                ("air", "_c", "air temperature", AIR, "C", (5, 35)),
                ("rh", "", "relative humidity", HUMIDITY, "%", (20, 80)),
            )
            for end, like in zip(("low", "high"), likes, strict=True)
        },
    ),
    "a tool": PlanTable(
        "`[[tool]]`",
        {
            "id": PlanKey("Short name that steps refer to; needed.", 'id = "polisher"'),
            "name": PlanKey(
                "What it is called; the id if left out.", 'name = "Dual action polisher"'
            ),
            "vibration": PlanKey(
                "As declared in its manual; hands are counted by it.",
                "vibration = { a = 4.5, k = 1.5, contact = 0.8 }",
            ),
            "noise_dba": PlanKey(
                "Level at the ear in dB(A), from a meter or the manual, up to 140.",
                "noise_dba = 82",
            ),
        },
    ),
    "a vibration value": PlanTable(
        "`vibration = { … }` of a tool",
        {
            "a": PlanKey("Vibration total value in m/s², up to 100; needed.", "a = 4.5"),
            "k": PlanKey("Its uncertainty in m/s²; 0 if left out.", "k = 1.5"),
            "contact": PlanKey(
                "Share of the time in hand in which it really runs, 0 to 1; 1 if left out.",
                "contact = 0.8",
            ),
        },
    ),
    "a stage": PlanTable(
        "`[[stage]]`",
        {
            "name": PlanKey("Of the stage; needed, and each has its own.", 'name = "Coat"'),
            "kind": PlanKey(
                '`"coat"` where the gate is asked and the page before a layer is shown.',
                'kind = "coat"',
            ),
            "sections": PlanKey(
                "The sections in working order, named one by one, or of a body shape; needed.",
                'sections = ["bonnet left", "bonnet right", "roof", "passenger side low"]',
            ),
            "panels": PlanKey(
                "Which panel a section is a piece of; of sections that are named one by one.",
                'panels = { "bonnet left" = "bonnet", "bonnet right" = "bonnet" }',
            ),
            "order": PlanKey(
                "each (all steps on one section), all (one step over all sections) or "
                "wave (the next section while the last one waits); each if left out.",
                'order = "wave"',
            ),
            "press": PlanKey(
                "What one press covers: section, panel or stage; section if left out.",
                'press = "section"',
            ),
            "effort": PlanKey(
                "rest, light, moderate or heavy, for the heat; moderate if left out.",
                'effort = "light"',
            ),
            "effort_by": PlanKey(
                'Another effort of sections or panels; `"body"` takes the one that the '
                "height of the panel asks for.",
                'effort_by = { roof = "moderate" }',
            ),
            "weights": PlanKey(
                "How many times the minutes of the steps a section or panel takes, up to "
                f"{MOST_WEIGHT:g}, so that a mirror is not a bonnet.",
                "weights = { bonnet = 1.5, roof = 0.8 }",
            ),
            "layers": PlanKey(f"How many, 1 to {MOST_LAYERS}; 1 if left out.", "layers = 2"),
            "gap": PlanKey(
                "The wait between two layers; needed from two on.",
                'gap = { opens = "1h", due = "3h", closes = "24h", example = true }',
            ),
            "cure": PlanKey(
                "How long the last layer is left alone.",
                'cure = { at_least = "12h", below_c = 15, then = "24h", example = true }',
            ),
            "check": PlanKey(
                "A second look after each layer.",
                'check = { after = "20m", closes = "40m", per = "panel", say = "light over it" }',
            ),
            "high_spot": PlanKey(
                "What is done about a high spot, by its age.",
                'high_spot = [ { until = "30m", do = "level again" }, { do = "polish '
                'out", redo = ["Polish"] } ]',
            ),
            "condition": PlanKey(
                "A stage that waits for the climate.",
                'condition = { until = "panel_c < 30", look = "15m" }',
            ),
            "trial": PlanKey(
                "`true` for test spots, whose accepted set-up goes to the sections after them.",
                "trial = false",
            ),
            "step": PlanKey(
                "The steps, a table each; the first and the last are work.", "[[stage.step]]"
            ),
        },
    ),
    "a body": PlanTable(
        "`sections = { … }`",
        {
            "body": PlanKey(f"{', '.join(SHAPES)}; needed.", 'body = "estate"'),
            "split": PlanKey(
                f"Panels, or what their names share, cut in up to {MOST_PIECES}.",
                "split = { bonnet = 2, roof = 2 }",
            ),
            "from": PlanKey("The panel to begin with.", 'from = "passenger front wing"'),
            "round": PlanKey(
                "`true` to go round the vehicle; from the top down if left out.", "round = true"
            ),
        },
    ),
    "a gap": PlanTable(
        "`gap = { … }` of a stage, after the last touch of the layer",
        {
            "opens": PlanKey("When the next layer may go on; needed.", 'opens = "1h"'),
            "due": PlanKey("When it is expected; when it opens if left out.", 'due = "3h"'),
            "closes": PlanKey("When it is too late; needed.", 'closes = "24h"'),
            "example": PlanKey(_EXAMPLE, "example = true"),
        },
    ),
    "a cure": PlanTable(
        "`cure = { … }` of a stage, after the last touch",
        {
            "at_least": PlanKey("How long; needed.", 'at_least = "12h"'),
            "below_c": PlanKey(_COLD, "below_c = 15"),
            "then": PlanKey("How long in the cold, no shorter.", 'then = "24h"'),
            "example": PlanKey(_EXAMPLE, "example = true"),
        },
    ),
    "a check": PlanTable(
        "`check = { … }` of a stage, after the last touch",
        {
            "after": PlanKey("From when on; needed.", 'after = "20m"'),
            "closes": PlanKey("Until when; needed.", 'closes = "40m"'),
            "per": PlanKey(
                "What one look covers: section, panel or stage; panel if left out.", 'per = "panel"'
            ),
            "say": PlanKey('What to do; "look again" if left out.', 'say = "light over it"'),
        },
    ),
    "a high spot remedy": PlanTable(
        "`high_spot = [ { … } ]` of a stage, in the order of their times",
        {
            "until": PlanKey(
                "Up to which age of the film it holds; the last one has none.", 'until = "30m"'
            ),
            "do": PlanKey("What to do; needed.", 'do = "level again"'),
            "redo": PlanKey(
                "Stages before this one that are done again on the panel first.",
                'redo = ["Polish"]',
            ),
        },
    ),
    "a condition": PlanTable(
        "`condition = { … }` of a stage",
        {
            "until": PlanKey(
                "`panel_c`, `air_c` or `rh`, `<` or `>`, and a number; needed.",
                'until = "panel_c < 30"',
            ),
            "look": PlanKey("How long between two looks; needed.", 'look = "15m"'),
        },
    ),
    "a work step": PlanTable(
        "`[[stage.step]]` of what hands do",
        {
            "work": PlanKey("What is done, as SPACE names it; needed.", 'work = "spread"'),
            "minutes": PlanKey(
                f"Of one section, up to {MOST_MINUTES:g}; without it the step is told no time.",
                "minutes = 2",
            ),
            "uses": PlanKey(
                f"What one section takes of each product, {USE.low:g} to {USE.high:,.0f} in "
                "its unit, of the mix; `first`, of the first section, where a pad is "
                "primed.",
                "uses = { coat = 10, first = 15 }",
            ),
            "over": PlanKey(
                "`all` where one press covers every section that waits for the step; "
                "section if left out.",
                'over = "section"',
            ),
            "tool": PlanKey("Id of the tool in hand.", 'tool = "polisher"'),
            "pad": PlanKey("The pad that it wears.", 'pad = { name = "soft pad", sections = 4 }'),
            "towel": PlanKey(
                "The towel that it wears.", 'towel = { name = "short towel", sections = 2 }'
            ),
        },
    ),
    "a pad": PlanTable(
        "`pad = { … }` and `towel = { … }` of a work step",
        {
            "name": PlanKey(
                "What it is called; steps of a stage that name the same use the same one. Needed.",
                'name = "soft pad"',
            ),
            "sections": PlanKey(
                "After how many a fresh one is offered; needed, and yours: those of the "
                "starters are common practice, no source.",
                "sections = 4",
            ),
        },
    ),
    "a wait step": PlanTable(
        "`[[stage.step]]` of what chemistry does, between two of work",
        {
            "wait": PlanKey("dwell or flash; needed.", 'wait = "flash"'),
            "opens": PlanKey(
                "When it may be worked on, after the last touch; needed without a label.",
                'opens = "1m"',
            ),
            "due": PlanKey(
                "When that is expected; of a label the middle by its factor, else when it opens.",
                'due = "2m"',
            ),
            "closes": PlanKey(
                "When it is too late, after the first touch; needed without a label.",
                'closes = "6m"',
            ),
            "kind": PlanKey(
                "What makes it flash: solvent, moisture cure or water; the climate is "
                "reckoned by it.",
                'kind = "solvent"',
            ),
            "label": PlanKey(
                "The range as the label has it, a row for each climate.",
                'label = [ { air_c = 20, rh = 50, low = "60s", high = "180s" } ]',
            ),
            "example": PlanKey(_EXAMPLE, "example = true"),
        },
    ),
    "a label row": PlanTable(
        "`label = [ { … } ]` of a flash",
        {
            "low": PlanKey("The shorter time; needed.", 'low = "60s"'),
            "high": PlanKey("The longer time; needed.", 'high = "180s"'),
            "air_c": PlanKey(f"At which air, {_from(AIR, 'C')}.", "air_c = 20"),
            "rh": PlanKey(f"At which humidity, {_from(HUMIDITY, '%')}.", "rh = 50"),
        },
    ),
    "an aftercare line": PlanTable(
        "`[[aftercare]]`",
        {
            "say": PlanKey("The sentence; needed.", 'say = "Keep it dry."'),
            "source": PlanKey(
                "Where its time stands; needed. One that is from no label says so on paper.",
                'source = "label of the pack"',
            ),
            "after": PlanKey(
                "The stage from whose end it counts; the end of the job if left out.",
                'after = "Coat"',
            ),
            "from": PlanKey(
                "From when on, ISO 8601. One of from, until and every is needed.", 'from = "PT1H"'
            ),
            "until": PlanKey("Until when, later than from.", 'until = "PT12H"'),
            "every": PlanKey("How long between two visits.", 'every = "P6M"'),
            "times": PlanKey(
                f"How many visits, 1 to {MOST_TIMES}; 1 if left out. Only with every.", "times = 4"
            ),
            "visit": PlanKey(
                "`true` for a date at the shop: it is moved past days that are closed, "
                "and has a line to sign.",
                "visit = true",
            ),
            "if_not": PlanKey(
                "What to do if it happens all the same.", 'if_not = "Dry it at once."'
            ),
            "about": PlanKey(
                "water, touch or wash: its time stands then among the dates that sheet, "
                "card and message tell first, and any other in a list of its own.",
                'about = "water"',
            ),
        },
    ),
}
