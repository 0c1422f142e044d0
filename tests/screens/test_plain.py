"""Text of a person: nothing in it steers the terminal, none of it is read as markup."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from rich.cells import cell_len
from textual.app import App, ComposeResult
from textual.strip import Strip

from tui.widgets.plain import ELLIPSIS, Plain, clean, cropped

ANY_TEXT = st.text(st.characters(), max_size=40)
NASTY_TEXT = st.text(st.sampled_from("a洗\x1b\x9b[]0;m\x07\x9c\\\x00\r\n\t\u202e\u2066\ud800é"))


@pytest.mark.parametrize(
    ("given_text", "shown"),
    [
        ("bonnet left", "bonnet left"),
        ("[bold]not markup[/x]", "[bold]not markup[/x]"),
        ("\x1b[31mred\x1b[0m", "red"),
        ("\x9b31mred", "red"),
        ("\x1b]0;title\x07after", "after"),
        ("\x1b]8;;file:\x1b\\link", "link"),
        ("\x9d0;title\x9cafter", "after"),
        ("\x1bPq#1\x1b\\after", "after"),
        ("\x1bcreset", "reset"),
        ("cut off \x1b[", "cut off "),
        ("no end \x1b]0;kept", "no end 0;kept"),
        ("a\x00b\x07c\x08d\x7fe", "abcde"),
        ("a\x9ab", "ab"),
        ("one\r\ntwo\rthree\x85four\u2028five\u2029six", "one\ntwo\nthree\nfour\nfive\nsix"),
        ("tab\there", "tab here"),
        ("\u202eevil\u202c \u2067x\u2069 \u200e\u200f\u061c", "evil x "),
        ("\ufeffmark\u200bjoin\u00ad", "markjoin"),
        ("half \ud83d pair", "half \ufffd pair"),
        ("non\ufffe\ufdd0char", "nonchar"),
        ("می\u200cخواهم", "می\u200cخواهم"),
        ("洗車 é ñ Ł", "洗車 é ñ Ł"),
    ],
    ids=[
        "plain", "brackets", "CSI 7 bit (ECMA-48 5.4)", "CSI 8 bit (ECMA-48 5.3)",
        "OSC ended by BEL (common practice, no source)", "OSC ended by ST (ECMA-48 5.6)",
        "OSC 8 bit (ECMA-48 5.6)", "DCS (ECMA-48 5.6)", "ESC with final byte", "CSI cut off",
        "OSC without end", "C0 and DEL", "C1", "line breaks", "tab",
        "direction marks (UAX 9 table 1)", "zero width and soft hyphen", "half a surrogate pair",
        "noncharacters", "non-joiner kept", "letters of the world",
    ],
)  # fmt: skip
def test_clean(given_text: str, shown: str) -> None:
    assert clean(given_text) == shown


@settings(max_examples=150, deadline=None)
@given(ANY_TEXT | NASTY_TEXT)
@example("\x1b\x1b[31m[31m")
def test_clean_leaves_nothing_that_steers(text: str) -> None:
    shown = clean(text)
    assert clean(shown) == shown
    for char in shown.replace("\n", ""):
        assert unicodedata.category(char) not in {"Cc", "Cs"}
        assert unicodedata.bidirectional(char) not in {
            "LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI",
        }  # fmt: skip
    shown.encode()


@pytest.mark.parametrize(
    ("text", "width", "shown"),
    [
        ("bonnet", 6, "bonnet"),
        ("bonnet", 5, "bonn…"),
        ("洗車場", 6, "洗車場"),
        ("洗車場", 5, "洗車…"),
        ("洗車場", 4, "洗…"),
        ("two words", 5, "two…"),
        ("bonnet", 1, "…"),
        ("bonnet", 0, ""),
        ("", 0, ""),
    ],
)
def test_cropped(text: str, width: int, shown: str) -> None:
    assert cropped(text, width) == shown


@settings(max_examples=150, deadline=None)
@given(ANY_TEXT.map(clean).map(lambda text: text.replace("\n", " ")), st.integers(0, 50))
def test_cropped_never_overflows(text: str, width: int) -> None:
    shown = cropped(text, width)
    assert cell_len(shown) <= width
    assert shown == text or shown.endswith(ELLIPSIS) or width == 0


class Painted(Plain):
    """Plain text that counts the rows it was asked to paint."""

    painted = 0

    def render_line(self, y: int) -> Strip:
        self.painted += 1
        return super().render_line(y)


class PlainApp(App[None]):
    CSS = """
    .right { text-align: right; }
    .low { height: 2; }
    .fitted { width: auto; }
    """

    def __init__(self, text: str, classes: str = "") -> None:
        super().__init__()
        self._shown = Painted(text, classes=classes)

    def compose(self) -> ComposeResult:
        yield self._shown


def screen_rows(app: App[None]) -> list[str]:
    return [strip.text for strip in app.screen._compositor.render_strips()]


async def test_brackets_are_text() -> None:
    app = PlainApp("[/x] [bold]wing[/bold] [link='a']")
    async with app.run_test(size=(50, 3)):
        assert screen_rows(app)[0].rstrip() == "[/x] [bold]wing[/bold] [link='a']"


async def test_lines_crop_and_align() -> None:
    app = PlainApp("short\n洗車場洗車場", "right")
    async with app.run_test(size=(10, 4)):
        assert screen_rows(app)[:2] == ["     short", " 洗車場洗…"]


async def test_more_lines_than_rows_end_with_an_ellipsis() -> None:
    app = PlainApp("one\ntwo\nthree", "low")
    async with app.run_test(size=(10, 4)):
        assert [row.rstrip() for row in screen_rows(app)[:3]] == ["one", "two …", ""]


async def test_repaints_only_on_change_and_grows_with_its_lines() -> None:
    app = PlainApp("one")
    async with app.run_test(size=(20, 5)) as pilot:
        plain = app.query_one(Painted)
        assert plain.size.height == 1
        plain.painted = 0
        plain.show("one")
        plain.show("on\x07e")
        await pilot.pause()
        assert plain.painted == 0
        plain.show("one\ntwo")
        await pilot.pause()
        assert plain.painted > 0
        assert plain.size.height == 2
        assert plain.text == "one\ntwo"
        assert [row.rstrip() for row in screen_rows(app)[:2]] == ["one", "two"]


async def test_fitted_width_follows_the_text() -> None:
    app = PlainApp("8:14", "fitted")
    async with app.run_test(size=(20, 3)) as pilot:
        plain = app.query_one(Painted)
        assert plain.size.width == 4
        plain.show("12:14 洗")
        await pilot.pause()
        assert plain.size.width == 8
