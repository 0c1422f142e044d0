"""Letters: nothing in a text steers, it takes the same cells on screen and paper, none is lost."""

from __future__ import annotations

import random
import time
import unicodedata

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from rich.cells import cell_len
from textual.app import App, ComposeResult

from cartclock.engine.letters import (
    ELLIPSIS,
    by_words,
    cells,
    clusters,
    cropped,
    inert,
    padded,
    parted,
    wrapped,
)
from cartclock.engine.paper.page.text.medium import WIDTH, Text
from cartclock.tui.widgets.plain import Plain
from tests.paper.test_text import HARD, TEXTS

pytestmark = pytest.mark.waits

# Letters in which a terminal, a table of widths or a line break may go wrong.
TRICKY = (
    "a洗\x1b\x9b[]0;m\x07\x9c\\\x00\r\n\t\u202e\u2066\ud800"
    "é\u0301\u200d\ufe0f❤👩🏽1️⃣ﷺ각ᄀ ก\u0e33का  "
)
ANY_TEXT = st.one_of(TEXTS, st.text(st.characters(), max_size=60), st.text(st.sampled_from(TRICKY)))
# Stated for a worker that shares its core; a wrapping in squares would take minutes.
MOST_S = 2.0
LONG = {
    "one word": "x" * 100_000,
    "short words": "ab " * 33_334,
    "wide letters": "洗" * 100_000,
    "marks on one letter": "e" + "\u0301" * 100_000,
    "joined pictures": "👩\u200d" * 50_000,
    "spaces": " " * 100_000,
    "line breaks": "\n" * 100_000,
}


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("bonnet left", "bonnet left"),
        ("[bold]not markup[/x]", "[bold]not markup[/x]"),
        ("\x1b[31mred\x1b[0m", "␛[31mred␛[0m"),
        ("\x9b31mred", "\ufffd31mred"),
        ("\x1b]0;title\x07after", "␛]0;title␇after"),
        ("\x1bPq#1\x1b\\after", "␛Pq#1␛\\after"),
        ("a\x00b\x07c\x08d\x7fe", "a␀b␇c␈d␡e"),
        ("one\r\ntwo\rthree\x85four\u2028five\u2029six", "one\ntwo\nthree\nfour\nfive\nsix"),
        ("tab\there", "tab here"),
        ("fixed\u00a0space", "fixed space"),
        ("\u202eevil\u202c", "\ufffdevil\ufffd"),
        ("\u2067x\u2069\u200e\u200f\u061c", "\ufffdx\ufffd\ufffd\ufffd\ufffd"),
        ("\ufeffmark\u200bjoin\u00ad", "\ufffdmark\ufffdjoin\ufffd"),
        ("half \ud83d pair", "half \ufffd pair"),
        ("non\ufffe\ufdd0char", "non\ufffd\ufffdchar"),
        ("می\u200cخواهم", "می\u200cخواهم"),
        ("\u0600\u0661\u0662", "\u0600\u0661\u0662"),
        ("洗車 é ñ Ł", "洗車 é ñ Ł"),
    ],
    ids=[
        "plain", "brackets", "CSI 7 bit (ECMA-48 5.4)", "CSI 8 bit (ECMA-48 5.3)",
        "OSC ended by BEL (common practice, no source)", "DCS (ECMA-48 5.6)", "C0 and DEL",
        "line breaks", "tab", "no-break space", "override (UAX 9 table 1)",
        "isolates and marks (UAX 9 table 1)", "zero width and soft hyphen",
        "half a surrogate pair", "noncharacters", "non-joiner kept", "number sign kept",
        "letters of the world",
    ],
)  # fmt: skip
def test_inert(typed: str, shown: str) -> None:
    assert inert(typed) == shown


@settings(max_examples=100)
@given(ANY_TEXT)
@example("\x1b\x1b[31m[31m")
def test_nothing_that_steers_is_left_and_no_letter_is_lost(text: str) -> None:
    shown = inert(text)
    assert inert(shown) == shown
    assert len(shown) == len(text.replace("\r\n", "\n"))
    for char in shown.replace("\n", ""):
        assert unicodedata.category(char) not in {"Cc", "Cs", "Zl", "Zp"}
        assert unicodedata.bidirectional(char) not in {
            "LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI",
        }  # fmt: skip
    shown.encode()


@pytest.mark.parametrize(
    ("text", "wide"),
    [
        ("bonnet", 6), ("é", 1), ("e\u0301", 1), ("洗車", 4), ("ｗ", 2), ("각", 2),
        ("ᄀ\u1161\u11a8", 2),
        ("α①─…", 4), ("❤", 1), ("❤\ufe0f", 2), ("👩🏽", 2), ("👨‍👩‍👧‍👦", 2), ("🇩🇪", 2), ("1️⃣", 2),
        ("กำ", 2), ("का", 1), ("\u200c", 0), ("", 0),
    ],
    ids=[
        "ASCII", "composed", "mark", "wide (UAX 11 W)", "full width (UAX 11 F)", "syllable",
        "syllable of three letters", "ambiguous (UAX 11 A) in a narrow context", "text picture",
        "picture asked for by VS16 (UTS 51)", "skin tone", "family joined by ZWJ (UTS 51)", "flag",
        "keycap", "Thai vowel", "Devanagari vowel sign", "non-joiner", "nothing",
    ],
)  # fmt: skip
def test_cells(text: str, wide: int) -> None:
    assert cells(text) == wide


@settings(max_examples=150)
@given(ANY_TEXT, st.integers(2, 90), st.integers(0, 6))
def test_wrapping_loses_and_adds_no_letter_and_no_line_is_too_wide(
    text: str, width: int, hang: int
) -> None:
    hang = min(hang, width - 2)
    lines = wrapped(text, width, hang)
    assert lines
    for index, line in enumerate(lines):
        assert cell_len(line) <= width - (hang if index else 0)
        assert "\n" not in line
    assert "".join(lines).replace(" ", "") == inert(text).replace(" ", "").replace("\n", "")


@settings(max_examples=150)
@given(st.text("ab -\t\n", max_size=12) | ANY_TEXT, st.integers(2, 20))
def test_a_text_that_fits_is_set_as_any_other(text: str, width: int) -> None:
    assert wrapped(text, width) == parted(inert(text), width, width, cells)


@settings(max_examples=100)
@given(ANY_TEXT)
def test_letters_with_what_is_joined_to_them_are_the_text(text: str) -> None:
    assert "".join(clusters(inert(text))) == inert(text)


def test_letters_and_their_marks_stay_together() -> None:
    lines = wrapped("e\u0301" * 30, 9)
    assert all(line.startswith("e") and line.endswith("\u0301") for line in lines)


def test_spaces_inside_a_line_stay() -> None:
    assert wrapped("up: choose   space: take it", 40) == ["up: choose   space: take it"]
    assert wrapped("one   two", 5) == ["one", "two"]


@pytest.mark.parametrize("text", LONG.values(), ids=LONG)
def test_a_long_text_is_wrapped_in_a_time_in_proportion(text: str) -> None:
    begun = time.process_time()
    lines = wrapped(text, 40, 2)
    took_s = time.process_time() - begun
    assert took_s < MOST_S
    assert "".join(lines).replace(" ", "") == text.replace(" ", "").replace("\n", "")


@pytest.mark.parametrize(
    ("text", "width", "shown"),
    [
        ("bonnet", 6, "bonnet"),
        ("bonnet", 5, "bonn…"),
        ("洗車場", 6, "洗車場"),
        ("洗車場", 5, "洗車…"),
        ("洗車場", 4, "洗…"),
        ("e\u0301e\u0301e\u0301", 2, "e\u0301…"),
        ("two words", 5, "two…"),
        ("bonnet", 1, "…"),
        ("bonnet", 0, ""),
        ("", 0, ""),
    ],
)
def test_cropped(text: str, width: int, shown: str) -> None:
    assert cropped(text, width) == shown


def test_by_words_no_word_but_the_first_is_cut() -> None:
    said = "apply passenger front door, then wait"
    assert by_words(said, 40) == said
    assert by_words(said, 30) == "apply passenger front door"
    assert by_words(said, 6) == "apply"
    # Of one long word behind a short one something is told.
    assert by_words(said, 13) == "apply passen" + ELLIPSIS
    assert by_words(said, 3) == "ap" + ELLIPSIS
    assert by_words(said, -1) == ELLIPSIS


@settings(max_examples=100)
@given(ANY_TEXT.map(lambda text: inert(text).replace("\n", " ")), st.integers(0, 50))
def test_cropped_and_padded_never_overflow(text: str, width: int) -> None:
    shown = cropped(text, width)
    assert cell_len(shown) <= width
    assert shown == text or shown.endswith(ELLIPSIS) or width == 0
    if not shown.endswith("\u200d"):
        # A joiner at the end takes the first space in.
        assert cells(padded(shown, width)) == width


class Folding(App[None]):
    """A text on the screen, in as many lines as it takes."""

    def compose(self) -> ComposeResult:
        yield Plain("", fold=True)


async def test_screen_and_paper_part_the_same_text_into_the_same_lines() -> None:
    chosen = random.Random(5)
    made = ["".join(chosen.choices(TRICKY, k=chosen.randrange(1, 300))) for _ in range(60)]
    app = Folding()
    async with app.run_test(size=(WIDTH, 24)) as pilot:
        plain = app.query_one(Plain)
        for text in (*HARD, *made):
            page = Text()
            page.words(text)
            on_paper = str(page).split("\n")[:-1]
            plain.show(text)
            await pilot.pause()
            rows = [plain.render_line(y) for y in range(plain.size.height)]
            assert all(row.cell_length == WIDTH for row in rows)
            on_screen = [row.text.rstrip(" ") for row in rows]
            while len(on_screen) > 1 and not on_screen[-1]:
                on_screen.pop()
            assert on_screen == on_paper
