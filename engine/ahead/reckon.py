"""When each piece ahead begins and ends, in an order that is kept.

With one pair of hands and a kept order a piece begins when the hands are free and its waits are
over: nothing is decided any more, so no end comes sooner when a length grows.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import NamedTuple

from cartclock.engine.ahead.calendar import WorkCalendar
from cartclock.engine.ahead.played import Played
from cartclock.engine.films.waves import Factors
from cartclock.engine.plan.plan import Effort
from cartclock.engine.times import Instant

EffortOf = Callable[[Played], Effort]
"""How hard a piece is."""


class Reckoned(NamedTuple):
    """A piece of work in time.

    Fields:
        free_us: when the hands were free for it.
        start_us: when its waits were over, too.
        begun_us: when it was begun: in the morning, if a night came first.
        end_us: when it is done.
    """

    free_us: Instant
    start_us: Instant
    begun_us: Instant
    end_us: Instant


def lengths_us(
    pieces: Sequence[Played], factors: Factors | None = None, scale: float = 1.0
) -> list[int]:
    """How long each piece takes the hands.

    factors: as in `play`. scale: of everything, what is in hand as well.
    """
    known = factors or {}
    return [
        round(
            piece.work_us
            * scale
            * (1.0 if piece.in_hand else known.get((piece.stage, piece.turn.step), 1.0))
        )
        for piece in pieces
    ]


def reckon(
    pieces: Sequence[Played],
    now_us: Instant,
    lengths: Sequence[int],
    calendar: WorkCalendar | None = None,
    effort: EffortOf | None = None,
) -> list[Reckoned]:
    """When each piece begins and ends.

    Args:
        lengths: of each piece, from `lengths_us`.
        calendar: what lies between the hands and their work, not gone through yet; None: nothing.
        effort: how hard a piece is; None: as the calendar takes it.
    """
    hands = _Hands(pieces, lengths, effort)
    hands.go_on(calendar, now_us)
    return hands.found


class _Hands:
    """One pair of hands that goes through pieces in order."""

    def __init__(
        self, pieces: Sequence[Played], lengths: Sequence[int], effort: EffortOf | None
    ) -> None:
        self.pieces, self.lengths, self.effort = pieces, lengths, effort
        self.found: list[Reckoned] = []
        # Pieces of which a film is in play, until the one that ends it.
        self._wet: set[int] = set()

    def go_on(self, calendar: WorkCalendar | None, at_us: int, until_us: int | None = None) -> bool:
        """Goes through what is left from an instant on; False if that is not done by another."""
        found, wet = self.found, self._wet
        for index in range(len(found), len(self.pieces)):
            piece, length_us = self.pieces[index], self.lengths[index]
            start_us = at_us
            if piece.not_before_us is not None:
                start_us = max(start_us, piece.not_before_us)
            for before in piece.after:
                start_us = max(start_us, found[before].end_us + piece.wait_us - piece.cut_us)
            begun_us = start_us
            if calendar is None:
                end_us = begun_us + length_us
            else:
                # Nobody goes home from a film in play, nor from what is in hand.
                film = bool(wet) or piece.ends
                if not (film or piece.in_hand):
                    begun_us = calendar.begun(start_us, length_us, partial(self._ends_by, at_us))
                hard: Effort = "moderate" if self.effort is None else self.effort(piece)
                free_us = at_us if begun_us == start_us else begun_us
                end_us = calendar.worked(begun_us, length_us, hard, free_us, film)
            if until_us is not None and end_us > until_us:
                return False
            found.append(Reckoned._make((at_us, start_us, begun_us, end_us)))
            if piece.after:
                wet.difference_update(piece.after)
            if piece.lays:
                wet.add(index)
            at_us = end_us
        return True

    def _ends_by(self, at_us: int, calendar: WorkCalendar, until_us: int) -> bool:
        """True if what is left from here on is done by then."""
        if at_us + sum(self.lengths[len(self.found) :]) > until_us:
            # Too long for the hands alone.
            return False
        ahead = _Hands(self.pieces, self.lengths, self.effort)
        ahead.found, ahead._wet = list(self.found), set(self._wet)
        return ahead.go_on(calendar, at_us, until_us)
