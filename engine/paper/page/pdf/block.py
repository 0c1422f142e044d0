"""Blocks: what stands whole on one page, and where a page ends and the next begins."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cartclock.engine.paper.page.pdf.ink import LEADING, Draw

# A chain of rows that must stay together is broken anyway where it is longer than this share.
_CHAIN_SHARE = 0.5
# Heads that take more of a page than this share would leave no room for what they stand over.
_HEADS_SHARE = 0.25


@dataclass
class Block:
    """Something that stands whole on one page.

    Fields:
        height: points.
        draw: see `Draw`.
        keep: True if it must stand on the page of the next one.
        gap: True for empty space, which no page begins with.
        heads: repeated above it if a page begins with it.
        starts: True if a page begins with it.
        label: indent of a line that may turn out to be the heading of what follows; else None.
    """

    height: float
    draw: Draw
    keep: bool = False
    gap: bool = False
    heads: tuple[Block, ...] = ()
    label: int | None = None
    starts: bool = False


def gap(height: float) -> Block:
    """Empty space of that height."""
    return Block(height, lambda _ink, _x, _y: None, gap=True)


def paged(blocks: Sequence[Block], first: float, others: float) -> list[list[Block]]:
    """The blocks on pages, at least one; `first` and `others` are the height of the first page
    and of those after it, in points."""
    pages: list[list[Block]] = [[]]
    used = 0.0
    room = first
    for index, block in enumerate(blocks):
        if block.gap and (not pages[-1] or used + block.height > room):
            continue
        if pages[-1] and (block.starts or used + _chain(blocks, index, room) > room):
            pages.append([])
            used, room = 0.0, others
            if block.gap:
                continue
            if sum(again.height for again in block.heads) <= room * _HEADS_SHARE:
                for again in block.heads:
                    pages[-1].append(again)
                    used += again.height
        pages[-1].append(block)
        used += block.height
    return pages


def _chain(blocks: Sequence[Block], index: int, room: float) -> float:
    """The height of a block with those that must stand on its page."""
    height = blocks[index].height
    while blocks[index].keep and index + 1 < len(blocks):
        index += 1
        more = blocks[index].height
        if height + more > room * _CHAIN_SHARE and not blocks[index].gap:
            # A tall drawing stays with its heading, a long chain of rows does not.
            return height + more if more > LEADING * 2 else height
        height += more
    return height
