"""The line of a key that takes something up: what it names, and whether that is news.

Why a key does not count while its line is news: decision 4 of this room.
"""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.body.watch import Watch
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.times import Instant

NEWS_US = 3 * SECOND_US
"""For so long after its line became another by itself a key does not count. Our own judgement:
a finger on its way cannot be called back, and what is at a cart is read in so long."""

CHANGED = "CHANGED"
"""In the place of the key's name, as long as it does not count."""


class KeyLine(Struct, frozen=True):
    """What a key would take up, as its line says it.

    Fields:
        move: what it is; None: nothing.
        overrules: True if taking it up goes on past a rest that is called.
        news_until_us: before this instant the line is news, and its key does not count.
    """

    move: Move | None
    overrules: bool = False
    news_until_us: Instant = Instant(0)

    def then(self, move: Move | None, watch: Watch | None, now_us: Instant, own: bool) -> KeyLine:
        """The line as it is painted next.

        Args:
            move: what the key would take up now.
            watch: how the worker fares; None off the clock.
            now_us: job time of the picture.
            own: True if a press of the worker came since the picture before.
        """
        overrules = watch is not None and watch.rest_now and _works(move)
        # Lighter work that is offered goes past no rest.
        overrules = overrules and not _offered(move, watch)
        news_us = self.news_until_us
        if own or _at_once(move, watch):
            news_us = Instant(0)
        elif not _same(self.move, move) or (overrules and not self.overrules):
            news_us = Instant(now_us + NEWS_US)
        return KeyLine(move, overrules, news_us)

    def is_news(self, now_us: Instant) -> bool:
        """Whether the key does not count yet."""
        return now_us < self.news_until_us

    def told(self) -> KeyLine:
        """The line once its worker was told that it is another."""
        return replace(self, news_until_us=Instant(0))


def _works(move: Move | None) -> bool:
    return move is not None and move.act in ("take up", "look")


def _offered(move: Move | None, watch: Watch | None) -> bool:
    eased = watch is not None and bool(watch.pace.eased)
    return eased and move is not None and move.why == "lighter"


def _at_once(move: Move | None, watch: Watch | None) -> bool:
    """Whether a body may be in danger: the rest of somebody unwell waits for nothing."""
    ill = watch is not None and watch.unwell is not None
    return ill and move is not None and move.act == "rest"


def _same(before: Move | None, after: Move | None) -> bool:
    """Whether a finger that meant the one may take the other."""
    if before is None or after is None:
        return before is after
    if (before.job, before.stage) != (after.job, after.stage):
        return False
    acts = {before.act, after.act}
    if acts == {"look"}:
        # Its list opens on what is due, whatever that is by then.
        return True
    # Whoever stands by for a film waits for the moment in which it can be taken up.
    alike = len(acts) == 1 or acts == {"take up", "stand by"}
    return alike and (before.sections, before.turn) == (after.sections, after.turn)
