"""One clock of the Run screen: the word, the digits, the place, what the digits mean."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Vertical

from engine.job import glance
from tui.widgets.digits import BigClock
from tui.widgets.plain import Plain

FIELDS = ("plain", "wait", "ready", "late", "break", "off")
# Rows of a face under which the digits take the line below them: three rows are their least.
LOW = 5


class Face(Vertical):
    """Paints a `glance.Face`; the field's colour says what the word says."""

    def compose(self) -> ComposeResult:
        """Word, digits, and one line below."""
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
        self.query_one(".under", Plain).show(face.under)
        self._make_room()

    def on_resize(self) -> None:
        """Another height: the line below may have to go, or may come back."""
        self._make_room()

    def _make_room(self) -> None:
        self.query_one(".under", Plain).display = self.size.height >= LOW
