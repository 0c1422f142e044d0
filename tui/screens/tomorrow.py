"""Tomorrow: when to begin, whether the coat goes on, and what each hour asks for."""

from __future__ import annotations

from typing import ClassVar

from cartclock.engine.planning.weather import Weather, like_forecast
from cartclock.engine.trouble import PlanFault, Refused
from cartclock.tui.face.page import Page
from cartclock.tui.pages.tomorrow import tomorrow_page, unplanned_page
from cartclock.tui.screens.listing import ListingScreen
from cartclock.tui.widgets.sheet import Line

NO_AIR = "Nothing was read today: space enters the forecast, or a table of hours."


class TomorrowScreen(ListingScreen):
    """A text that is read; the open jobs on the next day."""

    called: ClassVar[str] = "tomorrow"
    advancing: ClassVar[frozenset[str]] = frozenset({"ask"})
    _made_for: object = None
    _page = unplanned_page(NO_AIR)

    def page(self) -> Page:
        """The open jobs on the day; made anew with the log, the forecast and the day."""
        planner = self.cart.planner
        made_for = (self.cart.bench.log.head.seq, planner.today, planner.forecast)
        if made_for != self._made_for:
            self._page, self._made_for = self._planned(), made_for
        return self._page

    def _planned(self) -> Page:
        planner = self.cart.planner
        weather = planner.forecast or planner.weather()
        if weather is None:
            return unplanned_page(NO_AIR)
        try:
            hours, plan = planner.day(planner.tomorrow, weather, planner.open_jobs())
            return tomorrow_page(hours, plan, self.cart.settings.temperature)
        except Refused as why:
            return unplanned_page(str(why))

    def press_ask(self) -> None:
        """Where the air of the day comes from."""
        lines = [
            Line("forecast: low, high, dew point", self._ask_forecast, "f"),
            Line("a table of hours, a CSV file", self._ask_table, "h"),
            Line("as it was read today", lambda: self._take(None), "r"),
        ]
        self.sheet.open("The air of tomorrow", lines)

    def _ask_forecast(self) -> None:
        unit = self.cart.settings.temperature
        title = f"Low, high and dew point in {unit}, like {like_forecast(unit)}"
        self.sheet.open_text(title, self._forecast)

    def _ask_table(self) -> None:
        self.sheet.open_text("Path of the CSV file", self._table)

    def _forecast(self, text: str) -> None:
        self._take(self.cart.planner.forecast_of(text))

    def _table(self, path: str) -> None:
        try:
            found = self.cart.planner.table_of(path)
        except PlanFault as faults:
            self.say(faults.faults[0])
        else:
            self._take(found)

    def _take(self, weather: Weather | None) -> None:
        self.cart.planner.forecast, self.at = weather, 0
