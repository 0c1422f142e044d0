"""Colours and letters of the second screen: contrast, size, and what is preferred of them."""

from __future__ import annotations

import re

import pytest

from cartclock.engine.alphabet import KNOWN
from cartclock.engine.now.running import Field
from cartclock.tui.palettes import TEXT_CONTRAST
from cartclock.tui.show.follow import CART, CUSTOMER
from cartclock.tui.show.web import page_files
from tests.screens.test_themes import contrast

CSS = page_files(CART)["page.css"].content.decode()
SCHEMES = dict(
    zip(("dark", "light"), CSS.split("@media (prefers-color-scheme: light)"), strict=True)
)
RULE = re.compile(
    r'\[data-field="(\w+)"\] \{ --ground: (#\w{6}); --ink: (#\w{6}); --faint: (#\w{6}); \}'
)


def colour(text: str) -> tuple[int, int, int]:
    red, green, blue = bytes.fromhex(text.removeprefix("#"))
    return red, green, blue


@pytest.mark.parametrize("scheme", SCHEMES)
def test_ink_holds_its_contrast_on_every_ground_wcag_2_1_sc_1_4_6(scheme: str) -> None:
    found = {name: colours for name, *colours in RULE.findall(SCHEMES[scheme])}
    assert set(Field.__args__) < set(found)  # type: ignore[attr-defined]  # of a Literal
    for name, (ground, ink, faint) in found.items():
        for text in (ink, faint):
            assert contrast(colour(text), colour(ground)) >= TEXT_CONTRAST, name


@pytest.mark.parametrize("scheme", SCHEMES)
def test_late_has_a_ground_that_nothing_else_has(scheme: str) -> None:
    grounds = {name: ground for name, ground, *_ in RULE.findall(SCHEMES[scheme])}
    assert [name for name, ground in grounds.items() if ground == grounds["late"]] == ["late"]


def test_every_colour_of_the_page_is_one_of_these() -> None:
    own = RULE.sub("", CSS)
    assert not re.findall(r"#[0-9a-f]{3,8}\b(?=[;\s])|rgb|hsl|\bopacity\b", own, re.I)
    assert set(re.findall(r"(?:color|background|fill): ([^;]+);", own)) <= {
        "var(--ground)", "var(--ink)", "var(--faint)", "currentColor",
    }  # fmt: skip


def test_who_wants_no_motion_has_ground_and_ink_that_stay() -> None:
    (still,) = re.findall(r"prefers-reduced-motion: reduce\) \{\n(.*?)\n\}", CSS, re.S)
    assert ".turned { background: var(--ground); color: var(--ink); }" in still
    assert not re.search(r"animation|transition", CSS)


def test_every_letter_of_the_cart_is_drawn_and_no_font_is_asked_for() -> None:
    script = page_files(CART)["page.js"].content.decode()
    letters = script.partition("const LETTERS = ")[2].partition(";\n")[0]
    for char in KNOWN - {" ", '"', "\\"}:
        assert f'"{char}":[' in letters, char
    assert set(re.findall(r"font: (.*);", CSS)) == {
        "600 max(16px, 2.4vmin) / 1.25 system-ui, sans-serif"
    }
    assert "LETTERS" not in page_files(CUSTOMER)["page.js"].content.decode()
