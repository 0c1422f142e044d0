"""One clock of the Run screen: the word, the digits, the place, what the digits mean."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Vertical

from cartclock.engine.letters import cells
from cartclock.engine.now import glance
from cartclock.tui.widgets.digits import BigClock
from cartclock.tui.widgets.letters import BigWord
from cartclock.tui.widgets.plain import Plain

FIELDS = ("plain", "wait", "ready", "late", "break", "off")
# Rows of a face under which the digits take the line below them: three rows are their least.
LOW = 5
# Rows that the digits keep beside a large word: 65 mm on a 14-inch screen of 24 rows.
DIGIT_ROWS = 9


class Face(Vertical):
    """Paints a `glance.Face`; the field's colour says what the word says."""

    _word = _under = ""

    def compose(self) -> ComposeResult:
        """The word in large, word and place, digits, and one line below."""
        yield BigWord()
        yield Plain("", classes="word")
        yield BigClock()
        yield Plain("", classes="under")

    def show(self, face: glance.Face | None) -> None:
        """Shows the face, or nothing and no room if there is none."""
        self.display = face is not None
        if face is None:
            return
        for field in FIELDS:
            self.set_class(field == face.field, field)
        where = f"   {face.where}" if face.where else ""
        self.query_one(".word", Plain).show(face.word + where)
        self.query_one(BigClock).show(face.clock)
        self._word, self._under = face.word, face.under
        self._make_room()

    def on_resize(self) -> None:
        """Another size: the line below may have to go or lose its end, or may come back."""
        self._make_room()

    def _make_room(self) -> None:
        width, height = self.size
        under = self.query_one(".under", Plain)
        under.display = height >= LOW
        under.show(whole_parts(self._under, width))
        # The digits come first: the word is large only where they keep their rows.
        self.query_one(BigWord).show(self._word, width, height - 2 - DIGIT_ROWS)


def whole_parts(text: str, width: int) -> str:
    """As many of the comma-parted phrases as fit in `width` cells, the first one always."""
    parts = text.split(", ")
    while len(parts) > 1 and cells(", ".join(parts)) > width:
        parts.pop()
    return ", ".join(parts)
