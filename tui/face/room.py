"""What a larger screen says besides: more moves, every window, all notices at once."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from cartclock.engine.dates import clock_text
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.words import move_text
from cartclock.engine.letters import cells, cropped, inert, padded, wrapped
from cartclock.engine.now.running import span_text
from cartclock.engine.times import Instant

# Rows from which a screen has room to spare. Our own judgement.
ROOMY = 36
# Moves named behind the chosen one.
MANY = 5
# Lines that all notices together may take.
NOTICE_LINES = 5
# Cells between two entries of one line.
APART = 3


def window_lines(entries: Sequence[str], width: int, height: int) -> list[str]:
    """The entries in columns, on as many lines as there are for them; what is left is counted.

    Args:
        entries: one for each window, in order.
        width: cells of a line.
        height: screen rows.
    """
    if not entries:
        return []
    most = 1 if height < 16 else 2 if height < ROOMY else height // 6
    said = [inert(entry).replace("\n", " ") for entry in entries]
    if cells((" " * APART).join(said)) <= width:
        return [(" " * APART).join(said)]
    # No entry takes more than half a line, as long as two share it.
    widest = min(max(map(cells, said)), max(width // 2 - APART, 1)) if width >= 60 else width
    across = max(1, (width + APART) // (widest + APART))
    if len(said) > across * most:
        kept = across * most - 1
        said = [*said[:kept], f"and {len(said) - kept} more"]
    columns = [cropped(one, widest) for one in said]
    rows = [columns[i : i + across] for i in range(0, len(columns), across)]
    apart = " " * APART
    return [apart.join(padded(one, widest) for one in row).rstrip() for row in rows]


def move_lines(
    moves: Sequence[Move], at: int, jobs: Mapping[str, Job], now_us: Instant
) -> list[str]:
    """The moves behind the chosen one.

    at: index of the chosen one.
    """
    behind = moves[at + 1 : at + 1 + MANY]
    return [f"then {move_text(move, jobs)}{_marks(move, now_us)}" for move in behind]


def _marks(move: Move, now_us: Instant) -> str:
    said = []
    if move.act == "take up" and move.minutes:
        said.append(f"planned {clock_text(move.minutes * 60)}")
    if move.opens_us is not None and move.opens_us > now_us:
        said.append(f"opens {span_text(move.opens_us - now_us)}")
    elif move.closes_us is not None:
        said.append(f"closes {span_text(move.closes_us - now_us)}")
    return f"   {', '.join(said)}" if said else ""


def _in_parts(notices: Sequence[str], width: int, rows: int) -> Iterator[str]:
    """The notices, and the sentences of one that does not fit on so many rows."""
    for notice in notices:
        said = inert(notice).replace("\n", " ")
        if len(wrapped(said, max(width, 2))) <= rows:
            yield said
        else:
            yield from re.split(r"(?<=[.!?]) +", said)


def notice_pages(notices: Sequence[str], width: int, rows: int) -> list[str]:
    """The notices as few texts, most urgent first, each as many whole ones as fit on so many rows;
    one that fits on none is told sentence by sentence.
    """
    found: list[str] = []
    for said in _in_parts(notices, width, rows):
        ended = found and found[-1].endswith((".", "!", "?"))
        both = f"{found[-1]}{'' if ended else '.'} {said}" if found else said
        if found and len(wrapped(both, max(width, 2))) <= rows:
            found[-1] = both
        else:
            found.append(said)
    return found


def notice_lines(notices: Sequence[str], width: int) -> list[str]:
    """All notices, wrapped, most urgent first; those that find no room are counted."""
    found: list[str] = []
    for index, notice in enumerate(notices):
        lines = wrapped(inert(notice).replace("\n", " "), max(width, 2))
        left = len(notices) - index - 1
        if len(found) + len(lines) + (left > 0) > NOTICE_LINES:
            return [*found, f"and {left + 1} more"]
        found += lines
    return found
