"""One clock of the Run screen: the word, the digits, the place, what the digits mean."""

from __future__ import annotations

from msgspec import Struct
from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region, Size
from textual.reactive import Reactive
from textual.strip import Strip
from textual.widget import Widget

from cartclock.engine.letters import cells, cropped, inert
from cartclock.engine.now import glance
from cartclock.tui.widgets.digits import clock_lines, difference
from cartclock.tui.widgets.letters import MOST_SCALE, ROWS_A_SCALE, fitting, sentence

FIELDS = ("plain", "wait", "ready", "late", "rest", "break", "back", "off", "ask")
# Rows of a face under which the digits take the line below them: three rows are their least.
LOW = 5
# Rows that the digits keep beside a large word: 65 mm on a 14-inch screen of 24 rows.
DIGIT_ROWS = 9
NOTHING = glance.Face("", "", "", "", "plain", "")
BOLD = Style(bold=True)


class Picture(Struct, frozen=True):
    """What a face of one size shows; every line is as wide as the face.

    Fields:
        large: the word in large letters; empty where it has no room or no large form.
        heading: one line: word and place.
        digits: the rows of the clock.
        under: one line: what the digits mean; empty where it has no room.
    """

    large: tuple[str, ...] = ()
    heading: tuple[str, ...] = ()
    digits: tuple[str, ...] = ()
    under: tuple[str, ...] = ()

    @property
    def lines(self) -> tuple[str, ...]:
        """All of it, from top to bottom."""
        return self.large + self.heading + self.digits + self.under


class Face(Widget):
    """Paints a `glance.Face`; the field's colour says what the word says.

    It divides its rows by itself: the digits get what the lines beside them leave. Only what
    changed is repainted.
    """

    DEFAULT_CSS = "Face { width: 1fr; height: 1fr; }"
    ALLOW_SELECT = False
    # What is drawn goes by the size that a layout gave it and asks for no other one.
    virtual_size = Reactive(Size(0, 0))

    _shown = NOTHING
    _drawn_for: tuple[glance.Face, int, int, int] = (NOTHING, 0, 0, 0)
    _picture = Picture()
    _style: Style | None = None

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        # Row -> what it was drawn of: text, style, cells, whether it is the heading; the strip.
        self._rows: dict[int, tuple[tuple[str, Style, int, bool], Strip]] = {}

    def show(self, face: glance.Face | None) -> None:
        """Shows the face, or nothing and no room if there is none."""
        self.display = face is not None
        if face is None:
            return
        before, self._shown = self.picture.lines, face
        if not self.size:
            # Out of sight it has no rows to tell apart, but what was drawn of it is kept.
            self.refresh()
        elif changed := difference(before, self.picture.lines):
            self.refresh(changed)
        self.update_classes({field: field == face.field for field in FIELDS})

    @property
    def clock(self) -> str:
        """What the digits say."""
        return self._shown.clock

    @property
    def word(self) -> str:
        """The word, whether or not there is room for all of it in large."""
        return self._shown.word

    @property
    def picture(self) -> Picture:
        """What is drawn at the size of this moment."""
        wanted = (self._shown, *self.size, self.app.size.height)
        if self._drawn_for != wanted:
            self._drawn_for = wanted
            self._picture = picture_of(*wanted)
        return self._picture

    def render_lines(self, crop: Region) -> list[Strip]:
        """Rows of the whole widget; those that say what they said are not drawn anew.

        Their style goes by every ancestor and is the same for all. The library would ask each row
        for borders, titles and links as well, and a clock has none.
        """
        lines, style, width = self.picture.lines, self.rich_style, self.outer_size.width
        filters, background = self.get_line_filters(), self.background_colors[1]
        beside = self.styles.padding
        self._style = style
        found: list[Strip] = []
        for y in crop.line_range:
            drawn = (lines[y], style, width, y == len(self._picture.large))
            if y not in self._rows or self._rows[y][0] != drawn:
                left, right = (Segment(" " * cells, style) for cells in (beside.left, beside.right))
                self._rows[y] = (drawn, Strip([left, *self.render_line(y), right], width))
            strip = self._rows[y][1]
            for one in filters:
                strip = strip.apply_filter(one, background)
            found.append(strip)
        self._style = None
        if crop.column_span != (0, width):
            found = [strip.crop(*crop.column_span) for strip in found]
        return found

    def render_line(self, y: int) -> Strip:
        """Row `y` of the content, 0 at the top."""
        # Among other rows the picture is known.
        picture = self.picture if self._style is None else self._picture
        style = self._style or self.rich_style
        if y == len(picture.large):
            style += BOLD
        return Strip([Segment(picture.lines[y], style)], self.size.width)


def picture_of(face: glance.Face, width: int, height: int, screen_height: int) -> Picture:
    """What a face shows in so many cells and rows, on a screen of so many rows."""
    if not width or not height:
        return Picture()
    if face.field == "ask":
        return _question(face, width, height)
    least = min(MOST_SCALE, -(-screen_height // ROWS_A_SCALE))
    # The digits come first: the word is large only where they keep their rows.
    large = fitting(face.word, width, height - 2 - DIGIT_ROWS, least)
    where = f"   {face.where}" if face.where else ""
    said = [whole_parts(face.under, width)] if height >= LOW else []
    under = tuple(_centred(line, width) for line in said)
    return Picture(
        large=tuple(line.center(width) for line in large),
        heading=(_centred(face.word + where, width),),
        digits=clock_lines(face.clock, width, height - len(large) - 1 - len(under)),
        under=under,
    )


def _question(face: glance.Face, width: int, height: int) -> Picture:
    """What is asked in letters, else the word; no digits, because no time runs out."""
    letters = sentence(face.where, width, height - 1)
    said = f"{face.word}   {face.under}"
    if not letters:
        letters, said = fitting(face.word, width, height - 1), face.where
    heading = _centred(said, width)
    above = (height - 1 - len(letters)) // 2
    blank = " " * width
    return Picture(
        large=(*[blank] * above, *(line.center(width) for line in letters)),
        heading=(heading,),
        digits=(blank,) * (height - 1 - above - len(letters)),
    )


def _centred(text: str, width: int) -> str:
    line = cropped(inert(text).replace("\n", " "), width)
    left = (width - cells(line)) // 2
    return " " * left + line + " " * (width - left - cells(line))


def whole_parts(text: str, width: int) -> str:
    """As many of the comma-parted phrases as fit in `width` cells, the first one always."""
    parts = text.split(", ")
    while len(parts) > 1 and cells(", ".join(parts)) > width:
        parts.pop()
    return ", ".join(parts)
