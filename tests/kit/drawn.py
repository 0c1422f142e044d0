"""Pictures on the way to a settled one, which nobody sees, are not drawn.

Between a key and the last message it leads to a screen is drawn two or three times. An app that
is held draws when it is told to: once, all that is still to be drawn, so that what cannot be drawn
is found.
"""

from __future__ import annotations

from weakref import WeakSet

from textual.app import App

from cartclock.tui.screens.cart import CartScreen

held: WeakSet[App[None]] = WeakSet()
waiting: WeakSet[App[None]] = WeakSet()


def hold(app: App[None]) -> None:
    """From here on the app draws by `draw` alone."""
    held.add(app)


def draw(app: App[None]) -> None:
    """Draws what is still to be drawn."""
    if app in waiting and isinstance(app.screen, CartScreen):
        waiting.discard(app)
        draw_at_once(app.screen)


def draw_or_wait(screen: CartScreen) -> None:
    """What a screen does instead of drawing."""
    if screen.app in held:
        waiting.add(screen.app)
    else:
        draw_at_once(screen)


draw_at_once = CartScreen._compositor_refresh
CartScreen._compositor_refresh = draw_or_wait  # type: ignore[method-assign, assignment]  # of every app a test starts
