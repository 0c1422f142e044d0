"""Pictures that nobody looks at are not drawn.

Between a key and the last message it leads to a screen is drawn two or three times, and a test
looks at one picture of several. An app that is held draws when it is asked to, the whole screen
once, so that what cannot be drawn is found.
"""

from __future__ import annotations

from weakref import WeakKeyDictionary, WeakSet

from textual.app import App

from cartclock.tui.screens.cart import CartScreen

held: WeakSet[App[None]] = WeakSet()
# The newest picture of a screen, as long as it is what would be drawn.
kept: WeakKeyDictionary[CartScreen, list[str]] = WeakKeyDictionary()


def hold(app: App[None]) -> None:
    """From here on the app draws when `drawn` asks for it."""
    held.add(app)


def drawn(app: App[None]) -> list[str]:
    """The lines of the screen on top, drawn if they are not yet; trailing blanks cut off."""
    screen = app.screen
    if screen in kept:
        return kept[screen]
    strips = screen._compositor.render_strips()
    lines = ["".join(segment.text for segment in strip).rstrip() for strip in strips]
    if isinstance(screen, CartScreen) and app in held:
        kept[screen] = lines
        screen._compositor._dirty_regions.clear()
        screen._dirty_widgets.clear()
    return lines


def changed(screen: CartScreen) -> None:
    """What a screen does instead of drawing."""
    kept.pop(screen, None)
    if screen.app not in held:
        draw_at_once(screen)


draw_at_once = CartScreen._compositor_refresh
CartScreen._compositor_refresh = changed  # type: ignore[method-assign]  # of every app a test starts
