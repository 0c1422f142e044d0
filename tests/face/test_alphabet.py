"""Letters and digits of one family: whole, apart from each other, as wide as they say."""

from __future__ import annotations

import unicodedata
from itertools import combinations

import pytest

from cartclock.engine.alphabet import (
    DOWN,
    KNOWN,
    SETTINGS,
    UP,
    in_blocks,
    measured,
    setting,
    unaccented,
)

SIZES = [(height, *one) for height, all_ in SETTINGS.items() for one in all_]
READ = sorted(KNOWN - {" "})
# A capital O and a zero share their form, as on the number plates of many countries; in the
# large words of a clock they are told apart by what stands around them.
SAME = {("0", "O")}


def points(char: str, height: int, width: int) -> frozenset[tuple[int, int]]:
    halves = {" ": (), "▀": (0,), "▄": (1,), "█": (0, 1)}
    rows = in_blocks(char, height, width, 0)
    found = (
        (x, 2 * y + half)
        for y, row in enumerate(rows)
        for x, c in enumerate(row)
        for half in halves[c]
    )
    return frozenset(found)


@pytest.mark.parametrize(("height", "width", "gap"), SIZES)
def test_every_character_is_drawn_within_its_size(height: int, width: int, gap: int) -> None:
    for char in READ:
        rows = in_blocks(char, height, width, gap)
        assert len(rows) == -(-height // 2), char
        assert {len(row) for row in rows} == {measured(char, height, width, gap)}, char
        inked = points(char, height, width)
        assert inked, char
        assert max(y for _, y in inked) < height, char


@pytest.mark.parametrize(("height", "width", "gap"), SIZES)
def test_capitals_and_digits_stand_from_the_top_to_the_bottom(
    height: int, width: int, gap: int
) -> None:
    for char in (c for c in READ if c.isalnum() and c != DOWN):
        lines = {y for _, y in points(char, height, width)}
        assert (min(lines), max(lines)) == (0, height - 1), char


@pytest.mark.parametrize(("height", "width", "gap"), SIZES)
def test_no_two_look_alike(height: int, width: int, gap: int) -> None:
    inked = {char: points(char, height, width) for char in READ}
    alike = {pair for pair in combinations(READ, 2) if inked[pair[0]] == inked[pair[1]]}
    assert alike == SAME


# NUREG-0700, rev. 3, 1.3.1: characters that are confused are to be told apart (read second-hand);
# how many points are enough is our own judgement.
@pytest.mark.parametrize(("height", "least"), [(14, 4), (17, 12), (21, 16), (27, 30)])
def test_digits_of_a_clock_are_far_apart(height: int, least: int) -> None:
    for width, _gap in SETTINGS[height]:
        for a, b in combinations("0123456789", 2):
            differ = points(a, height, width) ^ points(b, height, width)
            assert len(differ) >= least, (a, b, width, len(differ))


@pytest.mark.parametrize(("height", "width", "gap"), SIZES)
def test_all_digits_are_equally_wide(height: int, width: int, gap: int) -> None:
    assert len({measured(digit, height, width, gap) for digit in "0123456789"}) == 1


def test_the_roomiest_setting_that_fits_is_taken() -> None:
    text = "P FRONT WING"
    for height, all_ in SETTINGS.items():
        widths = [measured(text, height, *one) for one in all_]
        for one, taken in zip(all_, widths, strict=True):
            found = setting(text, height, taken)
            assert found is not None
            assert measured(text, height, *found) <= taken
            assert all_.index(found) <= all_.index(one)
        assert setting(text, height, min(widths) - 1) is None


def test_an_offset_begins_a_point_lower() -> None:
    plain, lower = in_blocks("8", 17, 9, 2), in_blocks("8", 17, 9, 2, 1)
    assert len(lower) == len(plain) == 9
    assert plain[0][4] == "█"
    assert lower[0][4] == "▄"


def test_accents_are_folded_and_letters_of_their_own_are_spelled() -> None:
    assert unaccented("Älskåde cañón, œuvre, Łódź") == "ALSKADE CANON, OEUVRE, LODZ"


def test_the_latin_letters_of_unicode_have_a_large_form() -> None:
    # The letters of Latin-1 and Latin Extended-A by Unicode's own names.
    latin = [chr(code) for code in (*range(0xC0, 0x100), *range(0x100, 0x180))]
    letters = [c for c in latin if unicodedata.name(c, "").startswith("LATIN CAPITAL LETTER")]
    missing = {c for c in letters if not set(unaccented(c)) <= KNOWN}
    # Rare letters without a plain one: a name that has them is shown as text.
    assert missing == set("ĦŊŦ")


def test_a_wedge_down_is_one_up_turned_over() -> None:
    for height, width, _gap in SIZES:
        down, up = points(DOWN, height, width), points(UP, height, width)
        top, low = min(y for _, y in down), max(y for _, y in down)
        assert {(x, top + low - y) for x, y in down} == up


def test_what_has_no_large_form_is_refused() -> None:
    with pytest.raises(KeyError):
        in_blocks("%", 10, 5, 1)
