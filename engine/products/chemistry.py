"""Families of products: what to remind of, and which of them must not meet.

What is dangerous in a pack stands in its data sheet: signal word and H-codes are copied from
it into the plan and only repeated here, and our own sentences are no authority. A family is
one word of the plan; a product without one is passed over, because nothing is known of it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

from msgspec import Struct

from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.shift import Hands
from cartclock.engine.figures.vapour import SHORT_TERM_LIMIT_PPM, isopropyl_ppm
from cartclock.engine.plan.plan import Plan, Product, Work
from cartclock.engine.times import Instant


class Family(Struct, frozen=True):
    """A chemical family of products.

    Fields:
        name: as the plan writes it.
        what: what belongs to it.
        says: sentences to remind of; may be empty.
        short: the same in a few words, for the question before the first use; "": nothing is
            asked about it for its family's sake.
        source: where they come from, with its mark.
    """

    name: str
    what: str
    says: tuple[str, ...] = ()
    short: str = ""
    source: str = "common practice, no source"


FLUORIDE = "fluoride"
FLUORIDE_SAYS = (
    "Fluoride goes deep into the skin, and under 20 % the pain comes late: a splash that does not "
    "hurt may be a burn.",
    "On skin or in an eye: rinse at once with much water, take off what is wet, and get medical "
    "help even if it looks small and does not hurt. Take the data sheet along.",
    "Gloves and eye protection named in section 8 of the sheet, before the bottle is opened. "
    "Look for holes in the gloves.",
)
"""The strongest reminder there is.

Source: MMWR 64(32) 2015, 48 hydrofluoric acid burns in vehicle washing; read in the issuing
body's text; rinsing and undressing common practice, no source."""

_GLOVES = "Gloves and eye protection named in section 8 of the sheet."
_VENTILATE = "Open the door and let air through."
# An example of a wipe in a closed garage, rounded to tens.
WIPE_ML, ROOM_M3 = 100.0, 60.0
WIPE_PPM = round(isopropyl_ppm(WIPE_ML, 1.0, ROOM_M3), -1)

FAMILIES: tuple[Family, ...] = (
    Family(
        FLUORIDE,
        "acid wheel cleaner with fluoride, hydrofluoric acid or bifluoride",
        FLUORIDE_SAYS,
        "burns deep and hurts late; on skin rinse at once and get medical help",
        "MMWR 64(32) 2015; read in the issuing body's text",
    ),
    Family(
        "acid",
        "acid cleaners without fluoride: water spots, scale, brick dust",
        ("Acid: never together with bleach. " + _GLOVES,),
        "never with bleach; gloves and eye protection",
    ),
    Family(
        "bleach",
        "hypochlorite and other chlorine cleaners",
        ("Bleach: never together with acid or ammonia. " + _VENTILATE + " " + _GLOVES,),
        "never with acid or ammonia; open the door",
        "from memory",
    ),
    Family(
        "ammonia",
        "cleaners with ammonia, some of them for glass",
        ("Ammonia: never together with bleach. " + _VENTILATE,),
        "never with bleach; open the door",
        "from memory",
    ),
    Family(
        "thioglycolate",
        "iron fallout remover that turns colour",
        (
            "Fallout remover: no acid on the same wheel without a full rinse between. Never let "
            "it dry. " + _VENTILATE + " " + _GLOVES,
        ),
        "never after acid without a full rinse; open the door, never let it dry",
    ),
    Family(
        "solvent",
        "panel wipe, isopropyl alcohol, tar remover",
        (
            "Solvent: no flame, no spark, no cigarette. " + _VENTILATE + f" {WIPE_ML:g} ml of "
            f"isopropyl alcohol in a closed room of {ROOM_M3:g} m3 is about {WIPE_PPM:.0f} ppm; "
            f"the short-term limit is {SHORT_TERM_LIMIT_PPM:g} (screening estimate).",
        ),
        "no flame, no spark; open the door",
        "NIOSH Pocket Guide, isopropyl alcohol; read in the issuing body's text; no flame: "
        "common practice, no source",
    ),
    Family(
        "alkaline",
        "pre-wash foam, all-purpose cleaner, degreaser",
        ("Alkaline: keep it out of the eyes and never let it dry.",),
    ),
    Family("neutral", "shampoo and other pH-neutral washes"),
    Family("coating", "ceramic and other curing coatings", (_VENTILATE + " " + _GLOVES,)),
    Family("sealant", "spray sealants and waxes"),
    Family("polish", "compounds and polishes"),
)
"""Every family that is known. Source: each its own; which there are is our own judgement."""

_BY_NAME: Mapping[str, Family] = {family.name: family for family in FAMILIES}


class Pair(Struct, frozen=True):
    """Families that must not meet, and why.

    Whichever came first: a pair knows no order. It is told until a rinse is finished, however
    long ago the first was and whether or not it has dried since.

    Fields:
        one, other: names of families; any of `one` with any of `other`.
        why: what happens, to go on from "must not meet: ".
        source: where it comes from, with its mark.
    """

    one: frozenset[str]
    other: frozenset[str]
    why: str
    source: str


_ACIDS = frozenset({"acid", FLUORIDE})
PAIRS: tuple[Pair, ...] = (
    Pair(_ACIDS, frozenset({"bleach"}), "acid drives chlorine gas out of bleach", "from memory"),
    Pair(
        _ACIDS,
        frozenset({"thioglycolate"}),
        "acid drives foul and poisonous gas out of fallout remover; never on the same wheel "
        "without a full rinse between",
        "common practice, no source; the gas from memory",
    ),
    Pair(
        frozenset({"bleach"}),
        frozenset({"ammonia"}),
        "bleach and ammonia give off chloramine gas",
        "from memory",
    ),
)
"""The pairs that are known; what is not here may be dangerous all the same."""

_MEETING = frozenset[str]().union(*(pair.one | pair.other for pair in PAIRS))

# A step that takes a product off again; which words say so is our own judgement.
_RINSES = re.compile(r"\b(rins|hos(e|ing)|flush)", re.I)


def family_name(product: Product) -> str:
    """What the plan calls the family of a product, capitals and blanks aside; "" if nothing."""
    return " ".join(product.family.casefold().split())


def family_of(product: Product) -> Family | None:
    """The family of a product; None if the plan names none or one that is not known."""
    return _BY_NAME.get(family_name(product))


def unknown_families(plan: Plan) -> tuple[str, ...]:
    """One sentence for each product whose family is not known."""
    found = []
    for product in plan.products:
        name = family_name(product)
        if not name or name in _BY_NAME:
            continue
        # On use: a paper, which names families, does not wait for what finds misspelled ones.
        from difflib import get_close_matches

        near = get_close_matches(name, _BY_NAME, n=1)
        hint = f'did you mean "{near[0]}"?' if near else f"known are {', '.join(_BY_NAME)}."
        found.append(
            f'{product.name}: the family "{product.family}" is not known here, so nothing is '
            f"reminded of it; {hint}"
        )
    return tuple(found)


def _pairs(one: str, other: str) -> Iterable[Pair]:
    for pair in PAIRS:
        if (one in pair.one and other in pair.other) or (other in pair.one and one in pair.other):
            yield pair


def _named(product: Product) -> str:
    return f"{product.name} ({family_name(product)})"


def meeting_remarks(plan: Plan) -> tuple[str, ...]:
    """One sentence for every two products of a plan that must not meet, with its source."""
    return tuple(f"{said}: {pair.why} ({pair.source})." for said, pair in _meetings(plan))


def meeting_names(plan: Plan) -> tuple[str, ...]:
    """The same two by two without the reason."""
    return tuple(dict.fromkeys(f"{said}." for said, _pair in _meetings(plan)))


def _meetings(plan: Plan) -> Iterable[tuple[str, Pair]]:
    for index, one in enumerate(plan.products):
        for other in plan.products[index + 1 :]:
            said = f"{_named(one)} and {_named(other)} must not meet"
            for pair in _pairs(family_name(one), family_name(other)):
                yield said, pair


# Where two sections are the same paint.

_SIDES = frozenset(
    {"left", "right", "front", "rear", "driver", "passenger", "upper", "lower", "inner", "outer"}
)
_ALL = frozenset({"whole", "all", "entire", "every", "car", "vehicle", "everything"})


def _words(place: str) -> tuple[frozenset[str], frozenset[str]]:
    words = {word.removesuffix("s") for word in re.findall(r"\w+", place.casefold())}
    return frozenset(words - _SIDES), frozenset(words & _SIDES)


def same_place(one: str, other: str) -> bool:
    """True if two names of sections or panels may mean the same spot of a vehicle.

    "wheels" and "front left wheel" do; "front left wheel" and "rear left wheel" do not; "whole
    car" is everywhere. Source: our own judgement; a wheel inside "left side" is not seen.
    """
    if one.casefold() == other.casefold():
        return True
    (things, sides), (others, other_sides) = _words(one), _words(other)
    if things & _ALL or others & _ALL:
        return True
    return bool(things & others) and (sides <= other_sides or other_sides <= sides)


def _families(plan: Plan, work: Work) -> dict[str, Product]:
    found: dict[str, Product] = {}
    for use in work.uses:
        product = plan.product(use.product)
        if product is not None and family_of(product) is not None:
            found.setdefault(family_name(product), product)
    return found


class _Touch(Struct, frozen=True):
    """A product on a section, last at `at_us`; a rinse has no product."""

    family: str
    name: str
    place: str
    at_us: Instant


def _touches(job: Job, plan: Plan, now_us: Instant) -> tuple[list[_Touch], list[_Touch]]:
    """What went on which section, and what was rinsed; what is in hand counts as done now."""
    used: list[_Touch] = []
    rinsed: list[_Touch] = []
    places = [(s.stage, s.section, s.turn, s.last_us) for s in job.stints]
    places += [
        (s.stage, s.name, s.turn, now_us)
        for s in job.sections.values()
        if s.state in ("in hand", "held")
    ]
    for stage, name, turn, at_us in places:
        try:
            work = job.work(stage, turn)
        except KeyError:
            continue
        section = job.sections.get((stage, name))
        # Its panel says where a section with a name of its own lies.
        place = name if section is None or section.panel == name else f"{name} {section.panel}"
        families = _families(plan, work)
        for family, product in families.items():
            used.append(_Touch(family, product.name, place, at_us))
        put_down = section is not None and section.state == "held" and section.turn == turn
        if _RINSES.search(work.say) and not families.keys() & _MEETING and not put_down:
            rinsed.append(_Touch("", "", place, at_us))
    return used, rinsed


def meeting_notice(job: Job, at: Move | Hands | None, now_us: Instant) -> str:
    """What is to be said where the work of `at` brings a family to where its other is still on.

    at: the move that would be taken up, or what is in hand, of this job. Looked for on the
    same sections by name (`same_place`), after the last use. A step that says rinse takes it
    away once it is finished, and the one in hand is finished by the press that takes up the
    next. "" if nothing meets.
    """
    if at is None or at.job != job.id or not at.sections:
        return ""
    plan = job.opened.plan
    if not meeting_remarks(plan):
        return ""
    try:
        here = _families(plan, job.work(at.stage, at.turn))
    except KeyError:
        return ""
    used, rinsed = _touches(job, plan, now_us) if here else ([], [])
    for family, product in here.items():
        for touch in reversed(used):
            if not any(_pairs(family, touch.family)):
                continue
            for name in at.sections:
                if same_place(name, touch.place) and not _gone(touch, name, rinsed):
                    return (
                        f"{name}: {touch.name} was used there and no rinse was finished since. "
                        f"{product.name} must not meet it: rinse it off fully first."
                    )
    return ""


def _gone(touch: _Touch, place: str, rinsed: Sequence[_Touch]) -> bool:
    return any(
        one.at_us >= touch.at_us
        and same_place(one.place, place)
        and same_place(one.place, touch.place)
        for one in rinsed
    )


def meeting_notices(
    jobs: Mapping[str, Job], hands: Hands | None, chosen: Move | None, now_us: Instant
) -> tuple[str, ...]:
    """The notices of what is in hand and of what would be taken up next."""
    found = []
    for at in (hands, chosen):
        job = None if at is None else jobs.get(at.job)
        if job is not None:
            found.append(meeting_notice(job, at, now_us))
    return tuple(dict.fromkeys(notice for notice in found if notice))
