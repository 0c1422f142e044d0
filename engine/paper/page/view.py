"""A vehicle from above on a paper: what is marked on it, and the same in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from cartclock.engine.paper.said import places
from cartclock.engine.vehicle.plan_view import Driver, Outline, plan_view

SIGN_PT, NAME_PT = 8.0, 7.0
"""No letter of a view is smaller in print, in points: of its signs, its key and what is written
around it; of the names of its panels. Our own judgement."""

TONE_MOST = 0.35
"""How much ink the darkest tone has, so that letters on it keep 7:1 on paper (WCAG 2.2, 1.4.6)."""


class VehicleView(Struct, frozen=True):
    """A vehicle from above with its sides laid flat.

    Fields:
        shape, driver: as `engine.vehicle.plan_view.plan_view` takes them.
        marks: panel -> sign written into it, "A2": few letters, so that they have room.
        tones: panel -> 0 (white) to 1; a tone never tells what no sign tells.
        damages: (place, number) of what is seen there; a place that is not drawn is only said.
        spots: places on which a test spot lies.
        key: (sign, what it means): of the signs, the numbers and of "T", a test spot.
        empty: True if it is to be marked by hand.
        names: True if the panels are to bear their names.
    """

    shape: str
    driver: Driver = ""
    marks: Mapping[str, str] = {}
    tones: Mapping[str, float] = {}
    damages: tuple[tuple[str, str], ...] = ()
    spots: tuple[str, ...] = ()
    key: tuple[tuple[str, str], ...] = ()
    empty: bool = False
    names: bool = False

    def tags(self, place: str) -> tuple[str, ...]:
        """What is put on a place besides its sign, each once: "T" and numbers."""
        spot = ("T",) if place in self.spots else ()
        return (*spot, *dict.fromkeys(one for where, one in self.damages if where == place))

    def ink(self, place: str) -> float:
        """How dark the ground of a place is drawn, 0 (white) to `TONE_MOST`."""
        return TONE_MOST * min(1.0, max(0.0, self.tones.get(place, 0.0)))


def written_name(place: Outline) -> str:
    """What is written into a place that bears its name: its side is written beside the drawing."""
    side, _space, rest = place.name.partition(" ")
    return rest if side in ("passenger", "driver") and rest else place.name


def said_in_words(view: VehicleView) -> tuple[tuple[str, str], ...]:
    """(sign, text) of all that the drawing shows, for who does not see it: first the key, then
    where each sign, test spot and number stands, unless the key names the place itself."""
    panels = plan_view(view.shape, view.driver).panels
    found = list(view.key)
    known = dict(view.key)
    for sign in sorted(set(view.marks.values())):
        found.append((sign, f"on {where_marked(view, sign, panels)}"))
    if view.spots:
        found.append(("T", f"on {', '.join(view.spots)}"))
    for number in dict.fromkeys(number for _where, number in view.damages):
        at = [where for where, one in view.damages if one == number]
        if not all(where in known.get(number, "") for where in at):
            found.append((number, f"on {', '.join(dict.fromkeys(at))}"))
    return tuple(found)


def untold_words(untold: Sequence[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """(sign, text) of signs that had no room in the drawing."""
    found: dict[str, list[str]] = {}
    for place, sign in untold:
        found.setdefault(sign, []).append(place)
    return tuple((sign, f"on {', '.join(on)} too") for sign, on in found.items())


def where_marked(view: VehicleView, sign: str, panels: Sequence[str]) -> str:
    """Where a sign stands, in the shorter words: "roof, bonnet", "all but the front bumper"."""
    with_it = tuple(place for place, one in view.marks.items() if one == sign)
    if all(place in panels for place in with_it):
        return places(with_it, panels)
    return ", ".join(with_it)
