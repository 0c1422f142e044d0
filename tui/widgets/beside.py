"""Parts of a screen that share a line."""

from __future__ import annotations

from textual.containers import Horizontal
from textual.geometry import Size
from textual.reactive import Reactive


class Beside(Horizontal):
    """Widgets side by side."""

    # Its parts go by the size that a layout gave it; it asks for no other one.
    virtual_size = Reactive(Size(0, 0))
