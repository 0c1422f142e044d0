"""What the kit keeps of the library from app to app is what the library would find anew."""

from __future__ import annotations

import inspect
from pathlib import Path

import pytest
from textual import events
from textual.css.styles import RulesMap
from textual.css.stylesheet import Stylesheet
from textual.dom import DOMNode

from tests.kit import library
from tests.kit.plans import COAT
from tests.kit.stage import SMALL, START_US, Play, played

KEYS = ("", "n", "x", "?", "t", "l", "p")


def styles(node: DOMNode) -> tuple[RulesMap, dict[str, RulesMap], list[bool]]:
    """What a stylesheet has settled for a part."""
    inside = {name: styles.base._rules.copy() for name, styles in node._component_styles.items()}
    return node.styles.base._rules.copy(), inside, [getattr(node, name) for name in library.ASKED]


def restyled(play: Play) -> int:
    """Every part of the screen styled anew by the library alone; how many there are."""
    parts = list(play.screen.walk_children(with_self=True))
    with pytest.MonkeyPatch.context() as alone:
        alone.setattr(Stylesheet, "apply", library.apply_anew)
        for part in (play.app, *parts):
            kept = styles(part)
            play.app.stylesheet.apply(part)
            assert styles(part) == kept, part
    return len(parts)


@pytest.mark.parametrize("theme", ["shade", "sun"])
async def test_every_part_has_the_style_that_the_library_gives_it(
    theme: str, tmp_path: Path
) -> None:
    async with played(tmp_path, [COAT]) as play:
        play.app.theme = theme
        await play.settle()
        for key in KEYS:
            if key:
                await play.press(key)
            assert restyled(play) > 2
            await play.press("escape")
        await play.resize(SMALL)
        restyled(play)


async def test_every_message_goes_to_the_methods_that_the_library_finds(tmp_path: Path) -> None:
    async with played(tmp_path, [COAT]) as play:
        taken = 0
        for kind in vars(events).values():
            if not inspect.isclass(kind) or not issubclass(kind, events.Event):
                continue
            message = kind.__new__(kind)
            message._no_default_action = False
            message._sender = None
            for pump in (play.app, play.screen, play.sheet):
                asked = (pump, kind.handler_name, message)
                found = list(library.handlers(*asked))
                assert found == list(library.handlers_anew(*asked))
                taken += len(found)
        assert taken > 50


def test_parameters_are_counted_as_a_signature_counts_them() -> None:
    def plain(one: int, *others: int, named: int = START_US, **more: int) -> None: ...

    for function in (plain, lambda: None, styles, restyled, print, events.Key):
        assert library.parameters(function) == library.parameters_anew(function)
