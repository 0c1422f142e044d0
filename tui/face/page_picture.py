"""A page drawn at a size: the head, what stays on top, and as many lines as there is room for."""

from __future__ import annotations

from cartclock.engine.letters import cells, inert
from cartclock.tui.face.canvas import Canvas, Ground
from cartclock.tui.face.chart_picture import chart_lines
from cartclock.tui.face.laying import MARGIN, RIM, Laid, Line
from cartclock.tui.face.page import Head, Page

SIGN = ">"
"""Before the chosen line: its ground alone would tell nothing where there is no colour."""

# Under so many rows nothing stays on top but the head. Our own judgement.
_FIXED_FROM = 5


def page_picture(page: Page, laid: Laid, head: Head, at: int, width: int, height: int) -> Canvas:
    """The page.

    Args:
        laid: the page, laid out for `width`.
        at: the entry that is chosen, from 0; of a text that is read the line on top.
        width, height: of the picture in cells, >= 1.
    """
    canvas = Canvas(width, height)
    if page.ground != "page":
        canvas.fill(0, height, page.ground)
    _draw_head(canvas, page, head)
    y = 1
    for line in fixed_lines(laid, height):
        _draw(canvas, y, line, page.ground, False)
        y += 1
    if page.chart is not None and y < height and width > MARGIN + RIM:
        for texts in chart_lines(page.chart, width - MARGIN - RIM, height - y):
            for x, text, faint in texts:
                canvas.put(MARGIN + x, y, text, dim=faint)
            y += 1
        return canvas
    top = at if page.reading else first_line(laid, at, height - y)
    for line in laid.lines[top : top + height - y]:
        chosen = not page.reading and line.entry == at
        _draw(canvas, y, line, page.ground, chosen)
        y += 1
    return canvas


def fixed_lines(laid: Laid, height: int) -> tuple[Line, ...]:
    """The lines that stay on top in a picture of that height."""
    return laid.fixed if height >= _FIXED_FROM + len(laid.fixed) else ()


def first_line(laid: Laid, at: int, rows: int) -> int:
    """The line on top, so that the chosen entry stands in the middle where it can, and its first
    line in sight.
    """
    places = [y for y, line in enumerate(laid.lines) if line.entry == at]
    if not places:
        return 0
    # What stands below the last entry is looked at from there.
    last = not any(line.entry is not None and line.entry > at for line in laid.lines)
    below = len(laid.lines) - 1 if last else places[-1]
    middle = (places[0] + below + 1) // 2
    return max(0, min(places[0], middle - rows // 2, len(laid.lines) - rows))


def entry_at(page: Page, laid: Laid, at: int, height: int, y: int) -> int | None:
    """The entry that a picture of that height shows in row `y`; None if none stands there.

    at: as in `page_picture`.
    """
    behind = 1 + len(fixed_lines(laid, height))
    if page.reading or not behind <= y < height:
        return None
    line = first_line(laid, at, height - behind) + y - behind
    return laid.lines[line].entry if line < len(laid.lines) else None


def last_top(laid: Laid, height: int) -> int:
    """The last line that may be on top of a text that is read."""
    return max(0, len(laid.lines) - (height - 1 - len(fixed_lines(laid, height))))


def _draw_head(canvas: Canvas, page: Page, head: Head) -> None:
    """Time of day, name and sentence, and the window that hurts first on its ground at the right;
    what has no room is left out, the sentence first, then the time.
    """
    edge = canvas.width
    if head.window:
        window = f" {inert(head.window)} "
        edge = max(0, edge - cells(window))
        canvas.fill(0, 1, head.ground, edge)
        canvas.put(edge, 0, window, bold=True)
    name, said = inert(page.name).upper(), inert(page.said)
    room = edge - MARGIN - RIM
    time = f"{head.time}   " if head.time else ""
    if cells(time) + cells(name) > room:
        time = time.rstrip() + " " if cells(time) - 2 + cells(name) <= room else ""
    x = canvas.put(MARGIN, 0, time, end=edge)
    x = canvas.put(x, 0, name, bold=True, end=edge)
    if said and x + 3 + cells(said) <= edge - RIM:
        canvas.put(x + 3, 0, said, end=edge)


def _draw(canvas: Canvas, y: int, line: Line, page: Ground, chosen: bool) -> None:
    ground: Ground = "cursor" if chosen and line.first else "band" if line.band else page
    if ground != page:
        canvas.fill(y, y + 1, ground)
    if chosen and line.first:
        canvas.put(0, y, SIGN, bold=True)
    for piece in line.pieces:
        if piece.strip and ground != page:
            canvas.fill(y, y + 1, page, piece.x, piece.x + cells(piece.text))
        canvas.put(piece.x, y, piece.text, bold=piece.bold, dim=piece.dim)
