"""The demo sessions, each played once for all the tests of a worker that ask for it.

Tests that ask belong to the group "demo sessions", so that one worker has them all.
"""

from __future__ import annotations

import asyncio
import functools
import re
import tempfile
import time
from collections.abc import Callable
from datetime import datetime
from itertools import count
from pathlib import Path
from zoneinfo import ZoneInfo

from cartclock.demo_sessions.onlooker import TICK_S, Onlooker
from cartclock.demo_sessions.player import Player
from cartclock.demo_sessions.session import _paper, _play_all, _played
from cartclock.engine.dates import day_of
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts.rows import Row
from cartclock.engine.record.day import Day
from cartclock.engine.record.record import Record
from cartclock.engine.store.log import Log
from cartclock.tui.widgets.painted import Painted
from tests.kit.afar import Heights, heights
from tests.kit.drawn import ONE_OF, drawn, hold
from tests.kit.library import keep
from tests.kit.shown import Watched

keep()
HOME, SMALL = (80, 24), (40, 12)


def yard_s() -> float:
    """Seconds this processor needs here for a fixed bit of work; about 0.065 when it is idle.

    A core that is shared is slower even by the seconds it is busy itself, so what a play takes
    is told in yards.
    """
    begun = time.process_time()
    found: dict[str, list[tuple[int, str]]] = {}
    for number in range(80_000):
        name = f"{number % 997} of {number % 13}"
        found.setdefault(name, []).append((number, name.upper()))
    for name in sorted(found):
        found[name].sort(key=lambda pair: -pair[0])
    return time.process_time() - begun


class _Seen(Onlooker):
    """Looks at every picture."""

    def __init__(self, shown: Callable[[], None], tick_s: float) -> None:
        super().__init__(tick_s)
        self._shown = shown

    async def passed(self, seconds: float) -> None:
        self._shown()


class Result:
    """A session that was played: what came of it, its log, and how long it took."""

    def __init__(self, name: str, size: tuple[int, int], tick_s: float) -> None:
        # The titles of the lists that were seen, with the time of day at the place.
        self.seen: list[tuple[str, str]] = []
        # Each picture of Run, of those that differ in what is measured: whether a list was open,
        # the face in front, and how high it stood.
        self.heights: set[tuple[bool, str, str, int, Heights]] = set()
        self.watched = Watched()
        self._rows, self._looked = size[1], count()
        with tempfile.TemporaryDirectory() as folder:
            self._player = Player(name, Path(folder), _Seen(self._shown, tick_s))
            before_s, begun = yard_s(), time.process_time()
            asyncio.run(_play_all(self._player, size))
            self.played = _played(self._player)
            self.busy_seconds = time.process_time() - begun
            self.busy_yards = 2 * self.busy_seconds / (before_s + yard_s())
            with Log.open(Path(folder) / "log.db") as log:
                self.rows = log.all_rows()
                self.broken = log.check()
                shifts = log.shift_summaries()
                self.shifts = [(s.shift, s.on_us, s.off_us) for s in shifts]
                self.papers = self._papers(Shop(log))
                self.days = self._days(Shop(log))
            # What the command gives of the last job and of the last day.
            self.given = {
                (document, form): _paper(self._player, document, form)
                for document, form in (("sheet", "text"), ("day", "json"))
            }

    def events(self, kind: type) -> list[Row]:
        """The rows of one kind of event."""
        return [row for row in self.rows if isinstance(row.event, kind)]

    def records(self) -> list[list[str]]:
        """The lines of each job's record."""
        parts = re.split(r"(?m)^(?=JOB RECORD)", self.played.record)[1:]
        return [part.splitlines() for part in parts]

    def _papers(self, shop: Shop) -> tuple[Record, ...]:
        """What each job's record holds when the session is over."""
        now_us = self.rows[-1].entered_us
        return tuple(shop.record(str(job.number), now_us) for job in shop.jobs())

    def _days(self, shop: Shop) -> tuple[Day, ...]:
        """What the paper of each day holds when the session is over."""
        zone, now_us = self._player.script.zone, self.rows[-1].entered_us
        dates = dict.fromkeys(day_of(on_us, zone) for _shift, on_us, _off_us in self.shifts)
        return tuple(shop.day(date.isoformat(), zone, now_us) for date in dates)

    def _shown(self) -> None:
        app = self._player.app
        if app is None:
            return
        # What cannot be drawn is found; what is measured is the picture of Run, made by itself.
        if next(self._looked) % ONE_OF == 0:
            drawn(app)
        hold(app)
        self.watched.look(app)
        if app.screen is not app.run_screen:
            return
        sheet, told = app.run_screen.sheet, app.run_screen.told
        if told is not None and not told.question:
            picture, face = app.run_screen.query_one(Painted).canvas, told.faces[0]
            high = heights(picture, self._rows, sheet.is_open)
            self.heights.add((sheet.is_open, face.beside, face.clock, len(told.faces), high))
        if not sheet.is_open:
            return
        if not self.seen or self.seen[-1][1] != sheet.title:
            zone = ZoneInfo(self._player.script.zone)
            at = datetime.fromtimestamp(app.bench.now_us / 1e6, zone)
            self.seen.append((at.strftime("%H:%M"), sheet.title))


@functools.cache
def result(name: str, size: tuple[int, int] = HOME, tick_s: float = TICK_S) -> Result:
    """A session, played once at each size and pace of the screens."""
    return Result(name, size, tick_s)
