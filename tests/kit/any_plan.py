"""Any plan that a plan file has words for, as Hypothesis draws it. Synthetic."""

from __future__ import annotations

from hypothesis import strategies as st

from cartclock.engine.plan.plan import (
    Aftercare,
    Check,
    Condition,
    Cure,
    Gap,
    Handover,
    HighSpot,
    LabelRow,
    Limits,
    Plan,
    Product,
    Rhythm,
    Stage,
    Step,
    Tool,
    Use,
    Vibration,
    Wait,
    Wear,
    Work,
)
from cartclock.engine.plan.shapes import SHAPES, effort_by_body, panel_order, shape_sections

# Letters that a file must put into quotation marks are among them.
WORDS = st.text(st.sampled_from("abcdefgh zé\"\\'#=[]{}.,0123日"), min_size=1, max_size=60).filter(
    lambda text: text.strip() == text != ""
)
IDS = st.sampled_from(("foam", "coat", "panel_wipe", "a b", 'odd "id"', "42", "x.y", "[[stage]]"))
AMOUNTS = st.one_of(st.integers(0, 5000).map(float), st.floats(0, 5000, allow_subnormal=False))
SECONDS = st.integers(0, 100_000)
EFFORTS = st.sampled_from(("rest", "light", "moderate", "heavy"))


def _maybe(strategy: st.SearchStrategy) -> st.SearchStrategy:
    return st.one_of(st.none(), strategy)


@st.composite
def marks(draw: st.DrawFn) -> tuple[int, int, int]:
    """Opens, due, closes in seconds, closes at least 1."""
    opens, due, closes = sorted(draw(SECONDS) for _ in range(3))
    return opens, due, max(1, closes)


@st.composite
def waits(draw: st.DrawFn) -> Wait:
    """A dwell or a flash."""
    opens, due, closes = draw(marks())
    if draw(st.booleans()):
        return Wait("dwell", opens, due, closes, example=draw(st.booleans()))
    label = tuple(
        LabelRow(min(low, high), max(low, high), air, rh)
        for low, high, air, rh in draw(
            st.lists(
                st.tuples(
                    st.integers(1, 9000),
                    st.integers(1, 9000),
                    _maybe(st.floats(0, 40)),
                    _maybe(st.integers(20, 90).map(float)),
                ),
                max_size=3,
            )
        )
    )
    kind = draw(st.sampled_from(("", "solvent", "moisture cure", "water")))
    if label and draw(st.booleans()):
        # As the label alone gives them.
        opens, closes = min(r.low_s for r in label), max(r.high_s for r in label)
        due = round((label[0].low_s * label[0].high_s) ** 0.5)
    return Wait("flash", opens, due, closes, kind, label, draw(st.booleans()))


@st.composite
def works(draw: st.DrawFn, products: list[str], tools: list[str]) -> Work:
    """A step by hand."""
    used = draw(st.lists(st.sampled_from(products), unique=True, max_size=3)) if products else []
    first = draw(_maybe(AMOUNTS)) if len(used) == 1 else None
    wears = tuple(
        Wear(kind, draw(WORDS), draw(st.integers(1, 99)))
        for kind in ("pad", "towel")
        if draw(st.booleans())
    )
    return Work(
        draw(WORDS),
        draw(st.one_of(st.just(0.0), st.floats(0, 1440, allow_subnormal=False))),
        tuple(Use(one, draw(AMOUNTS), first) for one in used),
        draw(st.sampled_from(("section", "all"))),
        draw(st.sampled_from(["", *tools])),
        wears,
    )


@st.composite
def steps(draw: st.DrawFn, products: list[str], tools: list[str]) -> tuple[Step, ...]:
    """Works with waits between some of them."""
    found: list[Step] = [draw(works(products, tools))]
    for _ in range(draw(st.integers(0, 3))):
        if draw(st.booleans()):
            found.append(draw(waits()))
        found.append(draw(works(products, tools)))
    return tuple(found)


@st.composite
def stages(
    draw: st.DrawFn, name: str, products: list[str], tools: list[str], shape: str, before: list[str]
) -> Stage:
    """A stage, cut from the body of the plan or of sections named one by one."""
    effort = draw(EFFORTS)
    if shape and draw(st.booleans()):
        order = panel_order(shape)
        cuts = draw(st.dictionaries(st.sampled_from(order), st.integers(2, 5), max_size=3))
        first = draw(st.sampled_from(["", *order]))
        sections, panels = shape_sections(shape, cuts, first, draw(st.booleans()))
    else:
        sections = tuple(draw(st.lists(WORDS, unique=True, min_size=1, max_size=5)))
        panels = {
            section: panel
            for section, panel in draw(
                st.dictionaries(st.sampled_from(sections), WORDS, max_size=2)
            ).items()
            if section != panel
        }
    by: dict = draw(st.dictionaries(st.sampled_from(sections), EFFORTS, max_size=2))
    if draw(st.booleans()):
        by = effort_by_body(shape, sections, panels, effort) if shape else {}
    layers = draw(st.integers(1, 3))
    gap = Gap(*draw(marks()), draw(st.booleans())) if layers > 1 else None
    at_least, then = sorted(draw(st.integers(1, 90_000)) for _ in range(2))
    cold = draw(st.booleans())
    cure = Cure(at_least, 12.5 if cold else None, then if cold else None, draw(st.booleans()))
    look = sorted((draw(SECONDS), draw(SECONDS)))
    check = Check(look[0], max(1, look[1]), draw(st.sampled_from(("section", "panel", "stage"))))
    ages = sorted(draw(st.sets(st.integers(1, 9000), max_size=2)))
    redo = tuple(draw(st.lists(st.sampled_from(before), unique=True))) if before else ()
    spots = (*(HighSpot(draw(WORDS), age, redo) for age in ages), HighSpot(draw(WORDS)))
    return Stage(
        name,
        sections,
        draw(steps(products, tools)),
        kind=draw(st.sampled_from(("", "coat"))),
        effort=effort,
        effort_by=by,
        weights=draw(
            st.dictionaries(
                st.sampled_from(sections), st.floats(0, 20, exclude_min=True), max_size=2
            )
        ),
        order=draw(st.sampled_from(("each", "all", "wave"))),
        press=draw(st.sampled_from(("section", "panel", "stage"))),
        panels=panels,
        layers=layers,
        gap=gap,
        cure=draw(st.sampled_from((None, cure))),
        check=draw(st.sampled_from((None, check))),
        high_spot=draw(st.sampled_from(((), spots))),
        condition=draw(
            st.sampled_from((None, Condition("panel_c", True, 30.0, 900),
                             Condition("rh", False, 40.25, 61)))
        ),
        trial=draw(st.booleans()),
    )  # fmt: skip


@st.composite
def products(draw: st.DrawFn, id_: str) -> Product:
    """One product."""
    unit = draw(st.sampled_from(("ml", "g", "drops", "each")))
    dry = draw(_maybe(st.integers(1, 200_000)))
    return Product(
        id_,
        draw(WORDS),
        unit,
        draw(_maybe(st.floats(0.001, 50_000))),
        draw(st.sampled_from((None, "18.50", "0", "7"))),
        draw(st.sampled_from(("ready", "10:1", "1 in 10", "5 %"))),
        draw(st.sampled_from(("", "solvent"))),
        tuple(draw(st.lists(WORDS, max_size=2))),
        draw(st.sampled_from((None, Limits(), Limits(5.0, 30.0, rh_low=40.5)))),
        dry,
        draw(WORDS) if dry and draw(st.booleans()) else "",
        draw(_maybe(st.floats(0.1, 99))) if unit == "drops" else None,
    )


@st.composite
def plans(draw: st.DrawFn) -> Plan:
    """A plan."""
    ids = draw(st.lists(IDS, unique=True, max_size=3))
    tools = draw(st.lists(IDS, unique=True, max_size=2))
    shape = draw(st.sampled_from(("", *SHAPES)))
    names = draw(st.lists(WORDS, unique=True, min_size=1, max_size=4))
    made = tuple(
        draw(stages(name, ids, tools, shape, names[:place])) for place, name in enumerate(names)
    )
    sections = sorted({one for stage in made for one in stage.sections} - set(_order(shape)))
    covers = {}
    if shape and sections and draw(st.booleans()):
        covers = {draw(st.sampled_from(sections)): (_order(shape)[0], _order(shape)[3])}
    says = draw(st.lists(WORDS, unique=True, max_size=2))
    return Plan(
        draw(WORDS),
        made,
        tuple(draw(products(one)) for one in ids),
        tuple(
            Tool(
                one,
                draw(st.one_of(WORDS, st.just(one))),
                draw(st.sampled_from((None, Vibration(4.5, 1.5, 0.8), Vibration(2.0)))),
                draw(_maybe(st.floats(0, 140))),
            )
            for one in tools
        ),
        tuple(draw(cares(say, names)) for say in says),
        draw(st.sampled_from((None, Rhythm(3000, 600)))),
        draw(st.sampled_from((None, Handover("PT12H", names[0], "label of the pack")))),
        shape,
        covers,
    )


def _order(shape: str) -> tuple[str, ...]:
    return panel_order(shape) if shape else ()


@st.composite
def cares(draw: st.DrawFn, say: str, names: list[str]) -> Aftercare:
    """A line of the aftercare."""
    every = draw(st.sampled_from(("", "P6M")))
    return Aftercare(
        say,
        draw(st.sampled_from(("example", "label of the pack"))),
        draw(st.sampled_from(("PT48H", "P7D"))),
        draw(st.sampled_from(("", "PT12H"))),
        every,
        draw(st.integers(1, 9)) if every else 1,
        draw(st.sampled_from(("", *names))),
        draw(st.booleans()),
        draw(st.one_of(st.just(""), WORDS)),
        draw(st.sampled_from(("", "water", "touch", "wash"))),
    )
