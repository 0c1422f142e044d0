"""Log: every press of the loaded shifts and jobs, newest first, and how one is corrected."""

from __future__ import annotations

import datetime
from typing import ClassVar

from cartclock.engine.dates import day_of
from cartclock.engine.facts.rows import MINUTE_US, Row, believed_rows, standing
from cartclock.engine.facts.words import row_text
from cartclock.engine.press import Press
from cartclock.engine.rules import choices
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused
from cartclock.tui.face.page import Page, Words, entries
from cartclock.tui.lists.clock import time_lines
from cartclock.tui.lists.other import given_lines
from cartclock.tui.pages.log import by_press, log_page
from cartclock.tui.screens import helper
from cartclock.tui.screens.listing import ListingScreen
from cartclock.tui.widgets.sheet import Line
from cartclock.tui.widgets.values import Number


class LogScreen(ListingScreen):
    """Presses and corrections."""

    called: ClassVar[str] = "log"
    _count = 0
    _made_for: tuple[int, int, datetime.date] | None = None
    _page = Page("Log", ())

    def on_screen_resume(self) -> None:
        """Opens on the newest press."""
        self.at, self._count = 0, 0
        super().on_screen_resume()

    def paint(self) -> None:
        """Keeps the chosen press chosen when new ones come in above it."""
        count = entries(self.page()) if self.cart.bench.rows else 0
        self.at += count - self._count if self._count else 0
        self._count = count
        super().paint()

    def _presses(self) -> list[list[Row]]:
        return by_press(self.cart.bench.rows)

    def page(self) -> Page:
        """A press a row; made anew when one comes in, and at midnight."""
        bench, zone = self.cart.bench, self.cart.settings.zone
        if not bench.rows:
            return Page("Log", (Words(choices.NOTHING_PRESSED, entry=True),))
        today = day_of(self.cart.workplace.moment.now_us, zone)
        made_for = (bench.log.head.seq, len(bench.rows), today)
        if made_for != self._made_for:
            shifts = bench.shifts.values()
            unit = self.cart.settings.temperature
            made = log_page(bench.rows, bench.jobs, shifts, today, zone, bench.worker, unit)
            self._made_for, self._page = made_for, made
        return self._page

    def press_choose(self) -> None:
        """Corrections of the chosen press."""
        rows = choices.some(self._presses(), choices.NOTHING_PRESSED)[self.at]
        press = choices.to_correct(rows).press
        bench = self.cart.bench
        # A presenter or a pedal opens the list and chooses its first line by the same key.
        lines = [Line("leave it", lambda: self.say("Left as it was."))]
        if not standing(bench.rows).get(press, True):
            lines += [Line("restore it", lambda: self.cart.told(bench.restore(press)))]
        else:
            ago = Number("happened earlier by", "min", 5.0, 1.0)
            at = {row.identity: row.at_us for row in believed_rows(bench.rows)}

            def move() -> None:
                at_us = at.get(rows[0].identity, rows[0].at_us)
                by_us = round((ago.value or 0.0) * MINUTE_US)
                self.cart.told(bench.move(press, Instant(at_us - by_us)))

            lines += [
                Line("it never happened: strike it", lambda: self._strike(press)),
                Line(ago.text, move, turn=ago.turn, type=ago.type),
            ]
            lines += given_lines(self, rows, at)
            lines += time_lines(self, rows)
        lines += helper.undo_lines(self)
        unit = self.cart.settings.temperature
        said = "; ".join(row_text(row, bench.jobs, bench.meant(row), unit) for row in rows)
        self.sheet.open(said, lines, "left, right or digits: minutes   space: take it   esc: back")

    def _strike(self, press: Press) -> None:
        bench = self.cart.bench
        try:
            self.cart.told(bench.strike(press))
        except Refused as why:
            if not why.standing:
                self.say(str(why))
                return
            also = why.standing
            self.sheet.open(
                str(why),
                [
                    Line("leave it", lambda: self.say("Left as it was.")),
                    Line(
                        f"strike {len(also)} more with it",
                        lambda: self.cart.told(bench.strike(press, also=also)),
                    ),
                ],
            )
