"""A page on the screen: laid out anew when it says something else, drawn anew when it looks so."""

from __future__ import annotations

from cartclock.tui.face.canvas import Canvas
from cartclock.tui.face.laying import Laid, laid
from cartclock.tui.face.page import Head, Page
from cartclock.tui.face.page_picture import entry_at, last_top, page_picture
from cartclock.tui.widgets.painted import Painted

_BLANK = Page("", ())


class PageView(Painted):
    """Shows a page, its head and which entry is chosen, at whatever size it is given."""

    DEFAULT_CSS = "PageView { width: 1fr; height: 1fr; }"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._page, self._head, self._at = _BLANK, Head(), 0
        self._laid_for: tuple[Page, int] | None = None
        self._laid = Laid((), ())
        self._told: tuple[object, ...] = ()

    @property
    def page(self) -> Page:
        """What it shows."""
        return self._page

    def tell(self, page: Page, head: Head, at: int) -> None:
        """Shows a page.

        Args:
            at: which of its entries is chosen, from 0; of a text that is read the line on top.
        """
        told = (page, head, at, *self.size)
        self._page, self._head, self._at = page, head, at
        if told != self._told:
            self._told = told
            self.show(self._picture)

    def last_top(self, page: Page) -> int:
        """The last line of a page that may be on top of it as high as it is here."""
        return last_top(self._laid_out(page, self.size.width), self.size.height)

    def entry_at(self, y: int) -> int | None:
        """The entry in row `y` of the screen; None if none stands there."""
        width, height = self.size
        page_laid = self._laid_out(self._page, width)
        return entry_at(self._page, page_laid, self._at, height, y - self.content_region.y)

    @property
    def reach(self) -> int:
        """Lines between two looks at a text that is read."""
        return max(1, self.size.height - 3)

    def _laid_out(self, page: Page, width: int) -> Laid:
        wanted = (page, max(1, width))
        if wanted != self._laid_for:
            self._laid, self._laid_for = laid(*wanted), wanted
        return self._laid

    def _picture(self, width: int, height: int) -> Canvas:
        if not width or not height:
            return Canvas(width, height)
        page = self._page
        return page_picture(page, self._laid_out(page, width), self._head, self._at, width, height)
