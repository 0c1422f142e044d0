"""The key row: the keys of a screen by need, and always the one that shows all of them.

A key that cannot work now stays in its place, greyed; since colour alone tells nobody
anything, a cross stands between it and its label.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import ClassVar

from msgspec import Struct
from rich.segment import Segment
from textual.geometry import Size
from textual.reactive import Reactive
from textual.strip import Strip
from textual.widget import Widget

from cartclock.engine.letters import cells, cropped, inert
from cartclock.tui.keys import Key

CROSS = "×"
ALL_KEYS = "help"
"""Id of the key that shows all others."""


class KeyItem(Struct, frozen=True):
    """One key as the row shows it.

    Fields:
        key: what is printed on the key, such as "space" or "B".
        label: what it does.
        enabled: whether it works now.
        id: name by which `KeyRow.why` is asked; the printed key if empty.
        reason: why it cannot work now, one sentence; only for a key that does not.
    """

    key: str
    label: str
    enabled: bool = True
    id: str = ""
    reason: str = ""

    @classmethod
    def of(cls, key: Key, reason: str = "") -> KeyItem:
        """A key of the registry; it works unless a reason is given why not."""
        return cls(
            key=key.face,
            label=key.label,
            enabled=not reason,
            id=key.id,
            reason=reason,
        )


class _Piece(Struct, frozen=True):
    """One item as it will be painted: the key, a blank or the cross, the label."""

    key: str
    label: str
    enabled: bool
    tight: bool = False

    @property
    def text(self) -> str:
        # The blank is there without a label too: no line is broken anew when a key greys.
        return self.key + (" " if self.enabled else CROSS) + self.label

    @property
    def gap(self) -> str:
        if self.tight:
            return ""
        return "  " if self.label else " "


def _labelled(item: KeyItem) -> _Piece:
    return _Piece(inert(item.key), inert(item.label), item.enabled)


def _bare(item: KeyItem, tight: bool = False) -> _Piece:
    return _Piece(inert(item.key), "", item.enabled, tight)


Lines = tuple[tuple[_Piece, ...], ...]


def _wrapped(pieces: Sequence[_Piece], columns: int) -> Lines:
    lines: list[list[_Piece]] = []
    used = columns
    for piece in pieces:
        width = cells(piece.text)
        if used + width > columns:
            lines.append([])
            used = 0
        lines[-1].append(piece)
        used += width + len(piece.gap)
    return tuple(tuple(line) for line in lines)


def arranged(items: Sequence[KeyItem], columns: int, lines_most: int) -> Lines:
    """The items in lines, labels whole; where not all have room the last ones have none.

    Args:
        items: in order of need.
        columns: cells of a line, 1 or more.
        lines_most: lines wished for, 1 or more. Keys of which none shows the others come before
            this wish: where they need more lines alone, they get them.

    Returns:
        Lines of pieces; every item is in them once, in order. Where not even the keys alone go
        on the lines wished for and one of them is `ALL_KEYS`, the first ones whole, and that one.
    """
    for labelled in range(len(items), -1, -1):
        pieces = [_labelled(item) for item in items[:labelled]]
        lines = _wrapped(pieces + [_bare(item) for item in items[labelled:]], columns)
        if len(lines) <= lines_most:
            return lines
    # Side by side, parted by the cell of the cross, they still can be told apart.
    bare = _wrapped([_bare(item, tight=True) for item in items], columns)
    if len(bare) <= lines_most or all(item.id != ALL_KEYS for item in items):
        return bare
    return _first_ones(items, columns, lines_most)


def _first_ones(items: Sequence[KeyItem], columns: int, lines_most: int) -> Lines:
    """As many of the first items as go on the lines beside the one that shows all."""
    for many in range(len(items) - 1, -1, -1):
        kept = [item for at, item in enumerate(items) if at < many or item.id == ALL_KEYS]
        lines = _wrapped([_labelled(item) for item in kept], columns)
        if len(lines) <= lines_most:
            break
    return lines


# Each screen has few rows of keys, and every key pressed changes from one of them to another.
_arranged = lru_cache(maxsize=64)(arranged)


class KeyRow(Widget):
    """Every key of a screen; repainted only when one of them changed.

    Its height follows from its width and the cap `lines_most` (see `arranged`).
    """

    DEFAULT_CSS = """
    KeyRow {
        width: 1fr;
        height: auto;
    }
    KeyRow > .keyrow--key {
        text-style: bold;
    }
    KeyRow > .keyrow--off {
        color: $text-disabled;
    }
    """
    COMPONENT_CLASSES: ClassVar[set[str]] = {"keyrow--key", "keyrow--label", "keyrow--off"}
    ALLOW_SELECT = False
    # What is drawn goes by the size that a layout gave it and asks for no other one.
    virtual_size = Reactive(Size(0, 0))

    def __init__(
        self,
        lines_most: int = 2,
        *,
        name: str | None = None,
        id: str | None = None,
        classes: str | None = None,
    ) -> None:
        super().__init__(name=name, id=id, classes=classes)
        self._lines_most = lines_most
        self._items: tuple[KeyItem, ...] = ()
        self._arranged_for: tuple[tuple[KeyItem, ...], int, int] = ((), 0, 0)
        self._arranged: Lines = ()

    def show(self, items: Sequence[KeyItem], lines_most: int | None = None) -> None:
        """Show these keys, in this order, on other lines wished for if `lines_most` is given."""
        width = self.size.width
        before = self._lines(width)
        self._items = tuple(items)
        if lines_most is not None:
            self._lines_most = lines_most
        after = self._lines(width)
        if before != after:
            self.refresh(layout=len(before) != len(after))

    def why(self, id: str) -> str:
        """Why a key cannot work now, in a sentence; "" if it can.

        Raises:
            KeyError: the row shows no such key.
        """
        for item in self._items:
            if id == (item.id or item.key):
                if item.enabled:
                    return ""
                return item.reason or f"{item.key} ({item.label}) cannot be used now."
        raise KeyError(id)

    def _lines(self, width: int) -> Lines:
        wanted = (self._items, width, self._lines_most)
        if self._arranged_for != wanted:
            self._arranged_for = wanted
            self._arranged = _arranged(*wanted) if width > 0 else ()
        return self._arranged

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As many rows as the keys need at this width."""
        return len(self._lines(width))

    def render_line(self, y: int) -> Strip:
        """Row `y` of the content, 0 at the top."""
        width, plain = self.size.width, self.rich_style
        lines = self._lines(width)
        if y >= len(lines):
            return Strip.blank(width, plain)
        key, label, off = (
            self.get_component_rich_style(f"keyrow--{part}") for part in ("key", "label", "off")
        )
        segments: list[Segment] = []
        for piece in lines[y]:
            text = cropped(piece.text, width)
            printed = text[: len(piece.key)]
            segments += [
                Segment(printed, key if piece.enabled else off),
                Segment(text[len(printed) :], label if piece.enabled else off),
                Segment(piece.gap, plain),
            ]
        return Strip(segments).adjust_cell_length(width, plain)
