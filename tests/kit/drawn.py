"""Pictures that nobody looks at are not drawn.

Between a key and the last message it leads to a screen is drawn two or three times, and a test
looks at one picture of several. An app that is held draws when it is asked to, the whole screen
once. So it is with the pictures of cells that the screens show. Every fourth of them, and of the
screens that an app leaves, is drawn although nobody looks, so that what cannot be drawn is found.
"""

from __future__ import annotations

from itertools import count
from weakref import WeakKeyDictionary, WeakSet

from textual.app import App

from cartclock.tui.face.canvas import Canvas
from cartclock.tui.screens.cart import CartScreen
from cartclock.tui.widgets.painted import Draw, Painted

# Of so many pictures one is drawn although nobody looks at it.
ONE_OF = 4
UNDRAWN = Canvas(0, 0)

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


def drawn_at_end(app: App[None]) -> None:
    """The screen that an app leaves is drawn, of every fourth app."""
    if next(left) % ONE_OF == 0:
        drawn(app)


def changed(screen: CartScreen) -> None:
    """What a screen does instead of drawing."""
    kept.pop(screen, None)
    if screen.app not in held:
        draw_at_once(screen)


def show(painted: Painted, draw: Draw, turned: bool = False) -> None:
    """What a widget does instead of making its picture: it is made when somebody looks."""
    if painted.app not in held or next(shown) % ONE_OF == 0:
        show_at_once(painted, draw, turned)
        return
    painted._draw, painted._turned, painted._canvas = draw, turned, UNDRAWN
    painted._styles_cache.clear()
    kept.pop(painted.screen, None)


def canvas(painted: Painted) -> Canvas:
    """The picture of a widget, made if it is not yet."""
    if painted._canvas is UNDRAWN:
        painted._canvas = painted._draw(*painted.size)
    return painted._canvas


shown, left = count(), count()
show_at_once = Painted.show
Painted.show = show  # type: ignore[method-assign]  # of every app a test starts
Painted.canvas = property(canvas)  # type: ignore[method-assign,assignment]  # likewise
draw_at_once = CartScreen._compositor_refresh
CartScreen._compositor_refresh = changed  # type: ignore[method-assign]  # of every app a test starts
