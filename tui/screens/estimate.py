"""Estimate: what a job will take before there is one, in three picks; one key keeps it as a job."""

from __future__ import annotations

from functools import partial
from typing import ClassVar, cast

from cartclock.engine.planning.estimate import PAINT_FACTORS, PaintState
from cartclock.engine.planning.estimate_words import EstimateWords
from cartclock.tui.face.page import Page
from cartclock.tui.lists.which_plan import open_which_plan
from cartclock.tui.pages.estimate import NOTHING_ASKED, estimate_page
from cartclock.tui.screens.listing import ListingScreen
from cartclock.tui.screens.today import TodayScreen
from cartclock.tui.widgets.sheet import Line

NO_JOB_ASKED = "There is no estimate yet: space asks what job."


class EstimateScreen(ListingScreen):
    """A text that is read, of the job that was asked about last."""

    called: ClassVar[str] = "estimate"
    advancing: ClassVar[frozenset[str]] = frozenset({"ask"})
    # Text and name of its plan, and the state of its paint.
    _asked: tuple[str, str, PaintState] | None = None
    _made_for: object = None
    _page = NOTHING_ASKED

    def page(self) -> Page:
        """The estimate; made anew with the log and the day."""
        planner = self.cart.planner
        made_for = (self._asked, self.cart.bench.log.head.seq, planner.today, planner.forecast)
        if self._asked is not None and made_for != self._made_for:
            text, name, paint = self._asked
            plan = self.cart.shelf.read(text, name)
            weather = planner.forecast or planner.weather()
            found = planner.estimated(plan, paint, planner.tomorrow, weather)
            words = EstimateWords(found, planner.zone, self.cart.bench.now_us)
            self._page, self._made_for = estimate_page(found, words), made_for
        return self._page

    def reasons(self) -> dict[str, str]:
        """What was not asked about cannot be kept."""
        return {} if self._asked is not None else {"add": NO_JOB_ASKED}

    def press_ask(self) -> None:
        """Which plan, which body, what paint."""
        open_which_plan(self, "Estimate: which plan?", self._paint)

    def _paint(self, text: str, name: str) -> None:
        lines = [Line(state, partial(self._take, text, name, state)) for state in PAINT_FACTORS]
        usual = list(PAINT_FACTORS).index("as usual")
        self.sheet.open("How is the paint, beside what you usually get?", lines, at=usual)

    def _take(self, text: str, name: str, paint: PaintState) -> None:
        self._asked, self.at = (text, name, paint), 0

    def press_add(self) -> None:
        """Keeps it as a job, as + on Today opens one."""
        assert self._asked is not None
        text, name, _paint = self._asked
        self.cart.show("today")
        today = cast(TodayScreen, self.app.get_screen("today"))
        self.app.call_after_refresh(today.begin_job, text, name)
