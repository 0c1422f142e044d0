"""The picture of Run: one matter in large, the second in a strip, lines of text by rank.

What is told is a plain structure, and the picture a function of it and of a size; nothing here
knows where it came from or what a key does.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.letters import by_words, cells, cropped, inert, wrapped
from cartclock.engine.now.faces import Face, TimeTape, WorkTape
from cartclock.engine.times import Instant
from cartclock.tui.face import tape
from cartclock.tui.face.canvas import Canvas, Ground
from cartclock.tui.face.lettering import (
    HEIGHTS,
    digit_lines,
    forms,
    large_form,
    letters,
    most_digits,
    sentence_lines,
    word_lines,
)
from cartclock.tui.face.room import ROOMY, notice_lines, notice_pages, window_lines
from cartclock.tui.face.run_layout import Layout, layout

# Cells of a tape on which every mark is seen as a cut of its own. Our own judgement.
_CUTS = 24
# Cells from which a tape says anything. Our own judgement.
_TAPE = 12
# Heights of ANSWER and of the question in points, the first that has room; 0: it is left out.
_ASKED = ((14, 14), (14, 10), (10, 10), (10, 6), (6, 6), (0, 10), (0, 6))
# Cells of a vehicle's name by which it is still known. Our own judgement.
_NAMED = 8


class Room(Struct, frozen=True):
    """The room for a kind of line.

    Fields:
        width: cells of a line; rows: how many lines there are.
        height: rows of the whole picture.
    """

    width: int
    rows: int
    height: int


class Told(Struct, frozen=True):
    """Everything that Run says at one instant.

    Fields:
        now_us: the instant.
        time: of the day; date: of the day, for a head with nothing else to say.
        ready: when it should be ready; "" if nothing is known.
        vehicle, stage: of what is in hand or next; count: how far the stage is, in few words.
        faces: what runs, the one that hurts first in front; at least one.
        question: what is asked, in place of the first face; "" for nothing.
        key: what stands before the move; whose: the vehicle if it is another; move: what SPACE
            takes up; shortly: the same in fewer words, the longest first; at: which of the moves
            that is; moves: the next ones by name.
        changed: True while the move is news and SPACE does not count.
        helps: what the helper's key takes up and what the helper is at; "" if there is none.
        heat: how the body fares, from the longest to the shortest; drink: when to drink next.
        climate: of the place.
        notices: advice, the most urgent first.
        answer: what was answered, while it is to be read; "" else. answer_turn: counts up while a
            long one turns its pages.
        turn: counts up while what has no room takes turns.
        keys: what is printed on the keys of this occasion, and what each does.
        all_keys: what is printed on the key that shows all of them.
        listed: True while a list stands below.
    """

    now_us: Instant
    time: str
    date: str
    ready: str
    vehicle: str
    stage: str
    count: str
    faces: tuple[Face, ...]
    question: str
    key: str
    whose: str
    move: str
    shortly: tuple[str, ...]
    at: str
    moves: tuple[str, ...]
    changed: bool
    helps: str
    heat: tuple[str, ...]
    drink: str
    climate: tuple[str, ...]
    notices: tuple[str, ...]
    answer: str
    answer_turn: int
    turn: int
    keys: tuple[tuple[str, str], ...]
    all_keys: str
    listed: bool


class Row(Struct, frozen=True):
    """One kind of line of text.

    Fields:
        name: for whoever reads the table.
        rank: of several that have no room together the lowest stays.
        lines: what it says in a room, a row each.
        most: rows it may take.
        right: what stands at the right edge of its first row.
        dim: fainter ink.
        roomy: only where rows are to spare.
        in_turns: what it says line by line where it shares one row with others; None: its lines.
        apart: told in another place where that row is under the tape.
    """

    name: str
    rank: int
    lines: Callable[[Told, Room], Sequence[str]]
    most: int = 1
    right: Callable[[Told], str] = lambda _told: ""
    dim: bool = False
    roomy: bool = False
    in_turns: Callable[[Told, Room], Sequence[str]] | None = None
    apart: bool = False


def _folded(text: str, width: int) -> list[str]:
    return wrapped(inert(text).replace("\n", " "), max(width, 2)) if text else []


def _others(told: Told, space: Room) -> list[str]:
    """What runs besides the first matter, in columns; what has no room is counted."""
    return window_lines([face.line for face in told.faces[1:]], space.width, space.height)


def _body(told: Told, space: Room) -> list[str]:
    width = space.width - len(told.drink) - 3
    texts = told.heat
    return [next((text for text in texts if cells(text) <= width), texts[-1])] if texts else []


def _notices(told: Told, space: Room) -> list[str]:
    """All at once where rows are to spare; else the most urgent ones, with which the others take
    turns.
    """
    if space.height >= ROOMY:
        return notice_lines(told.notices, space.width)
    pages = notice_pages(told.notices, space.width, space.rows)
    if not pages:
        return []
    at = 0 if told.turn % 2 == 0 or len(pages) < 2 else 1 + told.turn // 2 % (len(pages) - 1)
    said = _folded(pages[at], space.width)
    if len(said) > space.rows:
        # It is seen that it goes on.
        last = " ".join(said[space.rows - 1 :])
        return [*said[: space.rows - 1], cropped(last, space.width)]
    counted = _folded(f"{pages[at]} ({at + 1} of {len(pages)})", space.width)
    # The count is left out where it would take a line of its own.
    return counted if len(pages) > 1 and len(counted) == len(said) else said


def _notices_in_turns(told: Told, space: Room) -> list[str]:
    return [line for notice in told.notices for line in _folded(notice, space.width)]


def _nothing(_told: Told, _space: Room) -> list[str]:
    """What is told in that row by itself takes no turn."""
    return []


ROWS: tuple[Row, ...] = (
    Row("moves", 8, lambda told, _space: told.moves, most=5, dim=True, roomy=True),
    Row(
        "answer",
        1,
        lambda told, space: _folded(told.answer, space.width),
        most=3,
        in_turns=_nothing,
    ),
    Row("helper", 2, lambda told, space: _folded(told.helps, space.width), most=2, apart=True),
    Row("others", 3, _others, most=10, apart=True),
    Row("body", 6, _body, right=lambda told: told.drink),
    Row("climate", 9, lambda told, _space: told.climate, most=3, dim=True, roomy=True),
    Row("notices", 7, _notices, most=5, in_turns=_notices_in_turns),
)
"""The lines below the large key from top to bottom."""


def run_picture(told: Told, width: int, height: int, rows: Sequence[Row] = ROWS) -> Canvas:
    """The picture of Run on so many columns and rows.

    rows: the lines of text, from top to bottom.
    """
    canvas = Canvas(width, height)
    if not width or not height:
        return canvas
    place = layout(width, height, told.listed)
    if told.question:
        _asked(canvas, told, place)
        return canvas
    first = told.faces[0]
    end = place.space if place.space >= 0 else height
    canvas.fill(1 if place.name_top else 0, end, first.field)
    _head(canvas, told, place)
    _matter(canvas, told, first, place)
    _space(canvas, told, place)
    _below(canvas, told, place, rows)
    return canvas


# The head.


def _head(canvas: Canvas, told: Told, place: Layout) -> None:
    face = told.faces[0]
    if place.name_top == 0:
        return
    if place.under < 0 and not told.question:
        canvas.fill(0, 1, face.field)
        x = canvas.put(1, 0, told.time, bold=True) + 2
        word = f"{face.beside} " if face.beside and not place.side else ""
        room = canvas.width - 1 - x
        count = f"  {told.count}" if told.count else ""
        if cells(word) + cells(face.shortly) + cells(count) > room:
            count = ""
        said = _clause(face.shortly, room - cells(word))
        if word and cells(word) + cells(said) > room and 2 * cells(said) <= room:
            # A mark without its time says nothing; of a long word its beginning is enough.
            word = f"{by_words(face.beside, room - cells(said) - 1)} "
        canvas.put(x, 0, by_words(word + said, room), bold=True)
        canvas.right(0, count.strip())
        return
    if told.question:
        canvas.fill(0, 1, "ask" if place.under < 0 else "page")
    x = canvas.put(1, 0, told.time if told.ready or told.vehicle else told.date, bold=True)
    x = canvas.put(x + 3, 0, told.ready) if told.ready else x
    room = canvas.width - 1 - x - 3
    canvas.right(0, _where(told, room))


def _where(told: Told, room: int) -> str:
    """Vehicle and stage; how far the stage is comes before the end of a long name."""
    vehicle = inert(told.vehicle)
    if not told.stage:
        return by_words(vehicle, room)
    left = room - cells(told.stage) - 3
    if left < _NAMED:
        said = (told.stage, told.count, told.stage.split("   ")[0])
        return next((one for one in said if cells(one) <= room), by_words(said[-1], room))
    return f"{by_words(vehicle, left)}   {told.stage}"


def _clause(text: str, width: int) -> str:
    """The text up to the last of its marks that it has room to; a figure is not cut off from what
    it is of.
    """
    text = inert(text).replace("\n", " ")
    marks = re.finditer(r"[,;] |: (?!\d)", text)
    ends = [at for at in (mark.start() for mark in marks) if cells(text[:at]) <= width]
    return text[: ends[-1]] if ends and cells(text) > width else text


def _parts(parts: Sequence[str], width: int) -> str:
    """The parts beside each other, the last ones left out where they have no room."""
    said = [part for part in parts if part]
    while len(said) > 1 and cells("   ".join(said)) > width:
        said.pop()
    return "   ".join(said)


# The matter in large.


def _matter(canvas: Canvas, told: Told, face: Face, place: Layout) -> None:
    left, inner = place.edge, canvas.width - 2 * place.edge
    if place.name:
        _name(canvas, face.large, place, inner)
    elif place.name_top >= 0:
        canvas.put(left, place.name_top, by_words(forms(face.large)[0] or face.large, inner),
                   bold=True)  # fmt: skip
    digits = face.clock or (told.time if face.key in ("off", "no job") else "")
    room = inner - place.side - 3 if place.side else inner
    lines = digit_lines(face.runs, digits, place.digits, room, place.digits_off)
    if not lines and place.side:
        # The digits of ten minutes and more come to two cells of the word.
        lines = digit_lines(face.runs, digits, place.digits, room + 2, place.digits_off)
    beside = bool(lines or not digits) and place.side > 0
    if not lines and digits:
        # Over an hour the digits take the width, and what stood beside them becomes text.
        rows = -(-(place.digits + place.digits_off) // 2)
        lines = most_digits(face.runs, digits, inner, rows) or most_digits("", digits, inner, rows)
    canvas.block(left, place.digits_top, lines)
    if digits and not lines:
        canvas.put(left, place.digits_top, digits, bold=True)
    if beside:
        _beside(canvas, face, place)
    if place.under >= 0:
        said = face.under
        if not beside:
            second = " ".join(part for part in face.second if part)
            said = _parts((face.beside, face.under, second), inner)
        x = canvas.put(left, place.under, by_words(_clause(said, inner), inner), bold=True)
        if face.aside and x + cells(face.aside) + 3 < canvas.width:
            canvas.right(place.under, face.aside, end=canvas.width - left)
    _tape(canvas, told, face, place)


def _name(canvas: Canvas, name: str, place: Layout, inner: int) -> None:
    for height in (height for height in HEIGHTS if height <= place.name):
        form = large_form(name, height, inner)
        if form:
            # Lower letters stand in the middle of the same rows.
            y = place.name_top + (place.name - height) // 4
            canvas.block(place.edge, y, letters(form, height, inner, place.name_off))
            return
    # A name in letters that have no large form, or too long for it, is shown as it is.
    lines = _folded(name, inner)[: place.name // 2]
    for y, line in enumerate(lines, place.name_top + max(0, (place.name // 2 - len(lines)) // 2)):
        canvas.put(place.edge, y, line, bold=True)


def _beside(canvas: Canvas, face: Face, place: Layout) -> None:
    """The word and the second figure, at the right of the digits."""
    x, y = canvas.width - place.edge - place.side, place.digits_top
    end = place.digits_top + -(-place.digits // 2)
    words, height = word_lines(face.beside, place.word, place.side, place.words), place.word
    if len(words) > 1 and height > 8:
        height = 8
    for word in words:
        canvas.block(x, y, letters(word, height, place.side))
        y += height // 2 + 1
    if face.beside and not words:
        canvas.put(x, y, face.beside, bold=True, end=canvas.width - 1)
        y += 2
    name, figure = face.second
    if not name and not figure:
        return
    rows = place.figure // 2
    # A figure with its unit may reach into the edge.
    room = place.side + place.edge - 1
    lines = digit_lines("", figure, place.figure, room) or letters(figure, place.figure, room)
    if lines and y + rows + 1 <= end:
        canvas.put(x, end - rows - 1, name, bold=True, end=canvas.width - 1)
        canvas.block(x, end - rows, lines)
    elif y < end:
        canvas.put(x, end - 1, f"{name} {figure}".strip(), bold=True, end=canvas.width - 1)


def _tape(canvas: Canvas, told: Told, face: Face, place: Layout) -> None:
    if not place.tapes or face.tape is None:
        return
    inner = canvas.width - 2 * place.edge
    rows, labels = strip_of(face.tape, told.now_us, inner, place.tapes)
    canvas.block(place.edge, place.tape, rows)
    if place.labels >= 0:
        canvas.put(place.edge, place.labels, labels, end=canvas.width - place.edge)


def strip_of(
    what: TimeTape | WorkTape, now_us: Instant, width: int, rows: int = 1
) -> tuple[tuple[str, ...], str]:
    """A tape in so many cells and rows, and the words under its marks."""
    if isinstance(what, WorkTape):
        line = tape.bar(width, what.done, what.cut)
        above = line.translate({ord(tape.LOW): " "})
        gap = width - cells(what.left) - cells(what.right)
        words = f"{what.left}{' ' * gap}{what.right}" if gap > 0 else what.left
        return (*[above] * (rows - 1), line), words
    start = what.start_us / 1e6
    marks = tuple(at_us / 1e6 for at_us, _word in what.marks)
    named = [(start, what.begun)] if what.begun else []
    named += [(at_us / 1e6, word) for at_us, word in what.marks]
    opens = None if what.opens_us is None else what.opens_us / 1e6
    shuts = None if what.shuts_us is None else what.shuts_us / 1e6
    if marks[-1] <= start:
        return (tape.FULL * width,) * rows, ""
    lines = tape.tape(width, start, marks, now_us / 1e6, opens, rows, shuts)
    return lines, tape.labels(width, start, named, now_us / 1e6)


# The large key.


def _space(canvas: Canvas, told: Told, place: Layout) -> None:
    y = place.space
    if y < 0:
        return
    canvas.fill(y, y + 1, "cursor" if told.changed else "band")
    x = 1
    if told.whose:
        whose = by_words(told.whose, max(canvas.width // 3, 2))
        x = canvas.put(x, y, f" {whose} ", bold=True, ground="soon") + 1
    x = canvas.put(x, y, told.key, bold=True) + 2
    room = canvas.width - 1 - x
    said = (inert(one).replace("\n", " ") for one in (told.move, *told.shortly))
    move = next((one for one in said if cells(one) <= room), "")
    # What is not known by a shorter name is shortened by words.
    x = canvas.put(x, y, move or by_words((told.move, *told.shortly)[-1], room), bold=True)
    for tail in _tails(told, place, canvas):
        if x + 2 + cells(tail) < canvas.width:
            canvas.right(y, tail, dim=not told.changed)
            return


def _tails(told: Told, place: Layout, canvas: Canvas) -> list[str]:
    """What may stand at the end of the line of the large key, the longest first."""
    keys = f"{told.all_keys} keys"
    if told.changed:
        return ["press again"]
    if place.keys >= canvas.height or place.under < 0:
        return [keys]
    if place.below + _strip_rows(told, place) > place.keys:
        # The strip has taken the row of the keys: what runs besides takes turns with them.
        third = [face.line for face in told.faces[2:]]
        if third and told.turn % 2:
            return [third[told.turn // 2 % len(third)], keys]
        face, label = told.keys[0] if told.keys else ("", "")
        return [f"{face} {label}   {keys}", keys]
    return [told.at] if told.at else []


# Below the large key.


def _strip_rows(told: Told, place: Layout) -> int:
    """Rows of the second matter in letters; 0 if it is a line of text or if there is none."""
    # A list has the row of the keys and those below it.
    room = place.keys + (not told.listed) - place.below
    fits = len(told.faces) > 1 and 0 < place.strip <= room
    return place.strip if fits else 0


def _below(canvas: Canvas, told: Told, place: Layout, rows: Sequence[Row]) -> None:
    y, end = place.below, min(place.keys, canvas.height)
    strip = _strip_rows(told, place)
    width, left = canvas.width - 2, told
    if strip:
        _strip(canvas, told, told.faces[1], y, strip)
        y += strip
        # What the strip says is not said again.
        left = replace(told, faces=(told.faces[0], *told.faces[2:]))
    if y < end:
        _texts(canvas, left, y, end, rows)
    else:
        _in_turns(canvas, left, place, width, rows)
    if place.space < place.keys and not told.listed and y <= place.keys:
        _keys(canvas, told, place.keys)


def fitting(told: Told, space: Room, rows: Sequence[Row] = ROWS) -> list[tuple[Row, list[str]]]:
    """The rows of the table that have room, from top to bottom; the lowest rank is asked first."""
    found: dict[str, list[str]] = {}
    left = space.rows
    for row in sorted(rows, key=lambda row: row.rank):
        if left <= 0 or (row.roomy and space.height < ROOMY):
            continue
        most = min(row.most, left)
        lines = list(row.lines(told, replace(space, rows=most)))[:most]
        if lines:
            found[row.name] = lines
            left -= len(lines)
    return [(row, found[row.name]) for row in rows if row.name in found]


def _texts(canvas: Canvas, told: Told, y: int, end: int, rows: Sequence[Row]) -> None:
    width = canvas.width - 2
    for row, lines in fitting(told, Room(width, end - y, canvas.height), rows):
        right = row.right(told)
        for index, line in enumerate(lines):
            room = canvas.width - 1
            if right and not index:
                room = canvas.right(y, right) - 2
            canvas.put(1, y, by_words(line, room - 1) if right else line, dim=row.dim, end=room)
            y += 1


def _in_turns(canvas: Canvas, told: Told, place: Layout, width: int, rows: Sequence[Row]) -> None:
    """Where no line of text has room, each takes turns with the words of the tape, or with it."""
    y = place.labels if place.labels >= 0 else place.tape
    if y < 0 and place.name_top == 0:
        return
    # On the smallest screens there is no tape either, and the head gives way; over a list only to
    # what runs besides, since what was answered and advised stood there before.
    bare = y < 0 and told.listed
    y = max(y, 0)
    width = min(width, canvas.width - 1 - place.edge)
    # Beside a strip the helper's line stands here, and what runs besides is told with the keys.
    shown = [row for row in rows if not (bare or (row.apart and place.labels >= 0))]
    pages = [line for row in shown for line in _pages(told, row, width)]
    if place.under < 0 and told.faces[0].aside and not bare:
        # Where nothing stands under the digits it is told here.
        pages.insert(0, told.faces[0].aside)
    answer = [] if bare else _folded(told.answer, width)
    second = told.faces[1] if len(told.faces) > 1 and place.labels < 0 else None
    ground: Ground | None = None
    if answer:
        said = answer[told.answer_turn % len(answer)]
    elif second is not None and told.turn % 2:
        # What runs besides is seen every other time.
        said, ground = second.line, second.field
    else:
        at = told.turn if second is None else told.turn // 2
        # What the helper takes up comes before the words under the tape.
        steady = _folded(told.helps, width)[:1] if place.labels >= 0 else []
        if pages and at % 2:
            said = pages[at // 2 % len(pages)]
        elif steady:
            said = steady[0]
        else:
            return
    field: Ground = ground or ("band" if place.labels < 0 else told.faces[0].field)
    canvas.fill(y, y + 1, field)
    # What stands on a row of the lines of text begins where they do.
    x = place.edge if place.labels >= 0 else 1
    canvas.put(x, y, said, bold=True, end=canvas.width - 1)


def _pages(told: Told, row: Row, width: int) -> list[str]:
    """What a row says, a line at a time."""
    if row.roomy:
        return []
    right = row.right(told)
    lines = list((row.in_turns or row.lines)(told, Room(width, row.most, ROOMY)))
    return [*lines, right] if right and lines else lines


def _strip(canvas: Canvas, told: Told, face: Face, y: int, rows: int) -> None:
    """The second matter: a low band on its own ground, letters, digits and tape."""
    height = {4: 6, 5: 8}.get(rows, 10)
    canvas.fill(y, y + rows, face.field)
    third = (canvas.width - 4) // 2
    form = large_form(face.large, height, third)
    if form:
        canvas.block(2, y, letters(form, height, third, 1))
    else:
        for row, line in enumerate(_folded(face.large, third)[: rows - 1], y):
            canvas.put(2, row, line, bold=True)
    x = 2 + third + 2
    room = canvas.width - 1 - x
    # The digits come before the words behind them.
    figure = digit_lines(face.runs, face.clock, height, room * 2 // 3, 1) or digit_lines(
        face.runs, face.clock, height, room, 1
    )
    canvas.block(x, y, figure)
    if face.clock and not figure:
        x = canvas.put(x, y + 1, face.clock, bold=True) + 2
    x += (len(figure[0]) if figure else 0) + 2
    room = canvas.width - 2 - x
    if room < 4:
        return
    window = face.tape if isinstance(face.tape, TimeTape) and rows > 3 else None
    window = window if room >= _TAPE else None
    lines: list[str] = []
    for part in (face.beside, face.shortly):
        more = _folded(part, room)
        # Half of what it says is worse than none.
        if len(lines) + len(more) <= rows - (0 if window is None else 2):
            lines += more
    for row, line in enumerate(lines, y):
        canvas.put(x, row, line, bold=row == y)
    if window is not None:
        # So short a tape has room for where it opens and where it ends.
        ends = (window.opens_us, window.marks[-1][0])
        marks = tuple(mark for mark in window.marks if mark[0] in ends or room >= _CUTS)
        shown = strip_of(replace(window, marks=marks), told.now_us, room)[0]
        canvas.block(x, y + rows - 2, shown)


def _keys(canvas: Canvas, told: Told, y: int) -> None:
    """The keys of the occasion, as many as have room, and the one that shows all."""
    tail = f"{told.all_keys} keys"
    room, x = canvas.width - len(tail) - 3, 1
    for face, label in told.keys:
        if x + cells(face) + 1 + cells(label) > room:
            break
        x = canvas.put(x, y, face, bold=True)
        x = canvas.put(x + 1, y, label, dim=True) + 3
    start = canvas.width - 1 - len(tail)
    if start > 0:
        start = canvas.put(start, y, told.all_keys, bold=True)
        canvas.put(start + 1, y, "keys", dim=True)


# A question.


def _asked(canvas: Canvas, told: Told, place: Layout) -> None:
    """A question as a face: it has the whole picture but the head."""
    canvas.fill(1, canvas.height, "ask")
    _head(canvas, told, place)
    face = told.faces[0]
    left, inner, y, end = place.edge, canvas.width - 2 * place.edge, 1, canvas.height - 1
    if canvas.height < 3:
        canvas.fill(0, canvas.height, "ask")
        canvas.put(left, 0, told.question, bold=True)
        return
    for called, said in _ASKED:
        head = called // 2 + 1 if called else 0
        rows = end - y - head
        lines = sentence_lines(told.question, said, inner, rows // (said // 2 + 1))
        if not lines:
            continue
        if called:
            canvas.block(left, y, letters("ANSWER", called, inner, 1))
            y += head
        for line in lines:
            canvas.block(left, y, letters(line, said, inner, 1))
            y += said // 2 + 1
        break
    else:
        if canvas.height >= 5:
            canvas.block(left, y, letters("ANSWER", 6, inner))
            y += 3 + (canvas.height > 5)
        # The list asks it in the same text.
        for line in [] if told.listed else _folded(told.question, inner)[: max(1, end - y)]:
            canvas.put(left, y, line, bold=True)
            y += 1
    if y <= end:
        canvas.put(left, end, face.under, bold=True, end=canvas.width - left)


def face_picture(face: Face, width: int, height: int) -> Canvas:
    """A face alone, as large as it fits: the word, the digits, what they mean."""
    canvas = Canvas(width, height)
    canvas.fill(0, height, face.field)
    left, inner = 2, width - 4
    if inner < 8 or height < 2:
        canvas.put(0, 0, face.line, bold=True)
        return canvas
    under = 1 if height > 4 and face.under else 0
    rows = height - under
    name = next((h for h in (14, 10, 6) if h + 1 <= rows and large_form(face.large, h, inner)), 0)
    y = 0
    if name:
        form = large_form(face.large, name, inner)
        canvas.block(left, 0, letters(form, name, inner, 1))
        y = name // 2 + 1
    else:
        canvas.put(left, 0, face.large, bold=True, end=width - 1)
        y = 1
    if face.clock:
        canvas.block(left, y, most_digits(face.runs, face.clock, inner, rows - y))
    if under:
        canvas.put(left, height - 1, face.under, bold=True, end=width - 1)
    return canvas
