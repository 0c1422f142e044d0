"""A paper in print: lines, columns and drawings, with the heads that stand again on each page.

Columns take the same shares of the width as on a page of text. Nothing of a text is markup
here; it is measured and drawn letter by letter.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from msgspec import Struct

from cartclock.engine.letters import cells
from cartclock.engine.paper.page.columns import WIDTH
from cartclock.engine.paper.page.pdf.block import Block, gap, paged
from cartclock.engine.paper.page.pdf.frame import Frame
from cartclock.engine.paper.page.pdf.ink import (
    BODY,
    CHAPTER,
    LEAD,
    LEADING,
    PLATE,
    SMALL,
    Draw,
    Ink,
)
from cartclock.engine.paper.page.pdf.letters import Letters, Style
from cartclock.engine.paper.page.pdf.tape import put_hatch, put_outline, put_tape
from cartclock.engine.paper.shop_head import ShopHead

# Rows with up to so many lines are never parted.
_WHOLE_LINES = 6


class Slot(Struct, frozen=True):
    """Where the texts of a column stand: `at` is their left edge, with `right` their right one,
    in points from the frame; `room` is their width."""

    at: float
    room: float
    right: bool


class Print:
    """A paper in the making: blocks, from the top down.

    Args:
        frame: of every page.
        letters: of this paper.
        width: of a part that stands beside another, in points; None for that of the frame.
        small: size of small letters, in points.

    Attributes:
        tallest: height of the first page, in points.
    """

    def __init__(
        self,
        frame: Frame,
        letters: Letters,
        width: float | None = None,
        small: float = SMALL,
    ) -> None:
        self.letters = letters
        self.width = frame.width if width is None else width
        self.cell = self.width / WIDTH
        self.small = small
        self.tallest = frame.first
        self._frame = frame
        self._blocks: list[Block] = []
        self._chapter: tuple[Block, ...] = ()
        self._table: tuple[Block, ...] = ()
        self._turns = False
        self._told_missing = False

    def head(self, title: str, number: str, shop: ShopHead) -> None:
        """The shop at the left; at the right on black what the paper is, and of what."""
        letters, half = self.letters, self.width / 2 - 20
        reading = max(self.small, BODY - 0.5)
        reach = ", ".join(part for part in (*shop.lines, shop.phone) if part)
        names = letters.lines(shop.name, half, "bold", BODY + 2) if shop.name else []
        lines = letters.lines(reach, half, "regular", reading) if reach else []
        titles = letters.lines(title, half, "bold", BODY + 1)
        numbers = letters.lines(number, half, "regular", reading)
        over: list[tuple[str, Style, float]] = [(line, "bold", BODY + 1.0) for line in titles]
        over += [(line, "regular", reading) for line in numbers]
        wide = 16 + max(letters.width(line, style, size) for line, style, size in over)
        tall = len(over) * 10.5 + 6
        left: list[tuple[str, Style, float]] = [(line, "bold", BODY + 2.0) for line in names]
        left += [(line, "regular", reading) for line in lines]

        def draw(ink: Ink, x: float, y: float) -> None:
            for index, (line, style, size) in enumerate(left):
                ink.text(x, y - BODY - 2 - index * 11.5, line, style, size)
            put_tape(ink, x + self.width - wide, y - tall, wide, tall, 5.0)
            for index, (line, style, size) in enumerate(over):
                at = y - BODY - 2.5 - index * 10.5
                ink.text(x + self.width - 8, at, line, style, size, "right", grey=1.0)

        self._put_block(Block(max(tall, len(left) * 11.5 + 2), draw, keep=True))
        self._put_block(gap(9))

    def chapter(self, name: str, remark: str = "") -> None:
        """A heading over a rule; on a page that begins inside the chapter it stands again."""
        self._table = self._chapter = ()
        self._put_block(gap(9))
        self._put_block(self._heading(name, remark, 40, name))
        self._chapter = (self._heading(f"{name} (continued)", remark, 30, ""),)

    def line(
        self,
        text: str = "",
        indent: int = 0,
        hang: int = 0,
        lead: bool = False,
        small: bool = False,
    ) -> None:
        """Text, wrapped; an empty line is half a line of space and ends a table.

        lead: True for what the paper is about, which stands under its title in larger letters.
        """
        if not text:
            self._table = ()
            self._put_block(gap(LEADING / 2))
            return
        left, further = indent * self.cell, (indent + hang) * self.cell
        style: Style = "bold" if lead else "regular"
        size, step = (LEAD, LEAD * 1.3) if lead else (BODY, LEADING)
        if small:
            size, step = self.small, self.small * 1.28
        lines = self.letters.hung(text, self.width - left, self.width - further, style, size)

        def drawn(line: str, x0: float) -> Draw:
            return lambda ink, x, y: ink.text(x + x0, y - size, line, style, size)

        self._under_label(indent - 1)
        rows = [
            Block(step, drawn(line, further if index else left), heads=self._repeated())
            for index, line in enumerate(lines)
        ]
        rows[-1].label = indent if len(rows) == 1 else None
        self.put_rows(rows)

    def lead(self, name: str, plate: str) -> None:
        """What the paper is about, with its plate at the right as on the vehicle."""
        sign, plate_pt = self.fitted(plate, self.width / 2 - 18, PLATE, PLATE / 2)
        if not plate or len(sign) > 1:
            # No plate is that long; it is still told.
            name, wide = f"{name}, {plate}" if plate else name, 0.0
        else:
            wide = self.letters.width(sign[0], "bold", plate_pt) + 18
        room = self.width - wide - (8 if wide else 0)
        _lines, size = self.fitted(name, room, LEAD, BODY + 2)
        step = size * 1.15
        rows = [
            Block(step, row) for row in self.stacked([name], [Slot(0, room, False)], "bold", size)
        ]
        if wide:
            rows[0] = Block(max(step, 22.0), self._plated(rows[0], sign[0], plate_pt, wide))
        self.put_rows(rows)

    def _plated(self, row: Block, sign: str, size: float, wide: float) -> Draw:
        def draw(ink: Ink, x: float, y: float) -> None:
            row.draw(ink, x, y)
            left = x + self.width - wide
            put_tape(ink, left, y - 19, wide, 19, 4.0, line=1.2, grey=None)
            ink.text(left + wide / 2, y - 14, sign, "bold", size, "middle")

        return draw

    def ended(self, text: str, end: str) -> None:
        """Words, and in heavy letters at the right of their last line how they end."""
        size = BODY + 3
        said, size = self.fitted(end, self.width / 2, size, BODY)
        if len(said) > 1:
            # Nothing that is to be found at a glance is that long; it is still told.
            self.line(text)
            self.line(end)
            return
        room = self.width - self.letters.width(said[0], "bold", size) - 12
        *first, last = self.stacked([text], [Slot(0, room, False)], "regular", BODY)

        def draw(ink: Ink, x: float, y: float) -> None:
            last(ink, x, y)
            ink.text(x + self.width, y - BODY, said[0], "bold", size, "right")

        self.put_rows([*(Block(LEADING, row) for row in first), Block(LEADING, draw)])

    def air(self, height: float) -> None:
        """Empty space inside a table or a row of drawings."""
        self._put_block(gap(height))

    def fields(self, pairs: Sequence[tuple[str, str]]) -> None:
        """Short labels, each with its text beside it; the labels have the room they need."""
        wide = min(14, max((cells(label) for label, _text in pairs), default=0) + 2)
        for pair in pairs:
            self._row(pair, (-wide, wide - WIDTH), 0, "regular")

    def columns(self, texts: Sequence[str], widths: Sequence[int], indent: int = 0) -> None:
        """A row of columns, each wrapped in its own; widths in cells as on a page of text."""
        self._under_label(WIDTH)
        self._row(texts, widths, indent, "regular")

    def heads(self, texts: Sequence[str], widths: Sequence[int], indent: int = 0) -> None:
        """Heads of columns, repeated on every page until the next blank line."""
        self._table = ()
        lines = self._stacked(texts, widths, indent, "bold", self.small)
        height = len(lines) * (LEADING - 1) + 3

        def draw(ink: Ink, x: float, y: float) -> None:
            for index, line in enumerate(lines):
                line(ink, x, y - index * (LEADING - 1))
            ink.line(x, y - height + 1.5, x + self.width, y - height + 1.5, 0.4, grey=0.4)

        block = Block(height, draw, keep=True, heads=self._repeated())
        self._put_block(block)
        self._table = (block,)

    def alert(self, text: str) -> None:
        """A sentence in a frame with a hatched edge, to be read before everything else."""
        step = BODY * 1.3
        lines = self.letters.lines(text, self.width - 26, "bold", BODY)
        height = len(lines) * step + 9
        if height > self._frame.room / 2:
            # No frame holds that much; it is still the first thing to be read.
            self.line(text)
            self.line()
            return

        def draw(ink: Ink, x: float, y: float) -> None:
            put_hatch(ink, x, y - height, 11, height)
            put_outline(ink, x, y - height, self.width, height)
            for index, line in enumerate(lines):
                ink.text(x + 18, y - 4.5 - BODY * 0.95 - index * step, line, "bold", BODY)

        self._put_block(Block(height, draw))
        self._put_block(gap(7))

    def blanks(self, labels: Sequence[str], across: int = 1) -> None:
        """A row of labels, each with a line to write on beside it; at most `across` of them."""
        share = self.width / across
        said = [self.letters.lines(label, 0.8 * share, "regular", BODY) for label in labels]
        high = max(map(len, said))
        above = 17.0 if across == 1 else 14.0
        # Alone in its row, a line begins where those above and below it do.
        usual = 14 * self.cell if across == 1 else 0.0
        begins = [
            max(usual, 6 + max(self.letters.width(line, "regular", BODY) for line in lines))
            for lines in said
        ]

        def draw(ink: Ink, x: float, y: float) -> None:
            base = y - above - (high - 1) * LEADING
            for at, (lines, begin) in enumerate(zip(said, begins, strict=True)):
                left, end = x + at * share, x + (at + 1) * share - (12 if at + 1 < across else 0)
                for up, line in enumerate(reversed(lines)):
                    ink.text(left, base + up * LEADING, line)
                ink.line(left + begin, base - 2, end, base - 2, 0.5)

        self._put_block(Block(above + 7.0 + (high - 1) * LEADING, draw, heads=self._repeated()))

    def signatures(self, labels: Sequence[str]) -> None:
        """Lines to sign on, side by side, each with its label under it."""
        share = self.width / len(labels)
        under = [
            self.letters.lines(label, share - 24, "regular", self.small)[0] for label in labels
        ]

        def draw(ink: Ink, x: float, y: float) -> None:
            for index, label in enumerate(under):
                left = x + index * share
                end = left + share - (24 if index < len(labels) - 1 else 0)
                ink.line(left, y - 26, end, y - 26, 0.6)
                ink.text(left, y - 35.5, label, "regular", self.small)

        self._put_block(Block(38.0, draw, heads=self._repeated()))

    def fitted(self, text: str, room: float, most: float, least: float) -> tuple[list[str], float]:
        """A few heavy words in letters so large that they take one line of so many points.

        most, least: sizes in points; what is too long for the least has several lines.
        """
        plain = self.letters.plain(text).replace("\n", " ")
        wide = self.letters.width(plain, "bold", 1.0)
        # A hair less than fits, so that no rounding parts the line.
        size = min(most, max(least, 0.999 * room / wide)) if wide else most
        return self.letters.lines(plain, room, "bold", size), size

    def drawing(self, height: float, draw: Draw, keep: bool = False, head: bool = False) -> None:
        """A drawing of that height; with `head` it is repeated like heads of columns."""
        self._under_label(WIDTH)
        if head:
            self._table = ()
        block = Block(height, draw, keep=keep or head, heads=self._repeated())
        self._put_block(block)
        if head:
            self._table = (block,)

    def turn(self) -> None:
        """What comes next begins a page."""
        self._turns = True

    def stacked(
        self, texts: Sequence[str], places: Sequence[Slot], style: Style, size: float
    ) -> list[Draw]:
        """One drawing for every line of a row of columns, each text wrapped in its own."""
        stacks = [
            self.letters.lines(text, place.room, style, size)
            for text, place in zip(texts, places, strict=True)
        ]

        def drawn(row: Sequence[str]) -> Draw:
            def draw(ink: Ink, x: float, y: float) -> None:
                for text, place in zip(row, places, strict=True):
                    if text:
                        ink.text(
                            x + place.at, y - max(BODY, size * 0.9), text, style, size,
                            "right" if place.right else "left",
                        )  # fmt: skip

            return draw

        return [drawn(row) for row in zip_longest(*stacks, fillvalue="")]

    def put_rows(self, rows: Sequence[Block]) -> None:
        """The lines of one row; a short one stays whole, of a long one its ends."""
        for index, row in enumerate(rows[:-1]):
            row.keep = len(rows) <= _WHOLE_LINES or index == 0 or index == len(rows) - 2
        for row in rows:
            row.heads = row.heads or self._repeated()
            self._put_block(row)

    def keep_last(self) -> None:
        """What was put last stays on the page of what comes now."""
        if self._blocks:
            self._blocks[-1].keep = True

    def beside(self, parts: Sequence[Print], lefts: Sequence[float]) -> bool:
        """Parts side by side, each at so many points from the left; False, and nothing is put,
        if they are taller than a page."""
        height = max(sum(block.height for block in part.blocks) for part in parts)
        if height > self._frame.room:
            return False

        def draw(ink: Ink, x: float, y: float) -> None:
            for part, left in zip(parts, lefts, strict=True):
                at = y
                for block in part.blocks:
                    block.draw(ink, x + left, at)
                    at -= block.height

        self.drawing(height, draw)
        return True

    @property
    def blocks(self) -> list[Block]:
        """What is set so far; no air before the first and behind the last."""
        found = list(self._blocks)
        while found and found[0].gap:
            found.pop(0)
        while found and found[-1].gap:
            found.pop()
        return found

    @property
    def pages(self) -> list[list[Block]]:
        """What is set so far, page by page; at the end it tells which letters are missing."""
        # The frame is measured first: its letters may be missing as well.
        self._frame.measure(self.letters)
        footnote = self.letters.footnote()
        if footnote and not self._told_missing:
            self._told_missing = True
            self._chapter = self._table = ()
            self.line()
            self.line(footnote)
        return paged(self._blocks, self._frame.first, self._frame.room)

    # How it is set.

    def _heading(self, name: str, remark: str, most: int, entry: str) -> Block:
        """most: cells that the remark may take; without one the name has the whole line."""
        letters = self.letters
        most = most if remark else 0
        room = self.width - most * self.cell
        lines = letters.lines(name, room, "bold", CHAPTER)
        widths = (most - WIDTH, most) if remark else (-WIDTH,)
        rest = self._stacked(("", remark)[: len(widths)], widths, 0, "regular", self.small)
        height = max(len(lines), len(rest)) * LEADING + 6

        def draw(ink: Ink, x: float, y: float) -> None:
            for index, line in enumerate(lines):
                ink.text(x, y - CHAPTER - index * LEADING, line, "bold", CHAPTER)
            for index, row in enumerate(rest):
                row(ink, x, y - 1.5 - index * LEADING)
            under = max(letters.width(line, "bold", CHAPTER) for line in lines)
            ink.line(x, y - height + 3, x + under, y - height + 3, 2.0)
            ink.line(x + under, y - height + 3.75, x + self.width, y - height + 3.75, 0.5)
            if entry:
                key = f"{ink.canvas.getPageNumber()} {y:.0f}"
                ink.canvas.bookmarkHorizontal(key, x, y)
                ink.canvas.addOutlineEntry(letters.plain(entry), key, 0)

        return Block(height, draw, keep=True)

    def _stacked(
        self, texts: Sequence[str], widths: Sequence[int], indent: int, style: Style, size: float
    ) -> list[Draw]:
        """The same for columns in cells, as on a page of text."""
        places: list[Slot] = []
        at = indent
        for width in widths:
            room = (abs(width) - (1 if width < 0 else 0)) * self.cell
            places.append(Slot((at if width < 0 else at + width) * self.cell, room, width > 0))
            at += abs(width)
        return self.stacked(texts, places, style, size)

    def _row(self, texts: Sequence[str], widths: Sequence[int], indent: int, style: Style) -> None:
        heads = self._repeated()
        drawn = self._stacked(texts, widths, indent, style, BODY)
        self.put_rows([Block(LEADING, draw, heads=heads) for draw in drawn])

    def _repeated(self) -> tuple[Block, ...]:
        """What stands again above a row if a page begins there."""
        return (*self._chapter, *self._table)

    def _under_label(self, most: int) -> None:
        """A line set in by at most so much stays on the page of what comes now."""
        last = self._blocks[-1] if self._blocks else None
        if last is not None and last.label is not None and last.label <= most:
            last.keep = True

    def _put_block(self, block: Block) -> None:
        if self._turns and not block.gap:
            block.starts, self._turns = True, False
        if block.gap and self._blocks and self._blocks[-1].gap:
            # Of two that come together the larger one is air enough.
            if block.height <= self._blocks[-1].height:
                return
            self._blocks.pop()
        self._blocks.append(block)
