"""Log: every press of the loaded shifts and jobs, newest first, and how one is corrected."""

from __future__ import annotations

from typing import ClassVar

from cartclock.engine.dates import local, spoken_near
from cartclock.engine.facts.rows import MINUTE_US, Row, believed_rows, standing
from cartclock.engine.facts.words import main_row, row_text
from cartclock.engine.press import Press
from cartclock.engine.rules import choices
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused
from cartclock.tui.lists.other import given_lines
from cartclock.tui.screens import helper
from cartclock.tui.screens.listing import ListingScreen
from cartclock.tui.widgets.sheet import Line
from cartclock.tui.widgets.values import Number


class LogScreen(ListingScreen):
    """Presses and corrections."""

    called: ClassVar[str] = "log"
    _count = 0

    def on_screen_resume(self) -> None:
        """Opens on the newest press."""
        self.at, self._count = 0, 0
        super().on_screen_resume()

    def paint(self) -> None:
        """Keeps the chosen press chosen when new ones come in above it."""
        count = len(self._presses())
        self.at += count - self._count if self._count else 0
        self._count = count
        super().paint()

    def heading(self) -> str:
        """How many presses there are."""
        return f"Log   {len(self._presses())} presses, newest first"

    def _presses(self) -> list[list[Row]]:
        presses: dict[Press, list[Row]] = {}
        for row in self.cart.bench.rows:
            presses.setdefault(row.press, []).append(row)
        return sorted(presses.values(), key=lambda rows: rows[0].written, reverse=True)

    def lines(self) -> list[str]:
        """One line a press."""
        bench = self.cart.bench
        stands = standing(bench.rows)
        at = {row.identity: row.at_us for row in believed_rows(bench.rows)}
        presses = {rows[0].press: rows for rows in self._presses()}

        def meant(row: Row) -> Row | None:
            of = None if row.corrects is None else presses.get(row.corrects)
            return main_row(of) if of else None

        found = []
        zone, now_us = self.cart.settings.zone, self.cart.moment.now_us
        for rows in presses.values():
            first = rows[0]
            at_us = at.get(first.identity, first.at_us)
            clock = f"{local(at_us, zone):%H:%M}"
            with_seconds = f"{local(at_us, zone):%H:%M:%S}"
            time = spoken_near(at_us, now_us, zone).replace(clock, with_seconds)
            said = "; ".join(row_text(row, bench.jobs, meant(row)) for row in rows)
            signs = ""
            if not stands.get(first.press, True):
                signs = "struck: "
            elif at_us != first.at_us:
                signs = "moved: "
            elif first.at_us != first.entered_us:
                entered = f"{local(first.entered_us, self.cart.settings.zone):%H:%M}"
                signs = f"entered {entered}: "
            who = "" if first.worker == bench.worker and first.by == "worker" else first.worker
            who = "machine" if first.by == "machine" else who
            found.append(f"{time}  {who + '  ' if who else ''}{signs}{said}")
        return found or [choices.NOTHING_PRESSED]

    def press_choose(self) -> None:
        """Corrections of the chosen press."""
        rows = choices.some(self._presses(), choices.NOTHING_PRESSED)[self.at]
        press = choices.to_correct(rows).press
        bench = self.cart.bench
        if not standing(bench.rows).get(press, True):
            lines = [Line("restore it", lambda: self.cart.told(bench.restore(press)))]
        else:
            ago = Number("happened earlier by", "min", 5.0, 1.0)
            at = {row.identity: row.at_us for row in believed_rows(bench.rows)}

            def move() -> None:
                at_us = at.get(rows[0].identity, rows[0].at_us)
                by_us = round((ago.value or 0.0) * MINUTE_US)
                self.cart.told(bench.move(press, Instant(at_us - by_us)))

            lines = [
                Line("it never happened: strike it", lambda: self._strike(press)),
                Line(ago.text, move, turn=ago.turn, type=ago.type),
            ]
            lines += given_lines(self, rows, at)
        lines += helper.undo_lines(self)
        said = "; ".join(row_text(row, bench.jobs, bench.meant(row)) for row in rows)
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
