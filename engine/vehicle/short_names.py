"""Names of panels for large letters: shortened word by word, no further than there is need.

The side comes first and is P or D. FRONT and REAR before the panel's word say where on the body
it is, behind it they say which piece. A piece is never lost: rather the panel's own word is cut.
FR and RR never stand before a panel: the trade reads them as front right and rear right.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

SIDES = {"passenger": "P", "driver": "D"}
PANELS = frozenset(
    {"roof", "bonnet", "wing", "mirror", "door", "sill", "quarter", "side", "bed", "wheel", "lid"}
    | {"tailgate", "boot", "bumper"}
)
_PIECES = {"left": "L", "right": "R", "front": "F", "rear": "R", "up": "U", "low": "L", "mid": "M"}
_PLACES = {"front": "F", "rear": "R", "left": "L", "right": "R"}
_LEVELS = {"upper": "up", "lower": "low", "middle": "mid"}
_CUT = {"bumper": "bump", "mirror": "mirr", "quarter": "quart", "bonnet": "bonn"}

# A wing is always in front and a quarter always behind; of the others one word says enough.
_ENOUGH = {
    ("front", "wing"): "wing",
    ("rear", "quarter"): "quarter",
    ("boot", "lid"): "boot",
    ("barn", "door"): "door",
    ("bed", "side"): "bed",
}
# Steps of shortening by which no word of a name is lost.
_WHOLE = 3


@lru_cache(maxsize=512)
def short_names(name: str) -> tuple[str, ...]:
    """The forms of a section's name, from whole to shortest, in capitals.

    Args:
        name: as a plan writes it: "passenger front door upper".

    Returns:
        At least one form, each of them another; of the sections of one body no two have a form
        in common at the same step of shortening. A name that is no panel's loses whole words
        from its end; of several joined by "and" each is shortened by itself and none is lost.
    """
    parts = [part.split() for part in name.lower().split(" and ")]
    if len(parts) > 1 and all(parts):
        return _joined(parts)
    return tuple(dict.fromkeys(" ".join(words).upper() for words in _steps(name.lower().split())))


def _joined(parts: list[list[str]]) -> tuple[str, ...]:
    """The forms of several names in one."""
    forms = []
    for words in parts:
        steps = list(_steps(words))
        # What is no panel's would lose words, and with them one of those that are meant.
        kept = steps if PANELS & set(words) else steps[:_WHOLE]
        forms.append([" ".join(one).upper() for one in kept])
    longest = max(map(len, forms))
    said = [[form[min(at, len(form) - 1)] for form in forms] for at in range(longest)]
    found = [" AND ".join(said[0]), *(" + ".join(one) for one in said), "+".join(said[-1])]
    return tuple(dict.fromkeys(found))


def _steps(words: list[str]) -> Iterator[list[str]]:
    if words:
        words = [SIDES.get(words[0], words[0]), *words[1:]]
    yield words
    words = _said_enough(words)
    yield words
    words = [_LEVELS.get(word, word) for word in words if word not in ("panel", "and")]
    yield words
    if not PANELS & set(words):
        for end in range(len(words) - 1, 0, -1):
            yield words[:end]
        return
    at = max(index for index, word in enumerate(words) if word in PANELS)
    place, panel, piece = words[:at], words[at], words[at + 1 :]
    if len(piece) == 2:
        # Two words of a piece in two letters.
        piece = ["".join(_PIECES.get(word, word) for word in piece)]
        yield [*place, panel, *piece]
    place = [_PLACES.get(word, word) for word in place]
    yield [*place, panel, *piece]
    piece = [_PIECES.get(word, word) for word in piece]
    yield [*place, panel, *piece]
    if "sliding" in place and panel == "door":
        place, panel = [word for word in place if word != "sliding"], "slide"
    panel = "tail" if panel == "tailgate" else panel
    yield [*place, panel, *piece]
    if len(place) == 2 and all(len(word) == 1 for word in place):
        place = ["".join(place)]
        yield [*place, panel, *piece]
    yield [*place, _CUT.get(panel, panel), *piece]


def _said_enough(words: list[str]) -> list[str]:
    for pair, word in _ENOUGH.items():
        for index in range(len(words) - 1):
            if (words[index], words[index + 1]) == pair:
                return [*words[:index], word, *words[index + 2 :]]
    return words
