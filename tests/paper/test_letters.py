"""Letters in print: which font has them, what is missing, what reads from the right."""

from __future__ import annotations

import subprocess
import unicodedata
from collections.abc import Iterable
from importlib.resources import files
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cartclock.engine.letters import inert
from cartclock.engine.paper.page.pdf import letters as letters_
from cartclock.engine.paper.page.pdf.letters import REPLACEMENT, Letters, fonts_of_this_computer
from cartclock.engine.paper.page.pdf.right_to_left import visual
from tests.paper.test_text import TEXTS

FONTS = files("cartclock.engine.paper.page") / "fonts"
# A letter that DejaVu Sans lacks and DejaVu Sans Mono has.
ONLY_MONO = "\u2313"


def alone() -> Letters:
    """Letters without the fonts of this computer."""
    return Letters(search=None)


def test_the_fonts_come_with_the_program_and_their_licence_with_them() -> None:
    names = {one.name for one in FONTS.iterdir()}
    fonts = {"DejaVuSansCondensed.ttf", "DejaVuSansCondensed-Bold.ttf", "DejaVuSansMono.ttf"}
    assert names >= fonts | {"LICENSE.txt"}
    assert "Permission is hereby granted" in (FONTS / "LICENSE.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "name",
    ["Łukasz Żółć", "José Ångström-Šimůnek", "Ελλάδα Παπαδοπούλου", "Жанна Ющенко", "Ğüneş İpek"],
)
@pytest.mark.parametrize("style", ["regular", "bold", "mono"])
def test_accents_greek_and_cyrillic_are_set_in_the_font_asked_for(
    name: str, style: letters_.Style
) -> None:
    letters = alone()
    runs = letters.runs(letters.plain(name), style)
    assert [text for _font, text in runs] == [name]
    assert letters.footnote() == ""


def test_a_letter_typed_as_two_is_set_as_one() -> None:
    assert alone().plain("e\u0301") == "\u00e9"


def test_a_letter_that_is_nowhere_is_named_and_never_dropped() -> None:
    letters = alone()
    assert letters.runs("a中b", "regular") == [("DejaVuSansCondensed", f"a{REPLACEMENT}b")]
    assert letters.footnote().startswith("1 letter could not be set: U+4E2D (")
    letters.runs("文中", "bold")
    assert letters.footnote().startswith("2 letters could not be set: U+4E2D, U+6587 (")


def test_a_control_character_is_named_itself() -> None:
    letters = alone()
    for text in ("\x1b[31m", "\x7f"):
        letters.runs(letters.plain(text), "regular")
    assert "U+001B, U+007F" in letters.footnote()


def test_a_letter_only_another_font_of_the_program_has_is_set_in_that() -> None:
    letters = alone()
    assert letters.runs(f"a{ONLY_MONO}", "bold") == [
        ("DejaVuSansCondensed-Bold", "a"),
        ("DejaVuSansMono", ONLY_MONO),
    ]


def test_a_letter_is_looked_for_in_the_fonts_of_the_computer(tmp_path: Path) -> None:
    # A font of this computer, as far as the program can tell: the name is what it has no font of.
    other = tmp_path / "other.ttf"
    other.write_bytes((FONTS / "DejaVuSansCondensed.ttf").read_bytes())
    broken = tmp_path / "broken.ttf"
    broken.write_bytes(b"no font at all")
    asked: list[str] = []

    def search(letter: str) -> Iterable[Path]:
        asked.append(letter)
        return [tmp_path / "gone.ttf", broken, other]

    letters = Letters(search)
    letters._fonts["ж", "regular"] = letters._elsewhere("ж")
    assert letters.runs("aж", "regular") == [("DejaVuSansCondensed", "a"), (str(other), "ж")]
    assert letters.runs("中", "regular") == [("DejaVuSansCondensed", REPLACEMENT)]
    assert asked == ["ж", "中"]


def test_without_anybody_to_ask_for_fonts_nothing_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("shutil.which", lambda _name: None)
    monkeypatch.setattr(letters_, "_PLACES", ())
    assert fonts_of_this_computer("中") == []


def test_a_font_list_that_hangs_is_no_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    def hangs(*_args: object, **_facts: object) -> None:
        raise subprocess.TimeoutExpired("fc-list", 3)

    monkeypatch.setattr("shutil.which", lambda _name: "fc-list")
    monkeypatch.setattr("subprocess.run", hangs)
    monkeypatch.setattr(letters_, "_PLACES", ())
    assert fonts_of_this_computer("中") == []


def test_joiners_and_selectors_are_nothing_to_be_seen() -> None:
    assert alone().plain("❤\ufe0f a\u200db") == "❤ ab"


@settings(max_examples=60)
@given(TEXTS, st.floats(40, 500), st.sampled_from(["regular", "bold", "mono"]))
def test_wrapping_loses_no_letter_and_no_line_is_too_wide(
    text: str, width: float, style: letters_.Style
) -> None:
    letters = alone()
    lines = letters.lines(text, width, style, 9.0)
    assert "".join("".join(lines).split()) == "".join(letters.plain(text).split())
    for line in lines:
        assert letters.width(line, style, 9.0) <= width + 1e-6
        assert "\n" not in line


@settings(max_examples=60)
@given(TEXTS)
def test_turning_round_loses_no_letter(text: str) -> None:
    line = inert(text).replace("\n", " ")
    turned = unicodedata.normalize("NFKC", visual(line))
    pairs = str.maketrans(")]}>»›", "([{<«‹")
    same = [sorted(unicodedata.normalize("NFKC", turned.translate(pairs)))]
    assert same == [sorted(unicodedata.normalize("NFKC", line.translate(pairs)))]


@pytest.mark.parametrize(
    ("typed", "set_as"),
    [
        ("plain text", "plain text"),
        ("דוד", "דוד"[::-1]),
        ("Herr אבג end", "Herr גבא end"),
        ("אב 12:30 גד", "דג 12:30 בא"),
        ("a (אב) b", "a (בא) b"),
        ("אב (גד) x", "(דג) בא x"),
        ("אב, x", "בא, x"),
    ],
)
def test_hebrew_reads_from_the_right(typed: str, set_as: str) -> None:
    assert visual(typed) == set_as


def test_arabic_letters_join() -> None:
    # seen, lam with alef, meem: "peace" without its article.
    assert visual("سلام") == "\ufee1\ufefc\ufeb3"
