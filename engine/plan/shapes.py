"""Section lists from the shape of a vehicle body.

A plan that says `sections = { body = "estate" }` means: every outer panel of an estate, in
an order a person can work in. The panels, their order and which of them are awkward to
reach are common practice, no source. "Passenger" and "driver" are the two sides; left and
right inside a split panel are seen facing the way the car drives.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache

from cartclock.engine.plan.plan import Effort

SHAPES = ("hatchback", "saloon", "estate", "coupe", "SUV", "pickup", "van")
MOST_PIECES = 12

_FOUR_DOOR = ("front wing", "mirror", "front door", "rear door", "sill", "rear quarter")
_TWO_DOOR = ("front wing", "mirror", "door", "sill", "rear quarter")
_PICKUP_SIDE = ("front wing", "mirror", "front door", "rear door", "sill", "bed side")
_VAN_PASSENGER = (
    "front wing",
    "mirror",
    "front door",
    "sliding door",
    "sill",
    "rear side panel",
)
_VAN_DRIVER = (
    "front wing",
    "mirror",
    "front door",
    "front side panel",
    "sill",
    "rear side panel",
)

# shape -> (passenger side, driver side, rear), both sides from front to rear
_BODIES: dict[str, tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]] = {
    "hatchback": (_FOUR_DOOR, _FOUR_DOOR, ("tailgate",)),
    "saloon": (_FOUR_DOOR, _FOUR_DOOR, ("boot lid",)),
    "estate": (_FOUR_DOOR, _FOUR_DOOR, ("tailgate",)),
    "coupe": (_TWO_DOOR, _TWO_DOOR, ("boot lid",)),
    "SUV": (_FOUR_DOOR, _FOUR_DOOR, ("tailgate",)),
    "pickup": (_PICKUP_SIDE, _PICKUP_SIDE, ("tailgate",)),
    "van": (_VAN_PASSENGER, _VAN_DRIVER, ("passenger barn door", "driver barn door")),
}

# Shapes whose roof is worked above shoulder height from the ground or a step.
_OVERHEAD = ("SUV", "pickup", "van")

_FLAT = ("roof", "bonnet", "boot lid")
_ACROSS = ("bumper", "tailgate")
_LOW = ("sill", "bumper")

_PIECES: dict[str, dict[int, tuple[str, ...]]] = {
    "flat": {
        2: ("left", "right"),
        3: ("left", "middle", "right"),
        4: ("front left", "front right", "rear left", "rear right"),
    },
    "across": {
        2: ("left", "right"),
        3: ("left", "middle", "right"),
        4: ("upper left", "upper right", "lower left", "lower right"),
    },
    "sill": {2: ("front", "rear"), 3: ("front", "middle", "rear")},
    "side": {
        2: ("upper", "lower"),
        3: ("upper", "middle", "lower"),
        4: ("upper front", "upper rear", "lower front", "lower rear"),
    },
}

_PIECE_WORDS = frozenset(
    word
    for lay in _PIECES.values()
    for names in lay.values()
    for name in names
    for word in name.split()
)

_ONE_UP: dict[Effort, Effort] = {
    "rest": "light",
    "light": "moderate",
    "moderate": "heavy",
    "heavy": "heavy",
}


def matches(part: str, panel: str) -> bool:
    """Whether a part names a panel: "door" and "front door" both name "driver front door"."""
    return panel == part or panel.endswith(f" {part}")


def _is_any(panel: str, parts: Sequence[str]) -> bool:
    return any(matches(part, panel) for part in parts)


def _ring(shape: str) -> tuple[str, ...]:
    passenger, driver, rear = _BODIES[shape]
    return (
        "roof",
        "bonnet",
        *(f"passenger {part}" for part in passenger),
        *rear,
        "rear bumper",
        *(f"driver {part}" for part in reversed(driver)),
        "front bumper",
    )


def _height(panel: str) -> int:
    if panel == "roof":
        return 0
    if _is_any(panel, ("bonnet", "boot lid", "tailgate", "barn door")):
        return 1
    return 3 if _is_any(panel, _LOW) else 2


@cache
def panel_order(shape: str, first: str = "", round_car: bool = False) -> tuple[str, ...]:
    """Every outer panel of a body in working order.

    Args:
        shape: one of `SHAPES`.
        first: panel to begin with; "" for the order's own beginning.
        round_car: True to go round the car (roof and bonnet, passenger side towards the
            rear, the rear, driver side towards the front, the front bumper), beginning at
            `first`; False for top down, with `first` drawn to the front.

    Raises:
        ValueError: no such shape, or `first` is no panel of it.

    Source: common practice, no source.
    """
    if shape not in _BODIES:
        raise ValueError(f"no body shape {shape!r}")
    ring = _ring(shape)
    if first and first not in ring:
        raise ValueError(f"no panel {first!r} on the body shape {shape!r}")
    if round_car:
        at = ring.index(first) if first else 0
        return ring[at:] + ring[:at]
    down = sorted(ring, key=_height)
    return tuple(sorted(down, key=lambda panel: panel != first)) if first else tuple(down)


def pieces(panel: str, count: int) -> tuple[str, ...]:
    """Names of the sections a panel is cut into.

    Args:
        panel: name of the panel.
        count: 1 to `MOST_PIECES`; 1 leaves the panel whole. Two to four pieces are named by
            where they lie ("bonnet left", "driver sill rear", "driver door lower"), other
            counts are numbered.

    Raises:
        ValueError: count out of range.
    """
    if not 1 <= count <= MOST_PIECES:
        raise ValueError(f"a panel is cut into 1 to {MOST_PIECES} sections, not {count}")
    if count == 1:
        return (panel,)
    if _is_any(panel, _FLAT):
        lay = "flat"
    elif _is_any(panel, _ACROSS):
        lay = "across"
    else:
        lay = "sill" if matches("sill", panel) else "side"
    names = _PIECES[lay].get(count) or tuple(str(n) for n in range(1, count + 1))
    return tuple(f"{panel} {name}" for name in names)


def panels_called(name: str, shape: str) -> tuple[str, ...]:
    """The panels of a body that the name of a section means by its words alone.

    Args:
        name: as a plan writes it: a panel or a piece of one ("roof rear left"), what several have
            in common ("barn doors", "passenger doors"), "passenger side", "front" (the bumper),
            "rear" (all behind, the bumper with it), "body" or "whole vehicle", or several of these
            joined by "and".
        shape: one of `SHAPES`.

    Returns:
        In the body's working order; () if the words tell no panel.

    Raises:
        ValueError: no such shape.

    Source: common practice, no source.
    """
    order = panel_order(shape)
    found = {panel for part in name.split(" and ") for panel in _called(part, shape, order)}
    return tuple(panel for panel in order if panel in found)


def _called(name: str, shape: str, order: Sequence[str]) -> Sequence[str]:
    if name in order:
        return (name,)
    if name in ("body", "whole body", "whole vehicle"):
        return order
    rear = _BODIES[shape][2]
    if name == "rear":
        return (*rear, "rear bumper")
    if name == "front":
        return ("front bumper",)
    side, _space, rest = name.partition(" ")
    if rest == "side":
        return tuple(p for p in order if p.startswith(f"{side} ") and p not in rear)
    if name.endswith("s"):
        common = tuple(panel for panel in order if matches(name.removesuffix("s"), panel))
        of_side = (p for p in order if p.startswith(f"{side} ") and p not in rear)
        return common or tuple(p for p in of_side if matches(rest.removesuffix("s"), p))
    words = name.split()
    for end in range(len(words) - 1, 0, -1):
        panel, piece = " ".join(words[:end]), words[end:]
        if panel in order and all(word in _PIECE_WORDS or word.isdecimal() for word in piece):
            return (panel,)
    return ()


def shape_sections(
    shape: str,
    split: Mapping[str, int] | None = None,
    first: str = "",
    round_car: bool = False,
) -> tuple[tuple[str, ...], dict[str, str]]:
    """Sections of a body in working order, and the panel of every section that is a piece.

    Args:
        shape: one of `SHAPES`.
        split: part -> number of sections, 1 to `MOST_PIECES`. A part is a panel ("driver
            sill") or what several panels have in common ("door"); of two parts that name
            the same panel the longer one counts.
        first, round_car: as for `panel_order`.

    Returns:
        (unique section names, section -> panel where they differ).

    Raises:
        ValueError: no such shape or panel, a part that names no panel, a count out of range.
    """
    cuts = split or {}
    panels = panel_order(shape, first, round_car)
    for part in cuts:
        if not any(matches(part, panel) for panel in panels):
            raise ValueError(f"no panel {part!r} on the body shape {shape!r}")
    sections: list[str] = []
    panel_of: dict[str, str] = {}
    for panel in panels:
        part = max((part for part in cuts if matches(part, panel)), key=len, default="")
        names = pieces(panel, cuts[part] if part else 1)
        sections += names
        panel_of |= {name: panel for name in names if name != panel}
    return tuple(sections), panel_of


def effort_by_body(
    shape: str, sections: Sequence[str], panels: Mapping[str, str], effort: Effort
) -> dict[str, Effort]:
    """Effort of the sections that are harder to reach than the rest, for polish and clay.

    Sills, bumpers, the lower pieces of split doors, wings, quarters and sides, and the roof
    of a tall body are one effort class up ("heavy" stays "heavy").

    Args:
        shape: one of `SHAPES`.
        sections, panels: as `shape_sections` returns them.
        effort: of the stage.

    Returns:
        section -> effort, only where it differs from the stage's.

    Source: our own judgement from kneeling and overhead postures; common practice, no source.
    """
    harder = _ONE_UP[effort]
    if harder == effort:
        return {}
    hard: dict[str, Effort] = {}
    for section in sections:
        panel = panels.get(section, section)
        lower = "lower" in section.removeprefix(panel).split() and not _is_any(panel, _ACROSS)
        overhead = panel == "roof" and shape in _OVERHEAD
        if _is_any(panel, _LOW) or lower or overhead:
            hard[section] = harder
    return hard
