"""A screen that is one page with one list over it: Today, Plan, Log and their like."""

from __future__ import annotations

from collections.abc import Callable

from textual.app import ComposeResult

from cartclock.engine.dates import local
from cartclock.engine.letters import cells, cropped, inert
from cartclock.engine.now.faces import Face
from cartclock.tui.face.page import Head, Page, entries
from cartclock.tui.screens.cart import LOW, NARROW, CartScreen
from cartclock.tui.widgets.keyrow import KeyRow
from cartclock.tui.widgets.pageview import PageView
from cartclock.tui.widgets.plain import Plain
from cartclock.tui.widgets.sheet import Sheet

# Columns between the words of the head and its clock, and beside them.
GAP = 4

# Grounds of the clock at the end of a head line.
CLOCK_FIELDS = ("wait", "ready", "late", "rest", "back")

# Before digits: down to what comes, up since it.
WEDGES = {"down": "▼ ", "up": "▲ ", "": ""}


def head_clock(face: Face, width: int, named: bool = True, beside: int = 0) -> str:
    """The clock that hurts first, for the end of a head line: its digits always with the way they
    run, then its word, then its place, in no more than two thirds of the line.

    Args:
        width: columns of the screen.
        named: False leaves the place out.
        beside: columns that the head's own words take, which have half of the line if they need it.
    """
    if face.field == "off":
        return ""
    where, word = inert(face.where), inert(face.word.lower())
    clock = WEDGES[face.runs] + face.clock
    room = max(width // 2, min(2 * width // 3, width - beside - GAP))
    most = max(0, room - cells(clock) - 1)
    said = f"{where}: {word}" if where and named and width >= NARROW else word
    if cells(said) > most:
        said = cropped(word, most)
    return f"{said} {clock}"


# Letters that are looked for at most; our own judgement. A sleeve on the keys types thousands, and
# each would take longer than the one before.
SOUGHT_MOST = 80


class ListingScreen(CartScreen):
    """A page with its head, one sheet, one notice, keys."""

    at = 0

    def compose(self) -> ComposeResult:
        """Page, list, notice, keys."""
        yield PageView()
        yield Sheet()
        yield Plain("", id="notice", fold=True)
        yield KeyRow()

    def _answer(self, do: Callable[[], object]) -> None:
        """What was answered to the key before is no answer to this one."""
        self.hush()
        super()._answer(do)

    def page(self) -> Page:
        """What to show."""
        raise NotImplementedError

    @property
    def view(self) -> PageView:
        """Where the page stands."""
        return self.part("PageView", PageView)

    def on_screen_resume(self) -> None:
        """Back on top: shows what is so now."""
        self.paint()

    def paint(self) -> None:
        """Shows page and keys, and in the head the clock that hurts first."""
        page, view = self.page(), self.view
        last = view.last_top(page) if page.reading else entries(page) - 1
        self.at = max(0, min(self.at, last))
        view.tell(page, self._head(page.name), self.at)
        # A list on a small screen takes the room of the answer.
        low = self.app.size.height < LOW
        self.part("#notice", Plain).display = not (low and self.sheet.is_open)
        super().paint()

    def point(self, y: int) -> None:
        """Chooses the entry in row `y` of the screen, or opens the chosen one."""
        found = self.view.entry_at(y)
        if found is None:
            return
        if found == self.at:
            self.press("choose", "click")
            return
        self.at = found
        self.paint()

    def _head(self, name: str) -> Head:
        now = self.cart.workplace.moment
        face = self.cart.run_screen.look().faces[0]
        return Head(
            f"{local(now.now_us, self.cart.settings.zone):%H:%M}" if now.sure else "",
            "page" if face.field == "off" else face.field,
            head_clock(face, self.columns, beside=cells(name)),
        )

    @property
    def _step(self) -> int:
        """How far one press goes: a line, or most of a page."""
        return self.view.reach if self.view.page.reading else 1

    def press_up(self) -> None:
        """The line above, or the page."""
        self.at -= self._step

    def press_down(self) -> None:
        """The line below, or the page."""
        self.at += self._step
