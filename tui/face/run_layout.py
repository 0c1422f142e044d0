"""Where everything stands on Run: a table of rows for each size, and nothing ever moves in it."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace


class Layout(Struct, frozen=True):
    """The rows of one size; heights of letters in points of half a cell.

    Fields:
        name, name_top, name_off: height, first row and free points above of the large name; 0
            high it is a line of text.
        digits, digits_top, digits_off: the same of the digits.
        word: height of the word beside the digits; words: in how many lines at most.
        figure: height of the second figure; 0: there is none.
        side: columns for word and figure beside the digits; 0: they stand in the head.
        under: row of what the digits run to; -1: it stands in the head.
        tape, tapes: row of the tape and how many it takes; tapes 0: there is none.
        labels: row of the words under the tape; -1: there is none.
        space: row of the large key; -1: there is none.
        below: from this row up to before `keys` stand the lines of text.
        keys: row of the keys; the height of the screen if there is none.
        edge: cells left free at both sides.
        strip: rows of the second matter; 0: it is a line of text.
    """

    name: int
    name_top: int
    name_off: int
    digits: int
    digits_top: int
    digits_off: int
    word: int
    words: int
    figure: int
    side: int
    under: int
    tape: int
    tapes: int
    labels: int
    space: int
    below: int
    keys: int
    edge: int
    strip: int


_SMALL = Layout(
    name=6, name_top=1, name_off=0, digits=10, digits_top=4, digits_off=1, word=0, words=0,
    figure=0, side=0, under=-1, tape=10, tapes=1, labels=-1, space=11, below=10, keys=12,
    edge=1, strip=0,
)  # fmt: skip
_BROAD = replace(
    _SMALL, name_off=1, digits_top=5, digits_off=0, word=6, words=1, figure=6, side=22, edge=2
)
_HOME = Layout(
    name=10, name_top=1, name_off=1, digits=17, digits_top=7, digits_off=0, word=6, words=2,
    figure=6, side=22, under=16, tape=17, tapes=1, labels=18, space=19, below=20, keys=23,
    edge=2, strip=4,
)  # fmt: skip
# Columns from which the rows of a home screen stand without a word beside the digits, and from
# which these are as high as there: ten minutes with their wedge take 41 cells, and 52.
_MIDDLE, _MIDDLE_WHOLE = 45, 56
_LARGE = Layout(
    name=14, name_top=1, name_off=2, digits=21, digits_top=10, digits_off=0, word=10, words=2,
    figure=8, side=34, under=22, tape=23, tapes=2, labels=25, space=27, below=28, keys=39,
    edge=2, strip=5,
)  # fmt: skip
_HUGE = Layout(
    name=21, name_top=1, name_off=1, digits=27, digits_top=14, digits_off=0, word=14, words=2,
    figure=10, side=60, under=29, tape=30, tapes=2, labels=32, space=34, below=35, keys=47,
    edge=2, strip=6,
)  # fmt: skip


def layout(width: int, height: int, listed: bool = False) -> Layout:
    """Where everything stands on so many columns and rows.

    listed: True while a list stands below: it has the large key and the keys.
    """
    if listed:
        return _listed(width, height)
    if width >= 160 and height >= 48:
        return replace(_HUGE, keys=height - 1)
    if width >= 110 and height >= 36:
        return replace(_LARGE, keys=height - 1)
    if width >= _MIDDLE and height >= 22:
        return _with_room(replace(_HOME, keys=height - 1), width)
    if width < 38 or height < 12:
        return _tiny(height, listed)
    found = _BROAD if width >= 72 else _SMALL
    # A higher screen has lines of text between the digits and the tape.
    return replace(found, tape=height - 2, space=height - 1, below=10, keys=height - 2)


def _with_room(place: Layout, width: int) -> Layout:
    """The same rows, with a word and a second figure beside the digits where there are columns."""
    if width >= 72:
        return place
    digits = place.digits if width >= _MIDDLE_WHOLE else min(place.digits, 14)
    return replace(place, digits=digits, word=0, words=0, figure=0, side=0)


def _listed(width: int, height: int) -> Layout:
    """The largest size whose rows stand above the list, without the large key."""
    for size, columns in ((_HUGE, 160), (_LARGE, 110), (_HOME, _MIDDLE)):
        if width >= columns and height > size.labels:
            found = replace(size, space=-1, below=size.labels + 1, keys=height)
            return _with_room(found, width)
    if width >= _MIDDLE and height >= 11:
        return _with_room(_broad_listed(height), width)
    if width < 38 or height < 9:
        return _tiny(height, True)
    if height < 11:
        # The tape gives way before the name.
        digits = 10 if height > 9 else 8
        return replace(_SMALL, digits=digits, tape=-1, tapes=0, space=-1, below=height, keys=height)
    return replace(_SMALL, tape=height - 1, space=-1, below=10, keys=height - 1)


def _broad_listed(height: int) -> Layout:
    """Between a screen of 12 rows and one of 24: what has no row of its own stands in the head."""
    if height >= 17:
        # 18 rows: what the digits run to has the last one before the tape.
        under = _HOME.under if height > 17 else -1
        return replace(
            _HOME, under=under, labels=-1, tape=height - 1, space=-1, below=height, keys=height
        )
    if height >= 14:
        digits = 14 if height > 14 else 12
        end = _HOME.digits_top + digits // 2
        return replace(
            _HOME, digits=digits, words=1, under=-1, labels=-1, tape=height - 1, space=-1,
            below=end, keys=height - 1,
        )  # fmt: skip
    digits = {13: 14, 12: 12}.get(height, _BROAD.digits)
    end = _BROAD.digits_top + digits // 2
    return replace(_BROAD, digits=digits, tape=height - 1, space=-1, below=end, keys=height - 1)


def _tiny(height: int, listed: bool) -> Layout:
    """The name as text, digits of three rows, the large key."""
    top = 1 if height > 4 else 0
    name = height > 3
    digits_top = top + name
    end = height - (not listed and height > 5)
    # Over a list the digits grow with its rows; one line of text stays under them.
    digits = {7: 8, 8: 10}.get(height, 6) if listed else 6
    return replace(
        _SMALL,
        name=0,
        name_top=top if name else -1,
        digits=digits,
        digits_top=digits_top,
        digits_off=0,
        tape=-1,
        tapes=0,
        space=height - 1 if end < height else -1,
        below=min(digits_top + digits // 2, end),
        keys=end,
    )
